"""Parts with what they typically take, as in data/devices.yaml."""

from __future__ import annotations

from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.yamlfile.bounds import BASIS, DROP, HEAT
from drawbar.yamlfile.entry import Entry, Rate, required
from drawbar.yamlfile.fields import Field, Record
from drawbar.yamlfile.nodes import Position, Source

_RANGE = Record(
    {
        "from": Field(DROP, "the least it takes", required=True),
        "to": Field(DROP, "the most it takes", required=True),
    }
)
TYPICAL_DEVICE = Record(
    {
        "title": TITLE_FIELD,
        "flow": Field(HEAT, "the flow at which it takes that", required=True),
        "basis": Field(BASIS, "gross or net, of a flow that is a heat rate"),
        "drop": Field(_RANGE, "what it typically takes, as `{from: 30 Pa, to: 60 Pa}`", required=True),
        "source": SOURCE_FIELD,
    }
)


class TypicalDevice(NamedTuple):
    """A part, and what it typically takes.

    Attributes
    ----------
    name, title : str
        Its name in the catalogue, and what it is.
    rate : Rate
        The flow of the figures.
    low_pa, high_pa : float
        The least and the most it takes at that flow [Pa].
    source : str
        Where the figures stand, or what standing they have.
    place : Position
        Where it stands.
    """

    name: str
    title: str
    rate: Rate
    low_pa: float
    high_pa: float
    source: str
    place: Position


def typical_device(name: str, entry: Entry, place: Position) -> TypicalDevice:
    """Return a part from its entry."""
    drop = required(entry.table("drop"))
    return TypicalDevice(
        name=name,
        title=required(entry.text("title")),
        rate=required(entry.rate("flow")),
        low_pa=required(drop.quantity("from")),
        high_pa=required(drop.quantity("to")),
        source=required(entry.text("source")),
        place=place,
    )


def check_typical_device(entry: Entry, source: Source) -> None:
    """Note a range that ends under its start, and a basis of a rate that is no heat rate."""
    rate, drop = entry.rate("flow"), entry.table("drop")
    if rate is not None and rate.dimension is not units.HEAT_RATE and "basis" in entry.nodes:
        source.add(entry.at("basis"), (*entry.path, "basis"), "goes with a heat rate alone", "leave it out")
    low_pa, high_pa = (drop.quantity("from"), drop.quantity("to")) if drop is not None else (None, None)
    if drop is not None and low_pa is not None and high_pa is not None and low_pa > high_pa:
        source.add(drop.at("to"), (*drop.path, "to"), "is less than `from`", "write the least first")
