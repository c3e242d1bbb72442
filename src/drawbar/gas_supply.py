"""Do bottles and regulator give what a job burns: for long, for how long, and from a bottle as cold as the air."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.checking.check import check_job
from drawbar.checking.results import RegulatorResult, StateResult
from drawbar.job import Cylinders, Job
from drawbar.physics.component import Component
from drawbar.physics.cooling import Course, Duty, course
from drawbar.physics.cylinder import Steady, liquid_in, settled_k, steady_offtake
from drawbar.physics.liquid import Liquid, mass_kg
from drawbar.problems import close_to, shown

GRID_FILLS = (1.0, 0.75, 0.5, 0.25, 0.1)
GRID_AMBIENTS_K = (263.15, 273.15, 283.15, 293.15)
LEAST_FILL = 0.01  # nobody reads a fill more closely
_FILL_STEP = 1e-4  # how closely the lowest fill is looked for
_SAME = 1.0001  # a load this much above a limit is still at it
_DUTY = re.compile(r"(.{1,60}?) +on *, *(.{1,60}?) +off")
_SHORTEST, _LONGEST = "10 s", "72 h"


class NoCylinders(ValueError):
    """The job does not say what bottles it has."""


class NoSuchState(ValueError):
    """A state that the job does not have."""


class DutyError(ValueError):
    """A text that is not a duty, or one with times that can't be right."""


@dataclass(frozen=True, slots=True)
class StateSupply:
    """What the supply makes of one state.

    Attributes
    ----------
    name : str
        The state's.
    load_w : float
        The most that can burn at once, gross [W].
    flow_kg_s : float
        The gas that takes [kg/s].
    steady_w : float
        What the bottles drawn from give for long, gross [W].
    bottles_needed : int or None
        How many bottles it takes, None where none gives any.
    drawing_s, all_s : float
        How long the gas in the bottles drawn from, and in all, would last at that load [s].
    liquid_k : float
        What the liquid settles at while its level stands [K], no lower than where the regulator gives up.
    course : Course
        That of a bottle from the temperature of the air.
    duty_course : Course or None
        The same for a load that comes and goes.
    lowest_fill : float or None
        The fill down to which the bottles keep the load up [-], None where they don't even now.
    regulators : tuple of RegulatorResult
        The first, and the second stages, with their loads.
    """

    name: str
    load_w: float
    flow_kg_s: float
    steady_w: float
    bottles_needed: int | None
    drawing_s: float
    all_s: float
    liquid_k: float
    course: Course
    duty_course: Course | None
    lowest_fill: float | None
    regulators: tuple[RegulatorResult, ...]

    @property
    def keeps_up(self) -> bool:
        """Tell whether the bottles drawing give the load for long."""
        return self.load_w <= self.steady_w * _SAME

    @property
    def overloaded(self) -> tuple[RegulatorResult, ...]:
        """The regulators whose load is above their capacity."""
        return tuple(
            stage
            for stage in self.regulators
            if stage.regulator.capacity_w is not None and stage.load_w > stage.regulator.capacity_w * _SAME
        )

    @property
    def passes(self) -> bool:
        """Tell whether the bottles keep up and no regulator is overloaded."""
        return self.keeps_up and not self.overloaded


@dataclass(frozen=True, slots=True)
class SupplyResult:
    """A job's supply.

    Attributes
    ----------
    job : Job
        The job.
    cylinders : Cylinders
        Its bottles.
    liquid : tuple of (Component, float)
        What is in one bottle now [mol].
    steady : Steady
        What one bottle gives for long.
    full_w : float
        What the bottles drawn from would give for long if they were full, gross [W].
    states : tuple of StateSupply
        The states asked about, in the order of the job.
    grid : tuple of tuple of float
        What the bottles drawn from give for long, by fill and air temperature, gross [W], in the order of GRID_FILLS
        and GRID_AMBIENTS_K.
    duty : Duty or None
        The load that comes and goes, if it was asked about.
    """

    job: Job
    cylinders: Cylinders
    liquid: tuple[tuple[Component, float], ...]
    steady: Steady
    full_w: float
    states: tuple[StateSupply, ...]
    grid: tuple[tuple[float, ...], ...]
    duty: Duty | None

    @property
    def passes(self) -> bool:
        """Tell whether every state passes."""
        return all(state.passes for state in self.states)


def supply(job: Job, state: str | None = None, duty: Duty | None = None) -> SupplyResult:
    """Work out whether bottles and regulators give what a job burns, and for how long.

    Parameters
    ----------
    job : Job
        The job. Runs may leave their sizes open: what burns does not hang on them.
    state : str or None
        The name of the only state to look at, None for all.
    duty : Duty or None
        A load that comes and goes, followed beside that without a break.

    Returns
    -------
    SupplyResult
        What the bottles give for long, and what becomes of each state.

    Raises
    ------
    NoSuchState
        If the job has no state of that name.
    NoCylinders
        If the job does not say what bottles it has. Both are a kind of ValueError.

    Examples
    --------
    >>> import drawbar
    >>> supplied = drawbar.supply(drawbar.read_job("examples/harvest-fair-trailer.yaml"), "service")
    >>> supplied.passes, [state.name for state in supplied.states]
    (False, ['service'])
    """
    names = [state.name for state in job.states]
    if state is not None and state not in names:
        raise NoSuchState(f"{shown(state)} is not a state of this job; {close_to(state, names)}")
    bottles = job.cylinders
    if bottles is None:
        raise NoCylinders("the job does not say what bottles it has")
    loads = _loads(job)
    liquid = liquid_in(job.gas, bottles.size_kg, bottles.fill, bottles.ambient_k)
    bottle = _BottleNow(job, bottles, liquid, _steady(job, bottles, bottles.fill, bottles.ambient_k))
    return SupplyResult(
        job=job,
        cylinders=bottles,
        liquid=tuple(liquid),
        steady=bottle.steady,
        full_w=bottles.drawing * _steady(job, bottles, 1.0, bottles.ambient_k).gross_w,
        states=tuple(_state(bottle, loads[name], duty) for name in names if state in (None, name)),
        grid=tuple(
            tuple(bottles.drawing * _steady(job, bottles, fill, ambient_k).gross_w for ambient_k in GRID_AMBIENTS_K)
            for fill in GRID_FILLS
        ),
        duty=duty,
    )


