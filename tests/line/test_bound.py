"""The bound over combinations that are too many: beside every combination of jobs that have few, one by one."""

from collections.abc import Iterator

import pytest
from test_plugging import named, on_in, plain_ways

from drawbar.job import Job, State
from drawbar.line.budget import Budget
from drawbar.line.network import Line
from drawbar.line.plugging import Plan
from drawbar.line.state import StateOnLine
from drawbar.line.worst_way import worst_tried
from jobs import job_from
from random_jobs import small_jobs

NOTHING = (0, 0)  # steps and work of a search that finds every state too large


def states(numbers: range, *, tight: bool = False) -> Iterator[tuple[Job, State, StateOnLine]]:
    """Yield small jobs' states in which something is plugged in, with every combination; second stages made tight."""
    for _, drawn in small_jobs(numbers):
        job = with_tight_stages(drawn) if tight else drawn
        for state in job.states:
            exact = StateOnLine(Line(job), Plan(job, state))
            if exact.plan.portable:
                yield job, state, exact


def with_tight_stages(job: Job) -> Job:
    """Return a job whose second stages need all but 5 Pa of what the first is set to."""
    least_pa = job.regulator.outlet_gauge_pa - 5.0
    return job._replace(
        runs=tuple(
            run._replace(regulator=run.regulator._replace(inlet_min_gauge_pa=least_pa)) if run.regulator else run
            for run in job.runs
        )
    )


def bounded(job: Job, state: State, *, each_place: bool) -> StateOnLine:
    return StateOnLine(Line(job), Plan(job, state, Budget(*NOTHING), each_place=each_place))


def test_one_bound_for_all_places_is_below_one_for_each_and_that_below_every_combination() -> None:
    """Margin by margin, of every appliance and every second stage, and of the state."""
    lower = lowest = 0
    for job, state, exact in states(range(500, 560)):
        each, shared = (bounded(job, state, each_place=each_place) for each_place in (True, False))
        assert (each.ways, shared.ways) == (None, None)
        for name, place in exact.solved.places.items():
            margins_pa = [solved.places[name].margin_pa for solved in (shared.solved, each.solved)]
            assert margins_pa[0] <= margins_pa[1] + 1e-9
            assert margins_pa[1] <= place.margin_pa + 1e-9
            lower += margins_pa[1] < place.margin_pa - 1e-3
            lowest += margins_pa[0] < margins_pa[1] - 1e-3
        for number, margin_pa in exact.solved.inlet_margins_pa.items():
            for other in (each, shared):
                assert other.solved.inlet_margins_pa[number] <= margin_pa + 1e-9
                assert other.solved.loads_kg_s[number] >= exact.solved.loads_kg_s[number] - 1e-12
        assert shared.bound_margin_pa() <= each.bound_margin_pa() + 1e-9 <= exact.worst()[0] + 2e-9
    assert lower > 5
    assert lowest > 5


def test_the_worst_is_named_with_its_margin() -> None:
    """The least of all margins, of an appliance or a second stage's inlet, by trying and by the bound."""
    stages = 0
    for job, state, exact in states(range(560, 640), tight=True):
        for on_line in (exact, bounded(job, state, each_place=True)):
            solved = on_line.solved
            margins_pa = {place.end.name: place.margin_pa for place in solved.places.values()}
            margins_pa |= {job.runs[number].name: pa for number, pa in solved.inlet_margins_pa.items()}
            margin_pa, name = on_line.worst()
            assert margin_pa == min(margins_pa.values())
            assert margins_pa[name] == margin_pa
            stages += name not in solved.places
    assert stages > 5


def test_of_ways_that_are_equally_bad_the_first_is_taken() -> None:
    """Two bayonets at one place: whichever the urn is plugged into, and what is shown is the first."""
    job = job_from(
        "job: t\ngas: propane\nlimits: {drop: 1 kPa}\nregulator: {outlet: 2.75 kPa}\nruns:\n"
        "  main: {from: regulator, pipe: as1432-b/12.70, length: 3 m}\n"
        "outlets:\n  left: {at: main, devices: none}\n  right: {at: main, devices: none}\n"
        "appliances:\n  urn: {plugs-into: any, hose: none, input: 20 MJ/h}\n"
    )
    on_line = StateOnLine(Line(job), Plan(job, job.states[0]))
    assert on_line.ways is not None
    assert len(on_line.ways) == 2
    assert on_line.worst_of(on_line.ways).way is on_line.ways[0]
    assert on_line.worst_of(on_line.ways[::-1]).way is on_line.ways[1]
    assert on_line.solved.worst is not None
    assert on_line.solved.worst.way is on_line.ways[0]
    assert on_line.solved.ranked_ways()[0] is on_line.ways[0]


def test_what_is_shown_of_a_bounded_state_is_of_its_worst_place() -> None:
    """What is plugged in there, and the flows on the way to it."""
    for job, state, _ in states(range(760, 800)):
        solved = bounded(job, state, each_place=True).solved
        worst = min(solved.places.values(), key=lambda place: place.margin_pa).end
        assert solved.worst is None
        assert solved.plugged == ((worst.plugged,) if worst.plugged else ())
        assert solved.flows == solved.flows_to(worst.name)


def test_what_is_tried_is_a_combination_in_which_the_appliance_stands_where_it_is_worst() -> None:
    """Each is one of all the combinations, solved; in nearly all jobs it is the worst that there is."""
    tried = worst = 0
    for job, state, exact in states(range(640, 720)):
        by_bound = bounded(job, state, each_place=True)
        every = plain_ways(job, on_in(job, state))
        least_pa = min(place.margin_pa for place in exact.solved.places.values())
        places = worst_tried(by_bound, by_bound.solved.places)
        for name, place in places.items():
            assert place.solved_way is not None
            assert named(tuple(end.plugged for end in place.solved_way.way if end.plugged)) in every
            again = exact.solve_way(place.solved_way.way)
            assert again.margins_pa[[end.name for end in again.way].index(name)] == place.margin_pa
            assert exact.solved.places[name].margin_pa <= place.margin_pa + 1e-9
        tried += 1
        worst += min(place.margin_pa for place in places.values()) <= least_pa + 1e-6
    assert worst > 0.9 * tried


def test_the_flows_of_the_bound_are_the_most_of_any_combination() -> None:
    """By run, what any combination sends through it and no more where no hose is short; to an end, with the end in."""
    for job, state, exact in states(range(720, 760)):
        by_bound = bounded(job, state, each_place=True)
        assert exact.ways is not None
        flows = [exact.flows(way) for way in exact.ways]
        hoses_are_many = all(hose.count is None for hose in job.hoses)
        for number in range(len(job.runs)):
            most_kg_s = max(flow[number] for flow in flows)
            bound_kg_s = by_bound.bound_flow_kg_s(number, None)
            assert bound_kg_s >= most_kg_s - 1e-12
            if hoses_are_many:
                assert bound_kg_s == pytest.approx(most_kg_s, abs=1e-12)
        for name in by_bound.solved.places:
            place = by_bound.solved.places[name]
            with_it = [
                flow
                for way, flow in zip(exact.ways, flows, strict=True)
                if any(end.name == name and end.plugged == place.end.plugged for end in way)
            ]
            for number in exact.line.paths[place.end.at]:
                assert by_bound.solved.flows_to(name)[number] >= max(flow[number] for flow in with_it) - 1e-12
        assert by_bound.solved.most_kg_s >= exact.solved.most_kg_s - 1e-12
