"""A pure gas: the figures that all correlations of the gas start from."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.physics.virial import VIRIAL_REDUCED_LOW
from drawbar.physics.viscosity import COLLISION_REDUCED_LOW


class Component(NamedTuple):
    """A pure gas, as data/gases.yaml gives it; the sources stand beside the data.

    Attributes
    ----------
    name : str
        Its name.
    molar_mass_kg_mol : float
        Molar mass [kg/mol].
    boiling_k : float
        Boiling point at 101325 Pa [K].
    gross_j_mol : float
        Gross heat of combustion [J/mol].
    net_j_mol : float
        Net heat of combustion [J/mol].
    critical_temperature_k : float
        Tc [K], for the second virial coefficient.
    critical_pressure_pa : float
        Pc [Pa], for the second virial coefficient.
    critical_volume_m3_mol : float
        Vc [m3/mol], for the second virial coefficient of a mixture.
    acentric : float
        w, the acentric factor [-], for the second virial coefficient.
    collision_diameter_m : float
        sigma [m], for the viscosity.
    well_depth_k : float
        eps/k [K], for the viscosity.
    saturation_range_k : tuple of float
        Lowest temperature of the vapour-liquid equations, and the critical one that they are reduced by [K].
    saturation_critical_pa : float
        Critical pressure of the vapour-liquid equations [Pa].
    saturation_critical_kg_m3 : float
        Critical density of the vapour-liquid equations [kg/m3].
    vapour_pressure_coefficients : tuple of float
        A to D of `vapour_pressure_pa` [-].
    vaporisation_coefficients : tuple of float
        A to E of `vaporisation_j_mol` [-].
    liquid_density_coefficients : tuple of float
        A to D of `pure_liquid_density_kg_m3` [kg/m3].
    liquid_heat_k : tuple of float
        Temperatures of the table of the liquid's heat capacity [K].
    liquid_heat_j_kg_k : tuple of float
        Heat capacity of the liquid at these [J/kg/K].
    collision_coefficients : tuple of float
        Of the collision integral [-], for the viscosity; empty for a gas that counts as a Lennard-Jones gas.
    """

    name: str
    molar_mass_kg_mol: float
    boiling_k: float
    gross_j_mol: float
    net_j_mol: float
    critical_temperature_k: float
    critical_pressure_pa: float
    critical_volume_m3_mol: float
    acentric: float
    collision_diameter_m: float
    well_depth_k: float
    saturation_range_k: tuple[float, float]
    saturation_critical_pa: float
    saturation_critical_kg_m3: float
    vapour_pressure_coefficients: tuple[float, ...]
    vaporisation_coefficients: tuple[float, ...]
    liquid_density_coefficients: tuple[float, ...]
    liquid_heat_k: tuple[float, ...]
    liquid_heat_j_kg_k: tuple[float, ...]
    collision_coefficients: tuple[float, ...] = ()

    @property
    def temperature_range_k(self) -> tuple[float, float]:
        """Lowest and highest temperature where all the correlations of this gas hold [K]."""
        low_k, high_k = self.saturation_range_k
        virial_k = VIRIAL_REDUCED_LOW * self.critical_temperature_k
        return max(low_k, virial_k, COLLISION_REDUCED_LOW * self.well_depth_k), high_k
