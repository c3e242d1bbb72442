"""The working in short, for a pocket calculator: a line to key in for each figure, one screen a run."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from drawbar import units
from drawbar.checking.explain import Explained, Leg, start_in_words
from drawbar.physics import darcy, flow, friction
from drawbar.physics.air import GRAVITY
from drawbar.report.display import MJ_H, Shown
from drawbar.report.explain_formulas import CODE_FORMULAS
from drawbar.report.layout import Block
from drawbar.report.steps import Step, num, total

_NAME = 10  # columns for what a line works out
_CLOSE = 2.5e-4  # of 1/sqrt(f), half of that of f: the fourth digit
_SAME = 1e-9  # within this two figures are the same
_KINETIC = 1e-3  # share of the friction from which the acceleration of the gas is told
_JOULE_A_BTU_LB = 2326.0  # J/kg, exact for the International Table Btu
_LB_KG, _FT_M, _GC = 0.45359237, 0.3048, 32.174


class _Keyed(NamedTuple):
    """The units that the lines are keyed in, with what makes an SI float one of them.

    `per_pressure` is what a mass by length and time squared is divided by to be a pressure in the job's unit, as text.
    """

    shown: Shown
    mass: str
    length: str
    kg: float
    m: float
    calorific_j_kg: float
    calorific: str
    load_factor: str
    per_pressure: str
    viscosity_pa_s: float
    viscosity: str
    hours: str

    @classmethod
    def of(cls, shown: Shown) -> _Keyed:
        """Return the units that go with those of a job."""
        display = shown.display
        unit_pa = units.to_si(1.0, display.pressure, units.PRESSURE)
        unit_w = units.to_si(1.0, display.heat, units.HEAT_RATE)
        if display.is_us:
            a_foot2_pa = _LB_KG * GRAVITY / (_FT_M * _FT_M)  # a pound's weight on a square foot
            factor, hour_s = unit_w * 3600.0 / (_JOULE_A_BTU_LB * _LB_KG), 3600.0
            per = f"{_GC} x {num(unit_pa / a_foot2_pa)}"
            mu = _LB_KG / (_FT_M * hour_s)
            of_heat = "" if abs(factor - 1.0) < _SAME else f" x {num(factor)}"
            return cls(shown, "lb", "ft", _LB_KG, _FT_M, _JOULE_A_BTU_LB, "Btu/lb", of_heat, per, mu, "lb/(ft h)", "")
        factor = unit_w * MJ_H
        of_heat = "" if abs(factor - 1.0) < _SAME else f" x {num(factor)}"
        return cls(shown, "kg", "m", 1.0, 1.0, 1e6, "MJ/kg", of_heat, num(unit_pa), 1.0, "Pa s", "3600 x ")

    def density(self, kg_m3: float) -> float:
        """Return a density [kg/m3] in these units."""
        return kg_m3 / self.kg * self.m * self.m * self.m

    def pressure(self, pa: float) -> float:
        """Return a pressure [Pa] in the job's unit."""
        return units.from_si(pa, self.shown.display.pressure, units.PRESSURE)


def short_working(explained: Explained) -> Iterator[Block]:
    """Yield the working of each part of the way in short, and the sum.

    Parameters
    ----------
    explained : Explained
        The way.

    Yields
    ------
    str
        A block a part: what it is, then a line for each figure.
    """
    keyed = _Keyed.of(Shown(explained.job.display))
    for leg in explained.legs:
        section = leg.flow.section
        size = f": {keyed.shown.length_unit(section.length_m)} of {section.pipe.label}" if section.length_m else ""
        title = f"{leg.kind} {section.name}, from {start_in_words(leg)}{size}"
        yield "\n".join([title, *_lines(explained, leg, keyed)])
    if explained.load_w is not None:
        yield "\n".join(_sum_lines(explained, keyed))


def _line(name: str, numbers: str, value: float, unit: str) -> str:
    """Return a line to key in; a figure that is given has nothing to key."""
    gives = f"{num(value)} {unit}".rstrip()
    return (
        f"  {name:<{_NAME}}  {numbers} = {gives}"
        if numbers and numbers != num(value)
        else f"  {name:<{_NAME}}  {gives}"
    )


