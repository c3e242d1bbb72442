"""The working of a way through a line as a page and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.cautions import IN_SHORT
from drawbar.checking.explain import ApplianceDraw, Explained, last_stage
from drawbar.physics.formulas import FORMULAS
from drawbar.report.display import Shown
from drawbar.report.explain_gas import gas, site
from drawbar.report.explain_pipe import leg_working
from drawbar.report.explain_short import short_working
from drawbar.report.explain_sources import IN_JOB_FILE
from drawbar.report.layout import Block, Heading, Page, Points
from drawbar.report.report import Report
from drawbar.report.steps import Step, Working, WorkingPart, num, steps_data, total
from drawbar.report.words import cautions, job_name


class ExplainReport(Report[Explained]):
    """How the working of a way through a line is shown.

    Attributes
    ----------
    known : Catalogue
        Where the sources of the pipes' figures stand.
    is_short : bool
        Whether the page is the short one, for a pocket calculator.
    """

    kind = "explain"

    def __init__(self, known: Catalogue, *, is_short: bool = False) -> None:
        self.known = known
        self.is_short = is_short

    def working(self, result: Explained) -> list[WorkingPart]:
        """Return the whole working: the site, the gas, what is on, each part of the way, the sum."""
        parts = [site(result.job), gas(result.job, at_reference=result.formula != "darcy"), _loads(result)]
        parts.extend(leg_working(result, leg, self.known) for leg in result.legs)
        parts.append(_sum(result))
        return parts

    def page(self, result: Explained) -> Page:
        """Return the working as a page, for a terminal or as Markdown."""
        if self.is_short:
            return self._short_page(result)
        job, working = result.job, self.working(result)
        name = job_name(job)
        blocks: list[Block] = [Heading(f"{name}: {_head(result)}"), _about(result, Shown(job.display))]
        blocks.append(Working(working))
        blocks.append(Points("Cautions:", list(cautions(job))))
        return blocks

    def _short_page(self, result: Explained) -> Page:
        job = result.job
        name = job_name(job)
        how = "; 1/sqrt(f) by Swamee and Jain 1976, then Colebrook" if result.formula == "darcy" else ""
        about = f"State {result.state.name}, {result.formula}{how}."
        first, *rest = short_working(result)
        *parts, last = [f"{about}\n{first}", *rest]
        return [Heading(f"{name}: {_head(result)}"), *parts, f"{last}\n{IN_SHORT}"]

    def data(self, result: Explained) -> dict[str, Any]:
        """Return the working as it stands in the JSON document."""
        job = result.job
        is_run = result.load_w is None
        return {
            "file": job.file,
            "job": job.title,
            "ref": job.ref,
            "formula": result.formula,
            "state": result.state.name,
            "bound": result.ways is None,
            "run": result.name if is_run else None,
            "appliance": None if is_run else result.name,
            "pressure_kPa": result.gauge_pa / 1000.0,
            "drop_Pa": result.drop_pa,
            "allowed_drop_Pa": job.allowed_drop_pa,
            "margin_Pa": result.margin_pa,
            "verdict": None if is_run else result.verdict.value,
            **steps_data(self.working(result)),
            "cautions": list(cautions(job)),
        }


def _head(explained: Explained) -> str:
    if explained.load_w is None:
        return f"run {explained.name} explained"
    return f"{explained.name} explained: {explained.verdict.word}"


def _about(explained: Explained, shown: Shown) -> str:
    kind = "Run" if explained.load_w is None else "Appliance"
    lines = [
        f"File {explained.job.file}. {kind} {explained.name} in state {explained.state.name}.",
        f"Formula {explained.formula}: {FORMULAS[explained.formula].title}.",
        "Figures are in SI units, worked out in full and printed to six digits. The number in brackets after a line "
        "is that of its source, at the end.",
    ]
    if explained.load_w is None:
        start = explained.legs[0].flow.start
        where = "" if start == "regulator" else f" The pressure that it starts from is the end of run {start}."
        lines.append(f"Pressure at its end {shown.pressure_unit(explained.gauge_pa)}.{where}")
    else:
        working, less = shown.pressure_unit(explained.gauge_pa), shown.pressure_unit(explained.drop_pa)
        lines.append(f"Working pressure {working}, {less} below the set pressure.")
    return "\n".join(lines)


def _loads(explained: Explained) -> WorkingPart:
    """Return what is on and where, and the flow in each run of the way."""
    working = WorkingPart(f"What is on: state {explained.state.name}")
    items = working.items
    if explained.ways is None:
        items.append(
            "There are too many combinations of plugging in to try each. Each run is taken with the most that can flow "
            "in it, so that the drops are an upper bound."
        )
    elif explained.ways > 1:
        which = "the worst for this appliance" if explained.load_w is not None else "the worst of all"
        items.append(f"Of {explained.ways} combinations of plugging in, this is {which}.")
    symbols: dict[str, str] = {}
    for number, draw in enumerate(explained.draws, 1):
        if draw.at is None and explained.ways is not None:
            items.append(f"{draw.appliance.name} has no free outlet or hose in this combination, and is off.")
            continue
        symbols[draw.appliance.name] = f"m{number}"
        items.extend(_draw(explained, number, draw))
    items.extend(_run_flows(explained, symbols))
    return working


def _most_kg_s(draw: ApplianceDraw) -> float:
    """Return what an appliance burns where it finds a place [kg/s], as a line is worked out with it."""
    return draw.share * draw.appliance.flow_kg_s


def _draw(explained: Explained, number: int, draw: ApplianceDraw) -> Iterator[Step]:
    """Yield the load and the mass flow of an appliance that is on."""
    job, appliance = explained.job, draw.appliance
    unit = job.display.heat
    unit_w = units.to_si(1.0, unit, units.HEAT_RATE)
    load_w = appliance.input_w * draw.share
    name = f"{appliance.name}, {Shown(job.display).heat_unit(appliance.input_w)}, {_place(draw)}"
    words, numbers = f"{unit} x {num(unit_w)} W", f"{num(appliance.input_w / unit_w)} x {num(unit_w)}"
    if draw.share != 1.0:
        words, numbers = f"{words} x share", f"{numbers} x {num(draw.share)}"
    yield Step(name, f"Q{number}", load_w, "W", words, numbers, "the input is given in the job file")
    name, numbers = f"mass flow of {appliance.name}", f"{num(load_w)} / {num(job.gas.gross_j_kg)}"
    yield Step(name, f"m{number}", _most_kg_s(draw), "kg/s", f"Q{number} / Hs", numbers)


def _run_flows(explained: Explained, symbols: dict[str, str]) -> Iterator[Step | str]:
    """Yield the mass flow in each run of the way, from those of the appliances by their symbols."""
    flows_kg_s = {draw.appliance.name: _most_kg_s(draw) for draw in explained.draws}
    for leg in explained.legs:
        if leg.kind != "Run":
            continue
        name, flow_kg_s = leg.flow.section.name, leg.flow.flow_kg_s
        if leg.fed is None:
            yield Step(f"mass flow in {name}, the most that finds a place after it", "m", flow_kg_s, "kg/s")
        elif leg.fed:
            words = " + ".join(symbols[appliance] for appliance in leg.fed)
            numbers = total([flows_kg_s[appliance] for appliance in leg.fed])
            yield Step(f"mass flow in run {name}: {', '.join(leg.fed)}", "m", flow_kg_s, "kg/s", words, numbers)
        else:
            yield f"No gas flows in run {name}."


def _place(draw: ApplianceDraw) -> str:
    if draw.plugged is not None:
        hose = f" by {draw.plugged.hose.name}" if draw.plugged.hose else ""
        return f"plugged into {draw.plugged.outlet.name}{hose}"
    if draw.at is not None:
        return f"fixed at the end of {draw.at}"
    return "plugged in where it fits"


def _sum(explained: Explained) -> WorkingPart:
    """Return the drop over the whole way against what is allowed."""
    shown = Shown(explained.job.display)
    if explained.load_w is None:
        return WorkingPart("The run", list(_run_sum(explained, shown)))
    return WorkingPart("The sum", list(_appliance_sum(explained, shown)))


def _run_sum(explained: Explained, shown: Shown) -> Iterator[Step | str]:
    numbers = f"{num(explained.stage_gauge_pa)} - {num(explained.gauge_pa)}"
    name = f"drop from the last regulator to the end of {explained.name}"
    yield Step(name, "dT", explained.drop_pa, "Pa", "set pressure - pressure at the end", numbers)
    used, allowed = shown.pressure_unit(explained.drop_pa), shown.pressure_unit(explained.job.allowed_drop_pa)
    yield f"Up to here {used} of the {allowed} that are allowed is used."


def _appliance_sum(explained: Explained, shown: Shown) -> Iterator[Step | str]:
    job = explained.job
    drops_pa = [leg.flow.drop_pa for leg in last_stage(explained.legs)]
    names = " + ".join(leg.flow.section.name for leg in last_stage(explained.legs))
    name = "drop from the last regulator to the appliance"
    yield Step(name, "dT", explained.drop_pa, "Pa", names, total(drops_pa))
    rule = job.rule
    source = rule.source if rule is not None and rule.drop_pa == job.allowed_drop_pa else "the job's own limit"
    yield Step("allowed drop", "da", job.allowed_drop_pa, "Pa", source=source)
    numbers = f"{num(job.allowed_drop_pa)} - {num(explained.drop_pa)}"
    yield Step("spare", "spare", job.allowed_drop_pa - explained.drop_pa, "Pa", "da - dT", numbers)
    appliance = next(draw.appliance for draw in explained.draws if draw.appliance.name == explained.name)
    if appliance.min_gauge_pa:
        least_pa = appliance.min_gauge_pa
        yield Step("its least pressure, gauge", "pmin", least_pa, "Pa", source=IN_JOB_FILE)
        numbers = f"{num(explained.gauge_pa)} - {num(least_pa)}"
        yield Step(
            "above its least pressure",
            "over",
            explained.gauge_pa - least_pa,
            "Pa",
            "pressure at the end - pmin",
            numbers,
        )
    yield _verdict(explained, shown)


def _verdict(explained: Explained, shown: Shown) -> str:
    assert explained.margin_pa is not None  # an appliance has one
    margin = shown.pressure_unit(abs(explained.margin_pa))
    verdict = f"{explained.verdict.word}: {margin} {'to spare' if explained.margin_pa >= 0.0 else 'short'} as drawn"
    if explained.job.tolerances is not None and explained.worst_margin_pa is not None:
        worst = shown.pressure_unit(abs(explained.worst_margin_pa))
        verdict += f", {worst} {'to spare' if explained.worst_margin_pa >= 0.0 else 'short'} at the worst tolerances"
    verdict += "."
    for leg in explained.legs:
        if explained.inlet_margin_pa(leg) < 0.0:
            short = shown.pressure_unit(-explained.inlet_margin_pa(leg))
            verdict += f" The regulator of run {leg.flow.section.name} has {short} too little at its inlet."
    return verdict
