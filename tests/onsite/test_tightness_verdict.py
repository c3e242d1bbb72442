"""The verdict on a tightness test: PASS only for the test itself, FAIL only for what nothing but a leak explains."""

import json
import math
from collections import Counter
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

import drawbar
from drawbar.catalogue.catalogue import Catalogue
from drawbar.onsite.leak import gauge_at_pa, unseen_change_k, unseen_fall_pa, weather_fall_pa
from drawbar.onsite.line_volume import sections_of
from drawbar.onsite.tightness import tightness_of
from drawbar.onsite.tightness_verdict import FIT_STEP_PA, USUAL_HOLD_S, USUAL_SETTLE_S
from drawbar.verdict import Verdict
from jobs import CATALOGUE, job_from
from leaking_line import LeakingLine, on_steps

JOB = """
job: A trailer
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: {bore: 14 mm}, length: 4 m}
  left: {from: main, pipe: {bore: 11 mm}, length: 2 m}
appliances:
  stove: {at: left, input: 20 MJ/h}
"""
TRAILER = job_from(JOB)
(SECTION,) = sections_of(TRAILER)
AS_NZS = {"readings_gauge_pa": (2750.0, 2750.0), "time_s": 300.0, "settled_s": 120.0, "resolution_pa": 10.0}
EN_1949 = {
    "test": "en-1949",
    "readings_gauge_pa": (15e3, 15e3),
    "time_s": 300.0,
    "settled_s": 300.0,
    "resolution_pa": 10.0,
}
AIR_PA = 101_325.0


def judged(asked, job=TRAILER, **changes):
    """Return the verdict on a visit, and the codes of its reasons."""
    result = tightness_of(job, CATALOGUE, **{**asked, **changes})
    return result.verdict, [reason.code for reason in result.because]


# the slips that once passed


def test_a_minute_of_a_test_of_five_minutes_is_undecided():
    """The time is short, and nothing else: watch 5 min."""
    assert judged(AS_NZS, time_s=60.0) == (Verdict.UNDECIDED, ["test-time"])


def test_a_test_at_1_kpa_where_2_75_is_asked_is_undecided():
    """AS/NZS 5601.2:2020, E.3.2, tests at the operating pressure: 1 kPa drives less through the same leak."""
    assert judged(AS_NZS, readings_gauge_pa=(1000.0, 1000.0)) == (Verdict.UNDECIDED, ["test-pressure"])


def test_a_manometer_of_100_pa_is_undecided_where_no_fall_is_allowed():
    """It can't show the loss of 99 Pa. Where 1 kPa may be lost, as by EN 1949, it is fine enough."""
    assert judged(AS_NZS, resolution_pa=100.0) == (Verdict.UNDECIDED, ["manometer-step"])
    assert judged(EN_1949, resolution_pa=100.0) == (Verdict.PASS, [])


def test_a_fall_that_a_supposed_degree_explains_is_undecided():
    """0.35 kPa and a degree of cooling: a thermometer half a degree out makes as much of it as a leak would."""
    asked = {**AS_NZS, "readings_gauge_pa": (2750.0, 2400.0), "temperatures_k": (288.15, 287.15)}
    assert judged(asked) == (Verdict.UNDECIDED, ["temperature"])
    (reason,) = tightness_of(TRAILER, CATALOGUE, **asked).because
    # 11 Pa of rise; 1.5 K by 8 % more than the ideal gas law; 8 % of the 361 Pa; 10 Pa of step; 17 Pa of weather.
    by_hand = (
        1.08 * 103725.0 * 1.5 / (287.15 - 1.5) * (288.15 / 287.15) + 0.08 * 103725.0 / 287.15 + 10.0 + 200.0 / 12.0
    )
    assert reason.details["band_pa"] == pytest.approx(by_hand)
    assert reason.details["fall_pa"] == pytest.approx(2750.0 + AIR_PA - 103725.0 * 288.15 / 287.15)


# PASS


def test_the_test_of_as_nzs_5601_2_passes_without_a_thermometer():
    """E.3.2 asks for 2 min to settle and 5 min with no detectable loss, and for no thermometer."""
    assert judged(AS_NZS) == (Verdict.PASS, [])
    assert judged(AS_NZS, temperatures_k=(290.0, 290.0)) == (Verdict.PASS, [])


