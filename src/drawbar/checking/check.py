"""Does every appliance get its pressure: each state of a job, in every way of plugging it, against the allowed drop."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.results import ApplianceResult, CheckResult, RegulatorResult, StateResult
from drawbar.checking.spare import MOST_WORK, headroom
from drawbar.checking.vents import check_space
from drawbar.checking.warnings import warnings_of
from drawbar.job import ROOT, Job, decided
from drawbar.line.network import Line
from drawbar.line.plugging import Plan, Plugged, plans_of
from drawbar.line.section import section_flow
from drawbar.line.state import End, StateOnLine, Way
from drawbar.physics.formulas import FORMULAS


class _Worst(NamedTuple):
    """An appliance's worst way so far: the margin, the absolute pressure at the end of its run [Pa], and the end."""

    margin_pa: float
    point_pa: float
    end: End


def check(job: Job, formula: str | None = None, *, with_headroom: bool = False) -> CheckResult:
    """Check a job in every state, with its own formula or another (a name of FORMULAS).

    with_headroom : work out as well what each state has left, which takes several times as long
    Raises ValueError if a run leaves its size open, or the formula is not known.
    """
    decided(job)
    name = formula or job.formula
    if name not in FORMULAS:
        raise ValueError(f"{name} is not a formula")
    line = Line(job, formula=name)
    ons = [StateOnLine(line, plan) for plan in plans_of(job)]
    states = [_exact(on, on.ways) if on.ways is not None else _bound(on) for on in ons]
    if with_headroom:
        left = [headroom(on, MOST_WORK // len(ons)) for on in ons]
        states = [state._replace(headroom=more) for state, more in zip(states, left, strict=True)]
    states.sort(key=lambda state: state.margin_pa)
    warnings = tuple(warnings_of(job, name, line, states))
    return CheckResult(job, name, tuple(states), warnings, line, check_space(job))


def in_worst_way(result: CheckResult, state: StateResult) -> tuple[ApplianceResult, ...]:
    """Return the appliances of a state in the one way of plugging that the state's runs are of.

    Where the drops are a bound there is no such way: then those that are fixed, and the portable one that is worst.
    """
    if state.is_bound:
        named = {one.appliance.name for one in state.plugged}
        return tuple(one for one in state.appliances if one.outlet is None or one.name in named)
    job = result.job
    on = StateOnLine(result.line, Plan(job, next(one for one in job.states if one.name == state.name)))
    points = {flow.section.name: flow.outlet_abs_pa for flow in state.runs}
    found = []
    for end in on.way_of(state.plugged):
        point_pa = points[job.runs[end.at].name]
        margin_pa = end.abs_pa(point_pa, end.flow_kg_s) - end.floor_abs_pa
        found.append(_appliance(on, _Worst(margin_pa, point_pa, end)))
    return tuple(found)


def _exact(on: StateOnLine, ways: list[Way]) -> StateResult:
    """Try every way of plugging."""
    line = on.line
    worst: dict[str, _Worst] = {}
    inlets: dict[int, float] = {}
    loads = [0.0] * len(line.sections)
    worst_way, worst_margin_pa, most_kg_s = ways[0], float("inf"), 0.0
    for way in ways:
        flows = on.flows(way)
        outlets_pa = line.solve(flows)
        way_margin_pa = float("inf")
        for number, margin_pa in on.regulator_margins(outlets_pa):
            way_margin_pa = min(way_margin_pa, margin_pa)
            inlets[number] = min(inlets.get(number, float("inf")), margin_pa)
            loads[number] = max(loads[number], flows[number])
        for end in way:
            point_pa = outlets_pa[end.at]
            margin_pa = end.abs_pa(point_pa, end.flow_kg_s) - end.floor_abs_pa
            way_margin_pa = min(way_margin_pa, margin_pa)
            _keep_worst(worst, _Worst(margin_pa, point_pa, end))
        most_kg_s = max(most_kg_s, sum(end.flow_kg_s for end in way))
        if way_margin_pa < worst_margin_pa:
            worst_way, worst_margin_pa = way, way_margin_pa
    plugged = tuple(end.plugged for end in worst_way if end.plugged is not None)
    return _state_result(on, len(ways), plugged, on.flows(worst_way), worst, most_kg_s, loads, inlets)


def _bound(on: StateOnLine) -> StateResult:
    """Take for every appliance and place the most that can flow on the way to it."""
    line = on.line
    worst: dict[str, _Worst] = {}
    for end in on.bound_ends():
        point_pa = on.bound_point_pa(end)
        _keep_worst(worst, _Worst(end.abs_pa(point_pa, end.flow_kg_s) - end.floor_abs_pa, point_pa, end))
    least = min(worst.values(), key=lambda one: one.margin_pa).end
    on_path = set(line.paths[least.at])
    numbers = range(len(line.sections))
    flows = [on.bound_flow_kg_s(number, least if number in on_path else None) for number in numbers]
    loads = [on.bound_flow_kg_s(number, None) for number in numbers]
    most_kg_s = sum(loads[number] for number in numbers if line.parents[number] < 0)
    inlets = on.bound_regulator_margins()
    plugged = (least.plugged,) if least.plugged is not None else ()
    return _state_result(on, None, plugged, flows, worst, most_kg_s, loads, inlets)


def _keep_worst(worst: dict[str, _Worst], found: _Worst) -> None:
    before = worst.get(found.end.name)
    if before is None or found.margin_pa < before.margin_pa:
        worst[found.end.name] = found


def _state_result(
    on: StateOnLine,
    ways: int | None,
    plugged: tuple[Plugged, ...],
    flows: list[float],
    worst: dict[str, _Worst],
    most_kg_s: float,
    loads: list[float],
    inlets: dict[int, float],
) -> StateResult:
    line, gross_j_kg = on.line, on.line.job.gas.gross_j_kg
    job = line.job
    regulators = [RegulatorResult(ROOT, job.regulator, most_kg_s * gross_j_kg, None)]
    for number, margin_pa in inlets.items():
        run = job.runs[number]
        assert run.regulator is not None  # inlets holds the runs that have one
        inlet_gauge_pa = margin_pa + run.regulator.inlet_min_gauge_pa
        regulators.append(RegulatorResult(run.name, run.regulator, loads[number] * gross_j_kg, inlet_gauge_pa))
    appliances = tuple(_appliance(on, worst[name]) for name, _ in on.plan.state.shares)
    runs = tuple(line.working(flows))
    return StateResult(on.plan.state.name, ways, plugged, most_kg_s * gross_j_kg, runs, appliances, tuple(regulators))


def _appliance(on: StateOnLine, worst: _Worst) -> ApplianceResult:
    line, job, end = on.line, on.line.job, worst.end
    point_pa, start = worst.point_pa, job.runs[end.at].name
    tail = []
    for part in end.tail:
        tail.append(section_flow(part, start, point_pa, end.flow_kg_s, line.conditions))
        point_pa, start = tail[-1].outlet_abs_pa, part.name
    gauge_pa = point_pa - job.atmospheric_pa
    return ApplianceResult(
        name=end.name,
        at=job.runs[end.at].name,
        outlet=end.plugged.outlet.name if end.plugged else None,
        hose=end.plugged.hose.name if end.plugged and end.plugged.hose else None,
        load_w=end.flow_kg_s * job.gas.gross_j_kg,
        gauge_pa=gauge_pa,
        drop_pa=line.stage_gauge_pa[end.at] - gauge_pa,
        margin_pa=worst.margin_pa,
        tail=tuple(tail),
    )
