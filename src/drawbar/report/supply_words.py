"""The words of the supply: why the verdict on bottles is not PASS, what helps, how a state is used."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from drawbar import units
from drawbar.gas_supply.bottle_helps import DRAW_FROM_MORE, FULLER, LARGER, Help
from drawbar.gas_supply.by_use import Use
from drawbar.job import Cylinders
from drawbar.physics.cooling import EMPTY, STARVED
from drawbar.report.display import Shown
from drawbar.verdict import Reason, Verdict

if TYPE_CHECKING:
    from drawbar.gas_supply.in_turn import InTurnSupply

_SHORT = 120  # up to so many, seconds are told as seconds and minutes as minutes
_JUST = 1e-6  # what is over a whole degree or per cent by less is that


def time_words(seconds: float) -> str:
    """Return a time in words: seconds under two minutes, minutes under two hours, hours and minutes, then days."""
    if round(seconds) < _SHORT:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < _SHORT:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h {minutes % 60} min" if minutes % 60 else f"{minutes // 60} h"
    return f"{seconds / 86_400:.1f} days".replace(".0 days", " days")


def size_words(bottles: Cylinders, shown: Shown) -> str:
    """Return the size of a bottle: the project's own names are sizes, such as `100-lb`."""
    size = f"{units.from_si(bottles.size_kg, shown.display.mass, units.MASS):.4g} {shown.display.mass}"
    if bottles.name is None:
        return size
    if not bottles.name[0].isdigit():
        return f"{size} ({bottles.name})"
    more = bottles.name.split("-")[2:]  # what tells it from another that holds as much, as `composite`
    if more:
        return f"{size} ({' '.join(more)})"
    name = bottles.name.replace("-", " ")
    return name if name.endswith(f" {shown.display.mass}") else size


def _use_words(on_s: float, every_s: float) -> str:
    return time_words(on_s) + (f" every {hours_words(every_s)}" if every_s else "")


def hours_words(seconds: float) -> str:
    """Return a time in words, whole hours as hours however few they are."""
    return f"{seconds / 3600:g} h" if seconds % 3600 == 0 else time_words(seconds)


# why


def _figures(reason: Reason, shown: Shown) -> tuple[str, str, str]:
    """Return the load, what gives it, and the continuous offtake of that."""
    load, steady = (shown.heat_unit(float(reason.details[key])) for key in ("load_w", "steady_w"))
    drawing = int(reason.details["drawing"])
    return load, "the bottle drawn from" if drawing == 1 else f"the {drawing} bottles drawn from", steady


def _ends(how: str, *, is_one: bool) -> str:
    if how == EMPTY:
        return "is empty" if is_one else "are empty"
    return "starves" if is_one else "starve"


def _within_a_use(reason: Reason, shown: Shown) -> tuple[str, str]:
    load, bottles, _ = _figures(reason, shown)
    on_s, every_s, into_s, time_s = (float(reason.details[key]) for key in ("on_s", "every_s", "into_s", "time_s"))
    is_fail, is_one = reason.verdict is Verdict.FAIL, int(reason.details["drawing"]) == 1
    what = _ends(EMPTY if reason.code == "bottles-empty" else STARVED, is_one=is_one)
    if time_s <= 0.0:
        when = "at once"
    elif not on_s:
        when = f"after {time_words(time_s)}"
    else:
        at = f"{time_words(into_s)} into"
        if time_words(into_s) == time_words(on_s):  # else it would read as the end of the use
            at = f"{time_words(on_s - into_s)} before the end of"
        when = f"{at} a use of {_use_words(on_s, every_s)}"
        if time_s > into_s:
            when += f", after {time_words(time_s)} in all"
    if is_fail:
        text = f"{reason.place} is {load}; {bottles} {what} {when}"
        return text, "draw from more bottles, from larger or fuller ones, or use it less"
    if "is_bound" in reason.details:
        text = f"{reason.place} has too many combinations to try each; by a bound, with {load} on,"
        text = f"{text} {bottles} {what} {when}"
        return text, "name fewer outlets or hoses for each appliance, or draw from more bottles"
    text = f"{reason.place} passes as drawn, but at its worst, with {load} on, {bottles} {what} {when}"
    return text, "measure the gas rate of the appliances, draw from more bottles, or use it less"


def _use_not_given(reason: Reason, shown: Shown) -> tuple[str, str]:
    load, bottles, steady = _figures(reason, shown)
    is_one, details = int(reason.details["drawing"]) == 1, reason.details
    ends = _ends(str(details["ended"]), is_one=is_one)
    is_load = "may be" if float(details["load_w"]) > float(details["drawn_w"]) else "is"
    text = (
        f"{reason.place} {is_load} {load}, over the continuous offtake of {steady}; without a break {bottles} {ends} "
        f"after {time_words(float(details['time_s']))}"
    )
    return text, "write how it is used, as `for: 20 min, every: 1 h` in its state"


