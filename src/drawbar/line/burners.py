"""Burners at their rated input, or as fixed orifices: the flows and pressures of a line solved together."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drawbar.line.network import Line
from drawbar.line.section import Section
from drawbar.physics.darcy import darcy
from drawbar.physics.friction import LAMINAR_BELOW

_CLOSE = 1e-9  # of the nominal pressure: how near pressure and flow of every burner come to its law
_MOST_LESS = 0.9  # by how much of itself a flow falls in a step at most
_SHORT = 0.5  # of a step: less of it is too little to go on with
_MOST_TURNS = 200  # of Newton's method; it takes five or so
# Friction steps up where flow turns turbulent. A burner's flow may settle on that step, so the step is taken as a ramp
# of this width (relative to the flow): far below what any meter shows.
_RAMP = 1e-7
_EDGE = 1e-12  # a flow so near the ramp's edge counts as on it: a search that stopped there must feel its slope


@dataclass(frozen=True, slots=True)
class Burner:
    """What draws gas at the end of a run.

    Attributes
    ----------
    name : str
        The appliance's.
    at : int
        The number of the run it hangs on.
    tail : tuple of Section
        Outlet and hose.
    flow_kg_s : float
        What it draws at its nominal pressure [kg/s].
    nominal_gauge_pa : float
        That pressure [Pa gauge].
    """

    name: str
    at: int
    tail: tuple[Section, ...]
    flow_kg_s: float
    nominal_gauge_pa: float


@dataclass(frozen=True, slots=True)
class Solution:
    """The line with its burners lit.

    Attributes
    ----------
    flows_kg_s : tuple of float
        What each burner draws [kg/s].
    outlets_pa : tuple of float
        Pressure at the end of each run [Pa absolute].
    tails_pa : tuple of tuple of float
        For each burner, the pressure behind each section of its tail [Pa absolute].
    inlets_pa : tuple of float
        Pressure at each burner's inlet [Pa absolute].
    """

    flows_kg_s: tuple[float, ...]
    outlets_pa: tuple[float, ...]
    tails_pa: tuple[tuple[float, ...], ...]
    inlets_pa: tuple[float, ...]


def orifice_flow_kg_s(rated_kg_s: float, gauge_pa: float, nominal_gauge_pa: float) -> float:
    """Return the flow of a fixed orifice at a pressure: m = m_rated sqrt(p / p_nominal); none below the air's pressure.

    At a fixed discharge coefficient, flow goes with the square root of the pressure difference. Valid range: pressures
    far below the air's, at which the gas's density is the same within a few percent.

    Parameters
    ----------
    rated_kg_s : float
        Mass flow at the nominal pressure [kg/s].
    gauge_pa : float
        Pressure at the orifice [Pa gauge].
    nominal_gauge_pa : float
        Pressure at which it has its rated flow [Pa gauge].

    Returns
    -------
    float
        Mass flow [kg/s].

    References
    ----------
    The orifice equation of any handbook, from Bernoulli's (ISO 5167-1:2003, equation 1, from memory).

    Examples
    --------
    >>> orifice_flow_kg_s(4e-4, 2475.0, 2750.0) / 4e-4  # a tenth less pressure
    0.9486832980505138
    """
    return rated_kg_s * math.sqrt(gauge_pa / nominal_gauge_pa) if gauge_pa > 0.0 else 0.0


def orifice_density_factor(density_kg_m3: float, plate_density_kg_m3: float) -> float:
    """How much more mass a fixed orifice passes in another state of the gas than on its data plate's test [-].

    m2 / m1 = sqrt(rho2 / rho1), the pressure difference being the same. Thin air, warmth and a lighter gas lower the
    density, and with it the flow and the heat input.

    Parameters
    ----------
    density_kg_m3 : float
        rho2, density of the gas before the orifice on site [kg/m3].
    plate_density_kg_m3 : float
        rho1, that of the gas which the plate's input is for, at the plate's conditions [kg/m3].

    Returns
    -------
    float
        m2 / m1 [-].

    References
    ----------
    The orifice equation of any handbook, from Bernoulli's (ISO 5167-1:2003, equation 1, from memory).

    Examples
    --------
    Propane at 2.75 kPa and 2000 m, against sea level: the heat input falls by a tenth.

    >>> round(orifice_density_factor(1.505, 1.901), 3)
    0.89
    """
    return math.sqrt(density_kg_m3 / plate_density_kg_m3)


def solve(line: Line, burners: Sequence[Burner], *, fixed_orifice: bool) -> Solution:
    """Solve a line with its burners at their rated flow, or as fixed orifices.

    As orifices, each burner's pressure p(m) and flow m must meet p(m) = p_nominal (m / m_rated)^2. Every section takes
    more as it passes more, so there is one answer, the least of a convex function, and Newton's method with a line
    search comes to it. Its slopes may be rough; the answer does not depend on them.

    Parameters
    ----------
    line : Line
        With a pipe for each run.
    burners : sequence of Burner
        What draws gas, and where.
    fixed_orifice : bool
        Whether flow follows pressure; otherwise each burner has its rated flow.

    Returns
    -------
    Solution
        Flows [kg/s] and pressures [Pa absolute].
    """
    rated = [burner.flow_kg_s for burner in burners]
    if not fixed_orifice or not burners:
        return _Try(line, burners, rated).solution
    now = _Try(line, burners, rated)
    for _ in range(_MOST_TURNS):
        if now.worst <= _CLOSE:
            break
        now = _searched(now, _newton_step(now))
    return now.solution


class _Try:
    """One guess of the burners' flows, the pressures that follow, and how far each burner is from its law.

    Attributes
    ----------
    errors_pa : list of float
        Pressure at each burner less what its flow needs [Pa].
    """

    __slots__ = ("burners", "errors_pa", "flows", "line", "run_flows", "solution")

    def __init__(self, line: Line, burners: Sequence[Burner], flows: Sequence[float]) -> None:
        self.line, self.burners, self.flows = line, burners, flows
        self.run_flows = line.flows([(burner.at, flow) for burner, flow in zip(burners, flows, strict=True)])
        outlets: list[float] = []
        for number, section in enumerate(line.sections):
            outlets.append(_outlet_abs_pa(line, section, line.inlet_pa(number, outlets), self.run_flows[number]))
        tails = []
        for burner, flow in zip(burners, flows, strict=True):
            pressures = [outlets[burner.at]]
            for section in burner.tail:
                pressures.append(_outlet_abs_pa(line, section, pressures[-1], flow))
            tails.append(tuple(pressures))
        inlets = tuple(pressures[-1] for pressures in tails)
        self.solution = Solution(tuple(flows), tuple(outlets), tuple(tail[1:] for tail in tails), inlets)
        atmospheric_pa = line.conditions.atmospheric_pa
        self.errors_pa = [
            inlet_pa - atmospheric_pa - burner.nominal_gauge_pa * (flow / burner.flow_kg_s) ** 2
            for burner, flow, inlet_pa in zip(burners, flows, inlets, strict=True)
        ]

    @property
    def worst(self) -> float:
        """The largest error by the nominal pressure [-]."""
        return max(
            abs(error) / burner.nominal_gauge_pa for error, burner in zip(self.errors_pa, self.burners, strict=True)
        )

    def run_slopes(self) -> list[float]:
        """Return what more each run takes for more flow [Pa s/kg]."""
        line, outlets = self.line, self.solution.outlets_pa
        return [
            _slope(line, section, line.inlet_pa(number, outlets), outlets[number], self.run_flows[number])
            for number, section in enumerate(line.sections)
        ]

    def law_slopes(self) -> list[float]:
        """Return what more pressure each burner itself takes for more flow [Pa s/kg]."""
        return [
            2.0 * burner.nominal_gauge_pa * flow / burner.flow_kg_s**2
            for burner, flow in zip(self.burners, self.flows, strict=True)
        ]

    def tail_slopes(self) -> Iterator[list[float]]:
        """Yield what more each section of each burner's tail takes for more flow [Pa s/kg]."""
        for burner, flow, tail_pa in zip(self.burners, self.flows, self.solution.tails_pa, strict=True):
            before_pa = (self.solution.outlets_pa[burner.at], *tail_pa)
            yield [
                _slope(self.line, section, before, after, flow)
                for section, before, after in zip(burner.tail, before_pa, tail_pa, strict=False)
            ]

    def burner_slopes(self) -> Iterator[float]:
        """Yield what more pressure each burner and its tail take for more flow [Pa s/kg]."""
        for law, tail in zip(self.law_slopes(), self.tail_slopes(), strict=True):
            yield sum(tail, law)


