"""Each write, flush, rename and read of a call fails in turn: an exit code, a sentence, nothing half-written."""

import builtins
import errno
import io
import json
import os
import shutil
import tempfile
from pathlib import Path

import pytest

from paths import EXAMPLES

BEFORE = '{"drawbar": "0.1.0", "kind": "of yesterday"}\n'
CALLS = (
    ("check", "job.yaml"),
    ("check", "job.yaml", "--format", "json"),
    ("size", "open.yaml"),
    ("explain", "job.yaml"),
    ("compare", "job.yaml", "boat.yaml", "--format", "csv"),
    ("diff", "job.yaml", "boat.yaml"),
    ("recheck", "job.yaml", "--swap", "urn=24 MJ/h", "--format", "json"),
    ("recheck", "job.yaml", "--swap", "urn=24 MJ/h", "--format", "jsonl"),
    ("takeoff", "job.yaml", "--prices", "prices.yaml"),
    ("supply", "job.yaml"),
    ("hotwater", "job.yaml"),
    ("tightness", "job.yaml"),
    ("commission", "job.yaml"),
    ("sheet", "job.yaml"),
    ("list", "pipes"),
    ("schema",),
)
# Of the batch the jobs that can't be read are results like others.
READS = [words for words in CALLS if "job.yaml" in words and words[0] != "recheck"]
# What fails, and the exit code: the machine's fault, or what the call named.
FAULTS = {errno.ENOSPC: 4, errno.EIO: 4, errno.EPIPE: 4, errno.EACCES: 2}
STEPS = ("mkstemp", "write", "flush", "fsync", "rename", "chmod")


class Failing(io.BufferedWriter):
    """A stream one of whose steps fails."""

    step = ""
    code = 0

    def write(self, data):
        """Take bytes, or fail."""
        if self.step == "write":
            raise OSError(self.code, os.strerror(self.code))
        return super().write(data)

    def writelines(self, lines):
        """Take pieces one by one."""
        for line in lines:
            self.write(line)

    def flush(self):
        """Pass bytes on, or fail once."""
        if self.step == "flush" and not self.closed:
            self.step = ""
            raise OSError(self.code, os.strerror(self.code))
        super().flush()


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return a folder, the current one, with inputs and an output of yesterday."""
    pytest.importorskip("jinja2")
    pytest.importorskip("svg")
    monkeypatch.chdir(tmp_path)
    shutil.copy(EXAMPLES / "harvest-fair-trailer.yaml", tmp_path / "job.yaml")
    shutil.copy(EXAMPLES / "market-kitchen-open.yaml", tmp_path / "open.yaml")
    shutil.copy(EXAMPLES / "riverboat-two-stage.yaml", tmp_path / "boat.yaml")
    shutil.copy(EXAMPLES / "prices.yaml", tmp_path / "prices.yaml")
    (tmp_path / "out").write_text(BEFORE, encoding="utf-8")
    return tmp_path


def bytes_of(folder, *left_out):
    """Return every file of a folder with its bytes, but that from which an interrupted run can be taken up again."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name not in ("out.part", *left_out)}


def fail_at(monkeypatch, step, code):
    """Make a step of writing a file fail with an error of the system."""

    def fail(*_arguments, **_options):
        raise OSError(code, os.strerror(code))

    if step == "mkstemp":
        monkeypatch.setattr(tempfile, "mkstemp", fail)
    elif step == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    elif step == "rename":
        monkeypatch.setattr(Path, "replace", fail)
    elif step == "chmod":
        monkeypatch.setattr(Path, "chmod", fail)
    else:

        def opened(handle, *_arguments, **_options):
            stream = Failing(io.FileIO(handle, "w"))
            stream.step, stream.code = step, code
            return stream

        monkeypatch.setattr(os, "fdopen", opened)


@pytest.mark.parametrize(("number", "words"), list(enumerate(CALLS)), ids=[" ".join(words) for words in CALLS])
def test_a_step_of_writing_fails(folder, drawbar, monkeypatch, number, words):
    """Told with the file's name; the output of yesterday and the inputs stand; no other file is left."""
    before = bytes_of(folder)
    for nth, step in enumerate(STEPS):
        code = list(FAULTS)[(number + nth) % len(FAULTS)]  # over all calls each step meets each fault
        with monkeypatch.context() as patch:
            fail_at(patch, step, code)
            call = drawbar(*words, "--out", "out")
        if step == "chmod":  # the mode can't be given to a new file: the old one's own bytes are written anew
            assert call.code in (0, 1, 3), step
            (folder / "out").write_text(BEFORE, encoding="utf-8")
            continue
        assert (call.code, call.out) == (FAULTS[code], ""), (step, errno.errorcode[code], call.err)
        assert call.err.endswith(f"out: can't be written: {os.strerror(code)}\n"), (step, errno.errorcode[code])
        assert bytes_of(folder) == before, step
        (folder / "out.part").unlink(missing_ok=True)


