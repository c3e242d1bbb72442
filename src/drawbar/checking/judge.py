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
too-many-ways       state       margin_pa
regulator-rating    regulator   state, load_w, capacity_w (0 where it is not known)
set-pressure        regulator   gauge_pa, nominal_gauge_pa (0 where the rule has none for the gas), rule
limit-over-rule                 allowed_drop_pa, rule_drop_pa, rule
vents                           vents_m2, needed_m2
not-on              appliance
condenses                       temperature_k, condenses_gauge_pa, gauge_pa, works_from_k
gas-data                        temperature_k, low_k, high_k
outside-formula     run, hose   formula, what
unknown-devices     outlet      see `drawbar.checking.unknown`
unknown-device      piece       see `drawbar.checking.unknown`
unknown-hose        appliance   see `drawbar.checking.unknown`
=================== =========== ==========================================================================

The same code fails the job where it is so as drawn, and leaves it open where it is so at the worst corner only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.corner import highest_static_gauge_pa, worst_corner
from drawbar.checking.results import TOLERANCE_PA
from drawbar.checking.unknown import unknown_reasons
from drawbar.checking.vents import check_space
from drawbar.job import ROOT, Job, Regulator
from drawbar.line.network import Line
from drawbar.line.state import states_again
from drawbar.line.worst_way import SolvedState, WorstPlace, worst_tried
from drawbar.physics.formulas import FORMULAS
from drawbar.verdict import Reason, Verdict

NOMINAL_SHARE = 0.1
"""How far from the rule's nominal pressure a regulator may be set and still be set to it [-]: our own choice."""

_SAME = 1.0001  # a load this much above a rating is still at it
_MOST_OUTSIDE = 3  # sections outside a formula's range that are named
_STEP_K = 0.1  # how closely the temperature is looked for from which the gas does not condense
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
        *_about_greatest_pressures(job),
        *_about_ratings(job, drawn),
        *_about_set_pressures(job, drawn[0].state_on_line.line),
        *_about_limits(job),
        *_about_vents(job),
        *_about_states(job),
        *_about_gas(job),
        *_about_formula(job, formula, drawn),
    ]
    if not any(reason.verdict is _FAIL and "margin_pa" in reason.details for reason in reasons):
        reasons.extend(unknown_reasons(job, formula, drawn))
    reasons.sort(key=lambda reason: (reason.verdict is not _FAIL, float(reason.details.get("margin_pa", 0.0))))
    return tuple(reasons)


PRESSURE_CODES = frozenset(
    (
        *("pressure", "greatest-pressure", "regulator-inlet", "too-many-ways"),
        *("unknown-devices", "unknown-device", "unknown-hose"),
    )
)
"""The codes of the reasons that are about pressures in the line."""


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
    job = drawn.state_on_line.line.job
    verdicts = {}
    for name, place in worst.places.items():
        is_open = place.margin_pa < -TOLERANCE_PA or has_unknown_way(job, name)
        verdicts[name] = _FAIL if name in failing else _OPEN if is_open else Verdict.PASS
    return verdicts


def has_unknown_way(job: Job, name: str) -> bool:
    """Tell whether something is not known that an appliance's gas may pass: a device, an outlet, a hose."""
    appliance = next(appliance for appliance in job.appliances if appliance.name == name)
    if not appliance.hose_known:
        return True
    outlets = [outlet for outlet in job.outlets if outlet.name in appliance.plugs_into]
    hoses = [hose for hose in job.hoses if hose.name in appliance.hoses]
    runs = {run.name: run for run in job.runs}
    devices = [*(outlet.devices for outlet in outlets), *(hose.devices for hose in hoses)]
    for at in {appliance.at, *(outlet.at for outlet in outlets)} - {None}:
        start: str = at or ROOT
        while start in runs:
            devices.append(runs[start].devices)
            start = runs[start].start
    are_known = all(device.is_known for each in devices for device in each)
    return not (are_known and all(outlet.devices_known for outlet in outlets))


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


