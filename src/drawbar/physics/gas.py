"""LPG vapour and liquid on plain floats: density, viscosity, calorific value, vapour pressure, heat of vaporisation.

Each correlation is one function under its formula, range and source. `Component` holds a pure gas's figures, `Gas` a
mixture by mole, `Vapour` that mixture at one temperature, with all that the flow formulas ask for. Chapter, section and
equation numbers of The Properties of Gases and Liquids are from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from drawbar.physics.air import REFERENCE_K, STANDARD_PA, R, air_density_kg_m3

VIRIAL_REDUCED_LOW = 0.5
"""Lowest T / Tc the second virial coefficient is used at: our own bound, the data behind it grow few below."""
COLLISION_REDUCED_LOW = 0.3
"""Lowest kT / eps of the collision integral, Neufeld, Janzen and Aziz (1972)."""
FRACTION_TOLERANCE = 1e-6

_ZERO_CELSIUS_K = 273.15


class Component(NamedTuple):
    """One pure gas, as data/gases.yaml gives it. Units stand in the names; the sources stand beside the data.

    critical_* and acentric serve the second virial coefficient, collision_diameter_m and well_depth_k (eps/k) the
    viscosity, saturation_* and the coefficients the vapour-liquid equations, which are reduced by the upper end of
    saturation_range_k. liquid_heat_j_kg_k is the liquid's heat capacity in a table by liquid_heat_k.
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

    @property
    def temperature_range_k(self) -> tuple[float, float]:
        """Lowest and highest temperature where all the correlations of this gas hold [K]."""
        low_k, high_k = self.saturation_range_k
        virial_k = VIRIAL_REDUCED_LOW * self.critical_temperature_k
        return max(low_k, virial_k, COLLISION_REDUCED_LOW * self.well_depth_k), high_k


def second_virial_m3_mol(
    temperature_k: float, critical_temperature_k: float, critical_pressure_pa: float, acentric: float
) -> float:
    """Second virial coefficient of a nonpolar gas [m3/mol].

    B Pc / (R Tc) = f0 + w f1, with t = T / Tc
    f0 = 0.1445 - 0.330/t - 0.1385/t^2 - 0.0121/t^3 - 0.000607/t^8
    f1 = 0.0637 + 0.331/t^2 - 0.423/t^3 - 0.008/t^8

    temperature_k : T [K]; critical_temperature_k : Tc [K]; critical_pressure_pa : Pc [Pa]; acentric : w [-]

    Range: T / Tc above 0.5; used here to about 250 kPa, where the third coefficient does not show.
    Source: Tsonopoulos, An empirical correlation of second virial coefficients, AIChE J. 20 (1974) 263.
    """
    t = critical_temperature_k / temperature_k
    t2 = t * t
    t3 = t2 * t
    t8 = t3 * t3 * t2
    simple = 0.1445 - 0.330 * t - 0.1385 * t2 - 0.0121 * t3 - 0.000607 * t8
    correction = 0.0637 + 0.331 * t2 - 0.423 * t3 - 0.008 * t8
    return R * critical_temperature_k / critical_pressure_pa * (simple + acentric * correction)


def cross_virial_m3_mol(temperature_k: float, one: Component, other: Component) -> float:
    """Second virial coefficient for a pair of unlike molecules [m3/mol].

    The pure-gas correlation at pseudo-critical constants of the pair, with s = Vci^(1/3) + Vcj^(1/3):
    Tcij = sqrt(Tci Tcj) (1 - kij), where 1 - kij = 8 sqrt(Vci Vcj) / s^3
    Pcij = 4 Tcij (Pci Vci / Tci + Pcj Vcj / Tcj) / s^3
    wij = (wi + wj) / 2

    temperature_k : T [K]; one, other : the two gases, with Tc [K], Pc [Pa], Vc [m3/mol], w [-]

    Range: as `second_virial_m3_mol`, for nonpolar gases of like kind.
    Source: Tsonopoulos (1974), as above; kij: Tarakad and Danner, AIChE J. 23 (1977) 685. The rules are set out in
    The Properties of Gases and Liquids, 5th edition (2001), chapter 5, on the second virial coefficient of mixtures.
    """
    volume_i, volume_j = one.critical_volume_m3_mol, other.critical_volume_m3_mol
    cube_m3_mol = (math.cbrt(volume_i) + math.cbrt(volume_j)) ** 3
    critical_k = (
        math.sqrt(one.critical_temperature_k * other.critical_temperature_k)
        * 8.0
        * math.sqrt(volume_i * volume_j)
        / cube_m3_mol
    )
    sum_pa_m3_mol_k = (
        one.critical_pressure_pa * volume_i / one.critical_temperature_k
        + other.critical_pressure_pa * volume_j / other.critical_temperature_k
    )
    critical_pa = 4.0 * critical_k * sum_pa_m3_mol_k / cube_m3_mol
    return second_virial_m3_mol(temperature_k, critical_k, critical_pa, 0.5 * (one.acentric + other.acentric))


