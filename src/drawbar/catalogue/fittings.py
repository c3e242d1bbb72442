"""Fittings with their equivalent lengths, as in data/fittings.yaml."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.job import Fitting
from drawbar.yamlfile.entry import Entry, required
from drawbar.yamlfile.fields import Field, Record
from drawbar.yamlfile.nodes import Position
from drawbar.yamlfile.scalars import Choice, Name, Number

_ENDS = 2

FITTING = Record(
    {
        "title": TITLE_FIELD,
        "ratio": Field(Number(0.0, 2000.0), "equivalent length over bore", required=True),
        "source": SOURCE_FIELD,
        "ends": Field(Number(0, 6, whole=True), "how many pipe ends it takes; 0 if it is formed in the pipe"),
        "part": Field(Name(), "what it is bought as, if not under its own name"),
        "way": Field(Choice({way: way for way in ("side", "straight")}), "which way through a tee the gas goes"),
    }
)


class FittingRow(NamedTuple):
    """A fitting as its row has it, with what it is in words; see drawbar.job.Fitting for the rest."""

    title: str
    fitting: Fitting
    place: Position


def fitting_row(name: str, entry: Entry, place: Position) -> FittingRow:
    """Return a fitting from its entry."""
    fitting = Fitting(
        name=name,
        ratio=required(entry.quantity("ratio")),
        source=required(entry.text("source")),
        ends=entry.count("ends", _ENDS),
        part=entry.text("part", name),
        way=entry.text("way"),
    )
    return FittingRow(required(entry.text("title")), fitting, place)
