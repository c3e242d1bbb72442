"""Viscosity of a dilute gas, pure and mixed.

Chapter, section and equation numbers of The Properties of Gases and Liquids are from memory.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Sequence

COLLISION_REDUCED_LOW = 0.3
"""Lowest kT / eps of the collision integral, Neufeld, Janzen and Aziz (1972)."""


class ViscosityTerms(NamedTuple):
    """The viscosity of a dilute gas and what it is made of.

    Attributes
    ----------
    collision_diameter_angstrom : float
        sigma [angstrom], which is 1e-10 m.
    reduced_temperature : float
        t, temperature over well depth [-].
    collision_integral : float
        Omega [-].
    viscosity_pa_s : float
        mu [Pa s].
    """

    collision_diameter_angstrom: float
    reduced_temperature: float
    collision_integral: float
    viscosity_pa_s: float


def collision_integral(reduced_temperature: float) -> float:
    """Collision integral of the Lennard-Jones gas for viscosity [-].

    Omega = 1.16145 t^-0.14874 + 0.52487 exp(-0.77320 t) + 2.16178 exp(-2.43787 t)

    Range: t from 0.3 to 100.

    Parameters
    ----------
    reduced_temperature : float
        t, temperature over well depth, T / (eps/k) [-].

    Returns
    -------
    float
        Omega [-].

    References
    ----------
    Neufeld, Janzen and Aziz, J. Chem. Phys. 57 (1972) 1100.

    Examples
    --------
    >>> round(collision_integral(1.0), 3)
    1.593
    """
    t = reduced_temperature
    return 1.16145 * math.pow(t, -0.14874) + 0.52487 * math.exp(-0.77320 * t) + 2.16178 * math.exp(-2.43787 * t)


def dilute_viscosity(
    temperature_k: float, molar_mass_kg_mol: float, collision_diameter_m: float, well_depth_k: float
) -> ViscosityTerms:
    """Viscosity of a dilute gas, with what it is made of.

    mu = 2.6693e-6 sqrt(1000 M T) / ((1e10 sigma)^2 Omega), Omega from `collision_integral` at t = T / (eps/k)

    Range: t from 0.3 to 100, at low pressure. Up to 250 kPa the pressure takes at most 1.2 % off.

    Parameters
    ----------
    temperature_k : float
        T [K].
    molar_mass_kg_mol : float
        M [kg/mol].
    collision_diameter_m : float
        sigma [m].
    well_depth_k : float
        eps/k [K].

    Returns
    -------
    ViscosityTerms
        sigma [angstrom], t and Omega [-], mu [Pa s].

    References
    ----------
    Chapman and Enskog's first approximation, The Properties of Gases and Liquids, 5th edition (2001), Eq. (9-3.9).

    Examples
    --------
    Propane at 15 degC, in micropascal seconds:

    >>> round(dilute_viscosity(288.15, 0.0440956, 5.118e-10, 237.1).viscosity_pa_s * 1e6, 2)
    7.95
    """
    t = temperature_k / well_depth_k
    omega = collision_integral(t)
    diameter_angstrom = 1e10 * collision_diameter_m
    viscosity_pa_s = 2.6693e-6 * math.sqrt(1e3 * molar_mass_kg_mol * temperature_k) / (diameter_angstrom**2 * omega)
    return ViscosityTerms(diameter_angstrom, t, omega, viscosity_pa_s)


def mixing_weight(
    viscosity_pa_s: float,
    other_viscosity_pa_s: float,
    molar_mass_kg_mol: float,
    other_molar_mass_kg_mol: float,
    share: float = 1.0,
) -> float:
    """Weight of another gas in the viscosity of a gas of a mixture [-].

    yj phiij, phiij = (1 + sqrt(mui / muj) (Mj / Mi)^(1/4))^2 / sqrt(8 (1 + Mi / Mj))

    Range: as `mixture_viscosity_pa_s`.

    Parameters
    ----------
    viscosity_pa_s : float
        mui, of the gas [Pa s].
    other_viscosity_pa_s : float
        muj, of the other gas [Pa s].
    molar_mass_kg_mol : float
        Mi, of the gas [kg/mol].
    other_molar_mass_kg_mol : float
        Mj, of the other gas [kg/mol].
    share : float
        yj, mole fraction of the other gas [-]; at 1 the weight is phiij itself.

    Returns
    -------
    float
        yj phiij [-]; phiij is 1 for a gas with itself.

    References
    ----------
    Wilke, A viscosity equation for gas mixtures, J. Chem. Phys. 18 (1950) 517.

    Examples
    --------
    >>> round(mixing_weight(8e-6, 8e-6, 0.044, 0.044), 12)
    1.0
    """
    pull = 1.0 + math.sqrt(viscosity_pa_s / other_viscosity_pa_s) * math.pow(
        other_molar_mass_kg_mol / molar_mass_kg_mol, 0.25
    )
    return share * pull * pull / math.sqrt(8.0 * (1.0 + molar_mass_kg_mol / other_molar_mass_kg_mol))


def mixture_viscosity_pa_s(
    fractions: Sequence[float], viscosities_pa_s: Sequence[float], molar_masses_kg_mol: Sequence[float]
) -> float:
    """Viscosity of a gas mixture [Pa s].

    mu = sum over i of yi mui / (sum over j of yj phiij), phiij from `mixing_weight`

    Range: dilute nonpolar gases of like kind.

    Parameters
    ----------
    fractions : sequence of float
        y, mole fractions [-].
    viscosities_pa_s : sequence of float
        mu of each pure gas [Pa s].
    molar_masses_kg_mol : sequence of float
        M of each [kg/mol].

    Returns
    -------
    float
        mu [Pa s].

    References
    ----------
    Wilke, A viscosity equation for gas mixtures, J. Chem. Phys. 18 (1950) 517.

    Examples
    --------
    Propane and n-butane, half and half:

    >>> round(mixture_viscosity_pa_s([0.5, 0.5], [7.9e-6, 7.2e-6], [0.0441, 0.0581]) * 1e6, 2)
    7.52
    """
    total = 0.0
    for share, mu_i, mass_i in zip(fractions, viscosities_pa_s, molar_masses_kg_mol, strict=True):
        weight = 0.0
        for other_share, mu_j, mass_j in zip(fractions, viscosities_pa_s, molar_masses_kg_mol, strict=True):
            weight += mixing_weight(mu_i, mu_j, mass_i, mass_j, other_share)
        total += share * mu_i / weight
    return total
