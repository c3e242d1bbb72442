"""PyYAML's loader as job files need it: libyaml's parser where it is there, no tag guessed, all bounded."""

from __future__ import annotations

import operator
from typing import Any

import yaml
from yaml.nodes import Node

MOST_DEPTH = 40
MOST_NODES = (
    50_000  # a job of 200 runs has some 4000; it bounds time and memory where a file is a flood of small values
)

PLAIN = "plain"  # the tag of every node that carries none of its own
_MOST_MARKS = 120  # of values within values in a text whose depth is not counted: those of some fifty runs
_AS_SQUARE = bytes.maketrans(b"{}", b"[]")
_NO_BRACKETS = bytes(set(range(256)) - set(b"[]{}"))
TOO_DEEP = f"the values are nested more than {MOST_DEPTH} deep", "a job is 6 deep"


class TooMuch(Exception):
    """The nesting is deeper, or the values are more, than any job's."""

    def __init__(self, what: str, fit: str, near: Node | None) -> None:
        super().__init__(what)
        self.what = what
        self.fit = fit
        self.near = near


class _Resolver:
    """The resolver of the loader: no tag is guessed from a scalar's look."""

    # Called at every value, with nothing to do: functions that are written in C cost least.
    descend_resolver = staticmethod(operator.is_)
    ascend_resolver = staticmethod(bool)

    def resolve(self, kind: type[Node], value: str, implicit: Any) -> str:  # noqa: ARG002 - PyYAML's call
        return PLAIN


class _Counter(_Resolver):
    """The same, and depth and values are counted on the way down."""

    depth = 0
    nodes = 0

    def descend_resolver(self, parent: Node | None, index: Any) -> None:  # type: ignore[override] # noqa: ARG002 - as above
        self.depth += 1
        self.nodes += 1
        if self.depth > MOST_DEPTH:
            raise TooMuch(*TOO_DEEP, parent)
        if self.nodes > MOST_NODES:
            raise TooMuch(f"the file holds more than {MOST_NODES:,} values", "a job has a few hundred", parent)

    def ascend_resolver(self) -> None:  # type: ignore[override]
        self.depth -= 1


if yaml.__with_libyaml__:
    from yaml._yaml import CParser as _Parser  # libyaml's: several times as fast
else:  # pragma: no cover - a PyYAML that was built without libyaml
    from yaml.composer import Composer
    from yaml.parser import Parser
    from yaml.reader import Reader
    from yaml.scanner import Scanner

    class _Parser(Reader, Scanner, Parser, Composer):  # type: ignore[no-redef]
        def __init__(self, text: str) -> None:
            Reader.__init__(self, text)
            Scanner.__init__(self)
            Parser.__init__(self)
            Composer.__init__(self)


class _Loader(_Resolver, _Parser):
    pass


class _CountingLoader(_Counter, _Parser):
    pass


def loader_of(text: str) -> _Loader | _CountingLoader:
    """Return the loader of a text, which counts depth and values where they may be too many."""
    return _Loader(text) if _is_small(text) else _CountingLoader(text)


def _is_small(text: str) -> bool:
    """Tell whether a text surely has no more values than may be, and is not so deep that reading it could hurt.

    A value takes a character at least, and what goes a step deeper a bracket, a mark or an indentation of its own.
    """
    if len(text) > MOST_NODES // 2 or " " * MOST_DEPTH in text or "\t" in text:
        return False
    brackets = text.encode("utf-8", "surrogatepass").translate(_AS_SQUARE, _NO_BRACKETS)
    if brackets.count(b"[") + text.count("- ") + text.count("? ") > _MOST_MARKS:
        return False
    depth = 0  # as far as no quote or comment has brackets
    while b"[]" in brackets:
        brackets = brackets.replace(b"[]", b"")
        depth += 1
    return depth + len(brackets) < MOST_DEPTH
