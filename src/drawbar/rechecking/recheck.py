"""Old jobs looked at again: what passes and fails once appliances are swapped, and what would put it right.

A job is checked twice, as it stands and with the swaps, for verdict and least margin alone. A job that passed and now
fails is sized anew: a run that keeps its pipe costs nothing, so the answer is the cheapest change.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.results import TOLERANCE_PA
from drawbar.checking.spare import MOST_HEAT_W, largest
from drawbar.checking.vents import check_space
from drawbar.job import Appliance, Job, Pipe, Run
from drawbar.jobfile.pipework import heat_and_flow
from drawbar.jobfile.reader import job_of
from drawbar.line.network import Line
from drawbar.line.plugging import plans_of
from drawbar.line.state import StateOnLine
from drawbar.problems import Problems, close_to
from drawbar.sizing.size import Cost, cheapest_sizes, mass_cost
from drawbar.yamlfile import nodes
from drawbar.yamlfile.bounds import HEAT

PASS_TO_FAIL = "pass to fail"
FAIL_TO_PASS = "fail to pass"
STILL_PASSES = "still passes"
STILL_FAILS = "still fails"
UNTOUCHED = "not touched"
UNREAD = "not read"
CHANGES = (PASS_TO_FAIL, FAIL_TO_PASS, STILL_FAILS, STILL_PASSES, UNTOUCHED, UNREAD)


@dataclass(frozen=True, slots=True)
class Swap:
    """An appliance taken out for another.

    old : its name in the job, or the catalogue entry that it is `like`
    new : what stands for it: a catalogue entry, or a rate as it was typed
    rate, dimension, basis : the new rate in the SI unit of its dimension, with the basis of a heat rate
    like : the catalogue entry that the new one is, None for a rate
    """

    old: str
    new: str
    rate: float
    dimension: units.Dimension
    basis: str | None = None
    like: str | None = None


class SwapError(ValueError):
    """A swap that names no appliance of the catalogue and no rate."""


def parse_swap(old: str, new: str, catalogue: Catalogue) -> Swap:
    """Return the swap of one appliance for a catalogue entry or a rate such as `30 MJ/h`. Raises SwapError."""
    if not old:
        raise SwapError("a swap has no old appliance; write OLD=NEW, as `urn=24 MJ/h`")
    listed = catalogue.appliance(new)
    if listed is not None:
        return Swap(old, new, listed.input.value, listed.input.dimension, listed.input.basis, new)
    try:
        value, unit, dimension = units.number_and_unit(new, *HEAT.dimensions)
    except units.UnitError as error:
        near = close_to(new, catalogue.names("appliances"))
        raise SwapError(f"`{new}` is no appliance of the catalogue and no rate; {near or error.fit}") from None
    rate = units.to_si(value, unit, dimension)
    if dimension is units.HEAT_RATE and not HEAT.holds(rate):
        raise SwapError(f"`{new}` can't be right; write from {HEAT.low} to {HEAT.high}")
    return Swap(old, new, rate, dimension)


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a job stands: whether it passes, and the least margin [Pa] with the state and the appliance that has it.

    vents_pass : whether the vents of its space are large enough, which it must pass too
    """

    passes: bool
    margin_pa: float
    state: str
    appliance: str
    vents_pass: bool = True

    @property
    def pressures_pass(self) -> bool:
        """Tell whether every appliance gets its pressure, whatever the vents."""
        return self.margin_pa >= -TOLERANCE_PA


