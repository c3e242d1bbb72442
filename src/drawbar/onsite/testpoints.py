"""Where a manometer goes on, and what it should show there: a state, a combination, a pressure at each point."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from drawbar.checking.results import CheckResult
from drawbar.job import ROOT, Hose, Job, Regulator, State
from drawbar.line.burners import Burner, Solution, orifice_density_factor, solve
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.line.regulating import outlet_gauge_pa
from drawbar.line.section import Section
from drawbar.line.state import StateOnLine, states_on_line
from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.gas import Gas

_MOST_WAYS = 1000  # of plugging a state; a table of test points is for few
_SETTLED_PA = 0.01  # how closely the outlet of a regulator goes with the flow that it makes
_MOST_TURNS = 20

LOCK_UP = "lock-up"
"""The state in which nothing burns: the regulator has locked up, and the line stands still."""
LOCK_UP_RISE = (0.0, 0.25)
"""How much above its set pressure, by that, a regulator of unknown lock-up may stand with no flow. Our own choice."""


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
    regulators : mapping of str to callable
        By the test point of a regulator, how much more than it should it gives at a flow [Pa by kg/s].
    """

    line: Line
    loads: Mapping[str, float] = field(default_factory=dict)
    hoses: Mapping[str, Hose] = field(default_factory=dict)
    regulators: Mapping[str, Callable[[float], float]] = field(default_factory=dict)


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


NOTHING_ON = Setup(State(LOCK_UP, ()), ())
"""The setup in which nothing burns."""


def lock_up_gauge_pa(regulator: Regulator) -> tuple[float, float]:
    """Return between which pressures a healthy regulator stands with no flow [Pa gauge]."""
    set_pa = regulator.outlet_gauge_pa
    if regulator.lock_up_gauge_pa is not None:
        return set_pa, regulator.lock_up_gauge_pa
    if regulator.curve and regulator.curve[0][0] == 0.0:
        return regulator.curve[0][1], regulator.curve[0][1]
    return set_pa * (1.0 + LOCK_UP_RISE[0]), set_pa * (1.0 + LOCK_UP_RISE[1])


