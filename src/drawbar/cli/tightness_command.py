"""`drawbar tightness`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from drawbar.cli.options import INPUT_FILE, FileCommand, QuantityOption, format_option, job_options, out_option
from drawbar.cli.output import emit
from drawbar.cli.reading import problems_told
from drawbar.cli.tightness_options import refusal, tightness_options

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader


@click.command(
    name="tightness", cls=FileCommand, judges=True, short_help="Show the tightness test and judge a reading."
)
@click.argument("file", metavar="JOB", type=INPUT_FILE)
@format_option()
@click.option("--full", is_flag=True, help="Show the volumes by run, the purge by appliance, sources and cautions.")
@click.option("--hoses", is_flag=True, help="Count the hoses as well: the largest that go on the outlets.")
@tightness_options
@click.option(
    "--leak",
    type=QuantityOption("LEAK_RATE", "0.0001 L/h", "10000 L/h"),
    metavar="FLOW",
    help="Show how long this leak takes to show, as `0.1 L/h`.",
)
@job_options
@out_option
@click.pass_context
def tightness_command(
    ctx: click.Context,
    file: str,
    form: str,
    full: bool,
    hoses: bool,
    visit: dict[str, Any],
    leak: float | None,
    reader: JobReader,
    out: str | None,
) -> None:
    """Show the tightness test of a line, judge a reading, time the purge.

    JOB is a job file, or - for standard input. Every run must have one size.
    A reading is a PASS only if it was the test: its pressure, its time, settled,
    on a manometer fine enough, all of it said.

    \b
    Examples:
      drawbar tightness examples/harvest-fair-trailer.yaml --hoses
      drawbar tightness examples/harvest-fair-trailer.yaml \\
          --start '2.75 kPa' --end '2.75 kPa' --time '5 min' \\
          --settled '3 min' --resolution '10 Pa'
      drawbar tightness examples/harvest-fair-trailer.yaml --test en-1949
    """
    from drawbar.onsite.tightness import TightnessError, tightness_of
    from drawbar.report.tightness_report import TightnessReport

    try:
        with problems_told():
            result = tightness_of(
                reader.job(file, sized=True),
                reader.catalogue,
                hoses=hoses,
                **visit,
                leak_m3_s=leak,
            )
    except TightnessError as error:
        raise refusal(ctx, error) from None
    emit(TightnessReport(in_full=full), [result], form, out)
    ctx.exit(result.verdict.exit_code if result.verdict else 0)
