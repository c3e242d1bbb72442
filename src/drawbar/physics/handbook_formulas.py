"""The pressure-drop formulas of handbooks, Pole's, Renouard's and Spitzglass's, in their own units; they give SI.

A formula's `..._terms` function works out the terms, the formula puts them together. None of them knows of the wall's
roughness or of choking.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.flow import NO_LOSS, Loss, PipeFlow, thin_air_factor
from drawbar.physics.ifgc import PSI_PA

if TYPE_CHECKING:
    from drawbar.physics.gas import Vapour

MBAR_PA = 100.0
RENOUARD_QUADRATIC_ABOVE_PA = 500 * 9.80665
"""Stage pressure above which Renouard's quadratic form holds [Pa gauge]: 500 mm of water."""
SPITZGLASS_HIGH_ABOVE_PA = PSI_PA
"""Stage pressure above which Spitzglass's high-pressure form holds [Pa gauge]."""


def reference_flow_m3_h(flow: PipeFlow) -> float:
    """Volume flow at 15 degC and 101.325 kPa [m3/h].

    Q = 3600 m / rho, with rho the density of the gas in that state [kg/m3]

    Range: any.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe: its mass flow and gas count [SI].

    Returns
    -------
    float
        Q [m3/h].

    References
    ----------
    From the definition.
    """
    return flow.mass_flow_kg_s * 3600.0 / flow.vapour.reference_density_kg_m3


def warm_gas_factor(flow: PipeFlow) -> float:
    """Return by how much gas warmer than 15 degC makes the drop of a formula for 15 degC larger [-].

    T / 288.15 K, at least 1: the density of the gas at 15 degC over that at the site, which a drop goes with

    Range: as the formula.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe: the temperature T of its gas counts [SI].

    Returns
    -------
    float
        The factor [-].

    References
    ----------
    From the ideal gas's density.
    """
    return max(1.0, flow.vapour.temperature_k / REFERENCE_K)


class PoleTerms(NamedTuple):
    """What Pole's formula makes of a flow.

    Attributes
    ----------
    flow_m3_h : float
        Q at 15 degC and 101.325 kPa [m3/h].
    drop_mbar : float
        h [mbar].
    site : float
        By how much thin air and warm gas make it larger, `thin_air_factor` times `warm_gas_factor` [-].
    """

    flow_m3_h: float
    drop_mbar: float
    site: float


def pole_terms(flow: PipeFlow) -> PoleTerms:
    """Work out the terms of Pole's formula for a flow; formula, range and source as `pole`.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe [SI].

    Returns
    -------
    PoleTerms
        Flow and drop in the units of the formula.

    References
    ----------
    As `pole`.
    """
    flow_m3_h = reference_flow_m3_h(flow)
    drop_mbar = (flow_m3_h / 0.0071) ** 2 * flow.vapour.relative_density * flow.length_m / (flow.bore_m * 1e3) ** 5
    return PoleTerms(flow_m3_h, drop_mbar, thin_air_factor(flow) * warm_gas_factor(flow))


def pole(flow: PipeFlow) -> Loss:
    """Pole's formula: a fixed friction factor (f = 0.0259), so that the drop goes with the flow squared.

    Q = 0.0071 sqrt(d^5 h / (s L)); Q m3/h at 15 degC and 101.325 kPa, d mm, h mbar, s relative density, L m.
    It is for 15 degC and the air's pressure at the sea: its drop is taken as much larger as the gas is thinner.

    Range: low pressure, turbulent flow. In small tubes at low Reynolds numbers it falls short.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe, its stage pressure not used here [SI].

    Returns
    -------
    Loss
        A linear part [Pa].

    References
    ----------
    UK low-pressure practice, from memory; within 0.4 % of flow the same as Q = 1350 sqrt(d^5 h / (s l)) in ft3/h, in,
    in w.c. and yards, Pole's formula in "Acetylene, the Principles of its Generation and Use" (1909).

    Examples
    --------
    Propane at 15 degC and 2.75 kPa, 0.5 g/s through 5 m of 10.9 mm bore:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> vapour = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(pole(PipeFlow(0.0005, 0.0109, 1.5e-6, 5.0, vapour, 2750.0)).linear_pa, 1)
    89.7
    """
    if flow.mass_flow_kg_s <= 0.0:
        return NO_LOSS
    terms = pole_terms(flow)
    return Loss(terms.site * terms.drop_mbar * MBAR_PA, 0.0, 0.0, 0.0)


