"""Jobs looked at again, as a page, as rows, as JSON and as JSON Lines, which `rechecking.result_lines` reads back."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

from drawbar import __version__
from drawbar.cautions import CHECK_CAUTIONS
from drawbar.rechecking.recheck import CHANGES, UNREAD, UNTOUCHED, Outcome
from drawbar.rechecking.standing import Standing
from drawbar.report.display import Shown
from drawbar.report.for_scripts import FORMAT, problem_data, rounded
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.remedy_words import remedy_data, remedy_sentences
from drawbar.report.report import Report
from drawbar.report.verdict_words import reason_sentence

_MOST_REASONS = 2  # of a job among many


class RecheckReport(Report[Outcome]):
    """Jobs looked at again: each by itself as JSON, as a line of JSON and as a row; all of them on one page."""

    kind = "recheck"
    columns = (
        *("file", "job", "ref", "change", "swapped", "margin_before_Pa", "margin_after_Pa", "worst_state"),
        *("worst_appliance", "remedy", "verdict", "worst_margin_after_Pa", "because"),
    )

    def page(self, result: Outcome) -> list[Block]:
        """Return the page of a single job."""
        return self.page_of([result])

    def page_of(self, outcomes: Iterable[Outcome]) -> list[Block]:
        """Return the page of many jobs: those that changed verdict first, the worst margins first, then the totals.

        Parameters
        ----------
        outcomes : iterable of Outcome
            The jobs.

        Returns
        -------
        list of Block
            The page.
        """
        by_change: dict[str, list[Outcome]] = {change: [] for change in CHANGES}
        for outcome in outcomes:
            by_change[outcome.change].append(outcome)
        count = sum(map(len, by_change.values()))
        blocks: list[Block] = [Heading(f"{count} job{'s' if count != 1 else ''} looked at again")]
        for change in CHANGES:
            shown = _shown(change, by_change[change])
            if shown:
                blocks.extend([f"{change.capitalize()}: {len(shown)}", _table(shown)])
                reasons = [f"{outcome.file}: {words}" for outcome in shown if (words := _reason_words(outcome))]
                if reasons:
                    blocks.append(Points("Why:", reasons))
                remedies = [f"{outcome.file}: {words}" for outcome in shown if (words := _pipe_words(outcome))]
                if remedies:
                    blocks.append(Points("What would put them right:", remedies))
        totals = ", ".join(f"{len(by_change[change])} {change}" for change in CHANGES if by_change[change])
        blocks.append(f"In all: {totals or 'nothing'}.")
        blocks.append(Points("Cautions:", CHECK_CAUTIONS))
        return blocks

    def data(self, result: Outcome) -> dict[str, Any]:
        """Return a job for JSON, with all that reads it back from a line."""
        return {
            "drawbar": __version__,
            "kind": self.kind,
            "format": FORMAT,
            "file": result.file,
            "job": result.title,
            "ref": result.ref,
            "change": result.change,
            "swapped": list(result.swapped),
            "before": _standing_data(result.before, Shown(result.remedies.display)),
            "after": _standing_data(result.after, Shown(result.remedies.display)),
            "remedies": None if result.after is None else remedy_data(result.remedies),
            "problems": [problem_data(problem) for problem in result.problems],
            "asked": list(result.asked),
        }

    def line(self, result: Outcome) -> str:
        """Return a job as a line of JSON, with the line's end."""
        return json.dumps(rounded(self.data(result)), ensure_ascii=False, allow_nan=False) + "\n"

    def rows(self, result: Outcome) -> Iterator[list[Any]]:
        """Yield the row of a job."""
        before, after = result.before, result.after
        yield [
            result.file,
            result.title,
            result.ref,
            result.change,
            "; ".join(result.swapped),
            before.margin_pa if before else None,
            after.margin_pa if after else None,
            after.state if after else None,
            after.appliance if after else None,
            _remedy_words(result),
            after.verdict.value if after else "not read",
            after.worst_margin_pa if after else None,
            _because_words(after, Shown(result.remedies.display)) if after else None,
        ]


def _shown(change: str, outcomes: list[Outcome]) -> list[Outcome]:
    """Return the jobs of a change that the page lists, the worst margins first; of those not touched, that fail."""
    if change == UNREAD:
        return []
    listed = [outcome for outcome in outcomes if change != UNTOUCHED or outcome.exit_code]
    return sorted(listed, key=lambda outcome: outcome.after.margin_pa if outcome.after else 0.0)


def _table(outcomes: Iterable[Outcome]) -> Table:
    columns = (
        Column("file", words=True),
        Column("swapped", words=True),
        Column("spare before\nkPa"),
        Column("spare after\nkPa"),
        Column("at worst\nkPa"),
        Column("worst", words=True),
        Column("result", words=True),
    )
    rows = []
    for outcome in outcomes:
        before, after = outcome.before, outcome.after
        assert before is not None  # only what could be read is shown here
        assert after is not None
        rows.append(
            [
                outcome.file,
                ", ".join(outcome.swapped),
                f"{before.margin_pa / 1000.0:.3f}",
                f"{after.margin_pa / 1000.0:.3f}",
                f"{after.worst_margin_pa / 1000.0:.3f}",
                f"{after.appliance} in {after.state}",
                after.verdict.word,
            ]
        )
    return Table(columns, rows)


def _reason_words(outcome: Outcome) -> str:
    """Return why a job does not pass: the first reason of each sort, with what to do where no other size is told."""
    if outcome.after is None:
        return ""
    because, shown, with_remedy = outcome.after.because, Shown(outcome.remedies.display), bool(_pipe_words(outcome))
    firsts = {reason.code: reason for reason in reversed(because)}
    listed = [reason for reason in because if firsts[reason.code] is reason][:_MOST_REASONS]
    sentences = [reason_sentence(reason, shown, with_remedy=with_remedy) for reason in listed]
    if len(listed) < len(because):
        sentences.append(f"And {len(because) - len(listed)} more: see drawbar check.")
    return " ".join(sentences)


def _pipe_words(outcome: Outcome) -> str:
    """Return what puts the pressures of a job right."""
    return " ".join(remedy_sentences(outcome.remedies))


def _remedy_words(outcome: Outcome) -> str:
    """Return what puts a job right, in a cell of a row; a job that was not swapped is left as it was."""
    codes = {reason.code for reason in outcome.after.because} if outcome.after and outcome.swapped else set()
    vents = ["Make the vents of the space larger."] if "vents" in codes else []
    return " ".join(filter(None, [*vents, _pipe_words(outcome)]))


def _because_words(standing: Standing, shown: Shown) -> str:
    return "; ".join(reason_words(reason, shown)[0] for reason in standing.because)


# for scripts


def _standing_data(standing: Standing | None, shown: Shown) -> dict[str, Any] | None:
    if standing is None:
        return None
    because = zip(because_data(standing.because, shown), standing.because, strict=True)
    return {
        "verdict": standing.verdict.value,
        "margin_Pa": standing.margin_pa,
        "worst_margin_Pa": standing.worst_margin_pa,
        "state": standing.state,
        "appliance": standing.appliance,
        "because": [{**entry, "details": dict(reason.details)} for entry, reason in because],
    }
