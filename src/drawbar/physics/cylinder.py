"""The continuous offtake of an LPG bottle, from the heat of the air around it, on plain floats.

One bottle at a time. It stands upright, in the shade, in still air, without frost; the vapour over the liquid, a
hundredth of the gas or so, is not counted.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.liquid import Liquid, bubble_k, full_of, left_of, volume_m3
from drawbar.physics.saturation import vaporisation_j_mol, vapour_pressure_pa

if TYPE_CHECKING:
    from drawbar.physics.component import Component
    from drawbar.physics.gas import Gas

_SETTLED_K = 1e-4  # `settled_k` goes round until the temperature moves by less


class Bottle(NamedTuple):
    """A bottle: what it is filled with and how heat gets in.

    Attributes
    ----------
    gas_kg : float
        The gas it holds when full [kg].
    diameter_m : float
        D, outside diameter [m].
    water_capacity_m3 : float
        The whole volume inside [m3].
    tare_kg : float
        The empty bottle [kg].
    coefficient_w_m2_k : float
        U, from the outside air to the liquid, by area of wetted wall [W/m2/K].
    steel_j_kg_k : float
        Heat capacity of the bottle's own metal [J/kg/K].
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

    The bottle counts as a cylinder with a flat bottom. A dished bottom has up to 1.4 times the area, but holds liquid
    that would otherwise wet the side; the two nearly cancel.

    Range: any.

    Parameters
    ----------
    liquid_m3 : float
        V, volume of the liquid [m3].
    diameter_m : float
        D, diameter of the bottle [m].

    Returns
    -------
    float
        A [m2].

    References
    ----------
    Geometry.

    Examples
    --------
    >>> round(wetted_area_m2(0.0088, 0.312), 3)
    0.189
    """
    return math.pi / 4.0 * diameter_m * diameter_m + 4.0 * liquid_m3 / diameter_m


def liquid_in(gas: Gas, gas_kg: float, fill: float, ambient_k: float) -> list[tuple[Component, float]]:
    """Return the liquid in a bottle that was full and has a share of its gas left.

    Parameters
    ----------
    gas : Gas
        The gas that it was filled with.
    gas_kg : float
        What it held when full [kg].
    fill : float
        The share that is left [-].
    ambient_k : float
        The air in which it boiled down [K], which a mixture's make-up depends on a little.

    Returns
    -------
    list of (Component, float)
        Each component with its moles [mol].

    References
    ----------
    As `left_of`.
    """
    return left_of(full_of(gas, gas_kg), fill, ambient_k)


class Steady(NamedTuple):
    """What a bottle gives for as long as its level stands.

    Attributes
    ----------
    flow_kg_s : float
        The gas [kg/s].
    gross_w : float
        Its gross heat [W].
    liquid_k : float
        The liquid's temperature then [K].
    """

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
    """Return U A of the wall that a liquid wets [W/K].

    Parameters
    ----------
    bottle : Bottle
        The bottle.
    liquid : Liquid
        Each component with its moles [mol].
    temperature_k : float
        T, the liquid's temperature [K].

    Returns
    -------
    float
        U A [W/K].

    References
    ----------
    As `wetted_area_m2`; U is fitted to a published table of offtake, see data/vaporisation.yaml.
    """
    wet_m3 = min(volume_m3(liquid, temperature_k), bottle.water_capacity_m3)
    return bottle.coefficient_w_m2_k * wetted_area_m2(wet_m3, bottle.diameter_m)


def steady_offtake(bottle: Bottle, liquid: Liquid, ambient_k: float, least_abs_pa: float) -> Steady:
    """Offtake that a bottle keeps up from the heat of the air alone.

    m = U A (Ta - T) / h, with T where the pressure over the liquid is the least that the regulator works at, U A from
    `conductance_w_k` [W/K], and h the heat of vaporisation of what boils off at T [J/kg]. Zero where the air is not
    warmer than T.

    Range: as `bubble_pa`.

    Parameters
    ----------
    bottle : Bottle
        The bottle.
    liquid : Liquid
        Each component with its moles [mol].
    ambient_k : float
        Ta, the air [K].
    least_abs_pa : float
        The least pressure that the regulator works at [Pa absolute].

    Returns
    -------
    Steady
        m [kg/s], its gross heat [W], T [K].

    References
    ----------
    A heat balance; U is fitted to a published table of offtake, see data/vaporisation.yaml.

    Examples
    --------
    Propane in a half-full bottle of 9 kg at 15 degC, down to 30 kPa:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> propane, bottle = Catalogue().gas((("propane", 1.0),)), Bottle(9.0, 0.312, 0.0216, 9.0, 12.5, 490.0)
    >>> steady = steady_offtake(bottle, liquid_in(propane, 9.0, 0.5, 288.15), 288.15, 131_325.0)
    >>> round(steady.flow_kg_s * 3600.0, 2), round(steady.liquid_k - 273.15, 1)
    (0.97, -36.1)
    """
    liquid_k = bubble_k(liquid, least_abs_pa)
    if liquid_k >= ambient_k:
        return Steady(0.0, 0.0, liquid_k)
    mass_kg_mol, gross_j_mol, latent_j_mol = _boil_off(liquid, liquid_k)
    moles_s = conductance_w_k(bottle, liquid, liquid_k) * (ambient_k - liquid_k) / latent_j_mol
    return Steady(moles_s * mass_kg_mol, moles_s * gross_j_mol, liquid_k)


def settled_k(bottle: Bottle, liquid: Liquid, ambient_k: float, load_w: float, least_k: float) -> float:
    """Temperature the liquid settles at under a load that the bottle keeps up [K], its level taken as it stands.

    T = Ta - m h / (U A), with h and U A at T

    Range: as `bubble_pa`.

    Parameters
    ----------
    bottle : Bottle
        The bottle.
    liquid : Liquid
        Each component with its moles [mol].
    ambient_k : float
        Ta, the air [K].
    load_w : float
        The gross heat drawn [W], from which m follows.
    least_k : float
        T is no lower than this [K].

    Returns
    -------
    float
        T [K].

    References
    ----------
    As `steady_offtake`.
    """
    liquid_k = ambient_k
    for _ in range(60):
        _, gross_j_mol, latent_j_mol = _boil_off(liquid, liquid_k)
        before_k = liquid_k
        sought_k = ambient_k - load_w / gross_j_mol * latent_j_mol / conductance_w_k(bottle, liquid, liquid_k)
        liquid_k = max(sought_k, least_k)
        if abs(liquid_k - before_k) < _SETTLED_K:
            break
    return liquid_k
