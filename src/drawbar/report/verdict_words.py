"""The verdict on a job as every page shows it first: the word, what it is made of, and what to do."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from drawbar.answers import WholeCheck
from drawbar.checking.vents import VENT_CODES
from drawbar.report.display import Shown
from drawbar.report.layout import Points
from drawbar.report.reasons import reason_words
from drawbar.report.words import sentence
from drawbar.verdict import Reason, Verdict, verdict_of

_PART_OF = {
    "regulator-rating": "regulator",
    "bottle-pressure": "regulator",
    **dict.fromkeys(VENT_CODES, "vents"),
}  # every other reason is about pressure
_MOST_REASONS = 4  # on the page of one screen


def part_verdicts(because: Sequence[Reason], *, has_vents: bool) -> dict[str, Verdict]:
    """Return the verdict on each part of a check: pressure, regulator, and vents where they are judged.

    Parameters
    ----------
    because : sequence of Reason
        Those of a check.
    has_vents : bool
        Whether the vents of a space were judged.

    Returns
    -------
    dict of str to Verdict
        In the order in which they are shown.
    """
    parts = ("pressure", "regulator", "vents") if has_vents else ("pressure", "regulator")
    return {
        part: verdict_of(reason for reason in because if _PART_OF.get(reason.code, "pressure") == part)
        for part in parts
    }


def job_parts(whole: WholeCheck) -> dict[str, Verdict]:
    """Return the verdict on each part of a check, and that on the bottles, which stands beside.

    Parameters
    ----------
    whole : WholeCheck
        The checked job.

    Returns
    -------
    dict of str to Verdict
        In the order in which they are shown.
    """
    result = whole.result
    parts = part_verdicts(result.because, has_vents=result.has_vents)
    return parts if whole.bottles is None else {**parts, "bottles": whole.bottles[0]}


def parts_words(parts: Mapping[str, Verdict]) -> str:
    """Return the verdicts on the parts in words, as `Pressure PASS, regulator PASS, bottles UNDECIDED`, with a stop."""
    return sentence(", ".join(f"{part} {verdict.word}" for part, verdict in parts.items()))


def reason_sentence(reason: Reason, shown: Shown, *, with_remedy: bool = False) -> str:
    """Return a reason with what to do, as sentences.

    Parameters
    ----------
    reason : Reason
        Of a check, or of the bottles.
    shown : Shown
        The units of the job.
    with_remedy : bool
        Whether what puts the pressures right is told by itself, and need not be said here in general.

    Returns
    -------
    str
        With a full stop.
    """
    text, fix = reason_words(reason, shown)
    if with_remedy and reason.code == "pressure":
        fix = ""
    text = f"{text}." if text.startswith(reason.place or " ") else sentence(text)  # a name stays as it is written
    return f"{text} {sentence(fix)}" if fix else text


def reason_points(
    because: Sequence[Reason], shown: Shown, *, in_full: bool, with_remedy: bool = False
) -> Iterator[Points]:
    """Yield the reasons in words, each with what to do; the first few where not all are wanted.

    Parameters
    ----------
    because : sequence of Reason
        Those of a check; nothing is yielded where there are none.
    shown : Shown
        The units of the job.
    in_full : bool
        Whether all of them are wanted.
    with_remedy : bool
        Whether what puts the pressures right is told by itself, and need not be said here in general.

    Yields
    ------
    Points
        Under a heading that says what they do to the verdict.
    """
    if not because:
        return
    listed = because if in_full or len(because) <= _MOST_REASONS else because[: _MOST_REASONS - 1]
    sentences = [reason_sentence(reason, shown, with_remedy=with_remedy) for reason in listed]
    if len(listed) < len(because):
        sentences.append(f"And {len(because) - len(listed)} more: see --full.")
    yield Points("Why:", sentences)
