"""A tree of nodes as YAML text: every text in quotes, a key of the top on a line of its own."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from yaml.nodes import MappingNode, SequenceNode

if TYPE_CHECKING:
    from yaml.nodes import Node


def flow_text(node: Node) -> str:
    """Return a node on one line, every scalar as the text that it is."""
    if isinstance(node, MappingNode):
        return "{" + ", ".join(f"{flow_text(key)}: {flow_text(value)}" for key, value in node.value) + "}"
    if isinstance(node, SequenceNode):
        return "[" + ", ".join(map(flow_text, node.value)) + "]"
    return quoted(node.value)


def quoted(text: str) -> str:
    """Return a text in double quotes, as YAML and JSON read it."""
    return json.dumps(text, ensure_ascii=False)


def file_text(root: MappingNode) -> str:
    """Return a tree as the text of a file: a line for each key, and for each key of the mappings under it."""
    lines = []
    for key, value in root.value:
        if isinstance(value, MappingNode) and value.value and all(isinstance(v, MappingNode) for _, v in value.value):
            lines.append(f"{flow_text(key)}:")
            lines += [f"  {flow_text(name)}: {flow_text(row)}" for name, row in value.value]
        else:
            lines.append(f"{flow_text(key)}: {flow_text(value)}")
    return "".join(f"{line}\n" for line in lines)
