"""Reads the bottles of a job file: the usual size or the user's own, and how low their pressure may fall."""

from __future__ import annotations

import math

from drawbar.catalogue.bottle_sizes import BottleSize
from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Cylinders, Device, Regulator
from drawbar.jobfile.device_fields import figure_flow_kg_s
from drawbar.jobfile.pipework import PipeworkReader
from drawbar.physics import air
from drawbar.physics.cylinder import Bottle
from drawbar.problems import close_to, shown
from drawbar.yamlfile.entry import Entry

_DEFAULT_FILL = 0.5
_GIVEN = "given in the job file"
_DIMENSIONS = ("diameter", "water-capacity", "tare")
_SLENDER = 15.0  # a bottle higher than so many diameters, or lower than the next, is a slip of the pen
_FLAT = 0.3
_SAME_SIZE = 0.02  # a size is that of a name within this, so that it may be written in pounds


def read_cylinders(
    pipework: PipeworkReader, entry: Entry | None, site_k: float, regulator: Regulator | None
) -> Cylinders | None:
    """Return the bottles of `cylinders:`; what is wrong with them is noted.

    Parameters
    ----------
    pipework : PipeworkReader
        The reading that notes problems, with the catalogue and the job's gas.
    entry : Entry or None
        The table, None where the job has none.
    site_k : float
        The air around the bottles where the table does not say it [K].
    regulator : Regulator or None
        The first regulator, which they feed; None where it could not be read.

    Returns
    -------
    Cylinders or None
        None where the job has none, or they could not be read.
    """
    size_kg = entry.quantity("size") if entry is not None else None
    if entry is None or size_kg is None:
        return None
    count, has_changeover = entry.count("count", 1), entry.flag("changeover")
    drawing = entry.count("drawing", max(count // 2, 1) if has_changeover else 1)
    if has_changeover and drawing > count // 2:
        what = f"of {count} behind a changeover at most {count // 2} can be drawn from at once"
        key = "drawing" if "drawing" in entry.nodes else "changeover"
        pipework.problem(entry.at(key), ("cylinders", key), what, "count both sides, draw from one")
    elif drawing > count:
        what = f"{drawing} can't be drawn from, as the count is {count}"
        pipework.problem(entry.at("drawing"), ("cylinders", "drawing"), what, "write at most the count")
    described = _bottle(pipework, entry, size_kg)
    if described is None or regulator is None:
        return None
    bottle, name, source, heat_source = described
    least_gauge_pa, least_source = least_bottle_gauge_pa(
        pipework.catalogue, regulator.outlet_gauge_pa, regulator.inlet_min_gauge_pa
    )
    return Cylinders(
        size_kg=size_kg,
        count=count,
        drawing=drawing,
        fill=entry.quantity("fill", _DEFAULT_FILL),
        ambient_k=entry.quantity("ambient", site_k),
        bottle=bottle,
        name=name,
        source=source,
        least_gauge_pa=least_gauge_pa,
        least_source=least_source,
        heat_source=heat_source,
        fit=pipework.catalogue.vaporisation.fit_of(size_kg),
        has_changeover=has_changeover,
        pigtail=_pigtail(pipework, entry.table("pigtail")),
    )


def least_bottle_gauge_pa(catalogue: Catalogue, outlet_gauge_pa: float, inlet_min_gauge_pa: float) -> tuple[float, str]:
    """Return the lowest pressure in the bottle that a first regulator works at [Pa gauge], and where that stands.

    Parameters
    ----------
    catalogue : Catalogue
        With what regulators usually need.
    outlet_gauge_pa : float
        What it is set to [Pa gauge].
    inlet_min_gauge_pa : float
        What the job gives as the least at its inlet [Pa gauge], 0 where it gives none.

    Returns
    -------
    tuple of float and str
        The pressure [Pa gauge] and its source.
    """
    model = catalogue.vaporisation
    if inlet_min_gauge_pa > 0.0:
        return inlet_min_gauge_pa, _GIVEN
    if outlet_gauge_pa <= model.low_pressure_outlet_pa:
        return model.inlet_min_pa, model.source["inlet_min_pa"]
    return outlet_gauge_pa + model.inlet_over_outlet_pa, model.source["inlet_over_outlet_pa"]


def _bottle(pipework: PipeworkReader, entry: Entry, gas_kg: float) -> tuple[Bottle, str | None, str, str] | None:
    """Return a bottle that holds gas_kg [kg], the name of its usual size, where its dimensions stand, and its heat."""
    like = entry.text("like")
    usual = pipework.catalogue.bottle(gas_kg) if like is None else _called(pipework, entry, like, gas_kg)
    if like is not None and usual is None:
        return None
    given = [key for key in _DIMENSIONS if key in entry.nodes]
    missing = [key for key in _DIMENSIONS if key not in entry.nodes]
    if usual is None and missing:
        names = _offered(pipework, gas_kg)
        keys = " and ".join(f"`{key}:`" for key in missing)
        what = f"{shown(entry.at('size').value)} is not a usual size"
        pipework.problem(entry.at("size"), ("cylinders", "size"), what, f"write {keys} beside it, or one of {names}")
        return None
    diameter_m, water_capacity_m3, tare_kg = (entry.quantity(key) for key in _DIMENSIONS)
    if usual is not None:
        diameter_m = usual.diameter_m if "diameter" in missing else diameter_m
        water_capacity_m3 = usual.water_capacity_m3 if "water-capacity" in missing else water_capacity_m3
        tare_kg = usual.tare_kg if "tare" in missing else tare_kg
    if diameter_m is None or water_capacity_m3 is None or tare_kg is None:
        return None  # noted already
    model = pipework.catalogue.vaporisation
    coefficient_w_m2_k, heat_source = model.coefficient_of(usual)
    bottle = Bottle(
        gas_kg=gas_kg,
        diameter_m=diameter_m,
        water_capacity_m3=water_capacity_m3,
        tare_kg=tare_kg,
        coefficient_w_m2_k=coefficient_w_m2_k,
        steel_j_kg_k=model.steel_j_kg_k,
    )
    _check_bottle(pipework, entry, given, bottle)
    if not given and usual is not None:
        return bottle, usual.name, usual.source, heat_source
    dimensions = f"{_GIVEN}, the rest as the {usual.name} cylinder" if missing and usual else _GIVEN
    return bottle, None, dimensions, heat_source


def _pigtail(pipework: PipeworkReader, entry: Entry | None) -> Device | None:
    """Return what is between a bottle and the regulator, None where the job does not say."""
    if entry is None:
        return None
    drop_pa, flow_kg_s = entry.quantity("drop"), figure_flow_kg_s(pipework, entry)
    if drop_pa is None or not flow_kg_s:
        return None  # noted already
    return Device("pigtail", flow_kg_s, drop_pa, at_gauge_pa=entry.quantity("at"))


def _offered(pipework: PipeworkReader, gas_kg: float) -> str:
    """Return the sizes that a mass of gas names, and what `like` may name for this one."""
    names = pipework.catalogue.names("cylinders")
    sizes = [name.replace("-", " ") for name in names if name.count("-") == 1]
    named = [size.name for size in pipework.catalogue.bottle_sizes if abs(size.gas_kg - gas_kg) <= _SAME_SIZE * gas_kg]
    return ", ".join(sizes) + "".join(f", or `like: {name}`" for name in named)


def _called(pipework: PipeworkReader, entry: Entry, name: str, gas_kg: float) -> BottleSize | None:
    """Return the usual size that `like` names; a name that is none, or is of another size, is noted."""
    size, path = pipework.catalogue.bottle_called(name), ("cylinders", "like")
    if size is None:
        fit = close_to(name, pipework.catalogue.names("cylinders"))
        pipework.problem(entry.at("like"), path, f"{shown(name)} is not a bottle of the catalogue", fit)
    elif abs(size.gas_kg - gas_kg) > _SAME_SIZE * gas_kg:
        fit = f"write `size: {size.gas_kg:g} kg`, or another `like`"
        pipework.problem(entry.at("like"), path, f"{shown(name)} holds another mass of gas than the size says", fit)
        return None
    return size


def _check_bottle(pipework: PipeworkReader, entry: Entry, given: list[str], bottle: Bottle) -> None:
    """Note a bottle of no likely shape, and one that can't hold its gas; given are the keys that the job has."""
    diameter_m = bottle.diameter_m
    litres = f"{bottle.water_capacity_m3 * 1000:g} L"
    height_m = bottle.water_capacity_m3 / (math.pi / 4.0 * diameter_m**2)
    if not _FLAT * diameter_m <= height_m <= _SLENDER * diameter_m:
        place = "diameter" if "diameter" in given else given[0] if given else "size"
        what = f"a bottle of {litres} would be {height_m * 1000:,.0f} mm high at {diameter_m * 1000:g} mm across"
        pipework.problem(entry.at(place), ("cylinders", place), what, "measure the diameter again")
    gas = pipework.gas
    if gas is not None and bottle.gas_kg > bottle.water_capacity_m3 * gas.liquid_density_kg_m3(air.REFERENCE_K):
        place = "water-capacity" if "water-capacity" in given else "size"
        what = f"{litres} can't hold {shown(entry.at('size').value)} of this gas as a liquid"
        pipework.problem(entry.at(place), ("cylinders", place), what, "write what is stamped on the bottle")
