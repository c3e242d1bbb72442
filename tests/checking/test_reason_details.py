"""What each reason carries: the details that `drawbar.checking.judge` names for its code, and how they add up."""

import math
import re

import pytest
from CoolProp.CoolProp import PropsSI
from test_reasons import PLAIN, STAGED

import drawbar.checking.judge
from drawbar.checking.check import check_job
from drawbar.checking.corner import worst_corner
from drawbar.verdict import Reason, Verdict
from jobs import job_from

RULE = "rule: as-nzs-5601.2"
EUROPE = (RULE, "rule: en-1949\nlimits: {drop: 1 mbar}")
LEG = "as1432-b/12.70, length: 1 m"
STRAIT = (LEG, "as1432-b/9.52, length: 1 m")
SPACE = "space: {berths: 2, vents: "
BAYS = ("  bay: ", "".join(f"  bay-{n}: {{at: leg, devices: none}}\n" for n in range(8)) + "  bay: ")
LAMPS = (
    "  urn: ",
    "".join(f"  lamp-{n}: {{plugs-into: any, hose: none, input: 9 MJ/h}}\n" for n in range(8)) + "  urn: ",
)
NARROW = (LEG, "as1432-b/9.52, length: 3 m")
FAR = [("pipe: " + LEG, "pipe: {bore: 6 mm}, length: 35 m"), ("input: 40 MJ/h", "input: 9 MJ/h")]
BOTTLE = "cylinders: {size: 9 kg, ambient: -8 degC, drawing: 1, pigtail: {flow: 1.5 kg/h, drop: 20 kPa, at: 200 kPa}}\n"
Change = tuple[str, str]
# By code: a job, what is changed in it, and what stands after it.
JOBS: dict[str, tuple[str, list[Change], str]] = {
    "pressure": (PLAIN, [(LEG, "as1432-b/9.52, length: 9 m")], ""),
    "greatest-pressure": (PLAIN, [("input: 40 MJ/h", "input: 40 MJ/h, max-pressure: 2.6 kPa")], ""),
    "regulator-inlet": (
        STAGED,
        [("inlet-min: 50 kPa, outlet: 2.75 kPa, capacity: 90", "inlet-min: 139.9 kPa, outlet: 2.75 kPa, capacity: 90")],
        "",
    ),
    "too-many-ways": (PLAIN, [BAYS, LAMPS, STRAIT, ("capacity: 100", "capacity: 1000")], ""),
    "regulator-rating": (PLAIN, [("capacity: 100 MJ/h", "capacity: 40 MJ/h, count: 2")], ""),
    "bottle-pressure": (PLAIN, [("gas: propane", "gas: {propane: 20 %, n-butane: 80 %, of: liquid}")], BOTTLE),
    "set-pressure": (PLAIN, [("outlet: 2.75 kPa", "outlet: 3.5 kPa")], ""),
    "limit-over-rule": (PLAIN, [(RULE, RULE + "\nlimits: {drop: 0.3 kPa}")], ""),
    "vents": (PLAIN, [], SPACE + "100 mm2}\n"),
    "vents-inside": (PLAIN, [], SPACE + "{high: 15000 mm2, low: 15000 mm2}}\n"),
    "vents-levels": (PLAIN, [], SPACE + "90000 mm2}\n"),
    "vents-split": (PLAIN, [], SPACE + "{high: 90000 mm2, low: 0 mm2}}\n"),
    "vents-floor": (PLAIN, [EUROPE], SPACE + "90000 mm2}\n"),
    "locker": (PLAIN, [EUROPE], "space: {bottles: yes, floor: 1 m2, drain: 9000 mm2}\ncylinders: {size: 9 kg}\n"),
    "not-on": (PLAIN, [], "states: {some: [fryer]}\n"),
    "not-full": (PLAIN, [], "states: {some: {fryer: 100 %, urn: 50 %}}\n"),
    "condenses": (PLAIN, [("gas: propane", "gas: n-butane"), ("temperature: 15 degC", "temperature: -3 degC")], ""),
    "outside-formula": (PLAIN, [*FAR, (RULE, "formula: pole\n" + RULE)], ""),
    "rule-gas": (PLAIN, [("gas: propane", "gas: n-butane"), (RULE, "rule: ifgc-11inwc")], ""),
    "code-formula": (
        PLAIN,
        [(RULE, "formula: darcy\nrule: ifgc-11inwc"), ("outlet: 2.75 kPa", "outlet: 11 inH2O"), NARROW],
        "",
    ),
    "basis": (PLAIN, [EUROPE, ("input: 40 MJ/h", "input: 11 kW")], ""),
}


