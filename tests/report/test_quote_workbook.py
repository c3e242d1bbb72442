"""The spreadsheet of a quote: its formulas, reckoned here by themselves, come to the quote's sums, and are live."""

import datetime
import re
import zipfile
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from io import BytesIO
from xml.etree import ElementTree

import pytest

from drawbar import api
from drawbar.materials.needs import needs_of
from drawbar.materials.prices import read_price_list
from drawbar.materials.quote import Materials, quote
from drawbar.materials.takeoff import takeoff_of
from jobs import job_from
from van_galley import JOB, PRICES

pytest.importorskip("xlsxwriter")  # of the extra `xlsx`

NAMESPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
DAY = datetime.date(2026, 1, 31)
WHOLE = PRICES.replace("per-joint", "per-hour: 93.50, test: 40 min, purge: 15 min, per-joint").replace(
    "waste:", "fees: {call-out: 85.00}\nsundries: 3.5 %\nwaste:"
)


class Reckoned(dict[str, Decimal | str]):
    """The cells of a worksheet, its formulas reckoned with decimals; `changed` are cells that somebody wrote over."""

    def __init__(self, data: bytes, **changed: Decimal) -> None:
        super().__init__()
        with zipfile.ZipFile(BytesIO(data)) as files:
            texts = ["".join(text.itertext()) for text in ElementTree.fromstring(files.read("xl/sharedStrings.xml"))]
            sheet = ElementTree.fromstring(files.read("xl/worksheets/sheet1.xml"))
        self.cached: dict[str, Decimal] = {}
        for cell in sheet.iter(f"{NAMESPACE}c"):
            name, value, formula = cell.get("r"), cell.find(f"{NAMESPACE}v"), cell.find(f"{NAMESPACE}f")
            if formula is not None:
                self.cached[name] = Decimal(value.text)
                self[name] = self.reckon(formula.text)
            else:
                self[name] = texts[int(value.text)] if cell.get("t") == "s" else changed.get(name, Decimal(value.text))

    def reckon(self, formula: str) -> Decimal:
        """Return what a formula of numbers, cells, SUM, ROUND, INT and IF comes to."""
        python = re.sub(r"SUM\(([A-Z]+)(\d+):[A-Z]+(\d+)\)", r"total('\1', \2, \3)", formula)
        python = re.sub(r"\b([A-Z]\d+)\b", r"cells['\1']", python)
        python = re.sub(r"(?<![\w.'])(\d+(?:\.\d+)?)(?!['\w])", r"Decimal('\1')", python)
        python = re.sub(r"(?<![<>=])=(?!=)", "==", python)
        names = {
            "cells": self,
            "Decimal": Decimal,
            "total": lambda column, first, last: sum(
                (Decimal(self.get(f"{column}{row}", 0)) for row in range(int(first), int(last) + 1)), Decimal(0)
            ),
            "ROUND": lambda figure, digits: figure.quantize(Decimal(1).scaleb(-int(digits)), ROUND_HALF_UP),
            "INT": lambda figure: figure.to_integral_value(ROUND_FLOOR),
            "IF": lambda condition, then, otherwise: then if condition else otherwise,
        }
        return Decimal(eval(python, {"__builtins__": {}}, names))

    def amount(self, label: str) -> Decimal:
        """Return the amount in the row of a label."""
        return self[f"I{next(name[1:] for name, text in self.items() if text == label and name[0] == 'B')}"]


@pytest.fixture
def workbook(tmp_path):
    """Return the quote of the van by a price list, and its spreadsheet."""
    from drawbar.report.quote_workbook import workbook_of

    def of(text):
        (tmp_path / "prices.yaml").write_text(text, encoding="utf-8")
        prices = read_price_list(str(tmp_path / "prices.yaml"))
        takeoff = takeoff_of(needs_of(job_from(JOB)))
        priced = quote(takeoff, prices, date=DAY)
        return priced, workbook_of([Materials(priced.takeoff, priced)])

    return of


