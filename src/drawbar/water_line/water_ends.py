"""A connection at the ends of its tolerances: as drawn, with the least flow, with the most, and at least pressure.

Each figure goes to its own bad end: lengths, bores, fittings, devices, the pump, the level of the source. Water is at
its coldest for the least flow, cold behind the heater as well, and at its warmest for the most: a bound on all between.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import NamedTuple

from drawbar.hot_water import BOILING_K, outlet_k
from drawbar.job import Device
from drawbar.rules import Tolerances
from drawbar.water_line.pump_curve import PumpCurve, curve_at_worst
from drawbar.water_line.water_flow import (
    WaterLine,
    WaterStretch,
    WorkingPoint,
    device_stretch,
    point_at,
    run_stretch,
    widest_critical,
    working_point,
)
from drawbar.water_line.water_parts import Connection, Ends, WaterRun

NO_TOLERANCE = Tolerances(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, ())
MEASURED_OFF = 0.05
"""How far a flow that was measured may be from the flow, as a share [-]: our own choice, for a jug and a clock."""
_MOST_KEPT = 512  # connections that are remembered: each is a state of the gas side as well


class Missing(NamedTuple):
    """What a job does not say: a code of what it is, and the source, pump, run, heater or outlet that it is of."""

    what: str
    name: str


class FlowEnds(NamedTuple):
    """Where a connection settles.

    Attributes
    ----------
    drawn : WorkingPoint
        As drawn, levels and temperatures in the middle of their ranges.
    least, most : WorkingPoint
        With the least and the most flow there may be.
    weakest_pa : float
        The least pressure that there may be at the heater's inlet [Pa].
    drawn_line, least_line : WaterLine
        What was solved, as drawn and for the least flow.
    """

    drawn: WorkingPoint
    least: WorkingPoint
    most: WorkingPoint
    weakest_pa: float
    drawn_line: WaterLine
    least_line: WaterLine


def missing_drops(connection: Connection) -> list[Missing]:
    """Return the drops that a job does not say: they can but make the flow less."""
    missing = []
    for run in (*connection.cold, *connection.hot):
        if not run.devices_known:
            missing.append(Missing("devices", run.name))
        missing += [Missing("device", f"{device.name} of {run.name}") for device in run.devices if not device.is_known]
    if not connection.heater.device.is_known:
        missing.append(Missing("drop", connection.heater.name))
    if not connection.outlet.device.is_known:
        missing.append(Missing("drop", connection.outlet.name))
    return missing


def missing_heads(connection: Connection) -> list[Missing]:
    """Return what a job does not say and without which no flow can be worked out."""
    missing = []
    if connection.pump is not None and not connection.pump.curve:
        missing.append(Missing("curve", connection.pump.name))
    if connection.source.level_m is None:
        missing.append(Missing("level", connection.source.name))
    if connection.source.temperature_k is None:
        missing.append(Missing("temperature", connection.source.name))
    if connection.outlet.height_m is None:
        missing.append(Missing("height", connection.outlet.name))
    return missing


@functools.lru_cache(maxsize=_MOST_KEPT)
def flow_ends(connection: Connection, tolerances: Tolerances | None) -> FlowEnds | None:
    """Return where a connection settles, what is not known taking nothing; None where no flow can be worked out.

    A flow that was measured stands for the pump's curve and the height, which then count for the pressure alone.
    """
    source = connection.source
    levels_m, temperatures_k, height_m = source.level_m, source.temperature_k, connection.outlet.height_m
    off = tolerances or NO_TOLERANCE
    measured_m3_s = connection.measured_m3_s
    if measured_m3_s is not None and temperatures_k is not None:
        return _measured(_Ends(connection, off, levels_m or (0.0, 0.0), temperatures_k, height_m or 0.0), measured_m3_s)
    if missing_heads(connection) or levels_m is None or temperatures_k is None or height_m is None:
        return None
    ends = _Ends(connection, off, levels_m, temperatures_k, height_m)
    drawn, least = ends.line(0, 0, 0), ends.line(-1, -1, -1)
    weakest = working_point(ends.line(-1, -1, +1))
    return FlowEnds(
        drawn=working_point(drawn),
        least=working_point(least),
        most=working_point(ends.line(+1, +1, +1)),
        weakest_pa=weakest.heater_pa,
        drawn_line=drawn,
        least_line=least,
    )


def _measured(ends: _Ends, flow_m3_s: float) -> FlowEnds:
    """Return a connection at the flow that was measured, and as far from it as the measuring may be."""
    low, high = flow_m3_s * (1.0 - MEASURED_OFF), flow_m3_s * (1.0 + MEASURED_OFF)
    drawn, least = ends.line(0, 0, 0), ends.line(-1, -1, -1)
    return FlowEnds(
        drawn=point_at(drawn, flow_m3_s),
        least=point_at(least, low),
        most=point_at(ends.line(+1, +1, +1), high),
        weakest_pa=point_at(least, high).heater_pa,
        drawn_line=drawn,
        least_line=least,
    )


class _Ends(NamedTuple):
    connection: Connection
    off: Tolerances
    levels_m: Ends
    temperatures_k: Ends
    height_m: float

    def line(self, pump: int, cold: int, hot: int) -> WaterLine:
        """Return the line with pump, cold part and the rest at less flow (-1), as drawn (0), or more (1)."""
        connection = self.connection
        stretches: tuple[WaterStretch, ...] = (
            *(run_stretch(self._run(run, cold), is_hot=False) for run in connection.cold),
            device_stretch(connection.heater.name, self._device(connection.heater.device, hot), is_hot=False),
            *(run_stretch(self._run(run, hot), is_hot=True) for run in connection.hot),
            device_stretch(connection.outlet.name, self._device(connection.outlet.device, hot), is_hot=True),
        )
        critical = {False: widest_critical(most=cold > 0), True: widest_critical(most=hot > 0)}
        stretches = tuple(each._replace(critical_reynolds=critical[each.is_hot]) for each in stretches)
        cold_k, level_m = _at(self.temperatures_k, pump), _at(self.levels_m, pump)
        return WaterLine(self._curve(pump), stretches, level_m, self.height_m, cold_k, self._hot_k(hot))

    def _hot_k(self, end: int) -> Callable[[float], float]:
        """Return the water behind the heater by the flow, as its viscosity counts: cold for the least flow."""
        heater, cold_k = self.connection.heater, _at(self.temperatures_k, end)
        heat_w = heater.input_w * (heater.efficiency or 0.0) * (1.0 + self.off.input if end > 0 else 1.0)
        set_w = heat_w * (self.connection.set_share or 1.0)

        def hot_k(flow_m3_s: float) -> float:
            if end < 0 or set_w <= 0.0:
                return cold_k
            out_k = outlet_k(set_w, flow_m3_s, cold_k)
            return min(out_k if out_k is not None else BOILING_K, BOILING_K)

        return hot_k

    def _curve(self, end: int) -> PumpCurve | None:
        pump = self.connection.pump
        if pump is None or not pump.curve:
            return None
        return pump.curve if end == 0 else curve_at_worst(pump, self.off.pump, most=end > 0)

    def _run(self, run: WaterRun, end: int) -> WaterRun:
        if end == 0:
            return run
        more = -end  # of what stands in the way
        off_m = max(self.off.length * run.length_m, self.off.length_m)
        fittings = tuple(
            (fitting._replace(ratio=fitting.ratio * (1.0 + more * self.off.fittings)), count)
            for fitting, count in run.fittings
        )
        return run._replace(
            length_m=max(run.length_m + more * off_m, 0.0),
            pipe=run.pipe._replace(bore_m=run.pipe.bore_m - more * run.pipe.bore_tolerance_m),
            fittings=fittings,
            devices=tuple(self._device(device, end) for device in run.devices),
        )

    def _device(self, device: Device, end: int) -> Device:
        if device.like is not None:
            return device
        return device._replace(drop_pa=device.drop_pa * (1.0 - end * self.off.devices))


def _at(ends: Ends, end: int) -> float:
    return (ends[0], 0.5 * (ends[0] + ends[1]), ends[1])[end + 1]
