"""`drawbar sheet`."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.common import InputWrong, catalogue, library_option, problems_told

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.checking.results import CheckResult
    from drawbar.report.sheet.page import Sheet

EXTRA = ("jinja2", "markupsafe", "svg")  # the modules of the extra
MISSING = "drawbar sheet needs the extra: pip install 'drawbar[sheet]'"


@click.command(name="sheet", short_help="Write one page to print and file.")
@click.argument("file", metavar="JOB", shell_complete=complete.file_names)
@click.option(
    "-o",
    "--out",
    required=True,
    metavar="FILE",
    shell_complete=complete.file_names,
    help="Write the sheet to FILE, whole or not at all.",
)
@click.option(
    "--format",
    "form",
    type=click.Choice(("html", "pdf")),
    default="html",
    show_default=True,
    help="pdf is printed by a browser, if there is one.",
)
@click.option(
    "--date",
    type=click.DateTime(("%Y-%m-%d",)),
    metavar="DATE",
    help="The date on the sheet, as 2026-01-31. Default: today.",
)
@library_option
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    out: str,
    form: str,
    date: datetime.datetime | None,
    libraries: tuple[str, ...],
) -> None:
    """Write one page to print and file: drawing, pressures, tables, cautions.

    JOB is a job file, or - for standard input. Every run must have one size.
    The page needs no network and no script. The exit code is that of `drawbar
    check`.

    \b
    Examples:
      drawbar sheet examples/harvest-fair-trailer.yaml -o sheet.html
      drawbar sheet examples/riverboat-two-stage.yaml -o boat.html \\
          --date 2026-01-31
    """
    from drawbar.checking.check import check
    from drawbar.cli.common import write
    from drawbar.jobfile.reader import read_job_file

    try:
        from drawbar.report.sheet.page import as_html
    except ModuleNotFoundError as error:
        if error.name not in EXTRA:
            raise
        raise InputWrong(MISSING) from None
    known = catalogue(libraries)
    with problems_told():
        job = read_job_file(file, known, sized=True)
    result = check(job, with_headroom=True)
    day = date.date() if date is not None else datetime.datetime.now().astimezone().date()
    html = as_html(_sheet(result, known, day.isoformat()))
    if form == "pdf":
        from drawbar.cli.browser import pdf_of

        write(pdf_of(html), out)
    else:
        write(html, out)
    ctx.exit(0 if result.passes else 1)


def _sheet(result: CheckResult, known: Catalogue, date: str) -> Sheet:
    """Return all that the sheet shows of a checked job."""
    from decimal import Decimal

    from drawbar.gas_supply import supply
    from drawbar.materials.needs import needs_of
    from drawbar.materials.takeoff import takeoff_of
    from drawbar.onsite.commission import expected_pressures
    from drawbar.onsite.tightness import tightness
    from drawbar.report.sheet.page import Sheet
    from drawbar.report.sheet.sources import sources_of

    job = result.job
    supplied = supply(job) if job.cylinders is not None else None
    with problems_told():
        tight = tightness(job, known)
    points = next(table for table in expected_pressures(job, result).states if table.state == result.states[0].name)
    materials = takeoff_of(needs_of(job), Decimal(0))
    return Sheet(result, points, supplied, tight, materials, sources_of(result, supplied, tight, known), date)
