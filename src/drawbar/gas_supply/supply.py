"""Do bottles and regulators give what a job burns: as it is used, without a break, from a bottle as cold as the air."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check_job
from drawbar.checking.results import StateResult
from drawbar.checking.rules_kept import rating_reason
from drawbar.gas_supply.bottle_helps import Help, helps_for
from drawbar.gas_supply.by_use import SAME_LOAD, bottle_reasons, use_of
from drawbar.gas_supply.in_turn import InTurnSupply, in_turn_supplies
from drawbar.gas_supply.supplied import StateSupply, SupplyResult
from drawbar.job import Cylinders, Job, State
from drawbar.line.feeding import least_at_flow_gauge_pa, steady_through_pigtail
from drawbar.physics.component import Component
from drawbar.physics.cooling import Course, Duty, course
from drawbar.physics.cylinder import Steady, liquid_in, settled_k
from drawbar.physics.liquid import Liquid, mass_kg
from drawbar.problems import close_to, shown
from drawbar.verdict import Reason

GRID_FILLS = (1.0, 0.75, 0.5, 0.25, 0.1)
GRID_AMBIENTS_K = (263.15, 273.15, 283.15, 293.15)
LEAST_FILL = 0.01  # nobody reads a fill more closely
_FILL_STEP = 1e-4  # how closely the lowest fill is looked for
_MOST_HELPED = 3  # states for which help is looked for, so that no file takes long


class NoCylinders(ValueError):
    """The job does not say what bottles it has."""


class NoSuchState(ValueError):
    """A state that the job does not have."""


def supply(
    job: Job, state: str | None = None, duty: Duty | None = None, catalogue: Catalogue | None = None
) -> SupplyResult:
    """Work out whether bottles and regulators give what a job burns, and for how long.

    Parameters
    ----------
    job : Job
        The job. Runs may leave their sizes open: what burns does not hang on them.
    state : str or None
        The name of the only state to look at, None for all.
    duty : Duty or None
        A load that comes and goes: every state is judged as if it were used so, and followed beside that without a
        break until its bottle starves or is empty.
    catalogue : Catalogue, optional
        What has the bottles that may help; without it, the project's own data.

    Returns
    -------
    SupplyResult
        The continuous offtake, and what becomes of each state.

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
    >>> supplied.verdict.word, [reason.code for reason in supplied.because]
    ('UNDECIDED', ['bottles-use'])
    """
    names = [state.name for state in job.states]
    if state is not None and state not in names:
        raise NoSuchState(f"{shown(state)} is not a state of this job; {close_to(state, names)}")
    bottles = job.cylinders
    if bottles is None:
        raise NoCylinders("the job does not say what bottles it has")
    loads = _loads(job)
    liquid = liquid_in(job.filled_with, bottles.size_kg, bottles.fill, bottles.ambient_k)
    asked = [_as_asked(each, duty) for each in job.states if state in (None, each.name)]
    bottle = _BottleNow(job, bottles, liquid, _steady(job, bottles, bottles.fill, bottles.ambient_k))
    return SupplyResult(
        job=job,
        cylinders=bottles,
        liquid=tuple(liquid),
        steady=bottle.steady,
        full_w=bottles.drawing * _steady(job, bottles, 1.0, bottles.ambient_k).gross_w,
        states=_states(bottle, [(each, loads[each.name]) for each in asked], duty, catalogue),
        grid=tuple(
            tuple(bottles.drawing * _steady(job, bottles, fill, ambient_k).gross_w for ambient_k in GRID_AMBIENTS_K)
            for fill in GRID_FILLS
        ),
        duty=duty,
        in_turn=_in_turn(job, loads) if state is None and duty is None else (),
    )


def _in_turn(job: Job, loads: Mapping[str, StateResult]) -> tuple[InTurnSupply, ...]:
    bounds = [name for name, result in loads.items() if result.is_bound]
    return in_turn_supplies(job, {name: result.total_w for name, result in loads.items()}, bounds)


def _loads(job: Job) -> dict[str, StateResult]:
    """Return the checked states by name, any one size taken for a run that leaves it open."""
    sized = job._replace(runs=tuple(run._replace(pipes=run.pipes[-1:]) for run in job.runs))
    return {state.name: state for state in check_job(sized).states}


def _steady(job: Job, bottles: Cylinders, fill: float, ambient_k: float) -> Steady:
    liquid = liquid_in(job.filled_with, bottles.size_kg, fill, ambient_k)
    return steady_through_pigtail(bottles, liquid, ambient_k, job.atmospheric_pa)


class _BottleNow(NamedTuple):
    """A job's bottles with what is in one now, and the continuous offtake of one."""

    job: Job
    bottles: Cylinders
    liquid: Liquid
    steady: Steady


