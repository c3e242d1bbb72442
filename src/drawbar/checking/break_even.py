"""What would have to be wrong: for each bore, length, input and device the value at which a job starts to fail."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from drawbar.checking.drawn_figures import DrawnFigure, Margin, StateLeft, drawn_figures
from drawbar.checking.results import TOLERANCE_PA
from drawbar.checking.way_left import places_left, ways_left
from drawbar.line.worst_way import SolvedState
from drawbar.rules import Tolerances

_ENDINGS = {"bore": "_m", "length": "_m", "input": "_w", "drop": "_pa"}
_MOST_WAYS = 300  # of a state; more are taken by the bound
_MOST_STEPS = 300_000  # along a path, for all figures of a job in all its combinations
_BOUND_LOOKS = 80  # what an input costs for each end of the bound, which is solved anew for it
_GUESSED_WAYS = 20  # of a state: the worst ways, by which it is guessed which figures are the closest
_CLOSE = 5e-4  # of the allowed drop: what may be left at the value that is kept
_RATED = 1.0 + 1e-9  # of a rating: what floats lose
_FAR_TURNS = 6  # after so many steps the margin does not go straight
_WINDOW = 0.85  # a guess at how far a figure may go is seldom further from it


class BreakEven(NamedTuple):
    """The value of a figure at which a job starts to fail, all else as drawn.

    Attributes
    ----------
    kind : str
        `bore`, `length`, `input` or `drop`. A bore fails below its limit, the others fail above it.
    place_kind, place : str
        `run`, `hose`, `outlet` or `appliance`, and its name.
    part : str or None
        The device whose drop it is.
    value : float
        As drawn: bore and length [m], input [W], a device's drop at the flow of its figure [Pa].
    limit : float or None
        The last value that passes, in the same unit; None where nothing within reason fails.
    is_bound : bool
        Whether it passes up to the limit at least, as the combinations are too many to try.
    flow_kg_s : float or None
        The flow of the device's figure [kg/s].
    """

    kind: str
    place_kind: str
    place: str
    part: str | None
    value: float
    limit: float | None
    is_bound: bool = False
    flow_kg_s: float | None = None

    @property
    def figure(self) -> str:
        """The name of the figure with its unit: `bore_m`, `length_m`, `input_w` or `drop_pa`."""
        return f"{self.kind}{_ENDINGS[self.kind]}"

    @property
    def share(self) -> float:
        """How far the limit is from the value drawn, as a share of that [-]; infinite where there is no limit."""
        return _share(self.value, self.limit)


def break_even_values(solved_states: Sequence[SolvedState]) -> tuple[BreakEven, ...] | None:
    """Return for every bore, length, input and device the value at which a job starts to fail.

    Parameters
    ----------
    solved_states : sequence of SolvedState
        Every state of the job, solved on one line.

    Returns
    -------
    tuple of BreakEven or None
        In the job's order: runs, outlets, hoses, appliances. Empty where the job fails as drawn; None where the
        combinations are too many to work them out.
    """
    if not _passes(solved_states):
        return ()
    figures = drawn_figures(solved_states[0].state_on_line.line.job)
    states = _states_left(solved_states, len(figures), ways=_MOST_WAYS, inputs=len(figures))
    if states is None:
        return None
    return tuple(_break_even(figure, states) for figure in figures)


def closest_break_evens(
    solved_states: Sequence[SolvedState], count: int = 3, tolerances: Tolerances | None = None
) -> tuple[BreakEven, ...] | None:
    """Return the figures that need be wrong by the least for a job to fail: those to measure first.

    Which they are is guessed from what is left and what each piece takes, and only those are worked out.

    Parameters
    ----------
    solved_states : sequence of SolvedState
        Every state of the job, solved on one line.
    count : int
        How many.
    tolerances : Tolerances or None
        Given, a figure is the closer the more of its tolerance, and not of itself, would make the job fail.

    Returns
    -------
    tuple of BreakEven or None
        The closest first; those that nothing within reason makes fail are left out. Empty where the job fails as drawn;
        None where the combinations are too many to work them out.
    """
    if not _passes(solved_states):
        return ()
    figures = drawn_figures(solved_states[0].state_on_line.line.job)
    states = _states_left(solved_states, len(figures), ways=_GUESSED_WAYS, inputs=count)
    if states is None:
        return None
    worst = [state if state.is_bound else state._replace(ways=state.ways[:_GUESSED_WAYS]) for state in states]
    guessed = []
    for figure in figures:
        guesses = [guess for guess, _ in _margins(figure, worst) or _margins(figure, states)]
        if guesses:
            value = figure.value_at(min(max(min(guesses), 0.0), figure.most))
            guessed.append((_distance(figure, value, tolerances), figure))
    guessed.sort(key=lambda entry: entry[0])
    exact: list[tuple[tuple[float, float], BreakEven]] = []
    for guess, figure in guessed:
        if len(exact) >= count and exact[count - 1][0] <= tuple(_WINDOW * far for far in guess):
            break
        break_even = _break_even(figure, states)
        if break_even.limit is not None:
            exact.append((_distance(figure, break_even.limit, tolerances), break_even))
            exact.sort(key=lambda entry: entry[0])
    return tuple(break_even for _, break_even in exact[:count])


def last_passing(
    margin: Callable[[float], float], most: float, guess: float, near: Callable[[float], float], close_pa: float
) -> float:
    """Return how far a figure may go and still pass; most where it passes there, 0 where it does not pass as drawn.

    Four steps of `near` further it fails, and less than `close_pa` is left where it stops, unless the margin jumps.

    Parameters
    ----------
    margin : callable
        What is left when it has gone so far [Pa]; it must not rise, and falls nearly straight but for jumps.
    most : float
        The end of the search.
    guess : float
        Where it looks first.
    near : callable
        A short step at a place.
    close_pa : float
        What may be left [Pa].

    Returns
    -------
    float
        The last place that passes.
    """
    low, low_pa = 0.0, margin(0.0)
    if low_pa < 0.0:
        return 0.0
    high, high_pa = math.inf, 0.0
    place = min(max(guess, near(0.0)), most)
    for turn in range(120):
        at_pa = margin(place)
        if at_pa >= 0.0:
            if place >= most:
                return most
            slope = (low_pa - at_pa) / (place - low)
            low, low_pa = place, at_pa
        else:
            high, high_pa = place, at_pa
        step = near(low)
        if math.isinf(high):
            ahead = 1.02 * at_pa / slope if slope > 0.0 else math.inf
            place = min(place + min(max(ahead, step), 3.0 * place), most)
            continue
        if high - low <= (4.0 if low_pa <= close_pa else 0.01) * step:
            break
        slope = (low_pa - high_pa) / (high - low)
        root, pad = low + low_pa / slope, min(step, close_pa / (3.0 * slope))
        if turn > _FAR_TURNS:
            place = 0.5 * (low + high)
        elif low_pa > close_pa or root - low > 2.0 * step:
            place = max(root - pad, low + 0.5 * (root - low))
        else:
            place = min(root + pad, high - 0.5 * (high - root))
    return low


def _passes(solved_states: Sequence[SolvedState]) -> bool:
    """Tell whether every appliance and every regulator has its pressure, and no regulator more than its rating."""
    job = solved_states[0].state_on_line.line.job
    for solved in solved_states:
        margins_pa = solved.way_margins_pa or [place.margin_pa for place in solved.places.values()]
        if min(*margins_pa, *solved.inlet_margins_pa.values(), math.inf) < -TOLERANCE_PA:
            return False
        loads_kg_s = [(job.regulator, solved.most_kg_s)]
        loads_kg_s.extend(
            (regulator, solved.loads_kg_s[number])
            for number, run in enumerate(job.runs)
            if (regulator := run.regulator)
        )
        if any(
            regulator.capacity_w is not None and load_kg_s * job.gas.gross_j_kg > regulator.capacity_w * _RATED
            for regulator, load_kg_s in loads_kg_s
        ):
            return False
    return True


def _states_left(
    solved_states: Sequence[SolvedState], figures: int, *, ways: int, inputs: int
) -> list[StateLeft] | None:
    """Return what every state has left; None where it would take too many steps along the paths.

    So many figures are looked at in so many combinations of a state, and of the inputs so many are worked out.
    """
    states = []
    steps = 0
    for solved in solved_states:
        state_on_line = solved.state_on_line
        few = state_on_line.ways is not None and len(state_on_line.ways) <= _MOST_WAYS
        if few:
            looks = figures * min(len(solved.way_margins_pa), ways)
        else:
            looks = state_on_line.place_count * (figures + _BOUND_LOOKS * min(len(solved.places), inputs))
        steps += looks * max(map(len, state_on_line.line.paths))
        if steps > _MOST_STEPS or not (few or state_on_line.bound_margin_pa() >= 0.0):
            return None
        left = ways_left(solved) if few else list(places_left(state_on_line))
        states.append(StateLeft(state_on_line, left, is_bound=not few))
    return states


def _margins(figure: DrawnFigure, states: Sequence[StateLeft]) -> list[Margin]:
    return [margin for state in states for margin in figure.margins(state)]


def _break_even(figure: DrawnFigure, states: Sequence[StateLeft]) -> BreakEven:
    """Return the value at which a figure fails: worked out where it seems worst, with a look at every other place."""
    close_pa = _CLOSE * states[0].state_on_line.line.job.allowed_drop_pa
    gone = figure.most
    for number, (guess, margin) in enumerate(sorted(_margins(figure, states), key=lambda entry: entry[0])):
        if number == 0 or margin(gone) < 0.0:
            gone = last_passing(margin, gone, guess, figure.near, close_pa)
    return BreakEven(
        kind=figure.kind,
        place_kind=figure.place_kind,
        place=figure.place,
        part=figure.part,
        value=figure.value,
        limit=figure.value_at(gone) if gone < figure.most else None,
        is_bound=any(state.is_bound for state in states),
        flow_kg_s=figure.flow_kg_s,
    )


def _share(value: float, limit: float | None) -> float:
    if limit is None or value == 0.0:
        return math.inf
    return abs(limit / value - 1.0)


def _distance(figure: DrawnFigure, limit: float, tolerances: Tolerances | None) -> tuple[float, float]:
    """Return how far a limit is, by the figure's tolerance if there are tolerances, and as a share of the figure."""
    share = _share(figure.value, limit)
    if tolerances is None:
        return share, share
    tolerance = {
        "bore": figure.tolerance,
        "length": max(tolerances.length * figure.value, tolerances.length_m),
        "input": tolerances.input * figure.value,
        "drop": tolerances.devices * figure.value,
    }[figure.kind]
    return (abs(limit - figure.value) / tolerance if tolerance > 0.0 else math.inf), share
