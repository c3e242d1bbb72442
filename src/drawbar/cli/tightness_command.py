"""`drawbar tightness`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.common import (
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
    from collections.abc import Sequence

    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job, TightnessTest
    from drawbar.onsite.tightness import Reading, TestSection

_PRESSURE = QuantityOption("PRESSURE", "0 Pa", "1000 kPa")
_TEMPERATURE = QuantityOption("TEMPERATURE", "-40 degC", "80 degC")


@click.command(name="tightness", short_help="Say what the tightness test is, and what a reading means.")
@click.argument("file", metavar="JOB", shell_complete=complete.file_names)
@format_option()
@click.option(
    "--test",
    "test_name",
    metavar="NAME",
    shell_complete=complete.tightness_test_names,
    help="Another test than the rule set's, as `en-1949`.",
)
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
    help="Between the readings, as `5 min`. Default: the test's.",
)
@click.option(
    "--resolution",
    type=QuantityOption("PRESSURE", "0.1 Pa", "10 kPa"),
    default="10 Pa",
    show_default=True,
    metavar="PRESSURE",
    help="The step that the manometer shows.",
)
@click.option(
    "--leak",
    type=QuantityOption("LEAK_RATE", "0.0001 L/h", "10000 L/h"),
    metavar="FLOW",
    help="Say how long such a leak takes to show, as `0.1 L/h`.",
)
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context,
    file: str,
    form: str,
    test_name: str | None,
    hoses: bool,  # noqa: FBT001 - click calls it by name
    section: str | None,
    start: float | None,
    end: float | None,
    start_temperature: float | None,
    end_temperature: float | None,
    time: float | None,
    resolution: float,
    leak: float | None,
    libraries: tuple[str, ...],
    out: str | None,
) -> None:
    """Say what a line holds, what its tightness test is and what a reading means.

    JOB is a job file, or - for standard input. Every run must have one size.

    \b
    Examples:
      drawbar tightness examples/harvest-fair-trailer.yaml --hoses
      drawbar tightness examples/harvest-fair-trailer.yaml \\
          --start '2.75 kPa' --end '2.60 kPa'
      drawbar tightness examples/harvest-fair-trailer.yaml --test en-1949
    """
    from drawbar.jobfile.reader import read_job_file
    from drawbar.onsite.tightness import sections_of, tightness
    from drawbar.report import tightness_report as report
    from drawbar.report.layout import as_csv, as_json

    _refuse_halves(ctx, start, end, start_temperature, end_temperature)
    known = catalogue(libraries)
    with problems_told():
        job = read_job_file(file, known, sized=True)
    test = _test(ctx, job, known, test_name)
    sections = _sections(ctx, sections_of(job, hoses=hoses), section)
    reading = None
    if start is not None and end is not None:
        temperatures = None
        if start_temperature is not None and end_temperature is not None:
            temperatures = (start_temperature, end_temperature)
        elif end > start:
            what = "the reading rose; no leak does that. Let the line settle and read again, or give both temperatures."
            raise click.BadParameter(what, ctx, param_hint="--end")
        if time is None and (test is None or test.hold_s is None):
            raise click.UsageError(
                "--time is missing: the test gives none, so say how far apart the readings are.", ctx
            )
        reading = _reading(ctx, job, test, sections, (start, end), temperatures, time, resolution)
    found = tightness(job, test, sections, resolution_pa=resolution, time_s=time, leak_m3_s=leak, reading=reading)
    if form == "json":
        write(as_json("tightness", [report.data(found)]), out)
    elif form == "csv":
        write(as_csv(report.CSV_COLUMNS, report.rows(found)), out)
    else:
        print_page(report.page(found), form, out)
    ctx.exit(0 if found.passes else 1)


def _refuse_halves(
    ctx: click.Context,
    start: float | None,
    end: float | None,
    start_temperature: float | None,
    end_temperature: float | None,
) -> None:
    """End the call where one of two things that go together is missing."""
    if (start is None) != (end is None):
        raise click.UsageError("--start and --end go together: give both readings.", ctx)
    if (start_temperature is None) != (end_temperature is None):
        raise click.UsageError("--start-temperature and --end-temperature go together: give both.", ctx)
    if start_temperature is not None and start is None:
        raise click.UsageError("--start-temperature goes with readings: give --start and --end.", ctx)


def _test(ctx: click.Context, job: Job, known: Catalogue, name: str | None) -> TightnessTest | None:
    """Return the test that is named, or that of the job's rule set."""
    from drawbar.problems import close_to, shown

    with problems_told():
        if name is None:
            return known.tightness_test(job.rule.name) if job.rule else None
        test = known.tightness_test(name)
        if test is None:
            fit = close_to(name, known.tightness_tests())
            raise click.BadParameter(f"{shown(name)} is not a test of the catalogue; {fit}", ctx, param_hint="--test")
    return test


def _sections(ctx: click.Context, sections: Sequence[TestSection], name: str | None) -> Sequence[TestSection]:
    """Return the section that is named, or all."""
    from drawbar.problems import close_to, shown

    if name is None:
        return sections
    named = [one for one in sections if one.name == name]
    if not named:
        fit = close_to(name, [one.name for one in sections])
        raise click.BadParameter(f"{shown(name)} has no regulator of its own; {fit}", ctx, param_hint="--section")
    return named


def _reading(
    ctx: click.Context,
    job: Job,
    test: TightnessTest | None,
    sections: Sequence[TestSection],
    gauges_pa: tuple[float, float],
    temperatures_k: tuple[float, float] | None,
    time_s: float | None,
    resolution_pa: float,
) -> Reading:
    from drawbar.onsite.tightness import reading_of

    if len(sections) > 1:
        names = ", ".join(one.name for one in sections)
        raise click.UsageError(f"The job has several stages; say with --section which was read: {names}.", ctx)
    hold_s = time_s if time_s is not None else (test.hold_s if test else None)
    assert hold_s is not None  # the caller has looked
    found = reading_of(job, test, sections[0], *gauges_pa, hold_s, temperatures_k, resolution_pa)
    if found.rises:
        what = (
            f"put right for temperature the reading rose by {-found.fall_pa:.0f} Pa; no leak does that. Let the line "
            f"settle and read again."
        )
        raise click.BadParameter(what, ctx, param_hint="--end-temperature")
    return found
