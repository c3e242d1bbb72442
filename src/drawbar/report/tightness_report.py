"""How the tightness of a line is shown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.cautions import TIGHTNESS_CAUTIONS
from drawbar.job import ROOT
from drawbar.onsite.leak import gas_for_air
from drawbar.onsite.line_volume import TestSection
from drawbar.onsite.purge import PURGE_SOURCE, PURGED, Purge, mixed_volumes
from drawbar.onsite.tightness import (
    HOLDS_LITTLE,
    NO_FALL_SOURCE,
    STARTS_LOW,
    TEMPERATURE_DECIDES,
    TOO_SHORT,
    WORKS_ABOVE_TEST,
    Tightness,
    TightnessReading,
    TightnessWarning,
)
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.report import Report
from drawbar.report.words import word
from drawbar.rules import TightnessTest

_L_H = 3.6e6  # L/h in a m3/s
_WHOLE_L_H = 100.0  # from here a leak is told in whole L/h
_MINUTE_S, _HOUR_S, _DAY_S = 60.0, 3600.0, 86_400.0


class TightnessReport(Report[Tightness]):
    """A line's volume, its tightness test, what a reading means, and the purge."""

    kind = "tightness"
    columns = (
        *("file", "job", "ref", "test", "section", "volume_L", "test_pressure_kPa", "settle_s", "hold_s"),
        *("allowed_fall_Pa", "resolution_Pa", "time_s", "smallest_leak_L_h", "asked_leak_L_h", "wait_s"),
        *("start_kPa", "end_kPa", "start_degC", "end_degC", "fall_Pa", "leak_L_h", "verdict"),
    )

    def page(self, result: Tightness) -> list[Block]:
        """Return the test, the reading, the volumes, what a manometer sees, and the purge."""
        job, shown = result.job, Shown(result.job.display)
        name = f"{job.title} ({job.ref})" if job.ref else job.title
        verdict = f": {word(result.passes)}" if result.reading is not None else ""
        blocks: list[Block] = [
            Heading(f"{name}: tightness{verdict}"),
            f"File {job.file}. Gas in the pipe at {_celsius(job.temperature_k)} degC, air pressure "
            f"{job.atmospheric_pa / 1000:.1f} kPa.",
            test_words(result, shown),
        ]
        if result.reading is not None:
            blocks.append(_reading(result.reading, shown))
        blocks.append(_volumes(result, shown))
        blocks.append(_volume_words(result))
        blocks.extend(_seen(result, shown))
        blocks.append(purge_table(result))
        blocks.append(purge_words())
        warnings = list(tightness_warnings(result, shown))
        if warnings:
            blocks.append(Points("Look at these again:", warnings))
        blocks.append(Points("Cautions:", list(tightness_cautions(result))))
        return blocks

    def data(self, result: Tightness) -> dict[str, Any]:
        """Return the test with its source, each section, the reading and the purge."""
        job, test = result.job, result.test
        return {
            "file": job.file,
            "job": job.title,
            "ref": job.ref,
            "verdict": word(result.passes).lower() if result.reading is not None else None,
            "atmosphere_kPa": job.atmospheric_pa / 1000.0,
            "temperature_degC": job.temperature_k - 273.15,
            "test": _test_data(test) if test else None,
            "allowed_fall_Pa": test.allowed_fall_pa if test else 0.0,
            "allowed_fall_source": test.source if test else NO_FALL_SOURCE,
            "resolution_Pa": result.resolution_pa,
            "time_s": result.time_s,
            "asked_leak_L_h": result.leak_m3_s * _L_H if result.leak_m3_s is not None else None,
            "sections": [_section_data(result, section) for section in result.sections],
            "reading": _reading_data(result.reading) if result.reading else None,
            "purge": [_purge_data(purge) for purge in result.purges],
            "warnings": list(tightness_warnings(result, Shown(job.display))),
            "cautions": list(tightness_cautions(result)),
        }

    def rows(self, result: Tightness) -> Iterator[list[Any]]:
        """Yield a row for each section."""
        job, test, whole = result.job, result.test, self.data(result)
        for section in whole["sections"]:
            reading = whole["reading"] or {}
            yield [
                *(job.file, job.title, job.ref, test.name if test else None, section["name"], section["volume_L"]),
                *(section["test_pressure_kPa"], test.settle_s if test else None, test.hold_s if test else None),
                *(whole["allowed_fall_Pa"], result.resolution_pa, result.time_s, section["smallest_leak_L_h"]),
                *(whole["asked_leak_L_h"], section["wait_s"], reading.get("start_kPa"), reading.get("end_kPa")),
                *(reading.get("start_degC"), reading.get("end_degC"), reading.get("fall_Pa"), reading.get("leak_L_h")),
                whole["verdict"],
            ]


