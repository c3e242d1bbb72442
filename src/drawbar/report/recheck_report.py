"""Jobs looked at again, as a page, as rows, as JSON and as JSON Lines, which `rechecking.result_lines` reads back."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from typing import Any

from drawbar import __version__
from drawbar.cautions import CHECK_CAUTIONS, IN_SHORT
from drawbar.checking.vents import VENT_CODES
from drawbar.display_units import METRIC
from drawbar.rechecking.batch import Batch
from drawbar.rechecking.job_files import others_words
from drawbar.rechecking.recheck import CHANGES, UNREAD, UNTOUCHED, Outcome
from drawbar.rechecking.since import MOVED_PA, NEW
from drawbar.rechecking.standing import Standing
from drawbar.rechecking.worked_from import Inputs
from drawbar.report.display import MJ_H, Shown
from drawbar.report.for_scripts import FORMAT, problem_data, rounded
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.remedy_words import remedy_data, remedy_sentence, remedy_sentences
from drawbar.report.report import Report
from drawbar.report.since_words import causes_words, since_data
from drawbar.report.verdict_words import reason_sentence

_MOST_REASONS = 2  # of a job among many
_MOST_TOLD = 3  # jobs of which a page of one screen tells what puts them right


class RecheckReport(Report[Outcome]):
    """Jobs looked at again: each by itself as JSON, as a line of JSON and as a row; all of them on one page.

    Parameters
    ----------
    in_full : bool
        Whether the page tells of every listed job all reasons and what puts it right, not of the worst alone.
    """

    kind = "recheck"
    columns = (
        *("file", "job", "ref", "change", "swapped", "margin_before_Pa", "margin_after_Pa", "worst_state"),
        *("worst_appliance", "remedy", "verdict", "worst_margin_after_Pa", "because"),
        *("baseline_change", "baseline_margin_Pa", "baseline_moved_Pa", "baseline_why"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: Outcome) -> list[Block]:
        """Return the page of a single job."""
        batch = Batch()
        for _ in batch.passed_on([result]):
            pass
        return self.page_of(batch)

    def page_of(self, batch: Batch) -> list[Block]:
        """Return the page of many jobs: those that changed, the worst first, what puts them right, then the rest.

        Parameters
        ----------
        batch : Batch
            The jobs, all of which have come.

        Returns
        -------
        list of Block
            The page.
        """
        looked_at = sorted(batch.listed(), key=_rank)
        listed = sorted(batch.kept, key=_rank) if batch.keep_all else looked_at
        blocks: list[Block] = [Heading(_heading(batch, looked_at)), _answer(batch)]
        if listed:
            folder = common_folder([outcome.file for outcome in listed])
            blocks.extend([f"In {folder}:"] if folder else [])
            blocks.append(self._table(batch, listed, folder))
            blocks.extend(self._right(listed, folder))
        beside = [*_rest(batch, looked_at, show_all=batch.keep_all), *_notes(looked_at, in_full=self.in_full)]
        if batch.others:
            beside.append(f"{others_words(batch.others)}.")
        blocks.extend(["\n".join(beside)] if beside else [])
        blocks.append(Points("Cautions:", CHECK_CAUTIONS) if self.in_full else IN_SHORT)
        return blocks

    def _table(self, batch: Batch, listed: list[Outcome], folder: str) -> Table:
        shown = shown_for(listed)
        unit = shown.display.pressure
        was = "then" if batch.earlier is not None else "before"
        with_before = batch.earlier is not None or any(outcome.swapped for outcome in listed)
        columns = [
            Column("file", words=True),
            Column("verdict", words=True),
            *([Column(f"spare {was}\n{unit}")] if with_before else []),
            Column(f"spare\n{unit}"),
            Column(f"at worst\n{unit}"),
            *(
                [Column("changed since", words=True)]
                if batch.earlier is not None
                else [Column("appliance", words=True)]
            ),
        ]
        rows = []
        for outcome in listed:
            before = outcome.since.before if outcome.since is not None else outcome.before
            after = outcome.after
            figures = [
                *([_pressure(before, shown)] if with_before else []),
                _pressure(after, shown),
                "" if after is None else shown.pressure(after.worst_margin_pa),
            ]
            last = after.appliance if after is not None else ""
            if outcome.since is not None:
                last = causes_words(outcome.since, Shown(outcome.remedies.display), None if self.in_full else 2)
            rows.append([outcome.file[len(folder) :], change_words(outcome), *figures, last])
        return Table(tuple(columns), rows)

    def _right(self, outcomes: list[Outcome], folder: str) -> list[Block]:
        """Return why jobs do not pass, and what puts them right."""
        failing = [outcome for outcome in outcomes if outcome.after is not None and not outcome.after.passes]
        told = failing if self.in_full else failing[:_MOST_TOLD]
        points = []
        for outcome in told:
            points.append(f"{outcome.file[len(folder) :]}: {right_words(outcome, in_full=self.in_full)}")
        if len(told) < len(failing):
            points.append(f"And {len(failing) - len(told)} more: see --full.")
        return [Points("To put it right:", points)] if points else []

    def summary(self, batch: Batch) -> Iterator[str]:
        """Yield a line a job, every one that was kept, and the count: for a list that is to be read or searched."""
        for outcome in batch.kept:
            after, shown = outcome.after, Shown(outcome.remedies.display)
            if after is None:
                yield f"not read   {outcome.file}\n"
                continue
            spare = f"{shown.pressure_unit(after.margin_pa)} spare at {after.appliance}"
            because = reason_words(after.because[0], shown)[0] if after.because else ""
            yield f"{change_words(outcome):9}  {outcome.file}: {spare}{f'; {because}' if because else ''}\n"
        yield f"{_answer(batch)}\n"

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
            "swaps": list(result.swaps),
            "notes": list(result.notes),
            "before": standing_data(result.before, Shown(result.remedies.display)),
            "after": standing_data(result.after, Shown(result.remedies.display)),
            "remedies": None if result.after is None else remedy_data(result.remedies),
            "problems": [problem_data(problem) for problem in result.problems],
            "asked": list(result.asked),
            "baseline": since_data(result.since, Shown(result.remedies.display)),
            "inputs": _inputs_data(result.inputs),
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
            result.since.change if result.since else None,
            result.since.before.margin_pa if result.since and result.since.before else None,
            result.since.moved_pa if result.since and result.since.before else None,
            causes_words(result.since, Shown(result.remedies.display), None) if result.since else None,
        ]


def common_folder(files: Sequence[str]) -> str:
    """Return the folder that files stand in, with its separator; empty where they have none in common."""
    first, last = min(files), max(files)
    same = next((at for at, letters in enumerate(zip(first, last, strict=False)) if len(set(letters)) > 1), len(first))
    return first[: first.rfind(os.sep, 0, same) + 1]


def shown_for(outcomes: Sequence[Outcome]) -> Shown:
    """Return the units of a table of jobs: theirs where they all have the same, else those of figures by default."""
    displays = {outcome.remedies.display for outcome in outcomes}
    return Shown(displays.pop() if len(displays) == 1 else METRIC)


def _pressure(standing: Standing | None, shown: Shown) -> str:
    return "" if standing is None else shown.pressure(standing.margin_pa)


def _rank(outcome: Outcome) -> tuple[int, float]:
    """Return what puts the worst changes first, and the least spare of each first."""
    change = outcome.change if outcome.since is None else outcome.since.change
    place = CHANGES.index(change) if change in CHANGES else len(CHANGES)
    return place, outcome.after.margin_pa if outcome.after is not None else 0.0


def _heading(batch: Batch, looked_at: Sequence[Outcome]) -> str:
    jobs = f"{batch.count} job{'s' if batch.count != 1 else ''}"
    if batch.earlier is not None:
        return f"{jobs} compared with {os.path.basename(batch.earlier.file)}: {len(looked_at) or 'none'} to check"
    if batch.is_swapped:
        changed = sum(" to " in outcome.change for outcome in looked_at)
        return f"{jobs} checked again: {changed or 'none'} change{'s' if changed < 2 else ''} verdict"  # noqa: PLR2004
    return f"{jobs} checked again: {len(looked_at) or 'none'} {'does' if len(looked_at) == 1 else 'do'} not pass"


def _answer(batch: Batch) -> str:
    """Return how many jobs there are of each change, and where the swaps found an appliance."""
    counts = ", ".join(f"{batch.counts[change]} {change}" for change in CHANGES if batch.counts[change])
    if not batch.is_swapped:
        by_verdict = {"FAIL": "still fails", "UNDECIDED": "still undecided", "PASS": UNTOUCHED, UNREAD: UNREAD}
        counts = ", ".join(
            f"{batch.counts[change]} {word}" for word, change in by_verdict.items() if batch.counts[change]
        )
    words = [f"In all: {counts or 'nothing'}."]
    if batch.earlier is not None:
        since = ", ".join(f"{count} {change}" for change, count in sorted(batch.looks.items()))
        words = [f"Changes: {since or 'nothing'}."]
    in_jobs = ", ".join(f"{text} in {count}" for text, count in batch.swapped_in.items())
    if in_jobs:
        words.append(f"Swapped: {in_jobs} of them.")
    return " ".join(words)


def _rest(batch: Batch, looked_at: Sequence[Outcome], *, show_all: bool) -> Iterator[str]:
    """Yield what is told of the other jobs in a line."""
    if batch.gone:
        more = f" and {len(batch.gone) - 3} more" if len(batch.gone) > 3 else ""  # noqa: PLR2004 - names in a line
        yield f"Gone since: {', '.join(batch.gone[:3])}{more}."
    listed = len(batch.kept) if show_all else len(looked_at)
    unread = batch.counts[UNREAD]
    others = batch.count - listed - unread
    if others > 0 and not show_all:
        s = "s" if others == 1 else ""
        what = f"unchanged to {MOVED_PA:g} Pa" if batch.earlier is not None else f"keep{s} the verdict"
        if batch.earlier is None and not batch.is_swapped:
            what = f"pass{'es' if others == 1 else ''}"
        yield f"{others} other{'' if others == 1 else 's'} {what}; --all lists them."
    if unread:
        yield f"{unread} could not be read: see the messages."


def _notes(outcomes: Sequence[Outcome], *, in_full: bool) -> Iterator[str]:
    """Yield where a swap fits several appliances of a job; such jobs alone that are listed."""
    noted = [f"{outcome.file}: {note}." for outcome in outcomes for note in outcome.notes]
    yield from noted if in_full else noted[:2]
    if not in_full and len(noted) > 2:  # noqa: PLR2004
        yield f"{len(noted) - 2} more such notes: see --full."


def change_words(outcome: Outcome) -> str:
    """Return the verdict, with what it was where it is another."""
    if outcome.since is not None:
        before, after = outcome.since.before, outcome.after
        if before is None and outcome.since.change == NEW:
            return f"new, {after.verdict.word}" if after is not None else "new"
    else:
        before, after = outcome.before, outcome.after
    was, now = (standing.verdict.word if standing else "not read" for standing in (before, after))
    return now if was == now else f"{was} to {now}"


def right_words(outcome: Outcome, *, in_full: bool = False) -> str:
    """Return why a job does not pass and what puts it right, in sentences; empty where it passes.

    Parameters
    ----------
    outcome : Outcome
        A job looked at again.
    in_full : bool
        Whether more than the first reason and the best remedy is wanted.

    Returns
    -------
    str
        Joined by blanks.
    """
    sentences = [_reason_words(outcome, in_full=in_full), *_pipe_sentences(outcome, in_full=in_full)]
    return " ".join(filter(None, sentences))


def _reason_words(outcome: Outcome, *, in_full: bool) -> str:
    """Return why a job does not pass: the first reason of each sort, with what to do where no other size is told."""
    if outcome.after is None:
        return ""
    because, shown = outcome.after.because, Shown(outcome.remedies.display)
    with_remedy = bool(_pipe_sentences(outcome, in_full=True))
    firsts = {reason.code: reason for reason in reversed(because)}
    most = _MOST_REASONS if in_full else 1
    listed = [reason for reason in because if firsts[reason.code] is reason][:most]
    sentences = [reason_sentence(reason, shown, with_remedy=with_remedy) for reason in listed]
    if len(listed) < len(because):
        sentences.append(f"And {len(because) - len(listed)} more: see drawbar check.")
    return " ".join(sentences)


def _pipe_sentences(outcome: Outcome, *, in_full: bool) -> list[str]:
    """Return what puts the pressures of a job right: the best, or the best of each kind."""
    best = outcome.remedies.best
    if in_full or best is None:
        return remedy_sentences(outcome.remedies)
    return [remedy_sentence(best, Shown(outcome.remedies.display))]


def _remedy_words(outcome: Outcome) -> str:
    """Return what puts a job right, in a cell of a row."""
    codes = {reason.code for reason in outcome.after.because} if outcome.after and outcome.swapped else set()
    vents = ["Make the vents of the space larger."] if codes & set(VENT_CODES) else []
    return " ".join([*vents, *_pipe_sentences(outcome, in_full=True)])


def _because_words(standing: Standing, shown: Shown) -> str:
    return "; ".join(reason_words(reason, shown)[0] for reason in standing.because)


# for scripts


def standing_data(standing: Standing | None, shown: Shown) -> dict[str, Any] | None:
    """Return how a job stands for JSON, None where it could not be read."""
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


def _inputs_data(inputs: Inputs | None) -> dict[str, Any] | None:
    if inputs is None:
        return None
    return {
        "job": inputs.job,
        "rows": dict(inputs.rows),
        "program": inputs.program,
        "loads_MJ_h": {name: load_w * MJ_H for name, load_w in inputs.loads_w.items()},
        "pipes": dict(inputs.pipes),
    }