def _about_greatest_pressures(job: Job) -> Iterator[Reason]:
    """Look at the highest pressure that an appliance can get: with next to nothing flowing."""
    outlets = {outlet.name: outlet for outlet in job.outlets}
    for appliance in job.appliances:
        most_pa = appliance.max_gauge_pa
        if most_pa is None:
            continue
        places = [appliance.at] if appliance.at is not None else [outlets[name].at for name in appliance.plugs_into]
        drawn_job = job._replace(site_range=None)
        fails_pa = max(_drawn_static_pa(drawn_job, at) for at in places if at is not None)
        worst_pa = max(highest_static_gauge_pa(job, at) for at in places if at is not None)
        if job.tolerances is None:
            worst_pa = fails_pa
        if worst_pa > most_pa + TOLERANCE_PA:
            is_fail = fails_pa > most_pa + TOLERANCE_PA
            details = {"gauge_pa": fails_pa if is_fail else worst_pa, "max_gauge_pa": most_pa}
            yield Reason("greatest-pressure", _FAIL if is_fail else _OPEN, appliance.name, details)


def _drawn_static_pa(job: Job, at: str) -> float:
    def exact(regulator: Regulator) -> Regulator:
        return regulator._replace(accuracy=0.0)

    runs = tuple(run._replace(regulator=exact(run.regulator)) if run.regulator is not None else run for run in job.runs)
    return highest_static_gauge_pa(job._replace(regulator=exact(job.regulator), runs=runs), at)


# regulators and rules


