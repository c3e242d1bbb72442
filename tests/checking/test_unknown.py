"""What a job leaves out: put in as a device, the most that it may take holds, and half a per cent more fails."""

import json
from collections.abc import Callable
from random import Random

import pytest

from calls import Call
from drawbar.checking import unknown
from drawbar.checking.check import check_job
from drawbar.checking.results import CheckResult
from drawbar.line.plugging import plans_of, work_of_look
from drawbar.verdict import Reason, Verdict
from jobs import CATALOGUE, job_from

# What is left out stands in braces, each with what says it is known and takes nothing.
JOB = """\
job: t
gas: {gas}
site: {site}
limits: {{drop: 0.25 kPa}}
regulator: {{outlet: 2.75 kPa, capacity: 500 MJ/h}}
runs:
  main: {{from: regulator, pipe: as1432-b/15.88, length: 3 m, fittings: {{elbow-90: 2}}, devices: {main}}}
  side: {{from: main, pipe: as1432-b/12.70, length: 2 m, rise: 0.3 m}}
  rear: {{from: main, pipe: as1432-b/9.52, length: 1.2 m, rise: -0.4 m}}
outlets:
  near: {{at: side{near}}}
  far:  {{at: rear{far}}}
hoses:
  hose: {{pipe: hose/8, length: 1.5 m, count: 2, devices: {hose}}}
appliances:
  oven:    {{at: side, input: 30 MJ/h}}
  griddle: {{plugs-into: any, hose: hose, input: 21 MJ/h, min-pressure: 2.52 kPa}}
  lamp:    {{plugs-into: any{lamp}, input: 4 MJ/h}}
states:
  service: [oven, griddle, lamp]
  closing: {{griddle: 50 %, lamp: 100 %}}
"""
KNOWN = {
    "gas": "propane",
    "site": "{temperature: 15 degC}",
    "main": "none",
    "near": ", devices: none",
    "far": ", devices: none",
    "hose": "none",
    "lamp": ", hose: none",
}
# By code: what is left out, the place and the name that are told, and where its figure goes when it is known.
LEFT_OUT = {
    "unknown-devices of an outlet": ("near", "", "unknown-devices", "near", ", devices: [{device}]"),
    "unknown-devices of another outlet": ("far", "", "unknown-devices", "far", ", devices: [{device}]"),
    "unknown-device of a run": ("main", "[{name: cock}]", "unknown-device", "main", "[{device}]"),
    "unknown-device of an outlet": (
        "far",
        ", devices: [{name: cock}]",
        "unknown-device",
        "far",
        ", devices: [{device}]",
    ),
    "unknown-device of a hose": ("hose", "[{name: coupler}]", "unknown-device", "hose", "[{device}]"),
    "unknown-hose": ("lamp", "", "unknown-hose", "lamp", ", hose: bare"),
}
RANGES = [
    {},
    {"site": "{temperature: -5 to 45 degC, altitude: 0 to 900 m}"},
    {"gas": "{propane: 60 %, n-butane: 40 %}"},
]


def checked(changes: dict[str, str], more: str = "", formula: str | None = None) -> CheckResult:
    return check_job(job_from(JOB.format(**KNOWN | changes) + more), formula)


def reason_of(result: CheckResult, code: str) -> Reason:
    (reason,) = (reason for reason in result.because if reason.code == code)
    return reason


def put_in(changes: dict[str, str], key: str, form: str, reason: Reason, share: float) -> CheckResult:
    """Return the check of the job with a share of the most that it may take, in place of what was left out."""
    drop_pa, load_w = float(reason.details["most_pa"]) * share, float(reason.details["load_w"])
    device = f"{{name: it, flow: {load_w * 0.0036:.9f} MJ/h, drop: {drop_pa:.9f} Pa}}"
    text = JOB.format(**KNOWN | changes | {key: form.replace("{device}", device)})
    if reason.code == "unknown-hose":  # a hose of next to no length, wide, and with the device
        bare = f"  bare: {{pipe: {{bore: 100 mm}}, length: 1 mm, devices: [{device}]}}\n"
        text = text.replace("hoses:\n", f"hoses:\n{bare}")
    return check_job(job_from(text))


