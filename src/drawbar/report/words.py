"""Words that several reports share: a job's name, a verdict, a sentence, the cautions of a job."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from drawbar.cautions import CHECK_CAUTIONS
from drawbar.verdict import Verdict

if TYPE_CHECKING:
    from drawbar.job import Job


def job_name(job: Job) -> str:
    """Return the title of a job, with its number."""
    return f"{job.title} ({job.ref})" if job.ref else job.title


def word(passes: bool) -> str:  # noqa: FBT001 - all that it tells
    """Return the outcome of a single comparison in words; a verdict has a word of its own."""
    return (Verdict.PASS if passes else Verdict.FAIL).word


def sentence(text: str) -> str:
    """Return a text with a capital and a full stop."""
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "?")) else ".")


def asked_sentence(asked: Sequence[str]) -> str:
    """Return what was asked of a job beside its file, so that nobody takes the answer for the file's own."""
    return f"Not as the file stands; asked with {'; '.join(asked)}."


def cautions(job: Job) -> Iterator[str]:
    """Yield the cautions that go with every result."""
    yield from CHECK_CAUTIONS
    if job.rule is not None:
        yield job.rule.caution
