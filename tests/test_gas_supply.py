"""The supply: bottles read from a job, what they give by our own model, and the command."""

import csv
import io
import itertools
import json
import math
import re
from pathlib import Path

import pytest
import yaml

from drawbar.checking.check import check_job
from drawbar.display_units import METRIC
from drawbar.gas_supply.by_use import bottles_verdict
from drawbar.gas_supply.duty_text import DutyError, parse_duty
from drawbar.gas_supply.supply import NoCylinders, NoSuchState, supply
from drawbar.physics.cooling import EMPTY, GOING, STARVED, Duty, course, liquid_heat_j_mol_k
from drawbar.physics.cylinder import Bottle, settled_k, steady_offtake, wetted_area_m2
from drawbar.physics.liquid import full_of, left_of, mass_kg, volume_m3
from drawbar.physics.saturation import vaporisation_j_mol
from drawbar.problems import Problems
from drawbar.report.display import Shown
from drawbar.report.reasons import reason_words
from drawbar.verdict import Verdict
from gases import gas
from jobs import CATALOGUE, job_from
from paths import DATA, EXAMPLE

NINE = Bottle(9.0, 0.312, 0.0216, 9.0, 12.5, 490.0)
LEAST_PA = 101325.0 + 30e3
CELSIUS = 273.15

JOB = """\
job: Pie cart
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa, capacity: 60 MJ/h}
cylinders: {size: 9 kg, count: 2, fill: 50 %, ambient: 5 degC}
runs:
  main: {from: regulator, pipe: as1432-b/15.88, length: 2 m}
appliances:
  oven: {at: main, input: 20 MJ/h}
  grill: {at: main, input: 50 MJ/h}
states:
  baking: [oven]
  lunch: [oven, grill]
"""


def job(old="", new=""):
    assert not old or JOB.count(old) == 1
    return job_from(JOB.replace(old, new), sized=False)


def propane(kg=4.5):
    return full_of(gas({"propane": 1.0}), kg)


def mixture(fill=0.5, kg=9.0, celsius=10.0):
    return left_of(full_of(gas({"propane": 0.6, "n-butane": 0.4}), kg), fill, celsius + CELSIUS)


# data


CYLINDERS = yaml.safe_load((DATA / "cylinders.yaml").read_text(encoding="utf-8"))
SI = {"kg": 1.0, "lb": 0.45359237, "mm": 1e-3, "in": 0.0254, "L": 1e-3}


def si(text):
    number, unit = text.split(" ")
    return float(number) * SI[unit]


@pytest.mark.parametrize("name", CYLINDERS)
def test_each_usual_size_is_a_bottle(name):
    """The name is the gas it holds; that fits in it, and it fits in its own diameter and height; it has a source."""
    row = CYLINDERS[name]
    assert row["gas"] == " ".join(name.split("-")[:2])
    # ADR, P200: 0.42 to 0.44 kg of propane and up to 0.52 kg of n-butane to the litre of water, from memory.
    assert 0.38 < si(row["gas"]) / si(row["water-capacity"]) / 1e3 < 0.52
    around_m3 = math.pi / 4.0 * si(row["diameter"]) ** 2 * si(row["height"])
    is_composite = row.get("wall") == "composite"  # light, and its diameter and height are those of its casing
    assert (0.4 if is_composite else 0.5) < si(row["water-capacity"]) / around_m3 < 0.95
    low, high = (0.4, 0.8) if is_composite else (0.6, 1.6)
    assert low < si(row["tare"]) / si(row["gas"]) < high
    assert len(row["source"]) > 8


@pytest.mark.parametrize("name", ["20-lb", "30-lb", "40-lb", "100-lb"])
def test_american_sizes_hold_42_percent_of_their_water(name):
    """49 CFR 173.304a: filling density of propane 42 %; water at 1 kg to the litre."""
    row = CYLINDERS[name]
    assert si(row["water-capacity"]) * 1e3 == pytest.approx(si(row["gas"]) / 0.42, rel=0.003)