def _in_turn(reason: Reason, shown: Shown) -> tuple[str, str]:  # noqa: ARG001 - each has the same form
    drawing = int(reason.details["drawing"])
    bottles = "the bottle drawn from" if drawing == 1 else f"the {drawing} bottles drawn from"
    ends = _ends(str(reason.details["ended"]), is_one=drawing == 1)
    when = f"in {reason.details['state']}, {time_words(float(reason.details['time_s']))} after the start"
    if reason.verdict is Verdict.FAIL:
        return (
            f"{reason.place}: {bottles} {ends} {when}",
            "draw from more bottles, from larger or fuller ones, or use less",
        )
    text = f"{reason.place} holds as drawn, but at its worst {bottles} {ends} {when}"
    return text, "measure what the appliances burn, draw from more bottles, or use less"


def in_turn_words(supplied: InTurnSupply, shown: Shown) -> str:
    """Return what becomes of the bottles where states are used one after the other."""
    counted: list[tuple[str, int]] = []
    for step in supplied.steps:
        if counted and counted[-1][0] == step.state:
            counted[-1] = (step.state, counted[-1][1] + 1)
        else:
            counted.append((step.state, 1))
    steps = ", ".join(name if count == 1 else f"{count} x {name}" for name, count in counted)
    used, left = shown.mass_unit(supplied.used_kg), shown.mass_unit(supplied.left_kg)
    return (
        f"{supplied.name} ({steps}; {time_words(supplied.time_s)}): takes {used}, leaves {left}, the liquid down to "
        f"{shown.temperature_unit(supplied.coldest_k)}: {supplied.verdict.word}."
    )


BOTTLE_WORDS: dict[str, Callable[[Reason, Shown], tuple[str, str]]] = {
    "bottles-starve": _within_a_use,
    "bottles-empty": _within_a_use,
    "bottles-use": _use_not_given,
    "bottles-in-turn": _in_turn,
}
"""By the code of a reason of `drawbar.gas_supply.by_use`: what it says, and what to find out or to change."""


# what helps


def help_words(help_: Help, count: int, use: Use | None, shown: Shown) -> str:
    """Return what helps in words, its figures rounded to the side on which the state passes.

    Parameters
    ----------
    help_ : Help
        What helps.
    count : int
        How many bottles the job has.
    use : Use or None
        How the state is used.
    shown : Shown
        The units of the job.

    Returns
    -------
    str
        A sentence.
    """
    who = help_.state if use is None else f"{help_.state} of {_use_words(*_pair(use))}"
    down_to = "" if help_.down_to_k is None else _degrees_up(help_.down_to_k, shown)
    if help_.kind == DRAW_FROM_MORE:
        return f"{_draw(help_.bottles.drawing, count)}: {who} passes down to {down_to}."
    if help_.kind == LARGER:
        return f"Bottles of {size_words(help_.bottles, shown)}: {who} passes down to {down_to}."
    if help_.kind == FULLER:
        return f"Fuller bottles: {who} passes from {math.ceil(help_.bottles.fill * 100.0 - _JUST)} % full."
    return f"In air of {down_to} and warmer: {who} passes as it stands."


def _pair(use: Use) -> tuple[float, float]:
    return use.on_s, use.every_s or 0.0


def _draw(drawing: int, count: int) -> str:
    if drawing < count:
        return f"Draw from {drawing}"
    if drawing == count:
        return "Draw from both" if count == 2 else f"Draw from all {count}"  # noqa: PLR2004 - both are two
    return f"Draw from {drawing} such bottles, {drawing - count} more"


def _degrees_up(kelvin: float, shown: Shown) -> str:
    """Return a temperature as a whole degree that is no colder."""
    unit = shown.display.temperature
    return f"{math.ceil(units.from_si(kelvin, unit, units.TEMPERATURE) - _JUST):d} {unit}"


def helps_data(helps: Sequence[Help], count: int, use: Use | None, shown: Shown) -> list[dict[str, Any]]:
    """Return what helps as it stands in JSON.

    Parameters
    ----------
    helps : sequence of Help
        What helps a state.
    count : int
        How many bottles the job has.
    use : Use or None
        How the state is used.
    shown : Shown
        The units of the job, for the texts.

    Returns
    -------
    list of dict of str to Any
    """
    return [
        {
            "state": help_.state,
            "kind": help_.kind,
            "drawing": help_.bottles.drawing,
            "count": help_.bottles.count,
            "gas_kg": help_.bottles.size_kg,
            "fill_percent": help_.bottles.fill * 100.0,
            "down_to_degC": None if help_.down_to_k is None else help_.down_to_k - 273.15,
            "text": help_words(help_, count, use, shown),
        }
        for help_ in helps
    ]
