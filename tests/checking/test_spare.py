"""What is left: each figure put to the test by adding so much, which passes, and a little more, which fails."""

import math
from collections.abc import Callable, Iterator
from random import Random

import pytest

import drawbar.checking.spare
from drawbar.checking.check import check_job
from drawbar.checking.results import StateResult
from drawbar.checking.spare import MOST_HEAT_W, MOST_LENGTH_M, Headroom, headroom, largest
from drawbar.job import Appliance, Job, State
from drawbar.line.network import Line
from drawbar.line.plugging import Plan, ways
from jobs import job_from
from random_jobs import SIZES, job_text


def random_job(seed: int) -> Job:
    random = Random(seed)
    portables = seed % 4
    text = job_text(
        random,
        random.randint(1, 6),
        SIZES,
        portables=portables,
        outlets=max(seed % 3, 1 if portables else 0),
        hoses=random.randint(0, 2),
        states=seed % 2 == 0,
        stages=seed % 5 == 0,
        sized=True,
    )
    return job_from(text)


def checked(numbers: range, *, passing: bool) -> Iterator[tuple[Job, StateResult, Headroom]]:
    """Yield random jobs that have one state, that state checked, and what it has left."""
    for seed in numbers:
        job = random_job(seed)
        for state in job.states:
            alone = job._replace(states=(state,))
            (result,) = check_job(alone, with_headroom=True).states
            assert result.headroom is not None
            if result.passes is passing:
                yield alone, result, result.headroom


# The jobs are computed as drawn, as what is left is, and asked for their pressures alone: a rating or a rule may be
# over before a pressure is.


def raised(job: Job, name: str, more_w: float) -> Job:
    """Return the job with one appliance drawing so much more in its state."""
    share = dict(job.states[0].shares)[name]

    def more(appliance: Appliance) -> Appliance:
        input_w = appliance.input_w + more_w / share
        return appliance._replace(input_w=input_w, flow_kg_s=input_w / job.gas.gross_j_kg)

    return job._replace(
        appliances=tuple(more(appliance) if appliance.name == name else appliance for appliance in job.appliances)
    )


def lengthened(job: Job, name: str, more_m: float) -> Job:
    return job._replace(
        runs=tuple(run._replace(length_m=run.length_m + more_m) if run.name == name else run for run in job.runs)
    )


@pytest.mark.parametrize(
    "seeds", [range(20), pytest.param(range(20, 60), marks=pytest.mark.trial)], ids=["a few", "many"]
)
def test_an_appliance_can_take_its_headroom_and_no_more(seeds: range) -> None:
    """Raised by what it has left every state passes; by a thousandth more and a watt, it fails."""
    tried = 0
    for job, _, left in checked(seeds, passing=True):
        assert not left.is_bound
        assert list(left.appliances) == [name for name, _ in job.states[0].shares]
        for name, more_w in left.appliances.items():
            assert 0.0 <= more_w < MOST_HEAT_W
            assert check_job(raised(job, name, more_w)).pressures_pass, (job.title, name)
            assert not check_job(raised(job, name, 1.001 * more_w + 1.0)).pressures_pass, (job.title, name)
            tried += 1
    assert tried > len(seeds)


def test_a_run_can_be_longer_by_its_headroom_and_no_more() -> None:
    """Longer by what it has left every state passes; by a thousandth more and a millimetre, it fails."""
    tried = 0
    for job, _, left in checked(range(100, 150), passing=True):
        for name, more_m in left.runs.items():
            assert check_job(lengthened(job, name, more_m)).pressures_pass, (job.title, name)
            if more_m < MOST_LENGTH_M:
                assert not check_job(lengthened(job, name, 1.001 * more_m + 0.001)).pressures_pass, (job.title, name)
                tried += 1
    assert tried > 50


