"""The layout that all reports share: a page of lines and tables, as text for a terminal, Markdown, CSV or JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from tabulate import tabulate

from drawbar import __version__

WIDTH = 80
_NARROWEST = 8  # a column of words is not wrapped to less
_LEAST_NAME = 22  # columns that a tree leaves to a name, however deep it stands
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

    rows : for each, whether it is the last of its branch at every level from the top down to its own, and its cells
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


def as_text(page: Page, *, plain: bool = False) -> str:
    """Return a page for a terminal, no line longer than WIDTH where the words can be wrapped.

    plain : draw with ASCII alone
    """
    shown = []
    for block in page:
        if isinstance(block, Table):
            shown.append(_text_table(block))
        elif isinstance(block, TreeTable):
            shown.append(_drawn(block, PLAIN if plain else DRAWN))
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
        elif isinstance(block, TreeTable):
            shown.append(f"```text\n{_drawn(block, DRAWN)}\n```")
        elif isinstance(block, Heading):
            shown.append(f"## {_markdown(block.text)}")
        elif isinstance(block, Points):
            shown.append("\n".join([f"**{block.head}**", "", *(f"- {_markdown(one)}" for one in block.sentences)]))
        else:
            shown.append(_markdown(block).replace("\n", "  \n"))
    return "\n\n".join(shown) + "\n"


def as_csv(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Return rows as CSV that a spreadsheet opens: figures as figures, and no text that it would take for a formula."""
    import csv  # as the other forms, only where it is asked for
    import io

    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_csv_cell(value) for value in row])
    return stream.getvalue()


def as_json(kind: str, results: Sequence[Any]) -> str:
    """Return the results of a kind of command as the JSON document that scripts read."""
    document = {"drawbar": __version__, "kind": kind, "results": results}
    import json

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


class _Strokes(NamedTuple):
    """What a tree is drawn with: past a branch, past nothing, to a branch, to the last one."""

    past: str
    blank: str
    branch: str
    last: str


DRAWN = _Strokes("│  ", "   ", "├─ ", "└─ ")
PLAIN = _Strokes("|  ", "   ", "+- ", "`- ")


def _drawn(tree: TreeTable, strokes: _Strokes) -> str:
    """Return a tree as text. What would stand too deep for the width is drawn by itself below."""
    heads = [column.head.split("\n") for column in tree.columns]
    beside = range(1, len(heads))
    rows = [(lasts, [cells[0], *(_cut(cell) for cell in cells[1:])]) for lasts, cells in tree.rows]
    widths = [
        max(map(len, (*heads[number], *(cells[number] for _, cells in rows)))) if number else 0
        for number in range(len(heads))
    ]
    room = WIDTH - sum(widths) - 2 * len(beside)
    deepest = max(1, (room - _LEAST_NAME) // len(strokes.past))
    drawn: list[tuple[str, Sequence[str]]] = []
    for section in _sections(rows, deepest):
        if drawn:
            drawn.append(("", [""] * len(heads)))
        for (lasts, cells), following in zip(section, [*section[1:], ((), ())], strict=True):
            past = "".join(strokes.blank if last else strokes.past for last in lasts)
            stem = past[: -len(strokes.past)] + (strokes.last if lasts[-1] else strokes.branch) if lasts else ""
            under = past + (strokes.past if len(following[0]) > len(lasts) else strokes.blank)[:2]
            first, *more = textwrap.wrap(cells[0], room - len(under), break_on_hyphens=False)
            drawn.append((stem + first, cells))
            drawn.extend((under + line, [""] * len(heads)) for line in more)
    widths[0] = max(len(line) for line in (*heads[0], *(name for name, _ in drawn)))
    lines = [[head[n] if n < len(head) else "" for head in heads] for n in range(max(map(len, heads)))]
    lines.append(["-" * width for width in widths])
    lines.extend([name, *cells[1:]] for name, cells in drawn)
    sides = [column.words for column in tree.columns]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if is_left else cell.rjust(width)
            for cell, width, is_left in zip(line, widths, sides, strict=True)
        ).rstrip()
        for line in lines
    )


_Row = tuple[tuple[bool, ...], Sequence[str]]


def _sections(rows: Sequence[_Row], deepest: int) -> list[list[_Row]]:
    """Return the rows of a tree as trees no deeper than `deepest`: a branch that is cut off is a tree after it."""
    found: list[list[_Row]] = []
    waiting: list[list[_Row]] = [list(rows)]
    for section in waiting:  # grows as it is walked
        top = len(section[0][0])
        kept: list[_Row] = []
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
        found.append(kept)
    return found


def _cut(cell: str) -> str:
    return cell if len(cell) <= _MOST_WORDS else f"{cell[: _MOST_WORDS - 3]}..."


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
