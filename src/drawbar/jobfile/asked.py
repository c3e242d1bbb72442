"""What is asked of a job beside its file: keys set and appliances swapped on its tree, before the job is read from it.

As the tree is changed and not the job, all that the reader says of a file it says of what was asked as well. A way is
written `runs.main.length`; an item of a list is its number, from 1; a key that holds a dot stands in quotes.
"""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from drawbar.display_units import Display
from drawbar.jobfile.gas_fields import Mixture
from drawbar.jobfile.model import JOB
from drawbar.jobfile.state_fields import SharesAndUse
from drawbar.problems import Problem, Problems, close_to, shown
from drawbar.yamlfile.asked_value import compose_asked
from drawbar.yamlfile.entry import entries
from drawbar.yamlfile.fields import Either, ListOf, Named, OrNone, Record
from drawbar.yamlfile.loading import PLAIN
from drawbar.yamlfile.nodes import AskedMark, Source, described, dotted, node_at

_PART = re.compile(r"""\s*(?:"([^"]*)"|'([^']*)'|([^.=]*?))\s*(?=[.=])""")
_PIPE_PATH = ("runs", "NAME", "pipe")
_EXAMPLE = "write KEY=VALUE, as `runs.main.length=4.2 m`"


class Setting(NamedTuple):
    """A key of a job file set to another value.

    Attributes
    ----------
    place : str
        What asks for it, as messages say it: `--set 1`.
    path : tuple of str
        The way to the key.
    text : str
        The value as a file would have it; empty to take the key out.
    """

    place: str
    path: tuple[str, ...]
    text: str

    @property
    def words(self) -> str:
        """What is set, in a line."""
        value = " ".join(self.text.split())
        return f"{dotted(self.path)} = {value}" if value else f"{dotted(self.path)} taken out"


class AskedSwap(NamedTuple):
    """An appliance of a job file swapped for another input.

    Attributes
    ----------
    place : str
        What asks for it, as messages say it: `--swap 1`.
    old : str
        Its name in the job, or the catalogue entry that it is `like`.
    new : str
        A rate, or a catalogue entry.
    is_listed : bool
        Whether it is a catalogue entry.
    """

    place: str
    old: str
    new: str
    is_listed: bool

    @property
    def words(self) -> str:
        """What is swapped, in a line."""
        return f"{self.old} swapped for {self.new}"


class Asked(NamedTuple):
    """All that is asked of a job beside its file.

    Attributes
    ----------
    settings : tuple of Setting
        The keys that are set.
    swaps : tuple of AskedSwap
        The appliances that are swapped, after the keys are set.
    display : Display or None
        The units of the results; None for those of the file.
    """

    settings: tuple[Setting, ...] = ()
    swaps: tuple[AskedSwap, ...] = ()
    display: Display | None = None

    @property
    def words(self) -> tuple[str, ...]:
        """What is set and swapped, a line each."""
        return (*(setting.words for setting in self.settings), *(swap.words for swap in self.swaps))

    def with_more(self, other: Asked) -> Asked:
        """Return what this and another ask together, in the units of this."""
        return Asked((*self.settings, *other.settings), (*self.swaps, *other.swaps), self.display)

    @property
    def leaves_all_but_sizes(self) -> bool:
        """Whether nothing but the pipes of runs is set, so that sizes chosen with them are those of the file."""
        return not self.swaps and all(
            setting.path[::2] == ("runs", "pipe") and len(setting.path) == len(_PIPE_PATH) for setting in self.settings
        )

    def change(self, root: MappingNode, source: Source) -> None:
        """Make the changes on the tree of a job file.

        Parameters
        ----------
        root : MappingNode
            The tree, which is changed.
        source : Source
            The file that it is of.

        What can't be set or swapped so is noted on the source.
        """
        if self.settings or self.swaps:
            _Changing(root, source).make(self)


NOTHING_ASKED = Asked()
"""The file as it stands."""


def parse_setting(text: str, place: str) -> Setting:
    """Return the setting that a text such as `runs.main.length=4.2 m` is.

    Parameters
    ----------
    text : str
        KEY=VALUE; nothing behind the sign takes the key out.
    place : str
        What asks for it, as messages say it.

    Returns
    -------
    Setting

    Raises
    ------
    Problems
        If the text is not of that form.
    """
    path, at = [], 0
    while (part := _PART.match(text, at)) is not None:
        path.append(next(name for name in part.groups() if name is not None))
        at = part.end() + 1
        if text[part.end()] == "=":
            break
    if part is None or "" in path:
        what = f"{shown(text)} is not KEY=VALUE" if part is None else f"{shown(text)} has an empty part in its key"
        raise Problems([Problem("", 0, 0, "", what, _EXAMPLE, place)])
    return Setting(place, tuple(path), text[at:].strip())