def passes_with(job: Job, state: State, outlet_name: str, more_kg_s: float) -> bool:
    """Tell whether a state passes in every way with more drawn at an outlet, solved with a Line alone.

    Where an appliance is plugged in there, it draws so much more through its hose. Where the outlet is bare, something
    draws it at the outlet itself, which has the allowed drop to keep to.
    """
    line, shares = Line(job), dict(state.shares)
    portable = [appliance for appliance, _ in Plan(job, state).portable]
    for way in ways(job, portable):
        draws = [
            (line.index[appliance.at], (), shares[appliance.name] * appliance.flow_kg_s, appliance.min_gauge_pa)
            for appliance in job.appliances
            if appliance.name in shares and appliance.at is not None
        ]
        for plugged in way:
            appliance, at = plugged.appliance, line.index[plugged.outlet.at]
            flow = shares[appliance.name] * appliance.flow_kg_s + (
                more_kg_s if plugged.outlet.name == outlet_name else 0.0
            )
            draws.append((at, line.tail(plugged.outlet, plugged.hose), flow, appliance.min_gauge_pa))
        if outlet_name not in {plugged.outlet.name for plugged in way}:
            (outlet,) = (outlet for outlet in job.outlets if outlet.name == outlet_name)
            draws.append((line.index[outlet.at], line.tail(outlet, None), more_kg_s, 0.0))
        flows = [sum(flow for at, _, flow, _ in draws if n in line.paths[at]) for n in range(len(job.runs))]
        points = line.solve(flows)
        for at, tail, flow, least_pa in draws:
            abs_pa = points[at]
            for section in tail:
                abs_pa = section.outlet_abs_pa(abs_pa, flow)
            floor_pa = max(line.stage_gauge_pa[at] - job.allowed_drop_pa, least_pa)
            if abs_pa - job.atmospheric_pa < floor_pa - 1e-6:
                return False
        for number in line.stages:
            regulator = job.runs[number].regulator
            assert regulator is not None
            inlet_pa = line.before_regulator_pa(number, points) - job.atmospheric_pa
            if inlet_pa < regulator.inlet_min_gauge_pa - 1e-6:
                return False
    return True


def test_an_outlet_can_give_its_headroom_and_no_more() -> None:
    """Occupied in some combinations and bare in others, or bare in all: the outlet gives so much, and no more."""
    tried = 0
    for job, _, left in checked(range(200, 300), passing=True):
        state = job.states[0]
        assert list(left.outlets) == [outlet.name for outlet in job.outlets]
        for name, more_w in left.outlets.items():
            assert passes_with(job, state, name, more_w / job.gas.gross_j_kg), (job.title, name)
            assert not passes_with(job, state, name, (1.001 * more_w + 1.0) / job.gas.gross_j_kg), (job.title, name)
            tried += 1
    assert tried > 50


TWO_BAYS = """\
job: t
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa}
tolerances: none
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 3 m}
  leg:  {from: main, pipe: as1432-b/9.52, length: 2 m}
outlets:
  used: {at: main, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
  bare: {at: leg, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
hoses:
  hose: {pipe: hose/8, length: 1.5 m}
appliances:
  fryer: {at: main, input: 40 MJ/h}
  urn:   {plugs-into: used, hose: hose, input: 20 MJ/h}
"""


def test_a_bare_outlet_takes_an_appliance_of_its_headroom() -> None:
    """An appliance of that input put into the bare bayonet passes, one of a thousandth more fails."""
    (state,) = check_job(job_from(TWO_BAYS), with_headroom=True).states
    assert state.headroom is not None
    left_mj_h = state.headroom.outlets["bare"] * 0.0036
    assert 5.0 < left_mj_h < 60.0
    put_in = TWO_BAYS + "  more: {plugs-into: bare, input: %.6f MJ/h}\n"
    assert check_job(job_from(put_in % left_mj_h)).pressures_pass
    assert not check_job(job_from(put_in % (1.001 * left_mj_h))).pressures_pass
    # The other is always taken by the urn: what it can give is what the urn can take.
    assert state.headroom.outlets["used"] == state.headroom.appliances["urn"]


def test_nothing_is_left_where_the_state_fails() -> None:
    """A state that does not pass has no headroom anywhere, by every way and by the bound."""
    tried = 0
    for job, _, left in checked(range(150), passing=False):
        assert set((left.appliances | left.outlets | left.runs).values()) == {0.0}
        bound = by_bound(job)
        assert (left.is_bound, bound.is_bound) == (False, True)
        assert set((bound.appliances | bound.outlets | bound.runs).values()) == {0.0}
        tried += 1
    assert tried > 10


