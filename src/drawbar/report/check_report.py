"""A checked job on one screen, and as rows; its whole page and its JSON stand in files of their own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.answers import WholeCheck
from drawbar.cautions import IN_SHORT
from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.job import Job
from drawbar.report.display import MJ_H, Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.report import Report
from drawbar.report.verdict_words import part_verdicts, parts_words, reason_points
from drawbar.report.words import sentence
from drawbar.verdict import Verdict

_PARTS = ("pressure", "regulator", "vents", "bottles")
JOB_COLUMNS = ("job_verdict", *(f"{part}_verdict" for part in _PARTS), "because")
"""What every row of a CSV says of the whole job, so that rows that pass hide no job that does not."""


class CheckReport(Report[WholeCheck]):
    """A checked job: every state, the worst first and in full."""

    kind = "check"
    columns = (
        *("file", "job", "ref", "formula", "state", "appliance", "outlet", "hose", "load_MJ_h", "pressure_kPa"),
        *("drop_Pa", "allowed_drop_Pa", "margin_Pa", "headroom_MJ_h", "worst_margin_Pa", "verdict"),
        *JOB_COLUMNS,
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, whole: WholeCheck) -> list[Block]:
        """Return the page of a checked job: one screen, or the whole of it."""
        result = whole.result
        job, shown = result.job, Shown(result.job.display)
        name = f"{job.title} ({job.ref})" if job.ref else job.title
        blocks: list[Block] = [Heading(f"{name}: {result.verdict.word}"), parts_words(_parts(whole))]
        with_remedy = whole.remedies is not None
        blocks.extend(reason_points(result.because, shown, in_full=self.in_full, with_remedy=with_remedy))
        blocks.extend(_remedy_points(whole, in_full=self.in_full))
        if self.in_full:
            from drawbar.report.check_whole import whole_page

            blocks.extend([tolerance_words(job), *whole_page(whole, shown)])
        else:
            together = [reason for reason in result.warnings if reason.code in ("not-together", "other-formula")]
            beside = [
                *_closest_words(whole, shown),
                *(sentence(reason_words(reason, shown)[0]) for reason in together),
                *_bottles_words(whole, shown),
            ]
            blocks.append(worst_table(result, shown))
            blocks.extend(["\n".join(beside)] if beside else [])
            blocks.append(f"{tolerance_words(job)}\n{IN_SHORT}")
        return blocks

    def data(self, whole: WholeCheck) -> dict[str, Any]:
        """Return the result as the JSON contract has it."""
        from drawbar.report.break_even_table import break_even_data
        from drawbar.report.check_data import check_data
        from drawbar.report.remedy_words import remedy_data

        job, values = whole.result.job, whole.break_evens
        return {
            **check_data(whole.result),
            "remedies": None if whole.remedies is None else remedy_data(whole.remedies),
            "bottles": None
            if whole.bottles is None
            else {
                "verdict": whole.bottles[0].value,
                "because": because_data(whole.bottles[1], Shown(job.display)),
            },
            "break_even": None if values is None else break_even_data(values, job),
        }

    def rows(self, whole: WholeCheck) -> Iterator[list[Any]]:
        """Yield a row an appliance and state."""
        result = whole.result
        job = result.job
        for state in result.states:
            spare_w = state.headroom.appliances if state.headroom else None
            for appliance in state.appliances:
                yield [
                    *(job.file, job.title, job.ref, result.formula, state.name),
                    *(appliance.name, appliance.outlet, appliance.hose),
                    appliance.load_w * MJ_H,
                    appliance.gauge_pa / 1000.0,
                    appliance.drop_pa,
                    job.allowed_drop_pa,
                    appliance.margin_pa,
                    spare_w[appliance.name] * MJ_H if spare_w else None,
                    appliance.worst_margin_pa,
                    appliance.verdict.value,
                    *job_cells(whole),
                ]


def job_cells(whole: WholeCheck) -> list[str | None]:
    """Return what every row of a CSV says of the whole job, under JOB_COLUMNS.

    Parameters
    ----------
    whole : WholeCheck
        The checked job.

    Returns
    -------
    list of str or None
        The verdict on the job, those on its parts, empty where a part is not judged, and why it is not PASS.
    """
    result, parts, shown = whole.result, _parts(whole), Shown(whole.result.job.display)
    verdicts = [parts[part].value if part in parts else None for part in _PARTS]
    return [
        result.verdict.value,
        *verdicts,
        "; ".join(reason_words(reason, shown)[0] for reason in result.because),
    ]


def _parts(whole: WholeCheck) -> dict[str, Verdict]:
    """Return the verdict on each part of a check, and that on the bottles, which stands beside."""
    result = whole.result
    has_vents = result.space is not None and result.space.formula is not None
    parts = part_verdicts(result.because, has_vents=has_vents)
    return parts if whole.bottles is None else {**parts, "bottles": whole.bottles[0]}


def _bottles_words(whole: WholeCheck, shown: Shown) -> Iterator[str]:
    """Yield the first reason why the bottles do not surely hold."""
    if whole.bottles is not None and whole.bottles[1]:
        text, _ = reason_words(whole.bottles[1][0], shown)
        yield f"Bottles: {text}. `drawbar supply` has the rest, and what helps."


def _remedy_points(whole: WholeCheck, *, in_full: bool) -> Iterator[Block]:
    if whole.remedies is None:
        return
    from drawbar.report.remedy_words import remedy_sentences

    sentences = remedy_sentences(whole.remedies, None) if in_full else remedy_sentences(whole.remedies)
    if sentences:
        yield Points("What puts it right:", sentences)


def _closest_words(whole: WholeCheck, shown: Shown) -> Iterator[str]:
    """Yield what would have to be wrong for the job to fail: the closest figures, the rest as drawn."""
    if not whole.break_evens:
        return
    from drawbar.report.break_even_table import break_even_words

    words = [break_even_words(value, whole.result.job, shown) for value in whole.break_evens]
    yield f"Closest to failing, the rest as drawn: {'; '.join(words)}."


def tolerance_words(job: Job) -> str:
    """Return what a PASS takes into account, as stands under the verdict."""
    tolerances = job.tolerances
    if tolerances is None:
        return "As drawn only: no tolerance is taken into account."
    shares = (
        f"bores by the standard, lengths {tolerances.length * 100:g} %, fittings {tolerances.fittings * 100:g} %, "
        f"inputs {tolerances.input * 100:g} %, devices {tolerances.devices * 100:g} %"
    )
    return f"The verdict takes every tolerance at its worst at once: {shares}."


def worst_table(result: CheckResult, shown: Shown) -> Table:
    """Return a row for each appliance, in the state and the place that leave it least."""
    units = shown.display
    columns = (
        Column("appliance", words=True),
        Column("worst in", words=True),
        Column(f"load\n{units.heat}"),
        Column(f"gets\n{units.pressure}"),
        Column(f"drop\n{units.pressure}"),
        Column(f"spare\n{units.pressure}"),
        Column(f"at worst\n{units.pressure}"),
        Column("result", words=True),
    )
    worst: dict[str, tuple[ApplianceResult, StateResult]] = {}
    for state in result.states:
        for appliance in state.appliances:
            before = worst.get(appliance.name)
            if before is None or appliance.worst_margin_pa < before[0].worst_margin_pa:
                worst[appliance.name] = appliance, state
    rows = []
    for appliance, state in sorted(worst.values(), key=lambda pair: pair[0].worst_margin_pa):
        pressures_pa = (appliance.gauge_pa, appliance.drop_pa, appliance.margin_pa, appliance.worst_margin_pa)
        place = f"{state.name}, {appliance.outlet}" if appliance.outlet else state.name
        figures = [shown.heat(appliance.load_w), *map(shown.pressure, pressures_pa)]
        rows.append([appliance.name, place, *figures, appliance.verdict.word])
    return Table(columns, rows)