def test_no_two_sizes_are_one():
    """Every usual size is found by its own gas, so that none hides another, or by its name where that says more."""
    for name, row in CYLINDERS.items():
        by_mass = CATALOGUE.bottle(si(row["gas"]))
        assert CATALOGUE.bottle_called(name).name == name
        if name.count("-") == 1:
            assert by_mass.name == name
        else:  # never a composite one for a bottle of which nothing is said
            assert by_mass is None or by_mass.name == "-".join(name.split("-")[:2])
    assert CATALOGUE.bottle(10.0) is None


def test_a_bottle_by_its_name():
    """`like` takes the composite bottle of a size; one of another size, and one that is none, are told."""
    composite = job("size: 9 kg", "size: 5 kg, like: 5-kg-composite").cylinders
    assert (composite.name, composite.bottle.coefficient_w_m2_k) == ("5-kg-composite", 10.0)
    assert composite.heat_source.startswith("our own choice")
    assert composite.bottle.tare_kg == 3.3
    steel = job("size: 9 kg", "size: 5 kg").cylinders
    assert (steel.name, steel.bottle.coefficient_w_m2_k) == ("5-kg", 12.5)
    assert steel.heat_source.startswith("fitted to the table")
    for like, message in (
        ("10-kg-composite", "holds another mass of gas than the size says; write `size: 10 kg`, or another `like`"),
        ("5-kg-composit", "is not a bottle of the catalogue; did you mean `5-kg-composite`?"),
    ):
        with pytest.raises(Problems, match=re.escape(message)):
            job("size: 9 kg", f"size: 5 kg, like: {like}")


def test_the_model_s_figures_name_their_sources():
    """Each number of vaporisation.yaml has a source, but the threshold that tells low pressure."""
    data = yaml.safe_load((DATA / "vaporisation.yaml").read_text(encoding="utf-8"))
    of_fit = {"fit_left_kg", "fit_air_k", "fit_within"}
    assert set(data) - {"source", "low_pressure_outlet_pa"} - of_fit | {"fit"} == set(data["source"])
    assert "fitted" in data["source"]["coefficient_w_m2_k"]


# reading


def test_a_usual_size_takes_its_dimensions_from_the_data():
    """9 kg is the 9-kg cylinder, and the regulator's least inlet is the low-pressure one with its source."""
    bottles = job().cylinders
    assert bottles.bottle == NINE
    assert (bottles.name, bottles.source) == ("9-kg", "makers' and fillers' leaflets, from memory")
    assert bottles.least_gauge_pa == 30e3
    assert bottles.least_source.startswith("EN 16129, lowest inlet pressure of low-pressure regulators")


def test_pounds_and_kilograms_are_told_apart():
    """20 lb is not 9 kg, though they are 0.8 % apart."""
    assert job("size: 9 kg", "size: 20 lb").cylinders.name == "20-lb"


def test_a_bottle_of_one_s_own():
    """All three dimensions are taken; one beside a usual size replaces that size's."""
    bottles = job("size: 9 kg", "size: 10 kg, diameter: 300 mm, water-capacity: 24 L, tare: 5 kg").cylinders
    assert bottles.bottle == Bottle(10.0, pytest.approx(0.3), pytest.approx(0.024), 5.0, 12.5, 490.0)
    assert (bottles.name, bottles.source) == (None, "given in the job file")
    part = job("size: 9 kg", "size: 9 kg, tare: 4 kg").cylinders
    assert (part.bottle.tare_kg, part.bottle.diameter_m) == (4.0, pytest.approx(0.312))
    assert (part.name, part.source) == (None, "given in the job file, the rest as the 9-kg cylinder")


