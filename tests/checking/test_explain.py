"""`drawbar explain`: the same figures as check, and a working that a person with a calculator can follow."""

import json
import math
import random
import re

import pytest

import random_jobs
from drawbar.checking.check import check_job
from drawbar.checking.explain import explain, last_stage
from drawbar.job import Job
from drawbar.jobfile.reader import job_of, read_job_file
from drawbar.line.section import SectionFlow
from drawbar.physics.formulas import FORMULAS
from drawbar.report.explain_report import ExplainReport
from drawbar.report.layout import WIDTH, as_text
from drawbar.report.steps import Step, num
from drawbar.sizing.size import with_pipes
from drawbar.verdict import Verdict
from jobs import CATALOGUE, job_from
from paths import EXAMPLES, ROOT

REPORT = ExplainReport(CATALOGUE)
NAMES = (
    "harvest-fair-trailer.yaml",
    "ice-cream-van-fail.yaml",
    "orchard-cookhouse-imperial.yaml",
    "riverboat-two-stage.yaml",
)
ONE_RUN = """\
job: One run
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa, capacity: 1000 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 4 m, rise: 0.5 m, fittings: {elbow-90: 2},
         devices: [{name: valve, flow: 60 MJ/h, drop: 40 Pa}]}
appliances:
  stove: {at: main, input: %s}
"""


def example(name: str) -> Job:
    return read_job_file(str(EXAMPLES / name), CATALOGUE, sized=True)


@pytest.fixture(autouse=True)
def _in_root(monkeypatch):
    """Call the program where the README does."""
    monkeypatch.chdir(ROOT)


def figures(flow: SectionFlow) -> list[object]:
    return [flow.section.name, *(getattr(flow, name) for name in flow._fields if name != "section")]


def by_calculator(formula: str) -> float:
    """Work out a printed formula of figures as a pocket calculator would, from nothing but what is printed."""
    text = re.sub(r"(?<![a-z])x(?![a-z])", "*", formula).replace("^", "**")
    known = {"sqrt": math.sqrt, "exp": math.exp, "ln": math.log, "log10": math.log10, "__builtins__": {}}
    return float(eval(text, known))


def steps_of(job: Job, *names: str | None, formula: str | None = None) -> list[Step]:
    explained = explain(job, *names, formula=formula)
    return [step for part in REPORT.working(explained) for step in part.steps]


# the same as check


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("formula", FORMULAS)
def test_every_appliance_has_the_drop_and_margin_that_check_gives_it(name, formula):
    """In every state, the way explained ends at check's figures, digit for digit."""
    job = example(name)
    for state in check_job(job, formula).states:
        for appliance in state.appliances:
            explained = explain(job, appliance.name, state.name, formula)
            assert (explained.gauge_pa, explained.drop_pa, explained.margin_pa) == (
                appliance.gauge_pa,
                appliance.drop_pa,
                appliance.margin_pa,
            )
            tail = [leg.flow for leg in explained.legs if leg.kind != "Run"]
            assert [figures(flow) for flow in tail] == [figures(flow) for flow in appliance.tail]


@pytest.mark.parametrize("name", NAMES)
def test_every_run_has_the_flow_that_check_gives_it(name):
    """A run is shown in the worst state's worst combination."""
    job = example(name)
    worst = check_job(job).states[0]
    for flow in worst.runs:
        explained = explain(job, flow.section.name)
        assert explained.state.name == worst.name
        assert figures(explained.legs[0].flow) == figures(flow)


def test_without_a_name_the_worst_appliance_of_the_worst_state_is_taken():
    job = example("harvest-fair-trailer.yaml")
    worst = check_job(job).states[0]
    explained = explain(job)
    assert (explained.name, explained.state.name) == ("griddle", "everything")
    assert explained.margin_pa == worst.margin_pa


def test_an_appliance_is_taken_in_its_own_worst_state():
    """The urn is worst off in `everything`, where its own worst place is the rear bayonet."""
    job = example("harvest-fair-trailer.yaml")
    explained = explain(job, "urn")
    margins = {s.name: a.margin_pa for s in check_job(job).states for a in s.appliances if a.name == "urn"}
    assert explained.state.name == min(margins, key=margins.get) == "everything"
    assert explained.legs[-2].flow.section.name == "rear-bayonet"


