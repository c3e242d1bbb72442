"""One real combination for the drawing of a state: the worst there is, or the worst of those that were tried."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drawbar.checking.check import in_worst_way
from drawbar.line.worst_way import worst_tried

if TYPE_CHECKING:
    from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
    from drawbar.line.plugging import Plugged
    from drawbar.line.state import SolvedWay

MOST_OTHERS = 3


class OtherWay(NamedTuple):
    """Another combination of plugging in: what is plugged in where, and the appliance with the least to spare.

    Attributes
    ----------
    plugged : tuple of Plugged
        What is plugged in where.
    appliance : str
        The appliance with the least margin.
    gauge_pa : float
        What it gets [Pa gauge].
    margin_pa : float
        What it has to spare [Pa].
    """

    plugged: tuple[Plugged, ...]
    appliance: str
    gauge_pa: float
    margin_pa: float


class DrawnWay(NamedTuple):
    """A state in one real combination.

    Attributes
    ----------
    state : StateResult
        The state with the runs and the plugging of that way; its appliances are still each in its own worst way.
    appliances : tuple of ApplianceResult
        The appliances as they stand in that way.
    out : tuple of str
        The appliances of the state that are not plugged in in it.
    others : tuple of OtherWay
        Of the other ways those with the least to spare, the worst first.
    left_out : int
        How many more there are; none counted where they are too many to try.
    """

    state: StateResult
    appliances: tuple[ApplianceResult, ...]
    out: tuple[str, ...]
    others: tuple[OtherWay, ...]
    left_out: int


def drawn_way(result: CheckResult, state: StateResult) -> DrawnWay:
    """Return a state of a check in its worst combination; of too many ways, in the worst of those tried.

    Parameters
    ----------
    result : CheckResult
        A check.
    state : StateResult
        One of its states.

    Returns
    -------
    DrawnWay
        What a drawing of the state shows: every figure in it happens at once.
    """
    solved = state.solved
    if solved.worst is None:
        tried = worst_tried(solved.state_on_line, solved.places).values()
        ways = [place.solved_way for place in tried if place.solved_way is not None]
        if ways:
            state = _in_way(result, state, min(ways, key=lambda way: way.margin_pa))
    appliances = in_worst_way(state)
    names = {appliance.name for appliance in appliances}
    others = _others(state)
    return DrawnWay(
        state=state,
        appliances=appliances,
        out=tuple(appliance.name for appliance in state.appliances if appliance.name not in names),
        others=others,
        left_out=max(0, (state.ways or 0) - 1 - len(others)),
    )


def _in_way(result: CheckResult, state: StateResult, way: SolvedWay) -> StateResult:
    plugged = tuple(end.plugged for end in way.way if end.plugged is not None)
    solved = state.solved._replace(worst=way, plugged=plugged, flows=way.flows)
    return state._replace(solved=solved, plugged=plugged, runs=tuple(result.line.working(way.flows)))


def _others(state: StateResult) -> tuple[OtherWay, ...]:
    on_line = state.solved.state_on_line
    atmospheric_pa = on_line.line.job.atmospheric_pa
    others = []
    for way in state.solved.ranked_ways()[1 : MOST_OTHERS + 1]:
        solved = on_line.solve_way(way)
        number = min(range(len(way)), key=solved.margins_pa.__getitem__)
        end, margin_pa = solved.way[number], solved.margins_pa[number]
        plugged = tuple(each.plugged for each in solved.way if each.plugged is not None)
        others.append(OtherWay(plugged, end.name, end.floor_abs_pa + margin_pa - atmospheric_pa, margin_pa))
    return tuple(others)
