"""The sheet as one HTML file: no script, no network, nothing beside it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from drawbar.cautions import SUPPLY_CAUTIONS, TAKEOFF_COUNTED, TAKEOFF_TEES
from drawbar.gas_supply.supplied import SupplyResult
from drawbar.materials.takeoff import Takeoff
from drawbar.onsite.tightness import NO_FALL_SOURCE, Tightness
from drawbar.records.sheet import MadeFrom, Sheet
from drawbar.report import check_whole as report_check
from drawbar.report import supply_whole as report_supply
from drawbar.report import takeoff_report as report_takeoff
from drawbar.report import tightness_report as report_tightness
from drawbar.report.display import Shown
from drawbar.report.hotwater_report import water_cautions
from drawbar.report.reasons import reason_words
from drawbar.report.remedy_words import remedy_sentences
from drawbar.report.sheet import head, tables
from drawbar.report.sheet.drawings import figures
from drawbar.report.sheet.dress import rendered
from drawbar.report.sheet.sources import sheet_sources
from drawbar.report.sheet.water_part import water_view
from drawbar.report.vent_words import space_words
from drawbar.report.words import asked_sentence, cautions, sentence
from drawbar.yamlfile.carried import JOB, LIBRARY, MADE_WITH, READINGS

_MOST_REMEDIES = 2
_MOST_REMARKS = 12
_DENSE = 30  # a job of more runs and appliances than this is drawn down the page, and its tables stand closer


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
    return rendered("sheet.html.j2", _view(sheet), sheet.result.job, sheet.logo)


def _view(sheet: Sheet) -> dict[str, Any]:
    """Return what the template shows."""
    result, drawn = sheet.result, sheet.drawn
    job, shown, worst = result.job, Shown(result.job.display), drawn.state
    return {
        "dense": len(job.runs) + len(job.appliances) > _DENSE,
        "asked": asked_sentence(job.asked) if job.asked else "",
        "verdicts": head.verdicts(sheet),
        "spare": head.margin_sentence(sheet, shown),
        "because": list(head.reasons_told(sheet, shown)),
        "remedies": remedy_sentences(sheet.remedies, _MOST_REMEDIES) if sheet.remedies is not None else [],
        "warnings": [sentence(warning) for warning in _warnings(sheet, shown)],
        "head": list(head.what_it_is(sheet, shown)),
        "unit": job.display.pressure,
        **figures(result, drawn, shown),
        "worst": worst.name,
        "way": head.way_sentence(sheet),
        "load": f"Maximum load {shown.heat_unit(worst.total_w)}.",
        "appliances": tables.drawn_appliances_table(drawn, shown),
        "others": tables.others_table(drawn, shown),
        "left_out": drawn.left_out,
        "states": tables.states_table(result, shown),
        "stages": report_check.stages_table(worst, shown),
        "lost": report_check.most_of_the_drop(job, worst._replace(appliances=drawn.appliances), shown),
        "runs": report_check.runs_table(job, worst, shown),
        "space": space_words(result, shown).split("\n") if result.spaces else [],
        "tightness": tables.halves(tables.tightness_form(sheet.tight, shown)),
        "pressures": tables.pressures_form(sheet.record, sheet.tight, shown),
        "elsewhere": tables.elsewhere_table(sheet.record, shown),
        "supply": _supply(sheet.supplied, shown) if sheet.supplied else None,
        "water": water_view(sheet.water, shown),
        "test": f"{_test(sheet.tight, shown)} {_volumes(sheet.tight)}",
        "purge": report_tightness.purge_table(sheet.tight),
        "purge_words": report_tightness.purge_words(shown),
        "pipes": report_takeoff.pipes_table(sheet.materials),
        "parts_table": report_takeoff.parts_table(sheet.materials),
        "counted": (TAKEOFF_COUNTED, TAKEOFF_TEES),
        "remarks": _remarks(sheet.materials),
        "cautions": list(_cautions(sheet)),
        "sources": sheet_sources(result, sheet.supplied, sheet.tight, sheet.catalogue),
        "carried": list(_carried(sheet.made_from)),
    }


def _warnings(sheet: Sheet, shown: Shown) -> Iterable[str]:
    warnings = [reason_words(warning, shown)[0] for warning in sheet.result.warnings]
    return *warnings, *report_tightness.tightness_warnings(sheet.tight, shown)


def _supply(result: SupplyResult, shown: Shown) -> dict[str, Any]:
    bottles = report_supply.bottles_words(result.cylinders, shown)
    return {
        "words": f"{bottles}. {report_supply.offtake_words(result, shown)}",
        "limits": report_supply.supplied_states(result, shown),
    }


def _test(tight: Tightness, shown: Shown) -> str:
    if tight.test is None:
        return f"No test is known for this job's limits. No fall is taken as allowed ({NO_FALL_SOURCE})."
    return report_tightness.test_words(tight, shown).split("\n")[0]


def _volumes(tight: Tightness) -> str:
    """Return what the line holds, by section where it has several."""
    held = [(section.name, f"{section.volume_m3 * 1e3:.3f}") for section in tight.sections]
    if len(held) == 1:
        return f"The pipe holds {held[0][1]} L."
    return "The pipe holds " + ", ".join(f"{volume} L downstream of {name}" for name, volume in held) + "."


def _remarks(materials: Takeoff) -> list[str]:
    remarks = [sentence(remark) for remark in materials.needs.remarks]
    if len(remarks) > _MOST_REMARKS:
        remarks = [*remarks[:_MOST_REMARKS], f"And {len(remarks) - _MOST_REMARKS} more of this kind."]
    return remarks


def _cautions(sheet: Sheet) -> Iterator[str]:
    """Yield the cautions of all parts of the sheet, each once."""
    from_all = [*cautions(sheet.result.job), *report_tightness.tightness_cautions(sheet.tight)]
    if sheet.supplied is not None:
        from_all += SUPPLY_CAUTIONS
    if sheet.water:
        from_all += water_cautions(sheet.result.job, Shown(sheet.result.job.display))
    yield from dict.fromkeys(from_all)


def _carried(made_from: MadeFrom) -> Iterator[tuple[str, str, str]]:
    """Yield what the page carries to be checked again: the id of each text, what it is, the text."""
    if made_from.job_text is not None:
        yield JOB, "The job file", made_from.job_text
        yield LIBRARY, "The rows of the workshop's library that count", made_from.library_text
        if made_from.readings_text is not None:
            yield READINGS, "The readings", made_from.readings_text
        made_with = {
            "date": made_from.date.isoformat(),
            "units": made_from.display._asdict(),
            "asked": made_from.asked,
            "tightness": made_from.tightness,
        }
        yield MADE_WITH, "What else it was made with", json.dumps(made_with, ensure_ascii=False)