def purge_words() -> str:
    """Return what the figures of the purge mean."""
    return (
        f"Purge: at least what the way holds, if nothing mixes; at most {mixed_volumes(PURGED):.1f} times as much, if "
        f"all mixes at once, until {PURGED * 100:g} % is gas ({PURGE_SOURCE}). Times are through that burner alone, at "
        f"its full rate."
    )


def tightness_cautions(result: Tightness) -> Iterator[str]:
    """Yield the cautions that go with every result."""
    yield from TIGHTNESS_CAUTIONS
    if result.test is not None and result.test.caution is not None:
        yield result.test.caution


def test_words(result: Tightness, shown: Shown) -> str:
    """Return the test that is to be made, and where it stands."""
    test = result.test
    if test is None:
        return (
            f"No figures of a tightness test are known for this job; choose a test with --test. No fall is taken as "
            f"allowed ({NO_FALL_SOURCE})."
        )
    settle = f", let it settle {_duration(test.settle_s)}" if test.settle_s else ""
    hold = f", then watch it for {_duration(test.hold_s)}" if test.hold_s else ""
    allowed = shown.pressure_unit(test.allowed_fall_pa) if test.allowed_fall_pa else "none"
    note = f" {test.note}" if test.note else ""
    return (
        f"Test {test.name}: fill with {test.medium} to {shown.pressure_unit(test.pressure_gauge_pa)}{settle}{hold}. "
        f"Allowed fall: {allowed}.{note}\n{test.title}. Source: {test.source}."
    )


def _reading(reading: TightnessReading, shown: Shown) -> str:
    start, end = shown.pressure_unit(reading.start_gauge_pa), shown.pressure_unit(reading.end_gauge_pa)
    lines = []
    if reading.is_corrected:
        corrected = shown.pressure_unit(reading.start_gauge_pa - reading.fall_pa)
        lines.append(
            f"Reading: {start} at {_celsius(reading.start_k)} degC, {end} at {_celsius(reading.end_k)} degC, "
            f"{_duration(reading.time_s)} apart. At the first temperature the second would be {corrected}."
        )
    else:
        lines.append(f"Reading: {start}, then {end}, {_duration(reading.time_s)} apart, at one temperature.")
    if reading.fall_pa < reading.resolution_pa and reading.allowed_fall_pa == 0.0:
        lines.append(f"No fall that this manometer can show: {word(reading.passes)}.")
    else:
        allowed = shown.pressure_unit(reading.allowed_fall_pa) if reading.allowed_fall_pa else "none"
        fall = shown.pressure_unit(reading.fall_pa)
        lines.append(f"A fall of {fall}; allowed: {allowed}. {word(reading.passes)}.")
    if reading.fall_pa > 0.0:
        lines.append(f"Such a fall is a leak of {_leak(reading.leak_m3_s)} of what the line is filled with.")
    return "\n".join(lines)


def _volumes(result: Tightness, shown: Shown) -> Table:
    units = shown.display
    columns = [
        Column("run or hose", words=True),
        Column("pipe", words=True),
        Column(f"bore\n{units.bore}"),
        Column(f"length\n{units.length}"),
        Column("holds\nL"),
    ]
    rows = []
    for section in result.sections:
        for run, volume_m3 in section.runs:
            pipe = run.pipes[0]
            rows.append([run.name, pipe.label, shown.bore(pipe.bore_m), shown.length(run.length_m), litres(volume_m3)])
        for outlet, hose, volume_m3 in section.hoses:
            name = f"{hose.name} at {outlet.name}"
            bore, length = shown.bore(hose.pipe.bore_m), shown.length(hose.length_m)
            rows.append([name, hose.pipe.label, bore, length, litres(volume_m3)])
        total = "the line" if len(result.sections) == 1 and section.name == ROOT else f"behind {_place(section)}"
        rows.append([total, "", "", "", litres(section.volume_m3)])
    return Table(tuple(columns), rows)


def _place(section: TestSection) -> str:
    return "the first regulator" if section.name == ROOT else f"the regulator of {section.name}"


def _volume_words(result: Tightness) -> str:
    has_hoses = any(section.hoses for section in result.sections)
    hoses = " Hoses are not counted; --hoses counts them." if result.job.hoses and not has_hoses else ""
    return (
        f"The volume is that of the pipe. What valves, manometer and appliances hold comes on top: a leak is then "
        f"larger than said here.{hoses}"
    )


