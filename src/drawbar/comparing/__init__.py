"""Ways of doing a job side by side: what differs between their files, and what each comes to.

It may import all that works a job out, down to `rechecking`; the reports show what it returns.
"""
