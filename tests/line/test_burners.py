"""Burners as fixed orifices: flows and pressures solved together."""

import math
import random

import pytest
from fluids.flow_meter import flow_meter_discharge
from scipy.optimize import brentq, root

import drawbar.line.burners
from commission_jobs import BOAT, CARAVAN, JOBS, TRAILER, TWO_STAGE, job, setups
from drawbar.checking.check import check_job
from drawbar.job import Job
from drawbar.line.burners import Burner, Solution, orifice_flow_kg_s, solve
from drawbar.line.network import Line
from drawbar.onsite.testpoints import Altered, Model, Setup
from drawbar.physics.friction import LAMINAR_BELOW

CASES = 60  # for each job


def scaled(base: Job, rng: random.Random) -> Job:
    """Return the job with each bore, and each appliance's rate, other than it is: some lines starve."""
    runs = tuple(
        run._replace(pipes=(run.pipes[0]._replace(bore_m=run.pipes[0].bore_m * rng.uniform(0.5, 1.2)),))
        for run in base.runs
    )
    appliances = tuple(
        appliance._replace(flow_kg_s=appliance.flow_kg_s * rng.uniform(0.3, 1.8)) for appliance in base.appliances
    )
    return base._replace(runs=runs, appliances=appliances)


def lit(base: Job, setup: Setup) -> tuple[Line, list[Burner]]:
    model = Model(base, fixed_orifice=True)
    return model.line, model.burners(setup)


def inlets_gauge_pa(line: Line, burners: list[Burner], flows: list[float]) -> list[float]:
    """Pressures by the tree's own solution at given flows: nothing of the solver under test."""
    outlets = line.solve(line.flows([(b.at, float(q)) for b, q in zip(burners, flows, strict=True)]))
    gauge_pa = []
    for burner, flow in zip(burners, flows, strict=True):
        pressure = outlets[burner.at]
        for section in burner.tail:
            pressure = section.outlet_abs_pa(pressure, float(flow))
        gauge_pa.append(pressure - line.conditions.atmospheric_pa)
    return gauge_pa


def test_flow_goes_with_the_root_of_pressure() -> None:
    """A burner's flow changes with pressure as ISO 5167's orifice equation has it (by the fluids library)."""

    def reference(gauge_pa: float) -> float:
        return flow_meter_discharge(D=0.012, Do=0.001, P1=101_325 + gauge_pa, P2=101_325, rho=1.9, C=0.6)

    for gauge_pa in (50.0, 687.5, 1375.0, 2475.0, 2750.0, 3700.0):
        ratio = orifice_flow_kg_s(1.0, gauge_pa, 2750.0)
        assert ratio == pytest.approx(reference(gauge_pa) / reference(2750.0), rel=1e-12)
    assert orifice_flow_kg_s(1.0, 2750.0 / 4, 2750.0) == 0.5
    assert orifice_flow_kg_s(1.0, -5.0, 2750.0) == 0.0


@pytest.mark.parametrize("text", JOBS, ids=["trailer", "caravan", "two-stage", "boat"])
def test_agrees_with_a_root_finder(text: str) -> None:
    """On branched jobs of every shape, scipy's root-finder comes to the same flows and pressures."""
    rng, compared, worst = random.Random(11), 0, 0.0
    for _ in range(CASES):
        line, burners = lit(scaled(job(text), rng), rng.choice(setups(text)))
        rated = [burner.flow_kg_s for burner in burners]

        def residual(shares, line=line, burners=burners, rated=rated):
            flows = [share * flow for share, flow in zip(shares, rated, strict=True)]
            inlets = inlets_gauge_pa(line, burners, flows)
            return [
                share * abs(share) - inlet / burner.nominal_gauge_pa
                for share, inlet, burner in zip(shares, inlets, burners, strict=True)
            ]

        solved = solve(line, burners, fixed_orifice=True)
        for start in (0.9, 0.6, 0.3, 0.1):
            reference = root(residual, [start] * len(burners), method="hybr", tol=1e-12)
            if max(map(abs, residual(reference.x))) < 1e-9:
                break
        else:
            continue  # the answer lies on the step of friction at Re 1900, on which there is no root to find
        compared += 1
        for share, flow_kg_s, burner in zip(reference.x, solved.flows_kg_s, burners, strict=True):
            worst = max(worst, abs(flow_kg_s / burner.flow_kg_s - share))
        inlets = inlets_gauge_pa(line, burners, [s * q for s, q in zip(reference.x, rated, strict=True)])
        for inlet, solved_pa in zip(inlets, solved.inlets_pa, strict=True):
            assert solved_pa - line.conditions.atmospheric_pa == pytest.approx(inlet, abs=1e-4)
    assert worst < 1e-8
    assert compared >= 0.95 * CASES, f"only {compared} of {CASES} could be compared"


