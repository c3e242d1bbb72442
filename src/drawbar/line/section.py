"""A stretch of pipe with its fittings and devices: what it takes at a flow, and the pressures at its ends.

A section is what gas passes in one piece: a run, the devices of an outlet, a hose. It takes its drop in this order:
pipe friction, devices, height. The flow in a section does not depend on the pressure, so what a section takes at a
flow is worked out once.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from drawbar.job import Device, Hose, Job, Outlet, Pipe, Run
from drawbar.physics.air import GRAVITY
from drawbar.physics.flow import Loss, PipeFlow, device_drop_pa, inlet_abs_pa, outlet_abs_pa, velocity_m_s
from drawbar.physics.formulas import FORMULAS
from drawbar.physics.friction import regime, reynolds
from drawbar.physics.gas import Vapour
from drawbar.rules import CodeMethod
from drawbar.site import Uphill


class Conditions(NamedTuple):
    """What is the same all over a job: the formula, the gas at the site's temperature, the air around it.

    Attributes
    ----------
    formula : Callable
        The pressure-drop formula.
    vapour : Vapour
        The gas in the pipe.
    atmospheric_pa : float
        Pressure of the air [Pa absolute].
    air_density_kg_m3 : float
        Density of the air outside [kg/m3].
    uphill : Uphill or None
        What the height of a rising section counts by, if not by these.
    code_vapour : Vapour or None
        The gas as the rule's code counts it, for the formula alone; None where the formula takes the real gas.
    """

    formula: Callable[[PipeFlow], Loss]
    vapour: Vapour
    atmospheric_pa: float
    air_density_kg_m3: float
    uphill: Uphill | None = None
    code_vapour: Vapour | None = None

    @property
    def vapour_of_formula(self) -> Vapour:
        """The gas that the formula counts with: the code's own where the rule's method is asked, else the real gas."""
        return self.code_vapour or self.vapour

    @classmethod
    def of(cls, job: Job, formula: str | None = None) -> Conditions:
        """Return the conditions of a job, with another formula than the job's if one is named."""
        name = formula or job.formula
        return _conditions(job, FORMULAS[name].function, code_method(job, name))

    def at(self, job: Job) -> Conditions:
        """Return the same formula in the conditions of another job."""
        method = job.rule.method if job.rule is not None and self.code_vapour is not None else None
        return _conditions(job, self.formula, method)


def code_method(job: Job, formula: str) -> CodeMethod | None:
    """Return the method of a job's rule where the formula is the method's and the gas is the one that it is for."""
    method = job.rule.method if job.rule is not None else None
    if method is None or method.formula != formula:
        return None
    return method if [component.name for component, _ in job.gas.fractions] == [method.gas] else None


def _conditions(job: Job, formula: Callable[[PipeFlow], Loss], method: CodeMethod | None) -> Conditions:
    code_vapour = method.vapour(job.vapour) if method is not None else None
    return Conditions(formula, job.vapour, job.atmospheric_pa, job.air_density_kg_m3, job.uphill, code_vapour)