@pytest.mark.parametrize("seed", range(12))
def test_random_jobs_agree_with_check(seed):
    """Also with plug-ins, second stages and several states, each appliance as in check."""
    dice = random.Random(seed)
    text = random_jobs.job_text(
        dice,
        runs=6,
        sizes=("9.52", "12.70", "15.88", "19.05"),
        portables=3,
        outlets=2,
        hoses=2,
        states=seed % 2 == 0,
        stages=seed % 3 == 0,
    )
    job = job_of(text, f"seed-{seed}", CATALOGUE)
    job = with_pipes(job, {run.name: dice.choice(run.pipes) for run in job.runs})
    for state in check_job(job).states:
        for appliance in state.appliances:
            explained = explain(job, appliance.name, state.name)
            assert explained.drop_pa == pytest.approx(appliance.drop_pa, rel=1e-12)
            assert explained.margin_pa == pytest.approx(appliance.margin_pa, rel=1e-12, abs=1e-9)


def test_too_many_ways_of_plugging_are_explained_by_the_bound_that_check_uses():
    outlets = "".join(f"  o{n}: {{at: main}}\n" for n in range(9))
    portables = "".join(f"  p{n}: {{plugs-into: any, input: {n + 2} MJ/h}}\n" for n in range(9))
    text = ONE_RUN.replace(
        "appliances:\n  stove: {at: main, input: %s}\n", f"outlets:\n{outlets}appliances:\n{portables}"
    )
    job = job_of(text, "many.yaml", CATALOGUE)
    state = check_job(job).states[0]
    assert state.is_bound
    for appliance in state.appliances:
        explained = explain(job, appliance.name)
        assert (explained.drop_pa, explained.margin_pa) == (appliance.drop_pa, appliance.margin_pa)
    assert "too many combinations of plugging in" in as_text(REPORT.page(explained))


# by hand


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("formula", FORMULAS)
def test_every_printed_formula_gives_the_printed_figure(name, formula):
    """Each line, worked out from the six digits printed in it, agrees with its own result to 0.1 %."""
    worked = 0
    for step in steps_of(example(name), formula=formula):
        if step.numbers:
            assert by_calculator(step.numbers) == pytest.approx(float(num(step.value)), rel=1e-3, abs=1e-9), step
            worked += 1
    assert worked > 40


def test_a_job_with_no_flow_laminar_flow_and_a_net_input_is_worked_out_too():
    for rate in ("3 MJ/h", "2 kW", "1 kg/h"):
        for step in steps_of(job_of(ONE_RUN % rate, "small.yaml", CATALOGUE)):
            if step.numbers:
                assert by_calculator(step.numbers) == pytest.approx(float(num(step.value)), rel=1e-3), step


@pytest.mark.parametrize("run", ["main", "rear", "kerbside"])
def test_friction_follows_from_the_printed_givens_alone(drawbar, run):
    """From bore, roughness, length, flow, gas and start as JSON gives them, plain Darcy-Colebrook to 0.2 %.

    The comparison solves Colebrook's equation by substitution and marches down the pipe in 1000 incompressible steps:
    neither is how the program does it.
    """
    call = drawbar("explain", "examples/harvest-fair-trailer.yaml", run, "--format", "json")
    assert (call.code, call.err) == (0, "")
    result = json.loads(call.out)["results"][0]
    given = {step["name"].rsplit(", ", 1)[1]: float(num(step["value"])) for step in result["steps"]}
    area = math.pi / 4 * given["d"] ** 2
    reynolds = 4 * given["m"] / (math.pi * given["d"] * given["mu"])
    f = 0.03
    for _ in range(60):
        f = (-2 * math.log10(given["k"] / (3.7 * given["d"]) + 2.51 / (reynolds * math.sqrt(f)))) ** -2
    pressure = given["p1"]
    for _ in range(1000):
        z = 1 + given["B"] * pressure / (8.314462618 * given["T"])
        density = pressure * given["M"] / (z * 8.314462618 * given["T"])
        pressure -= f * given["Le"] / given["d"] / 1000 * (given["m"] / area) ** 2 / (2 * density)
    dropped = given["p1"] - pressure
    printed = next(step["value"] for step in result["steps"] if step["name"] == "drop in the pipe, dp")
    assert printed == pytest.approx(dropped, rel=2e-3)


def test_both_sides_of_colebrooks_equation_are_shown_and_equal():
    sides = [step.value for step in steps_of(example("harvest-fair-trailer.yaml")) if step.symbol == "x"]
    assert len(sides) == 8  # three runs and a hose
    for left, right in zip(sides[::2], sides[1::2], strict=True):
        assert left == pytest.approx(right, rel=1e-9)


