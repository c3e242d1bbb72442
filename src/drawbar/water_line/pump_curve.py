"""A pump's curve: what it gives at a flow, and how far that may be from its maker's figures."""

from __future__ import annotations

from collections.abc import Sequence

from drawbar.water_line.water_parts import WaterPump

_POINTS = 24  # of a parabola drawn as straight lines

PumpCurve = Sequence[tuple[float, float]]


def pump_pressure_pa(curve: PumpCurve, flow_m3_s: float) -> float:
    """Return what a pump gives at a flow [Pa]: straight lines between its points.

    Below the first flow it is the first pressure; beyond the last the last line is drawn out, under nought as well,
    where the pump is in the way of water that runs by its height.

    Parameters
    ----------
    curve : sequence of tuple of float
        Flow [m3/s] and pressure [Pa], the flow rising.
    flow_m3_s : float
        The flow [m3/s].

    Returns
    -------
    float

    Examples
    --------
    >>> pump_pressure_pa([(0.0, 200e3), (1e-4, 0.0)], 0.25e-4)
    150000.0
    """
    if flow_m3_s <= curve[0][0]:
        return curve[0][1]
    number = next((n for n in range(1, len(curve)) if flow_m3_s <= curve[n][0]), len(curve) - 1)
    (low, low_pa), (high, high_pa) = curve[number - 1], curve[number]
    return low_pa + (high_pa - low_pa) * (flow_m3_s - low) / (high - low)


def curve_at_worst(pump: WaterPump, off: float, *, most: bool) -> PumpCurve:
    """Return a pump's curve at an end of its tolerance.

    Of a pump that is known by its open flow and its shut-off pressure alone the curve is taken for a straight line,
    which is the least between the two; a parabola stands for the most.

    Parameters
    ----------
    pump : WaterPump
        A pump with a curve.
    off : float
        How far flow and pressure may be from the curve, as a share [-].
    most : bool
        Whether the end that gives the most is meant.

    Returns
    -------
    sequence of tuple of float
    """
    curve: PumpCurve = pump.curve
    if pump.is_sketch and most:
        open_m3_s, shut_off_pa = curve[1][0], curve[0][1]
        shares = [number / _POINTS for number in range(_POINTS + 1)]
        curve = [(open_m3_s * share, shut_off_pa * (1.0 - share**2)) for share in shares]
    factor = 1.0 + off if most else 1.0 - off
    return [(flow * factor, pa * factor) for flow, pa in curve]