def refuse_to_read(patch, name, code):
    """Make a file of this name unreadable, with an error of the system."""
    real_open, real_path_open = builtins.open, Path.open

    def refuse(path):
        if Path(path).name == name:
            raise OSError(code, os.strerror(code), str(path))

    def opened(file, *arguments, **options):
        if isinstance(file, str | os.PathLike):
            refuse(file)
        return real_open(file, *arguments, **options)

    def path_opened(path, *arguments, **options):
        refuse(path)
        return real_path_open(path, *arguments, **options)

    patch.setattr(builtins, "open", opened)
    patch.setattr(io, "open", opened)
    patch.setattr(Path, "open", path_opened)


@pytest.mark.parametrize("code", [errno.EIO, errno.EACCES, errno.ENOMEM], ids=errno.errorcode.get)
@pytest.mark.parametrize("words", READS, ids=" ".join)
def test_an_input_cannot_be_read(folder, drawbar, monkeypatch, words, code):
    """A disk that fails is the machine's fault, a file that may not be read the call's; either is told by its name."""
    before = bytes_of(folder, "out")
    with monkeypatch.context() as patch:
        refuse_to_read(patch, "job.yaml", code)
        call = drawbar(*words, "--out", "out")
    assert call.code == (2 if code == errno.EACCES else 4), call.err
    assert "job.yaml" in call.err
    assert os.strerror(code) in call.err
    assert bytes_of(folder, "out") == before


@pytest.mark.skipif(os.name != "posix", reason="names that are no text are POSIX's")
@pytest.mark.parametrize("words", READS, ids=" ".join)
def test_a_name_that_is_no_text(folder, drawbar, words):
    """A job whose name is not UTF-8 is read, and its output written, as any other."""
    name = os.fsdecode(b"j\xff.yaml")
    try:
        shutil.copy(folder / "job.yaml", folder / name)
    except OSError:
        pytest.skip("the file system has no such names")
    call = drawbar(*(name if word == "job.yaml" else word for word in words), "--out", "out")
    assert call.code in (0, 1, 3), call.err
    assert (folder / "out").read_bytes() != BEFORE.encode()


@pytest.mark.parametrize("code", [errno.EIO, errno.EACCES], ids=errno.errorcode.get)
def test_a_job_of_a_batch_cannot_be_read(folder, drawbar, monkeypatch, code):
    """The others are looked at; its result says why, and whether the machine failed, also when the results are read."""
    swapped = ("recheck", "job.yaml", "boat.yaml", "--swap", "urn=24 MJ/h", "--format", "jsonl")
    with monkeypatch.context() as patch:
        refuse_to_read(patch, "job.yaml", code)
        call = drawbar(*swapped)
    of_job, of_boat = map(json.loads, call.out.splitlines())
    assert call.code == (2 if code == errno.EACCES else 4)
    assert of_boat["after"]["verdict"] == "pass"
    assert of_job["change"] == "not read"
    assert [(problem["what"], problem["machine_failed"]) for problem in of_job["problems"]] == [
        (f"can't be read: {os.strerror(code)}", code != errno.EACCES)
    ]
    (folder / "results.jsonl").write_text(call.out, encoding="utf-8")
    assert drawbar("recheck", "--results", "results.jsonl").code == call.code


def test_results_of_a_batch_cannot_be_read(folder, drawbar, monkeypatch):
    """Whichever of the two that are compared."""
    results = drawbar("recheck", "job.yaml", "--swap", "urn=24 MJ/h", "--format", "jsonl").out
    for name in ("old.jsonl", "new.jsonl"):
        (folder / name).write_text(results, encoding="utf-8")
    for name in ("old.jsonl", "new.jsonl"):
        with monkeypatch.context() as patch:
            refuse_to_read(patch, name, errno.EIO)
            call = drawbar("recheck", "--results", "new.jsonl", "--baseline", "old.jsonl")
        assert (call.code, call.err) == (4, f"{name}: can't be read: {os.strerror(errno.EIO)}\n")
