"""A job whose pipes are priced and compared as drawn, while the pressures must hold in a worse one."""

import itertools

import pytest
from test_sizing import never_larger_downstream, small_job

from drawbar.checking.check import check_job
from drawbar.job import Job
from drawbar.sizing.next_smaller import next_smaller_sizes
from drawbar.sizing.size import Wishes, cheapest_sizes, mass_cost, size, with_pipes


def worse(job: Job) -> Job:
    """Return a job with every bore 3 % smaller and every input 5 % larger."""
    return job._replace(
        runs=tuple(
            run._replace(pipes=tuple(pipe._replace(bore_m=0.97 * pipe.bore_m) for pipe in run.pipes))
            for run in job.runs
        ),
        appliances=tuple(
            each._replace(input_w=1.05 * each.input_w, flow_kg_s=1.05 * each.flow_kg_s) for each in job.appliances
        ),
    )


def in_same_places(job: Job, solved: Job, pipes) -> Job:
    """Return the job that is solved in the pipes that stand where those chosen stand."""
    places = {run.name: run.pipes.index(pipes[run.name]) for run in job.runs}
    return with_pipes(solved, {run.name: run.pipes[places[run.name]] for run in solved.runs})


def by_trying_all(job: Job, solved: Job, allowed) -> float | None:
    cost = mass_cost(job)[0]
    choices = [[(cost(run, pipe), pipe) for pipe in run.pipes] for run in job.runs]
    for picked in sorted(itertools.product(*choices), key=lambda picked: sum(price for price, _ in picked)):
        pipes = {run.name: pipe for run, (_, pipe) in zip(job.runs, picked, strict=True)}
        if allowed(pipes) and check_job(in_same_places(job, solved, pipes)).pressures_pass:
            return sum(price for price, _ in picked)
    return None


@pytest.mark.trial
@pytest.mark.parametrize("no_increase", [False, True])
@pytest.mark.parametrize("seed", range(0, 45, 3))
def test_sizes_hold_in_the_job_that_is_solved(seed, no_increase):
    """They are the cheapest as drawn that pass in the worse job; a size smaller in any run fails there."""
    job = small_job(seed)
    solved = worse(job)
    result = size(job, wishes=Wishes(no_increase=no_increase), solved_as=solved)
    least = by_trying_all(job, solved, lambda pipes: not no_increase or never_larger_downstream(job, pipes))
    assert result.cost == (None if least is None else pytest.approx(least, rel=1e-12))
    if not result.passes:
        return
    pipes = {run.name: run.pipe for run in result.sized.runs}
    assert all(pipe in run.pipes for run, pipe in zip(job.runs, pipes.values(), strict=True))
    assert check_job(in_same_places(job, solved, pipes)).pressures_pass
    for name, smaller in next_smaller_sizes(result).items():
        assert smaller.pipe.bore_m < pipes[name].bore_m
        changed = check_job(in_same_places(job, solved, {**pipes, name: smaller.pipe}))
        assert smaller.passes == changed.pressures_pass
        if not no_increase:
            assert not smaller.passes


def test_the_worse_job_makes_some_sizes_larger():
    """The test above is not empty: some cost more than as drawn, and none less."""
    dearer = passing = 0
    for seed in range(0, 90, 3):
        job = small_job(seed)
        cost = mass_cost(job)[0]
        drawn, held = cheapest_sizes(job, cost), cheapest_sizes(job, cost, solved_as=worse(job))
        if held is not None:
            passing += 1
            dearer += held.cost > drawn.cost * (1 + 1e-9)
            assert held.cost >= drawn.cost * (1 - 1e-9)
    assert passing >= 10
    assert dearer >= 3


def test_few_sizes_and_a_reserve_go_with_it():
    """The limit on the number of sizes is on those as drawn, and the reserve is on the loads that are solved."""
    for seed in range(0, 45, 3):
        job = small_job(seed)
        solved = worse(job)
        result = size(job, wishes=Wishes(most_sizes=2, reserve=0.1), solved_as=solved)
        if result.passes:
            pipes = {run.name: run.pipe for run in result.sized.runs}
            assert len({pipe.label for pipe in pipes.values()}) <= 2
            loaded = in_same_places(job, result.solved, pipes)
            assert loaded.appliances[0].input_w == pytest.approx(1.1 * solved.appliances[0].input_w)
            assert check_job(loaded).pressures_pass