def mixture_virial_m3_mol(temperature_k: float, fractions: Sequence[tuple[Component, float]]) -> float:
    """Second virial coefficient of a mixture [m3/mol].

    B = sum over i and j of yi yj Bij

    temperature_k : T [K]; fractions : each gas with its mole fraction y [-]; Bij : [m3/mol]

    Range: as `second_virial_m3_mol`. The sum is exact.
    Source: The Properties of Gases and Liquids, 5th edition (2001), chapter 5.
    """
    total = 0.0
    for i, (one, part) in enumerate(fractions):
        total += (
            part
            * part
            * second_virial_m3_mol(temperature_k, one.critical_temperature_k, one.critical_pressure_pa, one.acentric)
        )
        for other, other_part in fractions[i + 1 :]:
            total += 2.0 * part * other_part * cross_virial_m3_mol(temperature_k, one, other)
    return total


def compressibility(abs_pa: float, temperature_k: float, virial_m3_mol: float) -> float:
    """Compression factor Z = p v / (R T) of a vapour [-].

    Z = (1 + sqrt(1 + 4 B p / (R T))) / 2, the root of p v / (R T) = 1 + B / v

    abs_pa : p, absolute pressure [Pa]; temperature_k : T [K]; v : molar volume [m3/mol]
    virial_m3_mol : B, second virial coefficient [m3/mol]

    Range: vapour, to about 250 kPa absolute. Where there is no root the gas cannot be a vapour: ValueError.
    Source: the virial equation in density, cut after B; The Properties of Gases and Liquids, 5th edition (2001),
    chapter 4.
    """
    square = 1.0 + 4.0 * virial_m3_mol * abs_pa / (R * temperature_k)
    if not square >= 0.0:
        raise ValueError(
            f"the gas cannot be a vapour at {temperature_k - _ZERO_CELSIUS_K:.1f} degC "
            f"and {abs_pa / 1e3:.0f} kPa absolute"
        )
    return 0.5 * (1.0 + math.sqrt(square))


def dilute_viscosity_pa_s(
    temperature_k: float, molar_mass_kg_mol: float, collision_diameter_m: float, well_depth_k: float
) -> float:
    """Viscosity of a dilute gas [Pa s].

    mu = 2.6693e-6 sqrt(1000 M T) / ((1e10 sigma)^2 Omega), with t = T / (eps/k)
    Omega = 1.16145 t^-0.14874 + 0.52487 exp(-0.77320 t) + 2.16178 exp(-2.43787 t)

    temperature_k : T [K]; molar_mass_kg_mol : M [kg/mol]
    collision_diameter_m : sigma [m]; well_depth_k : eps/k [K]; Omega : collision integral [-]

    Range: t from 0.3 to 100, at low pressure. Up to 250 kPa the pressure takes at most 1.2 % off.
    Source: Chapman and Enskog's first approximation, The Properties of Gases and Liquids, 5th edition (2001),
    Eq. (9-3.9); Omega: Neufeld, Janzen and Aziz, J. Chem. Phys. 57 (1972) 1100.
    """
    t = temperature_k / well_depth_k
    omega = 1.16145 * math.pow(t, -0.14874) + 0.52487 * math.exp(-0.77320 * t) + 2.16178 * math.exp(-2.43787 * t)
    diameter_angstrom = 1e10 * collision_diameter_m
    return 2.6693e-6 * math.sqrt(1e3 * molar_mass_kg_mol * temperature_k) / (diameter_angstrom**2 * omega)


def mixture_viscosity_pa_s(
    fractions: Sequence[float], viscosities_pa_s: Sequence[float], molar_masses_kg_mol: Sequence[float]
) -> float:
    """Viscosity of a gas mixture [Pa s].

    mu = sum over i of yi mui / (sum over j of yj phiij)
    phiij = (1 + sqrt(mui / muj) (Mj / Mi)^(1/4))^2 / sqrt(8 (1 + Mi / Mj))

    fractions : y, mole fractions [-]; viscosities_pa_s : mu of each pure gas [Pa s]
    molar_masses_kg_mol : M of each [kg/mol]

    Range: dilute nonpolar gases of like kind.
    Source: Wilke, A viscosity equation for gas mixtures, J. Chem. Phys. 18 (1950) 517.
    """
    total = 0.0
    for part_i, mu_i, mass_i in zip(fractions, viscosities_pa_s, molar_masses_kg_mol, strict=True):
        weight = 0.0
        for part_j, mu_j, mass_j in zip(fractions, viscosities_pa_s, molar_masses_kg_mol, strict=True):
            pull = 1.0 + math.sqrt(mu_i / mu_j) * math.pow(mass_j / mass_i, 0.25)
            weight += part_j * pull * pull / math.sqrt(8.0 * (1.0 + mass_i / mass_j))
        total += part_i * mu_i / weight
    return total


