"""A tightness test in words: what was read, the verdict with what to do, times and leaks as a person says them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from drawbar.onsite.tightness import Tightness
from drawbar.onsite.tightness_reading import TightnessReading
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Points
from drawbar.report.words import sentence
from drawbar.verdict import Reason

L_H = 3.6e6
"""A m3/s in L/h, for scripts, whose figures are in L/h whatever the units of the job."""
_MINUTE_S, _HOUR_S, _DAY_S = 60.0, 3600.0, 86_400.0
_LEAK_FLUID = "leak-detection fluid"

_Words = tuple[str, str]  # the text, and what to do


def duration(seconds: float) -> str:
    """Return a time as a person says it."""
    if seconds < 1.5 * _MINUTE_S and seconds != _MINUTE_S:
        return f"{seconds:.3g} s"
    if seconds < 1.5 * _HOUR_S:
        return f"{seconds / _MINUTE_S:.3g} min"
    if seconds < 2.0 * _DAY_S:
        return f"{seconds / _HOUR_S:.3g} h"
    return f"{seconds / _DAY_S:,.0f} days"


def verdict_blocks(result: Tightness, shown: Shown) -> Iterator[Block]:
    """Yield why a reading is not a PASS and what to do, or what a PASS rests on; nothing without a reading."""
    reading = result.reading
    if reading is None:
        return
    if result.because:
        sentences = []
        for reason in result.because:
            text, fix = tightness_reason_words(reason, shown)
            sentences.append(f"{sentence(text)} {sentence(fix)}")
        yield Points("Why, and what to do:", sentences)
        return
    settled = f" after {duration(reading.settled_s)} to settle" if reading.settled_s else ""
    if reading.allowed_fall_pa:
        yield (
            f"{_moved(reading, shown)} in {duration(reading.time_s)}{settled}. With step, temperature and weather at "
            f"their worst it is at most {shown.pressure_unit(max(0.0, reading.fall_pa + reading.band_pa))}; "
            f"{shown.pressure_unit(reading.allowed_fall_pa)} is allowed."
        )
        return
    most = ""
    if reading.change_k:
        most = f", and by {shown.difference_short(reading.change_k)} a leak of "
        most += shown.leak_unit(reading.most_leak_m3_s)
    step_k = reading.resolution_pa / result.pa_per_k(result.sections[0])
    yield (
        f"The pressure stood still at {shown.pressure_unit(reading.end_gauge_pa)} for "
        f"{duration(reading.time_s)}{settled}. This rests on a temperature that stood still as well: gas that warms "
        f"by {shown.difference_short(step_k, 1)} meanwhile hides one step of the manometer{most}. Keep sun, engine and "
        f"hands off the line."
    )


def reading_words(result: Tightness, reading: TightnessReading, shown: Shown) -> str:
    """Return what was read, the fall that it is, and how sure it is where that decides."""
    start, end = shown.pressure_unit(reading.start_gauge_pa), shown.pressure_unit(reading.end_gauge_pa)
    apart = duration(reading.time_s) + (" apart" if reading.is_timed else " apart as the test has it")
    if reading.is_corrected:
        corrected = shown.pressure_unit(reading.start_gauge_pa - reading.fall_pa)
        lines = [
            f"Reading: {start} at {shown.temperature_unit(reading.start_k)}, {end} at "
            f"{shown.temperature_unit(reading.end_k)}, "
            f"{apart}. At the first temperature the second would be {corrected}."
        ]
    else:
        lines = [f"Reading: {start}, then {end}, {apart}, no temperatures taken."]
    allowed = shown.pressure_unit(reading.allowed_fall_pa) if reading.allowed_fall_pa else "none"
    fall_pa = reading.fall_pa
    figure = shown.pressure_unit(abs(fall_pa))
    what = "No fall" if abs(fall_pa) < 1e-6 else f"A rise of {figure}" if fall_pa < 0.0 else f"A fall of {figure}"  # noqa: PLR2004
    lines.append(f"{what}; allowed: {allowed}.")
    if reading.allowed_fall_pa or not result.passes:
        lines[-1] += (
            f" May be more or less by: {shown.pressure_unit(reading.resolution_pa)}, the manometer's step; "
            f"{shown.pressure_unit(reading.temperature_band_pa)}, a change of "
            f"{shown.difference_short(reading.change_k)} that was not measured; "
            f"{shown.pressure_unit(reading.weather_band_pa)}, the weather."
        )
    if fall_pa > 0.0:
        lines.append(f"Such a fall is a leak of {shown.leak_unit(reading.leak_m3_s)} of what the line is filled with.")
    return "\n".join(lines)


def tightness_reason_words(reason: Reason, shown: Shown) -> _Words:
    """Return what a reason of `tightness` says, and what to do about it.

    Parameters
    ----------
    reason : Reason
        Of `drawbar.onsite.tightness_verdict`.
    shown : Shown
        The units of the job.

    Returns
    -------
    tuple of str and str
        Two texts without a full stop.
    """
    return _WORDS[reason.code](reason, shown)


def _number(reason: Reason, key: str) -> float:
    return float(reason.details[key])


def _pressure(reason: Reason, key: str, shown: Shown) -> str:
    return shown.pressure_unit(_number(reason, key))


def _time(reason: Reason, key: str = "time_s") -> str:
    return duration(_number(reason, key))


def _allowed(reason: Reason, shown: Shown) -> str:
    return _pressure(reason, "allowed_fall_pa", shown) if reason.details["allowed_fall_pa"] else "none"


def _falls(reason: Reason, shown: Shown) -> _Words:
    text = (
        f"it lost {_pressure(reason, 'fall_pa', shown)} in {_time(reason)} (allowed: {_allowed(reason, shown)}); the "
        f"manometer's step, the temperature and the weather explain no more than {_pressure(reason, 'band_pa', shown)}"
    )
    return text, f"find the leak with {_LEAK_FLUID}, put it right and test again"


def _no_test(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    return "no tightness test is known for this job, so that nothing says what a PASS is", "choose the test with --test"


def _test_pressure(reason: Reason, shown: Shown) -> _Words:
    least, test = _pressure(reason, "least_gauge_pa", shown), reason.details["test"]
    text = f"the first reading was {_pressure(reason, 'start_gauge_pa', shown)}; {test} is at {least}"
    return text, f"fill to {least}, let it settle and read again"


def _working_pressure(reason: Reason, shown: Shown) -> _Words:
    least, test = _pressure(reason, "least_gauge_pa", shown), reason.details["test"]
    text = (
        f"the line works at {least}, above the {_pressure(reason, 'start_gauge_pa', shown)} at which it was read "
        f"for {test}"
    )
    return text, f"test it at {least} or more, as its code says"


def _test_time(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    least, test = _time(reason, "least_s"), reason.details["test"]
    if reason.details["is_timed"] == "no":
        return f"the time of the test is not given; {test} takes {least}", f"test for {least} and give it: --time"
    return f"it was tested for {_time(reason)}; {test} takes {least}", f"test for {least}"


def _settling(reason: Reason, shown: Shown) -> _Words:  # noqa: ARG001 - each has the same form
    least, test = _time(reason, "least_s"), reason.details["test"]
    if _number(reason, "settled_s") < 0.0:
        text = f"how long it settled before the first reading is not given; {test} takes {least}"
        return text, f"let it settle for {least} or more and give it: --settled"
    return f"it settled for {_time(reason, 'settled_s')}; {test} takes {least}", f"let it settle for {least} or more"


def _manometer_step(reason: Reason, shown: Shown) -> _Words:
    step, most = _pressure(reason, "resolution_pa", shown), _pressure(reason, "most_step_pa", shown)
    if reason.details["is_step_known"] == "no":
        return "the step that the manometer shows is not given", f"give it with --resolution; {most} or finer is needed"
    allowed = _allowed(reason, shown)
    where = f"where {allowed} is allowed" if reason.details["allowed_fall_pa"] else "where no fall is allowed"
    return (
        f"the manometer shows steps of {step}; {where}, {most} or finer is needed",
        f"read it again on a manometer that shows {most} or finer",
    )


def _rises(reason: Reason, shown: Shown) -> _Words:
    text = (
        f"put right for temperature it rose by {shown.pressure_unit(-_number(reason, 'fall_pa'))}, more than the "
        f"{_pressure(reason, 'band_pa', shown)} that step, temperature and weather explain; no leak does that, and "
        f"what does may hide one"
    )
    return text, (
        "look for let-by at the isolation valve, for sun or an engine's heat on the line and at the thermometer's "
        "place; shut off, let it settle in the shade and read again"
    )


def _by_temperature(reason: Reason, shown: Shown) -> _Words:
    """Say that temperature hides whether it is tight, with the time and the shade that tell."""
    most, taken = shown.leak_unit(_number(reason, "most_leak_m3_s")), reason.code == "temperature"
    raw_pa, fall_pa, step_pa = (_number(reason, key) for key in ("raw_fall_pa", "fall_pa", "resolution_pa"))
    text = "it stood still" if abs(raw_pa) < step_pa else f"it {'fell' if raw_pa > 0.0 else 'rose'} by "
    text += "" if abs(raw_pa) < step_pa else shown.pressure_unit(abs(raw_pa))
    if taken:
        side = "fall" if fall_pa >= 0.0 else "rise"
        text += (
            f" while the temperature changed: at one temperature a {side} of {shown.pressure_unit(abs(fall_pa))}, "
            f"give or take {_pressure(reason, 'band_pa', shown)}"
        )
    else:
        text += f" with no temperatures taken, which alone may make or hide {_pressure(reason, 'band_pa', shown)}"
    if reason.details["allowed_fall_pa"]:
        text += f"; {_allowed(reason, shown)} is allowed, so that it may be within or over"
    else:
        text += f"; it may be tight, or leak up to {most}"
    if taken:
        fix = "shade the line, wait until thermometer and manometer stand still, then fill up and read again"
    else:
        fix = "shade the line, let it settle longer and read again, with the temperature at both readings"
    goes_on, shows = _time(reason, "goes_on_s"), _time(reason, "shows_s")
    if _number(reason, "goes_on_s"):
        fix += f". Or test for {goes_on} with both temperatures: if it keeps falling, that is a leak"
    elif _number(reason, "shows_s"):
        fix += f". Or test for {shows} with both temperatures: a leak of {most} is sure to show by then"
    return text, f"{fix}. Try the joints with {_LEAK_FLUID} in any case"


def _near_allowed(reason: Reason, shown: Shown) -> _Words:
    text = (
        f"it lost {_pressure(reason, 'fall_pa', shown)}, too near the {_allowed(reason, shown)} that is allowed for a "
        f"manometer with steps of {_pressure(reason, 'resolution_pa', shown)}"
    )
    return text, f"find what it loses with {_LEAK_FLUID} and put it right, or read it on a finer manometer"


def _read_late(reason: Reason, shown: Shown) -> _Words:
    least = _time(reason, "least_s")
    text = f"it lost {_pressure(reason, 'fall_pa', shown)} in {_time(reason)}; {_allowed(reason, shown)} is allowed in "
    return f"{text}{least}", f"test again, and read it after {least}"


def _small_volume(reason: Reason, shown: Shown) -> _Words:
    holds, least = (shown.volume_unit(_number(reason, key)) for key in ("volume_m3", "least_m3"))
    text = (
        f"it lost {_pressure(reason, 'fall_pa', shown)} (allowed: {_allowed(reason, shown)}), but it holds {holds}, "
        f"and {reason.details['test']} is for {least} or more: a small line falls faster by the same leak"
    )
    return text, f"add a vessel so that {least} are under test, and test again"


def _moved(reading: TightnessReading, shown: Shown) -> str:
    figure = shown.pressure_unit(abs(reading.fall_pa))
    return f"It {'lost' if reading.fall_pa >= 0.0 else 'rose by'} {figure}"


_WORDS: dict[str, Callable[[Reason, Shown], _Words]] = {
    "falls": _falls,
    "no-test": _no_test,
    "test-pressure": _test_pressure,
    "working-pressure": _working_pressure,
    "test-time": _test_time,
    "settling": _settling,
    "manometer-step": _manometer_step,
    "rises": _rises,
    "temperature": _by_temperature,
    "no-temperatures": _by_temperature,
    "near-allowed": _near_allowed,
    "read-late": _read_late,
    "small-volume": _small_volume,
}
