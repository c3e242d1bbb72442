"""The bound of lower_bound.py for several scenarios at once: the prices of their limits, bettered by subgradients."""

from __future__ import annotations

from collections.abc import Sequence

from drawbar.sizing.lower_bound import Bounds, StageTree, limit_prices, priced

_MOST_ALONE, _FEW_ALONE = 8, 3  # scenarios that are all looked at alone; of more, the first so many that were taken in
_PLAIN = 2  # runs of a stage that is searched through sooner than its bound is bettered
_CLIMBS = 120  # how often the prices for several scenarios are bettered
_FEW, _MOST_PRICED = 8, 150_000  # so few where more choices are priced
_AIM = 0.03  # how far above the best bound so far a step aims, as a share of it
_KEPT = 0.5  # how much of the direction of a step the next one keeps
_MOST_FAILS = 6  # so many steps in turn that better nothing, and they get shorter


def _can_pass(tree: StageTree) -> bool:
    """Tell whether what drops least everywhere gives every end what it needs."""
    asks = list(tree.needs_pa)  # by node, at its end
    for number in range(len(asks) - 1, -1, -1):
        at_start, parent = asks[number] + min(tree.drops_pa[number]), tree.parents[number]
        if parent >= 0:
            asks[parent] = max(asks[parent], at_start)
        elif at_start > tree.source_pa:
            return False
    return True


def best_bounds(trees: Sequence[StageTree]) -> Bounds | None:
    """Return the best bound for several scenarios at once, None if one of them can't pass.

    It starts from the scenario, of the first few, that is dearest alone and climbs by subgradients: a limit that the
    least choice breaks gets dearer, one that it keeps with room to spare cheaper.

    Parameters
    ----------
    trees : sequence of StageTree
        The stage under each scenario.

    Returns
    -------
    Bounds or None
        The best of the bounds that were tried.

    References
    ----------
    Held, Wolfe and Crowder, "Validation of subgradient optimization", Mathematical Programming 6 (1974), 62-88.
    Camerini, Fratta and Maffioli, "On improving relaxation methods by modified gradient techniques", Mathematical
    Programming Study 3 (1975), 26-34: what of the step before is kept.
    """
    alone = []
    few = trees if len(trees) <= _MOST_ALONE else trees[:_FEW_ALONE]
    for tree in few:
        limits = limit_prices(tree)
        if limits is None:
            return None
        alone.append(limits)
    if not all(map(_can_pass, trees[len(few) :])):
        return None
    nothing = [0.0] * len(trees[0].parents)
    starts = [
        [limits if other == number else nothing for other in range(len(trees))] for number, limits in enumerate(alone)
    ]
    best, best_prices = max(((priced(trees, start), start) for start in starts), key=lambda pair: pair[0].total)
    is_plain = len(trees) == 1 or len(trees[0].parents) <= _PLAIN
    return best if is_plain else _climbed(trees, best, best_prices)


def _climbed(trees: Sequence[StageTree], best: Bounds, best_prices: list[list[float]]) -> Bounds:
    """Return the best bound that subgradients come to from some prices.

    A step aims a little above the best so far, and keeps half of the direction of the step before it. Where several in
    turn better nothing, the next are shorter and start from the best.
    """
    bounds, prices, pace, fails = best, best_prices, 1.0, 0
    before: list[list[float]] | None = None
    choices = len(trees) * sum(map(len, trees[0].costs))
    for _turn in range(min(_CLIMBS, max(_FEW, _MOST_PRICED // choices))):
        slope = _broken_limits(trees, bounds.picks)
        if before is not None:
            both = zip(slope, before, strict=True)
            slope = [[value + _KEPT * kept for value, kept in zip(*rows, strict=True)] for rows in both]
        slope = [  # a limit that is worth nothing can't get cheaper
            [value if value > 0.0 or price > 0.0 else 0.0 for price, value in zip(by_node, row, strict=True)]
            for by_node, row in zip(prices, slope, strict=True)
        ]
        size = sum(value * value for row in slope for value in row)
        if size <= 0.0:
            break
        step = pace * (max(best.total * (1.0 + _AIM), 1e-9) - bounds.total) / size
        prices = [
            [max(0.0, price + step * value) for price, value in zip(by_node, row, strict=True)]
            for by_node, row in zip(prices, slope, strict=True)
        ]
        bounds, before = priced(trees, prices), slope
        if bounds.total > best.total + 1e-6 * abs(best.total):
            best, best_prices, fails = bounds, prices, 0
            continue
        fails += 1
        if fails == _MOST_FAILS:
            bounds, prices, before = best, best_prices, None
            pace, fails = 0.6 * pace, 0
    return best


def _broken_limits(trees: Sequence[StageTree], picks: Sequence[int]) -> list[list[float]]:
    """Return by scenario and node how far a choice breaks the limit of each end [Pa], below zero where it keeps it."""
    broken = []
    for tree in trees:
        taken = [0.0] * len(picks)
        row = [0.0] * len(picks)
        for number, parent in enumerate(tree.parents):
            drop = tree.drops_pa[number][picks[number]]
            taken[number] = (taken[parent] if parent >= 0 else 0.0) + min(drop, tree.source_pa)
            if tree.needs_pa[number] > 0.0:
                row[number] = taken[number] - (tree.source_pa - tree.needs_pa[number])
        broken.append(row)
    return broken
