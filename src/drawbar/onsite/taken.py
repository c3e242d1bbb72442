"""Readings as they come, one at a time from a call: `fryer=2.61 kPa` as the tree that a file would have for it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode

from drawbar.problems import Problem, Problems, shown
from drawbar.yamlfile.loading import PLAIN
from drawbar.yamlfile.nodes import AskedMark, Source

_FORM = "write POINT=PRESSURE, as `fryer=2.61 kPa`, or STATE/POINT=PRESSURE"


def with_taken(root: MappingNode | None, source: Source, taken: Sequence[str], states: Iterable[str]) -> MappingNode:
    """Return the tree of a file of readings with those of a call after its own.

    Parameters
    ----------
    root : MappingNode or None
        The file's tree; None where there is no file.
    source : Source
        The file, for what is wrong.
    taken : sequence of str
        Each `POINT=PRESSURE` or `STATE/POINT=PRESSURE`.
    states : iterable of str
        The names of the states that a reading may be of.

    Returns
    -------
    MappingNode

    Raises
    ------
    Problems
        With all that are not of that form.
    """
    if not taken:
        assert root is not None  # one of the two is given
        return root
    states, problems, rows = list(states), [], []
    for number, text in enumerate(taken, 1):
        mark = AskedMark(f"--reading {number}")
        where, sign, pressure = text.rpartition("=")
        if not sign or not where.strip() or not pressure.strip():
            problems.append(Problem("", 0, 0, "", f"{shown(text)} is not POINT=PRESSURE", _FORM, mark.place))
            continue
        values = {"at": where.strip(), "pressure": pressure.strip()}
        state, slash, point = where.partition("/")
        if slash and state.strip() in states:
            values = {"state": state.strip(), "at": point.strip(), "pressure": pressure.strip()}
        rows.append(_mapping(values, mark))
    if problems:
        raise Problems(problems)
    mark = AskedMark("--reading")
    if root is None:
        root = MappingNode("", [], mark, mark)
    listed = next((value for key, value in root.value if key.value == "readings"), None)
    if isinstance(listed, SequenceNode):
        listed.value.extend(rows)
    elif listed is None:
        root.value.append((_scalar("readings", mark), SequenceNode("", rows, mark, mark)))
    else:
        source.add(listed, ("readings",), "is no list", "write `readings:` and a list")
    return root


def _mapping(values: dict[str, str], mark: AskedMark) -> MappingNode:
    pairs: list[tuple[Node, Node]] = [(_scalar(key, mark), _scalar(value, mark)) for key, value in values.items()]
    return MappingNode("", pairs, mark, mark, flow_style=True)


def _scalar(text: str, mark: AskedMark) -> ScalarNode:
    return ScalarNode(PLAIN, text, mark, mark)
