"""What the machine does to a call, as a full disk: exit code 4, one line, nothing half-written."""

import errno
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from drawbar import answers
from drawbar.cli import whole_files
from paths import EXAMPLES

FULL = Path("/dev/full")
CALLS = (
    ("check", "job.yaml"),
    ("check", "job.yaml", "--format", "json"),
    ("size", "job.yaml", "--format", "csv"),
    ("explain", "job.yaml"),
    ("recheck", "job.yaml", "--swap", "urn=24 MJ/h", "--format", "jsonl"),
    ("takeoff", "job.yaml"),
    ("supply", "job.yaml"),
    ("hotwater", "job.yaml"),
    ("tightness", "job.yaml"),
    ("commission", "job.yaml"),
    ("compare", "job.yaml", "--variant", "runs.main.length=3 m"),
    ("diff", "job.yaml", "job.yaml"),
    ("list", "pipes"),
    ("schema",),
    ("new",),
    ("--help",),
)
YESTERDAY = "yesterday's\n\ndrawbar 0.1.0\n"
# What can go wrong where a file is written, and the exit code: the machine's fault, or what the call named.
FAULTS = {errno.ENOSPC: 4, errno.EIO: 4, errno.EPIPE: 4, errno.EACCES: 2, errno.EROFS: 2}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return a folder, the current one, with a good job in it."""
    monkeypatch.chdir(tmp_path)
    shutil.copy(EXAMPLES / "harvest-fair-trailer.yaml", tmp_path / "job.yaml")
    return tmp_path


@pytest.mark.skipif(not FULL.exists(), reason="a device that is always full is asked of the system")
@pytest.mark.parametrize("words", CALLS, ids=" ".join)
@pytest.mark.parametrize("unbuffered", ["", "1"], ids=["buffered", "unbuffered"])
@pytest.mark.usefixtures("folder")
def test_a_full_standard_output(words, unbuffered):
    """Every command says that its output is not whole, and fails no limit by it."""
    with FULL.open("wb") as full:
        ended = subprocess.run(
            [sys.executable, "-m", "drawbar", *words],
            stdout=full,
            stderr=subprocess.PIPE,
            env=os.environ | {"PYTHONUNBUFFERED": unbuffered},
            encoding="utf-8",
            check=False,
            timeout=60,
        )
    assert (ended.returncode, ended.stderr) == (4, "standard output: can't be written: No space left on device\n")


@pytest.mark.parametrize("fault", FAULTS, ids=errno.errorcode.get)
@pytest.mark.parametrize("step", ["made", "written", "put in place"])
def test_a_file_that_cannot_be_written(folder, drawbar, monkeypatch, fault, step):
    """Whatever fails of the steps to a whole file: told with the file's name; what was there stands; no other file."""

    def fail(*_arguments, **_options):
        raise OSError(fault, os.strerror(fault))

    (folder / "report.txt").write_text(YESTERDAY, encoding="utf-8")
    if step == "made":
        monkeypatch.setattr(tempfile, "mkstemp", fail)
    elif step == "written":
        monkeypatch.setattr(whole_files, "_encoded", fail)
    else:
        monkeypatch.setattr(Path, "replace", fail)
    assert drawbar("check", "job.yaml", "--out", "report.txt") == (
        FAULTS[fault],
        "",
        f"report.txt: can't be written: {os.strerror(fault)}\n",
    )
    monkeypatch.undo()
    assert sorted(path.name for path in folder.iterdir()) == ["job.yaml", "report.txt"]
    assert (folder / "report.txt").read_text(encoding="utf-8") == YESTERDAY


def test_a_new_file_on_a_full_disk_leaves_none(folder, drawbar, monkeypatch):
    """What can't be written whole is taken away again, also where the disk tells it at the end."""
    opened = Path.open

    def open_full(path, mode="r", *arguments, **options):
        stream = opened(path, mode, *arguments, **options)
        return FullStream(stream) if "x" in mode else stream

    monkeypatch.setattr(Path, "open", open_full)
    code, printed, told = drawbar("new", "van.yaml", "--template", "caravan")
    assert (code, printed, told) == (4, "", f"van.yaml: can't be written: {os.strerror(errno.ENOSPC)}\n")
    assert [path.name for path in folder.iterdir()] == ["job.yaml"]


class FullStream:
    """A stream that takes what it is given and has no room for it."""

    def __init__(self, stream):
        self.stream = stream

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.stream.close()

    def write(self, text):
        """Take a text."""
        return len(text)

    def flush(self):
        """Find no room for it."""
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.mark.usefixtures("folder")
def test_too_little_memory(drawbar, monkeypatch):
    """A job for which there is not enough memory ends in a sentence."""

    def fail(*_arguments, **_options):
        raise MemoryError

    monkeypatch.setattr(answers, "check_job", fail)
    assert drawbar("check", "job.yaml") == (4, "", "drawbar: there is not enough memory for this\n")