@pytest.mark.parametrize(
    ("regulator", "least_pa", "source"),
    [
        ("{outlet: 2.75 kPa, inlet-min: 70 kPa}", 70e3, "given in the job file"),
        ("{outlet: 70 kPa}", 120e3, "EN 16129, lowest inlet pressure of medium-pressure regulators"),
    ],
)
def test_the_least_pressure_in_the_bottle(regulator, least_pa, source):
    """The job's own `inlet-min` first; else by the regulator's outlet."""
    bottles = job("{outlet: 2.75 kPa, capacity: 60 MJ/h}", regulator).cylinders
    assert bottles.least_gauge_pa == pytest.approx(least_pa)
    assert bottles.least_source.startswith(source)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            "size: 9 kg",
            "size: 10 kg, tare: 9 kg",
            "5:19: cylinders.size: `10 kg` is not a usual size; write `diameter:` and `water-capacity:` beside it, or "
            "one of 3.9 kg, 4.5 kg, 5 kg, 6 kg, 7 kg, 8.5 kg, 9 kg, 20 lb, 30 lb, 40 lb, 100 lb, 11 kg, 13 kg, 15 kg, "
            "19 kg, 33 kg, 45 kg, 47 kg, 2.75 kg, 3 kg, 2.7 kg, or `like: 10-kg-composite`",
        ),
        ("fill: 50 %", "fill: 120 %", "5:41: cylinders.fill: `120 %` can't be right; write from 1 % to 100 %"),
        (
            "size: 9 kg",
            "size: 9 kg, water-capacity: 9 L",
            "5:41: cylinders.water-capacity: 9 L can't hold `9 kg` of this gas as a liquid; write what is stamped on "
            "the bottle",
        ),
        (
            "size: 9 kg",
            "size: 9 kg, diameter: 1 m",
            "5:35: cylinders.diameter: a bottle of 21.6 L would be 28 mm high at 1000 mm across; measure the diameter "
            "again",
        ),
        (
            "outlet: 2.75 kPa",
            "outlet: 2.75 kPa, inlet-min: 2 kPa",
            "4:42: regulator.inlet-min: is not above the outlet pressure; a regulator can only lower a pressure",
        ),
    ],
)
def test_what_can_not_be_right_is_told(old, new, message):
    """Each with its line and column, and what would fit."""
    with pytest.raises(Problems, match=f"^job.yaml:{re.escape(message)}$"):
        job(old, new)


# what a bottle gives


def test_wetted_area_is_that_of_a_flat_cylinder():
    """Half a litre in a bottle 100 mm across stands 63.7 mm high and wets 0.0279 m2, worked by hand."""
    assert wetted_area_m2(0.0005, 0.1) == pytest.approx(0.007854 + 0.1 * math.pi * 0.06366, rel=1e-4)


@pytest.mark.parametrize("liquid", [propane, mixture])
def test_colder_air_a_lower_fill_and_a_higher_least_pressure_give_less(liquid):
    """The three ways to less offtake."""
    plain = steady_offtake(NINE, liquid(), 283.15, LEAST_PA).gross_w
    assert 0.0 < steady_offtake(NINE, liquid(), 278.15, LEAST_PA).gross_w < plain
    assert 0.0 < steady_offtake(NINE, liquid(), 283.15, LEAST_PA + 40e3).gross_w < plain
    less = propane(2.0) if liquid is propane else mixture(0.25)
    assert 0.0 < steady_offtake(NINE, less, 283.15, LEAST_PA).gross_w < plain


def test_butane_gives_nothing_in_the_cold():
    """At 0 degC n-butane has less pressure than the regulator needs: no offtake, and it starves at once."""
    liquid = full_of(gas({"n-butane": 1.0}), 5.0)
    assert steady_offtake(NINE, liquid, CELSIUS, LEAST_PA).gross_w == 0.0
    butane = course(NINE, liquid, 1000.0, CELSIUS, LEAST_PA)
    assert (butane.ended, butane.time_s, butane.left_kg) == (STARVED, 0.0, pytest.approx(5.0))


def test_the_liquid_settles_where_heat_in_is_heat_out():
    """At the steady offtake it settles at the least temperature; at half of it, heat through the wall balances."""
    steady = steady_offtake(NINE, propane(), 283.15, LEAST_PA)
    assert settled_k(NINE, propane(), 283.15, steady.gross_w, 200.0) == pytest.approx(steady.liquid_k, abs=0.01)
    half_k = settled_k(NINE, propane(), 283.15, 0.5 * steady.gross_w, 200.0)
    component, moles = propane()[0]
    gone_w = 0.5 * steady.gross_w / component.gross_j_mol * vaporisation_j_mol(half_k, component)
    wall_m2 = wetted_area_m2(volume_m3([(component, moles)], half_k), NINE.diameter_m)
    assert 12.5 * wall_m2 * (283.15 - half_k) == pytest.approx(gone_w, rel=1e-5)


# in time


CASES = [
    (propane(), 131.0, None),
    (propane(), 20.0, None),
    (mixture(), 60.0, None),
    (mixture(), 80.0, Duty(600.0, 1200.0)),
]


