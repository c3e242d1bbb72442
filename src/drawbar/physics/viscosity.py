"""Viscosity of a gas at low pressure, pure and mixed.

Chapter, section and equation numbers of The Properties of Gases and Liquids are from memory.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.air import STANDARD_PA, R

if TYPE_CHECKING:
    from collections.abc import Sequence

COLLISION_REDUCED_LOW = 0.3
"""Lowest kT / eps of the collision integral, Neufeld, Janzen and Aziz (1972)."""


AVOGADRO = 6.02214076e23
"""Avogadro's number [1/mol], of the SI."""
# Coefficients and powers of the second viscosity virial coefficient.
DENSITY_SERIES = (
    (-19.572881, 0.0),
    (219.73999, -0.25),
    (-1015.3226, -0.5),
    (2471.01251, -0.75),
    (-3375.1717, -1.0),
    (2491.6597, -1.25),
    (-787.26086, -1.5),
    (14.085455, -2.5),
    (-0.34664158, -5.5),
)


class ViscosityTerms(NamedTuple):
    """The viscosity of a gas and what it is made of.

    Attributes
    ----------
    collision_diameter_angstrom : float
        sigma [angstrom], which is 1e-10 m.
    reduced_temperature : float
        t, temperature over well depth [-].
    collision_integral : float
        Omega [-].
    dilute_pa_s : float
        mu0, of the dilute gas [Pa s].
    viscosity_virial_m3_mol : float
        Beta, second viscosity virial coefficient [m3/mol].
    viscosity_pa_s : float
        mu, at 101325 Pa [Pa s].
    """

    collision_diameter_angstrom: float
    reduced_temperature: float
    collision_integral: float
    dilute_pa_s: float
    viscosity_virial_m3_mol: float
    viscosity_pa_s: float


def collision_integral(reduced_temperature: float, coefficients: Sequence[float] = ()) -> float:
    """Collision integral of a gas for viscosity [-].

    Omega = 5/4 exp(sum of ai ln(t)^i) with the coefficients of a gas that has them; else that of the Lennard-Jones gas,
    Omega = 1.16145 t^-0.14874 + 0.52487 exp(-0.77320 t) + 2.16178 exp(-2.43787 t)

    Range: t from 0.3 to 100 without coefficients, from 0.5 with them.

    Parameters
    ----------
    reduced_temperature : float
        t, temperature over well depth, T / (eps/k) [-].
    coefficients : sequence of float
        a0, a1 and so on [-]: of the reduced effective cross-section, which is 4/5 of Omega.

    Returns
    -------
    float
        Omega [-].

    References
    ----------
    Vogel, Kuechenmeister, Bich and Laesecke, J. Phys. Chem. Ref. Data 27 (1998) 947 for the form with coefficients;
    Neufeld, Janzen and Aziz, J. Chem. Phys. 57 (1972) 1100 for the other.

    Examples
    --------
    >>> round(collision_integral(1.0), 3)
    1.593
    """
    t = reduced_temperature
    if coefficients:
        log, power, total = math.log(t), 1.0, 0.0
        for coefficient in coefficients:
            total += coefficient * power
            power *= log
        return 1.25 * math.exp(total)
    return 1.16145 * math.pow(t, -0.14874) + 0.52487 * math.exp(-0.77320 * t) + 2.16178 * math.exp(-2.43787 * t)


def viscosity_virial_m3_mol(reduced_temperature: float, collision_diameter_m: float) -> float:
    """Second viscosity virial coefficient: how the viscosity starts to move with density [m3/mol].

    Beta = NA sigma^3 (sum over i of bi t^ci), bi and ci in DENSITY_SERIES

    Range: t from 0.7 to 50; at lower t the coefficient is large and less well known.

    Parameters
    ----------
    reduced_temperature : float
        t, temperature over well depth [-].
    collision_diameter_m : float
        sigma [m].

    Returns
    -------
    float
        Beta [m3/mol].

    References
    ----------
    Rainwater and Friend's theory, fitted by Vogel, Kuechenmeister, Bich and Laesecke, J. Phys. Chem. Ref. Data 27
    (1998) 947, Eq. (12) (equation number from memory).

    Examples
    --------
    Propane at 15 degC, in cm3/mol:

    >>> round(viscosity_virial_m3_mol(288.15 / 263.88, 4.9748e-10) * 1e6)
    -44
    """
    total = sum(factor * math.pow(reduced_temperature, power) for factor, power in DENSITY_SERIES)
    return AVOGADRO * collision_diameter_m**3 * total


def gas_viscosity(
    temperature_k: float,
    molar_mass_kg_mol: float,
    collision_diameter_m: float,
    well_depth_k: float,
    coefficients: Sequence[float] = (),
) -> ViscosityTerms:
    """Viscosity of a gas at 101.325 kPa, with what it is made of.

    mu = mu0 (1 + Beta p / (R T)), mu0 = 2.6693e-6 sqrt(1000 M T) / ((1e10 sigma)^2 Omega), Omega from
    `collision_integral` at t = T / (eps/k), Beta from `viscosity_virial_m3_mol`, p 101325 Pa

    Range: that of the two, at low pressure. A line at 140 kPa gauge has up to 0.8 % less viscosity than this.

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
    coefficients : sequence of float
        Of the collision integral [-]; none for the Lennard-Jones gas.

    Returns
    -------
    ViscosityTerms
        sigma [angstrom], t and Omega [-], mu0 [Pa s], Beta [m3/mol], mu [Pa s].

    References
    ----------
    Chapman and Enskog's first approximation, The Properties of Gases and Liquids, 5th edition (2001), Eq. (9-3.9), and
    as `viscosity_virial_m3_mol`.

    Examples
    --------
    Propane at 15 degC, in micropascal seconds:

    >>> propane = (0.25104574, -0.47271238, 0.0, 0.060836515)
    >>> round(gas_viscosity(288.15, 0.0440956, 4.9748e-10, 263.88, propane).viscosity_pa_s * 1e6, 2)
    7.87
    """
    t = temperature_k / well_depth_k
    omega = collision_integral(t, coefficients)
    diameter_angstrom = 1e10 * collision_diameter_m
    dilute_pa_s = 2.6693e-6 * math.sqrt(1e3 * molar_mass_kg_mol * temperature_k) / (diameter_angstrom**2 * omega)
    beta = viscosity_virial_m3_mol(t, collision_diameter_m)
    viscosity_pa_s = dilute_pa_s * (1.0 + beta * STANDARD_PA / (R * temperature_k))
    return ViscosityTerms(diameter_angstrom, t, omega, dilute_pa_s, beta, viscosity_pa_s)


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