class RenouardTerms(NamedTuple):
    """What Renouard's formulas make of a flow.

    Attributes
    ----------
    flow_m3_h : float
        Q at 15 degC and 1013 mbar [m3/h].
    corrected_density : float
        s [-].
    drop_mbar : float
        P1 - P2 [mbar]; 0 in the quadratic form.
    squares_bar2 : float
        P1^2 - P2^2 [bar2]; 0 in the linear form.
    site : float
        By how much warm gas makes it larger, and in the linear form thin air too [-].
    """

    flow_m3_h: float
    corrected_density: float
    drop_mbar: float
    squares_bar2: float
    site: float


def corrected_density(vapour: Vapour) -> float:
    """Corrected relative density of Renouard's formulas, which carries the gas's viscosity too [-].

    s = 1.16 (S / 1.550)^0.82 (mu / 7.88 uPa s)^0.18. The source gives 1.16 for propane (2.32 times town gas's 0.50);
    the exponents are those of its general law f = 0.172 Re^-0.18. S and mu of propane at 15 degC from CoolProp 8.0.0.

    Range: as Renouard's formulas; methane comes to 0.53, where the source has 0.54 for natural gas.

    Parameters
    ----------
    vapour : Vapour
        The gas: relative density S, viscosity mu [SI].

    Returns
    -------
    float
        s [-].

    References
    ----------
    As `renouard`.

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> propane = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(corrected_density(propane), 2)
    1.16
    """
    return 1.16 * math.pow(vapour.relative_density / 1.550, 0.82) * math.pow(vapour.viscosity_pa_s / 7.88e-6, 0.18)


def renouard_terms(flow: PipeFlow) -> RenouardTerms:
    """Work out the terms of Renouard's formulas for a flow; formulas, range and source as `renouard`.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe [SI].

    Returns
    -------
    RenouardTerms
        Flow, corrected density and drop in the units of the formulas.

    References
    ----------
    As `renouard`.
    """
    flow_m3_h, density = reference_flow_m3_h(flow), corrected_density(flow.vapour)
    common = density * flow.length_m * math.pow(flow_m3_h, 1.82) * math.pow(flow.bore_m * 1e3, -4.82)
    if flow.stage_gauge_pa <= RENOUARD_QUADRATIC_ABOVE_PA:
        return RenouardTerms(flow_m3_h, density, 23_200.0 * common, 0.0, thin_air_factor(flow) * warm_gas_factor(flow))
    return RenouardTerms(flow_m3_h, density, 0.0, 48.6 * common, warm_gas_factor(flow))


def renouard(flow: PipeFlow) -> Loss:
    """Renouard's formulas: linear up to 500 mm of water, quadratic above.

    P1 - P2 = 23200 s L Q^1.82 D^-4.82 in mbar; P1^2 - P2^2 = 48.6 s L Q^1.82 D^-4.82 in bar absolute.
    L m, Q m3/h at 15 degC and 1013 mbar, D mm, s from `corrected_density`.
    They are for 15 degC, the first for the air's pressure at the sea as well: what they give is taken as much larger as
    the gas is thinner.

    Range: Q / D below 150, Re below 2e6 (from memory), turbulent flow.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe; the stage pressure picks the form [SI].

    Returns
    -------
    Loss
        A linear or a square part [Pa, Pa2].

    References
    ----------
    Formulaire (a French pipe handbook), Tec & Doc, 1989, Aeraulique, formulas (1) and (2), with L in km: 48 600 and, in
    mm of water, 232e6. The mbar form (from memory) takes 10 mm as 1 mbar, 2 % more; the larger drop is kept.

    Examples
    --------
    Propane at 15 degC and 2.75 kPa, 0.5 g/s through 5 m of 10.9 mm bore:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> vapour = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(renouard(PipeFlow(0.0005, 0.0109, 1.5e-6, 5.0, vapour, 2750.0)).linear_pa, 1)
    121.9
    """
    if flow.mass_flow_kg_s <= 0.0:
        return NO_LOSS
    terms = renouard_terms(flow)
    return Loss(terms.site * terms.drop_mbar * MBAR_PA, terms.site * terms.squares_bar2 * 1e10, 0.0, 0.0)


