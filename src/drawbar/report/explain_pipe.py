"""The working of one part of a line: what pipe, fittings, devices and height take from the pressure."""

from __future__ import annotations

import math
from collections.abc import Iterator

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.explain import Explained, Leg, start_in_words
from drawbar.job import Pipe
from drawbar.physics.air import GRAVITY, R
from drawbar.physics.flow import LAMINAR_BELOW, TURBULENT_ABOVE, Loss, friction_factor, outlet_abs_pa
from drawbar.physics.formulas import FORMULAS
from drawbar.report.display import Shown
from drawbar.report.explain_formulas import CODE_FORMULAS
from drawbar.report.explain_gas import compressibility
from drawbar.report.steps import Step, WorkingPart, num, total

_GIVEN = "given in the job file"
_MAKER = "maker's figure in the job file; the drop goes with the square of the flow"
_STATE = "equation of state"
ISOTHERMAL = "isothermal flow with friction: Perry's Chemical Engineers' Handbook, 8th edition, section 6 (from memory)"
Items = Iterator[Step | str]


def part(found: Explained, leg: Leg, known: Catalogue) -> WorkingPart:
    """Return the working of one part of the way."""
    flow, shown = leg.flow, Shown(found.job.display)
    size = f"{flow.section.pipe.label}, {shown.length_unit(flow.section.length_m)}"
    what = f"{leg.kind} {flow.section.name}, from {start_in_words(leg)}"
    section = WorkingPart(f"{what}: {size}" if flow.section.length_m else what)
    items = section.items
    items.extend(_start(found, leg))
    if flow.inlet_abs_pa <= 0.0:
        items.append("No pressure is left at its start.")
        return section
    if flow.flow_kg_s <= 0.0:
        items.append("No gas flows here, so that pipe and devices take nothing.")
    elif leg.kind == "Outlet" and not leg.fittings:
        items.append("It has no pipe and no fittings of its own.")
    else:
        items.extend(_pipe(leg, known))
        items.extend(_friction(found, leg, known))
    if flow.regime == "choked":
        items.append("So much gas can't pass: no pressure above zero is left at the end.")
    elif flow.flow_kg_s > 0.0:
        items.extend(_devices(leg))
    if flow.regime != "choked":
        items.extend(_height(found, leg))
    items.extend(_end(found, leg))
    return section


def _start(found: Explained, leg: Leg) -> Items:
    job, regulator = found.job, leg.regulator
    if regulator is not None:
        inlet_pa = leg.before_abs_pa - job.atmospheric_pa
        yield Step(
            "inlet pressure of the run's regulator, gauge",
            "pin",
            inlet_pa,
            "Pa",
            f"absolute pressure at {start_in_words(leg)} - pa",
            f"{num(leg.before_abs_pa)} - {num(job.atmospheric_pa)}",
        )
        yield Step("least inlet pressure that it works at", "pmin", regulator.inlet_min_gauge_pa, "Pa", source=_GIVEN)
        enough = "It has that: PASS." if found.inlet_margin_pa(leg) >= 0.0 else "It has less: FAIL."
        yield f"{enough} What follows is for the outlet pressure that it is set to."
    if regulator is not None or leg.before_abs_pa == found.line.source_abs_pa:
        set_pa = regulator.outlet_gauge_pa if regulator is not None else job.regulator.outlet_gauge_pa
        numbers = f"{num(set_pa)} + {num(job.atmospheric_pa)}"
        yield Step("pressure at the start, absolute", "p1", leg.flow.inlet_abs_pa, "Pa", "set pressure + pa", numbers)
    else:
        name = f"pressure at the start, absolute: that at {start_in_words(leg)}"
        yield Step(name, "p1", leg.flow.inlet_abs_pa, "Pa")
    if leg.flow.flow_kg_s > 0.0:
        yield Step("mass flow, from section 3", "m", leg.flow.flow_kg_s, "kg/s")


def _pipe(leg: Leg, known: Catalogue) -> Items:
    """Yield bore and length, with what the fittings count for."""
    stretch = leg.flow.section
    bore_m = stretch.pipe.bore_m
    yield Step(f"bore of {stretch.pipe.label}", "d", bore_m, "m", source=stretch.pipe.source)
    yield Step("length of pipe", "L", stretch.length_m, "m", source=_GIVEN if stretch.length_m else "")
    ratios = []
    for fitting, count in leg.fittings:
        ratios.append(fitting.ratio * count)
        name = f"{count} x {fitting.name}, {fitting.ratio:g} bores each"
        yield Step(name, f"n{len(ratios)}", ratios[-1], "bores", source=fitting.source)
    if ratios:
        names, sums = " + ".join(f"n{number}" for number in range(1, len(ratios) + 1)), total(ratios)
        if len(ratios) > 1:
            names, sums = f"({names})", f"({sums})"
        numbers = f"{num(stretch.length_m)} + {sums} x {num(bore_m)}"
        length_m = stretch.length_m + stretch.fittings_m
        yield Step("length with the fittings", "Le", length_m, "m", f"L + {names} d", numbers)
    else:
        yield Step("length with the fittings (none)", "Le", stretch.length_m, "m")


