"""What a regulator gives at a flow: its set pressure, its curve, its lock-up."""

from __future__ import annotations

import itertools

from drawbar.job import Regulator


def outlet_gauge_pa(regulator: Regulator, flow_kg_s: float) -> float:
    """Return what a regulator gives at a flow [Pa gauge]: by its curve, straight between its points.

    Parameters
    ----------
    regulator : Regulator
        Without a curve it gives its set pressure at every flow.
    flow_kg_s : float
        Mass flow through it [kg/s], above 0.

    Returns
    -------
    float
        Outlet pressure [Pa gauge]; before the first and behind the last point of the curve, that point's.

    Examples
    --------
    >>> drooping = Regulator(2750.0, curve=((1e-4, 2780.0), (9e-4, 2700.0)))
    >>> outlet_gauge_pa(drooping, 5e-4), outlet_gauge_pa(drooping, 2e-3)
    (2740.0, 2700.0)
    """
    curve = regulator.curve
    if not curve:
        return regulator.outlet_gauge_pa
    if flow_kg_s <= curve[0][0]:
        return curve[0][1]
    for (low, low_pa), (high, high_pa) in itertools.pairwise(curve):
        if flow_kg_s <= high:
            return low_pa + (high_pa - low_pa) * (flow_kg_s - low) / (high - low)
    return curve[-1][1]


def greatest_gauge_pa(regulator: Regulator) -> float:
    """Return the most that a regulator may give at any flow, none among them [Pa gauge].

    By its set pressure and its curve, each high by its accuracy, or its lock-up: the twin of what the worst corner
    counts at the low end.
    """
    most_pa = max([regulator.outlet_gauge_pa, *(gauge_pa for _, gauge_pa in regulator.curve)])
    return max(most_pa * (1.0 + regulator.accuracy), regulator.lock_up_gauge_pa or 0.0)