def test_the_test_of_en_1949_passes_within_its_10_mbar():
    """EN 1949:2011, 4.3: at most 10 mbar. With no thermometer less may be lost: 2 K are 8 mbar and more."""
    assert judged(EN_1949) == (Verdict.PASS, [])
    even = {"temperatures_k": (288.15, 288.15)}
    assert judged(EN_1949, readings_gauge_pa=(15e3, 14.7e3), **even) == (Verdict.PASS, [])
    assert judged(EN_1949, readings_gauge_pa=(15e3, 14.7e3)) == (Verdict.UNDECIDED, ["no-temperatures"])
    assert judged(EN_1949, readings_gauge_pa=(15e3, 14.2e3), **even) == (Verdict.UNDECIDED, ["temperature"])
    assert judged(EN_1949, readings_gauge_pa=(15e3, 14e3), **even) == (Verdict.UNDECIDED, ["near-allowed"])


@pytest.mark.parametrize(
    ("asked", "unsaid", "code"),
    [
        (asked, unsaid, code)
        for asked in (AS_NZS, EN_1949)
        for unsaid, code in (("time_s", "test-time"), ("settled_s", "settling"), ("resolution_pa", "manometer-step"))
    ],
)
def test_what_is_not_said_does_not_pass(asked, unsaid, code):
    """Time, settling and the manometer's step are figures of the test: one that is left out is not known."""
    assert judged({name: value for name, value in asked.items() if name != unsaid}) == (Verdict.UNDECIDED, [code])


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({"settled_s": 119.0}, ["settling"]),
        ({"time_s": 299.0}, ["test-time"]),
        ({"readings_gauge_pa": (2740.0, 2740.0)}, []),  # within a step of the test's pressure
        ({"readings_gauge_pa": (2739.0, 2739.0)}, ["test-pressure"]),
        ({"readings_gauge_pa": (2750.0, 2740.0)}, ["no-temperatures"]),  # a step is a loss that is detected
        ({"readings_gauge_pa": (2750.0, 2760.0)}, ["no-temperatures"]),  # what makes it rise may hide a leak
        ({"readings_gauge_pa": (2750.0, 2744.0)}, []),
        ({"resolution_pa": 1.0, "readings_gauge_pa": (2750.0, 2744.0)}, ["no-temperatures"]),
        ({"temperatures_k": (288.15, 288.25)}, ["temperature"]),  # a tenth of a degree hides three steps
        ({"readings_gauge_pa": (2750.0, 4000.0)}, ["rises"]),
        ({"time_s": 60.0, "settled_s": 0.0, "resolution_pa": 20.0}, ["test-time", "settling", "manometer-step"]),
    ],
)
def test_what_keeps_a_reading_from_passing(changes, codes):
    """Each thing that the test lacks is told, and only that."""
    verdict, because = judged(AS_NZS, **changes)
    assert because == codes
    assert verdict is (Verdict.UNDECIDED if codes else Verdict.PASS)


def test_a_line_that_works_above_the_test_needs_more():
    """A line at 70 kPa that was read at the 15 kPa of EN 1949 was not tested at what it works at."""
    high = job_from(JOB.replace("2.75 kPa", "70 kPa").replace("rule: as-nzs-5601.2", "limits: {drop: 5 kPa}"))
    assert judged(EN_1949, high) == (Verdict.UNDECIDED, ["working-pressure"])
    assert judged(EN_1949, high, readings_gauge_pa=(70e3, 70e3), temperatures_k=(288.0, 288.0)) == (Verdict.PASS, [])


def test_a_job_without_a_test_does_not_pass():
    """Nothing says what a PASS would be; a loss that is a leak for sure fails all the same."""
    own = job_from(JOB.replace("rule: as-nzs-5601.2", "limits: {drop: 0.25 kPa}"))
    assert judged(AS_NZS, own) == (Verdict.UNDECIDED, ["no-test"])
    assert judged(AS_NZS, own, readings_gauge_pa=(2750.0, 1500.0)) == (Verdict.FAIL, ["falls"])