def slopes(
    line: Line, burners: Sequence[Burner], solution: Solution
) -> tuple[list[float], list[list[float]], list[float]]:
    """Return about what more pressure every part of a solved line takes for more flow [Pa s/kg].

    Parameters
    ----------
    line : Line
        With a pipe for each run.
    burners : sequence of Burner
        What draws gas, and where.
    solution : Solution
        The line with them lit.

    Returns
    -------
    runs : list of float
        Of each run.
    tails : list of list of float
        Of each section of each burner's tail.
    laws : list of float
        Of each burner as a fixed orifice.
    """
    tried = _Try(line, burners, solution.flows_kg_s)
    return tried.run_slopes(), list(tried.tail_slopes()), tried.law_slopes()


def _ramp(line: Line, section: Section) -> tuple[float, float]:
    """Return the mass flows between which a section's friction steps up [kg/s]; none by the code formulas."""
    if line.conditions.formula is not darcy:
        return 0.0, 0.0
    middle = LAMINAR_BELOW * 0.25 * math.pi * section.pipe.bore_m * line.conditions.vapour.viscosity_pa_s
    return middle * (1.0 - _RAMP), middle * (1.0 + _RAMP)


def _outlet_abs_pa(line: Line, section: Section, inlet_pa: float, flow_kg_s: float) -> float:
    low, high = _ramp(line, section)
    if not low < flow_kg_s < high:
        return section.outlet_abs_pa(inlet_pa, flow_kg_s)
    share = (flow_kg_s - low) / (high - low)
    return (1.0 - share) * section.outlet_abs_pa(inlet_pa, low) + share * section.outlet_abs_pa(inlet_pa, high)