def test_every_given_figure_has_its_source():
    """A figure that is not worked out from others, nor carried over from a line above, says where it stands."""
    steps = [step for name in NAMES for step in steps_of(example(name)) if not step.formula]
    carried = ("m", "p1", "p2", "Le", "L")
    assert len(steps) > 100
    assert [step.name for step in steps if not step.source and step.symbol not in carried] == []


def test_every_formula_of_physics_has_its_source():
    wanted = (
        "pressure of the air",
        "density",
        "compression",
        "second virial",
        "viscosity",
        "friction",
        "what the height",
    )
    steps = [step for step in steps_of(example("riverboat-two-stage.yaml")) if step.name.startswith(wanted)]
    assert len(steps) > 15
    assert [step.name for step in steps if not step.source] == []


# how it reads


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("formula", FORMULAS)
def test_no_line_is_wider_than_a_terminal(name, formula):
    text = as_text(REPORT.page(explain(example(name), formula=formula)))
    assert [line for line in text.splitlines() if len(line) > WIDTH] == []


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (104075.0, "104075"),
        (104007.5627, "104007.56"),
        (7.94914e-6, "7.94914e-6"),
        (4248000.0, "4.248e6"),
        (-2.848406, "-2.84841"),
        (288.15, "288.15"),
        (9999.996, "10000"),
        (0.0010000004, "0.001"),
    ],
)
def test_figures_are_printed_to_six_digits(value, text):
    assert num(value) == text


# Our own output, as it should read; the figures in it are held by the tests above.
LAMINAR = """\
Run main, from the first regulator: as1432-b/12.70, 4 m
----------------------------------------------------------
4.1   pressure at the start, absolute
             p1 = set pressure + pa = 2750 + 101325 = 104075 Pa
4.2   mass flow, from section 3                m = 4.96758e-5 kg/s
4.3   bore of as1432-b/12.70                   d = 0.01088 m                [15]
4.4   length of pipe                           L = 4 m                       [1]
4.5   2 x elbow-90, 30 bores each              n1 = 60 bores                [16]
4.6   length with the fittings
             Le = L + n1 d = 4 + 60 x 0.01088 = 4.6528 m
4.7   area of the bore
              A = pi d^2 / 4 = 3.14159 x 0.01088^2 / 4 = 9.2971e-5 m2
4.8   mass flux
              G = m / A = 4.96758e-5 / 9.2971e-5 = 0.534315 kg/(m2 s)
4.9   Reynolds number
             Re = G d / mu = 0.534315 x 0.01088 / 7.87316e-6 = 738.375
      Below 1900: laminar. The roughness of the wall does not count.
4.10  friction factor
              f = 64 / Re = 64 / 738.375 = 0.0866768                        [17]
4.11  flow term
              E = G^2 R T / M = 0.534315^2 x 8.31446 x 288.15 / 0.0440956
                = 15511.43 Pa2                                              [18]
4.12  friction term
              F = E f Le / d = 15511.43 x 0.0866768 x 4.6528 / 0.01088
                = 574963.32 Pa2                                             [18]
      The pressure after the pipe, p2, stands on both sides of what follows.
      Start with p2 = p1 and go round until it stays: two or three rounds do. It
      comes to:
4.13  pressure after the pipe, absolute        p2 = 104072.29 Pa
4.14  mean pressure
             pm = (p1 + p2) / 2 = (104075 + 104072.29) / 2 = 104073.64 Pa
4.15  compression factor at the mean pressure
              Z = (1 + sqrt(1 + 4 B pm / (R T))) / 2
                = (1 + sqrt(1 + 4 x (-4.26765e-4) x 104073.64 / (8.31446 x
                  288.15))) / 2 = 0.981104                                   [9]
4.16  difference of the squares, p1^2 - p2^2
             D2 = Z (F + 2 E ln(p1 / p2))
                = 0.981104 x (574963.32 + 2 x 15511.43 x ln(104075 / 104072.29))
                = 564099.82 Pa2                                             [18]
4.17  drop in the pipe
             dp = D2 / (p1 + p2) = 564099.82 / (104075 + 104072.29) = 2.7101 Pa
4.18  valve: 40 Pa at 3.31172e-4 kg/s
            dv1 = drop (m / flow)^2 = 40 x (4.96758e-5 / 3.31172e-4)^2 = 0.9 Pa
                                                                            [19]
4.19  height gained from start to end          h = 0.5 m                     [1]
4.20  pressure before the height, absolute
             p3 = p1 - dp - devices = 104075 - 2.7101 - 0.9 = 104071.39 Pa
4.21  compression factor there
             Z3 = (1 + sqrt(1 + 4 B p3 / (R T))) / 2
                = (1 + sqrt(1 + 4 x (-4.26765e-4) x 104071.39 / (8.31446 x
                  288.15))) / 2 = 0.981105                                   [9]
4.22  density of the gas there
            rho = p3 M / (Z3 R T)
                = 104071.39 x 0.0440956 / (0.981105 x 8.31446 x 288.15)
                = 1.95235 kg/m3                                             [10]
4.23  drop by height; below 0 is a gain
             dh = (rho - rho_a) g h = (1.95235 - 1.22499) x 9.80665 x (0.5)
                = 3.5665 Pa                                                 [20]
4.24  drop in this part
             dP = dp + dv1 + dh = 2.7101 + 0.9 + 3.5665 = 7.1766 Pa
4.25  pressure at the end, absolute
             pe = p1 - dP = 104075 - 7.1766 = 104067.82 Pa
4.26  pressure at the end, gauge: 2.743 kPa
             pg = pe - pa = 104067.82 - 101325 = 2742.82 Pa"""


