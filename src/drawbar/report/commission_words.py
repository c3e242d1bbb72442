"""Readings on site in words: how they stand, which part explains them, what to read next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.job import ROOT, Job
from drawbar.line.plugging import Plugged
from drawbar.onsite.commission import Commissioning, Compared, ExpectedPressures
from drawbar.onsite.fault_fitting import TOLERANCE, Finding, Fit, Group
from drawbar.onsite.fault_models import BLOCKED, CREEP, DROOP, LOAD, NARROW, SMALL_PA, STARVING
from drawbar.onsite.next_reading import HEALTHY, NextReading
from drawbar.onsite.testpoints import Setup
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Points, Table

_MOST_NAMED = 5  # of the groups that come after the first
_MOST_UNSEEN = 8
_LEAST_TOLD = 0.01  # a group less likely than this is not told
_SURE = 0.995  # more than this would round to 100 %

STRAIGHT = "In a job so large, what a good line may differ by is worked out as if all went straight."
"""Said where the deviations are those of `StraightSpread`."""
NOT_SOUGHT = (
    f"No part was sought: the job has too many parts for readings in so many states. Leave some out. {STRAIGHT}"
)
"""Said where no part was looked for."""


def way_words(way: Sequence[Plugged]) -> str:
    """Return what is plugged in where, to stand behind a state."""
    places = [
        f"{plugged.appliance.name} in {plugged.outlet.name}" + (f" by {plugged.hose.name}" if plugged.hose else "")
        for plugged in way
    ]
    return f", {', '.join(places)}" if places else ""


def headline(result: Commissioning) -> str:
    """Return the verdict with what it rests on, in a line."""
    if result.outside_limit:
        why = f"{len(result.outside_limit)} of {len(result.compared)} readings outside the limits"
    elif outside := sum(not compared.is_within for compared in result.compared):
        why = f"{outside} of {len(result.compared)} readings outside tolerance"
    elif result.finding.is_blamed:
        why = "readings within tolerance, but not together"
    elif result.unread:
        why = f"nothing wrong so far; not read: {', '.join(result.unread)}"
    else:
        why = f"{len(result.compared)} readings within tolerance and limits"
    return f"working pressures: {result.verdict.word}, {why}"


def parts_named(group: Group, most: int | None = None) -> str:
    """Return the parts of a group as alternatives."""
    names = [_part(fit) for fit in group.fits]
    if most is not None and len(names) > most:
        names = [*names[: most - 1], f"{len(names) - most + 1} more"]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _part(fit: Fit) -> str:
    part = fit.candidate.part
    return f"the {part}" if part.startswith(("regulator", "bottles")) else part


def compared_table(compared: Sequence[Compared], shown: Shown) -> Table:
    """Return readings beside what they should be."""
    unit = shown.display.pressure
    columns = (
        Column("at", words=True),
        Column(f"measured\n{unit}"),
        Column(f"predicted\n{unit}"),
        Column(f"difference\n{unit}"),
        Column(f"tolerance\n{unit}"),
        Column("", words=True),
    )
    rows = [
        [
            row.measured.at,
            shown.pressure(row.measured.gauge_pa),
            shown.pressure(row.predicted_gauge_pa),
            shown.pressure(row.difference_pa),
            shown.pressure(TOLERANCE * row.deviation_pa),
            reading_verdict(row),
        ]
        for row in compared
    ]
    return Table(columns, rows)


def limit_words(result: Commissioning, shown: Shown) -> Iterator[Block]:
    """Yield what is below or above its limit."""
    if not result.outside_limit:
        return
    allowed = shown.pressure_unit(result.job.allowed_drop_pa)
    sentences = []
    for outside in result.outside_limit:
        measured, limit = outside.measured, shown.pressure_unit(outside.limit_gauge_pa)
        what = f"at least {limit} is needed (allowed drop {allowed}, or the appliance's least pressure)"
        if not outside.is_below:
            of = "its lock-up" if measured.at == ROOT else "the appliance's greatest pressure"
            what = f"{limit} is {of}"
        place = reading_place(measured.at, measured.setup)
        sentences.append(f"{place}: {shown.pressure_unit(measured.gauge_pa)}; {what}.")
    yield Points("Outside the limits:", sentences)


def reading_place(at: str, setup: Setup, *, in_full: bool = True) -> str:
    """Return a test point with what is on, and where it is plugged in."""
    on = (
        f"in state {setup.state.name}{way_words(setup.way) if in_full else ''}"
        if setup.state.shares
        else "at lock-up, nothing on"
    )
    return f"{at} {on}"


def reading_verdict(compared: Compared) -> str:
    """Return how a reading stands: within tolerance, too low or too high."""
    return "within" if compared.is_within else "LOW" if compared.difference_pa < 0.0 else "HIGH"


def finding_words(result: Commissioning, shown: Shown) -> Iterator[Block]:
    """Yield which part explains the readings, or that none does."""
    finding = result.finding
    if finding.is_too_large:
        yield NOT_SOUGHT
    elif finding.is_blamed:
        yield from _blamed(result, shown)
    elif all(compared.is_within for compared in result.compared):
        yield "No part is suspect: the differences are no more than the manometer and the line as built give."
    else:
        yield (
            "No one part explains the readings outside tolerance. Read them again, and see that what was on, and "
            "where it was plugged in, is what the file of readings says."
        )
    if finding.unseen:
        more = len(finding.unseen) - _MOST_UNSEEN
        names = [*finding.unseen[:_MOST_UNSEEN], *([f"{more} more"] if more > 0 else [])]
        yield f"Not tested by these readings, as {shown.pressure_unit(SMALL_PA)} more drop there would not show: " + (
            f"{', '.join(names)}."
        )


def _blamed(result: Commissioning, shown: Shown) -> Iterator[Block]:
    """Tell the parts to look at, the likeliest first, and the readings that they leave unexplained."""
    finding = result.finding
    first = finding.groups[0]
    apart = ", which these readings do not tell apart" if len(first.fits) > 1 else ""
    yield f"Look first at {parts_named(first)}{apart}{sure_words(finding)}."
    yield Points("What would explain the readings best:", [explained(result.job, fit, shown) for fit in first.fits])
    others = [f"{parts_named(group)} ({_percent(group.weight)})" for group in finding.groups[1:] if _is_told(group)]
    if others:
        yield f"Then at: {'; '.join(others[:_MOST_NAMED])}."
    if finding.left_over:
        readings = [result.compared[number].measured for number in finding.left_over]
        still = ", ".join(dict.fromkeys(f"{reading.at} in state {reading.setup.state.name}" for reading in readings))
        yield (
            f"With that put right these would still be off: {still}. More than one thing is wrong, or the line is "
            "not the one in the job file."
        )


def lock_up_words(result: ExpectedPressures, shown: Shown) -> Iterator[str]:
    """Yield what each regulator may stand at with nothing on."""
    for each in result.lock_ups:
        least, most = shown.pressure(each.least_gauge_pa), shown.pressure_unit(each.most_gauge_pa)
        whose = "" if each.is_known else ", our own choice: the job gives no `lock-up`"
        yield f"Lock-up, nothing on, at the {each.name}: {least} to {most}{whose}."


def next_words(advised: NextReading, shown: Shown, known: Sequence[Setup] = ()) -> str:
    """Return which reading would tell most, and what it would show by what is wrong.

    How things are plugged in is told where the setup is not one of those that stand on the page.
    """
    place = reading_place(advised.place.name, advised.setup, in_full=advised.setup not in known)
    if not known:
        return f"Read first: {place}. It tells most."
    named = []
    for expected in advised.expected:
        who = "nothing is wrong" if expected.part == HEALTHY else f"it is the {expected.part}"
        named.append(f"{shown.pressure_unit(expected.gauge_pa)} if {who}")
    share = advised.bits / advised.open_bits * 100.0 if advised.open_bits > 0.0 else 0.0
    return f"Read next: {place}. It tells most ({share:.0f} % of what is open): about {', '.join(named)}."


def sure_words(finding: Finding) -> str:
    """Return how sure the first group is, to stand after its parts."""
    if finding.left_over:
        return ", but that does not explain all"
    return f": {_percent(finding.groups[0].weight)} sure, if one thing is wrong"


def _is_told(group: Group) -> bool:
    return group.weight >= _LEAST_TOLD


def _percent(share: float) -> str:
    return "over 99 %" if share > _SURE else f"{share * 100:.0f} %"


def explained(job: Job, fit: Fit, shown: Shown) -> str:
    """Return what a fault of its size is, in a sentence."""
    candidate = fit.candidate
    fitted, normal = candidate.becomes(fit.size), candidate.normal
    who = _part(fit)[:1].upper() + _part(fit)[1:]
    if candidate.kind == BLOCKED:
        load = shown.heat_unit(candidate.flow_kg_s * job.gas.gross_j_kg)
        why = "a coupler not home or dirt" if fit.candidate.part.startswith(("outlet", "hose")) else "a kink or dirt"
        return f"{who} takes {shown.pressure_unit(fitted)} more at {load} than it should, as {why} would."
    if candidate.kind == NARROW:
        bore, normal_bore = shown.bore_unit(fitted), shown.bore_unit(normal)
        return f"{who} acts as if its bore were {bore}, not {normal_bore}: wrong size or kinked."
    if candidate.kind == LOAD:
        heat, rated = (shown.heat_unit(flow * job.gas.gross_j_kg) for flow in (fitted, normal))
        return f"{who} takes {heat} at its nominal pressure, not {rated}: wrong jet or setting."
    if candidate.kind in (DROOP, STARVING):
        load = shown.heat_unit(candidate.flow_kg_s * job.gas.gross_j_kg)
        return (
            f"{who} let{'s' * (candidate.kind == DROOP)} the pressure fall by {shown.pressure_unit(fitted)} at {load}."
        )
    if candidate.kind == CREEP:
        return f"{who} rises {shown.pressure_unit(fitted)} more with nothing on than it should: it creeps."
    return f"{who} gives {shown.pressure_unit(fitted)}, not {shown.pressure_unit(normal)}."