def parse_duty(text: str) -> Duty:
    """Return the duty that a text says, such as `20 min on, 40 min off`.

    Parameters
    ----------
    text : str
        The time on and the time off, each from 10 s to 72 h.

    Returns
    -------
    Duty
        The times [s].

    Raises
    ------
    DutyError
        If the text is no duty, or a time can't be right.

    Examples
    --------
    >>> parse_duty("20 min on, 40 min off")
    Duty(on_s=1200.0, off_s=2400.0)
    """
    match = _DUTY.fullmatch(text.strip())
    if match is None:
        raise DutyError(f"{shown(text)} is not a duty; write for example `20 min on, 40 min off`")
    return Duty(_duty_time_s("on", match[1]), _duty_time_s("off", match[2]))


def _duty_time_s(which: str, text: str) -> float:
    from drawbar import units  # a duty alone needs them here

    def seconds(text: str) -> float:
        return units.to_si(*units.number_and_unit(text, units.TIME))

    try:
        time_s = seconds(text)
    except units.UnitError as error:
        raise DutyError(f"the time {which}: {error}") from None
    if not seconds(_SHORTEST) <= time_s <= seconds(_LONGEST):
        rest = "; for a load without a break leave the option out" if which == "off" and time_s == 0.0 else ""
        fit = f"write from {_SHORTEST} to {_LONGEST}{rest}"
        raise DutyError(f"the time {which}: {shown(text)} can't be right; {fit}")
    return time_s


def _loads(job: Job) -> dict[str, StateResult]:
    """Return the checked states by name, any one size taken for a run that leaves it open."""
    sized = job._replace(runs=tuple(run._replace(pipes=run.pipes[-1:]) for run in job.runs))
    return {state.name: state for state in check_job(sized).states}


def _steady(job: Job, bottles: Cylinders, fill: float, ambient_k: float) -> Steady:
    liquid = liquid_in(job.gas, bottles.size_kg, fill, ambient_k)
    return steady_offtake(bottles.bottle, liquid, ambient_k, bottles.least_gauge_pa + job.atmospheric_pa)


class _BottleNow(NamedTuple):
    """A job's bottles with what is in one now, and what one gives for long."""

    job: Job
    bottles: Cylinders
    liquid: Liquid
    steady: Steady


def _state(now: _BottleNow, state: StateResult, duty: Duty | None) -> StateSupply:
    job, bottles, liquid, steady = now
    load_w, bottle = state.total_w, bottles.bottle
    each_w = load_w / bottles.drawing
    least_abs_pa = bottles.least_gauge_pa + job.atmospheric_pa
    gross_j = sum(moles * component.gross_j_mol for component, moles in liquid)
    steady_w = bottles.drawing * steady.gross_w

    def follow(pattern: Duty | None) -> Course:
        return course(bottle, liquid, each_w, bottles.ambient_k, least_abs_pa, duty=pattern)

    return StateSupply(
        name=state.name,
        load_w=load_w,
        flow_kg_s=load_w / gross_j * mass_kg(liquid),
        steady_w=steady_w,
        bottles_needed=math.ceil(load_w / steady.gross_w / _SAME) if steady.gross_w > 0.0 else None,
        drawing_s=gross_j / each_w,
        all_s=gross_j / load_w * bottles.count,
        liquid_k=settled_k(bottle, liquid, bottles.ambient_k, each_w, min(steady.liquid_k, bottles.ambient_k)),
        course=follow(None),
        duty_course=follow(duty) if duty is not None else None,
        lowest_fill=_lowest_fill(job, bottles, each_w) if load_w <= steady_w * _SAME else None,
        regulators=state.regulators,
    )


def _lowest_fill(job: Job, bottles: Cylinders, each_w: float) -> float:
    """Return the fill down to which one bottle keeps a load up [-], LEAST_FILL where that is to the end."""

    def keeps_up(fill: float) -> bool:
        return _steady(job, bottles, fill, bottles.ambient_k).gross_w >= each_w

    low, high = LEAST_FILL, bottles.fill
    if keeps_up(low):
        return low
    while high - low > _FILL_STEP:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if keeps_up(middle) else (middle, high)
    return high


def duty_share(duty: Duty) -> float:
    """Return the share of the time that a duty is on [-].

    Parameters
    ----------
    duty : Duty
        The load that comes and goes.

    Returns
    -------
    float
        Time on by time on and off [-].

    Examples
    --------
    >>> duty_share(Duty(on_s=1200.0, off_s=3600.0))
    0.25
    """
    return duty.on_s / (duty.on_s + duty.off_s)


def liquid_shares(liquid: Sequence[tuple[Component, float]]) -> list[tuple[str, float]]:
    """Return what a liquid is made of.

    Parameters
    ----------
    liquid : sequence of (Component, float)
        Its parts [mol].

    Returns
    -------
    list of (str, float)
        The name and the mole fraction [-] of each.
    """
    total = sum(moles for _, moles in liquid)
    return [(component.name, moles / total) for component, moles in liquid]
