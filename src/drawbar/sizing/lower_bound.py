"""A bound on cost for the search in pareto.py: what a tree must cost at least once part of it is decided.

The search asks for the cheapest pipes whose drops along each path stay within what the path may lose. Taking the
path's limit into the cost, at a price for each pascal, leaves a problem that falls apart run by run (Lagrangian
relaxation). Any prices give a valid bound. The best are the slopes of cost against pressure of the same problem with
sizes mixed freely along a run, which is convex and is solved here exactly from the ends to the source. For several
scenarios `scenario_bounds` betters the prices.

References
----------
Geoffrion, A. M., "Lagrangean relaxation for integer programming", Mathematical Programming Study 2 (1974), 82-114.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

INFINITE = float("inf")
_SAME_PA = 1e-7  # pressures this near are the same corner of a curve
_MORE = 1.0 + 1e-9  # prices this near are the same slope


class Curve:
    """The least cost of part of a tree against the pressure it is given: convex, falling, in straight pieces.

    Attributes
    ----------
    start : float
        The lowest pressure that will do [Pa].
    cost : float
        The cost there.
    pieces : list of (float, float)
        Slope and width by rising slope: cost per pascal, below zero, and width [Pa]; level after the last.
    """

    __slots__ = ("cost", "pieces", "start")

    def __init__(self, start: float, cost: float, pieces: list[tuple[float, float]]) -> None:
        self.start = start
        self.cost = cost
        self.pieces = pieces

    def raised_to(self, start_pa: float) -> Curve:
        """Return the curve without what lies below a pressure [Pa]."""
        if start_pa <= self.start:
            return self
        left, cost = start_pa - self.start, self.cost
        for number, (slope, width) in enumerate(self.pieces):
            if width > left:
                return Curve(start_pa, cost + slope * left, [(slope, width - left), *self.pieces[number + 1 :]])
            left -= width
            cost += slope * width
        return Curve(start_pa, cost, [])

    def slopes_at(self, pressure_pa: float) -> tuple[float, float]:
        """Return what a pascal less and a pascal more are worth at a pressure [Pa] (steep side, flat side)."""
        if pressure_pa <= self.start + _SAME_PA:
            return float("inf"), -self.pieces[0][0] if self.pieces else 0.0
        left, steep = pressure_pa - self.start, 0.0
        for slope, width in self.pieces:
            if left <= _SAME_PA:
                return steep, -slope
            steep = -slope
            if left < width - _SAME_PA:
                return steep, steep
            left -= width
        return (steep if left <= _SAME_PA else 0.0), 0.0

    def reach(self, price: float) -> tuple[float, float]:
        """Return the lowest and the highest pressure [Pa] at which a pascal is worth a price."""
        low = high = self.start
        for slope, width in self.pieces:
            if -slope > price * _MORE:
                low += width
            if -slope >= price / _MORE:
                high += width
        return low, high if price > 0.0 else float("inf")


def lower_hull(points: Sequence[tuple[float, float]]) -> tuple[float, float, list[tuple[float, float]]]:
    """Return (least drop, its cost, pieces) of the lower convex hull of (drop [Pa], cost), up to the cheapest point."""
    hull: list[tuple[float, float]] = []
    for drop, cost in sorted(points):
        if hull and cost >= hull[-1][1]:
            continue
        while len(hull) > 1 and _turns_up(hull[-2], hull[-1], (drop, cost)):
            hull.pop()
        if hull and drop == hull[-1][0]:
            hull.pop()
        hull.append((drop, cost))
    pieces = [((c2 - c1) / (d2 - d1), d2 - d1) for (d1, c1), (d2, c2) in itertools.pairwise(hull)]
    return hull[0][0], hull[0][1], pieces


def _turns_up(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    return (b[1] - a[1]) * (c[0] - a[0]) >= (c[1] - a[1]) * (b[0] - a[0])


def summed(curves: Sequence[Curve], least_pa: float) -> Curve:
    """Return the sum of curves that are all given the same pressure, at or above least_pa [Pa]."""
    start = max([least_pa, *(curve.start for curve in curves)])
    raised = [curve.raised_to(start) for curve in curves]
    cost = sum(curve.cost for curve in raised)
    if len(raised) == 1:
        return Curve(start, cost, raised[0].pieces)
    edges: list[tuple[float, float]] = []  # where the slope changes, and by how much
    for curve in raised:
        at = 0.0
        for slope, width in curve.pieces:
            edges.append((at, slope))
            at += width
            edges.append((at, -slope))
    edges.sort()
    pieces: list[tuple[float, float]] = []
    slope, last = 0.0, 0.0
    for at, change in edges:
        if at > last:
            if slope < 0.0:
                pieces.append((slope, at - last))
            last = at
        slope += change
    return Curve(start, cost, pieces)


@dataclass(frozen=True, slots=True)
class StageTree:
    """One stage of a line under one scenario of flows, as the bound sees it.

    Attributes
    ----------
    parents : sequence of int
        By node, the node it hangs on (lower than its own), -1 for the source.
    drops_pa : sequence of sequences of float
        By node and option, a drop that the option does not go below [Pa]; infinite where it can't pass the flow.
    costs : sequence of sequences of float
        By node and option; the same in every scenario.
    needs_pa : sequence of float
        By node, the pressure that its end must have [Pa], 0 for none.
    source_pa : float
        The pressure at the source [Pa].
    """

    parents: Sequence[int]
    drops_pa: Sequence[Sequence[float]]
    costs: Sequence[Sequence[float]]
    needs_pa: Sequence[float]
    source_pa: float

    @property
    def children(self) -> list[list[int]]:
        """The nodes that hang on each node."""
        children: list[list[int]] = [[] for _ in self.parents]
        for number, parent in enumerate(self.parents):
            if parent >= 0:
                children[parent].append(number)
        return children


def limit_prices(tree: StageTree) -> list[float] | None:
    """Return what a pascal at each node's own end is worth, with sizes mixed freely; None if nothing can pass.

    These prices of the limits, one an end that needs a pressure, give the best bound for one scenario.

    Parameters
    ----------
    tree : StageTree
        The stage under that scenario.

    Returns
    -------
    list of float or None
        By node, cost per pascal [cost/Pa].
    """
    count, children = len(tree.parents), tree.children
    inside: list[Curve] = [Curve(0.0, 0.0, [])] * count
    ends: list[Curve] = [Curve(0.0, 0.0, [])] * count
    hulls = []
    for drops, costs in zip(tree.drops_pa, tree.costs, strict=True):
        passing = [(drop, cost) for drop, cost in zip(drops, costs, strict=True) if drop < INFINITE]
        if not passing:
            return None
        hulls.append(lower_hull(passing))
    for number in range(count - 1, -1, -1):
        ends[number] = end = summed([inside[child] for child in children[number]], tree.needs_pa[number])
        drop, cost, pieces = hulls[number]
        inside[number] = Curve(end.start + drop, end.cost + cost, sorted([*end.pieces, *pieces]))
    roots = [number for number in range(count) if tree.parents[number] < 0]
    if any(inside[root].start > tree.source_pa for root in roots):
        return None
    starts = _start_prices(tree, children, inside, ends, hulls)
    limits = [0.0] * count
    prices = [0.0] * count
    for number in range(count - 1, -1, -1):
        behind = sum(prices[child] for child in children[number])
        limits[number] = max(0.0, starts[number] - behind) if tree.needs_pa[number] > 0.0 else 0.0
        prices[number] = behind + limits[number]
    return limits


def _start_prices(
    tree: StageTree,
    children: Sequence[Sequence[int]],
    inside: Sequence[Curve],
    ends: Sequence[Curve],
    hulls: Sequence[tuple[float, float, list[tuple[float, float]]]],
) -> list[float]:
    """Return what a pascal is worth at each node's start; the prices behind a fork add up to the one before it."""
    prices = [0.0] * len(tree.parents)
    pressures = [tree.source_pa] * len(tree.parents)
    for number, parent in enumerate(tree.parents):
        if parent < 0:
            prices[number] = inside[number].slopes_at(tree.source_pa)[1]
        price = prices[number]
        drop, _, pieces = hulls[number]
        drop += sum(width for slope, width in pieces if -slope > price * _MORE)
        low, high = ends[number].reach(price)
        pressure = max(low, min(pressures[number] - drop, high))
        spans = [inside[child].slopes_at(pressure) for child in children[number]]
        flat = [span[1] for span in spans]
        spare = price - sum(flat)
        for child, span, low in zip(children[number], spans, flat, strict=True):
            more = max(0.0, min(spare, span[0] - low))
            spare -= more
            prices[child] = low + more
            pressures[child] = pressure
    return prices


