"""One state on one line: its ways of plugging as ends of the line, solved one by one, or bounded if too many."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drawbar.job import Appliance, Outlet
from drawbar.line.network import Line
from drawbar.line.plugging import Plan, Plugged, largest_draw, places
from drawbar.line.section import Section


def asked_of(tail: Sequence[Section], flow_kg_s: float, floor_abs_pa: float) -> float:
    """Return the pressure [Pa absolute] that a tail must be given to keep a floor at its far end, for a flow [kg/s]."""
    for part in reversed(tail):
        floor_abs_pa = part.inlet_abs_pa(floor_abs_pa, flow_kg_s)
    return floor_abs_pa


class End(NamedTuple):
    """An appliance at the end of the line in one way of plugging.

    name : the appliance's; at : the number of the run it hangs on; tail : outlet and hose
    flow_kg_s : what it draws [kg/s]; floor_abs_pa : the least absolute pressure it may have [Pa]
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

    def abs_pa(self, point_pa: float, flow_kg_s: float) -> float:
        """Return the absolute pressure at the appliance [Pa] for that at the end of its run, and its flow [kg/s]."""
        for part in self.tail:
            point_pa = part.outlet_abs_pa(point_pa, flow_kg_s)
        return point_pa


Way = tuple[End, ...]


class StateOnLine:
    """One state of a job on one line. The ways of plugging are made once and solved as often as asked.

    fixed : the ends of the appliances that are fixed
    """

    def __init__(self, line: Line, plan: Plan) -> None:
        self.line = line
        self.plan = plan
        self._flow = {appliance.name: flow for appliance, flow in (*plan.fixed, *plan.portable)}
        self.fixed = tuple(self._end(appliance, None) for appliance, _ in plan.fixed)
        self._bound_flows: dict[tuple[int, str, str], float] = {}
        self._behinds: dict[int, tuple[float, tuple[str, ...]]] = {}
        self._draws: dict[tuple[tuple[str, ...], str, str], float] = {}

    @functools.cached_property
    def ways(self) -> list[Way] | None:
        """Every way of plugging, the fixed appliances among each; None where they are too many to try."""
        found = self.plan.ways
        if found is None:
            return None
        made: dict[Plugged, End] = {}
        for plugged in {one for way in found for one in way}:
            made[plugged] = self._end(plugged.appliance, plugged)
        return [(*self.fixed, *(made[one] for one in way)) for way in found]

    def way_of(self, plugged: Sequence[Plugged]) -> Way:
        """Return the ends of one way of plugging, the fixed appliances among them."""
        return (*self.fixed, *(self._end(one.appliance, one) for one in plugged))

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

    # one way of plugging

    def flows(self, way: Way) -> list[float]:
        """Return the mass flow in every run for one way of plugging [kg/s]."""
        return self.line.flows([(end.at, end.flow_kg_s) for end in way])

    def regulator_margins(self, outlets_pa: Sequence[float]) -> Iterator[tuple[int, float]]:
        """Yield (number of the run, inlet pressure above its least [Pa]) for every second-stage regulator."""
        line = self.line
        for number in line.stages:
            regulator = line.job.runs[number].regulator
            assert regulator is not None  # line.stages are the runs that have one
            inlet_gauge_pa = line.before_regulator_pa(number, outlets_pa) - line.conditions.atmospheric_pa
            yield number, inlet_gauge_pa - regulator.inlet_min_gauge_pa

    def least_margin_pa(self, way: Way) -> float:
        """Return the least margin of any appliance or regulator in one way [Pa]."""
        return self.worst_of([way])[0]

    def worst(self) -> tuple[float, str]:
        """Return the least margin of all ways of plugging, or a bound below it [Pa], and the appliance that has it."""
        return min(self._bound_margins()) if self.ways is None else self.worst_of(self.ways)

    def worst_of(self, ways: Sequence[Way]) -> tuple[float, str]:
        """Return the least margin of some ways of plugging [Pa], and the appliance or run that has it."""
        line = self.line
        least, name = float("inf"), ""
        for way in ways:
            outlets_pa = line.solve(self.flows(way))
            for number, margin_pa in self.regulator_margins(outlets_pa):
                if margin_pa < least:
                    least, name = margin_pa, line.job.runs[number].name
            for end in way:
                margin_pa = end.abs_pa(outlets_pa[end.at], end.flow_kg_s) - end.floor_abs_pa
                if margin_pa < least:
                    least, name = margin_pa, end.name
        return least, name

    # too many ways: a bound

    def bound_ends(self) -> list[End]:
        """Return every appliance in every place it may take."""
        ends = list(self.fixed)
        for appliance, _ in self.plan.portable:
            ends.extend(self._end(appliance, Plugged(appliance, o, h)) for o, h in places(self.line.job, appliance))
        return ends

    def bound_flow_kg_s(self, number: int, end: End | None) -> float:
        """Return the most that can flow in a run [kg/s], with one end drawing at its place if it is given.

        Each run is taken for itself: the appliances with the largest rates that fit the outlets behind it. No way of
        plugging has more in any run, and more gas never raises a pressure, so the drops that follow are never too low.
        """
        plugged = end.plugged if end is not None else None
        key = (number, plugged.appliance.name, plugged.outlet.name) if plugged else (number, "", "")
        found = self._bound_flows.get(key)
        if found is None:
            found = self._bound_flows[key] = self._most_behind(number, plugged)
        return found

    def _most_behind(self, number: int, plugged: Plugged | None) -> float:
        fixed_kg_s, outlets = self._behind(number)
        taken, own = (plugged.outlet.name, plugged.appliance) if plugged else ("", None)
        key = (outlets, taken, own.name if own else "")
        most = self._draws.get(key)
        if most is None:
            others = [pair for pair in self.plan.portable if pair[0] is not own]
            most = largest_draw(others, [name for name in outlets if name != taken])
            self._draws[key] = most
        return fixed_kg_s + most + (self._flow[own.name] if own else 0.0)

    def _behind(self, number: int) -> tuple[float, tuple[str, ...]]:
        """Return (what the fixed appliances behind a run draw [kg/s], the outlets behind it)."""
        if number not in self._behinds:
            line = self.line
            total = sum(fixed.flow_kg_s for fixed in self.fixed if number in line.paths[fixed.at])
            outlets = tuple(one.name for one in line.job.outlets if number in line.paths[line.index[one.at]])
            self._behinds[number] = (total, outlets)
        return self._behinds[number]

    def bound_point_pa(self, end: End, line: Line | None = None) -> float:
        """Return a pressure at the end's point that no way of plugging goes below [Pa absolute]."""
        line = line or self.line
        point_pa = line.source_abs_pa
        for number in line.paths[end.at]:
            inlet_pa = line.behind_regulator_pa(number, point_pa)
            point_pa = line.sections[number].outlet_abs_pa(inlet_pa, self.bound_flow_kg_s(number, end))
        return point_pa

    def bound_regulator_margins(self, line: Line | None = None) -> dict[int, float]:
        """Return (number of the run: inlet pressure above its least [Pa]) by the bound."""
        line = line or self.line
        if not line.stages:
            return {}
        highest = [self.bound_flow_kg_s(number, None) for number in range(len(line.sections))]
        return dict(self.regulator_margins(line.solve(highest)))

    def bound_margin_pa(self, line: Line | None = None) -> float:
        """Return a margin that the least margin of no way of plugging goes below [Pa]."""
        return min(margin_pa for margin_pa, _ in self._bound_margins(line))

    def _bound_margins(self, line: Line | None = None) -> Iterator[tuple[float, str]]:
        """Yield (a margin by the bound [Pa], the appliance or run that has it)."""
        for number, margin_pa in self.bound_regulator_margins(line).items():
            yield margin_pa, self.line.job.runs[number].name
        points: dict[tuple[int, str, str], float] = {}
        for end in self.bound_ends():
            key = (end.at, end.name, end.plugged.outlet.name if end.plugged else "")
            if key not in points:
                points[key] = self.bound_point_pa(end, line)
            yield end.abs_pa(points[key], end.flow_kg_s) - end.floor_abs_pa, end.name
