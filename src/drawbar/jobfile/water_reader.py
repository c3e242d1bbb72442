"""Reads the water side of a job file; what is wrong with it is noted, what it leaves out stays unknown."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

from drawbar.job import Appliance, Device, State
from drawbar.physics.water import density_kg_m3
from drawbar.problems import close_to, shown
from drawbar.water_line.water_flow import DEVICE_K
from drawbar.water_line.water_parts import (
    Connection,
    InTurn,
    WaterHeater,
    WaterOutlet,
    WaterPump,
    WaterRun,
    WaterSide,
    WaterSource,
)

if TYPE_CHECKING:
    from drawbar.jobfile.pipework import PipeworkReader
    from drawbar.yamlfile.entry import Entry

NO_PART = "none"
# Heat capacity of what pipes are made of [J/kg/K]: handbook figures, from memory; multilayer as its polyethylene.
_HEAT_J_KG_K = {"copper": 385.0, "steel": 470.0, "polyethylene": 2300.0, "multilayer": 2300.0, "rubber": 2000.0}
_MOST_J_KG_K = 2300.0
_WALL_OF_BORE, _MOST_WALL_KG_M3 = 0.3, 1300.0  # a hose's wall at the most, where its mass is not known: our own choice
_Part = TypeVar("_Part")


def read_water(
    pipework: PipeworkReader, job: Entry, appliances: tuple[Appliance, ...], states: tuple[State, ...]
) -> WaterSide | None:
    """Return the water side of a job, None where it has none or it could not be read.

    Parameters
    ----------
    pipework : PipeworkReader
        The reading that notes problems.
    job : Entry
        The whole job file.
    appliances : tuple of Appliance
        Those of the job.
    states : tuple of State
        Those of the job.

    Returns
    -------
    WaterSide or None
    """
    water = job.table("water")
    return None if water is None else _WaterReader(pipework, water, appliances, states).water_side()


class _WaterReader:
    def __init__(
        self, pipework: PipeworkReader, water: Entry, appliances: tuple[Appliance, ...], states: tuple[State, ...]
    ) -> None:
        self.pipework = pipework
        self.problem = pipework.problem
        self.water = water
        self.appliances = {appliance.name: appliance for appliance in appliances}
        self.states = {state.name: state for state in states}

    def water_side(self) -> WaterSide:
        self.sources = self._parts("sources", self._source)
        self.pumps = self._parts("pumps", self._pump)
        self.runs = self._parts("runs", self._run)
        self.heaters = self._parts("heaters", self._heater)
        self.outlets = self._parts("outlets", self._outlet)
        connections = self._parts("connections", self._connection)
        in_turn = self._in_turn({name: connection for name, connection in connections.items() if connection})
        return WaterSide(
            tuple(run for run in self.runs.values() if run is not None),
            tuple(connection for connection in connections.values() if connection is not None),
            in_turn,
            self.water.quantity("hottest"),
        )

    def _parts(self, section: str, read: Callable[[str, Entry], _Part | None]) -> dict[str, _Part | None]:
        """Return the parts of a section by name, None for one that could not be read."""
        tables = self.water.named_tables(section)
        for name, (_, node) in tables.items():
            if name == NO_PART:
                self.problem(
                    node, ("water", section, name), f"`{NO_PART}` has a meaning of its own", "choose another name"
                )
        return {name: read(name, entry) if entry is not None else None for name, (entry, _) in tables.items()}

    # parts

    def _source(self, name: str, entry: Entry) -> WaterSource:
        volume_m3 = math.inf if entry.is_none("volume") else entry.quantity("volume")
        level_m = entry.ends("level", math.nan) if "level" in entry.nodes else None
        temperature_k = entry.ends("temperature", math.nan) if "temperature" in entry.nodes else None
        return WaterSource(name, volume_m3, level_m, temperature_k)

    def _pump(self, name: str, entry: Entry) -> WaterPump:
        open_m3_s, shut_off_pa = entry.quantity("open-flow"), entry.quantity("shut-off")
        current_a = entry.quantity("current")
        points = [(point.quantity("flow"), point.quantity("pressure")) for point in entry.tables("curve")]
        curve = [(flow, pa) for flow, pa in points if flow is not None and pa is not None]
        if "curve" in entry.nodes:
            for key in ("open-flow", "shut-off"):
                if key in entry.nodes:
                    fit = "leave it out: it is a point of the curve"
                    self.problem(entry.at(key), (*entry.path, key), "stands beside `curve`", fit)
            self._check_curve(entry, curve)
            return WaterPump(name, tuple(curve), is_sketch=False, current_a=current_a)
        if (open_m3_s is None) != (shut_off_pa is None):
            missing = "shut-off" if shut_off_pa is None else "open-flow"
            if {"open-flow", "shut-off"} & entry.nodes.keys() and missing not in entry.nodes:
                fit = f"write `{missing}:` from the maker's sheet; leave both out if they are not known"
                self.problem(entry.node, entry.path, f"`{missing}` is missing", fit)
        if open_m3_s is None or shut_off_pa is None:
            return WaterPump(name, (), is_sketch=False, current_a=current_a)
        return WaterPump(name, ((0.0, shut_off_pa), (open_m3_s, 0.0)), is_sketch=True, current_a=current_a)

    def _check_curve(self, entry: Entry, curve: list[tuple[float, float]]) -> None:
        path, node = (*entry.path, "curve"), entry.at("curve")
        if len(curve) < 2:  # noqa: PLR2004 - a line has two ends
            if len(entry.tables("curve")) == len(curve) > 0:
                self.problem(node, path, "has a single point", "write two or more, or `open-flow:` and `shut-off:`")
            return
        if not all(flow < after and pa > after_pa for (flow, pa), (after, after_pa) in pairwise(curve)):
            fit = "write its points with the flow rising and the pressure falling"
            self.problem(node, path, "does not fall with the flow", fit)

    def _run(self, name: str, entry: Entry) -> WaterRun | None:
        pipes, fittings = self.pipework.pipes(entry), self.pipework.fittings(entry)
        if len(pipes) > 1:
            self.problem(entry.at("pipe"), (*entry.path, "pipe"), "gives several sizes", "write the size that is there")
        length_m = entry.quantity("length")
        devices = tuple(self._device(device) for device in entry.tables("devices"))
        if not pipes or length_m is None:
            return None
        is_known = "devices" in entry.nodes
        wall_j_m_k, wall_known = self._wall_j_m_k(entry, pipes[0].label, pipes[0].bore_m, pipes[0].mass_kg_m)
        return WaterRun(name, pipes[0], length_m, fittings, devices, is_known, wall_j_m_k, wall_known)

    def _wall_j_m_k(self, entry: Entry, label: str, bore_m: float, mass_kg_m: float | None) -> tuple[float, bool]:
        """Return the heat that a metre of wall takes [J/m/K], and whether its mass is known."""
        family = self.pipework.catalogue.pipe_family(label.partition("/")[0])
        heat_j_kg_k = _HEAT_J_KG_K.get(family.material, _MOST_J_KG_K) if family is not None else _MOST_J_KG_K
        given_kg_m = entry.quantity("mass") or mass_kg_m
        if given_kg_m is not None:
            return given_kg_m * heat_j_kg_k, True
        outside_m = bore_m * (1.0 + 2.0 * _WALL_OF_BORE)
        return 0.25 * math.pi * (outside_m**2 - bore_m**2) * _MOST_WALL_KG_M3 * _MOST_J_KG_K, False

    def _device(self, entry: Entry) -> Device:
        name = entry.text("name", "")
        return self._figure(entry, name)

    def _figure(self, entry: Entry, name: str) -> Device:
        """Return a part with its drop at a flow; one that has neither is not known."""
        if entry.is_none("drop"):
            return Device(name, 1.0, 0.0)
        flow_m3_s, drop_pa = entry.quantity("flow"), entry.quantity("drop")
        if ("flow" in entry.nodes) != ("drop" in entry.nodes):
            missing = "drop" if "flow" in entry.nodes else "flow"
            fit = "a maker's figure is a drop at a flow; leave both out if they are not known"
            self.problem(entry.node, entry.path, f"`{missing}` is missing", fit)
        if flow_m3_s is None or drop_pa is None:
            return Device(name, 1.0, 0.0, is_known=False)
        return Device(name, flow_m3_s * density_kg_m3(DEVICE_K), drop_pa)

    def _heater(self, name: str, entry: Entry) -> WaterHeater | None:
        appliance = self.appliances.get(name)
        if appliance is None:
            if self.appliances:  # else what is wrong with them is noted already
                node = self.water.named_tables("heaters")[name][1]
                fit = close_to(name, self.appliances)
                self.problem(node, entry.path, f"there is no appliance {shown(name)}", fit)
            return None
        efficiency = entry.quantity("efficiency")
        if appliance.heats is not None:
            if efficiency is not None and efficiency != appliance.heats.efficiency:
                fit = "write it in a single place"
                self.problem(entry.at("efficiency"), (*entry.path, "efficiency"), "differs from `heats`", fit)
            efficiency = appliance.heats.efficiency
        least_share = 1.0 if entry.is_none("least-input") else entry.quantity("least-input")
        return WaterHeater(
            name=name,
            input_w=appliance.input_w,
            flow_kg_s=appliance.flow_kg_s,
            efficiency=efficiency,
            device=self._figure(entry, name),
            least_flow_m3_s=0.0 if entry.is_none("least-flow") else entry.quantity("least-flow"),
            least_pa=0.0 if entry.is_none("least-pressure") else entry.quantity("least-pressure"),
            least_share=least_share,
        )

    def _outlet(self, name: str, entry: Entry) -> WaterOutlet:
        return WaterOutlet(name, self._figure(entry, name), entry.quantity("height"), entry.quantity("tempered"))

    # connections

    def _named(self, entry: Entry, key: str, parts: Mapping[str, _Part | None]) -> _Part | None:
        """Return the part that a key names; a name that no part has is noted."""
        name = entry.text(key)
        if name is None or name in parts:
            return parts.get(name) if name is not None else None
        what = f"there is no {key} {shown(name)}"
        self.problem(entry.at(key), (*entry.path, key), what, close_to(name, parts) or f"the water has no {key}s")
        return None

    def _runs(self, entry: Entry, key: str) -> tuple[WaterRun, ...]:
        runs: list[WaterRun] = []
        for name, node in entry.names(key):
            if name not in self.runs:
                fit = close_to(name, self.runs) or "the water has no `runs:`"
                self.problem(node, (*entry.path, key), f"there is no run {shown(name)} of water", fit)
            elif (run := self.runs[name]) is not None:
                runs.append(run)
        return tuple(runs)

    def _connection(self, name: str, entry: Entry) -> Connection | None:
        source = self._named(entry, "source", self.sources)
        pump = None if entry.text("pump") == NO_PART else self._named(entry, "pump", self.pumps)
        heater, outlet = self._named(entry, "heater", self.heaters), self._named(entry, "outlet", self.outlets)
        cold, hot = self._runs(entry, "cold"), self._runs(entry, "hot")
        together_with = self._together_with(name, entry)
        on_s, every_s = entry.quantity("for"), entry.quantity("every")
        if "every" in entry.nodes and "for" not in entry.nodes:
            fit = "write how long it is on as well, as `for: 5 min`"
            self.problem(entry.at("every"), (*entry.path, "every"), "stands without `for`", fit)
        elif on_s is not None and every_s is not None and every_s < on_s:
            fit = "write the time from one start to the next"
            self.problem(entry.at("every"), (*entry.path, "every"), "is shorter than `for`", fit)
        set_share = entry.quantity("set")
        least_share = heater.least_share if heater is not None else None
        if set_share is not None and least_share is not None and set_share < least_share * (1.0 - 1e-9):
            what = f"is below the {least_share * 100:g} % of `least-input`"
            self.problem(entry.at("set"), (*entry.path, "set"), what, "write what it can be set to")
        if source is None or heater is None or outlet is None or (pump is None and entry.text("pump") != NO_PART):
            return None
        return Connection(
            name=name,
            source=source,
            pump=pump,
            cold=cold,
            hot=hot,
            heater=heater,
            outlet=outlet,
            wanted_k=entry.ends("wanted", math.nan) if entry.get("wanted") is not None else None,
            is_wanted_known="wanted" in entry.nodes,
            set_share=set_share,
            on_s=on_s,
            every_s=every_s,
            measured_m3_s=entry.quantity("measured"),
            together_with=together_with,
        )

    def _together_with(self, name: str, entry: Entry) -> tuple[str, ...] | None:
        """Return the appliances that are on with a connection; None where it is no state of the gas side."""
        if "with" not in entry.nodes:
            return None
        if name in self.states:
            node = self.water.named_tables("connections")[name][1]
            self.problem(node, entry.path, "the name is taken by one of the states", "choose another")
        beside: list[str] = []
        for appliance, node in entry.names("with"):
            if appliance not in self.appliances:
                if self.appliances:
                    fit = close_to(appliance, self.appliances)
                    self.problem(node, (*entry.path, "with"), f"there is no appliance {shown(appliance)}", fit)
            elif appliance == entry.text("heater") or appliance in beside:
                self.problem(node, (*entry.path, "with"), f"{shown(appliance)} is on already", "name it once")
            else:
                beside.append(appliance)
        return tuple(beside)

    def _in_turn(self, connections: Mapping[str, Connection]) -> tuple[InTurn, ...]:
        """Return what is used one after the other; each step must be a state that says how long it is on."""
        known = {name: state.on_s for name, state in self.states.items()}
        known |= {name: each.on_s for name, each in connections.items() if each.together_with is not None}
        in_turn = []
        for name, (entry, _) in self.water.named_tables("in-turn").items():
            if entry is None:
                continue
            for step, node in entry.names("use"):
                path = (*entry.path, "use")
                if step not in known:
                    fit = close_to(step, known)
                    if step in connections:
                        fit = "write `with: none`, or what is on with it, at that connection"
                    self.problem(node, path, f"{shown(step)} is not a state", fit)
                elif known[step] is None:
                    self.problem(node, path, f"{shown(step)} does not say how long it is on", "write its `for:`")
            in_turn.append(InTurn(name, tuple(step for step, _ in entry.names("use")), entry.quantity("pause", 0.0)))
        return tuple(in_turn)