def rows() -> dict[str, tuple[str, str]]:
    """Return place and details of each code as the table of `drawbar.checking.judge` has them."""
    _, head, body, *_ = re.split(r"^=+ =+ =+$", drawbar.checking.judge.__doc__ or "", flags=re.MULTILINE)
    assert head.split() == ["code", "place", "details"]
    return {line.split()[0]: (line[20:32].strip(), line[32:]) for line in body.strip().splitlines()}


def documented() -> dict[str, set[str]]:
    """Return the names of the details of each code."""
    return {
        code: set(re.findall(r"[a-z]\w+", re.sub(r"\([^)]*\)|; of several|, at each.*| with all.*", "", details)))
        for code, (_, details) in rows().items()
    }


def reasons(code: str, *more_changes: Change) -> list[Reason]:
    """Return the reasons of a code in its job."""
    text, changes, more = JOBS[code]
    for old, new in (*changes, *more_changes):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return [reason for reason in check_job(job_from(text + more)).because if reason.code == code]


@pytest.mark.parametrize("code", JOBS)
def test_a_reason_has_the_details_that_are_named(code):
    """Each is there by its name, a finite figure or a text, and no other is; what is of the whole job has no place."""
    (reason, *others) = reasons(code)
    assert set(reason.details) == documented()[code]
    place, _ = rows()[code]
    assert bool(reason.place) is (place not in ("", "space"))  # the one space of these jobs has no name
    for each in (reason, *others):
        assert set(each.details) == set(reason.details)
        assert all(isinstance(value, str) or math.isfinite(value) for value in each.details.values())


def test_a_pressure_that_is_short_adds_up():
    """The drop is from the set pressure, the margin what is left of the allowed drop, or above the least pressure."""
    (reason,) = reasons("pressure")
    figures = reason.details
    assert (reason.verdict, reason.place, figures["state"], figures["outlet"]) == (Verdict.FAIL, "fryer", "all on", "")
    assert figures["gauge_pa"] + figures["drop_pa"] == pytest.approx(2750.0)
    assert figures["margin_pa"] == pytest.approx(figures["allowed_drop_pa"] - figures["drop_pa"])
    assert (figures["allowed_drop_pa"], figures["min_gauge_pa"]) == (pytest.approx(250.0), 0.0)
    (least,) = reasons("pressure", ("input: 40 MJ/h", "input: 40 MJ/h, min-pressure: 2.6 kPa"))
    assert least.details["margin_pa"] == pytest.approx(least.details["gauge_pa"] - 2600.0)
    assert least.details["min_gauge_pa"] == pytest.approx(2600.0)


def test_a_pressure_that_is_short_in_a_state_names_it_and_the_outlet():
    """Of two states the worse, where the urn is plugged in at the end of 50 m of hose."""
    text = PLAIN.replace("hose/10, length: 1 m", "hose/10, length: 50 m")
    states = "states: {half: {urn: 95 %, fryer: 100 %}, most: [urn, fryer]}\n"
    (reason,) = (each for each in check_job(job_from(text + states)).because if each.code == "pressure")
    assert (reason.place, reason.details["state"], reason.details["outlet"]) == ("urn", "most", "bay")


def test_an_inlet_that_is_short_has_what_the_first_stage_leaves():
    """139.9 kPa are asked of 140 less the drop of the feed; as drawn too it is short of 139.95."""
    (reason,) = reasons("regulator-inlet")
    assert (reason.verdict, reason.place, reason.details["state"]) == (Verdict.UNDECIDED, "van", "all on")
    assert reason.details["min_gauge_pa"] == pytest.approx(139.9e3)
    (fails,) = reasons("regulator-inlet", ("139.9 kPa", "139.95 kPa"))
    assert fails.verdict is Verdict.FAIL
    assert -100.0 < fails.details["margin_pa"] < -20.0


def test_a_rating_is_that_of_one_of_a_pair_and_what_both_pass():
    """60 MJ/h, or 63 with 5 % more, on two of 40; two of 29 pass 58 at most, which 60 is over."""
    mj_h = 1e6 / 3600.0
    (reason,) = reasons("regulator-rating")
    assert (reason.verdict, reason.place, reason.details["state"]) == (Verdict.UNDECIDED, "regulator", "all on")
    assert reason.details["load_w"] == pytest.approx(63.0 * mj_h)
    assert reason.details["capacity_w"] == pytest.approx(40.0 * mj_h)
    assert (reason.details["most_w"], reason.details["number"]) == (pytest.approx(80.0 * mj_h), 2)
    (fails,) = reasons("regulator-rating", ("capacity: 40 MJ/h, count", "capacity: 29 MJ/h, count"))
    assert fails.verdict is Verdict.FAIL
    assert fails.details["load_w"] == pytest.approx(60.0 * mj_h)
    assert fails.details["capacity_w"] == pytest.approx(58.0 * mj_h)


