"""Families of pipe, tube and hose, as in data/pipes.yaml, and the materials they are of, as in data/materials.yaml."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.job import Pipe
from drawbar.yamlfile.entry import Entry, required
from drawbar.yamlfile.fields import Field, Named, Record
from drawbar.yamlfile.nodes import Position, Source
from drawbar.yamlfile.scalars import Name, Quantity, TextLine, of

_LEAST_BORE_M = 0.0005  # what two walls leave open, at the least
_MOST_SHARE = 0.5  # of a diameter or a wall, as a tolerance
_MOST_TOLERANCE = 1.0 / 3.0  # of a bore; more is a slip of the point

_WORDS_OF_SIZES = {"in": '(?: ?(?:[Ii][Nn]|"))?', "OD": "(?: ?[Oo][Dd])?"}
_TOLERANCE = Quantity((units.LENGTH, units.RATIO), "0 mm", "20 mm")
_TOLERANCES = {
    "od-tolerance": Field(_TOLERANCE, "how far it may be under its outside diameter, a length or a share"),
    "wall-tolerance": Field(_TOLERANCE, "how far it may be over its wall thickness, a length or a share"),
    "bore-tolerance": Field(_TOLERANCE, "how much smaller its bore may be, a length or a share"),
}
_SIZE = Record(
    {
        "od": Field(of(units.LENGTH, "2 mm", "400 mm"), "outside diameter"),
        "wall": Field(of(units.LENGTH, "0.1 mm", "50 mm"), "wall thickness"),
        "bore": Field(of(units.LENGTH, "1 mm", "300 mm"), "inside diameter"),
        **_TOLERANCES,
        "mass": Field(of(units.MASS_PER_LENGTH, "0.001 kg/m", "200 kg/m"), "mass per metre"),
        "also": Field(TextLine(), "what else the size is called"),
        "source": Field(TextLine(400), "where this size stands, if not where the family does"),
    }
)
PIPE_FAMILY = Record(
    {
        "title": TITLE_FIELD,
        "source": SOURCE_FIELD,
        "material": Field(Name(), "a material of the project's list", required=True),
        "roughness": Field(of(units.LENGTH, "0 mm", "1 mm"), "absolute roughness", required=True),
        "roughness-source": Field(TextLine(400), "where the roughness stands", required=True),
        **_TOLERANCES,
        "tolerance-source": Field(TextLine(400), "where the tolerances stand"),
        "note": Field(TextLine(400), "what to watch for with this pipe"),
        "sizes": Field(Named(_SIZE), "the sizes", required=True),
    }
)
MATERIAL = Record(
    {
        "density": Field(of(units.DENSITY, "100 kg/m3", "20000 kg/m3"), "density"),
        "source": SOURCE_FIELD,
    }
)


class PipeSize(NamedTuple):
    """A size of a family: lengths [m], mass per metre [kg/m]; None for what the row does not give.

    `source` is that of the family where the row names none of its own. The bore may be `bore_tolerance_m` smaller.
    """

    size: str
    bore_m: float
    bore_tolerance_m: float | None
    od_m: float | None
    wall_m: float | None
    mass_kg_m: float | None
    also: str | None
    source: str
    place: Position


class PipeFamily(NamedTuple):
    """A family: its roughness [m], and its sizes by name in the order of the file."""

    name: str
    title: str
    source: str
    material: str
    roughness_m: float
    roughness_source: str
    tolerance_source: str | None
    note: str | None
    sizes: Mapping[str, PipeSize]
    place: Position

    @property
    def gives_tolerances(self) -> bool:
        """Tell whether each of its sizes says how much smaller its bore may be."""
        return all(row.bore_tolerance_m is not None for row in self.sizes.values())

    def also_called(self, size: str) -> list[str]:
        """Return the sizes that are also called so in the trade, as `1/2 in`, `1/2` or `DN 15`."""
        return [row.size for row in self.sizes.values() if row.also and re.fullmatch(_trade_name(row.also), size)]

    @property
    def trade_names(self) -> list[str]:
        """The patterns of what its sizes are also called, in what Python's `re` and ECMA-262 have in common."""
        return [_trade_name(row.also) for row in self.sizes.values() if row.also]

    def pipes(self, density_kg_m3: float | None, own_bore: float = 0.0, own_source: str = "") -> dict[str, Pipe]:
        """Return the pipes by size, smallest bore first.

        Parameters
        ----------
        density_kg_m3 : float or None
            Of the material, for the masses that no row has [kg/m3].
        own_bore : float
            How much smaller a bore may be that comes without a tolerance, as a share of it [-].
        own_source : str
            Where that share stands.

        Returns
        -------
        dict of str to Pipe
        """
        sizes = sorted(self.sizes.values(), key=lambda row: row.bore_m)
        return {row.size: self._pipe(row, density_kg_m3, own_bore, own_source) for row in sizes}

    def _pipe(self, row: PipeSize, density_kg_m3: float | None, own_bore: float, own_source: str) -> Pipe:
        mass_kg_m = row.mass_kg_m
        if mass_kg_m is None and row.od_m is not None and density_kg_m3 is not None:
            mass_kg_m = math.pi / 4.0 * (row.od_m**2 - row.bore_m**2) * density_kg_m3
        tolerance_m, tolerance_source = row.bore_tolerance_m, self.tolerance_source or ""
        if tolerance_m is None:
            tolerance_m, tolerance_source = own_bore * row.bore_m, own_source
        label = f"{self.name}/{row.size}"
        return Pipe(label, row.bore_m, self.roughness_m, mass_kg_m, row.source, tolerance_m, tolerance_source)