@pytest.mark.parametrize(("liquid", "mj_h", "duty"), CASES)
def test_the_course_conserves_mass(liquid, mj_h, duty):
    """What has left the bottle, by parts and their gross heat, is the load times the time it was on."""
    cooling = course(NINE, liquid, mj_h / 0.0036, 283.15, LEAST_PA, duty=duty)
    last = cooling.points[-1]
    burnt_j = sum((n - m) * component.gross_j_mol for (component, n), m in zip(liquid, last.moles, strict=True))
    on_s = cooling.time_s
    if duty is not None:
        whole, rest_s = divmod(cooling.time_s, duty.on_s + duty.off_s)
        on_s = whole * duty.on_s + min(rest_s, duty.on_s)
    assert burnt_j == pytest.approx(mj_h / 0.0036 * on_s, rel=1e-9)
    gone_kg = sum((n - m) * component.molar_mass_kg_mol for (component, n), m in zip(liquid, last.moles, strict=True))
    assert mass_kg(liquid) - gone_kg == pytest.approx(cooling.left_kg, rel=1e-12)


@pytest.mark.parametrize(("liquid", "mj_h", "duty"), CASES)
def test_the_course_conserves_energy(liquid, mj_h, duty):
    """Heat taken in is heat of vaporisation of what left, less what liquid and wetted steel gave up in cooling.

    Summed here over the points by the trapezoid rule, 60 s apart at most.
    """
    cooling = course(NINE, liquid, mj_h / 0.0036, 283.15, LEAST_PA, duty=duty, step_s=60.0)
    parts = [component for component, _ in liquid]
    spent_j = 0.0
    for point, following in itertools.pairwise(cooling.points):
        middle_k = 0.5 * (point.liquid_k + following.liquid_k)
        moles = [0.5 * (a + b) for a, b in zip(point.moles, following.moles, strict=True)]
        held = list(zip(parts, moles, strict=True))
        wet_share = wetted_area_m2(volume_m3(held, middle_k), NINE.diameter_m) / NINE.wall_m2
        capacity = wet_share * NINE.tare_kg * NINE.steel_j_kg_k
        capacity += sum(n * liquid_heat_j_mol_k(middle_k, part) for part, n in held)
        spent_j += capacity * (following.liquid_k - point.liquid_k)
        for part, before, after in zip(parts, point.moles, following.moles, strict=True):
            spent_j += (before - after) * vaporisation_j_mol(middle_k, part)
    assert cooling.points[-1].heat_j > 1e4
    assert cooling.points[-1].heat_j == pytest.approx(spent_j, rel=2e-3)


@pytest.mark.parametrize(("liquid", "mj_h", "duty"), CASES)
def test_the_course_converges_as_the_step_falls(liquid, mj_h, duty):
    """Beside steps of 4 s: steps of up to an hour are within 2e-5 of the time, 60 s within 1e-6, 8 s within 2e-8."""

    def time_s(step_s):
        cooling = course(NINE, liquid, mj_h / 0.0036, 283.15, LEAST_PA, duty=duty, step_s=step_s)
        assert cooling.ended == STARVED
        return cooling.time_s

    finest_s = time_s(4.0)
    assert time_s(3600.0) == pytest.approx(finest_s, rel=2e-5)
    assert time_s(60.0) == pytest.approx(finest_s, rel=1e-6)
    assert time_s(8.0) == pytest.approx(finest_s, rel=2e-8)


def test_half_the_steady_offtake_is_kept_up_and_twice_it_is_not():
    """At twice the offtake a full bottle starves with most of its gas left; at half of it, it gives far more."""
    liquid = propane(9.0)
    steady_w = steady_offtake(NINE, liquid, 283.15, LEAST_PA).gross_w
    under, over = (course(NINE, liquid, share * steady_w, 283.15, LEAST_PA) for share in (0.5, 2.0))
    assert over.ended == STARVED
    assert over.left_kg > 5.0
    assert under.time_s > 4.0 * over.time_s
    assert under.left_kg < over.left_kg


