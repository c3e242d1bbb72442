"""The figures of a drawn job that could be wrong, and what each leaves a line as it goes from what was drawn to worse.

How far a figure has gone is counted so that what is left falls nearly straight with it: for a length and a device's
drop by what was added, for a bore and an input by the share that the friction has grown.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator
from functools import partial
from typing import NamedTuple

from drawbar.checking.spare import MOST_HEAT_W, MOST_LENGTH_M
from drawbar.checking.way_left import WayLeft
from drawbar.job import Appliance, Hose, Job, Outlet, Run
from drawbar.line.plugging import Plan
from drawbar.line.section import Section
from drawbar.line.state import End, StateOnLine
from drawbar.physics.friction import LAMINAR_BELOW, reynolds

LEAST_BORE_M = 0.001
MOST_DROP_PA = 1_000_000.0  # of a device at the flow of its figure
# In a smooth pipe friction goes about with flow^1.8, and with bore^-4.75, or bore^-4 where it is laminar; where flow
# turns turbulent it is half as much again.
_FLOW, _BORE, _LAMINAR_BORE, _TURN = 1.8, 4.75, 4.0, 1.55
_BEND = {"bore": -1.0 / _BORE, "input": 1.0 / _FLOW}
_FINE = 2e-4  # of a figure: as near as it is worked out

# (a guess at how far the figure may go, what is left when it has gone so far [Pa])
Margin = tuple[float, Callable[[float], float]]


class StateLeft(NamedTuple):
    """A state with what is left in its combinations, or by the bound over them."""

    state_on_line: StateOnLine
    ways: list[WayLeft]
    is_bound: bool


class DrawnFigure:
    """A figure of a job that could be wrong.

    Attributes
    ----------
    kind : str
        `bore`, `length`, `input` or `drop`.
    place_kind, place : str
        `run`, `hose`, `outlet` or `appliance`, and its name.
    part : str or None
        The device that it is of.
    value : float
        As drawn: bore and length [m], input [W], a device's drop at the flow of its figure [Pa].
    tolerance : float
        How far the place itself says that it may be off, in the unit of the value; 0 where it does not.
    flow_kg_s : float or None
        The flow of a device's figure [kg/s].
    most : float
        How far it is followed.
    """

    kind: str
    place_kind: str
    place: str
    part: str | None = None
    tolerance = 0.0
    flow_kg_s: float | None = None

    def __init__(self, kind: str, place: str, value: float) -> None:
        self.kind, self.place, self.value = kind, place, value
        self._bend = _BEND.get(kind, 0.0)
        last = {"bore": LEAST_BORE_M, "length": MOST_LENGTH_M, "input": MOST_HEAT_W, "drop": MOST_DROP_PA}[kind]
        if self._bend:
            self.most = max((last / value) ** (1.0 / self._bend) - 1.0, 0.0)
        else:
            self.most = max(last - value, 0.0)

    def value_at(self, gone: float) -> float:
        """Return the figure when it has gone so far from what was drawn, in its own unit."""
        return self.value * math.pow(1.0 + gone, self._bend) if self._bend else self.value + gone

    def near(self, gone: float) -> float:
        """Return how far it goes in a step of 2e-4 of itself."""
        if self._bend:
            return _FINE * (1.0 + gone) / abs(self._bend)
        return max(_FINE * (self.value + gone), 1e-9)

    def margins(self, state: StateLeft) -> Iterator[Margin]:
        """Yield, for each place in each combination where the figure counts, a guess and what is left."""
        raise NotImplementedError


class _Piece(DrawnFigure):
    """The bore or length of a run or hose, or the drop of a device on a run, an outlet or a hose."""

    def __init__(self, kind: str, piece: Run | Outlet | Hose, index: int = 0) -> None:
        pipe = None if isinstance(piece, Outlet) else piece.pipe
        if kind == "drop":
            device = piece.devices[index]
            self.part, self.flow_kg_s = device.name, device.flow_kg_s
            value = device.drop_pa
        else:
            assert pipe is not None
            assert not isinstance(piece, Outlet)
            value = pipe.bore_m if kind == "bore" else piece.length_m
            self.tolerance = pipe.bore_tolerance_m if kind == "bore" else 0.0
        super().__init__(kind, piece.name, value)
        self.place_kind = type(piece).__name__.lower()
        self._piece, self._index = piece, index
        self._sections: dict[tuple[float, type, str, float], Section] = {}

    def _section(self, piece: Run | Outlet | Hose, drawn: Section, gone: float) -> Section:
        """Return the section of a piece with the figure gone so far; an outlet has the bore of its run."""
        key = (gone, type(piece), piece.name, drawn.stage_gauge_pa)
        section = self._sections.get(key)
        if section is None:
            value, pipe = self.value_at(gone), drawn.pipe
            if self.kind == "bore":
                pipe = pipe._replace(bore_m=value)
            elif self.kind == "length":
                piece = _with(piece, length_m=value)
            else:
                devices = list(piece.devices)
                devices[self._index] = devices[self._index]._replace(drop_pa=value)
                piece = _with(piece, devices=tuple(devices))
            section = self._sections[key] = Section(piece, pipe, drawn.stage_gauge_pa, drawn.conditions)
        return section

    def _guess(self, section: Section, left_pa: float, pipe_pa: float, flow_kg_s: float) -> float:
        """Return about how far the figure may go until so much is used up, where the pipe takes so much as drawn."""
        if self.flow_kg_s is not None:
            return left_pa * (self.flow_kg_s / flow_kg_s) ** 2
        if pipe_pa <= 0.0:
            return math.inf
        if self.kind == "length":
            return left_pa * (section.length_m + section.fittings_m) / pipe_pa
        more = 1.0 + left_pa / pipe_pa
        number = reynolds(flow_kg_s, section.pipe.bore_m, section.conditions.vapour.viscosity_pa_s)
        if number >= LAMINAR_BELOW:
            return more - 1.0
        laminar, turns = math.pow(more, _BORE / _LAMINAR_BORE), math.pow(LAMINAR_BELOW / number, _BORE)
        if laminar <= turns:
            return laminar - 1.0
        return max(turns, more / _TURN * math.pow(turns, 1.0 - _LAMINAR_BORE / _BORE)) - 1.0


class _OfRun(_Piece):
    def __init__(self, kind: str, run: Run, number: int, index: int = 0) -> None:
        super().__init__(kind, run, index)
        self._number = number

    def margins(self, state: StateLeft) -> Iterator[Margin]:
        number = self._number
        section = state.state_on_line.line.sections[number]
        for way in state.ways:
            flow_kg_s = way.flows[number]
            if flow_kg_s and way.asked_pa[number]:
                pipe_pa = way.taken_pa[number] - section.devices_pa(flow_kg_s)
                if self.kind == "bore":
                    pipe_pa += max((_pipe_pa(end.tail[0], way, end) for end in self._fitted(way)), default=0.0)
                    margin = self._bore_pa
                else:
                    margin = self._left_pa
                yield self._guess(section, way.left_pa(number), pipe_pa, flow_kg_s), partial(margin, way)

    def _fitted(self, way: WayLeft) -> list[End]:
        """Return what is plugged in at the end of the run where the outlet has fittings, which count by its bore."""
        return [end for end in way.way if end.at == self._number and end.plugged and end.plugged.outlet.fittings]

    def _left_pa(self, way: WayLeft, gone: float) -> float:
        number = self._number
        return way.changed_pa(number, self._section(self._piece, way.line.sections[number], gone))

    def _bore_pa(self, way: WayLeft, gone: float) -> float:
        number = self._number
        section = self._section(self._piece, way.line.sections[number], gone)
        plugged = self._fitted(way)
        if not plugged:
            return way.changed_pa(number, section)
        point_pa = section.outlet_abs_pa(way.inlets_pa[number], way.flows[number])
        names = {end.name for end in plugged}
        least = min((point_pa - ask for ask, whose in way.at_end[number] if whose not in names), default=math.inf)
        for end in plugged:
            assert end.plugged is not None
            outlet = self._section(end.plugged.outlet, end.tail[0], gone)
            least = min(least, end._replace(tail=(outlet, *end.tail[1:])).margin_pa(point_pa))
        return least


class _OfTail(_Piece):
    """A figure of an outlet or a hose: it counts for what is plugged in there."""

    def margins(self, state: StateLeft) -> Iterator[Margin]:
        place = 0 if isinstance(self._piece, Outlet) else 1
        for way in state.ways:
            for end in way.way:
                if end.flow_kg_s and place < len(end.tail) and end.tail[place].name == self.place:
                    section, point_pa = end.tail[place], way.outlets_pa[end.at]
                    guess = self._guess(section, end.margin_pa(point_pa), _pipe_pa(section, way, end), end.flow_kg_s)
                    yield guess, partial(self._left_pa, end, place, point_pa)

    def _left_pa(self, end: End, place: int, point_pa: float, gone: float) -> float:
        section = self._section(self._piece, end.tail[place], gone)
        return end._replace(tail=(*end.tail[:place], section, *end.tail[place + 1 :])).margin_pa(point_pa)


class _Input(DrawnFigure):
    place_kind = "appliance"

    def __init__(self, appliance: Appliance) -> None:
        super().__init__("input", appliance.name, appliance.input_w)
        self._flow_kg_s = appliance.flow_kg_s

    def margins(self, state: StateLeft) -> Iterator[Margin]:
        share = dict(state.state_on_line.plan.state.shares).get(self.place, 0.0)
        if not share:
            return
        room_w = self._room_w(state) / share
        if room_w < math.inf:
            guess = math.pow(max(1.0 + room_w / self.value, 0.0), _FLOW) - 1.0
            yield guess, partial(self._rated_pa, state.state_on_line.line.job.allowed_drop_pa, room_w)
        if state.is_bound:
            # What an appliance takes more counts on the way to the others as well, wherever it may be plugged in.
            guesses = (_more_everywhere(way, share * self._flow_kg_s) for way in state.ways)
            yield min(guesses, default=math.inf), partial(self._bound_pa, state.state_on_line)
            return
        for way in state.ways:
            for end in way.way:
                if end.name == self.place and end.flow_kg_s:
                    yield _more_on_the_way(way, end), partial(self._left_pa, way, end)

    def _room_w(self, state: StateLeft) -> float:
        """Return the least that any regulator may pass more where it feeds the appliance, by its rated capacity [W]."""
        line, gross_j_kg = state.state_on_line.line, state.state_on_line.line.job.gas.gross_j_kg
        first_w = line.job.regulator.capacity_w
        stages = [(number, line.job.runs[number].regulator) for number in line.stages]
        rated = [(number, regulator.capacity_w) for number, regulator in stages if regulator and regulator.capacity_w]
        if state.is_bound:
            solved = state.state_on_line.solved
            rooms = [capacity_w - solved.loads_kg_s[number] * gross_j_kg for number, capacity_w in rated]
            return min(rooms + ([first_w - solved.most_kg_s * gross_j_kg] if first_w else []), default=math.inf)
        least = math.inf
        for way in state.ways if first_w or rated else ():
            for end in way.way:
                if end.name == self.place:
                    if first_w:
                        least = min(least, first_w - sum(other.flow_kg_s for other in way.way) * gross_j_kg)
                    for number, capacity_w in rated:
                        if number in line.paths[end.at]:
                            least = min(least, capacity_w - way.flows[number] * gross_j_kg)
        return least

    def _rated_pa(self, allowed_drop_pa: float, room_w: float, gone: float) -> float:
        """Return what is left of a regulator's rating, the input as drawn standing for the allowed drop [Pa]."""
        return (room_w / self.value + 1.0 - self.value_at(gone) / self.value) * allowed_drop_pa

    def _left_pa(self, way: WayLeft, end: End, gone: float) -> float:
        return way.margin_pa(end, end.flow_kg_s * (self.value_at(gone) / self.value - 1.0))

    def _bound_pa(self, state_on_line: StateOnLine, gone: float) -> float:
        state, times = state_on_line.plan.state, self.value_at(gone) / self.value
        shares = tuple((name, share * (times if name == self.place else 1.0)) for name, share in state.shares)
        plan = Plan(state_on_line.line.job, state._replace(shares=shares))
        return StateOnLine(state_on_line.line, plan).bound_margin_pa()


