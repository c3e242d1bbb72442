"""What an instantaneous water heater gives: how hot at a flow, the flow for a temperature, the wait at the tap."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drawbar.job import Appliance, WaterDuty
from drawbar.physics.water import density_kg_m3, heat_capacity_j_kg_k

MIXING = 1.5
"""How many times the water of the pipe runs off before it comes hot: the hot water mixes with the cold and warms the
pipe. Common practice, no source: between 1 (nothing mixes) and 2."""
HEATER_START_S = 3.0
"""From the tap's opening until hot water leaves the heater [s]: spark, flame, the heater's own water. Common practice,
no source."""
SCALD_K = 323.15
"""Over this, 50 degC, water is a danger to the skin: the most that AS/NZS 3500.4 lets reach a basin, bath or shower
[K]."""
BOILING_K = 373.15

_WATER_TURNS = 30


@dataclass(frozen=True, slots=True)
class HotWaterDraw:
    """A flow of water through a heater and what comes of it.

    why : `given`, `pump` (another flow that was asked about) or `wanted` (the flow for a temperature)
    outlet_k : temperature that leaves the heater [K]; None where the water would boil
    wait_least_s, lost_least_m3 : until the water of the pipe is out, were nothing mixed [s], [m3]
    wait_s, lost_m3 : with MIXING and HEATER_START_S [s], [m3]. All four are None where the job gives no water pipe
    """

    why: str
    flow_m3_s: float
    outlet_k: float | None
    wait_least_s: float | None
    lost_least_m3: float | None
    wait_s: float | None
    lost_m3: float | None

    @property
    def scalds(self) -> bool:
        """Tell whether the water is over SCALD_K."""
        return self.outlet_k is None or self.outlet_k > SCALD_K


@dataclass(frozen=True, slots=True)
class HotWater:
    """A heater with the flows asked about.

    heat_w : what the water gets of the gross input [W]
    pipe_m3 : water in the pipe to the tap [m3], None where the job gives no pipe
    wanted_k : the temperature asked for [K], None if none
    """

    appliance: Appliance
    duty: WaterDuty
    heat_w: float
    pipe_m3: float | None
    wanted_k: float | None
    draws: tuple[HotWaterDraw, ...]


def outlet_k(heat_w: float, flow_m3_s: float, inlet_k: float) -> float | None:
    """Temperature that water leaves a heater at [K]; None where it would boil.

    T2 = T1 + P / (rho V cp), with rho at T1 and cp at (T1 + T2) / 2

    heat_w : P, heat that the water gets [W]; flow_m3_s : V, flow of cold water, as a pump delivers it [m3/s]
    inlet_k : T1 [K]; rho : density [kg/m3]; cp : heat capacity [J/kg/K]

    Range: 0 to 100 degC, at steady flow. Source: heat balance; water as `water.density_kg_m3`.
    """
    mass_kg_s = density_kg_m3(inlet_k) * flow_m3_s
    found_k = inlet_k
    for _ in range(_WATER_TURNS):  # cp changes by 1 % over the range, so each turn cuts the error to a hundredth
        mean_k = 0.5 * (inlet_k + min(found_k, BOILING_K))
        before_k, found_k = found_k, inlet_k + heat_w / (mass_kg_s * heat_capacity_j_kg_k(mean_k))
        if abs(found_k - before_k) < 1e-9:
            break
    return found_k if found_k <= BOILING_K else None


def flow_m3_s(heat_w: float, inlet_k: float, wanted_k: float) -> float:
    """Flow of cold water that leaves a heater at a wanted temperature [m3/s].

    V = P / (rho cp (T2 - T1)); symbols, range and source as `outlet_k`, with wanted_k : T2 [K] above inlet_k : T1 [K]
    heat_w : P [W]
    """
    capacity_j_kg_k = heat_capacity_j_kg_k(0.5 * (inlet_k + wanted_k))
    return heat_w / (density_kg_m3(inlet_k) * capacity_j_kg_k * (wanted_k - inlet_k))


def hot_water(appliance: Appliance, pump_m3_s: float | None = None, wanted_k: float | None = None) -> HotWater:
    """Work out a heater at its own flow and, if asked, at another pump's [m3/s] and for a wanted temperature [K].

    Raises ValueError if the appliance heats no water, or the wanted temperature is not above that of the cold water.
    """
    duty = appliance.heats
    if duty is None:
        raise ValueError(f"{appliance.name} heats no water")
    if wanted_k is not None and wanted_k <= duty.inlet_k:
        raise ValueError(f"the cold water of {appliance.name} is at {duty.inlet_k - 273.15:.4g} degC already")
    heat_w = appliance.input_w * duty.efficiency
    pipe_m3 = None
    if duty.bore_m is not None and duty.length_m is not None:
        pipe_m3 = 0.25 * math.pi * duty.bore_m**2 * duty.length_m
    flows = [("given", duty.flow_m3_s)]
    if pump_m3_s is not None:
        flows.append(("pump", pump_m3_s))
    if wanted_k is not None:
        flows.append(("wanted", flow_m3_s(heat_w, duty.inlet_k, wanted_k)))
    draws = tuple(_draw(why, flow, heat_w, duty.inlet_k, pipe_m3) for why, flow in flows)
    return HotWater(appliance, duty, heat_w, pipe_m3, wanted_k, draws)


def _draw(why: str, flow_m3_s: float, heat_w: float, inlet_k: float, pipe_m3: float | None) -> HotWaterDraw:
    out_k = outlet_k(heat_w, flow_m3_s, inlet_k)
    if pipe_m3 is None:
        return HotWaterDraw(why, flow_m3_s, out_k, None, None, None, None)
    wait_s = MIXING * pipe_m3 / flow_m3_s + HEATER_START_S
    return HotWaterDraw(why, flow_m3_s, out_k, pipe_m3 / flow_m3_s, pipe_m3, wait_s, wait_s * flow_m3_s)
