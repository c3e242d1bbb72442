"""What a line has left: how much more each appliance or outlet could take, and how much longer each run could be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import NamedTuple

from drawbar.job import Outlet
from drawbar.line.plugging import Plan
from drawbar.line.state import End, StateOnLine, Way

MOST_WAYS_TRIED = 300  # more ways than this are taken by the bound: each figure needs every way looked at again
MOST_WORK = 400_000  # steps along a path, over all states of a job, beyond which nothing is worked out
BOUND_STEPS = 40  # how many steps a place costs in the bound, which solves every place for every figure
MOST_HEAT_W = 1_400_000.0  # about 5000 MJ/h; more than that is not worth telling apart
MOST_LENGTH_M = 1000.0
_CLOSE = 1e-4  # relative; the figure kept is the one that passes


class Headroom(NamedTuple):
    """What a state has left, zero where the state does not pass.

    appliances, outlets : gross heat more, the rest on, before anything fails [W]
    runs : length more before anything fails [m]
    is_bound : whether the figures are a lower bound, as the ways of plugging are too many to try
    """

    appliances: dict[str, float]
    outlets: dict[str, float]
    runs: dict[str, float]
    is_bound: bool


def largest(margin: Callable[[float], float], most: float, start: float) -> float:
    """Return the largest x in [0, most] with margin(x) >= 0, to about 1e-4 of itself and never above; 0 if none is.

    margin must not rise with x. It may jump: false position finds the place quickly, and halving where that stalls.
    """
    low, low_margin = 0.0, margin(0.0)
    if low_margin < 0.0:
        return 0.0
    high = min(start, most)
    while (high_margin := margin(high)) >= 0.0:
        if high >= most:
            return most
        low, low_margin, high = high, high_margin, min(4.0 * high, most)
    for turn in range(80):
        if high - low <= _CLOSE * high:
            break
        guess = low + (high - low) * (low_margin / (low_margin - high_margin) if turn % 3 else 0.5)
        guess = min(max(guess, low + 0.4 * _CLOSE * high), high - 0.4 * _CLOSE * high)
        found = margin(guess)
        if found >= 0.0:
            low, low_margin = guess, found
        else:
            high, high_margin = guess, found
    return low


def headroom(on: StateOnLine, most_work: int = MOST_WORK) -> Headroom | None:
    """Return what a state has left on a line; None where its ways of plugging are too many to look at."""
    line, plan = on.line, on.plan
    steps = (len(plan.state.shares) + len(line.sections)) * max(map(len, line.paths))  # for every figure, along a path
    if on.ways is not None and len(on.ways) <= MOST_WAYS_TRIED and steps * len(on.ways) <= most_work:
        return _exact(on, on.ways)
    if steps * len(on.bound_ends()) * BOUND_STEPS <= most_work:
        return _bound(on)
    return None


class _WayLeft:
    """One way of plugging with what each point asks for, so that a change is followed on its own path only.

    at_start : by run, what all behind it asks for at its start [Pa absolute]
    at_end : by run, what hangs on its end, run by run and appliance by appliance, asks for there [Pa absolute]
    """

    def __init__(self, on: StateOnLine, way: Way) -> None:
        self.on = on
        self.way = way
        self.flows = on.flows(way)
        line = on.line
        self.outlets_pa = line.solve(self.flows)
        count = len(line.sections)
        self.at_start = [0.0] * count
        self.at_end: list[list[tuple[float, int | str]]] = [[] for _ in range(count)]
        for end in way:
            self.at_end[end.at].append((end.ask_pa(), end.name))
        for number in range(count - 1, -1, -1):
            asked = max((ask for ask, _ in self.at_end[number]), default=0.0)
            if asked:
                self.at_start[number] = line.sections[number].inlet_abs_pa(asked, self.flows[number])
            regulator = line.job.runs[number].regulator
            before = (
                line.conditions.atmospheric_pa + regulator.inlet_min_gauge_pa if regulator else self.at_start[number]
            )
            if line.parents[number] >= 0:
                self.at_end[line.parents[number]].append((before, number))

    def margin_pa(self, end: End, more_kg_s: float) -> float:
        """Return a figure that falls with what more is drawn at an end, and is below zero where something fails."""
        line = self.on.line
        path = line.paths[end.at]
        before_pa, least = line.source_abs_pa, float("inf")
        for place, number in enumerate(path):
            regulator = line.job.runs[number].regulator
            if regulator is not None:
                needs_pa = line.conditions.atmospheric_pa + regulator.inlet_min_gauge_pa
                least = min(least, before_pa - needs_pa)
            inlet_pa = line.behind_regulator_pa(number, before_pa)
            before_pa = line.sections[number].outlet_abs_pa(inlet_pa, self.flows[number] + more_kg_s)
            own: int | str = path[place + 1] if place + 1 < len(path) else end.name
            for ask, whose in self.at_end[number]:
                if whose != own:
                    least = min(least, before_pa - ask)
        return min(least, end.abs_pa(before_pa, end.flow_kg_s + more_kg_s) - end.floor_abs_pa)

    def longer_pa(self, number: int, more_m: float) -> float:
        """Return what the end of a run has above what is asked of it, the run longer by so much [Pa]."""
        line = self.on.line
        asked = max((ask for ask, _ in self.at_end[number]), default=0.0)
        part = line.lengthened(number, more_m)
        return part.outlet_abs_pa(line.inlet_pa(number, self.outlets_pa), self.flows[number]) - asked


def _over_ways(margins: list[Callable[[float], float]], most: float, start: float) -> float:
    """Return the least over the ways of the largest x that passes; one that passes at the least so far is one look."""
    least = most
    for number, margin in enumerate(margins):
        if number == 0 or margin(least) < 0.0:
            least = largest(margin, least, min(least, start))
    return least


def _exact(on: StateOnLine, ways: list[Way]) -> Headroom:
    job, names = on.line.job, [name for name, _ in on.plan.state.shares]
    if min(map(on.least_margin_pa, ways)) < 0.0:
        outlets, runs = [dict.fromkeys((one.name for one in some), 0.0) for some in (job.outlets, job.runs)]
        return Headroom(dict.fromkeys(names, 0.0), outlets, runs, is_bound=False)
    gross = job.gas.gross_j_kg
    left = [_WayLeft(on, way) for way in sorted(ways, key=on.least_margin_pa)]

    def holder(way: _WayLeft, outlet: Outlet) -> End:
        plugged = (end for end in way.way if end.plugged and end.plugged.outlet.name == outlet.name)
        return next(plugged, None) or on.bare_end(outlet)

    def more_w(ends: list[tuple[_WayLeft, End]]) -> float:
        return gross * _over_ways([partial(way.margin_pa, end) for way, end in ends], MOST_HEAT_W / gross, 0.0002)

    appliances = {name: more_w([(way, end) for way in left for end in way.way if end.name == name]) for name in names}
    outlets = {outlet.name: more_w([(way, holder(way, outlet)) for way in left]) for outlet in job.outlets}
    runs = {
        run.name: _over_ways([partial(way.longer_pa, number) for way in left], MOST_LENGTH_M, 2.0)
        for number, run in enumerate(job.runs)
    }
    return Headroom(appliances, outlets, runs, is_bound=False)


def _bound(on: StateOnLine) -> Headroom:
    job, state, line = on.line.job, on.plan.state, on.line
    inputs = {one.name: one.input_w for one in job.appliances}

    def appliance(name: str) -> float:
        def margin(more_w: float) -> float:
            raised = tuple((n, share + (more_w / inputs[n] if n == name else 0.0)) for n, share in state.shares)
            return StateOnLine(line, Plan(job, replace(state, shares=raised))).bound_margin_pa()

        return largest(margin, MOST_HEAT_W, 10_000.0)

    def run(number: int) -> float:
        return largest(lambda more_m: on.bound_margin_pa(line.with_longer(number, more_m)), MOST_LENGTH_M, 2.0)

    appliances = {name: appliance(name) for name, _ in state.shares}
    by_name = {one.name: one for one in job.appliances}
    outlets = {
        one.name: min((w for name, w in appliances.items() if one.name in by_name[name].plugs_into), default=0.0)
        for one in job.outlets
    }
    runs = {one.name: run(number) for number, one in enumerate(job.runs)}
    return Headroom(appliances, outlets, runs, is_bound=True)