def test_answer_on_the_step_of_friction() -> None:
    """Where the burner settles on the step at Re 1900, halving finds the same flow, and the pressure lies between."""
    base = job(CARAVAN)
    line = Line(base._replace(runs=(base.runs[0]._replace(length_m=60.0),)))
    part = line.sections[0]
    step_kg_s = LAMINAR_BELOW * math.pi * part.pipe.bore_m * line.conditions.vapour.viscosity_pa_s / 4.0

    def gauge_pa(flow_kg_s: float) -> float:
        return part.outlet_abs_pa(line.source_abs_pa, flow_kg_s) - line.conditions.atmospheric_pa

    before, behind = gauge_pa(step_kg_s * 0.999999), gauge_pa(step_kg_s * 1.000001)
    assert before - behind > 20.0
    middle = 0.5 * (before + behind)
    rated = step_kg_s * math.sqrt(3000.0 / middle)
    burner = Burner("one", 0, (), rated, 3000.0)
    solved = solve(line, [burner], fixed_orifice=True)
    reference = brentq(lambda q: gauge_pa(q) - 3000.0 * (q / rated) ** 2, 1e-9, 2.0 * rated, xtol=1e-16, rtol=1e-13)
    assert solved.flows_kg_s[0] == pytest.approx(reference, rel=2e-7)
    assert solved.inlets_pa[0] - line.conditions.atmospheric_pa == pytest.approx(middle, abs=0.01)


def law_errors(line: Line, burners: list[Burner], solved: Solution) -> list[float]:
    atmospheric_pa = line.conditions.atmospheric_pa
    return [
        flow / orifice_flow_kg_s(burner.flow_kg_s, inlet - atmospheric_pa, burner.nominal_gauge_pa) - 1.0
        for burner, flow, inlet in zip(burners, solved.flows_kg_s, solved.inlets_pa, strict=True)
    ]


@pytest.mark.parametrize("text", JOBS, ids=["trailer", "caravan", "two-stage", "boat"])
def test_every_burner_meets_its_law(text: str) -> None:
    """Starved or not, every burner's flow is that of its orifice at its own inlet pressure, to a billionth or so."""
    rng = random.Random(5)
    for _ in range(150):
        base = scaled(job(text), rng)
        if rng.random() < 0.3:  # one run all but closed
            number = rng.randrange(len(base.runs))
            pipe = base.runs[number].pipes[0]._replace(bore_m=0.002)
            runs = [r._replace(pipes=(pipe,)) if n == number else r for n, r in enumerate(base.runs)]
            base = base._replace(runs=tuple(runs))
        line, burners = lit(base, rng.choice(setups(text)))
        solved = solve(line, burners, fixed_orifice=True)
        scale = [
            b.nominal_gauge_pa / max(p - line.conditions.atmospheric_pa, 1.0)
            for b, p in zip(burners, solved.inlets_pa, strict=True)
        ]
        assert max(abs(error) / s for error, s in zip(law_errors(line, burners, solved), scale, strict=True)) < 2e-9


