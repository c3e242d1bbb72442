"""The layout that all reports share: a page of lines and tables, as text for a terminal or as Markdown."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import NamedTuple

WIDTH = 80  # where nothing says how wide the terminal is
_NARROWEST = 8  # a column of words is not wrapped to less
_LEAST_NAME = 22  # columns that a tree leaves to a name, however deep it stands
_KEPT_SPACE = "\ue000"  # of the private use area: no text has it, and it is as wide as a space
_MOST_WORDS = 20  # columns of a cell of words beside a tree


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


Block = str | Table | TreeTable | Heading | Points
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
            shown.append(_text_table(block, width))
        elif isinstance(block, TreeTable):
            shown.append(_text_tree(block, _PLAIN_STROKES if plain else _LINE_STROKES, width))
        elif isinstance(block, Heading):
            text = filled(block.text, width)
            shown.append(f"{text}\n{'=' * min(width, max(map(len, text.splitlines())))}")
        elif isinstance(block, Points):
            lines = [filled(sentence, width, first="- ", rest="  ") for sentence in block.sentences]
            shown.append("\n".join([filled(block.head, width), *lines]))
        else:
            shown.append("\n".join(filled(line, width) for line in block.split("\n")))
    return "\n\n".join(shown) + "\n"


def filled(text: str, width: int, *, first: str = "", rest: str = "") -> str:
    """Return a text in lines of a width, broken between words, and within one only where it is longer than a line.

    Parameters
    ----------
    text : str
        The text.
    width : int
        Columns.
    first, rest : str
        What the first line starts with, and each after it.

    Returns
    -------
    str
        The lines.

    Examples
    --------
    >>> print(filled("a run of 3.6 m", 10, first="- ", rest="  "))
    - a run of
      3.6 m
    """
    return textwrap.fill(text, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)


def as_markdown(page: Page) -> str:
    """Return a page as Markdown."""
    shown = []
    for block in page:
        if isinstance(block, Table):
            shown.append(_markdown_table(block))
        elif isinstance(block, TreeTable):
            shown.append(f"```text\n{_text_tree(block, _LINE_STROKES, WIDTH)}\n```")
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
    return _tabulated([[_indented(cell) for cell in row] for row in table.rows], table.columns, "pipe", heads)


def _text_table(table: Table, width: int) -> str:
    widths = _table_widths(table, width)
    rows = [[_wrapped(cell, wide) for cell, wide in zip(row, widths, strict=True)] for row in table.rows]
    return _set_out(table.columns, widths, rows)


def _table_widths(table: Table, width: int) -> list[int]:
    """Return the columns' widths; those of words are narrowed, the widest first, until the table fits."""
    widths = [
        max(len(line) for cell in (column.head, *(row[number] for row in table.rows)) for line in cell.split("\n"))
        for number, column in enumerate(table.columns)
    ]
    of_words = [number for number, column in enumerate(table.columns) if column.words]
    while sum(widths) + 2 * (len(widths) - 1) > width:
        widest = max(of_words, key=lambda number: widths[number], default=None)
        if widest is None or widths[widest] <= _NARROWEST:
            break
        widths[widest] -= 1
    return widths


def _set_out(columns: Sequence[Column], rules: Sequence[int], rows: Sequence[Sequence[str]]) -> str:
    """Return headings, rules as long as asked for, and rows, words to the left and figures to the right.

    The headings are rows of their own, as tabulate would widen every column by two for them. A space at the start of a
    line shows what hangs on what; tabulate would strip it, and leave a row out that has nothing else, so another
    character stands for it meanwhile.
    """
    text = _tabulated(
        [[column.head for column in columns], ["-" * length for length in rules], *map(_spaces_kept, rows)],
        columns,
        "plain",
    )
    return "\n".join(line.replace(_KEPT_SPACE, " ").rstrip() for line in text.split("\n"))


def _spaces_kept(row: Sequence[str]) -> list[str]:
    if not any(row):
        return [_KEPT_SPACE, *row[1:]]
    return [
        "\n".join(_KEPT_SPACE * (len(line) - len(line.lstrip(" "))) + line.lstrip(" ") for line in cell.split("\n"))
        for cell in row
    ]