class SpitzglassTerms(NamedTuple):
    """What Spitzglass's formulas make of a flow.

    Attributes
    ----------
    flow_m3_s : float
        Q at 15 degC and 101.325 kPa [m3/s].
    shape : float
        1 + 0.09144 / D + 150 D / 127, by which the bore counts beside its fifth power [-].
    squares_pa2 : float
        P1^2 - P2^2 [Pa2].
    drop_pa : float
        P1 - P2 [Pa]; 0 in the high-pressure form.
    thin_air : float
        By how much thin air makes it larger, `thin_air_factor` [-]; 1 in the high-pressure form.
    """

    flow_m3_s: float
    shape: float
    squares_pa2: float
    drop_pa: float
    thin_air: float


def spitzglass_terms(flow: PipeFlow) -> SpitzglassTerms:
    """Work out the terms of Spitzglass's formulas for a flow; formulas, range and source as `spitzglass`.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe [SI].

    Returns
    -------
    SpitzglassTerms
        Flow, shape of the bore and drop [SI].

    References
    ----------
    As `spitzglass`.
    """
    vapour, bore_m = flow.vapour, flow.bore_m
    flow_m3_s = flow.mass_flow_kg_s / vapour.reference_density_kg_m3
    gas = vapour.relative_density * vapour.temperature_k
    shape = 1.0 + 0.09144 / bore_m + 150.0 / 127.0 * bore_m
    squares_pa2 = (flow_m3_s * STANDARD_PA / (125.1060 * REFERENCE_K)) ** 2 * gas * flow.length_m * (shape / bore_m**5)
    is_low = flow.stage_gauge_pa <= SPITZGLASS_HIGH_ABOVE_PA
    drop_pa = squares_pa2 / (2.0 * (STANDARD_PA + 1210.0)) if is_low else 0.0
    return SpitzglassTerms(flow_m3_s, shape, squares_pa2, drop_pa, thin_air_factor(flow) if is_low else 1.0)


def spitzglass(flow: PipeFlow) -> Loss:
    """Spitzglass's formulas: low pressure up to 1 psi, high pressure above.

    Q = 125.1060 (Ts / Ps) D^2.5 sqrt((P1^2 - P2^2) / (S L T (1 + 0.09144 / D + 150 D / 127))); up to 1 psi, P1^2 - P2^2
    is taken as 2 (P1 - P2) (Ps + 1210), times `thin_air_factor`. Q m3/s at Ps 101 325 Pa and Ts
    288.15 K, D m, P Pa absolute, L m, T K, S relative density.

    Range: iron and steel pipe, 1/2 to 10 in, turbulent flow (from memory). In small tubes the term in 1 / D runs away:
    in a bore of 11 mm the drop is about three times Darcy's.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe; the stage pressure picks the form [SI].

    Returns
    -------
    Loss
        A linear or a square part [Pa, Pa2].

    References
    ----------
    Coelho and Pinho, J. Braz. Soc. Mech. Sci. Eng. 29 (2007), 262-273; the form Q = 3550 sqrt(d^5 h / (S L (1 + 3.6/d +
    0.03 d))) in ft3/h, in, in w.c. and ft stands in US handbooks.

    Examples
    --------
    Propane at 15 degC and 2.75 kPa, 2 g/s through 5 m of 21 mm bore:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> vapour = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(spitzglass(PipeFlow(0.002, 0.021, 0.0, 5.0, vapour, 2750.0)).linear_pa, 1)
    125.6
    """
    if flow.mass_flow_kg_s <= 0.0:
        return NO_LOSS
    terms = spitzglass_terms(flow)
    if terms.drop_pa > 0.0:
        return Loss(terms.thin_air * terms.drop_pa, 0.0, 0.0, 0.0)
    return Loss(0.0, terms.squares_pa2, 0.0, 0.0)
