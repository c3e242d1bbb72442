"""What the water side of a job is made of, as plain values in SI units; None stands for what the job does not say.

Heights are over the water heater, its inlet and its outlet. What a job says there is none of is nought.
"""

from __future__ import annotations

from typing import NamedTuple

from drawbar.job import Device, Fitting, Pipe

Ends = tuple[float, float]


class WaterSource(NamedTuple):
    """Where water comes from.

    Attributes
    ----------
    name : str
        The source's.
    volume_m3 : float or None
        What it holds when full [m3]; endless for open water.
    level_m : tuple of float or None
        The lowest and the highest that its water stands over the heater [m].
    temperature_k : tuple of float or None
        The coldest and the warmest of its water [K].
    """

    name: str
    volume_m3: float | None
    level_m: Ends | None
    temperature_k: Ends | None


class WaterPump(NamedTuple):
    """A pump by its curve.

    Attributes
    ----------
    name : str
        The pump's.
    curve : tuple of tuple of float
        Flow [m3/s] and pressure [Pa], the flow rising and the pressure falling; empty where it is not known.
    is_sketch : bool
        Whether the curve is but the pressure at no flow and the flow at no pressure.
    current_a : float or None
        What it takes at 12 V [A].
    """

    name: str
    curve: tuple[tuple[float, float], ...]
    is_sketch: bool
    current_a: float | None


class WaterRun(NamedTuple):
    """A pipe or hose that water goes through.

    Attributes
    ----------
    name : str
        The run's.
    pipe : Pipe
        Its size.
    length_m : float
        Its length [m].
    fittings : tuple of tuple of Fitting and int
        Its fittings, with how many of each.
    devices : tuple of Device
        Filters, couplers and valves; their flow is one of cold water.
    devices_known : bool
        Whether the job says which it has, or that it has none.
    wall_j_m_k : float
        Heat that a metre of its wall takes up [J/m/K].
    wall_known : bool
        Whether that comes from its own mass; else it is the most that such a wall takes.
    """

    name: str
    pipe: Pipe
    length_m: float
    fittings: tuple[tuple[Fitting, int], ...]
    devices: tuple[Device, ...]
    devices_known: bool
    wall_j_m_k: float
    wall_known: bool


class WaterHeater(NamedTuple):
    """The water side of an appliance that heats water as it flows.

    Attributes
    ----------
    name : str
        The appliance's.
    input_w : float
        Its gross input in full [W].
    flow_kg_s : float
        The gas it takes at that [kg/s].
    efficiency : float or None
        What the water gets of the gross heat [-].
    device : Device
        What it takes of the water's pressure; `is_known` tells whether the job says it.
    least_flow_m3_s : float or None
        The least flow that lights it [m3/s].
    least_pa : float or None
        The least pressure at its inlet that lights it [Pa].
    least_share : float or None
        The lowest that it can be turned to, as a share of its input [-]; 1 where it can't be turned down.
    """

    name: str
    input_w: float
    flow_kg_s: float
    efficiency: float | None
    device: Device
    least_flow_m3_s: float | None
    least_pa: float | None
    least_share: float | None


class WaterOutlet(NamedTuple):
    """A tap or a rose.

    Attributes
    ----------
    name : str
        The outlet's.
    device : Device
        What it takes of the water's pressure, wide open; `is_known` tells whether the job says it.
    height_m : float or None
        How high it is over the heater [m].
    tempered_k : float or None
        What a tempering valve before it lets through at most [K]; None where there is none.
    """

    name: str
    device: Device
    height_m: float | None
    tempered_k: float | None


class Connection(NamedTuple):
    """A way that the water side is connected, and how it is used.

    Attributes
    ----------
    name : str
        The connection's.
    source : WaterSource
        Where the water comes from.
    pump : WaterPump or None
        None where it runs by its height alone.
    cold, hot : tuple of WaterRun
        From the source to the heater, and from there to the outlet.
    heater : WaterHeater
        What heats it.
    outlet : WaterOutlet
        Where it comes out.
    wanted_k : tuple of float or None
        The least and the most that is wanted [K], the same where a single figure is; None where nothing is said.
    is_wanted_known : bool
        Whether the job says what is wanted, or that nothing is.
    set_share : float or None
        What the heater is set to, as a share of its input [-]; None where it is set to what is wanted.
    on_s, every_s : float or None
        How long it runs in one go, and from one start to the next [s].
    measured_m3_s : float or None
        Its flow as it was measured [m3/s].
    together_with : tuple of str or None
        The appliances that are on with it; None where it is no state of the gas side.
    """

    name: str
    source: WaterSource
    pump: WaterPump | None
    cold: tuple[WaterRun, ...]
    hot: tuple[WaterRun, ...]
    heater: WaterHeater
    outlet: WaterOutlet
    wanted_k: Ends | None
    is_wanted_known: bool
    set_share: float | None
    on_s: float | None
    every_s: float | None
    measured_m3_s: float | None
    together_with: tuple[str, ...] | None


class InTurn(NamedTuple):
    """States used one after the other, each for its own time, with a pause between [s]."""

    name: str
    states: tuple[str, ...]
    pause_s: float


class WaterSide(NamedTuple):
    """The water side of a job.

    Attributes
    ----------
    runs : tuple of WaterRun
        All its runs, those that no connection has among them.
    connections : tuple of Connection
        The ways that it is connected.
    sequences : tuple of InTurn
        What is used one after the other.
    own_limit_k : float or None
        The job's own limit of how hot water may be [K], if any.
    """

    runs: tuple[WaterRun, ...]
    connections: tuple[Connection, ...]
    sequences: tuple[InTurn, ...]
    own_limit_k: float | None
