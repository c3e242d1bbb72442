"""How a job's supply is shown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.cautions import SUPPLY_CAUTIONS
from drawbar.gas_supply.duty_text import duty_share
from drawbar.gas_supply.supplied import StateSupply, SupplyResult
from drawbar.gas_supply.supply import GRID_AMBIENTS_K, GRID_FILLS, LEAST_FILL, liquid_shares
from drawbar.job import ROOT, Cylinders
from drawbar.physics.cooling import EMPTY, GOING, Course, Duty
from drawbar.report.display import Shown, gas_words
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.report import Report
from drawbar.report.supply_words import help_words, helps_data, size_words, time_words, use_words
from drawbar.report.verdict_words import reason_points
from drawbar.verdict import verdict_of

_COLD_K = 255.0  # a gas that boils above this gives nothing on a cold day


class SupplyReport(Report[SupplyResult]):
    """What bottles and regulators give beside what a job burns, and for how long."""

    kind = "supply"
    columns = (
        *("file", "job", "ref", "state", "load_MJ_h", "flow_kg_h", "steady_offtake_MJ_h", "bottles_needed"),
        *("drawing_hours", "all_hours", "liquid_degC", "ended", "minutes", "left_kg", "keeps_up_to_fill_percent"),
        *("duty_ended", "duty_minutes", "duty_left_kg", "for_min", "every_min", "regulator_capacity_MJ_h"),
        *("verdict", "because", "job_verdict"),
    )

    def page(self, result: SupplyResult) -> list[Block]:
        """Return the page of a job's supply."""
        job, shown = result.job, Shown(result.job.display)
        name = f"{job.title} ({job.ref})" if job.ref else job.title
        blocks: list[Block] = [
            Heading(f"{name}: supply: {result.verdict.word}"),
            *reason_points(result.because, shown, in_full=True),
            *_helps(result, shown),
            _verdicts(result),
            _head(result, shown),
            offtake_words(result, shown),
            limits_table(result, shown),
            course_table(result),
        ]
        if result.duty is not None:
            blocks.append(_duty(result, result.duty, shown))
        blocks += [_grid_words(result), _grid(result, shown)]
        blocks.append(Points("Cautions:", list(SUPPLY_CAUTIONS)))
        return blocks

    def data(self, result: SupplyResult) -> dict[str, Any]:
        """Return bottles, steady offtake and states as they stand in JSON."""
        job, duty, shown = result.job, result.duty, Shown(result.job.display)
        return {
            "file": job.file,
            "job": job.title,
            "ref": job.ref,
            "verdict": result.verdict.value,
            "because": because_data(result.because, shown),
            "helps": [entry for state in result.states for entry in _state_helps(result, state, shown)],
            "cylinders": _cylinders_data(result),
            "steady_offtake": _offtake_data(result),
            "duty": {"on_min": duty.on_s / 60.0, "off_min": duty.off_s / 60.0} if duty else None,
            "states": [_state_data(result, state, shown) for state in result.states],
            "cautions": list(SUPPLY_CAUTIONS),
        }

    def rows(self, result: SupplyResult) -> Iterator[list[Any]]:
        """Yield a row for each state."""
        job, shown = result.job, Shown(result.job.display)
        for state in result.states:
            duty = state.duty_course
            capacity_w = job.regulator.capacity_w
            yield [
                job.file,
                job.title,
                job.ref,
                state.name,
                state.load_w * 0.0036,
                state.flow_kg_s * 3600.0,
                state.steady_w * 0.0036,
                state.bottles_needed,
                state.drawing_s / 3600.0,
                state.all_s / 3600.0,
                state.liquid_k - 273.15,
                state.course.ended,
                state.course.time_s / 60.0,
                state.course.left_kg,
                None if state.lowest_fill is None else state.lowest_fill * 100.0,
                duty.ended if duty else None,
                duty.time_s / 60.0 if duty else None,
                duty.left_kg if duty else None,
                state.use.on_s / 60.0 if state.use else None,
                state.use.every_s / 60.0 if state.use and state.use.every_s else None,
                None if capacity_w is None else capacity_w * 0.0036,
                state.verdict.value,
                "; ".join(reason_words(reason, shown)[0] for reason in state.because),
                result.verdict.value,
            ]