def vapour_pressure_pa(temperature_k: float, component: Component) -> float:
    """Absolute pressure of a pure gas over its own liquid [Pa].

    ln(p / Pc) = (Tc / T) (A u + B u^1.5 + C u^2.5 + D u^5), with u = 1 - T / Tc

    temperature_k : T [K]; component : Tc [K], Pc [Pa] and A to D [-] of this equation

    Range: the component's saturation_range_k.
    Source: Wagner's equation in the 2.5, 5 form, VDI Heat Atlas, 2nd edition (2010), section D3.1, Table 3.
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

    temperature_k : T [K]; component : Tc [K] and A to E [-] of this equation

    Range: the component's saturation_range_k.
    Source: VDI Heat Atlas, 2nd edition (2010), section D3.1, Table 4.
    """
    critical_k = component.saturation_range_k[1]
    u = 1.0 - temperature_k / critical_k
    a, b, c, d, e = component.vaporisation_coefficients
    third = math.cbrt(u)
    return R * critical_k * (a * third + b * third * third + c * u + d * u * u + e * u**6)


def pure_liquid_density_kg_m3(temperature_k: float, component: Component) -> float:
    """Density of a pure liquid under its own vapour [kg/m3].

    rho = rhoc + A u^0.35 + B u^(2/3) + C u + D u^(4/3), with u = 1 - T / Tc

    temperature_k : T [K]; component : Tc [K], rhoc and A to D [kg/m3] of this equation

    Range: the component's saturation_range_k.
    Source: VDI Heat Atlas, 2nd edition (2010), section D3.1, Table 2.
    """
    u = 1.0 - temperature_k / component.saturation_range_k[1]
    a, b, c, d = component.liquid_density_coefficients
    third = math.cbrt(u)
    return component.saturation_critical_kg_m3 + a * math.pow(u, 0.35) + b * third * third + c * u + d * third * u


class Vapour(NamedTuple):
    """A gas at one temperature: what the flow formulas need, floats only. Made by `Gas.vapour`.

    reference_density_kg_m3, relative_density and gross_j_kg are those of the gas, at 15 degC and 101325 Pa.
    """

    molar_mass_kg_mol: float
    temperature_k: float
    viscosity_pa_s: float
    virial_m3_mol: float
    reference_density_kg_m3: float
    relative_density: float
    gross_j_kg: float

    @property
    def virial_per_pa(self) -> float:
        """B / (R T) [1/Pa]."""
        return self.virial_m3_mol / (R * self.temperature_k)

    def compressibility(self, abs_pa: float) -> float:
        """Compression factor Z [-] at an absolute pressure abs_pa [Pa], by `compressibility`."""
        return compressibility(abs_pa, self.temperature_k, self.virial_m3_mol)

    def density_kg_m3(self, abs_pa: float) -> float:
        """Density [kg/m3] at an absolute pressure abs_pa [Pa]: rho = p M / (Z R T). Range as `compressibility`."""
        return abs_pa * self.molar_mass_kg_mol / (self.compressibility(abs_pa) * R * self.temperature_k)


