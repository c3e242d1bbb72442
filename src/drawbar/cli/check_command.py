"""`drawbar check`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.common import catalogue, each_job, format_option, library_option, out_option, print_pages, write

if TYPE_CHECKING:
    from drawbar.checking.results import CheckResult


@click.command(name="check")
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", shell_complete=complete.files)
@format_option()
@click.option(
    "--formula",
    metavar="NAME",
    shell_complete=complete.formulas,
    help="Use this formula instead of the job's own. See `drawbar list formulas`.",
)
@click.option("--compare", is_flag=True, help="Show every formula's drop for each appliance side by side.")
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context,
    jobs: tuple[str, ...],
    form: str,
    formula: str | None,
    compare: bool,  # noqa: FBT001 - click calls it by name
    libraries: tuple[str, ...],
    out: str | None,
) -> None:
    """Say whether every appliance gets its pressure, in every state.

    JOB is a job file, or - for standard input. Every run must have one size.
    Shows the worst state first, with the line drawn as a tree.

    Exit code 0 if every job passes, 1 if one fails, 2 if one can't be read.

    \b
    Example:
      drawbar check examples/harvest-fair-trailer.yaml
    """
    from drawbar.checking.check import check
    from drawbar.physics.formulas import FORMULAS
    from drawbar.problems import close_to
    from drawbar.report import check_report as report
    from drawbar.report.layout import as_csv, as_json

    if formula is not None and formula not in FORMULAS:
        raise click.BadParameter(
            f"{formula!r} is not a formula; {close_to(formula, FORMULAS)}", ctx, param_hint="--formula"
        )
    code = 0
    results: list[CheckResult] = []
    for job in each_job(jobs, catalogue(libraries), sized=True):
        if job is None:
            code = 2
            continue
        results.append(check(job, formula, with_headroom=True))
        code = max(code, 0 if results[-1].passes else 1)
    if compare:
        _write_comparison(results, form, out)
    elif form == "json":
        write(as_json("check", [report.data(one) for one in results]), out)
    elif form == "csv":
        write(as_csv(report.CSV_COLUMNS, (row for one in results for row in report.rows(one))), out)
    elif results:
        print_pages([report.page(one) for one in results], form, out)
    ctx.exit(code)


def _write_comparison(results: Sequence[CheckResult], form: str, out: str | None) -> None:
    """Write what every formula makes of the jobs; the JSON holds it beside the check's own figures."""
    from drawbar.report import check_report as report
    from drawbar.report import compare_report
    from drawbar.report.layout import as_csv, as_json

    found = [(result, compare_report.compare(result.job)) for result in results]
    if form == "json":
        write(as_json("check", [report.data(result) | compare_report.data(one) for result, one in found]), out)
    elif form == "csv":
        write(as_csv(compare_report.CSV_COLUMNS, (row for _, one in found for row in compare_report.rows(one))), out)
    elif found:
        print_pages([compare_report.page(one) for _, one in found], form, out)
