"""The line of pipe, solved: flows and pressures, every way of plugging, one state, burners as fixed orifices.

It imports the job's values and the physics.
"""
