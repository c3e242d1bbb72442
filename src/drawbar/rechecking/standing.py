"""How a job stands, for many jobs: the verdict and the least margin alone, without the figures of a full check."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.corner import states_at_worst, with_worst_inputs
from drawbar.checking.judge import reasons_of
from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.line.state import StateOnLine, states_on_line
from drawbar.line.worst_way import SolvedState
from drawbar.verdict import Reason, Verdict, verdict_of


class Standing(NamedTuple):
    """How a job stands.

    Attributes
    ----------
    verdict : Verdict
        That of the full check.
    margin_pa : float
        The least margin of all states and appliances as drawn [Pa].
    state, appliance : str
        The state and the appliance, or run with a second stage, that have it.
    worst_margin_pa : float
        The least margin at the worst corner [Pa].
    because : tuple of Reason
        Why the verdict is not PASS.
    """

    verdict: Verdict
    margin_pa: float
    state: str
    appliance: str
    worst_margin_pa: float
    because: tuple[Reason, ...] = ()

    @property
    def passes(self) -> bool:
        """Tell whether the verdict is PASS."""
        return self.verdict is Verdict.PASS

    @property
    def pressures_pass(self) -> bool:
        """Tell whether every appliance gets its pressure at the worst corner, whatever else is open."""
        return self.worst_margin_pa >= -TOLERANCE_PA


def standing(job: Job) -> Standing:
    """Return how a job stands.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.

    Returns
    -------
    Standing
        The verdict and the margins of the full check.
    """
    return Standings(job).of(job)


class Standings:
    """How a job stands, and the same job with other inputs, on lines that are set up once.

    Attributes
    ----------
    job : Job
        What they are of.
    drawn, worst : list of StateOnLine
        The states of the job, on its line as drawn and on that of its worst corner.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        self.drawn = states_on_line(Line(job))
        self.worst = states_at_worst(job, self.drawn)

    def of(self, job: Job) -> Standing:
        """Return how a job stands whose pieces are the same, and its appliances but for their inputs."""
        if job is self.job:
            drawn, worst = [state.solved for state in self.drawn], [state.solved for state in self.worst]
        else:
            corner_inputs = job if self.worst is self.drawn else with_worst_inputs(job)
            drawn = [_solved(state, job) for state in self.drawn]
            worst = drawn if self.worst is self.drawn else [_solved(state, corner_inputs) for state in self.worst]
        because = reasons_of(job, job.formula, drawn, worst)
        margin_pa, state, name = min(map(_least, drawn), key=lambda least: least[0])
        worst_pa = min(map(_least, worst), key=lambda least: least[0])[0]
        return Standing(verdict_of(because), margin_pa, state, name, worst_pa, because)


def _solved(state: StateOnLine, job: Job) -> SolvedState:
    """Return a state solved with the inputs of a job."""
    return StateOnLine(state.line, state.plan.at_flows_of(job)).solved


def _least(solved: SolvedState) -> tuple[float, str, str]:
    """Return the least margin of a state [Pa], the state, and the appliance or run that has it."""
    state = solved.state_on_line.plan.state.name
    runs = solved.state_on_line.line.job.runs
    margins = [(place.margin_pa, state, name) for name, place in solved.places.items()]
    margins.extend((margin_pa, state, runs[number].name) for number, margin_pa in solved.inlet_margins_pa.items())
    return min(margins, key=lambda least: least[0])
