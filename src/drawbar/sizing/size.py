"""The pipe sizes of a job, among those it allows, that pass in every state and combination at the least cost."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.checking.check import check_job
from drawbar.checking.corner import worst_corner
from drawbar.checking.results import CheckResult
from drawbar.job import Job, Pipe, Run
from drawbar.sizing.choosing import Choosing
from drawbar.sizing.pareto import Work
from drawbar.sizing.watch import Watch
from drawbar.verdict import Verdict

Cost = Callable[[Run, Pipe], float]

MASS_OF_PIPE = "kg of pipe"
"""The unit of costs where no price list gives another."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the sizes must keep to besides the pressure.

    Attributes
    ----------
    no_increase : bool
        No run larger than the one that feeds it (a second-stage regulator starts afresh).
    most_sizes : int or None
        How many different sizes there may be, None for any number.
    reserve : float
        How much more than its input every appliance is taken to draw [-].
    may_stay : frozenset of tuple of str and str
        Runs, each with the label of the pipe that it has already, in which it may be larger than its feeder.
    """

    no_increase: bool = False
    most_sizes: int | None = None
    reserve: float = 0.0
    may_stay: frozenset[tuple[str, str]] = frozenset()


@dataclass(frozen=True, slots=True)
class SizeResult:
    """The sizes that were chosen for a job.

    Attributes
    ----------
    job : Job
        The job as it was read.
    wishes : Wishes
        What the sizes had to keep to besides the pressure.
    sized : Job
        The job with one pipe a run: the cheapest, or the largest choice where nothing passes.
    check : CheckResult
        The sized job checked, with the reserve on its loads if one was wished for.
    cost : float or None
        Of the pipes and fittings, in the unit of the cost that was asked for; None where nothing passes.
    least_cost : float or None
        A cost that no choice that passes goes below: the cost itself where that is proven the least.
    proof : str or None
        What proved that no choice costs less: `search` or `HiGHS`; None where nothing did.
    solved : Job or None
        The job whose pressures had to hold, with its choices, the reserve on its loads; None for the job itself.
    is_settled : bool
        Whether there are sizes, or it is certain that no choice passes: False where the search for few different sizes
        came to none within its limit of work.
    extra_may_settle : bool
        Whether the extra `exact`, which is not there, would have been asked to prove more.
    """

    job: Job
    wishes: Wishes
    sized: Job
    check: CheckResult
    cost: float | None
    least_cost: float | None = None
    proof: str | None = None
    solved: Job | None = None
    is_settled: bool = True
    extra_may_settle: bool = False

    @property
    def is_proven(self) -> bool:
        """Tell whether no other choice that passes costs less, as all but very crowded jobs allow to prove."""
        return self.proof is not None

    @property
    def verdict(self) -> Verdict:
        """The verdict on the job so sized: FAIL where no choice keeps to the wishes, UNDECIDED where none was met."""
        if not self.has_choice or self.passes:
            return self.check.verdict
        if not self.is_settled:
            return Verdict.UNDECIDED
        return Verdict.FAIL if self.check.passes else self.check.verdict

    @property
    def passes(self) -> bool:
        """Tell whether there are sizes that pass."""
        return self.cost is not None

    @property
    def has_choice(self) -> bool:
        """Tell whether any run left its size open."""
        return any(len(run.pipes) > 1 for run in self.job.runs)

    @property
    def chosen_labels(self) -> dict[str, str]:
        """The size as `family/size` of each run that left it open, by the run's name."""
        decided = zip(self.job.runs, self.sized.runs, strict=True)
        return {run.name: sized.pipes[0].label for run, sized in decided if len(run.pipes) > 1}


class CheapestSizes(NamedTuple):
    """The cheapest sizes.

    Attributes
    ----------
    cost : float
        What they cost.
    pipes : dict of str to Pipe
        The pipe of each run.
    least : float
        A cost that no choice that passes goes below.
    proof : str or None
        What proved that no choice costs less: `search` or `HiGHS`; None where nothing did.
    """

    cost: float
    pipes: dict[str, Pipe]
    least: float
    proof: str | None = None


def mass_cost(job: Job) -> tuple[Cost, str]:
    """Return the cost by which pipes compare where there are no prices, and its unit.

    That is the mass of the pipe [kg]; or, where any pipe's mass is not known, length times bore [m mm] for all.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.

    Returns
    -------
    cost : Cost
        What a run costs in a pipe.
    unit : str
        Its unit in words.
    """
    if all(pipe.mass_kg_m is not None for run in job.runs for pipe in run.pipes):
        return lambda run, pipe: run.length_m * (pipe.mass_kg_m or 0.0), MASS_OF_PIPE
    return lambda run, pipe: run.length_m * pipe.bore_m * 1000.0, "m mm (length x bore, as a pipe's mass is not known)"


