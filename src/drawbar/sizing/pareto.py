"""The cheapest pipes for one stage of a line, under one or more scenarios of flows: exact.

A run's choice matters to the rest of the tree only by the pressure it asks for at its start, under each scenario, and
by its cost. From the ends to the source, each node keeps the choices of its branch that no other beats in both
(Pareto). Those that can be in no solution below a cost looked for are dropped, by the bound of bound.py. The first
look is just above the bound on the whole; where it finds nothing, the next goes higher.
"""

from __future__ import annotations

import bisect
import operator
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from drawbar.line.section import Section
from drawbar.sizing.lower_bound import INFINITE, Bounds, StageTree, best_bounds

_BY_ASK = operator.itemgetter(0, 1)
_BY_COST = operator.itemgetter(1, 0)
MOST_WORK_OF_SEARCH = 800_000  # steps of the searches for one job, each a label looked at or held against others
NARROW = 30  # how many labels a node keeps where that is not enough
# How far above the bound to look, as shares of the way to the dearest choice. The cheapest is most often close by, and
# the lower the look, the fewer labels are kept.
LOOKS = (*(4.0**-power for power in range(6, 0, -1)), INFINITE)


class Option(NamedTuple):
    """One pipe that a run may have: part, cost, and what its own end needs under each scenario [Pa absolute]."""

    section: Section
    cost: float
    needs_abs_pa: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """The runs behind one regulator, up to the next regulators.

    parents : by node, the node it hangs on (lower than its own), -1 for the regulator
    options : by node, the pipes it may have
    flows : by node and scenario, the mass flow [kg/s]
    source_abs_pa : what the regulator gives [Pa absolute]
    highest_abs_pa, lowest_abs_pa : pressures that no part of the stage goes above, or may go below [Pa absolute]
    no_increase : whether no run may be larger than the one that feeds it
    """

    parents: Sequence[int]
    options: Sequence[Sequence[Option]]
    flows: Sequence[Sequence[float]]
    source_abs_pa: float
    highest_abs_pa: float
    lowest_abs_pa: float
    no_increase: bool = False


class Label(NamedTuple):
    """A choice for a branch: what it asks for at its start (one figure a group of scenarios), cost, how it was made."""

    asks: tuple[float, ...]
    cost: float
    trace: tuple[int, int, object] | tuple[object, object] | None


class Found(NamedTuple):
    """The cheapest choice: its cost, each node's option by number, and a cost that no choice that passes goes below.

    least : the cost itself where the choice is proven the cheapest, else less
    """

    cost: float
    picks: list[int]
    least: float


class TooMuchWorkError(Exception):
    """The labels are more than can be looked at in reasonable time."""


@dataclass(slots=True)
class _Node:
    """A node as the search needs it.

    groups : (group at the node before, flow) of each group of scenarios; scenarios are of one group where all flows
        from the source to here are the same, for then only the largest of what they ask for matters
    needs : by option, what the node's own end needs, by group [Pa absolute]
    least_pa : by option, the least that it takes, by group [Pa]
    start_prices, end_prices : by group at the start and at the end, what a pascal is worth
    """

    groups: list[tuple[int, float]] = field(default_factory=list)
    needs: list[tuple[float, ...]] = field(default_factory=list)
    least_pa: list[tuple[float, ...]] = field(default_factory=list)
    most_abs_pa: float = 0.0
    start_prices: tuple[float, ...] = (0.0,)
    end_prices: tuple[float, ...] = (0.0,)


@dataclass(slots=True)
class Work:
    """What is left of the steps that proving may take, over all searches of a job."""

    left: int = MOST_WORK_OF_SEARCH


def cheapest(stage: Stage, upper: float = INFINITE, work: Work | None = None) -> Found | None:
    """Return the cheapest choice that passes and costs less than `upper`, None if there is none.

    It is proven the cheapest, but for stages with so many runs and scenarios at once that the work is not enough. Then
    it is the best that was found, and None may mean that none was found.
    """
    return _Search(stage, work or Work()).run(upper)


