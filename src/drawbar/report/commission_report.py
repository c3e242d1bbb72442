"""How working pressures to take to the job are shown, and readings beside them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from drawbar.cautions import COMMISSION_CAUTIONS
from drawbar.job import Job
from drawbar.line.plugging import Plugged
from drawbar.onsite.commission import Commissioning, Compared, ExpectedPressures
from drawbar.onsite.fault_fitting import TOLERANCE, Fit
from drawbar.onsite.fault_models import BLOCKED, LOAD, NARROW, SETTING
from drawbar.onsite.next_reading import NextReading
from drawbar.onsite.testpoints import Setup
from drawbar.report.commission_words import (
    STRAIGHT,
    compared_table,
    finding_words,
    headline,
    limit_words,
    lock_up_words,
    next_words,
    reading_verdict,
    way_words,
)
from drawbar.report.display import MJ_H, Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.report import Report
from drawbar.report.words import job_name


class ExpectedPressuresReport(Report[ExpectedPressures]):
    """The table to take to the job: every test point of every state, with a blank for the reading."""

    kind = "commission"
    columns = (
        *("file", "job", "ref", "state", "plugged", "point", "what"),
        *("rated_kPa", "orifice_kPa", "deviation_Pa", "least_kPa", "reading_kPa"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: ExpectedPressures) -> list[Block]:
        """Return the table to take to the job: every test point with a blank for the reading."""
        job, shown = result.job, Shown(result.job.display)
        if not self.in_full:
            from drawbar.report.commission_short import short_expected

            return list(short_expected(result, shown))
        blocks: list[Block] = [
            Heading(f"{job_name(job)}: working pressures to expect"),
            f"File {job.file}. Regulator {shown.pressure_unit(job.regulator.outlet_gauge_pa)}, gas at "
            f"{shown.temperature_unit(job.temperature_k)}. All in {job.display.pressure}.\n"
            "Rated: every burner takes its rated input. Orifice: each is a fixed orifice that has its rated input at "
            "the set pressure of the last regulator before it, and takes less where the pressure is less, as most "
            "burners do. Give or take: what a good line may differ by, the manometer apart. At least: what an "
            "appliance must have.",
            *lock_up_words(result, shown),
            *([STRAIGHT] if result.is_straight else []),
        ]
        columns = (
            Column("point", words=True),
            Column("what", words=True),
            Column("rated"),
            Column("orifice"),
            Column("give or\ntake"),
            Column("at least"),
            Column("reading", words=True),
        )
        for table in result.states:
            blocks.append(f"State {table.state}{way_words(table.way)}.")
            if not table.rows:
                blocks.append("Too many combinations to try: write a state with what will be on, and no more.")
                continue
            rows = [
                [
                    row.place.name,
                    row.place.what,
                    shown.pressure(row.rated_gauge_pa),
                    shown.pressure(row.orifice_gauge_pa),
                    shown.pressure(TOLERANCE * row.deviation_pa),
                    "" if row.limit_gauge_pa is None else shown.pressure(row.limit_gauge_pa),
                    "." * 8,
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
                        "deviation_Pa": row.deviation_pa,
                        "least_kPa": None if row.limit_gauge_pa is None else row.limit_gauge_pa / 1000.0,
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
            "lock_up": [
                {
                    "name": each.name,
                    "least_kPa": each.least_gauge_pa / 1000.0,
                    "most_kPa": each.most_gauge_pa / 1000.0,
                    "is_known": each.is_known,
                }
                for each in result.lock_ups
            ],
            "straight": result.is_straight,
            "next_reading": _next_data(result.first),
            "cautions": list(COMMISSION_CAUTIONS),
        }

    def rows(self, result: ExpectedPressures) -> Iterator[list[Any]]:
        """Yield a row for each state and test point, the reading left blank."""
        job = result.job
        for table in result.states:
            for row in table.rows:
                yield [
                    *(job.file, job.title, job.ref, table.state, way_words(table.way).removeprefix(", ")),
                    *(row.place.name, row.place.what, row.rated_gauge_pa / 1000.0, row.orifice_gauge_pa / 1000.0),
                    *(row.deviation_pa, None if row.limit_gauge_pa is None else row.limit_gauge_pa / 1000.0, None),
                ]


class CommissionReport(Report[Commissioning]):
    """Readings beside the predicted pressures, and the part that they point at."""

    kind = "commission"
    columns = (
        *("file", "job", "ref", "readings", "burners", "state", "plugged", "point", "measured_kPa", "predicted_kPa"),
        *("difference_Pa", "tolerance_Pa", "verdict", "below_limit_kPa", "above_limit_kPa", "job_verdict"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: Commissioning) -> list[Block]:
        """Return the readings beside the predicted pressures, and what they point at."""
        job, shown = result.job, Shown(result.job.display)
        if not self.in_full:
            from drawbar.report.commission_short import short_commissioning

            return list(short_commissioning(result, shown))
        burners = "fixed orifices" if result.fixed_orifice else "taken at rated input"
        blocks: list[Block] = [
            Heading(f"{job_name(job)}: {headline(result)}"),
            f"{_files(result)} Burners are {burners}. Manometer noise {shown.pressure_unit(result.readings.noise_pa)}; "
            f"the tolerance of a reading is {TOLERANCE:g} times what the manometer and the line as built may be off.",
        ]
        setups: list[Setup] = []
        for compared in result.compared:
            if compared.measured.setup not in setups:
                setups.append(compared.measured.setup)
        for setup in setups:
            named = f"State {setup.state.name}{way_words(setup.way)}:" if setup.state.shares else "Lock-up, nothing on:"
            blocks.append(named)
            blocks.append(
                compared_table([compared for compared in result.compared if compared.measured.setup == setup], shown)
            )
        blocks.extend(limit_words(result, shown))
        blocks.extend(finding_words(result, shown))
        blocks.extend([next_words(result.next_reading, shown, setups)] if result.next_reading else [])
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
            "site": {
                "temperature_degC": _or_job(result.readings.day.temperature_k, job.temperature_k) - 273.15,
                "altitude_m": _or_job(result.readings.day.altitude_m, job.altitude_m),
            },
            "verdict": result.verdict.value,
            "unread": list(result.unread),
            "readings": [
                {
                    "state": compared.measured.setup.state.name,
                    **_ways_data(compared.measured.setup.way),
                    "at": compared.measured.at,
                    "measured_kPa": compared.measured.gauge_pa / 1000.0,
                    "predicted_kPa": compared.predicted_gauge_pa / 1000.0,
                    "difference_Pa": compared.difference_pa,
                    "tolerance_Pa": TOLERANCE * compared.deviation_pa,
                    "verdict": reading_verdict(compared).lower(),
                    "explained": number not in finding.left_over,
                    "below_limit_kPa": _limit_kpa(result, compared, is_below=True),
                    "above_limit_kPa": _limit_kpa(result, compared, is_below=False),
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
            "straight": finding.is_too_large,
            "next_reading": _next_data(result.next_reading),
            "cautions": list(COMMISSION_CAUTIONS),
        }

    def rows(self, result: Commissioning) -> Iterator[list[Any]]:
        """Yield a row for each reading."""
        job = result.job
        for compared in result.compared:
            measured = compared.measured
            yield [
                *(job.file, job.title, job.ref, result.readings.file, _burners(result), measured.setup.state.name),
                *(way_words(measured.setup.way).removeprefix(", "), measured.at),
                *(measured.gauge_pa / 1000.0, compared.predicted_gauge_pa / 1000.0, compared.difference_pa),
                *(TOLERANCE * compared.deviation_pa, reading_verdict(compared).lower()),
                *(_limit_kpa(result, compared, is_below=below) for below in (True, False)),
                result.verdict.value,
            ]


def _limit_kpa(result: Commissioning, compared: Compared, *, is_below: bool) -> float | None:
    """Return the limit that a reading is below, or above [kPa]; None where it is not."""
    limits = (
        outside.limit_gauge_pa / 1000.0
        for outside in result.outside_limit
        if outside.measured is compared.measured and outside.is_below == is_below
    )
    return next(limits, None)


def _files(result: Commissioning) -> str:
    file = result.readings.file
    return f"Files {result.job.file}, {file}." if file else f"File {result.job.file}."


def _or_job(measured: float | None, of_job: float) -> float:
    return of_job if measured is None else measured


def _next_data(advised: NextReading | None) -> dict[str, Any] | None:
    if advised is None:
        return None
    return {
        "state": advised.setup.state.name,
        **_ways_data(advised.setup.way),
        "at": advised.place.name,
        "what": advised.place.what,
        "bits": advised.bits,
        "open_bits": advised.open_bits,
        "expected": [
            {"part": each.part or None, "weight": each.weight, "gauge_kPa": each.gauge_pa / 1000.0}
            for each in advised.expected
        ],
    }


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
    gross = job.gas.gross_j_kg * MJ_H
    figures: dict[str, float]
    if candidate.kind == BLOCKED:
        figures = {"extra_drop_Pa": fitted, "at_load_MJ_h": candidate.flow_kg_s * gross}
    elif candidate.kind == NARROW:
        figures = {"bore_mm": fitted * 1000.0, "normal_bore_mm": normal * 1000.0}
    elif candidate.kind == LOAD:
        figures = {"input_MJ_h": fitted * gross, "normal_input_MJ_h": normal * gross}
    elif candidate.kind == SETTING:
        figures = {"outlet_kPa": fitted / 1000.0, "normal_outlet_kPa": normal / 1000.0}
    else:
        figures = {"off_Pa": fitted, "at_load_MJ_h": candidate.flow_kg_s * gross}
    return {"part": candidate.part, "kind": candidate.kind, "chi_square": fit.chi2, **figures}