def _as_asked(state: State, duty: Duty | None) -> State:
    """Return a state as it is used, by the duty that is asked about if there is one."""
    return state if duty is None else state._replace(on_s=duty.on_s, every_s=duty.on_s + duty.off_s)


def _states(
    now: _BottleNow,
    asked: Sequence[tuple[State, StateResult]],
    duty: Duty | None,
    catalogue: Catalogue | None,
) -> tuple[StateSupply, ...]:
    """Return what becomes of each state; help is looked for where the load is the largest of those not held."""
    job, bottles = now.job, now.bottles
    because = {
        state.name: bottle_reasons(job, bottles, state, result.total_w, is_bound=result.is_bound)
        for state, result in asked
    }
    in_need = [(state, result.total_w) for state, result in asked if because[state.name]]
    in_need.sort(key=lambda pair: -pair[1])
    helps: dict[str, tuple[Help, ...]] = {}
    for state, load_w in in_need[:_MOST_HELPED]:
        helps[state.name] = tuple(helps_for(job, state, load_w, catalogue))
    return tuple(
        _state(
            now, state, result, duty, (*because[state.name], *_about_ratings(job, result)), helps.get(state.name, ())
        )
        for state, result in asked
    )


def _about_ratings(job: Job, result: StateResult) -> Iterator[Reason]:
    for stage in result.regulators:
        reason = rating_reason(job, stage.name, stage.regulator, result.name, stage.load_w, is_sure=not result.is_bound)
        if reason is not None:
            yield reason


def _state(  # noqa: PLR0913, PLR0917 - what is known of a state comes from several rooms
    now: _BottleNow,
    asked: State,
    state: StateResult,
    duty: Duty | None,
    because: tuple[Reason, ...],
    helps: tuple[Help, ...],
) -> StateSupply:
    job, bottles, liquid, steady = now
    load_w, bottle = state.total_w, bottles.bottle
    each_w = load_w / bottles.drawing
    least_pa = least_at_flow_gauge_pa(bottles, each_w / job.filled_with.gross_j_kg, job.atmospheric_pa)
    least_abs_pa = least_pa + job.atmospheric_pa
    gross_j = sum(moles * component.gross_j_mol for component, moles in liquid)
    steady_w = bottles.drawing * steady.gross_w

    def follow(pattern: Duty | None) -> Course:
        return course(bottle, liquid, each_w, bottles.ambient_k, least_abs_pa, duty=pattern)

    return StateSupply(
        name=state.name,
        load_w=load_w,
        flow_kg_s=load_w / gross_j * mass_kg(liquid),
        steady_w=steady_w,
        bottles_needed=math.ceil(load_w / steady.gross_w / SAME_LOAD) if steady.gross_w > 0.0 else None,
        drawing_s=gross_j / each_w,
        all_s=gross_j / load_w * bottles.count,
        liquid_k=settled_k(bottle, liquid, bottles.ambient_k, each_w, min(steady.liquid_k, bottles.ambient_k)),
        course=follow(None),
        duty_course=follow(duty) if duty is not None else None,
        lowest_fill=_lowest_fill(job, bottles, each_w) if load_w <= steady_w * SAME_LOAD else None,
        regulators=state.regulators,
        use=use_of(asked),
        because=because,
        helps=helps,
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
