"""A quote as a spreadsheet with live sums: who changes a quantity, a price or a rate there sees what it comes to.

It needs the extra `drawbar[xlsx]`. Every text is written as text, so that none of it is taken for a formula.
"""

from __future__ import annotations

import datetime
import io
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

import xlsxwriter  # type: ignore[import-untyped,import-not-found,unused-ignore]  # it has no types of its own
from xlsxwriter.utility import xl_rowcol_to_cell  # type: ignore[import-untyped,import-not-found,unused-ignore]

from drawbar import __version__
from drawbar.materials.quote import Materials, Quote
from drawbar.materials.quote_lines import GOODS, MATERIALS, QuoteLine
from drawbar.report.quote_tables import currency_words, rules_words, tax_name, total_words

_HEADS = ("section", "item", "size", "text", "quantity", "unit", "price", "per", "amount")
_WIDTHS = (11, 30, 24, 24, 10, 7, 12, 8, 14)
_QUANTITY, _PRICE, _PER, _AMOUNT = 4, 6, 7, 8  # columns
_MOST_NAME = 31  # characters of a worksheet's name
_NOT_IN_NAMES = str.maketrans(dict.fromkeys("[]:*?/\\'", " "))


def workbook_of(results: Sequence[Materials]) -> bytes:
    """Return quotes as the bytes of an .xlsx file, each on a worksheet of its own.

    Parameters
    ----------
    results : sequence of Materials
        What is priced; each has a quote.

    Returns
    -------
    bytes
    """
    stream = io.BytesIO()
    workbook = xlsxwriter.Workbook(stream, {"in_memory": True})  # a file left half-way would stay behind
    for number, materials in enumerate(results, 1):
        quote = materials.quote
        assert quote is not None  # it was asked for with a price list
        made = datetime.datetime.combine(quote.date, datetime.time())
        workbook.set_properties({"created": made, "comments": f"drawbar {__version__}"})
        _Sheet(workbook, materials, quote, number).write()
    workbook.close()
    return stream.getvalue()


