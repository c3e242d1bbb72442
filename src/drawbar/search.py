"""The cheapest pipes for one stage of a line, under one or more scenarios of flows: exact.

A run's choice matters to the rest of the tree only by the pressure it asks for at its start, under each scenario, and
by its cost. From the ends to the source, each node keeps the choices of its branch that no other beats in both
(Pareto). Those that can be in no solution below a cost looked for are dropped, by the bound of bound.py. The first
look is just above the bound on the whole; where it finds nothing, the next goes higher.
"""

from __future__ import annotations

import operator
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from drawbar.bound import Bound, Tree, bounds
from drawbar.network import Part

_BY_ASK = operator.itemgetter(0, 1)
# How far above the bound to look, as shares of the way to the dearest choice. The cheapest is most often close by, and
# the lower the look, the fewer labels are kept.
LOOKS = (*(4.0**-power for power in range(6, 0, -1)), float("inf"))


INFINITE = float("inf")


class Option(NamedTuple):
    """One pipe that a run may have: part, cost, and what its own end needs under each scenario [Pa absolute]."""

    part: Part
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


@dataclass(slots=True)
class _Node:
    """A node as the search needs it.

    groups : (group at the node before, flow) of each group of scenarios; scenarios are of one group where all flows
    from the source
        to here are the same, for then only the largest of what they ask for matters
    needs : by option, what the node's own end needs, by group
    least_pa : by option, the least that it takes under the scenario that the bound is for [Pa]
    """

    groups: list[tuple[int, float]] = field(default_factory=list)
    needs: list[tuple[float, ...]] = field(default_factory=list)
    least_pa: list[float] = field(default_factory=list)
    most_abs_pa: float = 0.0
    bound: Bound = field(default_factory=lambda: Bound(0.0, 0.0))
    bound_group: int = 0


def cheapest(stage: Stage, upper: float = float("inf")) -> tuple[float, list[int]] | None:
    """Return (cost, each node's option by number) of the cheapest choice that passes and costs less than `upper`."""
    return _Search(stage).run(upper)


