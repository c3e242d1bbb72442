"""YAML files read with line and column: nodes, kinds of field, and the bounds between which a figure can be right.

Job, library and price files, stock lists and readings are all read with it. It imports units and problems alone.
"""
