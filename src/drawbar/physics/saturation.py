"""Where a pure gas and its liquid stand side by side: vapour pressure, heat of vaporisation, density of the liquid."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from drawbar.physics.air import R

if TYPE_CHECKING:
    from drawbar.physics.component import Component


def vapour_pressure_pa(temperature_k: float, component: Component) -> float:
    """Absolute pressure of a pure gas over its own liquid [Pa].

    ln(p / Pc) = (Tc / T) (A u + B u^1.5 + C u^2.5 + D u^5), with u = 1 - T / Tc

    Range: the component's saturation_range_k.

    Parameters
    ----------
    temperature_k : float
        T [K].
    component : Component
        The gas: Tc [K], Pc [Pa] and A to D [-] of this equation.

    Returns
    -------
    float
        p [Pa absolute].

    References
    ----------
    Wagner's equation in the 2.5, 5 form, VDI Heat Atlas, 2nd edition (2010), section D3.1, Table 3.

    Examples
    --------
    Propane at 20 degC, in bar:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> round(vapour_pressure_pa(293.15, Catalogue().component("propane")) / 1e5, 1)
    8.4
    """
    critical_k = component.saturation_range_k[1]
    u = 1.0 - temperature_k / critical_k
    a, b, c, d = component.vapour_pressure_coefficients
    root = math.sqrt(u)
    exponent = critical_k / temperature_k * (a * u + b * u * root + c * u * u * root + d * u**5)
    return component.saturation_critical_pa * math.exp(exponent)


def vaporisation_j_mol(temperature_k: float, component: Component) -> float:
    """Heat that turns one mole of liquid into saturated vapour [J/mol].

    h = R Tc (A u^(1/3) + B u^(2/3) + C u + D u^2 + E u^6), with u = 1 - T / Tc

    Range: the component's saturation_range_k.

    Parameters
    ----------
    temperature_k : float
        T [K].
    component : Component
        The gas: Tc [K] and A to E [-] of this equation.

    Returns
    -------
    float
        h [J/mol].

    References
    ----------
    VDI Heat Atlas, 2nd edition (2010), section D3.1, Table 4.

    Examples
    --------
    Propane at its boiling point, in kJ/kg:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> propane = Catalogue().component("propane")
    >>> round(vaporisation_j_mol(propane.boiling_k, propane) / propane.molar_mass_kg_mol / 1e3)
    426
    """
    critical_k = component.saturation_range_k[1]
    u = 1.0 - temperature_k / critical_k
    a, b, c, d, e = component.vaporisation_coefficients
    third = math.cbrt(u)
    return R * critical_k * (a * third + b * third * third + c * u + d * u * u + e * u**6)


def pure_liquid_density_kg_m3(temperature_k: float, component: Component) -> float:
    """Density of a pure liquid under its own vapour [kg/m3].

    rho = rhoc + A u^0.35 + B u^(2/3) + C u + D u^(4/3), with u = 1 - T / Tc

    Range: the component's saturation_range_k.

    Parameters
    ----------
    temperature_k : float
        T [K].
    component : Component
        The gas: Tc [K], rhoc and A to D [kg/m3] of this equation.

    Returns
    -------
    float
        rho [kg/m3].

    References
    ----------
    VDI Heat Atlas, 2nd edition (2010), section D3.1, Table 2.

    Examples
    --------
    Propane at 15 degC:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> round(pure_liquid_density_kg_m3(288.15, Catalogue().component("propane")))
    508
    """
    u = 1.0 - temperature_k / component.saturation_range_k[1]
    a, b, c, d = component.liquid_density_coefficients
    third = math.cbrt(u)
    return component.saturation_critical_kg_m3 + a * math.pow(u, 0.35) + b * third * third + c * u + d * third * u