def _lines(explained: Explained, leg: Leg, keyed: _Keyed) -> Iterator[str]:
    section_flow, shown = leg.flow, keyed.shown
    if section_flow.flow_kg_s <= 0.0 or section_flow.inlet_abs_pa <= 0.0 or section_flow.regime == "choked":
        yield "No gas flows here." if section_flow.flow_kg_s <= 0.0 else "This much gas can't pass."
        return
    heat, gross_j_kg = shown.display.heat, explained.job.gas.gross_j_kg
    load = units.from_si(section_flow.flow_kg_s * gross_j_kg, heat, units.HEAT_RATE)
    drops_pa: list[float] = []
    calorific = gross_j_kg / keyed.calorific_j_kg
    if section_flow.friction_pa:
        yield _given(explained, leg, keyed, calorific)
    yield _line("load", _loads(explained, leg, heat), load, heat)
    if section_flow.friction_pa:
        flow_h = section_flow.flow_kg_s * 3600.0 / keyed.kg
        yield _line("mass flow", f"{num(load)}{keyed.load_factor} / {num(calorific)}", flow_h, f"{keyed.mass}/h")
        if explained.formula == "darcy":
            yield from _darcy_lines(explained, leg, keyed, flow_h)
        else:
            yield from _code_lines(explained, leg)
        drops_pa.append(section_flow.friction_pa)
    unit = shown.display.pressure
    for device in leg.devices:
        thin = num(section_flow.section.thin_gas_factor(device))  # by the density of the gas at the site
        drop_pa = flow.device_drop_pa(section_flow.flow_kg_s, section_flow.section.device_pa_per_flow2(device))
        rated = units.from_si(device.flow_kg_s * gross_j_kg, heat, units.HEAT_RATE)
        numbers = f"{num(keyed.pressure(device.drop_pa))} x ({num(load)} / {num(rated)})^2"
        if thin != "1":
            numbers = f"{thin} x {numbers}"
        yield _line(device.name, numbers, keyed.pressure(drop_pa), unit)
        drops_pa.append(drop_pa)
    if section_flow.height_pa:
        yield _height_line(explained, leg, keyed)
        drops_pa.append(section_flow.height_pa)
    numbers = total([keyed.pressure(pa) for pa in drops_pa]) if drops_pa else ""
    yield _line("drop", numbers, keyed.pressure(section_flow.drop_pa), unit)


def _loads(explained: Explained, leg: Leg, heat: str) -> str:
    """Return the loads of what is fed, written as a sum; nothing where it is a single one or a bound."""
    gross_j_kg = explained.job.gas.gross_j_kg
    flows = {draw.appliance.name: draw.flow_kg_s for draw in explained.draws}
    fed = [units.from_si(flows[name] * gross_j_kg, heat, units.HEAT_RATE) for name in leg.fed or ()]
    return total(fed) if len(fed) > 1 else ""


def _given(explained: Explained, leg: Leg, keyed: _Keyed, calorific: float) -> str:
    """Return what the lines start from: the bore, the wall and the gas."""
    pipe_flow, vapour = leg.flow.section.pipe_flow(leg.flow.flow_kg_s), explained.job.vapour
    bore = units.from_si(pipe_flow.bore_m, keyed.shown.display.bore, units.LENGTH)
    given = f"Given: bore {num(bore)} {keyed.shown.display.bore}"
    if explained.formula == "darcy":
        density = keyed.density(vapour.density_kg_m3(_mean_abs_pa(leg)))
        given += (
            f" = {num(pipe_flow.bore_m / keyed.m)} {keyed.length}, roughness by bore "
            f"{num(pipe_flow.roughness_m / pipe_flow.bore_m)}, viscosity "
            f"{num(vapour.viscosity_pa_s / keyed.viscosity_pa_s)} {keyed.viscosity}, density {num(density)} "
            f"{keyed.mass}/{keyed.length}3"
        )
    return f"{given}, heat {num(calorific)} {keyed.calorific}."


def _mean_abs_pa(leg: Leg) -> float:
    return leg.flow.inlet_abs_pa - 0.5 * leg.flow.friction_pa


