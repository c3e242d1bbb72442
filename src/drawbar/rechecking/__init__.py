"""Old jobs checked again with appliances swapped, by one process or several, and what puts them right.

It imports the reader of job files, the check and the sizing.
"""
