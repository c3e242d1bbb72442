"""`--set`, `--swap` and `--units` on every command that reads a job: exit code, standard output, standard error."""

import json
from pathlib import Path

import pytest

from good_job import GOOD
from paths import EXAMPLE, ROOT

JOB = str(EXAMPLE)
COMMANDS = ("check", "size", "explain", "takeoff", "supply", "hotwater", "tightness", "commission", "compare")
ASKED = ["runs.main.length = 3.7 m", "urn swapped for 22 MJ/h"]
OPTIONS = ("--set", "runs.main.length=3.7 m", "--swap", "urn=22 MJ/h")


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_page_says_what_was_asked(drawbar, command: str) -> None:
    """Under the title, so that nobody takes the answer for the file's own; in JSON under `asked`."""
    jobs = [JOB, JOB] if command == "compare" else [JOB]
    page = drawbar(command, *jobs, *OPTIONS)
    assert page.err == ""
    title, _, rest = page.out.partition("\n\n")
    assert title.startswith(("Harvest-fair", "2 ways side by side"))
    told = " ".join(rest.split("\n\n")[0].split())
    assert told.startswith(f"Not as the file stands; asked with {'; '.join(ASKED)}.")
    document = drawbar(command, *jobs, *OPTIONS, "--format", "json")
    assert (document.code, document.err) == (page.code, "")
    assert json.loads(document.out)["asked"] == ASKED
    assert "Not as the file stands" not in drawbar(command, *jobs).out


def test_the_sheet_and_the_rows_say_what_was_asked(drawbar, tmp_path: Path) -> None:
    """A printed page and a spreadsheet outlive the call; `recheck` says it too, beside its swaps."""
    pytest.importorskip("jinja2")
    pytest.importorskip("svg")
    sheet = tmp_path / "sheet.html"
    assert drawbar("sheet", JOB, "-o", str(sheet), *OPTIONS).code in (0, 3)
    assert "asked with runs.main.length = 3.7 m; urn swapped for 22 MJ/h." in sheet.read_text(encoding="utf-8")
    head, first, *_ = drawbar("check", JOB, *OPTIONS, "--format", "csv").out.splitlines()
    assert head.endswith(",asked")
    assert first.endswith(",runs.main.length = 3.7 m; urn swapped for 22 MJ/h")
    assert not drawbar("check", JOB, "--format", "csv").out.splitlines()[0].endswith(",asked")


def test_recheck_keeps_its_swap_and_takes_the_rest(drawbar, tmp_path: Path) -> None:
    """Before and after both have the key set; the line of JSON says it, and so does a page made of it later."""
    call = ("recheck", JOB, "--swap", "urn=24 MJ/h", "--set", "runs.main.length=30 m", "--units", "us")
    line = drawbar(*call, "--format", "jsonl")
    read = json.loads(line.out)
    assert read["asked"] == ["runs.main.length = 30 m"]
    assert (read["before"]["verdict"], read["after"]["verdict"]) == ("fail", "fail")
    assert read["remedies"]["units"]["heat"] == "Btu/h"
    results = tmp_path / "results.jsonl"
    results.write_text(line.out, encoding="utf-8")
    for page in (drawbar(*call), drawbar("recheck", "--results", str(results))):
        assert (page.code, page.err) == (1, "")
        assert "Not as the file stands; asked with runs.main.length = 30 m." in page.out


def test_a_problem_has_its_own_place(drawbar, tmp_path: Path) -> None:
    """All of them at once, none at a line of the file; of several files, which one."""
    call = drawbar("check", JOB, "--set", "runs.main.length=4", "--set", "runs.mian.length=4 m", "--set", "gas=propan")
    assert (call.code, call.out) == (2, "")
    assert call.err == (
        "--set 2: runs.mian: is not in the file, and a new one needs from and pipe; did you mean `main`?\n"
        "--set 1: runs.main.length: `4` has no unit; write one of mm, cm, m, in, ft after it\n"
        "--set 3: gas: `propan` is not a gas of the catalogue; did you mean `propane`?\n"
    )
    other = tmp_path / "other.yaml"
    other.write_text(GOOD.replace("main", "spine"), encoding="utf-8")
    call = drawbar("check", JOB, str(other), "--set", "runs.main.length=4 m")
    assert call.code == 2
    assert call.out.startswith("Harvest-fair food trailer")
    assert call.err == (
        f"{other}: --set 1: runs.main: is not in the file, and a new one needs from and pipe; known here: spine\n"
    )


def test_a_problem_comes_as_json_too(drawbar) -> None:
    """The place has no line, and says what asked."""
    call = drawbar("check", JOB, "--set", "runs.main.length=4", "--format", "json")
    (problem,) = json.loads(call.out)["problems"]
    assert (problem["file"], problem["line"], problem["asked"]) == (JOB, None, "--set 1")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--set", "runs.main.length"), "--set 1: `runs.main.length` is not KEY=VALUE; write KEY=VALUE, as "),
        (("--swap", "urn"), "Error: Invalid value for --swap: `urn` is not OLD=NEW; write for example "),
        (("--swap", "urn=kettel"), "Error: Invalid value for --swap: `kettel` is no appliance of the catalogue"),
        (("--swap", "ur=3 kW"), "--swap 1: `ur` is no appliance of the job; did you mean `urn`?"),
        (("--units", "imperial"), "Error: Invalid value for '--units': 'imperial' is not one of 'metric', "),
    ],
)
def test_a_wrong_call_is_told(drawbar, words: tuple[str, ...], message: str) -> None:
    """Exit code 2, and a sentence on what to write."""
    call = drawbar("check", JOB, *words)
    assert (call.code, call.out) == (2, "")
    assert message in call.err


def test_units_change_the_page_and_no_key(drawbar) -> None:
    """A page in the units asked for has none of the others; JSON has the same figures."""
    for command in ("check", "size", "tightness"):
        page = drawbar(command, JOB, "--units", "us")
        assert "MJ/h" not in page.out, command
        assert "degC" not in page.out, command
    us, own = (json.loads(drawbar("tightness", JOB, *more, "--format", "json").out) for more in (("--units", "us"), ()))
    assert us == own


def test_sizes_are_written_only_where_the_file_is_the_line_that_was_sized(drawbar, tmp_path: Path) -> None:
    """Pipes that are set are written with the rest; with anything else set, nothing is."""
    job = tmp_path / "job.yaml"
    text = (ROOT / "examples" / "market-kitchen-open.yaml").read_text(encoding="utf-8")
    job.write_text(text, encoding="utf-8")
    for words in (("--set", "runs.main.length=2 m"), ("--swap", "oven=20 MJ/h")):
        call = drawbar("size", str(job), "--write", *words)
        assert (call.code, call.out) == (2, "")
        assert "--write goes with --set of `runs.NAME.pipe` alone" in call.err
        assert job.read_text(encoding="utf-8") == text
    call = drawbar("size", str(job), "--write", "--set", "runs.main.pipe=as1432-b/15.88")
    assert call.err == f"{job}: 5 sizes written\n"
    assert "main:  {from: regulator, pipe: as1432-b/15.88," in job.read_text(encoding="utf-8")
    assert drawbar("check", str(job)).code == call.code == 0
