"""Does every appliance get its pressure: the check, its results, what is spare, the vents, the warnings, the working.

It imports the line, the job's values and the physics.
"""
