"""`drawbar recheck`."""

from __future__ import annotations

import contextlib
import gc
import sys
from collections.abc import Generator, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import click

from drawbar.cli import complete_names
from drawbar.cli.options import (
    INPUT_FILE,
    FileCommand,
    batch_job_options,
    format_option,
    out_option,
    refuse_input,
    set_option,
)
from drawbar.cli.output import emit, is_standard, print_page, write, write_failed, write_lines
from drawbar.cli.progress import with_progress
from drawbar.cli.reading import ASKED, InputWrong, MachineFailedToRead, keep_problems, problems_told
from drawbar.cli.telling import remark

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.cli.reading import JobReader
    from drawbar.rechecking.batch import Batch
    from drawbar.rechecking.job_files import JobFile
    from drawbar.rechecking.recheck import Outcome
    from drawbar.rechecking.swaps import Swap
    from drawbar.rechecking.workers import Task


@click.command(name="recheck", cls=FileCommand, judges=True)
@click.argument("jobs", nargs=-1, metavar="JOB...", type=INPUT_FILE)
@click.option(
    "--swap",
    "swaps",
    multiple=True,
    metavar="OLD=NEW",
    shell_complete=complete_names.swaps,
    help="Swap an appliance. May be given several times.",
)
@click.option(
    "--swaps",
    "swaps_file",
    metavar="FILE",
    type=INPUT_FILE,
    help="Swaps from a file: `swaps: {OLD: NEW, ...}`.",
)
@click.option(
    "--jobs-from",
    metavar="FILE",
    type=INPUT_FILE,
    help="Take the jobs from a list, one path a line; - for standard input.",
)
@click.option(
    "--results",
    multiple=True,
    metavar="FILE",
    type=INPUT_FILE,
    help="Read result lines of earlier runs in place of jobs.",
)
@click.option("--allow-unused", is_flag=True, help="Accept a swap that fits no appliance of any job.")
@click.option(
    "--baseline",
    metavar="FILE",
    type=INPUT_FILE,
    help="Compare with the results of an earlier run of --format jsonl.",
)
@click.option("--all", "show_all", is_flag=True, help="List every job, not only those that change.")
@click.option("--summary", is_flag=True, help="Print one line a job and the count.")
@click.option(
    "--write-remedy",
    metavar="DIR",
    help="Write job files with the swaps and remedies into DIR; no file is overwritten.",
)
@click.option("--full", is_flag=True, help="Show all reasons and remedies of every job that is listed.")
@click.option(
    "--resume",
    is_flag=True,
    help="Go on with a run that was cut short. For --format jsonl with --out.",
)
@click.option(
    "--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Use at most this many processes."
)
@format_option("table", "json", "jsonl", "csv", "markdown", "github")
@batch_job_options
@set_option
@out_option
@click.pass_context
def recheck_command(
    ctx: click.Context,
    *,
    jobs: tuple[str, ...],
    swaps: tuple[str, ...],
    swaps_file: str | None,
    jobs_from: str | None,
    results: tuple[str, ...],
    allow_unused: bool,
    baseline: str | None,
    show_all: bool,
    summary: bool,
    write_remedy: str | None,
    full: bool,
    resume: bool,
    workers: int,
    form: str,
    reader: JobReader,
    out: str | None,
) -> None:
    """Check many jobs again with appliances swapped.

    JOB is a job file, a folder (its .yaml and .yml files, also in folders
    below) or a pattern; what has no `job:` in a folder is passed over. OLD is an
    appliance's name in the job, or the catalogue entry that it is `like`; NEW is
    a catalogue entry or a rate.

    \b
    Examples:
      drawbar recheck 'examples/*trailer.yaml' --swap urn='24 MJ/h'
      drawbar recheck examples/harvest-fair-trailer.yaml \\
          --swap urn='24 MJ/h' --format jsonl --out monday.jsonl
      drawbar recheck --results monday.jsonl
    """
    gc.enable()
    if results and (jobs or jobs_from or swaps or swaps_file or reader.settings or reader.units):
        raise click.UsageError("--results takes the place of jobs, swaps, --set and --units.", ctx)
    if not (results or jobs or jobs_from):
        raise click.UsageError("Give job files, folders or --jobs-from FILE.", ctx)
    if "-" in reader.libraries:
        raise click.UsageError("A library is read once a process here; give it as a file.", ctx)
    if resume and (results or form != "jsonl" or is_standard(out)):
        raise click.UsageError("--resume goes with --format jsonl and --out FILE.", ctx)
    if write_remedy is not None and (results or reader.settings):
        raise click.UsageError("--write-remedy goes without --results and --set.", ctx)
    if summary and form != "table":
        raise click.UsageError("--summary goes with --format table.", ctx)
    files = [] if results else _files(jobs, jobs_from)
    refuse_input(ctx, out, [file.name for file in files])
    wanted = [] if results else _swaps(ctx, swaps, swaps_file, reader.catalogue)
    prints_each = form in ("jsonl", "github") and is_standard(out) and sys.stdout.isatty()
    call = _Call(files, results, wanted, reader, workers, prints_each)
    batch = _batch(call, baseline, show_all=show_all or summary)
    batch.keeps_remedied = write_remedy is not None
    with problems_told():
        if form == "jsonl" and not is_standard(out) and not results:
            _write_lines(call, batch, out, baseline, resume=resume, allow_unused=allow_unused)
        else:
            outcomes = _told(call.outcomes(), batch)
            with contextlib.closing(outcomes):
                _print(outcomes, batch, call, _Shape("summary" if summary else form, full, allow_unused), out)
    if summary or form not in ("table", "markdown"):
        _tell_others(batch)
    if write_remedy is not None:
        _write_remedied(batch, call, write_remedy)
    ctx.exit(batch.exit_code)


