"""How an LPG bottle fares in time: it cools as it gives gas, until it starves or is empty. Plain floats.

One bottle, under the assumptions of `cylinder`. Its liquid and the metal that this wets are at one temperature.
"""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.physics.component import Component
from drawbar.physics.cylinder import Bottle, conductance_w_k
from drawbar.physics.liquid import Liquid, bubble_pa, mass_kg
from drawbar.physics.saturation import vaporisation_j_mol, vapour_pressure_pa

EMPTY_SHARE = 1e-3
"""The share of its gas at which a bottle counts as empty in `course`, so that the last drop takes no endless time."""
LONGEST_S = 7 * 86_400.0
"""How far `course` looks ahead [s]."""
_MOST_STEPS = 40_000
STEP_S = 3600.0
"""The longest step of `course` [s]; it is also held to a quarter of the bottle's time constant, and to a twentieth of
what is in it."""


def liquid_heat_j_mol_k(temperature_k: float, component: Component) -> float:
    """Heat capacity of a pure liquid under its own vapour [J/mol/K].

    Straight lines between the component's table of liquid_heat_k and liquid_heat_j_kg_k, the first and last of them
    drawn out.

    Range: -60 to 55 degC, within 1.5 %.

    Parameters
    ----------
    temperature_k : float
        T [K].
    component : Component
        The gas: its table [K, J/kg/K].

    Returns
    -------
    float
        The heat capacity [J/mol/K].

    References
    ----------
    VDI Heat Atlas, 2nd edition (2010), part D2.

    Examples
    --------
    Propane at 0 degC, in J/kg/K:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> propane = Catalogue().component("propane")
    >>> round(liquid_heat_j_mol_k(273.15, propane) / propane.molar_mass_kg_mol)
    2495
    """
    table_k, table_j_kg_k = component.liquid_heat_k, component.liquid_heat_j_kg_k
    n = min(max(bisect.bisect_right(table_k, temperature_k), 1), len(table_k) - 1)
    low_k, low_j_kg_k = table_k[n - 1], table_j_kg_k[n - 1]
    slope = (table_j_kg_k[n] - low_j_kg_k) / (table_k[n] - low_k)
    return (low_j_kg_k + slope * (temperature_k - low_k)) * component.molar_mass_kg_mol


@dataclass(frozen=True, slots=True)
class Duty:
    """A load that comes and goes.

    Attributes
    ----------
    on_s : float
        How long it is on [s], first and after each pause.
    off_s : float
        How long it is off between [s].
    """

    on_s: float
    off_s: float


@dataclass(frozen=True, slots=True)
class CoursePoint:
    """A bottle at a time.

    Attributes
    ----------
    time_s : float
        The time since the start [s].
    liquid_k : float
        The liquid's temperature [K].
    moles : tuple of float
        The moles of each component [mol].
    heat_j : float
        The heat taken in since the start [J].
    """

    time_s: float
    liquid_k: float
    moles: tuple[float, ...]
    heat_j: float


STARVED, EMPTY, GOING = "starved", "empty", "going"


@dataclass(frozen=True, slots=True)
class Course:
    """How a bottle fares under a load.

    Attributes
    ----------
    ended : str
        STARVED where the pressure fell below the least that the regulator works at, EMPTY, or GOING where neither came
        within the look ahead or the steps that are taken at most.
    left_kg : float
        The gas left at the end [kg].
    points : tuple of CoursePoint
        Every step, the start and the end among them.
    """

    ended: str
    left_kg: float
    points: tuple[CoursePoint, ...]

    @property
    def time_s(self) -> float:
        """How long it went [s]."""
        return self.points[-1].time_s

    @property
    def liquid_k(self) -> float:
        """The liquid at the end [K]."""
        return self.points[-1].liquid_k


BottleState = tuple[float, ...]  # liquid [K], heat taken in [J], then the moles of each part


class _Setting(NamedTuple):
    """What stays as it is while a bottle gives gas: the bottle, the kinds of gas in it, the air around it [K]."""

    bottle: Bottle
    components: Sequence[Component]
    ambient_k: float


