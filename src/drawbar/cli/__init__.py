"""The command line: a module for each command. A command reads, calls and prints; nothing is worked out here.

It may import every other package, but only inside its functions: a call loads no more than it needs.
"""

from drawbar.cli.main import main

__all__ = ["main"]
