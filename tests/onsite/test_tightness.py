"""Tightness: volumes and leaks by hand, the fall of a reading, hoses, stages, purges, and the command."""

import json
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import ROOT
from drawbar.onsite.leak import gauge_at_pa, leak_of_fall_m3_s, wait_for_fall_s
from drawbar.onsite.line_volume import largest_hoses, sections_of
from drawbar.onsite.purge import purges_of
from drawbar.onsite.tightness import (
    HOLDS_LITTLE,
    WORKS_ABOVE_TEST,
    TightnessError,
    tightness_of,
)
from drawbar.onsite.tightness_reading import Visit, reading_of
from drawbar.physics.air import R
from drawbar.problems import Problems
from jobs import CATALOGUE, job_from

JOB = """
job: A trailer
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: {bore: 14 mm}, length: 4 m, fittings: {elbow-90: 3}}
  left: {from: main, pipe: {bore: 11 mm}, length: 2 m}
  right: {from: main, pipe: {bore: 8 mm}, length: 1 m}
outlets:
  left-bayonet: {at: left}
  right-bayonet: {at: right}
hoses:
  long: {pipe: {bore: 10 mm}, length: 3 m, count: 1}
  short: {pipe: {bore: 8 mm}, length: 1 m}
appliances:
  stove: {at: right, input: 20 MJ/h}
  barbecue: {plugs-into: left-bayonet, hose: [long, short], input: 40 MJ/h}
  urn: {plugs-into: any, hose: any, input: 21 MJ/h}
"""
STAGES = """
job: Two stages
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 70 kPa}
runs:
  first: {from: regulator, pipe: {bore: 8 mm}, length: 5 m}
  low: {from: first, pipe: {bore: 11 mm}, length: 2 m, regulator: {inlet-min: 20 kPa, outlet: 2.75 kPa}}
  spur: {from: low, pipe: {bore: 8 mm}, length: 1 m}
appliances:
  stove: {at: spur, input: 20 MJ/h}
"""
LINE_M3 = math.pi / 4 * (0.014**2 * 4 + 0.011**2 * 2 + 0.008**2 * 1)
LONG_M3 = math.pi / 4 * 0.010**2 * 3
SHORT_M3 = math.pi / 4 * 0.008**2 * 1


def job(text=JOB):
    return job_from(text)


TRAILER = job()


def reading(start_pa, end_pa, temperatures_k=None):
    (section,) = sections_of(TRAILER)
    return reading_of(TRAILER, section, (start_pa, end_pa), 300.0, Visit(temperatures_k=temperatures_k))


# volumes


def test_the_volume_is_that_of_the_pipe_by_hand():
    """Each run counts by pi / 4 d2 l: 0.856 L. The equivalent length of its fittings is none of it."""
    (section,) = sections_of(job())
    assert section.volume_m3 == pytest.approx(LINE_M3)
    assert section.volume_m3 * 1e3 == pytest.approx(0.856, abs=0.001)
    assert section.hoses == ()


def test_hoses_are_the_largest_that_go_on_the_outlets():
    """There is one long hose: it goes on the one outlet, and a short one, of which there are enough, on the other."""
    plugged = sorted(hose.name for _, hose in largest_hoses(job()))
    assert plugged == ["long", "short"]
    (section,) = sections_of(job(), hoses=True)
    assert section.volume_m3 == pytest.approx(LINE_M3 + LONG_M3 + SHORT_M3)


def test_a_hose_gives_way_to_let_another_find_its_place():
    """The long hose fits both outlets, the short one the left one alone: both are placed, the long one on the right."""
    text = JOB.replace("plugs-into: left-bayonet, hose: [long, short]", "plugs-into: left-bayonet, hose: any")
    text = text.replace("plugs-into: any, hose: any", "plugs-into: any, hose: long")
    assert [(outlet.name, hose.name) for outlet, hose in largest_hoses(job(text))] == [
        ("left-bayonet", "short"),
        ("right-bayonet", "long"),
    ]


def test_a_line_of_two_stages_is_two_sections():
    """A second-stage regulator parts the line: each part has its own pressure and volume."""
    first, second = sections_of(job(STAGES))
    assert (first.name, first.gauge_pa) == (ROOT, 70000.0)
    assert first.volume_m3 == pytest.approx(math.pi / 4 * 0.008**2 * 5)
    assert (second.name, second.gauge_pa) == ("low", 2750.0)
    assert second.volume_m3 == pytest.approx(math.pi / 4 * (0.011**2 * 2 + 0.008**2))


