"""One line of pipe, solved: flows from the appliances up to the regulator, then pressures from the regulator down."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence

from drawbar.job import Hose, Job, Outlet, Pipe
from drawbar.line.section import Conditions, Section, SectionFlow, section_flow


class Line:
    """The tree of a job's runs with one pipe for each, to be solved for any flows at the ends.

    Runs are counted in the job's order, in which each comes after the one it starts from.

    Attributes
    ----------
    job : Job
        What the line is of.
    conditions : Conditions
        The formula, the gas and the air.
    index : dict of str to int
        The number of a run by its name.
    parents : list of int
        For each run, the one it starts from; -1 for the first regulator.
    paths : list of tuple of int
        For each run, the runs from the regulator to its end, in order.
    stage_gauge_pa : list of float
        For each run, the set pressure of the regulator that feeds it [Pa gauge].
    sections : list of Section
        Each run with its pipe.
    stages : list of int
        The runs that have a second-stage regulator at their start.
    source_abs_pa : float
        Pressure at the first regulator's outlet [Pa absolute].
    stage_offsets_pa : mapping of int to float
        How much more than its set pressure the regulator at the start of a run gives [Pa]; 0 where none stands.
    """

    def __init__(self, job: Job, pipes: Mapping[str, Pipe] | None = None, formula: str | None = None) -> None:
        self.job = job
        self.conditions = Conditions.of(job, formula)
        self.index = {run.name: number for number, run in enumerate(job.runs)}
        self.parents = [self.index.get(run.start, -1) for run in job.runs]
        self.paths: list[tuple[int, ...]] = []
        self.stages = [number for number, run in enumerate(job.runs) if run.regulator is not None]
        self.stage_gauge_pa = _stage_pressures(job, self.stages, self.parents)
        self.sections: list[Section] = []
        pipes = pipes or {}
        for number, run in enumerate(job.runs):
            parent = self.parents[number]
            self.paths.append((*(self.paths[parent] if parent >= 0 else ()), number))
            pipe = pipes.get(run.name, run.pipes[0])
            self.sections.append(Section(run, pipe, self.stage_gauge_pa[number], self.conditions))
        self.source_abs_pa = job.regulator.outlet_gauge_pa + job.atmospheric_pa
        self.stage_offsets_pa: Mapping[int, float] = {}
        self._own_pieces()

    def regulated(self, first_pa: float, stages_pa: Mapping[int, float]) -> Line:
        """Return the line with its regulators giving so much more than their set pressure [Pa], stages by run."""
        line = copy.copy(self)
        line.source_abs_pa = self.job.regulator.outlet_gauge_pa + first_pa + self.conditions.atmospheric_pa
        line.stage_offsets_pa = stages_pa
        return line

    def of_corner(self, corner: Job) -> Line:
        """Return the line of the worst corner of its job: the same tree, its pieces and set pressures the corner's."""
        line = copy.copy(self)
        line.job = corner
        line.conditions = conditions = self.conditions.at(corner)
        line.stage_gauge_pa = _stage_pressures(corner, self.stages, self.parents)
        line.sections = [
            Section(run, run.pipes[0], stage_pa, conditions)
            for run, stage_pa in zip(corner.runs, line.stage_gauge_pa, strict=True)
        ]
        line.source_abs_pa = corner.regulator.outlet_gauge_pa + corner.atmospheric_pa
        line._own_pieces()
        return line

    def _own_pieces(self) -> None:
        """Know the line's own outlets and hoses, and no tails of them yet."""
        self._tails: dict[tuple[str, str], tuple[Section, ...]] = {}
        self._hose_sections: dict[tuple[str, float], Section] = {}
        self._worst_hoses: dict[tuple[tuple[str, ...], float], list[Hose]] = {}
        self._behind: list[tuple[str, ...]] | None = None
        self._fitting: dict[tuple[str, ...], list[Outlet]] = {}
        self._outlets = {outlet.name: outlet for outlet in self.job.outlets}
        self._hoses: dict[str, Hose | None] = {hose.name: hose for hose in self.job.hoses}

    @property
    def outlets_behind(self) -> list[tuple[str, ...]]:
        """For each run, the names of the outlets after it, in the order of the job."""
        if self._behind is None:
            behind: list[list[str]] = [[] for _ in self.parents]
            for outlet in self.job.outlets:
                for number in self.paths[self.index[outlet.at]]:
                    behind[number].append(outlet.name)
            self._behind = list(map(tuple, behind))
        return self._behind

    def lengthened(self, number: int, extra_m: float) -> Section:
        """Return the section of a run that is longer by so much [m]."""
        section = self.sections[number]
        return Section(self.job.runs[number], section.pipe, section.stage_gauge_pa, self.conditions, extra_m)

    def with_longer(self, number: int, extra_m: float) -> Line:
        """Return the line with one run longer by so much [m]; the other sections, and what they know, are the same."""
        line = copy.copy(self)
        line.sections = list(self.sections)
        line.sections[number] = self.lengthened(number, extra_m)
        return line

    def with_pipe(self, number: int, pipe: Pipe) -> Line:
        """Return the line with another pipe in one run; the other sections, and what they know, are the same."""
        line = copy.copy(self)
        line.sections = list(self.sections)
        line.sections[number] = Section(self.job.runs[number], pipe, self.stage_gauge_pa[number], self.conditions)
        line._own_pieces()  # fittings at an outlet go with the pipe that it is on
        return line

    def stage_of(self, number: int) -> int:
        """Return the run at whose start the regulator is that feeds a run, -1 for the first regulator."""
        if not self.stages:
            return -1
        return next((n for n in reversed(self.paths[number]) if n in self.stages), -1)

    def tail(self, outlet: Outlet, hose: Hose | None) -> tuple[Section, ...]:
        """Return the sections between a run's end and a plugged appliance: the outlet's, then the hose.

        Outlet and hose are this line's own of that name, where it has them.
        """
        key = (outlet.name, hose.name if hose else "")
        tail = self._tails.get(key)
        if tail is None:
            if hose is None:
                outlet = self._outlets.get(outlet.name, outlet)
                number = self.index[outlet.at]
                tail = (Section(outlet, self.sections[number].pipe, self.stage_gauge_pa[number], self.conditions),)
            else:
                tail = (*self.tail(outlet, None), self._hose_section(hose, self.stage_gauge_pa[self.index[outlet.at]]))
            self._tails[key] = tail
        return tail

    def _hose_section(self, hose: Hose, stage_pa: float) -> Section:
        """Return a hose, this line's own of that name where it has it, as it is on every outlet of a stage."""
        section = self._hose_sections.get((hose.name, stage_pa))
        if section is None:
            hose = self._hoses.get(hose.name) or hose
            section = self._hose_sections[hose.name, stage_pa] = Section(hose, hose.pipe, stage_pa, self.conditions)
        return section

    def worst_hoses(self, names: tuple[str, ...], stage_pa: float) -> list[Hose]:
        """Return the hoses with these names at a stage pressure [Pa gauge], but for those that take less than another.

        One does that is of the same bore and rise and no longer, with its fittings, and whose devices take no more.
        """
        key = names, stage_pa
        if key not in self._worst_hoses:
            wanted = set(names)
            kept: dict[tuple[float, ...], list[tuple[float, float, Hose]]] = {}
            for hose in self.job.hoses:
                if hose.name in wanted:
                    bore_m, roughness_m, length_m, rise_m, devices, _ = self._hose_section(hose, stage_pa).sort
                    alike = kept.setdefault((bore_m, roughness_m, rise_m), [])
                    if not any(length >= length_m and taken >= devices for length, taken, _ in alike):
                        alike[:] = [each for each in alike if each[0] > length_m or each[1] > devices]
                        alike.append((length_m, devices, hose))
            self._worst_hoses[key] = [hose for alike in kept.values() for _, _, hose in alike]
        return self._worst_hoses[key]

    def outlets_of(self, names: tuple[str, ...]) -> list[Outlet]:
        """Return the outlets with these names, in the order of the job."""
        fitting = self._fitting.get(names)
        if fitting is None:
            wanted = set(names)
            fitting = self._fitting[names] = [outlet for outlet in self.job.outlets if outlet.name in wanted]
        return fitting

    def flows(self, draws: Sequence[tuple[int, float]]) -> list[float]:
        """Return the mass flow in every run [kg/s] for draws of (run at whose end it is, mass flow)."""
        flows = [0.0] * len(self.sections)
        for at, flow_kg_s in draws:
            for number in self.paths[at]:
                flows[number] += flow_kg_s
        return flows

    def inlet_pa(self, number: int, outlets_pa: Sequence[float]) -> float:
        """Return the absolute pressure at the start of a run [Pa], after its regulator if it has one."""
        return self.behind_regulator_pa(number, self.before_regulator_pa(number, outlets_pa))

    def before_regulator_pa(self, number: int, outlets_pa: Sequence[float]) -> float:
        """Return the absolute pressure where a run starts, before its regulator if it has one [Pa]."""
        parent = self.parents[number]
        return outlets_pa[parent] if parent >= 0 else self.source_abs_pa

    def behind_regulator_pa(self, number: int, before_pa: float) -> float:
        """Return the absolute pressure that a run's own regulator makes of that before it [Pa], if it has one."""
        if self.job.runs[number].regulator is None:
            return before_pa
        return self.stage_gauge_pa[number] + self.stage_offsets_pa.get(number, 0.0) + self.conditions.atmospheric_pa

    def solve(self, flows: Sequence[float]) -> list[float]:
        """Return the absolute pressure at the end of every run [Pa] for a mass flow in each [kg/s]."""
        outlets_pa: list[float] = []
        for number, section in enumerate(self.sections):
            outlets_pa.append(section.outlet_abs_pa(self.inlet_pa(number, outlets_pa), flows[number]))
        return outlets_pa

    def working(self, flows: Sequence[float]) -> list[SectionFlow]:
        """Return every run's flow, pressures and losses in full, for a mass flow in each [kg/s]."""
        outlets_pa = self.solve(flows)
        return [
            section_flow(section, run.start, self.inlet_pa(number, outlets_pa), flows[number])
            for number, (run, section) in enumerate(zip(self.job.runs, self.sections, strict=True))
        ]


def _stage_pressures(job: Job, stages: Sequence[int], parents: Sequence[int]) -> list[float]:
    """Return for each run the set pressure of the regulator that feeds it [Pa gauge]."""
    if not stages:
        return [job.regulator.outlet_gauge_pa] * len(parents)
    pressures: list[float] = []
    for run, parent in zip(job.runs, parents, strict=True):
        before = pressures[parent] if parent >= 0 else job.regulator.outlet_gauge_pa
        pressures.append(run.regulator.outlet_gauge_pa if run.regulator else before)
    return pressures
