"""Where in a job file stands what its reasons are about."""

from __future__ import annotations

from drawbar.problems import Problems
from drawbar.yamlfile.entry import key_lines
from drawbar.yamlfile.nodes import Source, compose, node_at, read_text

_SECTIONS = ("appliances", "runs", "outlets", "hoses", "states")


def places_in(file: str) -> dict[str, int]:
    """Return the line of a job file where each appliance, run, outlet, hose and state stands, and each key of the top.

    Parameters
    ----------
    file : str
        The job file.

    Returns
    -------
    dict of str to int
        By name, from 1, and 1 by the empty name, for the file as a whole; empty where it can't be read.
    """
    try:
        root = compose(read_text(file), Source(file))
    except Problems:
        return {}
    lines = {"": 1}
    for table in (*(node_at(root, (section,)) for section in _SECTIONS), root):
        lines = key_lines(table) | lines
    return lines
