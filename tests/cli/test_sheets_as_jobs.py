"""A sheet stands for the job that it carries wherever a job file is read, and a job file is read once."""

import json
import shutil
from pathlib import Path

import pytest

import drawbar as library_calls
from paths import EXAMPLES

pytest.importorskip("jinja2")
pytest.importorskip("svg")

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
FAILING = EXAMPLES / "ice-cream-van-fail.yaml"
LONGER = "runs.main.length=3 m"


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    """Return a folder, the current one, with two jobs and the sheet of each."""
    monkeypatch.chdir(tmp_path)
    for path, name in ((TRAILER, "trailer"), (FAILING, "van")):
        shutil.copy(path, tmp_path / f"{name}.yaml")
        page = library_calls.sheet(library_calls.read_job(path, sized=True))
        (tmp_path / f"{name}.html").write_text(page, encoding="utf-8")
    return tmp_path


def results(printed: str) -> list[dict]:
    return json.loads(printed)["results"]


@pytest.mark.usefixtures("folder")
def test_ways_of_a_sheet_are_compared(drawbar) -> None:
    """With the figures of its job file, by the command and by the library."""
    of = {}
    for file in ("trailer.yaml", "trailer.html"):
        done = drawbar("compare", file, "--variant", LONGER, "--format", "json")
        assert (done.code, done.err) == (0, "")
        of[file] = json.loads(done.out.replace(file, "JOB"))["results"]
        assert library_calls.compare(file, variants=[LONGER]).differences[0].key == "runs.main.length"
    assert of["trailer.yaml"] == of["trailer.html"]


def test_a_sheet_and_standard_input_are_held_against_a_job(folder, drawbar) -> None:
    """The keys that differ are those of the jobs; standard input is read once."""
    old, new = (folder / "van.yaml").read_text(encoding="utf-8"), "trailer.yaml"
    plain = drawbar("diff", "van.yaml", new, "--format", "json")
    for file in ("van.html", "-"):
        done = drawbar("diff", file, new, "--format", "json", stdin=old)
        assert (done.code, done.err) == (plain.code, "")
        assert [each["keys"] for each in results(done.out)] == [each["keys"] for each in results(plain.out)]
    assert results(plain.out)[0]["keys"]


@pytest.mark.usefixtures("folder")
def test_a_run_over_sheets_goes_on(drawbar, monkeypatch) -> None:
    """What is done is not told to be changed: the job that the sheet carries is compared, not the page."""
    call = ("recheck", "trailer.html", "van.html", "--swap", "urn=24 MJ/h", "--format", "jsonl", "--out", "out.jsonl")
    assert drawbar(*call).code == 1
    whole = Path("out.jsonl").read_bytes()
    Path("out.jsonl").unlink()
    with monkeypatch.context() as patch:
        patch.setattr("drawbar.rechecking.run_file.RunFile.close", lambda run, **_: run._stream.close())
        patch.setattr("drawbar.cli.recheck_command.write", lambda *_: None)
        assert drawbar(*call).code == 1
    part = Path("out.jsonl.part")
    part.write_bytes(b"".join(part.read_bytes().splitlines(keepends=True)[:2]))
    done = drawbar(*call, "--resume")
    assert (done.code, Path("out.jsonl").read_bytes()) == (1, whole)
    assert "can't be gone on with" not in done.err


def test_no_remedy_is_written_into_a_sheet(folder, drawbar) -> None:
    """It is told to take the job file; exit code 2, and nothing is written."""
    done = drawbar("recheck", "van.html", "--write-remedy", "out")
    assert done.code == 2
    assert done.err.splitlines()[0] == "van.html: is a sheet, and no job file; recheck the job file itself"
    assert not (folder / "out").exists()
