"""`drawbar check`."""

from __future__ import annotations

import click

from drawbar.cli.common import catalogue, each_job, format_option, library_option, out_option


@click.command(name="check")
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...")
@format_option()
@click.option(
    "--formula", metavar="NAME", help="Use this formula instead of the job's own. See `drawbar list formulas`."
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
    r"""Say whether every appliance gets its pressure, in every state.

    JOB is a job file, or - for standard input.

    \b
    Example:
      drawbar check examples/harvest-fair-trailer.yaml
    """
    from drawbar.check import check
    from drawbar.cli.common import coloured, write
    from drawbar.flow import FORMULAS
    from drawbar.problems import close_to
    from drawbar.report import check as report
    from drawbar.report import compare as report_compare
    from drawbar.report.layout import as_csv, as_json, as_markdown, as_text

    if formula is not None and formula not in FORMULAS:
        raise click.BadParameter(
            f"{formula!r} is not a formula; {close_to(formula, FORMULAS)}", ctx, param_hint="--formula"
        )
    results, code = [], 0
    for job in each_job(jobs, catalogue(libraries), sized=True):
        if job is None:
            code = 2
            continue
        result = check(job, formula, with_headroom=True)
        code = max(code, 0 if result.passes else 1)
        results.append((result, report_compare.compare(job) if compare else None))
    if form == "json":
        write(as_json("check", [report.data(one) | report_compare.data(other) for one, other in results]), out)
    elif form == "csv" and compare:
        write(
            as_csv(report_compare.CSV_COLUMNS, (row for _, other in results for row in report_compare.rows(other))), out
        )
    elif form == "csv":
        write(as_csv(report.CSV_COLUMNS, (row for one, _ in results for row in report.rows(one))), out)
    elif results:
        pages = [report_compare.page(other) if other else report.page(one) for one, other in results]
        if form == "markdown":
            write("\n".join(map(as_markdown, pages)), out)
        else:
            write(coloured("\n\n".join(map(as_text, pages)), out), out)
    ctx.exit(code)
