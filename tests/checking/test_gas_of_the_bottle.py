"""A mixture as liquid or vapour, a gas that condenses, and inputs that may be gross or net."""

import pytest
from CoolProp.CoolProp import PropsSI

from drawbar.checking.check import check_job
from drawbar.physics.liquid import vapours_of
from drawbar.report.display import Shown
from drawbar.report.reasons import reason_words
from drawbar.verdict import Verdict
from gases import gas
from jobs import job_from

AIR_PA, LEAST_PA = 101_325.0, 30_000.0
MIXED = """job: Griddle line
gas: {propane: 70 %, n-butane: 30 %OF}
site: {temperature: 15 degC, altitude: 0 m}
limits: {drop: DROP}
regulator: {outlet: 2.75 kPa, capacity: 180 MJ/h}
cylinders: {size: 9 kg, count: 2, drawing: 2, ambient: 15 degC}
runs:
  main: {from: regulator, pipe: as1432-b/9.52, length: 4 m}
appliances:
  griddle: {at: main, input: 30 MJ/h}
"""


def mixed(of="", drop="0.25 kPa"):
    return check_job(job_from(MIXED.replace("OF", f", of: {of}" if of else "").replace("DROP", drop)))


def drop_pa(result):
    return result.states[0].appliances[0].drop_pa


def test_the_vapour_over_a_mixture_is_richer_in_the_lighter_gas():
    """70 % propane and 30 % n-butane, liquid at 15 degC: Raoult's law on CoolProp's pressures, 0.3 % of the share."""
    _, first, *_ = vapours_of(gas({"propane": 0.7, "n-butane": 0.3}), 288.15, AIR_PA + LEAST_PA)
    propane, butane = (PropsSI("P", "T", 288.15, "Q", 0, name) for name in ("Propane", "n-Butane"))
    share = 0.7 * propane / (0.7 * propane + 0.3 * butane)
    assert {part.name: y for part, y in first.fractions}["propane"] == pytest.approx(share, rel=0.003)


def test_a_bottle_s_last_vapour_is_the_heaviest_and_still_gives_pressure():
    """Rayleigh's distillation: each vapour heavier than the one before, the last still at pressure."""
    lightest, *over = vapours_of(gas({"propane": 0.7, "n-butane": 0.3}), 288.15, AIR_PA + LEAST_PA)
    masses = [vapour.molar_mass_kg_mol for vapour in over]
    assert masses == sorted(masses)
    assert lightest.molar_mass_kg_mol < masses[0]
    # n-butane has 176 kPa at 15 degC (CoolProp), so the bottle gives to its last; at -5 degC 85 kPa: it does not.
    assert over[-1].molar_mass_kg_mol > 0.057
    cold = vapours_of(gas({"propane": 0.7, "n-butane": 0.3}), 268.15, AIR_PA + LEAST_PA)
    assert cold[-1].molar_mass_kg_mol < 0.056


def test_liquid_and_vapour_of_the_same_shares_have_other_drops():
    """What the filler sold gives a lighter vapour, which has the larger drop for the same heat."""
    liquid, vapour, unsaid = mixed("liquid"), mixed("vapour"), mixed()
    assert drop_pa(liquid) > 1.03 * drop_pa(vapour)
    assert drop_pa(unsaid) == drop_pa(vapour)
    assert [{p.name: round(y, 2) for p, y in r.job.gas.fractions}["propane"] for r in (liquid, vapour)] == [
        0.91,
        0.7,
    ]


def test_what_is_not_said_passes_only_if_both_pass():
    """A limit between the two at the worst corner: of vapour PASS, of liquid not, and not where it is not said."""
    worst = [mixed(of).states[0].appliances[0].worst_margin_pa for of in ("liquid", "vapour", "")]
    assert worst[0] == pytest.approx(worst[2], abs=0.5)
    assert worst[0] < worst[1]
    between_pa = 250.0 - 0.5 * (worst[0] + worst[1])
    verdicts = [mixed(of, f"{between_pa:.3f} Pa").verdict for of in ("liquid", "vapour", "")]
    assert verdicts == [Verdict.UNDECIDED, Verdict.PASS, Verdict.UNDECIDED]
    said = [reason.code for reason in mixed().warnings]
    assert "gas-not-said" in said
    assert "gas-not-said" not in [reason.code for reason in mixed("liquid").warnings]


COLD = """job: Cold butane
gas: n-butane
site: {temperature: %s, altitude: 0 m}
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.8 kPa, capacity: 60 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 2 m}
appliances:
  hob: {at: main, input: 10 MJ/h}
"""


def test_a_line_that_would_hold_liquid_fails_with_the_temperature_from_which_it_works():
    """n-butane at -2 degC and 2.8 kPa: CoolProp has 96 kPa of vapour pressure, the line 104; it works from 0.3 degC."""
    result = check_job(job_from(COLD % "-2 degC"))
    reason = next(reason for reason in result.because if reason.code == "condenses")
    assert (result.verdict, reason.verdict) == (Verdict.FAIL, Verdict.FAIL)
    works_k = float(reason.details["works_from_k"])
    assert PropsSI("P", "T", works_k, "Q", 0, "n-Butane") == pytest.approx(AIR_PA + 2800.0, rel=0.012)
    text, fix = reason_words(reason, Shown(result.job.display))
    assert text.startswith("at -2 degC the gas condenses above ")
    assert fix.startswith("it stays a gas from 0.")


def test_near_the_dew_point_it_is_open():
    """Within 2 % of the vapour pressure nothing is sure."""
    assert check_job(job_from(COLD % "0.6 degC")).verdict is Verdict.UNDECIDED
    assert check_job(job_from(COLD % "3 degC")).verdict is Verdict.PASS


PLATE = """job: Plates in kW
gas: propane
%s
limits: {drop: 2.5 mbar}
regulator: {outlet: 37 mbar, capacity: 40 kW}
runs:
  main: {from: regulator, pipe: en1057/15x0.7, length: 4 m}
appliances:
  boiler: {at: main, input: %s}
"""


def test_kilowatts_on_a_european_plate_are_asked_about():
    """Gross over net of propane is 1.0862 (ISO 6976:2016): 10 kW net is 10.86 kW gross, and the verdict is open."""
    asked = check_job(job_from(PLATE % ("rule: bs-6891-lpg", "10 kW")))
    (reason,) = asked.because
    assert (asked.verdict, reason.code, reason.place) == (Verdict.UNDECIDED, "basis", "boiler")
    text, _ = reason_words(reason, Shown(asked.job.display))
    assert text == "the input of boiler may be gross or net: 10 kW of gas, or 10.86 kW"
    for said in ("10 kW, basis: gross", "10 kW, basis: net", "36 MJ/h"):
        assert check_job(job_from(PLATE % ("rule: bs-6891-lpg", said))).verdict is Verdict.PASS
    assert check_job(job_from(PLATE % ("ref: none", "10 kW"))).verdict is Verdict.PASS
