"""Physics: air, water, LPG vapour and liquid, flow in a pipe, a bottle. Pure functions of SI floats, with sources.

It imports nothing of the other packages, and neither pint, click, yaml nor tabulate.
"""
