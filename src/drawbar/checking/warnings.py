"""What is merely odd about a job: nothing that fails a limit, but what a careful fitter would look at twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.results import StateResult
from drawbar.job import ROOT, Job
from drawbar.line.network import Line
from drawbar.physics.cylinder import liquid_in, steady_offtake
from drawbar.physics.formulas import FORMULAS

FAST_M_S = 15.0  # over this a small line may be heard; common practice, no source
NOMINAL_SHARE = 0.1  # how far from the rule's nominal pressure a regulator may be set before it is odd; our own choice
_MOST_NAMED = 5  # appliances that no state has on
_MOST_OUTSIDE = 3  # pipes outside a formula's range


def warnings_of(job: Job, formula: str, line: Line, states: Sequence[StateResult]) -> Iterator[str]:
    """Yield a sentence for each thing that is odd.

    Parameters
    ----------
    job : Job
        What was checked.
    formula : str
        The name of the formula it was checked with.
    line : Line
        The line, solved.
    states : sequence of StateResult
        Its states, checked.

    Yields
    ------
    str
        What is odd, and where.
    """
    yield from _about_limits(job, line)
    yield from _about_states(job)
    yield from _about_gas(job)
    yield from _about_pipes(job, line)
    yield from _about_flow(formula, states)
    yield from _about_regulators(states)
    yield from _about_bottles(job, states)


def _about_limits(job: Job, line: Line) -> Iterator[str]:
    rule = job.rule
    if rule is None:
        return
    if job.allowed_drop_pa > rule.drop_pa * 1.0001:
        job_kpa, allowed = job.allowed_drop_pa / 1000, rule.drop_pa / 1000
        yield f"the allowed drop of {job_kpa:g} kPa is more than the {allowed:g} kPa of {rule.name}"
    expected_pa = nominal_pa(job)
    if expected_pa is None:
        return
    ends = {
        line.index[at]
        for at in (*(outlet.at for outlet in job.outlets), *(appliance.at for appliance in job.appliances))
        if at
    }
    for head in sorted({line.stage_of(number) for number in ends}):  # the stages that appliances hang on
        run = job.runs[head] if head >= 0 else None
        name = f"the regulator of run {run.name}" if run else "the regulator"
        regulator = run.regulator if run and run.regulator else job.regulator
        if abs(regulator.outlet_gauge_pa - expected_pa) > NOMINAL_SHARE * expected_pa:
            set_kpa, nominal = regulator.outlet_gauge_pa / 1000, expected_pa / 1000
            yield f"{name} is set to {set_kpa:g} kPa, unlike the nominal {nominal:g} kPa of {rule.name}"


def _about_states(job: Job) -> Iterator[str]:
    on = {name for state in job.states for name, _ in state.shares}
    never = [appliance.name for appliance in job.appliances if appliance.name not in on]
    if never:
        rest = len(never) - _MOST_NAMED
        few = ", ".join([*never[:_MOST_NAMED], *([f"{rest} more"] if rest > 0 else [])])
        yield f"no state has it on, so it is not checked: {few}"


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


def _about_gas(job: Job) -> Iterator[str]:
    low_k, high_k = job.gas.temperature_range_k
    if not low_k <= job.temperature_k <= high_k:
        yield f"the gas data reach from {low_k - 273.15:.0f} to {high_k - 273.15:.0f} degC; the site is outside that"
        return
    dew_pa = job.gas.dew_pressure_pa(job.temperature_k)
    highest_pa = job.regulator.outlet_gauge_pa + job.atmospheric_pa
    if highest_pa >= dew_pa:
        celsius = job.temperature_k - 273.15
        yield (
            f"at {celsius:.0f} degC the gas condenses above {(dew_pa - job.atmospheric_pa) / 1000:.0f} kPa: "
            f"it would not stay a gas at the regulator's {job.regulator.outlet_gauge_pa / 1000:g} kPa"
        )


def _about_pipes(job: Job, line: Line) -> Iterator[str]:
    for number, run in enumerate(job.runs):
        parent = line.parents[number]
        if (
            parent >= 0
            and line.sections[number].pipe.bore_m > line.sections[parent].pipe.bore_m * 1.0001
            and run.regulator is None
        ):
            bore_mm, before_mm = line.sections[number].pipe.bore_m * 1000, line.sections[parent].pipe.bore_m * 1000
            feeds = f"{run.start} (bore {before_mm:.2f} mm) that feeds it"
            yield f"run {run.name} (bore {bore_mm:.2f} mm) is larger than {feeds}"


def _about_flow(formula: str, states: Sequence[StateResult]) -> Iterator[str]:
    fastest: dict[str, float] = {}
    choked: dict[str, None] = {}
    outside: dict[str, None] = {}
    for state in states:
        for flow in (*state.runs, *(flow for appliance in state.appliances for flow in appliance.tail)):
            name = flow.section.name
            if flow.regime == "choked":
                choked[name] = None
            elif (
                flow.flow_kg_s > 0.0 and flow.section.length_m + flow.section.fittings_m > 0.0
            ):  # a bayonet has no pipe
                fastest[name] = max(fastest.get(name, 0.0), flow.velocity_m_s)
                out_of_range = FORMULAS[formula].outside(flow.section.pipe_flow(flow.flow_kg_s))
                if out_of_range is not None:
                    outside[f"{name}: {out_of_range}"] = None
    for name in choked:
        yield f"{name} can't pass its load at any pressure: the figures behind it are a floor, not a forecast"
    for name, velocity in fastest.items():
        if velocity > FAST_M_S and name not in choked:
            yield f"{name} runs at {velocity:.0f} m/s; over {FAST_M_S:g} m/s a small line may be heard"
    if outside:
        rest = len(outside) - _MOST_OUTSIDE
        shown = [*list(outside)[:_MOST_OUTSIDE], *([f"and {rest} more"] if rest > 0 else [])]
        yield f"the {formula} formula is outside its range: " + "; ".join(shown)


def _about_regulators(states: Sequence[StateResult]) -> Iterator[str]:
    overloaded: set[str] = set()
    for state in states:
        for regulator in state.regulators:
            capacity_w = regulator.regulator.capacity_w
            if capacity_w is not None and regulator.load_w > capacity_w * 1.0001 and regulator.name not in overloaded:
                overloaded.add(regulator.name)
                where = "the regulator" if regulator.name == ROOT else f"the regulator of run {regulator.name}"
                yield (
                    f"in state {state.name} {where} is to pass {regulator.load_w * 0.0036:.4g} MJ/h "
                    f"of a rated {capacity_w * 0.0036:.4g} MJ/h"
                )


def _about_bottles(job: Job, states: Sequence[StateResult]) -> Iterator[str]:
    bottles = job.cylinders
    if bottles is None:
        return
    liquid = liquid_in(job.gas, bottles.size_kg, bottles.fill, bottles.ambient_k)
    least_abs_pa = bottles.least_gauge_pa + job.atmospheric_pa
    steady_w = bottles.drawing * steady_offtake(bottles.bottle, liquid, bottles.ambient_k, least_abs_pa).gross_w
    most = max(states, key=lambda state: state.total_w)
    if most.total_w > steady_w * 1.0001:
        celsius = bottles.ambient_k - 273.15
        drawn = "the bottle that is drawn from gives"
        if bottles.drawing > 1:
            drawn = f"the {bottles.drawing} bottles that are drawn from give"
        yield (
            f"in state {most.name} the load is {most.total_w * 0.0036:.4g} MJ/h; {drawn} {steady_w * 0.0036:.3g} MJ/h "
            f"for long, {bottles.fill * 100:g} % full at {celsius:g} degC (see `drawbar supply`)"
        )