@dataclass(slots=True)
class Bounds:
    """The bound that prices of the limits give, for the whole and for each node; never too high.

    Attributes
    ----------
    total : float
        The bound on the cost of the whole.
    prices : list of lists of float
        By scenario and node, what a pascal is worth at the node's start: the limits after it added up [cost/Pa].
    least : list of float
        By node, the least that an option costs with its drops at these prices.
    branch : list of float
        By node, what it and the branch after it add to the total.
    picks : list of int
        By node, the option that is least.
    charged : list of lists of float
        By node and option, its cost with its drops at these prices; the total is their least, less what is allowed.
    """

    total: float
    prices: list[list[float]]
    least: list[float]
    branch: list[float]
    picks: list[int]
    charged: list[list[float]]

    def limits(self, parents: Sequence[int]) -> list[list[float]]:
        """Return by scenario and node what a pascal at the node's own end is worth [cost/Pa]."""
        own = [list(row) for row in self.prices]
        for limits, row in zip(own, self.prices, strict=True):
            for number, parent in enumerate(parents):
                if parent >= 0:
                    limits[parent] -= row[number]
        return [[max(0.0, limit) for limit in limits] for limits in own]


def priced(trees: Sequence[StageTree], limits: Sequence[Sequence[float]]) -> Bounds:
    """Return the bound for prices of the limits: with the limits in the cost, each node is for itself.

    Parameters
    ----------
    trees : sequence of StageTree
        The stage under each scenario.
    limits : sequence of sequences of float
        By scenario and node, what a pascal at the node's end is worth [cost/Pa].

    Returns
    -------
    Bounds
        The bound on the whole and on each branch.
    """
    first = trees[0]
    count, children = len(first.parents), first.children
    prices = [[0.0] * count for _ in trees]
    least, branch, picks = [0.0] * count, [0.0] * count, [0] * count
    all_charged: list[list[float]] = [[]] * count
    total = 0.0
    for number in range(count - 1, -1, -1):
        allowed = 0.0  # what the limits that end here are worth
        for scenario, tree in enumerate(trees):
            row = prices[scenario]
            limit = limits[scenario][number]
            allowed += limit * (tree.source_pa - tree.needs_pa[number]) if limit else 0.0
            row[number] = limit + sum(row[child] for child in children[number])
        worth = [(row[number], tree.drops_pa[number]) for row, tree in zip(prices, trees, strict=True) if row[number]]
        all_charged[number] = charged = [
            cost + sum(price * drops[option] for price, drops in worth)
            for option, cost in enumerate(first.costs[number])
        ]
        least[number] = min(charged)
        picks[number] = charged.index(least[number])
        branch[number] = least[number] - allowed + sum(branch[child] for child in children[number])
        if first.parents[number] < 0:
            total += branch[number]
    return Bounds(total, prices, least, branch, picks, all_charged)
