"""The tree to draw of a checked job: what each way and each point carries in a state, in the job's units."""

from __future__ import annotations

from drawbar.checking.drawn_way import DrawnWay
from drawbar.checking.judge import with_unknown_ways
from drawbar.checking.results import ApplianceResult, CheckResult
from drawbar.job import ROOT, Appliance, Job, Outlet
from drawbar.line.section import SectionFlow
from drawbar.report.display import Shown
from drawbar.report.sheet.geometry import SvgText
from drawbar.report.sheet.tree_layout import Node

_NOT_KNOWN = "drop not known"


def tree_of(result: CheckResult, drawn: DrawnWay) -> Node:
    """Return the tree of a state in one combination: every figure in it happens at once."""
    job, shown = result.job, Shown(result.job.display)
    points = {ROOT: _root(job, shown)}
    for flow in drawn.state.runs:
        points[flow.section.name] = _run(job, flow, shown)
        points[flow.start].children.append(points[flow.section.name])
    burning = {appliance.name: appliance for appliance in drawn.appliances}
    for appliance in job.appliances:
        if appliance.at is not None:
            points[appliance.at].children.append(_appliance(job, appliance, burning.get(appliance.name), shown))
    for outlet in job.outlets:
        plugged = [appliance for appliance in drawn.appliances if appliance.outlet == outlet.name]
        points[outlet.at].children.append(_outlet(job, outlet, plugged, shown))
    return points[ROOT]


def _root(job: Job, shown: Shown) -> Node:
    regulator = job.regulator
    above = [SvgText("regulator", "name")]
    below = [SvgText(shown.pressure_unit(regulator.outlet_gauge_pa))]
    return Node("regulator", above=above, below=below)


def _run(job: Job, flow: SectionFlow, shown: Shown) -> Node:
    section = flow.section
    above = [SvgText(section.name, "name"), SvgText(section.pipe.label)]
    run = next(run for run in job.runs if run.name == section.name)
    drop = _drop(flow, shown) if all(device.is_known for device in run.devices) else _NOT_KNOWN
    below = [SvgText(f"{shown.length_unit(section.length_m)}, {drop}")]
    regulator = run.regulator
    if regulator is not None:
        below.append(SvgText(f"regulator {shown.pressure_unit(regulator.outlet_gauge_pa)}"))
    return Node("point", above=above, below=below, regulated=regulator is not None)


def _drop(flow: SectionFlow, shown: Shown) -> str:
    return f"drop {shown.pressure(flow.drop_pa)}"


def _appliance(job: Job, appliance: Appliance, burning: ApplianceResult | None, shown: Shown) -> Node:
    if burning is None:
        return Node("appliance", edge="link", beside=[[SvgText(appliance.name, "name"), SvgText("off")]])
    return Node("appliance", edge="link", beside=_beside(job, burning, shown))


def _beside(job: Job, appliance: ApplianceResult, shown: Shown) -> list[list[SvgText]]:
    verdict = SvgText(appliance.verdict.word, appliance.verdict.value)
    # What is not known takes nothing in the figure, and something in the line.
    at_most = "at most " if appliance.name in with_unknown_ways(job) else ""
    gets = SvgText(f"{at_most}{shown.pressure(appliance.gauge_pa)} {shown.display.pressure}")
    return [[SvgText(appliance.name, "name"), SvgText(shown.heat_unit(appliance.load_w))], [gets, verdict]]


def _outlet(job: Job, outlet: Outlet, plugged: list[ApplianceResult], shown: Shown) -> Node:
    """Return an outlet with the appliances that get least in it. Each has a drop of its own in the outlet's devices."""
    name = SvgText(outlet.name, "name")
    if not plugged:
        return Node("outlet", above=[name], beside=[[SvgText("free")]])
    drops = {_drop(appliance.tail[0], shown) for appliance in plugged}
    if not outlet.devices_known or not all(device.is_known for device in outlet.devices):
        drops = {_NOT_KNOWN}
    below = [SvgText(drop) for drop in drops] if len(drops) == 1 else []
    children = [_plugged(job, appliance, shown) for appliance in plugged]
    return Node("outlet", above=[name], below=below, children=children)


def _plugged(job: Job, appliance: ApplianceResult, shown: Shown) -> Node:
    beside = _beside(job, appliance, shown)
    if appliance.hose is None:
        if next(each for each in job.appliances if each.name == appliance.name).hose_known:
            return Node("appliance", edge="link", beside=beside)
        return Node("appliance", edge="hose", above=[SvgText("hose")], below=[SvgText("not known")], beside=beside)
    _, hose = appliance.tail
    known = all(device.is_known for each in job.hoses if each.name == appliance.hose for device in each.devices)
    below = [SvgText(f"{shown.length_unit(hose.section.length_m)}, {_drop(hose, shown) if known else _NOT_KNOWN}")]
    return Node("appliance", edge="hose", above=[SvgText(hose.section.name)], below=below, beside=beside)
