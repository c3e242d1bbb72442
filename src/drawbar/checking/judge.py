"""The verdict on a job: every reason why it is not PASS, from the line solved as drawn and at its worst corner.

PASS holds with every tolerance at its worst at once and nothing needed left unknown. FAIL is what fails as drawn.
UNDECIDED is all between: what passes as drawn and not at the worst corner, what is not known, what was not tried, and
what is outside the method.

The codes of the reasons, and the details that each carries beside its place:

=================== =========== ==========================================================================
code                place       details
=================== =========== ==========================================================================
pressure            appliance   state, outlet, gauge_pa, drop_pa, margin_pa, allowed_drop_pa, min_gauge_pa
greatest-pressure   appliance   gauge_pa, max_gauge_pa
regulator-inlet     run         state, margin_pa, min_gauge_pa
too-many-ways       state       margin_pa, appliance
regulator-rating    regulator   state, load_w, capacity_w (0 where it is not known); of several most_w, number
bottle-pressure     regulator   state, gauge_pa, temperature_k, pigtail_pa, min_gauge_pa
set-pressure        regulator   gauge_pa, nominal_gauge_pa (0 where the rule has none for the gas), rule
limit-over-rule                 allowed_drop_pa, rule_drop_pa, rule
vents               space       vents_m2, needed_m2
vents-inside        space       vents_m2, needed_m2 with all that may be used in it
vents-levels        space       needed_m2, at each level or by the floor at both
vents-split         space       level (high or low), vents_m2, needed_m2
vents-floor         space       floor_m2 (0 where it is not given), most_m2
locker              space       point (lowest or high), there_m2, needed_m2, unknown
not-on              appliance
not-full            appliance   share, state
condenses                       temperature_k, condenses_gauge_pa, gauge_pa, works_from_k
gas-data                        temperature_k, low_k, high_k
outside-formula     run, hose   formula, what
rule-gas                        rule, gas
code-formula        appliance   formula, rule, margin_pa
basis               appliance   gross_w, net_w
unknown-devices     outlet      see `drawbar.checking.unknown`
unknown-device      piece       see `drawbar.checking.unknown`
unknown-hose        appliance   see `drawbar.checking.unknown`
=================== =========== ==========================================================================

The same code fails the job where it is so as drawn, and leaves it open where it is so at the worst corner only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.bottle_pressure import about_bottle_pressure
from drawbar.checking.method import about_basis, about_code, about_formula, about_gas, about_states
from drawbar.checking.results import TOLERANCE_PA
from drawbar.checking.rules_kept import (
    about_greatest_pressures,
    about_limits,
    about_ratings,
    about_set_pressures,
)
from drawbar.checking.vents import about_vents
from drawbar.job import Hose, Job, Outlet, Run
from drawbar.line.worst_way import SolvedState, WorstPlace, worst_tried
from drawbar.verdict import Reason, Verdict

_FAIL, _OPEN = Verdict.FAIL, Verdict.UNDECIDED


def reasons_of(
    job: Job, formula: str, drawn: Sequence[SolvedState], worst: Sequence[SolvedState]
) -> tuple[Reason, ...]:
    """Return every reason why a job's verdict is not PASS, what fails first and the worst margins first.

    Parameters
    ----------
    job : Job
        As drawn.
    formula : str
        The name of the formula that its line was solved with.
    drawn : sequence of SolvedState
        Every state of the job, solved as drawn.
    worst : sequence of SolvedState
        The same states solved at the worst corner; the same objects where the job is to be computed as drawn only.

    Returns
    -------
    tuple of Reason
        Empty for PASS. `verdict_of` makes the verdict of them.
    """
    pairs = list(zip(drawn, worst, strict=True))
    reasons = [
        *_about_pressures(pairs),
        *_about_stage_inlets(job, pairs),
        *about_greatest_pressures(job),
        *about_ratings(job, drawn),
        *about_bottle_pressure(job, drawn),
        *about_set_pressures(job, drawn[0].state_on_line.line),
        *about_limits(job),
        *about_vents(job),
        *about_states(job),
        *about_gas(job),
        *about_formula(job, formula, drawn),
        *about_code(job, formula, drawn),
        *about_basis(job),
    ]
    is_short = any(reason.verdict is _FAIL and "margin_pa" in reason.details for reason in reasons)
    if not is_short and not is_all_known(job):
        from drawbar.checking.unknown import unknown_reasons  # for what is not known alone

        reasons.extend(unknown_reasons(job, formula, drawn))
    reasons.sort(key=lambda reason: (reason.verdict is not _FAIL, float(reason.details.get("margin_pa", 0.0))))
    return tuple(reasons)


def appliance_verdicts(drawn: SolvedState, worst: SolvedState) -> dict[str, Verdict]:
    """Return the verdict on the pressure of each appliance of a state, by its name.

    Parameters
    ----------
    drawn : SolvedState
        The state as drawn.
    worst : SolvedState
        The state at the worst corner.

    Returns
    -------
    dict of str to Verdict
        UNDECIDED as well where what it is plugged in with is not known.
    """
    failing = _failing_places(drawn)
    unknown = with_unknown_ways(drawn.state_on_line.line.job)
    verdicts = {}
    for name, place in worst.places.items():
        is_open = place.margin_pa < -TOLERANCE_PA or name in unknown
        verdicts[name] = _FAIL if name in failing else _OPEN if is_open else Verdict.PASS
    return verdicts


def is_all_known(job: Job) -> bool:
    """Tell whether nothing is left out that gas passes: no device, no outlet, no hose."""
    pieces: list[Run | Outlet | Hose] = [*job.runs, *job.outlets, *job.hoses]
    return (
        all(device.is_known for piece in pieces for device in piece.devices)
        and all(outlet.devices_known for outlet in job.outlets)
        and all(appliance.hose_known for appliance in job.appliances)
    )


def with_unknown_ways(job: Job) -> frozenset[str]:
    """Return the appliances whose gas may pass something that is not known: a device, an outlet, a hose.

    Parameters
    ----------
    job : Job
        As drawn.

    Returns
    -------
    frozenset of str
        Their names.
    """
    unknown = {run.name for run in job.runs if _has_unknown(run)}
    for run in job.runs:  # each comes after the one it starts from
        if run.start in unknown:
            unknown.add(run.name)
    unknown |= {outlet.name for outlet in job.outlets if not outlet.devices_known or _has_unknown(outlet)}
    unknown |= {outlet.name for outlet in job.outlets if outlet.at in unknown}
    hoses = {hose.name for hose in job.hoses if _has_unknown(hose)}
    return frozenset(
        each.name
        for each in job.appliances
        if not each.hose_known
        or each.at in unknown
        or not unknown.isdisjoint(each.plugs_into)
        or not hoses.isdisjoint(each.hoses)
    )


def _has_unknown(piece: Run | Outlet | Hose) -> bool:
    return not all(device.is_known for device in piece.devices)


# pressures


def _failing_places(drawn: SolvedState) -> dict[str, WorstPlace]:
    """Return the appliances that surely fail as drawn, each in its worst place.

    Where the pressures are a bound, that is one below which no way goes, so a bound that fails proves nothing: then it
    is the appliances that fail in a way that was tried.
    """
    places = drawn.places
    if drawn.worst is None:
        if all(place.margin_pa >= -TOLERANCE_PA for place in places.values()):
            return {}
        places = worst_tried(drawn.state_on_line, places)
    return {name: place for name, place in places.items() if place.margin_pa < -TOLERANCE_PA}


def _about_pressures(pairs: Sequence[tuple[SolvedState, SolvedState]]) -> Iterator[Reason]:
    worst_of: dict[str, Reason] = {}
    bounds: list[Reason] = []
    for drawn, worst in pairs:
        failing = _failing_places(drawn)
        short = {name: place for name, place in worst.places.items() if place.margin_pa < -TOLERANCE_PA}
        is_bound = worst.worst is None
        if is_bound and not failing and short:
            least = min(short.values(), key=lambda place: place.margin_pa)
            name = drawn.state_on_line.plan.state.name
            details: dict[str, float | str] = {"margin_pa": least.margin_pa, "appliance": least.end.name}
            bounds.append(Reason("too-many-ways", _OPEN, name, details))
            short = {}
        for name in {**short, **failing}:
            verdict = _FAIL if name in failing else _OPEN
            place, state = (failing[name], drawn) if name in failing else (short[name], worst)
            reason = _pressure_reason(verdict, place, state)
            before = worst_of.get(name)
            if before is None or _rank(reason) < _rank(before):
                worst_of[name] = reason
    yield from worst_of.values()
    yield from bounds


def _rank(reason: Reason) -> tuple[bool, float]:
    return reason.verdict is not _FAIL, float(reason.details["margin_pa"])


def _pressure_reason(verdict: Verdict, place: WorstPlace, solved: SolvedState) -> Reason:
    line, end = solved.state_on_line.line, place.end
    job = line.job
    gauge_pa = end.floor_abs_pa + place.margin_pa - job.atmospheric_pa
    appliance = next(appliance for appliance in job.appliances if appliance.name == end.name)
    details: dict[str, float | str] = {
        "state": solved.state_on_line.plan.state.name,
        "outlet": end.plugged.outlet.name if end.plugged else "",
        "gauge_pa": gauge_pa,
        "drop_pa": line.stage_gauge_pa[end.at] - gauge_pa,
        "margin_pa": place.margin_pa,
        "allowed_drop_pa": job.allowed_drop_pa,
        "min_gauge_pa": appliance.min_gauge_pa,
    }
    return Reason("pressure", verdict, end.name, details)


def _about_stage_inlets(job: Job, pairs: Sequence[tuple[SolvedState, SolvedState]]) -> Iterator[Reason]:
    by_run: dict[int, Reason] = {}
    for drawn, worst in pairs:
        for number, worst_pa in worst.inlet_margins_pa.items():
            # By the bound the flows are more than any way's: what fails by it is open.
            fails = drawn.worst is not None and drawn.inlet_margins_pa[number] < -TOLERANCE_PA
            margin_pa = drawn.inlet_margins_pa[number] if fails else worst_pa
            if margin_pa >= -TOLERANCE_PA:
                continue
            run = job.runs[number]
            assert run.regulator is not None  # these are the runs that have one
            details: dict[str, float | str] = {
                "state": drawn.state_on_line.plan.state.name,
                "margin_pa": margin_pa,
                "min_gauge_pa": run.regulator.inlet_min_gauge_pa,
            }
            reason = Reason("regulator-inlet", _FAIL if fails else _OPEN, run.name, details)
            if number not in by_run or _rank(reason) < _rank(by_run[number]):
                by_run[number] = reason
    yield from by_run.values()
