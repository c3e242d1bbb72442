"""What a job file may name, as tables with the source of each figure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.pure_gases import gas_data
from drawbar.physics.formulas import FORMULAS
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.yamlfile.entry import Entry

_DENSITY_SOURCE = (
    "worked out: real gas, second virial coefficient after Tsonopoulos, AIChE J. 20 (1974) 263; relative to dry air, "
    "ISO 2533:1975"
)


@dataclass(frozen=True, slots=True)
class Cell:
    """A column of a listing.

    key : its name in JSON and CSV, with the unit; head : its heading in a table
    shape : the format of a figure in a table; None for words
    only_data : whether it is left out of tables, which show it in another way
    """

    key: str
    head: str
    shape: str | None = None
    only_data: bool = False

    def shown(self, value: Any) -> str:
        """Return a value as a table shows it."""
        if value is None:
            return ""
        return f"{value:{self.shape}}" if self.shape is not None else str(value)


@dataclass(frozen=True, slots=True)
class Listing:
    """Rows under columns, each row by the columns' keys; notes are sentences under the table."""

    title: str
    cells: tuple[Cell, ...]
    rows: Sequence[dict[str, Any]]
    notes: tuple[str, ...] = ()


def kinds(known: Catalogue) -> Listing:
    """Return what can be listed, with counts."""
    sizes = sum(len(known.sizes(family) or {}) for family in known.names("pipes"))
    about = {
        "pipes": f"families of pipe, tube and hose with {sizes} sizes",
        "fittings": "fittings with their equivalent lengths",
        "gases": "pure gases, to be mixed by mole",
        "formulas": "pressure-drop formulas",
        "rules": "rule sets with their allowed drop",
        "appliances": "appliance types with a typical input",
        "tightness": "tightness tests",
    }
    rows = [{"list": kind, "count": len(names(kind, known)), "what": about[kind]} for kind in LISTINGS]
    cells = (Cell("list", "list"), Cell("count", "count", "d"), Cell("what", "what"))
    return Listing(
        "What can be listed", cells, rows, ("`drawbar list pipes` lists a kind, `drawbar list pipes NAME` one entry.",)
    )


def names(kind: str, known: Catalogue) -> list[str]:
    """Return the names of a kind."""
    if kind == "gases":
        return known.gas_names
    if kind == "formulas":
        return list(FORMULAS)
    return known.tightness_tests() if kind == "tightness" else known.names(kind)


def listing(kind: str, name: str | None, known: Catalogue) -> Listing:
    """Return the listing of a kind, or of one entry of it by name."""
    if kind == "pipes" and name is not None:
        return _sizes(name, known)
    return LISTINGS[kind]([name] if name is not None else names(kind, known), known)


def _entries(kind: str, wanted: Sequence[str], known: Catalogue) -> Iterator[tuple[str, Entry]]:
    for name in wanted:
        entry = known.entry(kind, name)
        assert entry is not None  # the names are the catalogue's own
        yield name, entry


def _pipes(wanted: Sequence[str], known: Catalogue) -> Listing:
    rows = [
        {
            "family": name,
            "title": entry.get("title"),
            "sizes": len(known.sizes(name) or {}),
            "material": entry.get("material"),
            "roughness_mm": entry.get("roughness") * 1e3,
            "roughness_source": entry.get("roughness-source"),
            "note": entry.get("note"),
            "source": entry.get("source"),
        }
        for name, entry in _entries("pipes", wanted, known)
    ]
    cells = (
        Cell("family", "family"),
        Cell("title", "what it is"),
        Cell("sizes", "sizes", "d"),
        Cell("material", "material", only_data=True),
        Cell("roughness_mm", "rough\nmm", ".4g"),
        Cell("roughness_source", "source of the roughness", only_data=True),
        Cell("note", "note", only_data=True),
        Cell("source", "source"),
    )
    return Listing(
        "Pipe families", cells, rows, ("A run takes `pipe: FAMILY/SIZE`; `drawbar list pipes FAMILY` shows the sizes.",)
    )


