"""The tightness of a line, as a page, as rows, as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.cautions import TIGHTNESS_CAUTIONS
from drawbar.job import ROOT
from drawbar.onsite.tightness import (
    NO_FALL_SOURCE,
    PURGE_SOURCE,
    PURGED,
    Reading,
    TestSection,
    Tightness,
    gas_for_air,
    mixed_volumes,
)
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.words import word

CSV_COLUMNS = (
    *("file", "job", "ref", "test", "section", "volume_L", "test_pressure_kPa", "settle_s", "hold_s"),
    *("allowed_fall_Pa", "resolution_Pa", "time_s", "smallest_leak_L_h", "asked_leak_L_h", "wait_s"),
    *("start_kPa", "end_kPa", "start_degC", "end_degC", "fall_Pa", "leak_L_h", "verdict"),
)
_L_H = 3.6e6  # L/h in a m3/s


def page(found: Tightness) -> list[Block]:
    """Return the page on a line's tightness."""
    job, shown = found.job, Shown(found.job.display)
    name = f"{job.title} ({job.ref})" if job.ref else job.title
    verdict = f": {word(found.passes)}" if found.reading is not None else ""
    blocks: list[Block] = [
        Heading(f"{name}: tightness{verdict}"),
        f"File {job.file}. Gas in the pipe at {_celsius(job.temperature_k)} degC, air pressure "
        f"{job.atmospheric_pa / 1000:.1f} kPa.",
        test_words(found, shown),
    ]
    if found.reading is not None:
        blocks.append(_reading(found.reading, found, shown))
    blocks.append(_volumes(found, shown))
    blocks.append(_volume_words(found))
    blocks.extend(seen_blocks(found, shown))
    blocks.append(purge_table(found))
    blocks.append(purge_words())
    warnings = list(warnings_of(found, shown))
    if warnings:
        blocks.append(Points("Look at these again:", warnings))
    blocks.append(Points("Cautions:", list(cautions(found))))
    return blocks


def purge_words() -> str:
    """Return what the figures of the purge mean."""
    return (
        f"Purge: at least what the way holds, if nothing mixes; at most {mixed_volumes(PURGED):.1f} times as much, if "
        f"all mixes at once, until {PURGED * 100:g} % is gas ({PURGE_SOURCE}). Times are through that burner alone, at "
        f"its full rate."
    )


def cautions(found: Tightness) -> Iterator[str]:
    """Yield the cautions that go with every result."""
    yield from TIGHTNESS_CAUTIONS
    if found.test is not None and found.test.caution is not None:
        yield found.test.caution


def test_words(found: Tightness, shown: Shown) -> str:
    """Return the test that is to be made, and where it stands."""
    test = found.test
    if test is None:
        return (
            f"No figures of a tightness test are known for this job; choose a test with --test. No fall is taken as "
            f"allowed ({NO_FALL_SOURCE})."
        )
    settle = f", let it settle {duration(test.settle_s)}" if test.settle_s else ""
    hold = f", then watch it for {duration(test.hold_s)}" if test.hold_s else ""
    allowed = shown.pressure_unit(test.allowed_fall_pa) if test.allowed_fall_pa else "none"
    note = f" {test.note}" if test.note else ""
    return (
        f"Test {test.name}: fill with {test.medium} to {shown.pressure_unit(test.pressure_gauge_pa)}{settle}{hold}. "
        f"Allowed fall: {allowed}.{note}\n{test.title}. Source: {test.source}."
    )


def _reading(reading: Reading, found: Tightness, shown: Shown) -> str:
    start, end = shown.pressure_unit(reading.start_gauge_pa), shown.pressure_unit(reading.end_gauge_pa)
    lines = []
    if reading.is_corrected:
        corrected = shown.pressure_unit(reading.start_gauge_pa - reading.fall_pa)
        lines.append(
            f"Reading: {start} at {_celsius(reading.start_k)} degC, {end} at {_celsius(reading.end_k)} degC, "
            f"{duration(reading.time_s)} apart. At the first temperature the second would be {corrected}."
        )
    else:
        lines.append(f"Reading: {start}, then {end}, {duration(reading.time_s)} apart, at one temperature.")
    if reading.fall_pa < reading.resolution_pa and reading.allowed_fall_pa == 0.0:
        lines.append(f"No fall that this manometer can show: {word(reading.passes)}.")
    else:
        allowed = shown.pressure_unit(reading.allowed_fall_pa) if reading.allowed_fall_pa else "none"
        fall = shown.pressure_unit(reading.fall_pa)
        lines.append(f"A fall of {fall}; allowed: {allowed}. {word(reading.passes)}.")
    if reading.fall_pa > 0.0:
        lines.append(f"Such a fall is a leak of {_leak(reading.leak_m3_s)} of what the line is filled with.")
    return "\n".join(lines)


