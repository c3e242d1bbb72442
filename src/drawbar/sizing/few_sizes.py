"""The cheapest sizes of which there are no more than so many different ones: exact, without trying every set of them.

A set of sizes is made of one size after another, in a fixed order; the sets that are the most promising by a bound are
carried on first, and those that the bound shows too dear never. The bound takes the limits of pressure into the cost at
prices for each pascal, as in lower_bound.py: what is left is a cost for each run and size. Any prices give a valid
bound; those of each set that was looked at to the end are kept, as they are good for sets like it. At the prices, no
set costs less than when every size still to come were in it, nor than what it has with the largest gains that so many
more sizes bring, each by itself.

References
----------
Nemhauser, Wolsey and Fisher, "An analysis of approximations for maximizing submodular set functions", Mathematical
Programming 14 (1978), 265-294: what sizes gain together is no more than what they gain each by itself.
"""

from __future__ import annotations

import heapq
import operator
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from drawbar.sizing.lower_bound import INFINITE, Bounds, StageTree, priced
from drawbar.sizing.pareto import StageSizes, Work
from drawbar.sizing.scenario_bounds import best_bounds
from drawbar.sizing.stage import Option, Stage, stage_trees

_MOST_PRICES = 12  # of so many sets looked at, the latest
_STEPS_A_NUMBER = 40  # how many numbers compared count as one step of the search


class _Prices(NamedTuple):
    """What each run costs in each size with its drops at prices, INFINITE where it can't have it.

    Attributes
    ----------
    charged : list of lists of float
        By size and run.
    behind : list of lists of float
        By size and run, the least of that size and those after it in order.
    allowed : float
        What the limits are worth.
    """

    charged: list[list[float]]
    behind: list[list[float]]
    allowed: float


class _PartSet(NamedTuple):
    """Some sizes of a set, in order of their places, and the first place that the others may have."""

    places: tuple[int, ...]
    next_place: int


