"""Combinations: all of them, each once, the worst of them in the check, and the bound where they are too many."""

import itertools
import math
import time
from random import Random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from drawbar.checking.check import check_job
from drawbar.checking.results import StateResult
from drawbar.job import Appliance, Job, State
from drawbar.line import plugging
from drawbar.line.budget import Budget
from drawbar.line.network import Line
from drawbar.line.plugging import MOST_WAYS, Plan, TooManyWays, few_ways, largest_draw, ways, work_of_look
from jobs import job_from
from random_jobs import SIZES, job_text, small_jobs

Placed = tuple[str, str, str | None]  # appliance, outlet, hose

HEAD = """\
job: t
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa}
"""
TWO_POINTS = (
    HEAD
    + """\
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 3 m}
  near: {from: main, pipe: as1432-b/12.70, length: 0.5 m}
  far:  {from: main, pipe: as1432-b/9.52, length: 4 m}
outlets:
  near-bay: {at: near, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
  far-bay:  {at: far, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
hoses:
  only-hose: {pipe: hose/8, length: 1.5 m, count: 1}
"""
)


def on_in(job: Job, state: State) -> list[Appliance]:
    shares = dict(state.shares)
    return [appliance for appliance in job.appliances if appliance.name in shares and appliance.at is None]


def plain_ways(job: Job, portable: list[Appliance]) -> set[frozenset[Placed]]:
    """Every partial assignment that outlets and hoses allow, less those with room for one more as the rest stand."""
    counts = {hose.name: math.inf if hose.count is None else hose.count for hose in job.hoses}
    options: list[list[Placed]] = [
        [(appliance.name, outlet, hose) for outlet in appliance.plugs_into for hose in appliance.hoses or (None,)]
        for appliance in portable
    ]

    def allowed(way: tuple[Placed, ...]) -> bool:
        outlets = [outlet for _, outlet, _ in way]
        used = [hose for _, _, hose in way if hose is not None]
        return len(set(outlets)) == len(outlets) and all(used.count(hose) <= counts[hose] for hose in used)

    allowed_ways = set()
    for picks in itertools.product(*([None, *each] for each in options)):
        way = tuple(pick for pick in picks if pick is not None)
        left_out = [more for each, pick in zip(options, picks, strict=True) if pick is None for more in each]
        if allowed(way) and not any(allowed((*way, more)) for more in left_out):
            allowed_ways.add(frozenset(way))
    return allowed_ways


def named(way: tuple[plugging.Plugged, ...]) -> frozenset[Placed]:
    return frozenset(
        (plugged.appliance.name, plugged.outlet.name, plugged.hose.name if plugged.hose else None) for plugged in way
    )


def assert_the_plain_ways(seeds: range) -> None:
    for seed, job in small_jobs(seeds):
        for state in job.states:
            portable = on_in(job, state)
            named_ways = [named(way) for way in ways(job, portable)]
            assert len(named_ways) == len(set(named_ways)), f"seed {seed}: a way twice"
            assert set(named_ways) == plain_ways(job, portable), f"seed {seed}"


def test_ways_are_those_of_a_plain_enumeration() -> None:
    """Restricted outlets, hose counts, `any`, no hose: the same ways as trying everything, each once."""
    assert_the_plain_ways(range(150))


@pytest.mark.long
def test_ways_are_those_of_a_plain_enumeration_at_length() -> None:
    """The same for many more jobs."""
    assert_the_plain_ways(range(150, 3000))


