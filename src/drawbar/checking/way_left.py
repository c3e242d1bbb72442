"""What is left along a line in one combination: pressures from the regulator down, what is asked from the ends up.

Where the two meet is what may change. So a change to one piece of the line is followed on its own path only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.line.section import Section
from drawbar.line.state import End, StateOnLine, Way
from drawbar.line.worst_way import SolvedState


class WayLeft:
    """One combination, or one appliance in its place by the bound, with what each point asks for.

    Attributes
    ----------
    state_on_line : StateOnLine
        The state that it is of.
    line : Line
        The line that it is on.
    way : Way
        The ends that are looked at.
    numbers : sequence of int
        The runs that are looked at, each after the one it starts from.
    flows : list of float
        Mass flow in every run [kg/s].
    inlets_pa, outlets_pa : list of float
        Pressures at the start of every run, after its regulator if it has one, and at its end [Pa absolute].
    taken_pa : list of float
        About what pipe and devices of every run take, all but its height [Pa].
    at_end : list of list
        By run, what hangs on its end, run by run and appliance by appliance, asks for there [Pa absolute].
    asked_pa : list of float
        By run, the most that is asked for at its end, 0 where nothing is [Pa absolute].
    """

    def __init__(
        self,
        state_on_line: StateOnLine,
        asks: Sequence[tuple[End, float]],
        numbers: Sequence[int],
        flows: list[float],
        outlets_pa: list[float],
    ) -> None:
        self.state_on_line, self.line, self.numbers = state_on_line, state_on_line.line, numbers
        self.way: Way = tuple(end for end, _ in asks)
        self.flows, self.outlets_pa = flows, outlets_pa
        line, runs = self.line, self.line.job.runs
        self.inlets_pa, self.taken_pa = [0.0] * len(runs), [0.0] * len(runs)
        for number in numbers:
            inlet_pa = self.inlets_pa[number] = line.inlet_pa(number, outlets_pa)
            outlet_pa = outlets_pa[number]
            self.taken_pa[number] = inlet_pa - outlet_pa - line.sections[number].height_pa(outlet_pa)
        self.at_end: list[list[tuple[float, int | str]]] = [[] for _ in runs]
        self.asked_pa = [0.0] * len(runs)
        for end, ask_pa in asks:
            self.at_end[end.at].append((ask_pa, end.name))
        for number in reversed(numbers):
            asked_pa = self.asked_pa[number] = max((ask for ask, _ in self.at_end[number]), default=0.0)
            parent, regulator = line.parents[number], runs[number].regulator
            if parent < 0:
                continue
            if regulator is not None:
                before_pa = line.conditions.atmospheric_pa + regulator.inlet_min_gauge_pa
            elif asked_pa:
                before_pa = line.sections[number].inlet_abs_pa(asked_pa, flows[number])
            else:
                before_pa = 0.0
            self.at_end[parent].append((before_pa, number))

    def left_pa(self, number: int) -> float:
        """Return what the end of a run has above what is asked of it [Pa]."""
        return self.outlets_pa[number] - self.asked_pa[number]

    def margin_pa(self, end: End, more_kg_s: float) -> float:
        """Return a figure that falls with what more is drawn at an end, and is below zero where something fails."""
        line = self.line
        path = line.paths[end.at]
        before_pa, least = line.source_abs_pa, float("inf")
        for place, number in enumerate(path):
            regulator = line.job.runs[number].regulator
            if regulator is not None:
                needs_pa = line.conditions.atmospheric_pa + regulator.inlet_min_gauge_pa
                least = min(least, before_pa - needs_pa)
            inlet_pa = line.behind_regulator_pa(number, before_pa)
            before_pa = line.sections[number].outlet_abs_pa(inlet_pa, self.flows[number] + more_kg_s)
            followed: int | str = path[place + 1] if place + 1 < len(path) else end.name
            for ask, whose in self.at_end[number]:
                if whose != followed:
                    least = min(least, before_pa - ask)
        return min(least, end.margin_pa(before_pa, more_kg_s))

    def changed_pa(self, number: int, section: Section) -> float:
        """Return what the end of a run has above what is asked of it, with another section in place of the run [Pa]."""
        return section.outlet_abs_pa(self.inlets_pa[number], self.flows[number]) - self.asked_pa[number]


def ways_left(solved: SolvedState) -> list[WayLeft]:
    """Return what is left in every combination of a state, the worst way first.

    Parameters
    ----------
    solved : SolvedState
        The state, solved in every way.

    Returns
    -------
    list of WayLeft
        None where the pressures are a bound.
    """
    state_on_line = solved.state_on_line
    every = range(len(state_on_line.line.sections))
    left = []
    asks_pa: dict[int, float] = {}  # the combinations are made of the same ends
    for way in solved.ranked_ways():
        for end in way:
            if id(end) not in asks_pa:
                asks_pa[id(end)] = end.ask_pa()
        flows = state_on_line.flows(way)
        asks = [(end, asks_pa[id(end)]) for end in way]
        left.append(WayLeft(state_on_line, asks, every, flows, state_on_line.line.solve(flows)))
    return left


def places_left(state_on_line: StateOnLine) -> Iterator[WayLeft]:
    """Yield what is left by the bound: on the path to each appliance in each of its places, and at the regulators.

    Parameters
    ----------
    state_on_line : StateOnLine
        A state with too many combinations.

    Yields
    ------
    WayLeft
        No combination has less left, as long as no appliance takes more.
    """
    line = state_on_line.line
    count = len(line.sections)
    for end in state_on_line.bound_ends():
        path = line.paths[end.at]
        flows, outlets_pa = [0.0] * count, [0.0] * count
        for number in path:
            flows[number] = state_on_line.bound_flow_kg_s(number, end)
            outlets_pa[number] = line.sections[number].outlet_abs_pa(line.inlet_pa(number, outlets_pa), flows[number])
        yield WayLeft(state_on_line, [(end, end.ask_pa())], path, flows, outlets_pa)
    if line.stages:
        highest = [state_on_line.bound_flow_kg_s(number, None) for number in range(count)]
        yield WayLeft(state_on_line, (), range(count), highest, line.solve(highest))
