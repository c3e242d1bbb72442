"""Jobs with other appliances than they were made for: how they stand, and what puts them right."""

from __future__ import annotations

from collections.abc import Sequence

import drawbar.rechecking.recheck as _recheck
from drawbar.api.files import shipped_catalogue
from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job, decided
from drawbar.rechecking.recheck import Outcome, Remedy, Swap


def swap_of(old: str, new: str, catalogue: Catalogue | None = None) -> Swap:
    """Return the swap of an appliance.

    Parameters
    ----------
    old : str
        The name of an appliance in the jobs, or the type that it is `like`.
    new : str
        What stands for it: a type of the catalogue, or a rate as `30 MJ/h`.
    catalogue : Catalogue, optional
        What has the types; without it, the project's own data.

    Returns
    -------
    Swap
        The swap, for `recheck` and `swapped`.

    Raises
    ------
    SwapError
        If the new one is neither a type nor a rate.

    Examples
    --------
    >>> import drawbar
    >>> drawbar.swap_of("basin", "45 MJ/h").rate
    12500.0
    """
    return _recheck.parse_swap(old, new, catalogue or shipped_catalogue())


def swapped(job: Job, swaps: Sequence[Swap]) -> Job:
    """Return a job with its appliances swapped; where two swaps name the same appliance, the first counts.

    Parameters
    ----------
    job : Job
        The job.
    swaps : sequence of Swap
        The swaps; those whose appliance the job has not are passed over.

    Returns
    -------
    Job
        The job with the new inputs, and all else as it was.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> after = drawbar.swapped(job, [drawbar.swap_of("basin", "45 MJ/h")])
    >>> [appliance.input_w for appliance in after.appliances if appliance.name == "basin"]
    [12500.0]
    """
    return _recheck.swapped_job(job, swaps)[0]


def recheck(job: Job, swaps: Sequence[Swap], catalogue: Catalogue | None = None) -> Outcome:
    """Look at a job again with appliances swapped: how it stands before and after, and what would put it right.

    Parameters
    ----------
    job : Job
        The job as it stands, with one size a run.
    swaps : sequence of Swap
        The swaps, as `swap_of` makes them.
    catalogue : Catalogue, optional
        Whose pipe sizes may put it right; without it, the project's own data.

    Returns
    -------
    Outcome
        The verdicts before and after and, where it passed and now fails, the remedy.

    Raises
    ------
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> outcome = drawbar.recheck(job, [drawbar.swap_of("basin", "120 MJ/h")])
    >>> outcome.change
    'pass to fail'
    """
    return _recheck.recheck_job(decided(job), swaps, catalogue or shipped_catalogue())


def remedied(job: Job, remedy: Remedy, catalogue: Catalogue | None = None) -> Job:
    """Return a job with the sizes of a remedy.

    Parameters
    ----------
    job : Job
        The job that was looked at again, with its appliances swapped or as it was.
    remedy : Remedy
        What `recheck` says would put it right.
    catalogue : Catalogue, optional
        What has the sizes, the same as in `recheck`.

    Returns
    -------
    Job
        The job with the new pipe in the runs that need it, and all else as it was.

    Raises
    ------
    ValueError
        If no change of sizes puts the job right.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> swaps = [drawbar.swap_of("basin", "120 MJ/h")]
    >>> remedy = drawbar.recheck(job, swaps).remedy
    >>> drawbar.check(drawbar.remedied(drawbar.swapped(job, swaps), remedy)).pressures_pass
    True
    """
    if not remedy.sizes:
        raise ValueError("no change of sizes puts the job right")
    new_sizes = {run: new for run, _, new in remedy.sizes}
    runs = []
    for run in job.runs:
        family, _, size = new_sizes.get(run.name, "").partition("/")
        sizes = (catalogue or shipped_catalogue()).sizes(family) or {}
        runs.append(run._replace(pipes=(sizes[size],)) if run.name in new_sizes else run)
    return job._replace(runs=tuple(runs))
