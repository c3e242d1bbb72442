"""A job's supply as JSON: bottles, continuous offtake, states."""

from __future__ import annotations

from typing import Any

from drawbar.cautions import SUPPLY_CAUTIONS
from drawbar.gas_supply.supplied import StateSupply, SupplyResult
from drawbar.gas_supply.supply import GRID_AMBIENTS_K, GRID_FILLS, liquid_shares
from drawbar.physics.cooling import Course
from drawbar.report.display import MJ_H, Shown
from drawbar.report.reasons import because_data
from drawbar.report.supply_words import helps_data
from drawbar.verdict import verdict_of


def supply_data(result: SupplyResult) -> dict[str, Any]:
    """Return bottles, continuous offtake and states as they stand in JSON."""
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
        "in_turn": [
            {
                "name": each.name,
                "states": [step.state for step in each.steps],
                "pause_min": each.pause_s / 60.0,
                "time_min": each.time_s / 60.0,
                "used_kg": each.used_kg,
                "left_kg": each.left_kg,
                "coldest_degC": each.coldest_k - 273.15,
                "verdict": each.verdict.value,
                "because": because_data(each.because, shown),
            }
            for each in result.in_turn
        ],
        "cautions": list(SUPPLY_CAUTIONS),
    }


def _state_helps(result: SupplyResult, state: StateSupply, shown: Shown) -> list[dict[str, Any]]:
    return helps_data(state.helps, result.cylinders.most_at_once, state.use, shown)


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
        "MJ_h": drawing * result.steady.gross_w * MJ_H,
        "kg_h": drawing * result.steady.flow_kg_s * 3600.0,
        "liquid_degC": result.steady.liquid_k - 273.15,
        "by_fill": [
            {
                "fill_percent": fill * 100.0,
                "by_ambient": [
                    {"ambient_degC": ambient_k - 273.15, "MJ_h": w * MJ_H}
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
        "load_MJ_h": state.load_w * MJ_H,
        "flow_kg_h": state.flow_kg_s * 3600.0,
        "steady_offtake_MJ_h": state.steady_w * MJ_H,
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
                "load_MJ_h": stage.load_w * MJ_H,
                "capacity_MJ_h": (
                    stage.regulator.capacity_w * MJ_H if stage.regulator.capacity_w is not None else None
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
