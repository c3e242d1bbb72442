"""The flow that a water line settles at: the pump's curve and the height against friction and devices.

Along the line mass flow is the same; a flow by volume is that of the cold water, as the pump gives it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from drawbar.job import Device
from drawbar.physics.air import GRAVITY
from drawbar.physics.friction import LAMINAR_BELOW, TURBULENT_ABOVE, friction_factor, regime, reynolds
from drawbar.physics.water import density_kg_m3, viscosity_pa_s
from drawbar.water_line.pump_curve import PumpCurve, pump_pressure_pa
from drawbar.water_line.water_parts import WaterRun

DEVICE_K = 288.15
"""The water that makers' figures are taken with [K]."""
_CLOSE = 1e-10  # of the flow
_MOST_M3_S = 0.01  # 600 L/min: no line of these jobs passes as much
_TURNS = 60


class WaterStretch(NamedTuple):
    """A run, a heater or an outlet as the water meets it.

    Attributes
    ----------
    name : str
        The run's, the heater's or the outlet's.
    bore_m, roughness_m : float
        Of its pipe [m]; nought where it has none.
    length_m : float
        Of pipe, with what its fittings count for [m].
    pa_per_flow2 : float
        What its devices take by mass flow squared, at DEVICE_K [Pa s2/kg2].
    is_hot : bool
        Whether it is behind the heater.
    critical_reynolds : float
        Below which the flow in it is counted as laminar [-].
    """

    name: str
    bore_m: float
    roughness_m: float
    length_m: float
    pa_per_flow2: float
    is_hot: bool
    critical_reynolds: float = LAMINAR_BELOW


class StretchDrop(NamedTuple):
    """What a stretch takes at a flow.

    Attributes
    ----------
    stretch : WaterStretch
        The stretch.
    temperature_k : float
        Of the water in it [K].
    velocity_m_s, reynolds : float
        In its pipe [m/s], [-]; nought where it has none.
    regime : str
        As `drawbar.physics.friction.regime`.
    friction_pa, devices_pa : float
        What pipe and fittings, and what devices take [Pa].
    """

    stretch: WaterStretch
    temperature_k: float
    velocity_m_s: float
    reynolds: float
    regime: str
    friction_pa: float
    devices_pa: float

    @property
    def drop_pa(self) -> float:
        """All that it takes [Pa]."""
        return self.friction_pa + self.devices_pa


class WaterLine(NamedTuple):
    """A line to be solved.

    Attributes
    ----------
    curve : sequence of tuple of float, or None
        The pump's; None where the water runs by its height.
    stretches : tuple of WaterStretch
        From the source to the outlet, the cold ones first.
    level_m, height_m : float
        Of the source's water and of the outlet over the heater [m].
    cold_k : float
        The source's water [K].
    hot_k : callable
        From the flow [m3/s] to the water behind the heater [K], as its viscosity counts.
    """

    curve: PumpCurve | None
    stretches: tuple[WaterStretch, ...]
    level_m: float
    height_m: float
    cold_k: float
    hot_k: Callable[[float], float]

    @property
    def lift_pa(self) -> float:
        """What the height of the source over the outlet gives, under nought where it takes [Pa]."""
        return density_kg_m3(self.cold_k) * GRAVITY * (self.level_m - self.height_m)


class WorkingPoint(NamedTuple):
    """Where a line settles.

    Attributes
    ----------
    flow_m3_s : float
        Of cold water [m3/s]; nought where the pump does not lift it.
    pump_pa : float
        What the pump gives [Pa].
    heater_pa : float
        Pressure at the heater's inlet [Pa gauge].
    drops : tuple of StretchDrop
        What each stretch takes.
    """

    flow_m3_s: float
    pump_pa: float
    heater_pa: float
    drops: tuple[StretchDrop, ...]


def run_stretch(run: WaterRun, *, is_hot: bool) -> WaterStretch:
    """Return a run as the water meets it; a device that is not known takes nothing."""
    fittings_m = sum(fitting.ratio * count for fitting, count in run.fittings) * run.pipe.bore_m
    taken = sum(device.pa_per_flow2 for device in run.devices)
    return WaterStretch(run.name, run.pipe.bore_m, run.pipe.roughness_m, run.length_m + fittings_m, taken, is_hot)


def device_stretch(name: str, device: Device, *, is_hot: bool) -> WaterStretch:
    """Return a heater or an outlet as the water meets it."""
    return WaterStretch(name, 0.0, 0.0, 0.0, device.pa_per_flow2, is_hot)


def stretch_drop(stretch: WaterStretch, mass_kg_s: float, temperature_k: float) -> StretchDrop:
    """Return what a stretch takes at a flow.

    dp = f (L / d) 8 m^2 / (pi^2 d^4 rho), and c m^2 rho0 / rho for devices

    f is the friction factor [-], L the length with that of the fittings [m], d the bore [m], m the mass flow [kg/s],
    rho the density [kg/m3], c the devices' drop by mass flow squared at the density rho0.

    Parameters
    ----------
    stretch : WaterStretch
        The stretch.
    mass_kg_s : float
        m, mass flow [kg/s].
    temperature_k : float
        Of the water [K].

    Returns
    -------
    StretchDrop

    References
    ----------
    Darcy-Weisbach; water by IAPWS SR6-08(2011).
    """
    velocity_m_s, number, friction_pa, devices_pa = _taken(stretch, mass_kg_s, temperature_k)
    flow = regime(number) if number else "no flow"
    return StretchDrop(stretch, temperature_k, velocity_m_s, number, flow, friction_pa, devices_pa)