# leaks


def test_the_leak_of_a_fall_by_the_ideal_gas_law_by_hand():
    """Moles before less moles after, turned into litres of 15 degC and 101.325 kPa, an hour's worth."""
    before = (101325.0 + 2750.0) * 0.8e-3 / (R * 293.15)
    after = (101325.0 + 2600.0) * 0.8e-3 / (R * 293.15)
    litres_h = (before - after) * R * 288.15 / 101325.0 * 1e3 * 12  # 5 min, 12 of which are an hour
    assert leak_of_fall_m3_s(0.8e-3, 150.0, 293.15, 300.0) * 3.6e6 == pytest.approx(litres_h, rel=1e-9)
    assert litres_h == pytest.approx(0.01397, abs=1e-5)


@given(st.floats(1e-5, 0.1), st.floats(0.1, 1e4), st.floats(240.0, 320.0), st.floats(1.0, 1e5))
def test_wait_and_leak_undo_each_other(volume_m3, fall_pa, temperature_k, time_s):
    """A leak that makes a fall in a time takes that time to make the fall."""
    leak = leak_of_fall_m3_s(volume_m3, fall_pa, temperature_k, time_s)
    assert wait_for_fall_s(volume_m3, fall_pa, temperature_k, leak) == pytest.approx(time_s, rel=1e-9)


def test_the_smallest_leak_and_the_wait():
    """A step of 10 Pa in 0.856 L is 0.0845 mL: in 5 min 0.00101 L/h; 0.1 L/h makes it in 3 s."""
    result = tightness_of(TRAILER, CATALOGUE, leak_m3_s=0.1 / 3.6e6)
    (section,) = result.sections
    assert result.test.name == "as-nzs-5601.2"
    assert result.time_s == 300.0
    assert result.smallest_leak_m3_s(section) * 3.6e6 == pytest.approx(0.001014, abs=1e-6)
    assert result.wait_s(section) == pytest.approx(3.04, abs=0.01)
    assert result.pa_per_k(section) == pytest.approx(104075.0 / 288.15)


# readings


@given(st.floats(0.0, 1e5), st.floats(240.0, 320.0), st.floats(240.0, 320.0))
def test_a_tight_line_has_no_fall_whatever_the_temperatures(start_pa, start_k, end_k):
    """What the gas law alone makes of the reading is not taken for a leak."""
    end_pa = gauge_at_pa(start_pa, 101325.0, start_k, end_k)
    result = reading(start_pa, end_pa, (start_k, end_k))
    assert result.fall_pa == pytest.approx(0.0, abs=1e-6)
    assert result.leak_m3_s == pytest.approx(0.0, abs=1e-12)


def test_a_line_that_warms_may_hide_a_leak():
    """A steady reading while the gas warms by a degree is a fall of 359 Pa at the first temperature."""
    result = reading(2750.0, 2750.0, (288.15, 289.15))
    assert result.fall_pa == pytest.approx(104075.0 / 289.15)
    assert result.raw_fall_pa == 0.0
    assert result.by_temperature_pa == result.fall_pa


# the call


def test_warnings_are_kinds_with_their_section():
    """What is to be looked at again comes as data: a section that is too small or works too high for the test."""
    one_stage = STAGES.replace("regulator: {inlet-min: 20 kPa, outlet: 2.75 kPa}", "rise: 0 m")
    result = tightness_of(job(one_stage), CATALOGUE, test="en-1949")
    (section,) = result.sections
    assert list(result.warnings()) == [(HOLDS_LITTLE, section), (WORKS_ABOVE_TEST, section)]
    assert list(tightness_of(TRAILER, CATALOGUE).warnings()) == []


