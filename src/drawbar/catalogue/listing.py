"""What a job file may name, by kinds, as rows of figures with the source of each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, NamedTuple

from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.pipe_families import PipeSize
from drawbar.catalogue.pure_gases import gas_data
from drawbar.physics.formulas import FORMULAS
from drawbar.rules import Rule

_THIN = 0.1  # wall over outside diameter, under which copper kinks and takes no thread: common practice
_DENSITY_SOURCE = (
    "worked out: real gas, second virial coefficient after Tsonopoulos, AIChE J. 20 (1974) 263; relative to dry air, "
    "ISO 2533:1975"
)
_DATA_OF_KIND = {"bottles": "cylinders"}  # where a kind is listed under the trade's word
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
    if kind == "tightness":
        return catalogue.tightness_tests()
    return catalogue.names(_DATA_OF_KIND.get(kind, kind))


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


def _pipes(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {
            "family": name,
            "title": family.title,
            "sizes": len(family.sizes),
            "material": family.material,
            "roughness_mm": family.roughness_m * 1e3,
            "roughness_source": family.roughness_source,
            "tolerance_source": family.tolerance_source,
            "note": family.note,
            "source": family.source,
        }
        for name in names
        if (family := catalogue.pipe_family(name)) is not None
    ]
    return Listing("pipes", rows)


def _sizes(name: str, catalogue: Catalogue) -> Listing:
    family, pipes = catalogue.pipe_family(name), catalogue.sizes(name)
    assert family is not None  # the caller has looked
    assert pipes is not None
    rows = [
        {
            "size": size,
            "od_mm": _mm(family.sizes[size].od_m),
            "wall_mm": _mm(family.sizes[size].wall_m),
            "thin": _is_thin(family.sizes[size], family.material),
            "bore_mm": pipe.bore_m * 1e3,
            "bore_tolerance_mm": pipe.bore_tolerance_m * 1e3,
            "roughness_mm": pipe.roughness_m * 1e3,
            "mass_kg_m": pipe.mass_kg_m,
            "mass_source": _mass_source(family.sizes[size], family.material, pipe.mass_kg_m),
            "also": family.sizes[size].also,
            "source": pipe.source,
            "tolerance_source": pipe.tolerance_source,
        }
        for size, pipe in pipes.items()
    ]
    sources = {"roughness": family.roughness_source}
    return Listing("sizes", rows, f"{name}: {family.title}", sources, family.note or "")


def _is_thin(size: PipeSize, material: str) -> bool:
    """Tell whether a tube of copper has a wall under a tenth of its outside diameter."""
    if material != "copper" or size.od_m is None or size.wall_m is None:
        return False
    return size.wall_m < _THIN * size.od_m * (1.0 - 1e-9)


def _mm(metres: float | None) -> float | None:
    return None if metres is None else metres * 1e3


def _mass_source(size: PipeSize, material: str, mass_kg_m: float | None) -> str | None:
    if mass_kg_m is None:
        return None
    given = size.mass_kg_m is not None
    return "as the source gives it" if given else f"from od, bore and the density of {material}"


def _fittings(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {"fitting": name, "title": row.title, "ratio": row.fitting.ratio, "source": row.fitting.source}
        for name in names
        if (row := catalogue.fitting_row(name)) is not None
    ]
    return Listing("fittings", rows)


def _devices(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {
            "device": name,
            "title": device.title,
            "flow": device.rate.written,
            "basis": device.rate.basis,
            "from_Pa": device.low_pa,
            "to_Pa": device.high_pa,
            "source": device.source,
        }
        for name in names
        if (device := catalogue.device(name)) is not None
    ]
    return Listing("devices", rows)


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


def _method_words(rule: Rule) -> str | None:
    """Return the formula and the gas that a rule's verdict goes by, None where its code leaves them open."""
    method = rule.method
    if method is None:
        return None
    return (
        f"formula {method.formula} for {method.gas} of relative density {method.relative_density:g}, "
        f"{method.capacity * 100:g} % of what it lets pass ({method.source})"
    )


def _rules(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = []
    for name in names:
        row = catalogue.rule_row(name)
        assert row is not None  # the names are the catalogue's own
        nominal = [f"{pa / 1e3:.4g}" + (f" {gas}" if gas else "") for gas, pa in row.rule.nominal_gauge_pa]
        rows.append(
            {
                "rule": name,
                "title": row.rule.title,
                "applies_to": row.applies_to,
                "drop_kPa": row.rule.drop_pa / 1e3 if row.rule.drop_pa is not None else None,
                "no_drop": row.rule.no_drop,
                "nominal_kPa": ", ".join(nominal),
                "method": _method_words(row.rule),
                "caution": row.rule.caution,
                "source": row.rule.source,
            }
        )
    return Listing("rules", rows)


def _appliances(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {
            "appliance": name,
            "title": appliance.title,
            "input": appliance.input.written,
            "basis": appliance.input.basis,
            "source": appliance.source,
        }
        for name in names
        if (appliance := catalogue.appliance(name)) is not None
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


def _tolerances(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {
            "tolerance": name,
            "title": row.title,
            "percent": row.share * 100.0 if row.share is not None else None,
            "least_mm": _mm(row.least_m),
            "source": row.source,
        }
        for name in names
        if (row := catalogue.tolerance_row(name)) is not None
    ]
    return Listing("tolerances", rows)


def _bottles(names: Sequence[str], catalogue: Catalogue) -> Listing:
    rows = [
        {
            "bottle": size.name,
            "title": size.title,
            "gas_kg": size.gas_kg,
            "water_capacity_L": size.water_capacity_m3 * 1e3,
            "tare_kg": size.tare_kg,
            "diameter_mm": _mm(size.diameter_m),
            "height_mm": _mm(size.height_m),
            "series": size.series,
            "wall": "composite" if size.is_composite else "metal",
            "source": size.source,
        }
        for size in catalogue.bottle_sizes
        if size.name in names
    ]
    model = catalogue.vaporisation
    least_kg, most_kg = model.fit_left_kg
    fitted = f"{least_kg:.3g} to {most_kg:.3g} kg left, within {model.fit_within * 100:.0f} %"
    note = f"Their continuous offtake is fitted over {fitted}: {model.source['fit']}"
    return Listing("bottles", rows, note=note)


_OF_KIND: dict[str, Callable[[Sequence[str], Catalogue], Listing]] = {
    "pipes": _pipes,
    "fittings": _fittings,
    "devices": _devices,
    "gases": _gases,
    "formulas": _formulas,
    "rules": _rules,
    "appliances": _appliances,
    "bottles": _bottles,
    "tightness": _tightness,
    "tolerances": _tolerances,
}
LISTED_KINDS = tuple(_OF_KIND)
