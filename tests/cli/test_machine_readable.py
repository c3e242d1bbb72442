"""What scripts read tells all that a page tells: problems in JSON, the job's whole verdict in every row of a CSV."""

import csv
import io
import json

import pytest

from drawbar.report.for_scripts import as_csv
from paths import EXAMPLES

TRAILER = str(EXAMPLES / "harvest-fair-trailer.yaml")
BROKEN = """\
job: Broken
gas: protane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa}
runs: {main: {from: regulator, pipe: as1432-b/12.70, length: 3}}
appliances: {oven: {at: main, input: 20 MJ/h}}
"""
# Each command that reads a job and prints JSON, with what it needs besides.
COMMANDS = [
    ("check",),
    ("size",),
    ("explain",),
    ("recheck",),
    ("takeoff",),
    ("supply",),
    ("hotwater",),
    ("tightness",),
    ("commission",),
]


@pytest.fixture
def broken(tmp_path):
    path = tmp_path / "broken.yaml"
    path.write_text(BROKEN, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_problems_are_in_the_json_of_every_command(command, broken, drawbar):
    """With the place as data, the same exit code as the page, and the same text on standard error."""
    page = drawbar(*command, broken)
    code, out, err = drawbar(*command, broken, "--format", "json")
    document = json.loads(out)
    assert (code, err) == (page.code, page.err) == (2, err)
    assert (document["kind"], document["format"]) == (command[0], 1)
    assert [
        (problem["file"], problem["line"], problem["column"], problem["where"]) for problem in document["problems"]
    ] == [
        (broken, 2, 6, "gas"),
        (broken, 5, 62, "runs.main.length"),
    ]
    for problem, line in zip(document["problems"], err.splitlines(), strict=True):
        assert line.endswith(f"{problem['where']}: {problem['what']}; {problem['fits']}")


def test_a_file_that_is_not_there_is_a_problem_without_a_line(drawbar):
    """And a good file beside it has its result."""
    code, out, err = drawbar("check", "gone.yaml", TRAILER, "--format", "json")
    document = json.loads(out)
    assert (code, err) == (2, "gone.yaml: there is no such file\n")
    assert document["problems"] == [
        {
            "file": "gone.yaml",
            "line": None,
            "column": None,
            "where": "",
            "what": "there is no such file",
            "fits": "",
            "asked": None,
            "machine_failed": False,
        }
    ]
    assert [result["file"] for result in document["results"]] == [TRAILER]


def test_problems_of_a_price_list_and_of_a_library_come_too(tmp_path, drawbar):
    """Whatever file it was that could not be used; to a file as to standard output."""
    bad, out_file = tmp_path / "bad.yaml", tmp_path / "out.json"
    bad.write_text("prizes: {}\n", encoding="utf-8")
    for words in (("takeoff", TRAILER, "--prices", str(bad)), ("check", TRAILER, "--library", str(bad))):
        code, out, err = drawbar(*words, "--format", "json", "--out", str(out_file))
        document = json.loads(out_file.read_text(encoding="utf-8"))
        assert (code, out, document["results"]) == (2, "", [])
        assert [problem["where"] for problem in document["problems"]] == ["prizes"]
        assert err.startswith(f"{bad}:1:1: prizes: is not a key here")


@pytest.mark.parametrize("command", ["check", "size", "supply"])
@pytest.mark.parametrize("job", sorted(path.name for path in EXAMPLES.glob("*-*.yaml")))
def test_every_row_of_a_csv_tells_the_verdict_on_the_job(command, job, drawbar):
    """Rows that all say `pass` under another exit code can't be."""
    code, out, _ = drawbar(command, str(EXAMPLES / job), "--format", "csv")
    if code == 2:  # no size chosen yet, or no bottles
        assert list(csv.DictReader(io.StringIO(out))) == []
        return
    rows = list(csv.DictReader(io.StringIO(out)))
    assert rows != []
    assert {row["job_verdict"] for row in rows} == {{0: "pass", 1: "fail", 3: "undecided"}[code]}


def test_regulator_vents_and_bottles_have_their_verdicts_in_the_row(drawbar, tmp_path):
    """A job whose appliances all pass and whose vents do not: the rows say which part fails, and why."""
    job = tmp_path / "job.yaml"
    text = (EXAMPLES / "harvest-fair-trailer.yaml").read_text(encoding="utf-8").replace("26000", "500")
    job.write_text(text, encoding="utf-8")
    code, out, _ = drawbar("check", str(job), "--format", "csv")
    row, *_ = rows = list(csv.DictReader(io.StringIO(out)))
    assert code == 1
    assert {row["verdict"] for row in rows} == {"pass"}
    assert (row["job_verdict"], row["pressure_verdict"], row["regulator_verdict"]) == ("fail", "pass", "pass")
    assert (row["vents_verdict"], row["bottles_verdict"]) == ("fail", json_bottles(drawbar, str(job)))
    assert "mm2" in row["because"]


def json_bottles(drawbar, job):
    return json.loads(drawbar("check", job, "--format", "json").out)["results"][0]["bottles"]["verdict"]


@pytest.mark.parametrize("mark", ["=1+1", "+cmd", "-cmd", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\uff1d1"])
def test_a_cell_that_a_spreadsheet_would_run_is_guarded(mark):
    """Whatever a formula may start with gets a mark before it."""
    assert list(csv.reader(io.StringIO(as_csv([mark], [[mark]]), newline=""))) == [["'" + mark.replace("\r", " ")]] * 2


def test_numbers_stay_numbers():
    """A figure below zero is no formula, whether it comes as a number or as its text."""
    assert as_csv(["a", "b", "c", "d"], [[-1.5, "-1.5", -2, "+3"]]).splitlines()[1] == "-1.5,-1.5,-2,+3"
