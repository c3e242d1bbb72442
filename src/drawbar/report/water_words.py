"""The words of the water side: why a connection does not pass, and what would do."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from drawbar.hot_water import BOILING_K
from drawbar.report.display import Shown
from drawbar.verdict import Reason, Verdict
from drawbar.water_line.water_answer import ConnectionResult, WaterFix

# By what is not known: how it is called, and what to write.
_UNKNOWN = {
    "curve": ("the curve of {name}", "write its `open-flow:` and `shut-off:`, or points of its `curve:`"),
    "level": ("the level of the water of {name}", "write its `level:` over the heater"),
    "temperature": ("the temperature of the water of {name}", "write its `temperature:`, as `8 to 20 degC`"),
    "height": ("the height of {name}", "write its `height:` over the heater"),
    "devices": ("what {name} has beside its pipe", "write its `devices:`, or `devices: none`"),
    "device": ("the drop of the {name}", "write its `flow:` and `drop:` from the maker's sheet, or measure the flow"),
    "drop": ("the drop of {name}", "write its `flow:` and `drop:` from the maker's sheet, or measure the flow"),
    "efficiency": ("the efficiency of {name}", "write its `efficiency:`, as `80 %`"),
    "least-flow": ("the least flow that lights {name}", "write its `least-flow:` from its book, or `none`"),
    "least-pressure": ("the least pressure that lights {name}", "write its `least-pressure:` from its book, or `none`"),
    "least-input": ("how far {name} can be turned down", "write its `least-input:`, or `none`"),
    "wanted": ("the temperature wanted at {name}", "write its `wanted:`, or `none`"),
}
_MEASURE = "measure the flow with a jug and a clock (`measured:`)"


def _figure(reason: Reason, key: str) -> float:
    return float(reason.details[key])


def _is_fail(reason: Reason) -> bool:
    return reason.verdict is Verdict.FAIL


def _worst(reason: Reason) -> str:
    return "" if _is_fail(reason) else "at worst "


def _whole(k: float, shown: Shown) -> str:
    return f"{shown.temperature(k, 0)} {shown.display.temperature}"


def _unknown(reason: Reason, shown: Shown) -> tuple[str, str]:
    what, fix = _UNKNOWN[str(reason.details["what"])]
    text = f"{reason.place}: {what.format(name=reason.details['name'])} is not given"
    if "most_pa" in reason.details:
        flow = shown.water_flow_unit(_figure(reason, "flow_m3_s"))
        most = shown.water_pressure_unit(_figure(reason, "most_pa"))
        text += f"; the heater lights while it drops less than {most} at {flow}"
        if _figure(reason, "others"):
            text += ", if nothing else that is not known has a drop"
    return text, fix


def _stalls(reason: Reason, shown: Shown) -> tuple[str, str]:
    lift, gives = shown.length_unit(_figure(reason, "lift_m")), shown.water_pressure_unit(_figure(reason, "pump_pa"))
    how = "no water comes" if _is_fail(reason) else "at worst no water comes"
    text = f"{reason.place}: {how}: the outlet is {lift} over the lowest water, and the pump gives {gives} at no flow"
    return text, "fit a pump of a higher shut-off pressure, or bring the outlet lower"


def _unlit(reason: Reason, shown: Shown) -> tuple[str, str]:
    flow, least = (shown.water_flow_unit(_figure(reason, key)) for key in ("flow_m3_s", "least_m3_s"))
    how = "the heater does not light" if _is_fail(reason) else "the heater may not light"
    text = f"{reason.place}: {how}: {_worst(reason)}{flow} flows, and it needs {least}"
    return text, "fit a larger pump or wider hoses" if _is_fail(reason) else _MEASURE


def _low_pressure(reason: Reason, shown: Shown) -> tuple[str, str]:
    gauge, least = (shown.water_pressure_unit(_figure(reason, key)) for key in ("gauge_pa", "least_pa"))
    how = "the heater does not light" if _is_fail(reason) else "the heater may not light"
    text = f"{reason.place}: {how}: {_worst(reason)}it has {gauge} of water pressure, and needs {least}"
    return text, "fit a pump of a higher pressure" if _is_fail(reason) else "measure the pressure at the heater's inlet"


def _cool(reason: Reason, shown: Shown) -> tuple[str, str]:
    flow, gives = (shown.water_flow_unit(_figure(reason, key)) for key in ("flow_m3_s", "wanted_m3_s"))
    outlet, wanted = (shown.temperature_unit(_figure(reason, key)) for key in ("outlet_k", "wanted_k"))
    text = f"{reason.place}: {_worst(reason)}the water comes at {outlet} with {flow}; {wanted} is wanted"
    if _figure(reason, "wanted_m3_s") < _figure(reason, "least_m3_s"):
        least = shown.water_flow_unit(_figure(reason, "least_m3_s"))
        text += f", and no flow gives it: {gives} would, but the heater lights from {least}"
        return text, "it takes a larger heater, or warmer water"
    return text, f"{gives} gives it: throttle the outlet, or fit a smaller pump" if _is_fail(reason) else _MEASURE


def _warm(reason: Reason, shown: Shown) -> tuple[str, str]:
    flow = shown.water_flow_unit(_figure(reason, "flow_m3_s"))
    outlet, wanted = (shown.temperature_unit(_figure(reason, key)) for key in ("outlet_k", "wanted_k"))
    text = (
        f"{reason.place}: turned down as far as it goes the water still comes at {_worst(reason)}{outlet} with {flow}"
    )
    return f"{text}; up to {wanted} is wanted", "fit a larger pump, or mix cold water in"


def _hot(reason: Reason, shown: Shown) -> tuple[str, str]:
    flow, share = shown.water_flow_unit(_figure(reason, "flow_m3_s")), _figure(reason, "share")
    outlet_k, limit_k = _figure(reason, "outlet_k"), _figure(reason, "limit_k")
    comes = "would boil" if outlet_k >= BOILING_K else f"comes at {shown.temperature_unit(outlet_k)}"
    allowed = "" if math.isnan(limit_k) else f"; {shown.temperature_unit(limit_k)} is the most"
    at = "" if share >= 1.0 else f" at {share * 100:.0f} % of the input"
    text = f"{reason.place}: {_worst(reason)}the water {comes} with {flow}{at}{allowed}"
    fix = "fit a tempering valve (`tempered:`) or turn it down (`set:`)"
    return text, fix if _is_fail(reason) else f"measure the flow (`measured:`), {fix}"


def _no_limit(reason: Reason, shown: Shown) -> tuple[str, str]:
    flow = shown.water_flow_unit(_figure(reason, "flow_m3_s"))
    outlet, wanted = (shown.temperature_unit(_figure(reason, key)) for key in ("outlet_k", "wanted_k"))
    text = f"{reason.place}: the water comes at {outlet} with {flow}; {wanted} is wanted, and no limit is given"
    return text, "write `hottest:` under `water:` as the code that prevails has it, or turn the heater down"


WATER_WORDS: dict[str, Callable[[Reason, Shown], tuple[str, str]]] = {
    "water-unknown": _unknown,
    "water-stalls": _stalls,
    "water-unlit": _unlit,
    "water-low-pressure": _low_pressure,
    "water-cool": _cool,
    "water-warm": _warm,
    "water-hot": _hot,
    "water-no-limit": _no_limit,
}
"""By the code of a reason of `drawbar.water_line.water_judge`: what it says, and what to find out or to change."""


def fix_words(result: ConnectionResult, fix: WaterFix, shown: Shown) -> str:
    """Return a change that would do in words, with what it gives; another pump has the pressures of the one there.

    Parameters
    ----------
    result : ConnectionResult
        The connection as it is.
    fix : WaterFix
        The change.
    shown : Shown
        The units of the job.

    Returns
    -------
    str
        A sentence.
    """
    name, then = result.connection.name, fix.result
    verdict = then.verdict.word
    if fix.kind == "set":
        return f"{name}: `set: {fix.value * 100:.0f} %` gives {_gives(then, shown, full=False)}: {verdict}."
    pump = result.connection.pump
    is_larger = pump is not None and fix.value > pump.curve[-1][0]
    size, now = shown.water_flow_unit(fix.value), _gives(result, shown, full=True)
    what = f"a {'larger' if is_larger else 'smaller'} pump, {size} open flow,"
    return f"{name}: {what} gives {_gives(then, shown, full=True)} (now {now}): {verdict}."


def _gives(result: ConnectionResult, shown: Shown, *, full: bool) -> str:
    if result.flows is None or result.hot is None:
        return "no flow"
    warmth = result.hot.full if full else result.hot.used
    comes = "boils" if warmth.drawn_k >= BOILING_K else _whole(warmth.drawn_k, shown)
    return f"{shown.water_flow_unit(result.flows.drawn.flow_m3_s)} at {comes}"


def fixes_data(result: ConnectionResult, shown: Shown) -> list[dict[str, Any]]:
    """Return what would do as it stands in JSON."""
    return [
        {
            "kind": fix.kind,
            "open_flow_L_min": fix.value * 60e3 if fix.kind == "pump" else None,
            "set_percent": fix.value * 100.0 if fix.kind == "set" else None,
            "flow_L_min": fix.result.flows.drawn.flow_m3_s * 60e3 if fix.result.flows is not None else None,
            "verdict": fix.result.verdict.value,
            "text": fix_words(result, fix, shown),
        }
        for fix in result.fixes
    ]
