"""What puts a job right: the cheapest change of sizes, or how large the swapped appliances may be.

The job is sized anew with every size of its pipes' families; a run that keeps its pipe costs nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.checking.spare import MOST_HEAT_W, largest
from drawbar.job import Job, Pipe, Run
from drawbar.rechecking.standing import standing
from drawbar.sizing.size import Cost, cheapest_sizes, mass_cost

_START_W = 10_000.0  # where the search for the largest input starts


class SizeChange(NamedTuple):
    """A run that gets another size: its name, the size it has and the size that it needs, each as `family/size`."""

    run: str
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class Remedy:
    """What would put a job right.

    Attributes
    ----------
    sizes : tuple of SizeChange
        The cheapest change of sizes; empty if no size in the families is enough.
    cost : float or None
        What it costs, in `unit`; None without a change of sizes.
    unit : str
        The unit of the cost.
    largest_w : tuple of (str, float)
        By swapped appliance, the largest input that passes with the pipes as they are [W]; empty with a change of
        sizes.
    """

    sizes: tuple[SizeChange, ...]
    cost: float | None
    unit: str
    largest_w: tuple[tuple[str, float], ...]

    def applied_to(self, job: Job, catalogue: Catalogue | None = None) -> Job:
        """Return a job with the sizes that put it right.

        Parameters
        ----------
        job : Job
            The job that the remedy is for, with its appliances swapped or as it stood before.
        catalogue : Catalogue, optional
            What has the sizes, the same as for the remedy; without it, the project's own data.

        Returns
        -------
        Job
            The job with the new pipe in the runs of `sizes`, and all else as it was.

        Raises
        ------
        ValueError
            If there is no change of sizes, or the job or the catalogue is not the one that the remedy is for.

        Examples
        --------
        >>> import drawbar
        >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
        >>> swaps = [drawbar.parse_swap("basin", "120 MJ/h")]
        >>> remedy = drawbar.recheck(job, swaps).remedy
        >>> drawbar.check(drawbar.swapped(remedy.applied_to(job), swaps)).pressures_pass
        True
        """
        if not self.sizes:
            raise ValueError("no change of sizes puts the job right")
        catalogue = catalogue or shipped_catalogue()
        changes = {change.run: change for change in self.sizes}
        runs = []
        for run in job.runs:
            change = changes.pop(run.name, None)
            runs.append(run if change is None else run._replace(pipes=(_new_pipe(run, change, catalogue),)))
        if changes:
            raise ValueError(f"the job has no run {next(iter(changes))}")
        return job._replace(runs=tuple(runs))


def remedy_for(job: Job, swapped: Sequence[str], catalogue: Catalogue) -> Remedy:
    """Return the cheapest change of sizes that lets a job pass, or else how large each swapped appliance may be.

    Parameters
    ----------
    job : Job
        A job with its appliances swapped, which fails.
    swapped : sequence of str
        The names of the swapped appliances.
    catalogue : Catalogue
        What has the sizes of the families.

    Returns
    -------
    Remedy
        What would put the job right.
    """
    opened = job._replace(runs=tuple(run._replace(pipes=_choices(run, catalogue)) for run in job.runs))
    pipe_cost, unit = mass_cost(opened)
    cheapest = cheapest_sizes(opened, _change_cost(job, pipe_cost))
    if cheapest is None:
        return Remedy((), None, unit, tuple((name, largest_input_w(job, name)) for name in swapped))
    changes = tuple(
        SizeChange(run.name, run.pipe.label, cheapest.pipes[run.name].label)
        for run in job.runs
        if cheapest.pipes[run.name] != run.pipe
    )
    return Remedy(changes, cheapest.cost, unit, ())


def largest_input_w(job: Job, name: str) -> float:
    """Return the largest input of an appliance with which the job passes as it is otherwise.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.
    name : str
        The appliance.

    Returns
    -------
    float
        Gross heat [W], 0 if the job fails without the appliance too.
    """
    gross_j_kg = job.gas.gross_j_kg

    def margin_pa(input_w: float) -> float:
        appliances = tuple(
            appliance._replace(input_w=input_w, flow_kg_s=input_w / gross_j_kg) if appliance.name == name else appliance
            for appliance in job.appliances
        )
        return standing(job._replace(appliances=appliances)).margin_pa

    return largest(margin_pa, MOST_HEAT_W, _START_W)


def _new_pipe(run: Run, change: SizeChange, catalogue: Catalogue) -> Pipe:
    if run.pipe.label != change.old:
        raise ValueError(f"run {run.name} has {run.pipe.label}, not {change.old}, which the remedy takes out")
    family, _, size = change.new.partition("/")
    pipe = (catalogue.sizes(family) or {}).get(size)
    if pipe is None:
        raise ValueError(f"the catalogue has no pipe {change.new}")
    return pipe


def _choices(run: Run, catalogue: Catalogue) -> tuple[Pipe, ...]:
    """Return the pipe of a run and all sizes of its family; a pipe of the user's own has no family."""
    pipe = run.pipe
    sizes: Mapping[str, Pipe] = catalogue.sizes(pipe.label.partition("/")[0]) or {}
    return (pipe, *(other for other in sizes.values() if other != pipe))


def _change_cost(job: Job, pipe_cost: Cost) -> Cost:
    """Return the cost of a change: nothing for a run that keeps its pipe, the whole new pipe for one that does not."""
    kept = {run.name: run.pipe for run in job.runs}
    return lambda run, pipe: 0.0 if pipe == kept[run.name] else pipe_cost(run, pipe)
