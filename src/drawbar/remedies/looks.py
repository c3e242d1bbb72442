"""Whether a changed job passes: looked at as often as a search asks, within a count of work."""

from __future__ import annotations

from collections.abc import Callable

from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import Hose, Job, Outlet, Run
from drawbar.line.network import Line
from drawbar.line.state import StateOnLine, states_again, states_on_line

_MOST_STEPS = 200_000  # stretches of pipe looked at, over all searches for one job
_BOUND_STEPS = 40  # how many a place costs in the bound
_NEW_STEPS = 4  # how many a changed job costs for each piece, beside one for each device
_JUST_FAILS_PA = 1e-3  # for a job that fails by something else than a pressure


class TooManyLooksError(Exception):
    """The job is too crowded for so many looks at it."""


class Looks:
    """A job that fails, to be looked at with changes that leave its runs, outlets, hoses and appliances in place.

    Attributes
    ----------
    job : Job
        As it fails.
    corner : Callable
        What makes the job whose pressures must hold of a job.
    left : int
        What is left of the steps.
    """

    def __init__(self, job: Job, passes: Callable[[Job], bool] | None, corner: Callable[[Job], Job]) -> None:
        self.job = job
        self.corner = corner
        self.left = _MOST_STEPS
        self._passes = passes
        self._states = states_on_line(Line(job))
        pieces: list[Run | Outlet | Hose] = [*job.runs, *job.outlets, *job.hoses]
        self._steps = sum(map(self._steps_of, self._states)) + sum(_NEW_STEPS + len(each.devices) for each in pieces)

    @staticmethod
    def _steps_of(state: StateOnLine) -> int:
        sections = len(state.line.sections)
        if state.ways is not None:
            return len(state.ways) * (sections + len(state.plan.fixed) + 2 * len(state.plan.portable))
        return state.place_count * _BOUND_STEPS + sections

    def states_of(self, job: Job) -> list[StateOnLine]:
        """Return the states of a changed job on its line at the corner."""
        return states_again(self._states, Line(self.corner(job)))

    def margin_pa(self, job: Job) -> float:
        """Return the least margin of a changed job at the corner [Pa]; TooManyLooksError where the work is spent."""
        self.left -= self._steps
        if self.left < 0:
            raise TooManyLooksError
        return min(state.worst()[0] for state in self.states_of(job))

    def passes(self, job: Job) -> bool:
        """Tell whether a changed job passes."""
        return self.figure_pa(job) >= 0.0

    def figure_pa(self, job: Job) -> float:
        """Return a figure that is 0 or more where a changed job passes, its margin wherever the two agree [Pa]."""
        margin_pa = self.margin_pa(job)
        if self._passes is None:
            return max(margin_pa, 0.0) if margin_pa >= -TOLERANCE_PA else margin_pa
        return max(margin_pa, 0.0) if self._passes(job) else min(margin_pa, -_JUST_FAILS_PA)
