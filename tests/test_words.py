"""One word for one thing, the trade's: home-made phrases stay out of strings, guides, help texts and pages."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

import drawbar as library
from drawbar.cli.main import cli
from pages import PAGES
from paths import EXAMPLES, ROOT

SOURCE = ROOT / "src" / "drawbar"
HOME_MADE = (
    r"for long",  # continuous offtake
    r"on at most",  # maximum load
    r"own worst",  # worst combination
    r"(ways? (of|to) plug)",  # combination
    r"could take",  # spare capacity
    r"look(s|ed)? at (it |them |these |this )?again",  # check on site
    r"mind:|to mind\b",  # notes
    r"what burns gas|burn less",  # appliances; have less on
    r"how hot,|how soon",  # temperature and wait
    r"what (puts|would put) (it|them|these|this|him) right",  # to put it right
    r"what would have to be wrong",  # closest to failing
    r"gets (up to )?[0-9{]|gets its pressure",  # has; pressure
    r"odd\b",
    r"(behind|after) it takes",  # drop
    r"takes most on the way|what \S+ takes is not given|while it takes less|no room for any",
    r"while little burns",  # with little on
    r"no forecast",
    r"too crowded",
    r"not whole:",
    r"watch(ed)? it for|it was watched",  # time of the test
    r"nobody saw",
    r"(a unit|no unit|write [^.;]*) behind it",  # after it
    r"less than set",  # below the set pressure
    r"held against",  # compared with
    r"looked through to the end",
    r"is blamed",  # suspect
)
_PHRASES = re.compile("|".join(rf"\b(?:{phrase})" for phrase in HOME_MADE).replace(" ", r"\s+"), re.IGNORECASE)
_VERBS = ("Check", "Choose", "Compare", "List", "Predict", "Print", "Show", "Size", "Work", "Write")
_DATA = ("*.yaml", "*.j2", "templates/*")
_JOBS = sorted(path for path in EXAMPLES.glob("*.yaml") if path.name != "prices.yaml")
_CALLS = (
    ("check",),
    ("check", "--full"),
    ("size", "--full"),
    ("explain", "--short"),
    ("supply",),
    ("supply", "--full"),
    ("hotwater", "--full"),
    ("tightness", "--full"),
    ("commission",),
    ("takeoff", "--full"),
    ("recheck", "--full", "--all"),
)


def _home_made(text: str) -> list[str]:
    return [" ".join(phrase.group().split()) for phrase in _PHRASES.finditer(text)]


def _strings(path: Path) -> Iterator[tuple[int, str]]:
    """Yield the texts of a module that may reach a reader: its strings, but for docstrings of what is not public."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    notes = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = (str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
            yield node.lineno, "".join(parts)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in notes:
            yield node.lineno, node.value


def test_the_list_finds_what_it_names() -> None:
    """Each phrase as it stood on a page once, over the end of a line as well; words that hold one are let be."""
    for text in (
        "what they give for\nlong",
        "each appliance in its own worst way",
        "Mind: the regulator",
        "urn gets 2.1 kPa",
        "urn gets {}",
        "every way of plugging",
        "write `m` behind it",
        "to put them right: what would put them right",
        "A method that is odd.",
    ):
        assert _home_made(text), text
    for text in ("a reminder: model", "to put it right", "before long-distance", "he gets home", "oddments"):
        assert not _home_made(text), text


def test_no_home_made_phrase_in_strings() -> None:
    """Messages, labels and help of the modules; titles and notes of the data files and the pages' templates."""
    said = [
        f"{path.relative_to(ROOT)}:{line}: {phrase}"
        for path in sorted(SOURCE.rglob("*.py"))
        for line, text in _strings(path)
        for phrase in _home_made(text)
    ]
    said += [
        f"{path.relative_to(ROOT)}: {phrase}"
        for form in _DATA
        for path in sorted((SOURCE / "data").glob(form))
        for phrase in _home_made(path.read_text(encoding="utf-8"))
    ]
    assert said == []


def test_no_home_made_phrase_in_the_library() -> None:
    """The docstrings of the names that scripts import."""
    said = [
        f"{name}: {phrase}"
        for name in library.__all__
        for phrase in _home_made(getattr(getattr(library, name), "__doc__", None) or "")
    ]
    assert said == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_no_home_made_phrase_in_a_guide(page: Path) -> None:
    """The prose; the outputs in it are held to what the commands print, and those are read below."""
    assert _home_made(re.sub(r"^```console$.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.M | re.S)) == []


def test_no_home_made_phrase_in_help() -> None:
    """The main page and that of every command; each summary begins with a verb, as a command line's do."""
    context = click.Context(cli, info_name="drawbar")
    for name in ["", *cli.list_commands(context)]:
        command = cli.get_command(context, name) if name else cli
        assert command is not None
        assert _home_made(command.get_help(click.Context(command, info_name=name, parent=context))) == [], name
        first = command.get_short_help_str().split()[0]
        assert first in _VERBS, f"{name}: {first}"


@pytest.mark.parametrize("job", _JOBS, ids=lambda job: job.stem)
def test_no_home_made_phrase_on_a_page(job: Path, drawbar) -> None:
    """What each command prints of each example, or says of it where it can't."""
    for call in _CALLS:
        done = drawbar(*call, str(job))
        assert _home_made(done.out + done.err) == [], call
