"""Which files a batch reads: folders hold other files too, and some things can't be read at all."""

import os

import pytest

from two_ends import TWO_ENDS

SWAP = ("--swap", "urn=24 MJ/h")


@pytest.fixture
def run(drawbar):
    return lambda *words, stdin="": drawbar("recheck", *map(str, words), stdin=stdin)


def test_what_is_no_job_in_a_folder_is_passed_over(run, tmp_path):
    """A price list, a library and an empty file are counted and named once; named outright they are errors."""
    (tmp_path / "a.yaml").write_text(TWO_ENDS)
    (tmp_path / "prices.yaml").write_text("currency: AUD\npipe: {as1432-b/12.70: 9.80}\n")
    (tmp_path / "swaps.yml").write_text("swaps: {urn: 24 MJ/h}\n")
    (tmp_path / "empty.yaml").write_text("")
    whole = run(tmp_path, *SWAP, "--format", "csv")
    assert whole.code == 0
    assert len(whole.out.splitlines()) == 2
    names = ", ".join(str(tmp_path / name) for name in ("empty.yaml", "prices.yaml", "swaps.yml"))
    assert whole.err == f"drawbar: 3 files without `job:` passed over: {names}\n"
    page = run(tmp_path, *SWAP)
    assert page.err == ""
    assert " ".join(page.out.split()).count("3 files without `job:` passed over") == 1
    assert run(tmp_path / "*.y*ml", *SWAP, "--format", "csv") == whole
    outright = run(tmp_path / "prices.yaml", *SWAP)
    assert outright.code == 2
    assert f"{tmp_path}/prices.yaml:1:1: currency: " in outright.err


def test_a_job_with_a_slip_in_a_folder_is_a_job(run, tmp_path):
    """One that is no YAML, or has a wrong key, is told as ever: it is not passed over."""
    (tmp_path / "broken.yaml").write_text(TWO_ENDS.replace("runs:", "runs: ]"))
    (tmp_path / "wrong.yaml").write_text(TWO_ENDS.replace("propane", "protane"))
    done = run(tmp_path)
    assert done.code == 2
    assert [text.split(":")[0] for text in done.err.splitlines()] == [
        str(tmp_path / "broken.yaml"),
        str(tmp_path / "wrong.yaml"),
    ]
    assert "2 could not be read" in done.out


def test_suffixes_hidden_files_and_pipes(run, tmp_path):
    """`.YAML` counts, hidden files and folders do not, and a pipe that would never end is not opened."""
    (tmp_path / "LOUD.YAML").write_text(TWO_ENDS)
    (tmp_path / ".hidden.yaml").write_text("not: read\n")
    (tmp_path / ".git").mkdir()
    (tmp_path / ".git" / "a.yaml").write_text(TWO_ENDS)
    (tmp_path / "deep").mkdir()
    os.mkfifo(tmp_path / "deep" / "pipe.yaml")
    for words in ((tmp_path,), (tmp_path / "**",)):
        done = run(*words, "--format", "csv")
        assert (done.code, done.err) == (0, "")
        assert [text.split(",")[0] for text in done.out.splitlines()[1:]] == [str(tmp_path / "LOUD.YAML")]


def test_an_empty_name_is_told(run, tmp_path, monkeypatch):
    """An empty name, as of a shell's variable that is not set, is not the current folder."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.yaml").write_text(TWO_ENDS)
    done = run("")
    assert (done.code, done.out) == (2, "")
    assert done.err == '"": an empty name was given for a job; name a file, a folder or `.` for this one\n'
    assert run(".").code == 0


def test_a_name_that_is_not_utf_8_is_kept(run, tmp_path):
    """A job whose file has such a name is checked, written and read back by that name."""
    name = os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.yaml")
    with open(name, "w", encoding="utf-8") as stream:
        stream.write(TWO_ENDS)
    out = tmp_path / "out.jsonl"
    assert run(tmp_path, *SWAP, "--format", "jsonl", "--out", out).code == 0
    assert b"caf\\udce9.yaml" in out.read_bytes()
    assert run(tmp_path, *SWAP, "--baseline", out).out.startswith("1 job compared with out.jsonl: none to check")
    for form in ("json", "csv", "table"):
        assert run(name, *SWAP, "--all", "--format", form, "--out", tmp_path / form).code == 0
