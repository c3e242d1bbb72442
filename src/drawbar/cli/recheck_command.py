"""`drawbar recheck`."""

from __future__ import annotations

import contextlib
import gc
import sys
from collections.abc import Generator, Iterator, Sequence
from typing import TYPE_CHECKING

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
from drawbar.cli.output import emit, is_dumb, print_page, write
from drawbar.cli.reading import ASKED, InputWrong, keep_problems, problems_told
from drawbar.cli.telling import is_quiet

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.cli.reading import JobReader
    from drawbar.rechecking.recheck import Outcome
    from drawbar.rechecking.swaps import Swap


_LEAST_FOR_BAR = 20  # jobs; results of fewer come as fast as a bar


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
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="How many processes to use.")
@format_option("table", "json", "jsonl", "csv", "markdown")
@batch_job_options
@set_option
@out_option
@click.pass_context
def recheck_command(
    ctx: click.Context,
    jobs: tuple[str, ...],
    swaps: tuple[str, ...],
    swaps_file: str | None,
    jobs_from: str | None,
    results: tuple[str, ...],
    workers: int,
    form: str,
    reader: JobReader,
    out: str | None,
) -> None:
    """Check many jobs again with appliances swapped.

    JOB is a job file, a folder (its .yaml and .yml files, also in folders
    below) or a pattern. OLD is an appliance's name in the job, or the catalogue
    entry that it is `like`; NEW is a catalogue entry or a rate.

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
    if results:
        outcomes = _read_back(results)
    else:
        wanted = _swaps(ctx, swaps, swaps_file, reader.catalogue)
        files = _files(jobs, jobs_from)
        refuse_input(ctx, out, files)
        outcomes = _with_bar(_outcomes(files, reader, wanted, workers), len(files))
    batch = _Batch(outcomes)
    with problems_told(), contextlib.closing(batch.outcomes):
        _print(batch.outcomes, form, out)
    ctx.exit(batch.exit_code)


class _Batch:
    """Outcomes on their way to the output: what is wrong with a file is told as it comes, the exit code kept.

    Attributes
    ----------
    outcomes : generator of Outcome
        The outcomes, to be gone through once.
    exit_code : int
        The highest of those that came so far.
    """

    def __init__(self, outcomes: Iterator[Outcome]) -> None:
        self.exit_code = 0
        self.outcomes = self._pass_on(outcomes)

    def _pass_on(self, outcomes: Iterator[Outcome]) -> Generator[Outcome, None, None]:
        from drawbar.verdict import exit_code_of

        for outcome in outcomes:
            for problem in outcome.problems:
                click.echo(problem.of_several, err=True)
            keep_problems(outcome.problems)
            if outcome.asked:  # of this call, or of the earlier one whose results are read
                asked = click.get_current_context().meta.setdefault(ASKED, ())
                click.get_current_context().meta[ASKED] = tuple(dict.fromkeys((*asked, *outcome.asked)))
            self.exit_code = exit_code_of((self.exit_code, outcome.exit_code))
            yield outcome


def _print(outcomes: Iterator[Outcome], form: str, out: str | None) -> None:
    """Print the outcomes; lines of JSON one by one as they come."""
    from drawbar.report.recheck_report import RecheckReport

    report = RecheckReport()
    if form == "jsonl":
        write(map(report.line, outcomes), out)
    elif form in ("json", "csv"):
        emit(report, list(outcomes), form, out)
    else:
        print_page(report.page_of(outcomes), form, out)


def _read_back(files: Sequence[str]) -> Iterator[Outcome]:
    from drawbar.rechecking.result_lines import read_outcomes

    return read_outcomes(files)


def _outcomes(files: list[str], reader: JobReader, swaps: list[Swap], workers: int) -> Iterator[Outcome]:
    from drawbar.catalogue.library import library_files
    from drawbar.rechecking.workers import recheck_all

    return recheck_all(files, library_files(reader.libraries), swaps, workers, reader.asked)


def _with_bar(outcomes: Iterator[Outcome], count: int) -> Iterator[Outcome]:
    """Pass the outcomes on, with a progress bar where standard error is a terminal and the results don't fill it."""
    if is_quiet() or is_dumb() or not sys.stderr.isatty() or (sys.stdout.isatty() and count < _LEAST_FOR_BAR):
        yield from outcomes
        return
    with click.progressbar(outcomes, length=count, label="Jobs", file=sys.stderr) as shown:
        yield from shown


def _swaps(ctx: click.Context, given: Sequence[str], file: str | None, known: Catalogue) -> list[Swap]:
    """Return the swaps of the options, then those of the file."""
    from drawbar.rechecking.swaps import SwapError, read_swap, read_swap_file

    try:
        swaps = [read_swap(text, known) for text in given]
    except SwapError as error:
        raise click.BadParameter(str(error), ctx, param_hint="--swap") from None
    if file is not None:
        with problems_told():
            swaps.extend(read_swap_file(file, known))
    return swaps


def _files(jobs: Sequence[str], jobs_from: str | None) -> list[str]:
    from drawbar.rechecking.job_files import job_files

    with problems_told():
        files = list(job_files(jobs, jobs_from))
    if not files:
        raise InputWrong("no job files were found")
    return files
