"""The layout that all reports share: a page of lines and tables, as text for a terminal, Markdown, CSV or JSON."""

from __future__ import annotations

import csv
import io
import json
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from tabulate import tabulate

from drawbar import __version__

WIDTH = 80
_NARROWEST = 8  # a column of words is not wrapped to less


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, which may stand on several lines, and whether it holds words or figures."""

    head: str
    words: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of text under headings. Leading spaces of a cell are kept: they show what hangs on what."""

    columns: tuple[Column, ...]
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True)
class Heading:
    """A line that names what follows."""

    text: str


@dataclass(frozen=True, slots=True)
class Points:
    """Sentences of equal standing under a heading."""

    head: str
    sentences: Sequence[str]


Block = str | Table | Heading | Points
Page = Sequence[Block]


def as_text(page: Page) -> str:
    """Return a page for a terminal, no line longer than WIDTH where the words can be wrapped."""
    shown = []
    for block in page:
        if isinstance(block, Table):
            shown.append(_text_table(block))
        elif isinstance(block, Heading):
            text = textwrap.fill(block.text, WIDTH)
            shown.append(f"{text}\n{'=' * min(WIDTH, max(map(len, text.splitlines())))}")
        elif isinstance(block, Points):
            lines = [textwrap.fill(one, WIDTH, initial_indent="- ", subsequent_indent="  ") for one in block.sentences]
            shown.append("\n".join([block.head, *lines]))
        else:
            shown.append("\n".join(textwrap.fill(line, WIDTH, break_on_hyphens=False) for line in block.split("\n")))
    return "\n\n".join(shown) + "\n"


def as_markdown(page: Page) -> str:
    """Return a page as Markdown."""
    shown = []
    for block in page:
        if isinstance(block, Table):
            heads = [_markdown(column.head.replace("\n", " ")) for column in block.columns]
            rows = [[_indented(cell) for cell in row] for row in block.rows]
            shown.append(_tabulated(heads, rows, block.columns, "pipe"))
        elif isinstance(block, Heading):
            shown.append(f"## {_markdown(block.text)}")
        elif isinstance(block, Points):
            shown.append("\n".join([f"**{block.head}**", "", *(f"- {_markdown(one)}" for one in block.sentences)]))
        else:
            shown.append(_markdown(block).replace("\n", "  \n"))
    return "\n\n".join(shown) + "\n"


def as_csv(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Return rows as CSV that a spreadsheet opens: figures as figures, and no text that it would take for a formula."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_csv_cell(value) for value in row])
    return stream.getvalue()


def as_json(kind: str, results: Sequence[Any]) -> str:
    """Return the results of a kind of command as the JSON document that scripts read."""
    document = {"drawbar": __version__, "kind": kind, "results": results}
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _csv_cell(value: Any) -> Any:
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, str) and value[:1] in ("=", "+", "-", "@", "\t"):
        return "'" + value
    return value


def _markdown(text: str) -> str:
    """Return text with what Markdown would take for markup escaped."""
    for mark in ("\\", "|", "`", "*", "_", "<", "[", "]", "#"):
        text = text.replace(mark, "\\" + mark)
    return text


def _indented(cell: str) -> str:
    bare = cell.lstrip(" ")
    return "&nbsp;" * (len(cell) - len(bare)) + _markdown(bare)


def _text_table(table: Table) -> str:
    heads = [column.head for column in table.columns]
    widths = [
        max(len(line) for cell in (head, *(row[number] for row in table.rows)) for line in cell.split("\n"))
        for number, head in enumerate(heads)
    ]
    while sum(widths) + 2 * (len(widths) - 1) > WIDTH:
        widest = max(
            (n for n, column in enumerate(table.columns) if column.words), key=lambda n: widths[n], default=None
        )
        if widest is None or widths[widest] <= _NARROWEST:
            break
        widths[widest] -= 1
    rows = [[_wrapped(cell, widths[number]) for number, cell in enumerate(row)] for row in table.rows]
    # Headings as rows of their own: tabulate would widen every column by two for them.
    return _tabulated((), [heads, ["-" * width for width in widths], *rows], table.columns, "plain")


def _wrapped(cell: str, width: int) -> str:
    if len(cell) <= width:
        return cell
    indent = " " * min(len(cell) - len(cell.lstrip(" ")), width // 2)
    return "\n".join(textwrap.wrap(cell.strip(), width, initial_indent=indent, subsequent_indent=indent))


def _tabulated(heads: Sequence[str], rows: Sequence[Sequence[str]], columns: Sequence[Column], form: str) -> str:
    sides = tuple("left" if column.words else "right" for column in columns)
    return tabulate(
        rows,
        headers=heads,
        tablefmt=form,
        disable_numparse=True,
        colalign=sides if rows else None,
        preserve_whitespace=True,
    )