def _friction(found: Explained, leg: Leg, known: Catalogue) -> Items:
    formula = FORMULAS[found.formula]
    flow = leg.flow
    outside = formula.outside(flow.flow_kg_s, flow.section.pipe.bore_m, found.job.vapour, flow.section.stage_gauge_pa)
    if outside is not None:
        yield f"Outside the range of the formula: {outside}."
    loss = flow.section.loss(flow.flow_kg_s)
    if found.formula == "darcy":
        yield from _darcy(found, leg, loss, known)
    else:
        yield from CODE_FORMULAS[found.formula](found, leg, loss)
    after_pa = outlet_abs_pa(flow.inlet_abs_pa, loss)
    if after_pa > 0.0 and loss.linear_pa == 0.0:
        yield from _after_pipe(found, leg, loss, after_pa)


def roughness_source(pipe: Pipe, known: Catalogue) -> str:
    """Return where a pipe's roughness stands."""
    family = known.pipe_family(pipe.label.partition("/")[0])
    if family is None:
        return "given in the job file, or that of drawn tubing, Moody 1944"
    return family.roughness_source


def _darcy(found: Explained, leg: Leg, loss: Loss, known: Catalogue) -> Items:
    flow, vapour = leg.flow, found.job.vapour
    pipe = flow.section.pipe
    bore, area = num(pipe.bore_m), 0.25 * math.pi * pipe.bore_m**2
    flux = flow.flow_kg_s / area
    formula = FORMULAS["darcy"].source
    yield Step("area of the bore", "A", area, "m2", "pi d^2 / 4", f"3.14159 x {bore}^2 / 4")
    yield Step("mass flux", "G", flux, "kg/(m2 s)", "m / A", f"{num(flow.flow_kg_s)} / {num(area)}")
    viscosity = num(vapour.viscosity_pa_s)
    yield Step("Reynolds number", "Re", flow.reynolds, "", "G d / mu", f"{num(flux)} x {bore} / {viscosity}")
    factor = friction_factor(flow.reynolds, pipe.roughness_m / pipe.bore_m)
    if flow.reynolds < LAMINAR_BELOW:
        yield f"Below {LAMINAR_BELOW:g}: laminar. The roughness of the wall does not count."
        yield Step("friction factor", "f", factor, "", "64 / Re", f"64 / {num(flow.reynolds)}", formula)
    else:
        yield from _colebrook(flow.reynolds, pipe, factor, known)
    yield Step(
        "flow term",
        "E",
        loss.flux_pa2,
        "Pa2",
        "G^2 R T / M",
        f"{num(flux)}^2 x {num(R)} x {num(vapour.temperature_k)} / {num(vapour.molar_mass_kg_mol)}",
        ISOTHERMAL,
    )
    length = num(flow.section.length_m + flow.section.fittings_m)
    numbers = f"{num(loss.flux_pa2)} x {num(factor)} x {length} / {bore}"
    yield Step("friction term", "F", loss.square_pa2, "Pa2", "E f Le / d", numbers, ISOTHERMAL)


def _colebrook(reynolds: float, pipe: Pipe, factor: float, known: Catalogue) -> Items:
    """Yield the friction factor with both sides of the equation that it satisfies."""
    said = f"From {LAMINAR_BELOW:g} to {TURBULENT_ABOVE:g}: in transition, counted as turbulent, which loses more."
    yield said if reynolds <= TURBULENT_ABOVE else f"Above {TURBULENT_ABOVE:g}: turbulent."
    relative = pipe.roughness_m / pipe.bore_m
    numbers = f"{num(pipe.roughness_m)} / {num(pipe.bore_m)}"
    source = FORMULAS["darcy"].source
    yield Step("roughness of the wall", "k", pipe.roughness_m, "m", source=roughness_source(pipe, known))
    yield Step("relative roughness", "e", relative, "", "k / d", numbers)
    yield Step("friction factor: the value that makes the next two equal", "f", factor, "", source=source)
    yield Step("left side", "x", 1.0 / math.sqrt(factor), "", "1 / sqrt(f)", f"1 / sqrt({num(factor)})", source)
    yield Step(
        "right side",
        "x",
        -2.0 * math.log10(relative / 3.7 + 2.51 / (reynolds * math.sqrt(factor))),
        "",
        "-2 log10(e / 3.7 + 2.51 / (Re sqrt(f)))",
        f"-2 x log10({num(relative)} / 3.7 + 2.51 / ({num(reynolds)} x sqrt({num(factor)})))",
        source,
    )


