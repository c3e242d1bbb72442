"""The README says what the program does: its outputs are real, and its commands are those that CI runs."""

import subprocess
import sys

import pytest

import readme

TEXT = readme.README.read_text(encoding="utf-8")


@pytest.mark.parametrize(("command", "output"), readme.blocks(TEXT), ids=[one[0] for one in readme.blocks(TEXT)])
def test_output_is_what_the_command_prints(command, output):
    """Each console block of the README holds what its command prints now."""
    assert readme.run(command) == output


def test_the_readme_shows_every_command():
    """Each command of the program stands in a console block or in the text under a heading of its own."""
    from drawbar.cli.main import COMMANDS

    for name in COMMANDS:
        assert f"### {name}: " in TEXT


def test_ci_runs_the_test_command_of_the_readme():
    """.ci/run calls the README's second command to the letter."""
    commands = [line for line in TEXT.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert commands[1] in (readme.ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_the_python_of_the_readme_runs():
    """The block of Python prints a verdict and a margin."""
    code = TEXT.partition("```python\n")[2].partition("```")[0]
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=readme.ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    passes, margin = done.stdout.split()
    assert passes == "True"
    assert 0.0 < float(margin) < 250.0
