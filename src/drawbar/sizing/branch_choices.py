"""Choices of pipes for a branch, and the front of them: those that no other beats in both what it asks and its cost."""

from __future__ import annotations

import bisect
import operator
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

_BY_ASK = operator.itemgetter(0, 1)
_BY_COST = operator.itemgetter(1, 0)
_STAIRCASE_FIGURES = 2  # how many figures a staircase compares

# What a choice was put together from: (node, its option, what is behind), or what two branches at one end have each.
Trace = tuple[int, int, "Trace"] | tuple["Trace", "Trace"] | None


class BranchChoice(NamedTuple):
    """A choice of pipes for a branch.

    Attributes
    ----------
    asks : tuple of float
        What it asks for at its start, one figure a group of scenarios [Pa absolute]; behind them the bore [m] of its
        first pipe, where no run may be larger than the one that feeds it.
    cost : float
        What it costs.
    trace : Trace
        What it was put together from.
    """

    asks: tuple[float, ...]
    cost: float
    trace: Trace

    def options(self, count: int) -> list[int]:
        """Return the option of each of so many nodes that it takes."""
        options = [0] * count
        waiting: list[Trace] = [self.trace]
        while waiting:
            match waiting.pop():
                case (node, option, behind):
                    options[node] = option
                    waiting.append(behind)
                case (first, second):
                    waiting += first, second
        return options


def unbeaten(choices: list[BranchChoice], count_work: Callable[[int], None]) -> list[BranchChoice]:
    """Return the choices that no other beats, by rising ask where they ask one figure, else by rising cost.

    Parameters
    ----------
    choices : list of BranchChoice
        All choices for a branch; they are put in order.
    count_work : callable
        What is told the steps that comparing takes, where it is long.

    Returns
    -------
    list of BranchChoice
        The front.
    """
    if not choices:
        return []
    figures = len(choices[0].asks)
    if figures == 1:
        return _unbeaten_in_one_figure(choices)
    if figures == _STAIRCASE_FIGURES:
        return _unbeaten_in_two_figures(choices)
    return _unbeaten_in_many_figures(choices, count_work)


def _unbeaten_in_one_figure(choices: list[BranchChoice]) -> list[BranchChoice]:
    choices.sort(key=_BY_ASK)
    kept: list[BranchChoice] = []
    least = float("inf")
    for choice in choices:
        if choice.cost < least:
            kept.append(choice)
            least = choice.cost
    return kept


def _unbeaten_in_two_figures(choices: list[BranchChoice]) -> list[BranchChoice]:
    """Hold each choice, by rising cost, against a staircase of those kept."""
    choices.sort(key=_BY_COST)
    kept: list[BranchChoice] = []
    firsts: list[float] = []  # the staircase: first figures rising, second figures falling
    seconds: list[float] = []
    for choice in choices:
        first, second = choice.asks
        place = bisect.bisect_right(firsts, first)
        if place and seconds[place - 1] <= second:
            continue
        kept.append(choice)
        end = place
        while end < len(firsts) and seconds[end] >= second:
            end += 1
        firsts[place:end], seconds[place:end] = [first], [second]
    return kept


def _unbeaten_in_many_figures(choices: list[BranchChoice], count_work: Callable[[int], None]) -> list[BranchChoice]:
    choices.sort(key=_BY_COST)
    kept: list[BranchChoice] = []
    for choice in choices:
        asks = choice.asks
        count_work(len(kept) // 8)
        if not any(all(map(operator.le, other.asks, asks)) for other in kept):
            kept.append(choice)
    return kept


def merged(left: Sequence[BranchChoice], right: Sequence[BranchChoice]) -> Iterator[BranchChoice]:
    """Yield the front of two branches together from their fronts, where they ask one figure, by rising ask."""
    at_left = at_right = 0
    while True:
        asks = max(left[at_left].asks, right[at_right].asks)
        while at_left + 1 < len(left) and left[at_left + 1].asks <= asks:
            at_left += 1
        while at_right + 1 < len(right) and right[at_right + 1].asks <= asks:
            at_right += 1
        a, b = left[at_left], right[at_right]
        yield BranchChoice(asks, a.cost + b.cost, (a.trace, b.trace))
        after = [front[at + 1].asks for front, at in ((left, at_left), (right, at_right)) if at + 1 < len(front)]
        if not after:
            return
        # the next ask at which either front has a cheaper choice
        if at_left + 1 < len(left) and left[at_left + 1].asks == min(after):
            at_left += 1
        else:
            at_right += 1


def most_promising(front: list[BranchChoice], most: int, prices: Sequence[float]) -> list[BranchChoice]:
    """Return so many choices of a front in its order: the cheapest with what they ask at prices, and what asks least.

    Parameters
    ----------
    front : list of BranchChoice
        The choices that none beats.
    most : int
        How many to keep.
    prices : sequence of float
        By group of scenarios, what a pascal is worth [cost/Pa].

    Returns
    -------
    list of BranchChoice
        The front itself where it is no longer than that.
    """
    if len(front) <= most:
        return front
    ranked = sorted(range(len(front)), key=lambda at: front[at].cost + sum(map(operator.mul, prices, front[at].asks)))
    least = min(range(len(front)), key=lambda at: sum(front[at].asks))
    return [front[at] for at in sorted({*ranked[: most - 1], least})]
