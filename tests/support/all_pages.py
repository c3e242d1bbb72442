"""Every kind of page that the commands print, of every example, before it is laid out."""

import contextlib
import io
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple
from unittest.mock import patch

import click

from drawbar.cli.main import cli
from drawbar.report.layout import Page
from paths import EXAMPLES

_PRICES = str(EXAMPLES / "prices.yaml")
_JOBS = sorted(str(path) for path in EXAMPLES.glob("*.yaml") if str(path) != _PRICES)
_OF_A_JOB = (
    *(("check",), ("check", "--full"), ("check", "--compare"), ("explain",), ("supply",), ("hotwater",)),
    *(("tightness", "--hoses"), ("commission",), ("size",), ("takeoff", "--stock-length", "6 m", "--prices", _PRICES)),
)
_LISTS = ("pipes", "fittings", "devices", "gases", "formulas", "rules", "appliances", "tightness", "tolerances")
_CALLS = (
    *((*words, job) for job in _JOBS for words in _OF_A_JOB),
    ("recheck", *_JOBS, "--swap", "urn=40 MJ/h"),
    ("takeoff", "--each", *_JOBS),
    ("list",),
    *(("list", kind) for kind in _LISTS),
)


class Printed(NamedTuple):
    """A page that a call prints."""

    call: str
    page: Page


@cache
def all_pages() -> tuple[Printed, ...]:
    """Return the pages of all calls; a job that a command can't take, as one without bottles, has none of it."""
    printed: list[Printed] = []
    for call in _CALLS:

        def keep(pages: Sequence[Page], *_: object, call: tuple[str, ...] = call) -> None:
            printed.extend(Printed(" ".join(call), list(page)) for page in pages)

        with (
            patch("drawbar.cli.output.print_pages", keep),
            contextlib.redirect_stderr(io.StringIO()),
            contextlib.suppress(click.ClickException),
        ):
            cli.main([*call], prog_name="drawbar", standalone_mode=False)
    return tuple(printed)
