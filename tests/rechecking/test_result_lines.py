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
