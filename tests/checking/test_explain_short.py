"""`explain --short`: every line keyed in as it stands, from what is printed alone, comes to the drop that check has."""

import math
import re

import pytest

from drawbar.checking.explain import explain
from drawbar.display_units import UNIT_SYSTEMS
from drawbar.jobfile.reader import job_of, read_job_file
from drawbar.report.explain_report import ExplainReport
from drawbar.report.layout import as_text
from jobs import CATALOGUE
from paths import EXAMPLES

REPORT = ExplainReport(CATALOGUE, is_short=True)
ONE_RUN = """\
job: One run
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa, capacity: 1000 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 4 m, rise: 0.5 m, fittings: {elbow-90: 2},
         devices: [{name: valve, flow: 60 MJ/h, drop: 40 Pa}]}
appliances:
  stove: {at: main, input: %s}
"""
# Figures that a line may have without their standing above it: pi, 64, seconds and the like, and those of the formulas.
CONSTANTS = {"64", "1", "2", "3.7", "5.74", "0.9", "2.51", "4", "3600", "3.14159", "0.785398", "9.80665", "32.174"}


def keyed(text):
    """Work out what a line says, as a pocket calculator would."""
    text = re.sub(r"(?<![a-z])x(?![a-z])", "*", text).replace("^", "**")
    return float(eval(text, {"sqrt": math.sqrt, "ln": math.log, "log10": math.log10, "__builtins__": {}}))


def lines_of(job, name, units=None, formula=None):
    """Return (name, what is keyed in, figure) of each line that is worked out, and the whole page."""
    if units is not None:
        job = job._replace(display=UNIT_SYSTEMS[units])
    page = as_text(REPORT.page(explain(job, name, formula=formula)), width=200)
    worked = [re.fullmatch(r"\s*(\S.*?)  +(\S.*) = (\S+)(?: .*)?", line) for line in page.splitlines()]
    return [match.groups() for match in worked if match], page


JOBS = [
    *((name, None) for name in ("harvest-fair-trailer.yaml", "ice-cream-van-fail.yaml", "riverboat-two-stage.yaml")),
    *((name, "us") for name in ("harvest-fair-trailer.yaml", "orchard-cookhouse-imperial.yaml")),
    ("harvest-fair-trailer.yaml", "mbar"),
]


@pytest.mark.parametrize(("name", "units"), JOBS)
def test_each_line_comes_to_its_figure_and_the_last_to_the_drop_of_check(name, units):
    """On every run: each line to its six digits, and the drop within 0.5 % of the one that check works out in full."""
    job = read_job_file(str(EXAMPLES / name), CATALOGUE, sized=True)
    for run in job.runs:
        worked, page = lines_of(job, run.name, units, formula="darcy")
        for what, text, figure in worked:
            assert keyed(text) == pytest.approx(float(figure), rel=5e-3, abs=1e-9), (what, text)
        whole = explain(job, run.name, formula="darcy").legs[0].flow.drop_pa
        last = re.search(r"^ *drop +(?:.* = )?(\S+) (\S+)$", page, re.MULTILINE)
        pascals = {"kPa": 1000.0, "mbar": 100.0, "inH2O": 249.08891}[last[2]]  # NIST SP 811 for the inch of water
        assert float(last[1]) * pascals == pytest.approx(whole, rel=5e-3)


@pytest.mark.parametrize("units", ["metric", "mbar", "us"])
@pytest.mark.parametrize("load", ["60 MJ/h", "20 MJ/h", "6 MJ/h"])
def test_from_what_is_printed_alone(load, units):
    """Chained from the first line to the last, with nothing but what the page prints, the drop is within 0.5 %.

    Every figure that is keyed in is a constant of the formulas, or stands on the page before it.
    """
    job = job_of(ONE_RUN % load, "job.yaml", CATALOGUE)
    worked, page = lines_of(job, "main", units)
    results = {}
    for _, text, figure in worked:
        before = page[: page.index(text)]
        for number in re.findall(r"(?<![\w.])\d+(?:\.\d+)?(?:e-?\d+)?(?![\w.])", text):
            is_own = re.search(r"^ *(?:length|valve|height)", page[page.rindex("\n", 0, page.index(text)) + 1 :])
            assert number in CONSTANTS or number in before or is_own or number in UNIT_FIGURES[units], (number, text)
        chained = text
        for printed, value in results.items():
            chained = re.sub(rf"(?<![\w.]){re.escape(printed)}(?![\w.])", f"({value!r})", chained)
        results[figure] = keyed(chained)
    assert results[worked[-1][2]] == pytest.approx(float(worked[-1][2]), rel=5e-3)


# The job's unit of pressure, and of heat where it is no part of the calorific value's.
UNIT_FIGURES = {"metric": {"1000"}, "mbar": {"100", "3.6"}, "us": {"5.20233"}}


def test_the_first_guess_and_the_rounds():
    """Swamee and Jain's guess is within 3 % above Re 5000; the rounds come to Colebrook's factor in four digits."""
    job = job_of(ONE_RUN % "120 MJ/h", "job.yaml", CATALOGUE)
    worked, _ = lines_of(job, "main")
    figures = {what: float(figure) for what, _, figure in worked}
    fluids = pytest.importorskip("fluids.friction")
    reference = fluids.Colebrook(figures["Reynolds"], 0.0015 / 10.88)
    assert figures["1/sqrt(f)"] ** -2 == pytest.approx(reference, rel=0.03)
    last = max(what for what in figures if what.startswith("round"))
    assert figures[last] ** -2 == pytest.approx(reference, rel=5e-4)
    assert figures["f"] == pytest.approx(reference, rel=1e-5)


def test_laminar_flow_is_64_by_reynolds():
    """A small load has no guess and no rounds."""
    worked, page = lines_of(job_of(ONE_RUN % "5 MJ/h", "job.yaml", CATALOGUE), "main")
    assert next(text for what, text, _ in worked if what == "f, laminar").startswith("64 / ")
    assert "round 1" not in page


def test_a_run_is_one_screen(drawbar, monkeypatch):
    """In a terminal of 80 columns each run takes at most 23 lines, in either system of units."""
    monkeypatch.chdir(EXAMPLES)
    runs = [("harvest-fair-trailer.yaml", run) for run in ("main", "galley", "kerbside", "rear")]
    for job, run in [*runs, *(("orchard-cookhouse-imperial.yaml", run) for run in ("trunk", "range", "tank"))]:
        done = drawbar("explain", job, run, "--short", "--formula", "darcy")
        lines = done.out.splitlines()
        assert done.err == ""
        assert len(lines) <= 23
        assert max(map(len, lines)) <= 80
        assert "An aid: a licensed gasfitter answers for the work" in done.out
