"""What is merely odd about a job: nothing that changes the verdict, but what a careful fitter would look at twice."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.method import outside_formula
from drawbar.checking.results import StateResult
from drawbar.line.network import Line
from drawbar.line.section import code_method
from drawbar.line.state import states_again
from drawbar.verdict import Reason, Verdict

FAST_M_S = 15.0
"""Speed of the gas over which a small line may be noisy [m/s]: common practice, no source."""


def warnings_of(formula: str, line: Line, states: Sequence[StateResult]) -> Iterator[Reason]:
    """Yield each thing that is odd or that stands beside the answer.

    `not-together`, `larger-than-feeder`, `fast`, `choked`, `outside-formula`, `gas-not-said`,
    `other-formula`.

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
        `bore_m`, `feeder` and `feeder_bore_m`, `velocity_m_s`, `formula` and `what`, or
        `formula`, `drop_pa` and `margin_pa`.
    """
    yield from _about_states(states)
    yield from _about_pipes(line)
    yield from _about_flow(states)
    if not line.job.gas_is_said:
        yield Reason("gas-not-said", Verdict.PASS, "", {})
    yield from _about_other_formula(formula, line, states)
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


def _about_other_formula(formula: str, line: Line, states: Sequence[StateResult]) -> Iterator[Reason]:
    """Yield what Darcy's formula with the real gas makes of the worst place, where the rule's own method is used."""
    if code_method(line.job, formula) is None:
        return
    again = states_again([state.solved.state_on_line for state in states], Line(line.job, formula="darcy"))
    places = [(place.margin_pa, name, place) for on_line in again for name, place in on_line.solved.places.items()]
    margin_pa, name, place = min(places, key=lambda entry: entry[0])
    gauge_pa = place.end.floor_abs_pa + margin_pa - line.job.atmospheric_pa
    drop_pa = line.stage_gauge_pa[place.end.at] - gauge_pa
    details: dict[str, float | str] = {"formula": "darcy", "drop_pa": drop_pa, "margin_pa": margin_pa}
    yield Reason("other-formula", Verdict.PASS, name, details)


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
