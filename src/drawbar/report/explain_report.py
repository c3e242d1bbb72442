"""The working of a way through a line as a page and as JSON."""

from __future__ import annotations

from typing import Any

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.explain import ApplianceDraw, Explained, last_stage
from drawbar.physics.formulas import FORMULAS
from drawbar.report import steps
from drawbar.report.display import Shown
from drawbar.report.explain_gas import gas, site
from drawbar.report.explain_pipe import part
from drawbar.report.layout import Block, Heading, Points
from drawbar.report.steps import Step, WorkingPart, num, total
from drawbar.report.words import cautions, word


def sections(found: Explained, known: Catalogue) -> list[WorkingPart]:
    """Return the whole working: the site, the gas, what is on, each part of the way, the sum."""
    made = [site(found.job), gas(found.job, at_reference=found.formula != "darcy"), _loads(found)]
    made.extend(part(found, leg, known) for leg in found.legs)
    made.append(_sum(found))
    return made


def page(found: Explained, known: Catalogue, form: str) -> list[Block]:
    """Return the page for a form of layout, `table` or `markdown`."""
    job, shown = found.job, Shown(found.job.display)
    name = f"{job.title} ({job.ref})" if job.ref else job.title
    working = sections(found, known)
    blocks: list[Block] = [Heading(f"{name}: {_head(found)}"), _about(found, shown)]
    blocks.extend(steps.markdown_blocks(working) if form == "markdown" else steps.text_blocks(working))
    blocks.append(Points("Cautions:", list(cautions(job))))
    return blocks


def _head(found: Explained) -> str:
    if found.load_w is None:
        return f"run {found.name} explained"
    return f"{found.name} explained: {word(found.passes)}"


def _about(found: Explained, shown: Shown) -> str:
    kind = "Run" if found.load_w is None else "Appliance"
    lines = [
        f"File {found.job.file}. {kind} {found.name} in state {found.state.name}.",
        f"Formula {found.formula}: {FORMULAS[found.formula].title}.",
        "Figures are in SI units, worked out in full and printed to six digits. The number in brackets behind a line "
        "is that of its source, at the end.",
    ]
    if found.load_w is None:
        start = found.legs[0].flow.start
        where = "" if start == "regulator" else f" The pressure that it starts from is the end of run {start}."
        lines.append(f"Pressure at its end {shown.pressure_unit(found.gauge_pa)}.{where}")
    else:
        lines.append(
            f"It gets {shown.pressure_unit(found.gauge_pa)}, {shown.pressure_unit(found.drop_pa)} less than set."
        )
    return "\n".join(lines)


def _loads(found: Explained) -> WorkingPart:
    """Return what is on and where, and the flow in each run of the way."""
    job, shown = found.job, Shown(found.job.display)
    section = WorkingPart(f"What is on: state {found.state.name}")
    items = section.items
    if found.ways is None:
        items.append(
            "There are too many ways of plugging to try each. Each run is taken with the most that can flow in it, so "
            "that the drops are an upper bound."
        )
    elif found.ways > 1:
        own = "the worst for this appliance" if found.load_w is not None else "the worst of all"
        items.append(f"Of {found.ways} ways of plugging, this is {own}.")
    gross = num(job.gas.gross_j_kg)
    unit = job.display.heat
    unit_w = units.to_si(1.0, unit, units.HEAT_RATE)
    symbols: dict[str, str] = {}
    for number, draw in enumerate(found.draws, 1):
        one = draw.appliance
        load_w = one.input_w * draw.share
        if draw.at is None and found.ways is not None:
            items.append(f"{one.name} finds no free outlet or hose in this way, and burns nothing.")
            continue
        symbols[one.name] = f"m{number}"
        name = f"{one.name}, {shown.heat_unit(one.input_w)}, {_place(draw)}"
        words = f"{unit} x {num(unit_w)} W" + (" x share" if draw.share != 1.0 else "")
        numbers = f"{num(one.input_w / unit_w)} x {num(unit_w)}" + (
            f" x {num(draw.share)}" if draw.share != 1.0 else ""
        )
        items.append(Step(name, f"Q{number}", load_w, "W", words, numbers, "the input is given in the job file"))
        flow = load_w / job.gas.gross_j_kg
        items.append(
            Step(f"mass flow of {one.name}", f"m{number}", flow, "kg/s", f"Q{number} / Hs", f"{num(load_w)} / {gross}")
        )
    flows = {draw.appliance.name: draw.appliance.input_w * draw.share / job.gas.gross_j_kg for draw in found.draws}
    for leg in found.legs:
        if leg.kind != "Run":
            continue
        name, flow = leg.flow.section.name, leg.flow.flow_kg_s
        if leg.fed is None:
            items.append(Step(f"mass flow in {name}, the most that finds a place behind it", "m", flow, "kg/s"))
        elif leg.fed:
            words, numbers = " + ".join(symbols[one] for one in leg.fed), total([flows[one] for one in leg.fed])
            items.append(Step(f"mass flow in run {name}: {', '.join(leg.fed)}", "m", flow, "kg/s", words, numbers))
        else:
            items.append(f"No gas flows in run {name}.")
    return section


