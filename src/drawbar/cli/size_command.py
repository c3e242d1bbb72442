"""`drawbar size`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli.options import INPUT_FILE, FileCommand, QuantityOption, format_option, job_options, out_option
from drawbar.cli.output import emit, write_failed
from drawbar.cli.reading import InputWrong, problems_told
from drawbar.cli.telling import remark

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from drawbar.cli.reading import JobReader
    from drawbar.job import Job
    from drawbar.jobfile.asked import Asked
    from drawbar.materials.prices import PriceList
    from drawbar.sizing.size import SizeResult, Wishes
    from drawbar.sizing.size_job import SizedJob
    from drawbar.sizing.stock import StockList, WrongChoices


@click.command(
    name="size", cls=FileCommand, judges=True, short_help="Choose the cheapest pipe sizes that pass in every state."
)
@click.argument("file", metavar="JOB", type=INPUT_FILE)
@format_option()
@click.option("--stock", metavar="FILE", type=INPUT_FILE, help="Choose only among the sizes of a stock list.")
@click.option(
    "--prices",
    metavar="FILE",
    type=INPUT_FILE,
    help="Cost by a price list: pipe by the metre, and fittings. Default: pipe mass.",
)
@click.option("--no-increase", is_flag=True, help="Allow no run larger than the one that feeds it.")
@click.option("--most-sizes", type=click.IntRange(1, 20), metavar="N", help="Use at most N different sizes.")
@click.option("--one-size", is_flag=True, help="Use one size for the whole line.")
@click.option(
    "--reserve",
    type=QuantityOption("RATIO", "0 %", "500 %"),
    default="0 %",
    metavar="SHARE",
    help="Allow for growth: take every load this much higher, as `20 %`.",
)
@click.option("--as-drawn", is_flag=True, help="Leave the tolerances out.")
@click.option("--full", is_flag=True, help="Show bores, costs, the longest-run method, and the check of the whole.")
@click.option("--write", is_flag=True, help="Write the sizes into the job file; nothing else in it changes.")
@job_options
@out_option
@click.pass_context
def size_command(
    ctx: click.Context,
    *,
    file: str,
    form: str,
    stock: str | None,
    prices: str | None,
    no_increase: bool,
    most_sizes: int | None,
    one_size: bool,
    reserve: float,
    as_drawn: bool,
    full: bool,
    write: bool,
    reader: JobReader,
    out: str | None,
) -> None:
    """Choose the pipe sizes that pass in every state at the least cost.

    JOB is a job file, or - for standard input. The choice is among what it
    allows for each run: one size, a list, or `family/auto`. It is exact: no
    other choice that passes with every tolerance at its worst costs less.
    Where a job is too large to prove that, it says so; the extra `exact`
    settles such jobs.

    \b
    Examples:
      drawbar size examples/market-kitchen-open.yaml
      drawbar size --no-increase --most-sizes 2 --write \\
          examples/market-kitchen-open.yaml
    """
    from drawbar.answers import WholeSizes, stands_beside
    from drawbar.materials.prices import read_price_list
    from drawbar.report.size_report import SizeReport
    from drawbar.sizing.size import Wishes
    from drawbar.sizing.stock import WrongChoices, read_stock
    from drawbar.yamlfile import nodes
    from drawbar.yamlfile.carried import JOB, is_page, part_of

    if one_size and most_sizes not in (None, 1):
        raise click.UsageError("--one-size and --most-sizes ask for different things; give one of them.", ctx)
    if write and file == "-":
        raise click.UsageError("--write needs a job file, not standard input.", ctx)
    if write and not reader.asked.leaves_all_but_sizes:
        what = "--write goes with --set of `runs.NAME.pipe` alone: the sizes of another line are not this file's."
        raise click.UsageError(what, ctx)
    known = reader.catalogue
    with problems_told():
        written = nodes.read_text(file)
        if write and is_page(written):
            raise click.UsageError("--write needs a job file, not a sheet.", ctx)
        text = part_of(written, file, JOB)
        job = reader.job_of(text, file)
        if as_drawn:
            job = job._replace(tolerances=None)
        stock_list = read_stock(stock, known) if stock is not None else None
        price_list = read_price_list(prices) if prices is not None else None
        wishes = Wishes(no_increase, 1 if one_size else most_sizes, reserve)
        try:
            sized = _sized_in_sight(job, wishes, stock_list, price_list)
        except WrongChoices as error:
            _tell_places(error, reader.asked, text, file)
            raise
    if write and sized.result.passes:
        _write_sizes(file, text, sized.result, [setting.path[1] for setting in reader.asked.settings])
    in_full = form in ("json", "csv")
    whole = stands_beside(sized.result.check, known, in_full=in_full)
    emit(SizeReport(in_full=full, is_written=write), [WholeSizes(sized, whole)], form, out)
    ctx.exit(sized.result.verdict.exit_code)


def _sized_in_sight(job: Job, wishes: Wishes, stock: StockList | None, prices: PriceList | None) -> SizedJob:
    """Return the sizes, with the gap of the proof on a terminal as it closes; Ctrl-C gives the best so far."""
    from drawbar.cli.progress import GapLine
    from drawbar.sizing.size_job import size_job
    from drawbar.sizing.watch import Watch

    line = GapLine()
    watch = Watch(line.show)
    try:
        sized = size_job(job, wishes=wishes, stock=stock, prices=prices, watch=watch)
    finally:
        line.end()
    if watch.is_stopped:
        remark("drawbar: stopped; these are the best sizes so far")
    return sized


def _tell_places(error: WrongChoices, asked: Asked, text: str, file: str) -> None:
    """Raise Problems at the `pipe:` of each run in the job file whose choices can't be used."""
    from drawbar.yamlfile import nodes
    from drawbar.yamlfile.nodes import Source

    source = Source(file)
    root = nodes.compose(text, source)
    asked.change(root, source)
    for choice in error.choices:
        path = ("runs", choice.run, "pipe")
        source.add(nodes.node_at(root, path), path, choice.what, choice.fit)
    source.raise_if_any()


def _write_sizes(file: str, text: str, result: SizeResult, asked_runs: Sequence[str]) -> None:
    """Put the sizes that were chosen, and those that were set, into the job file, and say how many."""
    from pathlib import Path

    from drawbar.cli.whole_files import write_whole
    from drawbar.jobfile.edit import bom_of, with_sizes
    from drawbar.yamlfile import nodes

    labels = {
        **result.chosen_labels,
        **{run.name: run.pipe.label for run in result.sized.runs if run.name in asked_runs},
    }
    with problems_told():
        is_as_read = nodes.read_text(file) == text
    if not is_as_read:
        raise InputWrong(f"{file}: was changed while its sizes were worked out, and is left as it is; size it again")
    written = with_sizes(text, file, labels)
    _refuse_other_sizes(file, written, labels)
    try:
        write_whole(Path(file), [bom_of(file), written])
    except OSError as error:
        raise write_failed(file, error) from None
    remark(f"{file}: {len(labels)} size{'s' if len(labels) != 1 else ''} written")


def _refuse_other_sizes(file: str, written: str, labels: Mapping[str, str]) -> None:
    """End the call where the file would not have the sizes that were chosen, as where a pipe is given by its bore."""
    from drawbar.yamlfile import nodes
    from drawbar.yamlfile.nodes import Source

    root = nodes.compose(written, Source(file))
    for run, label in labels.items():
        if getattr(nodes.node_at(root, ("runs", run, "pipe")), "value", None) != label:
            raise InputWrong(f"{file}: runs.{run}.pipe: {label} can't be put there; write it yourself")
