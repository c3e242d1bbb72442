"""The air outside the pipe: its pressure by altitude and its density, on plain floats."""

import math

R = 8.314462618
"""Molar gas constant [J/mol/K], CODATA 2018 (exact in the SI of 2019, rounded to ten figures)."""
GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s2], ISO 2533:1975."""
STANDARD_PA = 101325.0
"""Standard pressure at sea level [Pa], ISO 2533:1975."""
REFERENCE_K = 288.15
"""Temperature of the reference state [K]: 15 degC, ISO 13443 and ISO 2533:1975 at sea level."""

AIR_MOLAR_MASS_KG_MOL = 0.0289647
"""Molar mass of dry air [kg/mol]. ISO 2533:1975 has 0.028964420, ISO 6976:2016 has 0.02896546; this lies between."""

ALTITUDE_RANGE_M = (-2000.0, 11000.0)
"""Where the troposphere of ISO 2533:1975 holds [m]."""

_LAPSE_K_M = 0.0065
_AIR_CONSTANT_J_KG_K = 287.05287
_PRESSURE_EXPONENT = GRAVITY / (_LAPSE_K_M * _AIR_CONSTANT_J_KG_K)


def standard_atmosphere_pa(altitude_m: float) -> float:
    """Absolute pressure of the standard atmosphere at an altitude [Pa].

    p = p0 (1 - L H / T0)^(g / (L Ra))

    p0 is 101325 Pa, T0 288.15 K, L 0.0065 K/m, g 9.80665 m/s2 and Ra 287.05287 J/kg/K. The standard counts geopotential
    height; taking the surveyed height for it puts the pressure 0.05 % low at 5000 m, and less below.

    Range: the troposphere, -2000 m to 11000 m.

    Parameters
    ----------
    altitude_m : float
        H, height above sea level [m].

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
    ISO 2533:1975, Standard atmosphere, clause 2 (hydrostatic, constant lapse rate; clause from memory).

    Examples
    --------
    >>> round(standard_atmosphere_pa(0.0)), round(standard_atmosphere_pa(1000.0))
    (101325, 89875)
    """
    low_m, high_m = ALTITUDE_RANGE_M
    if not low_m <= altitude_m <= high_m:
        raise ValueError(f"altitude {altitude_m:g} m is outside the standard atmosphere's {low_m:g} m to {high_m:g} m")
    return STANDARD_PA * math.pow(1.0 - _LAPSE_K_M * altitude_m / REFERENCE_K, _PRESSURE_EXPONENT)


def air_density_kg_m3(abs_pa: float, temperature_k: float) -> float:
    """Density of dry air as an ideal gas [kg/m3].

    rho = p M / (R T)

    M is the molar mass of dry air [kg/mol], R the molar gas constant [J/mol/K].

    Range: near atmospheric pressure, -50 to 50 degC, where the ideal gas is within 0.2 % of real dry air.

    Parameters
    ----------
    abs_pa : float
        p, absolute pressure [Pa].
    temperature_k : float
        T, temperature [K].

    Returns
    -------
    float
        rho [kg/m3].

    References
    ----------
    ISO 2533:1975, clause 2 (equation of state; clause from memory).

    Examples
    --------
    >>> round(air_density_kg_m3(101325.0, 288.15), 3)
    1.225
    """
    return abs_pa * AIR_MOLAR_MASS_KG_MOL / (R * temperature_k)
