"""Sizes and other values put into a job file: only what stands at their keys changes; comments and spaces stay."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from yaml.nodes import Node, ScalarNode, SequenceNode

from drawbar.yamlfile import nodes
from drawbar.yamlfile.nodes import Source

BOM = "\ufeff"

_PLAIN = re.compile(r"\w[\w./+ -]*")  # what needs no quotes wherever it stands
_BREAK = re.compile(r"\r\n|\r|\n")
_TO_DASH = re.compile(r"(?:[ \t]*(?:#[^\r\n]*)?(?:\r\n|\r|\n))*[ \t]*-")  # from the end of one item of a block list


def bom_of(file: str) -> str:
    """Return the byte order mark that a file begins with, which reading leaves out; empty where there is none.

    Parameters
    ----------
    file : str
        The file.

    Returns
    -------
    str

    Raises
    ------
    OSError
        If it can't be read.
    """
    return BOM if Path(file).read_bytes().startswith(BOM.encode()) else ""


def with_sizes(text: str, file: str, labels: Mapping[str, str]) -> str:
    """Return the text of a job file with the pipe of each run that is named written as one size.

    Parameters
    ----------
    text : str
        The text of the job file.
    file : str
        Its name in messages.
    labels : mapping of str to str
        `family/size` by name of the run; a run whose pipe stands so already is left alone.

    Returns
    -------
    str

    Raises
    ------
    Problems
        If the text is no job file.
    """
    bom, body = (BOM, text[1:]) if text.startswith(BOM) else ("", text)
    edits: list[tuple[int, int, str]] = []
    root = nodes.compose(body, Source(file))
    for name, label in labels.items():
        pipe = nodes.node_at(root, ("runs", name, "pipe"))
        if pipe is not None:
            edits.extend(_edits(body, pipe, label))
    for start, end, new in sorted(edits, reverse=True):
        body = body[:start] + new + body[end:]
    return bom + body


def with_values(text: str, file: str, values: Mapping[tuple[str, ...], str]) -> str:
    """Return the text of a job file with other values in it; comments, order and spaces stay.

    Parameters
    ----------
    text : str
        The text of the job file.
    file : str
        Its name in messages.
    values : mapping of tuple of str to str
        What is to stand at the way through the keys, as YAML on one line; an item of a list is its number from 0.

    Returns
    -------
    str

    Raises
    ------
    Problems
        If the text is no job file, or has no such key.
    """
    bom, body = (BOM, text[1:]) if text.startswith(BOM) else ("", text)
    source = Source(file)
    root = nodes.compose(body, source)
    edits: list[tuple[int, int, str]] = []
    for path, new in values.items():
        node = _item_at(root, path)
        if node is None:
            source.add(root, path, "is not there, and so can't be changed")
        elif not (isinstance(node, ScalarNode) and node.value == new):
            edits.append((*_span(body, node), new))
    source.raise_if_any()
    for start, end, new in sorted(edits, reverse=True):
        body = body[:start] + new + body[end:]
    return bom + body


def _item_at(root: Node, path: Sequence[str]) -> Node | None:
    """Return the node at a way through keys and numbers of list items; a lone item may stand without its list."""
    node: Node | None = root
    for step in path:
        if isinstance(node, SequenceNode):
            node = node.value[int(step)] if step.isdigit() and int(step) < len(node.value) else None
        else:
            node = nodes.node_at(node, (step,)) if node is not None else None
    return node


def _edits(text: str, pipe: Node, label: str) -> list[tuple[int, int, str]]:
    """Return (start, end, new text) of each change that makes a pipe one size."""
    if isinstance(pipe, ScalarNode) and pipe.value == label:
        return []
    new = label if _PLAIN.fullmatch(label) else json.dumps(label, ensure_ascii=False)
    if isinstance(pipe, ScalarNode) or (isinstance(pipe, SequenceNode) and pipe.flow_style):
        return [(*_span(text, pipe), new)]
    if not isinstance(pipe, SequenceNode):
        return []
    first, *others = pipe.value
    # The size stands where the first choice stood: its dash may be no farther in than the word `pipe`.
    dash = pipe.start_mark.index
    start, end = _span(text, first)
    edits = [(dash, dash + 1, " "), (start, end, new)]
    for item in others:
        to_dash = _TO_DASH.match(text, end)
        assert to_dash is not None  # nothing else stands between two items
        dash = to_dash.end() - 1
        start, end = _span(text, item)
        if _BREAK.search(text, dash, start):
            edits += [_cut(text, dash, dash + 1), _cut(text, start, end)]
        else:
            edits.append(_cut(text, dash, end))
    return edits


def _span(text: str, node: Node) -> tuple[int, int]:
    """Return where a value starts and ends; that of a block scalar (`>-`) is taken without the line break after it."""
    start = node.start_mark.index
    return start, start + len(text[start : node.end_mark.index].rstrip())


def _cut(text: str, start: int, end: int) -> tuple[int, int, str]:
    """Return the change that takes a stretch out: the whole line where nothing else is on it; a comment stays."""
    line_start = max(text.rfind("\n", 0, start), text.rfind("\r", 0, start)) + 1
    line_break = _BREAK.search(text, end)
    line_end, next_line = line_break.span() if line_break else (len(text), len(text))
    rest = text[end:line_end]
    if rest.strip():
        return start, end + len(rest) - len(rest.lstrip()), ""
    return line_start, next_line, ""