def _about_ratings(job: Job, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    more = 1.0 + (job.tolerances.input if job.tolerances is not None else 0.0)
    regulators = [(ROOT, job.regulator, -1)]
    regulators.extend((job.runs[n].name, run, n) for n in drawn[0].state_on_line.line.stages if (run := _stage(job, n)))
    gross_j_kg = job.gas.gross_j_kg
    for name, regulator, number in regulators:
        loads = [
            (solved.most_kg_s if number < 0 else solved.loads_kg_s[number], solved.state_on_line.plan.state.name)
            for solved in drawn
        ]
        most_kg_s, state = max(loads)
        load_w, capacity_w = most_kg_s * gross_j_kg, regulator.capacity_w
        details: dict[str, float | str] = {"state": state, "load_w": load_w, "capacity_w": capacity_w or 0.0}
        if capacity_w is None:
            yield Reason("regulator-rating", _OPEN, name, {**details, "load_w": load_w * more})
        elif load_w > capacity_w * _SAME:
            # What a bound over the ways counts may be more than any way burns.
            is_sure = all(solved.worst is not None for solved in drawn)
            yield Reason("regulator-rating", _FAIL if is_sure else _OPEN, name, details)
        elif load_w * more > capacity_w * _SAME:
            yield Reason("regulator-rating", _OPEN, name, {**details, "load_w": load_w * more})


def _stage(job: Job, number: int) -> Regulator | None:
    return job.runs[number].regulator


def nominal_pa(job: Job) -> float | None:
    """Return the nominal pressure of a job's rule for what most of its gas is.

    Parameters
    ----------
    job : Job
        With a rule or without.

    Returns
    -------
    float or None
        Nominal pressure [Pa gauge]; None where the job has no rule, or the rule none for its gas.
    """
    if job.rule is None:
        return None
    by_gas = dict(job.rule.nominal_gauge_pa)
    main_gas = max(job.gas.fractions, key=lambda pair: pair[1])[0].name
    return by_gas.get(main_gas, by_gas.get(""))


def _about_set_pressures(job: Job, line: Line) -> Iterator[Reason]:
    """Look whether the appliances hang on a pressure that the rule's limit is for."""
    rule = job.rule
    if rule is None or job.has_own_limit:
        return
    expected_pa = nominal_pa(job)
    ends = {line.index[at] for at in (*(o.at for o in job.outlets), *(a.at for a in job.appliances)) if at}
    for head in sorted({line.stage_of(number) for number in ends}):  # the stages that appliances hang on
        regulator = (_stage(job, head) if head >= 0 else None) or job.regulator
        gauge_pa = regulator.outlet_gauge_pa
        if expected_pa is not None and abs(gauge_pa - expected_pa) <= NOMINAL_SHARE * expected_pa:
            continue
        details: dict[str, float | str] = {
            "gauge_pa": gauge_pa,
            "nominal_gauge_pa": expected_pa or 0.0,
            "rule": rule.name,
        }
        yield Reason("set-pressure", _OPEN, job.runs[head].name if head >= 0 else ROOT, details)


def _about_limits(job: Job) -> Iterator[Reason]:
    rule, expected_pa = job.rule, nominal_pa(job)
    if rule is None or expected_pa is None or job.allowed_drop_pa <= rule.drop_pa * _SAME:
        return
    if abs(job.regulator.outlet_gauge_pa - expected_pa) <= NOMINAL_SHARE * expected_pa:
        details: dict[str, float | str] = {
            "allowed_drop_pa": job.allowed_drop_pa,
            "rule_drop_pa": rule.drop_pa,
            "rule": rule.name,
        }
        yield Reason("limit-over-rule", _OPEN, "", details)


def _about_vents(job: Job) -> Iterator[Reason]:
    vents = check_space(job)
    if vents is None or vents.formula is None:
        return
    more = job.tolerances.input if job.tolerances is not None else 0.0
    for verdict, share in ((_FAIL, 0.0), (_OPEN, more)):
        if not vents.passes_at(share):
            needed_m2 = vents.needed_m2(vents.formula, share)
            yield Reason("vents", verdict, "", {"vents_m2": vents.space.vents_m2, "needed_m2": needed_m2})
            return


# outside the method


def _about_states(job: Job) -> Iterator[Reason]:
    on = {name for state in job.states for name, share in state.shares if share > 0.0}
    for appliance in job.appliances:
        if appliance.name not in on:
            yield Reason("not-on", _OPEN, appliance.name, {})


def _about_gas(job: Job) -> Iterator[Reason]:
    low_k, high_k = job.gas.temperature_range_k
    cold_k, warm_k = job.site_range.temperature_k if job.site_range is not None else (job.temperature_k,) * 2
    for temperature_k in (cold_k, warm_k):
        if not low_k <= temperature_k <= high_k:
            yield Reason("gas-data", _OPEN, "", {"temperature_k": temperature_k, "low_k": low_k, "high_k": high_k})
            return
    gases = job.site_range.gases if job.site_range is not None else (job.gas,)
    highest_pa = job.regulator.outlet_gauge_pa + job.atmospheric_pa
    for verdict, temperature_k, looked_at in ((_FAIL, job.temperature_k, (job.gas,)), (_OPEN, cold_k, gases)):
        dew_pa = min(gas.dew_pressure_pa(temperature_k) for gas in looked_at)
        if highest_pa < dew_pa:
            continue
        works_from_k = temperature_k
        while works_from_k < high_k and min(gas.dew_pressure_pa(works_from_k) for gas in looked_at) <= highest_pa:
            works_from_k = min(works_from_k + _STEP_K, high_k)
        details: dict[str, float | str] = {
            "temperature_k": temperature_k,
            "condenses_gauge_pa": dew_pa - job.atmospheric_pa,
            "gauge_pa": job.regulator.outlet_gauge_pa,
            "works_from_k": works_from_k,
        }
        yield Reason("condenses", verdict, "", details)
        return


def _about_formula(job: Job, formula: str, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    """Look whether a formula is used outside its range where Darcy's, which has no limit here, does not pass too."""
    outside = outside_formula(formula, drawn)
    if not outside:
        return
    line = Line(worst_corner(job), formula="darcy")
    if min(on_line.worst()[0] for on_line in states_again([s.state_on_line for s in drawn], line)) >= -TOLERANCE_PA:
        return
    for name, what in list(outside.items())[:_MOST_OUTSIDE]:
        yield Reason("outside-formula", _OPEN, name, {"formula": formula, "what": what})


def outside_formula(formula: str, drawn: Sequence[SolvedState]) -> dict[str, str]:
    """Return what is outside a formula's range in each run, outlet or hose; Darcy's is for all flow in such a line.

    Parameters
    ----------
    formula : str
        A name of FORMULAS.
    drawn : sequence of SolvedState
        Every state, solved with it.

    Returns
    -------
    dict of str to str
        By name of the run, outlet or hose, what is outside; empty where nothing is.
    """
    outside: dict[str, str] = {}
    if formula == "darcy":
        return outside
    for solved in drawn:
        line = solved.state_on_line.line
        flows = list(zip(line.sections, solved.flows, strict=True))
        flows.extend((section, place.end.flow_kg_s) for place in solved.places.values() for section in place.end.tail)
        for section, flow_kg_s in flows:
            if section.length_m + section.fittings_m > 0.0:  # a bayonet has no pipe
                what = FORMULAS[formula].outside(section.pipe_flow(flow_kg_s))
                if what is not None:
                    outside.setdefault(section.name, what)
    return outside
