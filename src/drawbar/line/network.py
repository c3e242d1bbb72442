"""One line of pipe, solved: flows from the appliances up to the regulator, then pressures from the regulator down.

A part is a stretch that gas passes in one piece: a run, the devices of an outlet, a hose. Each takes its drop in this
order: pipe friction, devices, height. The flow in a part does not depend on the pressure, so what a part takes at a
flow is worked out once.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from drawbar.job import Device, Fitting, Hose, Job, Outlet, Pipe, Run
from drawbar.physics.air import GRAVITY
from drawbar.physics.flow import Loss, PipeFlow, device_drop_pa, inlet_abs_pa, outlet_abs_pa, velocity_m_s
from drawbar.physics.formulas import FORMULAS
from drawbar.physics.friction import regime, reynolds
from drawbar.physics.gas import Vapour


class Conditions(NamedTuple):
    """What is the same all over a job: the formula, the gas at the site's temperature, the air around it."""

    formula: Callable[[PipeFlow], Loss]
    vapour: Vapour
    atmospheric_pa: float
    air_density_kg_m3: float

    @classmethod
    def of(cls, job: Job, formula: str | None = None) -> Conditions:
        """Return the conditions of a job, with another formula than the job's if one is named."""
        return cls(FORMULAS[formula or job.formula].function, job.vapour, job.atmospheric_pa, job.air_density_kg_m3)


class Section:
    """A stretch of pipe with its fittings, devices and rise, at one stage pressure.

    length_m : pipe [m]; fittings_m : equivalent length of the fittings [m]
    """

    __slots__ = (
        "_conditions",
        "_losses",
        "_outlets",
        "_pa_per_flow2",
        "fittings_m",
        "length_m",
        "name",
        "pipe",
        "rise_m",
        "stage_gauge_pa",
    )

    def __init__(
        self,
        name: str,
        pipe: Pipe,
        length_m: float,
        rise_m: float,
        fittings: Sequence[tuple[Fitting, int]],
        devices: Sequence[Device],
        stage_gauge_pa: float,
        conditions: Conditions,
    ) -> None:
        self.name = name
        self.pipe = pipe
        self.length_m = length_m
        self.fittings_m = pipe.bore_m * sum(fitting.ratio * count for fitting, count in fittings)
        self.rise_m = rise_m
        self.stage_gauge_pa = stage_gauge_pa
        self._pa_per_flow2 = sum(device.pa_per_flow2 for device in devices)
        self._conditions = conditions
        self._losses: dict[float, Loss] = {}
        self._outlets: dict[tuple[float, float], float] = {}

    def loss(self, flow_kg_s: float) -> Loss:
        """Return what the pipe and its fittings take at a mass flow [kg/s], by the job's formula."""
        loss = self._losses.get(flow_kg_s)
        if loss is None:
            loss = self._losses[flow_kg_s] = self._conditions.formula(self.pipe_flow(flow_kg_s))
        return loss

    def pipe_flow(self, flow_kg_s: float) -> PipeFlow:
        """Return a mass flow [kg/s] in this pipe, as the formulas take it."""
        pipe, length_m = self.pipe, self.length_m + self.fittings_m
        return PipeFlow(
            flow_kg_s, pipe.bore_m, pipe.roughness_m, length_m, self._conditions.vapour, self.stage_gauge_pa
        )

    def devices_pa(self, flow_kg_s: float) -> float:
        """Return what the devices take [Pa] at a mass flow [kg/s]."""
        return device_drop_pa(flow_kg_s, self._pa_per_flow2) if self._pa_per_flow2 else 0.0

    def height_pa(self, abs_pa: float) -> float:
        """Return what the rise takes [Pa]: (density of gas - density of air) x g x rise; less than 0 downhill."""
        if not self.rise_m:
            return 0.0
        conditions = self._conditions
        return (conditions.vapour.density_kg_m3(abs_pa) - conditions.air_density_kg_m3) * GRAVITY * self.rise_m

    def outlet_abs_pa(self, inlet_pa: float, flow_kg_s: float) -> float:
        """Return the absolute pressure at the end [Pa] for a mass flow [kg/s]; 0 where so much can't pass at all."""
        key = (inlet_pa, flow_kg_s)
        found = self._outlets.get(key)
        if found is None:
            found = outlet_abs_pa(inlet_pa, self.loss(flow_kg_s)) - self.devices_pa(flow_kg_s)
            found = max(0.0, found - self.height_pa(found)) if found > 0.0 else 0.0
            self._outlets[key] = found
        return found

    def inlet_abs_pa(self, outlet_pa: float, flow_kg_s: float) -> float:
        """Return the least absolute pressure at the start [Pa] that gives outlet_pa at the end, for a flow [kg/s]."""
        before_height = outlet_pa
        if self.rise_m:
            # What the height takes goes all but straight with the pressure, so a secant step is right to the last
            # digits.
            first = self.height_pa(outlet_pa)
            second = self.height_pa(outlet_pa + first)
            before_height += first if second == first else first * first / (2.0 * first - second)
        return inlet_abs_pa(before_height + self.devices_pa(flow_kg_s), self.loss(flow_kg_s))

    def least_drop_pa(self, flow_kg_s: float, lowest_pa: float, highest_pa: float) -> float:
        """Return a drop [Pa] that the part does not go below while its pressures stay between two [Pa absolute].

        Friction is least where the pressure is highest, and the height's part goes straight with pressure. Infinite
        if so much gas [kg/s] can't pass.
        """
        after_pipe = outlet_abs_pa(highest_pa, self.loss(flow_kg_s))
        if after_pipe <= 0.0:
            return float("inf")
        height_pa = min(self.height_pa(lowest_pa), self.height_pa(highest_pa))
        return highest_pa - after_pipe + self.devices_pa(flow_kg_s) + height_pa


