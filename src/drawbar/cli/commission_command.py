"""`drawbar commission`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete_names
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
    help="How burners respond to a low pressure: as fixed orifices, or not at all. "
    "Default: what READINGS says, else orifice.",
)
@click.option(
    "--reading",
    "taken",
    metavar="[STATE/]POINT=PRESSURE",
    multiple=True,
    help="Give a reading, as `fryer=2.61 kPa`. May be given several times. STATE may be `lock-up`: nothing on.",
)
@click.option(
    "--state",
    metavar="NAME",
    shell_complete=complete_names.state_names,
    help="Use this state for readings that name none.",
)
@click.option("--full", is_flag=True, help="Show every test point or reading, what else may be wrong, the cautions.")
@format_option()
@job_options
@out_option
@click.pass_context
def commission_command(
    ctx: click.Context,
    job_file: str,
    readings_file: str | None,
    burners: str | None,
    taken: tuple[str, ...],
    state: str | None,
    full: bool,
    form: str,
    reader: JobReader,
    out: str | None,
) -> None:
    """Predict what a manometer shows, and judge readings.

    JOB is a job file, or - for standard input. Without readings, prints what a
    manometer should show, and the reading to begin with. With readings, from
    the file READINGS, from --reading or both, compares them with it, names the
    run, device, hose, regulator or appliance that explains a difference, and
    says which reading to take next.

    \b
    A file of readings (`lock-up` is a state with nothing on):
      noise: 10 Pa
      site: {temperature: 31 degC, altitude: 1200 m}
      readings:
        - {state: lock-up, at: regulator, pressure: 2.94 kPa}
        - {state: service, at: fryer, pressure: 2.61 kPa}
        - {state: service, plugged: {griddle: rear-bayonet}, at: main,
           pressure: 2.68 kPa}

    Exit code 0 if every appliance was read, all readings are within tolerance
    and limits and no part is suspect; 3 if so but an appliance was not read; 1
    if not.

    \b
    Examples:
      drawbar commission examples/harvest-fair-trailer.yaml
      drawbar commission examples/harvest-fair-trailer.yaml --state service \\
          --reading fryer='2.61 kPa' --reading main='2.68 kPa'
    """
    from drawbar.onsite.commission import commission, expected_pressures
    from drawbar.onsite.readings import BURNERS, read_readings
    from drawbar.report.commission_report import CommissionReport, ExpectedPressuresReport

    has_readings = readings_file is not None or bool(taken)
    for given, option, why in ((burners, "--burners", "; the table shows both ways"), (state, "--state", "")):
        if given is not None and not has_readings:
            raise click.BadParameter(f"goes with readings{why}", ctx, param_hint=option)
    job = reader.job(job_file, sized=True)
    with problems_told():
        readings = read_readings(readings_file, job, taken=taken, state=state) if has_readings else None
    if readings is None:
        emit(ExpectedPressuresReport(in_full=full), [expected_pressures(job, advise=True)], form, out)
        ctx.exit(0)
    result = commission(job, readings, fixed_orifice=BURNERS[burners] if burners is not None else None)
    emit(CommissionReport(in_full=full), [result], form, out)
    ctx.exit(result.verdict.exit_code)
