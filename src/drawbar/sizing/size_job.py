"""A job sized as a workshop asks for it: from its stock, at its prices, with what the other choices come to."""

from __future__ import annotations

from dataclasses import dataclass

from drawbar.checking.check import pressures_pass
from drawbar.job import Job, Pipe
from drawbar.materials.prices import PriceList
from drawbar.sizing.longest_run import longest_run_sizes
from drawbar.sizing.next_smaller import NextSmaller, next_smaller_sizes
from drawbar.sizing.size import Cost, SizeResult, Wishes, mass_cost, size, with_pipes
from drawbar.sizing.stock import StockList, WrongChoice, WrongChoices, contradictions, in_stock, price_cost, unpriced
from drawbar.sizing.watch import Watch


@dataclass(frozen=True, slots=True)
class LongestRunSizes:
    """What the longest-run method of the code tables chooses for a job.

    Attributes
    ----------
    pipes : dict of str to (Pipe or None)
        By name of the run; None where no choice is large enough for the method.
    cost : float or None
        Of all of them; None where one is missing.
    passes : bool or None
        Whether every appliance gets its pressure in them; None where one is missing.
    """

    pipes: dict[str, Pipe | None]
    cost: float | None
    passes: bool | None


@dataclass(frozen=True, slots=True)
class SizedJob:
    """The sizes of a job, and what other choices come to.

    Attributes
    ----------
    result : SizeResult
        The sizes.
    run_costs : dict of str to float
        What each run costs in the pipe chosen, by its name.
    cost_unit : str
        The unit of all costs.
    next_smaller : dict of str to NextSmaller
        By name of the run, how the job stands with that run in its next smaller choice; empty where nothing passes.
    longest_run : LongestRunSizes
        What the longest-run method chooses.
    """

    result: SizeResult
    run_costs: dict[str, float]
    cost_unit: str
    next_smaller: dict[str, NextSmaller]
    longest_run: LongestRunSizes


def size_job(
    job: Job,
    *,
    wishes: Wishes | None = None,
    stock: StockList | None = None,
    prices: PriceList | None = None,
    watch: Watch | None = None,
) -> SizedJob:
    """Choose the cheapest sizes for a job that pass, and set the other choices beside them.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.
    wishes : Wishes, optional
        What the sizes must keep to besides the pressure, the reserve among them; without it, nothing.
    stock : StockList, optional
        The sizes to choose among; without it, all that the job allows.
    prices : PriceList, optional
        What pipe and fittings cost; without it, pipes compare by their mass.
    watch : Watch, optional
        Who waits for it: told how far it is, and may interrupt it for the best so far.

    Returns
    -------
    SizedJob
        The sizes, why none is smaller, and what the longest-run method chooses.

    Raises
    ------
    WrongChoices
        The runs whose choices are not in stock, can't keep to the wishes, or have no price. A kind of Problems.

    Examples
    --------
    >>> import drawbar
    >>> sizes = drawbar.size(drawbar.read_job("examples/market-kitchen-open.yaml"))
    >>> sizes.result.passes, sizes.result.chosen_labels["main"], round(sizes.run_costs["main"], 2), sizes.cost_unit
    (True, 'as1432-b/19.05', 1.45, 'kg of pipe')
    """
    wishes = wishes or Wishes()
    if stock is not None:
        job = in_stock(job, stock)
    _refuse(job, list(contradictions(job, wishes)))
    cost, unit = mass_cost(job)
    if prices is not None:
        _refuse(job, list(unpriced(job, prices)))
        cost, unit = price_cost(prices), prices.currency
    result = size(job, cost, wishes, watch=watch)
    return SizedJob(
        result,
        {run.name: cost(run, run.pipe) for run in result.sized.runs},
        unit,
        next_smaller_sizes(result) if result.passes else {},
        _by_longest_run(result, cost),
    )


def _refuse(job: Job, wrong: list[WrongChoice]) -> None:
    if wrong:
        raise WrongChoices(job.file, wrong)


def _by_longest_run(result: SizeResult, cost: Cost) -> LongestRunSizes:
    """Return what the longest-run method chooses among the same pipes for the same loads."""
    loaded = result.check.job
    pipes = longest_run_sizes(loaded, {run.name: run.pipes for run in result.job.runs})
    chosen = {name: pipe for name, pipe in pipes.items() if pipe is not None}
    if len(chosen) < len(result.job.runs):
        return LongestRunSizes(pipes, None, None)
    total = sum(cost(run, chosen[run.name]) for run in result.job.runs)
    return LongestRunSizes(pipes, total, pressures_pass(with_pipes(loaded, chosen)))
