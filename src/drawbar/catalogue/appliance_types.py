"""Appliance types with a typical input, as in data/appliances.yaml."""

from __future__ import annotations

from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.yamlfile.bounds import BASIS, HEAT
from drawbar.yamlfile.entry import Entry, Rate, required
from drawbar.yamlfile.fields import Field, Record
from drawbar.yamlfile.nodes import Position, Source

APPLIANCE_TYPE = Record(
    {
        "title": TITLE_FIELD,
        "input": Field(HEAT, "the gas consumption", required=True),
        "basis": Field(BASIS, "gross or net"),
        "source": SOURCE_FIELD,
    }
)


class ApplianceType(NamedTuple):
    """A type of appliance, and the rate at which it typically burns gas."""

    name: str
    title: str
    input: Rate
    source: str
    place: Position


def appliance_type(name: str, entry: Entry, place: Position) -> ApplianceType:
    """Return an appliance type from its entry."""
    title, source = required(entry.text("title")), required(entry.text("source"))
    return ApplianceType(name, title, required(entry.rate("input")), source, place)


def check_appliance_type(entry: Entry, source: Source) -> None:
    """Note a basis of a rate that is no heat rate."""
    rate = entry.rate("input")
    if rate is not None and rate.dimension is not units.HEAT_RATE and "basis" in entry.nodes:
        source.add(entry.at("basis"), (*entry.path, "basis"), "goes with a heat rate alone", "leave it out")
