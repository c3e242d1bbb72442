"""`drawbar sheet`."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

import click

from drawbar.cli import complete
from drawbar.cli.options import INPUT_FILE, FileCommand, force_option, job_options, refuse_input
from drawbar.cli.reading import InputWrong, problems_told
from drawbar.cli.tightness_options import refusal, tightness_options

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader

_EXTRA = ("jinja2", "markupsafe", "svg")  # the modules of the extra
_OF_PAGE, _OF_VERIFY = ("html", "pdf"), ("table", "json")


@click.command(
    name="sheet",
    cls=FileCommand,
    judges=True,
    short_help="Write the record of a job on a page to print and file.",
)
@click.argument("file", metavar="[JOB]", type=INPUT_FILE, required=False)
@click.option(
    "-o",
    "--out",
    metavar="FILE",
    shell_complete=complete.file_names,
    help="Write the sheet to FILE, whole or not at all: HTML, or PDF where it ends in .pdf; - for standard output.",
)
@click.option(
    "--verify",
    "verified",
    metavar="SHEET",
    type=INPUT_FILE,
    help="Work an HTML sheet out again and compare each figure: with the job it carries, or with JOB as it is now.",
)
@click.option(
    "--readings",
    "readings_file",
    metavar="READINGS",
    type=INPUT_FILE,
    help="Fill in the test record from a file of readings, as of `drawbar commission`.",
)
@tightness_options
@click.option(
    "--format",
    "form",
    type=click.Choice((*_OF_PAGE, *_OF_VERIFY)),
    help="Of the sheet html or pdf (default: by the name of FILE), with --verify table or json.",
)
@click.option(
    "--date",
    type=click.DateTime(("%Y-%m-%d",)),
    metavar="DATE",
    help="The date on the sheet, as 2026-01-31. Default: today.",
)
@job_options
@force_option
@click.pass_context
def sheet_command(
    ctx: click.Context,
    *,
    file: str | None,
    out: str | None,
    verified: str | None,
    readings_file: str | None,
    visit: dict[str, Any],
    form: str | None,
    date: datetime.datetime | None,
    reader: JobReader,
) -> None:
    """Write the record of a job on a page to print, file and check again.

    JOB is a job file, or - for standard input. Every run must have one size.
    The page has the verdicts, drawings, tables and a test record: boxes to
    fill in by hand, or filled in with --readings and the tightness test's
    --start, --end and so on. It needs no network and no script, and carries
    its job file: `drawbar check SHEET.html` reads the job out of it.

    The exit code is that of `drawbar check` and of what was measured. With
    --verify: 0 the sheet stands, 1 a figure does not, 2 it was changed by
    hand or can't be read, 3 a part could not be compared. A digest shows a
    change; it is no signature.

    \b
    Examples:
      drawbar sheet examples/harvest-fair-trailer.yaml -o sheet.html
      drawbar sheet examples/riverboat-two-stage.yaml -o boat.pdf \\
          --date 2026-01-31
      drawbar sheet --verify sheet.html
    """
    if verified is not None:
        _refuse_beside_verify(ctx, readings_file, visit, date, form)
        _verify(ctx, file, verified, form or "table", out, reader)
        return
    if file is None or out is None:
        raise click.UsageError("Give JOB and -o FILE, or --verify SHEET.", ctx)
    if form in _OF_VERIFY:
        raise click.BadParameter("goes with --verify; a sheet is html or pdf", ctx, param_hint="--format")
    from drawbar.cli.output import write
    from drawbar.onsite.tightness import TightnessError
    from drawbar.records.job_text import job_text
    from drawbar.records.sheet import Measured, sheet_of
    from drawbar.yamlfile.carried import JOB, READINGS, read_carried

    as_html = _page_maker()
    with problems_told():
        text = read_carried(file, JOB)
        job = reader.job_of(text, file, sized=True)
        if job.particulars.logo is not None:
            refuse_input(ctx, out, [job.particulars.logo])
        readings = read_carried(readings_file, READINGS) if readings_file is not None else None
        measured = Measured(readings, readings_file or "", visit)
        given = job_text(job, reader.catalogue, text)
        try:
            day = date.date() if date is not None else None
            sheet = sheet_of(job, reader.catalogue, given, date=day, measured=measured)
        except TightnessError as error:
            raise refusal(ctx, error) from None
    page = as_html(sheet)
    if form == "pdf" or (form is None and out.lower().endswith(".pdf")):
        from drawbar.cli.browser import pdf_of
        from drawbar.cli.earlier_output import marked_pdf

        write(marked_pdf(pdf_of(page)), out)
    else:
        write(page.encode(), out)  # as it is: it holds what sets names apart, and the job file to the letter
    ctx.exit(sheet.exit_code)


def _page_maker() -> Any:
    """Return what makes a page of a sheet; the call ends with how to install the extra where it is missing."""
    try:
        from drawbar.report.sheet.page import as_html
    except ModuleNotFoundError as error:
        if error.name not in _EXTRA:
            raise
        from drawbar.cli.extras import install_advice

        raise InputWrong(f"drawbar sheet needs more packages: {install_advice('sheet')}") from None
    return as_html


def _refuse_beside_verify(
    ctx: click.Context,
    readings_file: str | None,
    visit: dict[str, Any],
    date: datetime.datetime | None,
    form: str | None,
) -> None:
    """End the call where something is asked of a sheet to be made, beside one to be verified."""
    if form in _OF_PAGE:
        raise click.BadParameter("with --verify it is table or json", ctx, param_hint="--format")
    if readings_file is not None or visit or date is not None:
        what = "--verify takes the readings, the tightness test and the date from the sheet; leave them out."
        raise click.UsageError(what, ctx)


def _verify(ctx: click.Context, file: str | None, verified: str, form: str, out: str | None, reader: JobReader) -> None:
    """Compare a sheet with the job that it carries, or with a job file and a library as they are now."""
    from drawbar.api.sheets import verify_sheet
    from drawbar.cli.output import emit
    from drawbar.report.verify_report import VerifyReport

    if verified == "-":
        raise click.BadParameter("needs a file, not standard input", click.get_current_context(), param_hint="--verify")
    _page_maker()
    if file is None and (reader.settings or reader.swaps or reader.units):
        raise click.UsageError("--set, --swap and --units go with JOB; the sheet says what it was made with.", ctx)
    now = reader.catalogue if reader.libraries or file is not None else None
    job = reader.job(file, sized=True) if file is not None else None
    with problems_told():
        result = verify_sheet(verified, job, now)
    emit(VerifyReport(), [result], form, out)
    ctx.exit(result.exit_code)
