"""Which combination of a state is the worst, for each appliance and of all: every way tried, or a bound over them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.line.plugging import first_way, work_of_look

if TYPE_CHECKING:
    from collections.abc import Mapping

    from drawbar.job import Outlet
    from drawbar.line.plugging import Plugged
    from drawbar.line.state import End, SolvedWay, StateOnLine, Way


_MOST_LOOKED = 60_000  # places looked at for them, over all states of a job
_MOST_TRIED = 12  # ways, where they are too many to try all


class WorstPlace(NamedTuple):
    """Where an appliance gets least: its end in its worst combination.

    Attributes
    ----------
    end : End
        The appliance in that place.
    point_pa : float
        Pressure at the end of its run [Pa absolute].
    margin_pa : float
        What it has above its floor [Pa].
    solved_way : SolvedWay or None
        Its worst way; None where the ways are too many to try and the pressures a bound.
    """

    end: End
    point_pa: float
    margin_pa: float
    solved_way: SolvedWay | None = None


class SolvedState(NamedTuple):
    """A state solved on a line, in every combination or by the bound over them.

    Attributes
    ----------
    state_on_line : StateOnLine
        What was solved; its ``ways`` are those that were tried, None where they are too many.
    places : dict of str to WorstPlace
        Each appliance, by its name, in its worst combination.
    worst : SolvedWay or None
        The way with the least margin of all; None where the pressures are a bound.
    plugged : tuple of Plugged
        What is plugged in in that way; by the bound, the portable appliance with the least margin, if it is portable.
    flows : list of float
        Mass flow in every run in that way; by the bound, the most that can flow, with the appliance of the least
        margin in its place [kg/s].
    most_kg_s : float
        The most that can burn at once [kg/s].
    loads_kg_s : list of float
        The most that any way sends through each run with a second-stage regulator [kg/s].
    inlet_margins_pa : dict of int to float
        By the number of a run with a second-stage regulator, the least inlet pressure above what it needs [Pa].
    way_margins_pa : list of float
        The least margin in each of the ways, in their order; empty for a bound [Pa].
    """

    state_on_line: StateOnLine
    places: dict[str, WorstPlace]
    worst: SolvedWay | None
    plugged: tuple[Plugged, ...]
    flows: list[float]
    most_kg_s: float
    loads_kg_s: list[float]
    inlet_margins_pa: dict[int, float]
    way_margins_pa: list[float]

    def ranked_ways(self) -> list[Way]:
        """Return the combinations, the worst first; none where the pressures are a bound."""
        ways = self.state_on_line.ways or []
        order = sorted(range(len(ways)), key=self.way_margins_pa.__getitem__)
        return [ways[number] for number in order]

    def flows_to(self, name: str) -> list[float]:
        """Return the mass flow in every run in an appliance's worst combination, or by the bound [kg/s]."""
        place = self.places[name]
        if place.solved_way is not None:
            return place.solved_way.flows
        return _bound_flows(self.state_on_line, place.end)

    def in_worst_way(self) -> list[WorstPlace]:
        """Return the appliances in the one combination with the least margin of all.

        By the bound there is no such way: then those that are fixed, and the portable one that is worst.
        """
        worst = self.worst
        if worst is None:
            plugged = {each.appliance.name for each in self.plugged}
            return [place for name, place in self.places.items() if place.end.plugged is None or name in plugged]
        return [
            WorstPlace(end, worst.outlets_pa[end.at], margin_pa, worst)
            for end, margin_pa in zip(worst.way, worst.margins_pa, strict=True)
        ]


def solve_state(state_on_line: StateOnLine) -> SolvedState:
    """Solve a state on a line: the worst combination for each appliance, and of all.

    Parameters
    ----------
    state_on_line : StateOnLine
        The state and the line; its property ``solved`` keeps what this returns.

    Returns
    -------
    SolvedState
        Exact where its combinations are few enough to be tried, otherwise a bound that no way goes below.
    """
    ways = state_on_line.ways
    return _by_trying(state_on_line, ways) if ways is not None else _by_bound(state_on_line)


def _by_trying(state_on_line: StateOnLine, ways: list[Way]) -> SolvedState:
    places: dict[str, WorstPlace] = {}
    inlet_margins_pa: dict[int, float] = {}
    loads_kg_s = [0.0] * len(state_on_line.line.sections)
    way_margins_pa: list[float] = []
    worst: SolvedWay | None = None
    most_kg_s = 0.0
    for solved_way in map(state_on_line.solve_way, ways):
        for number, margin_pa in solved_way.inlet_margins_pa:
            inlet_margins_pa[number] = min(inlet_margins_pa.get(number, math.inf), margin_pa)
            loads_kg_s[number] = max(loads_kg_s[number], solved_way.flows[number])
        for end, margin_pa in zip(solved_way.way, solved_way.margins_pa, strict=True):
            before = places.get(end.name)
            if before is None or margin_pa < before.margin_pa:
                places[end.name] = WorstPlace(end, solved_way.outlets_pa[end.at], margin_pa, solved_way)
        most_kg_s = max(most_kg_s, sum(end.flow_kg_s for end in solved_way.way))
        way_margins_pa.append(solved_way.margin_pa)
        if worst is None or solved_way.margin_pa < worst.margin_pa:
            worst = solved_way
    assert worst is not None  # there is a combination, though it be with nothing in it
    return SolvedState(
        state_on_line=state_on_line,
        places=places,
        worst=worst,
        plugged=tuple(end.plugged for end in worst.way if end.plugged is not None),
        flows=worst.flows,
        most_kg_s=most_kg_s,
        loads_kg_s=loads_kg_s,
        inlet_margins_pa=inlet_margins_pa,
        way_margins_pa=way_margins_pa,
    )


