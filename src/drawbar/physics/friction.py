"""Friction of a flow in a pipe: Reynolds number, laminar or turbulent, and the friction factor. Plain floats."""

from __future__ import annotations

import math

LAMINAR_BELOW = 1900.0
"""Reynolds number [-] below which the flow is counted as laminar: handbooks' 2000 less 5 %, which is more than its own
uncertainty beside the worst corner's bore and flow."""
TURBULENT_ABOVE = 4000.0
"""Reynolds number [-] above which the flow is turbulent."""

_LN10 = math.log(10.0)
_WALL, _SMOOTH = 3.7, 2.51  # the constants of Colebrook's equation: of the rough wall and of the smooth pipe


def reynolds(mass_flow_kg_s: float, bore_m: float, viscosity_pa_s: float) -> float:
    """Reynolds number in a round pipe [-].

    Re = 4 m / (pi d mu)

    Range: any.

    Parameters
    ----------
    mass_flow_kg_s : float
        m, mass flow [kg/s].
    bore_m : float
        d, inside diameter [m].
    viscosity_pa_s : float
        mu, dynamic viscosity [Pa s].

    Returns
    -------
    float
        Re [-].

    References
    ----------
    From the definition.

    Examples
    --------
    >>> round(reynolds(0.001, 0.0109, 7.95e-6))
    14693
    """
    return 4.0 * mass_flow_kg_s / (math.pi * bore_m * viscosity_pa_s)


def regime(reynolds: float) -> str:
    """Name the flow: "no flow", "laminar" (Re < 1900), "transition" (1900 to 4000) or "turbulent".

    Flow in transition is counted as turbulent: it may be either, and the safe answer is the larger drop.

    Parameters
    ----------
    reynolds : float
        Reynolds number [-].

    Returns
    -------
    str
        The name.

    References
    ----------
    The usual bounds of handbooks, 2000 and 4000 (from memory); that transition counts as turbulent, and from 5 % below
    2000, is our own choice.

    Examples
    --------
    >>> regime(1500.0), regime(3000.0), regime(14_700.0)
    ('laminar', 'transition', 'turbulent')
    """
    if reynolds <= 0.0:
        return "no flow"
    if reynolds < LAMINAR_BELOW:
        return "laminar"
    return "transition" if reynolds <= TURBULENT_ABOVE else "turbulent"


def friction_factor(reynolds: float, relative_roughness: float, critical_reynolds: float = LAMINAR_BELOW) -> float:
    """Darcy friction factor [-]: laminar below Re 1900, Colebrook-White at and above it.

    f = 64 / Re, and 1/sqrt(f) = -2 log10(k / (3.7 d) + 2.51 / (Re sqrt(f))), solved to machine precision.

    Range: Re up to 1e8, relative roughness 0 to 0.05; Re must be above zero.

    Parameters
    ----------
    reynolds : float
        Re, Reynolds number [-].
    relative_roughness : float
        Roughness of the wall by inside diameter, k / d [-].
    critical_reynolds : float
        Reynolds number below which the flow is counted as laminar [-]; lower where it is not known closely.

    Returns
    -------
    float
        f [-].

    References
    ----------
    Colebrook, Journal of the Institution of Civil Engineers 11 (1939), 133-156; 64/Re: Hagen-Poiseuille law.

    Examples
    --------
    >>> round(friction_factor(1500.0, 1e-4), 4), round(friction_factor(1e5, 1e-4), 4)
    (0.0427, 0.0185)
    """
    if reynolds < critical_reynolds:
        return 64.0 / reynolds
    # With x = 1/sqrt(f): x + c ln(a + b x) = 0. Substitution shrinks an error about tenfold, so one from x = 6 (the
    # middle of 4 to 9) is near enough for two steps of third order (Halley), each with one logarithm.
    a = relative_roughness / _WALL
    b = _SMOOTH / reynolds
    c = 2.0 / _LN10
    x = -c * math.log(a + b * 6.0)
    for _ in range(2):
        y = a + b * x
        value = x + c * math.log(y)
        ratio = b / y
        slope = 1.0 + c * ratio
        x -= value * slope / (slope * slope + 0.5 * value * c * ratio * ratio)
    return 1.0 / (x * x)


def colebrook_sides(friction: float, reynolds: float, relative_roughness: float) -> tuple[float, float]:
    """Both sides of the Colebrook-White equation at a friction factor, which it satisfies where they are equal.

    1/sqrt(f) and -2 log10(k / (3.7 d) + 2.51 / (Re sqrt(f))), the constants being those of `friction_factor`

    Range: as `friction_factor`, from Re 1900.

    Parameters
    ----------
    friction : float
        f, Darcy friction factor [-].
    reynolds : float
        Re, Reynolds number [-].
    relative_roughness : float
        Roughness of the wall by inside diameter, k / d [-].

    Returns
    -------
    tuple of float
        Left side and right side [-].

    References
    ----------
    As `friction_factor`.

    Examples
    --------
    >>> [round(side, 6) for side in colebrook_sides(friction_factor(1e5, 1e-4), 1e5, 1e-4)]
    [7.349392, 7.349392]
    """
    root = math.sqrt(friction)
    return 1.0 / root, -2.0 * math.log10(relative_roughness / _WALL + _SMOOTH / (reynolds * root))


def root_by_rounds(reynolds: float, relative_roughness: float, share: float) -> list[float]:
    """1/sqrt(f) by hand: a first guess, then as many rounds of Colebrook's equation as it takes to come close [-].

    First -2 log10(k / (3.7 d) + 5.74 / Re^0.9), then -2 log10(k / (3.7 d) + 2.51 x / Re), x the figure before it.

    Range: as `friction_factor`, from Re 1900.

    Parameters
    ----------
    reynolds : float
        Re, Reynolds number [-].
    relative_roughness : float
        Roughness of the wall by inside diameter, k / d [-].
    share : float
        How close the last is to the solution, as a share of it [-].

    Returns
    -------
    list of float
        The guess, and the figure after each round [-].

    References
    ----------
    Swamee and Jain, Journal of the Hydraulics Division, ASCE 102 (1976) 657 (from memory), for the guess.

    Examples
    --------
    >>> [round(root, 4) for root in root_by_rounds(1e5, 1e-4, 1e-4)]
    [7.3616, 7.3481, 7.3495]
    """
    exact = 1.0 / math.sqrt(friction_factor(reynolds, relative_roughness))
    roots = [-2.0 * math.log10(relative_roughness / _WALL + 5.74 / math.pow(reynolds, 0.9))]
    while len(roots) == 1 or abs(roots[-1] - exact) > share * exact:
        roots.append(-2.0 * math.log10(relative_roughness / _WALL + _SMOOTH * roots[-1] / reynolds))
    return roots
