"""Liquid water on plain floats: density, heat capacity and viscosity."""

from __future__ import annotations

import functools
import math

RANGE_K = (253.15, 383.15)
"""Where the correlations hold [K], IAPWS SR6-08."""

_R_J_KG_K = 461.51805
_REFERENCE_K = 10.0
_REFERENCE_PA = 1e5
# (coefficient, power) of alpha and beta, IAPWS SR6-08(2011), Tables 1 and 2
_GIBBS_ALPHA = ((-1.661470539e5, 4), (2.708781640e6, 5), (-1.557191544e8, 7))
_GIBBS_BETA = ((-8.237426256e-1, 2), (1.908956353, 3), (-2.017597384, 4), (8.546361348e-1, 5))
_GIBBS_LOG = -8.983025854
_VOLUME_FIRST = 1.93763157e-2
_VOLUME_ALPHA = (
    *((6.74458446e3, 4), (-2.22521604e5, 5), (1.00231247e8, 7)),
    *((-1.63552118e9, 8), (8.32299658e9, 9)),
)
_VOLUME_BETA = (
    *((5.78545292e-3, 1), (-1.53195665e-2, 2), (3.11337859e-2, 3)),
    *((-4.23546241e-2, 4), (3.38713507e-2, 5), (-1.19946761e-2, 6)),
)

# (coefficient [uPa s], power) of the viscosity, IAPWS SR6-08(2011), Table 3
_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
_VISCOSITY_K = 300.0
_MOST_KEPT = 1024  # temperatures whose figures are remembered: all stretches of a line have one of two


@functools.lru_cache(maxsize=_MOST_KEPT)
def density_kg_m3(temperature_k: float) -> float:
    """Density of liquid water at 0.1 MPa [kg/m3].

    1 / rho = (R Tr / p0) (a5 + sum ai alpha^ni + sum bi beta^mi)
    alpha = Tr / (593 K - T); beta = Tr / (T - 232 K); Tr = 10 K; p0 = 0.1 MPa; R = 461.51805 J/kg/K

    Range: 253.15 K to 383.15 K. The pressure of a water supply adds 0.05 % per MPa.

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
    IAPWS SR6-08(2011), Properties of Liquid Water at 0.1 MPa; Patek et al., J. Phys. Chem. Ref. Data 38 (2009) 21.

    Examples
    --------
    >>> round(density_kg_m3(283.15), 1), round(density_kg_m3(333.15), 1)
    (999.7, 983.2)
    """
    alpha, beta = _alpha_beta(temperature_k)
    total = _VOLUME_FIRST
    total += sum(a * alpha**n for a, n in _VOLUME_ALPHA) + sum(b * beta**m for b, m in _VOLUME_BETA)
    return _REFERENCE_PA / (_R_J_KG_K * _REFERENCE_K * total)


@functools.lru_cache(maxsize=_MOST_KEPT)
def heat_capacity_j_kg_k(temperature_k: float) -> float:
    """Heat capacity of liquid water at constant pressure, 0.1 MPa [J/kg/K].

    cp = -R (c3 + tau sum ni (ni + 1) ai alpha^(ni + 2) + tau sum mi (mi + 1) bi beta^(mi + 2)), with tau = T / Tr

    alpha, beta, Tr, R and the range are those of `density_kg_m3`.

    Parameters
    ----------
    temperature_k : float
        T [K].

    Returns
    -------
    float
        cp [J/kg/K].

    Raises
    ------
    ValueError
        Outside the range.

    References
    ----------
    As `density_kg_m3`.

    Examples
    --------
    >>> round(heat_capacity_j_kg_k(293.15))
    4184
    """
    alpha, beta = _alpha_beta(temperature_k)
    curve = sum(n * (n + 1) * a * alpha ** (n + 2) for a, n in _GIBBS_ALPHA)
    curve += sum(m * (m + 1) * b * beta ** (m + 2) for b, m in _GIBBS_BETA)
    return -_R_J_KG_K * (_GIBBS_LOG + temperature_k / _REFERENCE_K * curve)


@functools.lru_cache(maxsize=_MOST_KEPT)
def viscosity_pa_s(temperature_k: float) -> float:
    """Dynamic viscosity of liquid water at 0.1 MPa [Pa s].

    mu = 1e-6 Pa s sum ai (T / 300 K)^bi

    The range is that of `density_kg_m3`; the figures are those of IAPWS R12-08 at this pressure.

    Parameters
    ----------
    temperature_k : float
        T [K].

    Returns
    -------
    float
        mu [Pa s].

    Raises
    ------
    ValueError
        Outside the range.

    References
    ----------
    As `density_kg_m3`.

    Examples
    --------
    >>> round(viscosity_pa_s(293.15) * 1e6)
    1002
    """
    _in_range(temperature_k)
    return 1e-6 * sum(a * math.pow(temperature_k / _VISCOSITY_K, b) for a, b in _VISCOSITY)


def _alpha_beta(temperature_k: float) -> tuple[float, float]:
    _in_range(temperature_k)
    return _REFERENCE_K / (593.0 - temperature_k), _REFERENCE_K / (temperature_k - 232.0)


def _in_range(temperature_k: float) -> None:
    low_k, high_k = RANGE_K
    if not low_k <= temperature_k <= high_k:
        raise ValueError(f"{temperature_k - 273.15:.1f} degC is outside the range of the figures for water")
