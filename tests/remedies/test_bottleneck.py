"""What is wrong is what is changed: a thin hose, a tight coupler, a thin main; and what stands may stay."""

import pytest

from drawbar.checking.check import check_job
from drawbar.rechecking.recheck import recheck_job
from drawbar.rechecking.result_lines import outcome_of
from drawbar.rechecking.swaps import swapped_job
from drawbar.remedies.failing import DropShare
from drawbar.remedies.remedy import (
    LARGER_HOSE,
    LARGER_RUNS,
    OTHER_DEVICE,
    SHORTER_HOSE,
    SMALLER_LOAD,
    Remedies,
)
from drawbar.remedies.search import remedies_for
from drawbar.report.recheck_report import RecheckReport
from drawbar.report.remedy_words import remedy_data, remedy_sentences
from jobs import CATALOGUE, job_from
from two_ends import swaps


def plug_in(*, hose="hose/6.3", coupler_pa=10, pipe="as1432-b/15.88", length="1.5 m", mj_h=60):
    """Return the job of a single plug-in appliance on a short run, through a bayonet and a hose with a coupler."""
    return job_from(
        f"""job: A ring on a hose
gas: propane
limits: {{drop: 0.25 kPa}}
tolerances: none
regulator: {{outlet: 2.75 kPa, capacity: 200 MJ/h}}
runs: {{main: {{from: regulator, pipe: {pipe}, length: 2 m}}}}
outlets: {{bayonet: {{at: main, devices: [{{name: bayonet, flow: 60 MJ/h, drop: 20 Pa}}]}}}}
hoses:
  lead: {{pipe: {hose}, length: {length}, devices: [{{name: coupler, flow: 60 MJ/h, drop: {coupler_pa} Pa}}]}}
appliances: {{ring: {{plugs-into: bayonet, hose: lead, input: {mj_h} MJ/h}}}}
"""
    )


def kinds(remedies: Remedies) -> list[str]:
    return [remedy.kind for remedy in remedies.in_order]


def test_a_thin_hose_is_named_and_changed():
    """1.5 m of 6.3 mm takes more than the whole limit at 60 MJ/h: the next size passes, no pipe does."""
    job = plug_in()
    remedies = remedies_for(job, CATALOGUE)
    assert remedies.bottleneck[:4] == ("hose", "lead", None, "lead")
    assert remedies.bottleneck.drop_pa > 250.0
    assert kinds(remedies)[0] == LARGER_HOSE
    assert remedies.of_kind(LARGER_RUNS) is None
    assert remedies.best.edits() == {"hoses.lead.pipe": "hose/8"}
    sentences = remedy_sentences(remedies)
    assert sentences[0].startswith("The largest drop is that of hose lead, ")
    assert sentences[1] == "No pipe size of the families is enough by itself."
    spare = remedies.best.margin_pa / 1000.0
    assert sentences[2] == f"Make hose lead 8 (hose/8, now 6.3): passes with {spare:.3f} kPa to spare at worst."


def test_a_hose_that_is_the_widest_of_its_family_is_cut():
    """Where there is no larger hose, its greatest length is told, right to a thousandth by the share of the friction.

    Friction goes straight with length in a low-pressure line, so what is over the limit is what must go: the length
    that is left is to the length as what the hose may take is to what it takes.
    """
    job = plug_in(hose="hose/10", length="15 m")
    remedies = remedies_for(job, CATALOGUE)
    assert remedies.of_kind(LARGER_HOSE) is None
    assert kinds(remedies)[0] == SHORTER_HOSE
    margin_pa = check_job(job).states[0].margin_pa
    takes_pa = remedies.bottleneck.drop_pa
    (change,) = remedies.best.changes
    assert change.most_m / 15.0 == pytest.approx((takes_pa + margin_pa) / takes_pa, rel=1e-3)
    length = remedies.best.edits()["hoses.lead.length"]
    assert 0.0 <= change.most_m - float(length.removesuffix(" m")) < 0.1
    assert f"Make hose lead no longer than {length} (now 15 m), if it still reaches." in remedy_sentences(remedies)


