"""What the commands share: options, reading with problems told, and writing whole or not at all."""

from __future__ import annotations

import contextlib
import os
import re
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from drawbar.catalogue import Catalogue
    from drawbar.job import Job
    from drawbar.report.layout import Block

CLOSED_OUTPUT = "standard output: was closed before everything was written"
FORMS = ("table", "json", "csv", "markdown")

Command = TypeVar("Command", bound=Callable[..., Any])


class InputWrong(click.ClickException):
    """Problems of an input, told as they stand; the program ends with exit code 2."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        """Print the problems to standard error."""
        click.echo(self.message, err=True)


def format_option(*forms: str) -> Callable[[Command], Command]:
    """Return the option `--format` with the forms that a command has."""
    return click.option(
        "--format",
        "form",
        type=click.Choice(forms or FORMS),
        default="table",
        show_default=True,
        help="How to print the result.",
    )


out_option = click.option("--out", metavar="FILE", help="Write the result to FILE, whole or not at all.")
library_option = click.option(
    "--library",
    "libraries",
    metavar="FILE",
    multiple=True,
    help="A library of the workshop's own: pipes, fittings, rules, appliances. DRAWBAR_LIBRARY names one too.",
)


@contextlib.contextmanager
def problems_told() -> Iterator[None]:
    """Turn Problems into the end of the program with exit code 2."""
    from drawbar.problems import Problems

    try:
        yield
    except Problems as error:
        raise InputWrong(str(error)) from None


def catalogue(libraries: Sequence[str]) -> Catalogue:
    """Return the catalogue with the libraries of the environment and of the call laid over it."""
    from drawbar.catalogue import Catalogue

    named = os.environ.get("DRAWBAR_LIBRARY")
    with problems_told():
        return Catalogue([*([named] if named else []), *libraries])


def each_job(files: Sequence[str], known: Catalogue, *, sized: bool) -> Iterator[Job | None]:
    """Yield the job of each file in turn, None with its problems told on standard error where it can't be read."""
    from drawbar.problems import Problems
    from drawbar.reader import read_job

    for file in files:
        try:
            yield read_job(file, known, sized=sized)
        except Problems as error:
            click.echo(str(error), err=True)
            yield None


def print_page(page: Sequence[Block], form: str, out: str | None) -> None:
    """Print a page as `table` or `markdown`, with colour on the verdicts where a terminal wants it."""
    from drawbar.report.layout import as_markdown, as_text

    write(as_markdown(page) if form == "markdown" else coloured(as_text(page), out), out)


def coloured(text: str, out: str | None) -> str:
    """Return the text with the verdicts in colour if it goes to a terminal and NO_COLOR is not set."""
    if out is not None or not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
        return text
    colours = {"PASS": "green", "FAIL": "red"}
    return re.sub(
        r"\b(PASS|FAIL)\b", lambda found: click.style(found.group(), fg=colours[found.group()], bold=True), text
    )


def write(text: str, out: str | None) -> None:
    """Write a text to standard output, or to a file whole or not at all."""
    if out is None:
        click.echo(text, nl=False)
        return
    try:
        write_whole(Path(out), text)
    except OSError as error:
        raise InputWrong(f"{out}: can't be written: {error.strerror}") from None


def write_whole(path: Path, text: str) -> None:
    """Put a text in place of a file in one step, so that nobody ever sees half of it. Raises OSError."""
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
    handle, made = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:50]}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
        Path(made).chmod(mode)
        Path(made).replace(path)
    except BaseException:
        Path(made).unlink(missing_ok=True)
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