def _taken(stretch: WaterStretch, mass_kg_s: float, temperature_k: float) -> tuple[float, float, float, float]:
    """Return velocity [m/s], Reynolds number [-], and what pipe and devices take [Pa]; bare, as halving asks often."""
    rho = density_kg_m3(temperature_k)
    devices_pa = stretch.pa_per_flow2 * mass_kg_s**2 * density_kg_m3(DEVICE_K) / rho
    if stretch.bore_m <= 0.0 or mass_kg_s <= 0.0:
        return 0.0, 0.0, 0.0, devices_pa
    bore_m = stretch.bore_m
    number = reynolds(mass_kg_s, bore_m, viscosity_pa_s(temperature_k))
    factor = friction_factor(number, stretch.roughness_m / bore_m, stretch.critical_reynolds)
    velocity_m_s = mass_kg_s / (rho * 0.25 * math.pi * bore_m**2)
    friction_pa = factor * stretch.length_m / bore_m * 0.5 * rho * velocity_m_s**2
    return velocity_m_s, number, friction_pa, devices_pa


def line_drops(line: WaterLine, flow_m3_s: float) -> tuple[StretchDrop, ...]:
    """Return what each stretch of a line takes at a flow of cold water [m3/s]."""
    mass_kg_s, hot_k = _mass_and_heat(line, flow_m3_s)
    return tuple(
        stretch_drop(stretch, mass_kg_s, hot_k if stretch.is_hot else line.cold_k) for stretch in line.stretches
    )


def _mass_and_heat(line: WaterLine, flow_m3_s: float) -> tuple[float, float]:
    """Return the mass flow [kg/s] and the temperature behind the heater [K] at a flow of cold water [m3/s]."""
    hot_k = line.hot_k(flow_m3_s) if flow_m3_s > 0.0 else line.cold_k
    return density_kg_m3(line.cold_k) * flow_m3_s, hot_k


def left_pa(line: WaterLine, flow_m3_s: float) -> float:
    """Return what pump and height give at a flow over what the line takes [Pa]."""
    pump_pa = pump_pressure_pa(line.curve, flow_m3_s) if line.curve is not None else 0.0
    mass_kg_s, hot_k = _mass_and_heat(line, flow_m3_s)
    taken_pa = 0.0
    for stretch in line.stretches:
        _, _, friction_pa, devices_pa = _taken(stretch, mass_kg_s, hot_k if stretch.is_hot else line.cold_k)
        taken_pa += friction_pa + devices_pa
    return pump_pa + line.lift_pa - taken_pa


def working_point(line: WaterLine) -> WorkingPoint:
    """Return where a line settles: where what pump and height give is what the line takes.

    Found by halving, as what is left falls with the flow, and jumps down where the flow becomes turbulent.

    Parameters
    ----------
    line : WaterLine
        The line.

    Returns
    -------
    WorkingPoint
        With no flow where pump and height don't lift the water to the outlet.
    """
    flow_m3_s = 0.0
    asked = line._replace(stretches=_of_one_pipe_together(line.stretches))
    if left_pa(asked, 0.0) > 0.0:
        low, high = 0.0, _MOST_M3_S
        for _ in range(_TURNS):
            middle = 0.5 * (low + high)
            low, high = (middle, high) if left_pa(asked, middle) > 0.0 else (low, middle)
            if high - low < _CLOSE * high:
                break
        flow_m3_s = low
    return point_at(line, flow_m3_s)


def _of_one_pipe_together(stretches: Sequence[WaterStretch]) -> tuple[WaterStretch, ...]:
    """Return stretches with those of the same pipe and temperature as one, which takes what they do."""
    together: dict[WaterStretch, WaterStretch] = {}
    for stretch in stretches:
        kind = stretch._replace(name="", length_m=0.0, pa_per_flow2=0.0)
        whole = together.get(kind, kind)
        together[kind] = whole._replace(
            length_m=whole.length_m + stretch.length_m, pa_per_flow2=whole.pa_per_flow2 + stretch.pa_per_flow2
        )
    return tuple(together.values())


def point_at(line: WaterLine, flow_m3_s: float) -> WorkingPoint:
    """Return pressures and drops of a line at a flow of cold water [m3/s]."""
    drops = line_drops(line, flow_m3_s)
    pump_pa = pump_pressure_pa(line.curve, flow_m3_s) if line.curve is not None else 0.0
    cold_pa = sum(drop.drop_pa for drop in drops[: cold_count(line.stretches)])
    heater_pa = pump_pa + density_kg_m3(line.cold_k) * GRAVITY * line.level_m - cold_pa
    return WorkingPoint(flow_m3_s, pump_pa, heater_pa, drops)


def cold_count(stretches: Sequence[WaterStretch]) -> int:
    """Return how many stretches are before the heater, which is the last of the cold ones."""
    return sum(not stretch.is_hot for stretch in stretches) - 1


def widest_critical(*, most: bool) -> float:
    """Return the Reynolds number below which flow is counted as laminar: the high end for the most flow [-]."""
    return TURBULENT_ABOVE if most else LAMINAR_BELOW
