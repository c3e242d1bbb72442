"""The forms that all reports share: text within the width, Markdown, CSV, and figures in JSON."""

import csv
import io
import json
import math
import re
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from all_pages import all_pages
from drawbar.report.for_scripts import as_csv, as_json, rounded
from drawbar.report.layout import WIDTH, Column, Heading, Points, Table, TreeTable, as_markdown, as_text
from drawbar.report.wrapping import columns, filled, shortened

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


# width

WIDTHS = (60, 61, 65, 70, 75, 80, 100, 160)
_WHOLE = re.compile(r"\d+(?:[.,]\d+)*|\.[a-z]\w{1,7}\b|\d (?:kPa|Pa|MJ/h|Btu/h|mm|m|%|L|degC|min)(?![\w/])")


def whole_parts(text: str) -> Counter[str]:
    """Return what may not be broken: numbers, extensions, and a figure's last digit with its unit."""
    return Counter(_WHOLE.findall(text))


def test_every_page_keeps_to_every_width() -> None:
    """Of every kind of page of every example no line is longer than the page, and no figure or extension is broken."""
    assert len(all_pages()) > 50
    for call, page in all_pages():
        whole = whole_parts(as_text(page, width=10_000))
        for width in WIDTHS:
            text = as_text(page, width=width)
            longest = max(text.splitlines(), key=columns)
            assert columns(longest) <= width, f"{call} at {width}: {longest}"
            assert not whole - whole_parts(text), f"{call} at {width}"


def test_a_wide_page_has_long_words_on_a_line() -> None:
    """Words take the room there is."""
    words = "as1432-b/12.70 among ten sizes " * 4
    table = Table(WORDS_AND_FIGURE, [[words.strip(), "1.5"]])
    assert len(as_text([table], width=160).splitlines()) == 4
    assert len(as_text([table], width=60).splitlines()) == 6


def test_headings_are_wrapped_before_names_are_broken() -> None:
    """A figure's column gives up the width of its heading; the unit stays in the last line of the headings."""
    table = Table(
        (Column("worst in", words=True), Column("spare at worst\nkPa"), Column("load\nMJ/h")),
        [["everything, rear-bayonet", "0.016", "28.0"]],
    )
    assert as_text([table], width=25) == (
        "worst in      spare  load\n"
        "                 at\n"
        "              worst\n"
        "                kPa  MJ/h\n"
        "------------  -----  ----\n"
        "everything,   0.016  28.0\n"
        "rear-bayonet\n"
    )  # fmt: skip


def test_figures_that_do_not_fit_are_set_below() -> None:
    """The table goes on under itself with its first column again, and no number is cut."""
    heads = (Column("run", words=True), *(Column(f"figure {number}") for number in range(1, 6)))
    text = as_text([Table(heads, [["main", *(f"{number}2345.678" for number in range(1, 6))]])], width=36)
    assert text == (
        "run   figure 1  figure 2  figure 3\n"
        "---- --------- --------- ---------\n"
        "main 12345.678 22345.678 32345.678\n"
        "\n"
        "run    figure 4   figure 5\n"
        "----  ---------  ---------\n"
        "main  42345.678  52345.678\n"
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        ("a length of 3.6 m here", 14, ["a length of", "3.6 m here"]),
        (
            "jobs/vans/2026-01-31-harvest-fair.yaml:13:34",
            16,
            ["jobs/vans/", "2026-01-31-", "harvest-", "fair.yaml:13:34"],
        ),
        ("trailerforthefair.yaml", 18, ["trailerforthefair", ".yaml"]),
        ("0.0123456789 kPa", 8, ["0.012345", "6789 kPa"]),
        ("  an indent kept below", 12, ["  an indent", "  kept below"]),
        ("bore 1.5e-3 m and -0.25 kPa", 12, ["bore", "1.5e-3 m and", "-0.25 kPa"]),
        ("収穫祭の収穫祭", 6, ["収穫祭", "の収穫", "祭"]),
    ],
)
def test_lines_are_broken_where_a_reader_would(text: str, width: int, lines: list[str]) -> None:
    """Between words, behind the separators of a path, before an extension; a figure by itself only if it must be."""
    assert filled(text, width).split("\n") == lines


def test_what_is_left_out_of_a_line_is_counted_in_columns() -> None:
    """A letter of full width takes two; what fits stays as it is."""
    assert shortened("収穫祭の荷車", 9) == "収穫祭..."
    assert shortened("収穫祭の荷車", 9, from_end=True) == "...の荷車"
    assert shortened("収穫祭の荷車", 12) == "収穫祭の荷車"


@given(st.text("ab/-_.:1 e,"), st.integers(1, 40))
def test_filling_loses_nothing(text: str, width: int) -> None:
    """All letters are there in order, and no line is longer than asked for."""
    lines = filled(text, width).split("\n")
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert max(map(len, lines)) <= width


def test_a_narrow_tree_puts_the_pipe_beside_the_name() -> None:
    """Where branches and columns would not fit, the first column of words goes to the name."""
    heads = (
        Column("line", words=True),
        Column("pipe", words=True),
        Column("load\nMJ/h"),
        Column("verdict", words=True),
    )
    rows = [((), ["regulator", "", "62.0", ""]), ((True,), ["main", "as1432-b/12.70", "62.0", ""])]
    wide, narrow = (as_text([TreeTable(heads, rows)], width=width) for width in (80, 45))
    assert "└─ main    as1432-b/12.70  62.0" in wide
    assert "└─ main as1432-b/12.70  62.0" in narrow


def test_blocks_are_laid_out_at_any_width() -> None:
    """Headings and points wrap with what stands before them."""
    text = as_text([Heading("a heading of words"), Points("Why:", ["one of the reasons"])], width=12)
    assert text == "a heading of\nwords\n============\n\nWhy:\n- one of the\n  reasons\n"
