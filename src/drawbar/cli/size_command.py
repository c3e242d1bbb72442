"""`drawbar size`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.common import (
    InputWrong,
    QuantityOption,
    catalogue,
    format_option,
    library_option,
    out_option,
    problems_told,
)

if TYPE_CHECKING:
    from drawbar.sizing.stock import WrongChoice


@click.command(name="size", short_help="Choose the cheapest pipe sizes that pass in every state.")
@click.argument("file", metavar="JOB", shell_complete=complete.file_names)
@format_option()
@click.option(
    "--stock", metavar="FILE", shell_complete=complete.file_names, help="Choose only among the sizes of a stock list."
)
@click.option(
    "--prices",
    metavar="FILE",
    shell_complete=complete.file_names,
    help="Cost by a price list: pipe by the metre, and fittings. Default: pipe mass.",
)
@click.option("--no-increase", is_flag=True, help="No run larger than the one that feeds it.")
@click.option("--most-sizes", type=click.IntRange(1, 20), metavar="N", help="At most N different sizes.")
@click.option("--one-size", is_flag=True, help="One size for the whole line.")
@click.option(
    "--reserve",
    type=QuantityOption("RATIO", "0 %", "500 %"),
    default="0 %",
    metavar="SHARE",
    help="Room for growth: take every load so much higher, as `20 %`.",
)
@click.option("--write", is_flag=True, help="Put the sizes into the job file; nothing else in it changes.")
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    form: str,
    stock: str | None,
    prices: str | None,
    no_increase: bool,  # noqa: FBT001 - click calls it by name
    most_sizes: int | None,
    one_size: bool,  # noqa: FBT001
    reserve: float,
    write: bool,  # noqa: FBT001
    libraries: tuple[str, ...],
    out: str | None,
) -> None:
    """Choose the pipe sizes that pass in every state at the least cost.

    JOB is a job file, or - for standard input. The choice is among what it
    allows for each run: one size, a list, or `family/auto`. It is exact: no
    other choice that passes costs less.

    \b
    Examples:
      drawbar size examples/market-kitchen-open.yaml
      drawbar size --no-increase --most-sizes 2 --write \\
          examples/market-kitchen-open.yaml
    """
    from pathlib import Path

    from drawbar.cli.common import print_page, write_whole
    from drawbar.cli.common import write as write_text
    from drawbar.jobfile.edit import with_sizes
    from drawbar.jobfile.reader import job_of
    from drawbar.materials.prices import read_price_list
    from drawbar.report import size_report as report
    from drawbar.report.layout import as_csv, as_json
    from drawbar.sizing.size import Wishes, mass_cost, size
    from drawbar.sizing.stock import contradictions, in_stock, price_cost, read_stock, unpriced
    from drawbar.yamlfile import nodes

    if one_size and most_sizes not in (None, 1):
        raise click.UsageError("--one-size and --most-sizes ask for different things; give one of them.", ctx)
    if write and file == "-":
        raise click.UsageError("--write needs a job file, not standard input.", ctx)
    wishes = Wishes(no_increase, 1 if one_size else most_sizes, reserve)
    known = catalogue(libraries)
    with problems_told():
        text = nodes.read_text(file)
        job = job_of(text, file, known)
        if stock is not None:
            job, wrong = in_stock(job, read_stock(stock, known), stock)
            _refuse(text, file, wrong)
        _refuse(text, file, list(contradictions(job, wishes)))
        cost, unit = mass_cost(job)
        if prices is not None:
            price_list = read_price_list(prices)
            _refuse(text, file, list(unpriced(job, price_list, prices)))
            cost, unit = price_cost(price_list), price_list.currency
    result = size(job, cost, wishes)
    found = report.sized(job, result, cost, unit)
    if write and result.passes:
        labels = {run.name: run.pipes[0].label for run in result.sized.runs}
        own = {run.name for run in job.runs if len(run.pipes) == 1}
        chosen = {name: label for name, label in labels.items() if name not in own}
        try:
            mark = "\ufeff" if Path(file).read_bytes().startswith(b"\xef\xbb\xbf") else ""  # which reading leaves out
            write_whole(Path(file), [mark, with_sizes(text, file, chosen)])
        except OSError as error:
            raise InputWrong(f"{file}: can't be written: {error.strerror}") from None
        click.echo(f"{file}: {len(chosen)} size{'s' if len(chosen) != 1 else ''} written", err=True)
    if form == "json":
        write_text(as_json("size", [report.data(found)]), out)
    elif form == "csv":
        write_text(as_csv(report.CSV_COLUMNS, report.rows(found)), out)
    else:
        print_page(report.page(found), form, out)
    ctx.exit(0 if result.passes else 1)


def _refuse(text: str, file: str, wrong: Sequence[WrongChoice]) -> None:
    """Raise Problems at the `pipe:` of each run whose choices can't be used."""
    from drawbar.yamlfile import nodes
    from drawbar.yamlfile.nodes import Source

    source = Source(file)
    root = nodes.compose(text, Source(file))
    for one in wrong:
        path = ("runs", one.run, "pipe")
        source.add(nodes.node_at(root, path), path, one.what, one.fit)
    source.raise_if_any()
