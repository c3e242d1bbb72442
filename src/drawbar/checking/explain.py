"""Which way through a line is to be explained, with the flows and pressures along it, from the functions of check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drawbar.checking.check import check
from drawbar.checking.results import TOLERANCE_PA, CheckResult, StateResult
from drawbar.job import ROOT, Appliance, Device, Fitting, Job, Regulator, State
from drawbar.line.network import Line
from drawbar.line.plugging import Plan, Plugged
from drawbar.line.section import SectionFlow, section_flow
from drawbar.line.state import End, StateOnLine


@dataclass(frozen=True, slots=True)
class ApplianceDraw:
    """One appliance that is on: its share of its input, and where it hangs; `at` is None where it finds no place.

    flow_kg_s : what it draws [kg/s], 0 where it finds no place
    """

    appliance: Appliance
    share: float
    flow_kg_s: float
    at: str | None
    plugged: Plugged | None = None


@dataclass(frozen=True, slots=True)
class Leg:
    """One part of the way: a run, an outlet or a hose, with what it is made of and the flow through it.

    kind : `Run`, `Outlet` or `Hose`
    before_abs_pa : pressure where it starts, before its own regulator if it has one [Pa absolute]
    fed : the appliances whose gas passes; None where the flow is a bound over the ways of plugging
    """

    kind: str
    flow: SectionFlow
    fittings: tuple[tuple[Fitting, int], ...]
    devices: tuple[Device, ...]
    before_abs_pa: float
    fed: tuple[str, ...] | None
    regulator: Regulator | None = None


@dataclass(frozen=True, slots=True)
class Explained:
    """A way to explain: to an appliance in its own worst way of plugging, or one run.

    name : the appliance or the run; load_w : the appliance's share of its input [W], None for a run
    legs : from the first regulator to the appliance, or the one run
    ways : how many ways of plugging there are, None where they are too many and the flows a bound
    drop_pa : from the last regulator to the end [Pa]; margin_pa : the appliance's margin [Pa], None for a run
    """

    job: Job
    formula: str
    line: Line
    state: State
    ways: int | None
    name: str
    load_w: float | None
    draws: tuple[ApplianceDraw, ...]
    legs: tuple[Leg, ...]
    gauge_pa: float
    drop_pa: float
    stage_gauge_pa: float
    margin_pa: float | None

    @property
    def passes(self) -> bool:
        """Tell whether the appliance gets its pressure and each second stage on the way its inlet pressure."""
        if self.margin_pa is not None and self.margin_pa < -TOLERANCE_PA:
            return False
        return all(self.inlet_margin_pa(leg) >= -TOLERANCE_PA for leg in self.legs)

    def inlet_margin_pa(self, leg: Leg) -> float:
        """Return what the inlet of a leg's regulator has above its least [Pa], infinite where it has none."""
        if leg.regulator is None:
            return float("inf")
        return leg.before_abs_pa - self.job.atmospheric_pa - leg.regulator.inlet_min_gauge_pa


def explain(job: Job, name: str | None = None, state: str | None = None, formula: str | None = None) -> Explained:
    """Return the way to an appliance or the run of that name; without one, to the worst appliance of the worst state.

    state : the state to take it in; without one, the worst: for an appliance its own worst, for a run the job's
    formula : a name of FORMULAS instead of the job's own
    Raises ValueError, with what to tell the user, if the appliance is not on in the state.
    """
    result = check(job, formula)
    states = [one for one in result.states if state is None or one.name == state]
    is_run = name in result.line.index
    if not is_run:
        ends = [(one.margin_pa, number, one.name) for number, found in enumerate(states) for one in found.appliances]
        if name is None:
            ends = [end for end in ends if end[1] == 0]
        else:
            ends = [end for end in ends if end[2] == name]
            if not ends:
                where = f"in state {state}" if state is not None else "in any state"
                raise ValueError(f"{name} is not on {where}")
        _, number, name = min(ends)
        return _appliance(result, states[number], name)
    assert name is not None  # the index holds no None
    return _run(result, states[0], name)


