"""Jobs looked at again, as a page, as rows, as JSON and as JSON Lines that can be read back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from drawbar import __version__
from drawbar.cautions import CHECK_CAUTIONS
from drawbar.rechecking.recheck import CHANGES, PASS_TO_FAIL, UNREAD, UNTOUCHED, Outcome, Remedy, Verdict
from drawbar.report.layout import Block, Column, Heading, Points, Table

CSV_COLUMNS = (
    *("file", "job", "ref", "change", "swapped", "margin_before_Pa", "margin_after_Pa", "worst_state"),
    *("worst_appliance", "remedy", "verdict"),
)


class BadLineError(ValueError):
    """A line that is no result of a recheck."""


def line(outcome: Outcome) -> str:
    """Return an outcome as one line of JSON."""
    return json.dumps(data(outcome), ensure_ascii=False, allow_nan=False)


def data(outcome: Outcome) -> dict[str, Any]:
    """Return an outcome for JSON."""
    return {
        "drawbar": __version__,
        "kind": "recheck",
        "file": outcome.file,
        "job": outcome.title,
        "ref": outcome.ref,
        "change": outcome.change,
        "swapped": list(outcome.swapped),
        "before": _verdict_data(outcome.before),
        "after": _verdict_data(outcome.after),
        "remedy": _remedy_data(outcome.remedy),
        "problems": list(outcome.problems),
    }


def _verdict_data(verdict: Verdict | None) -> dict[str, Any] | None:
    if verdict is None:
        return None
    return {
        "verdict": "pass" if verdict.passes else "fail",
        "margin_Pa": verdict.margin_pa,
        "state": verdict.state,
        "appliance": verdict.appliance,
        "vents": "pass" if verdict.vents_pass else "fail",
    }


def _remedy_data(remedy: Remedy | None) -> dict[str, Any] | None:
    if remedy is None:
        return None
    return {
        "sizes": [{"run": run, "from": old, "to": new} for run, old, new in remedy.sizes],
        "cost": remedy.cost,
        "cost_unit": remedy.unit,
        "largest": [{"appliance": name, "input_MJ_h": w * 0.0036} for name, w in remedy.largest_w],
    }


def outcome_of(text: str) -> Outcome:
    """Return the outcome that a line of JSON is. Raises BadLineError."""
    try:
        found = json.loads(text)
        if found["kind"] != "recheck":
            raise BadLineError(f"is a result of {found['kind']}, not of recheck")
        remedy = found["remedy"]
        return Outcome(
            file=str(found["file"]),
            title=str(found["job"]),
            ref=found["ref"],
            swapped=tuple(map(str, found["swapped"])),
            before=_verdict_of(found["before"]),
            after=_verdict_of(found["after"]),
            remedy=None
            if remedy is None
            else Remedy(
                tuple((str(one["run"]), str(one["from"]), str(one["to"])) for one in remedy["sizes"]),
                None if remedy["cost"] is None else float(remedy["cost"]),
                str(remedy["cost_unit"]),
                tuple((str(one["appliance"]), float(one["input_MJ_h"]) / 0.0036) for one in remedy["largest"]),
            ),
            problems=tuple(map(str, found["problems"])),
        )
    except BadLineError:
        raise
    except (ValueError, KeyError, TypeError, RecursionError):
        raise BadLineError("is no line of `drawbar recheck --format jsonl`") from None


def _verdict_of(found: dict[str, Any] | None) -> Verdict | None:
    if found is None:
        return None
    return Verdict(
        found["verdict"] == "pass",
        float(found["margin_Pa"]),
        str(found["state"]),
        str(found["appliance"]),
        found["vents"] == "pass",
    )


def page(outcomes: Iterable[Outcome]) -> list[Block]:
    """Return the page of many jobs: those that changed verdict first, the worst margins first, then the totals."""
    by_change: dict[str, list[Outcome]] = {change: [] for change in CHANGES}
    for outcome in outcomes:
        by_change[outcome.change].append(outcome)
    count = sum(map(len, by_change.values()))
    blocks: list[Block] = [Heading(f"{count} job{'s' if count != 1 else ''} looked at again")]
    for change in CHANGES:
        found = by_change[change]
        if not found or change == UNREAD:
            continue
        if change == UNTOUCHED:
            found = [one for one in found if one.after is not None and not one.after.passes]
            if not found:
                continue
        blocks.append(f"{change.capitalize()}: {len(found)}")
        blocks.append(_table(sorted(found, key=lambda one: one.after.margin_pa if one.after else 0.0)))
        if change == PASS_TO_FAIL:
            blocks.append(Points("What would put them right:", [f"{one.file}: {remedy_words(one)}" for one in found]))
    totals = ", ".join(f"{len(by_change[change])} {change}" for change in CHANGES if by_change[change])
    blocks.append(f"In all: {totals or 'nothing'}.")
    blocks.append(Points("Cautions:", CHECK_CAUTIONS))
    return blocks


def _table(outcomes: Iterable[Outcome]) -> Table:
    columns = (
        Column("file", words=True),
        Column("swapped", words=True),
        Column("spare before\nkPa"),
        Column("spare after\nkPa"),
        Column("worst", words=True),
        Column("result", words=True),
    )
    rows = []
    for one in outcomes:
        assert one.before is not None  # only what could be read is shown here
        assert one.after is not None
        rows.append(
            [
                one.file,
                ", ".join(one.swapped),
                f"{one.before.margin_pa / 1000.0:.3f}",
                f"{one.after.margin_pa / 1000.0:.3f}",
                f"{one.after.appliance} in {one.after.state}" + ("" if one.after.vents_pass else "; vents too small"),
                "PASS" if one.after.passes else "FAIL",
            ]
        )
    return Table(columns, rows)


def remedy_words(outcome: Outcome) -> str:
    """Return in words what would put a job right."""
    remedy = outcome.remedy
    vents = "" if outcome.after is None or outcome.after.vents_pass else "make the vents of the space larger"
    if remedy is None:
        return vents
    return f"{vents}; {_sizes_words(remedy)}" if vents else _sizes_words(remedy)


def _sizes_words(remedy: Remedy) -> str:
    if remedy.sizes:
        changes = ", ".join(f"{run} from {old} to {new}" for run, old, new in remedy.sizes)
        return f"change {changes} ({remedy.cost:.3f} {remedy.unit})"
    limits = ", ".join(f"{name} up to {w * 0.0036:.1f} MJ/h" for name, w in remedy.largest_w)
    return f"no size of the families is enough; with the pipes as they are, {limits} would pass"


def rows(outcomes: Iterable[Outcome]) -> Iterator[list[Any]]:
    """Yield the rows of CSV_COLUMNS, one a job."""
    for one in outcomes:
        yield [
            one.file,
            one.title,
            one.ref,
            one.change,
            "; ".join(one.swapped),
            one.before.margin_pa if one.before else None,
            one.after.margin_pa if one.after else None,
            one.after.state if one.after else None,
            one.after.appliance if one.after else None,
            remedy_words(one),
            ("pass" if one.after.passes else "fail") if one.after else "not read",
        ]