def _head(result: SupplyResult, shown: Shown) -> str:
    job, bottles = result.job, result.cylinders
    gas = gas_words(job.gas)
    capacity_w = job.regulator.capacity_w
    rated = f", rated {shown.heat_unit(capacity_w)}" if capacity_w is not None else ", of no rated capacity in the job"
    lines = [
        f"File {job.file}. {gas}. Regulator {shown.pressure_unit(job.regulator.outlet_gauge_pa)}{rated}.",
        f"{bottles_words(bottles)}, {bottles.fill * 100:g} % full, in air of {_celsius(bottles.ambient_k)} degC.",
        f"{_bottle(bottles)}",
        f"The regulator is taken to work down to {shown.pressure_unit(bottles.least_gauge_pa)} in the bottle "
        f"({bottles.least_source}).",
    ]
    if len(result.liquid) > 1:
        parts = " and ".join(f"{share * 100:.0f} % {name}" for name, share in liquid_shares(result.liquid))
        lines.append(f"The lighter gas leaves first: the liquid left at this fill is {parts} by mole.")
    return "\n".join(lines)


def bottles_words(bottles: Cylinders) -> str:
    """Return how many bottles there are, and of what size."""
    size = size_words(bottles)
    many = "1 bottle" if bottles.count == 1 else f"{bottles.count} bottles"
    if bottles.count == 1:
        return f"{many} of {size}"
    return f"{many} of {size}, {'all' if bottles.drawing == bottles.count else bottles.drawing} drawn from at once"


def _bottle(bottles: Cylinders) -> str:
    bottle = bottles.bottle
    return (
        f"Each is {bottle.diameter_m * 1000:.0f} mm across, holds {bottle.water_capacity_m3 * 1000:.4g} L and weighs "
        f"{bottle.tare_kg:.3g} kg empty ({bottles.source})."
    )


def offtake_words(result: SupplyResult, shown: Shown) -> str:
    """Return what the bottles drawn from give for long."""
    steady, bottles = result.steady, result.cylinders
    drawn = "The bottle gives" if bottles.count == 1 else "The bottle drawn from gives"
    if bottles.drawing > 1:
        drawn = f"The {bottles.drawing} bottles drawn from give"
    if steady.gross_w <= 0.0:
        return (
            f"{drawn} nothing: in air of {_celsius(bottles.ambient_k)} degC the pressure is below what the regulator "
            f"needs. This gas must be at {_celsius(steady.liquid_k)} degC for that."
        )
    return (
        f"{drawn} {shown.heat_unit(bottles.drawing * steady.gross_w)} for long "
        f"({bottles.drawing * steady.flow_kg_s * 3600:.2f} kg/h). More heat does not come through the wetted wall: the "
        f"liquid is then at {_celsius(steady.liquid_k)} degC, as cold as the regulator lets it be."
    )


def limits_table(result: SupplyResult, shown: Shown) -> Table:
    """Return the load of every state against bottles and regulators."""
    bottles, heat = result.cylinders, shown.display.heat
    columns = [
        Column("state", words=True),
        Column(f"load\n{heat}"),
        Column("gas\nkg/h"),
        Column("bottles\nneeded"),
        Column("holds gas\nfor h"),
        *([Column("all bottles\nfor h")] if bottles.count > bottles.drawing else []),
        Column("regulator", words=True),
        Column("result", words=True),
    ]
    rows = []
    for state in result.states:
        row = [
            state.name,
            shown.heat(state.load_w),
            f"{state.flow_kg_s * 3600:.2f}",
            "-" if state.bottles_needed is None else f"{state.bottles_needed:,}",
            f"{state.drawing_s / 3600:.1f}",
        ]
        if bottles.count > bottles.drawing:
            row.append(f"{state.all_s / 3600:.1f}")
        rows.append([*row, _regulator(state), state.verdict.word])
    return Table(tuple(columns), rows)


