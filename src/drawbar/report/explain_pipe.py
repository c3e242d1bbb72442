"""The working of one part of a line: what pipe, fittings, devices and height take from the pressure."""

from __future__ import annotations

from collections.abc import Iterator

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.explain import Explained, Leg, start_in_words
from drawbar.job import Device, Pipe
from drawbar.physics import darcy, flow, friction
from drawbar.physics.air import GRAVITY, R
from drawbar.physics.formulas import FORMULAS
from drawbar.report.display import Shown
from drawbar.report.explain_formulas import CODE_FORMULAS
from drawbar.report.explain_gas import compressibility_step, density_step
from drawbar.report.explain_sources import IN_JOB_FILE, ISOTHERMAL, MAKER, roughness_source
from drawbar.report.steps import Step, WorkingPart, num, total

_Items = Iterator[Step | str]
_SAME = 1e-9  # within this a factor is 1


def leg_working(explained: Explained, leg: Leg, known: Catalogue) -> WorkingPart:
    """Return the working of one part of the way.

    Parameters
    ----------
    explained : Explained
        The way.
    leg : Leg
        The part of it.
    known : Catalogue
        Where the pipes' roughness stands.

    Returns
    -------
    WorkingPart
        Its steps.
    """
    section_flow, shown = leg.flow, Shown(explained.job.display)
    section = section_flow.section
    size = f"{section.pipe.label}, {shown.length_unit(section.length_m)}"
    what = f"{leg.kind} {section.name}, from {start_in_words(leg)}"
    working = WorkingPart(f"{what}: {size}" if section.length_m else what)
    items = working.items
    items.extend(_start(explained, leg))
    if section_flow.inlet_abs_pa <= 0.0:
        items.append("No pressure is left at its start.")
        return working
    if section_flow.flow_kg_s <= 0.0:
        items.append("No gas flows here, so there is no drop.")
    elif leg.kind == "Outlet" and not leg.fittings:
        items.append("It has no pipe and no fittings of its own.")
    else:
        items.extend(_pipe(leg))
        items.extend(_friction(explained, leg, known))
    if section_flow.regime == "choked":
        items.append("This much gas can't pass: no pressure above zero is left at the end.")
    elif section_flow.flow_kg_s > 0.0:
        items.extend(_devices(leg))
    if section_flow.regime != "choked":
        items.extend(_height(explained, leg))
    items.extend(_end(explained, leg))
    return working


def _start(explained: Explained, leg: Leg) -> _Items:
    """Yield the pressure at the start, from the regulator if it has one, and the flow."""
    job, regulator = explained.job, leg.regulator
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
        least_pa = regulator.inlet_min_gauge_pa
        yield Step("least inlet pressure that it works at", "pmin", least_pa, "Pa", source=IN_JOB_FILE)
        enough = "It has that: PASS." if explained.inlet_margin_pa(leg) >= 0.0 else "It has less: FAIL."
        yield f"{enough} What follows is for the outlet pressure that it is set to."
    if regulator is not None or leg.before_abs_pa == explained.line.source_abs_pa:
        set_pa = regulator.outlet_gauge_pa if regulator is not None else job.regulator.outlet_gauge_pa
        numbers = f"{num(set_pa)} + {num(job.atmospheric_pa)}"
        yield Step("pressure at the start, absolute", "p1", leg.flow.inlet_abs_pa, "Pa", "set pressure + pa", numbers)
    else:
        name = f"pressure at the start, absolute: that at {start_in_words(leg)}"
        yield Step(name, "p1", leg.flow.inlet_abs_pa, "Pa")
    if leg.flow.flow_kg_s > 0.0:
        yield Step("mass flow, from section 3", "m", leg.flow.flow_kg_s, "kg/s")


