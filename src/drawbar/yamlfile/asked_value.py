"""A value that is asked for beside a file, as the tree that the file would have for it."""

from __future__ import annotations

from collections.abc import Iterator

from yaml.nodes import CollectionNode, MappingNode, Node, ScalarNode, SequenceNode

from drawbar.problems import Problem, Problems, shown
from drawbar.yamlfile.loading import PLAIN
from drawbar.yamlfile.nodes import AskedMark, Source, dotted, unprintable, yaml_tree


def compose_asked(text: str, file: str, path: tuple[str, ...], mark: AskedMark) -> Node:
    """Return the tree of a value that was asked for beside a file, every node of it with the mark of what asked.

    Parameters
    ----------
    text : str
        The value as a file would have it behind the key: a scalar, or a list or mapping in brackets.
    file : str
        The file that it is asked of.
    path : tuple of str
        The way to its place through the keys of the file.
    mark : AskedMark
        What asked for it.

    Returns
    -------
    Node

    Raises
    ------
    Problems
        If the value is not well formed, is spread as only a file can have it, or holds what can't be printed.
    """
    odd = unprintable(text)
    if odd is not None:
        what = f"holds the character U+{ord(odd.group()):04X}, which can't be printed"
        raise Problems([Problem(file, 0, 0, dotted(path), what, "delete it", mark.place)])
    try:
        root = yaml_tree(text, Source(file))
    except Problems as error:
        raise Problems(
            problem._replace(line=0, column=0, where=dotted(path), asked=mark.place) for problem in error.problems
        ) from None
    if root is None:  # a comment alone
        root = ScalarNode(PLAIN, "", mark, mark)
    if isinstance(root, CollectionNode) and not root.flow_style:
        is_mapping = isinstance(root, MappingNode)
        what = f"{shown(text)} is {'a `KEY: VALUE`' if is_mapping else 'a list item'} without brackets"
        fit = (
            "put it in braces, `{KEY: VALUE}`; a text that holds a colon, in quotes" if is_mapping else "write `[ITEM]`"
        )
        raise Problems([Problem(file, 0, 0, dotted(path), what, fit, mark.place)])
    for node in every_node(root):
        node.start_mark = node.end_mark = mark
    return root


def every_node(root: Node) -> Iterator[Node]:
    """Yield a node and all within it, keys as well, in no order that matters.

    Parameters
    ----------
    root : Node
        Where to begin.

    Yields
    ------
    Node
    """
    waiting = [root]
    while waiting:
        node = waiting.pop()
        yield node
        if isinstance(node, MappingNode):
            waiting.extend(key_or_value for pair in node.value for key_or_value in pair)
        elif isinstance(node, SequenceNode):
            waiting.extend(node.value)
