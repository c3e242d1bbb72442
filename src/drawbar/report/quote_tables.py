"""A quote as tables and sentences, and as data: the lines, the sums, what is not in the total."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from drawbar.materials.money import NO_CURRENCY
from drawbar.materials.quote import Materials, Quote
from drawbar.materials.quote_lines import QuoteLine
from drawbar.problems import close_to
from drawbar.report.layout import Block, Column, Points, Table

_MOST_UNUSED = 12
_HOUR = 60  # minutes, where the price of time is by the hour


def short_figure(figure: str) -> str:
    """Return a figure without the zeros at its end."""
    return figure.rstrip("0").rstrip(".") if "." in figure else figure


def percent(share: Decimal) -> str:
    """Return a share as a percentage."""
    return f"{short_figure(f'{share * 100:f}')} %"


def money(quote: Quote, amount: Decimal) -> str:
    """Return an amount with the decimals of its currency, thousands parted."""
    return f"{amount:,.{quote.prices.digits}f}"


def money_figure(quote: Quote | None, amount: Decimal | None) -> str | None:
    """Return an amount as a bare figure for scripts, with the decimals of its currency."""
    return None if amount is None or quote is None else f"{amount:.{quote.prices.digits}f}"


def currency_words(quote: Quote) -> str:
    """Return the currency, nothing where the price list names none."""
    return "" if quote.prices.currency == NO_CURRENCY else quote.prices.currency


def total_words(materials: Materials, quote: Quote) -> str:
    """Return the total, or that it is not whole and why.

    Parameters
    ----------
    materials : Materials
        What is priced.
    quote : Quote
        The same with prices.

    Returns
    -------
    str
        As `985.25 AUD`, or `INCOMPLETE: 2 lines have no price`.
    """
    reasons = []
    if quote.missing:
        count = len(quote.missing)
        reasons.append(f"{count} line{'s have' if count > 1 else ' has'} no price")
    if materials.left_out:
        reasons.append(f"{materials.left_out} job{'s' * (materials.left_out > 1)} could not be read")
    if quote.is_expired:
        reasons.append(f"prices held to {quote.valid_until}")
    if reasons:
        return f"INCOMPLETE: {', '.join(reasons)}"
    return f"{money(quote, quote.total)} {currency_words(quote)}".strip()


def price_words(quote: Quote, line: QuoteLine) -> str:
    """Return the price of a line and, where it is not of one unit, what it is for."""
    if line.price is None:
        return "no price"
    price = money(quote, line.price)
    if line.unit == "min" and line.per == _HOUR:
        return f"{price}/h"
    if line.per == 1:
        return price
    return f"{price}/{short_figure(f'{line.per:f}')}{f' {line.unit}' if line.unit in ('m', 'ft') else ''}"


def quantity_figure(line: QuoteLine) -> str:
    """Return the quantity of a line, a share as it stands and all else with the digits that it has."""
    return f"{line.quantity:f}"


def tax_name(quote: Quote) -> str:
    """Return the name and the rate of the tax."""
    name, rate = quote.prices.tax_name, percent(quote.prices.tax or Decimal(0))
    return rate if name == "tax" else f"{name} {rate}"


def sum_rows(quote: Quote) -> Iterator[tuple[str, Decimal]]:
    """Yield the sums by their names, those alone that are not nothing, and the total.

    Parameters
    ----------
    quote : Quote
        The quote.

    Yields
    ------
    (str, Decimal)
    """
    sums = ("materials", "sundries", "labour", "margin", "fees", "tax", "rounding", "total")
    for name in sums:
        amount = getattr(quote, name)
        if amount or name in ("materials", "total"):
            yield name, amount


def sum_label(quote: Quote, name: str) -> str:
    """Return how a sum is called where a person reads it."""
    if name == "margin":
        return f"margin, {percent(quote.prices.margin or Decimal(0))} of {money(quote, quote.cost)}"
    if name == "tax":
        if quote.prices.tax_included:
            return f"of which tax, {tax_name(quote)}"
        return f"tax, {tax_name(quote)} of {money(quote, quote.cost + quote.margin + quote.fees)}"
    if name == "rounding":
        return f"rounding to {quote.prices.rounding.total_to}"
    return name if name != "total" or quote.is_complete else "total, INCOMPLETE"


def sums_for_person(quote: Quote) -> list[list[str]]:
    """Return the sums as rows of a table; tax that the prices have in them comes after the total."""
    rows = [[sum_label(quote, name), money(quote, amount)] for name, amount in sum_rows(quote)]
    if quote.prices.tax_included and quote.tax:
        rows.append(rows.pop([name for name, _ in sum_rows(quote)].index("tax")))
    return rows


def quote_blocks(quote: Quote) -> Iterator[Block]:
    """Yield the whole quote: its lines, its sums, and what is not in them.

    Parameters
    ----------
    quote : Quote
        The quote.

    Yields
    ------
    Block
    """
    unit = f"\n{currency_words(quote)}" if currency_words(quote) else ""
    columns = (
        Column("item", words=True),
        Column("size", words=True),
        Column("quantity"),
        Column("unit", words=True),
        Column(f"price{unit}"),
        Column(f"amount{unit}"),
    )
    rows = []
    for line in quote.lines:
        is_share = line.unit == "share"
        quantity = ["", ""] if is_share else [quantity_figure(line), line.unit]
        amount = "" if line.amount is None else money(quote, line.amount)
        item = f"{line.item} ({line.text})" if line.text else line.item
        rows.append([item, line.size, *quantity, "" if is_share else price_words(quote, line), amount])
    yield Table(columns, rows)
    yield Table((Column(f"sum by {quote.prices.file}", words=True), Column(f"amount{unit}")), sums_for_person(quote))
    yield " ".join(rules_words(quote))
    if quote.missing:
        yield Points("No price, and so not in the total:", [missing_words(quote, line) for line in quote.missing])
    if quote.unused:
        yield unused_words(quote)


def rules_words(quote: Quote) -> Iterator[str]:
    """Yield sentences on how it is rounded, how long it holds, and what is not in the total.

    Parameters
    ----------
    quote : Quote
        The quote.

    Yields
    ------
    str
        A sentence each.
    """
    prices, rules = quote.prices, quote.prices.rounding
    what = "Every line is rounded" if rules.by_line else "The sums alone are rounded"
    unit = {0: "whole units", 2: "the cent", 3: "the third decimal"}[prices.digits]
    half = "to the even one" if rules.half_even else "up"
    yield f"{what} to {unit}, half a unit {half}{', then summed' if rules.by_line else ''}."
    if prices.tax is not None:
        yield (
            f"The prices have tax in them, {tax_name(quote)}."
            if prices.tax_included
            else f"Tax is added, {tax_name(quote)}."
        )
    yield from validity_words(quote)
    if quote.not_quoted:
        yield f"Not in the total, as the price list has none: {', '.join(quote.not_quoted)}."


def validity_words(quote: Quote) -> Iterator[str]:
    """Yield up to when the quote holds, if the price list says it."""
    if quote.is_expired:
        yield f"The prices held to {quote.valid_until}, before the {quote.date} of this quote: renew the price list."
    elif quote.valid_until is not None:
        yield f"Valid until {quote.valid_until}."


def missing_words(quote: Quote, line: QuoteLine) -> str:
    """Return a line that has no price, and where to write one.

    Parameters
    ----------
    quote : Quote
        The quote that it is of.
    line : QuoteLine
        The line.

    Returns
    -------
    str
        A sentence; with a name of the list that is near, if nothing else uses it.
    """
    names = " or ".join(f"`{key}: ...`" for key in line.keys)
    size = f" {line.size}" if line.size and line.section != "pipe" else ""
    what = line.size if line.section == "pipe" else f"{line.item}{size}"
    none = ", or `none` for not quoted" if line.section in ("appliance", "bottle") else ""
    unused = [name.partition(" ")[2] for name in quote.unused if name.startswith(f"{line.list_key} ")]
    near = close_to(line.keys[-1], unused)
    hint = f"; the list has `{near.split('`')[1]}`" if near.startswith("did you mean") else ""
    return f"{what}, {quantity_figure(line)} {line.unit}: add {names} under `{line.list_key}`{none}{hint}."


def unused_words(quote: Quote) -> str:
    """Return which prices of the list nothing asked for, the first of them by name."""
    listed = ", ".join(quote.unused[:_MOST_UNUSED])
    more = f" and {len(quote.unused) - _MOST_UNUSED} more" if len(quote.unused) > _MOST_UNUSED else ""
    return f"Prices that nothing here uses: {listed}{more}."


def quote_data(quote: Quote) -> dict[str, Any]:
    """Return a quote as it stands in the JSON document.

    Parameters
    ----------
    quote : Quote
        The quote.

    Returns
    -------
    dict
        Amounts are in the currency.
    """
    prices = quote.prices
    sums = ("materials", "sundries", "labour", "margin", "fees", "tax", "rounding", "total")
    return {
        "currency": prices.currency,
        "complete": quote.is_complete,
        "expired": quote.is_expired,
        "date": quote.date.isoformat(),
        "valid_until": quote.valid_until.isoformat() if quote.valid_until else None,
        "lines": [
            {
                "section": line.section,
                "item": line.item,
                "size": line.size or None,
                "text": line.text or None,
                "quantity": float(line.quantity),
                "unit": line.unit,
                "price": float(line.price) if line.price is not None else None,
                "per": float(line.per),
                "amount": float(line.amount) if line.amount is not None else None,
            }
            for line in quote.lines
        ],
        **{name: float(getattr(quote, name)) for name in sums},
        "tax_name": prices.tax_name if prices.tax is not None else None,
        "tax_rate": float(prices.tax) if prices.tax is not None else None,
        "tax_included": prices.tax_included,
        "rounding_by": "line" if prices.rounding.by_line else "total",
        "rounding_half": "even" if prices.rounding.half_even else "up",
        "missing": [
            {"item": line.item, "size": line.size or None, "list_key": line.list_key, "names": list(line.keys)}
            for line in quote.missing
        ],
        "unused_prices": list(quote.unused),
        "not_quoted": list(quote.not_quoted),
        "terms": list(prices.terms),
    }
