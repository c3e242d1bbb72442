"""Reads the bottles of a job file: the usual size or the user's own, and how low their pressure may fall."""

from __future__ import annotations

import math

from drawbar.job import Cylinders, Regulator
from drawbar.jobfile.pipework import PipeworkReader
from drawbar.physics import air
from drawbar.physics.cylinder import Bottle
from drawbar.problems import shown
from drawbar.yamlfile.fields import Entry

DEFAULT_FILL = 0.5
GIVEN = "given in the job file"
_DIMENSIONS = ("diameter", "water-capacity", "tare")
_SLENDER = 15.0  # a bottle higher than so many diameters, or lower than the next, is a slip of the pen
_FLAT = 0.3


def read_cylinders(
    parts: PipeworkReader, entry: Entry | None, site_k: float, regulator: Regulator | None
) -> Cylinders | None:
    """Return the bottles of `cylinders:`; what is wrong with them is noted.

    site_k : the air around them where the entry does not say it [K]; regulator : the first, which they feed
    """
    if entry is None or entry.get("size") is None:
        return None
    count, drawing = entry.get("count", 1), entry.get("drawing", 1)
    if drawing > count:
        what = f"{drawing} can't be drawn from, as the count is {count}"
        parts.problem(entry.at("drawing"), ("cylinders", "drawing"), what, "write at most the count")
    found = _bottle(parts, entry)
    if found is None or regulator is None:
        return None
    bottle, name, source = found
    least_gauge_pa, least_source = _least_gauge_pa(parts, regulator)
    return Cylinders(
        size_kg=bottle.gas_kg,
        count=count,
        drawing=drawing,
        fill=entry.get("fill", DEFAULT_FILL),
        ambient_k=entry.get("ambient", site_k),
        bottle=bottle,
        name=name,
        source=source,
        least_gauge_pa=least_gauge_pa,
        least_source=least_source,
    )


def _least_gauge_pa(parts: PipeworkReader, regulator: Regulator) -> tuple[float, str]:
    """Return the lowest pressure in the bottle that the first regulator works at [Pa gauge], and where that stands."""
    model = parts.catalogue.vaporisation
    if regulator.inlet_min_gauge_pa > 0.0:
        return regulator.inlet_min_gauge_pa, GIVEN
    if regulator.outlet_gauge_pa <= model["low_pressure_outlet_pa"]:
        return model["inlet_min_pa"], model["source"]["inlet_min_pa"]
    return regulator.outlet_gauge_pa + model["inlet_over_outlet_pa"], model["source"]["inlet_over_outlet_pa"]


def _bottle(parts: PipeworkReader, entry: Entry) -> tuple[Bottle, str | None, str] | None:
    """Return one bottle, the name of its usual size if it is one, and where its dimensions stand."""
    gas_kg = entry.get("size")
    usual = parts.catalogue.bottle(gas_kg)
    own = [key for key in _DIMENSIONS if key in entry.nodes]
    missing = [key for key in _DIMENSIONS if key not in entry.nodes]
    if usual is None and missing:
        names = ", ".join(name.replace("-", " ") for name in parts.catalogue.names("cylinders"))
        keys = " and ".join(f"`{key}:`" for key in missing)
        what = f"{shown(entry.at('size').value)} is not a usual size"
        parts.problem(entry.at("size"), ("cylinders", "size"), what, f"write {keys} beside it, or one of {names}")
        return None
    figures = [entry.get(key, usual[1].get(key) if usual and key in missing else None) for key in _DIMENSIONS]
    if None in figures:
        return None  # told already
    diameter_m, water_capacity_m3, tare_kg = figures
    litres = f"{water_capacity_m3 * 1000:g} L"
    height_m = water_capacity_m3 / (math.pi / 4.0 * diameter_m**2)
    if not _FLAT * diameter_m <= height_m <= _SLENDER * diameter_m:
        place = "diameter" if "diameter" in own else own[0] if own else "size"
        what = f"a bottle of {litres} would be {height_m * 1000:,.0f} mm high at {diameter_m * 1000:g} mm across"
        parts.problem(entry.at(place), ("cylinders", place), what, "measure the diameter again")
    gas = parts.gas
    if gas is not None and gas_kg > water_capacity_m3 * gas.liquid_density_kg_m3(air.REFERENCE_K):
        place = "water-capacity" if "water-capacity" in own else "size"
        what = f"{litres} can't hold {shown(entry.at('size').value)} of this gas as a liquid"
        parts.problem(entry.at(place), ("cylinders", place), what, "write what is stamped on the bottle")
    model = parts.catalogue.vaporisation
    bottle = Bottle(
        gas_kg=gas_kg,
        diameter_m=diameter_m,
        water_capacity_m3=water_capacity_m3,
        tare_kg=tare_kg,
        coefficient_w_m2_k=model["coefficient_w_m2_k"],
        steel_j_kg_k=model["steel_j_kg_k"],
    )
    if not own and usual is not None:
        return bottle, usual[0], usual[1].get("source")
    return bottle, None, f"{GIVEN}, the rest as the {usual[0]} cylinder" if missing and usual else GIVEN
