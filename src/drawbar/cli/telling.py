"""What a call says beside its results: problems always, remarks and progress unless it is asked to be quiet."""

from __future__ import annotations

import io
import sys

import click

QUIET = "drawbar.quiet"
"""Where a call keeps whether it was asked to be quiet."""


def is_quiet() -> bool:
    """Tell whether the call was asked for its results and problems alone."""
    context = click.get_current_context(silent=True)
    return context is not None and bool(context.meta.get(QUIET))


def remark(text: str, *, err: bool = True) -> None:
    """Say what is good to know beside a result, such as what was written, unless the call is to be quiet.

    Parameters
    ----------
    text : str
        Lines, as a terminal shows them.
    err : bool
        Whether to say it on standard error; on standard output where there is no result.
    """
    if not is_quiet():
        click.echo(_visible(text), err=err)


def end_of_call(error: click.ClickException) -> None:
    """Say on standard error what ended the call, in click's words where they are click's."""
    said = io.StringIO()
    error.show(said)
    click.echo(_visible(said.getvalue()), file=sys.stderr, nl=False)


def _visible(text: str) -> str:
    from drawbar.problems import visible  # here, as nothing is to be said as a rule

    return visible(text)
