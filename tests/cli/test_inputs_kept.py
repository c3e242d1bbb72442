"""What a command reads is never lost: no output over an input, no sizes over a file that somebody changed meanwhile."""

import os
import shlex
import shutil
from pathlib import Path

import click
import pytest

from drawbar.catalogue.listing import LISTED_KINDS
from drawbar.cli.earlier_output import marked_pdf, may_be_replaced
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
    "compare": ("JOB", "--variant", "runs.main.length=3 m", "--prices", "PRICES"),
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
    code, _, told = drawbar("recheck", "job.y*ml", "--swap", "urn=24 MJ/h", "--out", "job.yaml", "--force")
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


# A call of each kind of output, in its forms; that of the first may stand where the next one goes.
OUTPUTS = (
    ("check job.yaml", ("table", "json", "csv", "markdown")),
    ("check job.yaml --brief", ("table", "csv", "markdown")),
    ("check job.yaml --compare", ("table", "csv")),
    ("check job.yaml --set runs.main.length='90 m'", ("github",)),
    ("size job.yaml", ("table", "json", "csv", "markdown")),
    ("explain job.yaml", ("table", "json", "markdown")),
    ("compare job.yaml --variant runs.main.length='3 m'", ("table", "json", "csv", "markdown")),
    ("recheck job.yaml --swap urn='24 MJ/h'", ("table", "json", "jsonl", "csv", "markdown")),
    ("recheck job.yaml --swap urn='90 MJ/h'", ("github",)),
    ("recheck job.yaml --swap urn='90 MJ/h' --summary", ("table",)),
    ("takeoff job.yaml --prices prices.yaml", ("table", "json", "csv", "markdown")),
    ("takeoff job.yaml --prices prices.yaml", ("xlsx",)),
    ("supply job.yaml", ("table", "json", "csv")),
    ("hotwater job.yaml", ("table", "json", "csv")),
    ("tightness job.yaml", ("table", "json", "csv")),
    ("commission job.yaml", ("table", "json", "csv")),
    ("commission job.yaml readings.yaml", ("table", "json", "csv")),
    ("sheet job.yaml", ("html",)),
    ("list", ("table", "json", "csv", "markdown")),
    *((f"list {kind}", ("csv",)) for kind in LISTED_KINDS),
    ("list pipes as1432-b", ("table", "json", "csv")),
)


@pytest.mark.parametrize(("words", "forms"), OUTPUTS, ids=[f"{words} {forms[0]}" for words, forms in OUTPUTS])
def test_an_earlier_output_may_be_written_over(folder, drawbar, words, forms):
    """An output over an earlier output is what a script does every day: it is known by its own bytes in each form."""
    for module in {"html": ("jinja2", "svg"), "xlsx": ("xlsxwriter",)}.get(forms[0], ()):
        pytest.importorskip(module)
    for form in forms:
        (folder / "report").unlink(missing_ok=True)
        call = (*shlex.split(words), "--format", form, "--out", "report")
        assert drawbar(*call).code in (0, 1, 3)
        assert (folder / "report").stat().st_size
        assert may_be_replaced("report"), form
    assert drawbar(*call).code in (0, 1, 3)


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize("of", ["job", "prices", "check"])
def test_an_earlier_schema_may_be_written_over(drawbar, of):
    """A schema has a name of ours in its first lines."""
    for _ in range(2):
        assert drawbar("schema", "--of", of, "--out", "schema.json") == (0, "", "")


@pytest.mark.usefixtures("folder")
def test_a_pdf_says_what_wrote_it():
    """The comment stands behind the end, which a reader finds within the last 1024 bytes all the same."""
    Path("sheet.pdf").write_bytes(marked_pdf(b"%PDF-1.7\n%%EOF\n"))
    assert may_be_replaced("sheet.pdf")
    assert Path("sheet.pdf").read_bytes().startswith(b"%PDF-1.7\n%%EOF\n%drawbar ")


# What a folder of jobs holds that nobody wants to lose.
NOT_OURS = {
    "a job of another name": b"job: A van\ngas: propane\n",
    "a starter file": None,
    "a job that speaks of drawbar": b"# drawbar check van.yaml\njob: drawbar test\n",
    "a note that ends so": b"To buy\n======\n\ndrawbar: ask about version 2\n",
    "a table of one's own": b"name,phone\nA,1\n",
    "JSON of another program": b'{"version": 1}\n',
    "a page of another program": b"<!DOCTYPE html>\n<html><head></head></html>\n",
    "a spreadsheet of one's own": b"PK\x03\x04 and so on",
    "noughts": b"\0" * 9000,
}


@pytest.mark.parametrize("kind", NOT_OURS)
def test_another_file_is_kept(folder, drawbar, kind):
    """What is no earlier output is written over by `--force` alone; that is told before any work."""
    there = folder / "there"
    if NOT_OURS[kind] is None:
        assert drawbar("new", "there", "--template", "food-van").code == 0
    else:
        there.write_bytes(NOT_OURS[kind])
    before = there.read_bytes()
    code, printed, told = drawbar("check", "none.yaml", "--out", "there")
    assert (code, printed) == (2, "")
    assert told.endswith("`there` is there, and was not written by drawbar; --force writes over it\n")
    assert there.read_bytes() == before
    assert drawbar("check", "job.yaml", "--out", "there", "--force") == (0, "", "")
    assert there.read_text(encoding="utf-8").startswith("Harvest-fair food trailer")


def test_an_empty_file_and_a_device_may_be_written_to(folder, drawbar):
    """A script's temporary file is empty before it is written; a device holds nothing."""
    (folder / "empty").touch()
    assert drawbar("check", "job.yaml", "--out", "empty") == (0, "", "")
    assert drawbar("check", "job.yaml", "--out", os.devnull) == (0, "", "")


@pytest.mark.usefixtures("folder")
def test_force_writes_over_no_input(drawbar):
    """`--force` is for what stands in the way; an input would be lost all the same."""
    code, printed, told = drawbar("check", "job.yaml", "--out", "job.yaml", "--force")
    assert (code, printed) == (2, "")
    assert "is read by this call, and would be lost" in told


def test_a_logo_is_an_input(folder, drawbar):
    """The workshop's logo is read by the sheet that would take its place."""
    pytest.importorskip("jinja2")
    pytest.importorskip("svg")
    logo = b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"></svg>'
    (folder / "logo.svg").write_bytes(logo)
    job = folder / "job.yaml"
    job.write_text(job.read_text(encoding="utf-8") + "workshop: {name: A workshop, logo: logo.svg}\n", encoding="utf-8")
    code, _, told = drawbar("sheet", "job.yaml", "--out", "logo.svg", "--force")
    assert code == 2
    assert "is read by this call, and would be lost" in told
    assert (folder / "logo.svg").read_bytes() == logo


def test_what_cannot_be_read_is_not_known_to_be_ours(folder, monkeypatch):
    """A file of ours or not: where it can't be read, it is left alone."""
    (folder / "there").write_text("x", encoding="utf-8")

    def fail(*_arguments, **_options):
        raise PermissionError

    monkeypatch.setattr("builtins.open", fail)
    assert not may_be_replaced("there")
    assert may_be_replaced("none")


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