def _volumes(found: Tightness, shown: Shown) -> Table:
    units = shown.display
    columns = [
        Column("run or hose", words=True),
        Column("pipe", words=True),
        Column(f"bore\n{units.bore}"),
        Column(f"length\n{units.length}"),
        Column("holds\nL"),
    ]
    rows = []
    for section in found.sections:
        for run, volume_m3 in section.runs:
            pipe = run.pipes[0]
            rows.append([run.name, pipe.label, shown.bore(pipe.bore_m), shown.length(run.length_m), litres(volume_m3)])
        for outlet, hose, volume_m3 in section.hoses:
            name = f"{hose.name} at {outlet.name}"
            bore, length = shown.bore(hose.pipe.bore_m), shown.length(hose.length_m)
            rows.append([name, hose.pipe.label, bore, length, litres(volume_m3)])
        total = "the line" if len(found.sections) == 1 and section.name == ROOT else f"behind {_place(section)}"
        rows.append([total, "", "", "", litres(section.volume_m3)])
    return Table(tuple(columns), rows)


def _place(section: TestSection) -> str:
    return "the first regulator" if section.name == ROOT else f"the regulator of {section.name}"


def _volume_words(found: Tightness) -> str:
    has_hoses = any(section.hoses for section in found.sections)
    hoses = " Hoses are not counted; --hoses counts them." if found.job.hoses and not has_hoses else ""
    return (
        f"The volume is that of the pipe. What valves, manometer and appliances hold comes on top: a leak is then "
        f"larger than said here.{hoses}"
    )


def seen_blocks(found: Tightness, shown: Shown) -> Iterator[Block]:
    """Tell what a manometer sees of a leak, and what the temperature does to it."""
    head = f"With a manometer that shows steps of {shown.pressure_unit(found.resolution_pa)}"
    if len(found.sections) == 1:
        yield "\n".join([f"{head}:", *_seen_in(found, found.sections[0], shown)])
    else:
        yield f"{head}, by section of the line:"
        yield _seen_by_section(found, shown)
    lines = ["Leaks are counted as gas of 15 degC and 101.325 kPa."]
    if found.time_s is None:
        lines.append("Give the time of the test with --time to see the smallest leak that shows in it.")
    if found.test is None or "air" in found.test.medium:
        hole, hairline = gas_for_air(found.job.vapour)
        lines.append(
            f"Found with air, expect {hole:.1f} times as much of this gas through a hole, up to {hairline:.1f} times "
            f"through a hairline."
        )
    yield "\n".join(lines)


def _seen_in(found: Tightness, section: TestSection, shown: Shown) -> Iterator[str]:
    smallest, wait_s, pa_per_k = found.smallest_leak_m3_s(section), found.wait_s(section), found.pa_per_k(section)
    if smallest is not None and found.time_s is not None:
        yield f"A leak from {_leak(smallest)} up shows in {duration(found.time_s)}."
    if wait_s is not None and found.leak_m3_s is not None:
        yield f"A leak of {_leak(found.leak_m3_s)} shows after {duration(wait_s)}."
    steps = pa_per_k / found.resolution_pa
    yield (
        f"A degree (K) of warming or cooling changes the reading by {shown.pressure_unit(pa_per_k)}, as much as "
        f"{steps:.0f} steps."
    )


def _seen_by_section(found: Tightness, shown: Shown) -> Table:
    columns = [Column("behind", words=True)]
    if found.time_s is not None:
        columns.append(Column(f"least leak that shows\nin {duration(found.time_s)}, L/h"))
    if found.leak_m3_s is not None:
        columns.append(Column(f"{_leak(found.leak_m3_s)}\nshows after"))
    columns.append(Column(f"by a degree (K)\n{shown.display.pressure}"))
    rows = []
    for section in found.sections:
        smallest, wait_s = found.smallest_leak_m3_s(section), found.wait_s(section)
        row = [_place(section)]
        row += [f"{smallest * _L_H:.2g}"] if smallest is not None else []
        row += [duration(wait_s)] if wait_s is not None else []
        rows.append([*row, shown.pressure(found.pa_per_k(section))])
    return Table(tuple(columns), rows)


def purge_table(found: Tightness) -> Table:
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
    for purge in found.purges:
        by = purge.appliance.at or (purge.outlet.name if purge.outlet else "")
        if purge.hose is not None:
            by += f" and {purge.hose.name}"
        volumes = [litres(purge.volume_m3), litres(purge.volume_m3 * most)]
        rows.append([purge.appliance.name, by, *volumes, f"{purge.least_s:.0f}", f"{purge.mixed_s:.0f}"])
    return Table(columns, rows)


