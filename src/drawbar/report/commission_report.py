"""How working pressures to take to the job are shown, and readings beside them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from drawbar.cautions import COMMISSION_CAUTIONS
from drawbar.job import Job
from drawbar.line.plugging import Plugged
from drawbar.onsite.commission import Commissioning, Compared, ExpectedPressures
from drawbar.onsite.fault_fitting import TOLERANCE, Fit, Group
from drawbar.onsite.fault_models import BLOCKED, LOAD, NARROW, SMALL_PA
from drawbar.onsite.testpoints import Setup
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.report import Report

_MOST_NAMED = 5  # of the groups that come after the first
_MOST_UNSEEN = 8
_LEAST_TOLD = 0.01  # a group less likely than this is not told
_SURE = 0.995  # more than this would round to 100 %


class ExpectedPressuresReport(Report[ExpectedPressures]):
    """The table to take to the job: every test point of every state, with a blank for the reading."""

    kind = "commission"
    columns = (
        *("file", "job", "ref", "state", "plugged", "point", "what"),
        *("rated_kPa", "orifice_kPa", "reading_kPa"),
    )

    def page(self, result: ExpectedPressures) -> list[Block]:
        """Return the table to take to the job: every test point with a blank for the reading."""
        job, shown = result.job, Shown(result.job.display)
        blocks: list[Block] = [
            Heading(f"{_name(job)}: working pressures to expect"),
            f"File {job.file}. Regulator {shown.pressure_unit(job.regulator.outlet_gauge_pa)}, gas at "
            f"{shown.temperature_unit(job.temperature_k)}. All in {job.display.pressure}.\n"
            "Rated: every burner takes its rated input. Orifice: each is a fixed orifice that has its rated input at "
            "the set pressure of the last regulator before it, and takes less where the pressure is less, as most "
            "burners do.",
        ]
        columns = (
            Column("point", words=True),
            Column("what", words=True),
            Column("rated"),
            Column("orifice"),
            Column("reading", words=True),
        )
        for table in result.states:
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

    def data(self, result: ExpectedPressures) -> dict[str, Any]:
        """Return the table as it stands in JSON."""
        job = result.job
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
            for table in result.states
        ]
        return {
            "file": job.file,
            "job": job.title,
            "ref": job.ref,
            "states": states,
            "cautions": list(COMMISSION_CAUTIONS),
        }

    def rows(self, result: ExpectedPressures) -> Iterator[list[Any]]:
        """Yield a row for each state and test point, the reading left blank."""
        job = result.job
        for table in result.states:
            for row in table.rows:
                yield [
                    *(job.file, job.title, job.ref, table.state, _plugged(table.way).removeprefix(", ")),
                    *(row.place.name, row.place.what, row.rated_gauge_pa / 1000.0, row.orifice_gauge_pa / 1000.0, None),
                ]


class CommissionReport(Report[Commissioning]):
    """Readings beside the predicted pressures, and the part that they point at."""

    kind = "commission"
    columns = (
        *("file", "job", "ref", "readings", "burners", "state", "plugged", "point", "measured_kPa", "predicted_kPa"),
        *("difference_Pa", "tolerance_Pa", "verdict", "below_limit_kPa"),
    )

    def page(self, result: Commissioning) -> list[Block]:
        """Return the readings beside the predicted pressures, and what they point at."""
        job, shown = result.job, Shown(result.job.display)
        tolerance_pa = TOLERANCE * result.readings.noise_pa
        burners = "fixed orifices" if result.fixed_orifice else "taken at rated input"
        blocks: list[Block] = [
            Heading(f"{_name(job)}: {_headline(result)}"),
            f"Files {job.file}, {result.readings.file}. Burners are {burners}. Manometer noise "
            f"{shown.pressure_unit(result.readings.noise_pa)}; tolerance {shown.pressure_unit(tolerance_pa)}, "
            f"{TOLERANCE:g} times that.",
        ]
        setups: list[Setup] = []
        for compared in result.compared:
            if compared.measured.setup not in setups:
                setups.append(compared.measured.setup)
        for setup in setups:
            blocks.append(f"State {setup.state.name}{_plugged(setup.way)}:")
            blocks.append(
                _compared([compared for compared in result.compared if compared.measured.setup == setup], shown)
            )
        blocks.extend(_limits(result, shown))
        blocks.extend(_finding(result, shown))
        blocks.append(Points("Cautions:", COMMISSION_CAUTIONS))
        return blocks

    def data(self, result: Commissioning) -> dict[str, Any]:
        """Return the readings and what they point at as JSON."""
        job, finding = result.job, result.finding
        return {
            "file": job.file,
            "job": job.title,
            "ref": job.ref,
            "readings_file": result.readings.file,
            "burners": _burners(result),
            "noise_Pa": result.readings.noise_pa,
            "tolerance_Pa": TOLERANCE * result.readings.noise_pa,
            "verdict": "pass" if result.is_clear else "fail",
            "readings": [
                {
                    "state": compared.measured.setup.state.name,
                    **_ways_data(compared.measured.setup.way),
                    "at": compared.measured.at,
                    "measured_kPa": compared.measured.gauge_pa / 1000.0,
                    "predicted_kPa": compared.predicted_gauge_pa / 1000.0,
                    "difference_Pa": compared.difference_pa,
                    "verdict": _verdict(compared).lower(),
                    "explained": number not in finding.left_over,
                    "below_limit_kPa": _limit_kpa(result, compared),
                }
                for number, compared in enumerate(result.compared)
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

    def rows(self, result: Commissioning) -> Iterator[list[Any]]:
        """Yield a row for each reading."""
        job = result.job
        for compared in result.compared:
            measured = compared.measured
            yield [
                *(job.file, job.title, job.ref, result.readings.file, _burners(result), measured.setup.state.name),
                *(_plugged(measured.setup.way).removeprefix(", "), measured.at),
                *(measured.gauge_pa / 1000.0, compared.predicted_gauge_pa / 1000.0, compared.difference_pa),
                *(TOLERANCE * measured.noise_pa, _verdict(compared).lower(), _limit_kpa(result, compared)),
            ]


def _name(job: Job) -> str:
    return f"{job.title} ({job.ref})" if job.ref else job.title


def _plugged(way: Sequence[Plugged]) -> str:
    places = [
        f"{plugged.appliance.name} in {plugged.outlet.name}" + (f" by {plugged.hose.name}" if plugged.hose else "")
        for plugged in way
    ]
    return f", {', '.join(places)}" if places else ""


def _headline(result: Commissioning) -> str:
    outside = sum(not compared.is_within for compared in result.compared)
    headline = f"{outside} of {len(result.compared)} readings outside tolerance"
    if outside == 0:
        headline = "all readings within tolerance"
    if result.below_limit:
        headline = f"FAIL, {len(result.below_limit)} below the limit; {headline}"
    return f"{headline}, look at {_parts(result.finding.groups[0])}" if result.finding.is_blamed else headline


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
            row.measured.at,
            shown.pressure(row.measured.gauge_pa),
            shown.pressure(row.predicted_gauge_pa),
            shown.pressure(row.difference_pa),
            _verdict(row),
        ]
        for row in compared
    ]
    return Table(columns, rows)


def _limit_kpa(result: Commissioning, compared: Compared) -> float | None:
    """Return the limit that a reading is below [kPa], None where it is not below one."""
    limits = (below.limit_gauge_pa / 1000.0 for below in result.below_limit if below.measured is compared.measured)
    return next(limits, None)


def _limits(result: Commissioning, shown: Shown) -> Iterator[Block]:
    """Tell the appliances that have less pressure than they must have."""
    if not result.below_limit:
        return
    allowed = shown.pressure_unit(result.job.allowed_drop_pa)
    sentences = [
        f"{below.measured.at} in state {below.measured.setup.state.name}: "
        f"{shown.pressure_unit(below.measured.gauge_pa)}; at least {shown.pressure_unit(below.limit_gauge_pa)} is "
        f"needed (allowed drop {allowed}, or the appliance's least pressure)."
        for below in result.below_limit
    ]
    yield Points("Below the limit:", sentences)


def _verdict(compared: Compared) -> str:
    """Return how a reading stands: within tolerance, too low or too high."""
    return "within" if compared.is_within else "LOW" if compared.difference_pa < 0.0 else "HIGH"


def _finding(result: Commissioning, shown: Shown) -> Iterator[Block]:
    finding = result.finding
    if finding.is_too_large:
        yield "No part was looked for: the job has too many parts for readings in so many states. Leave some out."
    elif finding.is_blamed:
        yield from _blamed(result, shown)
    elif all(compared.is_within for compared in result.compared):
        yield "No part is blamed: the differences are no more than the manometer's noise gives."
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
    sure = f": {_percent(first.weight)} sure, if one thing is wrong"
    if finding.left_over:
        sure = ", but that does not explain all"
    yield f"Look first at {_parts(first)}{apart}{sure}."
    yield Points("What would explain the readings best:", [_explained(result.job, fit, shown) for fit in first.fits])
    others = [f"{_parts(group)} ({_percent(group.weight)})" for group in finding.groups[1:] if _is_told(group)]
    if others:
        yield f"Then at: {'; '.join(others[:_MOST_NAMED])}."
    if finding.left_over:
        readings = [result.compared[number].measured for number in finding.left_over]
        still = ", ".join(dict.fromkeys(f"{reading.at} in state {reading.setup.state.name}" for reading in readings))
        yield (
            f"With that put right these would still be off: {still}. More than one thing is wrong, or the line is "
            "not the one in the job file."
        )


def _is_told(group: Group) -> bool:
    return group.weight >= _LEAST_TOLD


def _percent(share: float) -> str:
    return "over 99 %" if share > _SURE else f"{share * 100:.0f} %"


def _explained(job: Job, fit: Fit, shown: Shown) -> str:
    candidate = fit.candidate
    fitted, normal = candidate.becomes(fit.size), candidate.normal
    who = _part(fit)[:1].upper() + _part(fit)[1:]
    if candidate.kind == BLOCKED:
        load = shown.heat_unit(candidate.flow_kg_s * job.gas.gross_j_kg)
        return f"{who} takes {shown.pressure_unit(fitted)} more at {load} than it should, as a kink or dirt would."
    if candidate.kind == NARROW:
        bore, normal_bore = shown.bore_unit(fitted), shown.bore_unit(normal)
        return f"{who} acts as if its bore were {bore}, not {normal_bore}: narrow or kinked."
    if candidate.kind == LOAD:
        heat, rated = (shown.heat_unit(flow * job.gas.gross_j_kg) for flow in (fitted, normal))
        return f"{who} takes {heat} at its nominal pressure, not {rated}."
    return f"{who} gives {shown.pressure_unit(fitted)}, not {shown.pressure_unit(normal)}."


def _burners(result: Commissioning) -> str:
    return "orifice" if result.fixed_orifice else "rated"


def _ways_data(way: Sequence[Plugged]) -> dict[str, Any]:
    return {
        "plugged": {plugged.appliance.name: plugged.outlet.name for plugged in way},
        "hoses": {plugged.appliance.name: plugged.hose.name for plugged in way if plugged.hose},
    }


def _fit_data(job: Job, fit: Fit) -> dict[str, Any]:
    candidate = fit.candidate
    fitted, normal = candidate.becomes(fit.size), candidate.normal
    gross = job.gas.gross_j_kg * 0.0036
    figures: dict[str, float]
    if candidate.kind == BLOCKED:
        figures = {"extra_drop_Pa": fitted, "at_load_MJ_h": candidate.flow_kg_s * gross}
    elif candidate.kind == NARROW:
        figures = {"bore_mm": fitted * 1000.0, "normal_bore_mm": normal * 1000.0}
    elif candidate.kind == LOAD:
        figures = {"input_MJ_h": fitted * gross, "normal_input_MJ_h": normal * gross}
    else:
        figures = {"outlet_kPa": fitted / 1000.0, "normal_outlet_kPa": normal / 1000.0}
    return {"part": candidate.part, "kind": candidate.kind, "chi_square": fit.chi2, **figures}
