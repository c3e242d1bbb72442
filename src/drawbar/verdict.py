"""The three verdicts, what stands behind each, and the exit code that goes with it.

Everything that judges - pressures, vents, bottles, a tightness test - gives reasons, and the verdict follows from them
by one rule: a reason that fails makes FAIL, a reason that leaves it open makes UNDECIDED, no reason makes PASS.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable, Mapping
from typing import NamedTuple

EXIT_OK, EXIT_FAIL, EXIT_WRONG, EXIT_UNDECIDED, EXIT_MACHINE = range(5)
_EXIT_ORDER = (EXIT_OK, EXIT_UNDECIDED, EXIT_FAIL, EXIT_WRONG, EXIT_MACHINE)  # of several, the last one counts


class Verdict(enum.Enum):
    """PASS, UNDECIDED or FAIL; its value is the word as scripts read it, in small letters."""

    PASS = "pass"
    UNDECIDED = "undecided"
    FAIL = "fail"

    @property
    def word(self) -> str:
        """The verdict as a page shows it."""
        return self.name

    @property
    def exit_code(self) -> int:
        """The exit code of a command that ends with it."""
        return {Verdict.PASS: EXIT_OK, Verdict.FAIL: EXIT_FAIL, Verdict.UNDECIDED: EXIT_UNDECIDED}[self]


class Reason(NamedTuple):
    """Why a verdict is not PASS.

    Attributes
    ----------
    code : str
        What sort of reason it is: the same word in every form and version.
    verdict : Verdict
        What it makes of the verdict: FAIL or UNDECIDED.
    place : str
        The appliance, run, outlet, hose, regulator or state that it is about; empty where it is about the whole job.
    details : mapping of str to (float or str)
        The figures after it in SI units, each under a name that ends in its unit, and names; see the room that
        gives the reason.
    """

    code: str
    verdict: Verdict
    place: str
    details: Mapping[str, float | str]


def verdict_of(reasons: Iterable[Reason]) -> Verdict:
    """Return the verdict that follows from reasons.

    Parameters
    ----------
    reasons : iterable of Reason
        Each fails it or leaves it open.

    Returns
    -------
    Verdict
        PASS where there are none.

    Examples
    --------
    >>> verdict_of([]), verdict_of([Reason("short-of-pressure", Verdict.FAIL, "urn", {"margin_pa": -12.0})])
    (<Verdict.PASS: 'pass'>, <Verdict.FAIL: 'fail'>)
    """
    return worst_verdict(reason.verdict for reason in reasons)


def worst_verdict(verdicts: Iterable[Verdict]) -> Verdict:
    """Return FAIL if one of the verdicts is that, else UNDECIDED if one is that, else PASS."""
    verdicts = set(verdicts)
    return next((verdict for verdict in (Verdict.FAIL, Verdict.UNDECIDED) if verdict in verdicts), Verdict.PASS)


def exit_code_of(codes: Iterable[int]) -> int:
    """Return the exit code of a call with several results: 4, 2, 1, 3 and 0 count in this order.

    Parameters
    ----------
    codes : iterable of int
        That of each result.

    Returns
    -------
    int
        The one that counts; 0 where there are none.

    Examples
    --------
    >>> exit_code_of([0, 3, 1, 3])
    1
    """
    return max(codes, key=_EXIT_ORDER.index, default=EXIT_OK)