def _pipe(leg: Leg) -> _Items:
    """Yield bore and length, with what the fittings count for."""
    section = leg.flow.section
    bore_m = section.pipe.bore_m
    yield Step(f"bore of {section.pipe.label}", "d", bore_m, "m", source=section.pipe.source)
    yield Step("length of pipe", "L", section.length_m, "m", source=IN_JOB_FILE if section.length_m else "")
    ratios = []
    for fitting, count in leg.fittings:
        ratios.append(fitting.ratio * count)
        name = f"{count} x {fitting.name}, {fitting.ratio:g} bores each"
        yield Step(name, f"n{len(ratios)}", ratios[-1], "bores", source=fitting.source)
    length_m = section.pipe_flow(leg.flow.flow_kg_s).length_m
    if ratios:
        names, sums = " + ".join(f"n{number}" for number in range(1, len(ratios) + 1)), total(ratios)
        if len(ratios) > 1:
            names, sums = f"({names})", f"({sums})"
        numbers = f"{num(section.length_m)} + {sums} x {num(bore_m)}"
        yield Step("length with the fittings", "Le", length_m, "m", f"L + {names} d", numbers)
    else:
        yield Step("length with the fittings (none)", "Le", length_m, "m")


def _friction(explained: Explained, leg: Leg, known: Catalogue) -> _Items:
    """Yield what the pipe takes by the formula, and where the flow is outside its range."""
    section, inlet_pa = leg.flow.section, leg.flow.inlet_abs_pa
    pipe_flow = section.pipe_flow(leg.flow.flow_kg_s)
    outside = FORMULAS[explained.formula].outside(pipe_flow)
    if outside is not None:
        yield f"Outside the range of the formula: {outside}."
    loss = section.loss(leg.flow.flow_kg_s)
    if explained.formula == "darcy":
        yield from _darcy(pipe_flow, section.pipe, known)
    else:
        yield from CODE_FORMULAS[explained.formula](pipe_flow, loss)
    after_pa = flow.outlet_abs_pa(inlet_pa, loss)
    if after_pa > 0.0 and loss.linear_pa == 0.0:
        yield from _after_pipe(explained, leg, loss, after_pa)


def _darcy(pipe_flow: flow.PipeFlow, pipe: Pipe, known: Catalogue) -> _Items:
    """Yield the terms of Darcy's formula."""
    terms, vapour = darcy.darcy_terms(pipe_flow), pipe_flow.vapour
    bore, flux = num(pipe_flow.bore_m), num(terms.flux_kg_m2_s)
    yield Step("area of the bore", "A", terms.area_m2, "m2", "pi d^2 / 4", f"3.14159 x {bore}^2 / 4")
    numbers = f"{num(pipe_flow.mass_flow_kg_s)} / {num(terms.area_m2)}"
    yield Step("mass flux", "G", terms.flux_kg_m2_s, "kg/(m2 s)", "m / A", numbers)
    numbers = f"{flux} x {bore} / {num(vapour.viscosity_pa_s)}"
    yield Step("Reynolds number", "Re", terms.reynolds, "", "G d / mu", numbers)
    if terms.reynolds < friction.LAMINAR_BELOW:
        yield f"Below {friction.LAMINAR_BELOW:g}: laminar. The roughness of the wall does not count."
        numbers, source = f"64 / {num(terms.reynolds)}", FORMULAS["darcy"].source
        yield Step("friction factor", "f", terms.friction_factor, "", "64 / Re", numbers, source)
    else:
        yield from _colebrook(terms, pipe, known)
    yield Step(
        "flow term",
        "E",
        terms.flow_term_pa2,
        "Pa2",
        "G^2 R T / M",
        f"{flux}^2 x {num(R)} x {num(vapour.temperature_k)} / {num(vapour.molar_mass_kg_mol)}",
        ISOTHERMAL,
    )
    numbers = f"{num(terms.flow_term_pa2)} x {num(terms.friction_factor)} x {num(pipe_flow.length_m)} / {bore}"
    yield Step("friction term", "F", terms.friction_term_pa2, "Pa2", "E f Le / d", numbers, ISOTHERMAL)


