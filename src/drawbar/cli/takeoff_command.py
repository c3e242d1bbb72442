"""`drawbar takeoff`."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

import click

from drawbar.cli.options import FORMS, INPUT_FILE, FileCommand, QuantityOption, format_option, job_options, out_option
from drawbar.cli.output import emit
from drawbar.cli.quote_files import QUOTE_FORMS, write_quotes
from drawbar.cli.reading import problems_told
from drawbar.cli.telling import remark

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader
    from drawbar.materials.quote import Quote


@click.command(name="takeoff", cls=FileCommand)
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=INPUT_FILE)
@format_option(*FORMS, *QUOTE_FORMS)
@click.option(
    "--waste",
    type=QuantityOption("RATIO", "0 %", "100 %"),
    metavar="SHARE",
    help="Add this much waste to the pipe, as `5 %`. Default: that of the price list, else nothing.",
)
@click.option(
    "--stock-length",
    "stock_m",
    type=QuantityOption("LENGTH", "0.5 m", "100 m"),
    metavar="LENGTH",
    help="Buy pipe in lengths of `6 m` or the like: how many, and how to cut them.",
)
@click.option(
    "--kerf",
    "kerf_m",
    type=QuantityOption("LENGTH", "0 mm", "10 mm"),
    metavar="LENGTH",
    help="Allow this much for each cut, as `2 mm`. Default: nothing, as with a tube cutter.",
)
@click.option(
    "--prices",
    "prices_file",
    metavar="FILE",
    type=INPUT_FILE,
    help="Price each item by a price list, with a total.",
)
@click.option("--each", is_flag=True, help="List each of several jobs by itself, then all together.")
@click.option("--full", is_flag=True, help="Show each line, the cutting list and the notes.")
@click.option(
    "--date",
    type=click.DateTime(("%Y-%m-%d",)),
    metavar="DATE",
    help="The day of the quote, as 2026-01-31. Default: today.",
)
@job_options
@out_option
@click.pass_context
def takeoff_command(
    ctx: click.Context,
    jobs: tuple[str, ...],
    form: str,
    waste: float | None,
    stock_m: float | None,
    kerf_m: float | None,
    prices_file: str | None,
    each: bool,
    full: bool,
    date: datetime.datetime | None,
    reader: JobReader,
    out: str | None,
) -> None:
    """List the materials of a job, or of several together.

    Pipe by size with waste and cutting list, fittings, devices, hoses,
    regulators and joints; with a price list, priced lines and a total. JOB is a
    job file, or - for standard input. A price that the list does not have is
    named; the total is then incomplete, exit code 1.

    \b
    Examples:
      drawbar takeoff --stock-length "6 m" examples/harvest-fair-trailer.yaml
      drawbar takeoff --prices examples/prices.yaml --format xlsx \\
          --out quote.xlsx examples/harvest-fair-trailer.yaml
    """
    from drawbar.materials.prices import read_price_list
    from drawbar.materials.quote import materials_of
    from drawbar.report.takeoff_report import TakeoffReport
    from drawbar.verdict import EXIT_FAIL, EXIT_OK, EXIT_WRONG

    if kerf_m is not None and stock_m is None:
        raise click.UsageError("--kerf goes with --stock-length.", ctx)
    if form in QUOTE_FORMS and prices_file is None:
        raise click.UsageError(f"--format {form} is a quote: give --prices as well.", ctx)
    if form == "xlsx" and out is None:
        raise click.UsageError("--format xlsx needs --out FILE.", ctx)
    if form == "html" and len(jobs) > 1:
        raise click.UsageError("--format html is the quote of one job.", ctx)
    with problems_told():
        prices = read_price_list(prices_file, reader.catalogue) if prices_file is not None else None
    read = reader.each(jobs, sized=True)
    kept = list(read) if form == "html" else []  # of a job no more is kept than what it needs, but for its page
    results = materials_of(
        kept or read,
        prices,
        each=each,
        waste=round(waste, 6) if waste is not None else None,  # as 7 % comes as 0.07000000000000001
        stock_m=stock_m,
        kerf_m=kerf_m or 0,
        date=date.date() if date is not None else None,
    )
    if form in QUOTE_FORMS:
        write_quotes(form, results, kept, out)
    else:
        emit(TakeoffReport(in_full=full), results, form, out)
    if not results:
        ctx.exit(EXIT_WRONG)
    if full or out is not None or form != "table":  # the page of one screen begins with it
        _say_incomplete(results[-1].quote)
    ctx.exit(EXIT_WRONG if results[-1].left_out else EXIT_OK if results[-1].is_whole else EXIT_FAIL)


def _say_incomplete(quote: Quote | None) -> None:
    if quote is not None and not quote.is_complete:
        count = len(quote.missing)
        lines = "1 line has" if count == 1 else f"{count} lines have"
        remark(f"{quote.prices.file}: {lines} no price: the total is incomplete")
