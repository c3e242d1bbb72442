"""A YAML text as a tree of nodes with line and column, every scalar read as the text that stands there.

What YAML allows and a job file has no use for is refused here: several documents, anchors and aliases, tags, a
nesting deeper than
any job, unprintable characters, a file too large to be a job.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, SequenceNode

from drawbar.problems import Problem, Problems, shown

MOST_BYTES = 1_000_000
MOST_DEPTH = 40

_PLAIN = "plain"  # the tag of every node that carries none of its own
# What YAML 1.2 section 5.1 calls printable, less the line breaks that only YAML 1.1 knew: they would put the line
# count out.
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")


class _TooDeep(Exception):
    """The nesting is deeper than any job's."""


class _Hooks:
    """The resolver of the loader: no tag is guessed from a scalar's look, and depth is counted on the way down."""

    depth = 0

    def resolve(self, kind: type[Node], value: str, implicit: Any) -> str:
        return _PLAIN

    def descend_resolver(self, parent: Node | None, index: Any) -> None:
        self.depth += 1
        if self.depth > MOST_DEPTH:
            raise _TooDeep

    def ascend_resolver(self) -> None:
        self.depth -= 1


if yaml.__with_libyaml__:
    from yaml._yaml import CParser

    class _Loader(_Hooks, CParser):  # libyaml's parser: several times as fast
        pass

else:  # pragma: no cover - a PyYAML that was built without libyaml
    from yaml.composer import Composer
    from yaml.parser import Parser
    from yaml.reader import Reader
    from yaml.scanner import Scanner

    class _Loader(_Hooks, Reader, Scanner, Parser, Composer):  # type: ignore[no-redef]
        def __init__(self, text: str) -> None:
            Reader.__init__(self, text)
            Scanner.__init__(self)
            Parser.__init__(self)
            Composer.__init__(self)


@dataclass(slots=True)
class Source:
    """A file being read: its name, and the problems found in it so far."""

    file: str
    problems: list[Problem] = field(default_factory=list)

    def add(self, node: Node | None, path: tuple[str, ...], what: str, fit: str = "") -> None:
        """Note a problem at a node; path is the way to it through the keys of the file."""
        line, column = (node.start_mark.line + 1, node.start_mark.column + 1) if node is not None else (0, 0)
        self.problems.append(Problem(self.file, line, column, ".".join(path), what, fit))

    def raise_if_any(self) -> None:
        """Raise Problems with all that was noted, in the order of the file."""
        if self.problems:
            raise Problems(sorted(self.problems, key=lambda problem: (problem.line, problem.column)))


def read_text(file: str) -> str:
    """Return the text of a file, or of standard input for `-`.

    Raises Problems if it can't be opened, is no UTF-8 text, holds an unprintable character, or is over MOST_BYTES long.
    """
    try:
        if file == "-":
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            with Path(file).open("rb") as stream:
                data = stream.read(MOST_BYTES + 1)
    except IsADirectoryError:
        raise Problems([Problem(file, 0, 0, "", "is a folder", "name the file in it")]) from None
    except FileNotFoundError:
        raise Problems([Problem(file, 0, 0, "", "there is no such file")]) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise Problems([Problem(file, 0, 0, "", f"can't be read: {reason}")]) from None
    return decoded(data, file)


def decoded(data: bytes, file: str) -> str:
    """Return the bytes of a file as text; Problems as in read_text."""
    if len(data) > MOST_BYTES:
        fit = "a job file is a few thousand; is this the right file?"
        raise Problems([Problem(file, 0, 0, "", f"is over {MOST_BYTES:,} bytes", fit)])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - before.rfind(b"\n")
        what = f"byte 0x{data[error.start]:02x} is not UTF-8 text"
        raise Problems([Problem(file, line, column, "", what, "save the file as UTF-8")]) from None
    odd = _UNPRINTABLE.search(text)
    if odd is not None:
        start = odd.start()
        line = text.count("\n", 0, start) + 1
        column = start - text.rfind("\n", 0, start)
        what = f"character U+{ord(odd.group()):04X} can't be printed"
        raise Problems([Problem(file, line, column, "", what, "delete it")])
    return text


def compose(text: str, source: Source) -> MappingNode:
    """Return the tree of a YAML text whose top is a mapping; Problems if it is none, or not well formed."""
    loader = _Loader(text)
    try:
        root = loader.get_single_node()
    except yaml.MarkedYAMLError as error:
        raise Problems([_syntax_problem(error, text, source.file)]) from None
    except (_TooDeep, RecursionError):
        raise Problems([Problem(source.file, 1, 1, "", f"is nested more than {MOST_DEPTH} deep")]) from None
    finally:
        loader.dispose()
    if root is None:
        raise Problems([Problem(source.file, 1, 1, "", "is empty", "write `job:` and the rest")])
    if not isinstance(root, MappingNode):
        what = f"the file is {described(root)}"
        raise Problems([Problem(source.file, 1, 1, "", what, "write `key: value` lines, the first of them `job:`")])
    if "&" in text:
        _refuse_aliases(root, source)
    return root


def described(node: Node) -> str:
    """Return what a node is, as a message says it."""
    if isinstance(node, MappingNode):
        return "a mapping"
    return "a list" if isinstance(node, SequenceNode) else f"the text {shown(node.value)}" if node.value else "empty"


def is_tagged(node: Node) -> bool:
    """Tell whether a node carries a YAML tag such as `!!str` of its own."""
    return node.tag is not _PLAIN and node.tag != _PLAIN


def _refuse_aliases(root: Node, source: Source) -> None:
    """Raise Problems if a node stands in more than one place, as only an alias can make it."""
    seen: set[int] = set()
    waiting: list[Node] = [root]
    while waiting:
        node = waiting.pop()
        if id(node) in seen:
            source.add(node, (), "an alias (`*name`) points here", "write the values out in each place")
            source.raise_if_any()
        seen.add(id(node))
        if isinstance(node, MappingNode):
            waiting.extend(part for pair in node.value for part in pair)
        elif isinstance(node, SequenceNode):
            waiting.extend(node.value)


def _syntax_problem(error: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    """Return libyaml's complaint as a problem with a place and, for the usual slips, what to type instead."""
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    lines = text.splitlines()
    here = lines[line] if line < len(lines) else ""
    what = f"not well-formed YAML: {error.problem or error.context}"
    fit = ""
    said = f"{error.context} {error.problem}"
    if "\t" in here[: len(here) - len(here.lstrip())] or ("cannot start any token" in said and "\t" in here):
        what, fit = "a tab stands in the indentation", "use spaces"
    elif "mapping values are not allowed" in said:
        what, fit = (
            "a second `: ` on the line",
            'put a text that holds a colon in quotes, as in `job: "Trailer: rear line"`',
        )
    elif "expected a single document" in said:
        what, fit = "a second document starts here", "one file holds one job"
    elif "undefined alias" in said:
        what, fit = "an alias (`*name`) that points nowhere", "write the value out"
    elif "did not find expected ',' or" in said:
        fit = "is a comma, a closing bracket or a closing quote missing?"
    elif ("block" in said and "expected <block end>" in said) or "could not find expected ':'" in said:
        fit = "is a colon or a space after it missing, or a line indented differently from its neighbours?"
    return Problem(file, line + 1, column + 1, "", what, fit)
