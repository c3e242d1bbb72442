"""`drawbar diff`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli.options import INPUT_FILE, FileCommand, format_option, library_option, out_option
from drawbar.cli.output import emit, print_page
from drawbar.cli.reading import catalogue, problems_told

if TYPE_CHECKING:
    from collections.abc import Sequence


@click.command(
    name="diff", cls=FileCommand, judges=True, short_help="Show what changed between two job files or files of results."
)
@click.argument("old", metavar="OLD", type=INPUT_FILE)
@click.argument("new", metavar="NEW", type=INPUT_FILE)
@click.option("--all", "show_all", is_flag=True, help="Of result files: list every job, not only those that changed.")
@click.option("--full", is_flag=True, help="Of result files: show all reasons and remedies.")
@format_option("table", "json", "markdown")
@library_option
@out_option
@click.pass_context
def diff_command(
    ctx: click.Context,
    *,
    old: str,
    new: str,
    show_all: bool,
    full: bool,
    form: str,
    libraries: Sequence[str],
    out: str | None,
) -> None:
    """Show what changed between two job files, or two files of results.

    OLD and NEW are job files, or results of `drawbar recheck --format jsonl`.
    Of a job: verdict, spare, and the keys that differ. Of results: the jobs
    whose verdict or spare has changed, and why.

    \b
    Example:
      drawbar diff examples/ice-cream-van-fail.yaml \\
          examples/harvest-fair-trailer.yaml
    """
    with problems_told():
        if _are_results(old, new):
            code = _diff_results(old, new, form, out, show_all=show_all, full=full)
        else:
            from drawbar.comparing.changed_job import changed_job
            from drawbar.report.diff_report import DiffReport

            result = changed_job(old, new, catalogue(libraries))
            emit(DiffReport(), [result], form, out)
            code = result.new.exit_code
    ctx.exit(code)


def _are_results(old: str, new: str) -> bool:
    """Tell whether the files are results, by how they begin; one of each sort is told as the problem that it is."""
    from drawbar.problems import Problem, Problems

    kinds = [_begins_as_json(file) for file in (old, new)]
    if kinds[0] != kinds[1]:
        job, results = (new, old) if kinds[0] else (old, new)
        what = f"is a job file, and {results} holds results"
        raise Problems([Problem(job, 0, 0, "", what, "give two of the same sort")])
    return kinds[0]


def _begins_as_json(file: str) -> bool:
    import re
    from pathlib import Path

    if file == "-":
        return False
    try:
        with Path(file).open("rb") as stream:
            return re.match(rb'\s*{\s*"drawbar"', stream.read(40)) is not None
    except OSError:
        return False  # which reading it tells


def _diff_results(old: str, new: str, form: str, out: str | None, *, show_all: bool, full: bool) -> int:
    """Print what changed between two files of results; return the exit code of the new ones."""
    from drawbar.rechecking.batch import Batch
    from drawbar.rechecking.earlier import Earlier
    from drawbar.rechecking.result_lines import read_outcomes
    from drawbar.report.recheck_report import RecheckReport

    batch = Batch((), Earlier(old), keep_all=show_all)
    outcomes = batch.passed_on(read_outcomes([new]))
    report = RecheckReport(in_full=full)
    if form == "json":
        emit(report, list(outcomes), form, out)
    else:
        for _ in outcomes:
            pass  # the batch keeps those that the page lists
        print_page(report.page_of(batch), form, out)
    return batch.exit_code
