"""Records: what a sheet carries to be checked again, its logo, its content read back and compared.

It may import the reading of files, the line, its checks and what is measured on site; `report` draws what stands here.
"""
