"""A checked job as a page and as rows; its JSON stands in a file of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from drawbar.cautions import IN_SHORT
from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.checking.spare import Headroom
from drawbar.checking.vents import SpaceResult
from drawbar.job import ROOT, Job
from drawbar.line.section import SectionFlow
from drawbar.physics.formulas import FORMULAS
from drawbar.report.check_data import MJ_H, check_data, vent_formula
from drawbar.report.display import Shown, gas_words
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.line_tree import tree
from drawbar.report.reasons import reason_words
from drawbar.report.report import Report
from drawbar.report.verdict_words import part_verdicts, parts_words, reason_points
from drawbar.report.words import cautions, sentence, word
from drawbar.verdict import Verdict


class CheckReport(Report[CheckResult]):
    """A checked job: every state, the worst first and in full."""

    kind = "check"
    columns = (
        *("file", "job", "ref", "formula", "state", "appliance", "outlet", "hose", "load_MJ_h", "pressure_kPa"),
        *("drop_Pa", "allowed_drop_Pa", "margin_Pa", "headroom_MJ_h", "worst_margin_Pa", "verdict"),
        *("job_verdict", "because"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: CheckResult) -> list[Block]:
        """Return the page of a checked job: one screen, or the whole of it."""
        job, shown = result.job, Shown(result.job.display)
        name = f"{job.title} ({job.ref})" if job.ref else job.title
        blocks: list[Block] = [Heading(f"{name}: {result.verdict.word}"), parts_words(_parts(result))]
        blocks.extend(reason_points(result.because, shown, in_full=self.in_full))
        if self.in_full:
            blocks.extend(_whole(result, shown))
        else:
            blocks.extend([worst_table(result, shown), tolerance_words(job), IN_SHORT])
        return blocks

    def data(self, result: CheckResult) -> dict[str, Any]:
        """Return the result as the JSON contract has it."""
        return check_data(result)

    def rows(self, result: CheckResult) -> Iterator[list[Any]]:
        """Yield a row an appliance and state."""
        job, shown = result.job, Shown(result.job.display)
        for state in result.states:
            spare_w = state.headroom.appliances if state.headroom else None
            for appliance in state.appliances:
                yield [
                    *(job.file, job.title, job.ref, result.formula, state.name),
                    *(appliance.name, appliance.outlet, appliance.hose),
                    appliance.load_w * MJ_H,
                    appliance.gauge_pa / 1000.0,
                    appliance.drop_pa,
                    job.allowed_drop_pa,
                    appliance.margin_pa,
                    spare_w[appliance.name] * MJ_H if spare_w else None,
                    appliance.worst_margin_pa,
                    appliance.verdict.value,
                    result.verdict.value,
                    "; ".join(reason_words(reason, shown)[0] for reason in result.because),
                ]


def _head(result: CheckResult, shown: Shown) -> str:
    job = result.job
    gas = sentence(gas_words(job.gas)).rstrip(".")
    limit = f"Allowed drop {shown.pressure_unit(job.allowed_drop_pa)}"
    if job.rule is not None:
        whose = "" if job.allowed_drop_pa == job.rule.drop_pa else " (the job's own limit)"
        limit += f"{whose}; rule {job.rule.name}: {job.rule.source}"
    regulator = shown.pressure_unit(job.regulator.outlet_gauge_pa)
    return "\n".join(
        [
            f"File {job.file}. {gas} at {shown.temperature_unit(job.temperature_k)}, "
            f"{shown.length_unit(job.altitude_m)} above the sea. Regulator {regulator}.",
            f"{limit.rstrip('.')}. Formula {result.formula}: {FORMULAS[result.formula].title}.",
        ]
    )


def _parts(result: CheckResult) -> dict[str, Verdict]:
    has_vents = result.space is not None and result.space.formula is not None
    return part_verdicts(result.because, has_vents=has_vents)


def _whole(result: CheckResult, shown: Shown) -> Iterator[Block]:
    yield _head(result, shown)
    yield tolerance_words(result.job)
    for number, state in enumerate(result.states):
        yield from _state(result, state, shown, in_full=number == 0)
    if result.space is not None:
        yield space_words(result.space, shown)
    if result.warnings:
        warnings = [sentence(reason_words(warning, shown)[0]) for warning in result.warnings]
        yield Points("Look at these again:", warnings)
    yield Points("Cautions:", list(cautions(result.job)))


def tolerance_words(job: Job) -> str:
    """Return what a PASS takes into account, as stands under the verdict."""
    tolerances = job.tolerances
    if tolerances is None:
        return "As drawn only: the job says `tolerances: none`."
    shares = (
        f"bores by the standard, lengths {tolerances.length * 100:g} %, fittings {tolerances.fittings * 100:g} %, "
        f"inputs {tolerances.input * 100:g} %, devices {tolerances.devices * 100:g} %"
    )
    return f"PASS holds with every tolerance at its worst at once: {shares}."


def worst_table(result: CheckResult, shown: Shown) -> Table:
    """Return a row for each appliance, in the state and the place that leave it least."""
    units = shown.display
    columns = (
        Column("appliance", words=True),
        Column("worst in", words=True),
        Column(f"load\n{units.heat}"),
        Column(f"gets\n{units.pressure}"),
        Column(f"drop\n{units.pressure}"),
        Column(f"spare\n{units.pressure}"),
        Column(f"at worst\n{units.pressure}"),
        Column("result", words=True),
    )
    worst: dict[str, tuple[ApplianceResult, StateResult]] = {}
    for state in result.states:
        for appliance in state.appliances:
            before = worst.get(appliance.name)
            if before is None or appliance.worst_margin_pa < before[0].worst_margin_pa:
                worst[appliance.name] = appliance, state
    rows = []
    for appliance, state in sorted(worst.values(), key=lambda pair: pair[0].worst_margin_pa):
        pressures_pa = (appliance.gauge_pa, appliance.drop_pa, appliance.margin_pa, appliance.worst_margin_pa)
        place = f"{state.name}, {appliance.outlet}" if appliance.outlet else state.name
        figures = [shown.heat(appliance.load_w), *map(shown.pressure, pressures_pa)]
        rows.append([appliance.name, place, *figures, appliance.verdict.word])
    return Table(columns, rows)


def _state(result: CheckResult, state: StateResult, shown: Shown, *, in_full: bool) -> Iterator[Block]:
    yield state_words(state, shown)
    yield appliances_table(state, shown)
    if state.headroom is not None and state.headroom.outlets:
        yield outlets_words(state.headroom, shown)
    stages = stages_table(state, shown)
    if stages.rows:
        yield stages
    if in_full:
        yield most_of_the_drop(result.job, state, shown)
        yield _drawing_words(state)
        yield tree(result, state, shown)
        yield runs_table(result.job, state, shown)


def outlets_words(headroom: Headroom, shown: Shown) -> str:
    """Return what each outlet could take more, the rest on."""
    outlets = ", ".join(f"{name} {shown.heat(spare_w)}" for name, spare_w in headroom.outlets.items())
    least = " at least" if headroom.is_bound else ""
    return f"Each outlet could take{least} so many {shown.display.heat} more, the rest on: {outlets}."


def _drawing_words(state: StateResult) -> str:
    if state.is_bound:
        return "The line, with its upper bounds. What is plugged in is drawn only if it is the worst of all:"
    return "The line, plugged in the worst way:" if state.plugged else "The line:"


def margin_words(state: StateResult, shown: Shown) -> str:
    """Return what a state has to spare, or what it is short of."""
    spare = shown.pressure_unit(abs(state.margin_pa))
    return f"{spare} to spare" if state.margin_pa >= 0.0 else f"{spare} short"


def state_words(state: StateResult, shown: Shown) -> str:
    """Return a state's verdict, and the ways of plugging that it is the verdict of."""
    lines = [
        f"State {state.name}: {state.verdict.word}, {margin_words(state, shown)}. "
        f"{shown.heat_unit(state.total_w)} on at most."
    ]
    if state.is_bound:
        lines.append("Too many ways of plugging to try each: the drops are an upper bound, never too low.")
    elif state.plugged:
        count = "1 way" if state.ways == 1 else f"{state.ways} ways"
        places = ", ".join(
            f"{plugged.appliance.name} in {plugged.outlet.name}" + (f" by {plugged.hose.name}" if plugged.hose else "")
            for plugged in state.plugged
        )
        lines.append(f"{count} of plugging, each appliance in its own worst. The worst of all: {places}.")
    return "\n".join(lines)


