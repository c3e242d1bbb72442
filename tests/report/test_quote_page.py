"""The quote as a page: its total, its lines, its terms, all as text, in the dress of the sheet."""

import datetime
import html
import re

import pytest

from van_galley import JOB, PRICES

pytest.importorskip("jinja2")  # of the extra `sheet`

WORKSHOP = """\
workshop: {business: Plain Gas Works, phone: 555 0100}
customer: {name: A. Customer}
"""
TERMS = "terms: [Half on order., '<b>The rest</b> on the day.']\nvalid: 30 days\n"


class Page:
    """The texts of a page, as they are read, and the tags it has."""

    def __init__(self, text: str) -> None:
        self.tags = set(re.findall(r"<([a-z0-9]+)", text))
        body = re.sub(r"<style>.*?</style>", " ", text, flags=re.DOTALL)
        self.flat = " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.yaml").write_text(JOB + WORKSHOP, encoding="utf-8")
    (tmp_path / "prices.yaml").write_text(PRICES + TERMS, encoding="utf-8")
    return tmp_path


def page_of(folder, drawbar_call, *options):
    words = ("takeoff", "van.yaml", "--prices", "prices.yaml", "--date", "2026-01-31", "--format", "html")
    ended = drawbar_call(*words, "--out", "quote.html", *options)
    return ended, Page((folder / "quote.html").read_text(encoding="utf-8"))


def test_the_page_has_total_lines_validity_and_terms(folder, drawbar):
    """889.34 by hand in test_quote.py; the margin and the prices that it is on stay with the workshop."""
    ended, page = page_of(folder, drawbar)
    assert ended == (0, "", "")
    for text in (
        "Plain Gas Works",
        "A. Customer",
        "Total 889.34 AUD",
        "Valid until 2026-03-02",
        "Half on order.",
        "<b>The rest</b> on the day.",
        "materials and work 808.49",  # 688.08 and the margin of 120.41
        "tax, 10 % of 808.49 80.85",
        "Not in the total: appliances, call-out, certificate.",
        "where right ends, far and heater go on, but no tee is listed".capitalize(),
    ):
        assert text in page.flat, text
    assert "margin" not in page.flat
    assert "61.19" not in page.flat
    assert not {"b", "script", "link"} & page.tags


def test_without_a_margin_the_prices_stand_in_the_lines(folder, drawbar):
    """They are then what the customer pays."""
    (folder / "prices.yaml").write_text(PRICES.replace("margin: 17.5 %\n", ""), encoding="utf-8")
    _, page = page_of(folder, drawbar)
    assert re.search(r"pipe as1432-b/9\.52 8\.558 m 7\.15 61\.19", page.flat)


def test_an_incomplete_quote_says_so_at_its_head(folder, drawbar):
    """And what is missing; the exit code is 1."""
    (folder / "prices.yaml").write_text(PRICES.replace("  tee: 4.80\n", ""), encoding="utf-8")
    ended, page = page_of(folder, drawbar)
    assert ended.code == 1
    assert "INCOMPLETE: 1 line has no price" in page.flat
    assert "Total INCOMPLETE" in page.flat
    assert page.flat.index("INCOMPLETE") < page.flat.index("What is quoted")


@pytest.mark.usefixtures("folder")
def test_a_page_is_of_one_job_with_prices(drawbar):
    """Anything else is told."""
    words = ("takeoff", "van.yaml", "--format", "html", "--out", "q.html")
    assert drawbar(*words).err.endswith("Error: --format html is a quote: give --prices as well.\n")
    code, _, err = drawbar(*words, "van.yaml", "--prices", "prices.yaml")
    assert code == 2
    assert err.endswith("Error: --format html is the quote of one job.\n")


def test_the_library_makes_the_same_page(folder, drawbar):
    """By the same code, from a quote that a script has."""
    import drawbar as library  # the fixture has its name

    page_of(folder, drawbar)
    job = library.read_job("van.yaml", sized=True)
    prices = library.read_prices("prices.yaml")
    priced = library.quote(library.takeoff(job), prices, date=datetime.date(2026, 1, 31))
    assert library.quote_page(job, priced) == (folder / "quote.html").read_text(encoding="utf-8")
