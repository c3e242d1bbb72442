"""Flow in a pipe: friction, and what it does to the pressure. Pure functions of SI floats.

A formula says what a run of pipe takes before the pressure level is known (a ``Loss``). ``outlet_abs_pa`` and
``inlet_abs_pa`` turn that into pressures, one way and the other. Height, devices and fittings have no part in this.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.air import R

if TYPE_CHECKING:
    from drawbar.physics.gas import Vapour

LAMINAR_BELOW = 2000.0  # Reynolds number; between the two, laminar and turbulent flow are both seen
TURBULENT_ABOVE = 4000.0
_LN10 = math.log(10.0)


class Loss(NamedTuple):
    """What one run's pipe takes, before the pressure level is known.

    p2^2 = p1^2 - Z(pm) (square + flux 2 ln(p1/p2)), pm = (p1 + p2) / 2, and ``linear`` comes off p2.

    linear_pa : part that does not depend on the pressure, p1 - p2 [Pa]
    square_pa2 : part in p1^2 - p2^2, at compressibility factor 1 [Pa2]
    flux_pa2 : G^2 R T / M, for the gas's acceleration and for choking; 0 in the code formulas [Pa2]
    virial_per_pa : B / (R T), from which Z at the mean pressure follows; 0 in the code formulas [1/Pa]
    """

    linear_pa: float
    square_pa2: float
    flux_pa2: float
    virial_per_pa: float


NO_LOSS = Loss(0.0, 0.0, 0.0, 0.0)


def velocity_m_s(mass_flow_kg_s: float, bore_m: float, density_kg_m3: float) -> float:
    """Mean velocity in a round pipe: v = m / (rho pi d^2 / 4) [m/s]. From the definition, no range.

    mass_flow_kg_s : mass flow [kg/s]
    bore_m : inside diameter [m]
    density_kg_m3 : density where the velocity is wanted [kg/m3]
    """
    return mass_flow_kg_s / (density_kg_m3 * 0.25 * math.pi * bore_m * bore_m)


def reynolds(mass_flow_kg_s: float, bore_m: float, viscosity_pa_s: float) -> float:
    """Reynolds number in a round pipe: Re = 4 m / (pi d mu) [-]. From the definition, no range.

    mass_flow_kg_s : mass flow [kg/s]
    bore_m : inside diameter [m]
    viscosity_pa_s : dynamic viscosity [Pa s]
    """
    return 4.0 * mass_flow_kg_s / (math.pi * bore_m * viscosity_pa_s)


def regime(reynolds: float) -> str:
    """Name the flow: "no flow", "laminar" (Re < 2000), "transition" (2000 to 4000) or "turbulent".

    Flow in transition is counted as turbulent: it may be either, and the safe answer is the larger drop.
    Source: the usual bounds of handbooks (from memory); which way transition counts is our own choice.

    reynolds : Reynolds number [-]
    """
    if reynolds <= 0.0:
        return "no flow"
    if reynolds < LAMINAR_BELOW:
        return "laminar"
    return "transition" if reynolds <= TURBULENT_ABOVE else "turbulent"


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor [-]: laminar below Re 2000, Colebrook-White at and above it.

    f = 64 / Re, and 1/sqrt(f) = -2 log10(k / (3.7 d) + 2.51 / (Re sqrt(f))), solved to machine precision.
    Valid range: Re up to 1e8, relative roughness 0 to 0.05; Re must be above zero.
    Source: Colebrook, Journal of the Institution of Civil Engineers 11 (1939), 133-156; 64/Re: Hagen-Poiseuille law.

    reynolds : Reynolds number [-]
    relative_roughness : roughness of the wall by inside diameter, k / d [-]
    """
    if reynolds < LAMINAR_BELOW:
        return 64.0 / reynolds
    # With x = 1/sqrt(f): x + c ln(a + b x) = 0. Substitution shrinks an error about tenfold, so one from x = 6 (the
    # middle of 4 to 9) is near enough for two steps of third order (Halley), each with one logarithm.
    a = relative_roughness / 3.7
    b = 2.51 / reynolds
    c = 2.0 / _LN10
    x = -c * math.log(a + b * 6.0)
    for _ in range(2):
        y = a + b * x
        value = x + c * math.log(y)
        ratio = b / y
        slope = 1.0 + c * ratio
        x -= value * slope / (slope * slope + 0.5 * value * c * ratio * ratio)
    return 1.0 / (x * x)


