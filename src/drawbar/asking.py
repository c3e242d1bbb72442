"""What is asked of a job beside its file, from what a call of the program or of the library gives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from drawbar.display_units import UNIT_SYSTEMS, Display
from drawbar.jobfile.asked import Asked, AskedSwap, Setting, parse_setting
from drawbar.problems import Problem, Problems, close_to
from drawbar.rechecking.swaps import Swap, read_swap

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue


def asked_by(
    catalogue: Catalogue, settings: Sequence[str] = (), swaps: Sequence[str] = (), units: str | None = None
) -> Asked:
    """Return what the options of a call ask.

    Parameters
    ----------
    catalogue : Catalogue
        What a swap may name.
    settings : sequence of str
        What `--set` gave, each KEY=VALUE.
    swaps : sequence of str
        What `--swap` gave, each OLD=NEW.
    units : str or None
        A name of UNIT_SYSTEMS; None for the file's units.

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
    read = [read_swap(text, catalogue) for text in swaps]
    return Asked(
        _settings([(text, f"--set {number}") for number, text in enumerate(settings, 1)]),
        tuple(_on_the_tree(swap, f"--swap {number}") for number, swap in enumerate(read, 1)),
        _display(units),
    )


def asked_with(
    settings: Mapping[str, str] | None = None, swaps: Sequence[Swap] = (), units: str | None = None
) -> Asked:
    """Return what a call of the library asks.

    Parameters
    ----------
    settings : mapping of str to str, optional
        The value of each key that is set, as a job file would have it; an empty text takes the key out.
    swaps : sequence of Swap
        The swaps.
    units : str or None
        A name of UNIT_SYSTEMS; None for the file's units.

    Returns
    -------
    Asked

    Raises
    ------
    Problems
        With all keys that can't be one.
    ValueError
        If there are no units of that name.
    """
    return Asked(
        _settings([(f"{key}={value}", "settings") for key, value in (settings or {}).items()]),
        tuple(_on_the_tree(swap, "swaps") for swap in swaps),
        _display(units),
    )


def asked_by_variant(catalogue: Catalogue, text: str, place: str) -> Asked:
    """Return what a variant asks, such as `runs.main.pipe=as1432-b/15.88; swap urn=30 MJ/h`.

    Parameters
    ----------
    catalogue : Catalogue
        What a swap may name.
    text : str
        Settings `KEY=VALUE`, or `set KEY=VALUE`, and swaps `swap OLD=NEW`, with semicolons between them; one in quotes
        or brackets parts nothing.
    place : str
        What asks for it, as messages say it.

    Returns
    -------
    Asked

    Raises
    ------
    Problems
        With all parts that are neither.
    SwapError
        If a swap names no appliance of the catalogue and no rate.
    """
    parts = [part for part in _parted(text) if part]
    swaps = [part.removeprefix("swap ") for part in parts if part.startswith("swap ")]
    settings = [part.removeprefix("set ") for part in parts if not part.startswith("swap ")]
    if not parts:
        raise Problems([Problem("", 0, 0, "", "the variant is empty", "write KEY=VALUE; KEY=VALUE", place)])
    return Asked(
        _settings([(part, place) for part in settings]),
        tuple(_on_the_tree(read_swap(swap, catalogue), place) for swap in swaps),
    )


def _parted(text: str) -> list[str]:
    """Return the parts of a text between its semicolons, but for those in quotes and brackets."""
    parts, depth, quote = [""], 0, ""
    for letter in text:
        if letter == ";" and not depth and not quote:
            parts.append("")
            continue
        parts[-1] += letter
        if quote:
            quote = "" if letter == quote else quote
        elif letter == '"':
            quote = letter
        else:
            depth += (letter in "{[") - (letter in "}]")
    return [part.strip() for part in parts]


def _settings(texts: Sequence[tuple[str, str]]) -> tuple[Setting, ...]:
    """Return settings from texts and what asks for them; what is wrong with any of them is told at once."""
    parsed: list[Setting] = []
    problems: list[Problem] = []
    for text, place in texts:
        try:
            parsed.append(parse_setting(text, place))
        except Problems as error:
            problems.extend(error.problems)
    if problems:
        raise Problems(problems)
    return tuple(parsed)


def _on_the_tree(swap: Swap, place: str) -> AskedSwap:
    return AskedSwap(place, swap.old, swap.new, swap.like is not None)


def _display(units: str | None) -> Display | None:
    if units is None:
        return None
    if units not in UNIT_SYSTEMS:
        raise ValueError(f"`{units}` is no system of units; {close_to(units, UNIT_SYSTEMS)}")
    return UNIT_SYSTEMS[units]
