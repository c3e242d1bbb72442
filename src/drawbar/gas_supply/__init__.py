"""Do bottles and regulator give what a job burns: by how it is used, without a break, and what helps where they do not.

It imports the check, whose states have the loads, the catalogue, whose bottles may help, and the physics.
"""
