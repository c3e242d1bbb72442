"""The runs of a job file as a tree: each in its order, and what is wrong where they form none."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar.job import ROOT, Run
from drawbar.problems import close_to, shown

if TYPE_CHECKING:
    from collections.abc import Mapping

    from yaml.nodes import Node

    from drawbar.jobfile.pipework import PipeworkReader, Sections, Tables
    from drawbar.yamlfile.entry import Entry

_MOST_OF_A_LOOP = 6  # of its runs, as a message lists them


def read_runs(
    pipework: PipeworkReader, sections: Sections, source_gauge_pa: float | None, *, sized: bool
) -> tuple[Run, ...]:
    """Return the runs, each after the one it starts from; those that could not be read are left out.

    Parameters
    ----------
    pipework : PipeworkReader
        The reading that notes problems.
    sections : Sections
        The tables of the file that carry names.
    source_gauge_pa : float or None
        What the first regulator gives [Pa gauge], None where that could not be read.
    sized : bool
        Whether each run must have one size.

    Returns
    -------
    tuple of Run
    """
    runs: dict[str, Run] = {}
    children: dict[str, list[str]] = {}
    for name, (entry, _) in sections.runs.items():
        if entry is None:
            continue
        start = _start(pipework, sections, name, entry)
        run = _run(pipework, name, start, entry, sized=sized)
        if start is not None:
            children.setdefault(start, []).append(name)
        if run is not None:
            runs[name] = run
    order = _order(pipework, sections.runs, children)
    _refuse_dead_ends(pipework, sections, children)
    _check_stages(pipework, sections.runs, runs, source_gauge_pa)
    return tuple(runs[name] for name in order if name in runs)


def _start(pipework: PipeworkReader, sections: Sections, name: str, entry: Entry) -> str | None:
    """Return the run that a run starts from, or the regulator; None, with a problem noted, if there is no such run."""
    start = entry.text("from")
    if start is None or start == ROOT or start in sections.runs:
        return start
    others = [ROOT, *(other for other in sections.runs if other != name)]
    fit = at_its_run(sections, start, name) or close_to(start, others)
    what = f"there is no run {shown(start)} to start from"
    pipework.problem(entry.at("from"), ("runs", name, "from"), what, fit)
    return None


def _run(pipework: PipeworkReader, name: str, start: str | None, entry: Entry, *, sized: bool) -> Run | None:
    length_m, rise_m = pipework.length_and_rise_m(entry, "run", "start to end")
    stage = entry.table("regulator")
    regulator = pipework.regulator(stage) if stage is not None else None
    pipes, fittings, devices = pipework.pipes(entry), pipework.fittings(entry), pipework.devices(entry)
    if sized and len(pipes) > 1:
        what = f"leaves the size open ({len(pipes)} to choose from)"
        fit = "let `drawbar size` choose it, or write one size"
        pipework.problem(entry.at("pipe"), ("runs", name, "pipe"), what, fit)
    if start is None or not pipes or length_m is None:
        return None
    return Run(name, start, pipes, length_m, rise_m, fittings, devices, regulator)


def at_its_run(sections: Sections, name: str, asking: str = "") -> str:
    """Return what would fit where an outlet or an appliance is named in place of a run; empty if the name is neither.

    Parameters
    ----------
    sections : Sections
        The tables of the file that carry names.
    name : str
        What stands in place of a run's name.
    asking : str
        The run that asks, which can't start from itself.

    Returns
    -------
    str
    """
    for tables, kind in ((sections.outlets, "an outlet"), (sections.appliances, "an appliance")):
        entry, _ = tables.get(name, (None, None))
        if entry is not None:
            at = entry.text("at")
            where = f", as `{at}` where that is" if at in sections.runs and at != asking else ""
            return f"that is {kind}: write a run{where}"
    return ""


def _order(pipework: PipeworkReader, tables: Tables, children: Mapping[str, list[str]]) -> list[str]:
    """Return the runs that hang on the regulator, each after the one it starts from; note loops among the others."""
    order = list(children.get(ROOT, ()))
    for start in order:  # grows as it is walked
        if start != ROOT:  # a run of that name is told elsewhere; it would go round for ever
            order.extend(children.get(start, ()))
    if len(order) == len(tables):
        return order
    reached = set(order)
    looked_at: set[str] = set()
    for first, (_, node) in tables.items():
        way: list[str] = []
        name: str | None = first
        while name is not None and name not in reached and name not in looked_at and name not in way:
            entry, _ = tables.get(name, (None, None))
            if entry is not None:
                way.append(name)
            name = entry.text("from") if entry is not None else None
        if name is not None and name in way:
            _refuse_loop(pipework, node, first, way[way.index(name) :])
        looked_at.update(way)
    return order


def _refuse_loop(pipework: PipeworkReader, node: Node, first: str, loop: list[str]) -> None:
    """Note a loop of runs at the run that was looked at first."""
    if len(loop) == 1:
        what, fit = "goes round in a loop: it starts from itself", f"write the run that feeds it, or `{ROOT}`"
    else:
        more = ["..."] if len(loop) > _MOST_OF_A_LOOP else []
        what = f"goes round in a loop: {' from '.join([*loop[:_MOST_OF_A_LOOP], *more, loop[0]])}"
        fit = f"one run of it must start from `{ROOT}` or the rest of the line"
    pipework.problem(node, ("runs", first, "from"), what, fit)


def _refuse_dead_ends(pipework: PipeworkReader, sections: Sections, children: Mapping[str, list[str]]) -> None:
    """Note every run at whose end is neither a run, nor an outlet, nor an appliance."""
    ends = (*sections.outlets.values(), *sections.appliances.values())
    used = {*children, *(entry.text("at") for entry, _ in ends if entry is not None)}
    for name, (_, node) in sections.runs.items():
        if name not in used:
            fit = "put an appliance, an outlet or another run there, or take the run out"
            pipework.problem(node, ("runs", name), "nothing is at its end", fit)


def _check_stages(
    pipework: PipeworkReader, tables: Tables, runs: Mapping[str, Run], source_gauge_pa: float | None
) -> None:
    """Note a second stage that asks for more than the stage before it is set to."""
    for name, run in runs.items():
        if run.regulator is None:
            continue
        supply_pa = _supply_gauge_pa(runs, run, source_gauge_pa)
        if supply_pa is not None and run.regulator.inlet_min_gauge_pa > supply_pa:
            entry, node = tables[name]
            stage = entry.table("regulator") if entry is not None else None
            path = ("runs", name, "regulator", "inlet-min")
            what = f"is above the {supply_pa / 1000:g} kPa that the stage before it gives"
            fit = "raise that stage's outlet, or choose a regulator that works at less"
            pipework.problem(stage.at("inlet-min") if stage is not None else node, path, what, fit)


def _supply_gauge_pa(runs: Mapping[str, Run], run: Run, source_gauge_pa: float | None) -> float | None:
    """Return what the stage before a run's own is set to [Pa gauge], None where it can't be told."""
    before = runs.get(run.start)
    seen = {run.name}
    while before is not None and before.regulator is None and before.name not in seen:
        seen.add(before.name)
        before = runs.get(before.start)
    if before is None:
        return source_gauge_pa
    return before.regulator.outlet_gauge_pa if before.regulator is not None else None
