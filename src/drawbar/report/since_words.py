"""What became of a job since an earlier result, in words and as data."""

from __future__ import annotations

from typing import Any

from drawbar.rechecking.since import Cause, Since
from drawbar.report.display import MJ_H, Shown

_MOST_CAUSES = 3  # in a cell of a table


def cause_words(cause: Cause, shown: Shown) -> str:
    """Return an input that changed, as `urn 24 MJ/h, was 21 MJ/h`.

    Parameters
    ----------
    cause : Cause
        The input.
    shown : Shown
        The units of the job.

    Returns
    -------
    str
        Without a full stop.
    """
    if cause.kind in ("load", "pipe"):
        return _named_words(cause, shown)
    was, now = (str(version).partition(" ")[0] for version in (cause.was, cause.now))
    return {
        "job": "job file",
        "row": f"{cause.what} in the catalogue",
        "asked": f"{cause.what}, as asked" if cause.was is None else f"{cause.what}, no longer asked",
        "swap": f"the swap {cause.what} is {'new' if cause.was is None else 'gone'}",
        "program": f"the program, {now}, was {was}" if was != now else f"the program, {now} with other code",
        "unknown": "not known: the earlier result does not say what it was worked out from",
        "none": "nothing that is recorded",
    }[cause.kind]


def _named_words(cause: Cause, shown: Shown) -> str:
    """Return a load or a pipe that is another, new or gone."""
    was, now = (shown.heat_unit(value) if isinstance(value, float) else value for value in (cause.was, cause.now))
    if was is None or now is None:
        return f"{cause.what} {now or was} is {'new' if was is None else 'gone'}"
    return f"{cause.what} {now}, was {was}"


def causes_words(since: Since, shown: Shown, most: int | None = _MOST_CAUSES) -> str:
    """Return the inputs that changed, in a line.

    Parameters
    ----------
    since : Since
        What became of a job.
    shown : Shown
        The units of the job.
    most : int or None
        How many to name, None for all.

    Returns
    -------
    str
        Joined by semicolons; what is known of the job file's change stands after it.
    """
    in_job = [cause_words(cause, shown) for cause in since.why if cause.kind in ("load", "pipe")]
    words = [cause_words(cause, shown) for cause in since.why if cause.kind not in ("load", "pipe", "job")]
    if in_job:
        words = [f"job file: {in_job[0]}", *in_job[1:], *words]
    elif any(cause.kind == "job" for cause in since.why):
        words = ["job file", *words]
    more = [f"and {len(words) - most} more"] if most is not None and len(words) > most else []
    return "; ".join([*words[:most], *more])


# for scripts


def since_data(since: Since | None, shown: Shown) -> dict[str, Any] | None:
    """Return what became of a job for JSON, None where it was held against nothing."""
    if since is None:
        return None
    before = since.before
    return {
        "change": since.change,
        "look": since.is_to_look_at,
        "verdict": None if before is None else before.verdict.value,
        "margin_Pa": None if before is None else before.margin_pa,
        "worst_margin_Pa": None if before is None else before.worst_margin_pa,
        "moved_Pa": since.moved_pa,
        "why": [
            {
                "kind": cause.kind,
                "what": cause.what,
                "was": cause.was * MJ_H if isinstance(cause.was, float) else cause.was,
                "now": cause.now * MJ_H if isinstance(cause.now, float) else cause.now,
                "text": cause_words(cause, shown),
            }
            for cause in since.why
        ],
    }
