"""Kinds of field: how a node of a YAML tree is read as a value, and what is said when it can't be.

A model of a file is built from these: Record({"length": Field(Quantity(LENGTH, "1 mm", "1000 m")), ...}). Reading never
stops at the first problem: each is noted on the Source, the value is then None, and whoever called goes on.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from drawbar import unit_words
from drawbar.problems import close_to, shown
from drawbar.yamlfile.entry import NONE, Entry
from drawbar.yamlfile.nodes import Source, described, place_of
from drawbar.yamlfile.scalars import MOST_NAME, Name, Path, Quantity

_SPLIT_NUMBER = r"[0-9]+(?:\.[0-9]+)?\s?\S{0,6}"  # what a comma inside brackets makes of `1,5 kPa`


if TYPE_CHECKING:
    from typing import Protocol

    class Kind(Protocol):
        """What a field may hold; for the type checker alone, as a protocol takes long to make."""

        def read(self, node: Node, source: Source, path: Path) -> Any:
            """Return the value of a node, or None with a problem noted on the source."""


_NAME = Name()  # of what carries names in a file


class ListOf(NamedTuple):
    """A list of one kind, of up to `most`; `or_one` takes a single value for a list of one.

    Reads as a list of (value, node).
    """

    kind: Kind
    or_one: bool = False
    most: int = 200

    def read(self, node: Node, source: Source, path: Path) -> list[tuple[Any, Node]] | None:
        """Return the values with their nodes; what could not be read is left out."""
        if isinstance(node, SequenceNode):
            nodes = node.value
            if not nodes:
                source.add(node, path, "is an empty list", "write what is in it, or leave the key out")
                return None
        elif self.or_one:
            nodes = [node]
        else:
            source.add(node, path, f"is {described(node)}", "write a list, as `[ONE, OTHER]`")
            return None
        if len(nodes) > self.most:
            source.add(node, path, f"is a list of {len(nodes):,}", f"write up to {self.most}")
            return None
        read = [(self.kind.read(item, source, path), item) for item in nodes]
        return [pair for pair in read if pair[0] is not None]


def _lacks_space(key: Node, source: Source, path: Path) -> bool:
    """Note a key without a value such as `elbow-90:3`, which YAML reads as one long key; tell whether it is one."""
    if not isinstance(key, ScalarNode) or key.style in ("'", '"'):
        return False
    name, colon, rest = key.value.partition(":")
    if not (name and colon and rest):
        return False
    source.add(key, path, f"{shown(key.value)} has no space after its colon", f"write {shown(f'{name}: {rest}')}")
    return True


def _twin(name: str, names: Iterable[str]) -> str | None:
    """Return the name among others that looks the same, its letters put together in another way; None without one."""
    from unicodedata import normalize  # for names that are not ASCII alone

    return next((known for known in names if normalize("NFKC", known) == normalize("NFKC", name)), None)


class Named(NamedTuple):
    """A mapping from up to `most` names to one kind. Reads as {name: (value, key node)}."""

    kind: Kind
    or_empty: bool = False
    most: int = 200
    form: str = "`NAME: ...` for each"

    def read(self, node: Node, source: Source, path: Path) -> dict[str, tuple[Any, Node]] | None:
        """Return the values by name; what could not be read has the value None."""
        if not isinstance(node, MappingNode):
            source.add(node, path, f"is {described(node)}", f"write {self.form}")
            return None
        if len(node.value) > self.most:
            source.add(node, path, f"has {len(node.value):,} names", f"write up to {self.most}")
            return None
        read: dict[str, tuple[Any, Node]] = {}
        for key_node, value_node in node.value:
            name = _NAME.read(key_node, source, path)
            if name is None or (not value_node.value and _lacks_space(key_node, source, path)):
                continue
            if name in read:
                source.add(key_node, (*path, name), "stands here a second time", "give each its own name")
                continue
            if not name.isascii() and (twin := _twin(name, read)) is not None:
                source.add(key_node, (*path, name), f"looks the same as {shown(twin)}", "give each its own name")
                continue
            read[name] = (self.kind.read(value_node, source, (*path, name)), key_node)
        if not read and not self.or_empty and not node.value:
            source.add(node, path, "is empty", "write at least one, or leave the key out")
        return read


class Either(NamedTuple):
    """One kind for a single value or a list, another for a mapping."""

    plain: Kind
    mapping: Kind

    def read(self, node: Node, source: Source, path: Path) -> Any:
        """Return what the kind that fits the node reads."""
        return (self.mapping if isinstance(node, MappingNode) else self.plain).read(node, source, path)


class OrNone(NamedTuple):
    """The word `none`, or what another kind reads: a list, a mapping, a figure. The word reads as NONE."""

    kind: Kind
    form: str

    def read(self, node: Node, source: Source, path: Path) -> Any:
        """Return NONE, or what the kind reads."""
        if isinstance(node, ScalarNode) and node.value == "none":
            return NONE
        takes_scalar = isinstance(self.kind, Quantity | Range) or (isinstance(self.kind, ListOf) and self.kind.or_one)
        if takes_scalar or not isinstance(node, ScalarNode):
            return self.kind.read(node, source, path)
        source.add(node, path, f"is {described(node)}" if node.value.strip() else "is empty", f"write {self.form}")
        return None


class Range(NamedTuple):
    """A quantity, or two as `-5 to 45 degC`; the first may leave its unit out. Reads as (least, most) in SI units."""

    kind: Quantity

    def read(self, node: Node, source: Source, path: Path) -> tuple[float, float] | None:
        """Return the two ends, the same where a single figure stands."""
        ends = node.value.split(" to ") if isinstance(node, ScalarNode) else []
        if len(ends) != 2 or not isinstance(node, ScalarNode):  # noqa: PLR2004 - two ends
            value = self.kind.read(node, source, path)
            return None if value is None else (value, value)
        low, high = (end.strip() for end in ends)
        number, is_bare = re.match(unit_words.NUMBER, high), re.fullmatch(unit_words.NUMBER, low) is not None
        shares_unit = is_bare and unit_words.compound(high) is None  # `6 1/2 in` would lend it `1/2 in`
        unit = high[number.end() :].strip() if number is not None and shares_unit else ""
        most = self._end(high, node, source, path)
        if most is None and is_bare:
            return None  # what is wrong with the unit that both share is said once
        least = self._end(f"{low} {unit}" if unit else low, node, source, path)
        if least is None or most is None:
            return None
        if least > most:
            turned = f"{high.removesuffix(unit).strip()} to {low} {unit}" if unit else f"{high} to {low}"
            source.add(node, path, f"{shown(node.value)} goes down", f"write the least first: {shown(turned)}")
            return None
        return least, most

    def _end(self, text: str, node: Node, source: Source, path: Path) -> float | None:
        end: float | None = self.kind.read(ScalarNode(node.tag, text, node.start_mark, node.end_mark), source, path)
        return end


class Field(NamedTuple):
    """A key of a table: its kind, whether it must stand there, and a line on what it is."""

    kind: Kind
    about: str
    required: bool = False


class Record:
    """A mapping with known keys.

    Attributes
    ----------
    fields : mapping of str to Field
        By key.
    about : str
        A line on what it is.
    """

    __slots__ = ("_required", "about", "fields")

    def __init__(self, fields: Mapping[str, Field], about: str = "") -> None:
        self.fields = fields
        self.about = about
        self._required = [key for key, field in fields.items() if field.required]

    def read(self, node: Node, source: Source, path: Path) -> Entry | None:
        """Return the entry; unknown, doubled and missing keys are noted."""
        if not isinstance(node, MappingNode):
            keys = ", ".join(self.fields)
            source.add(node, path, f"is {described(node)}", f"write `{{KEY: VALUE, ...}}` with keys from {keys}")
            return None
        fields = self.fields
        values: dict[str, Any] = {}
        nodes: dict[str, Node] = {}
        for key_node, value_node in node.value:
            key = key_node.value
            field = fields.get(key) if isinstance(key_node, ScalarNode) else None
            if field is None:
                if not value_node.value and _lacks_space(key_node, source, path):
                    continue
                if isinstance(key_node, ScalarNode):
                    is_split = not value_node.value and re.fullmatch(_SPLIT_NUMBER, key)
                    fit = "if it is the rest of a number, write decimals after a point" if is_split else ""
                    source.add(key_node, (*path, key[:MOST_NAME]), "is not a key here", fit or close_to(key, fields))
                else:
                    source.add(key_node, path, f"a key is {described(key_node)}", "write a word")
            elif key in nodes:
                first = place_of(nodes[key])
                source.add(key_node, (*path, key), f"stands here a second time, first on {first}", "keep one")
            else:
                nodes[key] = value_node
                values[key] = field.kind.read(value_node, source, (*path, key))
        for key in self._required:
            if key not in nodes:
                source.add_missing(node, path, key, f"write `{key}:` and {fields[key].about}")
        return Entry(node, path, values, nodes)
