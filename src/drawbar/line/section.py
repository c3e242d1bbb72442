"""A stretch of pipe with its fittings and devices: what it takes at a flow, and the pressures at its ends.

A section is what gas passes in one piece: a run, the devices of an outlet, a hose. It takes its drop in this order:
pipe friction, devices, height. The flow in a section does not depend on the pressure, so what a section takes at a
flow is worked out once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from drawbar.job import Device, Fitting, Job, Pipe
from drawbar.physics.air import GRAVITY
from drawbar.physics.flow import Loss, inlet_abs_pa, outlet_abs_pa, regime, reynolds, velocity_m_s
from drawbar.physics.formulas import FORMULAS
from drawbar.physics.gas import Vapour


class Conditions(NamedTuple):
    """What is the same all over a job: the formula, the gas at the site's temperature, the air around it."""

    formula: Callable[..., Loss]
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
        found = self._losses.get(flow_kg_s)
        if found is None:
            pipe, conditions = self.pipe, self._conditions
            found = conditions.formula(
                flow_kg_s,
                pipe.bore_m,
                pipe.roughness_m,
                self.length_m + self.fittings_m,
                conditions.vapour,
                self.stage_gauge_pa,
                conditions.atmospheric_pa,
            )
            self._losses[flow_kg_s] = found
        return found

    def devices_pa(self, flow_kg_s: float) -> float:
        """Return what the devices take [Pa] at a mass flow [kg/s]."""
        return self._pa_per_flow2 * flow_kg_s * flow_kg_s

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
