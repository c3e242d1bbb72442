"""The vents of a living space: the published formula and example, what counts, and what `check` makes of it."""

import json

import pytest

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check_job
from drawbar.checking.vents import check_space, needed_vents_m2
from drawbar.jobfile.reader import job_of
from drawbar.verdict import Verdict
from jobs import job_from

W_PER_MJ_H = 1e6 / 3600
NO_RULE = ("rule: as-nzs-5601.2", "limits: {drop: 0.25 kPa}")
# With a limit of the job's own, as the set pressure is not the one that the rule's own limit is for.
OTHER_RULE = ("rule: as-nzs-5601.2", "rule: bs-6891-lpg\nlimits: {drop: 0.25 kPa}")
OWN_RULE = """
rules:
  house: {title: House rule, source: common practice, drop: 250 Pa, nominal: 2.75 kPa, caution: The code prevails.,
          vents: {least: 5000 mm2, per-mj-h: 700 mm2, per-berth: 0 mm2, source: the house book}}
"""

JOB = """
job: A van
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa, capacity: 100 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 2 m}
outlets:
  bayonet: {at: main, devices: none}
appliances:
  cooker: {at: main, input: 29 MJ/h}
  heater: {at: main, input: 40 MJ/h, room-sealed: yes}
  barbecue: {plugs-into: bayonet, hose: none, input: 24 MJ/h}
states:
  cooking: [cooker]
  all-else: [heater, barbecue]
"""


def job(space):
    return job_from(JOB + f"space: {space}\n")


@pytest.mark.parametrize(
    ("unsealed_mj_h", "berths", "needed_mm2"),
    [
        (29.0, 2, 18990.0),  # the worked example that goes with AS/NZS 5601.2:2020 section 7: 29 MJ/h cooker, 2 berths
        (0.0, 0, 4000.0),  # all room-sealed: the least that the section gives
        (0.0, 6, 4000.0),  # 3900 mm2 by the formula, so the least counts
        (0.0, 7, 4550.0),  # 650 mm2 a berth
        (10.0, 0, 6100.0),  # 610 mm2 a MJ/h
    ],
)
def test_the_needed_area_is_the_greater_of_the_two_that_the_standard_names(
    catalogue, unsealed_mj_h, berths, needed_mm2
):
    """AS/NZS 5601.2:2020 section 7: the greater of 4000 mm2 and 610 U + 650 P mm2."""
    formula = catalogue.rule("as-nzs-5601.2").vents
    assert needed_vents_m2(formula, unsealed_mj_h * W_PER_MJ_H, berths) * 1e6 == pytest.approx(needed_mm2, rel=1e-12)


def test_fixed_appliances_count_unless_they_are_room_sealed():
    """Of a fixed cooker, a room-sealed heater and a plug-in barbecue the cooker alone counts; the barbecue is told."""
    vents = check_space(job("{berths: 2, vents: 20000 mm2}"))
    assert vents.unsealed_w == pytest.approx(29 * W_PER_MJ_H)
    assert vents.portable_w == pytest.approx(24 * W_PER_MJ_H)
    assert vents.needed_m2(vents.formula) * 1e6 == pytest.approx(18990.0)
    assert vents.needed_with_portable_m2(vents.formula) * 1e6 == pytest.approx(18990.0 + 24 * 610)


def test_an_appliance_counts_even_in_no_state():
    """What stands in the space counts in full, on or off in the states."""
    text = JOB.replace("  cooking: [cooker]\n", "") + "space: {berths: 0, vents: 17690 mm2}\n"
    vents = check_space(job_from(text))
    assert vents.needed_m2(vents.formula) * 1e6 == pytest.approx(29 * 610)


@pytest.mark.parametrize(("vents_mm2", "passes"), [("18990", True), ("18989", False), ("0", False)])
def test_vents_pass_from_the_needed_area_up(vents_mm2, passes):
    """As drawn the needed area itself passes, a square millimetre less fails, and the job with it."""
    result = check_job(job(f"{{berths: 2, vents: {vents_mm2} mm2}}\ntolerances: none"))
    assert result.pressures_pass
    assert result.space.passes is passes
    assert result.verdict is (Verdict.PASS if passes else Verdict.FAIL)


@pytest.mark.parametrize(("vents_mm2", "passes"), [("19875", True), ("19874", False)])
def test_inputs_that_may_be_larger_need_larger_vents(vents_mm2, passes):
    """29 MJ/h that may be 5 % more: 610 x 30.45 + 650 x 2 = 19,874.5 mm2; as given the vents pass either way."""
    result = check_job(job(f"{{berths: 2, vents: {vents_mm2} mm2}}"))
    vents = result.space
    assert vents.needed_m2(vents.formula, 0.05) * 1e6 == pytest.approx(19874.5)
    assert (vents.passes, vents.passes_at(0.05)) == (True, passes)
    assert result.verdict is (Verdict.PASS if passes else Verdict.UNDECIDED)
    needed_mm2 = [reason.details["needed_m2"] * 1e6 for reason in result.because if reason.code == "vents"]
    assert needed_mm2 == pytest.approx([] if passes else [19874.5])


