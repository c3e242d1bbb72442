"""The sheet as one HTML file: no script, no network, nothing beside it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from importlib import resources
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from drawbar import __version__
from drawbar.cautions import SUPPLY_CAUTIONS, TAKEOFF_CAUTIONS
from drawbar.checking.judge import is_all_known
from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.gas_supply.supplied import SupplyResult
from drawbar.job import Job
from drawbar.materials.takeoff import Takeoff
from drawbar.onsite.tightness import NO_FALL_SOURCE, Tightness
from drawbar.physics.formulas import FORMULAS
from drawbar.problems import printable
from drawbar.report import check_whole as report_check
from drawbar.report import supply_report as report_supply
from drawbar.report import takeoff_report as report_takeoff
from drawbar.report import tightness_report as report_tightness
from drawbar.report.display import Shown, gas_words
from drawbar.report.layout import Column, Table
from drawbar.report.reasons import reason_words
from drawbar.report.remedy_words import remedy_sentences
from drawbar.report.sheet import diagram, profile, tree_layout
from drawbar.report.sheet.contents import Sheet
from drawbar.report.sheet.geometry import Drawing
from drawbar.report.sheet.svgs import as_svg
from drawbar.report.verdict_words import parts_words, reason_sentence
from drawbar.report.words import asked_sentence, cautions, sentence

_MOST_REASONS = 4
_MOST_REMEDIES = 2
_MOST_REMARKS = 5
_ONE_COLUMN = 8  # a table of test points with more rows than this stands in two columns
_DENSE = 30  # a job of more runs and appliances than this is printed smaller
_NARROW_PX = 340.0
_WIDE_PX = 720.0
_ACROSS_MOST_PX = 900.0  # a line that is wider from left to right would be too small to read on paper
_DOWN_PX, _BESIDE_PX = 540.0, 330.0  # a line that goes down the page, and the profile beside it


@dataclass(frozen=True, slots=True)
class _Figure:
    """A drawing in two widths, for paper and for a narrow screen."""

    wide: Markup
    narrow: Markup


def as_html(sheet: Sheet) -> str:
    """Make a sheet a page to print.

    Parameters
    ----------
    sheet : Sheet
        What stands on it.

    Returns
    -------
    str
        One whole HTML file.
    """
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["isolated"] = _isolating(sheet.result.job)
    text = resources.files("drawbar").joinpath("data/sheet.html.j2").read_text(encoding="utf-8")
    return environment.from_string(text).render(_view(sheet))


def _view(sheet: Sheet) -> dict[str, Any]:
    """Return what the template shows."""
    result = sheet.result
    job, shown, worst = result.job, Shown(result.job.display), result.states[0]
    return {
        "version": __version__,
        "job": job,
        "dense": len(job.runs) + len(job.appliances) > _DENSE,
        "asked": asked_sentence(job.asked) if job.asked else "",
        "badge": result.verdict,
        "verdict": _verdict(sheet, shown),
        "because": list(_because(sheet, shown)),
        "remedies": remedy_sentences(sheet.remedies, _MOST_REMEDIES) if sheet.remedies is not None else [],
        "head": list(_head(sheet, shown)),
        "warnings": [sentence(warning) for warning in _warnings(sheet, shown)],
        "unit": job.display.pressure,
        **_figures(result, worst, shown),
        "has_portable": any(appliance.at is None for appliance in job.appliances),
        "state_words": report_check.state_words(worst, shown).split("\n"),
        "appliances": report_check.appliances_table(worst, shown),
        "stages": report_check.stages_table(worst, shown),
        "lost": report_check.most_of_the_drop(job, worst, shown),
        "runs": report_check.runs_table(job, worst, shown),
        "others": _others(result, shown),
        "space": report_check.space_words(result, shown).split("\n") if result.space else [],
        "worst": worst.name,
        "points": _halves(_points(sheet, worst, shown)),
        "points_bound": not sheet.points.rows,
        "supply": _supply(sheet.supplied, shown) if sheet.supplied else None,
        "test": _test(sheet.tight, shown),
        "volumes": _volumes(sheet.tight),
        "purge": report_tightness.purge_table(sheet.tight),
        "purge_words": report_tightness.purge_words(),
        "pipes": report_takeoff.pipes_table(sheet.materials),
        "parts": report_takeoff.parts_table(sheet.materials),
        "remarks": _remarks(sheet.materials),
        "cautions": list(_cautions(sheet)),
        "sources": sheet.sources,
    }


def _isolating(job: Job) -> Callable[[str], str]:
    """Return what sets the job's names that run from right to left apart from the words and figures around them."""
    turned = sorted({name for name in _names(job) if any(map(_turns, name))}, key=len, reverse=True)
    if not turned:
        return str
    pattern = re.compile("|".join(map(re.escape, turned)))
    return lambda text: pattern.sub(lambda name: f"\u2068{name.group()}\u2069", text)  # a strong isolate, and its end