def _sizes(family: str, known: Catalogue) -> Listing:
    entry, sizes = known.entry("pipes", family), known.sizes(family)
    assert entry is not None  # the caller has looked
    assert sizes is not None
    given = {size: row for size, (row, _) in entry.get("sizes").items()}
    rows = [
        {
            "size": size,
            "od_mm": _mm(given[size].get("od")),
            "wall_mm": _mm(given[size].get("wall")),
            "bore_mm": pipe.bore_m * 1e3,
            "roughness_mm": pipe.roughness_m * 1e3,
            "mass_kg_m": pipe.mass_kg_m,
            "mass_source": _mass_source(given[size], entry, pipe.mass_kg_m),
            "also": given[size].get("also"),
            "source": pipe.source,
        }
        for size, pipe in sizes.items()
    ]
    is_one_source = len({row["source"] for row in rows}) == 1
    cells = (
        Cell("size", "size"),
        Cell("od_mm", "od\nmm", ".2f", only_data=all(row["od_mm"] is None for row in rows)),
        Cell("wall_mm", "wall\nmm", ".2f", only_data=all(row["wall_mm"] is None for row in rows)),
        Cell("bore_mm", "bore\nmm", ".2f"),
        Cell("roughness_mm", "roughness\nmm", ".4g"),
        Cell("mass_kg_m", "mass\nkg/m", ".3f", only_data=all(row["mass_kg_m"] is None for row in rows)),
        Cell("mass_source", "source of the mass", only_data=True),
        Cell("also", "also", only_data=all(row["also"] is None for row in rows)),
        Cell("source", "source", only_data=is_one_source),
    )
    notes = [f"Sizes: {_stopped(rows[0]['source'])}"] if is_one_source else []
    notes.append(f"Roughness: {_stopped(entry.get('roughness-source'))}")
    notes.extend(f"Mass: {one}." for one in sorted({row["mass_source"] for row in rows if row["mass_source"]}))
    if "note" in entry.nodes:
        notes.append(entry.get("note"))
    return Listing(f"{family}: {entry.get('title')}", cells, rows, tuple(notes))


def _stopped(text: str) -> str:
    return f"{text.rstrip('.')}."


def _mm(metres: float | None) -> float | None:
    return None if metres is None else metres * 1e3


def _mass_source(row: Entry, entry: Entry, mass_kg_m: float | None) -> str | None:
    if mass_kg_m is None:
        return None
    return (
        "as the source gives it"
        if row.get("mass") is not None
        else f"from od, bore and the density of {entry.get('material')}"
    )


def _fittings(wanted: Sequence[str], known: Catalogue) -> Listing:
    rows = [
        {"fitting": name, "title": entry.get("title"), "ratio": entry.get("ratio"), "source": entry.get("source")}
        for name, entry in _entries("fittings", wanted, known)
    ]
    cells = (
        Cell("fitting", "fitting"),
        Cell("title", "what it is"),
        Cell("ratio", "L/D", "g"),
        Cell("source", "source"),
    )
    note = "L/D: equivalent length over bore, for turbulent flow. A maker's figure, given as a device, is better."
    return Listing("Fittings", cells, rows, (note,))


def _gases(wanted: Sequence[str], known: Catalogue) -> Listing:
    data = gas_data()
    sources = {key: " ".join(text.split()) for key, text in data["sources"].items()}
    given = {
        "molar_mass_kg_mol": "molar mass",
        "gross_j_mol": "gross calorific value",
        "net_j_mol": "net calorific value",
        "boiling_k": "boiling point",
    }
    rows: list[dict[str, Any]] = []
    told: dict[str, str] = {}
    for name in wanted:
        made = known.gas(((name, 1.0),))
        component = made.fractions[0][0]
        of_figures = {words: sources[data["gases"][name]["source"][key]] for key, words in given.items()}
        of_figures["density and relative density"] = _DENSITY_SOURCE
        told.update(of_figures)
        rows.append(
            {
                "gas": name,
                "molar_mass_g_mol": component.molar_mass_kg_mol * 1e3,
                "gross_MJ_kg": made.gross_j_kg / 1e6,
                "net_MJ_kg": made.net_j_kg / 1e6,
                "density_kg_m3": made.reference_density_kg_m3,
                "relative_density": made.relative_density,
                "boiling_degC": component.boiling_k - 273.15,
                "source": "; ".join(f"{words}: {source}" for words, source in of_figures.items()),
            }
        )
    cells = (
        Cell("gas", "gas"),
        Cell("molar_mass_g_mol", "molar mass\ng/mol", ".3f"),
        Cell("gross_MJ_kg", "gross\nMJ/kg", ".2f"),
        Cell("net_MJ_kg", "net\nMJ/kg", ".2f"),
        Cell("density_kg_m3", "density\nkg/m3", ".3f"),
        Cell("relative_density", "relative\ndensity", ".3f"),
        Cell("boiling_degC", "boils at\ndegC", ".1f"),
        Cell("source", "source", only_data=True),
    )
    notes = [
        "Densities are at 15 degC and 101.325 kPa, boiling points at 101.325 kPa.",
        *(f"{words.capitalize()}: {source}." for words, source in told.items()),
    ]
    return Listing("Gases", cells, rows, tuple(notes))


def _formulas(wanted: Sequence[str], known: Catalogue) -> Listing:
    rows = [
        {"formula": name, "title": FORMULAS[name].title, "range": FORMULAS[name].valid, "source": FORMULAS[name].source}
        for name in wanted
    ]
    cells = (Cell("formula", "formula"), Cell("title", "what it is"), Cell("range", "range"), Cell("source", "source"))
    return Listing("Formulas", cells, rows)


