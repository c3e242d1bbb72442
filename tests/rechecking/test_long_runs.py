"""A long run writes whole lines beside the file that is wanted; cut short, it goes on with the same inputs."""

import json

import pytest

import make_jobs
from drawbar.rechecking import workers
from two_ends import TWO_ENDS

SWAP = ("--swap", "urn=wok-burner", "--format", "jsonl")


@pytest.fixture
def run(drawbar):
    return lambda *words: drawbar("recheck", *map(str, words))


@pytest.fixture
def cut(run, tmp_path):
    """Return the whole result of a run over six jobs, and leave what the same run has when it is cut in a line."""
    make_jobs.make(tmp_path / "jobs", 6)
    out = tmp_path / "out.jsonl"
    assert run(tmp_path / "jobs", *SWAP, "--out", out).code in (0, 1, 3)
    assert not (tmp_path / "out.jsonl.part").exists()
    whole = out.read_bytes()
    out.rename(tmp_path / "whole.jsonl")
    return whole


def leave(tmp_path, whole, header):
    lines = whole.splitlines(keepends=True)
    (tmp_path / "out.jsonl.part").write_bytes(header + b"".join(lines[:3]) + lines[3][:50])


def header_of(monkeypatch, run, tmp_path, *words):
    """Return the first line that a run writes, which is stopped at its first result."""

    def stop(*_):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr("drawbar.report.recheck_report.RecheckReport.line", stop)
        stopped = run(tmp_path / "jobs", *SWAP, "--out", tmp_path / "out.jsonl", *words)
    assert stopped.code == 130
    part = tmp_path / "out.jsonl.part"
    assert f"drawbar: 1 of 6 jobs are in {part}; --resume goes on from there" in stopped.err
    return part.read_bytes()


def test_a_run_goes_on_where_it_stopped(run, tmp_path, cut, monkeypatch):
    """The half line is dropped, what is done is not done again, and the file is that of a run in one go."""
    header = header_of(monkeypatch, run, tmp_path)
    leave(tmp_path, cut, header)
    refused = run(tmp_path / "jobs", *SWAP, "--out", tmp_path / "out.jsonl")
    assert (refused.code, refused.out) == (2, "")
    assert "is left of a run that was cut short; go on with it by --resume, or delete it" in refused.err
    looked_at = []

    recheck_file = workers.recheck_file
    monkeypatch.setattr(
        workers, "recheck_file", lambda file, *rest: looked_at.append(file) or recheck_file(file, *rest)
    )
    done = run(tmp_path / "jobs", *SWAP, "--out", tmp_path / "out.jsonl", "--resume")
    assert len(looked_at) == 3
    assert (tmp_path / "out.jsonl").read_bytes() == cut
    assert done.code in (0, 1, 3)
    assert not (tmp_path / "out.jsonl.part").exists()


def test_it_goes_on_with_the_same_inputs_alone(run, tmp_path, cut, monkeypatch):
    """Other swaps, another library, a job that was changed or is gone: told which, and nothing is touched."""
    header = header_of(monkeypatch, run, tmp_path)
    leave(tmp_path, cut, header)
    part, before = tmp_path / "out.jsonl.part", (tmp_path / "out.jsonl.part").read_bytes()
    library = tmp_path / "library.yaml"
    library.write_text("appliances:\n  kettle: {title: A kettle, input: 9 MJ/h, source: common practice}\n")
    out = ("--format", "jsonl", "--out", tmp_path / "out.jsonl", "--resume")
    first = sorted((tmp_path / "jobs").iterdir())[0]
    text = first.read_text()
    for words, change, what in (
        (("--swap", "urn=9 MJ/h"), None, "the swaps are others"),
        (("--swap", "urn=wok-burner", "--library", library), None, "the libraries are others, or were changed"),
        (("--swap", "urn=wok-burner"), TWO_ENDS, f"{first} was changed since"),
        (("--swap", "urn=wok-burner"), "", f"{first} is not among the jobs any more"),
    ):
        if change:
            first.write_text(change)
        elif change is not None:
            first.unlink()
        done = run(tmp_path / "jobs", *words, *out)
        assert (done.code, done.out) == (2, "")
        assert f"{part}: can't be gone on with: {what}; start again with another --out, or delete it" in done.err
        assert not (tmp_path / "out.jsonl").exists()
        first.write_text(text)
    assert part.read_bytes() == before[: before.rindex(b"\n") + 1]
    assert json.loads(before.splitlines()[0])["kind"] == "recheck-run"


def test_resume_needs_a_file_of_lines(run, tmp_path):
    """It goes with --format jsonl and --out alone."""
    (tmp_path / "a.yaml").write_text(TWO_ENDS)
    for words in (("--resume",), ("--resume", "--format", "jsonl"), ("--resume", "--out", tmp_path / "x")):
        done = run(tmp_path / "a.yaml", *words)
        assert done.code == 2
        assert "--resume goes with --format jsonl and --out FILE." in done.err
