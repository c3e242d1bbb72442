"""What a job is made of and what it costs: what it needs, takeoff, cutting lists, price lists, quotes.

It imports the job's values, and yamlfile to read a price list.
"""