def test_a_test_whose_source_gives_no_times_takes_those_of_others(tmp_path):
    """A workshop's own test without times asks for 2 min and 5 min, the least of the tests that give some."""
    library = tmp_path / "own.yaml"
    row = "title: Ours, source: common practice, medium: air, pressure: 2.75 kPa, allowed-fall: 0 Pa"
    library.write_text(f"tightness:\n  ours: {{{row}}}\n", encoding="utf-8")
    known = Catalogue([str(library)])
    assert (USUAL_SETTLE_S, USUAL_HOLD_S) == (120.0, 300.0)

    def codes(**changes):
        return [reason.code for reason in tightness_of(TRAILER, known, test="ours", **{**AS_NZS, **changes}).because]

    assert codes() == []
    assert codes(settled_s=60.0, time_s=200.0) == ["test-time", "settling"]
    assert judged(AS_NZS, test="ifgc-11inwc", readings_gauge_pa=(20.7e3, 20.7e3)) == (Verdict.UNDECIDED, ["test-time"])


# FAIL


def test_a_loss_fails_whatever_else_is_short():
    """0.85 kPa in a minute on a line at rest is no matter of time, pressure or settling."""
    short = {"readings_gauge_pa": (2000.0, 1150.0), "time_s": 60.0, "settled_s": 0.0}
    assert judged(AS_NZS, **short) == (Verdict.FAIL, ["falls"])


@pytest.mark.parametrize(
    ("asked", "fall_pa", "fails"),
    [
        # The band by hand, nothing of the temperature unknown: 10 Pa of step, 600 Pa / 3 h x 5 min of weather.
        (AS_NZS, 26.6, False),
        (AS_NZS, 26.7, True),
        (EN_1949, 1026.6, False),
        (EN_1949, 1026.7, True),
    ],
)
def test_a_fall_fails_beyond_the_allowed_one_and_its_band(asked, fall_pa, fails):
    """With the gas known to have kept its temperature, step and weather are what is left to explain a fall."""
    start_pa, _ = asked["readings_gauge_pa"]
    even = {"temperatures_k": (288.15, 288.15), "thermometer_k": 0.0, "gas_change_k": 0.0}
    verdict, _ = judged(asked, readings_gauge_pa=(start_pa, start_pa - fall_pa), **even)
    assert (verdict is Verdict.FAIL) is fails
    assert verdict is not Verdict.PASS


def test_more_than_is_allowed_in_more_time_or_from_less_volume_is_no_fail():
    """15 mbar in 10 min may be 7.5 in 5; 15 mbar of 0.35 L are 7.5 of the 0.7 L that EN 1949 is for."""
    even = {"temperatures_k": (288.15, 288.15), "readings_gauge_pa": (15e3, 13e3), "thermometer_k": 0.0}
    even |= {"gas_change_k": 0.0}
    assert judged(EN_1949, **even) == (Verdict.FAIL, ["falls"])
    assert judged(EN_1949, **even, time_s=610.0) == (Verdict.UNDECIDED, ["read-late"])
    small = job_from(JOB.replace("length: 4 m", "length: 1.2 m").replace("length: 2 m", "length: 1 m"))
    (section,) = sections_of(small)
    assert section.volume_m3 < 0.35e-3
    assert judged(EN_1949, small, **even) == (Verdict.UNDECIDED, ["small-volume"])


# what would tell


def test_the_time_that_tells_a_leak_from_the_temperature():
    """A line that goes on to leak as it did fails once read after the time that is told, and not well before."""
    asked = {**AS_NZS, "readings_gauge_pa": (2750.0, 2600.0), "temperatures_k": (288.15, 288.15)}
    (reason,) = tightness_of(TRAILER, CATALOGUE, **asked).because
    telling_s = reason.details["goes_on_s"]
    slows_per_s = -math.log1p(-150.0 / 2750.0) / 300.0
    for time_s, verdict in ((1.02 * telling_s, Verdict.FAIL), (0.9 * telling_s, Verdict.UNDECIDED)):
        end_pa = 2750.0 * math.exp(-slows_per_s * time_s)
        assert judged(asked, readings_gauge_pa=(2750.0, end_pa), time_s=time_s)[0] is verdict


