"""Sizes that are come to step by step under many scenarios, beside the exact search."""

import random

import pytest

from drawbar.sizing import pareto
from drawbar.sizing.choosing import Choosing
from drawbar.sizing.pareto import cheapest
from drawbar.sizing.size import mass_cost, size
from drawbar.sizing.stage import Stage, stage_trees
from drawbar.sizing.stepwise import passes_exactly, stepwise
from jobs import job_from


def many_states(runs: int, states: int, seed: int) -> str:
    """Return a job of open runs whose states burn each other appliances at other shares."""
    rng = random.Random(seed)
    starts = ["regulator", *(f"r{max(0, number - rng.randint(1, 4))}" for number in range(1, runs))]
    ends = [f"r{number}" for number in range(runs) if f"r{number}" not in starts]
    lines = ["job: Many states", "gas: propane", "limits: {drop: 0.25 kPa}", "tolerances: none"]
    lines += ["regulator: {outlet: 2.75 kPa, capacity: 2000 MJ/h}", "runs:"]
    lines += [
        f"  r{number}: {{from: {start}, pipe: as1432-b/auto, length: {rng.uniform(0.3, 2.0):.2f} m}}"
        for number, start in enumerate(starts)
    ]
    lines += ["appliances:", *(f"  a{end}: {{at: {end}, input: {rng.uniform(5, 40):.1f} MJ/h}}" for end in ends)]
    lines.append("states:")
    for state in range(states):
        on = (
            ", ".join(f"a{end}: {rng.randint(20, 100)} %" for end in ends if rng.random() < 0.7) or f"a{ends[0]}: 100 %"
        )
        lines.append(f"  s{state}: {{{on}}}")
    return "\n".join(lines)


def stage_of(text: str) -> Stage:
    """Return the one stage of a job under the worst scenario of every state."""
    job = job_from(text, sized=False)
    choosing = Choosing(job, mass_cost(job)[0])
    choosing.take_in_failing(choosing.lines[0])  # with the smallest of all choices everywhere
    ((_, stage),) = choosing.stages([range(len(run.pipes)) for run in job.runs])
    return stage


@pytest.mark.parametrize("seed", range(12))
def test_what_is_come_to_passes_and_costs_little_more_than_the_least(seed: int) -> None:
    """It keeps every limit exactly, and costs no less than the exact search and at most a fifth more."""
    stage = stage_of(many_states(12, 4, seed))
    picks = stepwise(stage, [tree.drops_pa for tree in stage_trees(stage)])
    exact = cheapest(stage)
    assert picks is not None
    assert exact is not None
    assert passes_exactly(stage, picks)
    assert passes_exactly(stage, exact.picks)
    cost = sum(options[pick].cost for options, pick in zip(stage.options, picks, strict=True))
    assert exact.cost * (1.0 - 1e-9) <= cost <= 1.2 * exact.cost


def test_one_size_smaller_than_the_exact_choice_does_not_pass() -> None:
    """The exact look at a choice sees the run that is too small."""
    stage = stage_of(many_states(12, 4, 3))
    exact = cheapest(stage)
    assert exact is not None
    smallest = [min(range(len(options)), key=lambda pick: options[pick].cost) for options in stage.options]
    for number, (pick, least) in enumerate(zip(exact.picks, smallest, strict=True)):
        if pick != least:
            dearer = stage.options[number][pick].cost
            cheaper = [n for n, option in enumerate(stage.options[number]) if option.cost < dearer]
            next_cheaper = max(cheaper, key=lambda n: stage.options[number][n].cost)
            changed = [next_cheaper if at == number else each for at, each in enumerate(exact.picks)]
            assert not passes_exactly(stage, changed)


def test_a_job_too_large_to_search_has_sizes_that_pass_and_says_that_they_are_not_proven(monkeypatch) -> None:
    """Where a node could keep few choices, the sizes are those of the steps, and the check of the whole passes."""
    monkeypatch.setattr(pareto, "_MOST_FIGURES", 100)
    monkeypatch.setattr("drawbar.sizing.by_highs.has_highs", lambda: False)
    job = job_from(many_states(40, 12, 5), sized=False)
    proven = size(job)
    monkeypatch.setattr("drawbar.sizing.choosing.Work", lambda: pareto.Work(-1))
    stepped = size(job)
    assert stepped.proof is None
    assert stepped.check.pressures_pass
    assert stepped.least_cost is not None
    assert proven.cost is not None
    assert stepped.cost is not None
    assert stepped.least_cost <= proven.cost <= stepped.cost <= 1.2 * proven.cost
