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

WARM_K = 311.15
"""As warm as a shower is taken, 38 degC [K]: common practice, no source."""

_WATER_TURNS = 30
_CLOSE_K = 1e-9


class NoHeater(ValueError):
    """No appliance of the job says what water it heats."""


class NoSuchHeater(ValueError):
    """A name that is not that of a heater of the job."""


class WantedTooCold(ValueError):
    """A temperature that is wanted, but not above that of the cold water."""


@dataclass(frozen=True, slots=True)
class HotWaterDraw:
    """A flow of water through a heater and what comes of it.

    Attributes
    ----------
    why : str
        `given`, `pump` (another flow that was asked about) or `wanted` (the flow for a temperature).
    flow_m3_s : float
        Flow of cold water [m3/s].
    outlet_k : float or None
        Temperature that leaves the heater [K]; None where the water would boil.
    wait_least_s, lost_least_m3 : float or None
        Until the water of the pipe is out, were nothing mixed [s], [m3]; None where the job gives no water pipe.
    wait_s, lost_m3 : float or None
        The same with MIXING and HEATER_START_S [s], [m3].
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
class HeaterResult:
    """A heater with the flows asked about.

    Attributes
    ----------
    appliance : Appliance
        The heater.
    duty : WaterDuty
        What it heats.
    heat_w : float
        What the water gets of the gross input [W].
    pipe_m3 : float or None
        Water in the pipe to the tap [m3], None where the job gives no pipe.
    wanted_k : float or None
        The temperature asked for [K].
    draws : tuple of HotWaterDraw
        The job's own flow, then those asked about.
    warm_m3_s : float or None
        The flow that leaves at WARM_K [m3/s]; None where the cold water is as warm.
    """

    appliance: Appliance
    duty: WaterDuty
    heat_w: float
    pipe_m3: float | None
    wanted_k: float | None
    draws: tuple[HotWaterDraw, ...]
    warm_m3_s: float | None = None


def outlet_k(heat_w: float, flow_m3_s: float, inlet_k: float) -> float | None:
    """Temperature that water leaves a heater at [K]; None where it would boil.

    T2 = T1 + P / (rho V cp), with rho, the density [kg/m3], at T1 and cp, the heat capacity [J/kg/K], at (T1 + T2) / 2

    Valid range: 0 to 100 degC, at steady flow.

    Parameters
    ----------
    heat_w : float
        P, heat that the water gets [W].
    flow_m3_s : float
        V, flow of cold water, as a pump delivers it [m3/s].
    inlet_k : float
        T1, temperature of the cold water [K].

    Returns
    -------
    float or None
        T2 [K], None where the water would boil.

    References
    ----------
    Heat balance; water as `physics.water.density_kg_m3`.

    Examples
    --------
    7 kW into 6 L/min of 15 degC, in degC:

    >>> round(outlet_k(7000.0, 6e-3 / 60, 288.15) - 273.15)
    32
    """
    mass_kg_s = density_kg_m3(inlet_k) * flow_m3_s
    hot_k = inlet_k
    for _ in range(_WATER_TURNS):  # cp changes by 1 % over the range, so each turn cuts the error to a hundredth
        mean_k = 0.5 * (inlet_k + min(hot_k, BOILING_K))
        before_k, hot_k = hot_k, inlet_k + heat_w / (mass_kg_s * heat_capacity_j_kg_k(mean_k))
        if abs(hot_k - before_k) < _CLOSE_K:
            break
    return hot_k if hot_k <= BOILING_K else None


def flow_m3_s(heat_w: float, inlet_k: float, wanted_k: float) -> float:
    """Flow of cold water that leaves a heater at a wanted temperature [m3/s].

    V = P / (rho cp (T2 - T1)): `outlet_k` turned round, with its symbols and range

    Parameters
    ----------
    heat_w : float
        P, heat that the water gets [W].
    inlet_k : float
        T1, temperature of the cold water [K].
    wanted_k : float
        T2, temperature wanted, above T1 [K].

    Returns
    -------
    float
        V [m3/s].

    References
    ----------
    Heat balance; water as `physics.water.density_kg_m3`.

    Examples
    --------
    The flow that 7 kW bring from 15 to 40 degC, in L/min:

    >>> round(flow_m3_s(7000.0, 288.15, 313.15) * 60e3, 1)
    4.0
    """
    capacity_j_kg_k = heat_capacity_j_kg_k(0.5 * (inlet_k + wanted_k))
    return heat_w / (density_kg_m3(inlet_k) * capacity_j_kg_k * (wanted_k - inlet_k))


def heater_result(appliance: Appliance, pump_m3_s: float | None = None, wanted_k: float | None = None) -> HeaterResult:
    """Work out a heater at its own flow and, if asked, at another pump's and for a wanted temperature.

    Parameters
    ----------
    appliance : Appliance
        The heater.
    pump_m3_s : float or None
        The flow of another pump [m3/s].
    wanted_k : float or None
        A temperature to give the flow for [K].

    Returns
    -------
    HeaterResult
        The flows and what comes of them.

    Raises
    ------
    NoSuchHeater
        If the appliance heats no water.
    WantedTooCold
        If the wanted temperature is not above that of the cold water.
    """
    duty = appliance.heats
    if duty is None:
        raise NoSuchHeater(f"{appliance.name} heats no water")
    if wanted_k is not None and wanted_k <= duty.inlet_k:
        raise WantedTooCold(f"the cold water of {appliance.name} is at {duty.inlet_k - 273.15:.4g} degC already")
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
    warm_m3_s = flow_m3_s(heat_w, duty.inlet_k, WARM_K) if duty.inlet_k < WARM_K else None
    return HeaterResult(appliance, duty, heat_w, pipe_m3, wanted_k, draws, warm_m3_s)


def _draw(why: str, flow_m3_s: float, heat_w: float, inlet_k: float, pipe_m3: float | None) -> HotWaterDraw:
    out_k = outlet_k(heat_w, flow_m3_s, inlet_k)
    if pipe_m3 is None:
        return HotWaterDraw(why, flow_m3_s, out_k, None, None, None, None)
    wait_s = MIXING * pipe_m3 / flow_m3_s + HEATER_START_S
    return HotWaterDraw(why, flow_m3_s, out_k, pipe_m3 / flow_m3_s, pipe_m3, wait_s, wait_s * flow_m3_s)