def test_what_is_known_to_be_nothing_passes() -> None:
    """The job that pieces are left out of passes with room, so that what it says of them is more than nothing."""
    for changes in RANGES:
        result = checked(changes)
        assert result.verdict is Verdict.PASS, result.because
        assert result.states[0].worst_margin_pa > 10.0


@pytest.mark.parametrize("changes", RANGES, ids=["a point", "a range", "a mixture"])
@pytest.mark.parametrize("left_out", LEFT_OUT.values(), ids=LEFT_OUT)
def test_the_most_that_may_be_taken_holds_and_more_does_not(
    left_out: tuple[str, str, str, str, str], changes: dict[str, str]
) -> None:
    """As a device with that drop at that load it holds at the worst corner; 0.5 % more does not."""
    key, without, code, place, form = left_out
    result = checked(changes | {key: without})
    reason = reason_of(result, code)
    assert result.verdict is Verdict.UNDECIDED
    assert (len(result.because), reason.place, reason.details["others"]) == (1, place, 0)
    assert result.pressures_pass
    most_pa = float(reason.details["most_pa"])
    assert 1.0 < most_pa < 5000.0
    holds = put_in(changes, key, form, reason, 1.0 - 1e-9)
    assert holds.verdict is Verdict.PASS, holds.because
    more = put_in(changes, key, form, reason, 1.005)
    assert more.verdict is Verdict.UNDECIDED
    assert {reason.code for reason in more.because} == {"pressure"}


LOADS = [
    ("unknown-devices of an outlet", 21.0),  # the largest that plugs in there
    ("unknown-device of a run", 55.0),  # all that burns at once
    ("unknown-device of a hose", 21.0),
    ("unknown-hose", 4.0),
]


@pytest.mark.parametrize(("which", "load_mj_h"), LOADS)
def test_it_is_told_at_the_load_that_the_piece_has(which: str, load_mj_h: float) -> None:
    """At the flow of the largest appliance after it, or of all at once behind a run."""
    key, without, code, _, _ = LEFT_OUT[which]
    reason = reason_of(checked({key: without}), code)
    assert float(reason.details["load_w"]) * 0.0036 == pytest.approx(load_mj_h, rel=1e-6)


def test_a_hose_that_several_may_use_is_told_at_the_largest_of_them() -> None:
    """The griddle's 21 MJ/h, though the lamp's 4 may go through it as well."""
    reason = reason_of(checked({"hose": "[{name: coupler}]", "lamp": ", hose: hose"}), "unknown-device")
    assert float(reason.details["load_w"]) * 0.0036 == pytest.approx(21.0, rel=1e-6)


def test_several_are_told_each_with_the_rest_at_nothing() -> None:
    """Each has the figure it has alone, and says how many others there are; together they need not hold."""
    alone = {
        place: float(reason_of(checked({place: ""}), "unknown-devices").details["most_pa"]) for place in ("near", "far")
    }
    result = checked({"near": "", "far": "", "lamp": ""})
    by_place = {reason.place: reason.details for reason in result.because}
    assert set(by_place) == {"near", "far", "lamp"}
    assert {details["others"] for details in by_place.values()} == {2}
    assert {place: by_place[place]["most_pa"] for place in alone} == pytest.approx(alone, rel=1e-3)


def test_no_room_for_any() -> None:
    """A job that does not hold at the worst corner with nothing there has no room for anything."""
    result = checked({"near": ""}, "tolerances: {length: 50 %, fittings: 200 %, bore: 2 mm, input: 40 %}\n")
    reason = reason_of(result, "unknown-devices")
    assert not result.pressures_pass
    assert reason.details["most_pa"] == 0.0


def test_a_job_that_fails_as_drawn_fails_whatever_is_not_known() -> None:
    """Nothing that is left out can put it right, so it is not asked for."""
    text = JOB.format(**KNOWN | {"near": ""}).replace("input: 30 MJ/h", "input: 300 MJ/h")
    result = check_job(job_from(text))
    assert result.verdict is Verdict.FAIL
    assert "unknown-devices" not in {reason.code for reason in result.because}


def test_what_stands_after_an_outlet_that_nothing_takes_is_asked_for() -> None:
    """The near outlet has no load, and what is not known of the far one and of the hose is told all the same."""
    text = JOB.format(**KNOWN | {"near": "", "far": "", "hose": "[{name: coupler}]"}).replace(": any", ": far")
    assert {(reason.code, reason.place) for reason in check_job(job_from(text)).because} == {
        ("unknown-devices", "far"),
        ("unknown-device", "hose"),
    }


