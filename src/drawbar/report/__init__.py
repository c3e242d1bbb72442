"""How results are shown: one module a kind of result, and the layout that they share."""
