"""`drawbar takeoff`."""

from __future__ import annotations

import click

from drawbar.cli import complete
from drawbar.cli.common import (
    QuantityOption,
    catalogue,
    each_job,
    format_option,
    library_option,
    out_option,
    problems_told,
)


@click.command(name="takeoff")
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", shell_complete=complete.file_names)
@format_option()
@click.option(
    "--waste",
    type=QuantityOption("RATIO", "0 %", "100 %"),
    metavar="SHARE",
    help="Add so much to the pipe, as `5 %`. Default: what the price list says, else nothing.",
)
@click.option(
    "--stock-length",
    "stock_m",
    type=QuantityOption("LENGTH", "0.5 m", "100 m"),
    metavar="LENGTH",
    help="The lengths that pipe is bought in, as `6 m`: how many, and how to cut them.",
)
@click.option(
    "--kerf",
    "kerf_m",
    type=QuantityOption("LENGTH", "0 mm", "10 mm"),
    metavar="LENGTH",
    help="What a cut takes, as `2 mm`. Default: nothing, as of a tube cutter.",
)
@click.option(
    "--prices",
    "prices_file",
    metavar="FILE",
    shell_complete=complete.file_names,
    help="A price list: a priced line for each item, and a total.",
)
@click.option("--each", is_flag=True, help="Each of several jobs by itself, before all together.")
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context,
    jobs: tuple[str, ...],
    form: str,
    waste: float | None,
    stock_m: float | None,
    kerf_m: float | None,
    prices_file: str | None,
    each: bool,  # noqa: FBT001 - click calls it by name
    libraries: tuple[str, ...],
    out: str | None,
) -> None:
    """List the materials of a job, or of several together.

    Pipe by size with waste and cutting list, fittings, devices, hoses,
    regulators and joints; with a price list, priced lines and a total. JOB is a
    job file, or - for standard input. A price that the list does not have is
    told, and the total is then incomplete; the exit code stays 0.

    \b
    Examples:
      drawbar takeoff --stock-length "6 m" examples/harvest-fair-trailer.yaml
      drawbar takeoff --prices examples/prices.yaml --format csv --out q.csv \\
          examples/harvest-fair-trailer.yaml
    """
    from decimal import Decimal

    from drawbar.cli.common import write
    from drawbar.materials.prices import read_price_list
    from drawbar.materials.quote import quote
    from drawbar.materials.takeoff import Needs, needs_of, takeoff_of, together
    from drawbar.report import takeoff_report as report
    from drawbar.report.layout import as_csv, as_json, as_markdown, as_text

    if kerf_m is not None and stock_m is None:
        raise click.UsageError("--kerf goes with --stock-length.", ctx)
    prices = None
    if prices_file is not None:
        with problems_told():
            prices = read_price_list(prices_file)
    if waste is not None:
        share = Decimal(f"{waste:.6f}")
    else:
        share = prices.waste if prices is not None and prices.waste is not None else Decimal(0)
    stock_um = round(stock_m * 1e6) if stock_m is not None else None
    kerf_um = round(kerf_m * 1e6) if kerf_m is not None else 0
    found: list[Needs] = []
    left_out = 0
    for job in each_job(jobs, catalogue(libraries), sized=True):
        if job is None:
            left_out += 1
        else:
            found.append(needs_of(job))
    if not found:
        ctx.exit(2)

    def shown(needs: Needs, not_in_it: int = 0) -> report.Shown:
        made = takeoff_of(needs, share, stock_um, kerf_um)
        return report.Shown(made, quote(made, prices) if prices is not None else None, not_in_it)

    results = [shown(needs) for needs in found] if each and len(found) > 1 else []
    results.append(shown(together(found), left_out))
    if form == "json":
        write(as_json("takeoff", [report.data(one) for one in results]), out)
    elif form == "csv":
        write(as_csv(report.CSV_COLUMNS, (row for one in results for row in report.rows(one))), out)
    else:
        as_page = as_markdown if form == "markdown" else as_text
        write("\n\n".join(as_page(report.page(one)) for one in results), out)
    last = results[-1].quote
    if last is not None and not last.is_complete:
        count = len(last.missing)
        lines = "1 line has" if count == 1 else f"{count} lines have"
        click.echo(f"{prices_file}: {lines} no price: the total is incomplete", err=True)
    ctx.exit(2 if left_out else 0)