def _names(job: Job) -> Iterator[str]:
    for members in (job.runs, job.outlets, job.hoses, job.appliances, job.states):
        yield from (member.name for member in members)
    for holders in (job.runs, job.outlets, job.hoses):
        yield from (device.name for holder in holders for device in holder.devices)


def _turns(letter: str) -> bool:
    return unicodedata.bidirectional(letter) in ("R", "AL", "AN", "RLE", "RLO", "RLI", "LRE", "LRO")


def _verdict(sheet: Sheet, shown: Shown) -> str:
    worst = sheet.result.states[0]
    words = f"Worst state {worst.name}: {report_check.margin_words(worst, shown)} as drawn"
    if sheet.result.job.tolerances is None:
        words += ", no tolerance taken into account."
    else:
        side = "short" if worst.worst_margin_pa < 0.0 else "to spare"
        words += f", {shown.pressure_unit(abs(worst.worst_margin_pa))} {side} with every tolerance at its worst"
        words += "." if is_all_known(sheet.result.job) else ", what is not known taken as nothing."
    return f"{parts_words(sheet.parts)} {words}"


def _because(sheet: Sheet, shown: Shown) -> Iterator[str]:
    """Yield why the verdict is not PASS."""
    because, with_remedy = sheet.result.because, sheet.remedies is not None
    listed = because if len(because) <= _MOST_REASONS else because[: _MOST_REASONS - 1]
    yield from (reason_sentence(reason, shown, with_remedy=with_remedy) for reason in listed)
    if len(listed) < len(because):
        yield f"And {len(because) - len(listed)} more, which drawbar check --full tells."


def _head(sheet: Sheet, shown: Shown) -> Iterator[tuple[str, str]]:
    result = sheet.result
    job = result.job
    if job.ref is not None:
        yield "Ref", job.ref
    yield "Date", sheet.date.isoformat()
    yield "File", printable(job.file)
    yield "Gas", gas_words(job.gas)
    yield "Site", f"{shown.temperature_unit(job.temperature_k)}, {shown.length_unit(job.altitude_m)} above the sea"
    capacity_w = job.regulator.capacity_w
    rated = ", rating not known" if capacity_w is None else f", rated {shown.heat_unit(capacity_w)}"
    yield "Regulator", f"{shown.pressure_unit(job.regulator.outlet_gauge_pa)}{rated}"
    if job.rule is not None:
        yield "Rule", f"{job.rule.name}: {job.rule.source}"
    whose = "" if job.rule is not None and job.allowed_drop_pa == job.rule.drop_pa else ", the job's own limit"
    yield "Allowed drop", f"{shown.pressure_unit(job.allowed_drop_pa)}{whose}"
    yield "Formula", f"{result.formula}: {FORMULAS[result.formula].title}"


def _warnings(sheet: Sheet, shown: Shown) -> Iterable[str]:
    warnings = [reason_words(warning, shown)[0] for warning in sheet.result.warnings]
    return *warnings, *report_tightness.tightness_warnings(sheet.tight, shown)


def _figures(result: CheckResult, worst: StateResult, shown: Shown) -> dict[str, Any]:
    """Return the drawings: the line across the page with the profile under it, or down the page with it beside."""
    job, root = result.job, diagram.tree_of(result, worst)
    wide, narrow = tree_layout.across(root), tree_layout.down(root, _NARROW_PX)
    panels = profile.panels_of(result, worst)
    beside, profile_px, tall_px = None, _WIDE_PX, profile.LEAST_PX
    if wide.width_px > _ACROSS_MOST_PX:
        wide, profile_px = tree_layout.down(root, _DOWN_PX), _BESIDE_PX
        tall_px = max(tall_px, 0.5 * wide.height_px / len(panels))
        beside = wide.width_px, profile_px
    titles = (
        f"The line of {job.title}",
        f"{_number(len(job.runs), 'run')}, {_number(len(job.outlets), 'outlet')} and "
        f"{_number(len(job.appliances), 'appliance')}, from the regulator on. Every figure stands in the tables below.",
    )
    least = _least(worst)
    profile_titles = (
        f"Pressure against distance in state {worst.name}",
        f"Pressure falls from {shown.pressure_unit(job.regulator.outlet_gauge_pa)} at the regulator to "
        f"{shown.pressure_unit(least.gauge_pa)} at {least.name}, which has the least to spare. Every figure stands in "
        f"the tables below.",
    )
    falls = profile.drawn(panels, shown, profile_px, tall_px), profile.drawn(panels, shown, _NARROW_PX)
    return {
        "line": _figure("line", (wide, narrow), titles),
        "profile": _figure("profile", falls, profile_titles),
        "side_by_side": beside,
    }


