"""What puts a job right: one kind of change, which can be made in a job, and all the kinds of a job, best first."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.display_units import METRIC, Display
from drawbar.job import Job
from drawbar.remedies.changes import Change, SizeChange
from drawbar.remedies.failing import DropShare

LARGER_HOSE = "larger-hose"
OTHER_DEVICE = "other-device"
SHORTER_HOSE = "shorter-hose"
LARGER_RUNS = "larger-runs"
FEWEST_RUNS = "fewest-runs"
SMALLER_LOAD = "smaller-load"
REMEDY_KINDS = (LARGER_HOSE, OTHER_DEVICE, SHORTER_HOSE, LARGER_RUNS, FEWEST_RUNS, SMALLER_LOAD)


class Remedy(NamedTuple):
    """What would put a job right: changes of one kind, which pass together.

    Attributes
    ----------
    kind : str
        One of REMEDY_KINDS.
    changes : tuple of Change
        What is to be changed.
    margin_pa : float
        The least margin at the worst corner once it is [Pa].
    cost : float or None
        What the new pipe or hose costs, in `unit`; None for other kinds.
    unit : str
        The unit of the cost.
    is_proven : bool
        Whether no other changes of its kind pass and cost less.
    """

    kind: str
    changes: tuple[Change, ...]
    margin_pa: float
    cost: float | None = None
    unit: str = ""
    is_proven: bool = True

    @property
    def sizes(self) -> tuple[SizeChange, ...]:
        """The runs that get another size."""
        return tuple(change for change in self.changes if isinstance(change, SizeChange))

    def applied_to(self, job: Job, catalogue: Catalogue | None = None) -> Job:
        """Return a job with the changes that put it right.

        Parameters
        ----------
        job : Job
            The job that the remedy is for, with its appliances swapped or as it stood before.
        catalogue : Catalogue, optional
            What has the sizes, the same as for the remedy; without it, the project's own data.

        Returns
        -------
        Job
            The job with the changes, and all else as it was.

        Raises
        ------
        ValueError
            If the job or the catalogue is not the one that the remedy is for.

        Examples
        --------
        >>> import drawbar
        >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
        >>> swaps = [drawbar.parse_swap("basin", "120 MJ/h")]
        >>> remedy = drawbar.recheck(job, swaps).remedies.best
        >>> drawbar.check(drawbar.swapped(remedy.applied_to(job), swaps)).pressures_pass
        True
        """
        catalogue = catalogue or shipped_catalogue()
        for change in self.changes:
            job = change.made_in(job, catalogue)
        return job

    def edits(self, display: Display = METRIC) -> dict[str, str]:
        """Return what is to stand in the job file, by its key, as `runs.main.pipe: as1432-b/19.05`.

        Parameters
        ----------
        display : Display
            The units to write figures in. A figure that may not be exceeded is rounded down.

        Returns
        -------
        dict of str to str
            A device is written whole.
        """
        return dict(change.edit(display) for change in self.changes)


class Remedies(NamedTuple):
    """What would put a job right, the best first: see `drawbar.remedies.search` for the order.

    Attributes
    ----------
    in_order : tuple of Remedy
        Empty where the job needs none, or no single kind of change is enough.
    bottleneck : DropShare or None
        What takes most of the drop to the appliance that is worst off; None where the job needs no remedy.
    unfinished : tuple of str
        The kinds that were not all tried, as the job has too many combinations.
    display : Display
        The units of the job.
    """

    in_order: tuple[Remedy, ...] = ()
    bottleneck: DropShare | None = None
    unfinished: tuple[str, ...] = ()
    display: Display = METRIC

    @property
    def best(self) -> Remedy | None:
        """The one to do first, None where there is none."""
        return self.in_order[0] if self.in_order else None

    def of_kind(self, kind: str) -> Remedy | None:
        """Return the best remedy of a kind, None where there is none."""
        return next((remedy for remedy in self.in_order if remedy.kind == kind), None)
