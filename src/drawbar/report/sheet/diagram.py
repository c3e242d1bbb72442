"""The tree to draw of a checked job: what each way and each point carries in a state, in the job's units."""

from __future__ import annotations

from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.job import ROOT, Appliance, Job, Outlet
from drawbar.line.section import SectionFlow
from drawbar.report.display import Shown
from drawbar.report.sheet.geometry import Text
from drawbar.report.sheet.tree_layout import Node
from drawbar.report.words import word


def tree_of(result: CheckResult, state: StateResult) -> Node:
    """Return the tree of a state. An appliance that is plugged in stands where it gets least."""
    job, shown = result.job, Shown(result.job.display)
    points = {ROOT: _root(job, shown)}
    for flow in state.runs:
        points[flow.section.name] = _run(job, flow, shown)
        points[flow.start].children.append(points[flow.section.name])
    lit = {one.name: one for one in state.appliances}
    for appliance in job.appliances:
        if appliance.at is not None:
            points[appliance.at].children.append(_appliance(appliance, lit.get(appliance.name), shown))
    for outlet in job.outlets:
        plugged = [one for one in state.appliances if one.outlet == outlet.name]
        points[outlet.at].children.append(_outlet(outlet, plugged, shown))
    return points[ROOT]


def _root(job: Job, shown: Shown) -> Node:
    regulator = job.regulator
    above = [Text("regulator", "name")]
    below = [Text(shown.pressure_unit(regulator.outlet_gauge_pa))]
    return Node("regulator", above=above, below=below)


def _run(job: Job, flow: SectionFlow, shown: Shown) -> Node:
    part = flow.section
    above = [Text(part.name, "name"), Text(part.pipe.label)]
    below = [Text(f"{shown.length_unit(part.length_m)}, {_drop(flow, shown)}")]
    regulator = next(run.regulator for run in job.runs if run.name == part.name)
    if regulator is not None:
        below.append(Text(f"regulator {shown.pressure_unit(regulator.outlet_gauge_pa)}"))
    return Node("point", above=above, below=below, regulated=regulator is not None)


def _drop(flow: SectionFlow, shown: Shown) -> str:
    return f"drop {shown.pressure(flow.drop_pa)}"


def _appliance(appliance: Appliance, one: ApplianceResult | None, shown: Shown) -> Node:
    if one is None:
        return Node("appliance", edge="link", beside=[[Text(appliance.name, "name"), Text("off")]])
    return Node("appliance", edge="link", beside=_beside(one, shown))


def _beside(one: ApplianceResult, shown: Shown) -> list[list[Text]]:
    verdict = Text(word(one.passes), word(one.passes).lower())
    gets = Text(f"{shown.pressure(one.gauge_pa)} {shown.display.pressure}")
    return [[Text(one.name, "name"), Text(shown.heat_unit(one.load_w))], [gets, verdict]]


def _outlet(outlet: Outlet, plugged: list[ApplianceResult], shown: Shown) -> Node:
    """Return an outlet with the appliances that get least in it. Each has a drop of its own in the outlet's devices."""
    name = Text(outlet.name, "name")
    if not plugged:
        return Node("outlet", above=[name], beside=[[Text("nothing on here")]])
    drops = {_drop(one.tail[0], shown) for one in plugged}
    below = [Text(drops.pop())] if len(drops) == 1 else []
    return Node("outlet", above=[name], below=below, children=[_plugged(one, shown) for one in plugged])


def _plugged(one: ApplianceResult, shown: Shown) -> Node:
    beside = _beside(one, shown)
    if len(one.tail) < 2:
        return Node("appliance", edge="link", beside=beside)
    hose = one.tail[1]
    below = [Text(f"{shown.length_unit(hose.section.length_m)}, {_drop(hose, shown)}")]
    return Node("appliance", edge="hose", above=[Text(hose.section.name)], below=below, beside=beside)
