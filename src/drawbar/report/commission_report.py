"""Working pressures to take to the job, and readings beside them, as a page, as rows, as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from drawbar.cautions import COMMISSION_CAUTIONS
from drawbar.job import Job
from drawbar.line.plugging import Plugged
from drawbar.onsite.commission import TOLERANCE, Commissioning, Compared, StateTable
from drawbar.onsite.fault_fitting import Fit, Group
from drawbar.onsite.fault_models import BLOCKED, LOAD, NARROW, SMALL_PA
from drawbar.onsite.testpoints import Setup
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table

TABLE_CSV_COLUMNS = (
    *("file", "job", "ref", "state", "plugged", "point", "what", "rated_kPa", "orifice_kPa", "reading_kPa"),
)
CSV_COLUMNS = (
    *("file", "job", "ref", "readings", "burners", "state", "plugged", "point", "measured_kPa", "predicted_kPa"),
    *("difference_Pa", "tolerance_Pa", "verdict"),
)
MOST_NAMED = 5  # of the groups that come after the first
MOST_UNSEEN = 8
LEAST_TOLD = 0.01  # a group less likely than this is not told


def blank_page(job: Job, tables: Sequence[StateTable]) -> list[Block]:
    """Return the table to take to the job: every test point with a blank for the reading."""
    shown = Shown(job.display)
    blocks: list[Block] = [
        Heading(f"{_name(job)}: working pressures to expect"),
        f"File {job.file}. Regulator {shown.pressure_unit(job.regulator.outlet_gauge_pa)}, gas at "
        f"{shown.temperature_unit(job.temperature_k)}. All in {job.display.pressure}.\n"
        "Rated: every burner takes its rated input. Orifice: each is a fixed orifice that has its rated input at the "
        "set pressure of the last regulator before it, and takes less where the pressure is less, as most burners do.",
    ]
    columns = (
        Column("point", words=True),
        Column("what", words=True),
        Column("rated"),
        Column("orifice"),
        Column("reading", words=True),
    )
    for table in tables:
        blocks.append(f"State {table.state}{_plugged(table.way)}.")
        if not table.rows:
            blocks.append("Too many ways of plugging to try: write a state with what will be on, and no more.")
            continue
        rows = [
            [
                row.place.name,
                row.place.what,
                shown.pressure(row.rated_gauge_pa),
                shown.pressure(row.orifice_gauge_pa),
                "." * 10,
            ]
            for row in table.rows
        ]
        blocks.append(Table(columns, rows))
    blocks.append(Points("Cautions:", COMMISSION_CAUTIONS))
    return blocks


def page(outcome: Commissioning) -> list[Block]:
    """Return the readings beside the predicted pressures, and what they point at."""
    job, shown = outcome.job, Shown(outcome.job.display)
    tolerance_pa = TOLERANCE * outcome.readings.noise_pa
    burners = "fixed orifices" if outcome.fixed_orifice else "taken at rated input"
    blocks: list[Block] = [
        Heading(f"{_name(job)}: {_headline(outcome)}"),
        f"Files {job.file}, {outcome.readings.file}. Burners are {burners}. Manometer noise "
        f"{shown.pressure_unit(outcome.readings.noise_pa)}; tolerance {shown.pressure_unit(tolerance_pa)}, "
        f"{TOLERANCE:g} times that.",
    ]
    setups: list[Setup] = []
    for one in outcome.compared:
        if one.measured.setup not in setups:
            setups.append(one.measured.setup)
    for setup in setups:
        blocks.append(f"State {setup.state.name}{_plugged(setup.way)}:")
        blocks.append(_compared([one for one in outcome.compared if one.measured.setup == setup], shown))
    blocks.extend(_finding(outcome, shown))
    blocks.append(Points("Cautions:", COMMISSION_CAUTIONS))
    return blocks


def _name(job: Job) -> str:
    return f"{job.title} ({job.ref})" if job.ref else job.title


def _plugged(way: Sequence[Plugged]) -> str:
    places = [
        f"{one.appliance.name} in {one.outlet.name}" + (f" by {one.hose.name}" if one.hose else "") for one in way
    ]
    return f", {', '.join(places)}" if places else ""


def _headline(outcome: Commissioning) -> str:
    outside = sum(not one.is_within for one in outcome.compared)
    told = f"{outside} of {len(outcome.compared)} readings outside tolerance"
    if outside == 0:
        told = "all readings within tolerance"
    return f"{told}, look at {_parts(outcome.finding.groups[0])}" if outcome.finding.is_blamed else told


def _parts(group: Group) -> str:
    names = [_part(fit) for fit in group.fits]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _part(fit: Fit) -> str:
    part = fit.candidate.part
    return f"the {part}" if part.startswith("regulator") else part


def _compared(compared: Sequence[Compared], shown: Shown) -> Table:
    unit = shown.display.pressure
    columns = (
        Column("at", words=True),
        Column(f"measured\n{unit}"),
        Column(f"predicted\n{unit}"),
        Column(f"difference\n{unit}"),
        Column("tolerance", words=True),
    )
    rows = [
        [
            one.measured.at,
            shown.pressure(one.measured.gauge_pa),
            shown.pressure(one.predicted_gauge_pa),
            shown.pressure(one.difference_pa),
            word(one),
        ]
        for one in compared
    ]
    return Table(columns, rows)


def word(one: Compared) -> str:
    """Return how a reading stands: within tolerance, too low or too high."""
    return "within" if one.is_within else "LOW" if one.difference_pa < 0.0 else "HIGH"


def _finding(outcome: Commissioning, shown: Shown) -> Iterator[Block]:
    finding = outcome.finding
    if finding.is_too_large:
        yield "No part was looked for: the job has too many parts for readings in so many states. Leave some out."
    elif not finding.is_blamed:
        if all(one.is_within for one in outcome.compared):
            yield "No part is blamed: the differences are no more than the manometer's noise gives."
        else:
            yield (
                "No one part explains the readings outside tolerance. Read them again, and see that what was on, and "
                "where it was plugged in, is what the file of readings says."
            )
    else:
        first = finding.groups[0]
        apart = ", which these readings do not tell apart" if len(first.fits) > 1 else ""
        sure = f": {_percent(first.weight)} sure, if one thing is wrong"
        if finding.left_over:
            sure = ", but that does not explain all"
        yield f"Look first at {_parts(first)}{apart}{sure}."
        yield Points(
            "What would explain the readings best:", [_explained(outcome.job, one, shown) for one in first.fits]
        )
        others = [f"{_parts(group)} ({_percent(group.weight)})" for group in finding.groups[1:] if _is_told(group)]
        if others:
            yield f"Then at: {'; '.join(others[:MOST_NAMED])}."
        if finding.left_over:
            places = [outcome.compared[number].measured for number in finding.left_over]
            still = ", ".join(dict.fromkeys(f"{one.at} in state {one.setup.state.name}" for one in places))
            yield (
                f"With that put right these would still be off: {still}. More than one thing is wrong, or the line is "
                "not the one in the job file."
            )
    if finding.unseen:
        more = len(finding.unseen) - MOST_UNSEEN
        names = [*finding.unseen[:MOST_UNSEEN], *([f"{more} more"] if more > 0 else [])]
        yield f"Not tested by these readings, as {shown.pressure_unit(SMALL_PA)} more drop there would not show: " + (
            f"{', '.join(names)}."
        )


def _is_told(group: Group) -> bool:
    return group.weight >= LEAST_TOLD


def _percent(share: float) -> str:
    return "over 99 %" if share > 0.995 else f"{share * 100:.0f} %"


def _explained(job: Job, fit: Fit, shown: Shown) -> str:
    candidate = fit.candidate
    found, normal = candidate.becomes(fit.size), candidate.normal
    who = _part(fit)[:1].upper() + _part(fit)[1:]
    if candidate.kind == BLOCKED:
        load = shown.heat_unit(candidate.flow_kg_s * job.gas.gross_j_kg)
        return f"{who} takes {shown.pressure_unit(found)} more at {load} than it should, as a kink or dirt would."
    if candidate.kind == NARROW:
        return (
            f"{who} acts as if its bore were {shown.bore_unit(found)}, not {shown.bore_unit(normal)}: narrow or kinked."
        )
    if candidate.kind == LOAD:
        heat, rated = (shown.heat_unit(flow * job.gas.gross_j_kg) for flow in (found, normal))
        return f"{who} takes {heat} at its nominal pressure, not {rated}."
    return f"{who} gives {shown.pressure_unit(found)}, not {shown.pressure_unit(normal)}."


def blank_rows(job: Job, tables: Sequence[StateTable]) -> Iterator[list[Any]]:
    """Yield the rows of TABLE_CSV_COLUMNS, the reading left blank."""
    for table in tables:
        for row in table.rows:
            yield [
                *(job.file, job.title, job.ref, table.state, _plugged(table.way).removeprefix(", ")),
                *(row.place.name, row.place.what, row.rated_gauge_pa / 1000.0, row.orifice_gauge_pa / 1000.0, None),
            ]


def rows(outcome: Commissioning) -> Iterator[list[Any]]:
    """Yield the rows of CSV_COLUMNS, one a reading."""
    job = outcome.job
    for one in outcome.compared:
        measured = one.measured
        yield [
            *(job.file, job.title, job.ref, outcome.readings.file, _burners(outcome), measured.setup.state.name),
            *(_plugged(measured.setup.way).removeprefix(", "), measured.at),
            *(measured.gauge_pa / 1000.0, one.predicted_gauge_pa / 1000.0, one.difference_pa),
            *(TOLERANCE * measured.noise_pa, word(one).lower()),
        ]


def _burners(outcome: Commissioning) -> str:
    return "orifice" if outcome.fixed_orifice else "rated"


def _ways_data(way: Sequence[Plugged]) -> dict[str, Any]:
    return {
        "plugged": {one.appliance.name: one.outlet.name for one in way},
        "hoses": {one.appliance.name: one.hose.name for one in way if one.hose},
    }


def blank_data(job: Job, tables: Sequence[StateTable]) -> dict[str, Any]:
    """Return the table as JSON."""
    states = [
        {
            "name": table.state,
            **_ways_data(table.way),
            "points": [
                {
                    "name": row.place.name,
                    "what": row.place.what,
                    "rated_kPa": row.rated_gauge_pa / 1000.0,
                    "orifice_kPa": row.orifice_gauge_pa / 1000.0,
                    "reading_kPa": None,
                }
                for row in table.rows
            ],
        }
        for table in tables
    ]
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "states": states,
        "cautions": list(COMMISSION_CAUTIONS),
    }


def data(outcome: Commissioning) -> dict[str, Any]:
    """Return the readings and what they point at as JSON."""
    job, finding = outcome.job, outcome.finding
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "readings_file": outcome.readings.file,
        "burners": _burners(outcome),
        "noise_Pa": outcome.readings.noise_pa,
        "tolerance_Pa": TOLERANCE * outcome.readings.noise_pa,
        "verdict": "pass" if outcome.is_clear else "fail",
        "readings": [
            {
                "state": one.measured.setup.state.name,
                **_ways_data(one.measured.setup.way),
                "at": one.measured.at,
                "measured_kPa": one.measured.gauge_pa / 1000.0,
                "predicted_kPa": one.predicted_gauge_pa / 1000.0,
                "difference_Pa": one.difference_pa,
                "verdict": word(one).lower(),
                "explained": number not in finding.left_over,
            }
            for number, one in enumerate(outcome.compared)
        ],
        "finding": {
            "blamed": [fit.candidate.part for fit in finding.groups[0].fits] if finding.is_blamed else [],
            "chi_square": finding.chi2,
            "chi_square_gained": finding.gained,
            "chi_square_needed": None if finding.is_too_large else finding.needed,
            "candidates": [
                {"weight": group.weight, "parts": [_fit_data(job, fit) for fit in group.fits]}
                for group in finding.groups
            ],
            "unseen": list(finding.unseen),
        },
        "cautions": list(COMMISSION_CAUTIONS),
    }


def _fit_data(job: Job, fit: Fit) -> dict[str, Any]:
    candidate = fit.candidate
    found, normal = candidate.becomes(fit.size), candidate.normal
    gross = job.gas.gross_j_kg * 0.0036
    figures: dict[str, float]
    if candidate.kind == BLOCKED:
        figures = {"extra_drop_Pa": found, "at_load_MJ_h": candidate.flow_kg_s * gross}
    elif candidate.kind == NARROW:
        figures = {"bore_mm": found * 1000.0, "normal_bore_mm": normal * 1000.0}
    elif candidate.kind == LOAD:
        figures = {"input_MJ_h": found * gross, "normal_input_MJ_h": normal * gross}
    else:
        figures = {"outlet_kPa": found / 1000.0, "normal_outlet_kPa": normal / 1000.0}
    return {"part": candidate.part, "kind": candidate.kind, "chi_square": fit.chi2, **figures}
