"""Hostile job files by the thousand: each is a job that can be checked, or Problems; nothing else, and soon."""

import json
import re
import time

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problems
from drawbar.report.check_report import CheckReport
from drawbar.report.layout import as_csv, as_json, as_markdown, as_text
from drawbar.yamlfile.nodes import decoded
from paths import EXAMPLE

KNOWN = Catalogue()
GOOD = EXAMPLE.read_text(encoding="utf-8")
STAGED = """\
job: Two stages
gas: {propane: 70 %, n-butane: 30 %}
limits: {drop: 0.5 inH2O}
formula: ifgc
regulator: {outlet: 10 psi}
runs:
  first: {from: regulator, pipe: b88-l/0.5, length: 30 ft}
  stage: {from: first, pipe: b88-l/0.5, length: 10 ft, rise: 2 ft, regulator: {inlet-min: 5 psi, outlet: 11 inH2O}}
  tail: {from: stage, pipe: {bore: 0.4 in, roughness: 0.1 mm}, length: 8 ft}
outlets:
  one: {at: stage, fittings: {tee-branch: 1}}
  two: {at: tail}
appliances:
  heater: {at: tail, input: 60000 Btu/h}
  ring: {plugs-into: any, input: {like: wok-burner}}
  lamp: {plugs-into: two, input: 0.1 kg/h}
"""
# Stood in place of a value, a key or a whole line.
TOKENS = [
    *(
        "",
        "~",
        "null",
        "[]",
        "{}",
        "[[]]",
        "{a: b}",
        "- a",
        "!!str a",
        "!!python/name:os.system ''",
        "&a b",
        "*a",
        "<<: *a",
    ),
    *("0", "-1", "1e999", "nan", "inf", "9**9**9", "0x1F", "1_000", "\u0663 m", "\uff13 m", "1e-320 m", "0 m", "-0 m"),
    *("1 mm", "1000 m", "-50 m", "50 m", "0 mm", "300 mm", "0.1 MJ/h", "5000 MJ/h", "5000 kg/h", "0.001 g/h", "1 Pa"),
    *(
        "0.5 kPa",
        "1000 kPa",
        "100 kPa",
        "0 %",
        "100 %",
        "1e-9 %",
        "-40 degC",
        "60 degC",
        "-400 m",
        "5000 m",
        "200",
        "100",
    ),
    *(
        "regulator",
        "any",
        "auto",
        "main",
        "rear",
        "all",
        "hose/4",
        "hose/auto",
        "as1432-b/50.80",
        "/",
        "a/b/c",
        "as1432-b/",
    ),
    *(
        "'",
        '"',
        "{",
        "}",
        "[",
        "]",
        ":",
        ": ",
        "#",
        "|",
        ">",
        "%",
        "@",
        "`",
        "\t",
        "\\",
        '"\\u0000"',
        '"\\e[2J"',
        "\u202e",
    ),
    *(
        "yes",
        "on",
        "x" * 70,
        "k: " * 30,
        "{a: " * 50,
        "[" * 60,
        "darcy",
        "pole",
        "renouard",
        "spitzglass",
        "ifgc",
        "net",
    ),
]
NUMBERS = [
    "0",
    "-0.5",
    "0.01",
    "0.5",
    "1",
    "2",
    "3.3",
    "5",
    "7e0",
    "10",
    "15",
    "20",
    "50",
    "60",
    "100",
    "300",
    "1000",
    "4999",
]
OTHER_WAYS = ["delete", "double", "swap", "insert", "line", "cut", "indent"]


