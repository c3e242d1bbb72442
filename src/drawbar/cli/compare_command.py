"""`drawbar compare`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli.options import INPUT_FILE, FileCommand, format_option, job_options, out_option
from drawbar.cli.output import emit
from drawbar.cli.reading import problems_told

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yaml.nodes import Node

    from drawbar.cli.reading import JobReader
    from drawbar.comparing.ways import AskedFile, ComparedWay


@click.command(name="compare", cls=FileCommand)
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=INPUT_FILE)
@click.option(
    "--variant",
    "variants",
    multiple=True,
    metavar="SETTINGS",
    help="The job with other things set, as 'runs.main.pipe=as1432-b/15.88; runs.main.length=3 m' or 'swap "
    "urn=30 MJ/h'. May be given several times.",
)
@click.option("--prices", "prices_file", metavar="FILE", type=INPUT_FILE, help="Price each way by a price list.")
@click.option("--full", is_flag=True, help="List every key that differs.")
@format_option()
@job_options
@out_option
@click.pass_context
def compare_command(
    ctx: click.Context,
    *,
    jobs: tuple[str, ...],
    variants: tuple[str, ...],
    prices_file: str | None,
    full: bool,
    form: str,
    reader: JobReader,
    out: str | None,
) -> None:
    """Compare ways of doing a job side by side.

    JOB is a job file, or - for standard input: several of them, or one and its
    variants. Shows what differs between them first; then the verdict, the least
    spare, pipe, fittings, what there is to purge, and the wait for hot water.

    The exit code is that of `drawbar check` for all of them.

    \b
    Examples:
      drawbar compare examples/harvest-fair-trailer.yaml \\
          --variant 'runs.main.pipe=as1432-b/12.70' --prices examples/prices.yaml
      drawbar compare examples/harvest-fair-trailer.yaml \\
          examples/ice-cream-van-fail.yaml
    """
    from drawbar.comparing.ways import read_way, side_by_side
    from drawbar.materials.prices import read_price_list
    from drawbar.problems import Problems
    from drawbar.report.compare_jobs_report import CompareJobsReport
    from drawbar.verdict import EXIT_WRONG, exit_code_of

    if len(jobs) + len(variants) == 1:
        raise click.UsageError("There is only one way to compare; give a second JOB, or --variant.", ctx)
    if variants and len(jobs) > 1:
        raise click.UsageError("--variant goes with one JOB.", ctx)
    with problems_told():
        prices = read_price_list(prices_file) if prices_file is not None else None
    ways: list[tuple[ComparedWay, Node]] = []
    codes: list[int] = []
    for asked_file in _asked_files(ctx, jobs, variants, reader):
        code = EXIT_WRONG
        if asked_file is not None:
            try:
                ways.append(read_way(asked_file, reader.catalogue, prices))
                code = ways[-1][0].standing.verdict.exit_code
            except Problems as error:
                reader.tell(error, of_several=len(jobs) > 1)
        codes.append(code)
    emit(CompareJobsReport(in_full=full), [side_by_side(ways)] if ways else [], form, out)
    ctx.exit(exit_code_of(codes))


def _asked_files(
    ctx: click.Context, jobs: tuple[str, ...], variants: tuple[str, ...], reader: JobReader
) -> Iterator[AskedFile | None]:
    """Yield the text of each way with what is asked of it; None, and its problems told, where it can't be read."""
    from drawbar.asking import asked_by_variant
    from drawbar.comparing.ways import AskedFile
    from drawbar.problems import Problems
    from drawbar.rechecking.swaps import SwapError
    from drawbar.yamlfile.carried import JOB, read_carried

    try:
        with problems_told():
            asked = [reader.asked] + [
                reader.asked.with_more(asked_by_variant(reader.catalogue, text, f"--variant {number}"))
                for number, text in enumerate(variants, 1)
            ]
    except SwapError as error:
        raise click.BadParameter(str(error), ctx, param_hint="--variant") from None
    for file in jobs:
        try:
            text = read_carried(file, JOB)
        except Problems as error:
            reader.tell(error, of_several=len(jobs) > 1)
            yield from [None] * len(asked)
            continue
        yield from (AskedFile(file, text, each) for each in asked)