def _write_remedied(batch: Batch, call: _Call, folder: str) -> None:
    """Write the job files that a remedy puts right; what can't be written is told, and raises the exit code."""
    from pathlib import Path

    from drawbar.problems import Problems
    from drawbar.rechecking.remedied import write_remedied
    from drawbar.report.recheck_report import common_folder
    from drawbar.verdict import exit_code_of

    below = len(common_folder([file.name for file in call.files]))
    count = 0
    for outcome in batch.remedied:
        try:
            target = Path(folder, outcome.file[below:])
            write_remedied(outcome, call.swaps, call.reader.catalogue, target)
            count += 1
        except Problems as error:
            click.echo(str(error), err=True)
            batch.exit_code = exit_code_of((batch.exit_code, error.exit_code))
        except OSError as error:
            raise write_failed(str(target), error) from None
    files, them = ("file", "it") if count == 1 else ("files", "them")
    remark(f"drawbar: {count} job {files} with what puts {them} right in {folder}")


class _Call(NamedTuple):
    """What a call asks for: jobs or results of earlier runs, swaps, libraries, and processes."""

    files: list[JobFile]
    results: tuple[str, ...]
    swaps: list[Swap]
    reader: JobReader
    workers: int
    prints_each: bool

    def task(self) -> Task:
        """Return what is to be done with every job."""
        from drawbar.catalogue.library import library_files
        from drawbar.rechecking.workers import Task

        return Task(tuple(library_files(self.reader.libraries)), tuple(self.swaps), self.reader.asked)

    def outcomes(self, done: Iterable[str] = ()) -> Iterator[Outcome]:
        """Yield the outcomes, those of jobs that are done left out, with a progress bar on a terminal."""
        from drawbar.rechecking.result_lines import read_outcomes
        from drawbar.rechecking.workers import recheck_all

        if self.results:
            return read_outcomes(self.results)
        known = {*done}
        files = [file for file in self.files if file.name not in known]
        outcomes = recheck_all(files, self.task(), self.workers, lost=lambda text: remark(f"drawbar: {text}"))
        return with_progress(outcomes, len(files), "jobs", lambda outcome: self.prints_each or bool(outcome.problems))


class _Shape(NamedTuple):
    """How the results are printed, and whether a swap that nothing was found for lets them be."""

    form: str
    full: bool
    allow_unused: bool


def _batch(call: _Call, baseline: str | None, *, show_all: bool) -> Batch:
    from drawbar.rechecking.batch import Batch
    from drawbar.rechecking.earlier import Earlier

    with problems_told():
        earlier = Earlier(baseline) if baseline is not None else None
    return Batch(call.swaps, earlier, keep_all=show_all)


