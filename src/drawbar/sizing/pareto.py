"""The cheapest pipes for one stage of a line, under one or more scenarios of flows: exact.

A run's choice matters to the rest of the tree only by the pressure it asks for at its start, under each scenario, and
by its cost. From the ends to the source, each node keeps the choices of its branch that no other beats in both
(Pareto). Those that can be in no solution below a cost looked for are dropped, by the bound of lower_bound.py. The
first look is just above the bound on the whole; where it comes to nothing, the next goes higher.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.sizing.branch_choices import BranchChoice, Trace, merged, most_promising, unbeaten
from drawbar.sizing.lower_bound import INFINITE, Bounds
from drawbar.sizing.stage import SAME_BORE, Stage, StageNode, nodes_and_bounds
from drawbar.sizing.stepwise import stepwise

_MOST_WORK = 600_000  # steps of the searches for one job, each a choice looked at or held against others
_NARROW = 30  # how many choices a node keeps in the first search for one that passes, not proven the cheapest
_WIDER = 4  # times as many in the second
_BOUND_WORK = 4  # steps that the bound costs for each choice in each scenario
_MOST_FIGURES = 13_000  # of all options under all groups of scenarios; of more, each node keeps fewer
_MOST_HELD_FIGURES = 4_000  # where no run may be larger than its feeder: there are no steps in its place
_LEAST_NARROW, _NARROW_WORK = 4, 80_000  # how few at the least, and how many figures they may have in all
# How far above the bound to look, as shares of the way to the dearest choice. The cheapest is most often close by, and
# the lower the look, the fewer choices are kept.
_LOOKS = (*(4.0**-power for power in range(6, 0, -1)), INFINITE)


class StageSizes(NamedTuple):
    """The cheapest choice for a stage.

    Attributes
    ----------
    cost : float
        What it costs.
    picks : list of int
        Each node's option by number.
    least : float
        A cost that no choice that passes goes below: the cost itself where it is proven the cheapest, else less.
    """

    cost: float
    picks: list[int]
    least: float


class _TooMuchWorkError(Exception):
    """The choices are more than can be looked at in reasonable time."""


@dataclass(slots=True)
class Work:
    """What is left of the steps that proving may take, over all searches of a job."""

    left: int = _MOST_WORK


def cheapest(
    stage: Stage, upper: float = INFINITE, work: Work | None = None, known_least: float = 0.0
) -> StageSizes | None:
    """Return the cheapest choice that passes and costs less than `upper`, None if there is none.

    It is proven the cheapest, but for stages with so many runs and scenarios at once that the work is not enough. Then
    it is the best that was come to, and None may mean that none was.

    Parameters
    ----------
    stage : Stage
        The runs with what each may have.
    upper : float
        What the choice must cost less than.
    work : Work, optional
        What is left of the steps that the search may take; without it, a job's whole share.
    known_least : float
        A cost that no choice is known to go below, as from fewer scenarios.

    Returns
    -------
    StageSizes or None
        The choice with its cost.
    """
    nodes, trees, bounds = nodes_and_bounds(stage)
    work = work or Work()
    work.left -= _BOUND_WORK * len(stage.flows[0]) * sum(map(len, stage.options))
    if bounds is None or bounds.total >= upper:
        return None
    return _Search(stage, nodes, bounds, work).run(upper, known_least, [tree.drops_pa for tree in trees])


class _Search:
    def __init__(self, stage: Stage, nodes: Sequence[StageNode], bounds: Bounds, work: Work) -> None:
        self.stage = stage
        self.nodes = nodes
        self.bounds = bounds
        self.work = work
        self.is_narrow = False
        self.narrow = _NARROW

    def run(self, upper: float, known_least: float, least_pa: Sequence[Sequence[Sequence[float]]]) -> StageSizes | None:
        """Look for a choice a little over the bound, then for dearer ones: what is met first is the cheapest.

        Where a node's choices are compared in several figures, a narrow search comes first, or steps from the widest
        where they are very many: nothing dearer than what comes of it need be looked at.
        """
        bottom, least = self.bounds.total, max(self.bounds.total, known_least)
        dearest = sum(max(option.cost for option in options) for options in self.stage.options)
        has_several = any(len(node.groups) > 1 for node in self.nodes)
        self.narrow = self._narrow()
        known = self._stepped(upper, least_pa) if has_several and self.narrow < _NARROW else None
        is_to_be_searched = has_several and known is None
        if is_to_be_searched:
            known = self._look(upper, self.narrow)
        try:
            if is_to_be_searched and self.work.left >= 0:
                known = self._look(known.cost if known else upper, _WIDER * self.narrow) or known
            upper = known.cost if known else upper
            for share in _LOOKS:
                below = min(upper, bottom + share * (dearest - bottom)) if share < INFINITE else upper
                if below <= known_least < upper:
                    continue
                choice = self._look(below)
                if choice is not None:
                    return self._sizes(choice, choice.cost)
                least = below
                if below >= upper:
                    return self._sizes(known, least)
        except _TooMuchWorkError:
            return self._sizes(known if has_several else self._look(upper, self.narrow), least)
        return self._sizes(known, least)

    def _stepped(self, upper: float, least_pa: Sequence[Sequence[Sequence[float]]]) -> BranchChoice | None:
        """Return what is come to step by step, where a narrow search would be too narrow; None if it costs too much."""
        if self.stage.no_increase:
            return None
        picks = stepwise(self.stage, least_pa)
        if picks is None:
            return None
        cost = sum(options[pick].cost for options, pick in zip(self.stage.options, picks, strict=True))
        trace: Trace = None
        for number, pick in enumerate(picks):
            trace = (number, pick, trace)
        return BranchChoice((0.0,), cost, trace) if cost < upper else None

    def _narrow(self) -> int:
        """Return how many choices a node keeps in the narrow searches, by how much there is to work out for each."""
        figures = sum(
            len(options) * len(node.groups) for options, node in zip(self.stage.options, self.nodes, strict=True)
        )
        if figures <= (_MOST_HELD_FIGURES if self.stage.no_increase else _MOST_FIGURES):
            return _NARROW
        return max(_LEAST_NARROW, min(_NARROW - 1, _NARROW_WORK // figures))

    def _sizes(self, choice: BranchChoice | None, least: float) -> StageSizes | None:
        return choice and StageSizes(choice.cost, choice.options(len(self.nodes)), min(least, choice.cost))

    def _look(self, upper: float, most: int | None = None) -> BranchChoice | None:
        """Return the cheapest choice for the whole stage below `upper`, None if there is none.

        With `most`, a node keeps no more than so many, the most promising; the answer may then not be the cheapest.
        """
        self.is_narrow = most == self.narrow
        fronts: list[list[BranchChoice]] = [[] for _ in self.nodes]
        roots: list[list[BranchChoice]] = []
        for number in range(len(self.nodes) - 1, -1, -1):
            node = self.nodes[number]
            behind = self._joined(number, fronts, upper, most)
            front = self._through(number, behind, upper)
            fronts[number] = front if most is None else most_promising(front, most, node.start_prices)
            if not fronts[number]:
                return None
            for child in node.children:
                fronts[child] = []  # no longer needed
            if self.stage.parents[number] < 0:
                roots.append(fronts[number])
        whole = roots[0]
        for front in roots[1:]:
            whole = self._two(whole, front, (0.0,), INFINITE)
        fitting = [choice for choice in whole if choice.asks[0] <= self.stage.source_abs_pa and choice.cost < upper]
        return min(fitting, key=lambda choice: choice.cost, default=None)

    def _joined(
        self, number: int, fronts: Sequence[list[BranchChoice]], upper: float, most: int | None
    ) -> list[BranchChoice]:
        """Return the choices for the branches that start at a node's end: costs add up, and the largest ask counts.

        Those are left out that are too dear with the least that the node, what is not joined yet, and all outside cost.
        """
        bounds, node = self.bounds, self.nodes[number]
        if not node.children:
            return [BranchChoice((0.0,) * (len(node.groups) + self.stage.no_increase), 0.0, None)]
        source_pa = self.stage.source_abs_pa
        outside = bounds.total - bounds.branch[number] + bounds.least[number]
        joined = fronts[node.children[0]]
        prices = self.nodes[node.children[0]].start_prices
        for place, child in enumerate(node.children[1:], 2):
            prices = tuple(map(operator.add, prices, self.nodes[child].start_prices))
            waiting = sum(bounds.branch[later] for later in node.children[place:])
            most_cost = upper - outside - waiting + source_pa * sum(prices)
            joined = self._two(joined, fronts[child], prices, most_cost)
            if most is not None:
                joined = most_promising(joined, most, prices)
        return joined

    def _two(
        self, left: list[BranchChoice], right: list[BranchChoice], prices: tuple[float, ...], most_cost: float
    ) -> list[BranchChoice]:
        """Join two fronts; what costs too much at the prices is left out."""
        if not left or not right:
            return []
        if len(left[0].asks) == 1:
            return list(merged(left, right))
        self._count(len(left) * len(right))
        choices = []
        for a in left:
            for b in right:
                asks = tuple(map(max, a.asks, b.asks))
                cost = a.cost + b.cost
                if cost + sum(map(operator.mul, prices, asks)) < most_cost:
                    choices.append(BranchChoice(asks, cost, (a.trace, b.trace)))
        return unbeaten(choices, self._count)

    def _through(self, number: int, behind: Sequence[BranchChoice], upper: float) -> list[BranchChoice]:
        """Return the choices at a node's start, its pipe chosen each way, without those beaten or too dear."""
        stage, node = self.stage, self.nodes[number]
        outside = self.bounds.total - self.bounds.branch[number]
        most_cost = upper - outside + stage.source_abs_pa * sum(node.start_prices)
        self._count(len(behind) * len(stage.options[number]) * len(node.groups))
        has_one_figure = len(node.start_prices) == len(node.groups) == 1 and not stage.no_increase
        with_pipe = self._with_pipe_in_one_figure if has_one_figure else self._with_pipe
        return unbeaten(list(with_pipe(number, behind, most_cost)), self._count)

    def _with_pipe_in_one_figure(
        self, number: int, behind: Sequence[BranchChoice], most_cost: float
    ) -> Iterator[BranchChoice]:
        """Yield what _with_pipe does where all scenarios ask one figure, as in most jobs, with less to do for each."""
        node = self.nodes[number]
        price, flow_kg_s, most_abs_pa = node.start_prices[0], node.groups[0][1], node.most_abs_pa
        for pick, option in enumerate(self.stage.options[number]):
            need, least_pa = node.needs[pick][0], node.least_pa[pick][0]
            inlet_abs_pa, option_cost = option.section.inlet_abs_pa, option.cost
            for choice in behind:
                at_end = choice.asks[0]
                at_end = at_end if at_end > need else need
                cost = choice.cost + option_cost
                if cost + price * (at_end + least_pa) >= most_cost:
                    continue
                ask = inlet_abs_pa(at_end, flow_kg_s) if at_end else 0.0
                if ask <= most_abs_pa and cost + price * ask < most_cost:
                    yield BranchChoice((ask,), cost, (number, pick, choice.trace))

    def _with_pipe(self, number: int, behind: Sequence[BranchChoice], most_cost: float) -> Iterator[BranchChoice]:
        """Yield each choice behind a node with each of its pipes before it, but for those too dear."""
        no_increase, node = self.stage.no_increase, self.nodes[number]
        for pick, option in enumerate(self.stage.options[number]):
            needs, least = node.needs[pick], node.least_pa[pick]
            bore_m = option.bore_m
            for choice in behind:
                if no_increase and choice.asks[-1] > bore_m * SAME_BORE:
                    continue
                cost = choice.cost + option.cost
                at_end = tuple(map(max, choice.asks, needs))
                taken = sum(p * (a + d) for p, a, d in zip(node.end_prices, at_end, least, strict=True) if p)
                if cost + taken >= most_cost:
                    continue
                asks = _asks_at_start(node, option.section.inlet_abs_pa, at_end)
                too_dear = cost + sum(map(operator.mul, node.start_prices, asks)) >= most_cost
                if not too_dear and max(asks) <= node.most_abs_pa:
                    if no_increase:
                        asks.append(option.feeder_bore_m)
                    yield BranchChoice(tuple(asks), cost, (number, pick, choice.trace))

    def _count(self, steps: int) -> None:
        """Count the work; a search that takes too much of it is given up for the narrowest, which is not counted."""
        if self.is_narrow:
            return
        self.work.left -= steps
        if self.work.left < 0:
            raise _TooMuchWorkError


def _asks_at_start(
    node: StageNode, inlet_abs_pa: Callable[[float, float], float], at_end: Sequence[float]
) -> list[float]:
    """Return what a pipe asks for at its start by group there [Pa absolute], for what it must give at its end."""
    asks = [0.0] * len(node.start_prices)
    for ask, (group, flow_kg_s) in zip(at_end, node.groups, strict=True):
        if ask:
            asks[group] = max(asks[group], inlet_abs_pa(ask, flow_kg_s))
    return asks
