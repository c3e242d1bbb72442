"""What an LPG bottle can give for long, from the heat of the air around it, on plain floats.

One bottle at a time. Its liquid is a list of (gas, moles), so that a mixture may change as its lighter part leaves
first. The bottle stands upright, in the shade, in still air, without frost; the vapour over the liquid, a hundredth of
the gas or so, is not counted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drawbar.physics.gas import Component, Gas, pure_liquid_density_kg_m3, vaporisation_j_mol, vapour_pressure_pa

Liquid = Sequence[tuple[Component, float]]


class Bottle(NamedTuple):
    """A bottle: what it is filled with and how heat gets in.

    gas_kg : the gas it holds when full [kg]; diameter_m : outside diameter [m]
    water_capacity_m3 : the whole volume inside [m3]; tare_kg : the empty bottle [kg]
    coefficient_w_m2_k : U, from the outside air to the liquid, by area of wetted wall [W/(m2 K)]
    steel_j_kg_k : heat capacity of the bottle's own metal [J/(kg K)]
    """

    gas_kg: float
    diameter_m: float
    water_capacity_m3: float
    tare_kg: float
    coefficient_w_m2_k: float
    steel_j_kg_k: float

    @property
    def wall_m2(self) -> float:
        """The whole wall of the upright cylinder, both ends flat [m2]."""
        return wetted_area_m2(self.water_capacity_m3, self.diameter_m) + math.pi / 4.0 * self.diameter_m**2


def wetted_area_m2(liquid_m3: float, diameter_m: float) -> float:
    """Wall that the liquid touches in an upright bottle [m2].

    A = pi D^2 / 4 + 4 V / D

    liquid_m3 : V [m3]; diameter_m : D [m]

    The bottle counts as a cylinder with a flat bottom. A dished bottom has up to 1.4 times the area, but holds liquid
    that would otherwise wet the side; the two nearly cancel.
    Range: any. Source: geometry.
    """
    return math.pi / 4.0 * diameter_m * diameter_m + 4.0 * liquid_m3 / diameter_m


def full_of(gas: Gas, gas_kg: float) -> list[tuple[Component, float]]:
    """Return the liquid that gas_kg [kg] of a gas makes, in moles of each part."""
    moles = gas_kg / gas.molar_mass_kg_mol
    return [(component, share * moles) for component, share in gas.fractions]


def mass_kg(liquid: Liquid) -> float:
    """Return the mass of a liquid [kg]."""
    return sum(moles * component.molar_mass_kg_mol for component, moles in liquid)


def volume_m3(liquid: Liquid, temperature_k: float) -> float:
    """Return the volume of a liquid [m3] at temperature_k [K], the volumes of its parts added up."""
    return sum(
        moles * component.molar_mass_kg_mol / pure_liquid_density_kg_m3(temperature_k, component)
        for component, moles in liquid
    )


def bubble_pa(liquid: Liquid, temperature_k: float) -> float:
    """Absolute pressure over a liquid [Pa]: p = sum of xi pi (Raoult's law).

    temperature_k : T [K]; xi : mole fraction of each part [-]; pi : its vapour pressure [Pa]
    Range: as `vapour_pressure_pa`. Source: The Properties of Gases and Liquids, 5th edition (2001), chapter 8.
    """
    total = sum(moles for _, moles in liquid)
    return sum(moles * vapour_pressure_pa(temperature_k, component) for component, moles in liquid) / total


def bubble_k(liquid: Liquid, abs_pa: float) -> float:
    """Temperature [K] at which the pressure over a liquid is abs_pa [Pa absolute], the inverse of `bubble_pa`.

    ln p is close to a straight line over 1 / T, so the secant rule on these finds it in a few turns.
    """
    total = sum(moles for _, moles in liquid)
    boiling_k = sum(moles * component.boiling_k for component, moles in liquid) / total
    target = math.log(abs_pa)
    x0, x1 = 1.0 / boiling_k, 1.0 / (1.05 * boiling_k)
    y0 = math.log(bubble_pa(liquid, boiling_k)) - target
    for _ in range(20):
        y1 = math.log(bubble_pa(liquid, 1.0 / x1)) - target
        if abs(y1) < 1e-9 or y1 == y0:
            break
        x0, x1, y0 = x1, x1 - y1 * (x1 - x0) / (y1 - y0), y1
    return 1.0 / x1


def left_of(full: Liquid, share: float, temperature_k: float) -> list[tuple[Component, float]]:
    """Return what is left of a liquid that has boiled down to a share of its mass [-], the lighter part first.

    ni = ni0 s^(pi / pj), with the s that leaves the share; pj is the highest of the pi

    temperature_k : T at which it boiled [K]; ni : moles of each part [mol]; pi : its vapour pressure [Pa]

    Range: as `bubble_pa`; the pressures' ratios are taken as those at T throughout.
    Source: Rayleigh, On the distillation of binary mixtures, Phil. Mag. 4 (1902) 521, with Raoult's law.
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
        if over < 1e-12:
            break
        log_s -= over * left_kg / sum(left * power for left, power in zip(lefts_kg, powers, strict=True))
    shrink = [math.exp(power * log_s) for power in powers]
    return [(component, moles * by) for (component, moles), by in zip(full, shrink, strict=True)]


def liquid_in(gas: Gas, gas_kg: float, fill: float, ambient_k: float) -> list[tuple[Component, float]]:
    """Return the liquid in a bottle that held gas_kg [kg] of a gas when full and has a fill [-] of it left.

    ambient_k : the air in which it boiled down [K], which a mixture's make-up now depends on a little
    """
    return left_of(full_of(gas, gas_kg), fill, ambient_k)


class Steady(NamedTuple):
    """What a bottle gives for as long as its level stands: gas [kg/s], its gross heat [W], and the liquid then [K]."""

    flow_kg_s: float
    gross_w: float
    liquid_k: float


def _boil_off(liquid: Liquid, temperature_k: float) -> tuple[float, float, float]:
    """Return (molar mass [kg/mol], gross heat [J/mol], heat of vaporisation [J/mol]) of what boils off a liquid."""
    total = mass = gross = latent = 0.0
    for component, moles in liquid:
        part = moles * vapour_pressure_pa(temperature_k, component)
        total += part
        mass += part * component.molar_mass_kg_mol
        gross += part * component.gross_j_mol
        latent += part * vaporisation_j_mol(temperature_k, component)
    return mass / total, gross / total, latent / total


def conductance_w_k(bottle: Bottle, liquid: Liquid, temperature_k: float) -> float:
    """Return U A of the wall that a liquid at temperature_k [K] wets [W/K]."""
    wet_m3 = min(volume_m3(liquid, temperature_k), bottle.water_capacity_m3)
    return bottle.coefficient_w_m2_k * wetted_area_m2(wet_m3, bottle.diameter_m)


def steady_offtake(bottle: Bottle, liquid: Liquid, ambient_k: float, least_abs_pa: float) -> Steady:
    """Offtake that a bottle keeps up from the heat of the air alone.

    m = U A (Ta - T) / h, with T where the pressure over the liquid is the least that the regulator works at

    ambient_k : Ta, the air [K]; least_abs_pa : that pressure [Pa absolute]; liquid_k : T [K]
    U A : [W/K]; h : heat of vaporisation of what boils off at T [J/kg]; flow_kg_s : m [kg/s]

    Zero where the air is not warmer than T. Range: as `bubble_pa`.
    Source: a heat balance; U is fitted to a published table of offtake, see data/vaporisation.yaml.
    """
    liquid_k = bubble_k(liquid, least_abs_pa)
    if liquid_k >= ambient_k:
        return Steady(0.0, 0.0, liquid_k)
    mass_kg_mol, gross_j_mol, latent_j_mol = _boil_off(liquid, liquid_k)
    moles_s = conductance_w_k(bottle, liquid, liquid_k) * (ambient_k - liquid_k) / latent_j_mol
    return Steady(moles_s * mass_kg_mol, moles_s * gross_j_mol, liquid_k)


def settled_k(bottle: Bottle, liquid: Liquid, ambient_k: float, load_w: float, least_k: float) -> float:
    """Temperature the liquid settles at under a load that the bottle keeps up [K], its level taken as it stands.

    T = Ta - m h / (U A), each of the right at T; load_w : the gross heat drawn [W]; least_k : no lower than this [K]
    """
    liquid_k = ambient_k
    for _ in range(60):
        _, gross_j_mol, latent_j_mol = _boil_off(liquid, liquid_k)
        before_k = liquid_k
        sought_k = ambient_k - load_w / gross_j_mol * latent_j_mol / conductance_w_k(bottle, liquid, liquid_k)
        liquid_k = max(sought_k, least_k)
        if abs(liquid_k - before_k) < 1e-4:
            break
    return liquid_k