def _slope(line: Line, section: Section, inlet_pa: float, outlet_pa: float, flow_kg_s: float) -> float:
    """Return about what more a section takes for more flow [Pa s/kg]: friction as flow to the power 1 or 1.8."""
    low, high = _ramp(line, section)
    if low * (1.0 - _EDGE) <= flow_kg_s <= high * (1.0 + _EDGE) and high > 0.0:
        return (section.outlet_abs_pa(inlet_pa, low) - section.outlet_abs_pa(inlet_pa, high)) / (high - low)
    if flow_kg_s <= 0.0:
        return 0.0
    devices_pa = section.devices_pa(flow_kg_s)
    friction_pa = max(inlet_pa - outlet_pa - devices_pa - section.height_pa(outlet_pa), 0.0)
    return ((1.0 if flow_kg_s <= low else 1.8) * friction_pa + 2.0 * devices_pa) / flow_kg_s


def _newton_step(now: _Try) -> list[float]:
    """Return the change of each burner's flow [kg/s] that would bring every error to zero if slopes were straight.

    On a tree the equations fall apart: going up, the change of flow in each run is put as a + b x (change of pressure
    at its start); going down, the pressures follow. A regulator keeps the pressure after it.
    """
    line, burners = now.line, now.burners
    runs, slopes, stiffness = line.job.runs, now.run_slopes(), list(now.burner_slopes())
    a, b = [0.0] * len(runs), [0.0] * len(runs)
    for burner, error_pa, stiff in zip(burners, now.errors_pa, stiffness, strict=True):
        a[burner.at] += error_pa / stiff
        b[burner.at] += 1.0 / stiff
    for number in reversed(range(len(runs))):
        share = 1.0 / (1.0 + b[number] * slopes[number])
        a[number] *= share
        b[number] *= share
        parent = line.parents[number]
        if parent >= 0:
            a[parent] += a[number]
            b[parent] += b[number] if runs[number].regulator is None else 0.0
    changes_pa: list[float] = []
    for number in range(len(runs)):
        parent = line.parents[number]
        start_pa = changes_pa[parent] if parent >= 0 and runs[number].regulator is None else 0.0
        changes_pa.append(start_pa - slopes[number] * (a[number] + b[number] * start_pa))
    return [
        (error_pa + changes_pa[burner.at]) / stiff
        for burner, error_pa, stiff in zip(burners, now.errors_pa, stiffness, strict=True)
    ]


def _searched(now: _Try, step: Sequence[float]) -> _Try:
    """Go along a step to where the convex function stops falling, or near enough; no flow falls below a tenth."""
    longest = _longest(now, step)
    if longest < _SHORT:  # one burner that would go out must not hold up all the others
        held = [max(more, -_MOST_LESS * flow) for flow, more in zip(now.flows, step, strict=True)]
        if _along(now, held) > 0.0:
            step, longest = held, 1.0
    start = _along(now, step)
    low, low_fall, high, high_fall = 0.0, start, longest, -math.inf
    edges = sorted(_edges(now, step, longest))
    share = longest
    for _ in range(100):
        tried = _Try(now.line, now.burners, [flow + share * more for flow, more in zip(now.flows, step, strict=True)])
        fall = _along(tried, step)
        if abs(fall) <= 0.5 * start or (fall > 0.0 and share == longest):
            break
        if fall > 0.0:
            low, low_fall = share, fall
        else:
            high, high_fall = share, fall
        between = [edge for edge in edges if low < edge < high]
        if between:
            share = between[len(between) // 2]
        else:
            falls_by = low_fall - high_fall  # nought where the flows no longer tell the two apart
            share = low + (high - low) * (min(max(low_fall / falls_by, 0.05), 0.95) if falls_by else 0.5)
    return tried


def _longest(now: _Try, step: Sequence[float]) -> float:
    """Return how far along a step no flow falls below a tenth, the whole step at most."""
    return min([1.0, *(-_MOST_LESS * flow / more for flow, more in zip(now.flows, step, strict=True) if more < 0.0)])


def _along(tried: _Try, step: Sequence[float]) -> float:
    return sum(error * more for error, more in zip(tried.errors_pa, step, strict=True))


def _edges(now: _Try, step: Sequence[float], longest: float) -> Iterator[float]:
    """Yield the shares of a step at which a section's flow comes to an edge of its ramp."""
    line = now.line
    run_steps = line.flows([(burner.at, more) for burner, more in zip(now.burners, step, strict=True)])
    moving = list(zip(line.sections, now.run_flows, run_steps, strict=True))
    for burner, flow, more in zip(now.burners, now.flows, step, strict=True):
        moving.extend((section, flow, more) for section in burner.tail)
    for section, flow, more in moving:
        for edge in _ramp(line, section):
            if more and 0.0 < (edge - flow) / more < longest:
                yield (edge - flow) / more
