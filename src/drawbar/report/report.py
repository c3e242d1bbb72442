"""The four faces of a kind of result: a page (for the terminal and as Markdown), JSON, and the rows of a CSV file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, Generic, TypeVar

if TYPE_CHECKING:
    from drawbar.report.layout import Page

Result = TypeVar("Result")


class Report(Generic[Result]):
    """How one kind of result is shown. A report shows what it is given; it works nothing out.

    Attributes
    ----------
    kind : str
        The `kind` of the JSON document.
    columns : tuple of str
        The headings of the CSV; empty where a kind of result has no CSV.
    """

    kind: str
    columns: tuple[str, ...] = ()

    def page(self, result: Result) -> Page:
        """Return a result as a page, for a terminal or as Markdown."""
        raise NotImplementedError

    def data(self, result: Result) -> dict[str, Any]:
        """Return a result as it stands in the JSON document; the unit is in the key."""
        raise NotImplementedError

    def entries(self, results: Sequence[Result]) -> list[dict[str, Any]]:
        """Return what stands under `results` in the JSON document: an entry a result."""
        return [self.data(result) for result in results]

    def rows(self, result: Result) -> Iterable[Sequence[Any]]:
        """Return a result's rows of the CSV, a cell for each of `columns`."""
        raise NotImplementedError