def _pipe_pa(section: Section, way: WayLeft, end: End) -> float:
    """Return about what the pipe takes in an outlet or a hose [Pa]."""
    inlet_pa = way.outlets_pa[end.at]
    for before in end.tail:
        if before is section:
            break
        inlet_pa = before.outlet_abs_pa(inlet_pa, end.flow_kg_s)
    outlet_pa = section.outlet_abs_pa(inlet_pa, end.flow_kg_s)
    return inlet_pa - outlet_pa - section.devices_pa(end.flow_kg_s) - section.height_pa(outlet_pa)


def _more_on_the_way(way: WayLeft, end: End) -> float:
    """Return about how far the input of an appliance may go until something fails on its way."""
    least, grows_pa = math.inf, 0.0
    for number in way.line.paths[end.at]:
        grows_pa += way.taken_pa[number] * end.flow_kg_s / way.flows[number]
        if grows_pa > 0.0:
            least = min(least, way.left_pa(number) / grows_pa)
    point_pa = way.outlets_pa[end.at]
    left_pa = end.margin_pa(point_pa)
    grows_pa += max(point_pa - left_pa - end.floor_abs_pa, 0.0)
    return min(least, left_pa / grows_pa) if grows_pa > 0.0 else least


def _more_everywhere(way: WayLeft, flow_kg_s: float) -> float:
    """Return about how far an input may go until something fails, were it drawn through every run that is looked at."""
    grows_pa = sum(way.taken_pa[number] * flow_kg_s / way.flows[number] for number in way.numbers if way.flows[number])
    left_pa = min(way.left_pa(number) for number in way.numbers)
    return left_pa / grows_pa if grows_pa > 0.0 else math.inf


