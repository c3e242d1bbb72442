"""Which way through a line is to be explained, with the flows and pressures along it, as the check solved them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drawbar.checking.check import check_job
from drawbar.checking.results import CheckResult, StateResult
from drawbar.job import ROOT, Appliance, Device, Fitting, Job, Regulator, State
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.line.section import SectionFlow, section_flow
from drawbar.line.state import End, StateOnLine
from drawbar.verdict import Verdict, worst_verdict


@dataclass(frozen=True, slots=True)
class ApplianceDraw:
    """One appliance that is on.

    Attributes
    ----------
    appliance : Appliance
        As the job has it.
    share : float
        Of its input, in the state [-].
    flow_kg_s : float
        What it draws [kg/s], 0 where it finds no place.
    at : str or None
        The run it hangs on; None where it finds no place.
    plugged : Plugged or None
        Its outlet and hose, None where it is fixed.
    """

    appliance: Appliance
    share: float
    flow_kg_s: float
    at: str | None
    plugged: Plugged | None = None


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg of the way: a run, an outlet or a hose, with what it is made of and the flow through it.

    Attributes
    ----------
    kind : str
        `Run`, `Outlet` or `Hose`.
    flow : SectionFlow
        Its flow, pressures and losses.
    fittings : tuple of tuple of Fitting and int
        Its fittings, with how many of each.
    devices : tuple of Device
        Its devices.
    before_abs_pa : float
        Pressure where it starts, before its own regulator if it has one [Pa absolute].
    fed : tuple of str or None
        The appliances whose gas passes; None where the flow is a bound over the combinations.
    regulator : Regulator or None
        At its start.
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
    """A way to explain: to an appliance in its worst combination, or one run.

    Attributes
    ----------
    job : Job
        The job it is of.
    formula : str
        The formula it is worked out with.
    line : Line
        The line, solved.
    state : State
        The state it is taken in.
    ways : int or None
        How many combinations there are, None where they are too many and the flows a bound.
    name : str
        The appliance or the run.
    load_w : float or None
        The appliance's share of its input [W], None for a run.
    draws : tuple of ApplianceDraw
        What is on.
    legs : tuple of Leg
        From the first regulator to the appliance, or the one run.
    gauge_pa : float
        Pressure at the end [Pa gauge].
    drop_pa : float
        From the last regulator to the end [Pa].
    stage_gauge_pa : float
        Set pressure of the last regulator [Pa gauge].
    verdict : Verdict
        On the appliance and on each second stage on the way to it, in the state; for a run, on the job.
    margin_pa, worst_margin_pa : float or None
        The appliance's margin as drawn and at the worst corner [Pa], None for a run.
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
    verdict: Verdict
    margin_pa: float | None
    worst_margin_pa: float | None = None

    @property
    def passes(self) -> bool:
        """Tell whether the verdict is PASS."""
        return self.verdict is Verdict.PASS

    def inlet_margin_pa(self, leg: Leg) -> float:
        """Return what the inlet of a leg's regulator has above its least [Pa], infinite where it has none."""
        if leg.regulator is None:
            return float("inf")
        return leg.before_abs_pa - self.job.atmospheric_pa - leg.regulator.inlet_min_gauge_pa


def explain(job: Job, name: str | None = None, state: str | None = None, formula: str | None = None) -> Explained:
    """Return the way to an appliance or a run; without a name, to the worst appliance of the worst state.

    Parameters
    ----------
    job : Job
        Every run with one size.
    name : str or None
        The appliance or the run.
    state : str or None
        The state to take it in; without one, the worst: for an appliance its worst, for a run the job's.
    formula : str or None
        A name of FORMULAS instead of the job's own.

    Returns
    -------
    Explained
        The way, with the figures of the check.

    Raises
    ------
    ValueError
        With what to tell the user, if the appliance is not on in the state. If a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> way = drawbar.explain(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True), "griddle")
    >>> [leg.flow.section.name for leg in way.legs]
    ['main', 'kerbside', 'rear', 'rear-bayonet', 'short-hose']
    """
    result = check_job(job, formula)
    states = [checked for checked in result.states if state is None or checked.name == state]
    if name is not None and name in result.line.index:
        return _explain_run(result, states[0], name)
    candidates = [
        (appliance.margin_pa, number, appliance.name)
        for number, checked in enumerate(states if name is not None else states[:1])
        for appliance in checked.appliances
        if name is None or appliance.name == name
    ]
    if not candidates:
        where = f"in state {state}" if state is not None else "in any state"
        raise ValueError(f"{name} is not on {where}")
    _, number, appliance_name = min(candidates)
    return _explain_appliance(result, states[number], appliance_name)


