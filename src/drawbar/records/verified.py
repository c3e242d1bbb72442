"""Whether a sheet still stands: each of its figures beside what its job gives now, and what changed if they differ."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.records.content import Content
from drawbar.verdict import EXIT_FAIL, EXIT_OK, EXIT_UNDECIDED, EXIT_WRONG

# Of the head: no figure, and known to be what they are.
_NOT_COMPARED = (("", "Date"), ("", "Job file"), ("", "Library"))


class Changed(NamedTuple):
    """A figure or a text of a sheet that is not what its job gives now.

    Attributes
    ----------
    where : str
        The table, the row and the column; empty for a text beside them.
    was : str or None
        What the sheet says, None where it has no such place.
    now : str or None
        What the job gives, None where there is no such place any more.
    """

    where: str
    was: str | None
    now: str | None


@dataclass(frozen=True, slots=True)
class SheetVerified:
    """A sheet compared with what its job gives now.

    Attributes
    ----------
    file : str
        The sheet.
    made_by, version : str
        The version that it was made with, and this one.
    is_as_made : bool
        Whether its digest is that of its text: it was not changed since.
    against : str or None
        The job file that it was compared with, None for the job that it carries.
    figures : int
        How many figures and words of its tables were compared.
    changed : tuple of Changed
        The figures that are not the same, then the texts.
    not_there : tuple of str
        The places of the sheet that a page of this version does not have.
    job_lines, library_lines : tuple of str
        Lines of the job file and of the library that differ, each with `-` for the sheet's and `+` for the one now.
    """

    file: str
    made_by: str
    version: str
    is_as_made: bool
    against: str | None
    figures: int
    changed: tuple[Changed, ...]
    not_there: tuple[str, ...]
    job_lines: tuple[str, ...] = ()
    library_lines: tuple[str, ...] = ()

    @property
    def stands(self) -> bool:
        """Tell whether the sheet is as it was made, and all that it says is what its job gives now."""
        return self.is_as_made and not self.changed and not self.not_there

    @property
    def exit_code(self) -> int:
        """0 it stands, 1 something no longer does, 2 it was changed by hand, 3 a part could not be compared."""
        if not self.is_as_made:
            return EXIT_WRONG
        if self.changed:
            return EXIT_FAIL
        return EXIT_UNDECIDED if self.not_there else EXIT_OK


def compared(was: Content, now: Content) -> tuple[int, tuple[Changed, ...], tuple[str, ...]]:
    """Return how many cells were compared, what changed, and the places that are not there now.

    Parameters
    ----------
    was, now : Content
        What the sheet says, and what its job gives.

    Returns
    -------
    tuple of int, tuple of Changed and tuple of str
    """
    changed, not_there, count = [], [], 0
    for key, text in was.cells.items():
        if key[:2] in _NOT_COMPARED:
            continue
        if key not in now.cells:
            not_there.append(_place(key))
            continue
        count += 1
        if now.cells[key] != text:
            changed.append(Changed(_place(key), text, now.cells[key]))
    new = [key for key in now.cells if key not in was.cells and key[:2] not in _NOT_COMPARED]
    changed += [Changed(_place(key), None, now.cells[key]) for key in new]
    return count, (*changed, *_texts_changed(was.texts, now.texts)), tuple(not_there)


def _place(key: tuple[str, str, str]) -> str:
    return ", ".join(part for part in key if part)


def _texts_changed(was: tuple[str, ...], now: tuple[str, ...]) -> Iterator[Changed]:
    matcher = difflib.SequenceMatcher(None, was, now, autojunk=False)
    for what, from_, to, now_from, now_to in matcher.get_opcodes():
        if what == "equal":
            continue
        old, new = was[from_:to], now[now_from:now_to]
        for number in range(max(len(old), len(new))):
            before = old[number] if number < len(old) else None
            after = new[number] if number < len(new) else None
            yield Changed("", before, after)


def lines_changed(was: str, now: str) -> tuple[str, ...]:
    """Return the lines of two texts that differ, each with `-` or `+` before it."""
    lines = difflib.unified_diff(was.splitlines(), now.splitlines(), lineterm="", n=0)
    return tuple(line for line in lines if not line.startswith(("---", "+++", "@@")))
