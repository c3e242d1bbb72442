"""The line of pipe, solved: flows and pressures, every combination, one state, burners as fixed orifices.

It imports the job's values and the physics.
"""
