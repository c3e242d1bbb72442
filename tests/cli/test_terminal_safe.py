"""Nothing that a terminal would act on reaches it raw: names of files, libraries and results, in every form."""

import csv
import io
import json
import shutil
import sys
from pathlib import Path

import pytest

from drawbar.problems import visible
from paths import EXAMPLES
from two_ends import TWO_ENDS

# ECMA-48: ESC, OSC by ESC ] and as C1, CSI as C1; BEL; Unicode's marks of direction and what takes no room.
EVIL = "a\x1b[2Jb\x1b]0;c\x07d\x9be\x9df\u202eg\u2066h\u200bi\u200dj\ufeffk"
RAW = set(EVIL) - set("abcdefghijk[]02J;")
LETTERS = {
    "escape": "\x1b",
    "bell": "\x07",
    "c1": "\x9b",
    "override": "\u202e",
    "isolate": "\u2066",
    "zero-width": "\u200b",
    "joiner": "\u200d",
    "soft-hyphen": "\u00ad",
}
posix = pytest.mark.skipif(sys.platform == "win32", reason="such names are not allowed there")


@pytest.fixture
def evil_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the current folder, in which a job, a price list and a library have such names."""
    monkeypatch.chdir(tmp_path)
    shutil.copy(EXAMPLES / "harvest-fair-trailer.yaml", tmp_path / f"{EVIL}.yaml")
    shutil.copy(EXAMPLES / "prices.yaml", tmp_path / f"{EVIL}.prices")
    (tmp_path / f"{EVIL}.lib").write_text(
        "appliances:\n  our-oven: {title: Our oven, input: 20 MJ/h, source: our bench}\n", encoding="utf-8"
    )
    return tmp_path


def assert_safe(call: tuple[int, str, str]) -> None:
    """Assert that a call printed nothing that a terminal would act on."""
    assert not RAW & set(call[1] + call[2])


@posix
@pytest.mark.usefixtures("evil_folder")
@pytest.mark.parametrize("form", ["table", "json", "csv", "markdown"])
def test_names_of_files_are_written_out(form: str, drawbar) -> None:
    """A name shows what is in it as codes, and JSON still reads as the name."""
    job = f"{EVIL}.yaml"
    for words in (
        ("check", "--full", job, "--library", f"{EVIL}.lib"),
        ("takeoff", job, "--prices", f"{EVIL}.prices"),
        ("recheck", job, "--swap", "urn=40 MJ/h"),
    ):
        call = drawbar(*words, "--format", form)
        assert_safe(call)
        if form == "json":
            assert json.loads(call.out)["results"]
        if form == "csv":
            assert list(csv.reader(io.StringIO(call.out)))[1:]
    if form == "json":
        assert json.loads(drawbar("check", job, "--format", "json").out)["results"][0]["file"] == job


@posix
@pytest.mark.usefixtures("evil_folder")
@pytest.mark.parametrize(
    "words",
    [
        ("check", f"{EVIL}.none"),
        ("check", f"{EVIL}.prices"),
        ("check", f"{EVIL}.yaml", "--library", f"{EVIL}.none"),
        ("check", f"{EVIL}.yaml", "--formula", EVIL),
        ("check", f"{EVIL}.yaml", f"--{EVIL}"),
        ("check", f"{EVIL}.yaml", "--format", EVIL),
        ("check", f"{EVIL}.yaml", "--out", f"{EVIL}/none/x"),
        ("explain", f"{EVIL}.yaml", EVIL),
        ("explain", f"{EVIL}.yaml", "--state", EVIL),
        ("supply", f"{EVIL}.yaml", "--state", EVIL),
        ("recheck", f"{EVIL}.yaml", "--swap", f"{EVIL}={EVIL}"),
        ("recheck", f"{EVIL}.yaml", "--swap", f"urn={EVIL}"),
        ("recheck", "--results", f"{EVIL}.yaml"),
        ("tightness", f"{EVIL}.yaml", "--test", EVIL),
        ("takeoff", f"{EVIL}.yaml", "--waste", EVIL),
        ("list", EVIL),
        ("list", "pipes", EVIL),
        ("new", f"{EVIL}.yaml"),
        ("new", f"{EVIL}.new"),
        ("new", "--gas", EVIL),
        (EVIL,),
    ],
    ids=lambda words: words[0] + words[-1][-5:],
)
def test_messages_are_written_out(words: tuple[str, ...], drawbar) -> None:
    """What is wrong with a call or a file is told without what stands in it raw."""
    assert_safe(drawbar(*words))


@posix
@pytest.mark.usefixtures("evil_folder")
def test_result_lines_are_written_out(drawbar) -> None:
    """Lines of an earlier recheck come back as codes as well."""
    lines = drawbar("recheck", f"{EVIL}.yaml", "--swap", "urn=40 MJ/h", "--format", "jsonl").out
    Path("monday.jsonl").write_text(lines, encoding="utf-8")
    assert_safe(drawbar("recheck", "--results", "monday.jsonl"))
    (line,) = lines.splitlines()
    entry = json.loads(line)
    for key, value in list(entry.items()):
        if isinstance(value, str) and key not in ("drawbar", "kind", "verdict", "standing"):
            entry[key] = value + EVIL
    Path("tuesday.jsonl").write_text(json.dumps(entry) + "\n", encoding="utf-8")
    assert_safe(drawbar("recheck", "--results", "tuesday.jsonl"))


@posix
def test_a_name_with_a_line_break_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, drawbar) -> None:
    """It would write lines of its own into every page."""
    monkeypatch.chdir(tmp_path)
    shutil.copy(EXAMPLES / "ice-cream-van-fail.yaml", "van\nPASS.yaml")
    code, printed, told = drawbar("check", "van\nPASS.yaml")
    assert (code, printed) == (2, "")
    assert told == "van\\nPASS.yaml: its name holds a line break; give the file another name\n"


@pytest.mark.parametrize("letter", LETTERS.values(), ids=LETTERS)
@pytest.mark.parametrize("written", ["raw", "as an escape"])
def test_names_that_hold_what_cannot_be_seen_are_problems(letter: str, written: str, tmp_path: Path, drawbar) -> None:
    """Two names that look the same are told apart by the reader, with the place."""
    held = letter if written == "raw" else "\\u" + f"{ord(letter):04x}"
    job = tmp_path / "job.yaml"
    job.write_text(TWO_ENDS.replace("  hob:", f'  "hob{held}":', 1), encoding="utf-8")
    code, printed, told = drawbar("check", str(job))
    assert (code, printed) == (2, "")
    assert told.startswith(f"{job}:")
    assert f"U+{ord(letter):04X}" in told or "can't be seen" in told
    assert letter not in told


def test_names_of_the_same_letters_are_problems(tmp_path: Path, drawbar) -> None:
    """An accent may be a part of a letter or stand on it; nobody sees which."""
    job = tmp_path / "job.yaml"
    lines = TWO_ENDS.splitlines(keepends=True)
    (place,) = [number for number, line in enumerate(lines) if line.startswith("  hob:")]
    lines[place : place + 1] = [lines[place].replace("hob", name) for name in ("re\u0301chaud", "r\u00e9chaud")]
    job.write_text("".join(lines), encoding="utf-8")
    code, _, told = drawbar("check", str(job))
    assert code == 2
    assert f"{job}:{place + 2}:3: appliances.r\u00e9chaud: looks the same as `re\u0301chaud`; give each its own" in told


def test_what_is_written_out_is_the_same_json() -> None:
    """Codes are JSON's own, also beyond the first plane."""
    text = EVIL + "\U000e0041\ud800 plain \t\n \u53ce\u7a6b \u00e9"
    assert json.loads(visible(json.dumps(text, ensure_ascii=False).replace("\\ud800", "\ud800"))) == text
    assert visible("plain \t\n \u53ce\u7a6b \u00e9\u00a0") == "plain \t\n \u53ce\u7a6b \u00e9\u00a0"
