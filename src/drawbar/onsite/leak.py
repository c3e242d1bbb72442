"""Leaks: what a fall of pressure means as a flow, how long it takes to show, what else makes or hides a fall."""

from __future__ import annotations

import math

from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.gas import Vapour

REAL_GAS = 0.08
"""How much more than by the ideal gas law the pressure may change with temperature [-]: n-butane by CoolProp."""
WEATHER_PA_IN_3_H = 600.0
"""Change of the air's pressure that is taken as possible in 3 h [Pa]; beyond it marine forecasts say "very rapidly"."""
UNSEEN_K, UNSEEN_S, MOST_UNSEEN_K = 2.0, 900.0, 20.0
"""Change of temperature that is taken as possible where none is measured: within the time, and at most [K, s].

Our own choice, for a line in the shade; a tube that the sun comes to or leaves changes faster.
"""


def gauge_at_pa(gauge_pa: float, atmospheric_pa: float, from_k: float, to_k: float) -> float:
    """Gauge pressure that a closed pipe reads once it is at another temperature [Pa gauge].

    p2 = (p1 + pa) T2 / T1 - pa

    Valid range: gas in a pipe that keeps its volume, near the atmosphere's pressure. CoolProp's real air changes by
    0.3 % more than this says, propane by 3 to 5 %, n-butane by 8 %.

    Parameters
    ----------
    gauge_pa : float
        p1, gauge pressure at the first temperature [Pa gauge].
    atmospheric_pa : float
        pa, the atmosphere's pressure, the same at both readings [Pa].
    from_k, to_k : float
        T1 and T2, first and second temperature [K].

    Returns
    -------
    float
        p2, gauge pressure at the second temperature [Pa gauge].

    References
    ----------
    Ideal gas law; IFGC 2018, Appendix A, A.6.5 has an example.

    Examples
    --------
    A line at 2.75 kPa and 20 degC that cools by one degree:

    >>> round(gauge_at_pa(2750.0, 101325.0, 293.15, 292.15))
    2395
    """
    return (gauge_pa + atmospheric_pa) * to_k / from_k - atmospheric_pa


def leak_of_fall_m3_s(volume_m3: float, fall_pa: float, temperature_k: float, time_s: float) -> float:
    """Leak that a fall of pressure at one temperature means, as gas of 15 degC and 101325 Pa [m3/s].

    q = V dp / t x (T0 / T) / p0, with T0 = 288.15 K and p0 = 101325 Pa

    Valid range: near the atmosphere's pressure, where this is within 0.1 % of real air, and up to 3 % short for
    propane.

    Parameters
    ----------
    volume_m3 : float
        V, volume of what is tested [m3].
    fall_pa : float
        dp, the fall of pressure [Pa].
    temperature_k : float
        T, temperature of the gas in the pipe [K].
    time_s : float
        t, time in which it fell [s].

    Returns
    -------
    float
        q, the leak at the reference state [m3/s].

    References
    ----------
    Ideal gas law; reference state of ISO 13443.

    Examples
    --------
    150 Pa in 5 min out of 0.8 L, in litres an hour:

    >>> round(leak_of_fall_m3_s(0.8e-3, 150.0, 293.15, 300.0) * 3.6e6, 3)
    0.014
    """
    return volume_m3 * fall_pa / time_s * REFERENCE_K / (temperature_k * STANDARD_PA)


def wait_for_fall_s(volume_m3: float, fall_pa: float, temperature_k: float, leak_m3_s: float) -> float:
    """Time until a leak has made a fall [s].

    t = V dp / q x (T0 / T) / p0: `leak_of_fall_m3_s` turned round, with its range

    Parameters
    ----------
    volume_m3 : float
        V, volume of what is tested [m3].
    fall_pa : float
        dp, the fall of pressure [Pa].
    temperature_k : float
        T, temperature of the gas in the pipe [K].
    leak_m3_s : float
        q, the leak as gas of 15 degC and 101325 Pa [m3/s].

    Returns
    -------
    float
        t [s].

    References
    ----------
    Ideal gas law; reference state of ISO 13443.

    Examples
    --------
    >>> round(wait_for_fall_s(0.8e-3, 10.0, 293.15, 0.1 / 3.6e6), 1)
    2.8
    """
    return volume_m3 * fall_pa / leak_m3_s * REFERENCE_K / (temperature_k * STANDARD_PA)


