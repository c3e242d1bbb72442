"""The README and the guides say what the program does: their outputs are real, their code runs, their links lead."""

import re
import subprocess
import sys

import pytest

import pages
from drawbar.catalogue.catalogue import Catalogue
from drawbar.cli.main import COMMANDS

TEXTS = {page.relative_to(pages.ROOT).as_posix(): page.read_text(encoding="utf-8") for page in pages.PAGES}
README = TEXTS["README.md"]
BLOCKS = [(name, *block) for name, text in TEXTS.items() for block in pages.blocks(text)]


@pytest.mark.parametrize(
    ("command", "output"), [block[1:] for block in BLOCKS], ids=[f"{b[0]}: {b[1]}" for b in BLOCKS]
)
def test_output_is_what_the_command_prints(command, output):
    """Each console block holds what its command prints now."""
    assert pages.run(command) == output


def test_the_readme_is_short_and_names_every_command():
    """At most 250 lines, with a row of its table for each command."""
    assert len(README.splitlines()) <= 250
    for name in COMMANDS:
        assert f"| `{name}` | " in README


def test_the_guides_show_every_command():
    """Each command of the program is called in a console block of some page, or named with how to call it."""
    for name in COMMANDS:
        assert any(f"drawbar {name} " in text or f"drawbar {name}\n" in text for text in TEXTS.values()), name


def test_every_link_leads_somewhere():
    """Each relative link of a page is a file of the project."""
    links = [
        (page, link)
        for page in pages.PAGES
        for link in re.findall(r"\]\(([^)#:]+)\)", TEXTS[page.relative_to(pages.ROOT).as_posix()])
    ]
    assert len(links) > 20
    assert [link for page, link in links if not (page.parent / link).exists()] == []


def test_ci_runs_the_test_command_of_the_readme():
    """.ci/run calls the README's second command to the letter."""
    commands = [line for line in README.splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert commands[1] in (pages.ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def run_script(code: str) -> str:
    ended = subprocess.run(
        [sys.executable, "-c", code], cwd=pages.ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    return ended.stdout


def test_the_python_of_the_readme_runs():
    """The block of Python prints a verdict and a margin."""
    (code,) = pages.scripts(README)
    verdict, margin = run_script(code).split()
    assert verdict == "PASS"
    assert 0.0 < float(margin) < 250.0


def test_the_python_of_the_guides_runs():
    """Every block of Python in the guides runs and prints something."""
    codes = [code for name, text in TEXTS.items() if name != "README.md" for code in pages.scripts(text)]
    assert codes
    for code in codes:
        assert run_script(code).strip()


def test_the_library_of_the_guide_is_one(tmp_path):
    """The library file that the guide to a job file shows loads, and a job may name what is in it."""
    (text,) = re.findall(r"^```yaml\n(pipes:.*?)^```$", TEXTS["examples/job-file.md"], re.MULTILINE | re.DOTALL)
    (tmp_path / "library.yaml").write_text(text, encoding="utf-8")
    catalogue = Catalogue([str(tmp_path / "library.yaml")])
    sizes = catalogue.sizes("shop-copper")
    assert sizes is not None
    assert sizes["10"].bore_m == pytest.approx(8.1e-3)
    assert "griddle-2-burner" in catalogue.names("appliances")
