"""What a command reads is never lost: no output over an input, no sizes over a file that somebody changed meanwhile."""

import os
import shutil

import click
import pytest

from drawbar.cli.main import COMMANDS, Commands
from drawbar.cli.options import InputFile
from drawbar.sizing import size_job
from paths import EXAMPLES

# A call of each command that reads files, with its inputs by their parameter's name.
CALLS = {
    "check": ("JOB",),
    "size": ("JOB", "--stock", "STOCK", "--prices", "PRICES"),
    "explain": ("JOB",),
    "recheck": ("JOB", "--swap", "urn=24 MJ/h", "--swaps", "SWAPS", "--jobs-from", "LIST", "--baseline", "RESULTS"),
    "compare": ("JOB", "--prices", "PRICES"),
    "diff": ("JOB", "OTHER"),
    "takeoff": ("JOB", "--prices", "PRICES"),
    "supply": ("JOB",),
    "hotwater": ("JOB",),
    "tightness": ("JOB",),
    "commission": ("JOB", "READINGS"),
    "sheet": ("JOB", "--verify", "SHEET", "--readings", "READINGS"),
    "list": ("pipes",),
    "schema": (),
}
TEXTS = {
    "STOCK": "stock: [as1432-b/auto]\n",
    "SWAPS": "swaps: {urn: 24 MJ/h}\n",
    "LIST": "job.yaml\n",
    "READINGS": "readings:\n  - {state: everything, at: fryer, pressure: 2.6 kPa}\n",
    "LIBRARY": "appliances:\n  kettle: {title: A kettle, input: 9 MJ/h, source: common practice}\n",
    "RESULTS": "",
    "SHEET": "",
}
FILES = {
    "JOB": "job.yaml",
    "OTHER": "other.yaml",
    "PRICES": "prices.yaml",
    "STOCK": "stock.yaml",
    "SWAPS": "swaps.yaml",
    "LIST": "list.txt",
    "READINGS": "readings.yaml",
    "LIBRARY": "library.yaml",
    "RESULTS": "results.jsonl",
    "SHEET": "sheet.html",
}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return a folder, the current one, with a good file of every kind."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("DRAWBAR_LIBRARY", raising=False)
    shutil.copy(EXAMPLES / "harvest-fair-trailer.yaml", tmp_path / "job.yaml")
    shutil.copy(EXAMPLES / "harvest-fair-trailer.yaml", tmp_path / "other.yaml")
    shutil.copy(EXAMPLES / "prices.yaml", tmp_path / "prices.yaml")
    for kind, text in TEXTS.items():
        (tmp_path / FILES[kind]).write_text(text, encoding="utf-8")
    return tmp_path


def words_of(name):
    """Return a command's call with all its inputs, and the files among them."""
    words = [FILES.get(word, word) for word in (name, *CALLS[name], "--library", "LIBRARY")]
    return words, [word for word in words if word in FILES.values()]


CASES = [(name, file) for name in CALLS for file in words_of(name)[1]]


@pytest.mark.parametrize(("name", "file"), CASES)
@pytest.mark.parametrize("way", ["itself", "another spelling", "a link to it"])
def test_no_output_over_an_input(folder, drawbar, name, file, way):
    """Refused with exit code 2 before any work, by file identity; the input stands as it was."""
    words, _ = words_of(name)
    before = (folder / file).read_bytes()
    out = {"itself": file, "another spelling": f"./{file}", "a link to it": "link"}[way]
    if way == "a link to it":
        os.symlink(file, folder / "link")
    code, printed, told = drawbar(*words, "--out", out)
    assert (code, printed) == (2, "")
    assert f"`{out}` is read by this call, and would be lost; write to another file" in told
    assert (folder / file).read_bytes() == before


def test_every_input_of_every_command_is_tried():
    """The calls above give each command every file that it can read, but results, which take the place of jobs."""
    commands = Commands()
    for name in COMMANDS:
        command = commands.get_command(click.Context(commands), name)
        inputs = [param for param in command.params if isinstance(param.type, InputFile) and param.name != "results"]
        if any(param.name == "out" for param in command.params):
            assert len(words_of(name)[1]) == len(inputs), name


def test_results_are_kept(folder, drawbar):
    """Result lines that are read back are an input as well."""
    before = (folder / "results.jsonl").read_bytes()
    code, _, told = drawbar("recheck", "--results", "results.jsonl", "--out", "results.jsonl")
    assert code == 2
    assert "would be lost" in told
    assert (folder / "results.jsonl").read_bytes() == before


def test_a_job_found_in_a_folder_is_kept(folder, drawbar):
    """A job that recheck finds in a folder is as safe as one that is named."""
    before = (folder / "job.yaml").read_bytes()
    code, _, told = drawbar("recheck", "job.y*ml", "--swap", "urn=24 MJ/h", "--out", "job.yaml")
    assert code == 2
    assert "would be lost" in told
    assert (folder / "job.yaml").read_bytes() == before


def test_the_library_of_the_environment_is_kept(folder, drawbar, monkeypatch):
    """DRAWBAR_LIBRARY names an input of every call."""
    monkeypatch.setenv("DRAWBAR_LIBRARY", "library.yaml")
    code, _, told = drawbar("check", "job.yaml", "--out", "library.yaml")
    assert code == 2
    assert "would be lost" in told
    assert (folder / "library.yaml").read_text(encoding="utf-8") == TEXTS["LIBRARY"]


def test_another_file_may_be_written_over(folder, drawbar):
    """An output over an earlier output is what a script does every day."""
    for _ in range(2):
        code, _, told = drawbar("check", "job.yaml", "--out", "report.txt")
        assert (code, told) == (0, "")
    assert (folder / "report.txt").read_text(encoding="utf-8").startswith("Harvest-fair food trailer")


def test_sizes_do_not_overwrite_a_change_made_meanwhile(folder, drawbar, monkeypatch):
    """`size --write` on a file that was edited while it worked ends with exit code 2 and leaves the edit."""
    job = folder / "job.yaml"
    shutil.copy(EXAMPLES / "market-kitchen-open.yaml", job)
    edited = job.read_text(encoding="utf-8").replace("rule: as-nzs-5601.2", "limits: {drop: 0.2 kPa}")
    solve = size_job.size

    def edit_meanwhile(*arguments, **options):
        job.write_text(edited, encoding="utf-8")
        return solve(*arguments, **options)

    monkeypatch.setattr(size_job, "size", edit_meanwhile)
    code, printed, told = drawbar("size", "job.yaml", "--write")
    assert (code, printed) == (2, "")
    assert told == "job.yaml: was changed while its sizes were worked out, and is left as it is; size it again\n"
    assert job.read_text(encoding="utf-8") == edited