def _trade_name(also: str) -> str:
    """Return the pattern of the ways to write a trade size: without its `in` or `OD`, with `"`, `dn10`, `1-1/4`."""
    pattern, is_after_number = "", False
    for part in also.split():
        if part in _WORDS_OF_SIZES:
            pattern += _WORDS_OF_SIZES[part]
        elif part[0].isdigit():
            pattern += ("[ -]" if is_after_number else "") + re.escape(part)
        else:
            pattern += "".join(f"[{letter.upper()}{letter.lower()}]" for letter in part if letter.isalpha()) + " ?"
        is_after_number = part[0].isdigit()
    return pattern


def pipe_family(name: str, entry: Entry, place: Position) -> PipeFamily:
    """Return a family from its entry."""
    source = required(entry.text("source"))
    sizes = {
        size: PipeSize(
            size=size,
            bore_m=required(_bore_m(required(row))),
            bore_tolerance_m=_bore_tolerance_m(required(row), entry),
            od_m=required(row).quantity("od"),
            wall_m=required(row).quantity("wall"),
            mass_kg_m=required(row).quantity("mass"),
            also=required(row).text("also"),
            source=required(row).text("source", source),
            place=Position(place.file, node.start_mark.line + 1, node.start_mark.column + 1),
        )
        for size, (row, node) in entry.named_tables("sizes").items()
    }
    return PipeFamily(
        name=name,
        title=required(entry.text("title")),
        source=source,
        material=required(entry.text("material")),
        roughness_m=required(entry.quantity("roughness")),
        roughness_source=required(entry.text("roughness-source")),
        tolerance_source=entry.text("tolerance-source"),
        note=entry.text("note"),
        sizes=sizes,
        place=place,
    )


def _bore_m(row: Entry) -> float | None:
    """Return the bore that a row gives, or od less two walls [m]; None if it gives neither."""
    od_m, wall_m = row.quantity("od"), row.quantity("wall")
    bore_m = row.quantity("bore")
    if bore_m is not None or od_m is None or wall_m is None:
        return bore_m
    return od_m - 2.0 * wall_m


def _bore_tolerance_m(row: Entry, family: Entry) -> float | None:
    """Return how much smaller the bore of a row may be [m], by its own tolerances or its family's; None without any.

    od at its low limit and wall at its high limit: t_bore = t_od + 2 t_wall, unless t_bore is given.
    """
    for entries in ((row,), (row, family)):
        bore_m = _tolerance_m("bore", row, entries)
        if bore_m is not None:
            return bore_m
        od_m, wall_m = _tolerance_m("od", row, entries), _tolerance_m("wall", row, entries)
        if od_m is not None and wall_m is not None:
            return od_m + 2.0 * wall_m
    return None


def _tolerance_m(what: str, row: Entry, entries: Sequence[Entry]) -> float | None:
    """Return the first of the entries' tolerances of a figure of a row, a share as the length that it is [m]."""
    figure_m = row.quantity(what) if what != "bore" else _bore_m(row)
    if figure_m is None:
        return None
    for entry in entries:
        tolerance = entry.rate(f"{what}-tolerance")
        if tolerance is not None:
            return tolerance.value * (figure_m if tolerance.dimension is units.RATIO else 1.0)
    return None


def check_pipe_family(entry: Entry, source: Source) -> None:
    """Note every size without a bore, or with one that does not fit its diameter or its tolerance."""
    if any(key in entry.nodes for key in _TOLERANCES) and "tolerance-source" not in entry.nodes:
        source.add(entry.node, entry.path, "`tolerance-source` is missing", "write where the tolerances stand")
    _check_shares(entry, source)
    for size, (row, node) in entry.named_tables("sizes").items():
        if row is not None:
            _check_shares(row, source)
        if row is None or any(key in row.nodes and row.quantity(key) is None for key in ("bore", "od", "wall")):
            continue  # noted already
        path = (*entry.path, "sizes", size)
        bore_m, od_m, tolerance_m = _bore_m(row), row.quantity("od"), _bore_tolerance_m(row, entry) or 0.0
        if bore_m is None:
            source.add(node, path, "has no bore", "write `bore:`, or `od:` and `wall:`")
        elif bore_m < _LEAST_BORE_M or (od_m is not None and bore_m >= od_m):
            source.add(node, path, f"has a bore of {bore_m * 1000:g} mm", "od is bore and two walls")
        elif tolerance_m > _MOST_TOLERANCE * bore_m:
            what = f"has a bore of {bore_m * 1000:g} mm that may be {tolerance_m * 1000:.3g} mm smaller"
            source.add(node, path, what, "a tolerance over a third of the bore can't be right")


def _check_shares(entry: Entry, source: Source) -> None:
    """Note every tolerance of a table that is a share and can't be right."""
    for key in _TOLERANCES:
        share = entry.rate(key)
        if share is not None and share.dimension is units.RATIO and not 0.0 <= share.value <= _MOST_SHARE:
            fit = f"write from 0 % to {_MOST_SHARE * 100:g} %"
            source.add(entry.at(key), (*entry.path, key), f"`{share.written}` can't be right", fit)
