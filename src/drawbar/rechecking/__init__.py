"""Old jobs checked again with appliances swapped, one by one or by several processes.

It imports the reader of job files, the check and the sizing.
"""
