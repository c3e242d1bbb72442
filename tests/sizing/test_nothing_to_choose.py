"""`drawbar size` on a job that leaves nothing to choose, and on one that it can't settle in its limit of work."""

import json

import pytest
from test_crowded_jobs import plug_in_job

from drawbar.answers import WholeSizes, stands_beside
from drawbar.report.size_report import SizeReport
from drawbar.sizing.pareto import Work
from drawbar.sizing.size import Wishes
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


@pytest.mark.parametrize(("size", "code", "verdict"), [("12.70", 0, "PASS"), ("6.35", 1, "FAIL")])
def test_it_says_so_with_the_verdict_of_the_check(drawbar, tmp_path, size, code, verdict):
    """It names what to write, claims nothing of choices, and ends as the check does; JSON says it too."""
    job = tmp_path / "job.yaml"
    job.write_text(TEXT.format(size=size))
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


@pytest.mark.parametrize(("has_highs", "extra"), [(True, False), (False, True)])
def test_what_is_not_proven_points_to_the_extra(monkeypatch, has_highs, extra):
    """Without the extra the page says that it may settle the job; with it, it does not send the reader there."""
    job = plug_in_job(20, 3)
    with monkeypatch.context() as patch:
        patch.setattr("drawbar.sizing.by_highs.has_highs", lambda: False)
        patch.setattr("drawbar.sizing.choosing.Work", lambda: Work(100))
        sized = size_job(job)
        few = size_job(job, wishes=Wishes(most_sizes=2))
    monkeypatch.setattr("drawbar.report.size_report.has_highs", lambda: has_highs)
    page = " ".join(str(block) for block in SizeReport().page(whole(sized)))
    assert "too large to prove that this is the least: no choice that passes costs less than" in page
    assert ("The extra `exact` may settle it." in page) == extra
    if not few.result.passes:
        assert not few.result.is_settled
        page = " ".join(str(block) for block in SizeReport().page(whole(few)))
        assert "There may be some that pass." in page
        assert ("The extra `exact` may settle it." in page) == extra


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