class SectionFlow(NamedTuple):
    """One part with the flow through it and the pressures at its ends: a row of the working."""

    section: Section
    start: str
    flow_kg_s: float
    inlet_abs_pa: float
    outlet_abs_pa: float
    friction_pa: float
    devices_pa: float
    height_pa: float
    velocity_m_s: float
    reynolds: float
    regime: str

    @property
    def drop_pa(self) -> float:
        """Drop from start to end [Pa]."""
        return self.inlet_abs_pa - self.outlet_abs_pa


def section_flow(part: Section, start: str, inlet_pa: float, flow_kg_s: float, conditions: Conditions) -> SectionFlow:
    """Return a part's flow in full, for a report; the velocity is at its end, where the gas is fastest.

    inlet_pa : pressure at its start [Pa absolute]; flow_kg_s : mass flow [kg/s]
    """
    outlet_pa = part.outlet_abs_pa(inlet_pa, flow_kg_s)
    after_pipe = outlet_abs_pa(inlet_pa, part.loss(flow_kg_s))
    number = reynolds(flow_kg_s, part.pipe.bore_m, conditions.vapour.viscosity_pa_s)
    density_kg_m3 = conditions.vapour.density_kg_m3(outlet_pa)
    choked = outlet_pa <= 0.0
    devices_pa = 0.0 if choked else part.devices_pa(flow_kg_s)
    return SectionFlow(
        section=part,
        start=start,
        flow_kg_s=flow_kg_s,
        inlet_abs_pa=inlet_pa,
        outlet_abs_pa=outlet_pa,
        friction_pa=inlet_pa - after_pipe,
        devices_pa=devices_pa,
        height_pa=0.0 if choked else after_pipe - devices_pa - outlet_pa,
        velocity_m_s=0.0 if choked else velocity_m_s(flow_kg_s, part.pipe.bore_m, density_kg_m3),
        reynolds=number,
        regime="choked" if choked else regime(number),
    )


