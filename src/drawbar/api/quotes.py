"""Quotes to hand over: as a page to print, and as a spreadsheet with live sums."""

from __future__ import annotations

from drawbar.job import Job
from drawbar.materials.quote import Materials, Quote
from drawbar.records.logo import logo_uri


def quote_page(job: Job, quote: Quote) -> str:
    """Return a quote as one page to print, in the dress of the sheet. It needs the extra `drawbar[sheet]`.

    Parameters
    ----------
    job : Job
        The job that is quoted, which has workshop and customer.
    quote : Quote
        Its quote.

    Returns
    -------
    str
        One HTML file, which needs no network and no script.

    Raises
    ------
    Problems
        If the workshop's logo can't be read.
    ModuleNotFoundError
        If the extra is not installed.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> quote = drawbar.quote(drawbar.takeoff(job), drawbar.read_prices("examples/prices.yaml"))
    >>> drawbar.quote_page(job, quote).startswith("<!DOCTYPE html>")
    True
    """
    from drawbar.report.sheet.quote_page import quote_html

    logo = job.particulars.logo
    return quote_html(job, Materials(quote.takeoff, quote), None if logo is None else logo_uri(logo))


def quote_workbook(*quotes: Quote) -> bytes:
    """Return quotes as a spreadsheet with live sums, a worksheet each. It needs the extra `drawbar[xlsx]`.

    Parameters
    ----------
    *quotes : Quote
        The quotes.

    Returns
    -------
    bytes
        An .xlsx file.

    Raises
    ------
    ModuleNotFoundError
        If the extra is not installed.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> quote = drawbar.quote(drawbar.takeoff(job), drawbar.read_prices("examples/prices.yaml"))
    >>> drawbar.quote_workbook(quote)[:2]  # doctest: +SKIP
    b'PK'
    """
    from drawbar.report.quote_workbook import workbook_of

    return workbook_of([Materials(quote.takeoff, quote) for quote in quotes])