def worst_by_plain_enumeration(job: Job, state: State) -> dict[str, tuple[float, float]]:
    """Each appliance's (drop, margin) [Pa] in its worst of all plain ways, each way solved for itself on a Line."""
    line = Line(job)
    shares = dict(state.shares)
    appliances = {appliance.name: appliance for appliance in job.appliances}
    outlets, hoses = {outlet.name: outlet for outlet in job.outlets}, {hose.name: hose for hose in job.hoses}
    fixed = [appliance for appliance in job.appliances if appliance.name in shares and appliance.at is not None]
    worst: dict[str, tuple[float, float]] = {}
    for way in plain_ways(job, on_in(job, state)):
        places = [(appliance, line.index[appliance.at or ""], ()) for appliance in fixed]
        for name, outlet, hose in way:
            tail = line.tail(outlets[outlet], hoses[hose] if hose else None)
            places.append((appliances[name], line.index[outlets[outlet].at], tail))
        flows = [
            math.fsum(
                shares[appliance.name] * appliance.flow_kg_s for appliance, at, _ in places if number in line.paths[at]
            )
            for number in range(len(job.runs))
        ]
        point_pa = line.solve(flows)
        for appliance, at, tail in places:
            abs_pa = point_pa[at]
            for section in tail:
                abs_pa = section.outlet_abs_pa(abs_pa, shares[appliance.name] * appliance.flow_kg_s)
            gauge_pa = abs_pa - job.atmospheric_pa
            drop_pa = line.stage_gauge_pa[at] - gauge_pa
            margin_pa = min(job.allowed_drop_pa - drop_pa, gauge_pa - appliance.min_gauge_pa)
            if appliance.name not in worst or margin_pa < worst[appliance.name][1]:
                worst[appliance.name] = (drop_pa, margin_pa)
    return worst


def test_check_reports_the_worst_of_the_plain_enumeration() -> None:
    """Every appliance's drop and margin are those of its worst way, and the number of ways is right."""
    for seed, job in small_jobs(range(200, 260)):
        results = {state.name: state for state in check_job(job).states}
        for state in job.states:
            result, worst = results[state.name], worst_by_plain_enumeration(job, state)
            assert (
                {appliance.name for appliance in result.appliances} == set(worst) == {name for name, _ in state.shares}
            )
            assert result.ways == len(plain_ways(job, on_in(job, state)))
            for appliance in result.appliances:
                expected = pytest.approx(worst[appliance.name], abs=1e-6)
                assert (appliance.drop_pa, appliance.margin_pa) == expected, (
                    f"seed {seed}, {state.name}, {appliance.name}"
                )


def test_two_appliances_and_one_hose() -> None:
    """Each has the one hose in a way of its own, so both are checked, each as it burns without the other."""
    both = "  big:   {plugs-into: any, hose: only-hose, input: 40 MJ/h}\n"
    both += "  small: {plugs-into: near-bay, hose: only-hose, input: 15 MJ/h}\n"
    job = job_from(TWO_POINTS + "appliances:\n" + both)
    (state,) = check_job(job).states
    assert state.ways == 3  # big at either bayonet, or small at the near one
    assert {named(way) for way in ways(job, list(job.appliances))} == {
        frozenset({("big", "near-bay", "only-hose")}),
        frozenset({("big", "far-bay", "only-hose")}),
        frozenset({("small", "near-bay", "only-hose")}),
    }
    assert [(appliance.name, appliance.outlet, appliance.hose) for appliance in state.appliances] == [
        ("big", "far-bay", "only-hose"),
        ("small", "near-bay", "only-hose"),
    ]
    # Alone on the line, each has the very same figures; the most that burns is the larger of the two.
    for appliance, line in zip(state.appliances, both.splitlines(keepends=True), strict=True):
        (alone,) = check_job(job_from(TWO_POINTS + "appliances:\n" + line)).states
        assert appliance.drop_pa == pytest.approx(alone.appliances[0].drop_pa, abs=1e-9)
    assert state.total_w * 0.0036 == pytest.approx(40.0)


def test_an_outlet_that_two_appliances_want() -> None:
    """Two appliances that fit one bayonet alone burn one at a time; without a contest both burn at once."""
    wanting = (
        "appliances:\n  kettle: {plugs-into: near-bay, input: 20 MJ/h}\n  stove: {plugs-into: %s, input: 30 MJ/h}\n"
    )
    (contested,) = check_job(job_from(TWO_POINTS + wanting % "near-bay")).states
    assert contested.ways == 2
    assert contested.total_w * 0.0036 == pytest.approx(30.0)
    (free,) = check_job(job_from(TWO_POINTS + wanting % "far-bay")).states
    assert free.ways == 1
    assert free.total_w * 0.0036 == pytest.approx(50.0)
    assert free.appliances[0].drop_pa > contested.appliances[0].drop_pa  # the stove's gas passes the main as well


