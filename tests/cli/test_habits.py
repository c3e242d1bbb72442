"""Habits of the command line that every command keeps: -o and -, -q, help, colour, and what a help page lists."""

import importlib.util
import json
import re
import sys
from pathlib import Path

import click
import pytest

from calls import call_process, call_terminal
from drawbar.cli.earlier_output import last_lines
from drawbar.cli.main import COMMANDS, Commands, cli
from drawbar.cli.options import FORMS, FileCommand
from paths import EXAMPLE, EXAMPLES

FAILING = str(EXAMPLES / "ice-cream-van-fail.yaml")
JOB = str(EXAMPLE)
PRICES = str(EXAMPLES / "prices.yaml")
# A call of each command that prints a result.
CALLS = {
    "check": ("check", JOB),
    "size": ("size", JOB),
    "explain": ("explain", JOB),
    "recheck": ("recheck", JOB, "--swap", "urn=24 MJ/h"),
    "takeoff": ("takeoff", JOB),
    "supply": ("supply", JOB),
    "hotwater": ("hotwater", JOB),
    "tightness": ("tightness", JOB),
    "commission": ("commission", JOB),
    "list": ("list", "rules"),
}
posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo terminals are POSIX's")


def command(name: str) -> click.Command:
    """Return a command."""
    assert isinstance(cli, Commands)
    named = cli.get_command(click.Context(cli), name)
    assert named is not None
    return named


def option_names(name: str) -> list[str]:
    """Return the long names of a command's options, in the order of its help."""
    return [param.opts[-1] for param in command(name).params if isinstance(param, click.Option)]


@pytest.mark.parametrize("name", COMMANDS)
def test_shared_options_stand_last_and_in_order(name: str) -> None:
    """A reader finds them in the same place on every page; -o and -q are short for the same on every command."""
    shared = ["--set", "--swap", "--library", "--units", "--format", "--out", "--force", "--quiet"]
    names = option_names(name)
    there = [option for option in shared if option in names and not (option == "--swap" and name == "recheck")]
    assert names[-len(there) :] == there
    assert names[-1] == "--quiet"
    short = {param.opts[-1]: param.opts[0] for param in command(name).params if isinstance(param, click.Option)}
    assert short["--quiet"] == "-q"
    assert short.get("--out", "-o") == "-o"
    assert ("--out" in names) == (isinstance(command(name), FileCommand))


@pytest.mark.parametrize("name", COMMANDS)
def test_summaries_tell_what_to_do(name: str) -> None:
    """The summary of a page is in the imperative, and the page has its exit codes, each once."""
    page = call_page(name)
    first = page.split("\n\n")[1].split()[0]
    assert first in ("Write", "Check", "Choose", "Show", "List", "Work", "Predict", "Print", "Compare"), first
    codes = " ".join(page.rpartition("Exit code: ")[2].split())
    assert page.count("Exit code: ") == 1
    assert re.findall(r"\b\d\b", codes) == (["0", "1", "3", "2", "4"] if "FAIL" in codes else ["0", "2", "4"])


def call_page(name: str) -> str:
    """Return the help page of a command."""
    named = command(name)
    return named.get_help(click.Context(named, info_name=name, parent=click.Context(cli, info_name="drawbar")))


