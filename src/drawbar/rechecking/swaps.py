"""Appliances swapped in a job: a swap as it is typed, a file of swaps, and the job with them made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.job import Appliance, Job
from drawbar.jobfile.rates import heat_and_flow
from drawbar.problems import close_to
from drawbar.yamlfile import nodes
from drawbar.yamlfile.bounds import HEAT
from drawbar.yamlfile.fields import Field, Named, Record
from drawbar.yamlfile.nodes import Source
from drawbar.yamlfile.scalars import TextLine

SWAPS_FILE = Record({"swaps": Field(Named(TextLine()), "the new appliance by the old one", required=True)})


@dataclass(frozen=True, slots=True)
class Swap:
    """An appliance taken out for another.

    Attributes
    ----------
    old : str
        Its name in the job, or the catalogue entry that it is `like`.
    new : str
        What stands for it: a catalogue entry, or a rate as it was typed.
    rate : float
        The new rate, in the SI unit of its dimension.
    dimension : Dimension
        Whether the rate is heat [W], mass flow [kg/s] or gas flow [m3/s].
    basis : str or None
        The basis of a heat rate, `gross` or `net`.
    like : str or None
        The catalogue entry that the new appliance is, None for a rate.
    """

    old: str
    new: str
    rate: float
    dimension: units.Dimension
    basis: str | None = None
    like: str | None = None

    def __str__(self) -> str:
        return f"{self.old}={self.new}"


class SwapError(ValueError):
    """A swap that names no appliance of the catalogue and no rate, or that contradicts another."""


def parse_swap(old: str, new: str, catalogue: Catalogue | None = None) -> Swap:
    """Return the swap of an appliance for a catalogue entry or a rate.

    Parameters
    ----------
    old : str
        The appliance's name in the job, or the catalogue entry that it is `like`.
    new : str
        A catalogue entry, or a rate as `30 MJ/h`.
    catalogue : Catalogue, optional
        What the swap may name; without it, the project's own data.

    Returns
    -------
    Swap
        The swap, with the new rate.

    Raises
    ------
    SwapError
        If there is no old appliance, or the new one is neither.

    Examples
    --------
    >>> import drawbar
    >>> drawbar.parse_swap("basin", "45 MJ/h").rate
    12500.0
    """
    if not old:
        raise SwapError("a swap has no old appliance; write OLD=NEW, as `urn=24 MJ/h`")
    catalogue = catalogue or shipped_catalogue()
    listed = catalogue.appliance(new)
    if listed is not None:
        return Swap(old, new, listed.input.value, listed.input.dimension, listed.input.basis, new)
    try:
        value, unit, dimension = units.number_and_unit(new, *HEAT.dimensions)
    except units.UnitError as error:
        near = close_to(new, catalogue.names("appliances"))
        raise SwapError(f"`{new}` is no appliance of the catalogue and no rate; {near or error.fit}") from None
    rate = units.to_si(value, unit, dimension)
    if dimension is units.HEAT_RATE and not HEAT.holds(rate):
        raise SwapError(f"`{new}` can't be right; write from {HEAT.low} to {HEAT.high}")
    return Swap(old, new, rate, dimension)


def read_swap(text: str, catalogue: Catalogue) -> Swap:
    """Return the swap of a text such as `urn=24 MJ/h`.

    Parameters
    ----------
    text : str
        OLD=NEW.
    catalogue : Catalogue
        What the swap may name.

    Returns
    -------
    Swap
        The swap, with the new rate.

    Raises
    ------
    SwapError
        If the text is not OLD=NEW, or NEW is no appliance of the catalogue and no rate.
    """
    old, _, new = text.partition("=")
    if not new.strip():
        raise SwapError(f"`{text}` is not OLD=NEW; write for example `urn=24 MJ/h`")
    return parse_swap(old.strip(), new.strip(), catalogue)


def read_swap_file(file: str, catalogue: Catalogue) -> list[Swap]:
    """Return the swaps of a file, `swaps: {OLD: NEW, ...}`.

    Parameters
    ----------
    file : str
        The file's name, `-` for standard input.
    catalogue : Catalogue
        What the swaps may name.

    Returns
    -------
    list of Swap
        In the order of the file.

    Raises
    ------
    Problems
        With all that is wrong with the file.
    """
    source = Source(file)
    top = SWAPS_FILE.read(nodes.compose(nodes.read_text(file), source), source, ())
    swaps = []
    for old, (new, node) in (top.get("swaps", {}) if top else {}).items():
        try:
            if new is not None:
                swaps.append(parse_swap(old, new, catalogue))
        except SwapError as error:
            source.add(node, ("swaps", old), str(error))
    source.raise_if_any()
    return swaps


def refuse_contradictions(swaps: Sequence[Swap]) -> None:
    """Raise SwapError if two swaps of the same old appliance name different new ones.

    Parameters
    ----------
    swaps : sequence of Swap
        The swaps of a call.

    Raises
    ------
    SwapError
        At the first such pair.
    """
    first: dict[str, Swap] = {}
    for swap in swaps:
        before = first.setdefault(swap.old, swap)
        if (before.rate, before.dimension, before.basis) != (swap.rate, swap.dimension, swap.basis):
            raise SwapError(f"`{swap.old}` is swapped twice, for `{before.new}` and for `{swap.new}`; leave one out")


class Swapped(NamedTuple):
    """A job with its appliances swapped.

    Attributes
    ----------
    job : Job
        The job with the new appliances.
    names : tuple of str
        The names of those that were swapped, in the order of the job.
    by : tuple of Swap
        The swap of each of them.
    notes : tuple of str
        Where a swap fits several appliances which it took, and where two fit the same one.
    """

    job: Job
    names: tuple[str, ...] = ()
    by: tuple[Swap, ...] = ()
    notes: tuple[str, ...] = ()


def swapped_job(job: Job, swaps: Sequence[Swap]) -> Swapped:
    """Return the job with its appliances swapped; a swap of an appliance's name goes before one of its type.

    Parameters
    ----------
    job : Job
        The job as it stands.
    swaps : sequence of Swap
        The swaps; those that meet no appliance of the job change nothing.

    Returns
    -------
    Swapped
        The job with the new appliances, and what was swapped.

    Raises
    ------
    SwapError
        If two swaps of the same old appliance name different new ones.
    """
    refuse_contradictions(swaps)
    by_old = {swap.old: swap for swap in reversed(swaps)}
    taken: dict[str, Swap] = {}
    notes: list[str] = []
    appliances: list[Appliance] = []
    for appliance in job.appliances:
        by_name, by_type = by_old.get(appliance.name), by_old.get(appliance.like) if appliance.like else None
        swap = by_name or by_type
        if swap is None:
            appliances.append(appliance)
            continue
        taken[appliance.name] = swap
        if by_type not in (None, swap):
            notes.append(f"{appliance.name}: `{swap}` goes by its name and was taken, not `{by_type}`, which fits too")
        input_w, flow_kg_s = heat_and_flow(swap.rate, swap.dimension, swap.basis, job.gas)
        appliances.append(appliance._replace(input_w=input_w, flow_kg_s=flow_kg_s, like=swap.like))
    if not taken:
        return Swapped(job)
    for swap in by_old.values():
        names = [name for name, by in taken.items() if by is swap]
        if len(names) > 1:
            notes.append(f"`{swap}` fits {len(names)} appliances, and all were swapped: {', '.join(names)}")
    return Swapped(job._replace(appliances=tuple(appliances)), tuple(taken), tuple(taken.values()), tuple(notes))