@pytest.mark.parametrize(
    ("asked", "argument", "reason"),
    [
        ({"test": "en1949"}, "test", "`en1949` is not a test of the catalogue; did you mean `en-1949`?"),
        ({"section": "main"}, "section", "`main` has no regulator of its own; known here: regulator"),
        ({"temperatures_k": (288.0, 289.0)}, "temperatures_k", "goes with readings"),
        ({"time_s": 0.0}, "time_s", "0 can't be right; give more than 0"),
        ({"resolution_pa": -10.0}, "resolution_pa", "-10 can't be right; give more than 0"),
        ({"settled_s": 120.0}, "settled_s", "goes with readings"),
        ({"gas_change_k": 1.0}, "gas_change_k", "goes with readings"),
        (
            {"readings_gauge_pa": (2750.0, 2750.0), "settled_s": -1.0},
            "settled_s",
            "-1 can't be right; give 0 or more",
        ),
        ({"thermometer_k": math.nan}, "thermometer_k", "nan can't be right; give from 0 to 50"),
        (
            {"readings_gauge_pa": (2750.0, 2750.0), "gas_change_k": 51.0},
            "gas_change_k",
            "51 can't be right; give from 0 to 50",
        ),
    ],
)
def test_a_wrong_argument_is_named(asked, argument, reason):
    """A script is told which argument can't be right, and why."""
    with pytest.raises(TightnessError) as refused:
        tightness_of(TRAILER, CATALOGUE, **asked)
    assert (refused.value.argument, refused.value.reason) == (argument, reason)
    assert str(refused.value) == f"{argument}: {reason}"


def test_readings_of_several_stages_need_a_section():
    """The sections to choose from come with the refusal; with one of them the readings are judged on its volume."""
    asked = {"readings_gauge_pa": (2750.0, 2700.0), "time_s": 300.0}
    with pytest.raises(
        TightnessError, match="the job has several stages; say which was read: regulator, low"
    ) as refused:
        tightness_of(job(STAGES), CATALOGUE, **asked)
    assert refused.value.choices == (ROOT, "low")
    result = tightness_of(job(STAGES), CATALOGUE, section="low", **asked)
    low_m3 = math.pi / 4 * (0.011**2 * 2 + 0.008**2)
    assert result.reading.leak_m3_s == pytest.approx(leak_of_fall_m3_s(low_m3, 50.0, 288.15, 300.0))
    assert not result.passes


def test_a_run_without_a_size_has_no_volume():
    """A size left open is refused, and not taken as the first that there is."""
    open_job = job_from(JOB.replace("{bore: 8 mm}, length: 1 m}\nout", "as1432-b/auto, length: 1 m}\nout"), sized=False)
    with pytest.raises(ValueError, match="run right leaves its size open"):
        tightness_of(open_job, CATALOGUE)


# purge


def test_purges_by_hand():
    """The way to each burner, the gas in it at line pressure, and the time at the burner's rate."""
    purges = {purge.appliance.name: purge for purge in purges_of(job())}
    to_right_m3 = math.pi / 4 * (0.014**2 * 4 + 0.008**2 * 1)
    stove = purges["stove"]
    assert stove.volume_m3 == pytest.approx(to_right_m3)
    # 20 MJ/h of 50.33 MJ/kg; propane at 104.075 kPa and 15 degC: 1.899 kg/m3 x 104.075 / 101.325 (CoolProp 8.0.0)
    mass_kg = to_right_m3 * 1.899 * 104.075 / 101.325
    assert stove.least_s == pytest.approx(mass_kg / (20 / 50.33 / 3600), rel=0.002)
    # Which burner is lit first is not known: all of them at the least, one of 1 kW (3.6 MJ/h) at the most.
    assert not stove.is_burner_known
    assert stove.mixed_s == pytest.approx(2.9957 * stove.least_s * 20 / 3.6, rel=1e-4)
    assert (purges["barbecue"].outlet.name, purges["barbecue"].hose.name) == ("left-bayonet", "long")
    assert purges["barbecue"].volume_m3 == pytest.approx(math.pi / 4 * (0.014**2 * 4 + 0.011**2 * 2) + LONG_M3)


def test_a_purge_is_through_the_burner_that_is_lit_first():
    """With `smallest-burner` the time is through that one, by hand; one that takes more than the appliance is told."""
    known = job_from(JOB.replace("input: 20 MJ/h", "input: 20 MJ/h, smallest-burner: 5 MJ/h"))
    stove, whole = (
        next(purge for purge in purges_of(each) if purge.appliance.name == "stove") for each in (known, job())
    )
    assert stove.is_burner_known
    assert stove.least_s == pytest.approx(whole.least_s * 20 / 5)
    assert stove.mixed_s == pytest.approx(2.9957 * stove.least_s, rel=1e-4)
    with pytest.raises(
        Problems, match=r"appliances.stove.smallest-burner: is more than the input; one burner of several"
    ):
        job_from(JOB.replace("input: 20 MJ/h", "input: 20 MJ/h, smallest-burner: 25 MJ/h"))


