"""What is merely odd about a job: nothing that changes the verdict, but what a careful fitter would look at twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.method import outside_formula
from drawbar.checking.results import StateResult
from drawbar.line.network import Line
from drawbar.verdict import Reason, Verdict

FAST_M_S = 15.0
"""Speed of the gas over which a small line may be heard [m/s]: common practice, no source."""


def warnings_of(formula: str, line: Line, states: Sequence[StateResult]) -> Iterator[Reason]:
    """Yield each thing that is odd: `not-together`, `larger-than-feeder`, `fast`, `choked`, `outside-formula`.

    Parameters
    ----------
    formula : str
        The name of the formula that it was solved with.
    line : Line
        The line, solved.
    states : sequence of StateResult
        Its states, checked.

    Yields
    ------
    Reason
        It leaves the verdict as it is. Its place is the state, run or hose; its details are `asked_w` and `most_w`,
        `bore_m`, `feeder` and `feeder_bore_m`, `velocity_m_s`, or `formula` and `what`.
    """
    yield from _about_states(states)
    yield from _about_pipes(line)
    yield from _about_flow(states)
    for name, what in outside_formula(formula, [state.solved for state in states]).items():
        yield Reason("outside-formula", Verdict.PASS, name, {"formula": formula, "what": what})


def _about_states(states: Sequence[StateResult]) -> Iterator[Reason]:
    """Yield each state of which not all can be on at once, for want of outlets or hoses."""
    for state in states:
        plan = state.solved.state_on_line.plan
        gross_j_kg = plan.job.gas.gross_j_kg
        asked_w = gross_j_kg * sum(flow_kg_s for _, flow_kg_s in (*plan.fixed, *plan.portable))
        if state.total_w < asked_w * (1.0 - 1e-9):
            yield Reason("not-together", Verdict.PASS, state.name, {"asked_w": asked_w, "most_w": state.total_w})


def _about_pipes(line: Line) -> Iterator[Reason]:
    for number, run in enumerate(line.job.runs):
        parent = line.parents[number]
        if parent < 0 or run.regulator is not None:
            continue
        bore_m, feeder_m = line.sections[number].pipe.bore_m, line.sections[parent].pipe.bore_m
        if bore_m > feeder_m * 1.0001:
            details: dict[str, float | str] = {"bore_m": bore_m, "feeder": run.start, "feeder_bore_m": feeder_m}
            yield Reason("larger-than-feeder", Verdict.PASS, run.name, details)


def _about_flow(states: Sequence[StateResult]) -> Iterator[Reason]:
    fastest: dict[str, float] = {}
    choked: dict[str, None] = {}
    for state in states:
        for flow in (*state.runs, *(flow for appliance in state.appliances for flow in appliance.tail)):
            name = flow.section.name
            if flow.regime == "choked":
                choked[name] = None
            elif (
                flow.flow_kg_s > 0.0 and flow.section.length_m + flow.section.fittings_m > 0.0
            ):  # a bayonet has no pipe
                fastest[name] = max(fastest.get(name, 0.0), flow.velocity_m_s)
    for name in choked:
        yield Reason("choked", Verdict.PASS, name, {})
    for name, velocity_m_s in fastest.items():
        if velocity_m_s > FAST_M_S and name not in choked:
            yield Reason("fast", Verdict.PASS, name, {"velocity_m_s": velocity_m_s})
