"""On site: the tightness test and the purge, test points, readings, and which part explains them.

It imports the line, the job's values and the physics, and yamlfile to read the readings.
"""
