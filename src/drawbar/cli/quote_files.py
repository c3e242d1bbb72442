"""Quotes as files: a page to print, a spreadsheet. Each needs an extra, and says how to install it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from drawbar.cli.output import write
from drawbar.cli.reading import InputWrong, problems_told

if TYPE_CHECKING:
    from drawbar.job import Job
    from drawbar.materials.quote import Materials

QUOTE_FORMS = ("html", "xlsx")
_EXTRAS = {"jinja2": "sheet", "markupsafe": "sheet", "xlsxwriter": "xlsx"}  # by the module that is missing


def write_quotes(form: str, results: Sequence[Materials], jobs: Sequence[Job | None], out: str | None) -> None:
    """Write quotes in one of QUOTE_FORMS; nothing where no job could be read.

    Parameters
    ----------
    form : str
        One of QUOTE_FORMS.
    results : sequence of Materials
        What is quoted.
    jobs : sequence of Job or None
        The jobs; for a page the one that it is of.
    out : str or None
        The file to write; None for standard output.
    """
    quotes = [result.quote for result in results if result.quote is not None]
    if not quotes:
        return
    with _extra_told(form), problems_told():
        if form == "xlsx":
            from drawbar.report.quote_workbook import workbook_of

            write(workbook_of(results), out)
            return
        from drawbar.api.quotes import quote_page

        (job,) = jobs
        assert job is not None  # its quote is there
        write(quote_page(job, quotes[-1]), out)


@contextlib.contextmanager
def _extra_told(form: str) -> Iterator[None]:
    try:
        yield
    except ModuleNotFoundError as error:
        if error.name not in _EXTRAS:
            raise
        from drawbar.cli.extras import install_advice

        raise InputWrong(f"--format {form} needs more packages: {install_advice(_EXTRAS[error.name])}") from None