class Model:
    """A job whose pressures can be asked for, with its burners at rated input or as fixed orifices.

    As an orifice, an appliance has its rated input at the set pressure of the last regulator before it, in gas of the
    plate at 15 degC and sea level; in other gas, or in thinner or warmer gas, it takes what its orifice then passes.

    Parameters
    ----------
    job : Job
        The job in the conditions of the day.
    fixed_orifice : bool
        Whether its burners are fixed orifices.
    plate_gas : Gas or None
        The gas that the appliances' inputs are for, where it is not that of the day.

    Attributes
    ----------
    job : Job
        The job, with the sizes of its runs decided.
    fixed_orifice : bool
        Whether its burners are fixed orifices.
    line : Line
        Its line, with nothing wrong.
    """

    def __init__(self, job: Job, *, fixed_orifice: bool, plate_gas: Gas | None = None) -> None:
        self.job = job
        self.fixed_orifice = fixed_orifice
        self.line = Line(job)
        self._appliances = {appliance.name: appliance for appliance in job.appliances}
        self._lit: dict[Setup, tuple[Line, Solution, list[Burner]]] = {}
        self._plate_gas = plate_gas or job.gas
        self._plate = self._plate_gas.vapour(REFERENCE_K)
        stages = {stage_point(job.runs[number].name): job.runs[number].regulator for number in self.line.stages}
        self.regulators: dict[str, Regulator] = {
            ROOT: job.regulator,
            **{name: regulator for name, regulator in stages.items() if regulator is not None},
        }

    def flow_factor(self, stage_gauge_pa: float) -> float:
        """Return how much of the flow on its plate an appliance takes in the gas and the air of the day [-]."""
        job = self.job
        if not self.fixed_orifice:
            return self._plate_gas.gross_j_kg / job.gas.gross_j_kg
        here = job.vapour.density_kg_m3(stage_gauge_pa + job.atmospheric_pa)
        return orifice_density_factor(here, self._plate.density_kg_m3(stage_gauge_pa + STANDARD_PA))

    def burners(self, setup: Setup, altered: Altered | None = None) -> list[Burner]:
        """Return what burns in a setup."""
        altered = altered or Altered(self.line)
        line = altered.line
        outlets = {outlet.name: outlet for outlet in line.job.outlets}
        plugged = {place.appliance.name: place for place in setup.way}
        burners = []
        for name, share in setup.state.shares:
            appliance = self._appliances[name]
            tail: tuple[Section, ...] = ()
            if appliance.at is not None:
                at = line.index[appliance.at]
            elif name in plugged:
                outlet = outlets[plugged[name].outlet.name]
                at = line.index[outlet.at]
                tail = line.tail(outlet, altered.hoses.get(name, plugged[name].hose))
            else:
                continue
            stage_pa = self.line.stage_gauge_pa[at]
            flow_kg_s = appliance.flow_kg_s * share * altered.loads.get(name, 1.0) * self.flow_factor(stage_pa)
            burners.append(Burner(name, at, tail, flow_kg_s, stage_pa))
        return burners

    def _solved(self, altered: Altered, burners: Sequence[Burner]) -> tuple[Line, Solution]:
        """Return the line with its regulators at what they give for the flow, and its pressures."""
        line, flows = altered.line, [burner.flow_kg_s for burner in burners]
        goes_with_flow = (
            not burners or altered.regulators or any(regulator.curve for regulator in self.regulators.values())
        )
        if not goes_with_flow:
            return line, solve(line, burners, fixed_orifice=self.fixed_orifice)
        before: list[float] = []
        for _ in range(_MOST_TURNS):
            through = line.flows([(burner.at, flow) for burner, flow in zip(burners, flows, strict=True)])
            total = sum(flow for run, flow in zip(line.job.runs, through, strict=True) if run.start == ROOT)
            passed = [total, *(through[number] for number in line.stages)]
            offsets = [self._offset_pa(name, flow, altered) for name, flow in zip(self.regulators, passed, strict=True)]
            regulated = line.regulated(offsets[0], dict(zip(line.stages, offsets[1:], strict=True)))
            solved = solve(regulated, burners, fixed_orifice=self.fixed_orifice)
            if before and max(abs(now - was) for now, was in zip(offsets, before, strict=True)) < _SETTLED_PA:
                break
            before, flows = offsets, list(solved.flows_kg_s)
        return regulated, solved

    def _offset_pa(self, name: str, flow_kg_s: float, altered: Altered) -> float:
        """Return how much more than its set pressure a regulator gives at a flow [Pa]."""
        regulator = self.regulators[name]
        if flow_kg_s > 0.0:
            healthy_pa = outlet_gauge_pa(regulator, flow_kg_s)
        else:
            healthy_pa = 0.5 * sum(lock_up_gauge_pa(regulator))
        more = altered.regulators.get(name)
        return healthy_pa - regulator.outlet_gauge_pa + (more(flow_kg_s) if more else 0.0)

    def lit(self, setup: Setup) -> tuple[Line, list[Burner], Solution]:
        """Return the line with its regulators at what they give in a setup, what burns, and the pressures."""
        if setup not in self._lit:
            burners = self.burners(setup)
            self._lit[setup] = (*self._solved(Altered(self.line), burners), burners)
        line, solution, burners = self._lit[setup]
        return line, burners, solution

    def gauge_pa(self, setup: Setup, altered: Altered | None = None) -> dict[str, float]:
        """Return the pressure at every test point of a setup, by name [Pa gauge]."""
        if altered is None:
            line, burners, solved = self.lit(setup)
        else:
            burners = self.burners(setup, altered)
            line, solved = self._solved(altered, burners)
        job = line.job
        points_pa = {ROOT: line.source_abs_pa}
        for number in line.stages:
            points_pa[stage_point(job.runs[number].name)] = line.behind_regulator_pa(number, 0.0)
        for number, run in enumerate(job.runs):
            points_pa[run.name] = solved.outlets_pa[number]
        for outlet in job.outlets:
            points_pa[outlet.name] = points_pa[outlet.at]  # no gas flows where nothing is plugged in
        if not burners:
            points_pa |= {each.name: points_pa[each.at] for each in job.appliances if each.at is not None}
        outlet_of = {plugged.appliance.name: plugged.outlet.name for plugged in setup.way}
        for burner, inlet_pa, tail_pa in zip(burners, solved.inlets_pa, solved.tails_pa, strict=True):
            points_pa[burner.name] = inlet_pa
            if tail_pa:
                points_pa[outlet_of[burner.name]] = tail_pa[0]
        return {name: abs_pa - job.atmospheric_pa for name, abs_pa in points_pa.items()}

    def drop_pa(self, gauge_pa: Mapping[str, float], at: str, setup: Setup) -> float:
        """Return what a test point is below the outlet of the last regulator before it [Pa], given all of a setup's."""
        if at in self.regulators:
            return 0.0
        number = self.run_of(at, setup)
        stage = -1 if number is None else self.line.stage_of(number)
        before = ROOT if stage < 0 else stage_point(self.job.runs[stage].name)
        return abs(gauge_pa[before] - gauge_pa[at])

    def run_of(self, at: str, setup: Setup) -> int | None:
        """Return the number of the run at whose end a test point is, or after it; None at a regulator's outlet."""
        place = at
        for plugged in setup.way:
            if at == plugged.appliance.name:
                place = plugged.outlet.name
        place = next((outlet.at for outlet in self.job.outlets if outlet.name == place), place)
        if (appliance := self._appliances.get(place)) is not None and appliance.at is not None:
            place = appliance.at
        return self.line.index.get(place)

    def places(self, setup: Setup) -> Iterator[Place]:
        """Yield the test points that gas passes in a setup, from the regulator on.

        The end of a run where a fixed appliance burns is that appliance's inlet; it is not told twice.
        """
        job, line = self.job, self.line
        lit = {burner.name: burner for burner in self.burners(setup)}
        passed = {number for burner in lit.values() for number in line.paths[burner.at]}
        yield Place(ROOT, "its outlet")
        if not lit:
            yield from (Place(stage_point(job.runs[number].name), "its outlet") for number in line.stages)
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
                    yield Place(plugged.outlet.name, "after the outlet")
                    yield Place(plugged.appliance.name, f"inlet, in {plugged.outlet.name}{by}")


def stage_point(run: str) -> str:
    """Return the name of the test point at the second-stage regulator of a run."""
    return f"{ROOT} of {run}"


class Pluggings:
    """The combinations of one state, the worst at rated input first.

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
    """Yield the combinations of each state of a job, in the job's order; those of its check if it was made."""
    if checked is None:
        yield from map(Pluggings, states_on_line(Line(job)))
        return
    solved = {state.name: state.solved for state in checked.states}
    for state in job.states:
        yield Pluggings(solved[state.name].state_on_line)