def test_a_place_is_not_left_free_as_long_as_something_fits() -> None:
    """With two of a hose and two bayonets, both appliances are on in every way."""
    text = TWO_POINTS.replace("count: 1", "count: 2") + "appliances:\n"
    text += "  a: {plugs-into: any, hose: any, input: 20 MJ/h}\n  b: {plugs-into: any, hose: any, input: 30 MJ/h}\n"
    job = job_from(text)
    assert {named(way) for way in ways(job, list(job.appliances))} == {
        frozenset({("a", "near-bay", "only-hose"), ("b", "far-bay", "only-hose")}),
        frozenset({("a", "far-bay", "only-hose"), ("b", "near-bay", "only-hose")}),
    }


# the bound


def by_bound(job: Job, monkeypatch: pytest.MonkeyPatch) -> dict[str, StateResult]:
    with monkeypatch.context() as patch:
        patch.setattr(plugging, "MOST_WAYS", 0)
        return {state.name: state for state in check_job(job).states}


def test_the_bound_is_never_too_low(monkeypatch: pytest.MonkeyPatch) -> None:
    """Taken by the bound, no appliance has less drop, no regulator more pressure, than in its worst way."""
    above = 0
    for seed, job in small_jobs(range(300, 380)):
        bounds = by_bound(job, monkeypatch)
        for exact in check_job(job).states:
            bound = bounds[exact.name]
            if not any(appliance.outlet for appliance in exact.appliances):
                assert not bound.is_bound  # nothing is plugged in: there is one way
                assert bound.margin_pa == exact.margin_pa
                continue
            assert bound.is_bound
            assert bound.ways is None
            assert not exact.is_bound
            for appliance, other in zip(bound.appliances, exact.appliances, strict=True):
                assert appliance.name == other.name
                assert appliance.drop_pa >= other.drop_pa - 1e-6, f"seed {seed}, {exact.name}, {appliance.name}"
                assert appliance.margin_pa <= other.margin_pa + 1e-6, f"seed {seed}, {exact.name}, {appliance.name}"
                above += appliance.drop_pa > other.drop_pa + 1e-3
            for regulator, other in zip(bound.regulators, exact.regulators, strict=True):
                assert regulator.load_w >= other.load_w * (1.0 - 1e-12)
                if other.inlet_gauge_pa is not None:
                    assert regulator.inlet_gauge_pa is not None
                    assert regulator.inlet_gauge_pa <= other.inlet_gauge_pa + 1e-6
            assert bound.total_w >= exact.total_w * (1.0 - 1e-12)
    assert above > 20  # among them are jobs where the bound and the worst way differ


def test_the_bound_is_exact_where_nothing_contends(monkeypatch: pytest.MonkeyPatch) -> None:
    """With an outlet for each appliance and hoses enough, the most that can flow is what flows."""
    for seed in range(40):
        random = Random(seed)
        count = random.randint(1, 4)
        base = job_text(random, random.randint(2, 8), SIZES, outlets=count, sized=True, stages=seed % 4 == 0)
        hose = "hoses:\n  hose: {pipe: hose/8, length: 1.2 m}\n"
        portables = "".join(
            f"  own-{n}: {{plugs-into: outlet-{n}, hose: hose, input: {random.randint(5, 30)} MJ/h}}\n"
            for n in range(count)
        )
        job = job_from(base.replace("appliances:\n", hose + "appliances:\n") + portables)
        (exact,), (bound,) = check_job(job).states, by_bound(job, monkeypatch).values()
        assert (exact.ways, bound.ways) == (1, None)
        assert [appliance.drop_pa for appliance in bound.appliances] == pytest.approx(
            [appliance.drop_pa for appliance in exact.appliances], rel=1e-12, abs=1e-9
        )
        assert bound.total_w == pytest.approx(exact.total_w, rel=1e-12)
        for regulator, other in zip(bound.regulators, exact.regulators, strict=True):
            assert (regulator.inlet_gauge_pa or 0.0) == pytest.approx(other.inlet_gauge_pa or 0.0, rel=1e-12)


