"""`drawbar check`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.options import INPUT_FILE, FileCommand, format_option, job_options, out_option
from drawbar.cli.output import emit

if TYPE_CHECKING:
    from drawbar.answers import WholeCheck
    from drawbar.cli.reading import JobReader


@click.command(name="check", cls=FileCommand, judges=True)
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=INPUT_FILE)
@format_option()
@click.option(
    "--formula",
    metavar="NAME",
    shell_complete=complete.formula_names,
    help="Use this formula instead of the job's own. See `drawbar list formulas`.",
)
@click.option("--full", is_flag=True, help="Show every state, the line as a tree, and what each part has left.")
@click.option("--compare", is_flag=True, help="Show every formula's drop for each appliance side by side.")
@click.option("--watch", is_flag=True, help="Check again whenever a file is saved, until Ctrl-C.")
@job_options
@out_option
@click.pass_context
def check_command(
    ctx: click.Context,
    jobs: tuple[str, ...],
    form: str,
    formula: str | None,
    full: bool,
    compare: bool,
    watch: bool,
    reader: JobReader,
    out: str | None,
) -> None:
    """Check the pressure at every appliance, in every state.

    JOB is a job file, or - for standard input. Every run must have one size.
    Shows the verdict, why, and each appliance where it gets least.

    \b
    Example:
      drawbar check examples/harvest-fair-trailer.yaml
    """
    from drawbar.answers import whole_check
    from drawbar.physics.formulas import FORMULAS
    from drawbar.problems import close_to
    from drawbar.report.check_report import CheckReport
    from drawbar.verdict import EXIT_WRONG, exit_code_of

    if formula is not None and formula not in FORMULAS:
        raise click.BadParameter(
            f"{formula!r} is not a formula; {close_to(formula, FORMULAS)}", ctx, param_hint="--formula"
        )
    if watch:
        from drawbar.catalogue.library import library_files
        from drawbar.cli.watching import call_at_every_save

        call_at_every_save(ctx, [*jobs, *library_files(reader.libraries)])
    codes: list[int] = []
    results: list[WholeCheck] = []
    for job in reader.each(jobs, sized=True):
        if job is None:
            codes.append(EXIT_WRONG)
            continue
        results.append(whole_check(job, formula, reader.catalogue, in_full=full or form in ("json", "csv")))
        codes.append(results[-1].result.verdict.exit_code)
    if compare:
        from drawbar.checking.compare import comparison_of
        from drawbar.report.compare_report import FormulasReport

        emit(FormulasReport(), [comparison_of(whole.result) for whole in results], form, out)
    else:
        emit(CheckReport(in_full=full), results, form, out)
    ctx.exit(exit_code_of(codes))