RULES = {
    "tax added, each line rounded": "",
    "the sums alone, half even": "rounding: {by: total, half: even}\n",
    "each line half even": "rounding: {by: line, half: even}\n",
    "to five cents": "rounding: {total-to: 0.05}\n",
}


@pytest.mark.parametrize("rules", RULES.values(), ids=RULES)
@pytest.mark.parametrize("tax", ["tax: 10 %", "tax: {name: VAT, rate: 20 %, included: yes}"])
def test_the_formulas_come_to_the_quote(rules, tax, workbook):
    """Every sum, and every line, to the unit that it is rounded to."""
    priced, data = workbook(WHOLE.replace("tax: 10 %", tax) + rules)
    cells = Reckoned(data)
    assert cells.amount("total") == priced.total
    unit = Decimal("0.01")
    for name in ("materials", "sundries", "labour", "margin", "fees"):
        assert cells.amount(name).quantize(unit, ROUND_HALF_UP) == getattr(priced, name)
    assert priced.tax > 0
    assert cells.amount("in it VAT 20 %" if "VAT" in tax else "tax, 10 %").quantize(unit) == priced.tax
    for name, value in cells.cached.items():
        # The value that is kept beside a formula is rounded to the cent where the quote's own is.
        assert abs(cells[name] - value) <= Decimal("0.005"), name


def test_the_sums_are_live(workbook):
    """A price that is changed in the sheet comes to the total that a price list with it does."""
    priced, data = workbook(WHOLE)
    dearer, _ = workbook(WHOLE.replace("elbow-90: 2.45", "elbow-90: 3.00"))
    (cell,) = (f"G{name[1:]}" for name, value in Reckoned(data).items() if name[0] == "G" and value == Decimal("2.45"))
    assert Reckoned(data, **{cell: Decimal(3)}).amount("total") == dearer.total > priced.total


def test_a_line_without_a_price_is_said_in_the_sheet(workbook):
    """The total is labelled, and the cell says it."""
    _, data = workbook(WHOLE.replace("  tee: 4.80\n", ""))
    cells = Reckoned(data)
    assert "no price" in cells.values()
    assert cells.amount("total, INCOMPLETE") > 0
    assert any("INCOMPLETE: 1 line has no price" in str(value) for value in cells.values())


def test_no_text_is_taken_for_a_formula(workbook):
    """A name that starts as a formula does stays a text."""
    _, data = workbook(WHOLE + "terms: ['=HYPERLINK(\"x\")']\n")
    with zipfile.ZipFile(BytesIO(data)) as files:
        sheet = files.read("xl/worksheets/sheet1.xml").decode()
    assert "HYPERLINK" not in sheet  # it is among the shared texts
    assert '=HYPERLINK("x")' in Reckoned(data).values()


def test_the_command_writes_it(tmp_path, monkeypatch, drawbar):
    """To a file; without prices there is no quote to write."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.yaml").write_text(JOB, encoding="utf-8")
    (tmp_path / "prices.yaml").write_text(WHOLE, encoding="utf-8")
    job, prices = api.read_job("van.yaml", sized=True), api.read_prices("prices.yaml")
    by_script = Reckoned(api.quote_workbook(api.quote(api.takeoff(job), prices)))
    words = ("takeoff", "van.yaml", "--format", "xlsx", "--out", "q.xlsx")
    assert drawbar(*words, "--prices", "prices.yaml") == (0, "", "")
    assert Reckoned((tmp_path / "q.xlsx").read_bytes()).amount("total") == by_script.amount("total") > 0
    code, out, err = drawbar(*words)
    assert (code, out) == (2, "")
    assert err.endswith("Error: --format xlsx is a quote: give --prices as well.\n")
    code, out, err = drawbar("takeoff", "van.yaml", "--format", "xlsx", "--prices", "prices.yaml")
    assert (code, out) == (2, "")
    assert err.endswith("Error: --format xlsx needs --out FILE.\n")
