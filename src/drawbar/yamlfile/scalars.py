"""Kinds of field that one scalar holds: a line of text, a number and a unit, a plain number, a word, a name.

A kind reads the same text in the same way wherever it stands, so that it looks at a text once.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from yaml.nodes import Node, ScalarNode

from drawbar import unit_words, units
from drawbar.problems import close_to, shown
from drawbar.yamlfile.nodes import Source, described, unprintable

Path = tuple[str, ...]
MOST_NAME = 60
_MOST_REMEMBERED = 500  # texts of one kind: what a batch has in common, in memory that does not grow


def scalar(node: Node, source: Source, path: Path, fit: str = "write one value") -> str | None:
    """Return the text of a scalar node.

    Parameters
    ----------
    node : Node
        Any node.
    source : Source
        The file that it is of, on which a problem is noted.
    path : tuple of str
        The way to it through the keys of the file.
    fit : str
        What to write there, as a problem says it.

    Returns
    -------
    str or None
        None, with a problem noted, where the node is no scalar, is empty, or holds what can't be printed.
    """
    if not isinstance(node, ScalarNode):
        source.add(node, path, f"is {described(node)}", fit)
        return None
    text: str = node.value
    if not text.strip():
        source.add(node, path, "is empty", fit)
        return None
    odd = None if text.isprintable() else unprintable(text)
    if odd is not None:  # by an escape such as "\e", as the document has none that stand there themselves
        source.add(node, path, f"holds the character U+{ord(odd.group()):04X}, which can't be printed", "delete it")
        return None
    return text


class Remembered:
    """A kind that reads one scalar by its text alone: a text that was read without a problem is not looked at again.

    A batch reads the same names, sizes and figures in job after job.
    """

    __slots__ = ("_values",)

    def __init__(self) -> None:
        self._values: dict[str, Any] = {}

    def read(self, node: Node, source: Source, path: Path) -> Any:
        """Return the value of a node, or None with a problem noted on the source."""
        value = self._values.get(node.value) if isinstance(node, ScalarNode) else None
        if value is None:
            value = self.value_of(node, source, path)
            if value is not None:
                if len(self._values) >= _MOST_REMEMBERED:
                    self._values.clear()
                self._values[node.value] = value
        return value

    def value_of(self, node: Node, source: Source, path: Path) -> Any:
        """Return what `read` returns, from the node itself."""
        raise NotImplementedError


class TextLine(NamedTuple):
    """A line of text up to `most` characters."""

    most: int = 200

    def read(self, node: Node, source: Source, path: Path) -> str | None:
        """Return the text, white space folded."""
        text = scalar(node, source, path, "write a line of text")
        if text is None:
            return None
        folded = " ".join(text.split())
        if len(folded) > self.most:
            source.add(node, path, f"is {len(folded):,} characters long", f"write up to {self.most}")
            return None
        return folded


class Quantity(Remembered):
    """A number and a unit of one of the dimensions, within bounds given as a person writes them.

    Reads as an SI float. With several dimensions it reads as (SI float, dimension), and the reader puts them into one;
    the bounds are of the first dimension.
    """

    __slots__ = ("dimensions", "high", "low")

    def __init__(self, dimensions: tuple[units.Dimension, ...], low: str, high: str) -> None:
        super().__init__()
        self.dimensions = dimensions
        self.low = low
        self.high = high

    def value_of(self, node: Node, source: Source, path: Path) -> Any:
        """Return the value in SI units."""
        text = scalar(node, source, path, "write a number and a unit")
        if text is None:
            return None
        try:
            value, dimension = _si(text, self.dimensions)
        except units.UnitError as error:
            source.add(node, path, error.what, error.fit)
            return None
        if dimension is self.dimensions[0] and not self.holds(value):
            source.add(node, path, f"{shown(text)} can't be right", f"write from {self._bounds_beside(text)}")
            return None
        return value if len(self.dimensions) == 1 else (value, dimension)

    def _bounds_beside(self, text: str) -> str:
        """Return the bounds in words, in the unit of the text where theirs are metric and it is not."""
        unit, dimension = units.unit_of(text), self.dimensions[0]
        if unit not in units.US_CUSTOMARY:
            return f"{self.low} to {self.high}"
        low, high = (units.from_si(bound, unit, dimension) for bound in self._bounds())
        return f"{low:.6g} to {high:.6g} {unit_words.unit_shown(unit)}"

    def holds(self, value: float) -> bool:
        """Tell whether a value of the first dimension, in SI units, is within the bounds."""
        low, high = self._bounds()
        return low <= value <= high

    def _bounds(self) -> tuple[float, float]:
        return _si(self.low, self.dimensions)[0], _si(self.high, self.dimensions)[0]


@functools.lru_cache(maxsize=4096)
def _si(text: str, dimensions: tuple[units.Dimension, ...]) -> tuple[float, units.Dimension]:
    value, unit, dimension = units.number_and_unit(text, *dimensions)
    return units.to_si(value, unit, dimension), dimension


def of(dimension: units.Dimension, low: str, high: str) -> Quantity:
    """Return the kind of a quantity of one dimension.

    Parameters
    ----------
    dimension : Dimension
        What is measured.
    low, high : str
        The bounds between which it can be right, as a person writes them.

    Returns
    -------
    Quantity
    """
    return Quantity((dimension,), low, high)


class Number(Remembered):
    """A plain number without a unit, within bounds."""

    __slots__ = ("high", "low", "whole")

    def __init__(self, low: float, high: float, *, whole: bool = False) -> None:
        super().__init__()
        self.low = low
        self.high = high
        self.whole = whole

    def value_of(self, node: Node, source: Source, path: Path) -> float | int | None:
        """Return the number: an int if it must be whole, else a float."""
        form = "a whole number" if self.whole else "a number"
        fit = f"write {form} from {self.low:g} to {self.high:g}, without a unit"
        text = scalar(node, source, path, fit)
        if text is None:
            return None
        pattern = r"[+-]?[0-9]{1,9}" if self.whole else r"[+-]?[0-9]{1,9}(\.[0-9]{1,12})?"
        if re.fullmatch(pattern, text) is None or not self.low <= float(text) <= self.high:
            source.add(node, path, f"{shown(text)} can't stand here", fit)
            return None
        return int(text) if self.whole else float(text)


class Choice(NamedTuple):
    """One of a few words."""

    words: Mapping[str, Any]

    def read(self, node: Node, source: Source, path: Path) -> Any:
        """Return what the word stands for."""
        text = scalar(node, source, path, f"write one of {', '.join(self.words)}")
        if text is None:
            return None
        if text not in self.words:
            source.add(node, path, f"{shown(text)} is not known here", close_to(text, self.words))
            return None
        return self.words[text]


FLAG = Choice({"yes": True, "no": False, "true": True, "false": False})


class Name(Remembered):
    """A name of something in the file: up to MOST_NAME characters."""

    __slots__ = ()

    def value_of(self, node: Node, source: Source, path: Path) -> str | None:
        """Return the name."""
        text = scalar(node, source, path, "write a name")
        if text is None:
            return None
        if len(text) > MOST_NAME:
            what = f"{shown(text)} is {len(text):,} characters long"
            source.add(node, path, what, f"write a name of up to {MOST_NAME}")
            return None
        if text != " ".join(text.split()):
            source.add(node, path, f"{shown(text)} holds a line break, a tab or blanks too many", "leave them out")
            return None
        if not text.isprintable():  # what else can't be has been refused
            source.add(node, path, f"{shown(text)} holds a character that can't be seen", "write the name without it")
            return None
        return text