@dataclass(frozen=True, slots=True)
class Remedy:
    """What would put a job right.

    sizes : (run, size it has, size that it needs) of the cheapest change of sizes; empty if no size in the families
    is enough
    cost, unit : of that change
    largest_w : by swapped appliance, the largest input that passes with the pipes as they are [W]
    """

    sizes: tuple[tuple[str, str, str], ...]
    cost: float | None
    unit: str
    largest_w: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One job looked at again.

    swapped : the appliances that were swapped, by their names in the job
    problems : what is wrong with the file, where it could not be read
    """

    file: str
    title: str = ""
    ref: str | None = None
    swapped: tuple[str, ...] = ()
    before: Verdict | None = None
    after: Verdict | None = None
    remedy: Remedy | None = None
    problems: tuple[str, ...] = ()

    @property
    def change(self) -> str:
        """One of CHANGES."""
        if self.before is None or self.after is None:
            return UNREAD
        if self.before.passes != self.after.passes:
            return PASS_TO_FAIL if self.before.passes else FAIL_TO_PASS
        if not self.after.passes:
            return STILL_FAILS
        return STILL_PASSES if self.swapped else UNTOUCHED

    @property
    def exit_code(self) -> int:
        """0 where the job passes after the swaps, 1 where it fails, 2 where it could not be read."""
        if self.after is None:
            return 2
        return 0 if self.after.passes else 1


def recheck_file(file: str, catalogue: Catalogue, swaps: Sequence[Swap]) -> Outcome:
    """Read a job file and look at it again; what is wrong with the file is in the outcome."""
    try:
        return recheck_job(job_of(nodes.read_text(file), file, catalogue, sized=True), swaps, catalogue)
    except Problems as error:
        return Outcome(file, problems=tuple(map(str, error.problems)))


def recheck_job(job: Job, swaps: Sequence[Swap], catalogue: Catalogue) -> Outcome:
    """Look at a job again with appliances swapped."""
    before = verdict(job)
    swapped, names = swapped_job(job, swaps)
    if not names:
        return Outcome(job.file, job.title, job.ref, (), before, before)
    after = verdict(swapped)
    remedy = remedy_for(swapped, names, catalogue) if before.passes and not after.pressures_pass else None
    return Outcome(job.file, job.title, job.ref, names, before, after, remedy)


def swapped_job(job: Job, swaps: Sequence[Swap]) -> tuple[Job, tuple[str, ...]]:
    """Return the job with its appliances swapped, and the names of those that were; of two swaps the first counts."""
    by_old = {swap.old: swap for swap in reversed(swaps)}
    names = []
    appliances: list[Appliance] = []
    for one in job.appliances:
        swap = by_old.get(one.name) or (by_old.get(one.like) if one.like else None)
        if swap is None:
            appliances.append(one)
            continue
        names.append(one.name)
        input_w, flow_kg_s = heat_and_flow(swap.rate, swap.dimension, swap.basis, job.gas)
        appliances.append(replace(one, input_w=input_w, flow_kg_s=flow_kg_s, like=swap.like))
    return (replace(job, appliances=tuple(appliances)), tuple(names)) if names else (job, ())


def verdict(job: Job) -> Verdict:
    """Return how a job stands, without the figures of a full check."""
    line = Line(job)
    least = (float("inf"), "", "")
    for plan in plans_of(job):
        margin_pa, name = StateOnLine(line, plan).worst()
        if margin_pa < least[0]:
            least = (margin_pa, plan.state.name, name)
    space = check_space(job)
    vents_pass = space is None or space.passes
    return Verdict(least[0] >= -TOLERANCE_PA and vents_pass, *least, vents_pass)


def remedy_for(job: Job, swapped: Sequence[str], catalogue: Catalogue) -> Remedy:
    """Return the cheapest change of sizes that lets a job pass, or else how large each swapped appliance may be."""
    opened = replace(job, runs=tuple(replace(run, pipes=_choices(run, catalogue)) for run in job.runs))
    own, unit = mass_cost(opened)
    found = cheapest_sizes(opened, _change_cost(job, own))
    if found is not None:
        pipes = found.pipes
        changed = tuple(
            (run.name, run.pipes[0].label, pipes[run.name].label) for run in job.runs if pipes[run.name] != run.pipes[0]
        )
        return Remedy(changed, found.cost, unit, ())
    return Remedy((), None, unit, tuple((name, largest_input_w(job, name)) for name in swapped))


def largest_input_w(job: Job, name: str) -> float:
    """Return the largest input of one appliance with which the job passes as it is otherwise [W], 0 if none does."""
    gross_j_kg = job.gas.gross_j_kg

    def margin_pa(input_w: float) -> float:
        changed = tuple(
            replace(one, input_w=input_w, flow_kg_s=input_w / gross_j_kg) if one.name == name else one
            for one in job.appliances
        )
        return verdict(replace(job, appliances=changed)).margin_pa

    return largest(margin_pa, MOST_HEAT_W, 10_000.0)


def _choices(run: Run, catalogue: Catalogue) -> tuple[Pipe, ...]:
    """Return the pipe of a run and all sizes of its family; a pipe of the user's own has no family."""
    pipe = run.pipes[0]
    sizes: Mapping[str, Pipe] = catalogue.sizes(pipe.label.partition("/")[0]) or {}
    return (pipe, *(other for other in sizes.values() if other != pipe))


def _change_cost(job: Job, own: Cost) -> Cost:
    """Return the cost of a change: nothing for a run that keeps its pipe, the whole new pipe for one that does not."""
    kept = {run.name: run.pipes[0] for run in job.runs}
    return lambda run, pipe: 0.0 if pipe == kept[run.name] else own(run, pipe)
