"""Working pressures on one screen: what to expect and where to begin, or how the readings stand and what is next."""

from __future__ import annotations

from collections.abc import Iterator

from drawbar.cautions import IN_SHORT
from drawbar.onsite.commission import Commissioning, ExpectedPressures, StateTable
from drawbar.onsite.fault_fitting import TOLERANCE
from drawbar.report.check_screen import SCREEN_LINES
from drawbar.report.commission_words import (
    NOT_SOUGHT,
    STRAIGHT,
    explained,
    headline,
    lock_up_words,
    next_words,
    parts_named,
    reading_verdict,
    sure_words,
    way_words,
)
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Table, as_text
from drawbar.report.words import job_name

_MOST_ROWS = 8
_LEAST_ROWS = 2  # the reading farthest off, and how many more there are
_ABOVE_ROWS = 4  # of a table, and the space below it
_MOST_PARTS = 4


def short_expected(result: ExpectedPressures, shown: Shown) -> Iterator[Block]:
    """Yield the inlets of the state in which an appliance has least, and the reading to begin with."""
    job = result.job
    yield Heading(f"{job_name(job)}: working pressures to expect, nothing read")
    table = _lowest(result)
    if table is None:
        yield "Too many combinations to try: write a state with what will be on, and no more."
    else:
        yield f"State {table.state}{way_words(table.way)}, in {shown.display.pressure}:"
        yield _expected_table(result, table, shown)
    lines = list(lock_up_words(result, shown))[:2]
    if result.is_straight:
        lines.append(STRAIGHT)
    if result.first is not None:
        lines.append(next_words(result.first, shown))
    lines.append("Give each reading with --reading STATE/POINT=PRESSURE.")
    yield "\n".join(lines)
    yield f"{IN_SHORT}\n`--full` has every test point in every state."


def _lowest(result: ExpectedPressures) -> StateTable | None:
    """Return the state in which an appliance has least pressure over its limit."""
    tables = [table for table in result.states if table.rows]
    return min(tables, key=_spare_pa, default=None)


def _spare_pa(table: StateTable) -> float:
    return min(
        (row.orifice_gauge_pa - row.limit_gauge_pa for row in table.rows if row.limit_gauge_pa is not None), default=0.0
    )


def _expected_table(result: ExpectedPressures, table: StateTable, shown: Shown) -> Table:
    columns = (
        Column("inlet of", words=True),
        Column("expected"),
        Column("give or take"),
        Column("at least"),
        Column("reading", words=True),
    )
    appliances = {appliance.name for appliance in result.job.appliances}
    rows = []
    for row in table.rows:
        if row.place.name in appliances or row is table.rows[0]:
            least = "" if row.limit_gauge_pa is None else shown.pressure(row.limit_gauge_pa)
            name = row.place.name if row is not table.rows[0] else "(regulator's outlet)"
            take = shown.pressure(TOLERANCE * row.deviation_pa)
            rows.append([name, shown.pressure(row.orifice_gauge_pa), take, least, "." * 8])
    if (more := len(rows) - _MOST_ROWS - 1) > 0:
        rows = [*rows[: _MOST_ROWS + 1], [f"{more} more: --full", "", "", "", ""]]
    return Table(columns, rows)


def short_commissioning(result: Commissioning, shown: Shown) -> Iterator[Block]:
    """Yield how the readings stand, the part to look at or the reading to take next, and the readings farthest off."""
    head = Heading(f"{job_name(result.job)}: {headline(result)}")
    yield head
    finding = result.finding
    lines = []
    if finding.is_too_large:
        lines.append(NOT_SOUGHT)
    elif finding.is_blamed:
        first = finding.groups[0]
        lines.append(f"Look first at {parts_named(first, _MOST_PARTS)}{sure_words(finding)}.")
        lines.append(explained(result.job, first.fits[0], shown))
    elif not all(compared.is_within for compared in result.compared):
        lines.append("No one part explains the readings outside tolerance: read them again, and see what was on.")
    if result.next_reading is not None:
        lines.append(next_words(result.next_reading, shown, [each.measured.setup for each in result.compared]))
    elif result.is_next_open and not finding.is_too_large:
        lines.append("No further reading was looked for: the job has too many parts.")
    elif not (finding.is_found or finding.is_blamed or finding.is_too_large):
        lines.append("No further reading would tell much.")
    words = ["\n".join(lines)] if lines else []
    last = f"{IN_SHORT}\n`--full` has all readings, what else may be wrong, and the cautions."
    room = SCREEN_LINES - as_text([head, *words, last]).count("\n") - _ABOVE_ROWS
    yield from words
    yield _farthest(result, shown, max(_LEAST_ROWS, min(room, _MOST_ROWS)))
    yield last


def _farthest(result: Commissioning, shown: Shown, most: int) -> Table:
    """Return the readings that are outside limits or farthest off, as many as there is room for."""
    unit = shown.display.pressure
    columns = (
        Column("at", words=True),
        Column("state", words=True),
        Column(f"measured\n{unit}"),
        Column(f"predicted\n{unit}"),
        Column(f"give or take\n{unit}"),
        Column(f"limit\n{unit}"),
        Column("", words=True),
    )
    limits = {id(outside.measured): outside.limit_gauge_pa for outside in result.outside_limit}
    ranked = sorted(
        result.compared,
        key=lambda each: (
            id(each.measured) not in limits,
            each.is_within,
            -abs(each.difference_pa) / each.deviation_pa,
        ),
    )
    told = set(map(id, ranked if len(ranked) <= most else ranked[: most - 1]))
    rows = [
        [
            each.measured.at,
            each.measured.setup.state.name,
            shown.pressure(each.measured.gauge_pa),
            shown.pressure(each.predicted_gauge_pa),
            shown.pressure(TOLERANCE * each.deviation_pa),
            shown.pressure(limits[id(each.measured)]) if id(each.measured) in limits else "",
            "LIMIT" if id(each.measured) in limits else reading_verdict(each),
        ]
        for each in result.compared
        if id(each) in told
    ]
    if (more := len(result.compared) - len(rows)) > 0:
        rows.append([f"{more} more: --full", *[""] * (len(columns) - 1)])
    return Table(columns, rows)