def _rules(wanted: Sequence[str], known: Catalogue) -> Listing:
    rows = []
    for name, entry in _entries("rules", wanted, known):
        rule = known.rule(name)
        assert rule is not None  # its entry is there
        nominal = {gas or "any": pa / 1e3 for gas, pa in rule.nominal_gauge_pa}
        rows.append(
            {
                "rule": name,
                "title": rule.title,
                "applies_to": entry.get("applies-to"),
                "drop_kPa": rule.drop_pa / 1e3,
                "nominal_kPa": ", ".join(
                    f"{kpa:.4g}" + (f" {gas}" if gas != "any" else "") for gas, kpa in nominal.items()
                ),
                "caution": rule.caution,
                "source": rule.source,
            }
        )
    cells = (
        Cell("rule", "rule"),
        Cell("title", "what it is", only_data=True),
        Cell("applies_to", "where it applies", only_data=True),
        Cell("drop_kPa", "drop\nkPa", ".4g"),
        Cell("nominal_kPa", "nominal\nkPa"),
        Cell("caution", "caution", only_data=True),
        Cell("source", "source", only_data=True),
    )
    notes = [f"{row['rule']}: {row['title']}. Source: {_stopped(row['source'])} {row['caution']}" for row in rows]
    return Listing("Rule sets", cells, rows, tuple(notes))


def _appliances(wanted: Sequence[str], known: Catalogue) -> Listing:
    rows = []
    for name, entry in _entries("appliances", wanted, known):
        node = entry.at("input")
        rows.append(
            {
                "appliance": name,
                "title": entry.get("title"),
                "input": node.value,
                "basis": entry.get("basis"),
                "source": entry.get("source"),
            }
        )
    cells = (
        Cell("appliance", "appliance"),
        Cell("title", "what it is"),
        Cell("input", "input"),
        Cell("basis", "basis", only_data=True),
        Cell("source", "source"),
    )
    note = "Typical inputs, for a first sketch. A job takes one with `input: {like: NAME}`; the data plate prevails."
    return Listing("Appliance types", cells, rows, (note,))


def _tightness(wanted: Sequence[str], known: Catalogue) -> Listing:
    rows: list[dict[str, Any]] = []
    for name in wanted:
        test = known.tightness_test(name)
        assert test is not None  # the names are the catalogue's own
        rows.append(
            {
                "test": name,
                "title": test.title,
                "medium": test.medium,
                "pressure_kPa": test.pressure_gauge_pa / 1e3,
                "settle_min": test.settle_s / 60.0 if test.settle_s is not None else None,
                "hold_min": test.hold_s / 60.0 if test.hold_s is not None else None,
                "allowed_fall_kPa": test.allowed_fall_pa / 1e3,
                "volume_min_L": test.volume_min_m3 * 1e3 if test.volume_min_m3 is not None else None,
                "note": test.note,
                "caution": test.caution,
                "source": test.source,
            }
        )
    cells = (
        Cell("test", "test"),
        Cell("title", "what it is", only_data=True),
        Cell("medium", "with"),
        Cell("pressure_kPa", "pressure\nkPa", ".4g"),
        Cell("settle_min", "settle\nmin", "g"),
        Cell("hold_min", "hold\nmin", "g"),
        Cell("allowed_fall_kPa", "allowed fall\nkPa", "g"),
        Cell("volume_min_L", "least volume\nL", "g"),
        Cell("note", "note", only_data=True),
        Cell("caution", "caution", only_data=True),
        Cell("source", "source", only_data=True),
    )
    notes = []
    for row in rows:
        more = "".join(f" {row[key]}" for key in ("note", "caution") if row[key])
        notes.append(f"{row['test']}: {row['title']}. Source: {_stopped(row['source'])}{more}")
    return Listing("Tightness tests", cells, rows, tuple(notes))


LISTINGS: dict[str, Callable[[Sequence[str], Catalogue], Listing]] = {
    "pipes": _pipes,
    "fittings": _fittings,
    "gases": _gases,
    "formulas": _formulas,
    "rules": _rules,
    "appliances": _appliances,
    "tightness": _tightness,
}


def page(found: Listing) -> list[Block]:
    """Return a listing as a page."""
    cells = [cell for cell in found.cells if not cell.only_data]
    columns = tuple(Column(cell.head, words=cell.shape is None) for cell in cells)
    rows = [[cell.shown(row[cell.key]) for cell in cells] for row in found.rows]
    blocks: list[Block] = [Heading(found.title), Table(columns, rows)]
    if found.notes:
        blocks.append(Points("Notes:", found.notes))
    return blocks


def columns(found: Listing) -> list[str]:
    """Return the heads of the CSV."""
    return [cell.key for cell in found.cells]


def rows(found: Listing) -> Iterator[list[Any]]:
    """Yield the rows of the CSV."""
    for row in found.rows:
        yield [row[cell.key] for cell in found.cells]
