"""Files watched for a save, whatever way an editor has of saving: in place, or by another file in place of it."""

from __future__ import annotations

import gc
import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence

import click

from drawbar.cli.output import is_dumb, terminal_width
from drawbar.cli.reading import ASKED, LIBRARIES, PROBLEMS, InputWrong

POLL_S = 0.2
"""Between two looks at the files: soon enough to be at once, and next to nothing of a processor."""
_SETTLING_S = 0.05  # from a save until the file is read, as some editors empty it first
_MOST_SETTLING = 10

_Stamp = tuple[int, int, int] | None


def stamps(files: Sequence[str]) -> list[_Stamp]:
    """Return what tells of each file whether it was saved; None where there is no such file just now."""
    return [_stamp(file) for file in files]


def _stamp(file: str) -> _Stamp:
    try:
        status = os.stat(file)
    except (OSError, ValueError):
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino


def saves(files: Sequence[str], *, sleep: Callable[[float], None] = time.sleep) -> Iterator[None]:
    """Yield at once, and then each time that one of the files was saved; it never ends by itself.

    Parameters
    ----------
    files : sequence of str
        The files; they may come and go.
    sleep : callable
        What waits so many seconds [s].

    Yields
    ------
    None
        What was saved while its receiver was at work is not missed.
    """
    seen = stamps(files)
    yield
    while True:
        sleep(POLL_S)
        now = stamps(files)
        if now == seen:
            continue
        for _ in range(_MOST_SETTLING):
            before = now
            sleep(_SETTLING_S)
            now = stamps(files)
            if now == before:
                break
        seen = now
        yield


def call_at_every_save(ctx: click.Context, files: Sequence[str]) -> None:
    """Call a command that has `--watch` at once and again whenever a file is saved, in place, until Ctrl-C.

    Parameters
    ----------
    ctx : click.Context
        The call.
    files : sequence of str
        The files that it reads.

    Raises
    ------
    click.UsageError
        If the call reads standard input, or its result does not go to the screen.
    """
    if "-" in files:
        raise click.UsageError("--watch needs files, not standard input.", ctx)
    if ctx.params.get("out") is not None or ctx.params.get("form") != "table":
        raise click.UsageError("--watch shows a table on the screen; leave --out and --format out.", ctx)
    gc.enable()  # as it may run for a day
    is_screen = sys.stdout.isatty() and not is_dumb()
    for _ in saves(files):
        for key in (LIBRARIES, PROBLEMS, ASKED):
            ctx.meta.pop(key, None)
        if is_screen:
            click.echo("\x1b[2J\x1b[3J\x1b[H", nl=False)
        try:
            ctx.forward(ctx.command, watch=False)
        except click.exceptions.Exit:
            pass
        except (InputWrong, click.UsageError) as error:  # which the next save may put right
            error.show()
        line = f"{time.strftime('%H:%M:%S')}, checked again at every save, Ctrl-C ends: {', '.join(files)}"
        if is_screen:  # without a line's end, so that a page of one screen stays whole
            click.echo(line[: terminal_width() - 1], nl=False)
        else:
            click.echo(f"{line}\n")
