"""The runs of a job file as a tree: each in its order, and what is wrong where they form none."""

from __future__ import annotations

from collections.abc import Mapping

from yaml.nodes import Node

from drawbar.job import ROOT, Run
from drawbar.jobfile.pipework import PipeworkReader
from drawbar.problems import close_to, shown
from drawbar.yamlfile.fields import Entry

Names = Mapping[str, tuple[Entry | None, Node]]


def read_runs(
    parts: PipeworkReader, named: Mapping[str, Names], source_gauge_pa: float | None, *, sized: bool
) -> tuple[Run, ...]:
    """Return the runs, each after the one it starts from; those that could not be read are left out.

    named : the entries of `runs`, `outlets` and `appliances` by name
    source_gauge_pa : what the first regulator gives [Pa gauge], None where that could not be read
    sized : whether each run must have one size
    """
    things = named["runs"]
    runs: dict[str, Run] = {}
    children: dict[str, list[str]] = {}
    for name, (entry, _) in things.items():
        if entry is None:
            continue
        start = entry.get("from")
        path = ("runs", name, "from")
        if start is not None and start != ROOT and start not in things:
            fit = hung_at(named, start, name) or close_to(start, [ROOT, *(other for other in things if other != name)])
            parts.problem(entry.at("from"), path, f"there is no run {shown(start)} to start from", fit)
            start = None
        length_m, rise_m = entry.get("length"), entry.get("rise", 0.0)
        if length_m is not None and abs(rise_m) > length_m * 1.001:
            fit = "write the height gained from start to end"
            parts.problem(entry.at("rise"), ("runs", name, "rise"), "is more than the length of the run", fit)
        stage = entry.get("regulator")
        regulator = parts.regulator(stage) if stage else None
        pipes, fittings, devices = parts.pipes(entry), parts.fittings(entry), parts.devices(entry)
        if sized and len(pipes) > 1:
            what = f"leaves the size open ({len(pipes)} to choose from)"
            fit = "let `drawbar size` choose it, or write one size"
            parts.problem(entry.at("pipe"), ("runs", name, "pipe"), what, fit)
        if start is not None:
            children.setdefault(start, []).append(name)
        if start is not None and pipes and length_m is not None:
            runs[name] = Run(name, start, pipes, length_m, rise_m, fittings, devices, regulator)
    order = _order(parts, things, children)
    _refuse_dead_ends(parts, named, children)
    _check_stages(parts, things, runs, source_gauge_pa)
    return tuple(runs[name] for name in order if name in runs)


def hung_at(named: Mapping[str, Names], name: str, asking: str = "") -> str:
    """Return what would fit in place of an outlet or an appliance where a run is asked for; empty if it is neither.

    asking : the run that asks, which can't start from itself
    """
    for section, kind in (("outlets", "an outlet"), ("appliances", "an appliance")):
        entry, _ = named[section].get(name, (None, None))
        if entry is not None:
            at = entry.get("at")
            where = f", as `{at}` where that is" if at in named["runs"] and at != asking else ""
            return f"that is {kind}: write a run{where}"
    return ""


def _order(parts: PipeworkReader, things: Names, children: Mapping[str, list[str]]) -> list[str]:
    """Return the runs that hang on the regulator, each after the one it starts from; note loops among the others."""
    order = list(children.get(ROOT, ()))
    for name in order:  # grows as it is walked
        order.extend(children.get(name, ()))
    reached = set(order)
    told: set[str] = set()
    for name, (entry, node) in things.items():
        loop: list[str] = []
        while name not in reached and name not in told and entry is not None and name not in loop:
            loop.append(name)
            name = entry.get("from")
            if name not in things:
                break
            entry = things[name][0]
        if name in loop:
            circle = loop[loop.index(name) :]
            way = " from ".join([*circle[:6], *(["..."] if len(circle) > 6 else []), name])
            what, fit = (
                f"goes round in a loop: {way}",
                f"one run of it must start from `{ROOT}` or the rest of the line",
            )
            if len(circle) == 1:
                what, fit = "goes round in a loop: it starts from itself", f"write the run that feeds it, or `{ROOT}`"
            parts.problem(node, ("runs", loop[0], "from"), what, fit)
        told.update(loop)
    return order


def _refuse_dead_ends(parts: PipeworkReader, named: Mapping[str, Names], children: Mapping[str, list[str]]) -> None:
    used = set(children)
    for section in ("outlets", "appliances"):
        used.update(entry.get("at") for entry, _ in named[section].values() if entry is not None and entry.get("at"))
    for name, (_, node) in named["runs"].items():
        if name not in used:
            fit = "put an appliance, an outlet or another run there, or take the run out"
            parts.problem(node, ("runs", name), "nothing is at its end", fit)


def _check_stages(parts: PipeworkReader, things: Names, runs: Mapping[str, Run], source_gauge_pa: float | None) -> None:
    """Note a second stage that asks for more than the stage before it is set to."""
    for name, run in runs.items():
        if run.regulator is None:
            continue
        before = runs.get(run.start)
        seen = {name}
        while before is not None and before.regulator is None and before.name not in seen:
            seen.add(before.name)
            before = runs.get(before.start)
        if before is not None:
            supply = before.regulator.outlet_gauge_pa if before.regulator else None
        else:
            supply = source_gauge_pa
        if supply is not None and run.regulator.inlet_min_gauge_pa > supply:
            entry, node = things[name]
            stage = entry.get("regulator") if entry else None
            what = f"is above the {supply / 1000:g} kPa that the stage before it gives"
            fit = "raise that stage's outlet, or choose a regulator that works at less"
            parts.problem(stage.at("inlet-min") if stage else node, ("runs", name, "regulator", "inlet-min"), what, fit)
