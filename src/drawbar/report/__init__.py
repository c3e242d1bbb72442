"""How results are shown: a module for each kind of result, with its `Report`, and the layout that they share.

A report works nothing out and reads no file. It may import every room that has results; `api` and `cli` import it.
"""
