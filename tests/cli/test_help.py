"""The help of every command stands alone: what it does, its arguments, and examples that work as they are printed."""

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from calls import call_process
from drawbar.cli.main import COMMANDS
from paths import ROOT

PAGES = ("", *COMMANDS)
_EXAMPLES = re.compile(r"^  Examples?:\n((?:    .*\n)+)", re.MULTILINE)


def examples(page: str) -> list[str]:
    """Return the examples of a help page, those that go on over a line's end put together."""
    (lines,) = _EXAMPLES.findall(page)
    return re.sub(r" \\\n +", " ", lines).strip().split("\n")


@pytest.mark.parametrize("command", PAGES)
def test_help_stands_alone(command: str) -> None:
    """A help page says what the command does and what it is given, and fits a terminal of 80 columns."""
    code, page, problems = call_process(*command.split(), "--help")
    assert (code, problems) == (0, "")
    usage, about = page.split("\n\n")[:2]
    assert re.fullmatch(r"  [A-Z][^\n]*\.", about), about
    assert max(map(len, page.splitlines())) <= 80
    assert "\b" not in page
    assert "\\b" not in page
    if command:
        body = page.partition("Options:\n")[0].removeprefix(usage)
        for argument in re.findall(r"\b(JOB|FILE|KIND|NAME|READINGS|RUN or APPLIANCE)\b", usage):
            assert argument in body or argument == "RUN or APPLIANCE", argument


@pytest.mark.parametrize("command", PAGES)
def test_the_examples_work_as_printed(command: str, tmp_path: Path) -> None:
    """Each example, run in order beside a copy of the examples, ends with a verdict: no file or call of it is wrong."""
    if command == "sheet":
        pytest.importorskip("jinja2")
        pytest.importorskip("svg")
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    for example in examples(call_process(*command.split(), "--help")[1]):
        program, *call = shlex.split(example)
        assert program == "drawbar"
        if command:
            assert call[0] == command
        code, _, problems = call_process(*call, cwd=tmp_path)
        assert code in (0, 1, 3), f"{example}: {problems}"
        assert "Traceback" not in problems


def test_the_main_page_cuts_no_line_short() -> None:
    """Every command has its line whole."""
    assert "..." not in call_process("--help")[1].replace("[ARGS]...", "")


# completion

BASH = shutil.which("bash")
needs_bash = pytest.mark.skipif(BASH is None, reason="no bash here")


def test_the_help_says_how_to_turn_completion_on() -> None:
    """One line of the main page does it."""
    assert 'Tab completion, for bash: eval "$(_DRAWBAR_COMPLETE=bash_source drawbar)"\n' in call_process("--help")[1]


@needs_bash
@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("drawbar ch", {"check"}),
        ("drawbar s", {"size", "supply", "sheet", "schema"}),
        ("drawbar check --format ", {"table", "json", "csv", "markdown", "github"}),
        ("drawbar check --formula po", {"pole"}),
        ("drawbar explain --formula dar", {"darcy"}),
        ("drawbar new --template ca", {"camper-trailer", "caravan", "cabin-imperial"}),
        ("drawbar new --rule b", {"bs-6891-lpg"}),
        ("drawbar new --gas pro", {"propane", "propylene"}),
        ("drawbar list form", {"formulas"}),
        ("drawbar tightness --test en", {"en-1949", "en-iso-10239", "en-iso-10239-37"}),
    ],
)
def test_bash_completes(typed: str, offered: set[str], tmp_path: Path) -> None:
    """Bash itself, with the line of the main page run in it, offers commands, choices, names and files."""
    program = tmp_path / "drawbar"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m drawbar "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    words = typed.split(" ")
    script = f"""
        eval "$(_DRAWBAR_COMPLETE=bash_source drawbar)"
        COMP_WORDS=({" ".join(map(shlex.quote, words))})
        COMP_CWORD={len(words) - 1}
        COMP_LINE={shlex.quote(typed)}
        _drawbar_completion drawbar {shlex.quote(words[-1])}
        printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    assert BASH is not None
    env = dict(os.environ, PATH=f"{tmp_path}:{os.environ['PATH']}", PYTHONPATH=str(ROOT / "src"))
    done = subprocess.run([BASH, "-c", script], cwd=ROOT, env=env, capture_output=True, text=True, check=False)
    replied = set(done.stdout.split())
    assert replied == offered, done.stderr


@pytest.mark.parametrize("typed", ["check exam", "explain exam", "size --prices exam", "new exam", "check --out exam"])
def test_files_are_left_to_the_shell(typed: str) -> None:
    """Where a file belongs, the program tells the shell so, which then completes its files."""
    words = ["drawbar", *typed.split()]
    env = {"_DRAWBAR_COMPLETE": "bash_complete", "COMP_WORDS": " ".join(words), "COMP_CWORD": str(len(words) - 1)}
    assert call_process(**env) == (0, "file,exam\n", "")