def test_what_nothing_is_plugged_into_is_not_asked_for() -> None:
    """An outlet that no appliance may take has no load."""
    text = JOB.format(**KNOWN | {"near": ""}).replace("plugs-into: any", "plugs-into: far", 1)
    text = text.replace("lamp:    {plugs-into: any", "lamp:    {plugs-into: far")
    result = check_job(job_from(text))
    assert "near" not in {reason.place for reason in result.because}


def test_as_drawn_the_figure_is_that_of_the_line_as_drawn() -> None:
    """With `tolerances: none` there is more room, and what is not known leaves it open all the same."""
    result, drawn = checked({"near": ""}), checked({"near": ""}, "tolerances: none\n")
    assert drawn.verdict is Verdict.UNDECIDED
    most_pa = [float(reason_of(each, "unknown-devices").details["most_pa"]) for each in (result, drawn)]
    # 20 % on the maker's figure and 1.05^2 of the flow are gone at least.
    assert most_pa[1] > most_pa[0] * 1.2 * 1.05**2


@pytest.mark.parametrize("seed", range(6))
def test_random_inputs_hold_as_well(seed: int) -> None:
    """Whatever burns, what is told is the most."""
    random = Random(seed)
    text = JOB.format(**KNOWN | {"near": ""})
    for old in ("input: 30 MJ/h", "input: 21 MJ/h", "input: 4 MJ/h"):
        text = text.replace(old, f"input: {random.uniform(3.0, 22.0):.1f} MJ/h")
    reason = reason_of(check_job(job_from(text)), "unknown-devices")
    for share, verdict in ((1.0 - 1e-9, Verdict.PASS), (1.005, Verdict.UNDECIDED)):
        drop_pa, load_mj_h = float(reason.details["most_pa"]) * share, float(reason.details["load_w"]) * 0.0036
        device = f", devices: [{{name: it, flow: {load_mj_h:.9f} MJ/h, drop: {drop_pa:.9f} Pa}}]"
        assert check_job(job_from(text.replace("near: {at: side}", f"near: {{at: side{device}}}"))).verdict is verdict


def test_the_words_of_what_is_not_known(drawbar: Callable[..., Call]) -> None:
    """What is not given, the most it may take at which load, what is typical, and what to write."""
    text = JOB.format(**KNOWN | {"near": "", "main": "[{name: gas cock}]", "lamp": ""})
    call = drawbar("check", "-", "--format", "json", stdin=text)
    assert call.code == 3
    (result,) = json.loads(call.out)["results"]
    said = {reason["code"]: (reason["place"], reason["text"], reason["fix"]) for reason in result["because"]}
    place, words, fix = said["unknown-devices"]
    assert place == "near"
    assert words.startswith("the drop of near is not given; passes while it is below ")
    assert "at 21 MJ/h, if nothing else that is not known has a drop; typical " in words
    assert words.endswith(", common practice")
    assert "`devices: none`" in fix
    place, words, fix = said["unknown-device"]
    assert place == "main"
    assert words.startswith("the drop of the gas cock of main is not given; passes while it is below ")
    assert "`flow:` and `drop:`" in fix
    place, words, fix = said["unknown-hose"]
    assert place == "lamp"
    assert words.startswith("the hose of lamp is not given; passes while it is below ")
    assert "`hose: none`" in fix


# Where a piece is left out, and which of the three appliances' gas may pass it.
PASSED_BY = {
    "main": ("[{name: cock}]", {"oven", "griddle", "lamp"}),
    "near": ("", {"griddle", "lamp"}),
    "far": (", devices: [{name: cock}, {name: tap, flow: 60 MJ/h, drop: 5 Pa}]", {"griddle", "lamp"}),
    "hose": ("[{name: tap, flow: 60 MJ/h, drop: 5 Pa}, {name: coupler}]", {"griddle"}),
    "lamp": ("", {"lamp"}),
}


@pytest.mark.parametrize("key", PASSED_BY)
def test_an_appliance_is_open_where_its_gas_may_pass_what_is_not_known(key: str) -> None:
    """On the way from the regulator, at an outlet or in a hose that it may take; the others pass."""
    without, open_ones = PASSED_BY[key]
    result = checked({key: without})
    for state in result.states:
        for appliance in state.appliances:
            verdict = Verdict.UNDECIDED if appliance.name in open_ones else Verdict.PASS
            assert appliance.verdict is verdict, appliance.name