class FewSizes:
    """A job of which the sizes may be no more than so many different ones.

    Parameters
    ----------
    labels : sequence of sequences of str
        By run and choice, which size it is.
    most : int
        How many different sizes there may be.
    stages : iterable of (list of int, Stage)
        The numbers of each stage's runs, and the stage with all options.
    best : callable
        What gives the cheapest choice among some options of each run, at less than a cost.
    work : Work
        What is left of the steps that the search may take.
    """

    def __init__(
        self,
        labels: Sequence[Sequence[str]],
        most: int,
        stages: Iterable[tuple[list[int], Stage]],
        best: Callable[[Sequence[Sequence[int]], float], StageSizes | None],
        work: Work,
    ) -> None:
        self.stages = [(members, stage, stage_trees(stage)) for members, stage in stages]
        self.labels = labels
        self.best = best
        self.work = work
        self.sizes = self._worth_having(sorted({label for each in labels for label in each}))
        self.most = min(most, len(self.sizes))
        self.picks = [[[n for n, label in enumerate(each) if label == size] for size in self.sizes] for each in labels]
        self.prices: list[_Prices] = []

    def solve(self) -> StageSizes | None:
        """Return the cheapest choice, None where there is none or where none was come to in time."""
        free = self._look(range(len(self.sizes)), INFINITE)
        if free is None:
            return None
        if len({self.labels[run][pick] for run, pick in enumerate(free.picks)}) <= self.most:
            return free
        return self._best_from(free.least, self._first(free))

    def _best_from(self, least: float, best: StageSizes | None) -> StageSizes | None:
        """Return the cheapest choice of so few sizes: the sets of the least bound are carried on first."""
        waiting = [(least, _PartSet((), 0))]
        while waiting and self.work.left >= 0:
            bound, part = heapq.heappop(waiting)
            upper = best.cost if best else INFINITE
            if bound >= upper:
                break
            now = max(bound, self._bound(part))
            if now > bound:  # by prices that came after it: others may now be more promising
                heapq.heappush(waiting, (now, part))
            elif len(part.places) == self.most:
                best = self._look(part.places, upper) or best
                if self.work.left < 0:  # it may not have been looked at to the end
                    heapq.heappush(waiting, (bound, part))
            else:
                for more in self._with_another_size(part):
                    heapq.heappush(waiting, (max(bound, self._bound(more)), more))
        return best and best._replace(least=min([best.cost, *(bound for bound, _ in waiting)]))

    def _first(self, free: StageSizes) -> StageSizes | None:
        """Return the cheapest choice in a set that looks good: the sizes that gain most at the prices, one by one."""
        if not self.prices:
            return None
        charged = self.prices[-1].charged
        dear = 2.0 * (free.cost + sum(value for row in charged for value in row if value < INFINITE))
        now, places = [dear] * len(self.labels), []
        for _ in range(self.most):
            gains = [sum(max(0.0, had - has) for had, has in zip(now, row, strict=True)) for row in charged]
            places.append(gains.index(max(gains)))
            now = list(map(min, now, charged[places[-1]]))
        return self._look(sorted(places), INFINITE)

    def _with_another_size(self, part: _PartSet) -> Iterator[_PartSet]:
        """Yield the parts of a set with one size more, which leave enough for the rest."""
        last = len(self.sizes) - (self.most - len(part.places))
        for place in range(part.next_place, last + 1):
            yield _PartSet((*part.places, place), place + 1)

    def _look(self, places: Sequence[int], upper: float) -> StageSizes | None:
        """Return the cheapest choice in some sizes below a cost, and keep the prices that are good for them."""
        within = [sorted(pick for place in places for pick in by_size[place]) for by_size in self.picks]
        if not all(within):
            return None
        all_bounds = []
        for members, _, trees in self.stages:
            some = [_restricted(tree, [within[number] for number in members]) for tree in trees]
            self.work.left -= len(trees) * sum(len(within[number]) for number in members)
            bounds = best_bounds(some)
            if bounds is None:
                return None
            all_bounds.append(bounds)
        self._keep(all_bounds)
        if sum(bounds.total for bounds in all_bounds) >= upper:
            return None
        return self.best(within, upper)

    def _keep(self, all_bounds: Sequence[Bounds]) -> None:
        """Keep what every run costs in every size at the prices of some bounds."""
        charged = [[INFINITE] * len(self.labels) for _ in self.sizes]
        allowed = 0.0
        for (members, _, trees), bounds in zip(self.stages, all_bounds, strict=True):
            whole = priced(trees, bounds.limits(trees[0].parents))
            allowed += sum(whole.least) - whole.total
            for number, row in zip(members, whole.charged, strict=True):
                for place, picks in enumerate(self.picks[number]):
                    charged[place][number] = min((row[pick] for pick in picks), default=INFINITE)
        behind = [charged[-1]]
        for row in reversed(charged[:-1]):
            behind.append(list(map(min, row, behind[-1])))
        self.prices = [*self.prices[1 - _MOST_PRICES :], _Prices(charged, behind[::-1], allowed)]

    def _bound(self, part: _PartSet) -> float:
        """Return a cost that no set with these sizes goes below, by the best of the prices that are kept."""
        return max((self._bound_at(prices, part) for prices in self.prices), default=0.0)

    def _bound_at(self, prices: _Prices, part: _PartSet) -> float:
        """Return the bound at some prices."""
        runs, more = len(self.labels), self.most - len(part.places)
        self.work.left -= 1 + runs * (len(part.places) + (len(self.sizes) if more else 0)) // _STEPS_A_NUMBER
        now = [INFINITE] * runs
        for place in part.places:
            now = list(map(min, now, prices.charged[place]))
        if not more:
            return sum(now) - prices.allowed
        if part.next_place >= len(self.sizes):
            return INFINITE
        bound = sum(map(min, now, prices.behind[part.next_place])) - prices.allowed
        if max(now) < INFINITE:
            gains = heapq.nlargest(
                more,
                (
                    sum(had - has for had, has in zip(now, row, strict=True) if has < had)
                    for row in prices.charged[part.next_place :]
                ),
            )
            bound = max(bound, sum(now) - sum(gains) - prices.allowed)
        return bound

    def _worth_having(self, sizes: Sequence[str]) -> list[str]:
        """Return the sizes without those that another beats: in every run that may have them it is no worse."""
        beating: dict[str, dict[int, _Standing]] = {size: {} for size in sizes}
        beaten: dict[str, dict[int, _Standing]] = {size: {} for size in sizes}
        bores: dict[str, float] = {}
        for members, stage, _ in self.stages:
            for node, number in enumerate(members):
                for label, option in zip(self.labels[number], stage.options[node], strict=True):
                    figures = _figures(option, stage.flows[node], no_increase=stage.no_increase)
                    bores[label] = option.bore_m
                    beating[label].setdefault(number, figures)
                    # Two pipes of a run may have one label: what beats it must beat both.
                    beaten[label][number] = tuple(map(min, figures, beaten[label].get(number, figures)))
        kept: list[str] = []
        # The cheapest first, so that what beats most is met first; of two that are equal the first stays.
        for size in sorted(sizes, key=lambda size: sum(each[0] for each in beaten[size].values())):
            if not any(_beats(beating[other], beaten[size]) for other in kept):
                kept = [other for other in kept if not _beats(beating[size], beaten[other])]
                kept.append(size)
        return sorted(kept, key=lambda size: bores[size])


_Standing = tuple[float, ...]


def _figures(option: Option, flows: Sequence[float], *, no_increase: bool) -> _Standing:
    """Return the figures of which none may be higher for an option to be no worse than another."""
    losses = [option.section.loss(flow_kg_s) for flow_kg_s in dict.fromkeys(flows)]
    pressures = [figure for loss in losses for figure in (loss.linear_pa, loss.square_pa2, loss.flux_pa2)]
    bores = (option.feeder_bore_m, -option.bore_m) if no_increase else ()
    return (option.cost, *pressures, *option.needs_abs_pa, *bores)


def _beats(one_size: dict[int, _Standing], other: dict[int, _Standing]) -> bool:
    """Tell whether a size is no worse than another in every run that may have the other."""
    return all(
        number in one_size and all(map(operator.le, one_size[number], figures)) for number, figures in other.items()
    )


def _restricted(tree: StageTree, within: Sequence[Sequence[int]]) -> StageTree:
    """Return a stage under one scenario with some of the options of each node."""
    drops_pa = [[row[n] for n in some] for row, some in zip(tree.drops_pa, within, strict=True)]
    costs = [[row[n] for n in some] for row, some in zip(tree.costs, within, strict=True)]
    return StageTree(tree.parents, drops_pa, costs, tree.needs_pa, tree.source_pa)
