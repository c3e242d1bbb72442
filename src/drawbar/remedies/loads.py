"""The largest appliance that passes with the line as it is, one appliance at a time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.spare import largest
from drawbar.job import Appliance, Job
from drawbar.remedies.changes import LoadChange
from drawbar.remedies.looks import Looks
from drawbar.remedies.remedy import SMALLER_LOAD, Remedy

_LEAST_W = 1e5 / 3600.0  # 0.1 MJ/h, the least input that a job file may give


def smaller_loads(looks: Looks, names: Sequence[str]) -> Iterator[Remedy]:
    """Yield each appliance that passes where it alone is smaller, with the largest input that does.

    Parameters
    ----------
    looks : Looks
        The job that fails.
    names : sequence of str
        The appliances to try.

    Yields
    ------
    Remedy
        In the job's order.

    Raises
    ------
    TooManyLooksError
        If the job is too crowded to tell.
    """
    for appliance in looks.job.appliances:
        if appliance.name not in names:
            continue
        most_w = largest_input_w(looks, appliance)
        if most_w >= _LEAST_W:
            change = LoadChange(appliance.name, appliance.input_w, most_w)
            yield Remedy(SMALLER_LOAD, (change,), looks.margin_pa(_with_input(looks.job, appliance, most_w)))


def largest_input_w(looks: Looks, appliance: Appliance) -> float:
    """Return the largest input of an appliance, no more than it has, with which the job passes as it is otherwise.

    Parameters
    ----------
    looks : Looks
        The job.
    appliance : Appliance
        One of its own.

    Returns
    -------
    float
        Gross heat [W], 0 if the job fails without the appliance too.
    """
    return largest(
        lambda input_w: looks.figure_pa(_with_input(looks.job, appliance, input_w)),
        appliance.input_w,
        appliance.input_w / 2.0,
    )


def _with_input(job: Job, appliance: Appliance, input_w: float) -> Job:
    changed = appliance._replace(input_w=input_w, flow_kg_s=input_w / job.gas.gross_j_kg)
    return job._replace(
        appliances=tuple(changed if other.name == appliance.name else other for other in job.appliances)
    )
