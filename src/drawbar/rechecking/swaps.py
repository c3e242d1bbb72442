"""Appliances swapped in a job: a swap as it is typed, a file of swaps, and the job with them made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.job import Appliance, Job
from drawbar.jobfile.rates import heat_and_flow
from drawbar.problems import close_to
from drawbar.yamlfile import nodes
from drawbar.yamlfile.bounds import HEAT
from drawbar.yamlfile.fields import Field, Named, Record, TextLine
from drawbar.yamlfile.nodes import Source

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


class SwapError(ValueError):
    """A swap that names no appliance of the catalogue and no rate."""


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


def swapped_job(job: Job, swaps: Sequence[Swap]) -> tuple[Job, tuple[str, ...]]:
    """Return the job with its appliances swapped; of two swaps of an appliance the first counts.

    Parameters
    ----------
    job : Job
        The job as it stands.
    swaps : sequence of Swap
        The swaps; those that meet no appliance of the job change nothing.

    Returns
    -------
    tuple of (Job, tuple of str)
        The job with the new appliances, and the names of those that were swapped.
    """
    by_old = {swap.old: swap for swap in reversed(swaps)}
    names = []
    appliances: list[Appliance] = []
    for appliance in job.appliances:
        swap = by_old.get(appliance.name) or (by_old.get(appliance.like) if appliance.like else None)
        if swap is None:
            appliances.append(appliance)
            continue
        names.append(appliance.name)
        input_w, flow_kg_s = heat_and_flow(swap.rate, swap.dimension, swap.basis, job.gas)
        appliances.append(appliance._replace(input_w=input_w, flow_kg_s=flow_kg_s, like=swap.like))
    return (job._replace(appliances=tuple(appliances)), tuple(names)) if names else (job, ())
