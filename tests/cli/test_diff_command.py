"""`drawbar diff`: two job files, or two files of results, in words."""

import json

import pytest

from two_ends import TWO_ENDS


@pytest.fixture
def run(drawbar):
    return lambda *words: drawbar("diff", *map(str, words))


def test_two_job_files(run, tmp_path):
    """Verdict, spare, and each key that is other; the exit code is that of the new one."""
    old, new = tmp_path / "old.yaml", tmp_path / "new.yaml"
    old.write_text(TWO_ENDS)
    new.write_text(TWO_ENDS.replace("input: 20 MJ/h", "input: 150 MJ/h").replace("length: 3 m", "length: 2.5 m"))
    done = run(old, new)
    assert done.code == 1
    page = " ".join(done.out.split())
    assert page.startswith("Two ends: PASS to FAIL ")
    assert "- runs.main.length: 2.5 m, was 3 m - appliances.hob.input: 150 MJ/h, was 20 MJ/h" in page
    assert "To put it right: - hob has" in page
    assert len(done.out.splitlines()) <= 24
    result = json.loads(run(old, new, "--format", "json").out)["results"][0]
    assert (result["before"]["verdict"], result["after"]["verdict"]) == ("pass", "fail")
    assert result["keys"][1] == {"key": "appliances.hob.input", "was": "20 MJ/h", "now": "150 MJ/h"}
    same = run(old, old)
    assert same.code == 0
    assert "The files are the same." in same.out


def test_two_files_of_results(run, drawbar, tmp_path):
    """The jobs that changed and why, as `recheck --baseline` has it; one of each sort is no question."""
    job = tmp_path / "job.yaml"
    job.write_text(TWO_ENDS)
    for name, load in (("old", 20), ("new", 150)):
        job.write_text(TWO_ENDS.replace("input: 20 MJ/h", f"input: {load} MJ/h"))
        lines = drawbar("recheck", str(job), "--format", "jsonl").out
        (tmp_path / f"{name}.jsonl").write_text(lines)
    done = run(tmp_path / "old.jsonl", tmp_path / "new.jsonl")
    page = " ".join(done.out.split())
    assert done.code == 1
    assert page.startswith("1 job compared with old.jsonl: 1 to check")
    assert "PASS to FAIL" in page
    assert "job file: hob 150 MJ/h," in page
    assert done.out == drawbar("recheck", str(job), "--baseline", str(tmp_path / "old.jsonl")).out
    mixed = run(job, tmp_path / "new.jsonl")
    assert (mixed.code, mixed.out) == (2, "")
    assert f"{job}: is a job file, and {tmp_path}/new.jsonl holds results; give two of the same sort\n" == mixed.err


def test_results_of_another_command(run, drawbar, tmp_path):
    """Told as the results that they are: what can be compared is what `recheck` writes, a line a job."""
    job, results = tmp_path / "job.yaml", tmp_path / "check.json"
    job.write_text(TWO_ENDS)
    results.write_text(drawbar("check", str(job), "--format", "json").out)
    compared = run(results, results)
    assert (compared.code, compared.out) == (2, "")
    assert compared.err == f"{results}:1:1: is no line of `drawbar recheck --format jsonl`\n"
