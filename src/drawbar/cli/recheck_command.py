"""`drawbar recheck`."""

from __future__ import annotations

import contextlib
import gc
import sys
from collections.abc import Generator, Iterator, Sequence
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.common import (
    InputWrong,
    catalogue,
    format_option,
    library_option,
    out_option,
    print_page,
    problems_told,
    write,
)

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.rechecking.recheck import Outcome, Swap


@click.command(name="recheck")
@click.argument("jobs", nargs=-1, metavar="JOB...", shell_complete=complete.file_names)
@click.option(
    "--swap", "swaps", multiple=True, metavar="OLD=NEW", help="Swap an appliance. May be given several times."
)
@click.option(
    "--swaps",
    "swaps_file",
    metavar="FILE",
    shell_complete=complete.file_names,
    help="Swaps from a file: `swaps: {OLD: NEW, ...}`.",
)
@click.option(
    "--jobs-from",
    metavar="FILE",
    shell_complete=complete.file_names,
    help="Take the jobs from a list, one path a line; - for standard input.",
)
@click.option(
    "--results",
    multiple=True,
    metavar="FILE",
    shell_complete=complete.file_names,
    help="Read result lines of earlier runs in place of jobs.",
)
@click.option("--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="How many processes to use.")
@format_option("table", "json", "jsonl", "csv", "markdown")
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context,
    jobs: tuple[str, ...],
    swaps: tuple[str, ...],
    swaps_file: str | None,
    jobs_from: str | None,
    results: tuple[str, ...],
    workers: int,
    form: str,
    libraries: tuple[str, ...],
    out: str | None,
) -> None:
    """Look at many jobs again with appliances swapped.

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
    from drawbar.report import recheck_report as report
    from drawbar.report.layout import as_csv, as_json

    gc.enable()

    if results and (jobs or jobs_from or swaps or swaps_file):
        raise click.UsageError("--results takes the place of jobs and swaps.", ctx)
    if not (results or jobs or jobs_from):
        raise click.UsageError("Give job files, folders or --jobs-from FILE.", ctx)
    code = 0

    def told(outcomes: Iterator[Outcome]) -> Generator[Outcome, None, None]:
        nonlocal code
        for outcome in outcomes:
            for problem in outcome.problems:
                click.echo(problem, err=True)
            code = max(code, outcome.exit_code)
            yield outcome

    if results:
        outcomes = told(_read_back(results))
    else:
        known = catalogue(libraries)
        wanted = _swaps(ctx, swaps, swaps_file, known)
        files = list(_files(jobs, jobs_from))
        if not files:
            raise InputWrong("no job files were found")
        outcomes = told(_with_bar(_outcomes(files, libraries, wanted, workers), len(files)))
    with contextlib.closing(outcomes):
        if form == "jsonl":
            write((report.line(outcome) + "\n" for outcome in outcomes), out)
        elif form == "json":
            write(as_json("recheck", [report.data(outcome) for outcome in outcomes]), out)
        elif form == "csv":
            write(as_csv(report.CSV_COLUMNS, report.rows(outcomes)), out)
        else:
            print_page(report.page(outcomes), form, out)
    ctx.exit(code)


def _outcomes(files: list[str], libraries: Sequence[str], swaps: list[Swap], workers: int) -> Iterator[Outcome]:
    from drawbar.catalogue.catalogue import library_files
    from drawbar.rechecking.workers import recheck_all

    return recheck_all(files, library_files(libraries), swaps, workers)


def _with_bar(outcomes: Iterator[Outcome], count: int) -> Iterator[Outcome]:
    """Pass the outcomes on, with a progress bar where standard error is a terminal and the results don't fill it."""
    if not sys.stderr.isatty() or (sys.stdout.isatty() and count < 20):
        yield from outcomes
        return
    with click.progressbar(outcomes, length=count, label="Jobs", file=sys.stderr) as shown:
        yield from shown


def _swaps(ctx: click.Context, given: tuple[str, ...], file: str | None, known: Catalogue) -> list[Swap]:
    from drawbar.rechecking.recheck import SwapError, parse_swap

    found = []
    for text in given:
        old, equals, new = text.partition("=")
        try:
            if not equals or not new.strip():
                raise SwapError(f"`{text}` is not OLD=NEW; write for example `urn=24 MJ/h`")
            found.append(parse_swap(old.strip(), new.strip(), known))
        except SwapError as error:
            raise click.BadParameter(str(error), ctx, param_hint="--swap") from None
    if file is not None:
        with problems_told():
            found.extend(_swaps_of_file(file, known))
    return found


def _swaps_of_file(file: str, known: Catalogue) -> list[Swap]:
    from drawbar.rechecking.recheck import SwapError, parse_swap
    from drawbar.yamlfile import nodes
    from drawbar.yamlfile.fields import Field, Named, Record, TextLine
    from drawbar.yamlfile.nodes import Source

    source = Source(file)
    model = Record({"swaps": Field(Named(TextLine()), "the new appliance by the old one", required=True)})
    top = model.read(nodes.compose(nodes.read_text(file), source), source, ())
    found = []
    for old, (new, node) in (top.get("swaps", {}) if top else {}).items():
        try:
            if new is not None:
                found.append(parse_swap(old, new, known))
        except SwapError as error:
            source.add(node, ("swaps", old), str(error))
    source.raise_if_any()
    return found


def _files(jobs: Sequence[str], jobs_from: str | None) -> Iterator[str]:
    """Yield the files that are meant: as named, in folders, by pattern, from a list."""
    import glob
    from pathlib import Path

    from drawbar.yamlfile.nodes import read_text

    named = list(jobs)
    if jobs_from is not None:
        with problems_told():
            named.extend(line for line in read_text(jobs_from, most_bytes=100_000_000).splitlines() if line.strip())
    for name in named:
        path = Path(name)
        if path.is_dir():
            yield from sorted(str(one) for one in path.rglob("*") if one.suffix in (".yaml", ".yml") and one.is_file())
        elif not path.exists() and any(mark in name for mark in "*?["):
            yield from sorted(glob.glob(name, recursive=True)) or [name]
        else:
            yield name


def _read_back(files: Sequence[str]) -> Iterator[Outcome]:
    from drawbar.report.recheck_report import BadLineError, outcome_of

    for file in files:
        try:
            with click.open_file(file, encoding="utf-8") as stream:
                for number, text in enumerate(stream, 1):
                    if text.strip():
                        try:
                            yield outcome_of(text)
                        except BadLineError as error:
                            raise InputWrong(f"{file}:{number}:1: {error}") from None
        except (OSError, UnicodeDecodeError) as error:
            raise InputWrong(f"{file}: can't be read: {getattr(error, 'strerror', None) or error}") from None
