"""Reasons beside the pressures: each is there, with its verdict and in words, where it should be, and only there."""

import re

import pytest
from CoolProp.CoolProp import PropsSI

from drawbar.checking.check import check_job
from drawbar.report.display import Shown
from drawbar.report.reasons import because_data
from drawbar.verdict import Verdict
from jobs import job_from

PLAIN = """\
job: t
gas: propane
site: {temperature: 15 degC, altitude: 0 m}
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa, capacity: 100 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/15.88, length: 1.5 m}
  leg:  {from: main, pipe: as1432-b/12.70, length: 1 m}
outlets:
  bay: {at: main, devices: none}
hoses:
  hose: {pipe: hose/10, length: 1 m}
appliances:
  fryer: {at: leg, input: 40 MJ/h}
  urn:   {plugs-into: bay, hose: hose, input: 20 MJ/h}
"""
STAGED = """\
job: t
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 140 kPa, capacity: 100 MJ/h}
runs:
  feed:  {from: regulator, pipe: as1432-b/7.94, length: 1 m}
  van:   {from: feed, pipe: as1432-b/12.70, length: 1 m,
          regulator: {inlet-min: 50 kPa, outlet: 2.75 kPa, capacity: 90 MJ/h}}
  store: {from: feed, pipe: as1432-b/12.70, length: 1 m,
          regulator: {inlet-min: 50 kPa, outlet: 2.75 kPa, capacity: 80 MJ/h}}
appliances:
  fryer:  {at: van, input: 40 MJ/h}
  heater: {at: store, input: 20 MJ/h}
"""
AS_DRAWN = "tolerances: none\n"
RULE = "rule: as-nzs-5601.2"
Said = tuple[str, str, str, str]