def _place(draw: ApplianceDraw) -> str:
    if draw.plugged is not None:
        hose = f" by {draw.plugged.hose.name}" if draw.plugged.hose else ""
        return f"plugged into {draw.plugged.outlet.name}{hose}"
    if draw.at is not None:
        return f"fixed at the end of {draw.at}"
    return "plugged in where it fits"


def _sum(found: Explained) -> WorkingPart:
    """Return the drop over the whole way against what is allowed."""
    job, shown = found.job, Shown(found.job.display)
    title = "The run" if found.load_w is None else "The sum"
    section = WorkingPart(title)
    items = section.items
    if found.load_w is None:
        numbers = f"{num(found.stage_gauge_pa)} - {num(found.gauge_pa)}"
        name = f"drop from the last regulator to the end of {found.name}"
        items.append(Step(name, "dT", found.drop_pa, "Pa", "set pressure - pressure at the end", numbers))
        allowed = shown.pressure_unit(job.allowed_drop_pa)
        items.append(f"Up to here {shown.pressure_unit(found.drop_pa)} of the {allowed} that are allowed is used.")
        return section
    drops = [leg.flow.drop_pa for leg in last_stage(found.legs)]
    names = " + ".join(leg.flow.section.name for leg in last_stage(found.legs))
    items.append(Step("drop from the last regulator to the appliance", "dT", found.drop_pa, "Pa", names, total(drops)))
    source = (
        job.rule.source if job.rule is not None and job.rule.drop_pa == job.allowed_drop_pa else "the job's own limit"
    )
    items.append(Step("drop that is allowed", "da", job.allowed_drop_pa, "Pa", source=source))
    assert found.margin_pa is not None  # an appliance has one
    numbers = f"{num(job.allowed_drop_pa)} - {num(found.drop_pa)}"
    to_spare = job.allowed_drop_pa - found.drop_pa
    items.append(Step("to spare", "left", to_spare, "Pa", "da - dT", numbers))
    appliance = next(draw.appliance for draw in found.draws if draw.appliance.name == found.name)
    if appliance.min_gauge_pa:
        least = appliance.min_gauge_pa
        items.append(
            Step("least pressure that it works at, gauge", "pmin", least, "Pa", source="given in the job file")
        )
        numbers = f"{num(found.gauge_pa)} - {num(least)}"
        items.append(Step("over that", "over", found.gauge_pa - least, "Pa", "pressure at the end - pmin", numbers))
    items.append(_verdict(found, shown))
    return section


def _verdict(found: Explained, shown: Shown) -> str:
    assert found.margin_pa is not None  # an appliance has one
    spare = shown.pressure_unit(abs(found.margin_pa))
    tells = f"{spare} to spare" if found.margin_pa >= 0.0 else f"{spare} short"
    said = f"{word(found.passes)}: {tells}."
    for leg in found.legs:
        if found.inlet_margin_pa(leg) < 0.0:
            short = shown.pressure_unit(-found.inlet_margin_pa(leg))
            said += f" The regulator of run {leg.flow.section.name} has {short} too little at its inlet."
    return said


def data(found: Explained, known: Catalogue) -> dict[str, Any]:
    """Return the working for JSON."""
    job = found.job
    is_run = found.load_w is None
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "formula": found.formula,
        "state": found.state.name,
        "bound": found.ways is None,
        "run": found.name if is_run else None,
        "appliance": None if is_run else found.name,
        "pressure_kPa": found.gauge_pa / 1000.0,
        "drop_Pa": found.drop_pa,
        "allowed_drop_Pa": job.allowed_drop_pa,
        "margin_Pa": found.margin_pa,
        "verdict": None if is_run else word(found.passes).lower(),
        **steps.data(sections(found, known)),
        "cautions": list(cautions(job)),
    }