def test_a_tight_coupler_is_named_and_changed():
    """A coupler of 400 Pa at 60 MJ/h takes 225 Pa at 45 MJ/h (the square of three quarters): it is what must go.

    What it may take is what it takes less what the job is short of, at the flow of its figure.
    """
    job = plug_in(hose="hose/10", coupler_pa=400, mj_h=45)
    remedies = remedies_for(job, CATALOGUE)
    assert remedies.bottleneck[:4] == ("hose", "lead", 0, "coupler")
    assert remedies.bottleneck.drop_pa == pytest.approx(225.0, rel=1e-6)
    assert kinds(remedies)[0] == OTHER_DEVICE
    margin_pa = check_job(job).states[0].margin_pa
    (change,) = remedies.best.changes
    assert change.most_pa == pytest.approx(400.0 + margin_pa * (60.0 / 45.0) ** 2, rel=1e-3)
    edits = remedies.best.edits()
    assert list(edits) == ["hoses.lead.devices.0"]
    drop = edits["hoses.lead.devices.0"].removeprefix("{name: coupler, flow: 60 MJ/h, drop: ").removesuffix("}")
    assert float(drop.removesuffix(" kPa")) * 1000.0 == pytest.approx(change.most_pa, abs=1.0)
    assert (
        f"Change the coupler of hose lead for one that drops no more than {drop} at 60 MJ/h (now 0.4 kPa)."
        in remedy_sentences(remedies)
    )


def test_a_thin_main_is_changed_and_not_the_hose():
    """Where the run takes most, and neither hose nor coupler is enough, it is the run."""
    remedies = remedies_for(plug_in(hose="hose/10", pipe="as1432-b/7.94"), CATALOGUE)
    assert remedies.bottleneck[:4] == ("run", "main", None, "main")
    assert kinds(remedies) == [LARGER_RUNS]


def test_the_same_part_in_two_places_is_changed_in_both():
    """Two rings on two alike outlets, each with a tight bayonet: changing one bayonet leaves the other failing."""
    text = """job: Two rings
gas: propane
limits: {drop: 0.25 kPa}
tolerances: none
regulator: {outlet: 2.75 kPa, capacity: 200 MJ/h}
runs: {main: {from: regulator, pipe: as1432-b/25.40, length: 1 m}}
outlets:
  left:  {at: main, devices: [{name: bayonet, flow: 60 MJ/h, drop: 500 Pa}]}
  right: {at: main, devices: [{name: bayonet, flow: 60 MJ/h, drop: 500 Pa}]}
appliances:
  one-ring: {plugs-into: any, hose: none, input: 50 MJ/h}
  other-ring: {plugs-into: any, hose: none, input: 50 MJ/h}
"""
    remedies = remedies_for(job_from(text), CATALOGUE)
    assert kinds(remedies) == [OTHER_DEVICE]
    assert [change.place for change in remedies.best.changes] == ["left", "right"]
    words = remedy_sentences(remedies)[-1]
    assert words.startswith("Change the bayonet of outlet left and outlet right for ones that each drop no more than ")


def test_a_run_that_is_larger_already_may_stay():
    """A branch wider than the main that feeds it stays while the main grows to less than the branch."""
    text = """job: A wide branch on a thin main
gas: propane
limits: {drop: 0.25 kPa}
tolerances: none
regulator: {outlet: 2.75 kPa, capacity: 200 MJ/h}
runs:
  main:   {from: regulator, pipe: as1432-b/9.52, length: 3 m}
  branch: {from: main, pipe: as1432-b/25.40, length: 1 m}
appliances: {heater: {at: branch, input: 80 MJ/h}}
"""
    remedies = remedies_for(job_from(text), CATALOGUE)
    assert [remedy.edits() for remedy in remedies.in_order] == [{"runs.main.pipe": "as1432-b/12.70"}]


def test_a_second_stage_starts_afresh():
    """Behind its own regulator a run may be larger than the first-stage line that feeds it."""
    text = """job: Two stages
gas: propane
limits: {drop: 0.25 kPa}
tolerances: none
regulator: {outlet: 70 kPa, capacity: 200 MJ/h}
runs:
  first:  {from: regulator, pipe: as1432-b/7.94, length: 3 m}
  second: {from: first, pipe: as1432-b/7.94, length: 3 m,
           regulator: {outlet: 2.75 kPa, inlet-min: 30 kPa, capacity: 200 MJ/h}}
appliances: {heater: {at: second, input: 60 MJ/h}}
"""
    best = remedies_for(job_from(text), CATALOGUE).best
    assert [change.run for change in best.changes] == ["second"]