@st.composite
def spoilt(draw) -> str:
    """Return a good job file with a few things done to it."""
    lines = draw(st.sampled_from([GOOD, STAGED])).splitlines()
    for _ in range(draw(st.integers(1, 3))):
        if not lines:
            break
        number = draw(st.integers(0, len(lines) - 1))
        line = lines[number]
        other = draw(st.integers(0, len(lines) - 1))
        token = draw(st.sampled_from(TOKENS))
        what = draw(st.sampled_from(["number"] * 10 + ["value"] * 2 + OTHER_WAYS))
        if what == "delete":
            del lines[number]
        elif what == "double":
            lines.insert(other, line)
        elif what == "swap":
            lines[number], lines[other] = lines[other], line
        elif what == "number":
            numbers = list(re.finditer(r"(?<=: )-?[0-9.]+(?= [a-zA-Z%])", line))
            if numbers:
                found = draw(st.sampled_from(numbers))
                lines[number] = line[: found.start()] + draw(st.sampled_from(NUMBERS)) + line[found.end() :]
        elif what == "value":
            # A value runs from behind a colon to the next comma or bracket.
            starts = [at + 2 for at in range(len(line)) if line.startswith(": ", at)]
            if starts:
                start = draw(st.sampled_from(starts))
                end = min((at for at in (line.find(mark, start) for mark in ",}]") if at >= 0), default=len(line))
                lines[number] = line[:start] + token + line[end:]
        elif what == "insert":
            at = draw(st.integers(0, len(line)))
            lines[number] = line[:at] + draw(st.one_of(st.just(token), st.text(max_size=3))) + line[at:]
        elif what == "line":
            lines[number] = token
        elif what == "cut":
            lines[number] = line[: draw(st.integers(0, len(line)))]
        else:
            lines[number] = " " * draw(st.integers(0, 4)) + line.lstrip()
    return "\n".join(lines) + "\n"


def sound(error: Problems) -> None:
    """Assert that problems are such as can be shown: one printable line each, with a place, in order."""
    places = [(problem.line, problem.column) for problem in error.problems]
    assert places
    assert places == sorted(places)
    lines = str(error).split("\n")
    assert len(lines) == len(places)
    for line in lines:
        assert line.startswith("job.yaml:")
        assert line.isprintable()
        assert len(line) < 2000


def told(text: str) -> str:
    """Read and check a text as the program would: return what is printed, or the problems."""
    start = time.process_time()
    try:
        job = job_of(decoded(text.encode("utf-8", "surrogatepass"), "job.yaml"), "job.yaml", KNOWN, sized=True)
    except Problems as error:
        sound(error)
        assert time.process_time() - start < 1.0
        return ""
    result = check(job, with_headroom=True)
    report = CheckReport()
    json.loads(as_json("check", [report.data(result)]))  # as_json refuses what is not finite
    page = report.page(result)
    as_csv(report.columns, report.rows(result))
    assert "\x1b" not in as_text(page)
    each = [one.passes for state in result.states for one in (*state.appliances, *state.regulators)]
    assert all(each) or not result.passes
    assert time.process_time() - start < 2.0
    return as_markdown(page)


def test_the_good_files_are_good():
    """What is spoilt below is sound to begin with: both files are read and checked."""
    assert told(GOOD).startswith("## Harvest-fair food trailer (Q-0117): ")
    assert told(STAGED).startswith("## Two stages: ")


BOTH = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}


@given(text=spoilt())
@settings(max_examples=1000, **BOTH)
def test_spoilt_file(text):
    """A file with a few slips is checked with finite figures, or its problems are told in order."""
    told(text)


@pytest.mark.long
@given(text=spoilt())
@settings(max_examples=20_000, **BOTH)
def test_spoilt_file_long(text):
    """The same, many more times."""
    told(text)


@given(data=st.binary(max_size=200))
@example(data=b"\xff\xfe")
@example(data=b"\xef\xbb\xbf")
@example(data=b"job: \xed\xa0\x80")
@settings(max_examples=200, deadline=None)
def test_any_bytes(data):
    """Bytes of any kind are problems of the file with a place in it."""
    with pytest.raises(Problems, match=r"^job\.yaml:[1-9]"):
        job_of(decoded(data, "job.yaml"), "job.yaml", KNOWN)


@given(text=st.text(alphabet="abc: -[]{},&*!|>'\"%@`#?\n\t~0", max_size=80))
@settings(max_examples=300, deadline=None)
def test_any_yaml(text):
    """The marks of YAML in any order are problems of the file with a place in it."""
    with pytest.raises(Problems, match=r"^job\.yaml:[1-9]"):
        job_of(decoded(text.encode(), "job.yaml"), "job.yaml", KNOWN)
