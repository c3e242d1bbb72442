"""Flow in a pipe, and what it does to the pressure. Pure functions of SI floats.

A formula says what a run of pipe takes before the pressure level is known (a `Loss`). `outlet_abs_pa` and
`inlet_abs_pa` turn that into pressures, one way and the other. Height, devices and fittings have no part in this.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.air import STANDARD_PA

if TYPE_CHECKING:
    from drawbar.physics.gas import Vapour
_LEAST_UNDER_ROOT = 0.25  # where Z is 3/4


class PipeFlow(NamedTuple):
    """A flow in a stretch of pipe: all that a pressure-drop formula goes by.

    Attributes
    ----------
    mass_flow_kg_s : float
        m, mass flow [kg/s].
    bore_m : float
        d, inside diameter [m].
    roughness_m : float
        k, roughness of the wall [m].
    length_m : float
        L, length with the equivalent length of the fittings [m].
    vapour : Vapour
        The gas at its temperature [SI].
    stage_gauge_pa : float
        Pressure that the stage is set to [Pa gauge]; the code formulas pick their form by it.
    atmospheric_pa : float
        Pressure of the air [Pa absolute]; the code formulas are for that at the sea, and are put right by it.
    """

    mass_flow_kg_s: float
    bore_m: float
    roughness_m: float
    length_m: float
    vapour: Vapour
    stage_gauge_pa: float
    atmospheric_pa: float = STANDARD_PA


def thin_air_factor(flow: PipeFlow) -> float:
    """Return by how much thinner air than at the sea makes the drop of a low-pressure formula larger [-].

    rho(p0 + pg) / rho(pa + pg), at least 1: the density of the gas at the sea over that at the site, which a drop goes
    with

    Range: low-pressure formulas, which take the mean pressure as that of the air at the sea.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe: its stage pressure pg and the pressure of the air pa count [SI].

    Returns
    -------
    float
        The factor [-].

    References
    ----------
    From p1^2 - p2^2 = 2 pm (p1 - p2), of which the low-pressure formulas are made.

    Examples
    --------
    A line at 2.75 kPa at 3000 m, where the air has 70.1 kPa:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> vapour = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(thin_air_factor(PipeFlow(0.0005, 0.0109, 1.5e-6, 5.0, vapour, 2750.0, 70_109.0)), 3)
    1.437
    """
    if flow.atmospheric_pa >= STANDARD_PA:
        return 1.0
    vapour, gauge_pa = flow.vapour, flow.stage_gauge_pa
    return vapour.density_kg_m3(STANDARD_PA + gauge_pa) / vapour.density_kg_m3(flow.atmospheric_pa + gauge_pa)


class Loss(NamedTuple):
    """What the pipe of a stretch takes, before the pressure level is known.

    p2^2 = p1^2 - Z(pm) (square + flux 2 ln(p1/p2)), pm = (p1 + p2) / 2, and `linear_pa` comes off p2.

    Attributes
    ----------
    linear_pa : float
        Part that does not depend on the pressure, p1 - p2 [Pa].
    square_pa2 : float
        Part in p1^2 - p2^2, at compressibility factor 1 [Pa2].
    flux_pa2 : float
        G^2 R T / M, for the gas's acceleration and for choking; 0 in the code formulas [Pa2].
    virial_per_pa : float
        B / (R T), from which Z at the mean pressure follows; 0 in the code formulas [1/Pa].
    """

    linear_pa: float
    square_pa2: float
    flux_pa2: float
    virial_per_pa: float


NO_LOSS = Loss(0.0, 0.0, 0.0, 0.0)
"""What a pipe takes where no gas flows."""


class SquaresTerms(NamedTuple):
    """What a stretch of pipe makes of the squares of its pressures.

    Attributes
    ----------
    mean_abs_pa : float
        pm, mean pressure [Pa absolute].
    compressibility : float
        Z at the mean pressure [-].
    squares_pa2 : float
        p1^2 - p2^2 [Pa2].
    """

    mean_abs_pa: float
    compressibility: float
    squares_pa2: float


def velocity_m_s(mass_flow_kg_s: float, bore_m: float, density_kg_m3: float) -> float:
    """Mean velocity in a round pipe [m/s].

    v = m / (rho pi d^2 / 4)

    Range: any.

    Parameters
    ----------
    mass_flow_kg_s : float
        m, mass flow [kg/s].
    bore_m : float
        d, inside diameter [m].
    density_kg_m3 : float
        rho, density where the velocity is wanted [kg/m3].

    Returns
    -------
    float
        v [m/s].

    References
    ----------
    From the definition.

    Examples
    --------
    >>> round(velocity_m_s(0.001, 0.0109, 1.95), 2)
    5.5
    """
    return mass_flow_kg_s / (density_kg_m3 * 0.25 * math.pi * bore_m * bore_m)


def device_drop_pa(mass_flow_kg_s: float, pa_per_flow2: float) -> float:
    """Drop in a valve, meter or the like, whose maker gives it at one flow [Pa].

    dp = c m^2

    Range: turbulent flow, near the maker's own.

    Parameters
    ----------
    mass_flow_kg_s : float
        m, mass flow [kg/s].
    pa_per_flow2 : float
        c, the maker's drop over the square of his flow [Pa s2/kg2]; several devices have the sum of theirs.

    Returns
    -------
    float
        dp [Pa].

    References
    ----------
    Common practice.

    Examples
    --------
    40 Pa at 0.3 g/s, passed by half of that:

    >>> round(device_drop_pa(0.00015, 40.0 / 0.0003**2), 6)
    10.0
    """
    return pa_per_flow2 * mass_flow_kg_s * mass_flow_kg_s


def outlet_abs_pa(inlet_abs_pa: float, loss: Loss) -> float:
    """Pressure at the end of a run [Pa absolute]; 0.0 where the pipe can't pass that flow. Never raises.

    Solves p1^2 - p2^2 = Z (square + flux 2 ln(p1/p2)) for the root above the isothermal choke (p2^2 = flux in an ideal
    gas: the lowest inlet that passes the flow). Z = (1 + sqrt(1 + 4 B pm / (R T))) / 2 at the mean pressure pm.

    Range: steady isothermal flow of a vapour; Z above 3/4, where it is held (propane: to 1 MPa absolute).

    Parameters
    ----------
    inlet_abs_pa : float
        p1, pressure at the start of the run [Pa absolute].
    loss : Loss
        What the run takes, from one of the formulas [Pa, Pa2, 1/Pa].

    Returns
    -------
    float
        p2 [Pa absolute].

    References
    ----------
    Isothermal flow with friction, Perry's Chemical Engineers' Handbook, 8th ed., section 6 (from memory).

    Examples
    --------
    >>> outlet_abs_pa(104_075.0, Loss(50.0, 0.0, 0.0, 0.0))
    104025.0
    >>> round(outlet_abs_pa(104_075.0, Loss(0.0, 2e7, 1e5, 0.0)))
    103979
    """
    linear, square, flux, virial = loss
    p1 = inlet_abs_pa
    if p1 <= 0.0:
        return 0.0
    if flux <= 0.0 and virial == 0.0:
        left = p1 * p1 - square
        return max(math.sqrt(left) - linear, 0.0) if left > 0.0 else 0.0
    # Newton in the drop d, from d = 0: the residual is convex, so the steps come to the root from one side only, and a
    # residual that starts to rise before it reaches zero means that there is no root. Near the choke a step only halves
    # the error; away from it the error left after a step is about step^2 / slope, which is what ends the loop.
    drop = 0.0
    for _ in range(80):
        p2 = p1 - drop
        z, z_slope = _compressibility(virial, p1 - 0.5 * drop)
        pull = square - 2.0 * flux * math.log1p(-drop / p1)
        slope = 2.0 * p2 - 2.0 * z * flux / p2 + 0.5 * z_slope * pull
        if slope <= 0.0:
            return 0.0
        step = (z * pull - drop * (p1 + p2)) / slope
        drop += step
        if drop >= p1:
            return 0.0
        if step * step <= 1e-13 * p1 * slope:
            return max(p1 - drop - linear, 0.0)
    return 0.0


def inlet_abs_pa(outlet_abs_pa: float, loss: Loss) -> float:
    """Smallest pressure at the start of a run that gives at least this pressure at its end [Pa absolute].

    The inverse of `outlet_abs_pa`, with its formula and range. No outlet pressure exists below the choke; there, the
    inlet that just passes the flow is given.

    Parameters
    ----------
    outlet_abs_pa : float
        p2, pressure wanted at the end of the run [Pa absolute].
    loss : Loss
        What the run takes, from one of the formulas [Pa, Pa2, 1/Pa].

    Returns
    -------
    float
        p1 [Pa absolute].

    References
    ----------
    As `outlet_abs_pa`.

    Examples
    --------
    >>> loss = Loss(0.0, 2e7, 1e5, -1.8e-7)
    >>> round(inlet_abs_pa(outlet_abs_pa(104_075.0, loss), loss), 3)
    104075.0
    """
    linear, square, flux, virial = loss
    p2 = max(outlet_abs_pa, 0.0) + linear
    if flux <= 0.0 and virial == 0.0:
        return math.sqrt(p2 * p2 + square)
    if p2 <= 0.0:
        return _choke_inlet_abs_pa(outlet_abs_pa, loss)
    rise = max(math.sqrt(p2 * p2 + square) - p2, 0.0)
    for _ in range(80):
        z, z_slope = _compressibility(virial, p2 + 0.5 * rise)
        pull = square + 2.0 * flux * math.log1p(rise / p2)
        slope = 2.0 * (p2 + rise) - 2.0 * z * flux / (p2 + rise) - 0.5 * z_slope * pull
        step = (rise * (2.0 * p2 + rise) - z * pull) / slope if slope > 0.0 else -(p2 + rise)
        rise = max(rise - step, 0.0)
        if step * step <= 1e-13 * p2 * slope:
            if 2.0 * p2 - 2.0 * z * flux / p2 + 0.5 * z_slope * pull > 0.0:
                return p2 + rise
            break
    return _choke_inlet_abs_pa(outlet_abs_pa, loss)


def _choke_inlet_abs_pa(wanted_abs_pa: float, loss: Loss) -> float:
    """Smallest inlet that passes the flow and gives the outlet wanted [Pa absolute], by halving: seldom needed."""
    low, high = 0.0, max(wanted_abs_pa, 1.0) + math.sqrt(loss.square_pa2 + loss.flux_pa2) + loss.linear_pa
    while high < math.inf and ((outlet := outlet_abs_pa(high, loss)) <= 0.0 or outlet < wanted_abs_pa):
        low, high = high, 2.0 * high
    while high - low > 1e-13 * max(high, 1.0):
        middle = 0.5 * (low + high)
        outlet = outlet_abs_pa(middle, loss)
        low, high = (low, middle) if outlet > 0.0 and outlet >= wanted_abs_pa else (middle, high)
    return high


def _compressibility(virial_per_pa: float, abs_pa: float) -> tuple[float, float]:
    """Z at a pressure and its slope [1/Pa], from Z = 1 + B rho (molar density).

    Held at 3/4 from where it would fall below: the equation ends not far on, and a steeper Z would make Newton's steps
    unsafe. For propane at 15 degC that is over 1 MPa, where it is a liquid.
    """
    under_root = 1.0 + 4.0 * virial_per_pa * abs_pa
    if under_root < _LEAST_UNDER_ROOT:
        return 0.75, 0.0
    root = math.sqrt(under_root)
    return 0.5 * (1.0 + root), virial_per_pa / root


def squares_terms(inlet_abs_pa: float, outlet_abs_pa: float, loss: Loss) -> SquaresTerms:
    """Difference of the squares of the pressures of a stretch of pipe, with the Z that `outlet_abs_pa` takes.

    p1^2 - p2^2 = (p1 + p2) (p1 - p2), which stays exact where the two are close

    Range: as `outlet_abs_pa`, for a loss without a linear part.

    Parameters
    ----------
    inlet_abs_pa : float
        p1, pressure at the start of the run [Pa absolute].
    outlet_abs_pa : float
        p2, pressure at its end [Pa absolute].
    loss : Loss
        What the run takes, from one of the formulas [Pa, Pa2, 1/Pa].

    Returns
    -------
    SquaresTerms
        pm [Pa absolute], Z there [-], p1^2 - p2^2 [Pa2].

    References
    ----------
    As `outlet_abs_pa`.

    Examples
    --------
    >>> loss = Loss(0.0, 2e7, 1e5, 0.0)
    >>> round(squares_terms(104_075.0, outlet_abs_pa(104_075.0, loss), loss).squares_pa2 / 1e7, 3)
    2.0
    """
    mean_abs_pa = 0.5 * (inlet_abs_pa + outlet_abs_pa)
    z, _ = _compressibility(loss.virial_per_pa, mean_abs_pa)
    return SquaresTerms(mean_abs_pa, z, (inlet_abs_pa + outlet_abs_pa) * (inlet_abs_pa - outlet_abs_pa))
