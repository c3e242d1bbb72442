"""A checked job as a page, as rows, as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.cautions import CHECK_CAUTIONS
from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.checking.spare import Headroom
from drawbar.checking.vents import SOURCE as SPACE_SOURCE
from drawbar.checking.vents import SpaceResult
from drawbar.job import ROOT, Job
from drawbar.line.section import SectionFlow
from drawbar.physics.formulas import FORMULAS
from drawbar.report.display import Shown, gas_words
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.line_tree import tree

CSV_COLUMNS = (
    *("file", "job", "ref", "formula", "state", "appliance", "outlet", "hose", "load_MJ_h", "pressure_kPa"),
    *("drop_Pa", "allowed_drop_Pa", "margin_Pa", "headroom_MJ_h", "verdict"),
)


def word(passes: bool) -> str:  # noqa: FBT001 - the one thing it tells
    """Return the verdict in words."""
    return "PASS" if passes else "FAIL"


def page(result: CheckResult) -> list[Block]:
    """Return the whole page of a checked job, the worst state first and in full."""
    job, shown = result.job, Shown(result.job.display)
    name = f"{job.title} ({job.ref})" if job.ref else job.title
    blocks: list[Block] = [Heading(f"{name}: {word(result.passes)}"), _head(result, shown)]
    for number, state in enumerate(result.states):
        blocks.extend(_state(result, state, shown, in_full=number == 0))
    if result.space is not None:
        blocks.append(space_words(result.space, shown))
    if result.warnings:
        blocks.append(Points("Look at these again:", [sentence(one) for one in result.warnings]))
    blocks.append(Points("Cautions:", list(cautions(job))))
    return blocks


def cautions(job: Job) -> Iterator[str]:
    """Yield the cautions that go with every result."""
    yield from CHECK_CAUTIONS
    if job.rule is not None:
        yield job.rule.caution


def _head(result: CheckResult, shown: Shown) -> str:
    job = result.job
    gas = sentence(gas_words(job.gas)).rstrip(".")
    limit = f"Allowed drop {shown.pressure_unit(job.allowed_drop_pa)}"
    if job.rule is not None:
        own = "" if job.allowed_drop_pa == job.rule.drop_pa else " (the job's own limit)"
        limit += f"{own}; rule {job.rule.name}: {job.rule.source}"
    regulator = shown.pressure_unit(job.regulator.outlet_gauge_pa)
    return "\n".join(
        [
            f"File {job.file}. {gas} at {shown.temperature_unit(job.temperature_k)}, "
            f"{shown.length_unit(job.altitude_m)} above the sea. Regulator {regulator}.",
            f"{limit.rstrip('.')}. Formula {result.formula}: {FORMULAS[result.formula].title}.",
        ]
    )


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


def outlets_words(left: Headroom, shown: Shown) -> str:
    """Return what each outlet could take more, the rest on."""
    told = ", ".join(f"{name} {shown.heat(w)}" for name, w in left.outlets.items())
    least = " at least" if left.is_bound else ""
    return f"Each outlet could take{least} so many {shown.display.heat} more, the rest on: {told}."


def _drawing_words(state: StateResult) -> str:
    if state.is_bound:
        return "The line, with its upper bounds. What is plugged in is drawn only if it is the worst of all:"
    return "The line, plugged in the worst way:" if state.plugged else "The line:"


def margin_words(state: StateResult, shown: Shown) -> str:
    """Return what a state has to spare, or what it is short of."""
    spare = shown.pressure_unit(abs(state.margin_pa))
    return f"{spare} to spare" if state.passes else f"{spare} short"


def state_words(state: StateResult, shown: Shown) -> str:
    """Return a state's verdict, and the ways of plugging that it is the verdict of."""
    lines = [
        f"State {state.name}: {word(state.passes)}, {margin_words(state, shown)}. "
        f"{shown.heat_unit(state.total_w)} on at most."
    ]
    if state.is_bound:
        lines.append("Too many ways of plugging to try each: the drops are an upper bound, never too low.")
    elif state.plugged:
        count = "1 way" if state.ways == 1 else f"{state.ways} ways"
        places = ", ".join(
            f"{one.appliance.name} in {one.outlet.name}" + (f" by {one.hose.name}" if one.hose else "")
            for one in state.plugged
        )
        lines.append(f"{count} of plugging, each appliance in its own worst. The worst of all: {places}.")
    return "\n".join(lines)