def _told(outcomes: Iterator[Outcome], batch: Batch) -> Generator[Outcome, None, None]:
    """Pass outcomes on, with what is wrong with a file told as it comes."""
    for outcome in batch.passed_on(outcomes):
        for problem in outcome.problems:
            click.echo(problem.of_several, err=True)
        keep_problems(outcome.problems)
        if outcome.asked:  # of this call, or of the earlier one whose results are read
            meta = click.get_current_context().meta
            meta[ASKED] = tuple(dict.fromkeys((*meta.get(ASKED, ()), *outcome.asked)))
        yield outcome


def _print(outcomes: Iterator[Outcome], batch: Batch, call: _Call, shape: _Shape, out: str | None) -> None:
    """Print the outcomes: lines of JSON one by one as they come, other forms once all swaps are known to be used."""
    from drawbar.report.recheck_report import RecheckReport

    report = RecheckReport(in_full=shape.full)
    if shape.form == "jsonl":
        write(map(report.line, outcomes), out)
        _refuse_unused(batch, call, allow_unused=shape.allow_unused)
    elif shape.form == "github":
        from drawbar.report.annotations import outcome_annotations

        write_lines((line for outcome in outcomes for line in outcome_annotations(outcome)), out)
        _refuse_unused(batch, call, allow_unused=shape.allow_unused)
    elif shape.form in ("json", "csv"):
        every = list(outcomes)
        _refuse_unused(batch, call, allow_unused=shape.allow_unused)
        emit(report, every, shape.form, out)
    else:
        for _ in outcomes:
            pass  # the batch keeps those that the page lists
        _refuse_unused(batch, call, allow_unused=shape.allow_unused)
        if shape.form == "summary":
            write_lines(report.summary(batch), out)
        else:
            print_page(report.page_of(batch), shape.form, out)


def _write_lines(
    call: _Call, batch: Batch, out: str | None, baseline: str | None, *, resume: bool, allow_unused: bool
) -> None:
    """Write lines of JSON beside the file that is wanted, as they come, and make that file of them in the end."""
    from drawbar.rechecking.run_file import RunFile, run_inputs
    from drawbar.report.recheck_report import RecheckReport

    assert out is not None
    report = RecheckReport()
    try:
        run = RunFile(out, run_inputs(call.task(), baseline), resume=resume)
        try:
            run.refuse_changed(file.name for file in call.files)
            for file, done in run.done.items():
                batch.add_done(file, done)
            outcomes = _told(call.outcomes(run.done), batch)
            with contextlib.closing(outcomes):
                for outcome in outcomes:
                    run.add(report.line(outcome))
            _refuse_unused(batch, call, allow_unused=allow_unused)
            write(run.lines(), out)
            run.close(remove=True)
        except (KeyboardInterrupt, click.Abort):
            remark(f"drawbar: {batch.count} of {len(call.files)} jobs are in {run.part}; --resume goes on from there")
            raise
        finally:
            run.close()
    except OSError as error:
        raise write_failed(out, error) from None


def _refuse_unused(batch: Batch, call: _Call, *, allow_unused: bool) -> None:
    """End the call where a swap found no appliance in any job."""
    from drawbar.rechecking.batch import unused_problems

    unused = [] if allow_unused else batch.unused()
    if unused:
        problems = unused_problems(unused, call.files)
        kind = MachineFailedToRead if batch.exit_code == MachineFailedToRead.exit_code else InputWrong
        raise kind("\n".join([*map(str, problems), "--allow-unused lets that pass"]), problems)


def _tell_others(batch: Batch) -> None:
    """Say which files of folders are no jobs."""
    from drawbar.rechecking.job_files import others_words

    if batch.others:
        remark(f"drawbar: {others_words(batch.others)}")


def _swaps(ctx: click.Context, given: Sequence[str], file: str | None, known: Catalogue) -> list[Swap]:
    """Return the swaps of the options, then those of the file."""
    from drawbar.rechecking.swaps import SwapError, read_swap, read_swap_file, refuse_contradictions

    try:
        swaps = [read_swap(text, known) for text in given]
        if file is not None:
            with problems_told():
                swaps.extend(read_swap_file(file, known))
        refuse_contradictions(swaps)
    except SwapError as error:
        raise click.BadParameter(str(error), ctx, param_hint="--swap") from None
    return swaps


def _files(jobs: Sequence[str], jobs_from: str | None) -> list[JobFile]:
    from drawbar.rechecking.job_files import files_named

    with problems_told():
        files = list(files_named(jobs, jobs_from))
    if not files:
        raise InputWrong("no job files were found")
    return files
