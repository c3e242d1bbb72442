"""The tree to draw of a checked job: what each way and each point carries in a state, in the job's units."""

from __future__ import annotations

from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.job import ROOT, Appliance, Job, Outlet
from drawbar.line.section import SectionFlow
from drawbar.report.display import Shown
from drawbar.report.sheet.geometry import SvgText
from drawbar.report.sheet.tree_layout import Node


def tree_of(result: CheckResult, state: StateResult) -> Node:
    """Return the tree of a state. An appliance that is plugged in stands where it gets least."""
    job, shown = result.job, Shown(result.job.display)
    points = {ROOT: _root(job, shown)}
    for flow in state.runs:
        points[flow.section.name] = _run(job, flow, shown)
        points[flow.start].children.append(points[flow.section.name])
    burning = {appliance.name: appliance for appliance in state.appliances}
    for appliance in job.appliances:
        if appliance.at is not None:
            points[appliance.at].children.append(_appliance(appliance, burning.get(appliance.name), shown))
    for outlet in job.outlets:
        plugged = [appliance for appliance in state.appliances if appliance.outlet == outlet.name]
        points[outlet.at].children.append(_outlet(outlet, plugged, shown))
    return points[ROOT]


def _root(job: Job, shown: Shown) -> Node:
    regulator = job.regulator
    above = [SvgText("regulator", "name")]
    below = [SvgText(shown.pressure_unit(regulator.outlet_gauge_pa))]
    return Node("regulator", above=above, below=below)


def _run(job: Job, flow: SectionFlow, shown: Shown) -> Node:
    section = flow.section
    above = [SvgText(section.name, "name"), SvgText(section.pipe.label)]
    below = [SvgText(f"{shown.length_unit(section.length_m)}, {_drop(flow, shown)}")]
    regulator = next(run.regulator for run in job.runs if run.name == section.name)
    if regulator is not None:
        below.append(SvgText(f"regulator {shown.pressure_unit(regulator.outlet_gauge_pa)}"))
    return Node("point", above=above, below=below, regulated=regulator is not None)


def _drop(flow: SectionFlow, shown: Shown) -> str:
    return f"drop {shown.pressure(flow.drop_pa)}"


def _appliance(appliance: Appliance, burning: ApplianceResult | None, shown: Shown) -> Node:
    if burning is None:
        return Node("appliance", edge="link", beside=[[SvgText(appliance.name, "name"), SvgText("off")]])
    return Node("appliance", edge="link", beside=_beside(burning, shown))


def _beside(appliance: ApplianceResult, shown: Shown) -> list[list[SvgText]]:
    verdict = SvgText(appliance.verdict.word, appliance.verdict.value)
    gets = SvgText(f"{shown.pressure(appliance.gauge_pa)} {shown.display.pressure}")
    return [[SvgText(appliance.name, "name"), SvgText(shown.heat_unit(appliance.load_w))], [gets, verdict]]


def _outlet(outlet: Outlet, plugged: list[ApplianceResult], shown: Shown) -> Node:
    """Return an outlet with the appliances that get least in it. Each has a drop of its own in the outlet's devices."""
    name = SvgText(outlet.name, "name")
    if not plugged:
        return Node("outlet", above=[name], beside=[[SvgText("nothing on here")]])
    drops = {_drop(appliance.tail[0], shown) for appliance in plugged}
    below = [SvgText(drop) for drop in drops] if len(drops) == 1 else []
    children = [_plugged(appliance, shown) for appliance in plugged]
    return Node("outlet", above=[name], below=below, children=children)


def _plugged(appliance: ApplianceResult, shown: Shown) -> Node:
    beside = _beside(appliance, shown)
    if appliance.hose is None:
        return Node("appliance", edge="link", beside=beside)
    _, hose = appliance.tail
    below = [SvgText(f"{shown.length_unit(hose.section.length_m)}, {_drop(hose, shown)}")]
    return Node("appliance", edge="hose", above=[SvgText(hose.section.name)], below=below, beside=beside)
