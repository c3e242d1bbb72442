"""`drawbar hotwater`."""

from __future__ import annotations

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
    print_page,
    problems_told,
    write,
)

if TYPE_CHECKING:
    from drawbar.job import Appliance, Job


@click.command(name="hotwater", short_help="Say how hot the water comes, and how soon.")
@click.argument("file", metavar="JOB", shell_complete=complete.file_names)
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
@click.option("--appliance", "name", metavar="NAME", help="This heater only. Default: all that say what they heat.")
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    form: str,
    outlet: float | None,
    flow: float | None,
    name: str | None,
    libraries: tuple[str, ...],
    out: str | None,
) -> None:
    """Say how hot the water comes, how soon, and how much runs off first.

    JOB is a job file, or - for standard input, with an appliance that has
    `heats:`.

    \b
    Example:
      drawbar hotwater examples/harvest-fair-trailer.yaml --flow '8 L/min'
    """
    from drawbar.hot_water import hot_water
    from drawbar.jobfile.reader import read_job_file
    from drawbar.report import hotwater_report as report
    from drawbar.report.layout import as_csv, as_json

    known = catalogue(libraries)
    with problems_told():
        job = read_job_file(file, known)
    heaters = []
    for appliance in _heaters(ctx, job, name):
        try:
            heaters.append(hot_water(appliance, flow, outlet))
        except ValueError as error:
            raise click.BadParameter(f"{error}; write a higher temperature.", ctx, param_hint="--outlet") from None
    if form == "json":
        write(as_json("hotwater", [report.data(job, heaters)]), out)
    elif form == "csv":
        write(as_csv(report.CSV_COLUMNS, report.rows(job, heaters)), out)
    else:
        print_page(report.page(job, heaters), form, out)
    ctx.exit(0)


def _heaters(ctx: click.Context, job: Job, name: str | None) -> list[Appliance]:
    """Return the heaters of a job that say what water they heat, or the one that is named."""
    from drawbar.problems import Problem, close_to, shown

    heaters = {one.name: one for one in job.appliances if one.heats is not None}
    if not heaters:
        fit = "write `heats: {flow: 6 L/min, inlet: 15 degC, efficiency: 80 %}` at the heater"
        raise InputWrong(str(Problem(job.file, 0, 0, "appliances", "no appliance says what water it heats", fit)))
    if name is None:
        return list(heaters.values())
    if name not in heaters:
        is_there = any(one.name == name for one in job.appliances)
        what = "says of no water that it heats it" if is_there else "is not an appliance of this job"
        fit = f"heaters here: {', '.join(heaters)}" if is_there else close_to(name, heaters)
        raise click.BadParameter(f"{shown(name)} {what}; {fit}", ctx, param_hint="--appliance")
    return [heaters[name]]