def bound_places(state_on_line: StateOnLine) -> dict[str, WorstPlace]:
    """Return each appliance, by its name, in the place where the most that can flow on the way there leaves it least.

    Parameters
    ----------
    state_on_line : StateOnLine
        The state and the line.

    Returns
    -------
    dict of str to WorstPlace
        With margins that the appliance's margin in no combination goes below [Pa].
    """
    places: dict[str, WorstPlace] = {}
    for end, point_pa in state_on_line.bound_points():
        margin_pa = end.margin_pa(point_pa)
        before = places.get(end.name)
        if before is None or margin_pa < before.margin_pa:
            places[end.name] = WorstPlace(end, point_pa, margin_pa)
    return places


def worst_tried(state_on_line: StateOnLine, places: Mapping[str, WorstPlace]) -> dict[str, WorstPlace]:
    """Return each appliance in the worst of a few combinations, where they are too many to try all.

    For each of the places that the bound leaves least, the way is tried that puts the appliance there first, and then
    the others by falling flow into the outlets that share most of its path.

    Parameters
    ----------
    state_on_line : StateOnLine
        A state with too many ways.
    places : mapping of str to WorstPlace
        Each appliance where the bound leaves it least.

    Returns
    -------
    dict of str to WorstPlace
        What surely happens in some combination.
    """
    tried: dict[str, WorstPlace] = {}
    plan = state_on_line.plan
    most = min(_MOST_TRIED, max(1, _MOST_LOOKED // (work_of_look(plan) * len(plan.job.states))))
    for place in sorted(places.values(), key=lambda place: place.margin_pa)[:most]:
        way = _way_around(state_on_line, place.end)
        if way is None:
            continue
        solved_way = state_on_line.solve_way(way)
        for end, margin_pa in zip(solved_way.way, solved_way.margins_pa, strict=True):
            if end.name not in tried or margin_pa < tried[end.name].margin_pa:
                tried[end.name] = WorstPlace(end, solved_way.outlets_pa[end.at], margin_pa, solved_way)
    return tried


def _way_around(state_on_line: StateOnLine, end: End) -> Way | None:
    """Return a combination that draws as much as can be had along the path to an end."""
    line, plan = state_on_line.line, state_on_line.plan
    path, plugged = set(line.paths[end.at]), end.plugged

    def apart(outlet: Outlet) -> tuple[bool, int]:
        is_other = plugged is not None and outlet.name != plugged.outlet.name
        return is_other, -len(path.intersection(line.paths[line.index[outlet.at]]))

    job = line.job._replace(outlets=tuple(sorted(line.job.outlets, key=apart)))
    if plugged is not None and plugged.hose is not None:
        hose_name = plugged.hose.name
        job = job._replace(hoses=tuple(sorted(job.hoses, key=lambda hose: hose.name != hose_name)))
    ranked = sorted(plan.portable, key=lambda pair: (pair[0].name != end.name, -pair[1]))
    plugging = first_way(job, [appliance for appliance, _ in ranked])
    return None if plugging is None else state_on_line.way_of(plugging)


def _by_bound(state_on_line: StateOnLine) -> SolvedState:
    line, places = state_on_line.line, bound_places(state_on_line)
    least = min(places.values(), key=lambda place: place.margin_pa).end
    loads_kg_s = [state_on_line.bound_flow_kg_s(number, None) for number in range(len(line.sections))]
    return SolvedState(
        state_on_line=state_on_line,
        places=places,
        worst=None,
        plugged=(least.plugged,) if least.plugged is not None else (),
        flows=_bound_flows(state_on_line, least),
        most_kg_s=sum(load for load, parent in zip(loads_kg_s, line.parents, strict=True) if parent < 0),
        loads_kg_s=loads_kg_s,
        inlet_margins_pa=state_on_line.bound_inlet_margins(),
        way_margins_pa=[],
    )


def _bound_flows(state_on_line: StateOnLine, end: End) -> list[float]:
    """Return the most that can flow in every run, on the way to an end with the end in its place [kg/s]."""
    line = state_on_line.line
    path = set(line.paths[end.at])
    return [
        state_on_line.bound_flow_kg_s(number, end if number in path else None) for number in range(len(line.sections))
    ]
