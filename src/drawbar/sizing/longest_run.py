"""The longest-run method of the code tables, to set beside the exact sizes.

Every section is sized for the length of the longest run and for the load that it carries itself, from the capacity
formula of the code. The lengths are those of the pipe; fittings are left to the allowance that the tables hold for a
usual number of them.

References
----------
IFGC 2018, 402.4.1 and Appendix A (longest length method); the formula of 402.4, as `drawbar.physics.ifgc.ifgc`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.job import Job, Pipe
from drawbar.line.network import Line
from drawbar.line.section import code_method
from drawbar.line.state import states_on_line
from drawbar.physics.flow import PipeFlow, outlet_abs_pa
from drawbar.physics.gas import Vapour
from drawbar.physics.ifgc import ifgc


@dataclass(frozen=True, slots=True)
class LongestRunSection:
    """A section of pipe.

    Attributes
    ----------
    name, start : str
        Its name, and that of the section it starts from; empty for the source.
    length_m : float
        Its length [m].
    flow_kg_s : float
        The most that it carries [kg/s].
    """

    name: str
    start: str
    length_m: float
    flow_kg_s: float


class LongestRun(NamedTuple):
    """What every section of a stage is sized for.

    Attributes
    ----------
    length_m : float
        The length of the longest run [m].
    drop_pa : float
        What may be lost over it [Pa].
    vapour : Vapour
        The gas.
    stage_gauge_pa : float
        The pressure at the start of the stage [Pa gauge].
    atmospheric_pa : float
        The pressure of the air [Pa absolute].
    """

    length_m: float
    drop_pa: float
    vapour: Vapour
    stage_gauge_pa: float
    atmospheric_pa: float


def longest_run_m(sections: Sequence[LongestRunSection]) -> float:
    """Return the length from the source to the farthest end [m]. A section comes after the one it starts from."""
    far: dict[str, float] = {"": 0.0}
    for section in sections:
        far[section.name] = far[section.start] + section.length_m
    return max(far.values())


def smallest(choices: Sequence[Pipe], flow_kg_s: float, longest_run: LongestRun) -> Pipe | None:
    """Return the smallest pipe that carries a flow over the longest run within the drop, None if none does.

    Parameters
    ----------
    choices : sequence of Pipe
        The pipes to choose from, in any order.
    flow_kg_s : float
        What the section carries [kg/s].
    longest_run : LongestRun
        The length, the drop and the gas of the stage.

    Returns
    -------
    Pipe or None
        The choice of the least bore.
    """
    length_m, drop_pa, vapour, stage_gauge_pa, atmospheric_pa = longest_run
    inlet_pa = stage_gauge_pa + atmospheric_pa
    for pipe in sorted(choices, key=lambda pipe: pipe.bore_m):
        loss = ifgc(
            PipeFlow(flow_kg_s, pipe.bore_m, pipe.roughness_m, length_m, vapour, stage_gauge_pa, atmospheric_pa)
        )
        if inlet_pa - outlet_abs_pa(inlet_pa, loss) <= drop_pa:
            return pipe
    return None


def longest_run_sizes(job: Job, choices: Mapping[str, Sequence[Pipe]]) -> dict[str, Pipe | None]:
    """Return what the longest-run method chooses among pipes for each run, None where none is large enough.

    A stage that feeds second-stage regulators may lose what it has above the highest inlet pressure that they need.

    Parameters
    ----------
    job : Job
        The job; the pipes that its runs have do not matter.
    choices : mapping of str to sequence of Pipe
        By name of the run, the pipes to choose from.

    Returns
    -------
    dict of str to (Pipe or None)
        By name of the run.
    """
    line, method = Line(job), code_method(job, "ifgc")
    vapour = method.vapour(job.vapour) if method is not None else job.vapour
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
        longest_run = LongestRun(longest_run_m(sections), drop_pa, vapour, stage_pa, job.atmospheric_pa)
        for section in sections:
            chosen[section.name] = smallest(choices[section.name], section.flow_kg_s, longest_run)
    return chosen
