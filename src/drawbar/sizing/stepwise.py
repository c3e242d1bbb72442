"""Sizes that pass under very many scenarios at once, come to step by step: from the widest, what saves most goes first.

It takes the place of a narrow search where a node's choices would be held against each other in so many figures that
few of them could be kept. What a choice takes is known from below; taken a little higher, a step is mostly right, and
the whole is looked at exactly in the end.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence

from drawbar.sizing.stage import Option, Stage

_MOST_LOOKS = 100  # at the steps of each node, as others are taken before; what is left then passes as well
_NEXT = 3  # cheaper options that are looked at for a step
_MORE = (1.01, 1.05)  # times the least drop, at the lowest pressure: if what comes of the first fails, the second


def stepwise(stage: Stage, least_pa: Sequence[Sequence[Sequence[float]]]) -> list[int] | None:
    """Return a choice that passes under every scenario, not proven the cheapest.

    Parameters
    ----------
    stage : Stage
        The runs with what each may have; none is held to its feeder's size.
    least_pa : sequence of sequences of sequences of float
        By scenario, node and option, a drop that the option does not go below [Pa].

    Returns
    -------
    list of int or None
        Each node's option by number; None where it came to none.
    """
    for more in _MORE:
        factor = more * stage.highest_abs_pa / max(stage.lowest_abs_pa, 1.0)
        steps = _Steps(stage, [[[factor * pa for pa in row] for row in rows] for rows in least_pa])
        if steps.passes:
            steps.take_all()
            if passes_exactly(stage, steps.picks):
                return steps.picks
    return None


def passes_exactly(stage: Stage, picks: Sequence[int]) -> bool:
    """Tell whether a choice gives every end of a stage what it needs under every scenario.

    Parameters
    ----------
    stage : Stage
        The stage.
    picks : sequence of int
        Each node's option by number.

    Returns
    -------
    bool
    """
    chosen: list[Option] = [options[pick] for options, pick in zip(stage.options, picks, strict=True)]
    for scenario in range(len(stage.flows[0])):
        asks = [option.needs_abs_pa[scenario] for option in chosen]  # by node, at its end
        for number in range(len(asks) - 1, -1, -1):
            if not asks[number]:
                continue
            at_start = chosen[number].section.inlet_abs_pa(asks[number], stage.flows[number][scenario])
            parent = stage.parents[number]
            if parent >= 0:
                asks[parent] = max(asks[parent], at_start)
            elif at_start > stage.source_abs_pa:
                return False
    return True


class _Steps:
    """A choice with what every end has to spare under every scenario, and the steps to cheaper options.

    Attributes
    ----------
    picks : list of int
        Each node's option by number.
    """

    def __init__(self, stage: Stage, drops_pa: Sequence[Sequence[Sequence[float]]]) -> None:
        self.stage = stage
        self.drops_pa = drops_pa
        scenarios = range(len(drops_pa))
        self.picks = []
        for number, options in enumerate(stage.options):
            taken = [sum(rows[number][pick] for rows in drops_pa) for pick in range(len(options))]
            self.picks.append(taken.index(min(taken)))
        self.spare_pa: list[dict[int, float]] = [{} for _ in scenarios]  # by node that is an end
        self.ends: list[list[list[int]]] = [[[] for _ in stage.parents] for _ in scenarios]  # by node, those behind it
        for scenario in scenarios:
            self._start(scenario)

    def _start(self, scenario: int) -> None:
        taken: list[float] = []
        for number, parent in enumerate(self.stage.parents):
            here = self.drops_pa[scenario][number][self.picks[number]]
            taken.append(here + (taken[parent] if parent >= 0 else 0.0))
            need = max(option.needs_abs_pa[scenario] for option in self.stage.options[number])
            if need > 0.0:
                self.spare_pa[scenario][number] = self.stage.source_abs_pa - need - taken[number]
                at = number
                while at >= 0:
                    self.ends[scenario][at].append(number)
                    at = self.stage.parents[at]

    @property
    def passes(self) -> bool:
        """Tell whether no end has less than it needs."""
        return all(spare >= 0.0 for spares in self.spare_pa for spare in spares.values())

    def take_all(self) -> None:
        """Take steps to cheaper options while one is left that passes, what saves most for what it takes first."""
        waiting = [(-worth, number, pick) for number in range(len(self.picks)) for worth, pick in self._next(number)]
        heapq.heapify(waiting)
        left = _MOST_LOOKS * len(waiting)
        while waiting and left > 0:
            left -= 1
            before, number, _ = heapq.heappop(waiting)
            now = self._next(number)
            if not now:
                continue
            worth, pick = now[0]
            if waiting and -worth > waiting[0][0] and -worth > before:  # others are worth more now
                heapq.heappush(waiting, (-worth, number, pick))
                continue
            self._take(number, pick)
            for worth, following in self._next(number):
                heapq.heappush(waiting, (-worth, number, following))

    def _next(self, number: int) -> list[tuple[float, int]]:
        """Return the step of a node that is worth most, with its worth; nothing where none passes."""
        options, now = self.stage.options[number], self.picks[number]
        saved_by = (options[now].cost - option.cost for option in options)
        cheaper = sorted((saved, pick) for pick, saved in enumerate(saved_by) if saved > 0.0)[:_NEXT]
        if not cheaper:
            return []
        spares = [
            (rows[number], min(map(spare.__getitem__, ends[number])))
            for rows, spare, ends in zip(self.drops_pa, self.spare_pa, self.ends, strict=True)
            if ends[number]
        ]
        best: list[tuple[float, int]] = []
        for saved, pick in cheaper:
            share = 0.0
            for row, spare_pa in spares:
                more_pa = row[pick] - row[now]
                if more_pa > spare_pa:
                    break
                if more_pa > share * spare_pa:
                    share = more_pa / spare_pa
            else:
                worth = saved / (share + 1e-9)
                if not best or worth > best[0][0]:
                    best = [(worth, pick)]
        return best

    def _take(self, number: int, pick: int) -> None:
        for rows, spare, ends in zip(self.drops_pa, self.spare_pa, self.ends, strict=True):
            more_pa = rows[number][pick] - rows[number][self.picks[number]]
            for end in ends[number]:
                spare[end] -= more_pa
        self.picks[number] = pick
