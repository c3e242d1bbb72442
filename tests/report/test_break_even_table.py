"""Break-even values in words, as a table and as data: in the job's units, and always rounded to the safe side."""

import pytest

from drawbar.checking.break_even import BreakEven
from drawbar.display_units import Display
from drawbar.report.break_even_table import break_even_data, break_even_table, break_even_words
from drawbar.report.display import Shown
from drawbar.report.layout import as_text
from jobs import job_from

JOB = job_from("""
job: Words
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: as1432-b/15.88, length: 3 m}
appliances:
  fryer: {at: main, input: 50 MJ/h}
""")
FLOW_KG_S = 60.0 / 0.0036 / JOB.gas.gross_j_kg  # of 60 MJ/h
BORE = BreakEven("bore", "run", "main", None, 0.01384, 0.0132043)
LENGTH = BreakEven("length", "run", "main", None, 3.0, 9.8199)
INPUT = BreakEven("input", "appliance", "fryer", None, 50.0 / 0.0036, 61.39 / 0.0036)
DROP = BreakEven("drop", "outlet", "bay", "bayonet", 40.0, 91.9, flow_kg_s=FLOW_KG_S)
NEVER = BreakEven("length", "hose", "short", None, 1.5, None)


def words(value: BreakEven, display: Display | None = None) -> str:
    return break_even_words(value, JOB, Shown(display or JOB.display))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (BORE, "main: bore 13.84 mm, fails under 13.21"),
        (LENGTH, "main: length 3 m, fails over 9.81"),
        (INPUT, "fryer: input 50 MJ/h, fails over 61.3"),
        (DROP, "bay: bayonet 0.04 kPa at 60 MJ/h, fails over 0.091"),
        (NEVER, "short: length 1.5 m, nothing within reason fails"),
        (BORE._replace(is_bound=True), "main: bore 13.84 mm, passes down to 13.21 at least"),
        (INPUT._replace(is_bound=True), "fryer: input 50 MJ/h, passes up to 61.3 at least"),
        # A drop that is not known stands as 0 in the job.
        (DROP._replace(value=0.0), "bay: bayonet, fails over 0.091 kPa at 60 MJ/h"),
        # What is on the last digit stays there.
        (BORE._replace(limit=0.01321), "main: bore 13.84 mm, fails under 13.21"),
        (LENGTH._replace(limit=9.81), "main: length 3 m, fails over 9.81"),
    ],
)
def test_words(value: BreakEven, text: str) -> None:
    """What it is, as drawn, and where it fails: a bore rounded up, the others down."""
    assert words(value) == text


def test_words_in_other_units() -> None:
    """In Btu/h, inches and inches of water."""
    imperial = Display(pressure="inH2O", heat="Btu/h", length="ft", bore="in", temperature="degF")
    assert words(BORE, imperial) == "main: bore 0.545 in, fails under 0.520"
    assert words(INPUT, imperial) == "fryer: input 47391 Btu/h, fails over 58186"


def test_table() -> None:
    """A row a figure, with how far the limit is away."""
    assert as_text([break_even_table([BORE, DROP, NEVER], JOB, Shown(JOB.display))]) == (
        "figure         as drawn             fails         away\n"
        "-------------  -------------------  -----------  -----\n"
        "main: bore     13.84 mm             under 13.21  4.6 %\n"
        "bay: bayonet   0.04 kPa at 60 MJ/h  over 0.091   130 %\n"
        "short: length  1.5 m                never\n"
    )


def test_data() -> None:
    """Each key has its unit; what has no limit is null."""
    bore, drop, never = break_even_data([BORE, DROP, NEVER], JOB)
    assert bore == {
        "kind": "bore",
        "run": "main",
        "device": None,
        "bore_mm": pytest.approx(13.84),
        "limit_mm": pytest.approx(13.2043),
        "share": pytest.approx(1.0 - 13.2043 / 13.84),
        "bound": False,
    }
    assert (drop["outlet"], drop["device"], drop["at_MJ_h"]) == ("bay", "bayonet", pytest.approx(60.0))
    assert (drop["drop_Pa"], drop["limit_Pa"]) == (40.0, 91.9)
    assert (never["limit_m"], never["share"]) == (None, None)
