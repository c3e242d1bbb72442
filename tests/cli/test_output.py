"""What is printed and written: UTF-8 but to a terminal of another encoding, colour where it is wanted, files whole."""

import json
import os
import stat
import sys
from pathlib import Path

import pytest

from calls import call_process, call_terminal
from drawbar.cli.whole_files import write_whole
from paths import EXAMPLE, EXAMPLES
from two_ends import TWO_ENDS

FAILING = str(EXAMPLES / "ice-cream-van-fail.yaml")
OTHER_ENCODINGS = ["ascii", "latin-1", "cp437", "cp1252"]
posix = pytest.mark.skipif(sys.platform == "win32", reason="pseudo terminals and modes are POSIX's")


@pytest.fixture
def foreign_job(tmp_path: Path) -> Path:
    """Return a job whose title no small encoding has."""
    text = EXAMPLE.read_text(encoding="utf-8").replace("Harvest-fair food trailer", "Erntefest → 収穫祭 Ω")
    path = tmp_path / "foreign.yaml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("encoding", OTHER_ENCODINGS)
def test_json_is_valid_whatever_the_encoding(encoding: str, foreign_job: Path) -> None:
    """RFC 8259, section 8.1: JSON that is exchanged is UTF-8, so what goes to a pipe is."""
    ended = call_process("check", str(foreign_job), "--format", "json", PYTHONIOENCODING=encoding)
    assert (ended.code, ended.err) == (0, "")
    assert json.loads(ended.out)["results"][0]["job"] == "Erntefest → 収穫祭 Ω"


@pytest.mark.parametrize("encoding", [*OTHER_ENCODINGS, "utf-8"])
@pytest.mark.parametrize("form", ["table", "markdown"])
def test_a_pipe_gets_utf_8_with_lines(form: str, encoding: str, foreign_job: Path) -> None:
    """The tree is drawn with lines, and no escape takes a letter's place."""
    ended = call_process("check", "--full", str(foreign_job), "--format", form, PYTHONIOENCODING=encoding)
    assert (ended.code, ended.err) == (0, "")
    assert "Erntefest → 収穫祭 Ω" in ended.out
    assert "\n└─ main " in ended.out


@pytest.mark.parametrize("encoding", OTHER_ENCODINGS)
def test_problems_are_utf_8_too(encoding: str, tmp_path: Path) -> None:
    """A problem of a file is printed as it stands."""
    missing = str(tmp_path / "収穫祭.yaml")
    ended = call_process("check", missing, PYTHONIOENCODING=encoding)
    assert ended == (2, "", f"{missing}: there is no such file\n")


@posix
@pytest.mark.parametrize(
    "env",
    [{"PYTHONIOENCODING": encoding} for encoding in OTHER_ENCODINGS] + [{"LC_ALL": "C"}, {"LC_ALL": "POSIX"}],
    ids=lambda env: "-".join(env.values()),
)
def test_a_terminal_without_unicode_gets_plain_characters(env: dict[str, str]) -> None:
    """A terminal keeps its encoding and gets ASCII strokes, and no escape takes a stroke's place."""
    printed = call_terminal("check", "--full", str(EXAMPLE), **({"LC_ALL": "C.UTF-8"} | env)).decode("ascii")
    assert "\n`- main " in printed
    assert "\\u" not in printed


@posix
def test_a_terminal_with_unicode_gets_lines() -> None:
    """In a UTF-8 locale the tree is drawn with lines."""
    printed = call_terminal("check", "--full", str(EXAMPLE), LC_ALL="C.UTF-8", PYTHONIOENCODING="utf-8").decode()
    assert "\n└─ main " in printed


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_a_file_is_utf_8_whatever_the_terminal(encoding: str, tmp_path: Path) -> None:
    """What --out writes is UTF-8, so its tree is drawn with lines."""
    out = tmp_path / "page.txt"
    assert call_process("check", "--full", str(EXAMPLE), "--out", str(out), PYTHONIOENCODING=encoding) == (0, "", "")
    assert "\n└─ main " in out.read_text(encoding="utf-8")


@posix
def test_colour_only_on_a_terminal_that_wants_it() -> None:
    """The verdict is in words everywhere, and in colour as well on a terminal, unless NO_COLOR is set."""
    assert b"\x1b[31m\x1b[1mFAIL" in call_terminal("check", FAILING)
    without = call_terminal("check", FAILING, NO_COLOR="1")
    assert b"\x1b[" not in without
    assert b"FAIL" in without
    assert "\x1b[" not in call_process("check", FAILING).out


@posix
@pytest.mark.parametrize(
    ("verdict", "colour", "capacity"),
    [("PASS", b"32", "capacity: 400 MJ/h"), ("UNDECIDED", b"33", ""), ("FAIL", b"31", "capacity: 10 MJ/h")],
)
def test_each_verdict_has_its_colour(verdict: str, colour: bytes, capacity: str, tmp_path: Path) -> None:
    """PASS is green, UNDECIDED yellow and FAIL red: the numbers of ECMA-48, section 8.3.117. The word is there too."""
    job = tmp_path / "job.yaml"
    job.write_text(TWO_ENDS.replace("capacity: 400 MJ/h", capacity), encoding="utf-8")
    printed = call_terminal("check", str(job))
    assert b"Two ends (T-1): \x1b[" + colour + b"m\x1b[1m" + verdict.encode() + b"\x1b[0m" in printed


@posix
def test_a_file_keeps_its_mode(tmp_path: Path) -> None:
    """What stands in a file's place has the file's mode; a new file has that of the umask."""
    old, new, plain = tmp_path / "old.txt", tmp_path / "new.txt", tmp_path / "plain.txt"
    old.write_text("before", encoding="utf-8")
    old.chmod(0o640)
    plain.touch()
    for path in (old, new):
        write_whole(path, ["grün ", b"and bytes"])
        assert path.read_text(encoding="utf-8") == "grün and bytes"
    assert stat.S_IMODE(old.stat().st_mode) == 0o640
    assert new.stat().st_mode == plain.stat().st_mode


def test_a_file_system_without_modes_takes_a_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a mode can't be set, the file is written all the same."""

    def refuse(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(Path, "chmod", refuse)
    write_whole(tmp_path / "file.txt", ["text"])
    assert (tmp_path / "file.txt").read_text(encoding="utf-8") == "text"
    assert os.listdir(tmp_path) == ["file.txt"]


def test_what_fails_half_way_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    """Nobody ever sees half a file, and nothing else is left behind."""

    def pieces():
        yield "half"
        raise KeyboardInterrupt

    path = tmp_path / "file.txt"
    path.write_text("whole", encoding="utf-8")
    with pytest.raises(KeyboardInterrupt):
        write_whole(path, pieces())
    assert path.read_text(encoding="utf-8") == "whole"
    assert os.listdir(tmp_path) == ["file.txt"]
