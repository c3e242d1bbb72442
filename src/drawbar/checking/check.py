"""The pressure at every appliance: each state of a job, in every combination, against the allowed drop."""

from __future__ import annotations

from drawbar.checking.corner import states_at_worst
from drawbar.checking.judge import appliance_verdicts, reasons_of
from drawbar.checking.results import TOLERANCE_PA, ApplianceResult, CheckResult, RegulatorResult, StateResult
from drawbar.checking.vents import check_spaces
from drawbar.checking.warnings import warnings_of
from drawbar.job import ROOT, Job, decided
from drawbar.line.network import Line
from drawbar.line.section import section_flow
from drawbar.line.state import states_on_line
from drawbar.line.worst_way import SolvedState, WorstPlace
from drawbar.physics.formulas import FORMULAS
from drawbar.verdict import Verdict


def check_job(job: Job, formula: str | None = None, *, with_headroom: bool = False) -> CheckResult:
    """Check a job in every state, with its own formula or another.

    Parameters
    ----------
    job : Job
        Every run with one size.
    formula : str or None
        A name of FORMULAS; None for the job's own.
    with_headroom : bool
        Whether to work out as well what each state has left, which takes several times as long.

    Returns
    -------
    CheckResult
        The states, the worst first, what is odd about the job, and the vents of its space.

    Raises
    ------
    ValueError
        If a run leaves its size open, or the formula is not known.
    """
    decided(job)
    name = formula or job.formula
    if name not in FORMULAS:
        raise ValueError(f"{name} is not a formula")
    line = Line(job, formula=name)
    on_line = states_on_line(line)
    solved_states = [state_on_line.solved for state_on_line in on_line]
    worst_states = [state_on_line.solved for state_on_line in states_at_worst(job, on_line)]
    states = [_state_result(solved, worst) for solved, worst in zip(solved_states, worst_states, strict=True)]
    if with_headroom:
        from drawbar.checking.spare import headroom

        left = [headroom(solved, states=len(states)) for solved in solved_states]
        states = [state._replace(headroom=more) for state, more in zip(states, left, strict=True)]
    states.sort(key=lambda state: state.margin_pa)
    because = reasons_of(job, name, solved_states, worst_states)
    return CheckResult(
        job, name, tuple(states), because, tuple(warnings_of(name, line, states)), line, check_spaces(job)
    )


def pressures_pass(job: Job) -> bool:
    """Tell whether every appliance and second stage has its pressure at the worst corner of a job.

    It takes less than the check, whose property of that name says the same.

    Parameters
    ----------
    job : Job
        Every run with one size.

    Returns
    -------
    bool
        Whether the margins hold, or a bound below them does.
    """
    states = states_at_worst(job, states_on_line(Line(job)))
    return all(state.worst()[0] >= -TOLERANCE_PA for state in states)


def in_worst_way(state: StateResult) -> tuple[ApplianceResult, ...]:
    """Return the appliances of a state in the one combination that the state's runs are of.

    Where the drops are a bound there is no such way: then those that are fixed, and the portable one that is worst.

    Parameters
    ----------
    state : StateResult
        A state of a check.

    Returns
    -------
    tuple of ApplianceResult
        Not each in its own worst way, but all in the same.
    """
    verdicts, worst = appliance_verdicts(state.solved, state.worst), state.worst.places
    return tuple(
        _appliance_result(state.solved, place, verdicts[place.end.name], worst[place.end.name].margin_pa)
        for place in state.solved.in_worst_way()
    )


def _state_result(solved: SolvedState, worst: SolvedState) -> StateResult:
    state_on_line, line = solved.state_on_line, solved.state_on_line.line
    job, state, ways = line.job, state_on_line.plan.state, state_on_line.ways
    gross_j_kg = job.gas.gross_j_kg
    regulators = [RegulatorResult(ROOT, job.regulator, solved.most_kg_s * gross_j_kg, None)]
    for number, margin_pa in solved.inlet_margins_pa.items():
        run = job.runs[number]
        assert run.regulator is not None  # these are the runs that have one
        inlet_gauge_pa = margin_pa + run.regulator.inlet_min_gauge_pa
        load_w, worst_pa = solved.loads_kg_s[number] * gross_j_kg, worst.inlet_margins_pa[number]
        regulators.append(RegulatorResult(run.name, run.regulator, load_w, inlet_gauge_pa, worst_pa))
    verdicts = appliance_verdicts(solved, worst)
    return StateResult(
        name=state.name,
        ways=len(ways) if ways is not None else None,
        plugged=solved.plugged,
        total_w=solved.most_kg_s * gross_j_kg,
        runs=tuple(line.working(solved.flows)),
        appliances=tuple(
            _appliance_result(solved, solved.places[name], verdicts[name], worst.places[name].margin_pa)
            for name, _ in state.shares
        ),
        regulators=tuple(regulators),
        solved=solved,
        worst=worst,
    )


def _appliance_result(
    solved: SolvedState, place: WorstPlace, verdict: Verdict, worst_margin_pa: float
) -> ApplianceResult:
    line, end = solved.state_on_line.line, place.end
    job = line.job
    point_pa, start = place.point_pa, job.runs[end.at].name
    tail = []
    for section in end.tail:
        tail.append(section_flow(section, start, point_pa, end.flow_kg_s))
        point_pa, start = tail[-1].outlet_abs_pa, section.name
    gauge_pa = point_pa - job.atmospheric_pa
    return ApplianceResult(
        name=end.name,
        at=job.runs[end.at].name,
        outlet=end.plugged.outlet.name if end.plugged else None,
        hose=end.plugged.hose.name if end.plugged and end.plugged.hose else None,
        load_w=end.flow_kg_s * job.gas.gross_j_kg,
        gauge_pa=gauge_pa,
        drop_pa=line.stage_gauge_pa[end.at] - gauge_pa,
        margin_pa=place.margin_pa,
        verdict=verdict,
        worst_margin_pa=worst_margin_pa,
        tail=tuple(tail),
    )