def space_words(vents: SpaceResult, shown: Shown) -> str:
    """Return what is to be said of the living space's vents."""
    berths, formula = vents.space.berths, vent_formula(vents)
    there, needed = _mm2(vents.space.vents_m2), _mm2(vents.needed_m2(formula))
    head = "Vents of the living space:"
    burns = (
        f"for {shown.heat_unit(vents.unsealed_w)} of fixed appliances that are not room-sealed and {berths} "
        f"berth{'' if berths == 1 else 's'}."
    )
    if vents.passes is None:
        lines = [
            f"{head} not checked, as no rule of the job has a formula for them. {there} there; "
            f"{formula.source}, would ask for {needed} {burns}"
        ]
    else:
        lines = [f"{head} {word(vents.passes)}, {there} there, {needed} needed ({formula.source}) {burns}"]
    if vents.portable_w > 0.0:
        lines.append(
            f"What is plugged in is taken to be used outdoors. Used inside it would need "
            f"{_mm2(vents.needed_with_portable_m2(formula))}."
        )
    return "\n".join(lines)


def _mm2(m2: float) -> str:
    return f"{m2 * 1e6:,.0f} mm2"


def appliances_table(state: StateResult, shown: Shown) -> Table:
    """Return the appliances of a state with what each gets."""
    units = shown.display
    columns = [
        Column("appliance", words=True),
        Column("at", words=True),
        Column(f"load\n{units.heat}"),
        Column(f"gets\n{units.pressure}"),
        Column(f"drop\n{units.pressure}"),
        Column(f"spare\n{units.pressure}"),
    ]
    if state.headroom is not None:
        columns.append(Column(f"could take\n{units.heat} more"))
    columns.append(Column("result", words=True))
    rows = []
    for appliance in state.appliances:
        pressures_pa = (appliance.gauge_pa, appliance.drop_pa, appliance.margin_pa)
        figures = [shown.heat(appliance.load_w), *map(shown.pressure, pressures_pa)]
        if state.headroom is not None:
            figures.append(shown.heat(state.headroom.appliances[appliance.name]))
        rows.append([appliance.name, _place(appliance), *figures, appliance.verdict.word])
    return Table(tuple(columns), rows)


