"""Two files of the same job, as a page and as JSON: the verdict, the spare, and what is other in the file."""

from __future__ import annotations

from typing import Any

from drawbar.cautions import IN_SHORT
from drawbar.comparing.changed_job import ChangedJob
from drawbar.comparing.differences import Difference
from drawbar.rechecking.recheck import Outcome
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.recheck_report import change_words, right_words, standing_data
from drawbar.report.report import Report
from drawbar.report.since_words import since_data


class DiffReport(Report[ChangedJob]):
    """A job before and after its file was changed."""

    kind = "diff"

    def page(self, result: ChangedJob) -> list[Block]:
        """Return the page: the verdict, how the job stood and stands, what is other, and what puts it right."""
        shown = Shown(result.new.remedies.display)
        unit = shown.display.pressure
        columns = (
            Column("file", words=True),
            Column("verdict", words=True),
            Column(f"spare\n{unit}"),
            Column(f"at worst\n{unit}"),
            Column("appliance", words=True),
        )
        rows = [_row(outcome, shown) for outcome in (result.old, result.new)]
        blocks: list[Block] = [Heading(f"{result.new.title}: {change_words(result.new)}"), Table(columns, rows)]
        keys = [_key_words(key) for key in result.keys]
        blocks.append(Points("Changed:", keys) if keys else "The files are the same.")
        right = right_words(result.new)
        blocks.extend([Points("To put it right:", [right])] if right else [])
        blocks.append(IN_SHORT)
        return blocks

    def data(self, result: ChangedJob) -> dict[str, Any]:
        """Return the change for JSON."""
        shown = Shown(result.new.remedies.display)
        return {
            "old": result.old.file,
            "new": result.new.file,
            "job": result.new.title,
            "ref": result.new.ref,
            "before": standing_data(result.old.after, shown),
            "after": standing_data(result.new.after, shown),
            "since": since_data(result.new.since, shown),
            "keys": [{"key": key.key, "was": key.values[0], "now": key.values[1]} for key in result.keys],
        }


def _row(outcome: Outcome, shown: Shown) -> list[str]:
    after = outcome.after
    assert after is not None  # what can't be read ends the call
    figures = [shown.pressure(after.margin_pa), shown.pressure(after.worst_margin_pa)]
    return [outcome.file, after.verdict.word, *figures, after.appliance]


def _key_words(key: Difference) -> str:
    was, now = key.values
    if was is None:
        return f"{key.key}: {now}, which is new"
    return f"{key.key}: {now}, was {was}" if now is not None else f"{key.key}: gone, was {was}"
