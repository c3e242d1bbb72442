"""The sheet's tables: the appliances as drawn, the other combinations, the states, and the forms of the test record."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from drawbar.checking.drawn_way import DrawnWay
from drawbar.checking.results import ApplianceResult, CheckResult
from drawbar.line.plugging import Plugged
from drawbar.onsite.test_record import TestRecord
from drawbar.onsite.tightness import Tightness
from drawbar.onsite.tightness_verdict import FIT_STEP_PA, hold_s, settle_s
from drawbar.report.display import Shown
from drawbar.report.layout import Column, Table
from drawbar.report.tightness_words import duration

_MOST_ACROSS = 4  # portable appliances that have a column each in the table of combinations

BOX = ""
"""What a cell holds that is to be written in by hand."""


def plugged_words(plugged: Iterable[Plugged]) -> str:
    """Return what is plugged in where."""
    return ", ".join(f"{each.appliance.name} in {plug_words(each)}" for each in plugged)


def plug_words(plugged: Plugged) -> str:
    """Return where an appliance is plugged in, and by which hose where it could be another."""
    hose = plugged.hose if len(plugged.appliance.hoses) > 1 else None
    return f"{plugged.outlet.name} by {hose.name}" if hose is not None else plugged.outlet.name


def drawn_appliances_table(drawn: DrawnWay, shown: Shown) -> Table:
    """Return the appliances as they are drawn, with the lowest that any combination gives each and its verdict."""
    units = shown.display
    has_others = bool(drawn.others or drawn.out or drawn.state.is_bound)
    columns = [
        Column("appliance", words=True),
        Column("at", words=True),
        Column(f"load\n{units.heat}"),
        Column(f"pressure\n{units.pressure}"),
        Column(f"drop\n{units.pressure}"),
        Column(f"spare\n{units.pressure}"),
        *([Column(f"lowest\n{units.pressure}")] if has_others else []),
        Column(f"at worst\n{units.pressure}"),
        Column(f"spare\ncapacity {units.heat}"),
        Column("verdict", words=True),
    ]
    as_drawn = {appliance.name: appliance for appliance in drawn.appliances}
    headroom = drawn.state.headroom
    rows = []
    for lowest in drawn.state.appliances:
        appliance = as_drawn.get(lowest.name)
        row = [lowest.name, *_as_drawn(appliance, lowest, drawn, shown)]
        row += [shown.pressure(lowest.gauge_pa)] if has_others else []
        row.append(shown.pressure(lowest.worst_margin_pa))
        row.append(shown.heat(headroom.appliances[lowest.name]) if headroom is not None else "-")
        rows.append([*row, lowest.verdict.word])
    return Table(tuple(columns), rows)


def _as_drawn(appliance: ApplianceResult | None, lowest: ApplianceResult, drawn: DrawnWay, shown: Shown) -> list[str]:
    if appliance is None:
        return ["not plugged in", shown.heat(lowest.load_w), "-", "-", "-"]
    figures = map(shown.pressure, (appliance.gauge_pa, appliance.drop_pa, appliance.margin_pa))
    return [_at(appliance, drawn), shown.heat(appliance.load_w), *figures]


def _at(appliance: ApplianceResult, drawn: DrawnWay) -> str:
    if appliance.outlet is None:
        return appliance.at
    return next(plug_words(each) for each in drawn.state.plugged if each.appliance.name == appliance.name)


def others_table(drawn: DrawnWay, shown: Shown) -> Table:
    """Return the other combinations of plugging in, the worst first: where each appliance is, a column an appliance."""
    unit = shown.display.pressure
    names = [appliance.name for appliance, _ in drawn.state.solved.state_on_line.plan.portable]
    is_wide = len(names) > _MOST_ACROSS
    places = ["plugged in"] if is_wide else names
    columns = (
        Column("no."),
        *(Column(name, words=True) for name in places),
        Column("least at", words=True),
        Column(f"pressure\n{unit}"),
        Column(f"spare\n{unit}"),
    )
    rows = []
    for number, other in enumerate(drawn.others, 2):  # the first is the one that is drawn
        at = {each.appliance.name: plug_words(each) for each in other.plugged}
        cells = [plugged_words(other.plugged)] if is_wide else [at.get(name, "-") for name in names]
        rows.append(
            [str(number), *cells, other.appliance, shown.pressure(other.gauge_pa), shown.pressure(other.margin_pa)]
        )
    return Table(columns, rows)


def states_table(result: CheckResult, shown: Shown) -> Table:
    """Return a row for each state but the worst."""
    units = shown.display
    columns = (
        Column("state", words=True),
        Column(f"maximum load\n{units.heat}"),
        Column("least at", words=True),
        Column(f"pressure\n{units.pressure}"),
        Column(f"spare\n{units.pressure}"),
        Column("verdict", words=True),
    )
    rows = []
    for state in result.states[1:]:
        least = min(state.appliances, key=lambda appliance: appliance.margin_pa)
        figures = [shown.pressure(least.gauge_pa), shown.pressure(state.margin_pa)]
        rows.append([state.name, shown.heat(state.total_w), least.name, *figures, state.verdict.word])
    return Table(columns, rows)


def tightness_form(tight: Tightness, shown: Shown) -> Table:
    """Return what the tightness test asks for with what was read, a box for what was not."""
    test, reading = tight.test, tight.reading
    pressures_pa = dict.fromkeys(tight.gauge_pa(section) for section in tight.sections)
    medium = test.medium if test is not None else "as the code in force says"
    allowed_pa = test.allowed_fall_pa if test is not None else 0.0
    step_pa = allowed_pa or FIT_STEP_PA
    settle, hold = (duration(settle_s(test)), duration(hold_s(test))) if test is not None else ("", "")
    rows = [
        ["filled with", medium, BOX],
        ["settled for", settle and f"{settle} or more", BOX],
        ["manometer, its step", f"{shown.pressure_unit(step_pa)} or finer", BOX],
        ["time at start", "", BOX],
        ["pressure at start", " or ".join(map(shown.pressure_unit, pressures_pa)), BOX],
        ["temperature at start", "", BOX],
        ["time at end", hold and f"{hold} later or more", BOX],
        ["pressure at end", f"fall {shown.pressure_unit(allowed_pa)} or less" if allowed_pa else "no fall", BOX],
        ["temperature at end", "as at start", BOX],
        ["result", "", tight.verdict.word if tight.verdict is not None else BOX],
    ]
    if reading is not None:
        rows[1][2] = duration(reading.settled_s) if reading.settled_s is not None else "not said"
        rows[2][2] = shown.pressure_unit(reading.resolution_pa) if reading.is_step_known else "not said"
        rows[4][2] = shown.pressure_unit(reading.start_gauge_pa)
        rows[6][2] = f"{duration(reading.time_s)} later" if reading.is_timed else "not said"
        rows[7][2] = shown.pressure_unit(reading.end_gauge_pa)
        if reading.is_corrected:
            rows[5][2] = shown.temperature_unit(reading.start_k)
            rows[8][2] = shown.temperature_unit(reading.end_k)
    columns = (Column("tightness test", words=True), Column("asked for", words=True), Column("read", words=True))
    return Table(columns, rows)


def pressures_form(record: TestRecord, tight: Tightness, shown: Shown) -> Table:
    """Return the test points with what they should show and how long each is purged, and what was read or a box."""
    unit = shown.display.pressure
    columns = [
        Column("point", words=True),
        Column("what", words=True),
        Column(f"rated\n{unit}"),
        Column(f"orifice\n{unit}"),
        Column("purge\ns"),
        Column(f"lock-up\n{unit}"),
        Column("lock-up,\nread"),
        Column("working,\nread"),
        Column("verdict", words=True),
    ]
    purges = {purge.appliance.name: f"{purge.least_s:.0f} to {purge.mixed_s:.0f}" for purge in tight.purges}
    rows = []
    for point in record.points:
        locked, read = (
            BOX if pa is None else shown.pressure(pa) for pa in (point.locked_gauge_pa, point.measured_gauge_pa)
        )
        lock_up = " to ".join(dict.fromkeys(map(shown.pressure, point.lock_up_gauge_pa)))
        verdict = point.verdict.word if point.verdict is not None else BOX
        expected = [shown.pressure(point.rated_gauge_pa), shown.pressure(point.orifice_gauge_pa)]
        purge = purges.get(point.place.name, "-")
        rows.append([point.place.name, point.place.what, *expected, purge, lock_up, locked, read, verdict])
    return Table(tuple(columns), rows)


def elsewhere_table(record: TestRecord, shown: Shown) -> Table:
    """Return the readings that are of no row of the test points."""
    unit = shown.display.pressure
    columns = (
        Column("point", words=True),
        Column("state", words=True),
        Column("plugged in", words=True),
        Column(f"predicted\n{unit}"),
        Column(f"read\n{unit}"),
        Column("verdict", words=True),
    )
    rows = []
    for each in record.elsewhere:
        measured = each.compared.measured
        figures = [shown.pressure(each.compared.predicted_gauge_pa), shown.pressure(measured.gauge_pa)]
        setup = measured.setup
        rows.append([measured.at, setup.state.name, plugged_words(setup.way) or "-", *figures, each.verdict.word])
    return Table(columns, rows)


def halves(table: Table) -> Sequence[Table]:
    """Return a table as two of the same columns, the second no longer than the first."""
    half = (len(table.rows) + 1) // 2
    return Table(table.columns, table.rows[:half]), Table(table.columns, table.rows[half:])
