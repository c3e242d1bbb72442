"""`drawbar size` on a job that leaves nothing to choose, and on one that it can't settle in its limit of work."""

import json

import pytest
from test_crowded_jobs import plug_in_job

from drawbar.answers import WholeSizes, stands_beside
from drawbar.checking.check import check_job
from drawbar.report.size_report import SizeReport
from drawbar.sizing.choosing import Choosing
from drawbar.sizing.few_sizes import FewSizes
from drawbar.sizing.pareto import Work
from drawbar.sizing.size import Wishes, size, with_pipes
from drawbar.sizing.size_job import SizedJob, size_job

TEXT = """job: Hob on a short line
gas: propane
limits: {{drop: 0.25 kPa}}
regulator: {{outlet: 2.75 kPa, capacity: 60 MJ/h}}
runs: {{main: {{from: regulator, pipe: as1432-b/{size}, length: 3 m}}}}
appliances: {{hob: {{at: main, input: 20 MJ/h}}}}
"""


def whole(sized: SizedJob) -> WholeSizes:
    return WholeSizes(sized, stands_beside(sized.result.check, in_full=False))


@pytest.mark.parametrize(("label", "code", "verdict"), [("12.70", 0, "PASS"), ("6.35", 1, "FAIL")])
def test_it_says_so_with_the_verdict_of_the_check(drawbar, tmp_path, label, code, verdict):
    """It names what to write, claims nothing of choices, and ends as the check does; JSON says it too."""
    job = tmp_path / "job.yaml"
    job.write_text(TEXT.format(size=label))
    done = drawbar("size", str(job))
    assert (done.code, done.err) == (code, "")
    lines = done.out.splitlines()
    assert lines[0] == f"Hob on a short line: sizes: {verdict}"
    words = " ".join(done.out.split())
    assert "Nothing to choose: every run has its size. To have one chosen, write `pipe: family/auto` or a" in words
    assert "no choice" not in done.out
    assert "the least cost" not in done.out
    (result,) = json.loads(drawbar("size", str(job), "--format", "json").out)["results"]
    assert (result["has_choice"], result["verdict"]) == (False, verdict.lower())
    assert drawbar("check", str(job)).code == code


@pytest.mark.parametrize("may_settle", [True, False])
def test_what_is_not_proven_points_to_the_extra(monkeypatch, may_settle):
    """Without the extra the page says that it may settle the job; not where it would not begin with it."""
    job = plug_in_job(20, 3)
    monkeypatch.setattr("drawbar.sizing.by_highs.has_highs", lambda: False)
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(100))
    if not may_settle:
        monkeypatch.setattr("drawbar.sizing.by_highs._MOST_WORK", 10_000)
    sized = size_job(job)
    page = " ".join(str(block) for block in SizeReport().page(whole(sized)))
    assert "too large to prove that this is the least: no choice that passes costs less than" in page
    assert ("The extra `exact` may settle it." in page) == may_settle
    # Where the search for two sizes at most comes to none in time one size everywhere may do, or none is known.
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(-1))
    monkeypatch.setattr(FewSizes, "solve", lambda _: None)
    assert size_job(job, wishes=Wishes(most_sizes=2)).result.passes
    monkeypatch.setattr(Choosing, "_one_size", lambda _: None)
    none = size_job(job, wishes=Wishes(most_sizes=2))
    assert not none.result.is_settled
    page = " ".join(str(block) for block in SizeReport().page(whole(none)))
    assert "There may be some that pass." in page
    assert ("The extra `exact` may settle it." in page) == may_settle


def test_one_size_is_the_narrowest_that_passes_everywhere(monkeypatch):
    """Where the search for few sizes is given up: the next narrower fails, and the bound is below what it costs."""
    monkeypatch.setattr("drawbar.sizing.by_highs.has_highs", lambda: False)
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(-1))
    monkeypatch.setattr(FewSizes, "solve", lambda _: None)
    job = plug_in_job(20, 3)
    result = size(job, wishes=Wishes(most_sizes=1))
    (label,) = {run.pipe.label for run in result.sized.runs}
    assert (result.proof, result.check.pressures_pass) == (None, True)
    assert 0.0 < result.least_cost < result.cost
    pipes = sorted(job.runs[0].pipes, key=lambda pipe: pipe.bore_m)
    narrower = pipes[[pipe.label for pipe in pipes].index(label) - 1]
    assert not check_job(with_pipes(job, {run.name: narrower for run in job.runs})).pressures_pass
    monkeypatch.undo()
    assert result.cost == pytest.approx(size(job, wishes=Wishes(most_sizes=1)).cost)


def test_what_highs_proved_is_said_to_be_so(monkeypatch):
    """The page and the JSON name what proved the least cost."""
    job = plug_in_job(20, 3)
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(100))
    sized = size_job(job)
    assert SizeReport().data(whole(sized))["proof"] == "HiGHS"
    page = " ".join(str(block) for block in SizeReport().page(whole(sized)))
    assert "no other choice of sizes that passes costs less (proven by HiGHS)." in page


def test_a_table_longer_than_a_screen_leaves_no_reason_out(drawbar, tmp_path):
    """With more appliances than lines, why it fails and what puts it right stand as they do on the page of check."""
    burners = ", ".join(f"burner-{number}: {{at: main, input: 10 MJ/h}}" for number in range(26))
    job = tmp_path / "job.yaml"
    job.write_text(TEXT.format(size="9.52").replace("hob: {at: main, input: 20 MJ/h}", burners), encoding="utf-8")
    whole = " ".join(drawbar("check", str(job)).out.split())
    told = whole[whole.index("Pressure FAIL") : whole.index("appliance worst in")]
    assert "Why: burner-0 has" in told
    assert "To put it right: Make main" in told
    for options in ((), ("--full",)):
        done = drawbar("size", str(job), *options)
        assert done.code == 1
        page = " ".join(done.out.split())
        assert told in page
        assert page.count("Hob on a short line") == 1