def test_the_propane_of_a_mixture_leaves_first():
    """Its share in the liquid falls from point to point, and the same load on propane alone starves later."""
    mixed = course(NINE, mixture(1.0), 30.0 / 0.0036, 283.15, LEAST_PA)
    shares = [point.moles[0] / sum(point.moles) for point in mixed.points]
    assert all(later < earlier for earlier, later in itertools.pairwise(shares))
    assert course(NINE, propane(9.0), 30.0 / 0.0036, 283.15, LEAST_PA).left_kg < mixed.left_kg


def test_breaks_let_a_bottle_give_more():
    """The longer the break, the less is left when it starves; without one worth the name it fares as without."""
    left_kg = [
        course(NINE, propane(), 100.0 / 0.0036, 283.15, LEAST_PA, duty=Duty(600.0, off_s)).left_kg
        for off_s in (10.0, 600.0, 1800.0, 7200.0)
    ]
    plain = course(NINE, propane(), 100.0 / 0.0036, 283.15, LEAST_PA)
    assert left_kg == sorted(left_kg, reverse=True)
    assert left_kg[0] == pytest.approx(plain.left_kg, rel=0.03)
    assert left_kg[-1] < 0.7 * plain.left_kg


def test_a_course_begins_with_nothing_taken_and_ends_when_it_is_told_to():
    """Its first point is the bottle as it stands; its last is at the end, in a pause, not a step after it."""
    liquid = propane()
    duty = Duty(600.0, 900.0)
    followed = course(NINE, liquid, 8.0 / 0.0036, 293.15, LEAST_PA, duty=duty, longest_s=1000.0, start_k=290.0)
    first, last = followed.points[0], followed.points[-1]
    assert (first.time_s, first.liquid_k, first.heat_j) == (0.0, 290.0, 0.0)
    assert first.moles == tuple(moles for _, moles in liquid)
    assert (followed.ended, last.time_s) == (GOING, pytest.approx(1000.0, rel=1e-12))


def test_a_small_load_empties_the_bottle_and_a_tiny_one_outlasts_the_week():
    """Empty is a thousandth of the gas left; the look ahead ends after seven days."""
    empty = course(NINE, propane(), 8.0 / 0.0036, 293.15, LEAST_PA)
    assert (empty.ended, empty.left_kg) == (EMPTY, pytest.approx(0.009))
    going = course(NINE, propane(9.0), 1.0 / 0.0036, 293.15, LEAST_PA)
    assert (going.ended, going.time_s) == (GOING, pytest.approx(7 * 86400.0))


# a job's supply


def test_a_state_within_the_offtake_passes_and_one_above_fails():
    """The 9 kg bottle half full at 5 degC gives 39 MJ/h: 20 is kept up, 70 is not and is over the regulator's 60."""
    result = supply(job())
    baking, lunch = result.states
    assert (baking.name, baking.passes, baking.keeps_up, baking.overloaded) == ("baking", True, True, ())
    assert (lunch.name, lunch.passes, lunch.keeps_up) == ("lunch", False, False)
    assert [regulator.name for regulator in lunch.overloaded] == ["regulator"]
    assert (baking.bottles_needed, lunch.bottles_needed) == (1, 2)
    assert not result.passes
    # 4.5 kg of 50.33 MJ/kg
    assert baking.drawing_s / 3600 == pytest.approx(4.5 * 50.33 / 20, rel=1e-3)
    assert baking.all_s == pytest.approx(2 * baking.drawing_s)
    assert lunch.lowest_fill is None
    assert supply(job("fill: 50 %", f"fill: {baking.lowest_fill * 100 + 0.02} %")).states[0].keeps_up
    assert not supply(job("fill: 50 %", f"fill: {baking.lowest_fill * 100 - 0.02} %")).states[0].keeps_up


def test_the_regulator_alone_can_fail_a_state():
    """Four bottles keep 70 MJ/h up; the regulator is rated for 60."""
    result = supply(job("count: 2", "count: 4, drawing: 4"), state="lunch")
    assert [(state.name, state.keeps_up, state.passes) for state in result.states] == [("lunch", True, False)]


def test_more_bottles_share_the_load():
    """Two drawing give twice what one gives, and each is followed at half the load."""
    single, double = supply(job()), supply(job("count: 2", "count: 2, drawing: 2"))
    assert double.states[1].steady_w == pytest.approx(2 * single.states[1].steady_w)
    assert double.states[1].course.time_s > 2 * single.states[1].course.time_s
    assert double.grid[0][0] == pytest.approx(2 * single.grid[0][0])


