"""A rate at which gas burns or passes, as heat and as mass."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar import units

if TYPE_CHECKING:
    from drawbar.physics.gas import Gas


def heat_and_flow(rate: float, dimension: units.Dimension, basis: str | None, gas: Gas) -> tuple[float, float]:
    """Return (gross heat [W], mass flow [kg/s]) of a rate of a gas.

    Parameters
    ----------
    rate : float
        Heat, mass or volume a second [SI unit of the dimension]; a volume is at 15 degC and 101.325 kPa.
    dimension : Dimension
        Heat rate, mass flow or gas flow.
    basis : str or None
        `net` where a heat rate is net; it is gross otherwise.
    gas : Gas
        What burns.

    Returns
    -------
    tuple of float
        Gross heat [W] and mass flow [kg/s].
    """
    if dimension is units.GAS_MASS_FLOW:
        flow_kg_s = rate
    elif dimension is units.GAS_VOLUME_FLOW:
        flow_kg_s = rate * gas.reference_density_kg_m3
    else:
        flow_kg_s = rate / (gas.net_j_kg if basis == "net" else gas.gross_j_kg)
    return flow_kg_s * gas.gross_j_kg, flow_kg_s