def _place(appliance: ApplianceResult) -> str:
    if appliance.outlet is None:
        return appliance.at
    return f"{appliance.outlet} by {appliance.hose}" if appliance.hose else appliance.outlet


def stages_table(state: StateResult, shown: Shown) -> Table:
    """Return the second-stage regulators of a state; no rows where the job has none."""
    unit = shown.display.pressure
    columns = (
        Column("second-stage\nregulator of run", words=True),
        Column(f"load\n{shown.display.heat}"),
        Column(f"inlet\n{unit}"),
        Column(f"needs\n{unit}"),
        Column("result", words=True),
    )
    rows = [
        [
            regulator.name,
            shown.heat(regulator.load_w),
            shown.pressure(regulator.inlet_gauge_pa),
            shown.pressure(regulator.regulator.inlet_min_gauge_pa),
            regulator.verdict.word,
        ]
        for regulator in state.regulators
        if regulator.inlet_gauge_pa is not None
    ]
    return Table(columns, rows)


def path_to(job: Job, state: StateResult, appliance: ApplianceResult) -> list[SectionFlow]:
    """Return the sections from the last regulator to an appliance, in the state's own worst way for the runs."""
    by_name = {flow.section.name: flow for flow in state.runs}
    runs = {run.name: run for run in job.runs}
    path: list[SectionFlow] = []
    name = appliance.at
    while name != ROOT:
        path.insert(0, by_name[name])
        if runs[name].regulator is not None:
            break
        name = runs[name].start
    return [*path, *appliance.tail]


def most_of_the_drop(job: Job, state: StateResult, shown: Shown) -> str:
    """Return a sentence on where the pressure is lost on the way to the appliance with the least margin."""
    worst = min(state.appliances, key=lambda appliance: appliance.margin_pa)
    losses = []
    for flow in path_to(job, state, worst):
        for cause, pa in (("pipe", flow.friction_pa), ("devices", flow.devices_pa), ("rise", flow.height_pa)):
            losses.append((pa, f"{cause} of {flow.section.name}"))
    losses.sort(reverse=True)
    total_pa = worst.drop_pa
    largest = [f"{where} {shown.pressure_unit(pa)}" for pa, where in losses[:3] if pa > 0.0]
    if not largest or total_pa <= 0.0:
        return f"Nothing is lost on the way to {worst.name}."
    return f"Most of the {shown.pressure_unit(total_pa)} to {worst.name} is lost here: {', '.join(largest)}."


def runs_table(job: Job, state: StateResult, shown: Shown) -> Table:
    """Return the runs of a state, each branch after what it starts from."""
    units = shown.display
    columns = [
        Column("run", words=True),
        Column("pipe", words=True),
        Column(f"load\n{units.heat}"),
        Column(f"{units.length}, with\nfittings"),
        Column(f"drop\n{units.pressure}"),
        Column(f"at end\n{units.pressure}"),
        Column(shown.speed_unit),
    ]
    if state.headroom is not None:
        columns.insert(4, Column(f"could be\n{units.length} longer"))
    rows = []
    for flow in _down_the_line(state.runs):
        row = [
            flow.section.name,
            flow.section.pipe.label,
            shown.heat(flow.flow_kg_s * job.gas.gross_j_kg),
            shown.length(flow.section.length_m + flow.section.fittings_m),
            shown.pressure(flow.drop_pa),
            shown.pressure(flow.outlet_abs_pa - job.atmospheric_pa),
            shown.speed(flow.velocity_m_s),
        ]
        if state.headroom is not None:
            row.insert(4, shown.length(state.headroom.runs[flow.section.name]))
        rows.append(row)
    return Table(tuple(columns), rows)


def _down_the_line(flows: Sequence[SectionFlow]) -> Iterator[SectionFlow]:
    """Yield the runs from the regulator down, each branch to its end before the next."""
    starting_at: dict[str, list[SectionFlow]] = {}
    for flow in flows:
        starting_at.setdefault(flow.start, []).append(flow)
    # What is yet to come, the next one last: a line may be longer than Python's calls go deep.
    waiting = starting_at.get(ROOT, [])[::-1]
    while waiting:
        flow = waiting.pop()
        yield flow
        waiting.extend(starting_at.get(flow.section.name, [])[::-1])
