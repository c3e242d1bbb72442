"""The command line: one module a command. A command reads, calls and prints; nothing is worked out here."""

from drawbar.cli.main import main

__all__ = ["main"]