def cheapest_sizes(
    job: Job,
    cost: Cost,
    wishes: Wishes = Wishes(),
    solved_as: Job | None = None,
    work: Work | None = None,
) -> CheapestSizes | None:
    """Return the cheapest sizes that pass, None if none do.

    The least cost is exact, whatever the cost of a run's pipe may be. Every scenario of flows - a state in one
    combination - limits the choice. Most never matter, so the search starts with the worst few, and takes in the worst
    that its answer fails until it fails none.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.
    cost : Cost
        What a run costs in a pipe.
    wishes : Wishes
        What the sizes must keep to besides the pressure.
    solved_as : Job, optional
        The job whose pressures must hold, where that is another than the one whose pipes are priced and compared: the
        same runs in the same order, each with the same choices in the same order, as the worst of them may be.
    work : Work, optional
        What the search may take, and what comes with the choices; without it, as much as sizing a job may.

    Returns
    -------
    CheapestSizes or None
        The pipe of each run, with the cost.
    """
    choosing = _choosing(job, cost, wishes, solved_as)
    if work is not None:
        work.left -= choosing.choice_work
        choosing.work = work
    return _chosen(choosing, job)


def _choosing(job: Job, cost: Cost, wishes: Wishes, solved_as: Job | None) -> Choosing:
    return Choosing(
        _with_reserve(job, wishes.reserve),
        cost,
        _with_reserve(solved_as, wishes.reserve) if solved_as else None,
        no_increase=wishes.no_increase,
        may_stay=wishes.may_stay,
        most_sizes=wishes.most_sizes,
    )


def _chosen(choosing: Choosing, job: Job) -> CheapestSizes | None:
    sizes = choosing.solve()
    if sizes is None:
        return None
    pipes = {run.name: run.pipes[pick] for run, pick in zip(job.runs, sizes.picks, strict=True)}
    return CheapestSizes(sizes.cost, pipes, sizes.least, sizes.proof)


def size(
    job: Job,
    cost: Cost | None = None,
    wishes: Wishes = Wishes(),
    solved_as: Job | None = None,
    watch: Watch | None = None,
) -> SizeResult:
    """Choose the cheapest sizes that pass at the worst corner of the job's tolerances, and check the job so sized.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.
    cost : Cost, optional
        What a run costs in a pipe; without it, the mass of the pipe as by `mass_cost`.
    wishes : Wishes
        What the sizes must keep to besides the pressure.
    solved_as : Job, optional
        The job whose pressures must hold, where that is another than the worst corner of the one whose pipes are
        priced and compared: the same runs in the same order, each with the same choices in the same order.
    watch : Watch, optional
        Who waits for it: told how far it is, and may interrupt it for the best so far.

    Returns
    -------
    SizeResult
        The sizes, or the largest choice everywhere where nothing passes.

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> from drawbar.jobfile.reader import job_of
    >>> text = '''
    ... job: Hob on a short line
    ... gas: propane
    ... limits: {drop: 0.25 kPa}
    ... regulator: {outlet: 2.75 kPa}
    ... runs: {main: {from: regulator, pipe: as1432-b/auto, length: 3 m}}
    ... appliances: {hob: {at: main, input: 20 MJ/h}}
    ... '''
    >>> result = size(job_of(text, "job.yaml", Catalogue()))
    >>> result.passes, result.chosen_labels
    (True, {'main': 'as1432-b/7.94'})
    """
    if solved_as is None and job.tolerances is not None:
        solved_as = worst_corner(job)
    choosing = _choosing(job, cost or mass_cost(job)[0], wishes, solved_as)
    choosing.watch = watch
    cheapest = _chosen(choosing, job)
    pipes = largest_pipes(job) if cheapest is None else cheapest.pipes
    checked = check_job(with_pipes(_with_reserve(job, wishes.reserve), pipes))
    solved = _with_reserve(solved_as, wishes.reserve) if solved_as else None
    sized = with_pipes(job, pipes)
    return SizeResult(
        job=job,
        wishes=wishes,
        sized=sized,
        check=checked,
        cost=cheapest and cheapest.cost,
        least_cost=cheapest and cheapest.least,
        proof=cheapest and cheapest.proof,
        solved=solved,
        is_settled=choosing.is_settled,
        extra_may_settle=choosing.extra_may_settle,
    )


def with_pipes(job: Job, pipes: Mapping[str, Pipe]) -> Job:
    """Return the job with one pipe for each run that is named."""
    return job._replace(
        runs=tuple(run._replace(pipes=(pipes[run.name],)) if run.name in pipes else run for run in job.runs)
    )


def largest_pipes(job: Job) -> dict[str, Pipe]:
    """Return the largest of each run's choices, the smoothest of several."""
    return {run.name: max(run.pipes, key=lambda pipe: (pipe.bore_m, -pipe.roughness_m)) for run in job.runs}


def _with_reserve(job: Job, reserve: float) -> Job:
    """Return the job with every appliance drawing so much more."""
    if not reserve:
        return job
    more = 1.0 + reserve
    appliances = tuple(
        appliance._replace(input_w=appliance.input_w * more, flow_kg_s=appliance.flow_kg_s * more)
        for appliance in job.appliances
    )
    return job._replace(appliances=appliances)