def test_what_has_no_name_of_its_own_is_told_without_one() -> None:
    """A hose that is not given and the devices of an outlet have none; a device has its own."""
    names = {
        key: reason_of(checked({key: LEFT_OUT[key_of][1]}), LEFT_OUT[key_of][2]).details["name"]
        for key, key_of in (
            ("lamp", "unknown-hose"),
            ("near", "unknown-devices of an outlet"),
            ("hose", "unknown-device of a hose"),
        )
    }
    assert names == {"lamp": "", "near": "", "hose": "coupler"}


def test_a_piece_on_another_branch_leaves_an_appliance_as_it_is() -> None:
    """What is not known on the way to the rear bayonet is nothing to what can't be plugged in there."""
    text = JOB.format(**KNOWN).replace("length: 1.2 m, rise", "length: 1.2 m, devices: [{name: cock}], rise")
    for near, open_ones in (("any", {"griddle", "lamp"}), ("near", {"griddle"})):
        result = check_job(job_from(text.replace("lamp:    {plugs-into: any", f"lamp:    {{plugs-into: {near}")))
        opens = {a.name for state in result.states for a in state.appliances if a.verdict is Verdict.UNDECIDED}
        assert opens == open_ones


def test_a_typical_piece_is_told_by_what_it_takes_at_the_load() -> None:
    """Its range in the catalogue is at a flow of its own; at 21 MJ/h it goes with the square of the flow."""
    result = checked({"near": ", devices: [{name: bayonet}]"})
    details, listed = reason_of(result, "unknown-device").details, CATALOGUE.device("bayonet")
    assert listed is not None
    assert (details["name"], details["typical"]) == ("bayonet", listed.title)
    typical = result.job.outlets[0].devices[0].typical
    assert typical is not None
    at_load = (21e6 / 3600.0 / result.job.gas.gross_j_kg / typical.flow_kg_s) ** 2
    assert details["typical_low_pa"] == pytest.approx(listed.low_pa * at_load)
    assert details["typical_high_pa"] == pytest.approx(listed.high_pa * at_load)
    assert set(details) == {"name", "others", "most_pa", "load_w", "typical", "typical_low_pa", "typical_high_pa"}


def test_of_very_many_pieces_the_first_dozen_are_worked_out() -> None:
    """The others are named, without a figure."""
    bays = "".join(f"  bay-{number}: {{at: side}}\n" for number in range(13))
    result = check_job(job_from(JOB.format(**KNOWN).replace("  far:  ", f"{bays}  far:  ")))
    unknown = [reason for reason in result.because if reason.code == "unknown-devices"]
    assert len(unknown) == 13
    assert [("most_pa" in reason.details, "load_w" in reason.details) for reason in unknown] == [
        *[(True, True)] * 12,
        (False, False),
    ]


def test_the_looks_at_pieces_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """A piece takes six or seven; those that no work is left for have no figure, and leave the verdict open as well."""
    job = job_from(JOB.format(**{**KNOWN, "near": "", "far": ""}))
    a_look = sum(work_of_look(plan) for plan in plans_of(job))
    for looks, has_figure in ((5, [False, False]), (7, [True, False]), (200, [True, True])):
        monkeypatch.setattr(unknown, "_MOST_LOOKED", looks * a_look)
        left_open = [reason for reason in check_job(job).because if reason.code == "unknown-devices"]
        assert [("most_pa" in reason.details) for reason in left_open] == has_figure
        assert {reason.verdict for reason in left_open} == {Verdict.UNDECIDED}


def test_a_hose_that_is_not_known_of_what_is_never_on_is_not_asked_for() -> None:
    """That it is never on is told; its hose takes nothing of any state that is checked."""
    text = JOB.format(**{**KNOWN, "lamp": ""}).replace("service: [oven, griddle, lamp]", "service: [oven, griddle]")
    result = check_job(job_from(text.replace("closing: {griddle: 50 %, lamp: 100 %}", "closing: {griddle: 50 %}")))
    assert [reason.code for reason in result.because if reason.place == "lamp"] == ["not-on"]
