"""What the commands share: options, reading with problems told, and writing whole or not at all."""

from __future__ import annotations

import contextlib
import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from drawbar.cli import complete

if TYPE_CHECKING:
    from pathlib import Path

    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job
    from drawbar.report.layout import Page
    from drawbar.report.report import Report

CLOSED_OUTPUT = "standard output: was closed before everything was written"
FORMS = ("table", "json", "csv", "markdown")

Command = TypeVar("Command", bound=Callable[..., Any])
Result = TypeVar("Result")


class InputWrong(click.ClickException):
    """Problems of an input, told as they stand; the program ends with exit code 2."""

    exit_code = 2

    def show(self, file: Any = None) -> None:
        """Print the problems to standard error."""
        click.echo(self.message, err=True)


class QuantityOption(click.ParamType[float]):
    """An option that is a number and a unit, such as `20 %`, within bounds written so too. It comes as an SI float.

    dimension : the name of a Dimension in drawbar.units, which is imported only when the option is used
    """

    name = "quantity"

    def __init__(self, dimension: str, low: str, high: str) -> None:
        self.dimension = dimension
        self.low = low
        self.high = high

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the SI float; end the call with what would fit otherwise."""
        from drawbar import units
        from drawbar.problems import shown

        dimension: units.Dimension = getattr(units, self.dimension)

        def si(text: str) -> float:
            return units.to_si(*units.number_and_unit(text, dimension))

        try:
            found = si(value)
        except units.UnitError as error:
            self.fail(str(error), param, ctx)
        if not si(self.low) <= found <= si(self.high):
            self.fail(f"{shown(value)} can't be right; write from {self.low} to {self.high}", param, ctx)
        return found


class OutputClosed(Exception):
    """What reads our output has gone. An exception of our own: on an EPIPE click would end with exit code 1 itself."""


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


out_option = click.option(
    "--out", metavar="FILE", shell_complete=complete.files, help="Write the result to FILE, whole or not at all."
)
library_option = click.option(
    "--library",
    "libraries",
    metavar="FILE",
    shell_complete=complete.files,
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
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    with problems_told():
        return Catalogue(library_files(libraries))


def each_job(files: Sequence[str], known: Catalogue, *, sized: bool) -> Iterator[Job | None]:
    """Yield the job of each file in turn, None with its problems told on standard error where it can't be read."""
    from drawbar.jobfile.reader import read_job_file
    from drawbar.problems import Problems

    for file in files:
        try:
            yield read_job_file(file, known, sized=sized)
        except Problems as error:
            click.echo(str(error), err=True)
            yield None


def emit(report: Report[Result], results: Sequence[Result], form: str, out: str | None) -> None:
    """Print results of one kind in the form that is asked for, to standard output or to a file."""
    from drawbar.report.layout import as_csv, as_json

    if form == "json":
        write(as_json(report.kind, [report.data(result) for result in results]), out)
    elif form == "csv":
        write(as_csv(report.columns, (row for result in results for row in report.rows(result))), out)
    elif results:
        print_pages([report.page(result) for result in results], form, out)


def print_page(page: Page, form: str, out: str | None) -> None:
    """Print a page as `table` or `markdown`, with colour on the verdicts where a terminal wants it."""
    print_pages([page], form, out)


def print_pages(pages: Sequence[Page], form: str, out: str | None) -> None:
    """Print pages one after another, as print_page does one."""
    from drawbar.report.layout import as_markdown, as_text

    if form == "markdown":
        write("\n".join(map(as_markdown, pages)), out)
    else:
        plain = out is None and not draws_lines()
        write(coloured("\n\n".join(as_text(page, plain=plain) for page in pages), out), out)


def draws_lines() -> bool:
    """Tell whether standard output can show the characters that lines are drawn with."""
    # Python writes UTF-8 under the C locale as well, which a terminal that was set to it need not show.
    is_c = sys.stdout.isatty() and os.environ.get("LC_ALL") in ("C", "POSIX")
    return not is_c and (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"


def coloured(text: str, out: str | None) -> str:
    """Return the text with the verdicts in colour if it goes to a terminal and NO_COLOR is not set."""
    if out is not None or not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
        return text
    colours = {"PASS": "green", "FAIL": "red"}
    return re.sub(
        r"\b(PASS|FAIL)\b", lambda found: click.style(found.group(), fg=colours[found.group()], bold=True), text
    )


def write(text: str | bytes | Iterable[str], out: str | None) -> None:
    """Write a text, or pieces of one as they come, to standard output, or to a file whole or not at all."""
    pieces: Iterable[str | bytes] = [text] if isinstance(text, str | bytes) else text
    if out is None:
        try:
            for piece in pieces:
                click.echo(piece, nl=False)
                sys.stdout.flush()
        except BrokenPipeError:
            raise OutputClosed from None
        return
    from pathlib import Path

    try:
        write_whole(Path(out), pieces)
    except OSError as error:
        raise InputWrong(f"{out}: can't be written: {error.strerror}") from None


def write_whole(path: Path, pieces: Iterable[str | bytes]) -> None:
    """Put a text in place of a file in one step, so that nobody ever sees half of it. Raises OSError.

    A link is followed to what it points at. A device or a pipe takes the text as it comes.
    """
    import tempfile  # here, as it would cost every call's start a few milliseconds
    from pathlib import Path

    path = path.resolve()
    if path.exists() and not path.is_file():
        with path.open("wb") as stream:
            stream.writelines(map(_encoded, pieces))
        return
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
    handle, made = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:50]}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.writelines(map(_encoded, pieces))
        Path(made).chmod(mode)
        Path(made).replace(path)
    except BaseException:
        Path(made).unlink(missing_ok=True)
        raise


def _encoded(piece: str | bytes) -> bytes:
    return piece.encode("utf-8") if isinstance(piece, str) else piece


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
