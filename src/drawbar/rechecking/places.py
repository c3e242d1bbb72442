"""Where in a job file stands what a reason is about."""

from __future__ import annotations

from drawbar.problems import Problems
from drawbar.yamlfile.entry import entries
from drawbar.yamlfile.nodes import Source, compose, node_at, read_text

_SECTIONS = ("appliances", "runs", "outlets", "hoses", "states")


def line_of(file: str, name: str) -> int:
    """Return the line of a job file where an appliance, run, outlet, hose or state stands, or one of the top's keys.

    Parameters
    ----------
    file : str
        The job file.
    name : str
        Its name.

    Returns
    -------
    int
        From 1; 1 where there is none of that name, and 0 where the file can't be read.
    """
    try:
        root = compose(read_text(file), Source(file))
    except Problems:
        return 0
    for table in (*(node_at(root, (section,)) for section in _SECTIONS), root):
        for key, _ in table.value if table is not None and entries(table) else ():
            if key.value == name:
                return int(key.start_mark.line) + 1
    return 1