def said(text: str = PLAIN, *changes: tuple[str, str], formula: str | None = None) -> list[Said]:
    """Return code, verdict, place and text of the reasons of a text with some changes made in it."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    result = check_job(job_from(text), formula)
    shown = because_data(result.because, Shown(result.job.display))
    assert all(reason["fix"] for reason in shown)
    return [(reason["code"], reason["verdict"], reason["place"], reason["text"]) for reason in shown]


def test_a_plain_job_passes() -> None:
    """In one stage and in two, without a reason against it."""
    assert said(PLAIN) == []
    assert said(STAGED) == []


def test_a_limit_wider_than_the_rule_s() -> None:
    """A job may allow less than its rule, or as much; more leaves it open. Without a rule there is nothing to say."""
    rule = "rule: as-nzs-5601.2"
    over = ("limit-over-rule", "undecided", "", "the allowed drop of 0.3 kPa is over the 0.25 kPa of as-nzs-5601.2")
    assert said(PLAIN, (rule, rule + "\nlimits: {drop: 0.3 kPa}")) == [over]
    assert said(PLAIN, (rule, rule + "\nlimits: {drop: 0.25 kPa}")) == []
    assert said(PLAIN, (rule, rule + "\nlimits: {drop: 2.5 mbar}")) == []
    assert said(PLAIN, (rule, rule + "\nlimits: {drop: 0.2 kPa}")) == []
    assert said(PLAIN, (rule, "limits: {drop: 0.3 kPa}")) == []
    # A pressure within a tenth is still the one that the rule's limit is for.
    near = ("outlet: 2.75 kPa", "outlet: 2.6 kPa")
    assert said(PLAIN, (rule, rule + "\nlimits: {drop: 0.3 kPa}"), near) == [over]


def set_to(pressure: str, rule: str, nominal: str, regulator: str = "the regulator", place: str = "regulator") -> Said:
    text = f"{regulator} is set to {pressure}; the limit of {rule} is for {nominal}"
    return "set-pressure", "undecided", place, text


def test_a_regulator_set_unlike_the_rule_s_nominal() -> None:
    """A tenth from the nominal pressure is let pass, more leaves it open, above or below."""
    outlet = "outlet: 2.75 kPa"
    for pressure in ("3.02 kPa", "2.48 kPa"):
        assert said(PLAIN, (outlet, f"outlet: {pressure}")) == []
    for pressure in ("3.03 kPa", "2.47 kPa"):
        assert said(PLAIN, (outlet, f"outlet: {pressure}")) == [set_to(pressure, "as-nzs-5601.2", "2.75 kPa")]
    assert said(PLAIN, (outlet, "outlet: 3.7 kPa"), ("rule: as-nzs-5601.2", "limits: {drop: 0.25 kPa}")) == []


def test_the_nominal_pressure_goes_by_the_gas() -> None:
    """Where the rule has one for each gas, that of the gas most of it is counts."""
    gas, outlet, uk = "gas: propane", "outlet: 2.75 kPa", ("rule: as-nzs-5601.2", "rule: bs-6891-lpg")
    assert said(PLAIN, uk, (outlet, "outlet: 37 mbar")) == []
    assert said(PLAIN, uk, (outlet, "outlet: 28 mbar")) == [set_to("28 mbar", "bs-6891-lpg", "37 mbar")]
    assert said(PLAIN, uk, (gas, "gas: n-butane"), (outlet, "outlet: 28 mbar")) == []
    mostly_butane = (gas, "gas: {propane: 30 %, n-butane: 70 %}")
    assert said(PLAIN, uk, mostly_butane, (outlet, "outlet: 28 mbar")) == []
    assert said(PLAIN, uk, mostly_butane, (outlet, "outlet: 37 mbar")) == [set_to("37 mbar", "bs-6891-lpg", "28 mbar")]


def test_only_the_stages_that_appliances_hang_on_have_a_nominal_pressure() -> None:
    """A second stage set high leaves it open; a first stage, or one between, does not, unless something burns on it."""
    store = "outlet: 2.75 kPa, capacity: 80 MJ/h"
    assert said(STAGED, (store, store.replace("2.75", "3.7"))) == [
        set_to("3.7 kPa", "as-nzs-5601.2", "2.75 kPa", "the regulator of store", "store")
    ]
    between = (
        "length: 1 m}\n  van:",
        "length: 1 m, regulator: {inlet-min: 90 kPa, outlet: 70 kPa, capacity: 90 MJ/h}}\n  van:",
    )
    assert said(STAGED, between) == []
    assert said(STAGED, ("heater: {at: store", "heater: {at: feed"), ("  store:", "  spare:"), (
        "appliances:", "outlets: {bay: {at: spare, devices: none}}\nappliances:"
    )) == [set_to("140 kPa", "as-nzs-5601.2", "2.75 kPa")]  # fmt: skip


def test_a_gas_that_would_be_a_liquid() -> None:
    """The dew point at the site's temperature, as the gas stands in the first regulator's outlet."""
    cold, butane = "temperature: 15 degC", ("gas: propane", "gas: n-butane")

    def liquid(reasons: list[Said], at_degc: int, set_to_kpa: str) -> None:
        ((code, verdict, place, text),) = reasons
        assert (code, verdict, place) == ("condenses", "fail", "")
        form = rf"at {at_degc} degC the gas condenses above (\S+) kPa; the regulator is set to {set_to_kpa} kPa"
        told = re.fullmatch(form, text)
        assert told is not None, text
        vapour_pa = PropsSI("P", "T", 273.15 + at_degc, "Q", 1, "n-Butane")
        assert float(told.group(1)) * 1000.0 + 101_325.0 == pytest.approx(vapour_pa, rel=2e-3)

    # CoolProp: n-butane's vapour pressure is 103.2 kPa at 0 degC, 107.2 at 1, 92.0 at -3 and 176.1 at 15.
    assert said(PLAIN, (cold, "temperature: 1 degC"), butane) == []
    liquid(said(PLAIN, (cold, "temperature: 0 degC"), butane), 0, "2.75")
    liquid(said(PLAIN, (cold, "temperature: -3 degC"), butane), -3, "2.75")
    assert said(PLAIN, (cold, "temperature: -40 degC")) == []
    liquid(said(STAGED, butane, ("outlet: 140 kPa", "outlet: 85 kPa")), 15, "85")
    assert said(STAGED, butane, ("outlet: 140 kPa", "outlet: 70 kPa")) == []


@pytest.mark.parametrize(("share", "codes"), [(0.995, ["condenses"]), (0.985, ["condenses"]), (0.97, [])])
def test_a_gas_near_its_dew_point_is_open(share: float, codes: list[str]) -> None:
    """Within 2 % of its dew pressure, as closely as that is known; n-butane's by CoolProp."""
    kelvin = PropsSI("T", "P", (101325.0 + 2750.0) / share, "Q", 1, "n-Butane")
    changes = ("gas: propane", "gas: n-butane"), ("temperature: 15 degC", f"temperature: {kelvin - 273.15:.4f} degC")
    assert [reason[:2] for reason in said(PLAIN, *changes)] == [(code, "undecided") for code in codes]


