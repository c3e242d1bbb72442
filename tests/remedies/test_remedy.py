"""What would put a job right: that it does, that none of it is needless, and that it is made in no other job."""

import pytest

import make_jobs
from drawbar.checking.check import check_job
from drawbar.jobfile import edit
from drawbar.rechecking.recheck import recheck_job
from drawbar.rechecking.swaps import swapped_job
from drawbar.remedies.remedy import LARGER_RUNS, SMALLER_LOAD, Remedies
from drawbar.remedies.search import remedies_for
from jobs import CATALOGUE, job_from
from two_ends import TWO_ENDS, swaps


def test_the_suggested_sizes_put_the_job_right():
    """Written into the file with the swap made, the suggested sizes pass; without any one of them the job fails."""
    job = job_from(TWO_ENDS)
    swap = swaps("urn=110 MJ/h")
    outcome = recheck_job(job, swap, CATALOGUE)
    assert not outcome.after.pressures_pass
    sizes = {change.run: change.new for change in outcome.remedies.of_kind(LARGER_RUNS).changes}
    assert sizes

    def passes(labels):
        text = edit.with_sizes(TWO_ENDS, "job.yaml", labels)
        return check_job(swapped_job(job_from(text), swap).job).pressures_pass

    assert passes(sizes)
    for run in sizes:
        assert not passes({name: size for name, size in sizes.items() if name != run})


def test_where_no_size_is_enough_the_largest_appliance_is_told():
    """The largest input passes, and one in a thousand more fails, the pipes as they are."""
    own_pipe = TWO_ENDS.replace("as1432-b/12.70", "{bore: 10.88 mm}").replace("as1432-b/9.52", "{bore: 7.7 mm}")
    job = job_from(own_pipe)
    remedies = recheck_job(job, swaps("urn=120 MJ/h"), CATALOGUE).remedies
    assert [remedy.kind for remedy in remedies.in_order] == [SMALLER_LOAD]  # of the swapped heater alone
    (change,) = remedies.best.changes
    assert change.appliance == "heater"
    assert change.old_w == pytest.approx(120e6 / 3600.0)
    for factor, passes in ((1.0, True), (1.001, False)):
        input_w = change.most_w * factor
        heater = job.appliances[0]._replace(input_w=input_w, flow_kg_s=input_w / job.gas.gross_j_kg)
        assert check_job(job._replace(appliances=(heater, job.appliances[1]))).pressures_pass is passes


def test_a_remedy_can_be_applied():
    """The job with the swap and the remedy's sizes passes the full check; without the swap it passes as well."""
    job = job_from(TWO_ENDS)
    swap = swaps("urn=110 MJ/h")
    remedy = recheck_job(job, swap, CATALOGUE).remedies.of_kind(LARGER_RUNS)
    swapped = swapped_job(job, swap).job
    assert not check_job(swapped).pressures_pass
    repaired = remedy.applied_to(swapped, CATALOGUE)
    assert check_job(repaired).pressures_pass
    assert check_job(remedy.applied_to(job, CATALOGUE)).pressures_pass
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
        remedy = recheck_job(job, swap, CATALOGUE).remedies.of_kind(LARGER_RUNS)
        if remedy is not None:
            remedies += 1
            assert check_job(remedy.applied_to(swapped_job(job, swap).job, CATALOGUE)).pressures_pass
    assert remedies >= 10


def test_a_remedy_is_applied_to_no_other_job():
    """A job without the run, or with another size in it, and a size that is not listed are refused."""
    job = job_from(TWO_ENDS)
    remedy = recheck_job(job, swaps("urn=110 MJ/h"), CATALOGUE).remedies.of_kind(LARGER_RUNS)
    first = remedy.changes[0]
    repaired = remedy.applied_to(job, CATALOGUE)
    with pytest.raises(ValueError, match=rf"^run {first.run} has {first.new}, not {first.old}, which the remedy takes"):
        remedy.applied_to(repaired, CATALOGUE)
    with pytest.raises(ValueError, match=r"^the job has no run nowhere$"):
        remedy._replace(changes=(first._replace(run="nowhere"),)).applied_to(job, CATALOGUE)
    with pytest.raises(ValueError, match=r"^the catalogue has no pipe as1432-b/1000$"):
        remedy._replace(changes=(first._replace(new="as1432-b/1000"),)).applied_to(job, CATALOGUE)


def test_a_job_that_passes_needs_none():
    """A job whose pressures pass has no remedy, whatever else is the matter with it."""
    assert remedies_for(job_from(TWO_ENDS), CATALOGUE) == Remedies()


def test_a_job_that_passes_as_drawn_only_is_put_right_for_the_worst():
    """A remedy holds with every tolerance at its worst; of the job as drawn none is asked for."""
    job = job_from(TWO_ENDS.replace("{like: urn}", "92 MJ/h"))
    check = check_job(job)
    assert min(state.margin_pa for state in check.states) > 0.0
    assert not check.pressures_pass
    assert remedies_for(job, CATALOGUE, corner=lambda drawn: drawn) == Remedies()
    best = remedies_for(job, CATALOGUE).best
    assert best.margin_pa >= 0.0
    assert check_job(best.applied_to(job, CATALOGUE)).pressures_pass


def test_what_passes_is_the_callers_say():
    """A condition of the caller's holds for what is suggested, and what has no remedy under it gets none."""
    job = job_from(TWO_ENDS.replace("20 MJ/h", "110 MJ/h"))
    usual = remedies_for(job, CATALOGUE).of_kind(LARGER_RUNS)

    def has_wide_main(changed):
        return check_job(changed).pressures_pass and changed.runs[0].pipe.bore_m > 0.020

    wide = remedies_for(job, CATALOGUE, has_wide_main).of_kind(LARGER_RUNS)
    assert not has_wide_main(usual.applied_to(job, CATALOGUE))
    assert has_wide_main(wide.applied_to(job, CATALOGUE))
    assert not wide.is_proven
    assert remedies_for(job, CATALOGUE, lambda _: False).in_order == ()