def space_words(found: SpaceResult, shown: Shown) -> str:
    """Return what is to be said of the living space's vents."""
    lines = [
        f"Vents of the living space: {word(found.passes)}, {_mm2(found.space.vents_m2)} there, "
        f"{_mm2(found.needed_m2)} needed ({SPACE_SOURCE}) for {shown.heat_unit(found.unsealed_w)} of fixed appliances "
        f"that are not room-sealed and {found.space.berths} berth{'' if found.space.berths == 1 else 's'}."
    ]
    if found.portable_w > 0.0:
        lines.append(
            f"What is plugged in is taken to be used outdoors. Used inside it would need "
            f"{_mm2(found.needed_with_portable_m2)}."
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
    for one in state.appliances:
        figures = [shown.heat(one.load_w), *map(shown.pressure, (one.gauge_pa, one.drop_pa, one.margin_pa))]
        if state.headroom is not None:
            figures.append(shown.heat(state.headroom.appliances[one.name]))
        rows.append([one.name, _place(one), *figures, word(one.passes)])
    return Table(tuple(columns), rows)


def _place(one: ApplianceResult) -> str:
    if one.outlet is None:
        return one.at
    return f"{one.outlet} by {one.hose}" if one.hose else one.outlet


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
            one.name,
            shown.heat(one.load_w),
            shown.pressure(one.inlet_gauge_pa),
            shown.pressure(one.regulator.inlet_min_gauge_pa),
            word(one.passes),
        ]
        for one in state.regulators
        if one.inlet_gauge_pa is not None
    ]
    return Table(columns, rows)


def path_to(job: Job, state: StateResult, one: ApplianceResult) -> list[SectionFlow]:
    """Return the parts from the last regulator to an appliance, in the state's own worst way for the runs."""
    by_name = {flow.section.name: flow for flow in state.runs}
    runs = {run.name: run for run in job.runs}
    path: list[SectionFlow] = []
    name = one.at
    while name != ROOT:
        path.insert(0, by_name[name])
        if runs[name].regulator is not None:
            break
        name = runs[name].start
    return [*path, *one.tail]


def most_of_the_drop(job: Job, state: StateResult, shown: Shown) -> str:
    """Return a sentence on where the pressure is lost on the way to the appliance with the least margin."""
    worst = min(state.appliances, key=lambda one: one.margin_pa)
    losses = []
    for flow in path_to(job, state, worst):
        for what, pa in (("pipe", flow.friction_pa), ("devices", flow.devices_pa), ("rise", flow.height_pa)):
            losses.append((pa, f"{what} of {flow.section.name}"))
    losses.sort(reverse=True)
    total_pa = worst.drop_pa
    told = [f"{what} {shown.pressure_unit(pa)}" for pa, what in losses[:3] if pa > 0.0]
    if not told or total_pa <= 0.0:
        return f"Nothing is lost on the way to {worst.name}."
    return f"Most of the {shown.pressure_unit(total_pa)} to {worst.name} is lost here: {', '.join(told)}."


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
    order: dict[str, list[SectionFlow]] = {}
    for flow in state.runs:
        order.setdefault(flow.start, []).append(flow)

    def walk(name: str) -> Iterator[SectionFlow]:
        for flow in order.get(name, ()):
            yield flow
            yield from walk(flow.section.name)

    rows = []
    for flow in walk(ROOT):
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


