"""Darcy's formula with Colebrook-White friction, compressible: the pressure-drop formula that a job has by default."""

from __future__ import annotations

import math
from typing import NamedTuple

from drawbar.physics.air import R
from drawbar.physics.flow import NO_LOSS, Loss, PipeFlow
from drawbar.physics.friction import LAMINAR_BELOW, friction_factor


class DarcyTerms(NamedTuple):
    """What Darcy's formula makes of a flow, on the way to its loss.

    Attributes
    ----------
    area_m2 : float
        A, area of the bore [m2].
    flux_kg_m2_s : float
        G, mass flux [kg/m2/s].
    reynolds : float
        Re, Reynolds number [-].
    relative_roughness : float
        e, roughness by bore [-].
    friction_factor : float
        f, Darcy friction factor [-].
    flow_term_pa2 : float
        E = G^2 R T / M [Pa2].
    friction_term_pa2 : float
        F = E f L / d [Pa2].
    """

    area_m2: float
    flux_kg_m2_s: float
    reynolds: float
    relative_roughness: float
    friction_factor: float
    flow_term_pa2: float
    friction_term_pa2: float


def darcy_terms(flow: PipeFlow) -> DarcyTerms:
    """Work out the terms of Darcy's formula for a flow above zero; formula, range and source as `darcy`.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe [SI].

    Returns
    -------
    DarcyTerms
        Area, flux, Reynolds number, relative roughness, friction factor, flow term and friction term [SI].

    References
    ----------
    As `darcy`.
    """
    return DarcyTerms._make(_terms(flow))


def _terms(flow: PipeFlow) -> tuple[float, float, float, float, float, float, float]:
    """Return the values of DarcyTerms; bare, as a search for sizes asks for them by the ten thousand."""
    mass_flow_kg_s, bore_m, roughness_m, length_m, vapour, _, _ = flow
    area_m2 = 0.25 * math.pi * bore_m * bore_m
    flux = mass_flow_kg_s / area_m2
    number, relative = flux * bore_m / vapour.viscosity_pa_s, roughness_m / bore_m
    least_pa_s = vapour.least_viscosity_pa_s
    below = LAMINAR_BELOW if least_pa_s is None else LAMINAR_BELOW * least_pa_s / vapour.viscosity_pa_s
    friction = friction_factor(number, relative, below)
    flow_pa2 = flux * flux * R * vapour.temperature_k / vapour.molar_mass_kg_mol
    return area_m2, flux, number, relative, friction, flow_pa2, flow_pa2 * friction * length_m / bore_m


def darcy(flow: PipeFlow) -> Loss:
    """Darcy-Weisbach with Colebrook-White friction, compressible and isothermal.

    p1^2 - p2^2 = Z (G^2 R T / M) (f L / d + 2 ln(p1/p2)), G = m / (pi d^2 / 4), f from `friction_factor`

    Range: that of `friction_factor`; any pressure below the vapour pressure.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe, its stage pressure not used here [SI].

    Returns
    -------
    Loss
        A square part, a flux and B / (R T) [Pa2, 1/Pa].

    References
    ----------
    As `friction_factor` and `outlet_abs_pa`.

    Examples
    --------
    Propane at 15 degC and 2.75 kPa, 0.5 g/s through 5 m of 10.9 mm bore:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> from drawbar.physics.flow import outlet_abs_pa
    >>> vapour = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> loss = darcy(PipeFlow(0.0005, 0.0109, 1.5e-6, 5.0, vapour, 2750.0))
    >>> round(104_075.0 - outlet_abs_pa(104_075.0, loss), 1)
    113.6
    """
    if flow.mass_flow_kg_s <= 0.0:
        return NO_LOSS
    _, _, _, _, _, flow_term_pa2, friction_term_pa2 = _terms(flow)
    return Loss(0.0, friction_term_pa2, flow_term_pa2, flow.vapour.virial_per_pa)


def acceleration_heads(inlet_pa: float, outlet_pa: float) -> float:
    """Acceleration of the gas, as an addition to f L / d [-].

    2 ln(p1/p2)

    Range: as `darcy`.

    Parameters
    ----------
    inlet_pa : float
        p1 [Pa absolute].
    outlet_pa : float
        p2 [Pa absolute].

    Returns
    -------
    float
        The addition [-].

    References
    ----------
    As `darcy`.
    """
    return 2.0 * math.log(inlet_pa / outlet_pa)
