"""What stands on a sheet: a job's check, supply, test record, tightness and materials, worked out for one page."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

from drawbar.answers import remedies_of
from drawbar.catalogue.rows_used import library_text
from drawbar.checking.check import check_job
from drawbar.checking.drawn_way import DrawnWay, drawn_way
from drawbar.checking.results import CheckResult
from drawbar.display_units import Display
from drawbar.gas_supply.supplied import SupplyResult
from drawbar.gas_supply.supply import supply
from drawbar.materials.needs import needs_of
from drawbar.materials.takeoff import Takeoff, takeoff_of
from drawbar.onsite.commission import commission
from drawbar.onsite.readings import readings_of
from drawbar.onsite.test_record import TestRecord, record_of
from drawbar.onsite.tightness import Tightness, tightness_of
from drawbar.records.logo import logo_uri
from drawbar.verdict import Verdict, exit_code_of, verdict_of, worst_verdict
from drawbar.water_line.water_answer import ConnectionResult, water_results

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job
    from drawbar.remedies.remedy import Remedies


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """What a sheet is made from, beside the job itself: all of it is carried in the page.

    Attributes
    ----------
    job_text : str or None
        The text of a job file that gives the job, None where there is none.
    library_text : str
        The rows of the workshop's libraries that count, empty without any.
    readings_text : str or None
        The text of the file of readings.
    tightness : dict of str to Any
        The arguments of the tightness test that were given, as of `tightness_of`.
    date : datetime.date
        The date on the sheet.
    display : Display
        The units that it is shown in.
    asked : tuple of str
        What was asked beside the file, a line each; it is in the text.
    """

    job_text: str | None
    library_text: str
    readings_text: str | None
    tightness: dict[str, Any]
    date: datetime.date
    display: Display
    asked: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that a sheet shows.

    Attributes
    ----------
    result : CheckResult
        The job checked, with what is left in each state.
    drawn : DrawnWay
        The worst state in one real combination.
    remedies : Remedies or None
        What puts the pressures right; None where they hold at the worst corner.
    supplied : SupplyResult or None
        Bottles and regulators; None where the job says nothing of its bottles.
    record : TestRecord
        The working pressures of the drawn way, expected and read.
    tight : Tightness
        The line's volume, test, reading and purge.
    materials : Takeoff
        What it takes, without waste.
    water : tuple of ConnectionResult
        The connections of the water side.
    logo : str or None
        The workshop's logo as a data URI.
    made_from : MadeFrom
        What the page carries.
    catalogue : Catalogue
        What the job was read with.
    """

    result: CheckResult
    drawn: DrawnWay
    remedies: Remedies | None
    supplied: SupplyResult | None
    record: TestRecord
    tight: Tightness
    materials: Takeoff
    water: tuple[ConnectionResult, ...]
    logo: str | None
    made_from: MadeFrom
    catalogue: Catalogue = field(repr=False)

    @property
    def date(self) -> datetime.date:
        """The date on the sheet."""
        return self.made_from.date

    @property
    def bottles(self) -> Verdict | None:
        """The verdict on the bottles, None where the job says nothing of them."""
        if self.supplied is None:
            return None
        return verdict_of(reason for reason in self.supplied.because if reason.code != "regulator-rating")

    @property
    def hot_water(self) -> Verdict | None:
        """The verdict on the water side, None where the job says nothing of it."""
        return worst_verdict(each.verdict for each in self.water) if self.water else None

    @property
    def exit_code(self) -> int:
        """The exit code of a call that ends with the sheet: of the check, and of what was measured."""
        measured = (self.tight.verdict, self.record.verdict)
        return exit_code_of(each.exit_code for each in (self.result.verdict, *measured) if each is not None)


class Measured(NamedTuple):
    """What was measured on site, for the sheet to be filled in.

    Attributes
    ----------
    readings_text : str or None
        The text of a file of manometer readings.
    readings_file : str
        What that is called in problems.
    tightness : dict of str to Any
        Arguments of the tightness test, as `readings_gauge_pa`; see `drawbar.onsite.tightness.tightness_of`.
    """

    readings_text: str | None = None
    readings_file: str = "readings"
    tightness: Mapping[str, Any] = MappingProxyType({})


NOTHING_MEASURED = Measured()


def sheet_of(  # noqa: PLR0913 - a keyword for each thing that a sheet may be given
    job: Job,
    catalogue: Catalogue,
    text: str | None,
    *,
    date: datetime.date | None = None,
    measured: Measured = NOTHING_MEASURED,
    logo: str | None = None,
) -> Sheet:
    """Work out all that a sheet shows of a job.

    Parameters
    ----------
    job : Job
        A job whose runs have one size each.
    catalogue : Catalogue
        What it was read with: the tightness test of its rule set and the sources stand there.
    text : str or None
        The text that gives the job, as of `drawbar.records.job_text`; None where none does, and then the sheet can't
        be checked again.
    date : datetime.date, optional
        The date on the sheet; today where none is given.
    measured : Measured
        Readings of the manometer, and of the tightness test.
    logo : str, optional
        The workshop's logo as a data URI; without it, read from the file that the job or a library names.

    Returns
    -------
    Sheet
        What `drawbar.report.sheet.page.as_html` makes a page of.

    Raises
    ------
    ValueError
        If a run leaves its size open.
    TightnessError
        If an argument of the tightness test can't be right.
    Problems
        If the readings, the logo or the tightness test of a workshop's library can't be read.
    """
    result = check_job(job, with_headroom=True)
    drawn = drawn_way(result, result.states[0])
    commissioned = None
    if measured.readings_text is not None:
        commissioned = commission(job, readings_of(measured.readings_text, measured.readings_file, job))
    if logo is None and job.particulars.logo is not None:
        logo = logo_uri(job.particulars.logo)
    return Sheet(
        result=result,
        drawn=drawn,
        remedies=remedies_of(result, catalogue),
        supplied=supply(job) if job.cylinders is not None else None,
        record=record_of(job, drawn, commissioned),
        tight=tightness_of(job, catalogue, **measured.tightness),
        materials=takeoff_of(needs_of(job), Decimal(0)),
        water=water_results(job, with_fixes=False),
        logo=logo,
        made_from=MadeFrom(
            job_text=text,
            library_text=library_text(job, catalogue),
            readings_text=measured.readings_text,
            tightness=dict(measured.tightness),
            date=date or datetime.datetime.now().astimezone().date(),
            display=job.display,
            asked=job.asked,
        ),
        catalogue=catalogue,
    )