def test_the_grid_is_the_offtake_at_each_fill_and_temperature():
    """It falls with both, and holds the job's own figure where the job has that fill and temperature."""
    result = supply(job("ambient: 5 degC", "ambient: 10 degC"))
    assert result.grid[2][2] == pytest.approx(result.states[0].steady_w)
    assert all(list(row) == sorted(row) for row in result.grid)
    assert all(list(column) == sorted(column, reverse=True) for column in zip(*result.grid, strict=True))


def test_a_job_without_bottles_has_no_supply():
    """The library says so as the command does."""
    with pytest.raises(NoCylinders, match="the job does not say what bottles it has"):
        supply(job("cylinders: {size: 9 kg, count: 2, fill: 50 %, ambient: 5 degC}\n", ""))


def test_a_state_that_is_not_there_is_refused():
    """The library tells the nearest, as the command does, before it asks for bottles."""
    with pytest.raises(NoSuchState, match=r"^`lunsh` is not a state of this job; did you mean `lunch`[?]$"):
        supply(job(), "lunsh")


def test_a_duty_from_text():
    """Times in any unit, in SI; a text that is none is refused."""
    assert parse_duty(" 90 s on, 1.5 h off ") == Duty(90.0, 5400.0)
    assert supply(job(), "lunch", parse_duty("20 min on, 40 min off")).states[0].duty_course is not None
    with pytest.raises(DutyError, match=r"^`now and then` is not a duty; write for example `20 min on, 40 min off`$"):
        parse_duty("now and then")


def test_a_load_above_the_offtake_is_told():
    """The state is named, with what the bottle gives; with enough bottles nothing is said."""
    loads_w = {state.name: state.total_w for state in check_job(job()).states}
    verdict, (reason,) = bottles_verdict(job(), loads_w)
    assert verdict is Verdict.UNDECIDED
    assert reason_words(reason, Shown(METRIC)) == (
        "lunch is 70 MJ/h, over the continuous offtake of 39.2 MJ/h; without a break the bottle drawn from starves "
        "after 65 min",
        "write how it is used, as `for: 20 min, every: 1 h` in its state",
    )
    assert bottles_verdict(job("count: 2", "count: 2, drawing: 2"), loads_w) == (Verdict.PASS, ())


# the command


@pytest.fixture
def run(tmp_path, monkeypatch, drawbar):
    """Run the program in this process in a folder of its own: (exit code, standard output, standard error)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("DRAWBAR_LIBRARY", raising=False)

    def call(*words, text=JOB):
        Path("job.yaml").write_text(text, encoding="utf-8")
        return drawbar("supply", *words)

    return call


PAGE = """\
Pie cart: supply: FAIL
======================

lunch is 70 MJ/h; the bottle drawn from starves 18 min into a use of 20 min
every 1 h, after 5 h 18 min in all. Draw from more bottles, from larger or
fuller ones, or use it less. And 1 more: see --full.
2 bottles of 9 kg, 1 drawn from at once, 50 % full, in air of 5 degC.

state   load  offtake  margin  without a break       on for  every  verdict
        MJ/h     MJ/h    MJ/h  a cold bottle
------  ----  -------  ------  --------------------  ------  -----  -------
baking  20.0     39.2    19.2  starves, 10 h 22 min  20 min    1 h  PASS
lunch   70.0     39.2   -30.8  starves, 65 min       20 min    1 h  FAIL

To put it right:
- Draw from 3 such bottles, 1 more: lunch of 20 min every 1 h passes down to
  -10 degC.
- Bottles of 45 kg: lunch of 20 min every 1 h passes down to -20 degC.

