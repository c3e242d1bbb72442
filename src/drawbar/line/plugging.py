"""What is on together, and plugged where: every combination of a state's appliances into the outlets there are."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drawbar.job import Appliance, Hose, Job, Outlet, State
from drawbar.line.budget import Budget, bounds_each_place

MOST_WAYS = 10_000
_FLOWS_A_RUN = 16  # additions of a flow that cost what working out a run does
_MOST_PAIRS = 200  # of appliance and outlet that are matched exactly


class TooManyWays(Exception):
    """The combinations are more than can be tried."""


class Plugged(NamedTuple):
    """A portable appliance in its place: the outlet, and the hose if it needs one."""

    appliance: Appliance
    outlet: Outlet
    hose: Hose | None


def plans_of(job: Job) -> list[Plan]:
    """Return the plan of each state of a job; one budget bounds the ways of all.

    Parameters
    ----------
    job : Job
        With one state at least.

    Returns
    -------
    list of Plan
        In the order of the job's states.
    """
    budget = Budget()
    each_place = bounds_each_place(job)
    return [Plan(job, state, budget, each_place=each_place) for state in job.states]


class Plan:
    """What burns in a state, and every combination. It depends on the job alone, not on the pipes chosen.

    Attributes
    ----------
    job : Job
        The job it is of.
    state : State
        The state it is of.
    fixed, portable : tuple of tuple of Appliance and float
        The appliances with their mass flows [kg/s].
    each_place : bool
        Whether a bound is worked out for each appliance in each place by itself.
    """

    def __init__(self, job: Job, state: State, budget: Budget | None = None, *, each_place: bool | None = None) -> None:
        self.job = job
        self.state = state
        self.each_place = bounds_each_place(job) if each_place is None else each_place
        self._budget = budget or Budget()
        appliances = {appliance.name: appliance for appliance in job.appliances}
        burning = [(appliances[name], share * appliances[name].flow_kg_s) for name, share in state.shares]
        self.fixed = tuple(pair for pair in burning if pair[0].at is not None)
        self.portable = tuple(pair for pair in burning if pair[0].at is None)

    def at_flows_of(self, job: Job) -> Plan:
        """Return the plan with the flows of another job of the same pieces and appliances; its ways are the same.

        The ways that are known already, or known to be too many, are not looked for again.
        """
        plan = Plan(job, self.state, self._budget, each_place=self.each_place)
        plan.__dict__["ways"] = self.ways
        return plan

    @functools.cached_property
    def ways(self) -> list[tuple[Plugged, ...]] | None:
        """Every combination; None where they are too many to try."""
        if not self.portable:
            return [()]
        return few_ways(self.job, [appliance for appliance, _ in self.portable], self._budget, self._work_a_way())

    def _work_a_way(self) -> int:
        """Return how many runs and appliances there are to work out in a way, the adding up of their flows counted."""
        runs, ends = len(self.job.runs), len(self.fixed) + len(self.portable)
        return runs + len(self.portable) + runs * ends // _FLOWS_A_RUN


def work_of_look(plan: Plan) -> int:
    """Return how many runs and places are worked out to solve a state once, in all its ways or by the bound.

    Parameters
    ----------
    plan : Plan
        Of the state.

    Returns
    -------
    int
        At least the number of runs.
    """
    runs = len(plan.job.runs)
    if plan.ways is not None:
        return len(plan.ways) * (runs + len(plan.portable))
    return runs + sum(appliance.place_count for appliance, _ in plan.portable)


def places(job: Job, appliance: Appliance) -> list[tuple[Outlet, Hose | None]]:
    """Return every outlet and hose that a portable appliance may take, were it alone.

    Parameters
    ----------
    job : Job
        With the outlets and hoses there are.
    appliance : Appliance
        A portable one.

    Returns
    -------
    list of tuple of Outlet and Hose
        The hose is None for an appliance that needs none.
    """
    outlets = [outlet for outlet in job.outlets if outlet.name in appliance.plugs_into]
    hoses: list[Hose | None] = [hose for hose in job.hoses if hose.name in appliance.hoses]
    return [(outlet, hose) for outlet in outlets for hose in hoses or [None]]


def ways(job: Job, portable: Sequence[Appliance], budget: Budget | None = None) -> Iterator[tuple[Plugged, ...]]:
    """Yield every combination of the appliances that leaves no room for one more as the rest stand.

    An outlet takes one appliance, and of a kind of hose there are as many as its count. An appliance may stay
    unplugged only where no outlet that it fits is free, or no hose that it fits is left.

    Parameters
    ----------
    job : Job
        With the outlets and hoses there are.
    portable : sequence of Appliance
        What is to be plugged in.
    budget : Budget or None
        What the search may take; a whole one of its own where none is given.

    Yields
    ------
    tuple of Plugged
        One way.

    Raises
    ------
    TooManyWays
        Where the budget is spent.
    """
    budget = budget or Budget()
    choices = [places(job, appliance) for appliance in portable]
    left: dict[str, int] = {hose.name: hose.count if hose.count is not None else len(portable) for hose in job.hoses}
    taken: set[str] = set()
    plugged: list[Plugged] = []

    def may_stay_out(number: int, still_to_place: int) -> bool:
        """Tell whether those still to place could fill all the outlets, or use up all the hoses, that it fits."""
        free = {o.name for o, _ in choices[number]} - taken
        if len(free) <= still_to_place:
            return True
        hoses = {h.name for _, h in choices[number] if h is not None}
        return bool(hoses) and sum(left[name] for name in hoses) <= still_to_place

    def place(number: int, out: tuple[int, ...]) -> Iterator[tuple[Plugged, ...]]:
        budget.steps -= 1
        if budget.steps < 0:
            raise TooManyWays
        if number == len(portable):
            yield tuple(plugged)
            return
        for outlet, hose in choices[number]:
            if outlet.name in taken or (hose is not None and not left[hose.name]):
                continue
            taken.add(outlet.name)
            plugged.append(Plugged(portable[number], outlet, hose))
            if hose is not None:
                left[hose.name] -= 1
            still = len(portable) - number - 1
            if all(may_stay_out(other, still) for other in out):
                yield from place(number + 1, out)
            if hose is not None:
                left[hose.name] += 1
            plugged.pop()
            taken.remove(outlet.name)
        still = len(portable) - number - 1
        if all(may_stay_out(other, still) for other in (*out, number)):
            yield from place(number + 1, (*out, number))

    yield from place(0, ())


def first_way(job: Job, portable: Sequence[Appliance]) -> tuple[Plugged, ...] | None:
    """Return the combination that fills places in the order of the appliances, outlets and hoses.

    Parameters
    ----------
    job : Job
        With the outlets and hoses there are.
    portable : sequence of Appliance
        What is to be plugged in.

    Returns
    -------
    tuple of Plugged or None
        None where the search for it takes too long.
    """
    try:
        return next(ways(job, portable))
    except (TooManyWays, RecursionError):
        return None


def few_ways(
    job: Job, portable: Sequence[Appliance], budget: Budget | None = None, work: int = 1
) -> list[tuple[Plugged, ...]] | None:
    """Return all the combinations if they are at most MOST_WAYS and the budget allows for them, else None.

    Parameters
    ----------
    job : Job
        With the outlets and hoses there are.
    portable : sequence of Appliance
        What is to be plugged in.
    budget : Budget or None
        What the search and the working out may take; a whole one of its own where none is given.
    work : int
        What is to be worked out in a way.

    Returns
    -------
    list of tuple of Plugged or None
        None where they are too many.
    """
    budget = budget or Budget()
    most = min(MOST_WAYS, budget.solved // work)
    if _surely_more(job, portable, most):
        return None
    few = []
    try:
        for way in ways(job, portable, budget):
            few.append(way)
            if len(few) > most:
                return None
    except (TooManyWays, RecursionError):
        return None
    budget.solved -= work * len(few)
    return few


def _surely_more(job: Job, portable: Sequence[Appliance], most: int) -> bool:
    """Tell, without trying them, whether the ways are more than so many.

    Appliances placed one after another, each with the fewest places the ones before can leave it, give a number of ways
    that are all different; each can be completed to one that leaves no room, and completions of different ways differ.
    The same holds for outlets filled one after another.
    """

    def hoses_left(appliance: Appliance, number: int) -> int:
        """Return how many kinds of hose are surely left for it when so many are placed; 1 if it needs none."""
        if not appliance.hoses:
            return 1
        return sum(hose.name in appliance.hoses and (hose.count or len(portable)) > number for hose in job.hoses)

    by_appliance = by_outlet = 1
    for number, appliance in enumerate(portable):
        here = max(0, len(appliance.plugs_into) - number) * hoses_left(appliance, number)
        if not here:
            break
        by_appliance *= here
    for number, outlet in enumerate(job.outlets):
        fits = sum(outlet.name in appliance.plugs_into and hoses_left(appliance, number) > 0 for appliance in portable)
        if fits <= number:
            break
        by_outlet *= fits - number
    return max(by_appliance, by_outlet) > most


class LargestDraws:
    """The most that appliances can draw together from so many outlets, where it may be taken that each fits any.

    Parameters
    ----------
    portable : sequence of tuple of Appliance and float
        The appliances with their mass flows [kg/s].
    outlets : sequence of Outlet
        Those of the job.
    """

    def __init__(self, portable: Sequence[tuple[Appliance, float]], outlets: Sequence[Outlet]) -> None:
        ranked = sorted(portable, key=lambda pair: -pair[1])
        names = {outlet.name for outlet in outlets}
        self._fits_any = all(names <= set(appliance.plugs_into) for appliance, _ in ranked)
        self._rank = {appliance.name: number for number, (appliance, _) in enumerate(ranked)}
        self._flows_kg_s = [flow_kg_s for _, flow_kg_s in ranked]
        self._totals_kg_s = [0.0, *itertools.accumulate(self._flows_kg_s)]

    def of_any(self, outlets: int, but: str | None) -> float | None:
        """Return the most from so many outlets [kg/s], without one appliance; None where it matters which each fits."""
        others = len(self._rank) - (but is not None)
        if not self._fits_any and others * outlets <= _MOST_PAIRS:
            return None
        most = min(outlets, others)
        if but is None or self._rank[but] >= most:
            return self._totals_kg_s[most]
        return self._totals_kg_s[most + 1] - self._flows_kg_s[self._rank[but]]


def largest_draw(candidates: Sequence[tuple[Appliance, float]], outlets: Sequence[str]) -> float:
    """Return the most that the appliances can draw together from a set of outlets, one appliance an outlet [kg/s].

    The sets of appliances that can be placed are the independent sets of a transversal matroid, so taking them by
    falling flow whenever one still fits gives the most. Hose counts are left out, and among very many
    which outlet an appliance fits as well: the figure is never too low.

    Parameters
    ----------
    candidates : sequence of tuple of Appliance and float
        The appliances with their mass flows [kg/s].
    outlets : sequence of str
        The names of the outlets.

    Returns
    -------
    float
        The most that they draw [kg/s].

    References
    ----------
    Edmonds, Matroids and the greedy algorithm, Mathematical Programming 1 (1971), 127-136, from memory.
    """
    ranked = sorted(candidates, key=lambda pair: -pair[1])
    if len(ranked) * len(outlets) > _MOST_PAIRS or all(
        set(outlets) <= set(appliance.plugs_into) for appliance, _ in ranked
    ):
        return sum(flow_kg_s for _, flow_kg_s in ranked[: len(outlets)])
    holder: dict[str, Appliance] = {}

    def fits(appliance: Appliance, tried: set[str]) -> bool:
        for outlet in outlets:
            if outlet in appliance.plugs_into and outlet not in tried:
                tried.add(outlet)
                if outlet not in holder or fits(holder[outlet], tried):
                    holder[outlet] = appliance
                    return True
        return False

    total = 0.0
    for appliance, flow_kg_s in ranked:
        if len(holder) == len(outlets):
            break
        if fits(appliance, set()):
            total += flow_kg_s
    return total
