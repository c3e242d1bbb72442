"""One stage of a line as the search for its cheapest pipes sees it: what each run may have, and what each node knows.

A node is a run with its end. Scenarios of flows are of one group at a node where all flows from the source to it are
the same, for then only the largest of what they ask for matters. A scenario that asks for less than another all the way
from the source through the branch behind a node has no group there: it can't limit the branch.
"""

from __future__ import annotations

import operator
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from drawbar.line.section import Section
from drawbar.sizing.lower_bound import INFINITE, Bounds, StageTree
from drawbar.sizing.scenario_bounds import best_bounds

SAME_BORE = 1.000001  # times another bore, a bore is still not larger


class Option(NamedTuple):
    """One pipe that a run may have.

    Attributes
    ----------
    section : Section
        The run with that pipe.
    cost : float
        What it costs.
    needs_abs_pa : tuple of float
        What its own end needs under each scenario [Pa absolute].
    bore_m : float
        The bore by which it is no larger than another [m].
    feeder_bore_m : float
        The least bore that its feeder must have, where no run may be larger than that: its own, or 0 for one that may
        stay [m].
    """

    section: Section
    cost: float
    needs_abs_pa: tuple[float, ...]
    bore_m: float
    feeder_bore_m: float


@dataclass(frozen=True, slots=True)
class Stage:
    """The runs behind one regulator, up to the next regulators.

    Attributes
    ----------
    parents : sequence of int
        By node, the node it hangs on (lower than its own), -1 for the regulator.
    options : sequence of sequences of Option
        By node, the pipes it may have.
    flows : sequence of sequences of float
        By node and scenario, the mass flow [kg/s].
    source_abs_pa : float
        What the regulator gives [Pa absolute].
    highest_abs_pa, lowest_abs_pa : float
        Pressures that no part of the stage goes above, or may go below [Pa absolute].
    no_increase : bool
        Whether no run may be larger than the one that feeds it.
    """

    parents: Sequence[int]
    options: Sequence[Sequence[Option]]
    flows: Sequence[Sequence[float]]
    source_abs_pa: float
    highest_abs_pa: float
    lowest_abs_pa: float
    no_increase: bool = False


@dataclass(slots=True)
class StageNode:
    """A node as the search needs it.

    Attributes
    ----------
    children : list of int
        The nodes that hang on it.
    groups : list of (int, float)
        Of each group of scenarios, its group at the node before and its flow [kg/s].
    needs : list of tuples of float
        By option, what the node's own end needs, by group [Pa absolute].
    least_pa : list of tuples of float
        By option, the least that it takes, by group [Pa].
    most_abs_pa : float
        The most pressure that its start can be given [Pa absolute].
    start_prices, end_prices : tuple of float
        By group at the start and at the end, what a pascal is worth [cost/Pa].
    """

    children: list[int] = field(default_factory=list)
    groups: list[tuple[int, float]] = field(default_factory=list)
    needs: list[tuple[float, ...]] = field(default_factory=list)
    least_pa: list[tuple[float, ...]] = field(default_factory=list)
    most_abs_pa: float = 0.0
    start_prices: tuple[float, ...] = (0.0,)
    end_prices: tuple[float, ...] = (0.0,)


def nodes_and_bounds(stage: Stage) -> tuple[list[StageNode], list[StageTree], Bounds | None]:
    """Return the nodes of a stage, the stage under each scenario, and the bound on its cost; None if nothing passes."""
    nodes = [StageNode() for _ in stage.parents]
    for number, parent in enumerate(stage.parents):
        if parent >= 0:
            nodes[parent].children.append(number)
    membership = _group(stage, nodes)
    trees = _trees(stage, nodes, membership)
    bounds = best_bounds(trees)
    if bounds is not None:
        _price(stage, nodes, membership, bounds)
    return nodes, trees, bounds


def _group(stage: Stage, nodes: Sequence[StageNode]) -> list[list[int]]:
    """Group the scenarios at every node; returns by node the group of each scenario, -1 where it does not matter."""
    covered = _covered(stage)
    membership: list[list[int]] = []
    for number, parent in enumerate(stage.parents):
        before = membership[parent] if parent >= 0 else [0] * len(stage.flows[number])
        groups: dict[tuple[int, float], int] = {}
        group_of = [
            -1 if is_covered else groups.setdefault((group, flow_kg_s), len(groups))
            for group, flow_kg_s, is_covered in zip(before, stage.flows[number], covered[number], strict=True)
        ]
        membership.append(group_of)
        node = nodes[number]
        node.groups = list(groups)
        for option in stage.options[number]:
            needs = [0.0] * len(groups)
            for group, need in zip(group_of, option.needs_abs_pa, strict=True):
                if group >= 0:
                    needs[group] = max(needs[group], need)
            node.needs.append(tuple(needs))
            node.least_pa.append(
                tuple(
                    option.section.least_drop_pa(flow_kg_s, stage.lowest_abs_pa, stage.highest_abs_pa)
                    for _, flow_kg_s in groups
                )
            )
    return membership


