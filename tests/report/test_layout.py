"""The forms that all reports share: text within the width, Markdown, CSV, and figures in JSON."""

import csv
import io
import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawbar.report.for_scripts import as_csv, as_json, rounded
from drawbar.report.layout import WIDTH, Column, Table, as_markdown, as_text

WORDS_AND_FIGURE = (Column("what it is", words=True), Column("mass\nkg/m"))


def test_words_stand_left_and_figures_right() -> None:
    """A heading may stand on several lines, and what a cell starts with in blanks is kept."""
    table = Table(WORDS_AND_FIGURE, [["main", "1.5"], ["  a branch", "12.25"], ["", ""]])
    assert as_text([table]) == (
        "what it is   mass\n"
        "             kg/m\n"
        "----------  -----\n"
        "main          1.5\n"
        "  a branch  12.25\n"
        "\n"
    )  # fmt: skip


def test_words_are_wrapped_to_the_width() -> None:
    """A column of words gives way, and goes on under its own indent."""
    words = "copper tube " * 12
    lines = as_text([Table(WORDS_AND_FIGURE, [[f"  {words}", "1.5"]])]).splitlines()
    assert max(map(len, lines)) == WIDTH
    assert all(line.startswith("  copper") for line in lines[3:])
    assert " ".join(lines[3:]).split().count("copper") == 12


def test_a_table_without_rows_has_its_headings() -> None:
    """Text and Markdown show the headings alone."""
    assert as_text([Table(WORDS_AND_FIGURE, [])]) == "what it is  mass\n            kg/m\n----------  ----\n"
    assert as_markdown([Table(WORDS_AND_FIGURE, [])]).startswith("| what it is   | mass kg/m   |\n|")


def test_floats_in_json_have_ten_digits() -> None:
    """What arithmetic on floats leaves behind the tenth digit is not written; nothing but floats is touched."""
    row = {"bore_mm": 13.840000000000002, "margin_Pa": -0.1234567890123, "count": 12345678901234567, "on": True}
    (entry,) = json.loads(as_json("list", [row]))["results"]
    assert entry == {"bore_mm": 13.84, "margin_Pa": -0.123456789, "count": 12345678901234567, "on": True}
    assert '"bore_mm": 13.84,' in as_json("list", [row])


@given(st.floats(-1e300, 1e300, allow_subnormal=False))
def test_rounding_is_within_the_tenth_digit(value: float) -> None:
    """A float moves by at most half of its tenth significant digit, and only once."""
    assert math.isclose(rounded(value), value, rel_tol=5.1e-10)
    assert rounded(rounded(value)) == rounded(value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_json_refuses_what_is_not_finite(value: float) -> None:
    """RFC 8259, section 6: JSON has no infinity and no NaN."""
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_json("check", [{"drop_Pa": value}])


def test_csv_has_figures_and_no_formulas() -> None:
    """Floats have six digits, and a text that a spreadsheet would run is quoted with an apostrophe."""
    text = as_csv(("name", "mm"), [("=1+1", 13.840000000000002), ("@x", 1234567.0), ("plain", 3)])
    assert list(csv.reader(io.StringIO(text))) == [
        ["name", "mm"],
        ["'=1+1", "13.84"],
        ["'@x", "1.23457e+06"],
        ["plain", "3"],
    ]