def unseen_fall_pa(end_abs_pa: float, start_k: float, end_k: float, change_k: float) -> float:
    """Fall that a change of temperature which nobody saw makes or hides at the most [Pa].

    dp = (1 + r) p u / (Tl - u) x Th / Tl + r |p (T1 / T2 - 1)|, with r = 0.08 for a gas that is not ideal

    Valid range: u small beside T. It is an upper bound: each temperature is at the end of what it may be.

    Parameters
    ----------
    end_abs_pa : float
        p, absolute pressure at the second reading [Pa].
    start_k, end_k : float
        T1 and T2, temperatures as given; Tl and Th are the lower and the higher of them [K].
    change_k : float
        u, how far the change of the gas's temperature may be from T2 - T1 [K].

    Returns
    -------
    float
        dp [Pa], to be added to a fall put right for T1 and T2, and taken from it.

    References
    ----------
    Ideal gas law, differentiated at constant volume.

    Examples
    --------
    One and a half degrees at 2.75 kPa, with no change seen:

    >>> round(unseen_fall_pa(104075.0, 288.15, 288.15, 1.5))
    588
    """
    low_k, high_k = min(start_k, end_k), max(start_k, end_k)
    unseen_pa = end_abs_pa * change_k / (low_k - change_k) * high_k / low_k
    return (1.0 + REAL_GAS) * unseen_pa + REAL_GAS * abs(end_abs_pa * (start_k / end_k - 1.0))


def weather_fall_pa(time_s: float) -> float:
    """Fall of a gauge reading that a change of the air's pressure makes or hides at the most [Pa].

    dp = 600 Pa x t / 3 h

    Parameters
    ----------
    time_s : float
        t, time between the readings [s].

    Returns
    -------
    float
        dp [Pa].

    References
    ----------
    United Kingdom marine forecasts, terms of pressure tendency: over 6.0 hPa in 3 h is "very rapidly".

    Examples
    --------
    >>> round(weather_fall_pa(300.0), 1)
    16.7
    """
    return WEATHER_PA_IN_3_H * time_s / 10_800.0


def unseen_change_k(time_s: float) -> float:
    """Change of the gas's temperature that is taken as possible where no temperatures were taken [K].

    u = 2 K up to a quarter of an hour, in proportion to the time beyond it, at most 20 K

    Parameters
    ----------
    time_s : float
        Time between the readings [s].

    Returns
    -------
    float
        u [K].

    References
    ----------
    Our own choice: no source gives one.

    Examples
    --------
    >>> unseen_change_k(300.0), unseen_change_k(3600.0), unseen_change_k(86400.0)
    (2.0, 8.0, 20.0)
    """
    return min(MOST_UNSEEN_K, UNSEEN_K * max(1.0, time_s / UNSEEN_S))


def air_viscosity_pa_s(temperature_k: float) -> float:
    """Viscosity of air [Pa s].

    mu = 1.458e-6 T^1.5 / (T + 110.4)

    Valid range: the temperatures of the troposphere.

    Parameters
    ----------
    temperature_k : float
        T, temperature [K].

    Returns
    -------
    float
        mu, dynamic viscosity [Pa s].

    References
    ----------
    ISO 2533:1975, Sutherland's formula (clause from memory).

    Examples
    --------
    >>> round(air_viscosity_pa_s(288.15) * 1e6, 2)
    17.89
    """
    return 1.458e-6 * math.pow(temperature_k, 1.5) / (temperature_k + 110.4)


def gas_for_air(vapour: Vapour) -> tuple[float, float]:
    """How much gas passes a leak through which so much air passes at the same pressures [-].

    A hole as an orifice: sqrt(1 / d); a hairline as laminar flow: viscosity of air / viscosity of the gas

    Parameters
    ----------
    vapour : Vapour
        The gas at its temperature [K], with d, its relative density [-], and its viscosity [Pa s].

    Returns
    -------
    tuple of float
        Times as much as air through a hole, and through a hairline [-].

    References
    ----------
    Orifice equation and Hagen-Poiseuille's law.
    """
    return 1.0 / math.sqrt(vapour.relative_density), air_viscosity_pa_s(vapour.temperature_k) / vapour.viscosity_pa_s
