"""Whether a reading was the tightness test, and whether the line passed it: the reasons against a PASS.

A PASS says two things: that the reading was the test (its pressure, its time, settled, on a manometer that can show
what the test is about), and that the line lost no more than the test allows. What is not said is not known, and leaves
it open. A loss beyond everything that else explains a fall is a FAIL, however the reading was taken.

Where a fall is allowed, the fall with its whole band (step, temperature, weather) must be within it. Where none is
allowed, no reading could keep to that: at 2.75 kPa a step of 10 Pa is what 0.03 K make. AS/NZS 5601.2, method 1, asks
for no thermometer; it lets the line settle and then wants no loss that can be detected. So does a PASS here: the
pressure stood still to a step of the manometer, and so did the temperature as far as it was taken. No correction is
made then that could hide a fall. One thing stays, and the report says it: gas that warms by just what a leak takes away
hides the leak. Once the pressure or the temperature moved, a correction would have to be sure to some hundredths of a
kelvin to tell tight from leaking, and no thermometer on the tube is. That is UNDECIDED, until both stand still or the
fall is beyond the band.

A line that holds less than a test asks for falls faster by the same leak: that never makes a PASS wrong, and a fall
that the least volume would have kept within the allowed one is no FAIL.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from drawbar.onsite.leak import leak_of_fall_m3_s, weather_fall_pa
from drawbar.onsite.line_volume import TestSection
from drawbar.onsite.tightness_reading import GAS_CHANGE_K, RESOLUTION_PA, THERMOMETER_K, TightnessReading
from drawbar.rules import TightnessTest
from drawbar.verdict import Reason, Verdict

USUAL_HOLD_S = 300.0
"""Least time of a test whose source gives none [s]: that of AS/NZS 5601.2:2020, E.3.2, and EN 1949:2011, 4.3."""
USUAL_SETTLE_S = 120.0
"""Least time to settle where the source gives none [s]: the example of AS/NZS 5601.2:2020, E.3.2."""
FIT_STEP_PA = RESOLUTION_PA
"""Coarsest step of a manometer where no fall is allowed [Pa]: a millimetre of water.

AS/NZS 5601.2 and the IFGC give no step. Our own choice: "no detectable loss" is meant for what a water gauge shows, and
a coarser manometer detects less.
"""

# The codes of the reasons.
FALLS = "falls"  # FAIL; all others are UNDECIDED
NO_TEST = "no-test"
TEST_PRESSURE = "test-pressure"
WORKING_PRESSURE = "working-pressure"
TEST_TIME = "test-time"
SETTLING = "settling"
MANOMETER_STEP = "manometer-step"
RISES = "rises"
TEMPERATURE = "temperature"
NO_TEMPERATURES = "no-temperatures"
NEAR_ALLOWED = "near-allowed"
READ_LATE = "read-late"
SMALL_VOLUME = "small-volume"

_TOLERANCE_PA = 1e-6
_LONGEST_WATCH_S = 86_400.0


def hold_s(test: TightnessTest) -> float:
    """Return the least time of a test [s], USUAL_HOLD_S where its source gives none."""
    return USUAL_HOLD_S if test.hold_s is None else test.hold_s


def settle_s(test: TightnessTest) -> float:
    """Return the least time that a line settles before a test [s], USUAL_SETTLE_S where its source gives none."""
    return USUAL_SETTLE_S if test.settle_s is None else test.settle_s


def reading_reasons(reading: TightnessReading, section: TestSection, test: TightnessTest | None) -> tuple[Reason, ...]:
    """Return why a reading is not a PASS.

    Parameters
    ----------
    reading : TightnessReading
        What was read, with the fall that is allowed.
    section : TestSection
        What was tested.
    test : TightnessTest or None
        The test that it should be, None where none is known: then no fall is allowed, and nothing passes.

    Returns
    -------
    tuple of Reason
        Empty for a PASS. The place is the section. A fall beyond all that explains it stands alone.
    """
    allowed_pa = reading.allowed_fall_pa
    beyond = reading.fall_pa >= allowed_pa + reading.band_pa - _TOLERANCE_PA
    # In more time, or from less volume than the test is for, a tight enough line may fall by more.
    late = test is not None and reading.time_s > hold_s(test)
    small = test is not None and test.volume_min_m3 is not None and section.volume_m3 < test.volume_min_m3
    scaled_pa = allowed_pa
    if test is not None:
        scaled_pa *= max(1.0, reading.time_s / hold_s(test))
        scaled_pa *= max(1.0, (test.volume_min_m3 or 0.0) / section.volume_m3)
    if reading.fall_pa >= scaled_pa + reading.band_pa - _TOLERANCE_PA:
        return (_reason(FALLS, section, reading, verdict=Verdict.FAIL),)
    reasons = [*_not_the_test(reading, section, test)]
    if reading.fall_pa <= -reading.band_pa + _TOLERANCE_PA:
        reasons.append(_reason(RISES, section, reading))
    elif beyond:
        reasons += [_reason(READ_LATE, section, reading, least_s=hold_s(test))] if late and test else []
        reasons += [_small_volume(section, reading, test)] if small and test else []
    else:
        reasons.extend(_not_sure(reading, section))
    return tuple(reasons)


def _small_volume(section: TestSection, reading: TightnessReading, test: TightnessTest) -> Reason:
    return _reason(
        SMALL_VOLUME, section, reading, volume_m3=section.volume_m3, least_m3=test.volume_min_m3 or 0.0, test=test.name
    )


def _not_the_test(reading: TightnessReading, section: TestSection, test: TightnessTest | None) -> Iterator[Reason]:
    """Yield what a reading lacks to be the test."""
    if test is None:
        yield _reason(NO_TEST, section, reading)
    else:
        least_pa = test.pressure_gauge_pa
        if reading.start_gauge_pa < least_pa - reading.resolution_pa - _TOLERANCE_PA:
            yield _reason(TEST_PRESSURE, section, reading, least_gauge_pa=least_pa, test=test.name)
        elif reading.start_gauge_pa < section.gauge_pa - reading.resolution_pa - _TOLERANCE_PA:
            yield _reason(WORKING_PRESSURE, section, reading, least_gauge_pa=section.gauge_pa, test=test.name)
        if not reading.is_timed or reading.time_s < hold_s(test):
            yield _reason(TEST_TIME, section, reading, least_s=hold_s(test), test=test.name)
        if reading.settled_s is None or reading.settled_s < settle_s(test):
            settled = -1.0 if reading.settled_s is None else reading.settled_s
            yield _reason(SETTLING, section, reading, least_s=settle_s(test), settled_s=settled, test=test.name)
    fit_pa = reading.allowed_fall_pa or FIT_STEP_PA
    if not reading.is_step_known or reading.resolution_pa > fit_pa + _TOLERANCE_PA:
        yield _reason(MANOMETER_STEP, section, reading, most_step_pa=fit_pa)


def _not_sure(reading: TightnessReading, section: TestSection) -> Iterator[Reason]:
    """Yield why a fall that is not beyond what is allowed can't be said to be within it."""
    allowed_pa, step_pa = reading.allowed_fall_pa, reading.resolution_pa
    by_temperature = TEMPERATURE if reading.is_corrected else NO_TEMPERATURES
    if allowed_pa == 0.0:
        moved_pa = max(abs(reading.raw_fall_pa), abs(reading.by_temperature_pa))
        if moved_pa >= step_pa - _TOLERANCE_PA:
            yield _reason(by_temperature, section, reading)
    elif reading.fall_pa + reading.band_pa > allowed_pa + _TOLERANCE_PA:
        is_near = allowed_pa - step_pa < reading.fall_pa < allowed_pa + step_pa
        yield _reason(NEAR_ALLOWED if is_near else by_temperature, section, reading)


