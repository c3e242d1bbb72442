"""The vents of a living space: the published formula and example, what counts, and what `check` makes of it."""

import json

import pytest

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check_job
from drawbar.checking.vents import VENT_CODES, check_spaces, locker_needs_m2, needed_vents_m2
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problems
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
  barbecue: {plugs-into: bayonet, hose: none, input: 24 MJ/h, used: outside}
states:
  cooking: [cooker]
  all-else: [heater, barbecue]
"""


def job(space, text=JOB):
    return job_from(text + f"space: {space}\n")


def evenly(mm2):
    """Half of an area at each level."""
    return f"{{high: {mm2 / 2:.1f} mm2, low: {mm2 / 2:.1f} mm2}}"


NOT_SAID = JOB.replace(", used: outside", "")


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
    (vents,) = check_spaces(job("{berths: 2, vents: 20000 mm2}", NOT_SAID))
    assert vents.unsealed_w == pytest.approx(29 * W_PER_MJ_H)
    assert vents.portable_w == pytest.approx(24 * W_PER_MJ_H)
    assert vents.needed_m2(vents.formula) * 1e6 == pytest.approx(18990.0)
    assert vents.needed_with_portable_m2(vents.formula) * 1e6 == pytest.approx(18990.0 + 24 * 610)


def test_an_appliance_counts_even_in_no_state():
    """What stands in the space counts in full, on or off in the states."""
    text = JOB.replace("  cooking: [cooker]\n", "") + "space: {berths: 0, vents: 17690 mm2}\n"
    (vents,) = check_spaces(job_from(text))
    assert vents.needed_m2(vents.formula) * 1e6 == pytest.approx(29 * 610)


@pytest.mark.parametrize(("vents_mm2", "passes"), [("18990", True), ("18989", False), ("0", False)])
def test_vents_pass_from_the_needed_area_up(vents_mm2, passes):
    """As drawn the needed area itself passes, a square millimetre less fails, and the job with it."""
    result = check_job(job(f"{{berths: 2, vents: {evenly(float(vents_mm2))}}}\ntolerances: none"))
    assert result.pressures_pass
    assert result.space.passes is passes
    assert result.verdict is (Verdict.PASS if passes else Verdict.FAIL)


@pytest.mark.parametrize(("vents_mm2", "passes"), [("19875", True), ("19874", False)])
def test_inputs_that_may_be_larger_need_larger_vents(vents_mm2, passes):
    """29 MJ/h that may be 5 % more: 610 x 30.45 + 650 x 2 = 19,874.5 mm2; as given the vents pass either way."""
    result = check_job(job(f"{{berths: 2, vents: {evenly(float(vents_mm2))}}}"))
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
    (vents,) = check_spaces(job_of(text, "job.yaml", Catalogue([str(file)])))
    assert vents.needed_m2(vents.formula) * 1e6 == pytest.approx(20300.0)
    assert vents.passes is False


def test_a_job_without_a_space_has_no_vents_to_check():
    """Nothing is said of vents where the job gives no space."""
    result = check_job(job_from(JOB))
    assert result.space is None
    assert result.passes


def checked_by_command(drawbar, space, *options):
    return drawbar("check", "-", "--full", *options, stdin=NOT_SAID + f"space: {space}\n")


def test_the_page_tells_of_vents_that_are_too_small(drawbar):
    """Pressures that pass and vents that don't: exit code 1, and the page says what is there and what is needed."""
    code, out, err = checked_by_command(drawbar, "{berths: 2, vents: 9000 mm2}")
    assert (code, err) == (1, "")
    assert out.startswith("A van: FAIL\n")
    assert (
        "Vents of the living space: FAIL, 9,000 mm2 there, 18,990 mm2 needed (AS/NZS\n"
        "5601.2:2020, section 7) for 29 MJ/h of fixed appliances that are not room-sealed\n"
        "and 2 berths.\n"
        "Where 24 MJ/h more is used is not given. Used inside it would need 33,630 mm2.\n"
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
    code, out, _ = checked_by_command(
        drawbar, "{berths: 1, vents: {high: 20000 mm2, low: 20000 mm2}}", "--format", "json"
    )
    assert code == 0
    space = json.loads(out)["results"][0]["space"]
    assert space.pop("verdict") == "pass"
    assert space.pop("needed_source") == "AS/NZS 5601.2:2020, section 7"
    assert space == pytest.approx(
        {
            "vents_mm2": 40000.0,
            "needed_mm2": 18340.0,
            "unsealed_MJ_h": 29.0,
            "berths": 1,
            "needed_with_portable_mm2": 32980.0,
        }
    )


# split, inside, several spaces


def of_vents(job):
    """Return the reasons about vents: code, place, verdict and the level or the point."""
    reasons = check_job(job).because
    return [
        (r.code, r.place, r.verdict.word, r.details.get("level") or r.details.get("point"))
        for r in reasons
        if r.code in VENT_CODES
    ]


@pytest.mark.parametrize(
    ("vents", "reasons"),
    [
        ("40000 mm2", [("vents-levels", "", "UNDECIDED", None)]),  # the guide to section 7: fixed vents low and high
        ("{high: 40000 mm2, low: 0 mm2}", [("vents-split", "", "FAIL", "low")]),
        ("{high: 0 mm2, low: 40000 mm2}", [("vents-split", "", "FAIL", "high")]),
        ("{high: 31000 mm2, low: 9000 mm2}", [("vents-split", "", "UNDECIDED", "low")]),  # half of 19,874.5 is 9,937
        ("{high: 30063 mm2, low: 9938 mm2}", []),
    ],
)
def test_vents_are_high_and_low_where_the_rule_asks_for_it(vents, reasons):
    """None at a level fails; under half of what is needed there is open, as the split itself stands in no source."""
    assert of_vents(job(f"{{berths: 2, vents: {vents}}}")) == reasons
    other = NOT_SAID.replace(*OTHER_RULE)
    assert of_vents(job(f"{{berths: 2, vents: {vents}}}", other)) == []  # a rule that has no vents judges none


def test_what_may_be_used_inside_is_not_taken_to_be_outside():
    """24 MJ/h more: 610 x 55.65 + 650 x 2 = 35,246.5 mm2 with the inputs 5 % up. Said to be inside, it fails."""
    space = "{berths: 2, vents: {high: 15000 mm2, low: 15000 mm2}}"
    assert of_vents(job(space)) == []
    assert of_vents(job(space, NOT_SAID)) == [("vents-inside", "", "UNDECIDED", None)]
    (reason,) = (r for r in check_job(job(space, NOT_SAID)).because if r.code == "vents-inside")
    assert reason.details["needed_m2"] * 1e6 == pytest.approx(35246.5)
    inside = JOB.replace("used: outside", "used: inside")
    assert of_vents(job(space, inside)) == [("vents", "", "FAIL", None)]
    assert of_vents(job("{berths: 2, vents: {high: 18000 mm2, low: 18000 mm2}}", inside)) == []


SEVERAL = """{
  cabin: {berths: 2, vents: {high: 10000 mm2, low: 10000 mm2}},
  annexe: {berths: 0, vents: {high: 3000 mm2, low: 3000 mm2}}}"""


def test_several_spaces_are_each_judged_by_what_stands_there():
    """The cooker in the cabin needs 18,990 mm2 there (19,875 with 5 %), the annexe 4,000; else it may be in either."""
    said = JOB.replace("input: 29 MJ/h", "input: 29 MJ/h, used: cabin")
    assert of_vents(job(SEVERAL, said)) == []
    annexe = JOB.replace("input: 29 MJ/h", "input: 29 MJ/h, used: annexe")
    assert of_vents(job(SEVERAL, annexe)) == [("vents", "annexe", "FAIL", None)]
    assert of_vents(job(SEVERAL, JOB)) == [("vents-inside", "annexe", "UNDECIDED", None)]
    with pytest.raises(Problems, match="`cabine` is not a space of the job; did you mean `cabin`"):
        job(SEVERAL, JOB.replace("input: 29 MJ/h", "input: 29 MJ/h, used: cabine"))


EN = JOB.replace("rule: as-nzs-5601.2", "rule: en-1949\nlimits: {drop: 1 mbar}").replace("2.75 kPa", "30 mbar")


@pytest.mark.parametrize(
    ("space", "reasons"),
    [
        # EN 721 as a leaflet has it: to 5 m2 75 cm2 high and 10 cm2 low, to 10 m2 100 and 15 cm2
        ("{berths: 2, floor: 5 m2, vents: {high: 7500 mm2, low: 1000 mm2}}", []),
        ("{berths: 2, floor: 5 m2, vents: {high: 7499 mm2, low: 1000 mm2}}", [("vents-split", "", "FAIL", "high")]),
        ("{berths: 2, floor: 5.1 m2, vents: {high: 7500 mm2, low: 1500 mm2}}", [("vents-split", "", "FAIL", "high")]),
        ("{berths: 2, floor: 9 m2, vents: {high: 10000 mm2, low: 1499 mm2}}", [("vents-split", "", "FAIL", "low")]),
        (
            "{berths: 2, floor: 11 m2, vents: {high: 20000 mm2, low: 9000 mm2}}",
            [("vents-floor", "", "UNDECIDED", None)],
        ),
        ("{berths: 2, vents: {high: 20000 mm2, low: 9000 mm2}}", [("vents-floor", "", "UNDECIDED", None)]),
        ("{berths: 2, floor: 5 m2, vents: 9000 mm2}", [("vents-levels", "", "UNDECIDED", None)]),
        ("{berths: 2, floor: 5 m2, vents: 8000 mm2}", [("vents", "", "FAIL", None)]),
    ],
)
def test_vents_by_the_floor(space, reasons):
    """Under EN 1949 by EN 721, high and low; a floor over the table and one that is not given leave it open."""
    assert of_vents(job(space, EN)) == reasons


SEALED = EN.replace("input: 29 MJ/h", "input: 29 MJ/h, room-sealed: yes")
SEALED_NOT_SAID = SEALED.replace(", used: outside", "")


@pytest.mark.parametrize(
    ("text", "vents", "reasons"),
    [
        # EN 721 as a leaflet has it, all room-sealed and a floor to 10 m2: 30 cm2 high and 5 cm2 low.
        (SEALED, "{high: 3000 mm2, low: 500 mm2}", []),
        (SEALED, "{high: 2999 mm2, low: 500 mm2}", [("vents-split", "", "FAIL", "high")]),
        (SEALED, "{high: 3000 mm2, low: 499 mm2}", [("vents-split", "", "FAIL", "low")]),
        (SEALED, "3500 mm2", [("vents-levels", "", "UNDECIDED", None)]),
        (SEALED, "3499 mm2", [("vents", "", "FAIL", None)]),
        # The barbecue may be used inside, which asks for 75 and 10 cm2.
        (SEALED_NOT_SAID, "{high: 7500 mm2, low: 1000 mm2}", []),
        (SEALED_NOT_SAID, "{high: 7499 mm2, low: 1000 mm2}", [("vents-split", "", "UNDECIDED", "high")]),
        (SEALED_NOT_SAID, "{high: 7500 mm2, low: 999 mm2}", [("vents-split", "", "UNDECIDED", "low")]),
        (SEALED_NOT_SAID, "{high: 2999 mm2, low: 1000 mm2}", [("vents-split", "", "FAIL", "high")]),
    ],
)
def test_vents_by_the_floor_go_by_what_burns_there(text, vents, reasons):
    """With nothing but room-sealed appliances the table asks for less; what may be used inside leaves it open."""
    assert of_vents(job(f"{{berths: 2, floor: 5 m2, vents: {vents}}}", text)) == reasons


@pytest.mark.parametrize(
    ("text", "vents", "there_mm2", "needed_mm2"),
    [
        (SEALED_NOT_SAID, "{high: 7499 mm2, low: 1000 mm2}", 7499, 7500),  # what it would need with the barbecue
        (SEALED_NOT_SAID, "{high: 2999 mm2, low: 1000 mm2}", 2999, 3000),  # what it surely needs
        (EN, "8000 mm2", 8000, 8500),
    ],
)
def test_vents_by_the_floor_say_what_is_there_and_needed(text, vents, there_mm2, needed_mm2):
    """At the level that is short, or of both together where the levels are not told apart."""
    (reason,) = check_job(job(f"{{berths: 2, floor: 5 m2, vents: {vents}}}", text)).because
    assert reason.details["vents_m2"] * 1e6 == pytest.approx(there_mm2)
    assert reason.details["needed_m2"] * 1e6 == pytest.approx(needed_mm2)


def test_vents_whose_levels_are_not_told_apart_say_the_larger_of_both():
    """85 cm2 in all are enough if 75 of them are high."""
    (reason,) = check_job(job("{berths: 2, floor: 5 m2, vents: 9000 mm2}", EN)).because
    assert (reason.code, reason.details) == ("vents-levels", {"needed_m2": pytest.approx(7500e-6)})


def test_a_floor_over_the_table_says_where_it_ends():
    """EN 721 as a leaflet has it: to 10 m2."""
    (reason,) = check_job(job("{berths: 2, floor: 11 m2, vents: {high: 20000 mm2, low: 9000 mm2}}", EN)).because
    assert reason.details == {"floor_m2": pytest.approx(11.0), "most_m2": pytest.approx(10.0)}


def test_a_room_sealed_appliance_stands_in_no_space():
    """Said to be used inside it needs nothing all the same; one used in another space counts there alone."""
    text = JOB.replace("room-sealed: yes", "room-sealed: yes, used: cabin").replace(
        "input: 29 MJ/h", "input: 29 MJ/h, used: annexe"
    )
    cabin, annexe = check_job(job(SEVERAL, text)).spaces
    assert (cabin.unsealed_w, cabin.portable_w, annexe.portable_w) == (0.0, 0.0, 0.0)
    assert annexe.unsealed_w == pytest.approx(29 * W_PER_MJ_H)
    assert (cabin.is_judged, annexe.is_judged) == (True, True)


LOCKERS = [
    # NFPA 1192, from memory: 1 in2 for 7 lb, half at each level, so 102 mm2 a kg at each.
    ("nfpa-1192", "{bottles: yes, drain: 900 mm2, vents: {high: 1836 mm2, low: 0 mm2}}", ("FAIL", "lowest", "")),
    ("nfpa-1192", "{bottles: yes, vents: {high: 1836 mm2, low: 0 mm2}}", ("UNDECIDED", "lowest", "area")),
    ("nfpa-1192", "{bottles: yes, drain: 1836 mm2}", ("UNDECIDED", "high", "area")),
    # EN 1949, from memory: 2 % of the floor.
    ("en-1949", "{bottles: yes, drain: 12000 mm2}", ("UNDECIDED", "lowest", "floor")),
    ("en-1949", "{bottles: yes, drain: 9000 mm2}", ("FAIL", "lowest", "floor")),
    ("en-1949", "{bottles: yes, floor: 0.6 m2, drain: 9000 mm2}", ("FAIL", "lowest", "")),
]


@pytest.mark.parametrize(("rule", "locker", "told"), LOCKERS)
def test_a_locker_says_what_is_not_known_of_it(rule, locker, told):
    """The opening itself, the floor or the bottles that the rule goes by, or nothing where it is simply too small."""
    text = JOB.replace("rule: as-nzs-5601.2", f"rule: {rule}\nlimits: {{drop: 1 mbar}}")
    (vents,) = check_job(job(locker, text + "cylinders: {size: 9 kg, count: 2}\n")).spaces
    assert (vents.bottles_kg, vents.is_judged, vents.formula is None) == (pytest.approx(18.0), True, True)
    reasons = check_job(job(locker, text + "cylinders: {size: 9 kg, count: 2}\n")).because
    assert [(r.verdict.word, r.details["point"], r.details["unknown"]) for r in reasons if r.code == "locker"] == [told]


def test_a_locker_by_its_bottles_is_open_without_them():
    """NFPA 1192 goes by what the bottles hold: without bottles in the job nothing is known to be enough."""
    text = JOB.replace("rule: as-nzs-5601.2", "rule: nfpa-1192\nlimits: {drop: 1 mbar}")
    locker = "{bottles: yes, drain: 9000 mm2, vents: {high: 9000 mm2, low: 0 mm2}}"
    reasons = [reason for reason in check_job(job(locker, text)).because if reason.code == "locker"]
    assert [(r.verdict.word, r.details["point"], r.details["unknown"]) for r in reasons] == [
        ("UNDECIDED", "lowest", "bottles"),
        ("UNDECIDED", "high", "bottles"),
    ]


@pytest.mark.parametrize(
    ("rule", "floor_m2", "bottles_kg", "needs"),
    [
        ("en-1949", 0.4, 0.0, (10000.0, 0.0, True)),  # EN 1949, from memory: 2 % of the floor, at least 10 000 mm2
        ("en-1949", 0.6, 0.0, (12000.0, 0.0, True)),
        ("en-1949", None, 18.0, (10000.0, 0.0, False)),
        # NFPA 1192, from memory: 1 in2 for 7 lb, half at each level
        ("nfpa-1192", None, 7 * 0.45359237, (645.16 / 2, 645.16 / 2, True)),
        ("nfpa-1192", 0.6, 0.0, (0.0, 0.0, False)),
        ("en-iso-10239", None, 0.0, (284.0, 0.0, True)),  # a drain of 19 mm
    ],
)
def test_what_a_locker_needs(catalogue, rule, floor_m2, bottles_kg, needs):
    """By its floor, by what the bottles hold, or one figure for all; to the three digits of the rule's file."""
    low_m2, high_m2, is_known = locker_needs_m2(catalogue.rule(rule).locker, floor_m2, bottles_kg)
    assert (low_m2 * 1e6, high_m2 * 1e6, is_known) == pytest.approx(needs, rel=5e-3)


@pytest.mark.parametrize(
    ("rule", "locker", "reasons"),
    [
        # EN 1949, from memory: 2 % of the floor and at least 10 000 mm2
        ("en-1949", "{bottles: yes, floor: 0.4 m2, drain: 10000 mm2}", []),
        ("en-1949", "{bottles: yes, floor: 0.6 m2, drain: 11999 mm2}", [("locker", "", "FAIL", "lowest")]),
        ("en-1949", "{bottles: yes, floor: 0.6 m2, drain: 12000 mm2}", []),
        ("en-1949", "{bottles: yes, floor: 0.4 m2}", [("locker", "", "UNDECIDED", "lowest")]),
        ("en-1949", "{bottles: yes, drain: 12000 mm2}", [("locker", "", "UNDECIDED", "lowest")]),
        ("en-1949", "{bottles: yes, drain: 9000 mm2}", [("locker", "", "FAIL", "lowest")]),
        # guidance based on ISO 10239: a drain of 19 mm, 283.5 mm2
        ("en-iso-10239", "{bottles: yes, drain: 284 mm2}", []),
        ("en-iso-10239", "{bottles: yes, drain: 200 mm2}", [("locker", "", "FAIL", "lowest")]),
        # NFPA 1192, from memory: 1 in2 for 7 lb, half at each level: 18 kg need 1836 mm2 at each
        ("nfpa-1192", "{bottles: yes, drain: 1836 mm2, vents: {high: 1836 mm2, low: 0 mm2}}", []),
        (
            "nfpa-1192",
            "{bottles: yes, drain: 1836 mm2, vents: {high: 1800 mm2, low: 0 mm2}}",
            [("locker", "", "FAIL", "high")],
        ),
        ("as-nzs-5601.2", "{bottles: yes, drain: 1 mm2}", []),  # no figure in a source, so not judged
    ],
)
def test_a_bottle_locker_by_the_rule(rule, locker, reasons):
    """The openings at its lowest point, and high where the rule asks; a rule that has no figure judges none."""
    more = "cylinders: {size: 9 kg, count: 2}\n"
    limits = "" if rule == "as-nzs-5601.2" else "\nlimits: {drop: 1 mbar}"
    text = JOB.replace("rule: as-nzs-5601.2", f"rule: {rule}{limits}")
    assert of_vents(job(locker, text + more)) == reasons


def test_spaces_in_json_and_on_the_page(drawbar):
    """Each space with its own verdict; the locker is told as what it is."""
    spaces = (
        "{van: {berths: 2, floor: 5 m2, vents: {high: 7000 mm2, low: 1000 mm2}}, locker: {bottles: yes, floor: 0.3 m2}}"
    )
    text = EN + f"space: {spaces}\n"
    code, out, _ = drawbar("check", "-", "--format", "json", stdin=text)
    van, locker = json.loads(out)["results"][0]["spaces"]
    assert code == 1
    assert (van["name"], van["verdict"], van["needed_high_mm2"], van["needed_low_mm2"]) == ("van", "fail", 7500, 1000)
    assert (locker["bottles"], locker["verdict"], locker["needed_low_mm2"]) == (True, "undecided", 10000)
    code, out, _ = drawbar("check", "-", "--full", stdin=text)
    assert "Vents of van: FAIL, 8,000 mm2 (7,000 mm2 high, 1,000 mm2 low) there, 7,500 mm2\n" in out
    assert "Bottle locker: UNDECIDED, at its lowest point not given, 10,000 mm2 needed" in out