def test_a_laminar_run_reads_whole(drawbar):
    """The fourth section of the text, line by line."""
    call = drawbar("explain", "-", "main", stdin=ONE_RUN % "9 MJ/h")
    assert (call.code, call.err) == (0, "")
    assert call.out.split("\n\n4. ")[1].split("\n\n5. ")[0] == LAMINAR


def test_the_verdict_of_a_failing_job_is_the_exit_code(drawbar):
    call = drawbar("explain", "examples/ice-cream-van-fail.yaml")
    assert (call.code, call.err) == (1, "")
    assert call.out.startswith("Ice-cream van with one thin main (Q-0121): waffle-irons explained: FAIL\n===")
    assert "\n      FAIL: 0.285 kPa short as drawn, 0.459 kPa short at the worst tolerances.\n" in call.out


def test_markdown_has_a_table_a_section(drawbar):
    call = drawbar("explain", "examples/harvest-fair-trailer.yaml", "fryer", "--format", "markdown")
    assert (call.code, call.err) == (0, "")
    assert "\n## 4. Run main, from the first regulator: as1432-b/15.88, 3.6 m\n" in call.out
    assert re.search(r"\n\| 4\.7 +\| area of the bore +\| A = pi d\^2 / 4 = 3\.14159 x 0\.01384\^2 / 4 ", call.out)


def test_a_second_stage_shows_its_inlet_and_counts_the_drop_from_itself(drawbar):
    call = drawbar("explain", "examples/riverboat-two-stage.yaml", "cooker", "--format", "json")
    result = json.loads(call.out)["results"][0]
    steps = {step["name"]: step for step in result["steps"]}
    assert steps["inlet pressure of the run's regulator, gauge, pin"]["value"] == pytest.approx(69265.88, abs=0.01)
    drop = steps["drop from the last regulator to the appliance, dT"]
    assert drop["formula"].startswith("galley + stove = ")
    assert drop["value"] == result["drop_Pa"] < 250


def test_a_line_that_cannot_pass_the_gas_says_so():
    text = (ONE_RUN % "900 MJ/h").replace("as1432-b/12.70", "as1432-b/6.35").replace("length: 4 m", "length: 90 m")
    job = job_of(text, "thin.yaml", CATALOGUE)
    explained = explain(job)
    assert not explained.passes
    assert explained.drop_pa == check_job(job).states[0].appliances[0].drop_pa
    assert "This much gas can't pass" in as_text(REPORT.page(explained))


