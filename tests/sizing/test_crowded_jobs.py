"""Jobs with many combinations: proven by our own search, the same as a general solver, and by HiGHS where not."""

import random
import subprocess
import sys

import pytest

import milp
import random_jobs
from drawbar.checking.check import check_job
from drawbar.job import Job
from drawbar.sizing import by_highs
from drawbar.sizing.pareto import Work
from drawbar.sizing.size import Wishes, mass_cost, size
from jobs import job_from

JOBS = [(runs, seed) for runs in (20, 30) for seed in range(15)]
LINEAR_JOBS = [(20, seed) for seed in range(8)]


def plug_in_job(runs: int, seed: int, *, is_linear: bool = False) -> Job:
    """Return a trailer of so many runs with 4 to 6 portable appliances and 5 to 9 outlets."""
    dice = random.Random(f"{seed}-{runs}")
    text = random_jobs.job_text(
        dice,
        runs=runs,
        sizes=dice.choice((random_jobs.SIZES, "auto")),
        portables=3 if is_linear else dice.randint(4, 6),
        outlets=5 if is_linear else dice.randint(5, 9),
        hoses=dice.choice((1, 2)),
        states=dice.random() < 0.4,
        rises=not is_linear,
        formula="pole" if is_linear else "darcy",
    )
    return job_from(text, sized=False)


@pytest.mark.trial
def test_crowded_plug_in_jobs_are_proven(monkeypatch):
    """Our own search proves the least cost of all but one of them, (20, 1); a solver is not asked."""
    monkeypatch.setattr(by_highs, "has_highs", lambda: False)
    results = [size(plug_in_job(*job)) for job in JOBS]
    passing = [result for result in results if result.passes]
    assert len(passing) >= 25
    assert [result.proof for result in passing].count("search") >= len(passing) - 1
    assert all(result.check.pressures_pass for result in passing)


@pytest.mark.trial
@pytest.mark.parametrize(("runs", "seed"), LINEAR_JOBS)
def test_plug_in_jobs_equal_a_general_solver(runs, seed):
    """The least cost is that which HiGHS finds with every combination one programme (by scipy)."""
    job = plug_in_job(runs, seed, is_linear=True)
    reference = milp.least_cost_of_ways(job, mass_cost(job)[0])
    assert reference is not None
    assert size(job).cost == pytest.approx(reference, rel=1e-7)


@pytest.mark.trial
@pytest.mark.parametrize(
    ("runs", "seed", "wishes"),
    [
        (20, 4, Wishes()),
        (20, 3, Wishes()),
        (20, 8, Wishes(no_increase=True)),
        (20, 3, Wishes(no_increase=True)),
        (20, 1, Wishes(most_sizes=2)),
        (20, 3, Wishes(most_sizes=3)),
    ],
)
def test_the_extra_settles_what_the_search_gives_up(monkeypatch, runs, seed, wishes):
    """With next to no work allowed, the search gives up and HiGHS proves what the search proves when it may."""
    job = plug_in_job(runs, seed)
    proven = size(job, wishes=wishes)
    assert proven.proof == "search"
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(100))
    settled = size(job, wishes=wishes)
    assert (settled.proof, settled.is_proven) == ("HiGHS", True)
    assert settled.cost == pytest.approx(proven.cost, rel=1e-9)
    assert settled.least_cost == settled.cost
    assert check_job(settled.sized).pressures_pass


def test_the_solver_cuts_off_what_the_exact_line_fails(monkeypatch):
    """Where the programme's drops are too low, as here by 0.5 %, its answers are sent back until the line passes."""
    job = plug_in_job(20, 3)
    proven = size(job)
    trees = by_highs.stage_trees

    def lower(stage):
        return [
            tree.__class__(
                tree.parents,
                [[0.995 * drop if drop > 0 else drop for drop in row] for row in tree.drops_pa],
                tree.costs,
                tree.needs_pa,
                tree.source_pa,
            )
            for tree in trees(stage)
        ]

    cuts, cuts_of = [], by_highs._cuts
    monkeypatch.setattr(by_highs, "_cuts", lambda *args: [cuts.append(row) or row for row in cuts_of(*args)])
    monkeypatch.setattr(by_highs, "stage_trees", lower)
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(100))
    settled = size(job)
    assert cuts
    assert settled.check.pressures_pass
    assert settled.least_cost <= proven.cost * (1 + 1e-9) <= settled.cost * (1 + 2e-9)
    assert settled.proof == "HiGHS"


def test_without_the_extra_it_is_not_said_to_be_proven(monkeypatch):
    """Without the solver, what the search gives up carries no proof, and its bound is no higher than the least."""
    job = plug_in_job(20, 3)
    proven = size(job)
    monkeypatch.setattr(by_highs, "has_highs", lambda: False)
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(100))
    hurried = size(job)
    assert (hurried.proof, hurried.is_proven) == (None, False)
    assert hurried.least_cost <= proven.cost * (1 + 1e-9) <= hurried.cost * (1 + 2e-9)
    few = size(job, wishes=Wishes(most_sizes=2))
    assert not few.is_proven
    assert few.passes or not few.is_settled


def test_the_solver_s_work_is_counted(monkeypatch):
    """With work for its first two rounds alone it proves less, and a programme that is too large is not begun."""
    job, wishes = plug_in_job(20, 1), Wishes(most_sizes=2)
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: Work(100))
    rounds, solved = [], by_highs._solved
    monkeypatch.setattr(by_highs, "_solved", lambda *args: rounds.append(args[1].factor_count) or solved(*args))
    whole = size(job, wishes=wishes)
    assert (whole.proof, len(rounds)) == ("HiGHS", 3)
    of_two, of_none = sum(rounds[:2]) * 1_002, rounds[0] * 1_000
    for most, count in ((of_two, 2), (of_none, 0)):
        rounds.clear()
        monkeypatch.setattr(by_highs, "_MOST_WORK", most)
        cut_short = size(job, wishes=wishes)
        assert len(rounds) == count
        assert cut_short.proof is None
        assert not cut_short.passes or cut_short.least_cost <= whole.cost * (1 + 1e-9) <= cut_short.cost * (1 + 2e-9)


def test_the_solver_says_nothing_on_standard_output():
    """Only the answer stands on standard output: the solver does not greet there."""
    code = (
        "import sys\n"
        "sys.path[:0] = ['tests/support', 'tests/sizing']\n"
        "import test_crowded_jobs as jobs\n"
        "from drawbar.sizing import choosing\n"
        "choosing.Work = lambda: jobs.Work(100)\n"
        "print(jobs.size(jobs.plug_in_job(20, 3)).proof)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert (done.stdout, done.stderr) == ("HiGHS\n", "")


def test_a_proven_job_does_not_load_the_solver():
    """Where the search proves it, neither the solver nor numpy is loaded by the sizing itself."""
    code = (
        "import sys\n"
        "sys.modules['numpy'] = None\n"
        "sys.path[:0] = ['tests/support']\n"
        "import random, random_jobs\n"
        "from jobs import job_from\n"
        "from drawbar.sizing.size import size\n"
        "print(size(job_from(random_jobs.job_text(random.Random(1), runs=6), sized=False)).proof)\n"
        "print('highspy' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "search\nFalse\n"
