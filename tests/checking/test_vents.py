"""The vents of a living space: the published formula and example, what counts, and what `check` makes of it."""

import json

import pytest

from drawbar.checking.check import check_job
from drawbar.checking.vents import check_space, needed_vents_m2
from jobs import job_from

W_PER_MJ_H = 1e6 / 3600

JOB = """
job: A van
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 2 m}
outlets:
  bayonet: {at: main}
appliances:
  cooker: {at: main, input: 29 MJ/h}
  heater: {at: main, input: 40 MJ/h, room-sealed: yes}
  barbecue: {plugs-into: bayonet, input: 24 MJ/h}
states:
  cooking: [cooker]
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
def test_the_needed_area_is_the_greater_of_the_two_that_the_standard_names(unsealed_mj_h, berths, needed_mm2):
    """AS/NZS 5601.2:2020 section 7: the greater of 4000 mm2 and 610 U + 650 P mm2."""
    assert needed_vents_m2(unsealed_mj_h * W_PER_MJ_H, berths) * 1e6 == pytest.approx(needed_mm2, rel=1e-12)


def test_fixed_appliances_count_unless_they_are_room_sealed():
    """Of a fixed cooker, a room-sealed heater and a plug-in barbecue the cooker alone counts; the barbecue is told."""
    vents = check_space(job("{berths: 2, vents: 20000 mm2}"))
    assert vents.unsealed_w == pytest.approx(29 * W_PER_MJ_H)
    assert vents.portable_w == pytest.approx(24 * W_PER_MJ_H)
    assert vents.needed_m2 * 1e6 == pytest.approx(18990.0)
    assert vents.needed_with_portable_m2 * 1e6 == pytest.approx(18990.0 + 24 * 610)


def test_an_appliance_counts_even_in_no_state():
    """What stands in the space counts in full, on or off in the states."""
    text = JOB.replace("cooking: [cooker]", "heating: [heater]") + "space: {berths: 0, vents: 17690 mm2}\n"
    vents = check_space(job_from(text))
    assert vents.needed_m2 * 1e6 == pytest.approx(29 * 610)


@pytest.mark.parametrize(("vents_mm2", "passes"), [("18990", True), ("18989", False), ("0", False)])
def test_vents_pass_from_the_needed_area_up(vents_mm2, passes):
    """The needed area itself passes, a square millimetre less fails, and the job with it."""
    result = check_job(job(f"{{berths: 2, vents: {vents_mm2} mm2}}"))
    assert result.pressures_pass
    assert result.space.passes is passes
    assert result.passes is passes


def test_a_job_without_a_space_has_no_vents_to_check():
    """Nothing is said of vents where the job gives no space."""
    result = check_job(job_from(JOB))
    assert result.space is None
    assert result.passes


def checked_by_command(drawbar, space, *options):
    return drawbar("check", "-", *options, stdin=JOB + f"space: {space}\n")


def test_the_page_tells_of_vents_that_are_too_small(drawbar):
    """Pressures that pass and vents that don't: exit code 1, and the page says what is there and what is needed."""
    code, out, err = checked_by_command(drawbar, "{berths: 2, vents: 9000 mm2}")
    assert (code, err) == (1, "")
    assert out.startswith("A van: FAIL\n")
    assert (
        "Vents of the living space: FAIL, 9,000 mm2 there, 18,990 mm2 needed (AS/NZS\n"
        "5601.2:2020, section 7) for 29 MJ/h of fixed appliances that are not room-sealed\n"
        "and 2 berths.\n"
        "What is plugged in is taken to be used outdoors. Used inside it would need\n"
        "33,630 mm2.\n"
    ) in out


def test_json_carries_the_space(drawbar):
    """The keys of the contract, with units in them."""
    code, out, _ = checked_by_command(drawbar, "{berths: 1, vents: 30000 mm2}", "--format", "json")
    assert code == 0
    space = json.loads(out)["results"][0]["space"]
    assert space.pop("verdict") == "pass"
    assert space == pytest.approx(
        {
            "vents_mm2": 30000.0,
            "needed_mm2": 18340.0,
            "unsealed_MJ_h": 29.0,
            "berths": 1,
            "needed_with_portable_mm2": 32980.0,
        }
    )