def _reason(
    code: str,
    section: TestSection,
    reading: TightnessReading,
    *,
    verdict: Verdict = Verdict.UNDECIDED,
    **more: float | str,
) -> Reason:
    """Return a reason with the figures of the reading, and more."""
    most_pa = max(0.0, reading.fall_pa + reading.band_pa)
    details: dict[str, float | str] = {
        "start_gauge_pa": reading.start_gauge_pa,
        "raw_fall_pa": reading.raw_fall_pa,
        "fall_pa": reading.fall_pa,
        "allowed_fall_pa": reading.allowed_fall_pa,
        "band_pa": reading.band_pa,
        "resolution_pa": reading.resolution_pa,
        "time_s": reading.time_s,
        "most_leak_m3_s": leak_of_fall_m3_s(section.volume_m3, most_pa, reading.start_k, reading.time_s),
        "telling_s": _telling_s(reading),
        "is_timed": "yes" if reading.is_timed else "no",
        "is_step_known": "yes" if reading.is_step_known else "no",
    }
    return Reason(code, verdict, section.name, {**details, **more})


def _telling_s(reading: TightnessReading) -> float:
    """Return how long to watch, with temperatures, until what was read is told from what is no leak [s].

    Where it fell: until a fall that goes on so is beyond the band. Where it did not: until the largest leak that the
    band hides is sure to show, whatever the band adds to it or takes away. The leak slows as the pressure falls, in
    proportion at most. 0 where that is never or not within a day, and where some fall is allowed in a given time.
    """
    start_pa, time_s = reading.start_gauge_pa, reading.time_s
    falls = reading.fall_pa >= reading.resolution_pa - _TOLERANCE_PA
    fall_pa, bands = (reading.fall_pa, 1.0) if falls else (reading.fall_pa + reading.band_pa, 2.0)
    if reading.allowed_fall_pa or not 0.0 < fall_pa < start_pa:
        return 0.0
    with_thermometer_k = 2.0 * THERMOMETER_K + GAS_CHANGE_K
    steady_pa = reading.resolution_pa + reading.temperature_band_pa
    if not reading.is_corrected and reading.change_k > with_thermometer_k:
        steady_pa = reading.resolution_pa + reading.temperature_band_pa * with_thermometer_k / reading.change_k
    slows_per_s = -math.log1p(-fall_pa / start_pa) / time_s
    telling_s = time_s
    while telling_s <= _LONGEST_WATCH_S:
        fallen_pa = -start_pa * math.expm1(-slows_per_s * telling_s)
        if fallen_pa >= bands * (steady_pa + weather_fall_pa(telling_s)):
            return telling_s
        telling_s *= 1.01
    return 0.0
