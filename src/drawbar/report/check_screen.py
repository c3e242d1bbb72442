"""A checked job on one screen: the verdict, why, what puts it right, a row an appliance, and one line of caution."""

from __future__ import annotations

import enum
import shlex
from collections.abc import Iterator
from typing import NamedTuple

from drawbar.answers import CLOSEST, WholeCheck
from drawbar.cautions import IN_SHORT
from drawbar.checking.results import CheckResult
from drawbar.job import Job
from drawbar.report.check_view import CheckView
from drawbar.report.display import Shown
from drawbar.report.layout import WIDTH, Block, Column, Heading, Points, Table, as_text
from drawbar.report.reasons import reason_words
from drawbar.report.verdict_words import job_parts, parts_words, reason_sentence
from drawbar.report.words import job_name, sentence
from drawbar.verdict import Verdict

_MOST_TRIAL = 60  # columns of the options of a call that tries a remedy
SCREEN_LINES = 23
"""Lines of a page of one screen: those of the usual terminal, less the one that the next call is typed on."""


class Room(NamedTuple):
    """What a page of one screen is to fit: so many lines, of so many columns."""

    lines: int = SCREEN_LINES
    width: int = WIDTH


SCREEN = Room()
"""The usual screen."""


class _Set(enum.Enum):
    """How the reasons and remedies are set: with blank lines between, without, run on, the job's name with them."""

    LOOSE = enum.auto()
    CLOSE = enum.auto()
    RUN_ON = enum.auto()
    CLOSEST = enum.auto()


class _Choice(NamedTuple):
    """How much stands on a page: reasons, remedies, figures that are closest to failing, what else; how it is set."""

    reasons: int
    remedies: int
    closest: int
    notes: bool
    tolerances: bool
    trial: bool
    how: _Set


# The first of these that fits is printed. The verdict, the table, a reason, a remedy and the caution stand in all.
_CHOICES = (
    _Choice(4, 3, CLOSEST, notes=True, tolerances=True, trial=True, how=_Set.LOOSE),
    _Choice(4, 3, CLOSEST, notes=True, tolerances=False, trial=True, how=_Set.LOOSE),
    _Choice(4, 3, CLOSEST, notes=True, tolerances=False, trial=True, how=_Set.CLOSE),
    _Choice(4, 2, 1, notes=True, tolerances=False, trial=True, how=_Set.CLOSE),
    _Choice(3, 2, 1, notes=True, tolerances=False, trial=True, how=_Set.CLOSE),
    _Choice(3, 2, 0, notes=True, tolerances=False, trial=True, how=_Set.CLOSE),
    _Choice(2, 2, 0, notes=True, tolerances=False, trial=True, how=_Set.CLOSE),
    _Choice(2, 1, 0, notes=True, tolerances=False, trial=True, how=_Set.CLOSE),
    _Choice(1, 1, 0, notes=True, tolerances=False, trial=True, how=_Set.CLOSE),
    _Choice(1, 1, 0, notes=True, tolerances=False, trial=True, how=_Set.RUN_ON),
    _Choice(1, 1, 0, notes=False, tolerances=False, trial=True, how=_Set.RUN_ON),
    _Choice(1, 1, 0, notes=False, tolerances=False, trial=False, how=_Set.RUN_ON),
    _Choice(1, 1, 0, notes=False, tolerances=False, trial=False, how=_Set.CLOSEST),
)


def check_screen(
    whole: WholeCheck, shown: Shown, view: CheckView, room: Room, *, with_heading: bool = True
) -> list[Block]:
    """Return the page of a checked job that fits a screen; the fuller one, where it fits.

    Parameters
    ----------
    whole : WholeCheck
        The checked job.
    shown : Shown
        The units of the job.
    view : CheckView
        What of it is shown.
    room : Room
        What it is to fit.
    with_heading : bool
        Whether it names the job first; a page that has named it already leaves that out.

    Returns
    -------
    list of Block
        More lines only where the verdict, the table and one of each of the rest need them.
    """
    page: list[Block] = []
    heading = job_heading(whole) if with_heading else None
    for choice in _CHOICES:
        page = list(_page(whole, shown, view, choice, heading))
        if as_text(page, width=room.width).count("\n") <= room.lines:
            break
    return page


def job_heading(whole: WholeCheck) -> Heading:
    """Return the line that names a job and its verdict."""
    job = whole.result.job
    name = job_name(job)
    return Heading(f"{name}: {whole.result.verdict.word}")


