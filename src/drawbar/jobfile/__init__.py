"""The job file: its keys, its reader, its JSON Schema, and an editor that changes sizes and nothing else.

A job file becomes a Job, or all that is wrong with it. It imports the catalogue, yamlfile and the job's values.
"""
