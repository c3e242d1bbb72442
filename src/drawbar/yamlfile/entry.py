"""A table as it was read from a file: each value by its key and with its type, and the place where it stands."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar, overload

from yaml.nodes import MappingNode

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from yaml.nodes import Node

    from drawbar.units import Dimension

_T = TypeVar("_T")

NONE = object()
"""What the word `none` reads as, where it says that there is nothing: no value, but known."""


class Rate(NamedTuple):
    """A rate at which gas burns or passes, as a file gives it: heat, mass or volume.

    Attributes
    ----------
    value : float
        The rate [SI unit of the dimension].
    dimension : Dimension
        Heat rate, mass flow or gas flow.
    basis : str or None
        `gross` or `net` for a heat rate where the file says so.
    written : str
        What stands in the file.
    """

    value: float
    dimension: Dimension
    basis: str | None
    written: str


class Entry:
    """A table as read. What is absent, could not be read, or is of another form than asked for has no value.

    Attributes
    ----------
    node : Node
        Where the table stands.
    path : tuple of str
        The way to it through the keys of the file.
    values : dict of str to Any
        What was read, by key.
    nodes : dict of str to Node
        Where each value stands.
    """

    __slots__ = ("node", "nodes", "path", "values")

    def __init__(self, node: Node, path: tuple[str, ...], values: dict[str, Any], nodes: dict[str, Node]) -> None:
        self.node = node
        self.path = path
        self.values = values
        self.nodes = nodes

    def get(self, key: str, default: Any = None) -> Any:
        """Return a value of any type, or the default where there is none."""
        value = self.values.get(key)
        return default if value is None or value is NONE else value

    def at(self, key: str) -> Node:
        """Return the node of a key's value, or of the table where the key is absent."""
        return self.nodes.get(key, self.node)

    @overload
    def text(self, key: str) -> str | None: ...

    @overload
    def text(self, key: str, default: str) -> str: ...

    def text(self, key: str, default: str | None = None) -> str | None:
        """Return a text, a name or a word."""
        value = self.values.get(key)
        return value if isinstance(value, str) else default

    @overload
    def quantity(self, key: str) -> float | None: ...

    @overload
    def quantity(self, key: str, default: float) -> float: ...

    def quantity(self, key: str, default: float | None = None) -> float | None:
        """Return a quantity in its SI unit, or a plain number."""
        value = self.values.get(key)
        return value if isinstance(value, float) else default

    @overload
    def count(self, key: str) -> int | None: ...

    @overload
    def count(self, key: str, default: int) -> int: ...

    def count(self, key: str, default: int | None = None) -> int | None:
        """Return a whole number."""
        value = self.values.get(key)
        return value if isinstance(value, int) else default

    def ends(self, key: str, default: float) -> tuple[float, float]:
        """Return the least and the most of a range in SI units; the default for both where there is none."""
        value = self.values.get(key)
        return value if isinstance(value, tuple) else (default, default)

    def is_none(self, key: str) -> bool:
        """Tell whether a key says that there is none of what it is for."""
        return self.values.get(key) is NONE

    def flag(self, key: str) -> bool:
        """Tell whether a key says yes."""
        return self.values.get(key) is True

    def rate(self, key: str) -> Rate | None:
        """Return a heat, mass or volume rate, with the table's `basis`."""
        value = self.values.get(key)
        if not isinstance(value, tuple):
            return None
        rate, dimension = value
        return Rate(rate, dimension, self.text("basis"), self.nodes[key].value)

    def table(self, key: str) -> Entry | None:
        """Return a table within the table."""
        value = self.values.get(key)
        return value if isinstance(value, Entry) else None

    def tables(self, key: str) -> list[Entry]:
        """Return the tables of a list."""
        value = self.values.get(key)
        return [table for table, _ in value] if isinstance(value, list) else []

    def names(self, key: str) -> Sequence[tuple[str, Node]]:
        """Return the names of a list, each with its node."""
        value = self.values.get(key)
        return value if isinstance(value, list) else ()

    def named_tables(self, key: str) -> Mapping[str, tuple[Entry | None, Node]]:
        """Return tables by name, each with the node of its name; None for one that could not be read."""
        value = self.values.get(key)
        return value if isinstance(value, dict) else {}

    def named_quantities(self, key: str) -> Mapping[str, tuple[float | None, Node]]:
        """Return quantities by name [SI units], each with the node of its name; None for what could not be read."""
        value = self.values.get(key)
        return value if isinstance(value, dict) else {}

    def named_texts(self, key: str) -> Mapping[str, tuple[str | None, Node]]:
        """Return texts by name, each with the node of its name; None for what could not be read."""
        value = self.values.get(key)
        return value if isinstance(value, dict) else {}

    def named_counts(self, key: str) -> Mapping[str, tuple[int | None, Node]]:
        """Return whole numbers by name, each with the node of its name; None for what could not be read."""
        value = self.values.get(key)
        return value if isinstance(value, dict) else {}


def required(value: _T | None) -> _T:
    """Return the value of a field that must stand there, from a file that was read without a problem."""
    assert value is not None
    return value


def entries(node: Node | None) -> list[tuple[str, Node]]:
    """Return the keys of a mapping, each with its value; nothing of any other node.

    Parameters
    ----------
    node : Node or None
        Any node.

    Returns
    -------
    list of tuple of str and Node
        In the order of the file.
    """
    return [(str(key.value), value) for key, value in node.value] if isinstance(node, MappingNode) else []


def key_lines(node: Node | None) -> dict[str, int]:
    """Return the line of each key of a mapping, from 1, the first of a key twice; nothing of any other node."""
    lines: dict[str, int] = {}
    for key, _ in node.value if isinstance(node, MappingNode) else ():
        lines.setdefault(str(key.value), int(key.start_mark.line) + 1)
    return lines