Never warm a bottle. An aid: a licensed gasfitter answers for the work, the
local code prevails, and the line is proved by test.
"""


def test_the_page_is_one_screen(run):
    """Verdict, why, a row a state, what to do, one caution; figures are our own output."""
    assert run("job.yaml", "--duty", "20 min on, 40 min off") == (1, PAGE, "")


def test_four_states_leave_the_prompt_its_line(run):
    """With four states, each of them open, the page of a terminal of 80 columns has at most 23 lines."""
    states = "".join(f"  state-{number}: {{oven: 100 %, grill: {number * 20 + 40} %}}\n" for number in range(4))
    code, out, _ = run("job.yaml", text=JOB.partition("  baking:")[0].replace("60 MJ/h", "90 MJ/h") + states)
    assert code == 3
    assert len(re.findall("^state-[0-3] +[0-9]", out, re.MULTILINE)) == 4
    assert len(out.splitlines()) <= 23
    assert max(map(len, out.splitlines())) <= 80


def test_the_full_page(run):
    """Every reason, the bottles in figures, and the offtake by fill and air; no wider than a terminal."""
    code, out, err = run("job.yaml", "--full", "--duty", "20 min on, 40 min off")
    assert (code, err) == (1, "")
    assert max(map(len, out.splitlines())) <= 80
    assert "\n- The regulator is rated 60 MJ/h; 70 MJ/h is on in state lunch." in out
    assert "\nlunch   1.39        2         3.2      6.5       -  2.99        -  over: first\n" in out
    assert "\nstate, its load 20 min on,  mean  a cold bottle" in out
    assert "has a continuous offtake of 39.2 MJ/h (0.78 kg/h)." in out
    assert "\nContinuous offtake of the bottle drawn from, by fill and by the air around:\n" in out
    assert "\n- Never warm a bottle: no flame, no hot water, no heater." in out


def test_us_units_are_those_of_a_gauge_and_a_scale(run):
    """Pounds, degF, Btu/h, and psi at the bottle; no kilogram, kilopascal, litre or degC stands on any page."""
    for words in ((), ("--full",)):
        code, out, err = run("job.yaml", "--units", "us", "--duty", "20 min on, 40 min off", *words)
        assert (code, err) == (1, "")
        assert re.findall(r"\b(?:kg|kPa|MJ|degC|mm|L|m)\b", out.replace("0.3 bar", "")) == []
    assert "down to 4.4 psi in the bottle" in out
    assert "is then at -32.9 degF" in out


def test_one_state_that_passes(run):
    """Exit code 0, and nothing to help with."""
    code, out, err = run("job.yaml", "--state", "baking")
    assert (code, err) == (0, "")
    assert "Pie cart: supply: PASS" in out
    assert "lunch" not in out
    assert "To put it right" not in out
    told = " ".join(out.split())
    assert "The largest load, baking with 20 MJ/h, is within the continuous offtake of 39.2 MJ/h." in told


def test_a_mixture_says_what_is_left(run):
    """The page tells the liquid's make-up at the fill."""
    _, out, _ = run("job.yaml", "--full", text=JOB.replace("gas: propane", "gas: {propane: 60 %, n-butane: 40 %}"))
    assert (
        "The lighter gas leaves first: the liquid left at this fill is 36 % propane and\n64 % n-butane by mole." in out
    )


def test_json_carries_the_result(run):
    """Kind, verdicts, courses and grid, in the units of the keys."""
    code, out, _ = run("job.yaml", "--format", "json", "--duty", "20 min on, 40 min off")
    document = json.loads(out)
    (result,) = document["results"]
    assert (code, document["kind"], result["verdict"]) == (1, "supply", "fail")
    assert result["duty"] == {"on_min": 20.0, "off_min": 40.0}
    assert result["cylinders"]["name"] == "9-kg"
    assert result["cylinders"]["liquid_mole_percent"] == {"propane": pytest.approx(100.0)}
    assert [row["fill_percent"] for row in result["steady_offtake"]["by_fill"]] == [100.0, 75.0, 50.0, 25.0, 10.0]
    baking, lunch = result["states"]
    assert (baking["verdict"], lunch["verdict"]) == ("pass", "fail")
    assert (lunch["load_MJ_h"], lunch["bottles_needed"]) == (pytest.approx(70.0), 2)
    assert lunch["course"]["ended"] == "starved"
    assert lunch["course"]["minutes"] < lunch["duty_course"]["minutes"]
    assert lunch["regulators"] == [
        {"name": "regulator", "load_MJ_h": pytest.approx(70.0), "capacity_MJ_h": pytest.approx(60.0), "verdict": "fail"}
    ]


