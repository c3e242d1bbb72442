"""What stands on a sheet: a job's check, supply, test points, tightness and materials, worked out for one page."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from drawbar.answers import stands_beside
from drawbar.checking.check import check_job
from drawbar.checking.results import CheckResult
from drawbar.gas_supply.supplied import SupplyResult
from drawbar.gas_supply.supply import supply
from drawbar.materials.needs import needs_of
from drawbar.materials.takeoff import Takeoff, takeoff_of
from drawbar.onsite.commission import StateTable, expected_pressures
from drawbar.onsite.tightness import Tightness, tightness_of
from drawbar.report.sheet.sources import sheet_sources
from drawbar.report.verdict_words import part_verdicts
from drawbar.verdict import Verdict, verdict_of

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job
    from drawbar.remedies.remedy import Remedies


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that a sheet shows.

    Attributes
    ----------
    result : CheckResult
        The job checked, with what is left in each state.
    remedies : Remedies or None
        What puts the pressures right; None where they hold at the worst corner.
    points : StateTable
        The test points of the worst state.
    supplied : SupplyResult or None
        Bottles and regulators; None where the job says nothing of its bottles.
    tight : Tightness
        The line's volume, test and purge.
    materials : Takeoff
        What it takes, without waste.
    sources : sequence of (str, str)
        Figures, and where they stand.
    date : datetime.date
        The date on the sheet.
    """

    result: CheckResult
    remedies: Remedies | None
    points: StateTable
    supplied: SupplyResult | None
    tight: Tightness
    materials: Takeoff
    sources: Sequence[tuple[str, str]]
    date: datetime.date

    @property
    def verdict(self) -> Verdict:
        """The verdict on the job by its check."""
        return self.result.verdict

    @property
    def parts(self) -> dict[str, Verdict]:
        """The verdict on each part that was worked out, as the head of the sheet shows them."""
        space = self.result.space
        parts = part_verdicts(self.result.because, has_vents=space is not None and space.formula is not None)
        if self.supplied is None:
            return parts
        of_bottles = (reason for reason in self.supplied.because if reason.code != "regulator-rating")
        return {**parts, "bottles": verdict_of(of_bottles)}


def sheet_of(job: Job, catalogue: Catalogue, *, date: datetime.date | None = None) -> Sheet:
    """Work out all that a sheet shows of a job.

    Parameters
    ----------
    job : Job
        A job whose runs have one size each.
    catalogue : Catalogue
        What it was read with: the tightness test of its rule set and the sources stand there.
    date : datetime.date, optional
        The date on the sheet; today where none is given.

    Returns
    -------
    Sheet
        What `drawbar.report.sheet.page.as_html` makes a page of.

    Raises
    ------
    ValueError
        If a run leaves its size open.
    Problems
        If the tightness test of a workshop's library can't be read.
    """
    result = check_job(job, with_headroom=True)
    supplied = supply(job) if job.cylinders is not None else None
    tight = tightness_of(job, catalogue)
    return Sheet(
        result=result,
        remedies=stands_beside(result, catalogue, in_full=False).remedies,
        points=next(table for table in expected_pressures(job, result).states if table.state == result.states[0].name),
        supplied=supplied,
        tight=tight,
        materials=takeoff_of(needs_of(job), Decimal(0)),
        sources=sheet_sources(result, supplied, tight, catalogue),
        date=date or datetime.datetime.now().astimezone().date(),
    )
