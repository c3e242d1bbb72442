"""A load that comes and goes, from text, as a question of the command."""

from __future__ import annotations

import re

from drawbar.physics.cooling import Duty
from drawbar.problems import shown

_DUTY = re.compile(r"(.{1,60}?) +on *, *(.{1,60}?) +off")
_SHORTEST, _LONGEST = "10 s", "72 h"


class DutyError(ValueError):
    """A text that is not a duty, or one with times that can't be right."""


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
