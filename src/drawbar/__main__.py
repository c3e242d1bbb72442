"""`python -m drawbar`."""

from drawbar.cli import main

main()
