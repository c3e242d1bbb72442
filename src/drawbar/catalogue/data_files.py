"""The reader of the project's own data files: each is read when it is first asked for, and of it what is asked for."""

from __future__ import annotations

import re
from importlib import resources
from typing import TYPE_CHECKING, Any

from drawbar.catalogue.kinds import CHECKS, RECORDS
from drawbar.yamlfile import nodes
from drawbar.yamlfile.nodes import Place, Source

if TYPE_CHECKING:
    from yaml.nodes import MappingNode

    from drawbar.yamlfile.entry import Entry

_ROW = re.compile(r"^([^\s#:]+):", re.MULTILINE)


def data_text(name: str) -> str:
    """Return the text of data/NAME.yaml."""
    return resources.files("drawbar").joinpath(f"data/{name}.yaml").read_text(encoding="utf-8")


def data_tree(name: str) -> MappingNode:
    """Return data/NAME.yaml as a tree of nodes."""
    return nodes.compose(data_text(name), Source(f"{name}.yaml"))


def plain_data(name: str) -> Any:
    """Return data/NAME.yaml as plain values, for a file of plain numbers."""
    import yaml

    return yaml.load(data_text(name), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))


class DataFile:
    """The rows of one of the project's own data files.

    A row is parsed when it is asked for: its text runs from its name, which stands at the left margin, to the next.
    """

    def __init__(self, kind: str) -> None:
        self._kind = kind
        self._text = data_text(kind)
        starts = [(match.group(1), match.start()) for match in _ROW.finditer(self._text)]
        ends = [*(start for _, start in starts[1:]), len(self._text)]
        self._rows = {name: (start, end) for (name, start), end in zip(starts, ends, strict=True)}

    @property
    def names(self) -> list[str]:
        """The names of the rows, in the order of the file."""
        return list(self._rows)

    def entry(self, name: str) -> tuple[Entry, Place] | None:
        """Return a row and where its name stands; None if there is none."""
        if name not in self._rows:
            return None
        start, end = self._rows[name]
        source = Source(f"{self._kind}.yaml")
        above = "\n" * self._text.count("\n", 0, start)  # so that a place is that in the file
        ((key, node),) = nodes.compose(above + self._text[start:end], source).value
        entry = RECORDS[self._kind].read(node, source, (name,))
        if entry is not None and self._kind in CHECKS:
            CHECKS[self._kind](entry, source)
        source.raise_if_any()
        assert entry is not None  # without a problem it was read
        return entry, source.place(key)
