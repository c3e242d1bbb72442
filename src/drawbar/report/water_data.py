"""The water side as scripts read it."""

from __future__ import annotations

import math
from typing import Any

from drawbar.hot_water import BOILING_K
from drawbar.report.display import Shown
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.water_words import fixes_data
from drawbar.verdict import Verdict
from drawbar.water_line.water_answer import ConnectionResult, OneUse, Wait
from drawbar.water_line.water_flow import StretchDrop
from drawbar.water_line.water_judge import Warmth

WATER_COLUMNS = (
    *("connection", "least_flow_L_min", "most_flow_L_min", "coldest_degC", "hottest_degC", "wanted_flow_L_min"),
    *("gas_share_percent", "on_min", "water_L", "gas_g", "charge_Ah", "source_uses", "bottle_uses"),
    *("verdict", "because", "job_verdict"),
)


def connection_data(result: ConnectionResult, shown: Shown) -> dict[str, Any]:
    """Return a connection as it stands in JSON."""
    connection, flows, hot, wait, use = result.connection, result.flows, result.hot, result.wait, result.use
    wanted_k = connection.wanted_k
    return {
        "name": connection.name,
        "source": connection.source.name,
        "pump": connection.pump.name if connection.pump is not None else None,
        "heater": connection.heater.name,
        "outlet": connection.outlet.name,
        "verdict": result.verdict.value,
        "because": because_data(result.because, shown),
        "fixes": fixes_data(result, shown),
        "fixes_tried": result.has_fixes_tried,
        "measured": connection.measured_m3_s is not None,
        "flow_L_min": _litres(flows.drawn.flow_m3_s if flows else None),
        "least_flow_L_min": _litres(flows.least.flow_m3_s if flows else None),
        "most_flow_L_min": _litres(flows.most.flow_m3_s if flows else None),
        "pump_kPa": flows.drawn.pump_pa / 1000.0 if flows else None,
        "height_kPa": flows.drawn_line.lift_pa / 1000.0 if flows else None,
        "heater_kPa": flows.drawn.heater_pa / 1000.0 if flows else None,
        "least_heater_kPa": flows.weakest_pa / 1000.0 if flows else None,
        "lights": None if flows is None else not result.is_unlit,
        "inlet_degC": flows.drawn_line.cold_k - 273.15 if flows else None,
        "wanted_degC": [k - 273.15 for k in wanted_k] if wanted_k is not None else None,
        "limit_degC": _celsius(result.limit_k),
        "used": _warmth(hot.used) if hot else None,
        "full": _warmth(hot.full) if hot else None,
        "lowest": _warmth(hot.lowest) if hot and hot.lowest else None,
        "wanted_flow_L_min": _litres(hot.wanted_m3_s if hot else None),
        "gas_share_percent": hot.most_share * 100.0 if hot else None,
        "wait": _wait(wait) if wait else None,
        "use": _use(use) if use else None,
        "parts": [_part(drop) for drop in (flows.drawn.drops if flows else ())],
    }


def _wait(wait: Wait) -> dict[str, Any]:
    return {
        "least_s": wait.least_s,
        "most_s": wait.most_s,
        "least_lost_L": wait.least_m3 * 1e3,
        "most_lost_L": wait.most_m3 * 1e3,
    }


def _use(use: OneUse) -> dict[str, Any]:
    return {
        "on_min": use.on_s / 60.0,
        "water_L": use.water_m3 * 1e3,
        "most_water_L": use.most_water_m3 * 1e3,
        "gas_g": use.gas_kg * 1e3,
        "most_gas_g": use.most_gas_kg * 1e3,
        "charge_Ah": use.charge_ah,
        "source_uses": use.of_source,
        "bottle_uses": use.of_bottles,
    }


def _part(drop: StretchDrop) -> dict[str, Any]:
    return {
        "name": drop.stretch.name,
        "bore_mm": drop.stretch.bore_m * 1e3 if drop.stretch.bore_m else None,
        "length_m": drop.stretch.length_m,
        "degC": drop.temperature_k - 273.15,
        "velocity_m_s": drop.velocity_m_s,
        "reynolds": drop.reynolds,
        "regime": drop.regime,
        "friction_kPa": drop.friction_pa / 1000.0,
        "devices_kPa": drop.devices_pa / 1000.0,
    }


def connection_row(
    result: ConnectionResult, scald_k: float, verdict: Verdict | None, shown: Shown, columns: int
) -> list[Any]:
    """Return a connection as a row of the CSV, behind file, job and ref."""
    flows, hot, wait, use = result.flows, result.hot, result.wait, result.use
    limit_k = result.limit_k or scald_k
    outlet_k = hot.used.drawn_k if hot else math.nan
    row = [
        result.connection.heater.name,
        "connection",
        _litres(flows.drawn.flow_m3_s if flows else None),
        flows.drawn_line.cold_k - 273.15 if flows else None,
        None if hot is None or outlet_k >= BOILING_K else outlet_k - 273.15,
        None if hot is None else "yes" if hot.full.hottest_k > limit_k else "no",
        *((wait.least_s, wait.least_m3 * 1e3, wait.most_s, wait.most_m3 * 1e3) if wait else (None,) * 4),
        result.connection.name,
        _litres(flows.least.flow_m3_s if flows else None),
        _litres(flows.most.flow_m3_s if flows else None),
        *((_temperature(hot.full.coldest_k), _temperature(hot.full.hottest_k)) if hot else (None, None)),
        _litres(hot.wanted_m3_s if hot else None),
        hot.most_share * 100.0 if hot else None,
        *((use.on_s / 60.0, use.water_m3 * 1e3, use.gas_kg * 1e3) if use else (None,) * 3),
        *((use.charge_ah, use.of_source, use.of_bottles) if use else (None,) * 3),
        result.verdict.value,
        "; ".join(reason_words(reason, shown)[0] for reason in result.because),
        verdict.value if verdict is not None else None,
    ]
    assert len(row) == columns
    return row


def _warmth(warmth: Warmth) -> dict[str, Any]:
    return {
        "input_percent": warmth.share * 100.0,
        "outlet_degC": _temperature(warmth.drawn_k),
        "coldest_degC": _temperature(warmth.coldest_k),
        "hottest_degC": _temperature(warmth.hottest_k),
    }


def _temperature(k: float) -> float | None:
    """Return a temperature [degC]; None where the water would boil."""
    return None if k >= BOILING_K else k - 273.15


def _celsius(k: float | None) -> float | None:
    return None if k is None else k - 273.15


def _litres(m3_s: float | None) -> float | None:
    return None if m3_s is None else m3_s * 60e3