@pytest.mark.parametrize(
    ("text", "average"),
    [(TRAILER, 6.7), (CARAVAN, 6.3), (TWO_STAGE, 6.1), (BOAT, 5.8)],
    ids=["trailer", "caravan", "two-stage", "boat"],
)
def test_the_answer_comes_in_few_turns(text: str, average: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Newton's slopes are good enough for some six solutions of the line, as was counted, and thirteen at most.

    Halving alone would take some thirty for each burner.
    """
    looks = 0

    class Counted(drawbar.line.burners._Try):
        __slots__ = ()

        def __init__(self, line: Line, burners: list[Burner], flows: list[float]) -> None:
            nonlocal looks
            looks += 1
            super().__init__(line, burners, flows)

    monkeypatch.setattr(drawbar.line.burners, "_Try", Counted)
    rng, every = random.Random(5), 0
    for _ in range(CASES):
        base = scaled(job(text), rng)
        if rng.random() < 0.3:  # one run all but closed
            number = rng.randrange(len(base.runs))
            pipe = base.runs[number].pipes[0]._replace(bore_m=0.002)
            base = base._replace(
                runs=tuple(run._replace(pipes=(pipe,)) if n == number else run for n, run in enumerate(base.runs))
            )
        line, burners = lit(base, rng.choice(setups(text)))
        looks = 0
        solve(line, burners, fixed_orifice=True)
        assert looks <= 13
        every += looks
    assert every <= average * CASES


def test_a_lower_regulator_lowers_every_flow() -> None:
    """With the regulator at less, every burner on the line draws less; behind a second stage nothing changes."""
    for text, are_behind_second in ((TRAILER, False), (BOAT, False), (TWO_STAGE, True)):
        base = job(text)
        low = base.regulator._replace(outlet_gauge_pa=0.9 * base.regulator.outlet_gauge_pa)
        lower = Line(base._replace(regulator=low))
        for setup in setups(text):
            model = Model(base, fixed_orifice=True)
            before = solve(model.line, model.burners(setup), fixed_orifice=True)
            after = solve(lower, model.burners(setup, Altered(lower)), fixed_orifice=True)
            for was, now in zip(before.flows_kg_s, after.flows_kg_s, strict=True):
                assert (now == was) if are_behind_second else (0.9 * was < now < 0.96 * was)


@pytest.mark.parametrize("formula", ["pole", "renouard", "spitzglass", "ifgc"])
def test_every_burner_meets_its_law_by_a_code_formula_too(formula: str) -> None:
    """Which have no step of friction; beside scipy's root for the flow of one burner alone."""
    rng = random.Random(3)
    for text in JOBS:
        base = scaled(job(text), rng)._replace(formula=formula)
        line, burners = lit(base, setups(text)[0])
        line = Line(base, formula=formula)
        solved = solve(line, burners, fixed_orifice=True)
        assert max(map(abs, law_errors(line, burners, solved))) < 1e-7
        (alone,) = burners[:1]
        single = solve(line, [alone], fixed_orifice=True)

        def short(share: float, line: Line = line, alone: Burner = alone) -> float:
            (gauge_pa,) = inlets_gauge_pa(line, [alone], [share * alone.flow_kg_s])
            return gauge_pa - alone.nominal_gauge_pa * share**2

        share = brentq(short, 1e-6, 3.0, xtol=1e-15, rtol=1e-14)
        assert single.flows_kg_s[0] == pytest.approx(share * alone.flow_kg_s, rel=1e-8)


def test_a_narrow_run_starves_what_is_behind_it_and_feeds_the_rest() -> None:
    """With a run narrowed, the burners after it draw less, the others a little more, and all together less."""
    base, setup = job(CARAVAN), setups(CARAVAN)[2]
    model = Model(base, fixed_orifice=True)
    runs = [
        run._replace(pipes=(run.pipes[0]._replace(bore_m=0.6 * run.pipes[0].bore_m),)) if run.name == "back" else run
        for run in base.runs
    ]
    narrow = Line(base._replace(runs=tuple(runs)))
    before = solve(model.line, model.burners(setup), fixed_orifice=True)
    after = solve(narrow, model.burners(setup, Altered(narrow)), fixed_orifice=True)
    change = {
        b.name: now - was for b, was, now in zip(model.burners(setup), before.flows_kg_s, after.flows_kg_s, strict=True)
    }
    assert change["fridge"] < 0.0
    assert change["shower"] < 0.0
    assert change["hob"] > 0.0
    assert change["heater"] > 0.0
    assert sum(change.values()) < 0.0


@pytest.mark.parametrize("text", JOBS, ids=["trailer", "caravan", "two-stage", "boat"])
def test_at_rated_input_pressures_are_those_of_check(text: str) -> None:
    """At rated input, each inlet in the worst combination is at least check's figure of its own worst."""
    model = Model(job(text), fixed_orifice=False)
    states = {state.name: state for state in check_job(job(text)).states}
    for setup in setups(text):
        gauge_pa, state = model.gauge_pa(setup), states[setup.state.name]
        assert {plugged.appliance.name: plugged.outlet.name for plugged in setup.way} == {
            plugged.appliance.name: plugged.outlet.name for plugged in state.plugged
        }
        for flow in state.runs:
            assert gauge_pa[flow.section.name] == flow.outlet_abs_pa - job(text).atmospheric_pa
        worst = min(state.appliances, key=lambda appliance: appliance.margin_pa)
        assert gauge_pa[worst.name] == worst.gauge_pa
        assert all(gauge_pa[appliance.name] >= appliance.gauge_pa - 1e-9 for appliance in state.appliances)


def test_a_line_that_can_t_feed_its_burners_is_solved() -> None:
    """Where rated flows would choke the pipe and some burners all but go out, each burner still meets its law."""
    ends = "".join(
        f"  e{n}: {{from: {'main' if n < 4 else f'e{n - 4}'}, pipe: as1432-b/7.94, length: 8 m}}\n" for n in range(40)
    )
    appliances = "".join(f"  a{n}: {{at: e{n}, input: {20 + n} MJ/h}}\n" for n in range(40))
    text = (
        "job: Starved\ngas: propane\nlimits: {drop: 0.25 kPa}\nregulator: {outlet: 2.75 kPa}\n"
        f"runs:\n  main: {{from: regulator, pipe: as1432-b/7.94, length: 5 m}}\n{ends}appliances:\n{appliances}"
    )
    line, burners = lit(job(text), setups(text)[0])
    assert min(line.solve(line.flows([(each.at, each.flow_kg_s) for each in burners]))) == 0.0  # choked
    solution = solve(line, burners, fixed_orifice=True)
    for burner, flow, gauge_pa in zip(
        burners, solution.flows_kg_s, inlets_gauge_pa(line, burners, list(solution.flows_kg_s)), strict=True
    ):
        assert gauge_pa == pytest.approx(
            burner.nominal_gauge_pa * (flow / burner.flow_kg_s) ** 2, abs=1e-6 * burner.nominal_gauge_pa
        )
