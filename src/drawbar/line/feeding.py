"""What bottles give the first regulator: their pressure, less what the pigtail takes at a flow."""

from __future__ import annotations

from collections.abc import Callable

from drawbar.job import Cylinders
from drawbar.physics import air
from drawbar.physics.cylinder import Steady, steady_offtake
from drawbar.physics.liquid import Liquid

_ROUNDS = 40  # halvings, to a part in 1e12 of a flow


def pigtail_drop_pa(bottles: Cylinders, each_kg_s: float, inlet_abs_pa: float) -> float:
    """Return what a pigtail takes between a bottle and the regulator.

    dp = dp0 (m / m0)^2 (p0 / p), as the drop goes with mass flow squared over density, and the density with pressure.
    The gas is counted as warm as in the maker's figure; from a bottle it comes colder and denser, and loses less.

    Parameters
    ----------
    bottles : Cylinders
        With dp0 [Pa], m0 [kg/s] and p0 [Pa gauge, at the sea] of a pigtail, or none.
    each_kg_s : float
        m, the gas out of one bottle [kg/s].
    inlet_abs_pa : float
        p, the pressure at the regulator [Pa absolute].

    Returns
    -------
    float
        dp [Pa]; 0 without a pigtail.
    """
    pigtail = bottles.pigtail
    if pigtail is None:
        return 0.0
    figure_abs_pa = (pigtail.at_gauge_pa or 0.0) + air.STANDARD_PA
    return pigtail.pa_per_flow2 * each_kg_s**2 * figure_abs_pa / inlet_abs_pa


def least_at_flow_gauge_pa(bottles: Cylinders, each_kg_s: float, atmospheric_pa: float) -> float:
    """Return the lowest pressure in a bottle that its regulator works at, at a flow [Pa gauge].

    Parameters
    ----------
    bottles : Cylinders
        With the lowest inlet pressure of the regulator, and a pigtail or none.
    each_kg_s : float
        The gas out of one bottle [kg/s].
    atmospheric_pa : float
        Pressure of the air [Pa absolute].

    Returns
    -------
    float
        The regulator's lowest inlet pressure and what the pigtail takes there [Pa gauge].
    """
    least_pa = bottles.least_gauge_pa
    return least_pa + pigtail_drop_pa(bottles, each_kg_s, least_pa + atmospheric_pa)


def flow_kept_up_kg_s(bottles: Cylinders, atmospheric_pa: float, offtake_kg_s: Callable[[float], float]) -> float:
    """Return the flow that one bottle keeps up through its pigtail [kg/s].

    Parameters
    ----------
    bottles : Cylinders
        With a pigtail or none.
    atmospheric_pa : float
        Pressure of the air [Pa absolute].
    offtake_kg_s : callable
        What one bottle keeps up [kg/s] down to a pressure in it [Pa gauge]; it falls as the pressure rises.

    Returns
    -------
    float
        The flow at which the bottle gives no more than that flow asks for.
    """
    most_kg_s = offtake_kg_s(bottles.least_gauge_pa)
    if bottles.pigtail is None or most_kg_s <= 0.0:
        return most_kg_s
    low_kg_s, high_kg_s = 0.0, most_kg_s
    for _ in range(_ROUNDS):
        middle_kg_s = 0.5 * (low_kg_s + high_kg_s)
        if offtake_kg_s(least_at_flow_gauge_pa(bottles, middle_kg_s, atmospheric_pa)) >= middle_kg_s:
            low_kg_s = middle_kg_s
        else:
            high_kg_s = middle_kg_s
    return low_kg_s


def steady_through_pigtail(bottles: Cylinders, liquid: Liquid, ambient_k: float, atmospheric_pa: float) -> Steady:
    """Return what one bottle keeps up from the heat of the air alone, its pigtail's drop at that flow counted.

    Parameters
    ----------
    bottles : Cylinders
        With a pigtail or none.
    liquid : Liquid
        What is in one of them [mol].
    ambient_k : float
        The air around them [K].
    atmospheric_pa : float
        Pressure of the air [Pa absolute].

    Returns
    -------
    Steady
        Of one bottle.
    """

    def steady(least_gauge_pa: float) -> Steady:
        return steady_offtake(bottles.bottle, liquid, ambient_k, least_gauge_pa + atmospheric_pa)

    if bottles.pigtail is None:
        return steady(bottles.least_gauge_pa)
    flow_kg_s = flow_kept_up_kg_s(bottles, atmospheric_pa, lambda gauge_pa: steady(gauge_pa).flow_kg_s)
    return steady(least_at_flow_gauge_pa(bottles, flow_kg_s, atmospheric_pa))
