"""What a sheet's page says, read back out of it: every cell by table, row and column, and every other text in turn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from html.parser import HTMLParser
from typing import NamedTuple

Key = tuple[str, str, str]
_VOID = {"meta", "br", "img", "link", "hr", "input"}
_TEXTS = {"h1", "h2", "h3", "p", "li", "figcaption", "text", "desc", "title"}
_UNSEEN = {"style", "pre", "footer"}  # the style, what the page carries, and the version with the digest


class Content(NamedTuple):
    """What a page says.

    Attributes
    ----------
    cells : dict of (str, str, str) to str
        By table, row and column what stands there; a list of terms is a table without a name and of one column. Of
        rows of one name the second and later have a number.
    texts : tuple of str
        Headings, paragraphs, points and labels of drawings, in their order.
    logo : str or None
        The address of the picture that it shows, None without one.
    """

    cells: dict[Key, str]
    texts: tuple[str, ...]
    logo: str | None


def content_of(page: str) -> Content:
    """Return what a page says."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    return Content(reader.cells, tuple(reader.texts), reader.logo)


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.cells: dict[Key, str] = {}
        self.texts: list[str] = []
        self.logo: str | None = None
        self._open: list[tuple[str, list[str]]] = []
        self._caption = self._term = ""
        self._heads: list[str] = []
        self._row: list[str] = []
        self._rows: Counter[tuple[str, str]] = Counter()  # of a name in a table

    def handle_starttag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        if tag == "img" and self.logo is None:
            self.logo = dict(attrs).get("src")
        if tag == "br":
            self.handle_data(" ")
        if tag in _VOID:
            return
        self._open.append((tag, []))
        if tag == "table":
            self._caption, self._heads = "", []
        elif tag == "tr":
            self._row = []

    def handle_data(self, data: str) -> None:
        for _, pieces in self._open:
            pieces.append(data)

    def handle_endtag(self, tag: str) -> None:
        while self._open:
            name, pieces = self._open.pop()
            if name == tag:
                self._end(tag, " ".join("".join(pieces).split()))
                return

    def _end(self, tag: str, text: str) -> None:
        if any(name in _UNSEEN for name, _ in self._open):
            return
        if tag == "caption":
            self._caption = text
        elif tag == "dt":
            self._term = text
        elif tag == "dd":
            self._put(self._term, text)
        elif tag in ("th", "td"):
            in_head = any(name == "thead" for name, _ in self._open)
            (self._heads if in_head else self._row).append(text)
        elif tag == "tr" and self._row:
            self._end_row()
        elif tag in _TEXTS and text:
            self.texts.append(text)

    def _end_row(self) -> None:
        name, *rest = self._row
        self._rows[self._caption, name] += 1
        row = _numbered(name, self._rows[self._caption, name])
        self.cells |= {(self._caption, row, head): text for head, text in zip(self._heads[1:], rest, strict=False)}

    def _put(self, term: str, text: str) -> None:
        self._rows["", term] += 1
        self.cells["", _numbered(term, self._rows["", term]), ""] = text


def _numbered(name: str, number: int) -> str:
    return name if number == 1 else f"{name} ({number})"
