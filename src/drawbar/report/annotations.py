"""Workflow annotations of a hosted CI: lines that it shows beside the line of the file that they are about.

The form is `::error file=FILE,line=LINE,col=COLUMN,title=TITLE::TEXT`, with percent signs and line breaks written as
codes in it, and in the parts before the text colons and commas too.
"""

from __future__ import annotations

from collections.abc import Iterator

from drawbar.problems import Problem
from drawbar.rechecking.places import places_in
from drawbar.rechecking.recheck import Outcome
from drawbar.report.display import Shown
from drawbar.report.remedy_words import remedy_sentence
from drawbar.report.verdict_words import reason_sentence
from drawbar.verdict import Verdict

_IN_TEXT = {"%": "%25", "\r": "%0D", "\n": "%0A"}
_IN_PART = {**_IN_TEXT, ":": "%3A", ",": "%2C"}
_MOST = 4  # annotations of one job; the CI itself shows ten of a step


def annotation(level: str, text: str, place: tuple[str, int, int], title: str) -> str:
    r"""Return an annotation, with a line break at its end.

    Parameters
    ----------
    level : str
        `error`, `warning` or `notice`.
    text : str
        What is to be said.
    place : tuple of str, int and int
        The file, the line and the column, these from 1; 0 where that is not known.
    title : str
        A title.

    Returns
    -------
    str
        A line.

    Examples
    --------
    >>> annotation("error", "50 % short", ("a,b.yaml", 3, 0), "FAIL: urn")
    '::error file=a%2Cb.yaml,line=3,title=FAIL%3A urn::50 %25 short\n'
    """
    parts = zip(("file", "line", "col", "title"), (*place, title), strict=True)
    told = ",".join(f"{name}={_coded(str(value), _IN_PART)}" for name, value in parts if value)
    return f"::{level} {told}::{_coded(text, _IN_TEXT)}\n"


def problem_annotation(problem: Problem) -> str:
    """Return the annotation of a problem."""
    sentence = f"{problem.what}; {problem.fit}" if problem.fit else problem.what
    text = f"{problem.where}: {sentence}" if problem.where else sentence
    return annotation("error", text, (problem.file, problem.line, problem.column), "not read")


def outcome_annotations(outcome: Outcome) -> Iterator[str]:
    """Yield the annotations of a job: its problems, or why it does not pass and what puts it right.

    Parameters
    ----------
    outcome : Outcome
        A job looked at again.

    Yields
    ------
    str
        A line each: an error where it fails, a warning where it is undecided; none where it passes.
    """
    yield from map(problem_annotation, outcome.problems)
    after = outcome.after
    if after is None:
        return
    shown, best = Shown(outcome.remedies.display), outcome.remedies.best
    firsts = {(reason.code, reason.place): reason for reason in reversed(after.because)}
    told = [reason for reason in after.because if firsts[reason.code, reason.place] is reason]
    lines = places_in(outcome.file) if told else {}
    for number, reason in enumerate(told[:_MOST]):
        text = reason_sentence(reason, shown, with_remedy=best is not None)
        if best is not None and number == 0:
            text = f"{text} {remedy_sentence(best, shown)}"
        if number == _MOST - 1 and len(told) > _MOST:
            text = f"{text} And {len(told) - _MOST} more: see drawbar check."
        level = "error" if reason.verdict is Verdict.FAIL else "warning"
        place = outcome.file, lines.get(reason.place, lines.get("", 0)), 0
        yield annotation(level, text, place, f"{after.verdict.word}: {outcome.title}")


def _coded(text: str, codes: dict[str, str]) -> str:
    return "".join(codes.get(letter, letter) for letter in text)