def test_csv_has_a_row_a_state(run):
    """One row a state under the heads, figures as figures."""
    _, out, _ = run("job.yaml", "--format", "csv")
    baking, lunch = csv.DictReader(io.StringIO(out))
    assert (baking["state"], baking["verdict"], baking["load_MJ_h"]) == ("baking", "pass", "20")
    assert (lunch["ended"], lunch["keeps_up_to_fill_percent"], lunch["duty_minutes"]) == ("starved", "", "")


def test_markdown_and_out(run):
    """A file is written whole, and nothing goes to standard output."""
    assert run("job.yaml", "--format", "markdown", "--out", "supply.md") == (1, "", "")
    assert Path("supply.md").read_text(encoding="utf-8").startswith("## Pie cart: supply: FAIL\n")


def test_a_job_without_cylinders_is_told_what_to_write(run):
    """Exit code 2 with one line."""
    text = JOB.replace("cylinders: {size: 9 kg, count: 2, fill: 50 %, ambient: 5 degC}\n", "")
    assert run("job.yaml", text=text) == (
        2,
        "",
        "job.yaml: cylinders: the job does not say what bottles it has; write for example `cylinders: {size: 9 kg, "
        "count: 2, drawing: 1, fill: 50 %, ambient: 5 degC}`\n",
    )


@pytest.mark.parametrize(
    ("duty", "message"),
    [
        ("0 min on, 40 min off", "the time on: `0 min` can't be right; write from 10 s to 72 h"),
        (
            "20 min on, 0 min off",
            "the time off: `0 min` can't be right; write from 10 s to 72 h; for a load without a break leave the "
            "option out",
        ),
        ("0 min on, 0 min off", "the time on: `0 min` can't be right; write from 10 s to 72 h"),
        ("20 min", "`20 min` is not a duty; write for example `20 min on, 40 min off`"),
        ("20 on, 40 min off", "the time on: `20` has no unit; write one of s, min, h after it"),
        ("20 min on, 1e9 h off", "the time off: `1e9 h` can't be right; write from 10 s to 72 h"),
        ("-5 min on, 40 min off", "the time on: `-5 min` can't be right; write from 10 s to 72 h"),
        ("20 kPa on, 40 min off", "the time on: `kPa` is not a unit of time; write a number and one of s, min, h"),
    ],
)
def test_a_duty_that_can_not_be_right_names_its_option(run, duty, message):
    """Exit code 2, nothing on standard output, and the option with what would fit."""
    code, out, err = run("job.yaml", "--duty", duty)
    assert (code, out) == (2, "")
    assert err.endswith(f"Error: Invalid value for '--duty': {message}\n")


def test_an_unknown_state_is_told_with_the_nearest(run):
    """Exit code 2 with the option's name."""
    code, out, err = run("job.yaml", "--state", "lunsh")
    assert (code, out) == (2, "")
    assert err.endswith("Error: Invalid value for --state: `lunsh` is not a state of this job; did you mean `lunch`?\n")


def test_the_main_example_runs_and_is_open(run):
    """It asks more of one half-full 9 kg bottle than its continuous offtake, in every state, and says no use of any."""
    code, out, err = run(str(EXAMPLE), "--format", "json")
    assert (code, err) == (3, "")
    assert json.loads(out)["results"][0]["verdict"] == "undecided"
    states = json.loads(out)["results"][0]["states"]
    assert [(state["name"], state["keeps_up"]) for state in states] == [
        ("breakfast", False),
        ("service", False),
        ("everything", False),
    ]


def test_a_workshop_s_own_library_may_add_a_bottle(run):
    """`cylinders:` in a library file, in the form of the data file; the job then names its size alone."""
    Path("own.yaml").write_text(
        "cylinders:\n  refill-10: {title: refillable, gas: 10 kg, diameter: 300 mm, water-capacity: 24 L, tare: 5 kg, "
        "source: stamped on it}\n",
        encoding="utf-8",
    )
    code, out, err = run("job.yaml", "--full", "--library", "own.yaml", text=JOB.replace("size: 9 kg", "size: 10 kg"))
    assert (code, err) == (1, "")
    assert "\n2 bottles of 10 kg (refill-10), 1 drawn from at once" in out
    assert "Each is 300 mm across, holds 24 L and weighs 5 kg empty (stamped on it)." in out
