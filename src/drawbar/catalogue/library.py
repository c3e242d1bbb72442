"""A workshop's own library file: one key a kind, each in the form of the project's data file of that name."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING

from drawbar.catalogue.kinds import CHECKS, LIBRARY_KINDS
from drawbar.yamlfile import nodes
from drawbar.yamlfile.fields import Field, Named, Record
from drawbar.yamlfile.nodes import Position, Source

if TYPE_CHECKING:
    from drawbar.yamlfile.entry import Entry

_MOST_ROWS = 2000


def library_files(files: Sequence[str] = ()) -> list[str]:
    """Return the libraries to read: that of the environment's DRAWBAR_LIBRARY, and over it those that are given.

    Parameters
    ----------
    files : sequence of str
        The libraries that the call names.

    Returns
    -------
    list of str
        The later has the say over the earlier.
    """
    of_environment = os.environ.get("DRAWBAR_LIBRARY")
    return [*([of_environment] if of_environment else []), *files]


def read_library(file: str) -> dict[str, dict[str, tuple[Entry, Position]]]:
    """Return the rows of a library by kind and name, each with the place of its name.

    Parameters
    ----------
    file : str
        The path of the library.

    Returns
    -------
    dict of str to dict of str to tuple of Entry and Position

    Raises
    ------
    Problems
        All that is wrong with the file.
    """
    source = Source(file)
    fields = {
        kind: Field(Named(record, most=_MOST_ROWS), f"the {kind}, by name") for kind, record in LIBRARY_KINDS.items()
    }
    library = Record(fields).read(nodes.compose(nodes.read_text(file), source), source, ())
    assert library is not None  # compose returns a mapping
    rows: dict[str, dict[str, tuple[Entry, Position]]] = {}
    for kind in LIBRARY_KINDS:
        for name, (entry, node) in library.named_tables(kind).items():
            if entry is not None and kind in CHECKS:
                CHECKS[kind](entry, source)
            if "/" in name and kind == "pipes":
                source.add(node, (kind, name), "has a `/` in its name", "it separates the family from the size")
            if entry is not None:
                rows.setdefault(kind, {})[name] = entry, source.position(node)
    source.raise_if_any()
    return rows
