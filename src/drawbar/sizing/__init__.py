"""The cheapest sizes that pass: the search with its proof, the lower bound, the longest-run method, the stock list.

It imports the check, the line and what the materials cost.
"""