def test_no_pipe_can_do_it():
    """A stove that the weight of the gas alone leaves too little, 3 m up: no pipe and no load does, none is made up."""
    text = """job: A stove on the roof
gas: propane
limits: {drop: 0.25 kPa}
tolerances: none
regulator: {outlet: 2.75 kPa, capacity: 200 MJ/h}
runs: {main: {from: regulator, pipe: as1432-b/25.40, length: 3 m, rise: 3 m}}
appliances: {stove: {at: main, input: 60 MJ/h, min-pressure: 2.74 kPa}}
"""
    remedies = remedies_for(job_from(text), CATALOGUE)
    assert remedies.in_order == ()
    assert remedy_sentences(remedies) == [
        "No pipe size of the families is enough by itself.",
        "No single kind of change puts it right.",
    ]


def test_the_load_is_told_in_the_units_of_the_job():
    """The largest load is written in Btu/h where the job is, rounded down, and as an edit that passes."""
    text = """job: A long line
gas: propane
rule: ifgc-11inwc
tolerances: none
regulator: {outlet: 11 inH2O, capacity: 900000 Btu/h}
runs: {main: {from: regulator, pipe: {bore: 0.5 in, roughness: 0.0015 mm}, length: 60 ft}}
appliances: {heater: {at: main, input: 200000 Btu/h}}
"""
    remedies = remedies_for(job_from(text), CATALOGUE)
    assert kinds(remedies) == [SMALLER_LOAD]
    most = remedies.best.edits(remedies.display)["appliances.heater.input"]
    assert most.endswith(" Btu/h")
    assert remedy_sentences(remedies)[-1] == (
        f"Fit a smaller heater, of no more than {most} (now 200000 Btu/h): it then passes."
    )
    assert check_job(job_from(text.replace("200000 Btu/h", most))).pressures_pass
    more = f"{float(most.removesuffix(' Btu/h')) * 1.02:.0f} Btu/h"  # past the last digit that is shown
    assert not check_job(job_from(text.replace("200000 Btu/h", more))).pressures_pass


def test_scripts_get_every_kind_with_its_edits():
    """Each remedy has its kind, changes, edits and the text of the page; the order is that of the page."""
    remedies = remedies_for(plug_in(coupler_pa=120, mj_h=50), CATALOGUE)
    data = remedy_data(remedies)
    assert [entry["kind"] for entry in data["in_order"]] == kinds(remedies)
    assert data["bottleneck"]["place"] == "lead"
    assert data["units"]["pressure"] == "kPa"
    for entry, remedy in zip(data["in_order"], remedies.in_order, strict=True):
        assert entry["edits"] == remedy.edits(remedies.display)
        assert entry["proven"] is True
        assert entry["text"] in {text.removeprefix("Or ") for text in remedy_sentences(remedies, None)} | {
            text[3:4].upper() + text[4:] for text in remedy_sentences(remedies, None)
        }
    assert isinstance(remedies.bottleneck, DropShare)


def test_every_kind_reads_back_from_a_result_line():
    """A line of `recheck` holds each kind of change; read back, it is the line that it was."""
    seen = set()
    for job, swap in (
        (plug_in(mj_h=30), "ring=70 MJ/h"),
        (plug_in(hose="hose/10", coupler_pa=400, mj_h=20), "ring=45 MJ/h"),
        (plug_in(hose="hose/10", pipe="as1432-b/7.94", mj_h=20), "ring=60 MJ/h"),
    ):
        outcome = recheck_job(job, swaps(swap), CATALOGUE)
        line = RecheckReport().line(outcome)
        read_back = outcome_of(line)
        assert RecheckReport().line(read_back) == line
        assert kinds(read_back.remedies) == kinds(outcome.remedies) != []
        read_back.remedies.best.applied_to(swapped_job(job, swaps(swap)).job, CATALOGUE)
        seen |= set(kinds(outcome.remedies))
    assert seen == {LARGER_HOSE, SHORTER_HOSE, OTHER_DEVICE, LARGER_RUNS, SMALLER_LOAD}