def test_the_bound_counts_an_appliance_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One portable that may go to either bayonet burns in one place at a time: bound and worst way are the same."""
    job = job_from(TWO_POINTS + "appliances:\n  stove: {plugs-into: any, hose: any, input: 30 MJ/h}\n")
    (exact,), (bound,) = check_job(job).states, by_bound(job, monkeypatch).values()
    assert (exact.ways, bound.ways) == (2, None)
    assert bound.appliances[0].drop_pa == pytest.approx(exact.appliances[0].drop_pa, rel=1e-12)
    assert bound.total_w == pytest.approx(exact.total_w, rel=1e-12)


def pairs_of_appliances(*pairs: tuple[int, int, int]) -> Job:
    """Return a job with two appliances for each (a, b, both): they fit a and b outlets, of which `both` are shared.

    A pair alone has a x b - both combinations, as the two can't share one outlet.
    """
    outlets, appliances = [], []
    for number, (first, second, both) in enumerate(pairs):
        names = [f"bay-{number}-{n}" for n in range(first + second - both)]
        outlets += [f"  {name}: {{at: main}}\n" for name in names]
        for which, bays in (("a", names[:first]), ("b", names[len(names) - second :])):
            appliances.append(f"  {which}-{number}: {{plugs-into: [{', '.join(bays)}], input: 5 MJ/h}}\n")
    runs = "runs:\n  main: {from: regulator, pipe: as1432-b/25.40, length: 1 m}\n"
    return job_from(HEAD + runs + "outlets:\n" + "".join(outlets) + "appliances:\n" + "".join(appliances))


def test_the_switch_to_the_bound_is_over_ten_thousand_ways() -> None:
    """10 000 ways are tried, 10 001 are not."""
    assert MOST_WAYS == 10_000
    job = pairs_of_appliances((10, 10, 0), (10, 10, 0))  # 100 x 100
    few = few_ways(job, list(job.appliances))
    assert few is not None
    assert len(few) == len(set(map(named, few))) == 10_000
    job = pairs_of_appliances((9, 9, 8), (12, 12, 7))  # 73 x 137
    assert sum(1 for _ in ways(job, list(job.appliances))) == 10_001
    assert few_ways(job, list(job.appliances)) is None
    assert Plan(job, job.states[0]).ways is None
    assert check_job(job).states[0].is_bound


def test_surely_many_is_sure() -> None:
    """Where the count says without a search that the ways are too many, they are more than it allows."""
    refused = 0
    for _, job in small_jobs(range(400, 480)):
        portable = [appliance for appliance in job.appliances if appliance.at is None]
        count = len(plain_ways(job, portable))
        for most in (1, 3, 10, 30):
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(plugging, "MOST_WAYS", most)
                many = plugging._surely_more(job, portable, plugging.MOST_WAYS)
                assert not many or count > most
                refused += many
                assert (few_ways(job, portable) is None) == (count > most)
    assert refused > 20


def test_the_work_of_a_look_is_counted_in_runs_and_places() -> None:
    """In all ways the runs and what is plugged in; by the bound the runs, and each outlet with each kind of hose."""
    for _, job in small_jobs(range(950, 980)):
        for state in job.states:
            plan, runs = Plan(job, state), len(job.runs)
            portable = on_in(job, state)
            assert work_of_look(plan) == len(plan.ways or ()) * (runs + len(portable))
            bounded = Plan(job, state, Budget(0, 0))
            places = sum(len(each.plugs_into) * (len(each.hoses) or 1) for each in portable)
            assert work_of_look(bounded) == (runs + places if portable else runs)


def test_a_search_ends_where_its_budget_is_spent() -> None:
    """It counts down by a step for each place that is tried, over all states that share the budget."""
    job = pairs_of_appliances((4, 4, 0))
    portable = list(job.appliances)
    assert sum(1 for _ in ways(job, portable, Budget(steps=100))) == 16
    with pytest.raises(TooManyWays):
        list(ways(job, portable, Budget(steps=10)))
    budget = Budget(steps=30)
    assert few_ways(job, portable, budget) is not None
    assert few_ways(job, portable, budget) is None
    least = next(steps for steps in range(100) if few_ways(job, portable, Budget(steps=steps)) is not None)
    assert few_ways(job, portable, Budget(steps=100 * least, solved=7 * 16), 7) is not None
    assert few_ways(job, portable, Budget(steps=100 * least, solved=7 * 16 - 1), 7) is None
    shared = Budget(steps=100 * least, solved=7 * 16 + 7 * 15)
    assert few_ways(job, portable, shared, 7) is not None
    assert (shared.solved, few_ways(job, portable, shared, 7)) == (7 * 15, None)


@pytest.mark.parametrize(
    ("appliances", "outlets", "hoses", "count"),
    [
        (1, 1, [], 1),
        (3, 5, [], 5 * 4 * 3),  # each in turn has one outlet less
        (5, 3, [], 5 * 4 * 3),  # each outlet in turn has one appliance less
        (4, 4, [], 4 * 3 * 2),
        (2, 3, ["hoses"], 3 * 2),
        (2, 3, ["a", "b"], 3 * 2 * 2 * 2),
        (2, 2, ["one: 1", "other: 1"], 2 * 2),  # the second has the hose that the first left
        (2, 3, ["one: 1", "many: 9"], (3 * 2) * (2 * 1)),
        (3, 1, ["a", "b"], 3),  # where no outlet is left the next is not counted
    ],
)
def test_the_count_without_a_search_is_exact_where_all_fits_all(appliances, outlets, hoses, count) -> None:
    """By the products of what each has to choose from; a count of one hose in short supply is never above."""
    lines = [HEAD, "runs:\n  main: {from: regulator, pipe: as1432-b/19.05, length: 3 m}\noutlets:\n"]
    lines += [f"  bay-{number}: {{at: main, devices: none}}\n" for number in range(outlets)]
    names = [hose.partition(": ") for hose in hoses]
    if hoses:
        lines += ["hoses:\n"]
        lines += [f"  {name}: {{pipe: hose/8, length: 1 m{', count: ' + n if n else ''}}}\n" for name, _, n in names]
    takes = f"hose: [{', '.join(name for name, *_ in names)}]" if hoses else "hose: none"
    lines += ["appliances:\n"]
    lines += [f"  unit-{number}: {{plugs-into: any, {takes}, input: 9 MJ/h}}\n" for number in range(appliances)]
    job = job_from("".join(lines))
    portable = list(job.appliances)
    assert plugging._surely_more(job, portable, count - 1)
    assert not plugging._surely_more(job, portable, count)
    assert len(plain_ways(job, portable)) >= count


@pytest.mark.timing
def test_many_appliances_and_outlets_answer_in_under_a_second() -> None:
    """Eight portables, six outlets and two kinds of hose, with what is left for each: in under a second of CPU time."""
    lines = [HEAD, "runs:\n  main: {from: regulator, pipe: as1432-b/19.05, length: 3 m}\n"]
    start = "main"
    for n in range(6):
        lines.append(f"  leg-{n}: {{from: {start}, pipe: as1432-b/15.88, length: 0.8 m, rise: 0.1 m}}\n")
        start = f"leg-{n}" if n % 2 else start
    lines.append("outlets:\n")
    lines += [
        f"  bay-{n}: {{at: leg-{n}, devices: [{{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}}]}}\n" for n in range(6)
    ]
    lines.append("hoses:\n  short: {pipe: hose/8, length: 1 m, count: 4}\n  long: {pipe: hose/10, length: 2 m}\n")
    lines.append("appliances:\n")
    lines += [f"  unit-{n}: {{plugs-into: any, hose: any, input: {4 + 2 * n} MJ/h}}\n" for n in range(8)]
    job = job_from("".join(lines))
    started = time.process_time()
    result = check_job(job, with_headroom=True)
    taken_s = time.process_time() - started
    assert taken_s < 1.0, f"{taken_s:.2f} s"
    (state,) = result.states
    assert state.is_bound
    assert len(state.appliances) == 8
    assert state.headroom is not None
    assert state.headroom.is_bound


def test_largest_draw_is_that_of_an_assignment_solver() -> None:
    """The most that a set of appliances draws from a set of outlets is scipy's best assignment."""
    random = Random(7)
    for _ in range(400):
        outlets = [f"bay-{n}" for n in range(random.randint(1, 7))]
        candidates = []
        for n in range(random.randint(1, 9)):
            fits = tuple(random.sample(outlets, random.randint(1, len(outlets))))
            flow_kg_s = random.choice((1e-4, 2e-4, random.uniform(1e-5, 5e-4)))
            candidates.append((Appliance(f"unit-{n}", 1.0, flow_kg_s, plugs_into=fits), flow_kg_s))
        asked = random.sample(outlets, random.randint(1, len(outlets)))
        gain = np.array(
            [[flow if name in appliance.plugs_into else 0.0 for name in asked] for appliance, flow in candidates]
        )
        rows, columns = linear_sum_assignment(gain, maximize=True)
        assert largest_draw(candidates, asked) == pytest.approx(gain[rows, columns].sum(), rel=1e-12)
