"""A quote as a page to print, in the dress of the sheet: what is quoted, the total, how long it holds, the terms.

Where the price list has a margin, the customer is shown quantities and sums, not the prices without it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator

from drawbar.cautions import LICENCE
from drawbar.job import Job
from drawbar.materials.quote import Materials, Quote
from drawbar.problems import printable
from drawbar.report.layout import Column, Table
from drawbar.report.quote_tables import (
    currency_words,
    missing_words,
    money,
    price_words,
    quantity_figure,
    short_figure,
    tax_name,
    total_words,
)
from drawbar.report.sheet.dress import rendered
from drawbar.report.words import sentence


def quote_html(job: Job, materials: Materials, logo: str | None = None) -> str:
    """Return a quote as one HTML file, which needs no network and no script.

    Parameters
    ----------
    job : Job
        The job that is quoted.
    materials : Materials
        Its materials, with prices.
    logo : str or None
        The workshop's logo as a data URI.

    Returns
    -------
    str
    """
    quote = materials.quote
    assert quote is not None  # it was asked for with a price list
    view = {
        "incomplete": "" if materials.is_whole else total_words(materials, quote),
        "missing": [missing_words(quote, line) for line in quote.missing],
        "head": list(_head(job, quote)),
        "lines": _lines(quote),
        "sums": _sums(materials, quote),
        "total": f"{money(quote, quote.total)} {currency_words(quote)}".strip() if materials.is_whole else "INCOMPLETE",
        "said": list(_said(quote)),
        "open": [sentence(remark) for remark in materials.takeoff.needs.remarks],
        "terms": list(quote.prices.terms),
        "accepted": Table(tuple(Column(head, words=True) for head in ("name", "date", "signature")), [["", "", ""]]),
        "caution": LICENCE,
    }
    return rendered("quote.html.j2", view, job, logo)


def _head(job: Job, quote: Quote) -> Iterator[tuple[str, str]]:
    if job.ref is not None:
        yield "Ref", job.ref
    yield "Date", quote.date.isoformat()
    if quote.valid_until is not None:
        yield "Valid until", quote.valid_until.isoformat()
    if job.file != "-":
        yield "Job file", printable(os.path.basename(job.file))


def _lines(quote: Quote) -> Table:
    """Return the lines; with their prices where no margin is added to them."""
    with_prices = not quote.prices.margin
    unit = f"\n{currency_words(quote)}" if currency_words(quote) else ""
    columns = [Column("item", words=True), Column("size", words=True), Column("quantity"), Column("unit", words=True)]
    if with_prices:
        columns += [Column(f"price{unit}"), Column(f"amount{unit}")]
    rows = []
    for line in quote.lines:
        is_share = line.unit == "share"
        row = [
            f"{line.item} ({line.text})" if line.text else line.item.partition(",")[0] if is_share else line.item,
            line.size,
            "" if is_share else short_figure(quantity_figure(line)),
            "" if is_share else line.unit,
        ]
        if with_prices:
            amount = "" if line.amount is None else money(quote, line.amount)
            row += ["" if is_share else price_words(quote, line), amount]
        rows.append(row)
    return Table(tuple(columns), rows)


def _sums(materials: Materials, quote: Quote) -> Table:
    unit = f"\n{currency_words(quote)}" if currency_words(quote) else ""
    whole = quote.cost + quote.margin
    rows = [["materials and work", money(quote, whole)]]
    if quote.fees:
        rows.append(["fees", money(quote, quote.fees)])
    if quote.tax and not quote.prices.tax_included:
        rows.append([f"tax, {tax_name(quote)} of {money(quote, whole + quote.fees)}", money(quote, quote.tax)])
    if quote.rounding:
        rows.append(["rounding", money(quote, quote.rounding)])
    rows.append(["total" if materials.is_whole else "total, INCOMPLETE", money(quote, quote.total)])
    if quote.tax and quote.prices.tax_included:
        rows.append([f"of which tax, {tax_name(quote)}", money(quote, quote.tax)])
    return Table((Column("sum", words=True), Column(f"amount{unit}")), rows)


def _said(quote: Quote) -> Iterator[str]:
    absent = [name for name in quote.not_quoted if name in ("appliances", "bottles", "tax", "call-out", "certificate")]
    if absent:
        yield f"Not in the total: {', '.join(absent)}."
