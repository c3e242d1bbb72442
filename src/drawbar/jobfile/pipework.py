"""What runs, outlets, hoses and appliances have in common: pipes, fittings, devices, regulators, rates."""

from __future__ import annotations

from yaml.nodes import Node

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Device, Fitting, Pipe, Regulator
from drawbar.physics.gas import Gas
from drawbar.problems import close_to, shown
from drawbar.yamlfile.bounds import HEAT
from drawbar.yamlfile.fields import Entry, Path
from drawbar.yamlfile.nodes import Source

AUTO = "auto"
OWN_ROUGHNESS_M = 1.5e-6  # drawn tubing, for a pipe given by its bore alone (Moody 1944)


def heat_and_flow(rate: float, dimension: units.Dimension, basis: str | None, gas: Gas) -> tuple[float, float]:
    """Return (gross heat [W], mass flow [kg/s]) of a rate in the SI unit of its dimension: heat, mass, or volume.

    basis : `net` where a heat rate is net, otherwise it is gross; a volume is at 15 degC and 101.325 kPa
    """
    if dimension is units.GAS_MASS_FLOW:
        flow_kg_s = rate
    elif dimension is units.GAS_VOLUME_FLOW:
        flow_kg_s = rate * gas.reference_density_kg_m3
    else:
        flow_kg_s = rate / (gas.net_j_kg if basis == "net" else gas.gross_j_kg)
    return flow_kg_s * gas.gross_j_kg, flow_kg_s


class PipeworkReader:
    """Reads the parts of one file: looks names up in the catalogue, and turns rates into flows of the job's gas.

    gas : the job's gas, None while it is not known or can't be read
    """

    def __init__(self, source: Source, catalogue: Catalogue) -> None:
        self.source = source
        self.catalogue = catalogue
        self.gas: Gas | None = None

    def problem(self, node: Node, path: Path, what: str, fit: str = "") -> None:
        """Note a problem at a node."""
        self.source.add(node, path, what, fit)

    def rate(self, entry: Entry, key: str, asked: tuple[Node, Path] | None = None) -> tuple[float, float] | None:
        """Return a heat, mass or volume rate as (gross heat [W], mass flow [kg/s]).

        asked : the place in the job file that asks for it, if the entry is not of that file
        """
        value = entry.get(key)
        if value is None or self.gas is None:
            return None
        rate, dimension = value
        basis = entry.get("basis")
        if dimension is not units.HEAT_RATE and basis is not None:
            fit = f"leave it out: {key} is no heat rate"
            self.problem(entry.at("basis"), (*entry.path, "basis"), "goes with a heat rate alone", fit)
        heat_w, flow_kg_s = heat_and_flow(rate, dimension, basis, self.gas)
        if dimension is not units.HEAT_RATE and not HEAT.holds(heat_w):
            mj_h = heat_w * 0.0036
            said = f"{mj_h:,.0f}" if mj_h >= 1.0 else f"{mj_h:.2g}"
            what = f"{shown(entry.at(key).value)} is {said} MJ/h, which can't be right"
            node, path = asked or (entry.at(key), (*entry.path, key))
            self.problem(node, path, what, f"write from {HEAT.low} to {HEAT.high}")
            return None
        return heat_w, flow_kg_s

    def regulator(self, entry: Entry) -> Regulator | None:
        """Return a regulator, the first or a second stage."""
        capacity = self.rate(entry, "capacity")
        outlet = entry.get("outlet")
        if outlet is None:
            return None
        inlet_min = entry.get("inlet-min", 0.0)
        if inlet_min and inlet_min <= outlet:
            what = "is not above the outlet pressure"
            self.problem(
                entry.at("inlet-min"), (*entry.path, "inlet-min"), what, "a regulator can only lower a pressure"
            )
        return Regulator(outlet, capacity[0] if capacity else None, inlet_min)

    def pipes(self, entry: Entry) -> tuple[Pipe, ...]:
        """Return the pipes that a run may have or a hose has."""
        wanted = entry.get("pipe")
        path = (*entry.path, "pipe")
        if wanted is None:
            return ()
        if isinstance(wanted, Entry):
            bore_m = wanted.get("bore")
            if bore_m is None:
                return ()
            roughness_m = wanted.get("roughness", OWN_ROUGHNESS_M)
            if roughness_m > 0.05 * bore_m:
                fit = f"write up to {bore_m * 50:.3g} mm, as far as Colebrook's formula holds"
                self.problem(wanted.at("roughness"), (*path, "roughness"), "is over a twentieth of the bore", fit)
            return (Pipe(f"bore {bore_m * 1000:g} mm", bore_m, roughness_m, None, "given in the job file"),)
        pipes: list[Pipe] = []
        for text, node in wanted:
            found = self.family_sizes(text, node, path)
            pipes.extend(pipe for pipe in found if pipe not in pipes)
        return tuple(pipes)

    def family_sizes(self, text: str, node: Node, path: Path) -> tuple[Pipe, ...]:
        """Return the pipes that `family/size` or `family/auto` names; none, with a problem noted, if it names none."""
        family, slash, size = text.partition("/")
        sizes = self.catalogue.sizes(family)
        if sizes is None and (not slash or family.isdigit()):
            families = self.catalogue.names("pipes")
            bare = text.removesuffix("mm").strip().removesuffix(".0")
            named = ((one, size) for one in families for size in self.catalogue.sizes(one) or ())
            fitting = [f"`{one}/{size}`" for one, size in named if bare in (size, size.rstrip("0"))]
            fit = f"write `FAMILY/SIZE` with a family from {', '.join(families)}"
            if fitting:
                fit = f"say of which tube: {' or '.join(fitting[:6])} (see `drawbar list pipes`)"
            self.problem(node, path, f"{shown(text)} is not a family and a size", fit)
        elif sizes is None:
            fit = close_to(family, self.catalogue.names("pipes"))
            self.problem(node, path, f"{shown(family)} is not a pipe family of the catalogue", fit)
        elif not size:
            fit = f"write `{family}/SIZE` with a size from {', '.join(sizes)}"
            self.problem(node, path, f"{shown(text)} names no size", fit)
        elif size == AUTO:
            return tuple(sizes.values())
        elif size not in sizes:
            self.problem(node, path, f"{shown(size)} is not a size of {family}", close_to(size, sizes))
        else:
            return (sizes[size],)
        return ()

    def fittings(self, entry: Entry) -> tuple[tuple[Fitting, int], ...]:
        """Return the fittings with their counts."""
        found = []
        for name, (count, node) in entry.get("fittings", {}).items():
            fitting = self.catalogue.fitting(name)
            if fitting is None:
                fit = close_to(name, self.catalogue.names("fittings"))
                self.problem(node, (*entry.path, "fittings", name), "is not a fitting of the catalogue", fit)
            elif count is not None:
                found.append((fitting, count))
        return tuple(found)

    def devices(self, entry: Entry) -> tuple[Device, ...]:
        """Return the devices."""
        found = []
        for device, _ in entry.get("devices", ()):
            flow = self.rate(device, "flow")
            name, drop_pa = device.get("name"), device.get("drop")
            if flow and name is not None and drop_pa is not None:
                found.append(Device(name, flow[1], drop_pa))
        return tuple(found)