def _colebrook(terms: darcy.DarcyTerms, pipe: Pipe, known: Catalogue) -> _Items:
    """Yield the friction factor with both sides of the equation that it satisfies."""
    low, high = friction.LAMINAR_BELOW, friction.TURBULENT_ABOVE
    if terms.reynolds <= high:
        yield f"From {low:g} to {high:g}: in transition, counted as turbulent, which gives the larger drop."
    else:
        yield f"Above {high:g}: turbulent."
    factor, relative = num(terms.friction_factor), num(terms.relative_roughness)
    left, right = friction.colebrook_sides(terms.friction_factor, terms.reynolds, terms.relative_roughness)
    numbers = f"{num(pipe.roughness_m)} / {num(pipe.bore_m)}"
    source = FORMULAS["darcy"].source
    yield Step("roughness of the wall", "k", pipe.roughness_m, "m", source=roughness_source(pipe, known))
    yield Step("relative roughness", "e", terms.relative_roughness, "", "k / d", numbers)
    name = "friction factor: the value that makes the next two equal"
    yield Step(name, "f", terms.friction_factor, "", source=source)
    yield Step("left side", "x", left, "", "1 / sqrt(f)", f"1 / sqrt({factor})", source)
    yield Step(
        "right side",
        "x",
        right,
        "",
        "-2 log10(e / 3.7 + 2.51 / (Re sqrt(f)))",
        f"-2 x log10({relative} / 3.7 + 2.51 / ({num(terms.reynolds)} x sqrt({factor})))",
        source,
    )


def _after_pipe(explained: Explained, leg: Leg, loss: flow.Loss, after_pa: float) -> _Items:
    """Yield the pressure after the pipe and how it follows where squares of pressures are subtracted."""
    inlet_pa = leg.flow.inlet_abs_pa
    first, second = num(inlet_pa), num(after_pa)
    terms = flow.squares_terms(inlet_pa, after_pa, loss)
    if loss.flux_pa2 > 0.0:
        yield (
            "The pressure after the pipe, p2, stands on both sides of what follows. Start with p2 = p1 and go round "
            "until it stays: two or three rounds do. It comes to:"
        )
        yield Step("pressure after the pipe, absolute", "p2", after_pa, "Pa")
        numbers = f"({first} + {second}) / 2"
        yield Step("mean pressure", "pm", terms.mean_abs_pa, "Pa", "(p1 + p2) / 2", numbers)
        name, z = "compression factor at the mean pressure", terms.compressibility
        yield compressibility_step(explained.job, terms.mean_abs_pa, z, name, ("Z", "pm"))
        yield Step(
            "difference of the squares, p1^2 - p2^2",
            "D2",
            terms.squares_pa2,
            "Pa2",
            "Z (F + 2 E ln(p1 / p2))",
            f"{num(z)} x ({num(loss.square_pa2)} + 2 x {num(loss.flux_pa2)} x ln({first} / {second}))",
            ISOTHERMAL,
        )
    else:
        numbers = f"sqrt({first}^2 - {num(loss.square_pa2)})"
        yield Step("pressure after the pipe, absolute", "p2", after_pa, "Pa", "sqrt(p1^2 - D2)", numbers)
    numbers = f"{num(terms.squares_pa2)} / ({first} + {second})"
    yield Step("drop in the pipe", "dp", leg.flow.friction_pa, "Pa", "D2 / (p1 + p2)", numbers)


def _device_drops(leg: Leg) -> list[float]:
    """Return what each device takes [Pa]."""
    section, flow_kg_s = leg.flow.section, leg.flow.flow_kg_s
    return [flow.device_drop_pa(flow_kg_s, section.device_pa_per_flow2(device)) for device in leg.devices]


def _thin_gas(leg: Leg, device: Device, number: int, thin: float) -> Step:
    """Return the step to how much thinner the gas is than where a device's figure is for."""
    section = leg.flow.section
    vapour, air_pa, stage_pa = section.conditions.vapour, section.conditions.atmospheric_pa, section.stage_gauge_pa
    figure_pa = stage_pa if device.at_gauge_pa is None else device.at_gauge_pa
    there, here = vapour.sea_density_kg_m3(figure_pa), vapour.density_kg_m3(air_pa + stage_pa)
    name = f"density of the gas where the figure of {device.name} is for, over that here"
    return Step(name, f"kv{number}", thin, "", "rho15 / rho", f"{num(there)} / {num(here)}", MAKER)


