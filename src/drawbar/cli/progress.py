"""A line of progress on standard error: how much is done, how fast, and how long it will take still."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from typing import TypeVar

from drawbar.cli.output import is_dumb
from drawbar.cli.telling import is_quiet

_EVERY_S = 0.1  # between two looks of the line
_AFTER_S = 0.5  # what is over sooner shows none
_MINUTE_S, _HOUR_S = 60, 3600
_CLEAR = "\r\x1b[K"

_Item = TypeVar("_Item")


def shows_progress() -> bool:
    """Tell whether standard error is a terminal that can draw a line over again, and the call is not to be quiet."""
    return sys.stderr.isatty() and not is_dumb() and not is_quiet()


def with_progress(
    items: Iterator[_Item], count: int, what: str, speaks: Callable[[_Item], bool] | None = None
) -> Iterator[_Item]:
    """Pass items on, with a line of progress where standard error is a terminal.

    Parameters
    ----------
    items : iterator
        What takes its time to come.
    count : int
        How many there will be.
    what : str
        What they are.
    speaks : callable, optional
        Tells whether something is printed of an item as it comes, for which the line makes way.

    Yields
    ------
    object
        The items.
    """
    if not shows_progress():
        yield from items
        return
    start = drawn = time.monotonic()
    is_drawn = False
    try:
        for done, item in enumerate(items, 1):
            now = time.monotonic()
            if is_drawn and speaks is not None and speaks(item):
                clear()
                is_drawn = False
            elif now - start >= _AFTER_S and now - drawn >= _EVERY_S:
                drawn, is_drawn = now, True
                draw(progress_words(done, count, what, now - start))
            yield item
    finally:
        if is_drawn:
            clear()


def progress_words(done: int, count: int, what: str, taken_s: float) -> str:
    """Return a line of progress.

    Parameters
    ----------
    done, count : int
        How many are done, of how many.
    what : str
        What they are.
    taken_s : float
        The time since the first [s].

    Returns
    -------
    str
        Done, rate and time left.

    Examples
    --------
    >>> progress_words(1200, 10000, "jobs", 3.0)
    '1,200 of 10,000 jobs, 400 a second, 0:22 left'
    """
    rate = done / max(taken_s, 1e-9)
    left_s = round((count - done) / rate)
    minutes = f"{left_s // _MINUTE_S % 60}:{left_s % 60:02}"
    if left_s >= _HOUR_S:
        minutes = f"{left_s // _HOUR_S}:{left_s // _MINUTE_S % 60:02}:{left_s % 60:02}"
    return f"{done:,} of {count:,} {what}, {rate:.3g} a second, {minutes} left"


class GapLine:
    """A line that tells how far the proof of a search is: the cost of the best choice and what none goes below."""

    def __init__(self) -> None:
        self._start = time.monotonic()
        self._is_drawn = False

    def show(self, cost: float, least: float) -> None:
        """Draw the line, where there is a terminal and the search has taken a moment."""
        if shows_progress() and time.monotonic() - self._start >= _AFTER_S:
            self._is_drawn = True
            draw(gap_words(cost, least))

    def end(self) -> None:
        """Take the line away."""
        if self._is_drawn:
            clear()


def gap_words(cost: float, least: float) -> str:
    """Return how far the proof of a search is.

    Parameters
    ----------
    cost, least : float
        The cost of the best choice so far, and what none goes below.

    Returns
    -------
    str
        Both, and the gap between them as a share.

    Examples
    --------
    >>> gap_words(4.2, 4.0)
    'cost 4.2, none below 4: gap 4.8 %; Ctrl-C takes the best so far'
    """
    if not 0.0 < cost < float("inf"):
        return f"no sizes yet, none below {least:.4g}; Ctrl-C stops"
    gap = 100.0 * max(0.0, 1.0 - least / cost)
    return f"cost {cost:.4g}, none below {least:.4g}: gap {gap:.1f} %; Ctrl-C takes the best so far"


def draw(line: str) -> None:
    """Draw a line in place of the last one."""
    sys.stderr.write(f"{_CLEAR}{line}\r")  # what is printed next begins where the line does
    sys.stderr.flush()


def clear() -> None:
    """Take the line away."""
    sys.stderr.write(_CLEAR)
    sys.stderr.flush()
