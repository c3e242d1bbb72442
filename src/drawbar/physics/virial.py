"""How far a vapour is from an ideal gas: the second virial coefficient, pure and mixed, and the compression factor.

Chapter, section and equation numbers of The Properties of Gases and Liquids are from memory.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.air import R

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drawbar.physics.component import Component

VIRIAL_REDUCED_LOW = 0.5
"""Lowest T / Tc the second virial coefficient is used at: our own bound, the data behind it grow few below."""

_ZERO_CELSIUS_K = 273.15


class VirialTerms(NamedTuple):
    """A second virial coefficient and what it is made of.

    Attributes
    ----------
    inverse_reduced : float
        t, critical over actual temperature [-].
    simple : float
        f0, the function of t for a round molecule [-].
    correction : float
        f1, the function of t by which the acentric factor counts [-].
    virial_m3_mol : float
        B [m3/mol].
    """

    inverse_reduced: float
    simple: float
    correction: float
    virial_m3_mol: float


class CrossConstants(NamedTuple):
    """The constants that stand for a pair of unlike molecules in the equation of a pure gas.

    Attributes
    ----------
    cube_m3_mol : float
        s^3, cube of the sum of the cube roots of the critical volumes [m3/mol].
    critical_temperature_k : float
        Tcij [K].
    critical_pressure_pa : float
        Pcij [Pa].
    acentric : float
        wij [-].
    """

    cube_m3_mol: float
    critical_temperature_k: float
    critical_pressure_pa: float
    acentric: float


def virial_terms(
    temperature_k: float, critical_temperature_k: float, critical_pressure_pa: float, acentric: float
) -> VirialTerms:
    """Second virial coefficient of a nonpolar gas, with what it is made of.

    B Pc / (R Tc) = f0 + w f1, with t = Tc / T
    f0 = 0.1445 - 0.330 t - 0.1385 t^2 - 0.0121 t^3 - 0.000607 t^8
    f1 = 0.0637 + 0.331 t^2 - 0.423 t^3 - 0.008 t^8

    Range: T / Tc above 0.5; used here to about 250 kPa, where the third coefficient does not show.

    Parameters
    ----------
    temperature_k : float
        T [K].
    critical_temperature_k : float
        Tc [K].
    critical_pressure_pa : float
        Pc [Pa].
    acentric : float
        w [-].

    Returns
    -------
    VirialTerms
        t, f0 and f1 [-], B [m3/mol].

    References
    ----------
    Tsonopoulos, An empirical correlation of second virial coefficients, AIChE J. 20 (1974) 263.

    Examples
    --------
    Propane at 15 degC:

    >>> terms = virial_terms(288.15, 369.89, 4.2512e6, 0.1521)
    >>> round(terms.inverse_reduced, 4), round(terms.virial_m3_mol * 1e6)
    (1.2837, -427)
    """
    t = critical_temperature_k / temperature_k
    t2 = t * t
    t3 = t2 * t
    t8 = t3 * t3 * t2
    simple = 0.1445 - 0.330 * t - 0.1385 * t2 - 0.0121 * t3 - 0.000607 * t8
    correction = 0.0637 + 0.331 * t2 - 0.423 * t3 - 0.008 * t8
    virial_m3_mol = R * critical_temperature_k / critical_pressure_pa * (simple + acentric * correction)
    return VirialTerms(t, simple, correction, virial_m3_mol)


def component_virial_terms(temperature_k: float, component: Component) -> VirialTerms:
    """Second virial coefficient of a pure gas, with what it is made of.

    Formula and range as `virial_terms`.

    Parameters
    ----------
    temperature_k : float
        T [K].
    component : Component
        The gas: Tc [K], Pc [Pa], w [-].

    Returns
    -------
    VirialTerms
        t, f0 and f1 [-], B [m3/mol].

    References
    ----------
    As `virial_terms`.
    """
    return virial_terms(
        temperature_k, component.critical_temperature_k, component.critical_pressure_pa, component.acentric
    )


def cross_constants(component: Component, other: Component) -> CrossConstants:
    """Pseudo-critical constants of a pair of unlike molecules.

    With s = Vci^(1/3) + Vcj^(1/3):
    Tcij = sqrt(Tci Tcj) (1 - kij), where 1 - kij = 8 sqrt(Vci Vcj) / s^3
    Pcij = 4 Tcij (Pci Vci / Tci + Pcj Vcj / Tcj) / s^3
    wij = (wi + wj) / 2

    Range: nonpolar gases of like kind.

    Parameters
    ----------
    component : Component
        The first gas: Tc [K], Pc [Pa], Vc [m3/mol], w [-].
    other : Component
        The second gas, likewise.

    Returns
    -------
    CrossConstants
        s^3 [m3/mol], Tcij [K], Pcij [Pa], wij [-].

    References
    ----------
    Tsonopoulos, AIChE J. 20 (1974) 263; kij: Tarakad and Danner, AIChE J. 23 (1977) 685. The rules are set out in
    The Properties of Gases and Liquids, 5th edition (2001), chapter 5, on the second virial coefficient of mixtures.
    """
    volume_i, volume_j = component.critical_volume_m3_mol, other.critical_volume_m3_mol
    cube_m3_mol = (math.cbrt(volume_i) + math.cbrt(volume_j)) ** 3
    critical_k = (
        math.sqrt(component.critical_temperature_k * other.critical_temperature_k)
        * 8.0
        * math.sqrt(volume_i * volume_j)
        / cube_m3_mol
    )
    sum_pa_m3_mol_k = (
        component.critical_pressure_pa * volume_i / component.critical_temperature_k
        + other.critical_pressure_pa * volume_j / other.critical_temperature_k
    )
    critical_pa = 4.0 * critical_k * sum_pa_m3_mol_k / cube_m3_mol
    return CrossConstants(cube_m3_mol, critical_k, critical_pa, 0.5 * (component.acentric + other.acentric))


def cross_virial_terms(temperature_k: float, component: Component, other: Component) -> VirialTerms:
    """Second virial coefficient for a pair of unlike molecules, with what it is made of.

    The equation of a pure gas at the constants of the pair. Formula and range as `virial_terms` and `cross_constants`.

    Parameters
    ----------
    temperature_k : float
        T [K].
    component : Component
        The first gas.
    other : Component
        The second gas.

    Returns
    -------
    VirialTerms
        t, f0 and f1 [-], Bij [m3/mol].

    References
    ----------
    As `virial_terms` and `cross_constants`.
    """
    pair = cross_constants(component, other)
    return virial_terms(temperature_k, pair.critical_temperature_k, pair.critical_pressure_pa, pair.acentric)


def mixture_virial_m3_mol(temperature_k: float, fractions: Sequence[tuple[Component, float]]) -> float:
    """Second virial coefficient of a mixture [m3/mol].

    B = sum over i and j of yi yj Bij

    Range: as `virial_terms`. The sum is exact.

    Parameters
    ----------
    temperature_k : float
        T [K].
    fractions : sequence of (Component, float)
        Each gas with its mole fraction y [-].

    Returns
    -------
    float
        B [m3/mol].

    References
    ----------
    The Properties of Gases and Liquids, 5th edition (2001), chapter 5.
    """
    total = 0.0
    for i, (component, share) in enumerate(fractions):
        total += share * share * component_virial_terms(temperature_k, component).virial_m3_mol
        for other, other_share in fractions[i + 1 :]:
            total += 2.0 * share * other_share * cross_virial_terms(temperature_k, component, other).virial_m3_mol
    return total


def compressibility(abs_pa: float, temperature_k: float, virial_m3_mol: float) -> float:
    """Compression factor Z = p v / (R T) of a vapour [-].

    Z = (1 + sqrt(1 + 4 B p / (R T))) / 2, the root of p v / (R T) = 1 + B / v, with v the molar volume [m3/mol]

    Range: vapour, to about 250 kPa absolute.

    Parameters
    ----------
    abs_pa : float
        p, absolute pressure [Pa].
    temperature_k : float
        T [K].
    virial_m3_mol : float
        B, second virial coefficient [m3/mol].

    Returns
    -------
    float
        Z [-].

    Raises
    ------
    ValueError
        Where there is no root: the gas cannot be a vapour there.

    References
    ----------
    The virial equation in density, cut after B; The Properties of Gases and Liquids, 5th edition (2001), chapter 4.

    Examples
    --------
    Propane at 15 degC and one atmosphere:

    >>> round(compressibility(101325.0, 288.15, -428e-6), 4)
    0.9816
    """
    square = 1.0 + 4.0 * virial_m3_mol * abs_pa / (R * temperature_k)
    if not square >= 0.0:
        raise ValueError(
            f"the gas cannot be a vapour at {temperature_k - _ZERO_CELSIUS_K:.1f} degC "
            f"and {abs_pa / 1e3:.0f} kPa absolute"
        )
    return 0.5 * (1.0 + math.sqrt(square))