def sentence(text: str) -> str:
    """Return a text with a capital and a full stop."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?")) else ".")


def rows(result: CheckResult) -> Iterator[list[Any]]:
    """Yield the rows of CSV_COLUMNS, one an appliance and state."""
    job = result.job
    for state in result.states:
        for one in state.appliances:
            left = state.headroom.appliances[one.name] * 0.0036 if state.headroom else None
            yield [
                job.file,
                job.title,
                job.ref,
                result.formula,
                state.name,
                one.name,
                one.outlet,
                one.hose,
                one.load_w * 0.0036,
                one.gauge_pa / 1000.0,
                one.drop_pa,
                job.allowed_drop_pa,
                one.margin_pa,
                left,
                word(one.passes).lower(),
            ]


def data(result: CheckResult) -> dict[str, Any]:
    """Return the result as the JSON contract has it."""
    job = result.job
    vapour, outlet_abs_pa = job.vapour, job.regulator.outlet_gauge_pa + job.atmospheric_pa
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "verdict": word(result.passes).lower(),
        "formula": result.formula,
        "rule": job.rule.name if job.rule else None,
        "allowed_drop_Pa": job.allowed_drop_pa,
        "gas": {
            "molar_mass_kg_per_mol": vapour.molar_mass_kg_mol,
            "density_kg_m3": vapour.density_kg_m3(outlet_abs_pa),
            "viscosity_Pa_s": vapour.viscosity_pa_s,
            "gross_MJ_kg": job.gas.gross_j_kg / 1e6,
            "gross_MJ_m3": job.gas.gross_j_m3 / 1e6,
            "relative_density": job.gas.relative_density,
        },
        "states": [_state_data(job, state) for state in result.states],
        "space": _space_data(result.space) if result.space else None,
        "warnings": [sentence(one) for one in result.warnings],
        "cautions": list(cautions(job)),
    }


def _space_data(found: SpaceResult) -> dict[str, Any]:
    return {
        "vents_mm2": found.space.vents_m2 * 1e6,
        "needed_mm2": found.needed_m2 * 1e6,
        "unsealed_MJ_h": found.unsealed_w * 0.0036,
        "berths": found.space.berths,
        "needed_with_portable_mm2": found.needed_with_portable_m2 * 1e6,
        "verdict": word(found.passes).lower(),
    }


def _state_data(job: Job, state: StateResult) -> dict[str, Any]:
    left = state.headroom
    return {
        "name": state.name,
        "ways": state.ways,
        "bound": state.is_bound,
        "plugged": {one.appliance.name: one.outlet.name for one in state.plugged},
        "hoses": {one.appliance.name: one.hose.name for one in state.plugged if one.hose},
        "verdict": word(state.passes).lower(),
        "total_MJ_h": state.total_w * 0.0036,
        "margin_Pa": state.margin_pa,
        "runs": [
            {**_flow_data(job, flow), "spare_length_m": left.runs[flow.section.name] if left else None}
            for flow in state.runs
        ],
        "appliances": [
            {
                "name": one.name,
                "at": one.at,
                "outlet": one.outlet,
                "hose": one.hose,
                "input_MJ_h": one.load_w * 0.0036,
                "pressure_kPa": one.gauge_pa / 1000.0,
                "drop_Pa": one.drop_pa,
                "margin_Pa": one.margin_pa,
                "headroom_MJ_h": left.appliances[one.name] * 0.0036 if left else None,
                "verdict": word(one.passes).lower(),
                "connection": [_flow_data(job, flow) for flow in one.tail],
            }
            for one in state.appliances
        ],
        "outlets": [{"name": name, "headroom_MJ_h": w * 0.0036} for name, w in left.outlets.items()] if left else [],
        "regulators": [
            {
                "name": one.name,
                "load_MJ_h": one.load_w * 0.0036,
                "capacity_MJ_h": one.regulator.capacity_w * 0.0036 if one.regulator.capacity_w is not None else None,
                "outlet_kPa": one.regulator.outlet_gauge_pa / 1000.0,
                "inlet_kPa": one.inlet_gauge_pa / 1000.0 if one.inlet_gauge_pa is not None else None,
                "inlet_min_kPa": one.regulator.inlet_min_gauge_pa / 1000.0 if one.inlet_gauge_pa is not None else None,
                "margin_Pa": one.margin_pa,
                "verdict": word(one.passes).lower(),
            }
            for one in state.regulators
        ],
        "headroom_is_bound": left.is_bound if left else None,
    }


def _flow_data(job: Job, flow: SectionFlow) -> dict[str, Any]:
    part = flow.section
    return {
        "name": part.name,
        "from": flow.start,
        "pipe": part.pipe.label,
        "bore_mm": part.pipe.bore_m * 1000.0,
        "roughness_mm": part.pipe.roughness_m * 1000.0,
        "length_m": part.length_m,
        "equivalent_length_m": part.length_m + part.fittings_m,
        "rise_m": part.rise_m,
        "load_MJ_h": flow.flow_kg_s * job.gas.gross_j_kg * 0.0036,
        "mass_flow_kg_h": flow.flow_kg_s * 3600.0,
        "velocity_m_s": flow.velocity_m_s,
        "reynolds": flow.reynolds,
        "regime": flow.regime,
        "friction_Pa": flow.friction_pa,
        "devices_Pa": flow.devices_pa,
        "height_Pa": flow.height_pa,
        "drop_Pa": flow.drop_pa,
        "inlet_kPa": (flow.inlet_abs_pa - job.atmospheric_pa) / 1000.0,
        "outlet_kPa": (flow.outlet_abs_pa - job.atmospheric_pa) / 1000.0,
    }
