"""What would put a job right: sizes that do, none of them needless, or the largest appliance that passes."""

from dataclasses import replace

import pytest
from drawbar.rechecking.remedy import largest_input_w

import make_jobs
from drawbar.checking.check import check_job
from drawbar.jobfile import edit
from drawbar.rechecking.recheck import PASS_TO_FAIL, recheck_job
from drawbar.rechecking.swaps import swapped_job
from jobs import CATALOGUE, job_from
from two_ends import TWO_ENDS, swaps


def test_the_suggested_sizes_put_the_job_right():
    """Written into the file with the swap made, the suggested sizes pass; without any one of them the job fails."""
    job = job_from(TWO_ENDS)
    swap = swaps("urn=110 MJ/h")
    outcome = recheck_job(job, swap, CATALOGUE)
    assert outcome.change == PASS_TO_FAIL
    sizes = {run: new for run, _, new in outcome.remedy.sizes}
    assert sizes

    def passes(labels):
        text = edit.with_sizes(TWO_ENDS, "job.yaml", labels)
        return check_job(swapped_job(job_from(text), swap)[0]).passes

    assert passes(sizes)
    for run in sizes:
        assert not passes({name: size for name, size in sizes.items() if name != run})


def test_where_no_size_is_enough_the_largest_appliance_is_told():
    """The largest input passes, and one in a thousand more fails, the pipes as they are."""
    own_pipe = TWO_ENDS.replace("as1432-b/12.70", "{bore: 10.88 mm}").replace("as1432-b/9.52", "{bore: 7.7 mm}")
    job = job_from(own_pipe)
    outcome = recheck_job(job, swaps("urn=120 MJ/h"), CATALOGUE)
    assert outcome.change == PASS_TO_FAIL
    assert outcome.remedy.sizes == ()
    ((name, largest_w),) = outcome.remedy.largest_w
    assert name == "heater"
    for factor, passes in ((1.0, True), (1.001, False)):
        input_w = largest_w * factor
        heater = job.appliances[0]._replace(input_w=input_w, flow_kg_s=input_w / job.gas.gross_j_kg)
        assert check_job(job._replace(appliances=(heater, job.appliances[1]))).passes is passes
    assert largest_input_w(job, "heater") == pytest.approx(largest_w)


def test_a_remedy_can_be_applied():
    """The job with the swap and the remedy's sizes passes the full check; without the swap it passes as well."""
    job = job_from(TWO_ENDS)
    swap = swaps("urn=110 MJ/h")
    remedy = recheck_job(job, swap, CATALOGUE).remedy
    swapped, _ = swapped_job(job, swap)
    assert not check_job(swapped).passes
    repaired = remedy.applied_to(swapped, CATALOGUE)
    assert check_job(repaired).passes
    assert check_job(remedy.applied_to(job, CATALOGUE)).passes
    new_sizes = {change.run: change.new for change in remedy.sizes}
    for run, before in zip(repaired.runs, swapped.runs, strict=True):
        if run.name in new_sizes:
            family, _, size = new_sizes[run.name].partition("/")
            assert run == before._replace(pipes=(CATALOGUE.sizes(family)[size],))
        else:
            assert run == before
    assert repaired._replace(runs=swapped.runs) == swapped


def test_applied_remedies_pass_over_many_jobs():
    """Of many jobs with a far larger heater, each that sizes can put right passes the full check with those sizes."""
    swap = swaps("urn=200 MJ/h")
    remedies = 0
    for number in range(40):
        job = job_from(make_jobs.job_text(number))
        outcome = recheck_job(job, swap, CATALOGUE)
        if outcome.remedy is not None and outcome.remedy.sizes:
            remedies += 1
            assert check_job(outcome.remedy.applied_to(swapped_job(job, swap)[0], CATALOGUE)).passes
    assert remedies >= 10


def test_a_remedy_is_applied_to_no_other_job():
    """A job without the run, one with another size in it, and a remedy without sizes are refused, never passed over."""
    job = job_from(TWO_ENDS)
    remedy = recheck_job(job, swaps("urn=110 MJ/h"), CATALOGUE).remedy
    first = remedy.sizes[0]
    repaired = remedy.applied_to(job, CATALOGUE)
    with pytest.raises(ValueError, match=rf"^run {first.run} has {first.new}, not {first.old}, which the remedy takes"):
        remedy.applied_to(repaired, CATALOGUE)
    with pytest.raises(ValueError, match=r"^the job has no run nowhere$"):
        replace(remedy, sizes=(first._replace(run="nowhere"),)).applied_to(job, CATALOGUE)
    with pytest.raises(ValueError, match=r"^the catalogue has no pipe as1432-b/1000$"):
        replace(remedy, sizes=(first._replace(new="as1432-b/1000"),)).applied_to(job, CATALOGUE)
    with pytest.raises(ValueError, match=r"^no change of sizes puts the job right$"):
        replace(remedy, sizes=()).applied_to(job, CATALOGUE)