# what is wrong with a call


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        (("fryr",), "'fryr' is not an appliance or a run of {job}; did you mean `fryer`?"),
        (("--state", "servis"), "'servis' is not a state of {job}; did you mean `service`?"),
        (("--formula", "darcie"), "'darcie' is not a formula; did you mean `darcy`?"),
        (("basin", "--state", "breakfast"), "basin is not on in state breakfast."),
    ],
)
def test_a_wrong_name_ends_with_code_2_and_what_would_fit(drawbar, arguments, text):
    job = "examples/harvest-fair-trailer.yaml"
    call = drawbar("explain", job, *arguments)
    assert (call.code, call.out) == (2, "")
    hint = {"--state": "--state", "--formula": "--formula"}.get(arguments[0], "RUN or APPLIANCE")
    assert call.err == (
        "Usage: drawbar explain [OPTIONS] JOB [RUN or APPLIANCE]\nTry 'drawbar explain --help' for help.\n\n"
        f"Error: Invalid value for {hint}: {text.format(job=job)}\n"
    )


def test_a_job_that_leaves_a_size_open_is_told(drawbar):
    text = (ONE_RUN % "9 MJ/h").replace("as1432-b/12.70", "as1432-b/auto")
    call = drawbar("explain", "-", stdin=text)
    assert (call.code, call.out) == (2, "")
    assert "runs.main.pipe: leaves the size open (10 to choose from)" in call.err


def test_the_last_stage_is_what_lies_after_the_last_regulator():
    """Of three stages the third alone; without a regulator on the way all of it."""
    text = (
        "job: t\ngas: propane\nlimits: {drop: 0.25 kPa}\nregulator: {outlet: 140 kPa}\nruns:\n"
        "  feed: {from: regulator, pipe: as1432-b/12.70, length: 1 m}\n"
        "  middle: {from: feed, pipe: as1432-b/12.70, length: 1 m, regulator: {inlet-min: 90 kPa, outlet: 70 kPa}}\n"
        "  van: {from: middle, pipe: as1432-b/12.70, length: 1 m, regulator: {inlet-min: 30 kPa, outlet: 2.75 kPa}}\n"
        "  leg: {from: van, pipe: as1432-b/12.70, length: 1 m}\n"
        "appliances:\n  fryer: {at: leg, input: 20 MJ/h}\n  torch: {at: feed, input: 20 MJ/h}\n"
    )
    three = explain(job_from(text), "fryer")
    assert [leg.flow.section.name for leg in three.legs] == ["feed", "middle", "van", "leg"]
    assert [leg.flow.section.name for leg in last_stage(three.legs)] == ["van", "leg"]
    assert three.stage_gauge_pa == pytest.approx(2750.0)
    assert [leg.flow.section.name for leg in last_stage(explain(job_from(text), "torch").legs)] == ["feed"]


def test_an_appliance_fails_with_the_regulator_that_feeds_it_and_no_other():
    """Of two second stages one is given less than it needs: what hangs on it fails, the other's appliance does not."""
    text = (
        "job: t\ngas: propane\nlimits: {drop: 0.25 kPa}\nregulator: {outlet: 70 kPa, capacity: 90 MJ/h}\nruns:\n"
        "  feed: {from: regulator, pipe: as1432-b/7.94, length: 20 m}\n"
        "  van: {from: feed, pipe: as1432-b/12.70, length: 1 m,"
        " regulator: {inlet-min: 50 kPa, outlet: 2.75 kPa, capacity: 90 MJ/h}}\n"
        "  store: {from: feed, pipe: as1432-b/12.70, length: 1 m,"
        " regulator: {inlet-min: 69.9 kPa, outlet: 2.75 kPa, capacity: 90 MJ/h}}\n"
        "appliances:\n  fryer: {at: van, input: 20 MJ/h}\n  heater: {at: store, input: 20 MJ/h}\n"
    )
    verdicts = {name: explain(job_from(text), name).verdict for name in ("fryer", "heater")}
    assert verdicts == {"fryer": Verdict.PASS, "heater": Verdict.FAIL}


@pytest.mark.parametrize("seed", range(0, 40, 5))
def test_a_stage_s_inlet_and_an_appliance_s_load_are_those_of_check(seed):
    """What its inlet has over the least, infinite where there is none, and what it burns in that state."""
    job = job_from(random_jobs.job_text(random.Random(seed), 6, states=True, stages=True, sized=True))
    for state in check_job(job).states:
        for appliance in state.appliances:
            explained = explain(job, appliance.name, state.name)
            assert explained.load_w == pytest.approx(appliance.load_w)
            for leg in explained.legs:
                stages = [regulator for regulator in state.regulators if regulator.name == leg.flow.section.name]
                margin_pa = stages[0].margin_pa if stages else math.inf
                assert explained.inlet_margin_pa(leg) == pytest.approx(margin_pa, abs=1e-6)
