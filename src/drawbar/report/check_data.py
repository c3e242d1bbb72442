"""The JSON of a checked job: the keys that scripts rely on, each with its unit."""

from __future__ import annotations

from typing import Any

from drawbar.checking.results import ApplianceResult, CheckResult, RegulatorResult, StateResult
from drawbar.checking.spare import Headroom
from drawbar.checking.vents import SpaceResult
from drawbar.job import Job
from drawbar.line.section import SectionFlow
from drawbar.report.display import MJ_H, Shown
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.vent_words import spaces_data, vent_formula, vents_verdict
from drawbar.report.words import cautions, sentence


def check_data(result: CheckResult) -> dict[str, Any]:
    """Return a checked job as it stands in the JSON document.

    Parameters
    ----------
    result : CheckResult
        The checked job.

    Returns
    -------
    dict
        The figures and words, each under its key.
    """
    job, shown = result.job, Shown(result.job.display)
    vapour, outlet_abs_pa = job.vapour, job.regulator.outlet_gauge_pa + job.atmospheric_pa
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "verdict": result.verdict.value,
        "because": because_data(result.because, shown),
        "tolerances": _tolerances_data(job),
        "formula": result.formula,
        "rule": job.rule.name if job.rule else None,
        "allowed_drop_Pa": job.allowed_drop_pa,
        "gas": {
            "molar_mass_kg_per_mol": vapour.molar_mass_kg_mol,
            "density_kg_m3": vapour.density_kg_m3(outlet_abs_pa),
            "viscosity_Pa_s": vapour.viscosity_pa_s,
            "gross_MJ_kg": job.gas.gross_j_kg / 1e6,
            "gross_MJ_m3": job.gas.gross_j_m3 / 1e6,
            "relative_density": job.gas.relative_density,
        },
        "states": [_state_data(job, state) for state in result.states],
        "space": _space_data(result, result.space) if result.space else None,
        "spaces": spaces_data(result),
        "warnings": [sentence(reason_words(warning, shown)[0]) for warning in result.warnings],
        "cautions": list(cautions(job)),
    }


def _tolerances_data(job: Job) -> dict[str, Any] | None:
    """Return the tolerances of the worst corner; None where the job is computed as drawn only."""
    tolerances = job.tolerances
    if tolerances is None:
        return None
    return {
        "length": tolerances.length,
        "length_least_m": tolerances.length_m,
        "fittings": tolerances.fittings,
        "input": tolerances.input,
        "devices": tolerances.devices,
        "set_pressure": job.regulator.accuracy,
    }


def _space_data(result: CheckResult, vents: SpaceResult) -> dict[str, Any]:
    formula, verdict = vent_formula(vents), vents_verdict(result, vents)
    return {
        "vents_mm2": vents.space.vents_m2 * 1e6,
        "needed_mm2": vents.needed_m2(formula) * 1e6,
        "needed_source": formula.source,
        "unsealed_MJ_h": vents.unsealed_w * MJ_H,
        "berths": vents.space.berths,
        "needed_with_portable_mm2": vents.needed_with_portable_m2(formula) * 1e6,
        "verdict": verdict.value if verdict is not None else None,
    }


def _state_data(job: Job, state: StateResult) -> dict[str, Any]:
    headroom = state.headroom
    outlets = headroom.outlets.items() if headroom else ()
    return {
        "name": state.name,
        "ways": state.ways,
        "bound": state.is_bound,
        "plugged": {plugged.appliance.name: plugged.outlet.name for plugged in state.plugged},
        "hoses": {plugged.appliance.name: plugged.hose.name for plugged in state.plugged if plugged.hose},
        "verdict": state.verdict.value,
        "total_MJ_h": state.total_w * MJ_H,
        "margin_Pa": state.margin_pa,
        "worst_margin_Pa": state.worst_margin_pa,
        "runs": [
            {**_flow_data(job, flow), "spare_length_m": headroom.runs[flow.section.name] if headroom else None}
            for flow in state.runs
        ],
        "appliances": [_appliance_data(job, appliance, headroom) for appliance in state.appliances],
        "outlets": [{"name": name, "headroom_MJ_h": spare_w * MJ_H} for name, spare_w in outlets],
        "regulators": [_regulator_data(regulator) for regulator in state.regulators],
        "headroom_is_bound": headroom.is_bound if headroom else None,
    }


def _appliance_data(job: Job, appliance: ApplianceResult, headroom: Headroom | None) -> dict[str, Any]:
    return {
        "name": appliance.name,
        "at": appliance.at,
        "outlet": appliance.outlet,
        "hose": appliance.hose,
        "input_MJ_h": appliance.load_w * MJ_H,
        "pressure_kPa": appliance.gauge_pa / 1000.0,
        "drop_Pa": appliance.drop_pa,
        "margin_Pa": appliance.margin_pa,
        "headroom_MJ_h": headroom.appliances[appliance.name] * MJ_H if headroom else None,
        "worst_margin_Pa": appliance.worst_margin_pa,
        "verdict": appliance.verdict.value,
        "connection": [_flow_data(job, flow) for flow in appliance.tail],
    }


def _regulator_data(result: RegulatorResult) -> dict[str, Any]:
    regulator, inlet_gauge_pa = result.regulator, result.inlet_gauge_pa
    return {
        "name": result.name,
        "load_MJ_h": result.load_w * MJ_H,
        "capacity_MJ_h": regulator.capacity_w * MJ_H if regulator.capacity_w is not None else None,
        "count": regulator.number,
        "outlet_kPa": regulator.outlet_gauge_pa / 1000.0,
        "inlet_kPa": inlet_gauge_pa / 1000.0 if inlet_gauge_pa is not None else None,
        "inlet_min_kPa": regulator.inlet_min_gauge_pa / 1000.0 if inlet_gauge_pa is not None else None,
        "margin_Pa": result.margin_pa,
        "worst_margin_Pa": result.worst_margin_pa,
        "verdict": result.verdict.value,
    }


def _flow_data(job: Job, flow: SectionFlow) -> dict[str, Any]:
    section = flow.section
    return {
        "name": section.name,
        "from": flow.start,
        "pipe": section.pipe.label,
        "bore_mm": section.pipe.bore_m * 1000.0,
        "roughness_mm": section.pipe.roughness_m * 1000.0,
        "length_m": section.length_m,
        "equivalent_length_m": section.length_m + section.fittings_m,
        "rise_m": section.rise_m,
        "load_MJ_h": flow.flow_kg_s * job.gas.gross_j_kg * MJ_H,
        "mass_flow_kg_h": flow.flow_kg_s * 3600.0,
        "velocity_m_s": flow.velocity_m_s,
        "reynolds": flow.reynolds,
        "regime": flow.regime,
        "friction_Pa": flow.friction_pa,
        "devices_Pa": flow.devices_pa,
        "height_Pa": flow.height_pa,
        "drop_Pa": flow.drop_pa,
        "inlet_kPa": (flow.inlet_abs_pa - job.atmospheric_pa) / 1000.0,
        "outlet_kPa": (flow.outlet_abs_pa - job.atmospheric_pa) / 1000.0,
    }