@dataclass(frozen=True, slots=True)
class Gas:
    """A gas, pure or mixed, by mole. Everything that does not hang on temperature is worked out once.

    fractions : each component with its mole fraction [-]; they add up to 1
    gross_j_kg, net_j_kg : heat of combustion, burnt at 25 degC [J/kg]
    temperature_range_k : lowest and highest temperature where all correlations hold [K]; the methods raise a
        ValueError outside it
    reference_density_kg_m3 : real gas at 15 degC and 101325 Pa [kg/m3]
    relative_density : that over the density of dry air in the same state [-]
    gross_j_m3 : gross heat in a cubic metre of that state [J/m3]
    """

    fractions: tuple[tuple[Component, float], ...]
    molar_mass_kg_mol: float = field(init=False)
    gross_j_kg: float = field(init=False)
    net_j_kg: float = field(init=False)
    temperature_range_k: tuple[float, float] = field(init=False)
    reference_density_kg_m3: float = field(init=False)
    relative_density: float = field(init=False)
    gross_j_m3: float = field(init=False)

    def __post_init__(self) -> None:
        for component, part in self.fractions:
            if not part > 0.0:
                raise ValueError(f"the mole fraction of {component.name} is {part:g}; it must be above 0")
        total = math.fsum(part for _, part in self.fractions)
        if not abs(total - 1.0) <= FRACTION_TOLERANCE:
            raise ValueError(f"the mole fractions of the gas add up to {total:g}, not 1")
        keep = object.__setattr__  # the class is frozen
        mass_kg_mol = sum(part * component.molar_mass_kg_mol for component, part in self.fractions)
        gross_j_kg = sum(part * component.gross_j_mol for component, part in self.fractions) / mass_kg_mol
        keep(self, "molar_mass_kg_mol", mass_kg_mol)
        keep(self, "gross_j_kg", gross_j_kg)
        keep(self, "net_j_kg", sum(part * component.net_j_mol for component, part in self.fractions) / mass_kg_mol)
        ranges_k = [component.temperature_range_k for component, _ in self.fractions]
        keep(self, "temperature_range_k", (max(low for low, _ in ranges_k), min(high for _, high in ranges_k)))
        z = compressibility(STANDARD_PA, REFERENCE_K, mixture_virial_m3_mol(REFERENCE_K, self.fractions))
        density_kg_m3 = STANDARD_PA * mass_kg_mol / (z * R * REFERENCE_K)
        keep(self, "reference_density_kg_m3", density_kg_m3)
        keep(self, "relative_density", density_kg_m3 / air_density_kg_m3(STANDARD_PA, REFERENCE_K))
        keep(self, "gross_j_m3", gross_j_kg * density_kg_m3)

    def vapour(self, temperature_k: float) -> Vapour:
        """Return the vapour at temperature_k [K]. Whether it would condense is for `dew_pressure_pa` to say."""
        self._check_range(temperature_k)
        viscosities_pa_s = [
            dilute_viscosity_pa_s(temperature_k, one.molar_mass_kg_mol, one.collision_diameter_m, one.well_depth_k)
            for one, _ in self.fractions
        ]
        if len(viscosities_pa_s) == 1:
            viscosity_pa_s = viscosities_pa_s[0]
        else:
            masses_kg_mol = [component.molar_mass_kg_mol for component, _ in self.fractions]
            parts = [part for _, part in self.fractions]
            viscosity_pa_s = mixture_viscosity_pa_s(parts, viscosities_pa_s, masses_kg_mol)
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

        1 / p = sum of yi / pi (Raoult's law); temperature_k : T [K]; pi : vapour pressure of each pure gas [Pa]
        Range: temperature_range_k. Source: The Properties of Gases and Liquids, 5th edition (2001), chapter 8.
        """
        self._check_range(temperature_k)
        return 1.0 / sum(part / vapour_pressure_pa(temperature_k, component) for component, part in self.fractions)

    def bubble_pressure_pa(self, temperature_k: float) -> float:
        """Absolute pressure over a liquid of this make-up [Pa].

        p = sum of xi pi (Raoult's law); temperature_k : T [K]; pi : vapour pressure of each pure gas [Pa]
        Range: temperature_range_k. Source: The Properties of Gases and Liquids, 5th edition (2001), chapter 8.
        """
        self._check_range(temperature_k)
        return sum(part * vapour_pressure_pa(temperature_k, component) for component, part in self.fractions)

    def latent_heat_j_kg(self, temperature_k: float) -> float:
        """Heat that vaporises a kilogram of liquid of this make-up whole [J/kg], heat of mixing left out.

        h = (sum of xi hi) / M; temperature_k : T [K]; hi : molar heat of each [J/mol]; M : molar mass [kg/mol]
        Range: temperature_range_k. Source: `vaporisation_j_mol`; ideal mixing.
        """
        self._check_range(temperature_k)
        heat_j_mol = sum(part * vaporisation_j_mol(temperature_k, component) for component, part in self.fractions)
        return heat_j_mol / self.molar_mass_kg_mol

    def liquid_density_kg_m3(self, temperature_k: float) -> float:
        """Density of a liquid of this make-up [kg/m3], the volumes of the parts added up.

        rho = M / (sum of xi Mi / rhoi); temperature_k : T [K]; rhoi : density of each pure liquid [kg/m3]
        Range: temperature_range_k; propane with n-butane comes out up to 1 % light at 50 degC, less when colder.
        Source: `pure_liquid_density_kg_m3`; ideal mixing.
        """
        self._check_range(temperature_k)
        volume_m3_mol = sum(
            part * component.molar_mass_kg_mol / pure_liquid_density_kg_m3(temperature_k, component)
            for component, part in self.fractions
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