def test_nothing_is_left_where_another_appliance_fails_in_another_way() -> None:
    """Of two that want one bayonet the large one fails; the small one, never on with it, has nothing left either."""
    text = TWO_BAYS + "  boiler: {plugs-into: used, input: 150 MJ/h}\n"
    (state,) = check_job(job_from(text), with_headroom=True).states
    assert {appliance.name: appliance.passes for appliance in state.appliances} == {
        "fryer": False,
        "urn": True,
        "boiler": False,
    }
    assert state.headroom is not None
    assert state.headroom.appliances == {"fryer": 0.0, "urn": 0.0, "boiler": 0.0}


def by_bound(job: Job) -> Headroom:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawbar.checking.spare, "_MOST_WAYS_OF_SPARE", 0)
        (state,) = check_job(job, with_headroom=True).states
    assert state.headroom is not None
    return state.headroom


@pytest.mark.parametrize(
    "seeds", [range(300, 330), pytest.param(range(330, 400), marks=pytest.mark.trial)], ids=["a few", "many"]
)
def test_the_bound_never_promises_more(seeds: range) -> None:
    """Where the ways are too many, what is said to be left is no more than what is; with no outlet it is all of it."""
    less = 0
    for job, _, exact in checked(seeds, passing=True):
        bound = by_bound(job)
        assert bound.is_bound
        for kind in ("appliances", "outlets", "runs"):
            figures, others = getattr(bound, kind), getattr(exact, kind)
            assert set(figures) == set(others)
            for name, figure in figures.items():
                # Both stop within 1e-4 of the last that passes.
                assert figure <= others[name] * 1.0002 + 1e-6, (job.title, kind, name)
                if not job.outlets:
                    assert figure == pytest.approx(others[name], rel=2e-4), (job.title, kind, name)
                less += figure < others[name] * 0.999
    assert less > len(seeds) // 10


@pytest.mark.parametrize("start", [1.0, 100.0, 1e4])
@pytest.mark.parametrize("edge", [0.5, 3.0, 37.25, 1234.5, 9.9e4])
@pytest.mark.parametrize(
    "shape",
    [
        pytest.param(lambda x, edge: 1.0 if x <= edge else -1.0, id="step"),
        pytest.param(lambda x, edge: 1e-9 if x <= edge else -1e6, id="cliff"),
        pytest.param(lambda x, edge: 1e6 if x <= edge else -1e-9, id="shelf"),
        pytest.param(lambda x, edge: 0.0 if x <= edge else -1.0, id="nothing to spare"),
        pytest.param(lambda x, edge: edge - x, id="straight"),
        pytest.param(lambda x, edge: edge**2 - x**2, id="square"),
        pytest.param(lambda x, edge: edge**5 - x**5, id="fifth power"),
        pytest.param(lambda x, edge: math.sqrt(edge) - math.sqrt(x), id="root"),
        pytest.param(lambda x, edge: 2 * edge - x if x <= edge else -x, id="slope with a jump"),
    ],
)
def test_largest_finds_the_edge(shape: Callable[[float, float], float], edge: float, start: float) -> None:
    """The last x that passes, to about 1e-4 of itself and never above, straight, curved or jumping, in few looks."""
    looks = 0

    def margin(x: float) -> float:
        nonlocal looks
        looks += 1
        return shape(x, edge)

    last = largest(margin, 1e5, start)
    assert edge * (1.0 - 1.1e-4) <= last <= edge
    assert shape(last, edge) >= 0.0
    assert looks < 100


def test_what_is_left_takes_few_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """9.6 looks on average, as was counted, and twenty-five at most; halving alone would take over twenty."""
    looks: list[int] = []

    def counted(margin: Callable[[float], float], most: float, start: float) -> float:
        looks.append(0)

        def looked(more: float) -> float:
            looks[-1] += 1
            return margin(more)

        return largest(looked, most, start)

    monkeypatch.setattr(drawbar.checking.spare, "largest", counted)
    assert len(list(checked(range(60), passing=True))) > 20
    assert len(looks) > 500
    assert sum(looks) <= 9.6 * len(looks)
    assert max(looks) <= 25


