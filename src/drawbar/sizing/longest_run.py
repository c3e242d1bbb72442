"""The longest-run method of the code tables, to set beside the exact sizes.

Every section is sized for the length of the longest run and for the load that it carries itself, from the capacity
formula of the code. The lengths are those of the pipe; fittings are left to the allowance that the tables hold for a
usual number of them.
Source: IFGC 2018, 402.4.1 and Appendix A (longest length method); the formula of 402.4, as physics.ifgc.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drawbar.job import Job, Pipe
from drawbar.line.network import Line
from drawbar.line.state import states_on_line
from drawbar.physics.flow import PipeFlow, outlet_abs_pa
from drawbar.physics.gas import Vapour
from drawbar.physics.ifgc import ifgc


@dataclass(frozen=True, slots=True)
class LongestRunSection:
    """A section of pipe: the one it starts from (empty for the source), length [m], the most it carries [kg/s]."""

    name: str
    start: str
    length_m: float
    flow_kg_s: float


def longest_run_m(sections: Sequence[LongestRunSection]) -> float:
    """Return the length from the source to the farthest end [m]. A section comes after the one it starts from."""
    far: dict[str, float] = {"": 0.0}
    for section in sections:
        far[section.name] = far[section.start] + section.length_m
    return max(far.values())


def smallest(
    choices: Sequence[Pipe],
    flow_kg_s: float,
    length_m: float,
    drop_pa: float,
    vapour: Vapour,
    stage_gauge_pa: float,
    atmospheric_pa: float,
) -> Pipe | None:
    """Return the smallest pipe that carries a flow [kg/s] over a length [m] within a drop [Pa], None if none does."""
    inlet_pa = stage_gauge_pa + atmospheric_pa
    for pipe in sorted(choices, key=lambda one: one.bore_m):
        loss = ifgc(PipeFlow(flow_kg_s, pipe.bore_m, pipe.roughness_m, length_m, vapour, stage_gauge_pa))
        if inlet_pa - outlet_abs_pa(inlet_pa, loss) <= drop_pa:
            return pipe
    return None


def longest_run_sizes(job: Job, choices: Mapping[str, Sequence[Pipe]]) -> dict[str, Pipe | None]:
    """Return what the longest-run method chooses among pipes for each run, None where none is large enough.

    A stage that feeds second-stage regulators may lose what it has above the highest inlet pressure that they need.
    """
    line = Line(job)
    flows = [0.0] * len(job.runs)
    for on in states_on_line(line):
        flows = [max(most, on.bound_flow_kg_s(number, None)) for number, most in enumerate(flows)]
    chosen: dict[str, Pipe | None] = {}
    for head in (-1, *line.stages):
        members = [number for number in range(len(job.runs)) if line.stage_of(number) == head]
        if not members:
            continue
        stage_pa = line.stage_gauge_pa[members[0]]
        fed = [job.runs[n].regulator for n in line.stages if line.parents[n] in members]
        inlets_pa = [regulator.inlet_min_gauge_pa for regulator in fed if regulator is not None]
        drop_pa = stage_pa - max(inlets_pa) if inlets_pa else job.allowed_drop_pa
        names = {job.runs[n].name for n in members}
        sections = [
            LongestRunSection(run.name, run.start if run.start in names and n != head else "", run.length_m, flows[n])
            for n, run in ((n, job.runs[n]) for n in members)
        ]
        length_m = longest_run_m(sections)
        for section in sections:
            pipes = choices[section.name]
            chosen[section.name] = smallest(
                pipes, section.flow_kg_s, length_m, drop_pa, job.vapour, stage_pa, job.atmospheric_pa
            )
    return chosen
