"""A YAML text as a tree of nodes with line and column, every scalar read as the text that stands there.

What YAML allows and a job file has no use for is refused here: several documents, anchors and aliases, tags, a
nesting deeper than any job, unprintable characters, a file too large to be a job.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from typing import NamedTuple

import yaml
from yaml.nodes import MappingNode, Node, SequenceNode

from drawbar.problems import INVISIBLE, Problem, Problems, shown, unread
from drawbar.yamlfile.loading import PLAIN, TooMuch, loader_of

MOST_BYTES = 1_000_000
MOST_PROBLEMS = 200  # more help nobody, and each costs a search for what was meant

# What YAML 1.2 section 5.1 calls printable, less the line breaks that only YAML 1.1 knew: they would put the line
# count out. What can't be seen would let two names look the same.
_UNPRINTABLE = f"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff{INVISIBLE}]"


class Position(NamedTuple):
    """Where something stands in a file: line and column from 1."""

    file: str
    line: int
    column: int


class AskedMark(yaml.Mark):
    """Where a node stands that is in no file: `place` is what asked for it, as `--set 1`; its line and column are 0."""

    def __init__(self, place: str) -> None:
        super().__init__(place, 0, -1, -1, None, 0)
        self.place = place


class Source:
    """A file being read.

    Attributes
    ----------
    file : str
        Its name in messages.
    problems : list of Problem
        What is wrong with it, as far as it has been read.
    taken_out : dict of tuple of str to AskedMark
        What was taken out before it was read, by the way to it through the keys of the file.
    """

    __slots__ = ("file", "problems", "taken_out")

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.taken_out: dict[tuple[str, ...], AskedMark] = {}

    def position(self, node: Node) -> Position:
        """Return where a node stands."""
        return Position(self.file, node.start_mark.line + 1, node.start_mark.column + 1)

    def add(self, node: Node | None, path: tuple[str, ...], what: str, fit: str = "") -> None:
        """Note a problem at a node; path is the way to it through the keys of the file."""
        _, line, column = self.position(node) if node is not None else (self.file, 0, 0)
        asked = node.start_mark.place if node is not None and isinstance(node.start_mark, AskedMark) else ""
        self._note(Problem(self.file, line, column, dotted(path), what, fit, asked))

    def add_missing(self, node: Node, path: tuple[str, ...], key: str, fit: str) -> None:
        """Note a key that a table at a node lacks; one that was taken out is told where that was asked."""
        mark = self.taken_out.get((*path, key))
        if mark is None:
            self.add(node, path, f"`{key}` is missing", fit)
        else:
            self._note(Problem(self.file, 0, 0, dotted((*path, key)), "can't be taken out", fit, mark.place))

    def _note(self, problem: Problem) -> None:
        self.problems.append(problem)
        if len(self.problems) >= MOST_PROBLEMS:
            self.raise_if_any()

    def raise_if_any(self) -> None:
        """Raise Problems with all that was noted, in the order of the file."""
        if not self.problems:
            return
        problems = sorted(self.problems, key=lambda problem: (problem.line, problem.column))
        if len(problems) >= MOST_PROBLEMS:
            what = f"{MOST_PROBLEMS} problems, and there may be more"
            problems.append(Problem(self.file, 0, 0, "", what, "mend these first"))
        raise Problems(problems)


def dotted(path: Sequence[str]) -> str:
    """Return a way through the keys of a file as a message says it.

    Parameters
    ----------
    path : sequence of str
        The keys, the outermost first.

    Returns
    -------
    str
    """
    return ".".join(key if key.strip() else shown(key) for key in path)


def read_text(file: str, most_bytes: int = MOST_BYTES) -> str:
    """Return the text of a file.

    Parameters
    ----------
    file : str
        Its path, or `-` for standard input.
    most_bytes : int
        How long it may be.

    Returns
    -------
    str

    Raises
    ------
    Problems
        If it can't be opened, is no UTF-8 text, holds an unprintable character, or is too long.
    """
    if not file.isprintable() and re.search("[\r\n\u2028\u2029]", file):  # its name would be lines of every page
        raise Problems([Problem(file, 0, 0, "", "its name holds a line break", "give the file another name")])
    try:
        if file == "-":
            data = sys.stdin.buffer.read(most_bytes + 1)
        else:
            with open(file, "rb") as stream:
                data = stream.read(most_bytes + 1)
    except IsADirectoryError:
        raise Problems([Problem(file, 0, 0, "", "is a folder", "name the file in it")]) from None
    except FileNotFoundError:
        raise Problems([Problem(file, 0, 0, "", "there is no such file")]) from None
    except (OSError, ValueError) as error:
        raise Problems([unread(file, error)]) from None
    return decoded(data, file, most_bytes)


def unprintable(text: str) -> re.Match[str] | None:
    """Return the first character of a text that can't be printed, line breaks and tabs left out.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    re.Match or None
        None where there is no such character.
    """
    if text.replace("\n", "").replace("\t", "").replace("\r", "").isprintable():
        return None  # the quick look, which settles nearly all
    return re.search(_UNPRINTABLE, text)


def decoded(data: bytes, file: str, most_bytes: int = MOST_BYTES) -> str:
    """Return the bytes of a file as text.

    Parameters
    ----------
    data : bytes
        What the file holds.
    file : str
        Its name in messages.
    most_bytes : int
        How long it may be.

    Returns
    -------
    str

    Raises
    ------
    Problems
        If it is no UTF-8 text, holds an unprintable character, or is too long.
    """
    if len(data) > most_bytes:
        fit = "a job file is a few thousand; is this the right file?"
        raise Problems([Problem(file, 0, 0, "", f"is over {most_bytes:,} bytes", fit)])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - before.rfind(b"\n")
        what = f"byte 0x{data[error.start]:02x} is not UTF-8 text"
        raise Problems([Problem(file, line, column, "", what, "save the file as UTF-8")]) from None
    odd = unprintable(text)
    if odd is not None:
        start = odd.start()
        line = text.count("\n", 0, start) + 1
        column = start - text.rfind("\n", 0, start)
        what = f"character U+{ord(odd.group()):04X} can't be printed"
        raise Problems([Problem(file, line, column, "", what, "delete it")])
    return text


def compose(text: str, source: Source) -> MappingNode:
    """Return the tree of a YAML text whose top is a mapping.

    Parameters
    ----------
    text : str
        The text of a file.
    source : Source
        The file that it is of.

    Returns
    -------
    MappingNode

    Raises
    ------
    Problems
        If the text is not well formed, is no mapping, or has what such files have no use for.
    """
    root = yaml_tree(text, source)
    if root is None:
        raise Problems([Problem(source.file, 1, 1, "", "the file is empty", "write `key: value` lines")])
    if not isinstance(root, MappingNode):
        what = f"the file is {described(root)}"
        raise Problems([Problem(source.file, 1, 1, "", what, "write `key: value` lines")])
    return root


def yaml_tree(text: str, source: Source) -> Node | None:
    """Return the tree of a YAML text, whatever it is, None where nothing stands in it.

    Raises Problems as `compose` does.
    """
    loader = loader_of(text)
    try:
        root = loader.get_single_node()
    except yaml.MarkedYAMLError as error:
        from drawbar.yamlfile.syntax import syntax_problem

        raise Problems([syntax_problem(error, text, source.file)]) from None
    except TooMuch as error:
        mark = error.near.start_mark if error.near is not None else None
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        raise Problems([Problem(source.file, line, column, "", error.what, error.fit)]) from None
    finally:
        loader.dispose()
    if root is not None and ("&" in text or "!" in text):
        _refuse_aliases_and_tags(root, source)
    return root


def place_of(node: Node) -> str:
    """Return where a node stands as a message says it of another: its line, or what asked for it.

    Parameters
    ----------
    node : Node
        Any node.

    Returns
    -------
    str
    """
    mark = node.start_mark
    return mark.place if isinstance(mark, AskedMark) else f"line {mark.line + 1}"


def node_at(root: Node, path: Sequence[str]) -> Node | None:
    """Return the node that a path of keys leads to.

    Parameters
    ----------
    root : Node
        Where the path begins.
    path : sequence of str
        The keys, the outermost first.

    Returns
    -------
    Node or None
        None where there is no such key.
    """
    node: Node | None = root
    for key in path:
        pairs = node.value if isinstance(node, MappingNode) else ()
        node = next((value for name, value in pairs if name.value == key), None)
    return node


def described(node: Node) -> str:
    """Return what a node is, as a message says it.

    Parameters
    ----------
    node : Node
        Any node.

    Returns
    -------
    str
    """
    if isinstance(node, MappingNode):
        return "a mapping (`key: value`)"
    return "a list" if isinstance(node, SequenceNode) else f"the text {shown(node.value)}" if node.value else "empty"


def _refuse_aliases_and_tags(root: Node, source: Source) -> None:
    """Raise Problems if a node carries a tag, or stands in more than one place, as only an alias can make it."""
    seen: set[int] = set()
    noted: set[int] = set()
    waiting: list[Node] = [root]
    while waiting:
        node = waiting.pop()
        if id(node) in seen:
            if id(node) not in noted:
                noted.add(id(node))
                source.add(node, (), "an alias (`*name`) points here", "write the values out in each place")
            continue
        seen.add(id(node))
        if node.tag not in (PLAIN, "!"):
            tag = node.tag.replace("tag:yaml.org,2002:", "!!", 1)
            source.add(node, (), f"a tag stands here: {shown(tag)}", "delete it and write the plain value")
        if isinstance(node, MappingNode):
            waiting.extend(key_or_value for pair in node.value for key_or_value in pair)
        elif isinstance(node, SequenceNode):
            waiting.extend(node.value)
    source.raise_if_any()
