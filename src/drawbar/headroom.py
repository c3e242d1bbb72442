"""What a line has left: how much more each appliance or outlet could take, and how much longer each run could be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from drawbar.job import Outlet
from drawbar.network import Line
from drawbar.plugging import StateOnLine, Way
from drawbar.states import Plan

MOST_WAYS_TRIED = 300  # more ways than this are taken by the bound: each figure needs every way solved again
MOST_HEAT_W = 1_400_000.0  # about 5000 MJ/h; more than that is not worth telling apart
MOST_LENGTH_M = 1000.0
_CLOSE = 1e-4  # relative; the figure kept is the one that passes


@dataclass(frozen=True, slots=True)
class Headroom:
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


def headroom(line: Line, plan: Plan) -> Headroom:
    """Return what a state has left on a line."""
    on = StateOnLine(line, plan)
    if on.ways is not None and len(on.ways) <= MOST_WAYS_TRIED:
        return _exact(on, sorted(on.ways, key=on.least_margin_pa))
    return _bound(on)


def _over_ways(margin: Callable[[Way, float], float], ways: list[Way], most: float, start: float) -> float:
    """Return the least over the ways of the largest x that passes; one that passes at the least so far is one look."""
    least = most
    for number, way in enumerate(ways):
        if number == 0 or margin(way, least) < 0.0:
            least = min(least, largest(lambda x, way=way: margin(way, x), least, min(start, least)))  # type: ignore[misc]
        if least <= 0.0:
            break
    return least


def _exact(on: StateOnLine, ways: list[Way]) -> Headroom:
    gross = on.line.job.gas.gross_j_kg
    most, start = MOST_HEAT_W / gross, 10_000.0 / gross

    def appliance(name: str) -> float:
        def margin(way: Way, more_kg_s: float) -> float:
            return on.least_margin_pa(way, next(end for end in way if end.name == name), more_kg_s)

        own = [way for way in ways if any(end.name == name for end in way)]
        return gross * _over_ways(margin, own, most, start)

    def outlet(one: Outlet) -> float:
        bare = on.bare_end(one)

        def margin(way: Way, more_kg_s: float) -> float:
            holder = next((end for end in way if end.plugged and end.plugged.outlet.name == one.name), bare)
            return on.least_margin_pa(way, holder, more_kg_s)

        return gross * _over_ways(margin, ways, most, start)

    def run(name: str) -> float:
        def margin(way: Way, more_m: float) -> float:
            return on.least_margin_pa(way, line=on.line.lengthened(name, more_m))

        return _over_ways(margin, ways, MOST_LENGTH_M, 2.0)

    job = on.line.job
    return Headroom(
        {name: appliance(name) for name, _ in on.plan.state.shares},
        {one.name: outlet(one) for one in job.outlets},
        {one.name: run(one.name) for one in job.runs},
        is_bound=False,
    )


def _bound(on: StateOnLine) -> Headroom:
    job, state, line = on.line.job, on.plan.state, on.line
    inputs = {one.name: one.input_w for one in job.appliances}

    def appliance(name: str) -> float:
        def margin(more_w: float) -> float:
            raised = tuple((n, share + (more_w / inputs[n] if n == name else 0.0)) for n, share in state.shares)
            return StateOnLine(line, Plan(job, replace(state, shares=raised))).bound_margin_pa()

        return largest(margin, MOST_HEAT_W, 10_000.0)

    def run(name: str) -> float:
        return largest(lambda more_m: on.bound_margin_pa(line.lengthened(name, more_m)), MOST_LENGTH_M, 2.0)

    appliances = {name: appliance(name) for name, _ in state.shares}
    by_name = {one.name: one for one in job.appliances}
    outlets = {
        one.name: min((w for name, w in appliances.items() if one.name in by_name[name].plugs_into), default=0.0)
        for one in job.outlets
    }
    return Headroom(appliances, outlets, {one.name: run(one.name) for one in job.runs}, is_bound=True)
