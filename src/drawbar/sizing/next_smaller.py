"""Why a run is not a size smaller: the job checked with that one change."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import Pipe
from drawbar.line.network import Line
from drawbar.line.plugging import plans_of, work_of_look
from drawbar.line.state import StateOnLine
from drawbar.sizing.size import SizeResult, with_pipes

_MOST_LOOKED = 30_000  # runs and places worked out, over all runs that are looked at


class NextSmaller(NamedTuple):
    """How a job stands with one run in its next smaller choice.

    Attributes
    ----------
    pipe : Pipe
        That choice.
    margin_pa : float or None
        The least margin that was met [Pa]; None where the job is too crowded to look at every run.
    state, name : str
        The state, and the appliance or run with a regulator, that has it; empty where it was not looked at.
    """

    pipe: Pipe
    margin_pa: float | None
    state: str
    name: str

    @property
    def passes(self) -> bool:
        """Tell whether the job passes so."""
        return self.margin_pa is not None and self.margin_pa >= -TOLERANCE_PA


def next_smaller_sizes(result: SizeResult) -> dict[str, NextSmaller]:
    """Return how a sized job stands with each run in turn in its next smaller choice.

    The combinations that are the worst for the sizes chosen are tried first. If one fails, that is enough: the
    shortfall is then at least so much.

    Parameters
    ----------
    result : SizeResult
        Sizes that pass.

    Returns
    -------
    dict of str to NextSmaller
        By name of the run, for those that have a smaller choice.
    """
    # The job whose pressures must hold may be another than the one that is priced: its choices have the same places.
    choices = [run.pipes for run in (result.solved or result.job).runs]
    places = [run.pipes.index(now.pipe) for run, now in zip(result.job.runs, result.sized.runs, strict=True)]
    sized = with_pipes(
        result.solved or result.check.job,
        {run.name: pipes[place] for run, pipes, place in zip(result.job.runs, choices, places, strict=True)},
    )
    plans = {plan.state.name: plan for plan in plans_of(sized)}
    a_look = sum(work_of_look(plan) for plan in plans.values())
    looks_left = _MOST_LOOKED // a_look
    by_run: dict[str, NextSmaller] = {}
    as_sized = Line(sized)
    for number, (run, pipes, place) in enumerate(zip(result.job.runs, choices, places, strict=True)):
        smaller = [n for n, pipe in enumerate(run.pipes) if pipe.bore_m < run.pipes[place].bore_m]
        if not smaller:
            continue
        _, next_place = max((run.pipes[n].bore_m, -n) for n in smaller)
        pipe = run.pipes[-next_place]
        looks_left -= 1
        if looks_left < 0:
            by_run[run.name] = NextSmaller(pipe, None, "", "")
            continue
        line = as_sized.with_pipe(number, pipes[-next_place])
        states = [(StateOnLine(line, plans[state.name]), state) for state in result.check.states]
        worst = min((*on.least_of([on.way_of(state.plugged)]), state.name) for on, state in states)
        if worst[0] >= -TOLERANCE_PA:
            worst = min((*on.worst(), state.name) for on, state in states)
        margin_pa, name, state_name = worst
        by_run[run.name] = NextSmaller(pipe, margin_pa, state_name, name)
    return by_run
