"""`drawbar sheet`."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.options import INPUT_FILE, FileCommand, job_options
from drawbar.cli.reading import InputWrong

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader

_EXTRA = ("jinja2", "markupsafe", "svg")  # the modules of the extra
_MISSING = "drawbar sheet needs the extra: pip install 'drawbar[sheet]'"


@click.command(name="sheet", cls=FileCommand, short_help="Write one page to print and file.")
@click.argument("file", metavar="JOB", type=INPUT_FILE)
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
@job_options
@click.pass_context
def sheet_command(
    ctx: click.Context,
    *,
    file: str,
    out: str,
    form: str,
    date: datetime.datetime | None,
    reader: JobReader,
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
    from drawbar.cli.output import write
    from drawbar.report.sheet.contents import sheet_of

    try:
        from drawbar.report.sheet.page import as_html
    except ModuleNotFoundError as error:
        if error.name not in _EXTRA:
            raise
        raise InputWrong(_MISSING) from None
    sheet = sheet_of(reader.job(file, sized=True), reader.catalogue, date=date.date() if date is not None else None)
    page = as_html(sheet)
    if form == "pdf":
        from drawbar.cli.browser import pdf_of

        write(pdf_of(page), out)
    else:
        write(page, out)
    ctx.exit(sheet.verdict.exit_code)
