"""The pressure at every appliance: the check, its results, what is spare, the vents, the warnings, the working.

It imports the line, the job's values and the physics.
"""