class _Changing:
    """The changes made on one tree; what can't be is noted on its source."""

    def __init__(self, root: MappingNode, source: Source) -> None:
        self.root = root
        self.source = source
        self.places: dict[tuple[str, ...], str] = {}  # what was set, and by what
        self.made: list[tuple[AskedMark, tuple[str, ...], list[str], MappingNode, Any]] = []

    def make(self, asked: Asked) -> None:
        """Make all changes."""
        for setting in asked.settings:
            if self._is_first(setting.path, setting.place):
                self._set(setting)
        for swap in asked.swaps:
            self._swap(swap)
        for mark, path, beside, table, kind in self.made:
            self._tell_unfinished(mark, path, beside, table, kind)

    def _problem(self, mark: AskedMark, path: tuple[str, ...], what: str, fit: str = "") -> None:
        self.source.add(ScalarNode(PLAIN, "", mark, mark), path, what, fit)

    def _is_first(self, path: tuple[str, ...], place: str) -> bool:
        """Note a key that is set twice, as there is no telling which is meant."""
        if path in self.places:
            what = f"is set by {self.places[path]} already"
            self._problem(AskedMark(place), path, what, "leave one of them out")
            return False
        self.places[path] = place
        return True

    # keys

    def _set(self, setting: Setting) -> None:
        mark, path = AskedMark(setting.place), setting.path
        if setting.text == "" and node_at(self.root, path) is None:
            above = next(path[:end] for end in range(len(path) - 1, -1, -1) if node_at(self.root, path[:end]))
            names, path = _keys(node_at(self.root, above)), path[: len(above) + 1]
            self._problem(mark, path, "is not in the file, and can't be taken out", close_to(path[-1], names))
            return
        parent = self._parent(mark, path)
        if parent is None:
            return
        try:
            value = compose_asked(setting.text, self.source.file, path, mark) if setting.text else None
        except Problems as error:
            self.source.problems.extend(error.problems)
            return
        self._put(parent, path, value, mark)

    def _parent(self, mark: AskedMark, path: tuple[str, ...]) -> Node | None:
        """Return the node that is to hold the last key of a way; tables that are not there yet are made."""
        node: Node = self.root
        kind: Any = JOB
        for depth, key in enumerate(path[:-1], 1):
            within = _within(kind, key)
            child = _child(node, key)
            if child is None:
                child = MappingNode(PLAIN, [], mark, mark, flow_style=True)
                if isinstance(node, MappingNode):
                    self.made.append((mark, path[:depth], _keys(node), child, within))
                if not self._put(node, path[:depth], child, mark):
                    return None
            node, kind = child, within
        if isinstance(node, ScalarNode):
            self._no_way(mark, path, node, kind)
            return None
        return node

    def _no_way(self, mark: AskedMark, path: tuple[str, ...], node: ScalarNode, kind: Any) -> None:
        """Note a way through a value that has nothing in it."""
        above, inside = dotted(path[:-1]), _with_parts(kind)
        if inside is None:
            fit = f"set `{above}` itself"
        else:
            fit = f"set `{above}` whole, {'as a list' if isinstance(inside, ListOf) else f'as `{{{path[-1]}: ...}}`'}"
        self._problem(mark, path, f"{shown(above)} is {described(node)} and has no {shown(path[-1])}", fit)

    def _put(self, parent: Node, path: tuple[str, ...], value: Node | None, mark: AskedMark) -> bool:
        """Put a value at the last key of a way, None to take the key out; tell whether that could be."""
        key = path[-1]
        if isinstance(parent, SequenceNode):
            return self._put_item(parent, path, value, mark)
        if isinstance(parent, ScalarNode):
            self._no_way(mark, path, parent, None)
            return False
        pairs = parent.value
        at = next((number for number, (name, _) in enumerate(pairs) if name.value == key), len(pairs))
        if value is None:
            del pairs[at]
            self.source.taken_out[path] = mark
        else:
            self.source.taken_out.pop(path, None)
            name = pairs[at][0] if at < len(pairs) else ScalarNode(PLAIN, key, mark, mark)
            pairs[at : at + 1] = [(name, value)]
        return True

    def _put_item(self, items: SequenceNode, path: tuple[str, ...], value: Node | None, mark: AskedMark) -> bool:
        """Put a value in place of an item of a list, or behind the last."""
        number, count = _number(path[-1]), len(items.value)
        if not 1 <= number <= count + 1:
            fit = f"write a number from 1 to {count}, or {count + 1} for one more"
            self._problem(mark, path, f"{shown(path[-1])} is no item of a list of {count}", fit)
            return False
        items.value[number - 1 : number] = [] if value is None else [value]
        return True

    def _tell_unfinished(
        self, mark: AskedMark, path: tuple[str, ...], beside: list[str], table: MappingNode, kind: Any
    ) -> None:
        """Note a table that was made on the way to a key and lacks what every such table needs."""
        above = node_at(self.root, path[:-1])
        if not isinstance(kind, Record) or not isinstance(above, MappingNode):
            return  # whatever may stand in it, or what it stood in is told and gone
        missing = [key for key, field in kind.fields.items() if field.required and key not in _keys(table)]
        if missing:
            needs = " and ".join(filter(None, [", ".join(missing[:-1]), missing[-1]]))
            is_named = len(path) > 1 and isinstance(_kind_at(path[:-1]), Named)
            fit = close_to(path[-1], beside) if is_named else f"set `{dotted((*path, missing[0]))}` as well"
            self._problem(mark, path, f"is not in the file, and a new one needs {needs}", fit)
            above.value = [pair for pair in above.value if pair[1] is not table]  # the reader need not tell it again

    # appliances

    def _swap(self, swap: AskedSwap) -> None:
        mark = AskedMark(swap.place)
        tables = entries(node_at(self.root, ("appliances",)))
        appliances = [(name, table) for name, table in tables if isinstance(table, MappingNode)]
        likes = {name: getattr(node_at(table, ("input", "like")), "value", None) for name, table in appliances}
        meant = [(name, table) for name, table in appliances if swap.old in (name, likes[name])]
        if not meant:
            names = dict.fromkeys([*likes, *filter(None, likes.values())])
            self._problem(mark, (), f"{shown(swap.old)} is no appliance of the job", close_to(swap.old, names))
        for name, table in meant:
            path = ("appliances", name, "input")
            if not self._is_first(path, swap.place):
                continue
            value: Node = ScalarNode(PLAIN, swap.new, mark, mark, style='"')
            if swap.is_listed:
                like = ScalarNode(PLAIN, "like", mark, mark)
                value = MappingNode(PLAIN, [(like, value)], mark, mark, flow_style=True)
            self._put(table, path, value, mark)
            if node_at(table, ("basis",)) is not None:  # it was that of the old input; a rate is gross
                self._put(table, (*path[:2], "basis"), None, mark)