def warnings_of(found: Tightness, shown: Shown) -> Iterator[str]:
    """Yield a sentence for each thing that a careful fitter would look at again."""
    test, reading = found.test, found.reading
    if test is not None:
        for section in found.sections:
            place = "The line" if len(found.sections) == 1 else f"The pipe behind {_place(section)}"
            if test.volume_min_m3 is not None and section.volume_m3 < test.volume_min_m3:
                needed = litres(test.volume_min_m3)
                yield f"{place} holds less than the {needed} L that {test.name} is for: add a vessel for the test."
            if section.gauge_pa > test.pressure_gauge_pa * 1.001:
                own, pressure = shown.pressure_unit(section.gauge_pa), shown.pressure_unit(test.pressure_gauge_pa)
                yield f"{place} works at {own}, above the {pressure} of {test.name}: it needs a test of its own."
    if reading is None:
        return
    if test is not None and test.hold_s is not None and reading.time_s < test.hold_s:
        apart, hold = duration(reading.time_s), duration(test.hold_s)
        yield f"The readings are {apart} apart, less than the {hold} of {test.name}."
    if test is not None and reading.start_gauge_pa < test.pressure_gauge_pa - reading.resolution_pa:
        start, pressure = shown.pressure_unit(reading.start_gauge_pa), shown.pressure_unit(test.pressure_gauge_pa)
        yield f"The first reading, {start}, is under the {pressure} of {test.name}."
    change_pa = reading.fall_pa - (reading.start_gauge_pa - reading.end_gauge_pa)
    if abs(change_pa) >= reading.resolution_pa:
        alone = " The readings alone would not pass." if reading.passes_by_correction else ""
        yield (
            f"Temperature alone is taken to account for {shown.pressure_unit(abs(change_pa))}; a thermometer that is "
            f"0.1 degree out makes {shown.pressure_unit(0.1 * found.pa_per_k(found.sections[0]))}, and LPG changes by "
            f"up to 8 % more than air.{alone} Read again once the temperature stands still."
        )
    if not reading.is_corrected:
        step_k = reading.resolution_pa / found.pa_per_k(found.sections[0])
        yield (
            f"No temperatures were given. Gas that cools by {step_k:.2g} degrees looks like a leak of one step, and "
            f"gas that warms by as much hides one."
        )


def duration(seconds: float) -> str:
    """Return a time as a person says it."""
    if seconds < 90.0:
        return f"{seconds:.3g} s"
    if seconds < 5400.0:
        return f"{seconds / 60.0:.3g} min"
    if seconds < 172800.0:
        return f"{seconds / 3600.0:.3g} h"
    return f"{seconds / 86400.0:,.0f} days"


def _leak(m3_s: float) -> str:
    litres_h = m3_s * _L_H
    return f"{litres_h:.0f} L/h" if litres_h >= 100.0 else f"{litres_h:.2g} L/h"


def litres(m3: float) -> str:
    """Return a volume [m3] as a figure in litres."""
    return f"{m3 * 1e3:.3f}"


def _celsius(kelvin: float) -> str:
    return f"{kelvin - 273.15:.4g}"


def rows(found: Tightness) -> Iterator[list[Any]]:
    """Yield the rows of CSV_COLUMNS, one a section."""
    job, test, whole = found.job, found.test, data(found)
    for section in whole["sections"]:
        reading = whole["reading"] or {}
        yield [
            *(job.file, job.title, job.ref, test.name if test else None, section["name"], section["volume_L"]),
            *(section["test_pressure_kPa"], test.settle_s if test else None, test.hold_s if test else None),
            *(whole["allowed_fall_Pa"], found.resolution_pa, found.time_s, section["smallest_leak_L_h"]),
            *(whole["asked_leak_L_h"], section["wait_s"], reading.get("start_kPa"), reading.get("end_kPa")),
            *(reading.get("start_degC"), reading.get("end_degC"), reading.get("fall_Pa"), reading.get("leak_L_h")),
            whole["verdict"],
        ]


def data(found: Tightness) -> dict[str, Any]:
    """Return a line's tightness for JSON."""
    job, test = found.job, found.test
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "verdict": word(found.passes).lower() if found.reading is not None else None,
        "atmosphere_kPa": job.atmospheric_pa / 1000.0,
        "temperature_degC": job.temperature_k - 273.15,
        "test": {
            "name": test.name,
            "title": test.title,
            "source": test.source,
            "medium": test.medium,
            "pressure_kPa": test.pressure_gauge_pa / 1000.0,
            "settle_s": test.settle_s,
            "hold_s": test.hold_s,
            "volume_min_L": test.volume_min_m3 * 1e3 if test.volume_min_m3 is not None else None,
        }
        if test
        else None,
        "allowed_fall_Pa": test.allowed_fall_pa if test else 0.0,
        "allowed_fall_source": test.source if test else NO_FALL_SOURCE,
        "resolution_Pa": found.resolution_pa,
        "time_s": found.time_s,
        "asked_leak_L_h": found.leak_m3_s * _L_H if found.leak_m3_s is not None else None,
        "sections": [_section_data(found, section) for section in found.sections],
        "reading": _reading_data(found.reading) if found.reading else None,
        "purge": [
            {
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
            for purge in found.purges
        ],
        "warnings": list(warnings_of(found, Shown(job.display))),
        "cautions": list(cautions(found)),
    }


def _section_data(found: Tightness, section: TestSection) -> dict[str, Any]:
    smallest = found.smallest_leak_m3_s(section)
    return {
        "name": section.name,
        "working_pressure_kPa": section.gauge_pa / 1000.0,
        "test_pressure_kPa": found.gauge_pa(section) / 1000.0,
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
        "Pa_per_K": found.pa_per_k(section),
        "smallest_leak_L_h": smallest * _L_H if smallest is not None else None,
        "wait_s": found.wait_s(section),
    }


def _reading_data(reading: Reading) -> dict[str, Any]:
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