class Section:
    """A stretch of pipe with its fittings, devices and rise, at one stage pressure.

    Attributes
    ----------
    name : str
        That of the run, outlet or hose it is.
    pipe : Pipe
        Its bore and roughness; an outlet's fittings count by the bore of the run it is on.
    length_m : float
        Length of pipe [m]; an outlet has none.
    fittings_m : float
        Equivalent length of the fittings [m]: (L/D) x bore, over all of them.
    rise_m : float
        Height gained from start to end [m].
    stage_gauge_pa : float
        Set pressure of the regulator that feeds it [Pa gauge].
    conditions : Conditions
        The formula, the gas and the air around it.
    """

    __slots__ = (
        "_losses",
        "_outlets",
        "_pa_per_flow2",
        "conditions",
        "fittings_m",
        "length_m",
        "name",
        "pipe",
        "rise_m",
        "stage_gauge_pa",
    )

    def __init__(
        self,
        piece: Run | Outlet | Hose,
        pipe: Pipe,
        stage_gauge_pa: float,
        conditions: Conditions,
        extra_m: float = 0.0,
    ) -> None:
        self.name = piece.name
        self.pipe = pipe
        if isinstance(piece, Outlet):
            self.length_m = self.rise_m = 0.0
        else:
            self.length_m, self.rise_m = piece.length_m + extra_m, piece.rise_m
        self.fittings_m = pipe.bore_m * sum([fitting.ratio * count for fitting, count in piece.fittings])
        self.stage_gauge_pa = stage_gauge_pa
        self.conditions = conditions
        self._pa_per_flow2 = sum(map(self.device_pa_per_flow2, piece.devices))
        self._losses: dict[float, Loss] = {}
        self._outlets: dict[tuple[float, float], float] = {}

    @property
    def sort(self) -> tuple[float, ...]:
        """What it takes goes by these figures alone, at the same flow and pressure in the same conditions."""
        pipe, length_m = self.pipe, self.length_m + self.fittings_m
        return pipe.bore_m, pipe.roughness_m, length_m, self.rise_m, self._pa_per_flow2, self.stage_gauge_pa

    def loss(self, flow_kg_s: float) -> Loss:
        """Return what the pipe and its fittings take at a mass flow [kg/s], by the job's formula."""
        loss = self._losses.get(flow_kg_s)
        if loss is None:
            loss = self._losses[flow_kg_s] = self.conditions.formula(self.pipe_flow(flow_kg_s))
        return loss

    def pipe_flow(self, flow_kg_s: float) -> PipeFlow:
        """Return a mass flow [kg/s] in this pipe, as the formulas take it."""
        pipe, length_m = self.pipe, self.length_m + self.fittings_m
        vapour, air_pa = self.conditions.vapour_of_formula, self.conditions.atmospheric_pa
        return PipeFlow(flow_kg_s, pipe.bore_m, pipe.roughness_m, length_m, vapour, self.stage_gauge_pa, air_pa)

    def device_pa_per_flow2(self, device: Device) -> float:
        """Return the drop of a device over mass flow squared [Pa s2/kg2], by the density of the gas at the site."""
        return device.pa_per_flow2 * self.thin_gas_factor(device)

    def thin_gas_factor(self, device: Device) -> float:
        """Return by how much the gas is thinner at the site than where a device's figure is for [-].

        The density at the pressure of the figure, 15 degC and the sea, over that at the pressure of the stage there.
        """
        figure_pa = self.stage_gauge_pa if device.at_gauge_pa is None else device.at_gauge_pa
        vapour, atmospheric_pa = self.conditions.vapour, self.conditions.atmospheric_pa
        return vapour.sea_density_kg_m3(figure_pa) / vapour.density_kg_m3(atmospheric_pa + self.stage_gauge_pa)

    def devices_pa(self, flow_kg_s: float) -> float:
        """Return what the devices take [Pa] at a mass flow [kg/s]."""
        return device_drop_pa(flow_kg_s, self._pa_per_flow2) if self._pa_per_flow2 else 0.0

    def height_pa(self, abs_pa: float) -> float:
        """Return what the rise takes [Pa]: (density of gas - density of air) x g x rise; less than 0 downhill."""
        if not self.rise_m:
            return 0.0
        conditions = self.conditions
        uphill = conditions.uphill
        if uphill is not None and self.rise_m > 0.0:
            heaviest_kg_m3 = uphill.vapour.density_kg_m3(abs_pa - conditions.atmospheric_pa + uphill.atmospheric_pa)
            return (heaviest_kg_m3 - uphill.air_density_kg_m3) * GRAVITY * self.rise_m
        return (conditions.vapour.density_kg_m3(abs_pa) - conditions.air_density_kg_m3) * GRAVITY * self.rise_m

    def outlet_abs_pa(self, inlet_pa: float, flow_kg_s: float) -> float:
        """Return the absolute pressure at the end [Pa] for a mass flow [kg/s]; 0 where so much can't pass at all."""
        key = (inlet_pa, flow_kg_s)
        outlet_pa = self._outlets.get(key)
        if outlet_pa is None:
            before_rise_pa = outlet_abs_pa(inlet_pa, self.loss(flow_kg_s)) - self.devices_pa(flow_kg_s)
            outlet_pa = max(0.0, before_rise_pa - self.height_pa(before_rise_pa)) if before_rise_pa > 0.0 else 0.0
            self._outlets[key] = outlet_pa
        return outlet_pa

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
        """Return a drop [Pa] that the section does not go below while its pressures stay between two [Pa absolute].

        Friction is least where the pressure is highest, and the height's part goes straight with pressure. Infinite
        if so much gas [kg/s] can't pass.
        """
        after_pipe = outlet_abs_pa(highest_pa, self.loss(flow_kg_s))
        if after_pipe <= 0.0:
            return float("inf")
        height_pa = min(self.height_pa(lowest_pa), self.height_pa(highest_pa))
        return highest_pa - after_pipe + self.devices_pa(flow_kg_s) + height_pa


class SectionFlow(NamedTuple):
    """One section with the flow through it and the pressures at its ends: a row of the working.

    Attributes
    ----------
    section : Section
        The run, outlet or hose.
    start : str
        The point that it starts from.
    flow_kg_s : float
        Mass flow [kg/s].
    inlet_abs_pa, outlet_abs_pa : float
        Pressures at its start and its end [Pa absolute].
    friction_pa, devices_pa, height_pa : float
        What pipe and fittings, devices, and the rise take [Pa].
    velocity_m_s : float
        Velocity at its end, where the gas is fastest [m/s].
    reynolds : float
        Reynolds number [-].
    regime : str
        `no flow`, `laminar`, `transition`, `turbulent`, or `choked` where so much can't pass.
    """

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


def section_flow(section: Section, start: str, inlet_pa: float, flow_kg_s: float) -> SectionFlow:
    """Return a section's flow in full, for a report.

    Parameters
    ----------
    section : Section
        The run, outlet or hose.
    start : str
        The point that it starts from.
    inlet_pa : float
        Pressure at its start [Pa absolute].
    flow_kg_s : float
        Mass flow [kg/s].

    Returns
    -------
    SectionFlow
        The losses one by one, and the velocity at the end, where the gas is fastest [SI].
    """
    vapour = section.conditions.vapour
    outlet_pa = section.outlet_abs_pa(inlet_pa, flow_kg_s)
    after_pipe_pa = outlet_abs_pa(inlet_pa, section.loss(flow_kg_s))
    number = reynolds(flow_kg_s, section.pipe.bore_m, vapour.viscosity_pa_s)
    choked = outlet_pa <= 0.0
    devices_pa = 0.0 if choked else section.devices_pa(flow_kg_s)
    speed_m_s = 0.0 if choked else velocity_m_s(flow_kg_s, section.pipe.bore_m, vapour.density_kg_m3(outlet_pa))
    return SectionFlow(
        section=section,
        start=start,
        flow_kg_s=flow_kg_s,
        inlet_abs_pa=inlet_pa,
        outlet_abs_pa=outlet_pa,
        friction_pa=inlet_pa - after_pipe_pa,
        devices_pa=devices_pa,
        height_pa=0.0 if choked else after_pipe_pa - devices_pa - outlet_pa,
        velocity_m_s=speed_m_s,
        reynolds=number,
        regime="choked" if choked else regime(number),
    )