class _Search:
    def __init__(self, stage: Stage, work: Work) -> None:
        self.stage = stage
        self.work = work
        self.nodes = [_Node() for _ in stage.parents]
        self.children: list[list[int]] = [[] for _ in stage.parents]
        for number, parent in enumerate(stage.parents):
            if parent >= 0:
                self.children[parent].append(number)
        self.membership = self._group()
        self.bounds = self._bound()
        self.is_narrow = False

    def _group(self) -> list[list[int]]:
        """Group the scenarios at every node; returns by node the group of each scenario."""
        stage = self.stage
        membership: list[list[int]] = []
        for number, parent in enumerate(stage.parents):
            before = membership[parent] if parent >= 0 else [0] * len(stage.flows[number])
            known: dict[tuple[int, float], int] = {}
            own = [known.setdefault(key, len(known)) for key in zip(before, stage.flows[number], strict=True)]
            membership.append(own)
            node = self.nodes[number]
            node.groups = list(known)
            for option in stage.options[number]:
                needs = [0.0] * len(known)
                for scenario, need in enumerate(option.needs_abs_pa):
                    needs[own[scenario]] = max(needs[own[scenario]], need)
                node.needs.append(tuple(needs))
                node.least_pa.append(
                    tuple(
                        option.section.least_drop_pa(flow_kg_s, stage.lowest_abs_pa, stage.highest_abs_pa)
                        for _, flow_kg_s in known
                    )
                )
        return membership

    def _bound(self) -> Bounds | None:
        """Set what each node knows of the bound, and the most pressure it can be given; None if nothing can pass."""
        stage, scenarios = self.stage, range(len(self.stage.flows[0]))
        costs = [
            [
                option.cost if max(least) < INFINITE else INFINITE
                for option, least in zip(options, node.least_pa, strict=True)
            ]
            for options, node in zip(stage.options, self.nodes, strict=True)
        ]
        trees = [
            StageTree(
                stage.parents,
                [
                    [least[own[scenario]] for least in node.least_pa]
                    for own, node in zip(self.membership, self.nodes, strict=True)
                ],
                costs,
                [min(option.needs_abs_pa[scenario] for option in options) for options in stage.options],
                stage.source_abs_pa,
            )
            for scenario in scenarios
        ]
        found = best_bounds(trees)
        if found is None:
            return None
        for number, parent in enumerate(stage.parents):
            node = self.nodes[number]
            before = self.membership[parent] if parent >= 0 else [0] * len(scenarios)
            start = [0.0] * (max(before) + 1)
            end = [0.0] * len(node.groups)
            for scenario in scenarios:
                start[before[scenario]] += found.prices[scenario][number]
                end[self.membership[number][scenario]] += found.prices[scenario][number]
            node.start_prices, node.end_prices = tuple(start), tuple(end)
            node.most_abs_pa = stage.source_abs_pa
            if parent >= 0:
                taken = min(min(least) for least in self.nodes[parent].least_pa)
                node.most_abs_pa = self.nodes[parent].most_abs_pa - taken
        return found

    def run(self, upper: float) -> Found | None:
        """Look for a choice a little over the bound, then for dearer ones: what is found first is the cheapest."""
        if self.bounds is None or self.bounds.total >= upper:
            return None
        bottom = self.bounds.total
        dearest = sum(max(option.cost for option in options) for options in self.stage.options)
        least = bottom
        try:
            for share in LOOKS:
                below = min(upper, bottom + share * (dearest - bottom)) if share < INFINITE else upper
                found = self._look(below)
                if found is not None:
                    return Found(found.cost, self._choices(found), found.cost)
                least = below
                if below >= upper:
                    return None
        except TooMuchWorkError:
            found = self._look(upper, NARROW)
            return None if found is None else Found(found.cost, self._choices(found), least)
        return None

    def _look(self, upper: float, most: int | None = None) -> Label | None:
        """Return the cheapest label of the whole stage below `upper`, None if there is none.

        most : how many labels a node keeps, the most promising; what is found may then not be the cheapest
        """
        fronts: list[list[Label]] = [[] for _ in self.nodes]
        roots: list[list[Label]] = []
        for number in range(len(self.nodes) - 1, -1, -1):
            behind = self._joined(number, fronts, upper, most)
            front = self._through(number, behind, upper)
            fronts[number] = front if most is None else self._narrowed(number, front, most)
            if not fronts[number]:
                return None
            for child in self.children[number]:
                fronts[child] = []  # no longer needed
            if self.stage.parents[number] < 0:
                roots.append(fronts[number])
        whole = roots[0]
        for front in roots[1:]:
            whole = self._two(whole, front, (0.0,), INFINITE)
        fitting = [label for label in whole if label.asks[0] <= self.stage.source_abs_pa and label.cost < upper]
        return min(fitting, key=lambda label: label.cost, default=None)

    def _joined(self, number: int, fronts: Sequence[list[Label]], upper: float, most: int | None) -> list[Label]:
        """Return the labels of the branches that start at a node's end: costs add up, and the largest ask counts.

        Those are left out that are too dear with the least that the node, what is not joined yet, and all outside cost.
        """
        bounds, node, children = self.bounds, self.nodes[number], self.children[number]
        assert bounds is not None  # run looks first
        width = len(node.groups) + self.stage.no_increase
        if not children:
            return [Label((0.0,) * width, 0.0, None)]
        source_pa = self.stage.source_abs_pa
        outside = bounds.total - bounds.branch[number] + bounds.least[number]
        joined = fronts[children[0]]
        prices = list(self.nodes[children[0]].start_prices)
        for place, child in enumerate(children[1:], 2):
            prices = [one + other for one, other in zip(prices, self.nodes[child].start_prices, strict=True)]
            waiting = sum(bounds.branch[later] for later in children[place:])
            most_cost = upper - outside - waiting + source_pa * sum(prices)
            joined = self._two(joined, fronts[child], tuple(prices), most_cost)
            if most is not None:
                joined = self._narrowed(number, joined, most, tuple(prices))
        return joined

    def _two(self, first: list[Label], second: list[Label], prices: tuple[float, ...], most_cost: float) -> list[Label]:
        """Join two fronts; what costs too much at the prices is left out."""
        if not first or not second:
            return []
        if len(first[0].asks) == 1:
            return list(_merged(first, second))
        self._count(len(first) * len(second))
        found = []
        for a in first:
            for b in second:
                asks = tuple(map(max, a.asks, b.asks))
                cost = a.cost + b.cost
                if cost + sum(map(operator.mul, prices, asks)) < most_cost:
                    found.append(Label(asks, cost, (a.trace, b.trace)))
        return self._unbeaten(found)

    def _through(self, number: int, behind: Sequence[Label], upper: float) -> list[Label]:
        """Return the labels at a node's start, its pipe chosen each way, without those beaten or too dear."""
        stage, node = self.stage, self.nodes[number]
        assert self.bounds is not None  # run looks first
        outside = self.bounds.total - self.bounds.branch[number]
        most_cost = upper - outside + stage.source_abs_pa * sum(node.start_prices)
        groups, before = node.groups, len(node.start_prices)
        self._count(len(behind) * len(stage.options[number]) * len(groups))
        found: list[Label] = []
        if before == len(groups) == 1 and not stage.no_increase:
            price, flow_kg_s = node.start_prices[0], groups[0][1]
            for pick, option in enumerate(stage.options[number]):
                need, least_pa = node.needs[pick][0], node.least_pa[pick][0]
                inlet = option.section.inlet_abs_pa
                for label in behind:
                    asked = label.asks[0]
                    asked = asked if asked > need else need
                    total = label.cost + option.cost
                    if total + price * (asked + least_pa) >= most_cost:
                        continue
                    ask = inlet(asked, flow_kg_s) if asked else 0.0
                    if ask <= node.most_abs_pa and total + price * ask < most_cost:
                        found.append(Label((ask,), total, (number, pick, label.trace)))
            return _unbeaten_one(found)
        for pick, option in enumerate(stage.options[number]):
            needs, least = node.needs[pick], node.least_pa[pick]
            bore_m, inlet = option.section.pipe.bore_m, option.section.inlet_abs_pa
            for label in behind:
                if stage.no_increase and label.asks[-1] > bore_m * 1.000001:
                    continue
                total = label.cost + option.cost
                at_end = tuple(map(max, label.asks, needs))
                taken = sum(p * (a + d) for p, a, d in zip(node.end_prices, at_end, least, strict=True) if p)
                if total + taken >= most_cost:
                    continue
                asks = [0.0] * before
                for ask, (into, flow_kg_s) in zip(at_end, groups, strict=True):
                    if ask:
                        asks[into] = max(asks[into], inlet(ask, flow_kg_s))
                if (
                    max(asks) <= node.most_abs_pa
                    and total + sum(map(operator.mul, node.start_prices, asks)) < most_cost
                ):
                    if stage.no_increase:
                        asks.append(bore_m)
                    found.append(Label(tuple(asks), total, (number, pick, label.trace)))
        return self._unbeaten(found)

    def _unbeaten(self, labels: list[Label]) -> list[Label]:
        """Return the labels that no other beats, by rising ask where there is one figure."""
        if labels and len(labels[0].asks) == 1:
            return _unbeaten_one(labels)
        return _unbeaten_two(labels) if labels and len(labels[0].asks) == 2 else self._unbeaten_many(labels)

    def _unbeaten_many(self, labels: list[Label]) -> list[Label]:
        labels.sort(key=_BY_COST)
        kept: list[Label] = []
        for label in labels:
            asks = label.asks
            self._count(len(kept) // 8)
            if not any(all(map(operator.le, other.asks, asks)) for other in kept):
                kept.append(label)
        return kept

    def _narrowed(
        self, number: int, front: list[Label], most: int, prices: tuple[float, ...] | None = None
    ) -> list[Label]:
        """Return the most promising labels by the bound, and always the one that asks least, in the front's order."""
        if len(front) <= most:
            return front
        prices = prices or self.nodes[number].start_prices
        ranked = sorted(
            range(len(front)), key=lambda at: front[at].cost + sum(map(operator.mul, prices, front[at].asks))
        )
        least = min(range(len(front)), key=lambda at: sum(front[at].asks))
        return [front[at] for at in sorted({*ranked[: most - 1], least})]

    def _count(self, steps: int) -> None:
        """Count the work; a search that takes too much of it is given up for a narrower one, which is not counted."""
        if not self.is_narrow:
            self.work.left -= steps
            if self.work.left < 0:
                self.is_narrow = True
                raise TooMuchWorkError

    def _choices(self, label: Label) -> list[int]:
        """Return the option of each node that a label was made with."""
        picks = [0] * len(self.nodes)
        waiting: list[object] = [label.trace]
        while waiting:
            trace = waiting.pop()
            if not isinstance(trace, tuple):
                continue
            if len(trace) == 3:
                picks[trace[0]] = trace[1]
                waiting.append(trace[2])
            else:
                waiting.extend(trace)
        return picks


def _unbeaten_one(labels: list[Label]) -> list[Label]:
    """Return, by rising ask and falling cost, the labels with one figure that no other beats."""
    labels.sort(key=_BY_ASK)
    kept: list[Label] = []
    least = float("inf")
    for label in labels:
        if label.cost < least:
            kept.append(label)
            least = label.cost
    return kept


def _unbeaten_two(labels: list[Label]) -> list[Label]:
    """Return the labels with two figures that no other beats: by rising cost, held against a staircase of the kept."""
    labels.sort(key=_BY_COST)
    kept: list[Label] = []
    firsts: list[float] = []  # the staircase: first figures rising, second figures falling
    seconds: list[float] = []
    for label in labels:
        first, second = label.asks
        place = bisect.bisect_right(firsts, first)
        if place and seconds[place - 1] <= second:
            continue
        kept.append(label)
        end = place
        while end < len(firsts) and seconds[end] >= second:
            end += 1
        firsts[place:end], seconds[place:end] = [first], [second]
    return kept


def _merged(first: list[Label], second: list[Label]) -> Iterator[Label]:
    one = other = 0
    while True:
        ask = max(first[one].asks, second[other].asks)
        while one + 1 < len(first) and first[one + 1].asks <= ask:
            one += 1
        while other + 1 < len(second) and second[other + 1].asks <= ask:
            other += 1
        yield Label(ask, first[one].cost + second[other].cost, (first[one].trace, second[other].trace))
        after = [front[at + 1].asks for front, at in ((first, one), (second, other)) if at + 1 < len(front)]
        if not after:
            return
        # the next ask at which either front has a cheaper label
        if one + 1 < len(first) and first[one + 1].asks == min(after):
            one += 1
        else:
            other += 1
