"""The head of a sheet: the verdict on each part in a word, why it is not PASS, what to do, and what the job is."""

from __future__ import annotations

import os
from collections.abc import Iterator

from drawbar.checking.judge import is_all_known
from drawbar.job import Job
from drawbar.onsite.test_record import NOT_READ, PART_BLAMED, READ_ABOVE, READ_BELOW, READ_OFF
from drawbar.problems import printable
from drawbar.records.sheet import Sheet
from drawbar.report.display import Shown, gas_words
from drawbar.report.sheet.tables import plugged_words
from drawbar.report.tightness_words import tightness_reason_words
from drawbar.report.verdict_words import part_verdicts, reason_sentence
from drawbar.report.words import sentence
from drawbar.verdict import Reason, Verdict

_MOST_REASONS = 4


def verdicts(sheet: Sheet) -> dict[str, Verdict]:
    """Return the verdict on each part that was worked out or measured."""
    result = sheet.result
    parts = part_verdicts(result.because, has_vents=result.has_vents)
    measured = {"bottles": sheet.bottles, "tightness": sheet.tight.verdict, "readings": sheet.record.verdict}
    measured["hot water"] = sheet.hot_water
    return {**parts, **{part: verdict for part, verdict in measured.items() if verdict is not None}}


def margin_sentence(sheet: Sheet, shown: Shown) -> str:
    """Return what the worst state has to spare, as drawn and at worst."""
    worst = sheet.result.states[0]
    words = f"Worst state {worst.name}: {_spare(worst.margin_pa, shown)} as drawn"
    if sheet.result.job.tolerances is None:
        return f"{words}, no tolerance taken into account."
    words += f", {_spare(worst.worst_margin_pa, shown)} with every tolerance at its worst"
    return words + ("." if is_all_known(sheet.result.job) else ", what is not known taken as nothing.")


def _spare(margin_pa: float, shown: Shown) -> str:
    return f"{shown.pressure_unit(abs(margin_pa))} {'to spare' if margin_pa >= 0.0 else 'short'}"


def way_sentence(sheet: Sheet) -> str:
    """Return which combination of plugging in is drawn; empty where nothing is plugged in."""
    drawn = sheet.drawn
    plugged = plugged_words(drawn.state.plugged)
    if not plugged:
        return ""
    if drawn.state.is_bound:
        return (
            f"Drawn with {plugged}: the worst of the combinations tried, as there are too many to try each. Lowest, at "
            f"worst and verdict are a bound that none goes below."
        )
    if drawn.state.ways == 1:
        return f"Drawn with {plugged}, the one combination of plugging in."
    return f"Drawn with {plugged}: the worst of {drawn.state.ways}. Lowest, at worst, verdict: of all."


def reasons_told(sheet: Sheet, shown: Shown) -> Iterator[str]:
    """Yield why a verdict is not PASS, part after part."""
    reasons, with_remedy = sheet.result.because, sheet.remedies is not None
    listed = reasons if len(reasons) <= _MOST_REASONS else reasons[: _MOST_REASONS - 1]
    yield from (reason_sentence(reason, shown, with_remedy=with_remedy) for reason in listed)
    if len(listed) < len(reasons):
        yield f"And {len(reasons) - len(listed)} more of this kind."
    of_bottles = sheet.supplied.because if sheet.supplied is not None else ()
    yield from (reason_sentence(reason, shown) for reason in of_bottles if reason.code != "regulator-rating")
    of_water = [reason for connection in sheet.water for reason in connection.because]
    of_water.sort(key=lambda reason: reason.verdict is not Verdict.FAIL)
    yield from (reason_sentence(reason, shown) for reason in of_water[:_MOST_REASONS])
    if len(of_water) > _MOST_REASONS:
        yield f"And {len(of_water) - _MOST_REASONS} more of the hot water: see `drawbar hotwater --full`."
    for reason in sheet.tight.because:
        text, fix = tightness_reason_words(reason, shown)
        yield f"{sentence(text)} {sentence(fix)}"
    yield from _of_readings(sheet.record.because, shown)


def _of_readings(reasons: tuple[Reason, ...], shown: Shown) -> Iterator[str]:
    for reason in reasons:
        if reason.code in (READ_BELOW, READ_ABOVE):
            side = "below its minimum of {}" if reason.code == READ_BELOW else "above its maximum of {}"
            gauge_pa, limit_pa = float(reason.details["gauge_pa"]), float(reason.details["limit_gauge_pa"])
            yield (
                f"{reason.place} was read at {shown.pressure_unit(gauge_pa)}, "
                f"{side.format(shown.pressure_unit(limit_pa))}."
            )
    off = ", ".join(reason.place for reason in reasons if reason.code == READ_OFF)
    if off:
        yield f"The readings at {off} are not what was predicted: find out why, and read again."
    missing = ", ".join(reason.place for reason in reasons if reason.code == NOT_READ)
    if missing:
        yield f"Not read with all of the worst state on: {missing}."
    if any(reason.code == PART_BLAMED for reason in reasons):
        yield "Together the readings point at a part of the line, though each is within its tolerance."


def what_it_is(sheet: Sheet, shown: Shown) -> Iterator[tuple[str, str]]:
    """Yield what the job is: each with what it is called."""
    job = sheet.result.job
    if job.ref is not None:
        yield "Ref", job.ref
    yield "Date", sheet.date.isoformat()
    if job.file != "-":
        yield "Job file", printable(os.path.basename(job.file))
    libraries = [os.path.basename(used.file) for used in sheet.catalogue.libraries]
    if libraries:
        replaces = [name for used in sheet.catalogue.libraries for name in used.replaces]
        instead = f", in place of the project's own: {', '.join(replaces)}" if replaces else ""
        yield "Library", printable(", ".join(libraries)) + instead
    yield "Gas", gas_words(job.gas)
    yield "Site", f"{shown.temperature_unit(job.temperature_k)}, at {shown.length_unit(job.altitude_m)}"
    capacity_w = job.regulator.capacity_w
    rated = ", rating not known" if capacity_w is None else f", rated {shown.heat_unit(capacity_w)}"
    yield "Regulator", f"{shown.pressure_unit(job.regulator.outlet_gauge_pa)}{rated}"
    yield "Allowed drop", _allowed(job, shown)


def _allowed(job: Job, shown: Shown) -> str:
    allowed = shown.pressure_unit(job.allowed_drop_pa)
    if job.rule is None:
        return f"{allowed}, the job's own limit"
    whose = "by" if job.allowed_drop_pa == job.rule.drop_pa else "the job's own limit; rule"
    return f"{allowed}, {whose} {job.rule.name}: {job.rule.source}"
