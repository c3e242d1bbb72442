"""One state on one line: its combinations as ends of the line, each to be solved, or bounded if too many."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drawbar.job import Appliance, Outlet
from drawbar.line.lowest_outlet import lowest_of_each_sort, outlet_of_least
from drawbar.line.network import Line
from drawbar.line.plugging import LargestDraws, Plan, Plugged, largest_draw, places, plans_of
from drawbar.line.section import Section
from drawbar.line.worst_way import SolvedState, solve_state


def asked_of(tail: Sequence[Section], flow_kg_s: float, floor_abs_pa: float) -> float:
    """Return the pressure that a tail must be given to keep a floor at its far end [Pa absolute].

    Parameters
    ----------
    tail : sequence of Section
        Outlet and hose, in the order in which gas passes them.
    flow_kg_s : float
        Mass flow [kg/s].
    floor_abs_pa : float
        Least pressure at the far end [Pa absolute].

    Returns
    -------
    float
        Pressure at the end of the run [Pa absolute].
    """
    for section in reversed(tail):
        floor_abs_pa = section.inlet_abs_pa(floor_abs_pa, flow_kg_s)
    return floor_abs_pa


class End(NamedTuple):
    """An appliance at the end of the line in one combination.

    Attributes
    ----------
    name : str
        The appliance's.
    flow_kg_s : float
        What it draws [kg/s].
    at : int
        The number of the run it hangs on.
    tail : tuple of Section
        Outlet and hose.
    floor_abs_pa : float
        The least pressure it may have: the higher of the allowed drop's and its own [Pa absolute].
    plugged : Plugged or None
        Its outlet and hose, None where it is fixed.
    """

    name: str
    flow_kg_s: float
    at: int
    tail: tuple[Section, ...]
    floor_abs_pa: float
    plugged: Plugged | None = None

    def ask_pa(self) -> float:
        """Return the absolute pressure that the end of its run must have [Pa]."""
        return asked_of(self.tail, self.flow_kg_s, self.floor_abs_pa)

    def margin_pa(self, point_pa: float, more_kg_s: float = 0.0) -> float:
        """Return what the appliance has above its floor [Pa].

        Parameters
        ----------
        point_pa : float
            Pressure at the end of its run [Pa absolute].
        more_kg_s : float
            What it draws beside its own flow [kg/s].

        Returns
        -------
        float
            Its margin; below zero where it does not get its pressure [Pa].
        """
        flow_kg_s = self.flow_kg_s + more_kg_s
        for section in self.tail:
            point_pa = section.outlet_abs_pa(point_pa, flow_kg_s)
        return point_pa - self.floor_abs_pa


Way = tuple[End, ...]


class SolvedWay(NamedTuple):
    """One combination, solved.

    Attributes
    ----------
    way : Way
        What burns, each at its end.
    flows : list of float
        Mass flow in every run [kg/s].
    outlets_pa : list of float
        Pressure at the end of every run [Pa absolute].
    margins_pa : list of float
        What each of the way's ends has above its floor [Pa].
    inlet_margins_pa : list of tuple of int and float
        (number of the run, inlet pressure above its least [Pa]) of every second-stage regulator.
    margin_pa : float
        The least margin of all [Pa].
    """

    way: Way
    flows: list[float]
    outlets_pa: list[float]
    margins_pa: list[float]
    inlet_margins_pa: list[tuple[int, float]]
    margin_pa: float


class StateOnLine:
    """One state of a job on one line. Its combinations are made once, and it is solved once.

    Attributes
    ----------
    line : Line
        With a pipe for each run.
    plan : Plan
        What burns in the state, and every combination.
    fixed : tuple of End
        The ends of the appliances that are fixed.
    """

    def __init__(self, line: Line, plan: Plan) -> None:
        self.line = line
        self.plan = plan
        self._flow = {appliance.name: flow for appliance, flow in (*plan.fixed, *plan.portable)}
        self.fixed = tuple(self._end(appliance, None) for appliance, _ in plan.fixed)
        self._bound_flows: dict[tuple[int, str, str], float] = {}
        self._behinds: list[tuple[float, tuple[str, ...]]] = []
        self._draws: dict[tuple[tuple[str, ...], str, str], float] = {}

    @functools.cached_property
    def ways(self) -> list[Way] | None:
        """Every combination, the fixed appliances among each; None where they are too many to try."""
        ways = self.plan.ways
        if ways is None:
            return None
        ends = {plugged: self._end(plugged.appliance, plugged) for plugged in {each for way in ways for each in way}}
        return [(*self.fixed, *(ends[plugged] for plugged in way)) for way in ways]

    @functools.cached_property
    def solved(self) -> SolvedState:
        """The state solved in every combination, or bounded: what all read that show, explain or diagnose it."""
        return solve_state(self)

    @functools.cached_property
    def _largest(self) -> LargestDraws:
        return LargestDraws(self.plan.portable, self.line.job.outlets)

    def way_of(self, plugged: Sequence[Plugged]) -> Way:
        """Return the ends of one combination, the fixed appliances among them."""
        return (*self.fixed, *(self._end(each.appliance, each) for each in plugged))

    def _end(self, appliance: Appliance, plugged: Plugged | None) -> End:
        line, job = self.line, self.line.job
        at = line.index[plugged.outlet.at if plugged else appliance.at or ""]
        floor_gauge_pa = max(line.stage_gauge_pa[at] - job.allowed_drop_pa, appliance.min_gauge_pa)
        tail = line.tail(plugged.outlet, plugged.hose) if plugged else ()
        return End(appliance.name, self._flow[appliance.name], at, tail, floor_gauge_pa + job.atmospheric_pa, plugged)

    def bare_end(self, outlet: Outlet) -> End:
        """Return an end with nothing plugged into an outlet: what it could give is asked of its own devices alone."""
        line, job = self.line, self.line.job
        at = line.index[outlet.at]
        floor_abs_pa = line.stage_gauge_pa[at] - job.allowed_drop_pa + job.atmospheric_pa
        return End("", 0.0, at, line.tail(outlet, None), floor_abs_pa)

    # one combination

    def flows(self, way: Way) -> list[float]:
        """Return the mass flow in every run for one combination [kg/s]."""
        return self.line.flows([(end.at, end.flow_kg_s) for end in way])

    def solve_way(self, way: Way) -> SolvedWay:
        """Solve one combination."""
        flows = self.flows(way)
        outlets_pa = self.line.solve(flows)
        margins_pa = [end.margin_pa(outlets_pa[end.at]) for end in way]
        least_pa = min(margins_pa)
        inlet_margins_pa: list[tuple[int, float]] = []
        if self.line.stages:
            inlet_margins_pa.extend(self._inlet_margins(outlets_pa))
            least_pa = min(least_pa, *(margin_pa for _, margin_pa in inlet_margins_pa))
        return SolvedWay(way, flows, outlets_pa, margins_pa, inlet_margins_pa, least_pa)

    def worst_of(self, ways: Sequence[Way]) -> SolvedWay:
        """Return the worst of some combinations, solved; the first of several that are equally bad."""
        worst = self.solve_way(ways[0])
        for way in ways[1:]:
            solved_way = self.solve_way(way)
            if solved_way.margin_pa < worst.margin_pa:
                worst = solved_way
        return worst

    def least_of(self, ways: Sequence[Way]) -> tuple[float, str]:
        """Return the least margin of some combinations [Pa], and the appliance or regulator's run that has it."""
        worst = self.worst_of(ways)
        for number, margin_pa in worst.inlet_margins_pa:
            if margin_pa == worst.margin_pa:
                return margin_pa, self.line.job.runs[number].name
        return worst.margin_pa, worst.way[worst.margins_pa.index(worst.margin_pa)].name

    def worst(self) -> tuple[float, str]:
        """Return the least margin of all combinations, or a bound below it [Pa], and the appliance that has it.

        It takes less than all of what ``solved`` tells.
        """
        return min(self._bound_margins()) if self.ways is None else self.least_of(self.ways)

    def _inlet_margins(self, outlets_pa: Sequence[float]) -> Iterator[tuple[int, float]]:
        """Yield (number of the run, inlet pressure above its least [Pa]) for every second-stage regulator."""
        line = self.line
        for number in line.stages:
            regulator = line.job.runs[number].regulator
            assert regulator is not None  # line.stages are the runs that have one
            inlet_gauge_pa = line.before_regulator_pa(number, outlets_pa) - line.conditions.atmospheric_pa
            yield number, inlet_gauge_pa - regulator.inlet_min_gauge_pa

    # too many ways: a bound

    def bound_ends(self) -> list[End]:
        """Return every appliance in every place it may take."""
        ends = list(self.fixed)
        for appliance, _ in self.plan.portable:
            ends.extend(self._end(appliance, Plugged(appliance, o, h)) for o, h in places(self.line.job, appliance))
        return ends

    @property
    def place_count(self) -> int:
        """How many places its appliances may take, every outlet with every hose."""
        return len(self.fixed) + sum(appliance.place_count for appliance, _ in self.plan.portable)

    def bound_flow_kg_s(self, number: int, end: End | None) -> float:
        """Return the most that can flow in a run [kg/s], with one end drawing at its place if it is given.

        Each run is taken for itself: the appliances with the largest rates that fit the outlets after it. No
        combination has more in any run, and more gas never raises a pressure, so the drops are never too low.
        """
        plugged = end.plugged if end is not None and self.plan.each_place else None
        key = (number, plugged.appliance.name, plugged.outlet.name) if plugged else (number, "", "")
        flow_kg_s = self._bound_flows.get(key)
        if flow_kg_s is None:
            flow_kg_s = self._bound_flows[key] = self._most_behind(number, plugged)
        return flow_kg_s

    def _most_behind(self, number: int, plugged: Plugged | None) -> float:
        fixed_kg_s, outlets = self._behind(number)
        taken, appliance = (plugged.outlet.name, plugged.appliance) if plugged else ("", None)
        key = (outlets, taken, appliance.name if appliance else "")
        most_kg_s = self._draws.get(key)
        if most_kg_s is None:
            most_kg_s = self._largest.of_any(len(outlets) - (taken in outlets), appliance.name if appliance else None)
        if most_kg_s is None:
            others = [pair for pair in self.plan.portable if pair[0] is not appliance]
            most_kg_s = largest_draw(others, [name for name in outlets if name != taken])
        self._draws[key] = most_kg_s
        return fixed_kg_s + most_kg_s + (self._flow[appliance.name] if appliance else 0.0)

    def _behind(self, number: int) -> tuple[float, tuple[str, ...]]:
        """Return (what the fixed appliances behind a run draw [kg/s], the outlets after it)."""
        if not self._behinds:
            flows = self.line.flows([(fixed.at, fixed.flow_kg_s) for fixed in self.fixed])
            self._behinds = list(zip(flows, self.line.outlets_behind, strict=True))
        return self._behinds[number]

    def bound_point_pa(self, end: End, line: Line | None = None) -> float:
        """Return a pressure at the end's point that no combination goes below [Pa absolute]."""
        line = line or self.line
        point_pa = line.source_abs_pa
        for number in line.paths[end.at]:
            inlet_pa = line.behind_regulator_pa(number, point_pa)
            point_pa = line.sections[number].outlet_abs_pa(inlet_pa, self.bound_flow_kg_s(number, end))
        return point_pa

    def bound_points(self, line: Line | None = None) -> Iterator[tuple[End, float]]:
        """Yield every appliance where the bound may leave it least, with the pressure at its point [Pa absolute].

        The pressure is the same whichever hose it is plugged in with.
        """
        line = line or self.line
        highest_pa = None if self.plan.each_place else self._highest_points(line)
        for end in self.fixed:
            yield end, self.bound_point_pa(end, line) if highest_pa is None else highest_pa[end.at]
        shared: dict[tuple[str, ...], list[tuple[Outlet, float]]] = {}
        for appliance, _ in self.plan.portable:
            names = appliance.plugs_into
            outlets = self.line.outlets_of(names)
            if highest_pa is None:
                ends = [self._end(appliance, Plugged(appliance, outlet, None)) for outlet in outlets]
                lowest = lowest_of_each_sort(self.line, outlets, [self.bound_point_pa(end, line) for end in ends])
            elif names in shared:
                lowest = shared[names]
            else:
                points_pa = [highest_pa[line.index[outlet.at]] for outlet in outlets]
                lowest = shared[names] = lowest_of_each_sort(self.line, outlets, points_pa)
            yield from self._worst_places(appliance, lowest)

    def _worst_places(
        self, appliance: Appliance, outlets: Sequence[tuple[Outlet, float]]
    ) -> Iterator[tuple[End, float]]:
        """Yield an appliance with each hose that may be its worst, on the outlet of each stage that leaves least.

        Every outlet goes with every hose, and more pressure before a hose is more behind it.
        """
        line, flow_kg_s = self.line, self._flow[appliance.name]
        by_stage: dict[float, list[tuple[Section, float, Outlet]]] = {}
        for outlet, point_pa in outlets:
            section = line.tail(outlet, None)[0]
            by_stage.setdefault(section.stage_gauge_pa, []).append((section, point_pa, outlet))
        for stage_pa, on_stage in by_stage.items():
            outlet, point_pa = outlet_of_least(on_stage, flow_kg_s)
            for hose in line.worst_hoses(appliance.hoses, stage_pa) or (None,):
                yield self._end(appliance, Plugged(appliance, outlet, hose)), point_pa

    def bound_inlet_margins(self, line: Line | None = None) -> dict[int, float]:
        """Return (number of the run: inlet pressure above its least [Pa]) by the bound."""
        line = line or self.line
        if not line.stages:
            return {}
        return dict(self._inlet_margins(self._highest_points(line)))

    def _highest_points(self, line: Line) -> list[float]:
        """Return the pressure at the end of every run with the most in each that can flow there [Pa absolute]."""
        return line.solve([self.bound_flow_kg_s(number, None) for number in range(len(line.sections))])

    def bound_margin_pa(self, line: Line | None = None) -> float:
        """Return a margin that the least margin of no combination goes below [Pa]."""
        return min(margin_pa for margin_pa, _ in self._bound_margins(line))

    def _bound_margins(self, line: Line | None = None) -> Iterator[tuple[float, str]]:
        """Yield (a margin by the bound [Pa], the appliance or run that has it)."""
        for number, margin_pa in self.bound_inlet_margins(line).items():
            yield margin_pa, self.line.job.runs[number].name
        for end, point_pa in self.bound_points(line):
            yield end.margin_pa(point_pa), end.name


def states_on_line(line: Line) -> list[StateOnLine]:
    """Return every state of a line's job on that line, in the job's order; one budget bounds the ways of all."""
    return [StateOnLine(line, plan) for plan in plans_of(line.job)]


def states_again(states: Sequence[StateOnLine], line: Line) -> list[StateOnLine]:
    """Return states on the line of another job of the same pieces and appliances, in the ways that are known already.

    Parameters
    ----------
    states : sequence of StateOnLine
        The states of a job on its line.
    line : Line
        The line of the other job, as the job at its worst.

    Returns
    -------
    list of StateOnLine
        In the same order.
    """
    return [StateOnLine(line, state.plan.at_flows_of(line.job)) for state in states]
