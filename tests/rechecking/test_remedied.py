"""Job files written with their swaps and what puts them right: they pass, and nothing else in them changes."""

import os

import pytest

import drawbar as library
from drawbar.jobfile.edit import with_values
from drawbar.problems import Problems
from two_ends import TWO_ENDS

COMMENTED = TWO_ENDS.replace("  left:  {", "  # the one behind the fridge\n  left:  {").replace("hob:    {", "hob:  {")


@pytest.fixture
def run(drawbar):
    return lambda *words: drawbar("recheck", *map(str, words))


def test_what_is_written_passes_and_keeps_its_comments(run, tmp_path):
    """Checked anew by the library; folders below the common one stay; other lines are the same."""
    jobs = tmp_path / "jobs"
    (jobs / "deep").mkdir(parents=True)
    (jobs / "good.yaml").write_text(TWO_ENDS)
    (jobs / "deep" / "fails.yaml").write_text(COMMENTED.replace("input: 20 MJ/h", "input: 150 MJ/h"))
    done = run(jobs, "--swap", "urn=100 MJ/h", "--write-remedy", tmp_path / "new")
    assert done.code == 1
    assert done.err == f"drawbar: 2 job files with what puts them right in {tmp_path}/new\n"
    for name in ("good.yaml", "deep/fails.yaml"):
        job = library.read_job(tmp_path / "new" / name, sized=True)
        assert library.check(job).pressures_pass
        assert job.appliances[0].input_w == pytest.approx(100 / 0.0036)
        old, new = ((folder / name).read_text().splitlines() for folder in (jobs, tmp_path / "new"))
        changed = [(was, now) for was, now in zip(old, new, strict=True) if was != now]
        assert all(was.split(":")[0] == now.split(":")[0] for was, now in changed)
        assert {was.split(":")[0].strip() for was, _ in changed} <= {"main", "left", "right", "heater"}
    assert "# the one behind the fridge" in (tmp_path / "new" / "deep" / "fails.yaml").read_text()
    again = run(jobs, "--swap", "urn=100 MJ/h", "--write-remedy", tmp_path / "new")
    assert again.code == 2
    assert f"{tmp_path}/new/good.yaml: is there already, and is left as it is; name another folder\n" in again.err


def test_what_would_not_be_the_swap_is_not_written(run, tmp_path):
    """A rate written where the file says `basis: net` would be another rate: told, and nothing written."""
    text = TWO_ENDS.replace("input: {like: urn}", "input: 20 MJ/h, basis: net").replace("hob:", "cooker:")
    (tmp_path / "job.yaml").write_text(text)
    done = run(tmp_path / "job.yaml", "--swap", "heater=100 MJ/h", "--write-remedy", tmp_path / "new")
    assert done.code == 2
    assert "the swap can't be written in: heater would burn" in done.err
    assert not os.path.exists(tmp_path / "new")


def test_values_are_put_at_their_keys_alone():
    """In any style of YAML; what is not there can't be changed."""
    block = (
        "job: x # title\nruns:\n  a.b:\n    devices:\n      - name: tap\n        drop: 2 Pa\n    length: 3 m # far\n"
    )
    changed = with_values(
        block, "x", {("runs", "a.b", "devices", "0"): "{name: cock}", ("runs", "a.b", "length"): "2 m"}
    )
    assert changed == "job: x # title\nruns:\n  a.b:\n    devices:\n      - {name: cock}\n    length: 2 m # far\n"
    with pytest.raises(Problems, match=r"^x:1:1: runs\.c\.length: is not there, and so can't be changed$"):
        with_values(block, "x", {("runs", "c", "length"): "2 m"})
