"""The reader of the project's own data files: each is read when it is first asked for, and of it what is asked for."""

from __future__ import annotations

import functools
import re
from importlib import resources
from typing import TYPE_CHECKING, Any

from drawbar.catalogue.kinds import CHECKS, RECORDS
from drawbar.yamlfile import nodes
from drawbar.yamlfile.nodes import Position, Source

if TYPE_CHECKING:
    from yaml.nodes import Node

    from drawbar.yamlfile.entry import Entry

_ROW = r"(?m)^{}([^\s#:]+):"
_folder = functools.cache(lambda: resources.files("drawbar").joinpath("data"))


def data_text(name: str) -> str:
    """Return the text of data/NAME.yaml."""
    return _folder().joinpath(f"{name}.yaml").read_text(encoding="utf-8")


def plain_data(name: str) -> Any:
    """Return data/NAME.yaml as plain values, for a file of plain numbers."""
    import yaml

    return yaml.load(data_text(name), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))


class RowTexts:
    """The rows of a text, each parsed when it is asked for: it runs from its name, at the margin, to the next name.

    Parameters
    ----------
    file : str
        The name of the file in messages.
    text : str
        The text of the file.
    margin : str
        The blanks before each name.
    start : int
        Where the rows begin in the text.
    """

    def __init__(self, file: str, text: str, margin: str = "", start: int = 0) -> None:
        self._file = file
        self._text = text
        starts = [(row.group(1), row.start()) for row in re.finditer(_ROW.format(margin), text[start:])]
        ends = [*(at for _, at in starts[1:]), len(text) - start]
        self._spans = {name: (start + at, start + end) for (name, at), end in zip(starts, ends, strict=True)}

    @property
    def names(self) -> list[str]:
        """The names of the rows, in the order of the file."""
        return list(self._spans)

    def nodes(self, name: str) -> tuple[Node, Node, Source]:
        """Return the nodes of a row's name and of the row, and the source they are of. KeyError for no such row."""
        start, end = self._spans[name]
        source = Source(self._file)
        above = "\n" * self._text.count("\n", 0, start)  # so that a place is that in the file
        ((key, node),) = nodes.compose(above + self._text[start:end], source).value
        return key, node, source


class DataFile:
    """The rows of one of the project's own data files."""

    def __init__(self, kind: str) -> None:
        self._kind = kind
        self._rows = RowTexts(f"{kind}.yaml", data_text(kind))

    @property
    def names(self) -> list[str]:
        """The names of the rows, in the order of the file."""
        return self._rows.names

    def entry(self, name: str) -> tuple[Entry, Position] | None:
        """Return a row and where its name stands; None if there is none."""
        if name not in self._rows.names:
            return None
        key, node, source = self._rows.nodes(name)
        entry = RECORDS[self._kind].read(node, source, (name,))
        if entry is not None and self._kind in CHECKS:
            CHECKS[self._kind](entry, source)
        source.raise_if_any()
        assert entry is not None  # without a problem it was read
        return entry, source.position(key)
