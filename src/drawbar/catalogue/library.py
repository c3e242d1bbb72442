"""A workshop's own library file: one key a kind, each in the form of the project's data file of that name."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from drawbar.catalogue.data_files import DataFile
from drawbar.catalogue.kinds import CHECKS, LIBRARY_KINDS
from drawbar.catalogue.particulars_fields import WORKSHOP, read_particulars
from drawbar.particulars import NONE_GIVEN, Particulars
from drawbar.yamlfile import nodes
from drawbar.yamlfile.carried import LIBRARY as CARRIED_LIBRARY
from drawbar.yamlfile.carried import read_carried
from drawbar.yamlfile.fields import Field, Named, Record
from drawbar.yamlfile.nodes import Position, Source
from drawbar.yamlfile.scalars import FLAG

if TYPE_CHECKING:
    from drawbar.yamlfile.entry import Entry

_MOST_ROWS = 2000
LIBRARY = Record(
    {kind: Field(Named(record, most=_MOST_ROWS), f"the {kind}, by name") for kind, record in LIBRARY_KINDS.items()}
    | {"workshop": WORKSHOP, "replace": Field(FLAG, "yes if rows of the project's own may be replaced")}
)


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


class LibraryUsed(NamedTuple):
    """A library that was read: its file, the rows of the project's own whose place its rows take, and the workshop."""

    file: str
    replaces: tuple[str, ...]
    particulars: Particulars = NONE_GIVEN


def read_library(file: str) -> tuple[dict[str, dict[str, tuple[Entry, Position]]], LibraryUsed]:
    """Return the rows of a library by kind and name, each with the place of its name, and what it replaces.

    A row with the name of one of the project's own takes its place only where the library says `replace: yes`: a pipe
    or a rule that is not the one that is listed must not go unseen. Tolerances are there to be set.

    Parameters
    ----------
    file : str
        The path of the library.

    Returns
    -------
    rows : dict of str to dict of str to tuple of Entry and Position
        By kind and name.
    used : LibraryUsed
        The file, and what of the project's own it replaces.

    Raises
    ------
    Problems
        All that is wrong with the file.
    """
    source = Source(file)
    library = LIBRARY.read(nodes.compose(read_carried(file, CARRIED_LIBRARY) or "{}", source), source, ())
    assert library is not None  # compose returns a mapping
    rows: dict[str, dict[str, tuple[Entry, Position]]] = {}
    replaces: list[str] = []
    for kind in LIBRARY_KINDS:
        shipped = DataFile(kind).names if kind in library.nodes else ()
        for name, (entry, node) in library.named_tables(kind).items():
            if entry is not None and kind in CHECKS:
                CHECKS[kind](entry, source)
            if "/" in name and kind == "pipes":
                source.add(node, (kind, name), "has a `/` in its name", "it separates the family from the size")
            if name in shipped:
                replaces.append(f"{kind} {name}")
                if kind != "tolerances" and not library.flag("replace"):
                    fit = "write `replace: yes` in the library if that is meant, or give it another name"
                    source.add(node, (kind, name), "takes the place of a row of the project's own", fit)
            if entry is not None:
                rows.setdefault(kind, {})[name] = entry, source.position(node)
    workshop = read_particulars(library, source)
    source.raise_if_any()
    return rows, LibraryUsed(file, tuple(replaces), workshop)