class _Sheet:
    """A worksheet on its way: the next row, and the formats of its cells."""

    def __init__(self, workbook: Any, materials: Materials, quote: Quote, number: int) -> None:
        digits = quote.prices.digits
        self.materials, self.quote, self.digits = materials, quote, digits
        jobs = materials.takeoff.needs.jobs
        name = (jobs[0].ref or jobs[0].title) if len(jobs) == 1 else "together"
        self.sheet = workbook.add_worksheet(f"{number} {name.translate(_NOT_IN_NAMES)}"[:_MOST_NAME].rstrip())
        self.money = workbook.add_format({"num_format": f"#,##0.{'0' * digits}".rstrip(".")})
        self.bold = workbook.add_format({"bold": True})
        self.bold_money = workbook.add_format({"bold": True, "num_format": f"#,##0.{'0' * digits}".rstrip(".")})
        self.share = workbook.add_format({"num_format": "0.##%"})
        self.row = 0
        self.places: dict[str, list[int]] = {}  # the rows of each section's lines

    def write(self) -> None:
        """Write the lines, the sums and what is said of them."""
        jobs = self.materials.takeoff.needs.jobs
        title = jobs[0].title if len(jobs) == 1 else f"{len(jobs)} jobs together"
        self._text(f"{title}: quote of {self.quote.date}", self.bold)
        if not self.materials.is_whole:
            self._text(total_words(self.materials, self.quote), self.bold)
        self.row += 1
        for column, (head, width) in enumerate(zip(_HEADS, _WIDTHS, strict=True)):
            unit = (
                f", {currency_words(self.quote)}" if head in ("price", "amount") and currency_words(self.quote) else ""
            )
            self.sheet.write_string(self.row, column, f"{head}{unit}", self.bold)
            self.sheet.set_column(column, column, width)
        self.row += 1
        for line in self.quote.lines:
            self._line(line)
        self.row += 1
        self._sums()
        self.row += 1
        for sentence in (*rules_words(self.quote), *self.quote.prices.terms):
            self._text(sentence)

    def _text(self, text: str, form: Any = None) -> None:
        self.sheet.write_string(self.row, 0, text, form)
        self.row += 1

    def _line(self, line: QuoteLine) -> None:
        row = self.row
        self.places.setdefault(line.section, []).append(row)
        for column, text in enumerate((line.section, line.item, line.size, line.text)):
            self.sheet.write_string(row, column, text)
        self.sheet.write_string(row, _QUANTITY + 1, line.unit)
        self.row += 1
        if line.unit == "share":
            self.sheet.write_number(row, _QUANTITY, float(line.quantity), self.share)
            product = f"{_cell(row, _QUANTITY)}*({self._sum_of(GOODS)})"
        else:
            self.sheet.write_number(row, _QUANTITY, float(line.quantity))
            if line.price is None:
                self.sheet.write_string(row, _PRICE, "no price")
                return
            self.sheet.write_number(row, _PRICE, float(line.price), self.money)
            self.sheet.write_number(row, _PER, float(line.per))
            product = f"{_cell(row, _QUANTITY)}*{_cell(row, _PRICE)}/{_cell(row, _PER)}"
        by_line = self.quote.prices.rounding.by_line
        self._formula(row, self._rounded(product) if by_line else product, line.amount if by_line else line.exact)

    def _formula(self, row: int, formula: str, value: Decimal | None, form: Any = None) -> None:
        # With the value that it has now, for those who show a file and do not reckon.
        self.sheet.write_formula(row, _AMOUNT, f"={formula}", form or self.money, float(value or 0))

    def _rounded(self, product: str) -> str:
        """Return the formula of a figure to the minor unit, as the price list has it rounded."""
        if not self.quote.prices.rounding.half_even:
            return f"ROUND({product},{self.digits})"
        # Half a unit goes to the even one: twice the half of it, rounded.
        scale = 10**self.digits
        is_half = f"ROUND(({product})*{scale}-INT(({product})*{scale}),6)=0.5"
        return f"IF({is_half},2*ROUND(({product})*{scale}/2,0)/{scale},ROUND({product},{self.digits}))"

    def _sum_of(self, sections: Sequence[str]) -> str:
        """Return the formula of the sum of the lines of some sections, which stand together."""
        rows = [row for section in sections for row in self.places.get(section, [])]
        return f"SUM({_cell(rows[0], _AMOUNT)}:{_cell(rows[-1], _AMOUNT)})" if rows else "0"

    def _sums(self) -> None:
        """Write the sums, each with the formula that makes it of those above; rates stand beside theirs."""
        quote, prices = self.quote, self.quote.prices
        rules = prices.rounding
        at: dict[str, str] = {}

        def put(name: str, label: str, formula: str, value: Decimal, rate: Decimal | None = None) -> None:
            self.sheet.write_string(self.row, 1, label)
            if rate is not None:
                self.sheet.write_number(self.row, _QUANTITY, float(rate), self.share)
            self._formula(self.row, formula, value, self.bold_money if name == "total" else None)
            at[name] = _cell(self.row, _AMOUNT)
            self.row += 1

        def share(formula: str) -> str:
            return self._rounded(formula) if rules.by_line else formula

        for name, sections in (("materials", MATERIALS), ("sundries", ("sundries",)), ("labour", ("labour",))):
            put(name, name, self._sum_of(sections), getattr(quote, name))
        cost = f"({at['materials']}+{at['sundries']}+{at['labour']})"
        margin, tax = prices.margin or Decimal(0), prices.tax or Decimal(0)
        put("margin", "margin", share(f"{_cell(self.row, _QUANTITY)}*{cost}"), quote.margin, margin)
        put("fees", "fees", self._sum_of(("fee",)), quote.fees)
        priced, rate = f"({cost}+{at['margin']}+{at['fees']})", _cell(self.row, _QUANTITY)
        if prices.tax_included:
            put("tax", f"in it {tax_name(quote)}", share(f"{priced}*{rate}/(1+{rate})"), quote.tax, tax)
        else:
            put("tax", f"tax, {tax_name(quote)}", share(f"{rate}*{priced}"), quote.tax, tax)
        whole = priced if prices.tax_included else f"({priced}+{at['tax']})"
        total = self._rounded(whole)
        if rules.total_to is not None:
            total = f"ROUND({whole}/{rules.total_to},0)*{rules.total_to}"
        put("total", "total" if self.materials.is_whole else "total, INCOMPLETE", total, quote.total)


def _cell(row: int, column: int) -> str:
    cell: str = xl_rowcol_to_cell(row, column)
    return cell
