"""A liquid of one gas or several, by moles: its mass and volume, when it boils, what is left when it has boiled down.

It is a list of (gas, moles), so that a mixture may change as its lighter part leaves first.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from drawbar.physics.component import Component
from drawbar.physics.saturation import pure_liquid_density_kg_m3, vapour_pressure_pa

if TYPE_CHECKING:
    from drawbar.physics.gas import Gas

_NEAR_BOILING, _NEAR_SHARE = 1e-9, 1e-12  # where the rules for ln pressure and ln mass end

_PARTS, _LAST = 10, 0.02  # a bottle is looked at in tenths, and at last with so much left

Liquid = Sequence[tuple[Component, float]]
"""The liquid in a bottle: each component with its moles."""


def full_of(gas: Gas, gas_kg: float) -> list[tuple[Component, float]]:
    """Return the liquid that a mass of a gas makes.

    Parameters
    ----------
    gas : Gas
        The gas.
    gas_kg : float
        The mass [kg].

    Returns
    -------
    list of (Component, float)
        Each component with its moles [mol].
    """
    moles = gas_kg / gas.molar_mass_kg_mol
    return [(component, share * moles) for component, share in gas.fractions]


def mass_kg(liquid: Liquid) -> float:
    """Return the mass of a liquid [kg].

    Parameters
    ----------
    liquid : Liquid
        Each component with its moles [mol].

    Returns
    -------
    float
        The mass [kg].
    """
    return sum(moles * component.molar_mass_kg_mol for component, moles in liquid)


def volume_m3(liquid: Liquid, temperature_k: float) -> float:
    """Return the volume of a liquid [m3], the volumes of its parts added up.

    Range: as `pure_liquid_density_kg_m3`.

    Parameters
    ----------
    liquid : Liquid
        Each component with its moles [mol].
    temperature_k : float
        T [K].

    Returns
    -------
    float
        The volume [m3].

    References
    ----------
    As `pure_liquid_density_kg_m3`; ideal mixing.
    """
    return sum(
        moles * component.molar_mass_kg_mol / pure_liquid_density_kg_m3(temperature_k, component)
        for component, moles in liquid
    )


def bubble_pa(liquid: Liquid, temperature_k: float) -> float:
    """Absolute pressure over a liquid [Pa].

    p = sum of xi pi (Raoult's law), with xi the mole fraction of each part [-] and pi its vapour pressure [Pa]

    Range: as `vapour_pressure_pa`.

    Parameters
    ----------
    liquid : Liquid
        Each component with its moles [mol].
    temperature_k : float
        T [K].

    Returns
    -------
    float
        p [Pa absolute].

    References
    ----------
    The Properties of Gases and Liquids, 5th edition (2001), chapter 8.
    """
    total = sum(moles for _, moles in liquid)
    return sum(moles * vapour_pressure_pa(temperature_k, component) for component, moles in liquid) / total


def bubble_k(liquid: Liquid, abs_pa: float) -> float:
    """Temperature at which a liquid has a pressure over it [K], the inverse of `bubble_pa`.

    ln p is close to a straight line over 1 / T, so the secant rule on these finds it in a few turns.

    Parameters
    ----------
    liquid : Liquid
        Each component with its moles [mol].
    abs_pa : float
        p, the pressure over it [Pa absolute].

    Returns
    -------
    float
        T [K].

    References
    ----------
    As `bubble_pa`.

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> liquid = full_of(Catalogue().gas((("propane", 1.0),)), 9.0)
    >>> round(bubble_k(liquid, 101_325.0), 1)
    231.0
    """
    total = sum(moles for _, moles in liquid)
    boiling_k = sum(moles * component.boiling_k for component, moles in liquid) / total
    target = math.log(abs_pa)
    x0, x1 = 1.0 / boiling_k, 1.0 / (1.05 * boiling_k)
    y0 = math.log(bubble_pa(liquid, boiling_k)) - target
    for _ in range(20):
        y1 = math.log(bubble_pa(liquid, 1.0 / x1)) - target
        if abs(y1) < _NEAR_BOILING or y1 == y0:
            break
        x0, x1, y0 = x1, x1 - y1 * (x1 - x0) / (y1 - y0), y1
    return 1.0 / x1


def vapour_over(liquid: Liquid, temperature_k: float) -> Gas:
    """Return the vapour over a liquid.

    yi = xi pi / (sum of xj pj) (Raoult's law), with xi the mole fraction of each part in the liquid [-] and pi its
    vapour pressure [Pa]

    Range: as `vapour_pressure_pa`.

    Parameters
    ----------
    liquid : Liquid
        Each component with its moles [mol].
    temperature_k : float
        T [K].

    Returns
    -------
    Gas
        The vapour.

    References
    ----------
    The Properties of Gases and Liquids, 5th edition (2001), chapter 8.
    """
    from drawbar.physics.gas import Gas

    parts = [(component, moles * vapour_pressure_pa(temperature_k, component)) for component, moles in liquid]
    total = sum(part for _, part in parts)
    return Gas(tuple((component, part / total) for component, part in parts if part > 0.0))


def vapours_of(gas: Gas, ambient_k: float, least_abs_pa: float) -> tuple[Gas, ...]:
    """Return the vapours that a bottle gives from the first of it to the last, the lightest first.

    The lightest comes from the full bottle as cold as it gets while it still gives enough pressure. The others are
    over the liquid at the temperature of the air as it boils down, while the pressure over it is enough.

    Parameters
    ----------
    gas : Gas
        What the bottle was filled with.
    ambient_k : float
        The air around it [K].
    least_abs_pa : float
        The pressure that must be over the liquid [Pa absolute].

    Returns
    -------
    tuple of Gas
        One where the gas is pure.

    References
    ----------
    As `left_of` and `vapour_over`.
    """
    if len(gas.fractions) == 1:
        return (gas,)
    full = full_of(gas, 1.0)
    low_k = gas.temperature_range_k[0]
    vapours = [vapour_over(full, min(ambient_k, max(low_k, bubble_k(full, least_abs_pa))))]
    for share in (1.0, *(left / _PARTS for left in range(_PARTS - 1, 0, -1)), _LAST):
        left = left_of(full, share, ambient_k)
        if share < 1.0 and bubble_pa(left, ambient_k) < least_abs_pa:
            break
        vapours.append(vapour_over(left, ambient_k))
    return tuple(vapours)


def left_of(full: Liquid, share: float, temperature_k: float) -> list[tuple[Component, float]]:
    """Return what is left of a liquid that has boiled down to a share of its mass [-], the lighter part first.

    ni = ni0 s^(pi / pj), with the s that leaves the share; ni are the moles of each part [mol], pi its vapour pressure
    [Pa], pj the highest of these

    Range: as `bubble_pa`; the pressures' ratios are taken as those at T throughout.

    Parameters
    ----------
    full : Liquid
        The liquid at first: each component with its moles [mol].
    share : float
        How much of its mass is left [-].
    temperature_k : float
        T at which it boiled [K].

    Returns
    -------
    list of (Component, float)
        Each component with the moles that are left [mol].

    References
    ----------
    Rayleigh, On the distillation of binary mixtures, Phil. Mag. 4 (1902) 521, with Raoult's law.
    """
    if len(full) == 1:
        return [(component, share * moles) for component, moles in full]
    pressures_pa = [vapour_pressure_pa(temperature_k, component) for component, _ in full]
    highest_pa = max(pressures_pa)
    powers = [pa / highest_pa for pa in pressures_pa]
    masses_kg = [moles * component.molar_mass_kg_mol for component, moles in full]
    wanted = math.log(share * sum(masses_kg))
    log_s = 0.0
    for _ in range(100):  # Newton's rule on ln mass, which is convex in ln s: it comes from above and never oversteps
        lefts_kg = [mass * math.exp(power * log_s) for mass, power in zip(masses_kg, powers, strict=True)]
        left_kg = sum(lefts_kg)
        over = math.log(left_kg) - wanted
        if over < _NEAR_SHARE:
            break
        log_s -= over * left_kg / sum(left * power for left, power in zip(lefts_kg, powers, strict=True))
    shrink = [math.exp(power * log_s) for power in powers]
    return [(component, moles * by) for (component, moles), by in zip(full, shrink, strict=True)]