def _seen(result: Tightness, shown: Shown) -> Iterator[Block]:
    """Tell what a manometer sees of a leak, and what the temperature does to it."""
    head = f"With a manometer that shows steps of {shown.pressure_unit(result.resolution_pa)}"
    if len(result.sections) == 1:
        yield "\n".join([f"{head}:", *_seen_in(result, result.sections[0], shown)])
    else:
        yield f"{head}, by section of the line:"
        yield _seen_by_section(result, shown)
    lines = ["Leaks are counted as gas of 15 degC and 101.325 kPa."]
    if result.time_s is None:
        lines.append("Give the time of the test with --time to see the smallest leak that shows in it.")
    if result.test is None or "air" in result.test.medium:
        hole, hairline = gas_for_air(result.job.vapour)
        lines.append(
            f"Found with air, expect {hole:.1f} times as much of this gas through a hole, up to {hairline:.1f} times "
            f"through a hairline."
        )
    yield "\n".join(lines)


def _seen_in(result: Tightness, section: TestSection, shown: Shown) -> Iterator[str]:
    smallest, wait_s, pa_per_k = result.smallest_leak_m3_s(section), result.wait_s(section), result.pa_per_k(section)
    if smallest is not None and result.time_s is not None:
        yield f"A leak from {_leak(smallest)} up shows in {_duration(result.time_s)}."
    if wait_s is not None and result.leak_m3_s is not None:
        yield f"A leak of {_leak(result.leak_m3_s)} shows after {_duration(wait_s)}."
    steps = pa_per_k / result.resolution_pa
    yield (
        f"A degree (K) of warming or cooling changes the reading by {shown.pressure_unit(pa_per_k)}, as much as "
        f"{steps:.0f} steps."
    )


def _seen_by_section(result: Tightness, shown: Shown) -> Table:
    columns = [Column("behind", words=True)]
    if result.time_s is not None:
        columns.append(Column(f"least leak that shows\nin {_duration(result.time_s)}, L/h"))
    if result.leak_m3_s is not None:
        columns.append(Column(f"{_leak(result.leak_m3_s)}\nshows after"))
    columns.append(Column(f"by a degree (K)\n{shown.display.pressure}"))
    rows = []
    for section in result.sections:
        smallest, wait_s = result.smallest_leak_m3_s(section), result.wait_s(section)
        row = [_place(section)]
        row += [f"{smallest * _L_H:.2g}"] if smallest is not None else []
        row += [_duration(wait_s)] if wait_s is not None else []
        rows.append([*row, shown.pressure(result.pa_per_k(section))])
    return Table(tuple(columns), rows)


def purge_table(result: Tightness) -> Table:
    """Return the purge through every appliance."""
    columns = (
        Column("purge through", words=True),
        Column("by", words=True),
        Column("holds\nL"),
        Column("gas L\nat most"),
        Column("time s\nat least"),
        Column("time s\nat most"),
    )
    most = mixed_volumes(PURGED)
    rows = []
    for purge in result.purges:
        by = purge.appliance.at or (purge.outlet.name if purge.outlet else "")
        if purge.hose is not None:
            by += f" and {purge.hose.name}"
        volumes = [litres(purge.volume_m3), litres(purge.volume_m3 * most)]
        rows.append([purge.appliance.name, by, *volumes, f"{purge.least_s:.0f}", f"{purge.mixed_s:.0f}"])
    return Table(columns, rows)


def tightness_warnings(result: Tightness, shown: Shown) -> Iterator[str]:
    """Yield a sentence for each thing that a careful fitter would look at again."""
    for warning in result.warnings():
        if warning.section is not None and result.test is not None:
            yield _section_warning(warning.kind, warning.section, result, result.test, shown)
        elif result.reading is not None:
            yield _reading_warning(warning, result, result.reading, shown)


def _section_warning(kind: str, section: TestSection, result: Tightness, test: TightnessTest, shown: Shown) -> str:
    place = "The line" if len(result.sections) == 1 else f"The pipe behind {_place(section)}"
    if kind == HOLDS_LITTLE and test.volume_min_m3 is not None:
        needed = litres(test.volume_min_m3)
        return f"{place} holds less than the {needed} L that {test.name} is for: add a vessel for the test."
    assert kind == WORKS_ABOVE_TEST
    working, pressure = shown.pressure_unit(section.gauge_pa), shown.pressure_unit(test.pressure_gauge_pa)
    return f"{place} works at {working}, above the {pressure} of {test.name}: it needs a test of its own."