class _Search:
    def __init__(self, stage: Stage) -> None:
        self.stage = stage
        self.nodes = [_Node() for _ in stage.parents]
        self.children: list[list[int]] = [[] for _ in stage.parents]
        for number, parent in enumerate(stage.parents):
            if parent >= 0:
                self.children[parent].append(number)
        self.membership = self._group()
        self.least = self._bound()

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
        return membership

    def _bound(self) -> float:
        """Set each node's bound and the most pressure it can be given; return a bound on the cost of the stage."""
        stage = self.stage
        best, best_scenario = -1.0, 0
        found: list[Bound] = []
        best_drops: list[list[tuple[float, float]]] = []
        least_pa = [INFINITE] * len(stage.parents)
        for scenario in range(len(stage.flows[0])):
            all_drops = [self._drops(number, scenario) for number in range(len(stage.parents))]
            drops = [[pair for pair in pairs if pair[0] < INFINITE] for pairs in all_drops]
            if not all(drops):
                return INFINITE
            tree = Tree(
                stage.parents,
                drops,
                [min(option.needs_abs_pa[scenario] for option in options) for options in stage.options],
                stage.source_abs_pa,
            )
            for number, pairs in enumerate(drops):
                least_pa[number] = min(least_pa[number], min(pairs)[0])
            total, by_node = bounds(tree)
            if total == INFINITE:
                return total
            if total > best:
                best, best_scenario, found, best_drops = total, scenario, by_node, all_drops
        for number, parent in enumerate(stage.parents):
            node = self.nodes[number]
            node.bound = found[number]
            node.least_pa = [drop for drop, _ in best_drops[number]]
            node.bound_group = self.membership[parent][best_scenario] if parent >= 0 else 0
            node.most_abs_pa = self.nodes[parent].most_abs_pa - least_pa[parent] if parent >= 0 else stage.source_abs_pa
        return best

    def _drops(self, number: int, scenario: int) -> list[tuple[float, float]]:
        """Return (drop that the option does not go below [Pa], its cost) for every option of a node."""
        flow_kg_s = self.stage.flows[number][scenario]
        stage = self.stage
        return [
            (option.part.least_drop_pa(flow_kg_s, stage.lowest_abs_pa, stage.highest_abs_pa), option.cost)
            for option in stage.options[number]
        ]

    def run(self, upper: float) -> tuple[float, list[int]] | None:
        """Look for a choice a little over the bound, then for dearer ones: what is found first is the cheapest."""
        if self.least >= upper:
            return None
        dearest = sum(max(option.cost for option in options) for options in self.stage.options)
        for share in LOOKS:
            below = min(upper, self.least + share * (dearest - self.least)) if share < INFINITE else upper
            found = self._look(below)
            if found is not None:
                return found.cost, self._choices(found)
            if below >= upper:
                break
        return None

    def _look(self, upper: float) -> Label | None:
        """Return the cheapest label of the whole stage below `upper`, None if there is none."""
        fronts: list[list[Label]] = [[] for _ in self.nodes]
        roots: list[list[Label]] = []
        for number in range(len(self.nodes) - 1, -1, -1):
            node = self.nodes[number]
            behind = self._joined([fronts[child] for child in self.children[number]], len(node.groups))
            if not behind:
                return None
            fronts[number] = self._through(number, behind, upper)
            if not fronts[number]:
                return None
            for child in self.children[number]:
                fronts[child] = []  # no longer needed
            if self.stage.parents[number] < 0:
                roots.append(fronts[number])
        whole = self._joined(roots, 1)
        fitting = [label for label in whole if label.asks[0] <= self.stage.source_abs_pa and label.cost < upper]
        return min(fitting, key=lambda label: label.cost, default=None)

    def _joined(self, fronts: Sequence[list[Label]], groups: int) -> list[Label]:
        """Return the labels of branches that start at one point: costs add up, and the largest ask counts."""
        width = groups + self.stage.no_increase
        if not fronts:
            return [Label((0.0,) * width, 0.0, None)]
        joined = fronts[0]
        for front in fronts[1:]:
            joined = _join_one(joined, front) if width == 1 else _join_many(joined, front)
        return joined

    def _through(self, number: int, behind: Sequence[Label], upper: float) -> list[Label]:
        """Return the labels at a node's start, its pipe chosen each way, without those beaten or too dear."""
        stage, node = self.stage, self.nodes[number]
        parent = stage.parents[number]
        before = len(self.nodes[parent].groups) if parent >= 0 else 1
        groups = node.groups
        plain = before == len(groups) == 1 and not stage.no_increase
        at_least, price = node.bound
        most_cost = upper - at_least + price * stage.source_abs_pa
        found: list[Label] = []
        for pick, (option, needs) in enumerate(zip(stage.options[number], node.needs, strict=True)):
            inlet, cost = option.part.inlet_abs_pa, option.cost
            if plain:
                flow_kg_s, need = groups[0][1], needs[0]
                least_pa = node.least_pa[pick]
                for label in behind:
                    asked = label.asks[0]
                    asked = asked if asked > need else need
                    total = label.cost + cost
                    if total + price * (asked + least_pa) >= most_cost:
                        continue
                    ask = inlet(asked, flow_kg_s) if asked else 0.0
                    if ask <= node.most_abs_pa and total + price * ask < most_cost:
                        found.append(Label((ask,), total, (number, pick, label.trace)))
                continue
            bore_m = option.part.pipe.bore_m
            for label in behind:
                if stage.no_increase and label.asks[-1] > bore_m * 1.000001:
                    continue
                asks = [0.0] * before
                for group, (into, flow_kg_s) in enumerate(groups):
                    asked = max(label.asks[group], needs[group])
                    if asked:
                        asks[into] = max(asks[into], inlet(asked, flow_kg_s))
                total = label.cost + cost
                if max(asks) <= node.most_abs_pa and total + price * asks[node.bound_group] < most_cost:
                    if stage.no_increase:
                        asks.append(bore_m)
                    found.append(Label(tuple(asks), total, (number, pick, label.trace)))
        one_figure = before == 1 and not stage.no_increase
        return _unbeaten_one(found) if one_figure else _unbeaten_many(found)

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


def _unbeaten_many(labels: list[Label]) -> list[Label]:
    """Return the labels that no other beats in all its figures and in cost."""
    labels.sort(key=lambda label: (label.cost, label.asks))
    kept: list[Label] = []
    for label in labels:
        asks = label.asks
        if not any(all(a <= b for a, b in zip(other.asks, asks, strict=True)) for other in kept):
            kept.append(label)
    return kept


def _join_one(first: list[Label], second: list[Label]) -> list[Label]:
    """Join two fronts by rising ask: at each ask the cheapest of either that asks no more."""
    return list(_merged(first, second))


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


def _join_many(first: list[Label], second: list[Label]) -> list[Label]:
    return _unbeaten_many(
        [Label(tuple(map(max, a.asks, b.asks)), a.cost + b.cost, (a.trace, b.trace)) for a in first for b in second]
    )
