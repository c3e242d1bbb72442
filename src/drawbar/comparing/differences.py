"""What differs between job files: the keys whose values are not the same in all of them, from their trees."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from drawbar.yamlfile.entry import entries
from drawbar.yamlfile.nodes import dotted

_NEEDS_QUOTES = frozenset(",:[]{}#")


class Difference(NamedTuple):
    """A key that is not the same in all files.

    Attributes
    ----------
    key : str
        The way to it, as `--set` takes it.
    values : tuple of (str or None)
        What each file has there, None where it has no such key.
    """

    key: str
    values: tuple[str | None, ...]


def differences_of(trees: Sequence[Node]) -> tuple[Difference, ...]:
    """Return the keys that differ between the trees of job files, in the order of the first file.

    A table that one file alone has is told whole; a list is told whole but where all have as many items.

    Parameters
    ----------
    trees : sequence of Node
        The trees, those of one job with other things set among them.

    Returns
    -------
    tuple of Difference
        Empty where all files say the same.
    """
    return tuple(_differences(list(trees), ()))


def _differences(nodes: Sequence[Node | None], path: tuple[str, ...]) -> Iterator[Difference]:
    there = [node for node in nodes if node is not None]
    many = len(there) > 1
    if many and all(isinstance(node, MappingNode) for node in there):
        tables = [dict(entries(node)) for node in nodes]
        for key in dict.fromkeys(key for table in tables for key in table):
            yield from _differences([table.get(key) for table in tables], (*path, key))
        return
    if many and all(isinstance(node, SequenceNode) for node in there) and len({len(node.value) for node in there}) == 1:
        for number in range(len(there[0].value)):
            items = [None if node is None else node.value[number] for node in nodes]
            yield from _differences(items, (*path, str(number + 1)))
        return
    values = tuple(None if node is None else on_one_line(node) for node in nodes)
    if len(set(values)) > 1:
        yield Difference(dotted(path), values)


def on_one_line(node: Node) -> str:
    """Return what a node holds on one line, as a job file may have it.

    Parameters
    ----------
    node : Node
        Any node of a tree.

    Returns
    -------
    str
    """
    if isinstance(node, MappingNode):
        return "{" + ", ".join(f"{_scalar(key)}: {_within(value)}" for key, value in node.value) + "}"
    if isinstance(node, SequenceNode):
        return "[" + ", ".join(map(_within, node.value)) + "]"
    return " ".join(str(node.value).split())


def _within(node: Node) -> str:
    return _scalar(node) if isinstance(node, ScalarNode) else on_one_line(node)


def _scalar(node: Node) -> str:
    text = on_one_line(node)
    return f'"{text}"' if _NEEDS_QUOTES & set(text) else text
