"""The cheapest change of pipe sizes that puts a job right: exact, with no run made larger than the one that feeds it.

What a change costs: a run that gets another size costs the whole of its new pipe, and a run that keeps its own costs
nothing. A size is changed by taking the run out and putting in a new one; the old pipe is scrap, so what stood there
is no discount, and a run that is not touched needs neither pipe nor work. Of choices that cost the same, the fewest
changed runs are taken: all changed runs together cost up to 1e-7 of the dearest choice more.

Pipe alone may ask for a little of three runs where a fitter would rather change a single one. So the change of the
fewest runs, and of those the cheapest, is told beside it where it costs no more than a quarter more.

A smaller pipe is never of use: it costs and takes more. So each run may keep its pipe or get a larger size of the same
family. A run may not be made larger than the one that feeds it, for then the neck stays where it was; a second stage
starts afresh, and a run that is larger than its feeder already may stay as it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job, Pipe, Run
from drawbar.remedies.changes import SizeChange
from drawbar.remedies.looks import Looks, TooManyLooksError
from drawbar.remedies.remedy import FEWEST_RUNS, LARGER_RUNS, Remedy
from drawbar.sizing.pareto import Work
from drawbar.sizing.size import Cost, Wishes, cheapest_sizes, mass_cost
from drawbar.sizing.stage import SAME_BORE

_FEW = 1e-7  # of the dearest choice, for all runs changed
_MOST_FOR_FEWER = 1.25  # times the cheapest; our own choice: beyond it the joints saved are no longer worth the pipe
_MOST_CHANGED = 12  # runs; where more are changed, a few fewer are no other job
_MOST_WORK = 200_000  # steps of a search for sizes

Picks = tuple[int, ...]  # by run, which of its choices: 0 is the pipe it has


def larger_runs(looks: Looks, catalogue: Catalogue, price: tuple[Cost, str] | None = None) -> Iterator[Remedy]:
    """Yield the cheapest change of sizes that passes, and that of the fewest runs where it is worth while.

    Parameters
    ----------
    looks : Looks
        The job that fails.
    catalogue : Catalogue
        What has the sizes of the families.
    price : tuple of Cost and str, optional
        What a run costs in a pipe, and in which unit; without it, the mass of the pipe.

    Yields
    ------
    Remedy
        The first is not proven the cheapest where the job is too crowded for the exact search; then there is no second.

    Raises
    ------
    TooManyLooksError
        If the job is too crowded to tell.
    """
    choice = _Choice(looks, catalogue, price)
    largest = choice.largest()
    if not any(largest) or not looks.passes(choice.job_of(largest)):
        return
    cheapest, is_proven = choice.cheapest(_FEW * choice.dearest / len(largest))
    if cheapest is None or not looks.passes(choice.job_of(cheapest)):
        cheapest, is_proven = choice.cut_down(largest), False
    yield choice.remedy(LARGER_RUNS, cheapest, is_proven=is_proven)
    changed = sum(map(bool, cheapest))
    if is_proven and 1 < changed <= _MOST_CHANGED:
        fewest, is_proven = choice.cheapest(choice.dearest)
        if fewest is None or not is_proven or sum(map(bool, fewest)) >= changed:
            return
        if choice.cost_of(fewest) <= _MOST_FOR_FEWER * choice.cost_of(cheapest):
            yield choice.remedy(FEWEST_RUNS, fewest)


class _Choice:
    """The sizes that the runs of a job may have, what they cost, and the searches among them."""

    def __init__(self, looks: Looks, catalogue: Catalogue, price: tuple[Cost, str] | None) -> None:
        self.looks = looks
        job = looks.job
        self.opened = job._replace(runs=tuple(run._replace(pipes=_choices(run, catalogue)) for run in job.runs))
        pipe_cost, self.unit = price or mass_cost(self.opened)
        self.costs = [[0.0, *(pipe_cost(run, pipe) for pipe in run.pipes[1:])] for run in self.opened.runs]
        self.dearest = sum(map(max, self.costs))
        self.number_of = {run.name: number for number, run in enumerate(job.runs)}
        # the run that limits the size of each: -1 at a regulator
        self.feeders = [self.number_of.get(run.start, -1) if run.regulator is None else -1 for run in job.runs]

    def _bore_m(self, number: int, picks: Sequence[int]) -> float:
        return self.opened.runs[number].pipes[picks[number]].bore_m

    def _is_wider(self, number: int, picks: Sequence[int]) -> bool:
        """Tell whether a run is larger than its feeder."""
        feeder = self.feeders[number]
        return feeder >= 0 and self._bore_m(number, picks) > self._bore_m(feeder, picks) * SAME_BORE

    def _keeps(self, picks: Sequence[int]) -> bool:
        """Tell whether no run is made larger than its feeder."""
        return not any(pick and self._is_wider(number, picks) for number, pick in enumerate(picks))

    def job_of(self, picks: Sequence[int]) -> Job:
        """Return the job with one choice a run."""
        runs = (run._replace(pipes=(run.pipes[pick],)) for run, pick in zip(self.opened.runs, picks, strict=True))
        return self.opened._replace(runs=tuple(runs))

    def cost_of(self, picks: Sequence[int]) -> float:
        """Return what a choice costs."""
        return sum(costs[pick] for costs, pick in zip(self.costs, picks, strict=True))

    def largest(self) -> Picks:
        """Return the largest choice of every run that its feeder allows: nothing that is allowed passes more."""
        picks: list[int] = []
        for number, run in enumerate(self.opened.runs):
            picks.append(len(run.pipes) - 1)
            while picks[number] and self._is_wider(number, picks):
                picks[number] -= 1
        return tuple(picks)

    def remedy(self, kind: str, picks: Picks, *, is_proven: bool = True) -> Remedy:
        """Return a choice as a remedy."""
        job = self.job_of(picks)
        changes = tuple(
            SizeChange(old.name, old.pipe.label, new.pipe.label)
            for old, new in zip(self.looks.job.runs, job.runs, strict=True)
            if old != new
        )
        return Remedy(kind, changes, self.looks.margin_pa(job), self.cost_of(picks), self.unit, is_proven)

    def cheapest(self, each: float) -> tuple[Picks | None, bool]:
        """Return the cheapest choice if every run changed costs so much more, and whether that is proven."""
        opened = self.opened

        def cost(run: Run, pipe: Pipe) -> float:
            number = self.number_of[run.name]
            pick = opened.runs[number].pipes.index(pipe)
            return self.costs[number][pick] + each if pick else 0.0

        wishes = Wishes(no_increase=True, may_stay=frozenset((run.name, run.pipes[0].label) for run in opened.runs))
        sizes = cheapest_sizes(opened, cost, wishes, self.looks.corner(opened), Work(_MOST_WORK))
        if sizes is None:
            return None, False
        return tuple(run.pipes.index(sizes.pipes[run.name]) for run in opened.runs), sizes.proof is not None

    def cut_down(self, picks: Picks) -> Picks:
        """Return a choice that passes with what can be left out of one that passes, the dearest run first."""
        dearest_first = sorted(range(len(picks)), key=lambda number: -self.costs[number][picks[number]])
        try:
            for number in dearest_first:
                for pick in range(picks[number]):
                    fewer = (*picks[:number], pick, *picks[number + 1 :])
                    if self._keeps(fewer) and self.looks.passes(self.job_of(fewer)):
                        picks = fewer
                        break
        except TooManyLooksError:
            pass  # what was left out so far passes
        return picks


def _choices(run: Run, catalogue: Catalogue) -> tuple[Pipe, ...]:
    """Return the pipe of a run and the larger sizes of its family, smallest first; one of the user's own has none."""
    pipe = run.pipe
    sizes = catalogue.sizes(pipe.label.partition("/")[0]) or {}
    larger = (other for other in sizes.values() if other.bore_m > pipe.bore_m and other.label != pipe.label)
    return (pipe, *sorted(larger, key=lambda other: other.bore_m))
