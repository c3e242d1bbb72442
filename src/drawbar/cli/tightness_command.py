"""`drawbar tightness`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.options import INPUT_FILE, FileCommand, QuantityOption, format_option, job_options, out_option
from drawbar.cli.output import emit
from drawbar.cli.reading import problems_told

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader
    from drawbar.onsite.tightness import TightnessError

# The option that stands for an argument.
_OPTIONS = {
    "test": "--test",
    "section": "--section",
    "readings_gauge_pa": "--end",
    "temperatures_k": "--end-temperature",
    "settled_s": "--settled",
    "gas_change_k": "--gas-change",
}
_PRESSURE = QuantityOption("PRESSURE", "0 Pa", "1000 kPa")
_TEMPERATURE = QuantityOption("TEMPERATURE", "-40 degC", "80 degC")


@click.command(name="tightness", cls=FileCommand, short_help="Show the tightness test and judge a reading.")
@click.argument("file", metavar="JOB", type=INPUT_FILE)
@format_option()
@click.option(
    "--test",
    "test_name",
    metavar="NAME",
    shell_complete=complete.tightness_test_names,
    help="Another test than the rule set's, as `en-1949`.",
)
@click.option("--full", is_flag=True, help="Show the volumes by run, the purge by appliance, sources and cautions.")
@click.option("--hoses", is_flag=True, help="Count the hoses as well: the largest that go on the outlets.")
@click.option("--section", metavar="NAME", help="In a job of two stages: `regulator`, or the run with its own.")
@click.option("--start", type=_PRESSURE, metavar="PRESSURE", help="The first reading, as `2.75 kPa`.")
@click.option("--end", type=_PRESSURE, metavar="PRESSURE", help="The second reading.")
@click.option("--start-temperature", type=_TEMPERATURE, metavar="TEMPERATURE", help="Of the gas at the first reading.")
@click.option("--end-temperature", type=_TEMPERATURE, metavar="TEMPERATURE", help="Of the gas at the second reading.")
@click.option(
    "--time",
    type=QuantityOption("TIME", "1 s", "168 h"),
    metavar="TIME",
    help="Between the readings, as `5 min`. A PASS needs it.",
)
@click.option(
    "--settled",
    type=QuantityOption("TIME", "0 s", "168 h"),
    metavar="TIME",
    help="From filling to the first reading, as `2 min`. A PASS needs it.",
)
@click.option(
    "--resolution",
    type=QuantityOption("PRESSURE", "0.1 Pa", "10 kPa"),
    metavar="PRESSURE",
    help="The step that the manometer shows. A PASS needs it; else 10 Pa is reckoned with.",
)
@click.option(
    "--thermometer",
    type=QuantityOption("TEMPERATURE_CHANGE", "0 K", "50 K"),
    metavar="DIFFERENCE",
    help="How far each temperature may be out. Default: 0.5 K.",
)
@click.option(
    "--gas-change",
    type=QuantityOption("TEMPERATURE_CHANGE", "0 K", "50 K"),
    metavar="DIFFERENCE",
    help="How far the gas may change from what the thermometer's place does. Default: 0.5 K; with no temperatures 2 K "
    "in 15 min, more in more.",
)
@click.option(
    "--leak",
    type=QuantityOption("LEAK_RATE", "0.0001 L/h", "10000 L/h"),
    metavar="FLOW",
    help="Say how long such a leak takes to show, as `0.1 L/h`.",
)
@job_options
@out_option
@click.pass_context
def tightness_command(
    ctx: click.Context,
    file: str,
    form: str,
    test_name: str | None,
    full: bool,
    hoses: bool,
    section: str | None,
    start: float | None,
    end: float | None,
    start_temperature: float | None,
    end_temperature: float | None,
    time: float | None,
    settled: float | None,
    resolution: float | None,
    thermometer: float | None,
    gas_change: float | None,
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
    from drawbar.onsite.tightness_reading import THERMOMETER_K
    from drawbar.report.tightness_report import TightnessReport

    readings = _pair(ctx, start, end, "--start and --end go together: give both readings.")
    temperatures = _pair(
        ctx, start_temperature, end_temperature, "--start-temperature and --end-temperature go together: give both."
    )
    if temperatures is not None and readings is None:
        raise click.UsageError("--start-temperature goes with readings: give --start and --end.", ctx)
    try:
        with problems_told():
            result = tightness_of(
                reader.job(file, sized=True),
                reader.catalogue,
                test=test_name,
                hoses=hoses,
                section=section,
                readings_gauge_pa=readings,
                temperatures_k=temperatures,
                time_s=time,
                settled_s=settled,
                resolution_pa=resolution,
                thermometer_k=THERMOMETER_K if thermometer is None else thermometer,
                gas_change_k=gas_change,
                leak_m3_s=leak,
            )
    except TightnessError as error:
        raise _refusal(ctx, error) from None
    emit(TightnessReport(in_full=full), [result], form, out)
    ctx.exit(result.verdict.exit_code if result.verdict else 0)


def _pair(ctx: click.Context, first: float | None, second: float | None, what: str) -> tuple[float, float] | None:
    """Return two values that go together, None for neither; end the call where half of them is missing."""
    if (first is None) != (second is None):
        raise click.UsageError(what, ctx)
    return (first, second) if first is not None and second is not None else None


def _refusal(ctx: click.Context, error: TightnessError) -> click.UsageError:
    """Return an argument that can't be right in the words of the command line."""
    if error.argument == "time_s":
        return click.UsageError(f"--time is missing: {error.reason}", ctx)
    if error.choices:
        names = ", ".join(error.choices)
        return click.UsageError(f"The job has several stages; say with --section which was read: {names}.", ctx)
    return click.BadParameter(error.reason, ctx, param_hint=_OPTIONS[error.argument])
