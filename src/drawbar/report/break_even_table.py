"""What would have to be wrong, as sentences, as a table and as data."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from drawbar.checking.break_even import BreakEven
from drawbar.job import Job
from drawbar.report.display import MJ_H, Shown
from drawbar.report.layout import Column, Table

# What a script reads the figures in: the unit at the end of the key, and how many of it an SI unit has.
_DATA_UNITS = {"bore": ("mm", 1000.0), "length": ("m", 1.0), "input": ("MJ_h", MJ_H), "drop": ("Pa", 1.0)}
_SMALL_SHARE = 0.1  # below which a share is shown to a tenth of a per cent


def break_even_words(break_even: BreakEven, job: Job, shown: Shown) -> str:
    """Return a sentence on what a figure is and where it would fail, as `main: bore 13.84 mm, fails under 13.21`.

    Parameters
    ----------
    break_even : BreakEven
        The figure and its limit.
    job : Job
        The job it is of.
    shown : Shown
        The units that it is shown in.

    Returns
    -------
    str
        The sentence, without a full stop.
    """
    head = " ".join(part for part in (_name(break_even), _value(break_even, job, shown)) if part)
    limit = _limit(break_even, shown)
    if limit is None:
        return f"{head}, nothing within reason fails"
    if not break_even.value:  # a device whose drop is not known: its unit has not been said
        limit = f"{limit} {shown.display.pressure}{_at(break_even, job, shown)}"
    is_bore = break_even.kind == "bore"
    if break_even.is_bound:
        return f"{head}, passes {'down' if is_bore else 'up'} to {limit} at least"
    return f"{head}, fails {'under' if is_bore else 'over'} {limit}"


def break_even_table(values: Sequence[BreakEven], job: Job, shown: Shown) -> Table:
    """Return figures with what each was drawn as and where it would fail, the rest as drawn.

    Parameters
    ----------
    values : sequence of BreakEven
        The figures, in the order in which they are shown.
    job : Job
        The job they are of.
    shown : Shown
        The units that they are shown in.

    Returns
    -------
    Table
        A row a figure.
    """
    columns = (
        Column("figure", words=True),
        Column("as drawn", words=True),
        Column("passes to" if any(value.is_bound for value in values) else "fails", words=True),
        Column("away"),
    )
    rows = []
    for value in values:
        limit = _limit(value, shown)
        side = "" if value.is_bound else "under " if value.kind == "bore" else "over "
        rows.append(
            [
                _name(value),
                _value(value, job, shown),
                "never" if limit is None else side + limit,
                _percent(value.share),
            ]
        )
    return Table(columns, rows)


def break_even_data(values: Sequence[BreakEven], job: Job) -> list[dict[str, Any]]:
    """Return figures and their limits as they stand in the JSON document, each key with its unit.

    Parameters
    ----------
    values : sequence of BreakEven
        The figures.
    job : Job
        The job they are of.

    Returns
    -------
    list of dict
        A figure each; the limit is null where nothing within reason fails.
    """
    rows = []
    for value in values:
        unit, times = _DATA_UNITS[value.kind]
        row: dict[str, Any] = {
            "kind": value.kind,
            value.place_kind: value.place,
            "device": value.part,
            f"{value.kind}_{unit}": value.value * times,
            f"limit_{unit}": None if value.limit is None else value.limit * times,
            "share": value.share if math.isfinite(value.share) else None,
            "bound": value.is_bound,
        }
        if value.flow_kg_s is not None:
            row["at_MJ_h"] = value.flow_kg_s * job.gas.gross_j_kg * MJ_H
        rows.append(row)
    return rows


def _name(break_even: BreakEven) -> str:
    return f"{break_even.place}: {break_even.part or break_even.kind}"


def _value(break_even: BreakEven, job: Job, shown: Shown) -> str:
    """Return a figure as drawn, with its unit; nothing for a drop that is not known."""
    value = break_even.value
    if break_even.kind == "bore":
        return shown.bore_unit(value)
    if break_even.kind == "length":
        return shown.length_unit(value)
    if break_even.kind == "input":
        return shown.heat_unit(value)
    return f"{shown.pressure_unit(value)}{_at(break_even, job, shown)}" if value else ""


def _at(break_even: BreakEven, job: Job, shown: Shown) -> str:
    """Return at what flow a device's drop is."""
    if not break_even.flow_kg_s:
        return ""
    return f" at {shown.heat_unit(break_even.flow_kg_s * job.gas.gross_j_kg)}"


def _limit(break_even: BreakEven, shown: Shown) -> str | None:
    """Return a limit as a bare figure, rounded to the safe side, None where there is none."""
    if break_even.limit is None:
        return None
    write: Callable[[float], str] = {
        "bore": shown.bore,
        "length": shown.length,
        "input": shown.heat,
        "drop": shown.pressure,
    }[break_even.kind]
    return _safe(write, break_even.limit, up=break_even.kind == "bore")


def _safe(write: Callable[[float], str], limit: float, *, up: bool) -> str:
    """Return a figure as it is written, its last digit always rounded up, or always down."""
    text = write(limit)
    digits = len(text.partition(".")[2])
    # Written a million times as large it has six digits more.
    exact = float(write(limit * 1e6)) / 1e6
    scale = 10.0**digits
    return f"{(math.ceil if up else math.floor)(round(exact * scale, 4)) / scale:.{digits}f}"


def _percent(share: float) -> str:
    if not math.isfinite(share):
        return ""
    return f"{100.0 * share:.{1 if share < _SMALL_SHARE else 0}f} %"