def test_a_purge_of_two_stages_counts_each_at_its_pressure():
    """The first stage at 70 kPa holds 1.7 times the gas of the same volume at 2.75 kPa."""
    (purge,) = purges_of(job(STAGES))
    low, high = (job(STAGES).vapour.density_kg_m3(101325.0 + gauge_pa) for gauge_pa in (2750.0, 70000.0))
    mass_kg = math.pi / 4 * (0.008**2 * 5 * high + (0.011**2 * 2 + 0.008**2 * 1) * low)
    assert purge.mass_kg == pytest.approx(mass_kg)


# the catalogue


def test_tests_have_names_of_their_own_or_of_rule_sets():
    """A rule set's own figures go by its name; a rule set may give none."""
    names = CATALOGUE.tightness_tests()
    assert {"as-nzs-5601.2", "bs-6891-lpg", "ifgc-11inwc", "en-1949"} <= {*names}
    assert len(names) == len({*names})
    assert {*CATALOGUE.names("rules")} - {*names} == {"trf-50"}
    assert CATALOGUE.tightness_test("trf-50") is None
    assert CATALOGUE.tightness_test("nothing") is None


def test_a_workshop_may_add_a_test(tmp_path):
    """`tightness:` in a library is one more kind; what is wrong in it is told with its place."""
    library = tmp_path / "own.yaml"
    row = "title: Ours, source: common practice, medium: nitrogen, pressure: 20 kPa, hold: 10 min, allowed-fall: 0 Pa"
    library.write_text(f"tightness:\n  ours: {{{row}}}\n", encoding="utf-8")
    assert Catalogue([str(library)]).tightness_test("ours").hold_s == 600.0
    library.write_text(f"tightness:\n  ours: {{{row.replace('10 min', '-1 min')}}}\n", encoding="utf-8")
    with pytest.raises(Problems, match=r"own\.yaml:2:.*tightness\.ours\.hold: `-1 min` can't be right"):
        Catalogue([str(library)])


# the command