def outlet_abs_pa(inlet_abs_pa: float, loss: Loss) -> float:
    """Pressure at the end of a run [Pa absolute]; 0.0 where the pipe can't pass that flow. Never raises.

    Solves p1^2 - p2^2 = Z (square + flux 2 ln(p1/p2)) for the root above the isothermal choke (p2^2 = flux in an ideal
    gas: the lowest inlet that passes the flow). Z = (1 + sqrt(1 + 4 B pm / (R T))) / 2 at the mean pressure pm.
    Valid range: steady isothermal flow of a vapour; Z above 3/4, where it is held (propane: to 1 MPa absolute).
    Source: isothermal flow with friction, Perry's Chemical Engineers' Handbook, 8th ed., section 6 (from memory).

    inlet_abs_pa : pressure at the start of the run [Pa absolute]
    loss : what the run takes, from one of the formulas [Pa, Pa2, 1/Pa]
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

    The inverse of ``outlet_abs_pa``. No outlet pressure exists below the choke; there, the inlet that just passes the
    flow is given.
    Formula, valid range and source: see ``outlet_abs_pa``.

    outlet_abs_pa : pressure wanted at the end of the run [Pa absolute]
    loss : what the run takes, from one of the formulas [Pa, Pa2, 1/Pa]
    """
    linear, square, flux, virial = loss
    p2 = max(outlet_abs_pa, 0.0) + linear
    if flux <= 0.0 and virial == 0.0:
        return math.sqrt(p2 * p2 + square)
    rise = max(math.sqrt(p2 * p2 + square) - p2, 0.0)
    for _ in range(80):
        if p2 <= 0.0:
            break
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
    if under_root < 0.25:
        return 0.75, 0.0
    root = math.sqrt(under_root)
    return 0.5 * (1.0 + root), virial_per_pa / root


def darcy(
    mass_flow_kg_s: float,
    bore_m: float,
    roughness_m: float,
    length_m: float,
    vapour: Vapour,
    stage_gauge_pa: float,
    atmospheric_pa: float,
) -> Loss:
    """Darcy-Weisbach with Colebrook-White friction, compressible and isothermal.

    p1^2 - p2^2 = Z (G^2 R T / M) (f L / d + 2 ln(p1/p2)), G = m / (pi d^2 / 4), f from ``friction_factor``.
    Valid range: that of ``friction_factor``; any pressure below the vapour pressure.
    Source: as in ``friction_factor`` and ``outlet_abs_pa``.

    mass_flow_kg_s : mass flow [kg/s]
    bore_m : inside diameter d [m]
    roughness_m : roughness of the wall k [m]
    length_m : length and equivalent length L [m]
    vapour : the gas: molar mass M, temperature T, viscosity, B / (R T) [SI]
    stage_gauge_pa : pressure of the stage, not used here [Pa gauge]
    atmospheric_pa : pressure of the air, not used here [Pa absolute]
    """
    if mass_flow_kg_s <= 0.0:
        return NO_LOSS
    flux = mass_flow_kg_s / (0.25 * math.pi * bore_m * bore_m)
    flux_pa2 = flux * flux * R * vapour.temperature_k / vapour.molar_mass_kg_mol
    friction = friction_factor(flux * bore_m / vapour.viscosity_pa_s, roughness_m / bore_m)
    return Loss(0.0, flux_pa2 * friction * length_m / bore_m, flux_pa2, vapour.virial_per_pa)