def _figure(name: str, drawings: tuple[Drawing, Drawing], words: tuple[str, str]) -> _Figure:
    """Return a drawing in its two widths, under a title and a description."""
    wide, narrow = (Markup(as_svg(drawing, f"{name}-{n}", *words)) for n, drawing in enumerate(drawings))
    return _Figure(wide, narrow)


def _least(state: StateResult) -> ApplianceResult:
    """Return the appliance with the least margin."""
    return min(state.appliances, key=lambda appliance: appliance.margin_pa)


def _number(count: int, what: str) -> str:
    return f"{count} {what}" + ("" if count == 1 else "s")


def _others(result: CheckResult, shown: Shown) -> Table:
    """Return a row for each state but the worst."""
    units = shown.display
    columns = (
        Column("state", words=True),
        Column(f"on at most\n{units.heat}"),
        Column("least to spare at", words=True),
        Column(f"gets\n{units.pressure}"),
        Column(f"spare\n{units.pressure}"),
        Column("result", words=True),
    )
    rows = []
    for state in result.states[1:]:
        least = _least(state)
        figures = [shown.pressure(least.gauge_pa), shown.pressure(state.margin_pa)]
        rows.append([state.name, shown.heat(state.total_w), least.name, *figures, state.verdict.word])
    return Table(columns, rows)


def _points(sheet: Sheet, worst: StateResult, shown: Shown) -> Table:
    """Return the test points of the worst state, with a blank for what is measured.

    Where the ways of plugging are too many to try, the appliances with what they get at least.
    """
    unit = shown.display.pressure
    if not sheet.points.rows:
        few = (Column("point", words=True), Column(f"at least\n{unit}"), Column(f"measured\n{unit}"))
        return Table(few, [[appliance.name, shown.pressure(appliance.gauge_pa), ""] for appliance in worst.appliances])
    columns = (
        Column("point", words=True),
        Column("what", words=True),
        Column(f"rated\n{unit}"),
        Column(f"orifice\n{unit}"),
        Column(f"measured\n{unit}"),
    )
    rows = [
        [row.place.name, row.place.what, shown.pressure(row.rated_gauge_pa), shown.pressure(row.orifice_gauge_pa), ""]
        for row in sheet.points.rows
    ]
    return Table(columns, rows)


def _halves(table: Table) -> list[Table]:
    """Return a long table as two."""
    if len(table.rows) <= _ONE_COLUMN:
        return [table]
    half = (len(table.rows) + 1) // 2
    return [Table(table.columns, table.rows[:half]), Table(table.columns, table.rows[half:])]


def _supply(result: SupplyResult, shown: Shown) -> dict[str, Any]:
    return {
        "verdict": result.verdict.word,
        "words": [
            f"{report_supply.bottles_words(result.cylinders)}. {report_supply.offtake_words(result, shown)}",
            *(reason_sentence(reason, shown) for reason in result.because if reason.code != "regulator-rating"),
        ],
        "limits": report_supply.limits_table(result, shown),
        "course": report_supply.course_table(result),
    }


def _test(tight: Tightness, shown: Shown) -> list[str]:
    if tight.test is None:
        return [f"No test is known for this job's limits. No fall is taken as allowed ({NO_FALL_SOURCE})."]
    return report_tightness.test_words(tight, shown).split("\n")


def _volumes(tight: Tightness) -> str:
    """Return what the line holds, by section where it has several."""
    held = [(section.name, f"{section.volume_m3 * 1e3:.3f}") for section in tight.sections]
    if len(held) == 1:
        return f"The pipe holds {held[0][1]} L."
    return "The pipe holds " + ", ".join(f"{volume} L behind {name}" for name, volume in held) + "."


def _remarks(materials: Takeoff) -> list[str]:
    remarks = [sentence(remark) for remark in materials.needs.remarks]
    if len(remarks) > _MOST_REMARKS:
        more = len(remarks) - _MOST_REMARKS
        remarks = [*remarks[:_MOST_REMARKS], f"And {more} more, which drawbar takeoff tells."]
    return remarks


def _cautions(sheet: Sheet) -> Iterator[str]:
    """Yield the cautions of all parts of the sheet, each once."""
    from_all = [*cautions(sheet.result.job), *report_tightness.tightness_cautions(sheet.tight), *TAKEOFF_CAUTIONS]
    if sheet.supplied is not None:
        from_all += SUPPLY_CAUTIONS
    yield from dict.fromkeys(from_all)