@pytest.fixture
def call(tmp_path, monkeypatch, drawbar):
    def run(*options, text=JOB):
        (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
        monkeypatch.chdir(tmp_path)
        return drawbar("tightness", "job.yaml", *options)

    return run


def test_the_page_without_a_reading(call):
    """The test, the volumes, what shows in the time; cautions at the end; nothing wider than a terminal."""
    code, out, err = call("--full", "--leak", "0.1 L/h")
    assert (code, err) == (0, "")
    assert "PASS" not in out
    assert out.startswith(
        "A trailer: tightness: not tested\n"
        "================================\n"
        "\n"
        "File job.yaml. Gas in the pipe at 15 degC, air pressure 101.3 kPa absolute.\n"
        "\n"
        "Test as-nzs-5601.2: fill with air or LPG to 2.75 kPa, let it settle 2 min, then\n"
        "test for 5 min. Allowed fall: none.\n"
    )
    assert (
        "run or hose  pipe         bore  length  holds\n"
        "                            mm       m      L\n"
        "-----------  ----------  -----  ------  -----\n"
        "main         bore 14 mm  14.00    4.00  0.616\n"
        "left         bore 11 mm  11.00    2.00  0.190\n"
        "right        bore 8 mm    8.00    1.00  0.050\n"
        "the line                                0.856\n"
    ) in out
    assert (
        "With a manometer that shows steps of 0.01 kPa:\n"
        "A leak from 0.001 L/h up shows in 5 min.\n"
        "A leak of 0.1 L/h shows after 3.04 s.\n"
        "1 K of warming or cooling changes the reading by 0.361 kPa, as much as 36 steps.\n"
    ) in out
    for caution in ("Never look for a leak with a flame.", "Purge outdoors", "lies in low places", "A licensed person"):
        assert caution in out
    assert max(map(len, out.splitlines())) <= 80


def test_one_screen_without_a_reading(call):
    """Not tested: how to make the test, what shows in its time, what to do, one caution; 23 lines at the most."""
    code, out, err = call("--leak", "0.1 L/h")
    assert (code, err) == (0, "")
    assert out == (
        "A trailer: tightness: not tested\n"
        "================================\n"
        "\n"
        "Test as-nzs-5601.2: fill with air or LPG to 2.75 kPa, let it settle 2 min, then\n"
        "test for 5 min. Allowed fall: none. Manometer: steps of 0.01 kPa or finer.\n"
        "\n"
        "downstream of        holds  least leak that shows      0.1 L/h  per 1 K\n"
        "                         L          in 5 min, L/h  shows after      kPa\n"
        "-------------------  -----  ---------------------  -----------  -------\n"
        "the first regulator  0.856                  0.001       3.04 s    0.361\n"
        "\n"
        "To do:\n"
        "- Test, then give the readings: --time '5 min' --settled TIME --start PRESSURE\n"
        "  --end PRESSURE --resolution STEP.\n"
        "- Purge after a PASS: at most 3.12 L of gas; longest through barbecue (no\n"
        "  `smallest-burner` given), 9 to 307 s.\n"
        "\n"
        "An aid: a licensed gasfitter answers for the work, the local code prevails, and\n"
        "the line is proved by test.\n"
        "`--full` has the volumes by run, the purge by appliance, sources and cautions.\n"
    )


US = """
job: By the foot
gas: propane
site: {temperature: 50 degF}
rule: ifgc-11inwc
regulator: {outlet: 11 inH2O, capacity: 200000 Btu/h}
runs:
  main: {from: regulator, pipe: b88-k/0.75, length: 18 ft}
appliances:
  range: {at: main, input: 60000 Btu/h}
"""
READ = ("--start", "3 psi", "--end", "2.9 psi", "--time", "10 min", "--settled", "5 min")
WARM = ("--start-temperature", "60 degF", "--end-temperature", "55 degF")


@pytest.mark.parametrize(
    "options", [(), ("--full",), READ, (*READ, "--full"), (*READ, *WARM), (*READ, *WARM, "--full")]
)
def test_a_job_in_feet_has_no_metric_unit(call, options):
    """Btu/h and degF: cubic feet, psi and degF on every line of every page."""
    _, out, _ = call(*options, text=US)
    words = set(re.findall(r"[A-Za-z][A-Za-z0-9/]*", out))
    assert not words & {"L", "L/h", "K", "degC", "kPa", "Pa", "mm", "m", "kg", "MJ/h"}, out
    assert "psi" in words


@pytest.mark.parametrize("end", ["2.75 kPa", "2.7 kPa", "2.2 kPa", "1 kPa", "2.9 kPa"])
@pytest.mark.parametrize("how", [(), ("--settled", "3 min", "--resolution", "10 Pa"), ("--resolution", "100 Pa")])
@pytest.mark.parametrize("temperatures", [(), ("--start-temperature", "15 degC", "--end-temperature", "14 degC")])
def test_a_reading_fits_one_screen(call, end, how, temperatures):
    """Whatever was read, verdict, reasons with what to do, test and caution stand on 23 lines of 80 columns."""
    _, out, _ = call("--start", "2.75 kPa", "--end", end, "--time", "1 min", *how, *temperatures)
    lines = out.splitlines()
    assert len(lines) <= 23
    assert max(map(len, lines)) <= 80


def test_json_has_figures_as_numbers(call):
    """Volumes, the test with its source, the reading and the purge, under keys that carry their units."""
    readings = ("--start", "2.75 kPa", "--end", "2.745 kPa")
    how = ("--time", "5 min", "--settled", "2 min", "--resolution", "10 Pa")
    code, out, _ = call("--format", "json", "--hoses", *readings, *how)
    assert code == 0
    (result,) = json.loads(out)["results"]
    assert (result["verdict"], result["because"]) == ("pass", [])
    assert (result["allowed_fall_Pa"], result["resolution_Pa"]) == (0.0, 10.0)
    assert result["reading"]["settled_s"] == 120.0
    (section,) = result["sections"]
    assert section["volume_L"] == pytest.approx((LINE_M3 + LONG_M3 + SHORT_M3) * 1e3)
    assert [(hose["name"], hose["outlet"]) for hose in section["hoses"]] == [
        ("long", "left-bayonet"),
        ("short", "right-bayonet"),
    ]
    assert result["reading"]["fall_Pa"] == pytest.approx(5.0)
    assert [purge["appliance"] for purge in result["purge"]] == ["stove", "barbecue", "urn"]


def test_csv_has_a_row_for_each_section(call):
    """Two stages, two rows; no verdict without a reading."""
    code, out, _ = call("--format", "csv", "--time", "10 min", text=STAGES)
    assert code == 0
    head, first, second = out.splitlines()
    names = head.split(",")
    assert [row.split(",")[names.index("section")] for row in (first, second)] == [ROOT, "low"]
    assert first.split(",")[names.index("time_s")] == "600"
    assert first.split(",")[names.index("verdict")] == ""


def test_stages_stand_in_a_table(call):
    """Each section with its own smallest leak; a job without a rule set has no test, and no fall allowed."""
    code, out, _ = call("--full", "--time", "10 min", text=STAGES)
    assert code == 0
    assert "downstream of the regulator of low" in out
    assert "the first regulator " in out
    assert "No figures of a tightness test are known for this job" in out
    assert max(map(len, out.splitlines())) <= 80


USAGE = "Usage: drawbar tightness [OPTIONS] JOB\nTry 'drawbar tightness --help' for help.\n\nError: "
READ = ("--start", "2.75 kPa", "--end", "2.70 kPa")


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ((*READ, "--time", "-5 min"), "Invalid value for '--time': `-5 min` can't be right; write from 1 s to 168 h"),
        (
            (*READ, "--start-temperature", "-274 degC", "--end-temperature", "5 degC"),
            "Invalid value for '--start-temperature': `-274 degC` can't be right; write from -40 degC to 80 degC",
        ),
        (("--start", "-1 kPa"), "Invalid value for '--start': `-1 kPa` can't be right; write from 0 Pa to 1000 kPa"),
        (("--settled", "2 min"), "Invalid value for --settled: goes with readings"),
        (("--gas-change", "1 K"), "Invalid value for --gas-change: goes with readings"),
        (
            (*READ, "--thermometer", "1 degC"),
            "Invalid value for '--thermometer': `degC` is not a unit of temperature difference; write a number and K",
        ),
        (("--end", "2.75 kPa"), "--start and --end go together: give both readings."),
        (
            (*READ, "--end-temperature", "20 degC"),
            "--start-temperature and --end-temperature go together: give both.",
        ),
        (
            ("--start-temperature", "20 degC", "--end-temperature", "20 degC"),
            "--start-temperature goes with readings: give --start and --end.",
        ),
        (
            ("--test", "en1949"),
            "Invalid value for --test: `en1949` is not a test of the catalogue; did you mean `en-1949`?",
        ),
        (
            ("--section", "main"),
            "Invalid value for --section: `main` has no regulator of its own; known here: regulator",
        ),
        (
            ("--resolution", "0 Pa"),
            "Invalid value for '--resolution': `0 Pa` can't be right; write from 0.1 Pa to 10 kPa",
        ),
        (
            ("--leak", "0.1 m3/h"),
            "Invalid value for '--leak': `m3/h` is not a unit of leak rate; write a number and one of L/h, ft3/h",
        ),
    ],
)
def test_a_wrong_option_is_named(call, options, message):
    """Exit code 2, nothing on standard output, the option's name and what would fit."""
    assert call(*options) == (2, "", f"{USAGE}{message}\n")


def test_a_reading_of_two_stages_needs_a_section(call):
    """Which part of the line was read is for the user to say, and for how long where no test is known."""
    assert call(*READ, "--time", "5 min", text=STAGES) == (
        2,
        "",
        f"{USAGE}The job has several stages; say with --section which was read: regulator, low.\n",
    )
    assert call(*READ, "--section", "low", text=STAGES) == (
        2,
        "",
        f"{USAGE}--time is missing: the test gives none, so say how far apart the readings are.\n",
    )
    code, out, _ = call(*READ, "--section", "low", "--time", "5 min", text=STAGES)
    assert code == 3
    assert out.startswith("Two stages: tightness downstream of the regulator of low: UNDECIDED\n")


def test_an_open_size_is_refused(call):
    """A run with a choice of sizes has no volume yet."""
    code, out, err = call(text=JOB.replace("{bore: 8 mm}, length: 1 m}\nout", "as1432-b/auto, length: 1 m}\nout"))
    assert (code, out) == (2, "")
    assert err.startswith("job.yaml:")
    assert "runs.right.pipe" in err
