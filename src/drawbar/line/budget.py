"""How much work combinations may take: counted, so that it is the same on every machine and everywhere."""

from __future__ import annotations

from dataclasses import dataclass

from drawbar.job import Job

_MOST_STEPS = 60_000  # of the search for them over all states of a job; a way seldom takes more than a few
_MOST_SOLVED = 100_000  # runs and appliances worked out, over all ways of all states of a job
_MOST_PLACED = 10_000  # runs on the way to a place, over all places of all states, that are each bounded for itself


@dataclass(slots=True)
class Budget:
    """What is left of the work that the ways may take, over all states of a job. It counts, whatever the machine.

    Attributes
    ----------
    steps : int
        Of the search for ways.
    solved : int
        Of runs and appliances that are worked out in them.
    """

    steps: int = _MOST_STEPS
    solved: int = _MOST_SOLVED


def bounds_each_place(job: Job) -> bool:
    """Tell whether a bound may be worked out for each appliance in each place by itself.

    Where that is too much work, one bound serves all: every run takes the most that can flow in it, whoever draws it.
    It is never below, so no job passes by it that would not by the other. Every command decides it by the job alone.

    Parameters
    ----------
    job : Job
        With its states.

    Returns
    -------
    bool
        Whether the runs on the way to all places of all states are few enough.
    """
    depths: dict[str, int] = {}
    for run in job.runs:
        depths[run.name] = depths.get(run.start, 0) + 1
    at_outlet = {outlet.name: depths[outlet.at] for outlet in job.outlets}
    on_the_way = {
        appliance.name: sum(at_outlet[name] for name in appliance.plugs_into)
        for appliance in job.appliances
        if appliance.at is None
    }
    return sum(on_the_way.get(name, 0) for state in job.states for name, _ in state.shares) <= _MOST_PLACED
