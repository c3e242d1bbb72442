"""The whole page of a checked job: every state, the worst first, the line as a tree, and what each part has left."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.answers import WholeCheck
from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.checking.spare import Headroom
from drawbar.job import ROOT, Job
from drawbar.line.section import SectionFlow
from drawbar.physics.formulas import FORMULAS
from drawbar.report.break_even_table import break_even_table
from drawbar.report.check_screen import job_heading, remedy_points, tolerance_words
from drawbar.report.check_view import ALL, CheckView
from drawbar.report.display import Shown, gas_words
from drawbar.report.layout import Block, Column, Points, Table
from drawbar.report.line_tree import tree
from drawbar.report.reasons import reason_words
from drawbar.report.vent_words import space_words
from drawbar.report.verdict_words import job_parts, parts_words, reason_points, reason_sentence
from drawbar.report.words import cautions, sentence


def whole_page(whole: WholeCheck, shown: Shown, view: CheckView = ALL) -> Iterator[Block]:
    """Yield the whole page of a checked job: the verdict and why, every state from the worst on, what it rests on.

    Parameters
    ----------
    whole : WholeCheck
        The checked job.
    shown : Shown
        The units of the job.
    view : CheckView
        What of it is shown.

    Yields
    ------
    Block
        Each thing once.
    """
    result = whole.result
    yield job_heading(whole)
    yield "\n".join([parts_words(job_parts(whole)), *filter(None, [view.words(result)])])
    yield from reason_points(result.because, shown, in_full=True, with_remedy=whole.remedies is not None)
    remedies = remedy_points(whole, shown, None, with_trial=True)
    if remedies is not None:
        yield remedies
    for number, state in enumerate(view.states_of(result)):
        yield from _state(result, state, shown, view, in_full=number == 0)
    yield from _break_evens(whole, shown)
    if result.spaces:
        yield space_words(result, shown)
    if whole.bottles is not None and whole.bottles[1]:
        yield Points("Bottles:", [reason_sentence(reason, shown) for reason in whole.bottles[1]])
    if result.warnings:
        warnings = [sentence(reason_words(warning, shown)[0]) for warning in result.warnings]
        yield Points("Check on site:", warnings)
    yield f"{_head(result, shown)}\n{tolerance_words(result.job)}"
    yield Points("Cautions:", list(cautions(result.job)))


def _break_evens(whole: WholeCheck, shown: Shown) -> Iterator[Block]:
    values = whole.break_evens
    if values is None:
        yield "Where each figure would fail is not worked out: there are too many combinations."
    elif values:
        yield "Where each figure would make the job fail, the rest as drawn:"
        yield break_even_table(sorted(values, key=lambda value: value.share), whole.result.job, shown)


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


def _state(result: CheckResult, state: StateResult, shown: Shown, view: CheckView, *, in_full: bool) -> Iterator[Block]:
    yield state_words(state, shown)
    table = appliances_table(state, shown, view)
    if table.rows:
        yield table
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
    return f"Spare capacity of the outlets, the rest on:{least} {outlets} {shown.display.heat}."


def _drawing_words(state: StateResult) -> str:
    if state.is_bound:
        return "The line, with its upper bounds. Plug-in appliances are drawn only in the worst combination of all:"
    return "The line, in the worst combination:" if state.plugged else "The line:"


def margin_words(state: StateResult, shown: Shown) -> str:
    """Return what a state has to spare, or what it is short of."""
    spare = shown.pressure_unit(abs(state.margin_pa))
    return f"{spare} to spare" if state.margin_pa >= 0.0 else f"{spare} short"


def state_words(state: StateResult, shown: Shown) -> str:
    """Return a state's verdict, and the combinations that it is the verdict of."""
    lines = [
        f"State {state.name}: {state.verdict.word}, {margin_words(state, shown)}. "
        f"Maximum load {shown.heat_unit(state.total_w)}."
    ]
    if state.is_bound:
        lines.append("Too many combinations to try each: the drops are an upper bound, never too low.")
    elif state.plugged:
        count = "1 combination" if state.ways == 1 else f"{state.ways} combinations"
        places = ", ".join(
            f"{plugged.appliance.name} in {plugged.outlet.name}" + (f" by {plugged.hose.name}" if plugged.hose else "")
            for plugged in state.plugged
        )
        lines.append(f"{count} of plugging in; each appliance in its worst. The worst of all: {places}.")
    return "\n".join(lines)


def appliances_table(state: StateResult, shown: Shown, view: CheckView = ALL) -> Table:
    """Return the appliances of a state with what each gets, the worst first."""
    units = shown.display
    columns = [
        Column("appliance", words=True),
        Column("at", words=True),
        Column(f"load\n{units.heat}"),
        Column(f"pressure\n{units.pressure}"),
        Column(f"drop\n{units.pressure}"),
        Column(f"spare\n{units.pressure}"),
        Column(f"at worst\n{units.pressure}"),
    ]
    if state.headroom is not None:
        columns.append(Column(f"spare capacity\n{units.heat}"))
    columns.append(Column("verdict", words=True))
    rows = []
    for appliance in view.appliances_of(state):
        pressures_pa = (appliance.gauge_pa, appliance.drop_pa, appliance.margin_pa, appliance.worst_margin_pa)
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
        Column("verdict", words=True),
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
        return f"No drop to {worst.name}."
    return f"Most of the drop of {shown.pressure_unit(total_pa)} to {worst.name}: {', '.join(largest)}."


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
        columns.insert(4, Column(f"spare length\n{units.length}"))
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
