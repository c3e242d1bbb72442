"""`drawbar hotwater`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete_names
from drawbar.cli.options import INPUT_FILE, FileCommand, QuantityOption, format_option, job_options, out_option
from drawbar.cli.output import emit
from drawbar.cli.reading import InputWrong

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader


@click.command(
    name="hotwater", cls=FileCommand, judges=True, short_help="Check the water side: flow, temperature, wait."
)
@click.argument("file", metavar="JOB", type=INPUT_FILE)
@format_option()
@click.option(
    "--outlet",
    type=QuantityOption("TEMPERATURE", "1 degC", "99 degC"),
    metavar="TEMPERATURE",
    help="Find the flow that comes this hot, as `40 degC`.",
)
@click.option(
    "--flow",
    type=QuantityOption("WATER_FLOW", "0.2 L/min", "100 L/min"),
    metavar="FLOW",
    help="Show what another pump would do, as `8 L/min`.",
)
@click.option(
    "--appliance",
    metavar="NAME",
    shell_complete=complete_names.heater_names,
    help="This heater only. Default: all that say what they heat.",
)
@click.option("--full", is_flag=True, help="Show how it is worked out, and every caution.")
@job_options
@out_option
@click.pass_context
def hotwater_command(
    ctx: click.Context,
    file: str,
    form: str,
    outlet: float | None,
    flow: float | None,
    appliance: str | None,
    full: bool,
    reader: JobReader,
    out: str | None,
) -> None:
    """Check how hot the water comes, the wait for it, and what a use takes.

    JOB is a job file, or - for standard input, with `water:`, or with an appliance
    that has `heats:`, whose flow is then given and no verdict is told. FAIL: the
    heater does not light, the water comes cooler than is wanted, or hotter than it
    may. UNDECIDED: a tolerance or what is not known turns it.

    \b
    Examples:
      drawbar hotwater examples/shower-tent-camper.yaml
      drawbar hotwater examples/harvest-fair-trailer.yaml --flow '8 L/min'
    """
    from drawbar.hot_water import NoHeater, NoSuchHeater, WantedTooCold
    from drawbar.problems import Problem, Problems
    from drawbar.report.hotwater_report import HotWaterReport
    from drawbar.water_line.hotwater_answer import hotwater

    job = reader.job(file, sized=False)
    try:
        result = hotwater(job, appliance, pump_m3_s=flow, wanted_k=outlet)
    except NoHeater as error:
        fit = "write `heats: {flow: 6 L/min, inlet: 15 degC, efficiency: 80 %}` at the heater"
        raise InputWrong.by(Problems([Problem(job.file, 0, 0, "appliances", str(error), fit)])) from None
    except NoSuchHeater as error:
        raise click.BadParameter(str(error), ctx, param_hint="--appliance") from None
    except WantedTooCold as error:
        raise click.BadParameter(f"{error}; write a higher temperature.", ctx, param_hint="--outlet") from None
    emit(HotWaterReport(in_full=full), [result], form, out)
    ctx.exit(result.verdict.exit_code if result.verdict is not None else 0)