def _page(
    whole: WholeCheck, shown: Shown, view: CheckView, choice: _Choice, heading: Heading | None
) -> Iterator[Block]:
    result = whole.result
    if heading is not None and choice.how is not _Set.CLOSEST:
        yield heading
    head = [*filter(None, [view.words(result)]), parts_words(job_parts(whole))]
    points = [points for points in (_why(whole, shown, choice), _fix(whole, shown, choice)) if points is not None]
    if choice.how is _Set.LOOSE:
        yield "\n".join(head)
        yield from points
    elif choice.how is _Set.CLOSE:
        lines = [line for told in points for line in (told.head, *(f"- {text}" for text in told.sentences))]
        yield "\n".join([*head[:-1], " ".join([head[-1], *lines[:1]]), *lines[1:]])
    else:
        name = [heading.text] if heading is not None and choice.how is _Set.CLOSEST else []
        yield "\n".join([*name, *head, *(f"{told.head} {' '.join(told.sentences)}" for told in points)])
    table = worst_table(result, shown, view)
    if table.rows:
        yield table
    is_as_drawn = result.job.tolerances is None  # which a PASS never goes without
    tolerances = [tolerance_words(result.job)] if choice.tolerances or is_as_drawn else []
    beside = [*_closest(whole, shown, choice.closest), *(_notes(whole, shown) if choice.notes else ())]
    rest = f"{IN_SHORT} `drawbar check --full` has the rest."
    if choice.how is _Set.LOOSE:
        yield from (["\n".join(beside)] if beside else [])
        yield "\n".join([*tolerances, rest])
    else:
        yield "\n".join([*beside, *tolerances, rest])


def _why(whole: WholeCheck, shown: Shown, choice: _Choice) -> Points | None:
    """Return the first reasons why a job is not PASS, and how many more there are."""
    because = whole.result.because
    if not because:
        return None
    with_remedy = whole.remedies is not None
    most = choice.reasons if len(because) <= choice.reasons else max(1, choice.reasons - 1)
    told = [reason_sentence(reason, shown, with_remedy=with_remedy) for reason in because[:most]]
    if len(because) > most:
        told.append(f"And {len(because) - most} more: see --full.")
    return Points("Why:", told)


def _fix(whole: WholeCheck, shown: Shown, choice: _Choice) -> Points | None:
    """Return what puts the pressures right, the best first, with the options that try one of them."""
    return remedy_points(whole, shown, choice.remedies, with_trial=choice.trial)


def remedy_points(whole: WholeCheck, shown: Shown, most: int | None, *, with_trial: bool) -> Points | None:
    """Return what puts the pressures of a job right, the best first; None where nothing is to be said of it.

    Parameters
    ----------
    whole : WholeCheck
        The checked job.
    shown : Shown
        The units of the job.
    most : int or None
        How many remedies to tell, None for all.
    with_trial : bool
        Whether to tell the options of a call that try one of them without an edit of the file.

    Returns
    -------
    Points or None
        The first remedy whose options are short has them.
    """
    if whole.remedies is None:
        return None
    from drawbar.report.remedy_words import remedy_sentence, remedy_sentences  # for what does not pass alone

    told = remedy_sentences(whole.remedies, most)
    for remedy in whole.remedies.in_order[:most] if with_trial else ():
        settings = [
            f"--set {shlex.quote(f'{key}={value}')}" for key, value in remedy.edits(whole.remedies.display).items()
        ]
        words = remedy_sentence(remedy, shown)[1:]
        place = next((number for number, text in enumerate(told) if text.endswith(words)), None)
        if place is not None and len(" ".join(settings)) <= _MOST_TRIAL:
            told[place] += f" Try it with `{' '.join(settings)}`."
            break
    return Points("To put it right:", told) if told else None


def _closest(whole: WholeCheck, shown: Shown, most: int) -> Iterator[str]:
    """Yield what would have to be wrong for the job to fail: the closest figures, the rest as drawn."""
    if whole.break_evens and most:
        from drawbar.report.break_even_table import break_even_words

        words = [break_even_words(value, whole.result.job, shown) for value in whole.break_evens[:most]]
        yield f"Closest to failing, the rest as drawn: {'; '.join(words)}."


def _notes(whole: WholeCheck, shown: Shown) -> Iterator[str]:
    """Yield what can't be on together, what another formula says, and why the bottles do not surely hold."""
    for reason in whole.result.warnings:
        if reason.code in ("not-together", "other-formula"):
            yield sentence(reason_words(reason, shown)[0])
    if whole.bottles is not None and whole.bottles[1]:
        yield f"Bottles: {reason_words(whole.bottles[1][0], shown)[0]}. `drawbar supply` has the rest, and what helps."


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


def worst_table(result: CheckResult, shown: Shown, view: CheckView) -> Table:
    """Return a row for each appliance, in the state and the place that leave it least.

    Parameters
    ----------
    result : CheckResult
        The checked job.
    shown : Shown
        The units of the job.
    view : CheckView
        What of it is shown.

    Returns
    -------
    Table
        The worst first.
    """
    units = shown.display
    columns = (
        Column("appliance", words=True),
        Column("worst in", words=True),
        Column(f"load\n{units.heat}"),
        *(Column(f"{name}\n{units.pressure}") for name in ("pressure", "drop", "spare", "at worst")),
        Column("verdict", words=True),
    )
    rows = []
    for appliance, state in view.worst_of(result):
        pressures_pa = (appliance.gauge_pa, appliance.drop_pa, appliance.margin_pa, appliance.worst_margin_pa)
        place = f"{state.name}, {appliance.outlet}" if appliance.outlet else state.name
        figures = [shown.heat(appliance.load_w), *map(shown.pressure, pressures_pa)]
        rows.append([appliance.name, place, *figures, appliance.verdict.word])
    return Table(columns, rows)


def is_left_out(whole: WholeCheck, view: CheckView) -> bool:
    """Tell whether a job is not shown at all, as it passes and only what does not is asked for."""
    return view.failing and whole.result.verdict is Verdict.PASS
