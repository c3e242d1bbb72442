"""A listing of the catalogue: a table with notes, and its rows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

from drawbar.catalogue.listing import Listing
from drawbar.report.layout import Block, Column, Heading, Page, Points, Table
from drawbar.report.report import Report


class _Cell(NamedTuple):
    """A column of a listing.

    Attributes
    ----------
    key : str
        Its name in JSON and CSV, with the unit.
    head : str
        Its heading in a table; empty where tables leave it out, which show it in another way.
    shape : str or None
        The format of a figure in a table; None for words.
    """

    key: str
    head: str = ""
    shape: str | None = None

    def shown(self, value: Any) -> str:
        """Return a value as a table shows it."""
        if value is None:
            return ""
        return f"{value:{self.shape}}" if self.shape is not None else str(value)


class _Face(NamedTuple):
    """How a kind of listing looks: its title, its columns, and what is noted under the table."""

    title: str
    cells: tuple[_Cell, ...]
    notes: Callable[[Listing], Sequence[str]] = lambda _: ()


class ListReport(Report[Listing]):
    """A listing of the catalogue. It has no entry of its own in the JSON: its rows are the entries."""

    kind = "list"

    def __init__(self, listing: Listing) -> None:
        self.columns = tuple(cell.key for cell in _FACES[listing.kind].cells)

    def page(self, result: Listing) -> Page:
        """Return a table, and the notes on it."""
        face = _FACES[result.kind]
        entries = _entries(result)
        cells = [cell for cell in face.cells if cell.head and not _is_left_out(cell.key, result, entries)]
        columns = tuple(Column(cell.head, words=cell.shape is None) for cell in cells)
        rows = [[cell.shown(entry[cell.key]) for cell in cells] for entry in entries]
        blocks: list[Block] = [Heading(result.title or face.title), Table(columns, rows)]
        notes = face.notes(result)
        if notes:
            blocks.append(Points("Notes:", notes))
        return blocks

    def entries(self, results: Sequence[Listing]) -> list[dict[str, Any]]:
        """Return the rows of the listings."""
        return [entry for listing in results for entry in _entries(listing)]

    def rows(self, result: Listing) -> Iterator[list[Any]]:
        """Yield the rows of a listing."""
        for entry in _entries(result):
            yield [entry[key] for key in self.columns]


def _entries(listing: Listing) -> Sequence[dict[str, Any]]:
    """Return the rows of a listing; those of the kinds say what each is."""
    if listing.kind != "kinds":
        return listing.rows
    return [
        {"list": row["list"], "count": row["count"], "what": _WHAT[row["list"]].format(sizes=row["sizes"])}
        for row in listing.rows
    ]


def _is_left_out(key: str, listing: Listing, entries: Sequence[dict[str, Any]]) -> bool:
    """Tell whether a table of sizes leaves out a column: it would be empty, or holds the source of them all."""
    if listing.kind != "sizes":
        return False
    if key == "source":
        return _is_of_one_source(listing)
    return key in _SELDOM and all(entry[key] is None for entry in entries)


def _is_of_one_source(listing: Listing) -> bool:
    return len({row["source"] for row in listing.rows}) == 1


def _stopped(text: str) -> str:
    return f"{text.rstrip('.')}."


def _notes_of_sizes(listing: Listing) -> list[str]:
    notes = [f"Sizes: {_stopped(listing.rows[0]['source'])}"] if _is_of_one_source(listing) else []
    tolerance_sources = dict.fromkeys(row["tolerance_source"] for row in listing.rows)
    notes.append(f"A bore may be less by that much: {_stopped('; '.join(tolerance_sources))}")
    notes.append(f"Roughness: {_stopped(listing.sources['roughness'])}")
    mass_sources = {row["mass_source"] for row in listing.rows if row["mass_source"]}
    notes.extend(f"Mass: {source}." for source in sorted(mass_sources))
    if listing.note:
        notes.append(listing.note)
    thin = [row["size"] for row in listing.rows if row["thin"]]
    if thin and len(thin) < len(listing.rows):  # where there is a thicker one to choose
        notes.append(
            f"{', '.join(thin)} have a wall under a tenth of the outside diameter: bend it with a former or a spring, "
            "and cut no thread on it (common practice)."
        )
    return notes


def _notes_of_gases(listing: Listing) -> list[str]:
    return [
        "Densities are at 15 degC and 101.325 kPa, boiling points at 101.325 kPa.",
        *(f"{what.capitalize()}: {source}." for what, source in listing.sources.items()),
    ]


def _notes_of_rules(listing: Listing) -> list[str]:
    return [
        f"{row['rule']}: {row['title']}. Source: {_stopped(row['source'])} "
        + (f"No allowed drop here, so a job gives `limits`: {_stopped(row['no_drop'])} " if row["no_drop"] else "")
        + (f"The verdict goes by the {_stopped(row['method'])} " if row["method"] else "")
        + row["caution"]
        for row in listing.rows
    ]


def _notes_of_tests(listing: Listing) -> list[str]:
    notes = []
    for row in listing.rows:
        more = "".join(f" {row[key]}" for key in ("note", "caution") if row[key])
        notes.append(f"{row['test']}: {row['title']}. Source: {_stopped(row['source'])}{more}")
    return notes


def _notes_of_bottles(listing: Listing) -> list[str]:
    by_source: dict[str, list[str]] = {}
    for row in listing.rows:
        by_source.setdefault(row["source"], []).append(row["bottle"])
    notes = [f"{', '.join(names)}: {_stopped(source)}" for source, names in by_source.items()]
    return [
        "A job takes one by the gas it holds, as `cylinders: {size: 9 kg}`; what is stamped on the bottle prevails.",
        *(
            ["Of two that hold as much, the first is taken; `like: NAME` takes another."]
            if len(listing.rows) > 1
            else []
        ),
        _stopped(listing.note),
        *notes,
    ]


_WHAT = {
    "pipes": "families of pipe, tube and hose with {sizes} sizes",
    "fittings": "fittings with their equivalent lengths",
    "devices": "parts with a typical drop",
    "gases": "pure gases, to be mixed by mole",
    "formulas": "pressure-drop formulas",
    "rules": "rule sets with their allowed drop",
    "appliances": "appliance types with a typical input",
    "bottles": "bottles of the usual sizes",
    "tightness": "tightness tests",
    "tolerances": "tolerances by kind",
}
_SELDOM = ("od_mm", "wall_mm", "mass_kg_m", "also")  # of a size, where the source gives it

_FACES = {
    "kinds": _Face(
        "What can be listed",
        (_Cell("list", "list"), _Cell("count", "count", "d"), _Cell("what", "what")),
        lambda _: ("`drawbar list pipes` lists a kind, `drawbar list pipes NAME` one entry.",),
    ),
    "pipes": _Face(
        "Pipe families",
        (
            _Cell("family", "family"),
            _Cell("title", "what it is"),
            _Cell("sizes", "sizes", "d"),
            _Cell("material"),
            _Cell("roughness_mm", "rough\nmm", ".4g"),
            _Cell("roughness_source"),
            _Cell("tolerance_source"),
            _Cell("note"),
            _Cell("source", "source"),
        ),
        lambda _: ("A run takes `pipe: FAMILY/SIZE`; `drawbar list pipes FAMILY` shows the sizes.",),
    ),
    "sizes": _Face(
        "Sizes",
        (
            _Cell("size", "size"),
            _Cell("od_mm", "od\nmm", ".2f"),
            _Cell("wall_mm", "wall\nmm", ".2f"),
            _Cell("thin"),
            _Cell("bore_mm", "bore\nmm", ".2f"),
            _Cell("bore_tolerance_mm", "less by\nmm", ".2f"),
            _Cell("roughness_mm", "roughness\nmm", ".4g"),
            _Cell("mass_kg_m", "mass\nkg/m", ".3f"),
            _Cell("mass_source"),
            _Cell("also", "also"),
            _Cell("source", "source"),
            _Cell("tolerance_source"),
        ),
        _notes_of_sizes,
    ),
    "fittings": _Face(
        "Fittings",
        (
            _Cell("fitting", "fitting"),
            _Cell("title", "what it is"),
            _Cell("ratio", "L/D", "g"),
            _Cell("source", "source"),
        ),
        lambda _: (
            "L/D: equivalent length over bore, for turbulent flow. A maker's figure, given as a device, is better.",
        ),
    ),
    "devices": _Face(
        "Devices",
        (
            _Cell("device", "device"),
            _Cell("title", "what it is"),
            _Cell("flow", "at"),
            _Cell("basis"),
            _Cell("from_Pa", "takes\nPa", "g"),
            _Cell("to_Pa", "to\nPa", "g"),
            _Cell("source", "source"),
        ),
        lambda _: (
            "Typical drops. A job takes the larger with `like: NAME` among its devices; the maker's figure prevails.",
        ),
    ),
    "gases": _Face(
        "Gases",
        (
            _Cell("gas", "gas"),
            _Cell("molar_mass_g_mol", "molar mass\ng/mol", ".3f"),
            _Cell("gross_MJ_kg", "gross\nMJ/kg", ".2f"),
            _Cell("net_MJ_kg", "net\nMJ/kg", ".2f"),
            _Cell("density_kg_m3", "density\nkg/m3", ".3f"),
            _Cell("relative_density", "relative\ndensity", ".3f"),
            _Cell("boiling_degC", "boils at\ndegC", ".1f"),
            _Cell("source"),
        ),
        _notes_of_gases,
    ),
    "formulas": _Face(
        "Formulas",
        (
            _Cell("formula", "formula"),
            _Cell("title", "what it is"),
            _Cell("range", "range"),
            _Cell("source", "source"),
        ),
    ),
    "rules": _Face(
        "Rule sets",
        (
            _Cell("rule", "rule"),
            _Cell("title"),
            _Cell("applies_to"),
            _Cell("drop_kPa", "drop\nkPa", ".4g"),
            _Cell("no_drop"),
            _Cell("nominal_kPa", "nominal\nkPa"),
            _Cell("method"),
            _Cell("caution"),
            _Cell("source"),
        ),
        _notes_of_rules,
    ),
    "appliances": _Face(
        "Appliance types",
        (
            _Cell("appliance", "appliance"),
            _Cell("title", "what it is"),
            _Cell("input", "input"),
            _Cell("basis"),
            _Cell("source", "source"),
        ),
        lambda _: (
            "Typical inputs, for a first sketch. A job takes one with `input: {like: NAME}`; the data plate prevails.",
        ),
    ),
    "bottles": _Face(
        "Bottles",
        (
            _Cell("bottle", "bottle"),
            _Cell("title", "what it is"),
            _Cell("gas_kg", "gas\nkg", ".4g"),
            _Cell("water_capacity_L", "water\nL", ".4g"),
            _Cell("tare_kg", "tare\nkg", ".4g"),
            _Cell("diameter_mm", "across\nmm", ".0f"),
            _Cell("height_mm", "height\nmm", ".0f"),
            _Cell("series"),
            _Cell("wall"),
            _Cell("source"),
        ),
        _notes_of_bottles,
    ),
    "tightness": _Face(
        "Tightness tests",
        (
            _Cell("test", "test"),
            _Cell("title"),
            _Cell("medium", "with"),
            _Cell("pressure_kPa", "pressure\nkPa", ".4g"),
            _Cell("settle_min", "settle\nmin", "g"),
            _Cell("hold_min", "hold\nmin", "g"),
            _Cell("allowed_fall_kPa", "allowed fall\nkPa", "g"),
            _Cell("volume_min_L", "least volume\nL", "g"),
            _Cell("note"),
            _Cell("caution"),
            _Cell("source"),
        ),
        _notes_of_tests,
    ),
    "tolerances": _Face(
        "Tolerances",
        (
            _Cell("tolerance", "tolerance"),
            _Cell("title", "of what"),
            _Cell("percent", "%", "g"),
            _Cell("least_mm", "at least\nmm", "g"),
            _Cell("source", "source"),
        ),
        lambda _: ("The tolerance of a bore stands with its family: `drawbar list pipes FAMILY`.",),
    ),
}
