"""Tolerances by kind, as in data/tolerances.yaml: a share of a figure, and the least that it is taken to be."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.problems import close_to
from drawbar.rules import Tolerances
from drawbar.yamlfile.entry import Entry, required
from drawbar.yamlfile.fields import Field, Record
from drawbar.yamlfile.nodes import Position, Source
from drawbar.yamlfile.scalars import of

TOLERANCE_OF_A_KIND = Record(
    {
        "title": TITLE_FIELD,
        "share": Field(of(units.RATIO, "0 %", "100 %"), "a share of the figure"),
        "least": Field(of(units.LENGTH, "0 mm", "1 m"), "the least that it is taken to be"),
        "source": SOURCE_FIELD,
    }
)
# The figures of each kind, which it must have; it takes no others.
TOLERANCES_OF_KINDS = {
    "length": ("share", "least"),
    "fittings": ("share",),
    "input": ("share",),
    "devices": ("share",),
    "caliper": ("least",),
    "own-bore": ("share",),
    "pump": ("share",),
}


class ToleranceRow(NamedTuple):
    """A tolerance as its row has it: a share [-] and the least that it is [m], None for the one it does not have."""

    name: str
    title: str
    share: float | None
    least_m: float | None
    source: str
    place: Position


def tolerance_row(name: str, entry: Entry, place: Position) -> ToleranceRow:
    """Return a tolerance from its entry."""
    title, source = required(entry.text("title")), required(entry.text("source"))
    return ToleranceRow(name, title, entry.quantity("share"), entry.quantity("least"), source, place)


def check_tolerance(entry: Entry, source: Source) -> None:
    """Note a tolerance of no known kind, one without a figure that its kind has, and one with a figure too many."""
    name = entry.path[-1]
    if name not in TOLERANCES_OF_KINDS:
        source.add(entry.node, entry.path, "is not a tolerance here", close_to(name, TOLERANCES_OF_KINDS))
        return
    for key in ("share", "least"):
        if key in entry.nodes and key not in TOLERANCES_OF_KINDS[name]:
            fit = f"write `{TOLERANCES_OF_KINDS[name][0]}:` alone"
            source.add(entry.at(key), (*entry.path, key), f"does not go with `{name}`", fit)
        elif key not in entry.nodes and key in TOLERANCES_OF_KINDS[name]:
            source.add(
                entry.node,
                entry.path,
                f"`{key}` is missing",
                f"write `{key}:` and {TOLERANCE_OF_A_KIND.fields[key].about}",
            )


def all_tolerances(row: Callable[[str], ToleranceRow | None]) -> Tolerances:
    """Return the tolerances together.

    Parameters
    ----------
    row : callable
        Gives the row of a name.

    Returns
    -------
    Tolerances
        Shares [-] and lengths [m], with the source of each.
    """
    rows = {name: required(row(name)) for name in TOLERANCES_OF_KINDS}
    return Tolerances(
        length=required(rows["length"].share),
        length_m=required(rows["length"].least_m),
        fittings=required(rows["fittings"].share),
        input=required(rows["input"].share),
        devices=required(rows["devices"].share),
        caliper_m=required(rows["caliper"].least_m),
        own_bore=required(rows["own-bore"].share),
        sources=tuple((name, row.source) for name, row in rows.items()),
        pump=required(rows["pump"].share),
    )
