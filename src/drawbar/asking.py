"""What is asked of a job beside its file, from the texts that a call of the program or of the library gives."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from drawbar.display_units import UNIT_SYSTEMS
from drawbar.jobfile.asked import Asked, AskedSwap, Setting, parse_setting
from drawbar.problems import Problem, Problems
from drawbar.rechecking.swaps import Swap, read_swap

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue


def asked_by(
    catalogue: Catalogue,
    settings: Sequence[str] = (),
    swaps: Sequence[str] = (),
    units: str | None = None,
    *,
    mark: str = "--",
) -> Asked:
    """Return what is asked of a job.

    Parameters
    ----------
    catalogue : Catalogue
        What a swap may name.
    settings : sequence of str
        Each KEY=VALUE.
    swaps : sequence of str
        Each OLD=NEW.
    units : str or None
        A name of UNIT_SYSTEMS; None for the file's units.
    mark : str
        What stands before `set 1` and `swap 1` in messages.

    Returns
    -------
    Asked

    Raises
    ------
    Problems
        With all settings that are not KEY=VALUE.
    SwapError
        If a swap is not OLD=NEW.
    """
    parsed: list[Setting] = []
    problems: list[Problem] = []
    for number, text in enumerate(settings, 1):
        try:
            parsed.append(parse_setting(text, f"{mark}set {number}"))
        except Problems as error:
            problems.extend(error.problems)
    if problems:
        raise Problems(problems)
    read = [read_swap(text, catalogue) for text in swaps]
    return Asked(
        tuple(parsed),
        tuple(asked_swap(swap, f"{mark}swap {number}") for number, swap in enumerate(read, 1)),
        UNIT_SYSTEMS[units] if units is not None else None,
    )


def asked_swap(swap: Swap, place: str) -> AskedSwap:
    """Return a swap as it is made on the tree of a job file.

    Parameters
    ----------
    swap : Swap
        The swap.
    place : str
        What asks for it, as messages say it.

    Returns
    -------
    AskedSwap
    """
    return AskedSwap(place, swap.old, swap.new, swap.like is not None)