def _after_pipe(found: Explained, leg: Leg, loss: Loss, after_pa: float) -> Items:
    """Yield the pressure behind the pipe and how it follows where squares of pressures are subtracted."""
    inlet_pa, friction_pa = leg.flow.inlet_abs_pa, leg.flow.friction_pa
    first, second = num(inlet_pa), num(after_pa)
    squares = (inlet_pa + after_pa) * friction_pa
    if loss.flux_pa2 > 0.0:
        middle_pa = 0.5 * (inlet_pa + after_pa)
        yield (
            "The pressure behind the pipe, p2, stands on both sides of what follows. Start with p2 = p1 and go round "
            "until it stays: two or three rounds do. It comes to:"
        )
        yield Step("pressure behind the pipe, absolute", "p2", after_pa, "Pa")
        numbers = f"({first} + {second}) / 2"
        yield Step("mean pressure", "pm", middle_pa, "Pa", "(p1 + p2) / 2", numbers)
        yield compressibility(found.job, middle_pa, "compression factor at the mean pressure", "Z", "pm")
        yield Step(
            "difference of the squares, p1^2 - p2^2",
            "D2",
            squares,
            "Pa2",
            "Z (F + 2 E ln(p1 / p2))",
            f"{num(found.job.vapour.compressibility(middle_pa))} x ({num(loss.square_pa2)} + 2 x {num(loss.flux_pa2)} "
            f"x ln({first} / {second}))",
            ISOTHERMAL,
        )
    else:
        numbers = f"sqrt({first}^2 - {num(loss.square_pa2)})"
        yield Step("pressure behind the pipe, absolute", "p2", after_pa, "Pa", "sqrt(p1^2 - D2)", numbers)
    numbers = f"{num(squares)} / ({first} + {second})"
    yield Step("drop in the pipe", "dp", friction_pa, "Pa", "D2 / (p1 + p2)", numbers)


def _devices(leg: Leg) -> Items:
    flow = leg.flow
    for number, device in enumerate(leg.devices, 1):
        yield Step(
            f"{device.name}: {num(device.drop_pa)} Pa at {num(device.flow_kg_s)} kg/s",
            f"dv{number}",
            device.pa_per_flow2 * flow.flow_kg_s**2,
            "Pa",
            "drop (m / flow)^2",
            f"{num(device.drop_pa)} x ({num(flow.flow_kg_s)} / {num(device.flow_kg_s)})^2",
            _MAKER,
        )


def _height(found: Explained, leg: Leg) -> Items:
    flow, job = leg.flow, found.job
    rise_m = flow.section.rise_m
    if not rise_m:
        return
    abs_pa = flow.outlet_abs_pa + flow.height_pa
    yield Step("height gained from start to end", "h", rise_m, "m", source=_GIVEN)
    before = [flow.inlet_abs_pa, -flow.friction_pa, -flow.devices_pa]
    numbers = total([one for one in before if one])
    words = "p1" + (" - dp" if flow.friction_pa else "") + (" - devices" if flow.devices_pa else "")
    yield Step("pressure before the height, absolute", "p3", abs_pa, "Pa", words, numbers)
    yield compressibility(job, abs_pa, "compression factor there", "Z3", "p3")
    density, air = job.vapour.density_kg_m3(abs_pa), job.air_density_kg_m3
    yield Step(
        "density of the gas there",
        "rho",
        density,
        "kg/m3",
        "p3 M / (Z3 R T)",
        f"{num(abs_pa)} x {num(job.vapour.molar_mass_kg_mol)} / ({num(job.vapour.compressibility(abs_pa))} x {num(R)} "
        f"x {num(job.temperature_k)})",
        _STATE,
    )
    yield Step(
        "what the height takes; less than 0 is gained",
        "dh",
        flow.height_pa,
        "Pa",
        "(rho - rho_a) g h",
        f"({num(density)} - {num(air)}) x {num(GRAVITY)} x ({num(rise_m)})",
        "hydrostatics; g as ISO 2533:1975",
    )


def _end(found: Explained, leg: Leg) -> Items:
    flow, job = leg.flow, found.job
    if flow.regime == "choked":
        yield Step("drop in this part", "dP", flow.drop_pa, "Pa", "p1", num(flow.inlet_abs_pa))
        return
    devices = [device.pa_per_flow2 * flow.flow_kg_s**2 for device in leg.devices]
    losses = [("dp", flow.friction_pa)]
    losses += [(f"dv{number}", pa) for number, pa in enumerate(devices, 1)]
    losses.append(("dh", flow.height_pa))
    named = [(symbol, pa) for symbol, pa in losses if pa] or [("nothing", 0.0)]
    words, numbers = " + ".join(symbol for symbol, _ in named), total([pa for _, pa in named])
    yield Step("drop in this part", "dP", flow.drop_pa, "Pa", words, numbers)
    numbers = total([flow.inlet_abs_pa, -flow.drop_pa])
    yield Step("pressure at the end, absolute", "pe", flow.outlet_abs_pa, "Pa", "p1 - dP", numbers)
    gauge_pa = flow.outlet_abs_pa - job.atmospheric_pa
    numbers = f"{num(flow.outlet_abs_pa)} - {num(job.atmospheric_pa)}"
    shown = Shown(job.display).pressure_unit(gauge_pa)
    yield Step(f"pressure at the end, gauge: {shown}", "pg", gauge_pa, "Pa", "pe - pa", numbers)