def test_of_a_range_of_gases_the_one_that_condenses_first_counts() -> None:
    """Propane, or n-butane in its place: at -3 degC CoolProp has 92 kPa for that, under the 104 of the line."""
    changes = ("temperature: 15 degC", "temperature: -3 degC"), (RULE, RULE + "\ntolerances: {gas: {n-butane: 100 %}}")
    assert [reason[:2] for reason in said(PLAIN, *changes)] == [("condenses", "undecided")]
    text = PLAIN
    for old, new in changes:
        text = text.replace(old, new)
    (reason,) = check_job(job_from(text)).because
    works_from_k = PropsSI("T", "P", 101325.0 + 2750.0, "Q", 1, "n-Butane")  # of the gas that condenses first
    assert works_from_k - 0.03 <= reason.details["works_from_k"] <= works_from_k + 0.15


def test_a_site_outside_the_gas_data() -> None:
    """No job file has such a site; a job made otherwise may, and is left open in place of the dew point."""
    job = job_from(PLAIN)
    low_k, high_k = job.gas.temperature_range_k
    for temperature_k in (low_k, high_k):
        assert "gas-data" not in {
            reason.code for reason in check_job(job._replace(temperature_k=temperature_k)).because
        }
    for temperature_k, site in ((184.0, "-89.1"), (371.0, "97.9")):
        result = check_job(job._replace(temperature_k=temperature_k))
        (reason,) = because_data(result.because, Shown(job.display))
        assert result.verdict is Verdict.UNDECIDED
        assert (reason["code"], reason["verdict"], reason["place"]) == ("gas-data", "undecided", "")
        assert reason["text"] == f"the gas data reach from -88.2 degC to 96.7 degC; the site is at {site} degC"


def test_an_appliance_that_no_state_has_on() -> None:
    """It is checked nowhere, so nothing can be said of it; at a share of 0 % it is not on either."""
    never = ("not-on", "undecided", "urn", "no state has urn on, so it is not checked")
    assert said(PLAIN + "states: {one: [fryer]}\n") == [never]
    assert said(PLAIN + "states: {one: {fryer: 100 %, urn: 0 %}}\n") == [never]
    assert said(PLAIN + "states: {one: [fryer], two: [urn]}\n") == []


def test_a_formula_outside_its_range_that_darcy_bears_out() -> None:
    """Darcy's, which holds for all such flow, passes as well: nothing is open."""
    assert said(PLAIN, formula="pole") == []
    assert said(PLAIN, formula="darcy") == []


