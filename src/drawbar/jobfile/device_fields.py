"""A device of the job file: its maker's figure, with the gas and the pressure that the figure was taken with."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from drawbar import units
from drawbar.job import Device
from drawbar.jobfile.rates import heat_and_flow
from drawbar.physics.air import REFERENCE_K, STANDARD_PA, air_density_kg_m3
from drawbar.problems import close_to, shown
from drawbar.rules import TypicalDrop
from drawbar.yamlfile.entry import Entry

if TYPE_CHECKING:
    from drawbar.jobfile.pipework import PipeworkReader

OF_A_FIGURE = ("flow", "drop", "basis", "of", "at")
"""The keys of a maker's figure, which do not stand beside `like`."""

_AIR = "air"  # what a figure may be taken with, beside a gas


def read_device(reader: PipeworkReader, entry: Entry) -> Device | None:
    """Return a device; what is wrong with it is noted.

    Parameters
    ----------
    reader : PipeworkReader
        The reader of the job's pipework, with its gas.
    entry : Entry
        The device's table.

    Returns
    -------
    Device or None
        None where it could not be read.
    """
    name, like = entry.text("name"), entry.text("like")
    if like is not None:
        return _listed(reader, entry, name, like)
    drop_pa = entry.quantity("drop")
    if "name" not in entry.nodes:
        reader.problem(entry.node, entry.path, "has no name", "write `name:` and what the part is called")
    elif ("flow" in entry.nodes) != ("drop" in entry.nodes):
        missing = "drop" if "flow" in entry.nodes else "flow"
        fit = "a maker's figure is a drop at a flow; leave both out if they are not known"
        reader.problem(entry.node, entry.path, f"`{missing}` is missing", fit)
    elif name is not None and "drop" not in entry.nodes:
        return Device(name, 1.0, 0.0, is_known=False, typical=typical_drop(reader, name))
    else:
        flow_kg_s = figure_flow_kg_s(reader, entry)
        if flow_kg_s and name is not None and drop_pa is not None:
            return Device(name, flow_kg_s, drop_pa, at_gauge_pa=entry.quantity("at"))
    return None


def typical_drop(reader: PipeworkReader, name: str) -> TypicalDrop | None:
    """Return what the catalogue's device of a name typically takes, None if it has none of that name."""
    listed = reader.catalogue.device(name.replace(" ", "-"))
    if listed is None or reader.gas is None:
        return None
    rate = listed.rate
    _, flow_kg_s = heat_and_flow(rate.value, rate.dimension, rate.basis, reader.gas)
    return TypicalDrop(listed.title, flow_kg_s, listed.low_pa, listed.high_pa)


def figure_flow_kg_s(reader: PipeworkReader, entry: Entry) -> float | None:
    """Return the flow of the job's gas that has the drop of the figure, in the same state [kg/s].

    With drop = K m^2 / density, a flow m of a medium of density r is one of m sqrt(r_gas / r) of the gas.
    """
    rate, of = entry.rate("flow"), entry.text("of")
    if rate is None or reader.gas is None:
        return None
    if of is None:
        if rate.dimension is units.GAS_VOLUME_FLOW:
            what = f"{shown(rate.written)} of what is not said"
            reader.problem(entry.at("flow"), (*entry.path, "flow"), what, "write `of: air`, or `of:` and the gas")
            return None
        read = reader.rate(entry, "flow")
        return None if read is None else read[1]
    if of == _AIR:
        if rate.dimension is units.HEAT_RATE:
            fit = "write the flow of air as a volume, as `1.5 m3/h`"
            reader.problem(entry.at("flow"), (*entry.path, "flow"), "air has no heat to burn", fit)
            return None
        density_kg_m3 = air_density_kg_m3(STANDARD_PA, REFERENCE_K)
        is_mass = rate.dimension is units.GAS_MASS_FLOW
        flow_kg_s = rate.value if is_mass else rate.value * density_kg_m3
    else:
        gas_names = reader.catalogue.gas_names
        if of not in gas_names:
            fit = close_to(of, [_AIR, *gas_names])
            reader.problem(entry.at("of"), (*entry.path, "of"), f"{shown(of)} is not air or a gas", fit)
            return None
        medium = reader.catalogue.gas(((of, 1.0),))
        _, flow_kg_s = heat_and_flow(rate.value, rate.dimension, rate.basis, medium)
        density_kg_m3 = medium.reference_density_kg_m3
    return flow_kg_s * math.sqrt(reader.gas.reference_density_kg_m3 / density_kg_m3)


def _listed(reader: PipeworkReader, entry: Entry, name: str | None, like: str) -> Device | None:
    """Return a device with the worse end of what those of its kind typically take."""
    listed = reader.catalogue.device(like)
    for key in OF_A_FIGURE:
        if key in entry.nodes:
            reader.problem(entry.at(key), (*entry.path, key), "goes with a figure of your own alone", "leave it out")
    if listed is None:
        fit = close_to(like, reader.catalogue.names("devices"))
        reader.problem(entry.at("like"), (*entry.path, "like"), f"{shown(like)} is not a device of the catalogue", fit)
        return None
    flow = reader.flow_of(listed.rate, entry.at("like"), (*entry.path, "like"))
    return None if flow is None else Device(name or like, flow[1], listed.high_pa, like=like)
