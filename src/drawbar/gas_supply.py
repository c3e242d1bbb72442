"""Do bottles and regulator give what a job burns: for long, for how long, and from a bottle as cold as the air."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drawbar.checking.check import check
from drawbar.checking.results import RegulatorResult, StateResult
from drawbar.job import Cylinders, Job
from drawbar.physics.component import Component
from drawbar.physics.cooling import Course, Duty, course
from drawbar.physics.cylinder import Steady, liquid_in, settled_k, steady_offtake
from drawbar.physics.liquid import Liquid, mass_kg

GRID_FILLS = (1.0, 0.75, 0.5, 0.25, 0.1)
GRID_AMBIENTS_K = (263.15, 273.15, 283.15, 293.15)
LEAST_FILL = 0.01  # nobody reads a fill more closely
_SAME = 1.0001  # a load this much above a limit is still at it


class NoCylinders(ValueError):
    """The job does not say what bottles it has."""


@dataclass(frozen=True, slots=True)
class StateSupply:
    """What the supply makes of one state.

    load_w : the most that can burn at once, gross [W]; flow_kg_s : the gas that takes [kg/s]
    steady_w : what the bottles drawing give for long [W]; bottles_needed : how many it takes, None where none gives any
    drawing_s, all_s : how long the gas in the bottles drawing, and in all, would last at that load [s]
    liquid_k : what the liquid settles at while its level stands [K], no lower than where the regulator gives up
    course : one of the bottles from the temperature of the air; duty_course : the same for a load that comes and goes
    lowest_fill : the fill down to which the bottles keep the load up [-], None where they don't even now
    regulators : the first, and the second stages, with their loads
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
            one
            for one in self.regulators
            if one.regulator.capacity_w is not None and one.load_w > one.regulator.capacity_w * _SAME
        )

    @property
    def passes(self) -> bool:
        """Tell whether the bottles keep up and no regulator is overloaded."""
        return self.keeps_up and not self.overloaded


@dataclass(frozen=True, slots=True)
class SupplyResult:
    """A job's supply.

    liquid : what is in one bottle now, by moles; steady : what one gives for long
    full_w : what the bottles drawing would give for long if they were full, gross [W]
    grid : what the bottles drawing give for long, by fill and air temperature [W], in the order of GRID_FILLS and
    GRID_AMBIENTS_K
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


def supply(job: Job, duty: Duty | None = None, only: str | None = None) -> SupplyResult:
    """Work out the supply of a job, for all its states or only one.

    Runs may leave their sizes open: what burns does not hang on them. Raises NoCylinders.
    """
    bottles = job.cylinders
    if bottles is None:
        raise NoCylinders("the job does not say what bottles it has")
    loads = _loads(job)
    states = [loads[state.name] for state in job.states if only in (None, state.name)]
    liquid = liquid_in(job.gas, bottles.size_kg, bottles.fill, bottles.ambient_k)
    steady = _steady(job, bottles, bottles.fill, bottles.ambient_k)
    return SupplyResult(
        job=job,
        cylinders=bottles,
        liquid=tuple(liquid),
        steady=steady,
        full_w=bottles.drawing * _steady(job, bottles, 1.0, bottles.ambient_k).gross_w,
        states=tuple(_state(job, bottles, liquid, steady, state, duty) for state in states),
        grid=tuple(
            tuple(bottles.drawing * _steady(job, bottles, fill, ambient_k).gross_w for ambient_k in GRID_AMBIENTS_K)
            for fill in GRID_FILLS
        ),
        duty=duty,
    )


def _loads(job: Job) -> dict[str, StateResult]:
    """Return the checked states by name, any one size taken for a run that leaves it open."""
    sized = replace(job, runs=tuple(replace(run, pipes=run.pipes[-1:]) for run in job.runs))
    return {state.name: state for state in check(sized).states}


def _steady(job: Job, bottles: Cylinders, fill: float, ambient_k: float) -> Steady:
    liquid = liquid_in(job.gas, bottles.size_kg, fill, ambient_k)
    return steady_offtake(bottles.bottle, liquid, ambient_k, bottles.least_gauge_pa + job.atmospheric_pa)


def _state(
    job: Job, bottles: Cylinders, liquid: Liquid, steady: Steady, state: StateResult, duty: Duty | None
) -> StateSupply:
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
    while high - low > 1e-4:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if keeps_up(middle) else (middle, high)
    return high


def duty_share(duty: Duty) -> float:
    """Return the share of the time that a duty is on [-]."""
    return duty.on_s / (duty.on_s + duty.off_s)


def liquid_shares(liquid: Sequence[tuple[Component, float]]) -> list[tuple[str, float]]:
    """Return the mole fraction of each part of a liquid [-] by name."""
    total = sum(moles for _, moles in liquid)
    return [(component.name, moles / total) for component, moles in liquid]
