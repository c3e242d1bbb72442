"""`drawbar commission`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli.options import INPUT_FILE, FileCommand, format_option, job_options, out_option
from drawbar.cli.output import emit
from drawbar.cli.reading import problems_told

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader


@click.command(name="commission", cls=FileCommand, judges=True)
@click.argument("job_file", metavar="JOB", type=INPUT_FILE)
@click.argument("readings_file", metavar="[READINGS]", type=INPUT_FILE, required=False)
@click.option(
    "--burners",
    type=click.Choice(("orifice", "rated")),
    help="How burners answer to a low pressure: as fixed orifices, or not at all. "
    "Default: what READINGS says, else orifice.",
)
@format_option()
@job_options
@out_option
@click.pass_context
def commission_command(
    ctx: click.Context,
    job_file: str,
    readings_file: str | None,
    burners: str | None,
    form: str,
    reader: JobReader,
    out: str | None,
) -> None:
    """Predict what a manometer shows, and judge readings.

    JOB is a job file, or - for standard input. Without READINGS, prints the
    working pressure to expect at every test point in every state, with a
    blank for the reading. With a file of READINGS, sets them beside it and
    names the run, device, hose, regulator or appliance that explains where
    they part company.

    \b
    A file of readings:
      noise: 10 Pa
      readings:
        - {state: service, at: fryer, pressure: 2.61 kPa}
        - {state: service, plugged: {griddle: rear-bayonet}, at: main,
           pressure: 2.68 kPa}

    Exit code 0 if all readings are within tolerance, none is below its limit
    and no part is blamed, 1 if not.

    \b
    Example:
      drawbar commission examples/harvest-fair-trailer.yaml
    """
    from drawbar.onsite.commission import commission, expected_pressures
    from drawbar.onsite.readings import BURNERS, read_readings
    from drawbar.report.commission_report import CommissionReport, ExpectedPressuresReport

    if readings_file is None and burners is not None:
        raise click.BadParameter("goes with READINGS; the table shows both ways", ctx, param_hint="--burners")
    job = reader.job(job_file, sized=True)
    with problems_told():
        readings = read_readings(readings_file, job) if readings_file is not None else None
    if readings is None:
        emit(ExpectedPressuresReport(), [expected_pressures(job)], form, out)
        ctx.exit(0)
    result = commission(job, readings, fixed_orifice=BURNERS[burners] if burners is not None else None)
    emit(CommissionReport(), [result], form, out)
    ctx.exit(0 if result.is_clear else 1)
