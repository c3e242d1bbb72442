"""The JSON Schemas of the files that the program reads and writes: made from the models that it reads with.

`schema_kinds.py` has one of each kind; `walk.py` makes a schema of a model. It may import all before it.
"""
