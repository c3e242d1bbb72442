"""The verdict on bottles by how a state is used: does a bottle starve, or empty, within a use, over a day of them.

A use is `for` a time, `every` so often. Without `every` it is a single use; with it a day of uses is followed, each
that starts within the day to its end, from bottles as cold as the air. Where no use is stated the bottles must keep the
load up without a break. PASS holds with every input at the large end of its tolerance, and in the coldest air, with the
heaviest gas and at the lowest place of a site that is given as a range; FAIL fails as drawn.

The codes of the reasons, whose place is the state, and their details:

=============== ================================================================================
code            details
=============== ================================================================================
bottles-starve  time_s since the first start, into_s since the start of that use, on_s, every_s
                (0 where it is used once, and on_s where no use is stated), drawing, load_w, steady_w;
                is_bound where the load is a bound over too many combinations
bottles-empty   the same
bottles-use     time_s until it starves or is empty, ended, drawing, load_w, drawn_w, steady_w
=============== ================================================================================
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, NamedTuple

from drawbar.line.feeding import least_at_flow_gauge_pa, steady_through_pigtail
from drawbar.line.surroundings import Surroundings, drawn_around, worst_around
from drawbar.physics.cylinder import liquid_in, steady_offtake
from drawbar.physics.liquid import Liquid, left_of, mass_kg
from drawbar.verdict import Reason, Verdict, verdict_of

if TYPE_CHECKING:
    from drawbar.job import Cylinders, Job, State
    from drawbar.physics.cooling import Course

DAY_S = 86_400.0
SAME_LOAD = 1.0001
"""A load so many times a limit is still at it [-]."""
_BRIEFEST_S = 10.0  # no use is briefer: what starves sooner gives nothing, whatever the use
_MOST_USES = 48  # of a day that are followed each by itself, so that no file takes long
_LEAST_LEFT = 0.005  # share of a bottle's gas under which its course is followed, not bounded


class Use(NamedTuple):
    """How a state is used: on for on_s [s], from one start to the next every_s [s]; None for a single use."""

    on_s: float
    every_s: float | None

    @property
    def uses(self) -> int:
        """How many start within a day, or 1."""
        return math.ceil(DAY_S / self.every_s) if self.every_s is not None else 1

    @property
    def end_s(self) -> float:
        """When the last of them ends [s]."""
        return (self.uses - 1) * (self.every_s or 0.0) + self.on_s


class Fare(NamedTuple):
    """How a bottle fares under a load.

    Attributes
    ----------
    ended : str
        STARVED or EMPTY of `drawbar.physics.cooling`; nothing where it holds.
    time_s : float
        When [s]; endless where it holds.
    steady_w : float
        Continuous offtake of the bottles drawn from [W].
    """

    ended: str
    time_s: float
    steady_w: float

    @property
    def holds(self) -> bool:
        """Tell whether it neither starves nor empties."""
        return not self.ended


def bottles_verdict(
    job: Job, loads_w: Mapping[str, float], bounds: Collection[str] = ()
) -> tuple[Verdict, tuple[Reason, ...]] | None:
    """Return the verdict on a job's bottles, and why it is not PASS.

    Parameters
    ----------
    job : Job
        As drawn.
    loads_w : mapping of str to float
        By the name of a state, the most that can burn at once in it, as drawn [W].
    bounds : collection of str
        The states whose load is a bound, as their combinations are too many to try: none of them fails by it.

    Returns
    -------
    tuple of Verdict and tuple of Reason, or None
        None where the job has no bottles.
    """
    if job.cylinders is None:
        return None
    reasons = tuple(
        reason
        for state in job.states
        if state.name in loads_w
        for reason in bottle_reasons(job, job.cylinders, state, loads_w[state.name], is_bound=state.name in bounds)
    )
    return verdict_of(reasons), reasons


def bottle_reasons(
    job: Job, bottles: Cylinders, state: State, load_w: float, *, is_bound: bool = False
) -> tuple[Reason, ...]:
    """Return why bottles do not surely hold a state; empty where they do.

    Parameters
    ----------
    job : Job
        As drawn.
    bottles : Cylinders
        Its own bottles, or others in their place.
    state : State
        Of the job.
    load_w : float
        The most that can burn at once in it, as drawn [W].
    is_bound : bool
        Whether that is a bound over too many combinations to try: it is then more than any of them may burn, and
        fails nothing.

    Returns
    -------
    tuple of Reason
    """
    use, worst, drawn = use_of(state), worst_around(job, bottles), drawn_around(job, bottles)
    at_worst = fare(bottles, worst, load_w, use)
    if at_worst.holds:
        return ()
    from drawbar.physics.cooling import EMPTY  # of what does not surely hold alone: `check` asks this of every job

    as_drawn = fare(bottles, drawn, load_w, use)
    shows, more = (at_worst, worst.more) if as_drawn.holds else (as_drawn, 1.0)
    details: dict[str, float | str] = {
        "time_s": shows.time_s,
        "drawing": bottles.drawing,
        "load_w": load_w * more,
        "steady_w": shows.steady_w,
    }
    gives_nothing = not as_drawn.holds and as_drawn.time_s < _BRIEFEST_S
    if use is None and not gives_nothing:
        details |= {"ended": shows.ended, "drawn_w": load_w}
        return (Reason("bottles-use", Verdict.UNDECIDED, state.name, details),)
    every_s = use.every_s or 0.0 if use is not None else 0.0
    into_s = shows.time_s % every_s if every_s else shows.time_s
    details |= {"into_s": into_s, "on_s": use.on_s if use is not None else 0.0, "every_s": every_s}
    if is_bound and not as_drawn.holds:
        details["is_bound"] = 1.0
    code = "bottles-empty" if shows.ended == EMPTY else "bottles-starve"
    return (Reason(code, Verdict.UNDECIDED if as_drawn.holds or is_bound else Verdict.FAIL, state.name, details),)


def holds_surely(job: Job, bottles: Cylinders, state: State, load_w: float) -> bool:
    """Tell whether bottles hold a state with everything at its worst; see `bottle_reasons`."""
    return fare(bottles, worst_around(job, bottles), load_w, use_of(state)).holds


def use_of(state: State) -> Use | None:
    """Return how a state is used, None where the job does not say."""
    return Use(state.on_s, state.every_s) if state.on_s is not None else None


def fare(bottles: Cylinders, around: Surroundings, load_w: float, use: Use | None) -> Fare:
    """Return how bottles fare under a load.

    Parameters
    ----------
    bottles : Cylinders
        The bottles.
    around : Surroundings
        What they work in.
    load_w : float
        The most that can burn at once, as drawn [W].
    use : Use or None
        How it is used; None where it is not stated, when the load must be kept up without a break.

    Returns
    -------
    Fare
    """
    bottle, ambient_k = bottles.bottle, around.ambient_k
    each_w = load_w * around.more / bottles.drawing
    each_kg_s = each_w / around.gas.gross_j_kg
    least_abs_pa = least_at_flow_gauge_pa(bottles, each_kg_s, around.atmospheric_pa) + around.atmospheric_pa
    liquid = liquid_in(around.gas, bottles.size_kg, bottles.fill, ambient_k)
    steady = steady_through_pigtail(bottles, liquid, ambient_k, around.atmospheric_pa)
    steady_w = bottles.drawing * steady.gross_w
    pattern = None
    if use is None:
        if each_w <= steady.gross_w * SAME_LOAD:
            return Fare("", math.inf, steady_w)
    else:
        pattern = _pattern(use, around)
        each_w *= pattern.share
        if each_w <= steady.gross_w:
            left = _surely_left(liquid, each_w * pattern.on_in_all_s, steady.liquid_k)
            # What is kept up at the lowest level is kept up before: the liquid never gets colder than it may.
            if left is not None and each_w <= steady_offtake(bottle, left, ambient_k, least_abs_pa).gross_w:
                return Fare("", math.inf, steady_w)
    from drawbar.physics.cooling import LONGEST_S, Duty, course  # where the steady offtake does not settle it alone

    duty = Duty(pattern.on_s, pattern.off_s) if pattern is not None and pattern.off_s else None
    end_s = pattern.end_s if pattern is not None else LONGEST_S
    followed = course(bottle, liquid, each_w, ambient_k, least_abs_pa, duty=duty, longest_s=end_s)
    return Fare(*_end(followed, end_s, is_stated=use is not None), steady_w)


def _end(followed: Course, end_s: float, *, is_stated: bool) -> tuple[str, float]:
    """Return how a course ended, and when [s]; one that was not followed to its end does not hold."""
    from drawbar.physics.cooling import GOING, STARVED

    if followed.ended == GOING and is_stated and followed.time_s >= end_s * (1.0 - 1e-9):
        return "", math.inf
    return (STARVED if followed.ended == GOING else followed.ended), followed.time_s


class _Pattern(NamedTuple):
    """What is followed: on and off [s] until end_s [s], with a share of the load [-]; off_s is 0 for no break."""

    on_s: float
    off_s: float
    end_s: float
    share: float = 1.0

    @property
    def on_in_all_s(self) -> float:
        """How long it is on until the end [s]."""
        if not self.off_s:
            return self.end_s
        return self.on_s * (round((self.end_s - self.on_s) / (self.on_s + self.off_s)) + 1)


def _pattern(use: Use, around: Surroundings) -> _Pattern:
    """Return what is followed of a use.

    Where there are more uses in a day than are followed, the worst takes several at a time, one after the other, with
    their pauses behind them, which is harder on a bottle; as drawn the load is on all the time with its mean, which is
    milder. What is between the two stays open.
    """
    if use.every_s is None or use.every_s <= use.on_s * (1.0 + 1e-9):
        return _Pattern(use.on_s, 0.0, use.end_s)
    if use.uses <= _MOST_USES:
        return _Pattern(use.on_s, use.every_s - use.on_s, use.end_s)
    if not around.is_worst:
        return _Pattern(use.end_s, 0.0, use.end_s, use.on_s / use.every_s)
    together = math.ceil(use.uses / _MOST_USES)
    groups = math.ceil(use.uses / together)
    on_s, off_s = together * use.on_s, together * (use.every_s - use.on_s)
    return _Pattern(on_s, off_s, (groups - 1) * (on_s + off_s) + on_s)


def _surely_left(liquid: Liquid, used_j: float, coldest_k: float) -> Liquid | None:
    """Return no more than is left of a liquid when some of its heat is used [J]; None where that is next to nothing.

    Of a mixture the lighter part leaves first, the more so the colder it is.
    """
    used_kg = used_j / min(component.gross_j_mol / component.molar_mass_kg_mol for component, _ in liquid)
    left = 1.0 - used_kg / mass_kg(liquid)
    return left_of(liquid, left, coldest_k) if left > _LEAST_LEFT else None