def _darcy_lines(explained: Explained, leg: Leg, keyed: _Keyed, flow_h: float) -> Iterator[str]:
    section, vapour = leg.flow.section, explained.job.vapour
    pipe_flow = section.pipe_flow(leg.flow.flow_kg_s)
    terms = darcy.darcy_terms(pipe_flow)
    bore, length = pipe_flow.bore_m / keyed.m, pipe_flow.length_m / keyed.m
    bores = sum(fitting.ratio * count for fitting, count in leg.fittings)
    numbers = f"{num(section.length_m / keyed.m)} + {num(bores)} x {num(bore)}" if bores else ""
    yield _line("length", numbers, length, keyed.length)
    viscosity = num(vapour.viscosity_pa_s / keyed.viscosity_pa_s)
    numbers = f"4 x {num(flow_h)} / ({keyed.hours}3.14159 x {num(bore)} x {viscosity})"
    yield _line("Reynolds", numbers, terms.reynolds, "")
    yield from _factor_lines(terms)
    flux = terms.flux_kg_m2_s / keyed.kg * keyed.m * keyed.m
    numbers = f"{num(flow_h)} / (3600 x 0.785398 x {num(bore)}^2)"
    yield _line("mass flux", numbers, flux, f"{keyed.mass}/({keyed.length}2 s)")
    before_pa, after_pa = leg.flow.inlet_abs_pa, leg.flow.inlet_abs_pa - leg.flow.friction_pa
    density = keyed.density(vapour.density_kg_m3(_mean_abs_pa(leg)))
    numbers = f"{num(terms.friction_factor)} x {num(length)} / {num(bore)}"
    heads = terms.friction_factor * length / bore
    kinetic = darcy.acceleration_heads(before_pa, after_pa)
    if kinetic > _KINETIC * heads:
        numbers = f"{numbers} + 2 x ln({num(before_pa)} / {num(after_pa)})"
        heads += kinetic
    yield _line("f length/d", numbers, heads, "")
    numbers = f"{num(heads)} x {num(flux)}^2 / (2 x {num(density)} x {keyed.per_pressure})"
    yield _line("pipe", numbers, keyed.pressure(leg.flow.friction_pa), keyed.shown.display.pressure)


def _factor_lines(terms: darcy.DarcyTerms) -> Iterator[str]:
    """Yield the friction factor: laminar, or from a first guess by as many rounds as its fourth digit takes.

    The guess is that of Swamee and Jain, Journal of the Hydraulics Division, ASCE 102 (1976) 657 (from memory); the
    rounds are Colebrook's equation, the figure before it put in on the right.
    """
    number, rough = num(terms.reynolds), num(terms.relative_roughness)
    if terms.friction_factor * terms.reynolds - 64.0 < _SAME:
        yield _line("f, laminar", f"64 / {number}", terms.friction_factor, "")
        return
    root, *rounds = friction.root_by_rounds(terms.reynolds, terms.relative_roughness, _CLOSE)
    yield _line("1/sqrt(f)", f"-2 x log10({rough} / 3.7 + 5.74 / {number}^0.9)", root, "")
    for turn, closer in enumerate(rounds, 1):
        yield _line(f"round {turn}", f"-2 x log10({rough} / 3.7 + 2.51 x {num(root)} / {number})", closer, "")
        root = closer
    yield _line("f", f"1 / {num(root)}^2", terms.friction_factor, "")


def _code_lines(explained: Explained, leg: Leg) -> Iterator[str]:
    """Yield the lines of a code's or a handbook's formula, each in the units that it is published with."""
    section = leg.flow.section
    pipe_flow, loss = section.pipe_flow(leg.flow.flow_kg_s), section.loss(leg.flow.flow_kg_s)
    for item in CODE_FORMULAS[explained.formula](pipe_flow, loss):
        if isinstance(item, Step) and item.unit != "Pa":
            yield _line(item.symbol, item.numbers, item.value, item.unit)
    shown = Shown(explained.job.display)
    pressure = units.from_si(leg.flow.friction_pa, shown.display.pressure, units.PRESSURE)
    yield _line("pipe", "", pressure, shown.display.pressure)


def _height_line(explained: Explained, leg: Leg, keyed: _Keyed) -> str:
    """Return what the height takes, with the density of the gas before it."""
    abs_pa = leg.flow.outlet_abs_pa + leg.flow.height_pa
    gas, air = (
        num(keyed.density(kg_m3))
        for kg_m3 in (explained.job.vapour.density_kg_m3(abs_pa), explained.job.air_density_kg_m3)
    )
    rise = num(leg.flow.section.rise_m / keyed.m)
    by = f"{num(GRAVITY)} x ({rise}) / {keyed.per_pressure}"
    if keyed.mass == "lb":  # a pound weighs a pound
        by = f"({rise}) / {keyed.per_pressure.removeprefix(f'{_GC} x ')}"
    numbers = f"({gas} - {air}) x {by}"
    return _line("height", numbers, keyed.pressure(leg.flow.height_pa), keyed.shown.display.pressure)


def _sum_lines(explained: Explained, keyed: _Keyed) -> Iterator[str]:
    unit = keyed.shown.display.pressure
    stage, drop = (keyed.pressure(pa) for pa in (explained.stage_gauge_pa, explained.drop_pa))
    yield f"The whole line to {explained.name}"
    yield _line("pressure", f"{num(stage)} - {num(drop)}", keyed.pressure(explained.gauge_pa), unit)
    allowed = keyed.pressure(explained.job.allowed_drop_pa)
    yield _line("spare", f"{num(allowed)} - {num(drop)}", allowed - drop, unit)
