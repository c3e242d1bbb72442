"""The line of a checked job as a tree: regulator, runs, outlets with what is plugged in, appliances."""

from __future__ import annotations

from drawbar.checking.check import in_worst_way
from drawbar.checking.results import TOLERANCE_PA, ApplianceResult, CheckResult, StateResult
from drawbar.job import ROOT
from drawbar.line.section import SectionFlow
from drawbar.report.display import Shown
from drawbar.report.layout import Column, TreeTable
from drawbar.report.words import word

_Rows = list[tuple[tuple[bool, ...], list[str]]]


def tree(result: CheckResult, state: StateResult, shown: Shown) -> TreeTable:
    """Return the line in a state's worst combination, with sizes, loads and pressures."""
    return _Drawing(result, state, shown).tree()


class _Drawing:
    """The line in one combination: what hangs on each point, and the rows as they are drawn."""

    def __init__(self, result: CheckResult, state: StateResult, shown: Shown) -> None:
        self.job, self.state, self.shown = result.job, state, shown
        self.regulators = {run.name: run.regulator for run in self.job.runs}
        self.runs: dict[str, list[SectionFlow]] = {}
        for flow in state.runs:
            self.runs.setdefault(flow.start, []).append(flow)
        self.fixed: dict[str, list[ApplianceResult]] = {}
        self.plugged: dict[str, ApplianceResult] = {}
        for appliance in in_worst_way(state):
            if appliance.outlet is None:
                self.fixed.setdefault(appliance.at, []).append(appliance)
            else:
                self.plugged[appliance.outlet] = appliance
        self.rows: _Rows = []

    def tree(self) -> TreeTable:
        """Draw from the regulator down."""
        shown, job = self.shown, self.job
        columns = (
            Column("line", words=True),
            Column("pipe or hose", words=True),
            Column(f"load\n{shown.display.heat}"),
            Column(f"at end\n{shown.display.pressure}"),
            Column("verdict", words=True),
        )
        load_kg_s = sum(flow.flow_kg_s for flow in self.runs.get(ROOT, ()))
        load, outlet = self._load(load_kg_s), shown.pressure(job.regulator.outlet_gauge_pa)
        self.rows.append(((), [ROOT, "", load, outlet, ""]))
        # What waits to be drawn, the next one last: a line may be longer than Python's calls go deep.
        waiting = self._children(ROOT, ())
        while waiting:
            lasts, flow = waiting.pop()
            if isinstance(flow, SectionFlow):
                lasts = self._draw_run(flow, lasts)
                waiting.extend(self._children(flow.section.name, lasts))
            else:
                self.rows.append((lasts, flow))
        return TreeTable(columns, self.rows)

    def _children(self, point: str, lasts: tuple[bool, ...]) -> list[tuple[tuple[bool, ...], SectionFlow | list[str]]]:
        """Return what hangs on a point, in the order in which it is taken from the end."""
        hanging: list[SectionFlow | list[str]] = [
            self._end(appliance.name, "", appliance) for appliance in self.fixed.get(point, ())
        ]
        for outlet in self.job.outlets:
            if outlet.at == point:
                appliance = self.plugged.get(outlet.name)
                hanging.append(
                    self._end(f"{outlet.name}: {appliance.name}", appliance.hose or "", appliance)
                    if appliance
                    else self._free(outlet.name)
                )
        hanging.extend(self.runs.get(point, ()))
        return [((*lasts, number == len(hanging)), row) for number, row in enumerate(hanging, 1)][::-1]

    def _draw_run(self, flow: SectionFlow, lasts: tuple[bool, ...]) -> tuple[bool, ...]:
        """Draw a run, its own regulator before it; return where it then stands."""
        job, shown = self.job, self.shown
        name, load = flow.section.name, self._load(flow.flow_kg_s)
        regulator = self.regulators[name]
        if regulator is not None:
            before_pa = self._end_abs_pa(flow.start) - job.atmospheric_pa
            passes = before_pa - regulator.inlet_min_gauge_pa >= -TOLERANCE_PA
            set_to = shown.pressure(flow.inlet_abs_pa - job.atmospheric_pa)
            self.rows.append((lasts, [f"regulator of {name}", "", load, set_to, word(passes)]))
            lasts = (*lasts, True)
        outlet = shown.pressure(flow.outlet_abs_pa - job.atmospheric_pa)
        self.rows.append((lasts, [name, flow.section.pipe.label, load, outlet, ""]))
        return lasts

    def _end_abs_pa(self, point: str) -> float:
        if point == ROOT:
            return self.job.regulator.outlet_gauge_pa + self.job.atmospheric_pa
        return next(flow.outlet_abs_pa for flow in self.state.runs if flow.section.name == point)

    def _end(self, name: str, hose: str, appliance: ApplianceResult) -> list[str]:
        load, gets = self.shown.heat(appliance.load_w), self.shown.pressure(appliance.gauge_pa)
        return [name, hose, load, gets, appliance.verdict.word]

    def _free(self, outlet: str) -> list[str]:
        return [f"{outlet}: free" if not self.state.is_bound else outlet, "", "", "", ""]

    def _load(self, flow_kg_s: float) -> str:
        return self.shown.heat(flow_kg_s * self.job.gas.gross_j_kg)
