"""How the tightness of a line is shown."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar import units
from drawbar.cautions import TIGHTNESS_CAUTIONS
from drawbar.job import ROOT
from drawbar.onsite.leak import gas_for_air
from drawbar.onsite.line_volume import TestSection
from drawbar.onsite.purge import PURGE_SOURCE, PURGED, SMALL_BURNER_W, mixed_volumes
from drawbar.onsite.tightness import HOLDS_LITTLE, NO_FALL_SOURCE, WORKS_ABOVE_TEST, Tightness
from drawbar.onsite.tightness_verdict import hold_s, settle_s
from drawbar.physics.air import REFERENCE_K
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.report import Report
from drawbar.report.tightness_words import duration, reading_words, verdict_blocks
from drawbar.report.words import job_name
from drawbar.rules import TightnessTest

_PSI_PA = 6895.0


class TightnessReport(Report[Tightness]):
    """A line's volume, its tightness test, what a reading means, and the purge."""

    kind = "tightness"
    columns = (
        *("file", "job", "ref", "test", "section", "volume_L", "test_pressure_kPa", "settle_s", "hold_s"),
        *("allowed_fall_Pa", "resolution_Pa", "time_s", "smallest_leak_L_h", "asked_leak_L_h", "wait_s"),
        *("start_kPa", "end_kPa", "start_degC", "end_degC", "fall_Pa", "leak_L_h", "settled_s"),
        *("most_other_Pa", "verdict", "because"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: Tightness) -> list[Block]:
        """Return the verdict with what to do and the figures of the test: one screen, or the whole of it."""
        if not self.in_full:
            from drawbar.report.tightness_short import short_page

            return [Heading(_heading(result)), *short_page(result, Shown(result.job.display))]
        job, shown = result.job, Shown(result.job.display)
        blocks: list[Block] = [Heading(_heading(result)), *verdict_blocks(result, shown)]
        air = units.from_si(job.atmospheric_pa, shown.display.gauge, units.PRESSURE)
        blocks.append(
            f"File {job.file}. Gas in the pipe at {shown.temperature_unit(job.temperature_k)}, air pressure "
            f"{air:.4g} {shown.display.gauge} absolute."
        )
        blocks.append(test_words(result, shown))
        if result.reading is not None:
            blocks.append(reading_words(result, result.reading, shown))
        blocks.append(_volumes(result, shown))
        blocks.append(volume_words(result))
        blocks.extend(_seen(result, shown))
        blocks.append(purge_table(result))
        blocks.append(purge_words(shown))
        warnings = list(tightness_warnings(result, shown))
        if warnings:
            blocks.append(Points("Check on site:", warnings))
        blocks.append(Points("Cautions:", list(tightness_cautions(result))))
        return blocks

    def data(self, result: Tightness) -> dict[str, Any]:
        """Return the test with its source, each section, the reading with its verdict, and the purge."""
        from drawbar.report.tightness_data import tightness_data

        return {
            **tightness_data(result),
            "warnings": list(tightness_warnings(result, Shown(result.job.display))),
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
                *(reading.get("settled_s"), sum(reading["most_other_Pa"].values()) if reading else None),
                *(whole["verdict"], "; ".join(reason["text"] for reason in whole["because"])),
            ]


def _heading(result: Tightness) -> str:
    """Return what was tested, of a line of several stages which part, and the verdict."""
    job = result.job
    name = job_name(job)
    if result.verdict is None:
        return f"{name}: tightness: not tested"
    is_part = any(run.regulator is not None for run in job.runs)
    place = f" downstream of {place_words(result.sections[0])}" if is_part else ""
    return f"{name}: tightness{place}: {result.verdict.word}"


def purge_words(shown: Shown) -> str:
    """Return what the figures of the purge mean."""
    return (
        f"Purge: at least what the way holds, if nothing mixes; at most {mixed_volumes(PURGED):.1f} times as much, if "
        f"all mixes at once, until {PURGED * 100:g} % is gas ({PURGE_SOURCE}). Times are through the burner that is "
        f"lit first, the smallest (`smallest-burner`). Where that is not known (?), at least is through all burners of "
        f"the appliance, at most through one of {shown.heat_unit(SMALL_BURNER_W)}."
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
    settle = f", let it settle {duration(test.settle_s)}" if test.settle_s else ""
    hold = f", then test for {duration(test.hold_s)}" if test.hold_s else ""
    allowed = shown.pressure_unit(test.allowed_fall_pa) if test.allowed_fall_pa else "none"
    note = f" {test.note}" if test.note else ""
    usual = [f"{duration(settle_s(test))} to settle"] if test.settle_s is None else []
    usual += [f"{duration(hold_s(test))} of test"] if test.hold_s is None else []
    if usual:
        note += f" Its source gives no time for it: a PASS asks for {' and '.join(usual)}, as other codes do."
    return (
        f"Test {test.name}: fill with {test.medium} to {filled_to(test.pressure_gauge_pa, shown)}{settle}{hold}. "
        f"Allowed fall: {allowed}.{note}\n{test.title}. Source: {test.source}."
    )


def _volumes(result: Tightness, shown: Shown) -> Table:
    units = shown.display
    columns = [
        Column("run or hose", words=True),
        Column("pipe", words=True),
        Column(f"bore\n{units.bore}"),
        Column(f"length\n{units.length}"),
        Column(f"holds\n{units.volume}"),
    ]
    rows = []
    for section in result.sections:
        for run, volume_m3 in section.runs:
            pipe = run.pipes[0]
            rows.append(
                [run.name, pipe.label, shown.bore(pipe.bore_m), shown.length(run.length_m), shown.volume(volume_m3)]
            )
        for outlet, hose, volume_m3 in section.hoses:
            name = f"{hose.name} at {outlet.name}"
            bore, length = shown.bore(hose.pipe.bore_m), shown.length(hose.length_m)
            rows.append([name, hose.pipe.label, bore, length, shown.volume(volume_m3)])
        total = (
            "the line"
            if len(result.sections) == 1 and section.name == ROOT
            else f"downstream of {place_words(section)}"
        )
        rows.append([total, "", "", "", shown.volume(section.volume_m3)])
    return Table(tuple(columns), rows)


def filled_to(gauge_pa: float, shown: Shown) -> str:
    """Return a test pressure [Pa gauge] with its unit: over a psi no water gauge in inches shows it."""
    return shown.gauge_unit(gauge_pa) if shown.display.is_us and gauge_pa > _PSI_PA else shown.pressure_unit(gauge_pa)


def place_words(section: TestSection) -> str:
    """Return which regulator a section is behind."""
    return "the first regulator" if section.name == ROOT else f"the regulator of {section.name}"


def volume_words(result: Tightness) -> str:
    """Return what the volumes count."""
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
    lines = [f"Leaks are counted as gas of {shown.temperature_unit(REFERENCE_K)} at the air's pressure at sea level."]
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
        yield f"A leak from {shown.leak_unit(smallest)} up shows in {duration(result.time_s)}."
    if wait_s is not None and result.leak_m3_s is not None:
        yield f"A leak of {shown.leak_unit(result.leak_m3_s)} shows after {duration(wait_s)}."
    steps = pa_per_k / result.resolution_pa
    yield (
        f"{shown.difference_short(1.0)} of warming or cooling changes the reading by {shown.pressure_unit(pa_per_k)}, "
        f"as much as {steps:.0f} steps."
    )


def _seen_by_section(result: Tightness, shown: Shown) -> Table:
    columns = [Column("downstream of", words=True)]
    if result.time_s is not None:
        columns.append(Column(f"least leak that shows\nin {duration(result.time_s)}, {shown.display.volume}/h"))
    if result.leak_m3_s is not None:
        columns.append(Column(f"{shown.leak_unit(result.leak_m3_s)}\nshows after"))
    columns.append(Column(f"per {shown.difference_short(1.0)}\n{shown.display.pressure}"))
    rows = []
    for section in result.sections:
        smallest, wait_s = result.smallest_leak_m3_s(section), result.wait_s(section)
        row = [place_words(section)]
        row += [shown.leak(smallest)] if smallest is not None else []
        row += [duration(wait_s)] if wait_s is not None else []
        rows.append([*row, shown.pressure(result.pa_per_k(section))])
    return Table(tuple(columns), rows)


def purge_table(result: Tightness) -> Table:
    """Return the purge through every appliance."""
    shown = Shown(result.job.display)
    columns = (
        Column("purge through", words=True),
        Column("by", words=True),
        Column(f"holds\n{shown.display.volume}"),
        Column(f"gas {shown.display.volume}\nat most"),
        Column(f"burner\n{shown.display.heat}"),
        Column("time s\nat least"),
        Column("time s\nat most"),
    )
    most = mixed_volumes(PURGED)
    rows = []
    for purge in result.purges:
        by = purge.appliance.at or (purge.outlet.name if purge.outlet else "")
        if purge.hose is not None:
            by += f" and {purge.hose.name}"
        volumes = [shown.volume(purge.volume_m3), shown.volume(purge.volume_m3 * most)]
        burner = shown.heat(purge.smallest_kg_s * result.job.gas.gross_j_kg)
        volumes.append(burner if purge.is_burner_known else "?")
        rows.append([purge.appliance.name, by, *volumes, f"{purge.least_s:.0f}", f"{purge.mixed_s:.0f}"])
    return Table(columns, rows)


def tightness_warnings(result: Tightness, shown: Shown) -> Iterator[str]:
    """Yield a sentence for each thing about the line that a careful fitter would look at before the test."""
    for kind, section in result.warnings():
        if result.test is not None:
            yield _section_warning(kind, section, result, result.test, shown)


def _section_warning(kind: str, section: TestSection, result: Tightness, test: TightnessTest, shown: Shown) -> str:
    place = "The line" if len(result.sections) == 1 else f"The pipe downstream of {place_words(section)}"
    if kind == HOLDS_LITTLE and test.volume_min_m3 is not None:
        needed = shown.volume_unit(test.volume_min_m3)
        return f"{place} holds less than the {needed} that {test.name} is for: add a vessel for the test."
    assert kind == WORKS_ABOVE_TEST
    working, pressure = shown.pressure_unit(section.gauge_pa), shown.pressure_unit(test.pressure_gauge_pa)
    return f"{place} works at {working}, above the {pressure} of {test.name}: it needs a test of its own."