def _appliance(result: CheckResult, found: StateResult, name: str) -> Explained:
    """Take an appliance in its own worst way of plugging, as check does."""
    line, job = result.line, result.job
    on = StateOnLine(line, Plan(job, _state(job, found)))
    if on.ways is None:
        ends = [end for end in on.bound_ends() if end.name == name]
        end = min(ends, key=lambda end: end.abs_pa(on.bound_point_pa(end), end.flow_kg_s) - end.floor_abs_pa)
        flows = [on.bound_flow_kg_s(number, end) for number in range(len(line.sections))]
        draws, behind = _draws(on, (end,)), None
    else:
        least_pa = float("inf")
        for way in on.ways:
            outlets_pa = line.solve(on.flows(way))
            for one in way:
                margin_pa = one.abs_pa(outlets_pa[one.at], one.flow_kg_s) - one.floor_abs_pa
                if one.name == name and margin_pa < least_pa:
                    least_pa, end, ends = margin_pa, one, list(way)
        flows = on.flows(tuple(ends))
        draws, behind = _draws(on, ends), ends
    legs = _run_legs(line, line.paths[end.at], line.working(flows), behind)
    point_pa, start = legs[-1].flow.outlet_abs_pa, job.runs[end.at].name
    for kind, part in zip(("Outlet", "Hose"), end.tail, strict=False):
        flow = section_flow(part, start, point_pa, end.flow_kg_s, line.conditions)
        assert end.plugged is not None  # only what is plugged in has a tail
        thing = end.plugged.outlet if kind == "Outlet" else end.plugged.hose
        assert thing is not None  # a hose that is in the tail is there
        legs.append(Leg(kind, flow, thing.fittings, thing.devices, point_pa, (name,)))
        point_pa, start = flow.outlet_abs_pa, part.name
    margin_pa = point_pa - end.floor_abs_pa
    return _explained(result, found, name, draws, legs, end.at, end.flow_kg_s * job.gas.gross_j_kg, margin_pa)


def _run(result: CheckResult, found: StateResult, name: str) -> Explained:
    """Take one run in the way of plugging that has the least margin of all, as check shows it."""
    line, job = result.line, result.job
    on = StateOnLine(line, Plan(job, _state(job, found)))
    number = line.index[name]
    plugged = {one.appliance.name: one for one in found.plugged}
    way = None
    if on.ways is not None:
        way = next(way for way in on.ways if {one.plugged for one in way if one.plugged} == set(plugged.values()))
    legs = _run_legs(line, (number,), found.runs, way)
    return _explained(result, found, name, _draws(on, way or on.fixed), legs, number, None, None)


def _state(job: Job, found: StateResult) -> State:
    return next(state for state in job.states if state.name == found.name)


def _draws(on: StateOnLine, ends: Sequence[End]) -> tuple[ApplianceDraw, ...]:
    """Return what is on, each at its end; what has no end in this way has no place."""
    by_name = {end.name: end for end in (*on.fixed, *ends)}
    runs, shares = on.line.job.runs, dict(on.plan.state.shares)
    draws = []
    for appliance, _ in (*on.plan.fixed, *on.plan.portable):
        end = by_name.get(appliance.name)
        if end is None:
            draws.append(ApplianceDraw(appliance, shares[appliance.name], 0.0, None))
        else:
            draws.append(
                ApplianceDraw(appliance, shares[appliance.name], end.flow_kg_s, runs[end.at].name, end.plugged)
            )
    return tuple(draws)


def _run_legs(line: Line, path: Sequence[int], working: Sequence[SectionFlow], ends: Sequence[End] | None) -> list[Leg]:
    """Return the runs of a path as legs; ends is None where the flows are a bound."""
    outlets_pa = [flow.outlet_abs_pa for flow in working]
    legs = []
    for number in path:
        run = line.job.runs[number]
        fed = None if ends is None else tuple(end.name for end in ends if number in line.paths[end.at])
        before_pa = line.before_regulator_pa(number, outlets_pa)
        legs.append(Leg("Run", working[number], run.fittings, run.devices, before_pa, fed, run.regulator))
    return legs


def _explained(
    result: CheckResult,
    found: StateResult,
    name: str,
    draws: tuple[ApplianceDraw, ...],
    legs: list[Leg],
    at: int,
    load_w: float | None,
    margin_pa: float | None,
) -> Explained:
    line, job = result.line, result.job
    gauge_pa = legs[-1].flow.outlet_abs_pa - job.atmospheric_pa
    return Explained(
        job=job,
        formula=result.formula,
        line=line,
        state=_state(job, found),
        ways=found.ways,
        name=name,
        load_w=load_w,
        draws=draws,
        legs=tuple(legs),
        gauge_pa=gauge_pa,
        drop_pa=line.stage_gauge_pa[at] - gauge_pa,
        stage_gauge_pa=line.stage_gauge_pa[at],
        margin_pa=margin_pa,
    )


def last_stage(legs: Sequence[Leg]) -> Sequence[Leg]:
    """Return the legs from the last regulator on."""
    first = max((number for number, leg in enumerate(legs) if leg.regulator is not None), default=0)
    return legs[first:]


def start_in_words(leg: Leg) -> str:
    """Return where a leg starts."""
    return "the first regulator" if leg.flow.start == ROOT else f"the end of {leg.flow.start}"
