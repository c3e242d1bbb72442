"""What a job file may name: pipes, fittings, rule sets, gases, bottles and appliance types, each with its source.

They stand in data/ and in a workshop's own library files. It imports the physics, the job's values and yamlfile.
"""
