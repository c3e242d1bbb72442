"""A job looked at again: the change of its verdict is named, and the verdict is that of the full check."""

import pytest

import make_jobs
from drawbar.checking.check import check_job
from drawbar.rechecking.recheck import (
    UNTOUCHED,
    recheck_job,
)
from drawbar.rechecking.standing import standing
from jobs import CATALOGUE, job_from
from two_ends import TWO_ENDS, swaps


@pytest.mark.parametrize(
    ("swap", "change"),
    [
        ("urn=30 MJ/h", "still passes"),
        ("urn=100 MJ/h", "pass to fail"),
        ("nothing=30 MJ/h", UNTOUCHED),
    ],
)
def test_the_change_is_named(swap, change):
    """What passed and passes, what passed and fails, what the swap does not touch."""
    assert recheck_job(job_from(TWO_ENDS), swaps(swap), CATALOGUE).change == change


def test_a_job_that_failed_may_pass_after():
    """A smaller appliance puts a failing job right; a swap that is not enough leaves it failing."""
    failing = TWO_ENDS.replace("20 MJ/h", "150 MJ/h")
    job = job_from(failing)
    assert recheck_job(job, swaps("hob=20 MJ/h"), CATALOGUE).change == "fail to pass"
    assert recheck_job(job, swaps("hob=140 MJ/h"), CATALOGUE).change == "still fails"


def test_the_verdict_is_that_of_check():
    """The quick verdict has the margin, the state and the appliance of the full check, over many jobs."""
    for number in range(60):
        job = job_from(make_jobs.job_text(number))
        quick, full = standing(job), check_job(job)
        assert quick.passes == full.passes
        assert quick.margin_pa == full.states[0].margin_pa
        worst = min(full.states[0].appliances, key=lambda appliance: appliance.margin_pa)
        assert quick.appliance == worst.name
