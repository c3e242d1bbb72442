"""A year later a tube wall is corrected, a heater swapped, a rule has a new edition: which jobs must be looked at.

The judge is the library's full check of every job, before and after, and the job files' own text.
"""

import json
import shutil

import pytest
import yaml

import drawbar
import make_jobs
from drawbar.catalogue.data_files import data_text

COUNTS = [pytest.param(30), pytest.param(300, marks=pytest.mark.trial)]
MOVED_PA = 5.0


@pytest.fixture(scope="module", params=COUNTS)
def year(request, tmp_path_factory):
    """Return a folder of jobs, and the results of a year ago."""
    folder = tmp_path_factory.mktemp("year")
    make_jobs.make(folder / "jobs", request.param)
    from click.testing import CliRunner

    from drawbar.cli.main import cli

    words = ["recheck", str(folder / "jobs"), "--format", "jsonl", "--out", str(folder / "base.jsonl")]
    assert CliRunner().invoke(cli, words).exit_code in (0, 1, 3)
    return folder


def library_with(folder, kind, name, change):
    """Return a library with a row of the project's own, changed."""
    row = yaml.safe_load(data_text(kind))[name]
    change(row)
    library = folder / f"{kind}.yaml"
    library.write_text(yaml.safe_dump({"replace": "yes", kind: {name: row}}, sort_keys=False), encoding="utf-8")
    return str(library)


def figures(folder, library=None):
    """Return (verdict, least margin, least margin at worst) of each job by the full check."""
    catalogue = drawbar.Catalogue([library] if library else [])
    by_file = {}
    for file in sorted(folder.iterdir()):
        result = drawbar.check(drawbar.read_job(file, catalogue, sized=True), with_headroom=False)
        margins = [min(getattr(state, name) for state in result.states) for name in ("margin_pa", "worst_margin_pa")]
        by_file[str(file)] = (result.verdict, *margins)
    return by_file


def to_look_at(before, after):
    """Return the jobs whose verdict or spare is not what it was."""
    return {
        file
        for file, (verdict, *margins) in after.items()
        if verdict is not before[file][0]
        or max(abs(now - was) for now, was in zip(margins, before[file][1:], strict=True)) > MOVED_PA
    }


def held(drawbar_call, year, jobs, *words):
    """Return what is to be looked at of the results held against those of a year ago, by file."""
    base = ("recheck", str(jobs), "--baseline", str(year / "base.jsonl"), *words)
    lines = [json.loads(line) for line in drawbar_call(*base, "--format", "jsonl").out.splitlines()]
    return {line["file"]: line["baseline"] for line in lines if line["baseline"]["look"]}


def test_nothing_changed(drawbar, year):
    """The same jobs, the same program: none is to be looked at."""
    assert held(drawbar, year, year / "jobs") == {}
    page = drawbar("recheck", str(year / "jobs"), "--baseline", str(year / "base.jsonl")).out
    assert " jobs compared with base.jsonl: none to check\n" in page


def test_a_tube_wall_is_corrected(drawbar, year):
    """Exactly the jobs are named that have that tube and are moved by it, and the tube is why."""
    library = library_with(year, "pipes", "as1432-b", lambda row: row["sizes"]["12.70"].update({"wall": "1.02 mm"}))
    expected = to_look_at(figures(year / "jobs"), figures(year / "jobs", library))
    looked_at = held(drawbar, year, year / "jobs", "--library", library)
    assert {*looked_at} == expected
    with_tube = {str(file) for file in (year / "jobs").iterdir() if "as1432-b/12.70" in file.read_text()}
    assert expected
    assert expected <= with_tube
    assert expected != {str(file) for file in (year / "jobs").iterdir()}
    for baseline in looked_at.values():
        assert [(cause["kind"], cause["what"]) for cause in baseline["why"]] == [("row", "pipes as1432-b/12.70")]


def test_a_heater_is_swapped(drawbar, year):
    """One job file of all was changed: that job is named, with its heater."""
    jobs = year / "changed"
    shutil.copytree(year / "jobs", jobs)
    file = sorted(jobs.iterdir())[7]
    file.write_text(file.read_text().replace("{like: urn}", "60 MJ/h", 1), encoding="utf-8")
    base = (year / "base.jsonl").read_text().replace(str(year / "jobs"), str(jobs))
    (year / "changed.jsonl").write_text(base, encoding="utf-8")
    code = ("recheck", str(jobs), "--baseline", str(year / "changed.jsonl"), "--format", "jsonl")
    looked_at = {
        line["file"]: line["baseline"]["why"]
        for line in map(json.loads, drawbar(*code).out.splitlines())
        if line["baseline"]["look"]
    }
    assert {*looked_at} == to_look_at(
        {str(jobs / name.rsplit("/", 1)[1]): values for name, values in figures(year / "jobs").items()}, figures(jobs)
    )
    assert {*looked_at} == {str(file)}
    first, second = looked_at[str(file)]
    assert (first["kind"], first["was"], first["now"]) == ("load", pytest.approx(20.0), pytest.approx(60.0))
    assert second["kind"] == "job"


def test_a_rule_has_a_new_edition(drawbar, year):
    """An allowed drop that is a little less: the jobs that change verdict are named, others hardly moved."""
    library = library_with(
        year, "rules", "as-nzs-5601.2", lambda row: row.update({"drop": "0.2455 kPa", "source": "a later edition"})
    )
    expected = to_look_at(figures(year / "jobs"), figures(year / "jobs", library))
    looked_at = held(drawbar, year, year / "jobs", "--library", library)
    assert {*looked_at} == expected
    for baseline in looked_at.values():
        assert " to " in baseline["change"]
        assert [(cause["kind"], cause["what"]) for cause in baseline["why"]] == [("row", "rules as-nzs-5601.2")]
    stricter = library_with(year, "rules", "as-nzs-5601.2", lambda row: row.update({"drop": "0.20 kPa"}))
    assert len(held(drawbar, year, year / "jobs", "--library", stricter)) == len(list((year / "jobs").iterdir()))
