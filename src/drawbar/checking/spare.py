"""What a line has left: how much more each appliance or outlet could take, and how much longer each run could be."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from drawbar.checking.way_left import WayLeft, ways_left
from drawbar.job import Outlet
from drawbar.line.plugging import Plan
from drawbar.line.state import End, StateOnLine
from drawbar.line.worst_way import SolvedState

_MOST_WAYS_OF_SPARE = 300  # more ways than this are taken by the bound: each figure needs every way looked at again
_MOST_STEPS_OF_SPARE = 150_000  # along a path, over all states of a job, beyond which nothing is worked out
_BOUND_STEPS = 15  # how many steps a place costs in the bound, which solves every place for every figure
MOST_HEAT_W = 1_400_000.0  # about 5000 MJ/h; more than that is not worth telling apart
MOST_LENGTH_M = 1000.0
_CLOSE = 1e-4  # relative; the figure kept is the one that passes


class Headroom(NamedTuple):
    """What a state has left, zero where the state does not pass.

    Attributes
    ----------
    appliances, outlets : dict of str to float
        Gross heat more, the rest on, before anything fails [W].
    runs : dict of str to float
        Length more before anything fails [m].
    is_bound : bool
        Whether the figures are a lower bound, as the combinations are too many to try.
    """

    appliances: dict[str, float]
    outlets: dict[str, float]
    runs: dict[str, float]
    is_bound: bool


def largest(margin: Callable[[float], float], most: float, start: float) -> float:
    """Return the largest x in [0, most] with margin(x) >= 0, to about 1e-4 of itself and never above; 0 if none is.

    False position finds the place quickly, and halving where that stalls.

    Parameters
    ----------
    margin : callable
        It must not rise with x; it may jump.
    most : float
        The end of the search.
    start : float
        The first x looked at; from there on it grows fourfold.

    Returns
    -------
    float
        The largest x that passes.

    Examples
    --------
    >>> round(largest(lambda x: 9.0 - x * x, 100.0, 1.0), 2)
    3.0
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
        guess_margin = margin(guess)
        if guess_margin >= 0.0:
            low, low_margin = guess, guess_margin
        else:
            high, high_margin = guess, guess_margin
    return low


def headroom(solved: SolvedState, *, states: int = 1) -> Headroom | None:
    """Return what a state has left on a line.

    Parameters
    ----------
    solved : SolvedState
        The state, solved.
    states : int
        How many states the job has, which share what the search may take.

    Returns
    -------
    Headroom or None
        None where its combinations are too many to look at.
    """
    state_on_line, most_steps = solved.state_on_line, _MOST_STEPS_OF_SPARE // states
    line, ways = state_on_line.line, state_on_line.ways
    # For every figure, along a path.
    steps = (len(solved.places) + len(line.sections)) * max(map(len, line.paths))
    if ways is not None and len(ways) <= _MOST_WAYS_OF_SPARE and steps * len(ways) <= most_steps:
        return _by_trying(solved)
    if steps * state_on_line.place_count * _BOUND_STEPS <= most_steps:
        return _by_bound(state_on_line)
    return None


def _over_ways(margins: Sequence[Callable[[float], float]], most: float, start: float) -> float:
    """Return the least over the ways of the largest x that passes; one that passes at the least so far is one look."""
    least = most
    for number, margin in enumerate(margins):
        if number == 0 or margin(least) < 0.0:
            least = largest(margin, least, min(least, start))
    return least


def _by_trying(solved: SolvedState) -> Headroom:
    state_on_line = solved.state_on_line
    job, names = state_on_line.line.job, [name for name, _ in state_on_line.plan.state.shares]
    if min(solved.way_margins_pa) < 0.0:
        outlets, runs = [dict.fromkeys((piece.name for piece in pieces), 0.0) for pieces in (job.outlets, job.runs)]
        return Headroom(dict.fromkeys(names, 0.0), outlets, runs, is_bound=False)
    gross_j_kg = job.gas.gross_j_kg
    left = ways_left(solved)

    def holder(way: WayLeft, outlet: Outlet) -> End:
        plugged = (end for end in way.way if end.plugged and end.plugged.outlet.name == outlet.name)
        return next(plugged, None) or state_on_line.bare_end(outlet)

    def more_w(ends: list[tuple[WayLeft, End]]) -> float:
        margins = [partial(way.margin_pa, end) for way, end in ends]
        return gross_j_kg * _over_ways(margins, MOST_HEAT_W / gross_j_kg, 0.0002)

    def longer_pa(way: WayLeft, number: int, more_m: float) -> float:
        return way.changed_pa(number, way.line.lengthened(number, more_m))

    appliances = {name: more_w([(way, end) for way in left for end in way.way if end.name == name]) for name in names}
    outlets = {outlet.name: more_w([(way, holder(way, outlet)) for way in left]) for outlet in job.outlets}
    runs = {
        run.name: _over_ways([partial(longer_pa, way, number) for way in left], MOST_LENGTH_M, 2.0)
        for number, run in enumerate(job.runs)
    }
    return Headroom(appliances, outlets, runs, is_bound=False)


def _by_bound(state_on_line: StateOnLine) -> Headroom:
    line, state = state_on_line.line, state_on_line.plan.state
    job = line.job
    by_name = {appliance.name: appliance for appliance in job.appliances}

    def more_w(name: str) -> float:
        def margin(more_w: float) -> float:
            raised = tuple(
                (other, share + (more_w / by_name[name].input_w if other == name else 0.0))
                for other, share in state.shares
            )
            return StateOnLine(line, Plan(job, state._replace(shares=raised))).bound_margin_pa()

        return largest(margin, MOST_HEAT_W, 10_000.0)

    def more_m(number: int) -> float:
        return largest(
            lambda extra_m: state_on_line.bound_margin_pa(line.with_longer(number, extra_m)), MOST_LENGTH_M, 2.0
        )

    appliances = {name: more_w(name) for name, _ in state.shares}
    outlets = {
        outlet.name: min(
            (left_w for name, left_w in appliances.items() if outlet.name in by_name[name].plugs_into), default=0.0
        )
        for outlet in job.outlets
    }
    runs = {run.name: more_m(number) for number, run in enumerate(job.runs)}
    return Headroom(appliances, outlets, runs, is_bound=True)
