"""Where a manometer goes on, and what it should show there: a state, a way of plugging it, a pressure at each point."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from drawbar.checking.results import CheckResult
from drawbar.job import ROOT, Hose, Job, State
from drawbar.line.burners import Burner, solve
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.line.section import Section
from drawbar.line.state import StateOnLine, states_on_line

_MOST_WAYS = 1000  # of plugging a state; a table of test points is for few


@dataclass(frozen=True, slots=True)
class Setup:
    """A state with its portable appliances plugged in one way.

    Attributes
    ----------
    state : State
        What is on.
    way : tuple of Plugged
        Each portable appliance in its place.
    """

    state: State
    way: tuple[Plugged, ...]


@dataclass(frozen=True, slots=True)
class Altered:
    """A line that is not as it should be.

    Attributes
    ----------
    line : Line
        With other pipes, devices or regulators.
    loads : mapping of str to float
        Times the rate, by appliance [-].
    hoses : mapping of str to Hose
        By appliance, in place of the hose that it is plugged in with.
    """

    line: Line
    loads: Mapping[str, float] = field(default_factory=dict)
    hoses: Mapping[str, Hose] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Place:
    """A test point worth a row in the table.

    Attributes
    ----------
    name : str
        The part that it is at.
    what : str
        What it is, in words.
    """

    name: str
    what: str


class Model:
    """A job whose pressures can be asked for, with its burners at rated input or as fixed orifices.

    As an orifice, an appliance has its rated input at the set pressure of the last regulator before it.

    Attributes
    ----------
    job : Job
        The job, with the sizes of its runs decided.
    fixed_orifice : bool
        Whether its burners are fixed orifices.
    line : Line
        Its line, with nothing wrong.
    """

    def __init__(self, job: Job, *, fixed_orifice: bool) -> None:
        self.job = job
        self.fixed_orifice = fixed_orifice
        self.line = Line(job)
        self._appliances = {appliance.name: appliance for appliance in job.appliances}

    def burners(self, setup: Setup, altered: Altered | None = None) -> list[Burner]:
        """Return what burns in a setup."""
        altered = altered or Altered(self.line)
        line = altered.line
        outlets = {outlet.name: outlet for outlet in line.job.outlets}
        plugged = {place.appliance.name: place for place in setup.way}
        burners = []
        for name, share in setup.state.shares:
            appliance = self._appliances[name]
            flow_kg_s = appliance.flow_kg_s * share * altered.loads.get(name, 1.0)
            tail: tuple[Section, ...] = ()
            if appliance.at is not None:
                at = line.index[appliance.at]
            elif name in plugged:
                outlet = outlets[plugged[name].outlet.name]
                at = line.index[outlet.at]
                tail = line.tail(outlet, altered.hoses.get(name, plugged[name].hose))
            else:
                continue
            burners.append(Burner(name, at, tail, flow_kg_s, self.line.stage_gauge_pa[at]))
        return burners

    def gauge_pa(self, setup: Setup, altered: Altered | None = None) -> dict[str, float]:
        """Return the pressure at every test point of a setup, by name [Pa gauge]."""
        line = altered.line if altered else self.line
        burners = self.burners(setup, altered)
        solved = solve(line, burners, fixed_orifice=self.fixed_orifice)
        job = line.job
        points_pa = {ROOT: line.source_abs_pa}
        for number in line.stages:
            points_pa[stage_point(job.runs[number].name)] = line.behind_regulator_pa(number, 0.0)
        for number, run in enumerate(job.runs):
            points_pa[run.name] = solved.outlets_pa[number]
        for outlet in job.outlets:
            points_pa[outlet.name] = points_pa[outlet.at]  # no gas flows where nothing is plugged in
        outlet_of = {plugged.appliance.name: plugged.outlet.name for plugged in setup.way}
        for burner, inlet_pa, tail_pa in zip(burners, solved.inlets_pa, solved.tails_pa, strict=True):
            points_pa[burner.name] = inlet_pa
            if tail_pa:
                points_pa[outlet_of[burner.name]] = tail_pa[0]
        return {name: abs_pa - job.atmospheric_pa for name, abs_pa in points_pa.items()}

    def places(self, setup: Setup) -> Iterator[Place]:
        """Yield the test points that gas passes in a setup, from the regulator on.

        The end of a run where a fixed appliance burns is that appliance's inlet; it is not told twice.
        """
        job, line = self.job, self.line
        lit = {burner.name: burner for burner in self.burners(setup)}
        passed = {number for burner in lit.values() for number in line.paths[burner.at]}
        yield Place(ROOT, "its outlet")
        for number, run in enumerate(job.runs):
            if number not in passed:
                continue
            if run.regulator is not None:
                yield Place(stage_point(run.name), "its outlet")
            fixed = [burner for burner in lit.values() if burner.at == number and not burner.tail]
            if not fixed:
                yield Place(run.name, "end of run")
            for burner in fixed:
                yield Place(burner.name, f"inlet, at {run.name}")
            for plugged in setup.way:
                if plugged.outlet.at == run.name:
                    by = f" by {plugged.hose.name}" if plugged.hose else ""
                    yield Place(plugged.outlet.name, "behind the outlet")
                    yield Place(plugged.appliance.name, f"inlet, in {plugged.outlet.name}{by}")


def stage_point(run: str) -> str:
    """Return the name of the test point at the second-stage regulator of a run."""
    return f"{ROOT} of {run}"


class Pluggings:
    """The ways of plugging one state, the worst at rated input first.

    Attributes
    ----------
    state : State
        The state.
    portable : dict of str to Appliance
        Its portable appliances, by name.
    are_too_many : bool
        Whether there are more ways than can be tried, and none is known.
    """

    def __init__(self, state_on_line: StateOnLine) -> None:
        self._state_on_line = state_on_line
        self.state = state_on_line.plan.state
        self.portable = {appliance.name: appliance for appliance, _ in state_on_line.plan.portable}
        self.are_too_many = state_on_line.ways is None or len(state_on_line.ways) > _MOST_WAYS

    @functools.cached_property
    def _ranked(self) -> list[dict[str, Plugged]]:
        ways = self._state_on_line.solved.ranked_ways()
        return [{end.name: end.plugged for end in way if end.plugged is not None} for way in ways]

    def worst(self, wanted: Mapping[str, tuple[str, str | None]] | None = None) -> Setup | None:
        """Return the worst way that agrees with the places wanted; None if none does, or there are too many to try.

        Parameters
        ----------
        wanted : mapping of str to (str, str or None), optional
            The outlet, and the hose if it matters, of some of the appliances.
        """
        if self.are_too_many:
            return None
        places = (wanted or {}).items()
        for way in self._ranked:
            if all(_agrees(way.get(name), outlet, hose) for name, (outlet, hose) in places):
                return Setup(self.state, tuple(way.values()))
        return None


def _agrees(plugged: Plugged | None, outlet: str, hose: str | None) -> bool:
    if plugged is None or plugged.outlet.name != outlet:
        return False
    return hose is None or (plugged.hose is not None and plugged.hose.name == hose)


def pluggings(job: Job, checked: CheckResult | None = None) -> Iterator[Pluggings]:
    """Yield the ways of plugging of each state of a job, in the job's order; those of its check if it was made."""
    if checked is None:
        yield from map(Pluggings, states_on_line(Line(job)))
        return
    solved = {state.name: state.solved for state in checked.states}
    for state in job.states:
        yield Pluggings(solved[state.name].state_on_line)
