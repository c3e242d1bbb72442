"""States used one after the other from the same bottles, each for its own time: one course of a bottle.

The code of its reasons is `bottles-in-turn`, whose place is the sequence; their details: state, the one in which the
bottles starve or are empty; ended; time_s since the start; load_w and drawing.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import NamedTuple

from drawbar.job import Cylinders, Job
from drawbar.line.feeding import least_at_flow_gauge_pa
from drawbar.line.surroundings import Surroundings, drawn_around, worst_around
from drawbar.physics.cooling import GOING, course
from drawbar.physics.cylinder import liquid_in
from drawbar.physics.liquid import mass_kg
from drawbar.verdict import Reason, Verdict, verdict_of
from drawbar.water_line.water_parts import InTurn


class TurnStep(NamedTuple):
    """A step of a sequence: its state, the load as drawn [W], how long it is on [s]."""

    state: str
    load_w: float
    on_s: float


class InTurnSupply(NamedTuple):
    """What becomes of the bottles drawn from.

    Attributes
    ----------
    name : str
        The sequence's.
    steps : tuple of TurnStep
        In their order.
    pause_s : float
        Between one and the next [s].
    used_kg : float
        Gas of all steps, as drawn, as far as it goes [kg].
    had_kg, left_kg : float
        In the bottles drawn from before and after, as drawn [kg].
    coldest_k : float
        The coldest that the liquid gets, as drawn [K].
    because : tuple of Reason
        Why the bottles do not surely hold it.
    """

    name: str
    steps: tuple[TurnStep, ...]
    pause_s: float
    used_kg: float
    had_kg: float
    left_kg: float
    coldest_k: float
    because: tuple[Reason, ...]

    @property
    def verdict(self) -> Verdict:
        """The verdict on the bottles."""
        return verdict_of(self.because)

    @property
    def time_s(self) -> float:
        """From the first start to the last end [s]."""
        return sum(step.on_s for step in self.steps) + self.pause_s * (len(self.steps) - 1)


class _Followed(NamedTuple):
    """How far a sequence goes: how and in which step it ended (nothing and -1 where it holds), when, what is left."""

    ended: str
    step: int
    time_s: float
    left_kg: float
    coldest_k: float


def in_turn_supplies(job: Job, loads_w: Mapping[str, float], bounds: Collection[str] = ()) -> tuple[InTurnSupply, ...]:
    """Return what becomes of the bottles in each sequence of a job.

    Parameters
    ----------
    job : Job
        As drawn.
    loads_w : mapping of str to float
        By the name of a state, the most that can burn at once in it, as drawn [W].
    bounds : collection of str
        The states whose load is a bound: none fails by it.

    Returns
    -------
    tuple of InTurnSupply
        Nothing where the job has no bottles, or nothing that is used in turn.
    """
    if job.water is None or job.cylinders is None:
        return ()
    on_s = {state.name: state.on_s for state in job.states}
    supplies = []
    for in_turn in job.water.sequences:
        steps = tuple(TurnStep(name, loads_w[name], on_s[name] or 0.0) for name in in_turn.states)
        is_bound = any(step.state in bounds for step in steps)
        supplies.append(_supply(job, job.cylinders, in_turn, steps, is_bound=is_bound))
    return tuple(supplies)


def _supply(
    job: Job, bottles: Cylinders, in_turn: InTurn, steps: tuple[TurnStep, ...], *, is_bound: bool
) -> InTurnSupply:
    drawn = _follow(bottles, drawn_around(job, bottles), steps, in_turn.pause_s)
    worst = _follow(bottles, worst_around(job, bottles), steps, in_turn.pause_s)
    had_kg = bottles.size_kg * bottles.fill * bottles.drawing
    because: tuple[Reason, ...] = ()
    if drawn.ended or worst.ended:
        shows = drawn if drawn.ended else worst
        step = steps[shows.step]
        details: dict[str, float | str] = {
            "state": step.state,
            "ended": shows.ended,
            "time_s": shows.time_s,
            "load_w": step.load_w,
            "drawing": bottles.drawing,
        }
        verdict = Verdict.FAIL if drawn.ended and not is_bound else Verdict.UNDECIDED
        because = (Reason("bottles-in-turn", verdict, in_turn.name, details),)
    return InTurnSupply(
        in_turn.name, steps, in_turn.pause_s, had_kg - drawn.left_kg, had_kg, drawn.left_kg, drawn.coldest_k, because
    )


def _follow(bottles: Cylinders, around: Surroundings, steps: tuple[TurnStep, ...], pause_s: float) -> _Followed:
    """Follow a bottle from the temperature of the air through the steps of a sequence and the pauses between."""
    liquid = liquid_in(around.gas, bottles.size_kg, bottles.fill, around.ambient_k)
    components = [component for component, _ in liquid]
    liquid_k, coldest_k, time_s = around.ambient_k, around.ambient_k, 0.0
    for number, step in enumerate(steps):
        for load_w, for_s in ((step.load_w, step.on_s), (0.0, pause_s if number < len(steps) - 1 else 0.0)):
            if for_s <= 0.0:
                continue
            each_w = load_w * around.more / bottles.drawing
            least_pa = least_at_flow_gauge_pa(bottles, each_w / around.gas.gross_j_kg, around.atmospheric_pa)
            least_abs_pa = least_pa + around.atmospheric_pa
            followed = course(
                bottles.bottle, liquid, each_w, around.ambient_k, least_abs_pa, longest_s=for_s, start_k=liquid_k
            )
            time_s += followed.time_s
            coldest_k = min(coldest_k, *(point.liquid_k for point in followed.points))
            liquid = list(zip(components, followed.points[-1].moles, strict=True))
            liquid_k = followed.liquid_k
            if followed.ended != GOING or followed.time_s < for_s * (1.0 - 1e-9):
                ended = followed.ended if followed.ended != GOING else "starved"
                return _Followed(ended, number, time_s, mass_kg(liquid) * bottles.drawing, coldest_k)
    return _Followed("", -1, time_s, mass_kg(liquid) * bottles.drawing, coldest_k)