def _explain_appliance(result: CheckResult, state: StateResult, name: str) -> Explained:
    """Take an appliance in its worst combination, as check does."""
    solved, line = state.solved, result.line
    place = solved.places[name]
    end, way = place.end, place.solved_way.way if place.solved_way is not None else None
    legs = _run_legs(line, line.paths[end.at], line.working(solved.flows_to(name)), way)
    point_pa, start = legs[-1].flow.outlet_abs_pa, line.job.runs[end.at].name
    for kind, section in zip(("Outlet", "Hose"), end.tail, strict=False):
        flow = section_flow(section, start, point_pa, end.flow_kg_s)
        assert end.plugged is not None  # only what is plugged in has a tail
        piece = end.plugged.outlet if kind == "Outlet" else end.plugged.hose
        assert piece is not None  # a hose that is in the tail is there
        legs.append(Leg(kind, flow, piece.fittings, piece.devices, point_pa, (name,)))
        point_pa, start = flow.outlet_abs_pa, section.name
    draws = _draws(solved.state_on_line, way or (end,))
    load_w = end.flow_kg_s * line.job.gas.gross_j_kg
    checked = next(appliance for appliance in state.appliances if appliance.name == name)
    on_path = {leg.flow.section.name for leg in legs}
    stages = [regulator.verdict for regulator in state.regulators if regulator.name in on_path]
    return replace(
        _explained(result, state, name, draws, legs),
        load_w=load_w,
        verdict=worst_verdict((checked.verdict, *stages)),
        margin_pa=place.margin_pa,
        worst_margin_pa=checked.worst_margin_pa,
    )


def _explain_run(result: CheckResult, state: StateResult, name: str) -> Explained:
    """Take one run in the combination that has the least margin of all, as check shows it."""
    solved, number = state.solved, result.line.index[name]
    way = solved.worst.way if solved.worst is not None else None
    legs = _run_legs(result.line, (number,), state.runs, way)
    return _explained(result, state, name, _draws(solved.state_on_line, way or ()), legs)


def _draws(state_on_line: StateOnLine, ends: Sequence[End]) -> tuple[ApplianceDraw, ...]:
    """Return what is on, each at its end; what has no end in this way has no place."""
    by_name = {end.name: end for end in (*state_on_line.fixed, *ends)}
    plan, runs = state_on_line.plan, state_on_line.line.job.runs
    shares = dict(plan.state.shares)
    draws = []
    for appliance, _ in (*plan.fixed, *plan.portable):
        share, end = shares[appliance.name], by_name.get(appliance.name)
        if end is None:
            draws.append(ApplianceDraw(appliance, share, 0.0, None))
        else:
            draws.append(ApplianceDraw(appliance, share, end.flow_kg_s, runs[end.at].name, end.plugged))
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
    result: CheckResult, state: StateResult, name: str, draws: tuple[ApplianceDraw, ...], legs: Sequence[Leg]
) -> Explained:
    """Return what is explained, without what only an appliance has."""
    line, job = result.line, result.job
    last_run = [leg.flow.section.name for leg in legs if leg.kind == "Run"][-1]
    stage_gauge_pa = line.stage_gauge_pa[line.index[last_run]]
    gauge_pa = legs[-1].flow.outlet_abs_pa - job.atmospheric_pa
    return Explained(
        job=job,
        formula=result.formula,
        line=line,
        state=state.solved.state_on_line.plan.state,
        ways=state.ways,
        name=name,
        load_w=None,
        draws=draws,
        legs=tuple(legs),
        gauge_pa=gauge_pa,
        drop_pa=stage_gauge_pa - gauge_pa,
        stage_gauge_pa=stage_gauge_pa,
        verdict=result.verdict,
        margin_pa=None,
    )


def last_stage(legs: Sequence[Leg]) -> Sequence[Leg]:
    """Return the legs from the last regulator on."""
    first = max((number for number, leg in enumerate(legs) if leg.regulator is not None), default=0)
    return legs[first:]


def start_in_words(leg: Leg) -> str:
    """Return where a leg starts."""
    return "the first regulator" if leg.flow.start == ROOT else f"the end of {leg.flow.start}"
