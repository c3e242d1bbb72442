"""`drawbar check`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import click

from drawbar.cli import complete
from drawbar.cli.options import INPUT_FILE, FileCommand, format_option, job_options, out_option, refuse_input
from drawbar.cli.output import emit, write_lines
from drawbar.cli.progress import with_progress
from drawbar.cli.reading import PROBLEMS, jobs_named
from drawbar.cli.telling import remark

if TYPE_CHECKING:
    from drawbar.answers import WholeCheck
    from drawbar.cli.reading import JobReader
    from drawbar.job import Job
    from drawbar.report.check_view import CheckView


@click.command(name="check", cls=FileCommand, judges=True)
@click.argument("jobs", nargs=-1, required=True, metavar="JOB...", type=INPUT_FILE)
@format_option("table", "json", "csv", "markdown", "github")
@click.option(
    "--formula",
    metavar="NAME",
    shell_complete=complete.formula_names,
    help="Use this formula instead of the job's. See `drawbar list formulas`.",
)
@click.option("--full", is_flag=True, help="Show every state, the line as a tree, and the spare of each part.")
@click.option(
    "--state",
    "states",
    metavar="NAME",
    multiple=True,
    help="Show this state only. May be given several times. The verdict stays that of all.",
)
@click.option("--failing", is_flag=True, help="Show only what does not pass, jobs and appliances.")
@click.option("--brief", is_flag=True, help="Print one line a job: verdict, spare and reason.")
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
    states: tuple[str, ...],
    failing: bool,
    brief: bool,
    compare: bool,
    watch: bool,
    reader: JobReader,
    out: str | None,
) -> None:
    """Check the pressure at every appliance, in every state.

    JOB is a job file, a folder, a pattern, or - for standard input. Every run
    must have one size. Prints the verdict, the reasons, and each appliance at
    its lowest pressure.

    \b
    Example:
      drawbar check examples/harvest-fair-trailer.yaml
    """
    from drawbar.physics.formulas import FORMULAS
    from drawbar.problems import close_to
    from drawbar.report.check_view import CheckView
    from drawbar.verdict import exit_code_of

    if formula is not None and formula not in FORMULAS:
        raise click.BadParameter(
            f"{formula!r} is not a formula; {close_to(formula, FORMULAS)}", ctx, param_hint="--formula"
        )
    view = CheckView(states, failing)
    if compare and (brief or full or view != CheckView()):
        raise click.UsageError("--compare goes without --full, --brief, --state and --failing.", ctx)
    if brief and (full or form == "json"):
        raise click.UsageError("--brief is for --format table, csv and markdown, and goes without --full.", ctx)
    if watch:
        from drawbar.catalogue.library import library_files
        from drawbar.cli.watching import call_at_every_save

        call_at_every_save(ctx, [*jobs, *library_files(reader.libraries)])
    if form == "github" and (brief or compare or full or view != CheckView()):
        raise click.UsageError("--format github goes without --brief, --compare, --full, --state and --failing.", ctx)
    asked = _Asked(formula, view, full=full, form=form, out=out)
    files = jobs_named(jobs)
    refuse_input(ctx, out, files)
    if form == "github":
        ctx.exit(exit_code_of(list(asked.annotated(reader, files))))
    codes = list(asked.brief(reader, files) if brief else asked.checked(reader, files, compare=compare))
    ctx.exit(exit_code_of(codes))


class _Asked(NamedTuple):
    """What a call asks of its jobs, and how the answer is printed."""

    formula: str | None
    view: CheckView
    full: bool
    form: str
    out: str | None

    def checked(self, reader: JobReader, files: Sequence[str], *, compare: bool) -> Iterator[int]:
        """Check the jobs and print them; yield the exit code of each."""
        from drawbar.answers import whole_check
        from drawbar.cli.output import lines_beside, lines_of_terminal, page_width
        from drawbar.report.check_report import CheckReport
        from drawbar.report.check_screen import SCREEN_LINES, Room, is_left_out
        from drawbar.verdict import EXIT_WRONG

        results: list[WholeCheck] = []
        in_full = self.full or self.form in ("json", "csv")
        for job in with_progress(reader.each(files, sized=True), len(files), "jobs"):
            if job is None:
                yield EXIT_WRONG
                continue
            _refuse_states(job, self.view.states)
            whole = whole_check(job, self.formula, reader.catalogue, in_full=in_full)
            yield whole.result.verdict.exit_code
            results.append(whole)
        if compare:
            from drawbar.checking.compare import comparison_of
            from drawbar.report.compare_report import FormulasReport

            emit(FormulasReport(), [comparison_of(whole.result) for whole in results], self.form, self.out)
            return
        lines = max(SCREEN_LINES, lines_of_terminal(self.out) - 1)  # less that of the prompt
        report = CheckReport(in_full=self.full, view=self.view, room=Room(lines - lines_beside(), page_width(self.out)))
        shown = [whole for whole in results if not is_left_out(whole, self.view)]
        emit(report, shown, self.form, self.out)
        _say_left_out(len(results) - len(shown))

    def annotated(self, reader: JobReader, files: Sequence[str]) -> Iterator[int]:
        """Check the jobs and print what a hosted CI shows beside their lines; yield the exit code of each."""
        from drawbar.rechecking.recheck import recheck_job
        from drawbar.report.annotations import outcome_annotations, problem_annotation
        from drawbar.verdict import EXIT_WRONG

        lines: list[str] = []
        for job in with_progress(reader.each(files, sized=True), len(files), "jobs"):
            if job is None:
                yield EXIT_WRONG
                continue
            formula = self.formula or job.formula
            outcome = recheck_job(
                job if formula == job.formula else job._replace(formula=formula), (), reader.catalogue
            )
            lines.extend(outcome_annotations(outcome))
            yield outcome.exit_code
        problems = click.get_current_context().meta.get(PROBLEMS, ())
        write_lines([*map(problem_annotation, problems), *lines], self.out)

    def brief(self, reader: JobReader, files: Sequence[str]) -> Iterator[int]:
        """Check the jobs and print a line for each; yield the exit code of each."""
        from drawbar.checking.check import check_job
        from drawbar.report.check_brief import BriefCheck, BriefReport
        from drawbar.verdict import EXIT_WRONG, Verdict

        lines = []
        passing = 0
        for file, job in zip(files, with_progress(reader.each(files, sized=True), len(files), "jobs"), strict=True):
            if job is None:
                yield EXIT_WRONG
                lines.append(BriefCheck(file, None, reason="can't be read"))
                continue
            _refuse_states(job, self.view.states)
            result = check_job(job, self.formula)
            yield result.verdict.exit_code
            if self.view.failing and result.verdict is Verdict.PASS:
                passing += 1
            else:
                lines.append(BriefCheck.of(result, self.view))
        if lines:
            emit(BriefReport(), [lines], self.form, self.out)
        _say_left_out(passing)


def _refuse_states(job: Job, states: Sequence[str]) -> None:
    """End the call where a job has no state of a name."""
    from drawbar.problems import close_to, shown

    there = [state.name for state in job.states]
    for name in states:
        if name not in there:
            what = f"{shown(name)} is not a state of {job.file}; {close_to(name, there)}"
            raise click.BadParameter(what, click.get_current_context(), param_hint="--state")


def _say_left_out(count: int) -> None:
    if count:
        jobs = "1 job passes and is" if count == 1 else f"{count} jobs pass and are"
        remark(f"{jobs} left out")