def course(  # noqa: PLR0913 - a bottle, its filling, the load and the weather are independent
    bottle: Bottle,
    liquid: Liquid,
    load_w: float,
    ambient_k: float,
    least_abs_pa: float,
    *,
    duty: Duty | None = None,
    step_s: float = STEP_S,
    longest_s: float = LONGEST_S,
    start_k: float | None = None,
) -> Course:
    """Follow a bottle, from the temperature of the air unless another is given, until it starves or is empty.

    C dT/dt = U A (Ta - T) - n h,  dni/dt = -yi n,  n = load / g

    T is the temperature of the liquid and the metal it wets [K], U A as `conductance_w_k` [W/K], C the heat capacity,
    sum of ni ci + ms cs [J/K], ms being the tare's share by wetted wall [kg], n the moles drawn [mol/s], yi the share
    of each part in the vapour (Raoult's law) [-], h and g its heat of vaporisation and gross heat [J/mol].

    Range: as `bubble_pa`.

    Parameters
    ----------
    bottle : Bottle
        The bottle.
    liquid : Liquid
        What is in it at the start: each component with its moles [mol].
    load_w : float
        The load while it is on [W].
    ambient_k : float
        Ta, the air [K].
    least_abs_pa : float
        The least pressure that the regulator works at [Pa absolute].
    duty : Duty, optional
        How the load comes and goes; without it, it stays on.
    step_s : float
        The longest step in time [s].
    longest_s : float
        How far to look ahead [s].
    start_k : float, optional
        The liquid at the start [K]; without it that of the air.

    Returns
    -------
    Course
        How it fares, step by step.

    References
    ----------
    A heat balance, solved by the classical Runge-Kutta rule.

    Examples
    --------
    A half-full bottle of 9 kg at 15 degC under 40 kW:

    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> from drawbar.physics.cylinder import liquid_in
    >>> propane, bottle = Catalogue().gas((("propane", 1.0),)), Bottle(9.0, 0.312, 0.0216, 9.0, 12.5, 490.0)
    >>> cold = course(bottle, liquid_in(propane, 9.0, 0.5, 288.15), 40e3, 288.15, 131_325.0)
    >>> cold.ended, round(cold.time_s / 60.0)
    ('starved', 34)
    """
    components = [component for component, _ in liquid]
    setting = _Setting(bottle, components, ambient_k)
    first_k = ambient_k if start_k is None else start_k
    state: BottleState = (first_k, 0.0, *(moles for _, moles in liquid))
    empty_kg = EMPTY_SHARE * bottle.gas_kg
    points = [CoursePoint(0.0, first_k, state[2:], 0.0)]

    def short_pa(at: BottleState) -> float:
        return bubble_pa(list(zip(components, at[2:], strict=True)), at[0]) - least_abs_pa

    def ended(how: str) -> Course:
        return Course(how, mass_kg(list(zip(components, points[-1].moles, strict=True))), tuple(points))

    if short_pa(state) < 0.0:
        return ended(STARVED)
    on, phase_end_s, time_s = True, duty.on_s if duty else longest_s, 0.0
    for _ in range(_MOST_STEPS):
        now_w = load_w if on else 0.0
        slope, spare_s = _slope(setting, state, now_w)
        here_s = min(step_s, phase_end_s - time_s, 0.25 * spare_s, longest_s - time_s)
        flow_kg_s = -sum(moles_s * part.molar_mass_kg_mol for part, moles_s in zip(components, slope[2:], strict=True))
        if flow_kg_s > 0.0:
            held_kg = mass_kg(list(zip(components, state[2:], strict=True)))
            here_s = min(here_s, max((held_kg - empty_kg) / flow_kg_s, 1e-3), 0.05 * held_kg / flow_kg_s)
        stepped = _step(setting, state, slope, here_s, now_w)
        is_starved = on and short_pa(stepped) < 0.0
        if is_starved:
            low_s, high_s = 0.0, here_s
            while high_s - low_s > 1e-6 * here_s:
                middle_s = 0.5 * (low_s + high_s)
                tried = _step(setting, state, slope, middle_s, now_w)
                low_s, high_s = (middle_s, high_s) if short_pa(tried) >= 0.0 else (low_s, middle_s)
            here_s = high_s
            stepped = _step(setting, state, slope, here_s, now_w)
        state, time_s = stepped, time_s + here_s
        points.append(CoursePoint(time_s, state[0], state[2:], state[1]))
        if is_starved:
            return ended(STARVED)
        if mass_kg(list(zip(components, state[2:], strict=True))) <= empty_kg * (1.0 + 1e-6):
            return ended(EMPTY)
        if time_s >= longest_s:
            break
        if duty is not None and time_s >= phase_end_s:
            on = not on
            phase_end_s += duty.on_s if on else duty.off_s
    return ended(GOING)


def _slope(setting: _Setting, state: BottleState, load_w: float) -> tuple[BottleState, float]:
    """Return the state's change with time under a load [W], and the bottle's time constant C / (U A) [s]."""
    bottle, components, ambient_k = setting
    liquid_k = state[0]
    liquid = list(zip(components, state[2:], strict=True))
    wall_w_k = conductance_w_k(bottle, liquid, liquid_k)
    wet_share = min(wall_w_k / bottle.coefficient_w_m2_k / bottle.wall_m2, 1.0)
    capacity_j_k = wet_share * bottle.tare_kg * bottle.steel_j_kg_k
    parts_pa = []
    for component, moles in liquid:
        capacity_j_k += moles * liquid_heat_j_mol_k(liquid_k, component)
        parts_pa.append(moles * vapour_pressure_pa(liquid_k, component))
    in_w = wall_w_k * (ambient_k - liquid_k)
    if load_w <= 0.0:
        return (in_w / capacity_j_k, in_w, *(0.0 for _ in components)), capacity_j_k / wall_w_k
    total_pa = sum(parts_pa)
    shares = [part_pa / total_pa for part_pa in parts_pa]
    moles_s = load_w / sum(share * part.gross_j_mol for share, part in zip(shares, components, strict=True))
    latent_w = moles_s * sum(
        share * vaporisation_j_mol(liquid_k, part) for share, part in zip(shares, components, strict=True)
    )
    return ((in_w - latent_w) / capacity_j_k, in_w, *(-moles_s * share for share in shares)), capacity_j_k / wall_w_k


def _step(setting: _Setting, state: BottleState, first: BottleState, step_s: float, load_w: float) -> BottleState:
    """Return the state a step [s] on under a load [W], by the classical Runge-Kutta rule; `first` is the slope now."""

    def moved(slope: BottleState, by_s: float) -> BottleState:
        return tuple(value + by_s * change for value, change in zip(state, slope, strict=True))

    second, _ = _slope(setting, moved(first, 0.5 * step_s), load_w)
    third, _ = _slope(setting, moved(second, 0.5 * step_s), load_w)
    fourth, _ = _slope(setting, moved(third, step_s), load_w)
    return tuple(
        value + step_s / 6.0 * (a + 2.0 * b + 2.0 * c + d)
        for value, a, b, c, d in zip(state, first, second, third, fourth, strict=True)
    )