def _regulator(state: StateSupply) -> str:
    if state.overloaded:
        return "over: " + ", ".join("first" if stage.name == ROOT else stage.name for stage in state.overloaded)
    return "not known" if any(stage.regulator.capacity_w is None for stage in state.regulators) else "enough"


def course_table(result: SupplyResult) -> Table:
    """Return what becomes of a bottle under the load of every state."""
    columns = (
        Column("state, its load on\nwithout a break", words=True),
        Column("liquid settles\nat degC"),
        Column("a bottle that starts\nas cold as the air", words=True),
        Column("left\nkg"),
        Column("keeps up\ndown to"),
    )
    rows = [
        [
            state.name,
            _celsius(state.liquid_k) if state.keeps_up else "-",
            _ended(state.course),
            f"{state.course.left_kg:.2f}",
            _lowest(state.lowest_fill),
        ]
        for state in result.states
    ]
    return Table(columns, rows)


def _lowest(fill: float | None) -> str:
    if fill is None:
        return "-"
    return "the end" if fill <= LEAST_FILL else f"{fill * 100:.0f} %"


def _duty(result: SupplyResult, duty: Duty, shown: Shown) -> Table:
    columns = (
        Column(f"state, its load {time_words(duty.on_s)} on,\n{time_words(duty.off_s)} off", words=True),
        Column(f"mean\n{shown.display.heat}"),
        Column("a bottle that starts\nas cold as the air", words=True),
        Column("left\nkg"),
    )
    rows = [
        [
            state.name,
            shown.heat(state.load_w * duty_share(duty)),
            _ended(state.duty_course),
            f"{state.duty_course.left_kg:.2f}",
        ]
        for state in result.states
        if state.duty_course is not None
    ]
    return Table(columns, rows)


def _grid_words(result: SupplyResult) -> str:
    drawn = "the bottle drawn from" if result.cylinders.drawing == 1 else f"{result.cylinders.drawing} bottles"
    return f"What {drawn} would give for long, by fill and by the air around:"


def _grid(result: SupplyResult, shown: Shown) -> Table:
    heat = shown.display.heat
    columns = (Column("full"), *(Column(f"{_celsius(ambient_k, 0)} degC\n{heat}") for ambient_k in GRID_AMBIENTS_K))
    rows = [[f"{fill * 100:.0f} %", *map(shown.heat, row)] for fill, row in zip(GRID_FILLS, result.grid, strict=True)]
    return Table(columns, rows)


def _verdicts(result: SupplyResult) -> Table:
    """Return the verdict on each state, by bottles and regulators."""
    columns = ("state", "used", "bottles", "regulators")
    rows = []
    for state in result.states:
        regulators = [reason for reason in state.because if reason.code == "regulator-rating"]
        bottles = verdict_of(reason for reason in state.because if reason.code != "regulator-rating")
        rows.append([state.name, use_words(state.use), bottles.word, verdict_of(regulators).word])
    return Table(tuple(Column(name, words=True) for name in columns), rows)


def _helps(result: SupplyResult, shown: Shown) -> Iterator[Points]:
    """Yield what makes the bottles hold each state that they do not surely hold."""
    bottles = result.cylinders
    helps = [help_words(help_, bottles.count, state.use, shown) for state in result.states for help_ in state.helps]
    if _is_too_cold(result):
        helps.append("Propane: butane does not boil in the cold.")
    if helps:
        yield Points("What helps, each alone:", helps)


def _is_too_cold(result: SupplyResult) -> bool:
    return result.steady.gross_w <= 0.0 and any(component.boiling_k > _COLD_K for component, _ in result.liquid)


def _state_helps(result: SupplyResult, state: StateSupply, shown: Shown) -> list[dict[str, Any]]:
    return helps_data(state.helps, result.cylinders.count, state.use, shown)