def _covered(stage: Stage) -> list[list[bool]]:
    """Return by node and scenario whether another scenario asks no less of all that the node's branch asks.

    It does where it has no less flow on the way from the source, and in the branch no less flow and no less need.
    """
    scenarios = range(len(stage.flows[0]))
    if len(scenarios) == 1:
        return [[False]] * len(stage.parents)
    least: list[list[list[bool]]] = []  # by node, scenario and other: whether the other is no less here
    for flows, options in zip(stage.flows, stage.options, strict=True):
        needs = list(zip(*(option.needs_abs_pa for option in options), strict=True))
        least.append(
            [[flows[t] <= flows[s] and all(map(operator.le, needs[t], needs[s])) for s in scenarios] for t in scenarios]
        )
    behind = [[list(row) for row in table] for table in least]
    for number in range(len(stage.parents) - 1, -1, -1):
        if stage.parents[number] >= 0:
            _narrow_down(behind[stage.parents[number]], behind[number])
    before: list[list[list[bool]]] = []
    covered = []
    for number, parent in enumerate(stage.parents):
        flows = stage.flows[number]
        table = [[flows[t] <= flows[s] for s in scenarios] for t in scenarios]
        if parent >= 0:
            _narrow_down(table, before[parent])
        before.append(table)
        whole = [[a and b for a, b in zip(*rows, strict=True)] for rows in zip(table, behind[number], strict=True)]
        # Of scenarios that cover each other the first stays.
        covered.append([any(whole[t][s] and (s < t or not whole[s][t]) for s in scenarios) for t in scenarios])
    return covered


def _narrow_down(table: list[list[bool]], other: Sequence[Sequence[bool]]) -> None:
    """Keep in a table only what holds in another too."""
    for row, other_row in zip(table, other, strict=True):
        row[:] = [a and b for a, b in zip(row, other_row, strict=True)]


def _trees(stage: Stage, nodes: Sequence[StageNode], membership: Sequence[Sequence[int]]) -> list[StageTree]:
    """Return the stage under each scenario, as the bound sees it."""
    costs = [
        [
            option.cost if max(least) < INFINITE else INFINITE
            for option, least in zip(options, node.least_pa, strict=True)
        ]
        for options, node in zip(stage.options, nodes, strict=True)
    ]
    return [
        StageTree(
            stage.parents,
            [
                [least[group_of[scenario]] for least in node.least_pa]
                for group_of, node in zip(membership, nodes, strict=True)
            ],
            costs,
            [
                min(option.needs_abs_pa[scenario] for option in options) if group_of[scenario] >= 0 else 0.0
                for options, group_of in zip(stage.options, membership, strict=True)
            ],
            stage.source_abs_pa,
        )
        for scenario in range(len(stage.flows[0]))
    ]


def stage_trees(stage: Stage) -> list[StageTree]:
    """Return a stage under each of its scenarios, as the bound sees it."""
    nodes = [StageNode() for _ in stage.parents]
    return _trees(stage, nodes, _group(stage, nodes))


def _price(stage: Stage, nodes: Sequence[StageNode], membership: Sequence[Sequence[int]], bounds: Bounds) -> None:
    """Tell each node what a pascal is worth, and the most pressure that it can be given."""
    scenarios = range(len(stage.flows[0]))
    for number, parent in enumerate(stage.parents):
        node = nodes[number]
        before = membership[parent] if parent >= 0 else [0] * len(scenarios)
        start = [0.0] * (len(nodes[parent].groups) if parent >= 0 else 1)
        end = [0.0] * len(node.groups)
        for scenario in scenarios:
            if membership[number][scenario] >= 0:
                start[before[scenario]] += bounds.prices[scenario][number]
                end[membership[number][scenario]] += bounds.prices[scenario][number]
        node.start_prices, node.end_prices = tuple(start), tuple(end)
        node.most_abs_pa = stage.source_abs_pa
        if parent >= 0:
            taken = min(min(least) for least in nodes[parent].least_pa)
            node.most_abs_pa = nodes[parent].most_abs_pa - taken