def test_the_largest_leak_that_is_hidden_shows_in_the_time_that_is_told():
    """Whatever step, temperature and weather take away from its fall, it is a FAIL by then."""
    asked = {**AS_NZS, "temperatures_k": (288.15, 288.10)}
    (reason,) = tightness_of(TRAILER, CATALOGUE, **asked).because
    telling_s = reason.details["shows_s"]
    most_pa = reason.details["fall_pa"] + reason.details["band_pa"]
    fallen_pa = 2750.0 * -math.expm1(math.log1p(-most_pa / 2750.0) / 300.0 * telling_s)
    seen_pa = fallen_pa - (reason.details["band_pa"] - weather_fall_pa(300.0) + weather_fall_pa(telling_s))
    corrected_pa = gauge_at_pa(2750.0 - seen_pa, AIR_PA, 288.15, 288.10)
    assert judged(asked, readings_gauge_pa=(2750.0, corrected_pa), time_s=telling_s)[0] is Verdict.FAIL


# properties


@given(
    st.floats(2740.0, 3000.0),
    st.floats(-1000.0, 2700.0),
    st.floats(60.0, 3600.0),
    st.none() | st.tuples(st.floats(270.0, 310.0), st.floats(-3.0, 3.0)),
    st.floats(0.0, 2.0),
)
def test_less_fall_and_surer_temperatures_never_do_worse(start_pa, fall_pa, time_s, temperatures, more_k):
    """A larger fall never turns FAIL into less; a less sure temperature never turns UNDECIDED into FAIL."""
    taken = {"temperatures_k": (temperatures[0], sum(temperatures))} if temperatures else {}
    asked = {**AS_NZS, **taken, "time_s": time_s, "gas_change_k": 0.5}

    def verdict(lost_pa, **changes):
        return judged(asked, readings_gauge_pa=(start_pa, start_pa - lost_pa), **changes)[0]

    if verdict(fall_pa) is Verdict.FAIL:
        assert verdict(fall_pa + 10.0) is Verdict.FAIL
    else:
        assert verdict(fall_pa, gas_change_k=0.5 + more_k) is not Verdict.FAIL
    if verdict(fall_pa) is Verdict.PASS:
        assert abs(fall_pa) < 10.0


