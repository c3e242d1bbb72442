"""`drawbar supply`."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.common import (
    InputWrong,
    catalogue,
    format_option,
    library_option,
    out_option,
    print_page,
    problems_told,
    write,
)

if TYPE_CHECKING:
    from drawbar.physics.cooling import Duty

_DUTY = re.compile(r"(.{1,60}?) +on *, *(.{1,60}?) +off")
_SHORTEST, _LONGEST = "10 s", "72 h"


def _duty(ctx: click.Context, param: click.Parameter, value: str | None) -> Duty | None:
    """Return the duty that a text such as `20 min on, 40 min off` says; end the call with what would fit otherwise."""
    if value is None:
        return None
    from drawbar import units
    from drawbar.physics.cooling import Duty
    from drawbar.problems import shown

    def seconds(text: str) -> float:
        return units.to_si(*units.number_and_unit(text, units.TIME))

    found = _DUTY.fullmatch(value.strip())
    if found is None:
        raise click.BadParameter(f"{shown(value)} is not a duty; write for example `20 min on, 40 min off`", ctx, param)
    times_s = []
    for text, what in zip(found.groups(), ("on", "off"), strict=True):
        try:
            time_s = seconds(text)
        except units.UnitError as error:
            raise click.BadParameter(f"the time {what}: {error}", ctx, param) from None
        if not seconds(_SHORTEST) <= time_s <= seconds(_LONGEST):
            rest = "; for a load without a break leave the option out" if what == "off" and time_s == 0.0 else ""
            fit = f"write from {_SHORTEST} to {_LONGEST}{rest}"
            raise click.BadParameter(f"the time {what}: {shown(text)} can't be right; {fit}", ctx, param)
        times_s.append(time_s)
    return Duty(*times_s)


@click.command(name="supply", short_help="Say whether bottles and regulator keep up, and how long.")
@click.argument("file", metavar="JOB", shell_complete=complete.file_names)
@format_option()
@click.option("--state", "only", metavar="NAME", help="This state only. Default: all of them.")
@click.option(
    "--duty",
    callback=_duty,
    metavar="TIMES",
    help="Follow a load that comes and goes as well, as `20 min on, 40 min off`.",
)
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    form: str,
    only: str | None,
    duty: Duty | None,
    libraries: tuple[str, ...],
    out: str | None,
) -> None:
    """Say whether bottles and regulator give what burns, and for how long.

    JOB is a job file, or - for standard input, with `cylinders:`. The result is
    that of every state's load without a break: FAIL where it is above what the
    bottles drawing give for long, or above what a regulator is rated for.

    \b
    Examples:
      drawbar supply examples/harvest-fair-trailer.yaml
      drawbar supply examples/harvest-fair-trailer.yaml --state service \\
          --duty '20 min on, 40 min off'
    """
    from drawbar.gas_supply import NoCylinders, supply
    from drawbar.jobfile.reader import read_job_file
    from drawbar.problems import Problem, close_to, shown
    from drawbar.report import supply_report as report
    from drawbar.report.layout import as_csv, as_json

    known = catalogue(libraries)
    with problems_told():
        job = read_job_file(file, known)
    names = [state.name for state in job.states]
    if only is not None and only not in names:
        raise click.BadParameter(
            f"{shown(only)} is not a state of this job; {close_to(only, names)}", ctx, param_hint="--state"
        )
    try:
        result = supply(job, duty, only)
    except NoCylinders as error:
        fit = "write for example `cylinders: {size: 9 kg, count: 2, drawing: 1, fill: 50 %, ambient: 5 degC}`"
        raise InputWrong(str(Problem(job.file, 0, 0, "cylinders", str(error), fit))) from None
    if form == "json":
        write(as_json("supply", [report.data(result)]), out)
    elif form == "csv":
        write(as_csv(report.CSV_COLUMNS, report.rows(result)), out)
    else:
        print_page(report.page(result), form, out)
    ctx.exit(0 if result.passes else 1)
