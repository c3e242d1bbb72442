"""A bound on cost for the search in sizing.py: what a tree must cost at least once part of it is decided.

The search asks for the cheapest pipes whose drops along each path stay within what the path may lose. Taking the
path's limit into the
cost, at a price for each pascal, leaves a problem that falls apart run by run (Lagrangian relaxation; Geoffrion,
Mathematical
Programming Study 2, 1974, 82-114). Any prices give a valid bound. The best are the slopes of cost against pressure of
the same problem
with sizes mixed freely along a run, which is convex and is solved here exactly from the leaves to the root.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

_SAME_PA = 1e-7  # pressures this near are the same corner of a curve
_MORE = 1.0 + 1e-9  # prices this near are the same slope


class Curve:
    """The least cost of part of a tree against the pressure it is given: convex, falling, in straight pieces.

    start : the lowest pressure that will do [Pa]; cost : the cost there
    pieces : (slope, width) by rising slope: cost per pascal, below zero, and width [Pa]; level after the last
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


class Bound(NamedTuple):
    """The bound for a node. Never too high: cost of a branch + at_least + price x (pressure it asks for - source).

    at_least : what all outside the node's branch costs at least, at these prices
    price : what a pascal at the node's start is worth
    """

    at_least: float
    price: float


@dataclass(frozen=True, slots=True)
class Tree:
    """The problem that the bound is for: one stage of a line, under one scenario of flows.

    parents : the number of the node each hangs on, lower than its own, -1 for the source
    options : by node, (drop [Pa], cost) of every pipe it may have, the drop never too high
    needs : by node, the pressure that its end must have [Pa], 0 for none
    source : the pressure at the source [Pa]
    """

    parents: Sequence[int]
    options: Sequence[Sequence[tuple[float, float]]]
    needs: Sequence[float]
    source: float


def bounds(tree: Tree) -> tuple[float, list[Bound]]:
    """Return (a bound on the cost of the whole tree, infinite if nothing can pass; the bound for each node)."""
    count = len(tree.parents)
    children: list[list[int]] = [[] for _ in range(count)]
    roots: list[int] = []
    for number, parent in enumerate(tree.parents):
        (children[parent] if parent >= 0 else roots).append(number)
    inside: list[Curve] = [Curve(0.0, 0.0, [])] * count
    ends: list[Curve] = [Curve(0.0, 0.0, [])] * count
    hulls = [lower_hull(options) for options in tree.options]
    for number in range(count - 1, -1, -1):
        ends[number] = end = summed([inside[child] for child in children[number]], tree.needs[number])
        drop, cost, pieces = hulls[number]
        merged = sorted([*end.pieces, *pieces])
        inside[number] = Curve(end.start + drop, end.cost + cost, merged)
    if any(inside[root].start > tree.source for root in roots):
        return float("inf"), []
    prices = _prices(tree, roots, children, inside, ends, hulls)
    return _from_prices(tree, roots, children, prices)


def _prices(
    tree: Tree,
    roots: Sequence[int],
    children: Sequence[Sequence[int]],
    inside: Sequence[Curve],
    ends: Sequence[Curve],
    hulls: Sequence[tuple[float, float, list[tuple[float, float]]]],
) -> list[float]:
    """Return what a pascal is worth at each node's start; the prices behind a fork add up to the one before it."""
    prices = [0.0] * len(tree.parents)
    pressures = [tree.source] * len(tree.parents)
    for root in roots:
        prices[root] = inside[root].slopes_at(tree.source)[1]
    for number in range(len(tree.parents)):
        price = prices[number]
        drop, _, pieces = hulls[number]
        drop += sum(width for slope, width in pieces if -slope > price * _MORE)
        low, high = ends[number].reach(price)
        pressure = max(low, min(pressures[number] - drop, high))
        below = children[number]
        spans = [inside[child].slopes_at(pressure) for child in below]
        flat = [span[1] for span in spans]
        spare = price - sum(flat)
        for child, span, low in zip(below, spans, flat, strict=True):
            more = max(0.0, min(spare, span[0] - low))
            spare -= more
            prices[child] = low + more
            pressures[child] = pressure
    return prices


def _from_prices(
    tree: Tree, roots: Sequence[int], children: Sequence[Sequence[int]], wanted: Sequence[float]
) -> tuple[float, list[Bound]]:
    """Return the bounds that prices give, each price first made the sum of those behind it and of its own end's."""
    count = len(tree.parents)
    prices = [0.0] * count
    own = [0.0] * count
    for number in range(count - 1, -1, -1):
        below = sum(prices[child] for child in children[number])
        own[number] = max(0.0, wanted[number] - below) if tree.needs[number] > 0.0 else 0.0
        prices[number] = below + own[number]
    least = [
        min(cost + price * drop for drop, cost in options) for options, price in zip(tree.options, prices, strict=True)
    ]
    branch = [0.0] * count  # the bound's share of a node and all behind it
    for number in range(count - 1, -1, -1):
        limit = own[number] * (tree.source - tree.needs[number])
        branch[number] = least[number] - limit + sum(branch[child] for child in children[number])
    total = sum(branch[root] for root in roots)
    return total, [Bound(total - branch[number], prices[number]) for number in range(count)]