def _celsius(kelvin: float, digits: int = 1) -> str:
    text = f"{kelvin - 273.15:.{digits}f}"
    text = text.removeprefix("-") if float(text) == 0.0 else text
    return text.removesuffix(".0")


def _ended(course: Course | None) -> str:
    assert course is not None  # the caller has looked
    if course.ended == GOING:
        return f"still gives after {time_words(course.time_s)}"
    if course.ended == EMPTY:
        return f"is empty after {time_words(course.time_s)}"
    return "starves at once" if course.time_s <= 0.0 else f"starves after {time_words(course.time_s)}"


def _cylinders_data(result: SupplyResult) -> dict[str, Any]:
    bottles, bottle = result.cylinders, result.cylinders.bottle
    return {
        "name": bottles.name,
        "gas_kg": bottle.gas_kg,
        "count": bottles.count,
        "drawing": bottles.drawing,
        "fill_percent": bottles.fill * 100.0,
        "ambient_degC": bottles.ambient_k - 273.15,
        "diameter_mm": bottle.diameter_m * 1000.0,
        "water_capacity_L": bottle.water_capacity_m3 * 1000.0,
        "tare_kg": bottle.tare_kg,
        "source": bottles.source,
        "least_pressure_kPa": bottles.least_gauge_pa / 1000.0,
        "least_pressure_source": bottles.least_source,
        "liquid_mole_percent": {name: share * 100.0 for name, share in liquid_shares(result.liquid)},
    }


def _offtake_data(result: SupplyResult) -> dict[str, Any]:
    drawing = result.cylinders.drawing
    return {
        "MJ_h": drawing * result.steady.gross_w * 0.0036,
        "kg_h": drawing * result.steady.flow_kg_s * 3600.0,
        "liquid_degC": result.steady.liquid_k - 273.15,
        "by_fill": [
            {
                "fill_percent": fill * 100.0,
                "by_ambient": [
                    {"ambient_degC": ambient_k - 273.15, "MJ_h": w * 0.0036}
                    for ambient_k, w in zip(GRID_AMBIENTS_K, row, strict=True)
                ],
            }
            for fill, row in zip(GRID_FILLS, result.grid, strict=True)
        ],
    }


def _state_data(result: SupplyResult, state: StateSupply, shown: Shown) -> dict[str, Any]:
    use = state.use
    return {
        "name": state.name,
        "verdict": state.verdict.value,
        "because": because_data(state.because, shown),
        "helps": _state_helps(result, state, shown),
        "use": {"for_min": use.on_s / 60.0, "every_min": use.every_s / 60.0 if use.every_s else None} if use else None,
        "load_MJ_h": state.load_w * 0.0036,
        "flow_kg_h": state.flow_kg_s * 3600.0,
        "steady_offtake_MJ_h": state.steady_w * 0.0036,
        "keeps_up": state.keeps_up,
        "bottles_needed": state.bottles_needed,
        "drawing_hours": state.drawing_s / 3600.0,
        "all_hours": state.all_s / 3600.0,
        "liquid_degC": state.liquid_k - 273.15,
        "keeps_up_to_fill_percent": None if state.lowest_fill is None else state.lowest_fill * 100.0,
        "course": _course_data(state.course),
        "duty_course": _course_data(state.duty_course) if state.duty_course else None,
        "regulators": [
            {
                "name": stage.name,
                "load_MJ_h": stage.load_w * 0.0036,
                "capacity_MJ_h": (
                    stage.regulator.capacity_w * 0.0036 if stage.regulator.capacity_w is not None else None
                ),
                "verdict": verdict_of(
                    reason
                    for reason in state.because
                    if reason.code == "regulator-rating" and reason.place == stage.name
                ).value,
            }
            for stage in state.regulators
        ],
    }


def _course_data(course: Course) -> dict[str, Any]:
    return {
        "ended": course.ended,
        "minutes": course.time_s / 60.0,
        "left_kg": course.left_kg,
        "liquid_degC": course.liquid_k - 273.15,
    }
