"""What a job file may name, by kinds, as rows of figures with the source of each."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any, NamedTuple

from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.pure_gases import gas_data
from drawbar.physics.formulas import FORMULAS
from drawbar.yamlfile.entry import Entry

_DENSITY_SOURCE = (
    "worked out: real gas, second virial coefficient after Tsonopoulos, AIChE J. 20 (1974) 263; relative to dry air, "
    "ISO 2533:1975"
)
_GAS_FIGURES = {
    "molar_mass_kg_mol": "molar mass",
    "gross_j_mol": "gross calorific value",
    "net_j_mol": "net calorific value",
    "boiling_k": "boiling point",
}


class Listing(NamedTuple):
    """Rows of a kind.

    Attributes
    ----------
    kind : str
        What is listed: one of LISTED_KINDS, `kinds` for these themselves, `sizes` for those of one family of pipe.
    rows : sequence of dict
        A row an entry, each figure under a key that holds its unit.
    title : str
        What the family is, where sizes of it are listed; empty otherwise.
    sources : mapping of str to str
        Where figures are from that stand in all rows, by what they are.
    note : str
        What the catalogue notes on all rows; empty where it notes nothing.
    """

    kind: str
    rows: Sequence[dict[str, Any]]
    title: str = ""
    sources: Mapping[str, str] = MappingProxyType({})
    note: str = ""


def list_kinds(catalogue: Catalogue) -> Listing:
    """Return what can be listed.

    Parameters
    ----------
    catalogue : Catalogue
        The catalogue, with the workshop's libraries laid over it.

    Returns
    -------
    Listing
        A row a kind: its name, how many entries it has, and for pipes how many sizes.
    """
    rows = []
    for kind in LISTED_KINDS:
        names = listed_names(kind, catalogue)
        sizes = sum(len(catalogue.sizes(family) or {}) for family in names) if kind == "pipes" else None
        rows.append({"list": kind, "count": len(names), "sizes": sizes})
    return Listing("kinds", rows)


def listed_names(kind: str, catalogue: Catalogue) -> list[str]:
    """Return the names of a kind.

    Parameters
    ----------
    kind : str
        One of LISTED_KINDS.
    catalogue : Catalogue
        The catalogue, with the workshop's libraries laid over it.

    Returns
    -------
    list of str
        The names, in the catalogue's own order.
    """
    if kind == "gases":
        return catalogue.gas_names
    if kind == "formulas":
        return list(FORMULAS)
    return catalogue.tightness_tests() if kind == "tightness" else catalogue.names(kind)


def list_entries(kind: str, name: str | None, catalogue: Catalogue) -> Listing:
    """Return the entries of a kind.

    Parameters
    ----------
    kind : str
        One of LISTED_KINDS.
    name : str or None
        One of the kind's names, for that entry alone, of pipes the sizes of that family; None for all entries.
    catalogue : Catalogue
        The catalogue, with the workshop's libraries laid over it.

    Returns
    -------
    Listing
        A row an entry.
    """
    if kind == "pipes" and name is not None:
        return _sizes(name, catalogue)
    return _OF_KIND[kind]([name] if name is not None else listed_names(kind, catalogue), catalogue)


def _entries(kind: str, names: Sequence[str], catalogue: Catalogue) -> Iterator[tuple[str, Entry]]:
    for name in names:
        entry = catalogue.entry(kind, name)
        assert entry is not None  # the names are the catalogue's own
        yield name, entry


def _pipes(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {
            "family": name,
            "title": entry.get("title"),
            "sizes": len(catalogue.sizes(name) or {}),
            "material": entry.get("material"),
            "roughness_mm": entry.get("roughness") * 1e3,
            "roughness_source": entry.get("roughness-source"),
            "note": entry.get("note"),
            "source": entry.get("source"),
        }
        for name, entry in _entries("pipes", names, catalogue)
    ]
    return Listing("pipes", rows)


def _sizes(family: str, catalogue: Catalogue) -> Listing:
    entry, sizes = catalogue.entry("pipes", family), catalogue.sizes(family)
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
    title, sources = f"{family}: {entry.get('title')}", {"roughness": entry.get("roughness-source")}
    return Listing("sizes", rows, title, sources, entry.get("note") if "note" in entry.nodes else "")


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


def _fittings(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {"fitting": name, "title": entry.get("title"), "ratio": entry.get("ratio"), "source": entry.get("source")}
        for name, entry in _entries("fittings", names, catalogue)
    ]
    return Listing("fittings", rows)


def _gases(names: Sequence[str], catalogue: Catalogue) -> Listing:
    data = gas_data()
    texts = {key: " ".join(text.split()) for key, text in data["sources"].items()}
    rows: list[dict[str, Any]] = []
    sources: dict[str, str] = {}
    for name in names:
        gas = catalogue.gas(((name, 1.0),))
        component = gas.fractions[0][0]
        of_figures = {what: texts[data["gases"][name]["source"][key]] for key, what in _GAS_FIGURES.items()}
        of_figures["density and relative density"] = _DENSITY_SOURCE
        sources.update(of_figures)
        rows.append(
            {
                "gas": name,
                "molar_mass_g_mol": component.molar_mass_kg_mol * 1e3,
                "gross_MJ_kg": gas.gross_j_kg / 1e6,
                "net_MJ_kg": gas.net_j_kg / 1e6,
                "density_kg_m3": gas.reference_density_kg_m3,
                "relative_density": gas.relative_density,
                "boiling_degC": component.boiling_k - 273.15,
                "source": "; ".join(f"{what}: {source}" for what, source in of_figures.items()),
            }
        )
    return Listing("gases", rows, sources=sources)


def _formulas(names: Sequence[str], _catalogue: Catalogue) -> Listing:
    rows = [
        {"formula": name, "title": FORMULAS[name].title, "range": FORMULAS[name].valid, "source": FORMULAS[name].source}
        for name in names
    ]
    return Listing("formulas", rows)


def _rules(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = []
    for name, entry in _entries("rules", names, catalogue):
        rule = catalogue.rule(name)
        assert rule is not None  # its entry is there
        nominal = [f"{pa / 1e3:.4g}" + (f" {gas}" if gas else "") for gas, pa in rule.nominal_gauge_pa]
        rows.append(
            {
                "rule": name,
                "title": rule.title,
                "applies_to": entry.get("applies-to"),
                "drop_kPa": rule.drop_pa / 1e3,
                "nominal_kPa": ", ".join(nominal),
                "caution": rule.caution,
                "source": rule.source,
            }
        )
    return Listing("rules", rows)


def _appliances(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {
            "appliance": name,
            "title": entry.get("title"),
            "input": entry.at("input").value,
            "basis": entry.get("basis"),
            "source": entry.get("source"),
        }
        for name, entry in _entries("appliances", names, catalogue)
    ]
    return Listing("appliances", rows)


def _tightness(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows: list[dict[str, Any]] = []
    for name in names:
        test = catalogue.tightness_test(name)
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
    return Listing("tightness", rows)


_OF_KIND: dict[str, Callable[[Sequence[str], Catalogue], Listing]] = {
    "pipes": _pipes,
    "fittings": _fittings,
    "gases": _gases,
    "formulas": _formulas,
    "rules": _rules,
    "appliances": _appliances,
    "tightness": _tightness,
}
LISTED_KINDS = tuple(_OF_KIND)
