"""Tables and trees as text: columns narrowed to the page by word, and a table set in parts where that is not enough."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from drawbar.report.wrapping import columns as columns_of
from drawbar.report.wrapping import filled, longest_piece, longest_word, shortened

if TYPE_CHECKING:
    from drawbar.report.layout import Column, Table, TreeTable

_GAPS = (2, 1)  # blanks between columns: as a rule, and where the columns would not fit beside each other
_CLOSE_COST = 1  # line: columns set close must save more to be worth it
_FEW_LINES = 2  # of a heading, less the last line break
_BY_WORD, _BY_PIECE = 2, 3  # how far columns are narrowed
_SENTENCE = 20  # columns that sentences keep until the headings are wrapped
_NAME = 16  # columns that a name without separators keeps until the table is set in parts
_NARROWEST = 8  # a column of words is not wrapped to less
_LEAST_COLUMNS = 2  # of a part of a table: what the row is of, and one more
_LEAST_NAME = 22  # columns that a tree leaves to a name, however deep it stands
_LEAST_DEPTH = 3  # branches that a tree has room for beside the names, or what they are of stands with the name
_MOST_WORDS = 20  # columns of a cell of words beside a tree

_Rows = Sequence[Sequence[str]]
_Part = tuple[Sequence["Column"], _Rows]
_TreeRow = tuple[tuple[bool, ...], Sequence[str]]


# tables


def text_table(table: Table, width: int) -> str:
    """Return a table as text; what does not fit beside each other is set in parts, each with the first column.

    Parameters
    ----------
    table : Table
        Headings and rows.
    width : int
        Columns of the page.

    Returns
    -------
    str
        The lines.
    """
    return "\n\n".join(
        _fewest_lines(columns, rows, width) for columns, rows in _parts(table.columns, table.rows, width)
    )


def _fewest_lines(columns: Sequence[Column], rows: _Rows, width: int) -> str:
    """Return a table that fits in its fewest lines: sentences narrowed first or headings, and columns set close."""
    measures = _measures(columns, rows)
    shown: list[tuple[int, int, str]] = []
    least = _gap(measures, width) or max(_GAPS)
    for gap, heads_first in ((least, False), (least, True), (min(_GAPS), True)):
        widths = _widths(measures, gap, width, heads_first=heads_first)
        text = _set_out(columns, widths, gap, [_filled_row(row, widths) for row in rows])
        shown.append((text.count("\n") + (_CLOSE_COST if gap < least else 0), len(shown), text))
        if max(map(columns_of, text.split("\n"))) <= width and text.count("\n") <= _FEW_LINES + len(rows):
            break  # no row is broken
    return min(shown)[-1]


def _filled_row(row: Sequence[str], widths: Sequence[int]) -> list[str]:
    return ["\n".join(filled(line, wide) for line in cell.split("\n")) for cell, wide in zip(row, widths, strict=True)]


def _parts(columns: Sequence[Column], rows: _Rows, width: int) -> Iterator[_Part]:
    """Yield the parts of a table that fit a width."""
    measures = _measures(columns, rows)
    if _gap(measures, width) is not None or len(columns) <= _LEAST_COLUMNS:
        yield columns, rows
        return
    kept = _LEAST_COLUMNS
    while _gap(measures[: kept + 1], width) is not None:
        kept += 1
    yield from _parts(columns[:kept], [row[:kept] for row in rows], width)
    yield from _parts([columns[0], *columns[kept:]], [[row[0], *row[kept:]] for row in rows], width)


def _measures(columns: Sequence[Column], rows: _Rows) -> list[_Measure]:
    return [
        _Measure.of(column, [line for row in rows for line in row[number].split("\n")])
        for number, column in enumerate(columns)
    ]


def _gap(measures: Sequence[_Measure], width: int) -> int | None:
    """Return the gap with which columns fit beside each other with the fewest words broken, None if they do not."""
    for stage in (_BY_WORD, _BY_PIECE):
        least = [measure.narrowed()[stage] for measure in measures]
        for gap in _GAPS:
            if _total(least, gap) <= width:
                return gap
    return None


def _total(widths: Sequence[int], gap: int) -> int:
    return sum(widths) + gap * (len(widths) - 1)


class _Measure(NamedTuple):
    """How many columns a column of a table takes: as it is, and broken in the ways there are."""

    is_words: bool
    whole: int
    head_word: int
    cell: int
    word: int
    piece: int

    @classmethod
    def of(cls, column: Column, lines: Sequence[str]) -> _Measure:
        """Measure a column by its heading and the lines of its cells."""
        head = column.head.split("\n")
        head_word, cell = max(map(longest_word, head)), max(map(columns_of, lines), default=0)
        word = piece = 0  # figures are not broken
        if column.words:
            word, piece = (max(map(measure, set(lines)), default=0) for measure in (longest_word, longest_piece))
        return cls(column.words, max(cell, *map(columns_of, head)), head_word, cell, word, piece)

    def narrowed(self, *, heads_first: bool = False) -> tuple[int, ...]:
        """Return what it is narrowed to, in turn: sentences, headings, a word, a piece of one, and within that."""
        by_head = max(self.head_word, self.cell)
        if not self.is_words:
            return (by_head if heads_first else self.whole), by_head, by_head, by_head, by_head
        by_word, by_piece = max(self.head_word, self.word), max(self.head_word, min(_NAME, self.piece))
        by_sentence = max(_SENTENCE, by_word)
        return (self.whole if heads_first else by_sentence), by_sentence, by_word, by_piece, _NARROWEST


def _widths(measures: Sequence[_Measure], gap: int, width: int, *, heads_first: bool) -> list[int]:
    """Return the columns' widths: the widest is narrowed first, and no further than it must be."""
    widths = [measure.whole for measure in measures]
    for least in zip(*(measure.narrowed(heads_first=heads_first) for measure in measures), strict=True):
        while _total(widths, gap) > width:
            widest = max(range(len(widths)), key=lambda number: (widths[number] > least[number]) * widths[number])
            if widths[widest] <= least[widest]:
                break
            widths[widest] -= 1
    return widths


