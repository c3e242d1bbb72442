"""The pressure-drop formulas of the International Fuel Gas Code, in the units of the code; what they give is SI."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.flow import NO_LOSS, Loss, PipeFlow, thin_air_factor

if TYPE_CHECKING:
    from drawbar.physics.gas import Vapour

FOOT_M, INCH_M, INCH_WATER_PA, PSI_PA = 0.3048, 0.0254, 249.08891, 6894.757293

IFGC_HIGH_FROM_PA = 1.5 * PSI_PA
"""Stage pressure from which the code's high-pressure form holds [Pa gauge], IFGC 2018, 402.4."""
IFGC_DENSITY_RATIO = (101_591.7 / STANDARD_PA) * (REFERENCE_K / 288.706)
"""Density at the code's 60 degF and 30 inHg over that at 15 degC and 101.325 kPa [-]."""


class IfgcTerms(NamedTuple):
    """What the formulas of the International Fuel Gas Code make of a flow.

    Attributes
    ----------
    flow_ft3_h : float
        Q at 60 degF and 30 inHg [ft3/h].
    bore_in : float
        D [in].
    capacity_factor : float
        Cr [-].
    superexpansibility : float
        Y [-]; 1 in the low-pressure form, which has none.
    drop_inh2o : float
        dH [in w.c.]; 0 in the high-pressure form.
    squares_psi2 : float
        P1^2 - P2^2 [psi2]; 0 in the low-pressure form.
    thin_air : float
        By how much the site's air makes a drop larger, `thin_air_factor` [-]; 1 in the high-pressure form.
    """

    flow_ft3_h: float
    bore_in: float
    capacity_factor: float
    superexpansibility: float
    drop_inh2o: float
    squares_psi2: float
    thin_air: float


def rankine_of_code(temperature_k: float) -> float:
    """Absolute temperature as the IFGC formulas have it, degF + 460 [degR].

    T = 1.8 TK - 459.67 + 460

    Range: any.

    Parameters
    ----------
    temperature_k : float
        TK, the temperature [K].

    Returns
    -------
    float
        T [degR].

    References
    ----------
    IFGC 2018, 402.4 and A.4.

    Examples
    --------
    >>> round(rankine_of_code(288.706), 1)
    520.0
    """
    return 1.8 * temperature_k - 459.67 + 460.0


def capacity_factor(vapour: Vapour) -> float:
    """Factor Cr of the IFGC formulas, for density, viscosity and temperature [-].

    Cr = 0.00354 S T (Z / S)^0.152, T from `rankine_of_code`. The code prints 1.2462 for propane and 0.6094 for natural
    gas: this formula at S 1.50, Z 0.008 cP and at S 0.60, Z 0.012 cP, both at 60 degF. The gas's own S and Z are used
    for all, so that a mixture is treated as its parts are. Pure propane has S 1.55, which makes Cr 2.4 % more than
    printed at 15 degC; it has 3 % more heat in a cubic foot too, so the drop for a heat rate comes out about 3 % below
    the code's.

    Range: fuel gases near room temperature.

    Parameters
    ----------
    vapour : Vapour
        The gas: relative density S, viscosity Z, temperature T [SI].

    Returns
    -------
    float
        Cr [-].

    References
    ----------
    IFGC 2018, 402.4 and A.4.

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> propane = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(capacity_factor(propane), 3)
    1.276
    """
    density = vapour.relative_density
    rankine = rankine_of_code(vapour.temperature_k)
    return 0.00354 * density * rankine * math.pow(vapour.viscosity_pa_s * 1e3 / density, 0.152)


def superexpansibility(vapour: Vapour) -> float:
    """Factor Y of the IFGC high-pressure formula, 1 / supercompressibility factor [-].

    Y = sqrt(Z), Z at 101.325 kPa, as the supercompressibility factor is sqrt(1/Z). The code prints 0.9910 for propane
    and 0.9992 for natural gas; this gives 0.9908 for propane at 15 degC, and a figure for any other gas.

    Range: as the formula.

    Parameters
    ----------
    vapour : Vapour
        The gas: its compressibility factor [SI].

    Returns
    -------
    float
        Y [-].

    References
    ----------
    IFGC 2018, 402.4 and A.4 for the definition.

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> propane = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(superexpansibility(propane), 4)
    0.9908
    """
    return math.sqrt(vapour.compressibility(STANDARD_PA))


def ifgc_terms(flow: PipeFlow) -> IfgcTerms:
    """Work out the terms of the IFGC formulas for a flow above zero; formulas, range and source as `ifgc`.

    Parameters
    ----------
    flow : PipeFlow
        The flow in the pipe [SI].

    Returns
    -------
    IfgcTerms
        Flow, bore, factors and drop in the units of the code.

    References
    ----------
    As `ifgc`.
    """
    vapour = flow.vapour
    flow_ft3_h = flow.mass_flow_kg_s * 3600.0 / (vapour.reference_density_kg_m3 * IFGC_DENSITY_RATIO) / FOOT_M**3
    factor, bore_in = capacity_factor(vapour), flow.bore_m / INCH_M
    resistance = factor * flow.length_m / FOOT_M
    root = math.pow(flow_ft3_h, 0.381) / bore_in
    if flow.stage_gauge_pa < IFGC_HIGH_FROM_PA:
        drop_inh2o = resistance * math.pow(root / 19.17, 1.0 / 0.206)
        return IfgcTerms(flow_ft3_h, bore_in, factor, 1.0, drop_inh2o, 0.0, thin_air_factor(flow))
    expansion = superexpansibility(vapour)
    squares_psi2 = resistance * math.pow(root / 18.93, 1.0 / 0.206) / expansion
    return IfgcTerms(flow_ft3_h, bore_in, factor, expansion, 0.0, squares_psi2, 1.0)


def ifgc(flow: PipeFlow) -> Loss:
    """Formulas of the International Fuel Gas Code, the same as NFPA 54, divided at a stage pressure of 1.5 psi.

    Below: D = Q^0.381 / (19.17 (dH / (Cr L))^0.206). From it: D = Q^0.381 / (18.93 ((P1^2 - P2^2) Y / (Cr L))^0.206).
    D in, Q ft3/h at 60 degF and 30 inHg, dH in w.c., L ft, P psia, Cr from `capacity_factor`, Y from
    `superexpansibility`. The first is for the air's pressure at the sea: its drop is taken `thin_air_factor` times.

    Range: smooth pipe, turbulent flow, bores as in the code's tables.

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
    IFGC 2018, 402.4 (NFPA 54).

    Examples
    --------
    Propane at 15 degC and 2.75 kPa, 0.5 g/s through 5 m of 10.9 mm bore:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> vapour = Catalogue().gas((("propane", 1.0),)).vapour(288.15)
    >>> round(ifgc(PipeFlow(0.0005, 0.0109, 1.5e-6, 5.0, vapour, 2750.0)).linear_pa, 1)
    124.0
    """
    if flow.mass_flow_kg_s <= 0.0:
        return NO_LOSS
    terms = ifgc_terms(flow)
    return Loss(terms.thin_air * terms.drop_inh2o * INCH_WATER_PA, terms.squares_psi2 * PSI_PA**2, 0.0, 0.0)