def drawn_figures(job: Job) -> list[DrawnFigure]:
    """Return the figures of a job that could be wrong: bore and length of runs and hoses, inputs, devices' drops.

    Parameters
    ----------
    job : Job
        Every run with one size.

    Returns
    -------
    list of DrawnFigure
        In the job's order: runs, outlets, hoses, appliances.
    """
    figures: list[DrawnFigure] = []
    for number, run in enumerate(job.runs):
        figures += (_OfRun("bore", run, number), _OfRun("length", run, number))
        figures.extend(_OfRun("drop", run, number, index) for index in range(len(run.devices)))
    for outlet in job.outlets:
        figures.extend(_OfTail("drop", outlet, index) for index in range(len(outlet.devices)))
    for hose in job.hoses:
        figures += (_OfTail("bore", hose), _OfTail("length", hose))
        figures.extend(_OfTail("drop", hose, index) for index in range(len(hose.devices)))
    figures.extend(_Input(appliance) for appliance in job.appliances if appliance.input_w > 0.0)
    return figures


def _with(piece: Run | Outlet | Hose, **changes: object) -> Run | Outlet | Hose:
    """Return a piece with something changed."""
    if isinstance(piece, Hose):
        return dataclasses.replace(piece, **changes)  # type: ignore[arg-type]  # the names are those of its fields
    return piece._replace(**changes)  # type: ignore[arg-type]