@pytest.mark.parametrize("name", CALLS)
def test_a_dash_is_standard_output(name: str, drawbar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`-o -` prints, `-o FILE` writes the same, and no file has a dash for its name."""
    monkeypatch.chdir(tmp_path)
    code, printed, told = drawbar(*CALLS[name])
    assert drawbar(*CALLS[name], "-o", "-") == (code, printed, told)
    assert drawbar(*CALLS[name], "-o", "page.txt") == (code, "", told)
    assert Path("page.txt").read_text(encoding="utf-8") == (
        printed if name == "schema" else printed + last_lines("table")
    )
    assert [path.name for path in tmp_path.iterdir()] == ["page.txt"]


def test_a_sheet_is_printed_too(drawbar) -> None:
    """`sheet -o -` prints the page."""
    pytest.importorskip("jinja2")
    pytest.importorskip("svg")
    assert drawbar("sheet", JOB, "-o", "-", "--date", "2026-01-31").out.startswith("<!DOCTYPE html>")


@pytest.mark.parametrize("name", CALLS)
def test_every_format_that_is_listed_prints(name: str, drawbar, tmp_path: Path) -> None:
    """No format of a help page is refused, and JSON and CSV are what they say."""
    (option,) = (param for param in command(name).params if param.name == "form")
    assert isinstance(option.type, click.Choice)
    assert set(option.type.choices) <= {*FORMS, "jsonl", "xlsx", "html", "github"}
    for form in option.type.choices:
        if form == "xlsx":  # no text: a quote that goes to a file, where the extra is there to write it
            if importlib.util.find_spec("xlsxwriter") is None:
                continue
            workbook = tmp_path / "book.xlsx"
            assert drawbar(*CALLS[name], "--prices", PRICES, "--format", form, "-o", str(workbook)).code == 0
            assert workbook.read_bytes().startswith(b"PK")
            continue
        more = ("--prices", PRICES) if form == "html" else ()  # a quote as a page
        code, printed, _ = drawbar(*CALLS[name], *more, "--format", form)
        assert code in (0, 1, 3)
        if form == "json":
            assert json.loads(printed)["results"]
        # A job that passes has no annotation for a hosted CI.
        assert len(printed.splitlines()) > {"jsonl": 0, "github": -1}.get(form, 1)


@pytest.mark.parametrize("name", [name for name in CALLS if name != "list"])
def test_a_dash_is_standard_input(name: str, drawbar) -> None:
    """A job may come from there."""
    words = ["-" if word == JOB else word for word in CALLS[name]]
    text = EXAMPLE.read_text(encoding="utf-8")
    assert drawbar(*words, stdin=text).code == drawbar(*CALLS[name]).code


def test_other_inputs_come_from_there_as_well(drawbar) -> None:
    """Price lists, readings, libraries, swaps, lists of jobs, results: whatever a call reads, once."""
    prices = Path(PRICES).read_text(encoding="utf-8")
    assert drawbar("takeoff", JOB, "--prices", "-", stdin=prices).code == 0
    assert drawbar("size", JOB, "--prices", "-", stdin=prices).code == 0
    readings = "readings:\n  - {state: breakfast, at: fryer, pressure: 2.706 kPa}\n"
    assert drawbar("commission", JOB, "-", stdin=readings).code in (0, 1, 3)
    library = "appliances:\n  our-urn: {title: Our urn, input: 22 MJ/h, source: our bench}\n"
    assert drawbar("check", JOB, "--library", "-", "--swap", "urn=our-urn", stdin=library).code == 0
    assert drawbar("recheck", JOB, "--swaps", "-", stdin="swaps: {urn: 24 MJ/h}\n").code == 0
    assert drawbar("recheck", "--jobs-from", "-", "--swap", "urn=24 MJ/h", stdin=f"{JOB}\n").code == 0
    lines = drawbar("recheck", JOB, "--swap", "urn=24 MJ/h", "--format", "jsonl").out
    assert drawbar("recheck", "--results", "-", stdin=lines).code == 0


@pytest.mark.parametrize(
    "words",
    [
        ("check", "-", "-"),
        ("check", "-", "--library", "-"),
        ("takeoff", "-", "--prices", "-"),
        ("commission", "-", "-"),
        ("recheck", "-", "--jobs-from", "-"),
    ],
    ids=" ".join,
)
def test_two_inputs_cannot_come_from_there(words: tuple[str, ...], drawbar) -> None:
    """The second would find nothing."""
    code, printed, told = drawbar(*words, stdin="job: one\n")
    assert (code, printed) == (2, "")
    assert told.endswith("\n\nError: Only one input can come from standard input.\n")


def test_recheck_takes_no_library_from_there(drawbar) -> None:
    """Each of its processes reads the library."""
    code, printed, told = drawbar("recheck", JOB, "--swap", "urn=24 MJ/h", "--library", "-", stdin="appliances: {}\n")
    assert (code, printed) == (2, "")
    assert told.endswith("Error: A library is read once a process here; give it as a file.\n")


def test_quiet_leaves_results_and_problems(drawbar, tmp_path: Path) -> None:
    """-q takes remarks away; what is wrong is told all the same, and the exit code stays."""
    job = tmp_path / "job.yaml"
    job.write_bytes((EXAMPLES / "market-kitchen-open.yaml").read_bytes())
    code, printed, told = drawbar("size", str(job), "--write")
    job.write_bytes((EXAMPLES / "market-kitchen-open.yaml").read_bytes())
    assert told == f"{job}: 5 sizes written\n"
    assert drawbar("size", str(job), "--write", "-q") == (code, printed, "")
    chatty, quiet = (
        drawbar("new", str(tmp_path / f"van-{len(words)}.yaml"), "--template", "caravan", *words)
        for words in ((), ("-q",))
    )
    assert "drawbar check " in chatty.out
    assert (quiet.code, quiet.err) == (0, "")
    assert "drawbar check " not in quiet.out
    wrong = drawbar("check", str(tmp_path / "none.yaml"))
    assert drawbar("check", "-q", str(tmp_path / "none.yaml")) == wrong
    assert wrong.err


@posix
@pytest.mark.parametrize(
    ("env", "has_colour"),
    [
        ({}, True),
        ({"NO_COLOR": "1"}, False),
        ({"NO_COLOR": "1", "FORCE_COLOR": "1"}, False),
        ({"TERM": "dumb"}, False),
        ({"TERM": "dumb", "FORCE_COLOR": "1"}, True),
    ],
    ids=lambda value: "-".join(value) if isinstance(value, dict) else "",
)
def test_colour_on_a_terminal(env: dict[str, str], *, has_colour: bool) -> None:
    """NO_COLOR goes before FORCE_COLOR, and that before a dumb terminal."""
    given = {"TERM": "xterm", "LC_ALL": "C.UTF-8", "FORCE_COLOR": ""} | env
    assert (b"\x1b[" in call_terminal("check", FAILING, **given)) == has_colour


def test_colour_may_be_asked_for_in_a_pipe(tmp_path: Path) -> None:
    """FORCE_COLOR colours what goes to a pipe, as to a pager, but no file and no JSON."""
    assert "\x1b[31m\x1b[1mFAIL\x1b[0m" in call_process("check", FAILING, FORCE_COLOR="1").out
    assert "\x1b" not in call_process("check", FAILING, "--format", "json", FORCE_COLOR="1").out
    out = tmp_path / "page.txt"
    assert call_process("check", FAILING, "-o", str(out), FORCE_COLOR="1").code == 1
    assert "\x1b" not in out.read_text(encoding="utf-8")


@posix
def test_a_dumb_terminal_gets_plain_strokes() -> None:
    """It can't be trusted with lines either."""
    printed = call_terminal("check", "--full", JOB, TERM="dumb", LC_ALL="C.UTF-8", PYTHONIOENCODING="utf-8").decode()
    assert "\n`- main " in printed


def test_help_is_a_command(drawbar) -> None:
    """`help` and `help CMD` print what --help does; an unknown name is told as such."""
    assert drawbar("help") == drawbar("--help")
    for name in COMMANDS:
        assert drawbar("help", name) == drawbar(name, "--help")
    code, printed, told = drawbar("help", "chek")
    assert (code, printed) == (2, "")
    assert told.endswith("Error: No such command: `chek`; did you mean `check`?\n")