@pytest.mark.parametrize("other", [NO_RULE, OTHER_RULE], ids=["no rule", "a rule without a formula"])
@pytest.mark.parametrize("vents_mm2", ["0", "52000"])
def test_no_formula_of_another_rule_judges_the_vents(other, vents_mm2, catalogue):
    """Neither a pass nor a fail, whatever the vents; what AS/NZS 5601.2 would ask for can still be told."""
    result = check_job(job_from(JOB.replace(*other) + f"space: {{berths: 2, vents: {vents_mm2} mm2}}\n"))
    assert result.pressures_pass
    assert result.verdict is Verdict.PASS
    assert (result.space.formula, result.space.passes, result.space.passes_at(0.05)) == (None, None, None)
    formula = catalogue.rule("as-nzs-5601.2").vents
    assert result.space.needed_m2(formula) * 1e6 == pytest.approx(18990.0)


def test_a_rule_of_a_library_judges_by_its_own_formula(tmp_path):
    """5000 mm2, 700 mm2 a MJ/h and nothing a berth: 20,300 mm2 for 29 MJ/h and two berths."""
    file = tmp_path / "library.yaml"
    file.write_text(OWN_RULE, encoding="utf-8")
    text = JOB.replace("rule: as-nzs-5601.2", "rule: house") + "space: {berths: 2, vents: 20299 mm2}\n"
    vents = check_space(job_of(text, "job.yaml", Catalogue([str(file)])))
    assert vents.needed_m2(vents.formula) * 1e6 == pytest.approx(20300.0)
    assert vents.passes is False


def test_a_job_without_a_space_has_no_vents_to_check():
    """Nothing is said of vents where the job gives no space."""
    result = check_job(job_from(JOB))
    assert result.space is None
    assert result.passes


def checked_by_command(drawbar, space, *options):
    return drawbar("check", "-", "--full", *options, stdin=JOB + f"space: {space}\n")


def test_the_page_tells_of_vents_that_are_too_small(drawbar):
    """Pressures that pass and vents that don't: exit code 1, and the page says what is there and what is needed."""
    code, out, err = checked_by_command(drawbar, "{berths: 2, vents: 9000 mm2}")
    assert (code, err) == (1, "")
    assert out.startswith("A van: FAIL\n")
    assert (
        "Vents of the living space: FAIL, 9,000 mm2 there, 18,990 mm2 needed (AS/NZS\n"
        "5601.2:2020, section 7) for 29 MJ/h of fixed appliances that are not room-sealed\n"
        "and 2 berths.\n"
        "Plug-in appliances are taken as used outdoors. Used inside they would need\n"
        "33,630 mm2.\n"
    ) in out


def test_the_page_says_that_vents_are_not_checked(drawbar):
    """A job without a rule: exit code 0, and the page says what AS/NZS 5601.2 would ask for."""
    text = JOB.replace(*NO_RULE) + "space: {berths: 2, vents: 9000 mm2}\n"
    code, out, err = drawbar("check", "-", "--full", stdin=text)
    assert (code, err) == (0, "")
    assert (
        "Vents of the living space: not checked, as no rule of the job has a formula for\n"
        "them. 9,000 mm2 there; AS/NZS 5601.2:2020, section 7, would ask for 18,990 mm2\n"
        "for 29 MJ/h of fixed appliances that are not room-sealed and 2 berths.\n"
    ) in out
    code, out, _ = drawbar("check", "-", "--format", "json", stdin=text)
    space = json.loads(out)["results"][0]["space"]
    assert (space["verdict"], space["needed_source"]) == (None, "AS/NZS 5601.2:2020, section 7")
    assert space["needed_mm2"] == pytest.approx(18990.0)


def test_json_carries_the_space(drawbar):
    """The keys of the contract, with units in them."""
    code, out, _ = checked_by_command(drawbar, "{berths: 1, vents: 30000 mm2}", "--format", "json")
    assert code == 0
    space = json.loads(out)["results"][0]["space"]
    assert space.pop("verdict") == "pass"
    assert space.pop("needed_source") == "AS/NZS 5601.2:2020, section 7"
    assert space == pytest.approx(
        {
            "vents_mm2": 30000.0,
            "needed_mm2": 18340.0,
            "unsealed_MJ_h": 29.0,
            "berths": 1,
            "needed_with_portable_mm2": 32980.0,
        }
    )