def test_the_work_of_what_is_left_is_counted_in_runs_on_the_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """For each appliance and run in each combination; by the bound fifteen times in each place; else nothing."""
    kinds = set()
    for job, state, _ in checked(range(60), passing=True):
        starts = {run.name: run.start for run in job.runs}
        depths = {}
        for run in job.runs:
            depths[run.name] = 1 + depths.get(run.start, 0)
        steps = (len(state.appliances) + len(starts)) * max(depths.values())
        by_ways, by_bound = steps * (state.ways or 0), steps * state.solved.state_on_line.place_count * 15
        for most, is_bound in ((by_ways, False), (by_ways - 1, None if by_bound >= by_ways else True)):
            monkeypatch.setattr(drawbar.checking.spare, "_MOST_STEPS_OF_SPARE", 3 * most)
            left = headroom(state.solved, states=3)
            assert (None if left is None else left.is_bound) is is_bound
            kinds.add(is_bound)
        monkeypatch.setattr(drawbar.checking.spare, "_MOST_WAYS_OF_SPARE", 0)
        for most, is_told in ((by_bound, True), (by_bound - 1, False)):
            monkeypatch.setattr(drawbar.checking.spare, "_MOST_STEPS_OF_SPARE", most)
            assert (headroom(state.solved) is not None) is is_told
        monkeypatch.undo()
    assert {None, False} <= kinds


def test_largest_at_the_ends() -> None:
    """All of it where nothing fails, none where nothing passes or only zero does."""
    assert largest(lambda _: 1.0, 50.0, 1.0) == 50.0
    assert largest(lambda x: 50.0 - x, 50.0, 1.0) == 50.0
    assert largest(lambda x: 50.0 - x, 50.0, 80.0) == 50.0
    assert largest(lambda _: -1.0, 50.0, 1.0) == 0.0
    assert largest(lambda x: -x, 50.0, 1.0) == pytest.approx(0.0, abs=1e-6)


def test_what_nothing_limits_has_the_most_that_is_told() -> None:
    """A wide and short line: an appliance could be as large as is told at all, and a run as long."""
    text = (
        "job: t\ngas: propane\nlimits: {drop: 2 kPa}\nregulator: {outlet: 2.75 kPa}\nruns:\n"
        "  main: {from: regulator, pipe: {bore: 300 mm}, length: 1 m}\nappliances:\n  urn: {at: main, input: 1 MJ/h}\n"
    )
    (state,) = check_job(job_from(text), with_headroom=True).states
    assert state.headroom is not None
    assert state.headroom.appliances == {"urn": pytest.approx(MOST_HEAT_W)}
    assert state.headroom.runs == {"main": pytest.approx(MOST_LENGTH_M)}
    bound = by_bound(job_from(text))
    assert (bound.appliances, bound.runs) == (
        {"urn": pytest.approx(MOST_HEAT_W)},
        {"main": pytest.approx(MOST_LENGTH_M)},
    )


def test_an_outlet_by_the_bound_has_what_the_least_of_its_appliances_has() -> None:
    """By the bound an outlet could give what every appliance that fits it could take more; one that none fits, none."""
    compared = 0
    for job, _, _ in checked(range(400, 430), passing=True):
        bound, names = by_bound(job), dict(job.states[0].shares)
        for outlet in job.outlets:
            fits = [a.name for a in job.appliances if a.name in names and outlet.name in a.plugs_into]
            assert bound.outlets[outlet.name] == min((bound.appliances[name] for name in fits), default=0.0)
            compared += len(fits)
    assert compared > 10


def test_what_is_left_is_worked_out_where_it_is_asked_for() -> None:
    """It takes several times as long as the check."""
    assert [state.headroom for state in check_job(random_job(1)).states] == [None]


def test_a_pascal_to_spare_is_something_to_spare() -> None:
    """At a margin of half a pascal there is something left, if little."""
    text = (
        "job: t\ngas: propane\nlimits: {drop: DROP Pa}\nregulator: {outlet: 2.75 kPa}\nruns:\n"
        "  main: {from: regulator, pipe: {bore: 10 mm}, length: 3 m}\nappliances:\n  urn: {at: main, input: 30 MJ/h}\n"
    )
    (state,) = check_job(job_from(text.replace("DROP", "500"))).states
    just = text.replace("DROP", f"{state.appliances[0].drop_pa + 0.5:.4f}")
    (state,) = check_job(job_from(just), with_headroom=True).states
    assert state.headroom is not None
    assert 0.4 < state.margin_pa < 0.6
    assert 0.0 < state.headroom.appliances["urn"] < 200.0
    assert 0.0 < state.headroom.runs["main"] < 0.1
