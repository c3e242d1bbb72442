"""A sheet that was checked again: whether it stands, and what changed if not."""

from __future__ import annotations

from collections.abc import Iterator, Sized
from typing import Any

from drawbar.records.verified import Changed, SheetVerified
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.report import Report

_MOST = 20  # changes that are told on the page; JSON has all
_NO_SIGNATURE = (
    "A digest shows a change that was made since; it is no signature, as who changes a sheet can work out another."
)


class VerifyReport(Report[SheetVerified]):
    """A sheet beside what its job gives now."""

    kind = "sheet"

    def page(self, result: SheetVerified) -> list[Block]:
        """Return whether the sheet stands, then each figure that changed."""
        return list(_page(result))

    def data(self, result: SheetVerified) -> dict[str, Any]:
        """Return everything, the texts whole."""
        return {
            "file": result.file,
            "stands": result.stands,
            "as_made": result.is_as_made,
            "made_by": result.made_by,
            "version": result.version,
            "against": result.against,
            "figures": result.figures,
            "changed": [{"where": each.where, "was": each.was, "now": each.now} for each in result.changed],
            "not_there": list(result.not_there),
            "job_lines": list(result.job_lines),
            "library_lines": list(result.library_lines),
        }


def _page(result: SheetVerified) -> Iterator[Block]:
    yield Heading(f"{result.file}: {_word(result)}")
    yield _summary(result)
    if not result.is_as_made:
        yield "The page is not as it was made: its digest is not that of its text. Make the sheet again from its job."
    for what, lines in (("The job file", result.job_lines), ("The library", result.library_lines)):
        if lines:
            yield "\n".join([f"{what} differs (- on the sheet, + now):", *lines[:_MOST], *_more(lines)])
    yield from _changes(result)
    if result.not_there:
        listed = list(result.not_there)
        yield Points("Not on a sheet of this version, and not compared:", [*listed[:_MOST], *_more(listed)])
    yield _NO_SIGNATURE


def _changes(result: SheetVerified) -> Iterator[Block]:
    cells = [change for change in result.changed if change.where]
    texts = [change for change in result.changed if not change.where]
    if cells:
        yield _table(cells)
        if texts:
            yield f"With them {len(texts)} of the sheet's sentences and labels changed."
    elif texts:
        yield Points("Sentences and labels that changed:", [*map(_text, texts[:_MOST]), *_more(texts)])


def _word(result: SheetVerified) -> str:
    if not result.is_as_made:
        return "changed by hand"
    if result.changed:
        return "no longer stands"
    return "not all compared" if result.not_there else "stands"


def _summary(result: SheetVerified) -> str:
    against = "the job that it carries" if result.against is None else result.against
    made = f"Made by drawbar {result.made_by}"
    made += f", worked out again by {result.version}." if result.made_by != result.version else "."
    same = result.figures - sum(change.was is not None and bool(change.where) for change in result.changed)
    return f"{made} Compared with {against}: {same} of {result.figures} figures and words of its tables are the same."


def _table(cells: list[Changed]) -> Table:
    columns = (Column("where", words=True), Column("on the sheet", words=True), Column("now", words=True))
    rows = [[cell.where, *("-" if text is None else text for text in cell[1:])] for cell in cells]
    extra = [[words, "", ""] for words in _more(cells)]
    return Table(columns, [*rows[:_MOST], *extra])


def _text(change: Changed) -> str:
    if change.was is None or change.now is None:
        return f"only now: {change.now}" if change.was is None else f"only on the sheet: {change.was}"
    return f"{change.was} -> {change.now}"


def _more(listed: Sized) -> list[str]:
    more = len(listed) - _MOST
    return [f"And {more} more."] if more > 0 else []