def _keys(node: Node | None) -> list[str]:
    return [key for key, _ in entries(node)]


def _number(key: str) -> int:
    return int(key) if re.fullmatch(r"[0-9]{1,4}", key) else 0


def _child(node: Node, key: str) -> Node | None:
    """Return what stands under a key, or as an item of a list; None where there is none."""
    if isinstance(node, SequenceNode):
        number = _number(key)
        return node.value[number - 1] if 1 <= number <= len(node.value) else None
    return node_at(node, (key,))


def _with_parts(kind: Any) -> Any:
    """Return the kind of a value that has parts, of those that a kind of field takes; None where none has."""
    if isinstance(kind, Either):
        return _with_parts(kind.mapping) or _with_parts(kind.plain)
    if isinstance(kind, OrNone):
        return _with_parts(kind.kind)
    if isinstance(kind, SharesAndUse | Mixture):
        return kind.shares
    return kind if isinstance(kind, Record | Named | ListOf) else None


def _within(kind: Any, key: str) -> Any:
    """Return the kind of what stands under a key of a value with parts, None where there is none."""
    parts = _with_parts(kind)
    if isinstance(parts, Record):
        field = parts.fields.get(key)
        return field.kind if field is not None else None
    return parts.kind if isinstance(parts, Named | ListOf) else None


def _kind_at(path: tuple[str, ...]) -> Any:
    kind: Any = JOB
    for key in path:
        kind = _within(kind, key)
    return kind
