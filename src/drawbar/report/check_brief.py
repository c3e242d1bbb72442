"""Checked jobs in one line each: file, verdict, the appliance that is worst off, its spare, and why."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from drawbar.checking.results import CheckResult
from drawbar.job import ROOT
from drawbar.report.check_view import CheckView
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, OwnLayout, Table
from drawbar.report.report import Report
from drawbar.report.wrapping import columns, shortened
from drawbar.verdict import Verdict

_HEADS = ("file", "verdict", "appliance", "spare", "reason")
_SPARE = 3  # the place of the figure among them
_GAP = 2
_LEAST_FILE, _LEAST_NAME, _LEAST_REASON = 12, 10, 18  # columns that are left to them where the page is narrow


class BriefCheck(NamedTuple):
    """A job in one line.

    Attributes
    ----------
    file : str
        The job file.
    verdict : Verdict or None
        The verdict on the job, whatever states are shown; None where it could not be read.
    appliance : str
        The appliance that is worst off of those shown; empty where none is.
    spare : str
        What it has to spare as drawn, with the unit.
    spare_pa, at_worst_pa : float or None
        The same, and at the worst tolerances [Pa].
    reason : str
        Why it is not PASS in a few words, the first of the reasons, and how many more there are.
    """

    file: str
    verdict: Verdict | None
    appliance: str = ""
    spare: str = ""
    spare_pa: float | None = None
    at_worst_pa: float | None = None
    reason: str = ""

    @classmethod
    def of(cls, result: CheckResult, view: CheckView) -> BriefCheck:
        """Return a checked job in one line.

        Parameters
        ----------
        result : CheckResult
            The checked job.
        view : CheckView
            The states that are shown.

        Returns
        -------
        BriefCheck
        """
        worst = view._replace(failing=False).worst_of(result)
        if not worst:
            return cls(result.job.file, result.verdict, reason=_reason(result, ""))
        appliance, _ = worst[0]
        shown, pressures_pa = Shown(result.job.display), (appliance.margin_pa, appliance.worst_margin_pa)
        spare = f"{shown.pressure(appliance.margin_pa)} {shown.display.pressure}"
        reason = _reason(result, appliance.name)
        return cls(result.job.file, result.verdict, appliance.name, spare, *pressures_pa, reason)


def _reason(result: CheckResult, appliance: str) -> str:
    """Return why a job is not PASS in a few words; the appliance that is told beside it is not named again."""
    if not result.because:
        return ""
    first, *more = result.because
    words = first.code.replace("-", " ")
    if first.code == "pressure":
        words = "short of pressure" if first.verdict is Verdict.FAIL else "short at worst"
    place = "" if first.place in ("", appliance, ROOT) else f": {first.place}"
    return f"{words}{place}{f', {len(more)} more' if more else ''}"


class BriefReport(Report[Sequence[BriefCheck]]):
    """How jobs in one line each are shown: all of them together."""

    kind = "check"
    columns = ("file", "job_verdict", "appliance", "margin_Pa", "worst_margin_Pa", "because")

    def page(self, jobs: Sequence[BriefCheck]) -> list[Block]:
        """Return the lines, aligned."""
        return [_Lines(jobs)]

    def rows(self, jobs: Sequence[BriefCheck]) -> Iterator[list[Any]]:
        """Yield a row a job."""
        for job in jobs:
            verdict = job.verdict.value if job.verdict is not None else None
            yield [job.file, verdict, job.appliance, job.spare_pa, job.at_worst_pa, job.reason]


class _Lines(OwnLayout):
    """A line a job, as wide as the page: long names and reasons are cut, the verdict and the spare never."""

    def __init__(self, jobs: Sequence[BriefCheck]) -> None:
        self.rows = [
            (
                job.file,
                job.verdict.word if job.verdict is not None else "not read",
                *(job.appliance, job.spare, job.reason),
            )
            for job in jobs
        ]

    def text(self, width: int) -> str:
        """Return the lines, cut to a width [columns]."""
        widths = [max(map(columns, (head, *cells))) for head, *cells in zip(_HEADS, *self.rows, strict=True)]
        room = width - widths[1] - widths[3] - _GAP * (len(widths) - 1)
        reason, name = min(widths[4], _LEAST_REASON), min(widths[2], _LEAST_NAME)
        widths[0] = min(widths[0], max(_LEAST_FILE, room - name - reason))
        widths[2] = min(widths[2], max(_LEAST_NAME, room - widths[0] - reason))
        widths[4] = max(len(_HEADS[4]), min(widths[4], room - widths[0] - widths[2]))
        lines = []
        for row in (_HEADS, tuple("-" * wide for wide in widths), *self.rows):
            cells = [shortened(cell, wide) for cell, wide in zip(row, widths, strict=True)]
            cells[0] = shortened(row[0], widths[0], from_end=True)  # a path, whose end has the name of the file
            for place, wide in enumerate(widths):
                blanks = " " * (wide - columns(cells[place]))
                cells[place] = blanks + cells[place] if place == _SPARE else cells[place] + blanks
            lines.append((" " * _GAP).join(cells).rstrip())
        return "\n".join(lines)

    def blocks(self) -> list[Block]:
        """Return a table, for Markdown."""
        heads = tuple(Column(head, words=head != "spare") for head in _HEADS)
        return [Table(heads, self.rows)]
