"""States used one after the other: one course of a bottle, its gas by hand, its cooling by the course of a duty."""

import pytest

import drawbar
from drawbar.gas_supply.in_turn import in_turn_supplies
from drawbar.physics.cooling import Duty, course
from drawbar.physics.cylinder import liquid_in
from drawbar.problems import Problems
from drawbar.verdict import Verdict
from jobs import job_from
from paths import EXAMPLES

EXAMPLE = EXAMPLES / "shower-tent-camper.yaml"


def test_an_evening_takes_the_gas_of_its_parts():
    """A wash-up and four showers: load by time over the gross heat, and what is left is what was there less that."""
    job = drawbar.read_job(EXAMPLE)
    supplied = drawbar.supply(job)
    (evening,) = supplied.in_turn
    loads_w = {state.name: state.load_w for state in supplied.states}
    heat_j = loads_w["wash-up"] * 8 * 60 + 4 * loads_w["shower"] * 5 * 60
    assert evening.used_kg == pytest.approx(heat_j / job.gas.gross_j_kg, rel=1e-3)
    assert evening.left_kg == pytest.approx(0.8 * 9.0 - evening.used_kg)
    assert evening.time_s == (8 + 4 * 5 + 4 * 4) * 60
    assert evening.verdict is Verdict.PASS


def test_the_same_state_in_turn_is_the_course_of_a_duty():
    """Four showers with pauses are one load that comes and goes, as `course` follows it by itself."""
    job = drawbar.read_job(EXAMPLE)
    water = job.water._replace(sequences=(job.water.sequences[0]._replace(states=("shower",) * 4),))
    (showers,) = in_turn_supplies(job._replace(water=water), {"shower": 11e3})
    bottles = job.cylinders
    liquid = liquid_in(job.gas, bottles.size_kg, bottles.fill, bottles.ambient_k)
    least_pa = bottles.least_gauge_pa + job.atmospheric_pa
    by_duty = course(
        bottles.bottle, liquid, 11e3, bottles.ambient_k, least_pa, duty=Duty(300.0, 240.0), longest_s=4 * 300 + 3 * 240
    )
    assert showers.left_kg == pytest.approx(by_duty.left_kg, rel=1e-6)
    assert showers.coldest_k == pytest.approx(min(point.liquid_k for point in by_duty.points), abs=0.01)


def test_bottles_that_starve_in_the_third_shower_fail():
    """A small cold bottle: said where and when; `check` has it among its bottles."""
    text = EXAMPLE.read_text(encoding="utf-8").replace("size: 9 kg, count: 2", "size: 3.9 kg, count: 1")
    job = job_from(text.replace("fill: 80 %, ambient: 10 degC", "fill: 30 %, ambient: -12 degC"))
    (evening,) = drawbar.supply(job).in_turn
    (reason,) = evening.because
    assert (reason.code, reason.verdict, reason.place) == ("bottles-in-turn", Verdict.FAIL, "evening")
    assert reason.details["ended"] == "starved"
    assert "bottles-in-turn" in [reason.code for reason in drawbar.whole_check(job).bottles[1]]


def test_a_step_that_is_no_state_is_a_problem():
    """A connection without `with:` is none; a state must say how long it is on."""
    text = EXAMPLE.read_text(encoding="utf-8")
    with pytest.raises(Problems, match=r"`shower` is not a state; write `with: none`"):
        job_from(text.replace("for: 5 min, with: none", "for: 5 min"))
    with pytest.raises(Problems, match=r"`shower` does not say how long it is on; write its `for:`"):
        job_from(text.replace("for: 5 min, with: none", "with: none"))


def test_the_supply_says_what_an_evening_takes(drawbar):
    """One line under the states, in JSON as well."""
    out = " ".join(drawbar("supply", str(EXAMPLE))[1].split())
    assert "evening (wash-up, 4 x shower; 44 min): takes 0." in out
    assert '"in_turn": [\n' in drawbar("supply", str(EXAMPLE), "--format", "json")[1]
