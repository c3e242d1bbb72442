"""How commands write: results by their report, pages with colour where it is wanted, files whole or not at all."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, TypeVar

import click

from drawbar.cli.reading import ASKED, LIBRARIES, PROBLEMS, EndOfCall, InputWrong

if TYPE_CHECKING:
    from drawbar.catalogue.library import LibraryUsed
    from drawbar.problems import Problem
    from drawbar.report.layout import Page
    from drawbar.report.report import Report

_NARROWEST, _WIDEST = 60, 160  # columns that a page is laid out for
_COLOURS = {"PASS": "green", "UNDECIDED": "yellow", "FAIL": "red"}

_Result = TypeVar("_Result")


class MachineFailed(EndOfCall):
    """The machine failed where a result was written, as a full disk does; the program ends with exit code 4."""

    exit_code = 4


class OutputFailed(MachineFailed):
    """Standard output took less than everything: what reads it has gone, or its disk is full."""


def use_utf_8() -> None:
    """Write UTF-8 to what is no terminal, whatever the locale; a terminal keeps the encoding that it was set to.

    What an encoding lacks, and what is no text at all, comes as an escape.
    """
    for stream in (sys.stdout, sys.stderr):
        # A program that runs this one within itself may have put something else in place of a stream.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding=None if stream.isatty() else "utf-8", errors="backslashreplace")


def emit(report: Report[_Result], results: Sequence[_Result], form: str, out: str | None) -> None:
    """Print results of one kind in the form that is asked for, to standard output or to a file.

    Parameters
    ----------
    report : Report
        How the kind of result is shown.
    results : sequence
        The results, in the order in which they are printed.
    form : str
        One of FORMS.
    out : str or None
        The file to write; None for standard output.
    """
    from drawbar.report.for_scripts import as_csv, as_json

    if form == "json":
        write(as_json(report.kind, report.entries(results), _libraries(), _problems(), _asked()), out)
    elif form == "csv":
        told = {"asked": "; ".join(_asked())} if _asked() else {}
        rows = ([*row, *told.values()] for result in results for row in report.rows(result))
        write(as_csv((*report.columns, *told), rows), out)
    elif results:
        print_pages([report.page(result) for result in results], form, out)


def print_page(page: Page, form: str, out: str | None) -> None:
    """Print a page as `table` or `markdown`, with colour on the verdicts where a terminal wants it."""
    print_pages([page], form, out)


def print_pages(pages: Sequence[Page], form: str, out: str | None) -> None:
    """Print pages one after another, as print_page does one."""
    from drawbar.report.layout import as_markdown, as_text
    from drawbar.report.words import asked_sentence

    used = _libraries_used()
    if used and pages:
        pages = [*pages[:-1], _with_libraries(pages[-1], used)]
    if _asked():
        pages = [_with_asked(page, asked_sentence(_asked())) for page in pages]
    if form == "markdown":
        text = "\n".join(map(as_markdown, pages))
    else:
        plain = is_standard(out) and not draws_lines()
        wide = page_width(out)
        text = "\n\n".join(as_text(page, plain=plain, width=wide) for page in pages)
    write_lines([text], out, form, in_colour=form != "markdown")


def write_lines(lines: Iterable[str], out: str | None, form: str = "table", *, in_colour: bool = False) -> None:
    """Write lines of text as `write` does; in a file a last line says what wrote it, so that the next call may again.

    Parameters
    ----------
    lines : iterable of str
        The lines, or whole pages, each with its line break.
    out : str or None
        The file; None or `-` for standard output.
    form : str
        `table`, or `markdown` where the last line is to be a comment of it.
    in_colour : bool
        As for `write`.
    """
    if not is_standard(out):
        import itertools

        from drawbar.cli.earlier_output import last_lines

        lines = itertools.chain(lines, (last_lines(form),))
    write(lines, out, in_colour=in_colour)


def _with_asked(page: Page, text: str) -> Page:
    """Return a page with what is asked below its first line, in the lines that stand there where there are some."""
    first, *rest = page
    if isinstance(first, str):
        name, _, lines = first.partition("\n")
        return ["\n".join(filter(None, (name, text, lines))), *rest]
    if rest and isinstance(rest[0], str):
        return [first, f"{text}\n{rest[0]}", *rest[1:]]
    return [first, text, *rest]


def _with_libraries(page: Page, text: str) -> Page:
    """Return a page with the libraries at its end, in the lines that stand there where there are some."""
    *rest, last = page
    return [*rest, f"{last}\n{text}"] if isinstance(last, str) else [*rest, last, text]


def lines_beside() -> int:
    """Return how many lines stand on a page of 80 columns beside its own: which libraries are used, what is asked."""
    from drawbar.report.layout import as_text
    from drawbar.report.words import asked_sentence

    beside = [_libraries_used(), asked_sentence(_asked()) if _asked() else ""]
    return sum(as_text([text]).count("\n") for text in beside if text)


def _libraries_used() -> str:
    """Return which libraries the call read, and what they replace; empty without any."""
    return "\n".join(
        f"Library {used.file}"
        + (f", in place of the project's own: {', '.join(used.replaces)}." if used.replaces else ".")
        for used in _libraries()
    )


def write_problems(kind: str, problems: Sequence[Problem], out: str | None) -> None:
    """Write the JSON of a call that came to no result, as its input can't be used.

    Parameters
    ----------
    kind : str
        What the results would be of.
    problems : sequence of Problem
        What is wrong with the input.
    out : str or None
        The file to write; None for standard output.
    """
    from drawbar.report.for_scripts import as_json

    write(as_json(kind, [], _libraries(), [*_problems(), *problems], _asked()), out)


def _problems() -> Sequence[Problem]:
    """Return what is wrong with the files that the call left out."""
    context = click.get_current_context(silent=True)
    return () if context is None else context.meta.get(PROBLEMS, ())


def _asked() -> Sequence[str]:
    """Return what the call asks of its jobs beside their files."""
    context = click.get_current_context(silent=True)
    return () if context is None else context.meta.get(ASKED, ())


def _libraries() -> Sequence[LibraryUsed]:
    """Return the libraries that the call read."""
    context = click.get_current_context(silent=True)
    return () if context is None else context.meta.get(LIBRARIES, ())


def page_width(out: str | None) -> int:
    """Return the columns of a page: those of the terminal that it goes to, 80 elsewhere."""
    from drawbar.report.layout import WIDTH

    return terminal_width() if is_shown(out) else WIDTH


def lines_of_terminal(out: str | None) -> int:
    """Return the lines of the terminal that an output goes to, 0 where it goes to none."""
    import shutil

    return shutil.get_terminal_size().lines if is_shown(out) else 0


def terminal_width() -> int:
    """Return the columns of the terminal, from 60 to 160."""
    import shutil

    return max(_NARROWEST, min(_WIDEST, shutil.get_terminal_size().columns))


def draws_lines() -> bool:
    """Tell whether standard output can show the characters that lines are drawn with."""
    # Python writes UTF-8 under the C locale as well, which a terminal that was set to it need not show.
    is_plain = sys.stdout.isatty() and (os.environ.get("LC_ALL") in ("C", "POSIX") or is_dumb())
    return not is_plain and (sys.stdout.encoding or "").lower().replace("-", "") == "utf8"


def coloured(text: str) -> str:
    """Return a text with its verdicts in colour."""
    return re.sub(
        rf"\b({'|'.join(_COLOURS)})\b",
        lambda verdict: click.style(verdict.group(), fg=_COLOURS[verdict.group()], bold=True),
        text,
    )


def has_colour() -> bool:
    """Tell whether standard output takes colour: a terminal, by NO_COLOR never, by FORCE_COLOR always."""
    if os.environ.get("NO_COLOR"):
        return False
    if os.environ.get("FORCE_COLOR"):
        return True
    return sys.stdout.isatty() and not is_dumb()


def is_dumb() -> bool:
    """Tell whether the terminal says that it can do nothing but print letters."""
    return os.environ.get("TERM") == "dumb"


def write(text: str | bytes | Iterable[str | bytes], out: str | None, *, in_colour: bool = False) -> None:
    """Write a text, or pieces of one as they come, to standard output, or to a file whole or not at all.

    Nothing that a terminal would act on is written, whatever the names of files are; bytes are written as they are.

    Parameters
    ----------
    text : str, bytes or iterable of str
        What is written.
    out : str or None
        The file; None or `-` for standard output.
    in_colour : bool
        Whether it is a page, whose verdicts are in colour where standard output takes it.
    """
    from drawbar.problems import visible

    pieces: Iterable[str | bytes] = [text] if isinstance(text, str | bytes) else text
    safe = (visible(piece) if isinstance(piece, str) else piece for piece in pieces)
    if is_standard(out):
        for piece in safe:
            if in_colour and isinstance(piece, str) and has_colour():
                _print(coloured(piece), colour=True)
            else:
                _print(piece)
        return
    from pathlib import Path

    from drawbar.cli.whole_files import write_whole

    try:
        write_whole(Path(str(out)), safe)
    except OSError as error:
        raise write_failed(str(out), error) from None


def is_standard(out: str | None) -> bool:
    """Tell whether an output goes to standard output."""
    return out in (None, "-")


def is_shown(out: str | None) -> bool:
    """Tell whether an output goes to a terminal."""
    return is_standard(out) and sys.stdout.isatty()


def _print(piece: str | bytes, *, colour: bool | None = None) -> None:
    try:
        click.echo(piece, nl=False, color=colour)
    except OSError as error:
        raise output_failed(error) from None
    flush_output()


def flush_output() -> None:
    """Write out what standard output still holds back.

    Raises
    ------
    OutputFailed
        If it can't be written.
    """
    try:
        sys.stdout.flush()
    except OSError as error:
        raise output_failed(error) from None


def output_failed(error: OSError) -> OutputFailed:
    """Return what ends the call where standard output could not be written."""
    if isinstance(error, BrokenPipeError):
        return OutputFailed("standard output: was closed before everything was written")
    return OutputFailed(f"standard output: can't be written: {error.strerror}")


def write_failed(file: str, error: OSError) -> click.ClickException:
    """Return what ends the call where a file can't be written: exit code 4 if the machine failed, else 2."""
    from drawbar.problems import MACHINE_ERRORS

    kind = MachineFailed if error.errno in MACHINE_ERRORS else InputWrong
    return kind(f"{file}: can't be written: {error.strerror}")