def _tabulated(rows: Sequence[Sequence[str]], columns: Sequence[Column], form: str, heads: Sequence[str] = ()) -> str:
    from tabulate import tabulate  # JSON and CSV need none

    sides = tuple("left" if column.words else "right" for column in columns)
    return tabulate(rows, headers=heads, tablefmt=form, disable_numparse=True, colalign=sides if rows else None)


class _Strokes(NamedTuple):
    """What a tree is drawn with: past a branch, past nothing, to a branch, to the last of them."""

    past: str
    blank: str
    branch: str
    last: str


_LINE_STROKES = _Strokes("│  ", "   ", "├─ ", "└─ ")
_PLAIN_STROKES = _Strokes("|  ", "   ", "+- ", "`- ")

_TreeRow = tuple[tuple[bool, ...], Sequence[str]]


def _text_tree(tree: TreeTable, strokes: _Strokes, width: int) -> str:
    """Return a tree as text. What would stand too deep for the width is drawn by itself below."""
    heads = [column.head.split("\n") for column in tree.columns]
    tree_rows = [(lasts, [cells[0], *(_cut(cell) for cell in cells[1:])]) for lasts, cells in tree.rows]
    beside = [
        max(map(len, (*heads[number], *(cells[number] for _, cells in tree_rows)))) for number in range(1, len(heads))
    ]
    room = width - sum(beside) - 2 * len(beside)
    deepest = max(1, (room - _LEAST_NAME) // len(strokes.past))
    rows: list[list[str]] = []
    for section in _sections(tree_rows, deepest):
        if rows:
            rows.append([""] * len(heads))
        rows.extend(_branches(section, strokes, room))
    stem_width = max(map(len, (*heads[0], *(row[0] for row in rows))))
    return _set_out(tree.columns, [stem_width, *beside], rows)


def _branches(section: Sequence[_TreeRow], strokes: _Strokes, room: int) -> Iterator[list[str]]:
    """Yield the rows of a tree with their strokes; a long name goes on in rows of its own."""
    for (lasts, cells), following in zip(section, [*section[1:], ((), ())], strict=True):
        past = "".join(strokes.blank if last else strokes.past for last in lasts)
        stem = past[: -len(strokes.past)] + (strokes.last if lasts[-1] else strokes.branch) if lasts else ""
        under = past + (strokes.past if len(following[0]) > len(lasts) else strokes.blank)[:2]
        first, *more = textwrap.wrap(cells[0], room - len(under), break_on_hyphens=False)
        yield [stem + first, *cells[1:]]
        for line in more:
            yield [under + line, *[""] * (len(cells) - 1)]


def _sections(rows: Sequence[_TreeRow], deepest: int) -> list[list[_TreeRow]]:
    """Return the rows of a tree as trees no deeper than `deepest`: a branch that is cut off is a tree after it."""
    sections: list[list[_TreeRow]] = []
    waiting: list[list[_TreeRow]] = [list(rows)]
    for section in waiting:  # grows as it is walked
        top = len(section[0][0])
        kept: list[_TreeRow] = []
        is_cut = False
        last_kept = section[0]
        for lasts, cells in section:
            if len(lasts) - top <= deepest:
                kept.append((lasts[top:], cells))
                is_cut = False
                last_kept = (lasts, cells)
                continue
            if not is_cut:
                is_cut = True
                waiting.append([last_kept])
                kept[-1] = (kept[-1][0], [f"{last_kept[1][0]} (on below)", *last_kept[1][1:]])
            waiting[-1].append((lasts, cells))
        sections.append(kept)
    return sections


def _cut(cell: str) -> str:
    return cell if len(cell) <= _MOST_WORDS else f"{cell[: _MOST_WORDS - 3]}..."


def _wrapped(cell: str, width: int) -> str:
    if len(cell) <= width:
        return cell
    indent = " " * min(len(cell) - len(cell.lstrip(" ")), width // 2)
    return "\n".join(textwrap.wrap(cell.strip(), width, initial_indent=indent, subsequent_indent=indent))
