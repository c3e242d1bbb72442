"""The layout that all reports share: a page of lines and tables, as text for a terminal or as Markdown."""

from __future__ import annotations

import abc
from collections.abc import Sequence
from typing import NamedTuple

from drawbar.report.text_tables import ASCII_STROKES, LINE_STROKES, text_table, text_tree
from drawbar.report.wrapping import columns, filled

WIDTH = 80  # where nothing says how wide the terminal is


class Column(NamedTuple):
    """A column: its heading, which may stand on several lines, and whether it holds words or figures."""

    head: str
    words: bool = False


class Table(NamedTuple):
    """Rows of text under headings. Leading spaces of a cell are kept: they show what hangs on what."""

    columns: tuple[Column, ...]
    rows: Sequence[Sequence[str]]


class TreeTable(NamedTuple):
    """Rows drawn as a tree, the first column its branches.

    Attributes
    ----------
    columns : tuple of Column
        The headings, that of the branches first.
    rows : sequence of tuple
        For each row, whether it is the last of its branch at every level from the top down to its own, and its cells.
    """

    columns: tuple[Column, ...]
    rows: Sequence[tuple[tuple[bool, ...], Sequence[str]]]


class Heading(NamedTuple):
    """A line that names what follows."""

    text: str


class Points(NamedTuple):
    """Sentences of equal standing under a heading."""

    head: str
    sentences: Sequence[str]


class OwnLayout(abc.ABC):
    """What lays itself out."""

    @abc.abstractmethod
    def text(self, width: int) -> str:
        """Return it as lines of a width [columns]."""

    @abc.abstractmethod
    def blocks(self) -> Sequence[Block]:
        """Return it as blocks of the other kinds, for Markdown."""


Block = str | Table | TreeTable | Heading | Points | OwnLayout
Page = Sequence[Block]


def as_text(page: Page, *, plain: bool = False, width: int = WIDTH) -> str:
    """Return a page for a terminal, no line longer than its width where the words can be wrapped.

    Parameters
    ----------
    page : sequence of Block
        The page.
    plain : bool
        Whether to draw with ASCII alone.
    width : int
        Columns of the terminal.

    Returns
    -------
    str
        The text, with a line break at its end.
    """
    shown = []
    for block in page:
        if isinstance(block, Table):
            shown.append(text_table(block, width))
        elif isinstance(block, TreeTable):
            shown.append(text_tree(block, ASCII_STROKES if plain else LINE_STROKES, width))
        elif isinstance(block, OwnLayout):
            shown.append(block.text(width))
        elif isinstance(block, Heading):
            text = filled(block.text, width)
            shown.append(f"{text}\n{'=' * min(width, max(map(columns, text.splitlines())))}")
        elif isinstance(block, Points):
            lines = [filled(sentence, width, first="- ", rest="  ") for sentence in block.sentences]
            shown.append("\n".join([filled(block.head, width), *lines]))
        else:
            lines = block.split("\n")
            shown.append("\n".join(filled(line, width, rest="  " * line.startswith("- ")) for line in lines))
    return "\n\n".join(shown) + "\n"


def as_markdown(page: Page) -> str:
    """Return a page as Markdown."""
    shown = []
    for block in page:
        if isinstance(block, Table):
            shown.append(_markdown_table(block))
        elif isinstance(block, TreeTable):
            shown.append(f"```text\n{text_tree(block, LINE_STROKES, WIDTH)}\n```")
        elif isinstance(block, OwnLayout):
            shown.append(as_markdown(block.blocks()).rstrip("\n"))
        elif isinstance(block, Heading):
            shown.append(f"## {_markdown(block.text)}")
        elif isinstance(block, Points):
            points = [f"- {_markdown(sentence)}" for sentence in block.sentences]
            shown.append("\n".join([f"**{block.head}**", "", *points]))
        else:
            shown.append(_markdown(block).replace("\n", "  \n"))
    return "\n\n".join(shown) + "\n"


def _markdown(text: str) -> str:
    """Return text with what Markdown would take for markup escaped."""
    for mark in ("\\", "|", "`", "*", "_", "<", "[", "]", "#"):
        text = text.replace(mark, "\\" + mark)
    return text


def _indented(cell: str) -> str:
    bare = cell.lstrip(" ")
    return "&nbsp;" * (len(cell) - len(bare)) + _markdown(bare)


def _markdown_table(table: Table) -> str:
    heads = [_markdown(column.head.replace("\n", " ")) for column in table.columns]
    return _tabulated([[_indented(cell) for cell in row] for row in table.rows], table.columns, heads)


def _tabulated(rows: Sequence[Sequence[str]], columns: Sequence[Column], heads: Sequence[str]) -> str:
    from tabulate import tabulate  # no other form needs it

    sides = tuple("left" if column.words else "right" for column in columns)
    return tabulate(rows, headers=heads, tablefmt="pipe", disable_numparse=True, colalign=sides if rows else None)
