"""What runs, outlets, hoses and appliances have in common: pipes, fittings, devices, regulators, rates."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drawbar import units
from drawbar.job import Device, Fitting, Pipe, Regulator
from drawbar.jobfile.device_fields import read_device
from drawbar.jobfile.rates import heat_and_flow
from drawbar.problems import close_to, known_here, shown
from drawbar.yamlfile.bounds import HEAT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yaml.nodes import Node

    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.physics.gas import Gas
    from drawbar.yamlfile.entry import Entry, Rate
    from drawbar.yamlfile.nodes import Source
    from drawbar.yamlfile.scalars import Path

    Tables = Mapping[str, tuple[Entry | None, Node]]

AUTO = "auto"
_OWN_ROUGHNESS_M = 1.5e-6  # drawn tubing, for a pipe given by its bore alone (Moody 1944)
_ROUGHEST = 0.05  # roughness over bore, as far as Colebrook's formula holds
_SLOPE = 1.001  # a pipe rises by no more than its length, but for the rounding of what was measured
_MOST_LABELS = 6


class Sections(NamedTuple):
    """The sections of a job file whose tables carry names: each table with the node of its name, None if unreadable."""

    runs: Tables
    outlets: Tables
    hoses: Tables
    appliances: Tables


class PipeworkReader:
    """Reads what the pipework of a file is made of: names of the catalogue, and rates as flows of the job's gas.

    Parameters
    ----------
    source : Source
        The file being read, on which problems are noted.
    catalogue : Catalogue
        What the file may name.

    Attributes
    ----------
    gas : Gas or None
        The job's gas, None while it is not known or can't be read.
    tolerances : Tolerances
        Those of the catalogue.
    """

    def __init__(self, source: Source, catalogue: Catalogue) -> None:
        self.source = source
        self.catalogue = catalogue
        self.gas: Gas | None = None
        self.asks_basis = False
        self.tolerances = catalogue.tolerances()

    def problem(self, node: Node, path: Path, what: str, fit: str = "") -> None:
        """Note a problem at a node."""
        self.source.add(node, path, what, fit)

    def rate(self, entry: Entry, key: str) -> tuple[float, float] | None:
        """Return a heat, mass or volume rate of the job file as (gross heat [W], mass flow [kg/s])."""
        rate = entry.rate(key)
        if rate is None or self.gas is None:
            return None
        if rate.dimension is not units.HEAT_RATE and rate.basis is not None:
            fit = f"leave it out: {key} is no heat rate"
            self.problem(entry.at("basis"), (*entry.path, "basis"), "goes with a heat rate alone", fit)
        return self.flow_of(rate, entry.at(key), (*entry.path, key))

    def flow_of(self, rate: Rate, node: Node, path: Path) -> tuple[float, float] | None:
        """Return a rate as (gross heat [W], mass flow [kg/s]); one that can't be right is noted at the node."""
        if self.gas is None:
            return None
        heat_w, flow_kg_s = heat_and_flow(rate.value, rate.dimension, rate.basis, self.gas)
        if rate.dimension is not units.HEAT_RATE and not HEAT.holds(heat_w):
            mj_h = heat_w * 0.0036
            rounded = f"{mj_h:,.0f}" if mj_h >= 1.0 else f"{mj_h:.2g}"
            what = f"{shown(rate.written)} is {rounded} MJ/h, which can't be right"
            self.problem(node, path, what, f"write from {HEAT.low} to {HEAT.high}")
            return None
        return heat_w, flow_kg_s

    def regulator(self, entry: Entry) -> Regulator | None:
        """Return a regulator, the first or a second stage."""
        capacity = self.rate(entry, "capacity")
        outlet_pa, inlet_min_pa = entry.quantity("outlet"), entry.quantity("inlet-min", 0.0)
        if outlet_pa is None:
            return None
        if inlet_min_pa and inlet_min_pa <= outlet_pa:
            path = (*entry.path, "inlet-min")
            fit = "a regulator can only lower a pressure"
            self.problem(entry.at("inlet-min"), path, "is not above the outlet pressure", fit)
        sure_w, most_w, count = self._side_by_side(entry, capacity[0] if capacity else None)
        return Regulator(
            outlet_pa,
            sure_w,
            inlet_min_pa,
            entry.quantity("accuracy", 0.0),
            self._lock_up_gauge_pa(entry, outlet_pa),
            self._curve(entry),
            count,
            most_w,
        )

    def _side_by_side(self, entry: Entry, each_w: float | None) -> tuple[float | None, float | None, int]:
        """Return what regulators side by side surely pass and at most pass [W], and how many they are.

        None is set just as the next, so the one that is set highest passes all until it droops to the others: without a
        share that is known, no more than one of them is counted on.
        """
        count, share = entry.count("count", 1), entry.quantity("share")
        if share is not None and count == 1:
            fit = "write `count: 2` beside it, or leave it out"
            self.problem(entry.at("share"), (*entry.path, "share"), "goes with several side by side", fit)
        if each_w is None or count == 1:
            return each_w, None, count
        most_w = count * each_w
        return (each_w if share is None else max(each_w, share * most_w)), most_w, count

    def _lock_up_gauge_pa(self, entry: Entry, outlet_pa: float) -> float | None:
        lock_up_pa = entry.quantity("lock-up")
        if lock_up_pa is not None and lock_up_pa < outlet_pa:
            path = (*entry.path, "lock-up")
            self.problem(entry.at("lock-up"), path, "is below the outlet pressure", "with nothing on a regulator rises")
        return lock_up_pa

    def _curve(self, entry: Entry) -> tuple[tuple[float, float], ...]:
        """Return the points of a regulator's curve; loads that do not rise are noted."""
        points: list[tuple[float, float]] = []
        for row in entry.tables("curve"):
            load_w, gauge_pa = row.quantity("load"), row.quantity("pressure")
            if load_w is None or gauge_pa is None or self.gas is None:
                continue
            flow_kg_s = load_w / self.gas.gross_j_kg
            if points and flow_kg_s <= points[-1][0]:
                self.problem(row.at("load"), (*row.path, "load"), "is not above that before it", "order them by load")
            points.append((flow_kg_s, gauge_pa))
        return tuple(points)

    def length_and_rise_m(self, entry: Entry, what: str, ends: str) -> tuple[float | None, float]:
        """Return length and rise [m] of a run or a hose; one that rises more than its length is noted."""
        length_m, rise_m = entry.quantity("length"), entry.quantity("rise", 0.0)
        if length_m is not None and abs(rise_m) > length_m * _SLOPE:
            fit = f"write the height gained from {ends}"
            self.problem(entry.at("rise"), (*entry.path, "rise"), f"is more than the length of the {what}", fit)
        return length_m, rise_m

    def pipes(self, entry: Entry) -> tuple[Pipe, ...]:
        """Return the pipes that a run may have or a hose has."""
        by_bore, path = entry.table("pipe"), (*entry.path, "pipe")
        if by_bore is not None:
            return self._pipe_by_bore(by_bore, path)
        pipes: list[Pipe] = []
        names = entry.names("pipe")
        if len(names) == 1:
            return self.family_sizes(*names[0], path)
        for text, node in names:
            pipes.extend(pipe for pipe in self.family_sizes(text, node, path) if pipe not in pipes)
        return tuple(pipes)

    def _pipe_by_bore(self, entry: Entry, path: Path) -> tuple[Pipe, ...]:
        bore_m, roughness_m = entry.quantity("bore"), entry.quantity("roughness", _OWN_ROUGHNESS_M)
        if bore_m is None:
            return ()
        if roughness_m > _ROUGHEST * bore_m:
            fit = f"write up to {bore_m * 50:.3g} mm, as far as Colebrook's formula holds"
            self.problem(entry.at("roughness"), (*path, "roughness"), "is over a twentieth of the bore", fit)
        caliper, own = self.tolerances.caliper_m, self.tolerances.own_bore * bore_m
        kind, off_m = ("caliper", caliper) if entry.flag("measured") else ("own-bore", own)
        standing = dict(self.tolerances.sources).get(kind, "")
        label = f"bore {bore_m * 1000:g} mm"
        return (Pipe(label, bore_m, roughness_m, None, "given in the job file", off_m, standing),)

    def family_sizes(self, text: str, node: Node, path: Path) -> tuple[Pipe, ...]:
        """Return the pipes that `family/size` or `family/auto` names; none, with a problem noted, if it names none."""
        name, _, size = text.partition("/")
        family, sizes = self.catalogue.pipe_family(name), self.catalogue.sizes(name)
        if family is None or sizes is None or size != size.strip():
            self._refuse_family(text, node, path)
        elif not size:
            fit = f"write `{name}/SIZE` with a size from {', '.join(sizes)}"
            self.problem(node, path, f"{shown(text)} names no size", fit)
        elif size == AUTO:
            return tuple(sizes.values())
        elif size in sizes:
            return (sizes[size],)
        else:
            from drawbar.catalogue.pipe_names import size_named, sizes_meant, told  # for what is no plain name alone

            named = size_named(family, size)
            if named is not None:
                return (sizes[named],)
            fit = told(sizes_meant(family, size)) or known_here(sizes)
            self.problem(node, path, f"{shown(size)} is not a size of {name}", fit)
        return ()

    def _refuse_family(self, text: str, node: Node, path: Path) -> None:
        """Note a text that begins with no family: the pipe that it may mean, or the families that would do."""
        from drawbar.catalogue.pipe_names import family_meant, sizes_meant, told

        name, slash, _ = text.partition("/")
        families = self.catalogue.names("pipes")
        meant = family_meant(text, families)
        if meant is not None:
            family, rest = self.catalogue.pipe_family(meant[0]), meant[1]
            rows = sizes_meant(family, rest) if family is not None else []
            fit = told(rows, meant[0]) or f"write `{meant[0]}/SIZE`, as listed by `drawbar list pipes {meant[0]}`"
            self.problem(node, path, f"{shown(text)} is not a pipe of the catalogue", fit)
        elif not slash or name.strip("dnDN ").isdigit():
            self.problem(node, path, f"{shown(text)} is not a family and a size", self._families_with(text))
        else:
            self.problem(node, path, f"{shown(name)} is not a pipe family of the catalogue", close_to(name, families))

    def _families_with(self, text: str) -> str:
        """Return what would fit in place of a bare size: the families that have it, or all of them."""
        from drawbar.catalogue.pipe_names import sizes_called, sizes_meant

        names = self.catalogue.names("pipes")
        families = [family for name in names if (family := self.catalogue.pipe_family(name)) is not None]
        labels: list[str] = []
        for meant in (sizes_called, sizes_meant):  # by its name, else by whatever it may be
            labels = labels or [f"`{family.name}/{row.size}`" for family in families for row in meant(family, text)]
        if labels:
            shown_labels = labels[:_MOST_LABELS]
            more = f" and {len(labels) - _MOST_LABELS} more" if len(labels) > _MOST_LABELS else ""
            return f"say of which tube: {' or '.join(shown_labels)}{more} (see `drawbar list pipes`)"
        return f"write `FAMILY/SIZE` with a family from {', '.join(names)}"

    def fittings(self, entry: Entry) -> tuple[tuple[Fitting, int], ...]:
        """Return the fittings with their counts."""
        fittings = []
        for name, (count, node) in entry.named_counts("fittings").items():
            fitting = self.catalogue.fitting(name)
            if fitting is None:
                fit = close_to(name, self.catalogue.names("fittings"))
                self.problem(node, (*entry.path, "fittings", name), "is not a fitting of the catalogue", fit)
            elif count is not None:
                fittings.append((fitting, count))
        return tuple(fittings)

    def devices(self, entry: Entry) -> tuple[Device, ...]:
        """Return the devices; the drop of one that has no figure is not known."""
        if "devices" not in entry.nodes:
            return ()
        read = (read_device(self, device) for device in entry.tables("devices"))
        return tuple(device for device in read if device is not None)
