"""`drawbar supply`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete_names
from drawbar.cli.options import INPUT_FILE, FileCommand, format_option, job_options, out_option
from drawbar.cli.output import emit
from drawbar.cli.reading import InputWrong

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader
    from drawbar.physics.cooling import Duty


def _duty(ctx: click.Context, param: click.Parameter, value: str | None) -> Duty | None:
    """Return the duty that a text such as `20 min on, 40 min off` says; end the call with what would fit otherwise."""
    if value is None:
        return None
    from drawbar.gas_supply.duty_text import DutyError, parse_duty

    try:
        return parse_duty(value)
    except DutyError as error:
        raise click.BadParameter(str(error), ctx, param) from None


@click.command(
    name="supply",
    cls=FileCommand,
    judges=True,
    short_help="Check that bottles and regulator keep up, and for how long.",
)
@click.argument("file", metavar="JOB", type=INPUT_FILE)
@format_option()
@click.option(
    "--state",
    metavar="NAME",
    shell_complete=complete_names.state_names,
    help="Show this state only. Default: all of them.",
)
@click.option(
    "--duty",
    callback=_duty,
    metavar="TIMES",
    help="Judge every state as on and off by turns, as `20 min on, 40 min off`.",
)
@click.option(
    "--full", is_flag=True, help="Show every reason, the bottles in figures, and the offtake by fill and air."
)
@job_options
@out_option
@click.pass_context
def supply_command(
    ctx: click.Context,
    file: str,
    form: str,
    state: str | None,
    duty: Duty | None,
    full: bool,
    reader: JobReader,
    out: str | None,
) -> None:
    """Check that bottles and regulator keep up, and for how long.

    JOB is a job file, or - for standard input, with `cylinders:`. FAIL: a
    bottle starves or is empty within a use as the state gives it (`for: 20 min,
    every: 1 h`), or a regulator is over its rating. UNDECIDED: no use is given
    and the load is above the continuous offtake of the bottles, or an input a
    few per cent higher makes it a FAIL.

    \b
    Examples:
      drawbar supply examples/harvest-fair-trailer.yaml
      drawbar supply examples/harvest-fair-trailer.yaml --state service \\
          --duty '20 min on, 40 min off'
    """
    from drawbar.gas_supply.supply import NoCylinders, NoSuchState, supply
    from drawbar.problems import Problem, Problems
    from drawbar.report.supply_report import SupplyReport

    job = reader.job(file, sized=False)
    try:
        result = supply(job, state, duty, reader.catalogue)
    except NoSuchState as error:
        raise click.BadParameter(str(error), ctx, param_hint="--state") from None
    except NoCylinders as error:
        fit = "write for example `cylinders: {size: 9 kg, count: 2, drawing: 1, fill: 50 %, ambient: 5 degC}`"
        raise InputWrong.by(Problems([Problem(job.file, 0, 0, "cylinders", str(error), fit)])) from None
    emit(SupplyReport(in_full=full), [result], form, out)
    ctx.exit(result.verdict.exit_code)
