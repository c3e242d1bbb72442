"""Result lines: what is written reads back as the same, and what is no result is refused."""

import dataclasses

import pytest

from drawbar.rechecking.recheck import Outcome, recheck_file, recheck_job
from drawbar.rechecking.result_lines import BadLineError, outcome_of
from drawbar.report.for_scripts import rounded
from drawbar.report.recheck_report import RecheckReport
from jobs import CATALOGUE, job_from
from two_ends import TWO_ENDS, swaps

UNKNOWN = TWO_ENDS.replace("appliances:", "outlets:\n  side: {at: left}\n  back: {at: right}\nappliances:")


def with_ten_digits(outcome: Outcome) -> object:
    """Return an outcome with every float as JSON has it, to ten significant digits."""
    return rounded(dataclasses.asdict(outcome))


def test_a_line_can_be_read_back():
    """An outcome written as a line of JSON reads back as the same outcome, remedies and problems included."""
    job = job_from(TWO_ENDS)
    unknown = UNKNOWN + "".join(f"  {name}: {{plugs-into: any, input: 5 MJ/h}}\n" for name in ("ring", "grill"))
    for outcome in (
        recheck_job(job, swaps("urn=110 MJ/h"), CATALOGUE),
        recheck_job(job_from(TWO_ENDS.replace(", capacity: 400 MJ/h", "")), swaps("urn=110 MJ/h"), CATALOGUE),
        recheck_job(job_from(unknown), swaps("urn=9 MJ/h"), CATALOGUE),
        recheck_job(job_from(unknown.replace("5 MJ/h", "150 MJ/h")), swaps("urn=9 MJ/h"), CATALOGUE),
        recheck_job(job, swaps("urn=30 MJ/h"), CATALOGUE),
        recheck_file("no-such-file.yaml", CATALOGUE, []),
    ):
        line = RecheckReport().line(outcome)
        read_back = outcome_of(line)
        assert RecheckReport().line(read_back) == line
        assert with_ten_digits(read_back) == with_ten_digits(outcome)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("{half a line", r"^is no line of `drawbar recheck --format jsonl`$"),
        ("[]", r"^is no line of `drawbar recheck --format jsonl`$"),
        ('{"kind": "recheck"}', r"^is no line of `drawbar recheck --format jsonl`$"),
        ('{"kind": "check"}', r"^is a result of check, not of recheck$"),
    ],
)
def test_a_line_that_is_no_result(line, message):
    """It is told as such, whatever is wrong with it."""
    with pytest.raises(BadLineError, match=message):
        outcome_of(line)


def altered(text: str, *changes: tuple[str, str]) -> str:
    """Return the line of a job that passes, with stretches of it changed."""
    line = RecheckReport().line(recheck_job(job_from(TWO_ENDS), swaps("urn=30 MJ/h"), CATALOGUE))
    for old, new in changes:
        assert line.count(old) >= 1, text
        line = line.replace(old, new)
    return line


MARGIN = '"after": {"verdict": "pass", "margin_Pa": '


@pytest.mark.parametrize(
    ("new", "message"),
    [
        ("NaN, ", r"^holds NaN, which is no number$"),
        ("-Infinity, ", r"^holds -Infinity, which is no number$"),
        ("1" + "0" * 399 + ", ", r"^is no line of `drawbar recheck --format jsonl`$"),
        ("1e999, ", r"^holds a figure that is no number$"),
        ("true, ", r"^holds a figure that is no number$"),
        ("-300.0, ", r"^contradicts itself: it says PASS with a pressure below its limit$"),
    ],
)
def test_a_figure_that_no_run_wrote(new, message):
    """No number, one that is too large, one that contradicts the verdict: refused, whatever reads the line."""
    line = altered(new, (MARGIN, MARGIN + new + '"was": '))
    with pytest.raises(BadLineError, match=message):
        outcome_of(line)


def test_a_verdict_that_contradicts_its_reasons():
    """A verdict is what its reasons make it, and the change what the verdicts make it."""
    fail = altered("fail", ('"after": {"verdict": "pass"', '"after": {"verdict": "fail"'))
    with pytest.raises(BadLineError, match=r"^contradicts itself: it says FAIL, and its reasons say something else$"):
        outcome_of(fail)
    with pytest.raises(BadLineError, match=r"^contradicts itself: it says `still fails` where the verdicts say still"):
        outcome_of(altered("change", ('"change": "still passes"', '"change": "still fails"')))


def test_a_bad_line_ends_a_call_with_its_place(drawbar, tmp_path):
    """Exit code 2 and the line, in all that reads results; never a traceback."""
    good, bad = altered("good"), altered("bad", (MARGIN, MARGIN + 'NaN, "was": '))
    (tmp_path / "job.yaml").write_text(TWO_ENDS)
    (tmp_path / "bad.jsonl").write_text(good + bad)
    (tmp_path / "good.jsonl").write_text(good)
    for words in (
        ("recheck", "--results", "bad.jsonl"),
        ("recheck", "job.yaml", "--baseline", "bad.jsonl"),
        ("diff", "bad.jsonl", "good.jsonl"),
        ("diff", "good.jsonl", "bad.jsonl"),
    ):
        code, out, err = drawbar(*(str(tmp_path / word) if "." in word else word for word in words))
        assert (code, out) == (2, "")
        assert err == f"{tmp_path}/bad.jsonl:2:1: holds NaN, which is no number\n"
