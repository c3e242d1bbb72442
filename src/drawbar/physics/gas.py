"""LPG on plain floats: a mixture by mole, and that mixture as a vapour at one temperature.

`Gas` holds the mixture, `Vapour` the same at one temperature, with all that the flow formulas ask for. The correlations
stand in `virial`, `viscosity` and `saturation`. Chapter numbers of The Properties of Gases and Liquids are from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

from drawbar.physics.air import REFERENCE_K, STANDARD_PA, R, air_density_kg_m3
from drawbar.physics.component import Component
from drawbar.physics.saturation import pure_liquid_density_kg_m3, vaporisation_j_mol, vapour_pressure_pa
from drawbar.physics.virial import compressibility, mixture_virial_m3_mol
from drawbar.physics.viscosity import gas_viscosity, mixture_viscosity_pa_s

FRACTION_TOLERANCE = 1e-6
"""How far from 1 the mole fractions of a gas may add up to [-]."""

_ZERO_CELSIUS_K = 273.15


class Vapour(NamedTuple):
    """A gas at one temperature: what the flow formulas need, floats only. Made by `Gas.vapour`.

    Attributes
    ----------
    molar_mass_kg_mol : float
        M [kg/mol].
    temperature_k : float
        T [K].
    viscosity_pa_s : float
        mu, dynamic viscosity [Pa s].
    virial_m3_mol : float
        B, second virial coefficient [m3/mol].
    reference_density_kg_m3 : float
        Density at 15 degC and 101325 Pa [kg/m3].
    relative_density : float
        S, that over the density of dry air in the same state [-].
    gross_j_kg : float
        Gross heat of combustion [J/kg].
    least_viscosity_pa_s : float or None
        The least that the viscosity may be, by which flow is counted as laminar [Pa s]; None for the viscosity itself.

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> propane = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(propane.density_kg_m3(101325.0 + 2750.0), 3)
    1.952
    >>> round(propane.viscosity_pa_s * 1e6, 2)
    7.87
    """

    molar_mass_kg_mol: float
    temperature_k: float
    viscosity_pa_s: float
    virial_m3_mol: float
    reference_density_kg_m3: float
    relative_density: float
    gross_j_kg: float
    least_viscosity_pa_s: float | None = None

    @property
    def virial_per_pa(self) -> float:
        """B / (R T) [1/Pa]."""
        return self.virial_m3_mol / (R * self.temperature_k)

    def compressibility(self, abs_pa: float) -> float:
        """Compression factor Z at a pressure [-], by `virial.compressibility`.

        Parameters
        ----------
        abs_pa : float
            p, absolute pressure [Pa].

        Returns
        -------
        float
            Z [-].

        Raises
        ------
        ValueError
            Where the gas cannot be a vapour.
        """
        return compressibility(abs_pa, self.temperature_k, self.virial_m3_mol)

    def density_kg_m3(self, abs_pa: float) -> float:
        """Density at a pressure [kg/m3].

        rho = p M / (Z R T)

        Range: as `virial.compressibility`.

        Parameters
        ----------
        abs_pa : float
            p, absolute pressure [Pa].

        Returns
        -------
        float
            rho [kg/m3].

        Raises
        ------
        ValueError
            Where the gas cannot be a vapour.
        """
        return abs_pa * self.molar_mass_kg_mol / (self.compressibility(abs_pa) * R * self.temperature_k)

    def sea_density_kg_m3(self, gauge_pa: float) -> float:
        """Density at 15 degC at the sea, at a gauge pressure [kg/m3]: where makers' figures are for.

        rho = (p0 + pg) M / (Z R T0), Z from the second virial coefficient that the density at p0 and T0 holds

        Range: as `virial.compressibility`.

        Parameters
        ----------
        gauge_pa : float
            pg, gauge pressure [Pa].

        Returns
        -------
        float
            rho [kg/m3].

        Raises
        ------
        ValueError
            Where the gas cannot be a vapour.
        """
        ideal_kg_m3_pa = self.molar_mass_kg_mol / (R * REFERENCE_K)
        z = STANDARD_PA * ideal_kg_m3_pa / self.reference_density_kg_m3
        virial_m3_mol = z * (z - 1.0) * R * REFERENCE_K / STANDARD_PA
        abs_pa = STANDARD_PA + gauge_pa
        return abs_pa * ideal_kg_m3_pa / compressibility(abs_pa, REFERENCE_K, virial_m3_mol)


@dataclass(frozen=True, slots=True)
class Gas:
    """A gas, pure or mixed, by mole. Everything that does not hang on temperature is worked out once.

    Attributes
    ----------
    fractions : tuple of (Component, float)
        Each component with its mole fraction [-]; they add up to 1, or a ValueError is raised.
    molar_mass_kg_mol : float
        Molar mass [kg/mol].
    gross_j_kg : float
        Gross heat of combustion, burnt at 25 degC [J/kg].
    net_j_kg : float
        Net heat of combustion, burnt at 25 degC [J/kg].
    temperature_range_k : tuple of float
        Lowest and highest temperature where all correlations hold [K]; the methods raise a ValueError outside it.
    reference_virial_m3_mol : float
        Second virial coefficient at 15 degC [m3/mol].
    reference_compressibility : float
        Compression factor at 15 degC and 101325 Pa [-].
    reference_density_kg_m3 : float
        Density of the real gas at 15 degC and 101325 Pa [kg/m3].
    relative_density : float
        That over the density of dry air in the same state [-].
    gross_j_m3 : float
        Gross heat in a cubic metre of that state [J/m3].

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> gas = Catalogue().gas((("propane", 0.6), ("n-butane", 0.4)))
    >>> round(gas.gross_j_kg / 1e6, 2), round(gas.relative_density, 2)
    (49.94, 1.76)
    """

    fractions: tuple[tuple[Component, float], ...]
    molar_mass_kg_mol: float = field(init=False)
    gross_j_kg: float = field(init=False)
    net_j_kg: float = field(init=False)
    temperature_range_k: tuple[float, float] = field(init=False)
    reference_virial_m3_mol: float = field(init=False)
    reference_compressibility: float = field(init=False)
    reference_density_kg_m3: float = field(init=False)
    relative_density: float = field(init=False)
    gross_j_m3: float = field(init=False)

    def __post_init__(self) -> None:
        for component, share in self.fractions:
            if not share > 0.0:
                raise ValueError(f"the mole fraction of {component.name} is {share:g}; it must be above 0")
        total = math.fsum(share for _, share in self.fractions)
        if not abs(total - 1.0) <= FRACTION_TOLERANCE:
            raise ValueError(f"the mole fractions of the gas add up to {total:g}, not 1")
        keep = object.__setattr__  # the class is frozen
        mass_kg_mol = sum(share * component.molar_mass_kg_mol for component, share in self.fractions)
        gross_j_kg = sum(share * component.gross_j_mol for component, share in self.fractions) / mass_kg_mol
        keep(self, "molar_mass_kg_mol", mass_kg_mol)
        keep(self, "gross_j_kg", gross_j_kg)
        keep(self, "net_j_kg", sum(share * component.net_j_mol for component, share in self.fractions) / mass_kg_mol)
        ranges_k = [component.temperature_range_k for component, _ in self.fractions]
        keep(self, "temperature_range_k", (max(low for low, _ in ranges_k), min(high for _, high in ranges_k)))
        virial_m3_mol = mixture_virial_m3_mol(REFERENCE_K, self.fractions)
        z = compressibility(STANDARD_PA, REFERENCE_K, virial_m3_mol)
        density_kg_m3 = STANDARD_PA * mass_kg_mol / (z * R * REFERENCE_K)
        keep(self, "reference_virial_m3_mol", virial_m3_mol)
        keep(self, "reference_compressibility", z)
        keep(self, "reference_density_kg_m3", density_kg_m3)
        keep(self, "relative_density", density_kg_m3 / air_density_kg_m3(STANDARD_PA, REFERENCE_K))
        keep(self, "gross_j_m3", gross_j_kg * density_kg_m3)

    def vapour(self, temperature_k: float) -> Vapour:
        """Return the vapour at a temperature. Whether it would condense is for `dew_pressure_pa` to say.

        Parameters
        ----------
        temperature_k : float
            T [K].

        Returns
        -------
        Vapour
            The gas at that temperature [SI].

        Raises
        ------
        ValueError
            Outside `temperature_range_k`.
        """
        self._check_range(temperature_k)
        viscosities_pa_s = [
            gas_viscosity(
                temperature_k,
                component.molar_mass_kg_mol,
                component.collision_diameter_m,
                component.well_depth_k,
                component.collision_coefficients,
            ).viscosity_pa_s
            for component, _ in self.fractions
        ]
        if len(viscosities_pa_s) == 1:
            viscosity_pa_s = viscosities_pa_s[0]
        else:
            masses_kg_mol = [component.molar_mass_kg_mol for component, _ in self.fractions]
            shares = [share for _, share in self.fractions]
            viscosity_pa_s = mixture_viscosity_pa_s(shares, viscosities_pa_s, masses_kg_mol)
        return Vapour(
            molar_mass_kg_mol=self.molar_mass_kg_mol,
            temperature_k=temperature_k,
            viscosity_pa_s=viscosity_pa_s,
            virial_m3_mol=mixture_virial_m3_mol(temperature_k, self.fractions),
            reference_density_kg_m3=self.reference_density_kg_m3,
            relative_density=self.relative_density,
            gross_j_kg=self.gross_j_kg,
        )

    def dew_pressure_pa(self, temperature_k: float) -> float:
        """Absolute pressure above which vapour of this make-up starts to condense [Pa].

        1 / p = sum of yi / pi (Raoult's law), with pi the vapour pressure of each pure gas [Pa]

        Range: temperature_range_k.

        Parameters
        ----------
        temperature_k : float
            T [K].

        Returns
        -------
        float
            p [Pa absolute].

        Raises
        ------
        ValueError
            Outside the range.

        References
        ----------
        The Properties of Gases and Liquids, 5th edition (2001), chapter 8.
        """
        self._check_range(temperature_k)
        return 1.0 / sum(share / vapour_pressure_pa(temperature_k, component) for component, share in self.fractions)

    def bubble_pressure_pa(self, temperature_k: float) -> float:
        """Absolute pressure over a liquid of this make-up [Pa].

        p = sum of xi pi (Raoult's law), with pi the vapour pressure of each pure gas [Pa]

        Range: temperature_range_k.

        Parameters
        ----------
        temperature_k : float
            T [K].

        Returns
        -------
        float
            p [Pa absolute].

        Raises
        ------
        ValueError
            Outside the range.

        References
        ----------
        The Properties of Gases and Liquids, 5th edition (2001), chapter 8.
        """
        self._check_range(temperature_k)
        return sum(share * vapour_pressure_pa(temperature_k, component) for component, share in self.fractions)

    def latent_heat_j_kg(self, temperature_k: float) -> float:
        """Heat that vaporises a kilogram of liquid of this make-up whole [J/kg], heat of mixing left out.

        h = (sum of xi hi) / M, with hi the molar heat of each [J/mol] and M the molar mass [kg/mol]

        Range: temperature_range_k.

        Parameters
        ----------
        temperature_k : float
            T [K].

        Returns
        -------
        float
            h [J/kg].

        Raises
        ------
        ValueError
            Outside the range.

        References
        ----------
        As `vaporisation_j_mol`; ideal mixing.
        """
        self._check_range(temperature_k)
        heat_j_mol = sum(share * vaporisation_j_mol(temperature_k, component) for component, share in self.fractions)
        return heat_j_mol / self.molar_mass_kg_mol

    def liquid_density_kg_m3(self, temperature_k: float) -> float:
        """Density of a liquid of this make-up [kg/m3], the volumes of the parts added up.

        rho = M / (sum of xi Mi / rhoi), with rhoi the density of each pure liquid [kg/m3]

        Range: temperature_range_k; propane with n-butane comes out up to 1 % light at 50 degC, less when colder.

        Parameters
        ----------
        temperature_k : float
            T [K].

        Returns
        -------
        float
            rho [kg/m3].

        Raises
        ------
        ValueError
            Outside the range.

        References
        ----------
        As `pure_liquid_density_kg_m3`; ideal mixing.
        """
        self._check_range(temperature_k)
        volume_m3_mol = sum(
            share * component.molar_mass_kg_mol / pure_liquid_density_kg_m3(temperature_k, component)
            for component, share in self.fractions
        )
        return self.molar_mass_kg_mol / volume_m3_mol

    def _check_range(self, temperature_k: float) -> None:
        low_k, high_k = self.temperature_range_k
        if not low_k <= temperature_k <= high_k:
            names = " and ".join(component.name for component, _ in self.fractions)
            raise ValueError(
                f"{temperature_k - _ZERO_CELSIUS_K:.1f} degC is outside the range of the figures for {names}, "
                f"{low_k - _ZERO_CELSIUS_K:.1f} to {high_k - _ZERO_CELSIUS_K:.1f} degC"
            )
