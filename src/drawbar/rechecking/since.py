"""A result held against an earlier one of the same job: what changed, and which of its inputs changed with it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from drawbar.rechecking.worked_from import Inputs

if TYPE_CHECKING:
    from drawbar.rechecking.recheck import Outcome
    from drawbar.rechecking.standing import Standing

MOVED_PA = 5.0
"""How far the spare of a job may move before it is to be looked at [Pa]: half a digit of a water gauge is that much."""

NEW, GONE = "new", "gone"
_SAME_LOAD = 1e-6  # relative; figures read back from JSON have ten digits


class Cause(NamedTuple):
    """An input that is not what it was.

    Attributes
    ----------
    kind : str
        `load`, `pipe`, `job`, `asked` (by `--set`), `swap`, `row`, `program`; `unknown` where the earlier result has no
        inputs, `none` where no input changed.
    what : str
        The appliance, run, catalogue row or swap; empty for the others.
    was, now : float or str or None
        A load [W], a pipe, a version; None where there was or is none, or nothing more is known.
    """

    kind: str
    what: str = ""
    was: float | str | None = None
    now: float | str | None = None


class Since(NamedTuple):
    """How a job stands against an earlier result.

    Attributes
    ----------
    before : Standing or None
        How it stood; None for a job that the earlier results do not have, or that could not be read then.
    change : str
        What became of the verdict: `pass to fail` and the like, `still passes`, `new`.
    moved_pa : float
        How far the spare moved, as drawn or at the worst corner, whichever moved farther [Pa]; less is negative.
    why : tuple of Cause
        The inputs that are not what they were.
    """

    before: Standing | None
    change: str
    moved_pa: float = 0.0
    why: tuple[Cause, ...] = ()

    @property
    def is_changed(self) -> bool:
        """Whether the verdict is another."""
        return self.change == NEW or " to " in self.change

    @property
    def is_to_look_at(self) -> bool:
        """Whether the verdict is another, or the spare moved by more than MOVED_PA."""
        return self.is_changed or abs(self.moved_pa) > MOVED_PA


def since(old: Outcome | None, new: Outcome) -> Since:
    """Return how a job stands against an earlier result of it.

    Parameters
    ----------
    old : Outcome or None
        The earlier result, None where there is none.
    new : Outcome
        The result of now.

    Returns
    -------
    Since
        What changed; the verdicts are those after the swaps of each.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> old = drawbar.recheck(job, [])
    >>> new = drawbar.recheck(job, [drawbar.parse_swap("basin", "120 MJ/h")])
    >>> drawbar.since(old, new).change
    'pass to fail'
    """
    before, after = (old.after if old is not None else None), new.after
    if old is None:
        return Since(None, NEW)
    was, now = (standing.verdict.value if standing else "not read" for standing in (before, after))
    if before is None or after is None:
        return Since(before, f"{was} to {now}" if was != now else "still not read", 0.0, tuple(causes(old, new)))
    moves_pa = (after.margin_pa - before.margin_pa, after.worst_margin_pa - before.worst_margin_pa)
    change = f"{was} to {now}" if was != now else f"still {now}"
    held = Since(before, change, max(moves_pa, key=abs))
    why = list(causes(old, new))
    return held._replace(why=tuple(why or ([Cause("none")] if held.is_to_look_at else [])))


def causes(old: Outcome, new: Outcome) -> list[Cause]:
    """Return which inputs of a result are not what they were.

    Parameters
    ----------
    old, new : Outcome
        The earlier result and that of now.

    Returns
    -------
    list of Cause
        The job's loads and pipes first, then the rest of its text, the catalogue, the swaps and the program.
    """
    changed = [
        Cause("swap", text, None if text in new.swaps else text, text if text in new.swaps else None)
        for text in sorted({*old.swaps} ^ {*new.swaps})
    ]
    changed += [
        Cause("asked", text, None if text in new.asked else text, text if text in new.asked else None)
        for text in sorted({*old.asked} ^ {*new.asked})
    ]
    if old.inputs is None or new.inputs is None:
        return [*changed, *([Cause("unknown")] if old.inputs is None and new.inputs is not None else [])]
    if old.inputs.job != new.inputs.job:
        changed = [*_in_job(old.inputs, new.inputs), *changed]
    changed += [
        Cause("row", row, old.inputs.rows[row], new.inputs.rows[row])
        for row in old.inputs.rows.keys() & new.inputs.rows.keys()
        if old.inputs.rows[row] != new.inputs.rows[row]
    ]
    if old.inputs.program != new.inputs.program:
        changed.append(Cause("program", "", old.inputs.program, new.inputs.program))
    return sorted(changed, key=lambda cause: (_ORDER.index(cause.kind), cause.what))


_ORDER = ("load", "pipe", "job", "asked", "swap", "row", "program")


def _in_job(old: Inputs, new: Inputs) -> list[Cause]:
    """Return what is other in a job's text: loads and pipes by name, else that it is another text."""
    named = [
        *_differences("load", old.loads_w, new.loads_w),
        *_differences("pipe", old.pipes, new.pipes),
    ]
    return [*named, Cause("job")]


def _differences(kind: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Cause]:
    changed = []
    for name in dict.fromkeys((*old, *new)):
        was, now = old.get(name), new.get(name)
        if isinstance(was, float) and isinstance(now, float) and abs(was - now) <= _SAME_LOAD * abs(was):
            continue
        if was != now:
            changed.append(Cause(kind, name, was, now))
    return changed