@given(
    st.floats(0.0, 1e5),
    st.floats(250.0, 320.0),
    st.floats(-5.0, 5.0),
    st.floats(-1.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_the_band_of_the_temperature_holds_what_it_may_be(gauge_pa, start_k, change_k, share, split):
    """However the errors fall on the two readings, the fall put right is off by no more than the band."""
    end_k, unseen_k = start_k + change_k, 1.5
    true_start_k, true_end_k = start_k + unseen_k * share * split, end_k - unseen_k * share * (1.0 - split)
    abs_pa = gauge_pa + AIR_PA
    error_pa = abs_pa * (true_start_k / true_end_k - start_k / end_k)
    assert abs(error_pa) <= unseen_fall_pa(abs_pa, start_k, end_k, unseen_k)


# lines with known leaks


def visit_of(rng, asked):
    """Return a leaking line, a visit to it with what was read, and how fast its temperature truly changed.

    What is read is within what was said of it: the manometer rounds to its step, the thermometer and the gas are off by
    no more than their uncertainty, the air's pressure changes by no more than 6 hPa in 3 h.
    """
    hold_s, settle_s = asked["time_s"], asked["settled_s"]
    start_pa = asked["readings_gauge_pa"][0]
    allowed_pa = 1000.0 if asked is EN_1949 else 0.0
    step_pa = rng.choice([1.0, 5.0, 10.0, 10.0, 10.0, 20.0, 100.0])
    time_s = hold_s * rng.choice([0.2, 0.9, 1.0, 1.0, 1.0, 1.5, 3.0])
    gauge_pa = start_pa * rng.choice([0.4, 0.98, 1.0, 1.0, 1.0, 1.01]) + rng.uniform(-step_pa, step_pa)
    is_taken = rng.random() < 0.5
    thermometer_k, gas_k = (rng.choice([0.0, 0.02, 0.1, 0.5]) for _ in range(2))
    shown_k = rng.choice([0.0, 0.0, rng.uniform(-2.0, 2.0)]) if is_taken else 0.0
    within_k = 2.0 * thermometer_k + gas_k if is_taken else unseen_change_k(time_s)
    at_rest = rng.random() < 0.5  # the whole uncertainty unused
    true_k = 0.0 if at_rest and not shown_k else shown_k + rng.uniform(-within_k, within_k)
    air_pa_s = 0.0 if at_rest else rng.uniform(-1.0, 1.0) * 600.0 / 10_800.0
    fall_pa = rng.choice([0.0, 0.0, rng.uniform(0.0, 40.0), rng.uniform(0.0, 2.0 * (allowed_pa or start_pa / 4.0))])
    line = LeakingLine(
        volume_m3=SECTION.volume_m3,
        fall_pa_s=fall_pa / hold_s,
        start_k=288.15,
        k_s=true_k / time_s,
        air_pa_s=air_pa_s,
    )
    visit = {
        "test": asked.get("test"),
        "readings_gauge_pa": (
            on_steps(gauge_pa, step_pa),
            max(0.0, on_steps(line.gauge_pa(gauge_pa, time_s), step_pa)),
        ),
        "temperatures_k": (288.15, 288.15 + shown_k) if is_taken else None,
        "time_s": time_s,
        "settled_s": settle_s * rng.choice([0.5, 1.0, 1.0, 1.0, 2.0]),
        "resolution_pa": step_pa,
        "thermometer_k": thermometer_k,
        "gas_change_k": gas_k if is_taken else None,
    }
    return line, gauge_pa, visit


def fall_of_a_proper_test(line, asked, *, at_rest):
    """Return the fall over the test's time from its pressure [Pa], at rest or as temperature and weather truly were."""
    start_pa = asked["readings_gauge_pa"][0]
    changing = {} if at_rest else {"k_s": line.k_s, "air_pa_s": line.air_pa_s}
    tried = LeakingLine(line.volume_m3, line.fall_pa_s, line.start_k, **changing)
    return start_pa - tried.gauge_pa(start_pa, asked["time_s"])


@pytest.mark.parametrize("count", [1500, pytest.param(40_000, marks=pytest.mark.long)])
def test_no_pass_hides_a_leak_that_the_test_would_have_shown(count):
    """On random lines with known leaks: no PASS that a proper test would refuse, no FAIL of a line that is tight.

    Where 10 mbar are allowed, the leak alone, at rest, makes no more in the test's time. Where no loss is, the test
    made properly on the same line, while temperature and weather went on as they did, would not have shown a step of
    a manometer of 10 Pa; and where they were at rest, the leak alone would not.
    """
    rng, seen = Random(20_260_110), Counter()
    for _ in range(count):
        asked = rng.choice([AS_NZS, EN_1949])
        line, gauge_pa, visit = visit_of(rng, asked)
        verdict, _ = judged(visit)
        seen[verdict] += 1
        alone_pa = fall_of_a_proper_test(line, asked, at_rest=True)
        if verdict is Verdict.FAIL:
            lost_pa = gauge_pa - LeakingLine(line.volume_m3, line.fall_pa_s, 288.15).gauge_pa(gauge_pa, visit["time_s"])
            assert lost_pa > 0.0, visit
            if asked is EN_1949:
                assert lost_pa > 1000.0, visit
        elif verdict is Verdict.PASS and asked is EN_1949:
            assert alone_pa <= 1000.0, visit
        elif verdict is Verdict.PASS:
            is_at_rest = line.k_s == 0.0 and line.air_pa_s == 0.0
            seen["at rest"] += is_at_rest
            # A start within a step below the test's pressure drives up to 1 % less.
            least_pa = 1.01 * FIT_STEP_PA
            assert fall_of_a_proper_test(line, asked, at_rest=is_at_rest) < least_pa, visit
            seen["hidden by warming"] += alone_pa >= least_pa
    print(f"tightness of {count} lines: {dict(seen)}")
    # Warming that just makes up for a leak hides it from the code's own test as well; the page of a PASS says so.
    assert seen["hidden by warming"] <= seen[Verdict.PASS] / 100
    assert min(seen[Verdict.PASS], seen[Verdict.UNDECIDED], seen[Verdict.FAIL], seen["at rest"]) >= count / 40


# the command and the library


@pytest.fixture
def call(tmp_path, monkeypatch, drawbar):
    def run(*options, text=JOB):
        (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
        monkeypatch.chdir(tmp_path)
        return drawbar("tightness", "job.yaml", *options)

    return run


HOW = ("--time", "5 min", "--settled", "3 min", "--resolution", "10 Pa")


def test_the_page_of_a_pass(call):
    """Exit code 0; the verdict first, and at once what it rests on."""
    code, out, err = call("--start", "2.75 kPa", "--end", "2.75 kPa", *HOW)
    assert (code, err) == (0, "")
    # 2 K by 8 % more than the ideal gas law, a step and the weather, of the line's volume, in an hour
    most_pa = 1.08 * 104_075.0 * 2.0 / 286.15 + 10.0 + 200.0 / 12.0
    litres_h = most_pa / AIR_PA * SECTION.volume_m3 * 1e3 * 12.0
    assert out.startswith(
        "A trailer: tightness: PASS\n"
        "==========================\n"
        "\n"
        "The pressure stood still at 2.75 kPa for 5 min after 3 min to settle. This rests\n"
        "on a temperature that stood still as well: gas that warms by 0.03 K meanwhile\n"
        f"hides one step of the manometer, and by 2 K a leak of {litres_h:.2g} L/h."
    )


def test_the_page_of_one_that_is_undecided(call):
    """Exit code 3; each reason with what to do about it."""
    code, out, err = call("--start", "2.75 kPa", "--end", "2.75 kPa", "--time", "1 min", "--resolution", "10 Pa")
    assert (code, err) == (3, "")
    assert out.startswith(
        "A trailer: tightness: UNDECIDED\n"
        "===============================\n"
        "\n"
        "Why, and what to do:\n"
        "- It was tested for 1 min; as-nzs-5601.2 takes 5 min. Test for 5 min.\n"
        "- How long it settled before the first reading is not given; as-nzs-5601.2 takes\n"
        "  2 min. Let it settle for 2 min or more and give it: --settled.\n"
        "\n"
        "Test as-nzs-5601.2: fill"
    )
    assert "PASS" not in out.replace("a PASS", "")


def test_the_page_of_a_fail(call):
    """Exit code 1; the loss, what else could explain, and what to do; the leak that it means."""
    code, out, err = call("--start", "2.75 kPa", "--end", "1.5 kPa", *HOW)
    assert (code, err) == (1, "")
    assert out.startswith(
        "A trailer: tightness: FAIL\n"
        "==========================\n"
        "\n"
        "Why, and what to do:\n"
        "- It lost 1.25 kPa in 5 min (allowed: none); the manometer's step, the\n"
        "  temperature and the weather explain no more than 0.803 kPa. Find the leak with\n"
        "  leak-detection fluid, put it right and test again.\n"
    )
    # 1250 Pa of the 0.806 L in 5 min, an hour's worth, as gas of 101325 Pa at the line's own 15 degC
    litres_h = 1250.0 / 101_325.0 * SECTION.volume_m3 * 1e3 * 12.0
    assert f"Such a fall is a leak of {litres_h:.2g} L/h of what the line is filled with." in out


def test_the_page_says_shade_or_time_where_temperature_hides_the_verdict(call):
    """What was read, what it may be, and both ways to know."""
    temperatures = ("--start-temperature", "15 degC", "--end-temperature", "14 degC")
    code, out, _ = call("--start", "2.75 kPa", "--end", "2.40 kPa", *HOW, *temperatures)
    assert code == 3
    unwrapped = " ".join(out.split())
    assert "It fell by 0.35 kPa while the temperature changed: at one temperature a rise of 0.011 kPa" in unwrapped
    assert "Shade the line, wait until thermometer and manometer stand still" in unwrapped
    assert "is sure to show by then" in unwrapped
    code, out, _ = call("--start", "2.75 kPa", "--end", "2.60 kPa", *HOW)
    assert code == 3
    assert "with both temperatures: if it keeps falling, that is a leak" in " ".join(out.split())


TEXTS = {
    "test-pressure": (("--start", "1 kPa", "--end", "1 kPa", *HOW), "Fill to 2.75 kPa, let it settle and read again."),
    "settling": (
        ("--start", "2.75 kPa", "--end", "2.75 kPa", *HOW, "--settled", "1 min"),
        "It settled for 1 min; as-nzs-5601.2 takes 2 min.",
    ),
    "manometer-step": (
        ("--start", "2.75 kPa", "--end", "2.75 kPa", *HOW, "--resolution", "100 Pa"),
        "The manometer shows steps of 0.1 kPa; where no fall is allowed, 0.01 kPa or finer is needed.",
    ),
    "rises": (("--start", "2.75 kPa", "--end", "4 kPa", *HOW), "no leak does that, and what does may hide one."),
    "working-pressure": (
        ("--start", "2.75 kPa", "--end", "2.75 kPa", *HOW),
        "The line works at 3.5 kPa, above the 2.75 kPa at which it was read for as-nzs-5601.2. Test it at 3.5 kPa",
    ),
    "near-allowed": (
        ("--test", "en-1949", "--start", "15 kPa", "--end", "14 kPa", *HOW, "--settled", "5 min"),
        "It lost 1 kPa, too near the 1 kPa that is allowed for a manometer with steps of 0.01 kPa.",
    ),
    "read-late": (
        ("--test", "en-1949", "--start", "15 kPa", "--end", "12.8 kPa", *HOW, "--settled", "5 min", "--time", "12 min"),
        "It lost 2.2 kPa in 12 min; 1 kPa is allowed in 5 min. Test again, and read it after 5 min.",
    ),
    "small-volume": (
        ("--test", "en-1949", "--start", "15 kPa", "--end", "12.8 kPa", *HOW, "--settled", "5 min"),
        "a small line falls faster by the same leak. Add a vessel so that 0.7 L are under test, and test again.",
    ),
    "no-test": (("--start", "2.75 kPa", "--end", "2.75 kPa", *HOW), "Choose the test with --test."),
    "no-temperatures": (
        ("--test", "en-1949", "--start", "15 kPa", "--end", "14.5 kPa", *HOW, "--settled", "5 min"),
        "1 kPa is allowed, so that it may be within or over.",
    ),
}
OTHER_JOBS = {
    "working-pressure": JOB.replace("2.75 kPa", "3.5 kPa"),
    "no-test": JOB.replace("rule: as-nzs-5601.2", "limits: {drop: 0.25 kPa}"),
    "small-volume": JOB.replace("length: 4 m", "length: 0.5 m").replace("length: 2 m", "length: 1 m"),
}


@pytest.mark.parametrize("code", TEXTS)
def test_each_reason_says_what_to_do(call, code):
    """In JSON every reason has its code, what it makes of the verdict, its place, the text and what to do."""
    options, words = TEXTS[code]
    text = OTHER_JOBS.get(code, JOB)
    exit_code, out, _ = call(*options, "--format", "json", text=text)
    (result,) = json.loads(out)["results"]
    assert (exit_code, result["verdict"]) == (3, "undecided")
    (reason,) = result["because"]
    assert (reason["code"], reason["verdict"], reason["place"]) == (code, "undecided", "regulator")
    assert reason["text"]
    assert reason["fix"]
    page = " ".join(call(*options, text=text).out.split()).replace("as- nzs", "as-nzs")
    assert words in page


def test_csv_has_the_verdict_and_why(call):
    """The last columns of a row."""
    code, out, _ = call("--start", "2.75 kPa", "--end", "2.75 kPa", *HOW, "--time", "1 min", "--format", "csv")
    assert code == 3
    head, row = out.splitlines()
    assert head.endswith(",settled_s,most_other_Pa,verdict,because")
    assert row.endswith(",undecided,it was tested for 1 min; as-nzs-5601.2 takes 5 min")


def test_the_library_judges_as_the_command_does(call):
    """`drawbar.tightness` has the verdict and its reasons; None and none of them without a reading."""
    asked = {**AS_NZS, "readings_gauge_pa": (2750.0, 2700.0), "temperatures_k": (288.15, 288.05), "thermometer_k": 0.2}
    result = drawbar.tightness(TRAILER, **asked, gas_change_k=1.0)
    options = ("--start", "2.75 kPa", "--end", "2.7 kPa", "--start-temperature", "15 degC", "--thermometer", "0.2 K")
    options += ("--end-temperature", "14.9 degC", "--gas-change", "1 K", *HOW, "--settled", "2 min")
    (printed,) = json.loads(call(*options, "--format", "json").out)["results"]
    assert result.verdict.value == printed["verdict"] == "undecided"
    assert [reason.code for reason in result.because] == [reason["code"] for reason in printed["because"]]
    assert result.reading.band_pa == pytest.approx(sum(printed["reading"]["most_other_Pa"].values()))
    untested = drawbar.tightness(TRAILER)
    assert (untested.verdict, untested.because, untested.passes) == (None, (), False)