def _set_out(columns: Sequence[Column], widths: Sequence[int], gap: int, rows: _Rows) -> str:
    """Return headings, rules and rows, words to the left and figures to the right."""
    heads = [
        [filled(part, wide).split("\n") for part in column.head.split("\n")]
        for column, wide in zip(columns, widths, strict=True)
    ]
    height = max(sum(map(len, parts)) for parts in heads)
    lines = [
        _row(columns, widths, gap, cells) for cells in zip(*(_head(parts, height) for parts in heads), strict=True)
    ]
    lines.append((" " * gap).join("-" * wide for wide in widths))
    for row in rows:
        cells = [cell.split("\n") for cell in row]
        for number in range(max(map(len, cells))):
            lines.append(_row(columns, widths, gap, [cell[number] if number < len(cell) else "" for cell in cells]))
    return "\n".join(lines)


def _head(parts: Sequence[Sequence[str]], height: int) -> list[str]:
    """Return a heading in so many lines; what stands under its name, such as a unit, stands in the last of them."""
    name, under = parts[0], [line for part in parts[1:] for line in part]
    return [*name, *[""] * (height - len(name) - len(under)), *under]


def _row(columns: Sequence[Column], widths: Sequence[int], gap: int, cells: Sequence[str]) -> str:
    padded = []
    for column, wide, cell in zip(columns, widths, cells, strict=True):
        blanks = " " * (wide - columns_of(cell))
        padded.append(cell + blanks if column.words else blanks + cell)
    return (" " * gap).join(padded).rstrip()


# trees


class Strokes(NamedTuple):
    """What a tree is drawn with: past a branch, past nothing, to a branch, to the last of them."""

    past: str
    blank: str
    branch: str
    last: str


LINE_STROKES = Strokes("│  ", "   ", "├─ ", "└─ ")
ASCII_STROKES = Strokes("|  ", "   ", "+- ", "`- ")


def text_tree(tree: TreeTable, strokes: Strokes, width: int) -> str:
    """Return a tree as text. What would stand too deep for the width is drawn by itself below.

    Parameters
    ----------
    tree : TreeTable
        Headings and rows.
    strokes : Strokes
        What it is drawn with.
    width : int
        Columns of the page.

    Returns
    -------
    str
        The lines.
    """
    columns = tree.columns
    tree_rows: list[_TreeRow] = [
        (lasts, [cells[0], *(shortened(cell, _MOST_WORDS) for cell in cells[1:])]) for lasts, cells in tree.rows
    ]
    beside, room = _beside(columns, tree_rows, width)
    if room < _LEAST_NAME + _LEAST_DEPTH * len(strokes.past) and len(columns) > _LEAST_COLUMNS and columns[1].words:
        columns = (columns[0], *columns[2:])
        tree_rows = [(lasts, [f"{cells[0]} {cells[1]}".strip(), *cells[2:]]) for lasts, cells in tree_rows]
        beside, room = _beside(columns, tree_rows, width)
    deepest = max(1, (room - _LEAST_NAME) // len(strokes.past))
    rows: list[list[str]] = []
    for section in _sections(tree_rows, deepest):
        if rows:
            rows.append([""] * len(columns))
        rows.extend(_branches(section, strokes, room))
    stem = max(map(columns_of, (*columns[0].head.split("\n"), *(row[0] for row in rows))))
    return _set_out(columns, [stem, *beside], max(_GAPS), rows)


def _beside(columns: Sequence[Column], rows: Sequence[_TreeRow], width: int) -> tuple[list[int], int]:
    """Return the widths of the columns beside a tree's branches, and what they leave to those."""
    beside = [
        max(map(columns_of, (*columns[number].head.split("\n"), *(cells[number] for _, cells in rows))))
        for number in range(1, len(columns))
    ]
    return beside, width - sum(beside) - max(_GAPS) * len(beside)


def _branches(section: Sequence[_TreeRow], strokes: Strokes, room: int) -> Iterator[list[str]]:
    """Yield the rows of a tree with their strokes; a long name goes on in rows of its own."""
    for (lasts, cells), following in zip(section, [*section[1:], ((), ())], strict=True):
        past = "".join(strokes.blank if last else strokes.past for last in lasts)
        stem = past[: -len(strokes.past)] + (strokes.last if lasts[-1] else strokes.branch) if lasts else ""
        under = past + (strokes.past if len(following[0]) > len(lasts) else strokes.blank)[:2]
        first, *more = filled(cells[0], max(_NARROWEST, room - len(under))).split("\n")
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
