"""At most so many different sizes: against every set of sizes tried, and without trying them all."""

import itertools
import random

import pytest

import random_jobs
from drawbar.job import Job
from drawbar.problems import Problems
from drawbar.sizing.choosing import Choosing
from drawbar.sizing.size import Wishes, cheapest_sizes, mass_cost, size
from drawbar.sizing.size_job import size_job
from drawbar.sizing.stock import contradictions
from jobs import job_from

FAMILIES = ("as1432-a", "as1432-b", "en1057", "b88-k", "b88-l", "b88-m")
LABELS = [f"{family}/{size}" for family in ("as1432-a", "as1432-b") for size in ("9.52", "12.70", "15.88", "19.05")]


def six_family_job(runs: int = 3) -> Job:
    """Return a job of three runs or more, each of any size of six families of copper tube."""
    choices = ", ".join(f"{family}/auto" for family in FAMILIES)
    starts = ["regulator", *("r0" if run < 3 else f"r{run - 2}" for run in range(1, runs))]
    lines = [
        f"  r{run}: {{from: {start}, pipe: [{choices}], length: {4 - 3 * run / runs:.2f} m}}"
        for run, start in enumerate(starts)
    ]
    ends = [run for run in range(runs) if f"r{run}" not in starts]
    loads = [f"  a{run}: {{at: r{run}, input: {30 - 20 * run / runs:.1f} MJ/h}}" for run in ends]
    head = ["job: Six families", "gas: propane", "rule: as-nzs-5601.2", "regulator: {outlet: 2.75 kPa}"]
    return job_from("\n".join([*head, "runs:", *lines, "appliances:", *loads]), sized=False)


def two_family_job(seed: int) -> Job:
    """Return a job of 4 to 7 runs, each of some of eight sizes of two families, with plug-ins in most."""
    dice = random.Random(seed)
    text = random_jobs.job_text(
        dice,
        runs=dice.randint(4, 7),
        sizes="auto",
        portables=dice.choice((0, 2)),
        outlets=2,
        hoses=1,
        stages=dice.random() < 0.2,
    )
    while "as1432-b/auto" in text:
        some = dice.sample(LABELS, dice.randint(4, 8))
        text = text.replace("as1432-b/auto", f"[{', '.join(some)}]", 1)
    return job_from(text, sized=False)


def by_every_set(job: Job, cost, most: int, *, no_increase: bool) -> float | None:
    """Return the least cost over all sets of so many labels, each sized without a limit on their number."""
    labels = sorted({pipe.label for run in job.runs for pipe in run.pipes})
    costs = []
    for allowed in itertools.combinations(labels, min(most, len(labels))):
        runs = tuple(run._replace(pipes=tuple(p for p in run.pipes if p.label in allowed)) for run in job.runs)
        if all(run.pipes for run in runs):
            sizes = cheapest_sizes(job._replace(runs=runs), cost, Wishes(no_increase=no_increase))
            costs += [sizes.cost] if sizes else []
    return min(costs, default=None)


@pytest.mark.trial
@pytest.mark.parametrize("most", [1, 2, 3, 4])
@pytest.mark.parametrize("seed", range(8))
def test_it_is_the_least_of_every_set(seed, most):
    """The cost is the least over every set of so many sizes, by mass and by random prices, growing or not."""
    job = two_family_job(seed)
    dice = random.Random(seed)
    prices = {label: dice.uniform(1, 10) for label in LABELS}
    for cost in (mass_cost(job)[0], lambda run, pipe: run.length_m * prices[pipe.label]):
        for no_increase in (False, True):
            sizes = cheapest_sizes(job, cost, Wishes(no_increase=no_increase, most_sizes=most))
            least = by_every_set(job, cost, most, no_increase=no_increase)
            assert (sizes and sizes.cost) == (None if least is None else pytest.approx(least, rel=1e-12))
            if sizes:
                assert sizes.proof == "search"
                assert len({pipe.label for pipe in sizes.pipes.values()}) <= most


def test_the_jobs_tried_are_worth_it():
    """Most of them pass, and the limit on the number of sizes makes some dearer."""
    jobs = [two_family_job(seed) for seed in range(8)]
    free = [size(job) for job in jobs]
    few = [size(job, wishes=Wishes(most_sizes=2)) for job in jobs]
    assert sum(result.passes for result in few) >= 4
    assert (
        sum(limited.passes and limited.cost > plain.cost * 1.001 for plain, limited in zip(free, few, strict=True)) >= 3
    )


@pytest.mark.parametrize(("runs", "most", "bar"), [(3, 1, 2_000), (3, 2, 2_000), (3, 4, 2_000), (12, 4, 100_000)])
def test_six_families_take_little_work(capsys, runs, most, bar):
    """Of the million sets of four of its 70 sizes few are looked at: steps of 1 to 2 us, of the 600,000 allowed."""
    job = six_family_job(runs)
    assert len(job.runs[0].pipes) == 70
    choosing = Choosing(job, mass_cost(job)[0], most_sizes=most)
    allowed = choosing.work.left
    sizes = choosing.solve()
    steps = allowed - choosing.work.left
    with capsys.disabled():
        print(f"\nsix families, {runs} runs, {most} sizes: {steps} steps, {len(choosing.scenarios)} scenarios")
    assert sizes.proof == "search"
    assert steps < bar


def test_a_wish_that_no_sizes_meet_is_told_at_once():
    """Runs of three families that share no size: three sizes are enough, two are not."""
    labels = [f"{family}/auto" for family in FAMILIES[:3]]
    rows = [f"  r{run}: {{from: regulator, pipe: {labels[run % 3]}, length: 1 m}}\n" for run in range(6)]
    loads = [f"  a{run}: {{at: r{run}, input: 5 MJ/h}}\n" for run in range(6)]
    text = (
        "job: Three\ngas: propane\nrule: as-nzs-5601.2\nregulator: {outlet: 2.75 kPa}\n"
        f"runs:\n{''.join(rows)}appliances:\n{''.join(loads)}"
    )
    job = job_from(text, sized=False)
    assert list(contradictions(job, Wishes(most_sizes=3))) == []
    (wrong,) = contradictions(job, Wishes(most_sizes=2))
    assert wrong.what.startswith("no 2 sizes are enough for the choices of every run")
    with pytest.raises(Problems, match="no 2 sizes are enough"):
        size_job(job, wishes=Wishes(most_sizes=2))


@pytest.mark.parametrize("seed", range(40))
def test_contradictions_are_those_that_every_set_shows(seed):
    """So many labels can hit all runs by branching exactly where one of all sets of them does."""
    dice = random.Random(seed)
    job = two_family_job(seed)
    runs = tuple(run._replace(pipes=tuple(dice.sample(run.pipes, dice.randint(1, 3)))) for run in job.runs)
    job = job._replace(runs=runs)
    choices = [{pipe.label for pipe in run.pipes} for run in runs]
    labels = sorted(set().union(*choices))
    for most in range(1, 5):
        few = itertools.combinations(labels, min(most, len(labels)))
        can = any(all(not each.isdisjoint(allowed) for each in choices) for allowed in few)
        assert (not list(contradictions(job, Wishes(most_sizes=most)))) == can