def _devices(leg: Leg) -> _Items:
    """Yield what each device takes."""
    for number, (device, drop_pa) in enumerate(zip(leg.devices, _device_drops(leg), strict=True), 1):
        thin = leg.flow.section.thin_gas_factor(device)
        words, numbers = "drop (m / flow)^2", ""
        if abs(thin - 1.0) > _SAME:
            yield _thin_gas(leg, device, number, thin)
            words, numbers = f"kv{number} {words}", f"{num(thin)} x "
        yield Step(
            f"{device.name}: {num(device.drop_pa)} Pa at {num(device.flow_kg_s)} kg/s",
            f"dv{number}",
            drop_pa,
            "Pa",
            words,
            f"{numbers}{num(device.drop_pa)} x ({num(leg.flow.flow_kg_s)} / {num(device.flow_kg_s)})^2",
            MAKER,
        )


def _height(explained: Explained, leg: Leg) -> _Items:
    """Yield what the height takes, with the density of the gas before it."""
    section_flow, job = leg.flow, explained.job
    rise_m = section_flow.section.rise_m
    if not rise_m:
        return
    abs_pa = section_flow.outlet_abs_pa + section_flow.height_pa
    yield Step("height gained from start to end", "h", rise_m, "m", source=IN_JOB_FILE)
    before = [section_flow.inlet_abs_pa, -section_flow.friction_pa, -section_flow.devices_pa]
    numbers = total([pressure_pa for pressure_pa in before if pressure_pa])
    words = "p1" + (" - dp" if section_flow.friction_pa else "") + (" - devices" if section_flow.devices_pa else "")
    yield Step("pressure before the height, absolute", "p3", abs_pa, "Pa", words, numbers)
    z = job.vapour.compressibility(abs_pa)
    yield compressibility_step(job, abs_pa, z, "compression factor there", ("Z3", "p3"))
    yield density_step(job, abs_pa, "density of the gas there", ("rho", "p3", "Z3"))
    density, air = num(job.vapour.density_kg_m3(abs_pa)), num(job.air_density_kg_m3)
    yield Step(
        "drop by height; below 0 is a gain",
        "dh",
        section_flow.height_pa,
        "Pa",
        "(rho - rho_a) g h",
        f"({density} - {air}) x {num(GRAVITY)} x ({num(rise_m)})",
        "hydrostatics; g as ISO 2533:1975",
    )


def _end(explained: Explained, leg: Leg) -> _Items:
    """Yield the drop of the part and the pressure at its end."""
    section_flow, job = leg.flow, explained.job
    if section_flow.regime == "choked":
        yield Step("drop in this part", "dP", section_flow.drop_pa, "Pa", "p1", num(section_flow.inlet_abs_pa))
        return
    losses = [("dp", section_flow.friction_pa)]
    losses += [(f"dv{number}", drop_pa) for number, drop_pa in enumerate(_device_drops(leg), 1)]
    losses.append(("dh", section_flow.height_pa))
    named = [(symbol, drop_pa) for symbol, drop_pa in losses if drop_pa] or [("nothing", 0.0)]
    words, numbers = " + ".join(symbol for symbol, _ in named), total([drop_pa for _, drop_pa in named])
    yield Step("drop in this part", "dP", section_flow.drop_pa, "Pa", words, numbers)
    numbers = total([section_flow.inlet_abs_pa, -section_flow.drop_pa])
    yield Step("pressure at the end, absolute", "pe", section_flow.outlet_abs_pa, "Pa", "p1 - dP", numbers)
    gauge_pa = section_flow.outlet_abs_pa - job.atmospheric_pa
    numbers = f"{num(section_flow.outlet_abs_pa)} - {num(job.atmospheric_pa)}"
    shown = Shown(job.display).pressure_unit(gauge_pa)
    yield Step(f"pressure at the end, gauge: {shown}", "pg", gauge_pa, "Pa", "pe - pa", numbers)