def test_a_formula_outside_its_range_that_darcy_does_not_bear_out() -> None:
    """The first three parts that are outside are named; the formula's own drops alone would have passed."""
    leg = ("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 6 mm}, length: 35 m")
    long, low = (leg, ("input: 40 MJ/h", "input: 9 MJ/h")), "; the Reynolds number is"
    assert {reason[0] for reason in said(PLAIN, *long, formula="darcy")} == {"pressure"}
    # Re = 4 m / (pi d mu): 4.968e-5 kg/s for 9 MJ/h, mu 7.87 uPa s, bores 13.84, 6 and 10 mm; 29, 9 and 20 MJ/h.
    numbers = {"main": 1870, "leg": 1339, "hose": 1785}
    assert said(PLAIN, *long, formula="pole") == [
        (
            "outside-formula",
            "undecided",
            place,
            f"the pole formula is not for {place}: the formula is for turbulent flow{low} {number}, below 4000",
        )
        for place, number in numbers.items()
    ]
    legs = "".join(f"  leg-{n}: {{from: main, pipe: as1432-b/12.70, length: 1 m}}\n" for n in range(3))
    pilots = "".join(f"  pilot-{n}: {{at: leg-{n}, input: 1 MJ/h}}\n" for n in range(3))
    named = said(PLAIN + pilots, *long, ("outlets:\n", legs + "outlets:\n"), formula="pole")
    assert len([code for code, *_ in named if code == "outside-formula"]) == 3


def over(load: str, rated: str, regulator: str = "the regulator", place: str = "regulator") -> Said:
    return "regulator-rating", "fail", place, f"{regulator} is rated {rated}; {load} is on with everything on"


def test_a_regulator_over_its_capacity() -> None:
    """As drawn the load is held against the rated capacity, of the first regulator and of a second stage, once each."""
    plain, staged, rated = PLAIN + AS_DRAWN, STAGED + AS_DRAWN, "capacity: 100 MJ/h"
    assert said(plain, (rated, "capacity: 60 MJ/h")) == []
    assert said(plain, (rated, "capacity: 59 MJ/h")) == [over("60 MJ/h", "59 MJ/h")]
    states = "states:\n  some: {fryer: 100 %, urn: 50 %}\n  most: [fryer, urn]\n  few: [urn]\n"
    in_most = ("regulator-rating", "fail", "regulator", "the regulator is rated 45 MJ/h; 60 MJ/h is on in state most")
    assert said(plain + states, (rated, "capacity: 45 MJ/h")) == [in_most]
    in_most = (*in_most[:3], "the regulator is rated 55 MJ/h; 60 MJ/h is on in state most")
    assert said(plain + states, (rated, "capacity: 55 MJ/h")) == [in_most]
    second = ("capacity: 90 MJ/h", "capacity: 35 MJ/h")
    of_van = over("40 MJ/h", "35 MJ/h", "the regulator of van", "van")
    assert said(staged, second) == [of_van]
    assert said(staged, second, (rated, "capacity: 50 MJ/h")) == [over("60 MJ/h", "50 MJ/h"), of_van]


@pytest.mark.parametrize(
    ("capacity", "codes"), [("63", []), ("62", ["regulator-rating"]), ("60", ["regulator-rating"])]
)
def test_a_regulator_whose_load_may_be_over_its_capacity(capacity: str, codes: list[str]) -> None:
    """60 MJ/h that may be 5 % more is 63 MJ/h: a rating below leaves the verdict open."""
    reasons = said(PLAIN, ("capacity: 100 MJ/h", f"capacity: {capacity} MJ/h"))
    assert [reason[:3] for reason in reasons] == [(code, "undecided", "regulator") for code in codes]
    assert all(f"is rated {capacity} MJ/h; up to 63 MJ/h may be on" in reason[3] for reason in reasons)


def test_a_regulator_without_a_capacity() -> None:
    """What is not given leaves the verdict open, and says the load that it must be for."""
    assert said(PLAIN + AS_DRAWN, (", capacity: 100 MJ/h", "")) == [
        (
            "regulator-rating",
            "undecided",
            "regulator",
            "the rating of the regulator is not given; it must pass 60 MJ/h with everything on",
        )
    ]
    (reason,) = said(STAGED, (", capacity: 80 MJ/h", ""))
    assert reason[:3] == ("regulator-rating", "undecided", "store")
