"""Why a verdict on a job is not PASS, in words: what is the matter with the figure that decides it, and what to do."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from drawbar.checking.vents import VENT_CODES
from drawbar.job import ALL_ON, ROOT
from drawbar.report.display import Shown
from drawbar.verdict import Reason, Verdict

_Words = tuple[str, str]  # the text, and what to find out or to change


def reason_words(reason: Reason, shown: Shown) -> _Words:
    """Return what a reason of `check` says, and what to find out or to change.

    Parameters
    ----------
    reason : Reason
        Of `drawbar.checking.judge` or `drawbar.gas_supply.by_use`, or a warning of `drawbar.checking.warnings`.
    shown : Shown
        The units of the job.

    Returns
    -------
    tuple of str and str
        Two texts without a full stop; the second is empty where there is nothing to do.
    """
    return _words_of(reason.code)(reason, shown)


def _words_of(code: str) -> Callable[[Reason, Shown], _Words]:
    """Return what words a code; those of bottles, vents and water are loaded where such a reason is told."""
    if code in _WORDS:
        return _WORDS[code]
    if code in VENT_CODES:
        from drawbar.report.vent_words import VENT_WORDS

        return VENT_WORDS[code]
    from drawbar.report.supply_words import BOTTLE_WORDS

    if code in BOTTLE_WORDS:
        return BOTTLE_WORDS[code]
    from drawbar.report.water_words import WATER_WORDS

    return WATER_WORDS[code]


def because_data(reasons: Sequence[Reason], shown: Shown) -> list[dict[str, str]]:
    """Return reasons as they stand in JSON: code, verdict, place, text and fix."""
    entries = []
    for reason in reasons:
        text, fix = reason_words(reason, shown)
        entries.append(
            {"code": reason.code, "verdict": reason.verdict.value, "place": reason.place, "text": text, "fix": fix}
        )
    return entries


def _number(reason: Reason, key: str) -> float:
    return float(reason.details[key])


def _in_state(reason: Reason) -> str:
    state = reason.details["state"]
    return "with everything on" if state == ALL_ON else f"in state {state}"


def _is_fail(reason: Reason) -> bool:
    return reason.verdict is Verdict.FAIL


def _pressure(reason: Reason, shown: Shown) -> _Words:
    short_pa = -_number(reason, "margin_pa")
    gauge, drop = (shown.pressure_unit(_number(reason, key)) for key in ("gauge_pa", "drop_pa"))
    outlet = reason.details["outlet"]
    where = f"{reason.place} at {outlet}" if outlet else reason.place
    limit = f"{shown.pressure_unit(_number(reason, 'allowed_drop_pa'))} allowed"
    if _number(reason, "gauge_pa") + short_pa <= _number(reason, "min_gauge_pa") + 1e-3:
        limit = f"it needs {shown.pressure_unit(_number(reason, 'min_gauge_pa'))}"
    state = _in_state(reason)
    if _is_fail(reason):
        text = f"{where} has {gauge} {state}, {shown.pressure_unit(short_pa)} short (drop {drop}, {limit})"
        return text, "shorten the pipe to it, make it larger, or have less on at once"
    text = (
        f"{where} passes as drawn, but {state} it would be {shown.pressure_unit(short_pa)} short with every "
        f"tolerance at its worst (drop {drop}, {limit})"
    )
    return text, "measure what decides it, or make the line larger"


def _greatest(reason: Reason, shown: Shown) -> _Words:
    gauge, most = (shown.pressure_unit(_number(reason, key)) for key in ("gauge_pa", "max_gauge_pa"))
    how = "has up to" if _is_fail(reason) else "may have up to"
    return f"{reason.place} {how} {gauge} with little on; its maximum is {most}", "set the regulator lower"


def _stage_inlet(reason: Reason, shown: Shown) -> _Words:
    short, least = shown.pressure_unit(-_number(reason, "margin_pa")), _number(reason, "min_gauge_pa")
    how = "is" if _is_fail(reason) else "would be, with every tolerance at its worst,"
    text = (
        f"the inlet of the regulator of {reason.place} {how} {short} under the {shown.pressure_unit(least)} it needs "
        f"{_in_state(reason)}"
    )
    return text, "make the line before it larger or shorter, or set the first regulator higher"


def _too_many_ways(reason: Reason, shown: Shown) -> _Words:
    text = (
        f"state {reason.place} has too many combinations to try each, and by a bound that is never too low "
        f"{reason.details['appliance']} may be {shown.pressure_unit(-_number(reason, 'margin_pa'))} short"
    )
    return text, "name fewer outlets or hoses for each appliance, or make the line larger"


def _regulator(place: str) -> str:
    return "the regulator" if place == ROOT else f"the regulator of {place}"


def _rating(reason: Reason, shown: Shown) -> _Words:
    load, capacity_w = shown.heat_unit(_number(reason, "load_w")), _number(reason, "capacity_w")
    regulator, state = _regulator(reason.place), _in_state(reason)
    if not capacity_w:
        return f"the rating of {regulator} is not given; it must pass {load} {state}", "write its `capacity:`"
    rated = shown.heat_unit(capacity_w)
    if _is_fail(reason):
        return f"{regulator} is rated {rated}; {load} is on {state}", "fit a larger one, or have less on at once"
    if "most_w" in reason.details:
        several, together = int(_number(reason, "number")), shown.heat_unit(_number(reason, "most_w"))
        text = f"up to {load} may be on {state}; {several} regulators side by side pass {together} if they share evenly"
        return f"{text}, and surely {rated}", "write the `share:` of the maker, or let one pass it all"
    text = f"{regulator} is rated {rated}; up to {load} may be on {state}, as a data plate may be"
    return f"{text} some per cent low", "fit a larger one, or measure the gas rate of the appliances"


def _bottle_pressure(reason: Reason, shown: Shown) -> _Words:
    gauge, least, takes = (shown.gauge_unit(_number(reason, key)) for key in ("gauge_pa", "min_gauge_pa", "pigtail_pa"))
    at, state = shown.temperature_unit(_number(reason, "temperature_k")), _in_state(reason)
    pigtail = f", the pigtail takes {takes} {state}" if _number(reason, "pigtail_pa") > 0.0 else ""
    text = f"a bottle at {at} has {gauge}{pigtail}, and the regulator works from {least}: below it its outlet droops"
    return text, "use a gas that boils in the cold, keep the bottles warmer, or fit a wider pigtail"


def _set_pressure(reason: Reason, shown: Shown) -> _Words:
    gauge, nominal_pa = shown.pressure_unit(_number(reason, "gauge_pa")), _number(reason, "nominal_gauge_pa")
    rule, regulator = reason.details["rule"], _regulator(reason.place)
    if not nominal_pa:
        return f"{rule} gives no pressure for this gas", "write `limits:` of the code that applies to it"
    nominal = shown.pressure_unit(nominal_pa)
    text = f"{regulator} is set to {gauge}; the limit of {rule} is for {nominal}"
    return text, f"set it to {nominal}, or write `limits:` of the code that applies to {gauge}"


def _limit_over_rule(reason: Reason, shown: Shown) -> _Words:
    allowed, rule_drop = (shown.pressure_unit(_number(reason, key)) for key in ("allowed_drop_pa", "rule_drop_pa"))
    rule = reason.details["rule"]
    return f"the allowed drop of {allowed} is over the {rule_drop} of {rule}", "keep to it, or leave out the rule"


def _not_on(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    return f"no state has {reason.place} on, so it is not checked", "put it in a state, or take it out"


def _not_full(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    share = f"{_number(reason, 'share') * 100:g} %"
    text = f"{reason.place} is never on in full, at most at {share} {_in_state(reason)}"
    return text, "write 100 % in a state, or `never-full: yes` for it if that is meant"


def _not_together(reason: Reason, shown: Shown) -> _Words:
    most, asked = (shown.heat_unit(_number(reason, key)) for key in ("most_w", "asked_w"))
    where = "With everything on" if reason.place == ALL_ON else f"In state {reason.place}"
    return f"{where} only {most} of {asked} can burn at once, as outlets or hoses are too few", ""


def _condenses(reason: Reason, shown: Shown) -> _Words:
    at, from_ = (shown.temperature_unit(_number(reason, key)) for key in ("temperature_k", "works_from_k"))
    above, set_to = (shown.pressure_unit(_number(reason, key)) for key in ("condenses_gauge_pa", "gauge_pa"))
    text = f"at {at} the gas condenses above {above}; the regulator is set to {set_to}"
    return text, f"it stays a gas from {from_} on; use a gas that boils in the cold"


def _gas_data(reason: Reason, shown: Shown) -> _Words:
    at, low, high = (shown.temperature_unit(_number(reason, key)) for key in ("temperature_k", "low_k", "high_k"))
    return f"the gas data reach from {low} to {high}; the site is at {at}", "give a temperature within that"


def _outside(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    text = f"the {reason.details['formula']} formula is not for {reason.place}: {reason.details['what']}"
    return text, "use `formula: darcy`, or the tables of the code"


def _rule_gas(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    text = f"{reason.details['rule']} is for {reason.details['gas']} alone, and the job's gas is another"
    return text, "name the rule that applies to this gas, or write `limits:`"


def _code_formula(reason: Reason, shown: Shown) -> _Words:
    short, rule = shown.pressure_unit(-_number(reason, "margin_pa")), reason.details["rule"]
    how = "is" if _is_fail(reason) else "may be, with every tolerance at its worst,"
    text = f"by the tables of {rule} (formula {reason.details['formula']}) {reason.place} {how} {short} short"
    return text, "make the line larger: the tables of the code prevail over another formula"


def _other_formula(reason: Reason, shown: Shown) -> _Words:
    drop, margin_pa = shown.pressure_unit(_number(reason, "drop_pa")), _number(reason, "margin_pa")
    spare = f"{shown.pressure_unit(abs(margin_pa))} {'spare' if margin_pa >= 0.0 else 'short'}"
    return (
        f"by the formula {reason.details['formula']}, with the real gas, {reason.place} has a drop of {drop}, {spare}",
        "",
    )


def _gas_not_said(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    text = "the mixture may be the liquid that was filled or the vapour; the verdict takes the worse of both"
    return f"{text}: write `of: liquid` or `of: vapour` in `gas:`", ""


def _basis(reason: Reason, shown: Shown) -> _Words:
    gross, net = (shown.heat_unit(_number(reason, key)) for key in ("gross_w", "net_w"))
    text = f"the input of {reason.place} may be gross or net: {gross} of gas, or {net}"
    return text, "see the data plate, and write `basis: gross` or `basis: net`"


def _limit_of_unknown(reason: Reason, shown: Shown) -> str:
    if "most_pa" not in reason.details:
        return ""
    load, most_pa = shown.heat_unit(_number(reason, "load_w")), _number(reason, "most_pa")
    if most_pa <= 0.0:
        return "; there is no spare for it"
    rest = ", if nothing else that is not known has a drop" if _number(reason, "others") else ""
    return f"; passes while it is below {shown.pressure_unit(most_pa)} at {load}{rest}"


def _typical(reason: Reason, shown: Shown) -> str:
    if "typical" not in reason.details:
        return ""
    low, high = (shown.pressure_unit(_number(reason, key)) for key in ("typical_low_pa", "typical_high_pa"))
    return f"; typical {low} to {high}, common practice"


def _unknown_devices(reason: Reason, shown: Shown) -> _Words:
    text = f"the drop of {reason.place} is not given{_limit_of_unknown(reason, shown)}{_typical(reason, shown)}"
    return text, "write its `devices:` from the maker's sheet, or `devices: none`"


def _unknown_device(reason: Reason, shown: Shown) -> _Words:
    what = f"the drop of the {reason.details['name']} of {reason.place} is not given"
    text = f"{what}{_limit_of_unknown(reason, shown)}{_typical(reason, shown)}"
    return text, "write its `flow:` and `drop:` from the maker's sheet"


def _unknown_hose(reason: Reason, shown: Shown) -> _Words:
    text = f"the hose of {reason.place} is not given{_limit_of_unknown(reason, shown)}"
    return text, "write its `hose:`, or `hose: none`"


def _larger_than_feeder(reason: Reason, shown: Shown) -> _Words:
    bore, before = (shown.bore_unit(_number(reason, key)) for key in ("bore_m", "feeder_bore_m"))
    return (
        f"run {reason.place} (bore {bore}) is larger than {reason.details['feeder']} (bore {before}) that feeds it",
        "",
    )


def _fast(reason: Reason, shown: Shown) -> _Words:
    speed = f"{shown.speed(_number(reason, 'velocity_m_s'))} {shown.speed_unit}"
    return f"the gas in {reason.place} runs at {speed}; a small line may be noisy", ""


def _choked(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    return f"{reason.place} can't pass its load at any pressure: its figures are no prediction", ""


_WORDS: dict[str, Callable[[Reason, Shown], _Words]] = {
    "pressure": _pressure,
    "greatest-pressure": _greatest,
    "regulator-inlet": _stage_inlet,
    "too-many-ways": _too_many_ways,
    "regulator-rating": _rating,
    "bottle-pressure": _bottle_pressure,
    "set-pressure": _set_pressure,
    "limit-over-rule": _limit_over_rule,
    "not-on": _not_on,
    "not-full": _not_full,
    "not-together": _not_together,
    "condenses": _condenses,
    "gas-data": _gas_data,
    "outside-formula": _outside,
    "rule-gas": _rule_gas,
    "gas-not-said": _gas_not_said,
    "basis": _basis,
    "code-formula": _code_formula,
    "other-formula": _other_formula,
    "unknown-devices": _unknown_devices,
    "unknown-device": _unknown_device,
    "unknown-hose": _unknown_hose,
    "larger-than-feeder": _larger_than_feeder,
    "fast": _fast,
    "choked": _choked,
}
