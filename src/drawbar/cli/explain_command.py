"""`drawbar explain`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete, complete_names
from drawbar.cli.options import INPUT_FILE, FileCommand, format_option, job_options, out_option
from drawbar.cli.output import emit

if TYPE_CHECKING:
    from drawbar.cli.reading import JobReader


@click.command(name="explain", cls=FileCommand, judges=True)
@click.argument("file", metavar="JOB", type=INPUT_FILE)
@click.argument("name", metavar="[RUN or APPLIANCE]", shell_complete=complete_names.runs_and_appliances, required=False)
@format_option("table", "markdown", "json")
@click.option(
    "--state",
    metavar="NAME",
    shell_complete=complete_names.state_names,
    help="Use this state instead of the worst.",
)
@click.option(
    "--formula",
    metavar="NAME",
    shell_complete=complete.formula_names,
    help="Use this formula instead of the job's. See `drawbar list formulas`.",
)
@click.option("--short", is_flag=True, help="Show a line to key in for each figure, one screen a run.")
@job_options
@out_option
@click.pass_context
def explain_command(
    ctx: click.Context,
    file: str,
    name: str | None,
    form: str,
    state: str | None,
    formula: str | None,
    short: bool,
    reader: JobReader,
    out: str | None,
) -> None:
    """Show the working, so that it can be done by hand.

    JOB is a job file, or - for standard input. Follows the line to an
    appliance, in its worst combination, or one run, step by step with numbers,
    units and sources. Without a name: the worst appliance of the worst state.

    \b
    Examples:
      drawbar explain examples/harvest-fair-trailer.yaml griddle
      drawbar explain examples/harvest-fair-trailer.yaml main --short
    """
    from drawbar.checking.explain import explain
    from drawbar.physics.formulas import FORMULAS
    from drawbar.problems import close_to
    from drawbar.report.explain_report import ExplainReport

    if formula is not None and formula not in FORMULAS:
        raise click.BadParameter(
            f"{formula!r} is not a formula; {close_to(formula, FORMULAS)}", ctx, param_hint="--formula"
        )
    job = reader.job(file, sized=True)
    names = [*(appliance.name for appliance in job.appliances), *(run.name for run in job.runs)]
    if name is not None and name not in names:
        what = f"{name!r} is not an appliance or a run of {job.file}; {close_to(name, names)}"
        raise click.BadParameter(what, ctx, param_hint="RUN or APPLIANCE")
    states = [choice.name for choice in job.states]
    if state is not None and state not in states:
        what = f"{state!r} is not a state of {job.file}; {close_to(state, states)}"
        raise click.BadParameter(what, ctx, param_hint="--state")
    try:
        explained = explain(job, name, state, formula)
    except ValueError as error:
        raise click.BadParameter(f"{error}.", ctx, param_hint="RUN or APPLIANCE") from None
    emit(ExplainReport(reader.catalogue, is_short=short), [explained], form, out)
    ctx.exit(explained.verdict.exit_code)
