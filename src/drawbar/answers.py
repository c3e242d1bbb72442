"""A job checked with all that stands beside the verdict: what puts it right, and what would have to be wrong."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drawbar.checking.break_even import BreakEven, break_even_values, closest_break_evens
from drawbar.checking.check import check_job
from drawbar.checking.results import CheckResult
from drawbar.job import Job

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.remedies.remedy import Remedies
    from drawbar.sizing.size_job import SizedJob
    from drawbar.verdict import Reason, Verdict

CLOSEST = 3
"""How many figures the page of one screen names that are the closest to making a job fail."""


class WholeCheck(NamedTuple):
    """A job checked, with what stands beside the verdict.

    Attributes
    ----------
    result : CheckResult
        The check.
    remedies : Remedies or None
        What puts the pressures right; None where they hold at the worst corner.
    bottles : tuple of Verdict and tuple of Reason, or None
        The verdict on the bottles, which stands beside that of the check, and why; None where the job has none.
    break_evens : tuple of BreakEven or None
        The values at which the job starts to fail: all of them, or the closest, the closest first. Empty where it fails
        as drawn; None where the combinations are too many to work them out.
    """

    result: CheckResult
    remedies: Remedies | None
    break_evens: tuple[BreakEven, ...] | None
    bottles: tuple[Verdict, tuple[Reason, ...]] | None = None


def whole_check(
    job: Job, formula: str | None = None, catalogue: Catalogue | None = None, *, in_full: bool = True
) -> WholeCheck:
    """Check a job, and work out the remedies and the figures closest to making it fail.

    Parameters
    ----------
    job : Job
        Every run with one size.
    formula : str or None
        A name of FORMULAS; None for the job's own.
    catalogue : Catalogue, optional
        What has the sizes that may put it right; without it, the project's own data.
    in_full : bool
        Whether to work out what each state has left and every break-even value, not only the closest.

    Returns
    -------
    WholeCheck
        The check and what stands beside it.

    Raises
    ------
    ValueError
        If a run leaves its size open, or the formula is not known.

    Examples
    --------
    >>> import drawbar
    >>> whole = drawbar.whole_check(drawbar.read_job("examples/ice-cream-van-fail.yaml"))
    >>> whole.result.verdict.word, whole.remedies.of_kind("fewest-runs").edits()
    ('FAIL', {'runs.main.pipe': 'as1432-b/19.05'})
    """
    if formula is not None and formula != job.formula:
        job = job._replace(formula=formula)
    return stands_beside(check_job(job, with_headroom=in_full), catalogue, in_full=in_full)


def stands_beside(result: CheckResult, catalogue: Catalogue | None = None, *, in_full: bool = True) -> WholeCheck:
    """Return a check that was made with what stands beside it, as `whole_check` does.

    Parameters
    ----------
    result : CheckResult
        The check.
    catalogue : Catalogue, optional
        What has the sizes that may put the job right; without it, the project's own data.
    in_full : bool
        Whether to work out every break-even value, not only the closest.

    Returns
    -------
    WholeCheck
        The check and what stands beside it.
    """
    return WholeCheck(result, remedies_of(result, catalogue), _break_evens(result, in_full=in_full), _bottles(result))


def remedies_of(result: CheckResult, catalogue: Catalogue | None = None) -> Remedies | None:
    """Return what puts the pressures of a job right that was checked; None where they hold at the worst corner."""
    if result.pressures_pass:
        return None
    from drawbar.remedies.search import remedies_for  # for what does not pass alone: it loads the search for sizes

    return remedies_for(result.job, catalogue)


class WholeSizes(NamedTuple):
    """The sizes of a job, and the job so sized checked with all that stands beside the verdict."""

    sized: SizedJob
    whole: WholeCheck


def _bottles(result: CheckResult) -> tuple[Verdict, tuple[Reason, ...]] | None:
    if result.job.cylinders is None:
        return None
    from drawbar.gas_supply.by_use import bottles_verdict  # for jobs with bottles alone

    bounds = [state.name for state in result.states if state.is_bound]
    loads_w = {state.name: state.total_w for state in result.states}
    verdict = bottles_verdict(result.job, loads_w, bounds)
    if verdict is None or result.job.water is None:
        return verdict
    from drawbar.gas_supply.in_turn import in_turn_supplies
    from drawbar.verdict import verdict_of

    in_turn = (each for supplied in in_turn_supplies(result.job, loads_w, bounds) for each in supplied.because)
    because = (*verdict[1], *in_turn)
    return verdict_of(because), because


def _break_evens(result: CheckResult, *, in_full: bool) -> tuple[BreakEven, ...] | None:
    solved = [state.solved for state in result.states]
    if in_full:
        return break_even_values(solved)
    return closest_break_evens(solved, CLOSEST, result.job.tolerances)