def _reading_warning(warning: TightnessWarning, result: Tightness, reading: TightnessReading, shown: Shown) -> str:
    test, pa_per_k = result.test, result.pa_per_k(result.sections[0])
    if warning.kind == TOO_SHORT and test is not None and test.hold_s is not None:
        apart, hold = _duration(reading.time_s), _duration(test.hold_s)
        return f"The readings are {apart} apart, less than the {hold} of {test.name}."
    if warning.kind == STARTS_LOW and test is not None:
        start, pressure = shown.pressure_unit(reading.start_gauge_pa), shown.pressure_unit(test.pressure_gauge_pa)
        return f"The first reading, {start}, is under the {pressure} of {test.name}."
    if warning.kind == TEMPERATURE_DECIDES:
        alone = " The readings alone would not pass." if reading.passes_by_correction else ""
        return (
            f"Temperature alone is taken to account for {shown.pressure_unit(abs(reading.by_temperature_pa))}; a "
            f"thermometer that is 0.1 degree out makes {shown.pressure_unit(0.1 * pa_per_k)}, and LPG changes by up to "
            f"8 % more than air.{alone} Read again once the temperature stands still."
        )
    step_k = reading.resolution_pa / pa_per_k
    return (
        f"No temperatures were given. Gas that cools by {step_k:.2g} degrees looks like a leak of one step, and gas "
        f"that warms by as much hides one."
    )


def _duration(seconds: float) -> str:
    """Return a time as a person says it."""
    if seconds < 1.5 * _MINUTE_S:
        return f"{seconds:.3g} s"
    if seconds < 1.5 * _HOUR_S:
        return f"{seconds / _MINUTE_S:.3g} min"
    if seconds < 2.0 * _DAY_S:
        return f"{seconds / _HOUR_S:.3g} h"
    return f"{seconds / _DAY_S:,.0f} days"


def _leak(m3_s: float) -> str:
    litres_h = m3_s * _L_H
    return f"{litres_h:.0f} L/h" if litres_h >= _WHOLE_L_H else f"{litres_h:.2g} L/h"


def litres(m3: float) -> str:
    """Return a volume [m3] as a figure in litres."""
    return f"{m3 * 1e3:.3f}"


def _celsius(kelvin: float) -> str:
    return f"{kelvin - 273.15:.4g}"


def _test_data(test: TightnessTest) -> dict[str, Any]:
    return {
        "name": test.name,
        "title": test.title,
        "source": test.source,
        "medium": test.medium,
        "pressure_kPa": test.pressure_gauge_pa / 1000.0,
        "settle_s": test.settle_s,
        "hold_s": test.hold_s,
        "volume_min_L": test.volume_min_m3 * 1e3 if test.volume_min_m3 is not None else None,
    }


def _section_data(result: Tightness, section: TestSection) -> dict[str, Any]:
    smallest = result.smallest_leak_m3_s(section)
    return {
        "name": section.name,
        "working_pressure_kPa": section.gauge_pa / 1000.0,
        "test_pressure_kPa": result.gauge_pa(section) / 1000.0,
        "volume_L": section.volume_m3 * 1e3,
        "runs": [
            {
                "name": run.name,
                "pipe": run.pipes[0].label,
                "bore_mm": run.pipes[0].bore_m * 1e3,
                "length_m": run.length_m,
                "volume_L": volume_m3 * 1e3,
            }
            for run, volume_m3 in section.runs
        ],
        "hoses": [
            {"name": hose.name, "outlet": outlet.name, "volume_L": volume_m3 * 1e3}
            for outlet, hose, volume_m3 in section.hoses
        ],
        "Pa_per_K": result.pa_per_k(section),
        "smallest_leak_L_h": smallest * _L_H if smallest is not None else None,
        "wait_s": result.wait_s(section),
    }


def _reading_data(reading: TightnessReading) -> dict[str, Any]:
    return {
        "start_kPa": reading.start_gauge_pa / 1000.0,
        "end_kPa": reading.end_gauge_pa / 1000.0,
        "start_degC": reading.start_k - 273.15,
        "end_degC": reading.end_k - 273.15,
        "temperatures_given": reading.is_corrected,
        "time_s": reading.time_s,
        "fall_Pa": reading.fall_pa,
        "leak_L_h": reading.leak_m3_s * _L_H,
        "verdict": word(reading.passes).lower(),
    }


def _purge_data(purge: Purge) -> dict[str, Any]:
    return {
        "appliance": purge.appliance.name,
        "at": purge.appliance.at,
        "outlet": purge.outlet.name if purge.outlet else None,
        "hose": purge.hose.name if purge.hose else None,
        "volume_L": purge.volume_m3 * 1e3,
        "gas_least_L": purge.volume_m3 * 1e3,
        "gas_most_L": purge.volume_m3 * 1e3 * mixed_volumes(PURGED),
        "least_s": purge.least_s,
        "most_s": purge.mixed_s,
    }