class Line:
    """The tree of a job's runs with one pipe for each, to be solved for any flows at the ends.

    Runs are counted in the job's order, in which each comes after the one it starts from.
    paths : for each point, the runs from the regulator to it, in order
    """

    def __init__(
        self,
        job: Job,
        pipes: Mapping[str, Pipe] | None = None,
        formula: str | None = None,
    ) -> None:
        self.job = job
        self.conditions = Conditions.of(job, formula)
        self.index = {run.name: number for number, run in enumerate(job.runs)}
        self.parents = [self.index.get(run.start, -1) for run in job.runs]
        self.paths: list[tuple[int, ...]] = []
        self.stage_gauge_pa: list[float] = []
        self.sections: list[Section] = []
        pipes = pipes or {}
        for number, run in enumerate(job.runs):
            parent = self.parents[number]
            self.paths.append((*(self.paths[parent] if parent >= 0 else ()), number))
            before = self.stage_gauge_pa[parent] if parent >= 0 else job.regulator.outlet_gauge_pa
            self.stage_gauge_pa.append(run.regulator.outlet_gauge_pa if run.regulator else before)
            self.sections.append(self._run_part(run, number, pipes.get(run.name, run.pipes[0])))
        self.stages = [number for number, run in enumerate(job.runs) if run.regulator is not None]
        self.source_abs_pa = job.regulator.outlet_gauge_pa + job.atmospheric_pa
        self._tails: dict[tuple[str, str], tuple[Section, ...]] = {}

    def lengthened(self, number: int, extra_m: float) -> Section:
        """Return the part of a run that is longer by so much [m]."""
        return self._run_part(self.job.runs[number], number, self.sections[number].pipe, extra_m)

    def with_longer(self, number: int, extra_m: float) -> Line:
        """Return the line with one run longer by so much [m]; the other parts, and what they know, are the same."""
        line = copy.copy(self)
        line.sections = list(self.sections)
        line.sections[number] = self.lengthened(number, extra_m)
        return line

    def _run_part(self, run: Run, number: int, pipe: Pipe, extra_m: float = 0.0) -> Section:
        stage_pa = self.stage_gauge_pa[number]
        return Section(
            run.name, pipe, run.length_m + extra_m, run.rise_m, run.fittings, run.devices, stage_pa, self.conditions
        )

    def stage_of(self, number: int) -> int:
        """Return the run at whose start the regulator is that feeds a run, -1 for the first regulator."""
        return next((n for n in reversed(self.paths[number]) if n in self.stages), -1)

    def tail(self, outlet: Outlet, hose: Hose | None) -> tuple[Section, ...]:
        """Return the parts between a run's end and a plugged appliance: the outlet's, then the hose."""
        key = (outlet.name, hose.name if hose else "")
        found = self._tails.get(key)
        if found is None:
            number = self.index[outlet.at]
            stage_pa = self.stage_gauge_pa[number]
            own = Section(
                outlet.name,
                self.sections[number].pipe,
                0.0,
                0.0,
                outlet.fittings,
                outlet.devices,
                stage_pa,
                self.conditions,
            )
            found = (own,)
            if hose is not None:
                hose_part = Section(
                    hose.name,
                    hose.pipe,
                    hose.length_m,
                    hose.rise_m,
                    hose.fittings,
                    hose.devices,
                    stage_pa,
                    self.conditions,
                )
                found = (own, hose_part)
            self._tails[key] = found
        return found

    def flows(self, draws: Sequence[tuple[int, float]]) -> list[float]:
        """Return the mass flow in every run [kg/s] for draws of (run at whose end it is, mass flow)."""
        flows = [0.0] * len(self.sections)
        for at, flow_kg_s in draws:
            for number in self.paths[at]:
                flows[number] += flow_kg_s
        return flows

    def inlet_pa(self, number: int, outlets_pa: Sequence[float]) -> float:
        """Return the absolute pressure at the start of a run [Pa], behind its regulator if it has one."""
        return self.behind_regulator_pa(number, self.before_regulator_pa(number, outlets_pa))

    def before_regulator_pa(self, number: int, outlets_pa: Sequence[float]) -> float:
        """Return the absolute pressure where a run starts, before its regulator if it has one [Pa]."""
        parent = self.parents[number]
        return outlets_pa[parent] if parent >= 0 else self.source_abs_pa

    def behind_regulator_pa(self, number: int, before_pa: float) -> float:
        """Return the absolute pressure that a run's own regulator makes of that before it [Pa], if it has one."""
        if self.job.runs[number].regulator is None:
            return before_pa
        return self.stage_gauge_pa[number] + self.conditions.atmospheric_pa

    def solve(self, flows: Sequence[float]) -> list[float]:
        """Return the absolute pressure at the end of every run [Pa] for a mass flow in each [kg/s]."""
        outlets: list[float] = []
        for number, part in enumerate(self.sections):
            outlets.append(part.outlet_abs_pa(self.inlet_pa(number, outlets), flows[number]))
        return outlets

    def working(self, flows: Sequence[float]) -> list[SectionFlow]:
        """Return every run's flow, pressures and losses in full."""
        outlets = self.solve(flows)
        return [
            section_flow(
                part, self.job.runs[number].start, self.inlet_pa(number, outlets), flows[number], self.conditions
            )
            for number, part in enumerate(self.sections)
        ]