VENTS = [
    # AS/NZS 5601.2:2020 section 7: 610 mm2 a MJ/h and 650 mm2 a berth; 40 MJ/h fixed, 20 plugged in, 5 % more.
    ("vents", "vents_m2", 100.0),
    ("vents", "needed_m2", 610 * 40 + 650 * 2),
    ("vents-inside", "vents_m2", 30000.0),
    ("vents-inside", "needed_m2", 610 * 63 + 650 * 2),
    ("vents-levels", "needed_m2", (610 * 42 + 650 * 2) / 2),  # half at each level: common practice
    ("vents-split", "needed_m2", (610 * 42 + 650 * 2) / 2),
    ("vents-split", "vents_m2", 0.0),
    # EN 1949, from memory: 2 % of a locker's floor; and the table of EN 721, which ends at 10 m2.
    ("locker", "needed_m2", 0.02e6),
    ("locker", "there_m2", 9000.0),
    ("vents-floor", "most_m2", 10e6),
    ("vents-floor", "floor_m2", 0.0),
]


@pytest.mark.parametrize(("code", "name", "mm2"), VENTS)
def test_areas_are_those_of_the_rule(code, name, mm2):
    """What is there and what is needed."""
    (reason,) = reasons(code)
    assert reason.details[name] * 1e6 == pytest.approx(mm2)


def test_a_basis_that_is_not_known_has_both_heats():
    """Gross over net of propane is 1.086 by the heats of combustion at 25 degC, 2219.2 and 2043.1 kJ/mol: handbooks."""
    (reason,) = reasons("basis")
    assert (reason.place, reason.details["gross_w"]) == ("fryer", pytest.approx(11e3))
    assert reason.details["net_w"] == pytest.approx(11e3 * 2219.2 / 2043.1, rel=2e-3)


def test_what_a_state_leaves_off_is_told_by_its_largest_share():
    """Of two states that have the urn on in part, the one that has more of it."""
    text = PLAIN + "states: {low: {fryer: 100 %, urn: 30 %}, high: {fryer: 50 %, urn: 60 %}}\n"
    (reason,) = (each for each in check_job(job_from(text)).because if each.code == "not-full")
    assert (reason.place, reason.details["share"], reason.details["state"]) == ("urn", pytest.approx(0.6), "high")


def test_a_gas_that_condenses_is_told_from_where_it_does_not():
    """n-Butane boils at -0.5 degC at 101.325 kPa; at the 104.1 of the line at 0.25 degC: CoolProp, within a step."""
    (reason,) = reasons("condenses")
    works_from_k = PropsSI("T", "P", 101325.0 + 2750.0, "Q", 1, "n-Butane")
    assert reason.details["works_from_k"] == pytest.approx(works_from_k, abs=0.15)
    assert reason.details["works_from_k"] >= works_from_k - 0.03
    assert (reason.details["temperature_k"], reason.details["gauge_pa"]) == (pytest.approx(270.15), pytest.approx(2750))
    at_site_pa = PropsSI("P", "T", 270.15, "Q", 1, "n-Butane") - 101325.0
    assert reason.details["condenses_gauge_pa"] == pytest.approx(at_site_pa, abs=300.0)


@pytest.mark.parametrize(("length_m", "verdict"), [(3.0, Verdict.UNDECIDED), (4.0, Verdict.FAIL)])
def test_a_code_s_own_formula_has_the_margin_of_the_job_worked_out_by_it(length_m, verdict):
    """As drawn it fails, at the worst corner it leaves it open: the margin is that of the same line by that formula."""
    (reason,) = reasons("code-formula", ("9.52, length: 3 m", f"9.52, length: {length_m} m"))
    text, changes, _ = JOBS["code-formula"]
    for old, new in (*changes, ("9.52, length: 3 m", f"9.52, length: {length_m} m"), ("formula: darcy\n", "")):
        text = text.replace(old, new)
    job = job_from(text)
    half = "states: {half: {fryer: 50 %, urn: 100 %}, most: [fryer, urn], some: [urn]}\n"
    (of_states,) = (each for each in check_job(job_from(text + half), "darcy").because if each.code == "code-formula")
    assert of_states.details["margin_pa"] == pytest.approx(reason.details["margin_pa"])
    assert (reason.verdict, reason.place) == (verdict, "fryer")
    again = check_job(job if verdict is Verdict.FAIL else worst_corner(job), "ifgc")
    assert reason.details["margin_pa"] == pytest.approx(min(state.margin_pa for state in again.states), rel=1e-6)
