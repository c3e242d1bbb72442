"""The line as a tree to draw, laid out in two ways: across the page, or down it where that would be too wide."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from drawbar.report.sheet.geometry import GAP_PX, LINE_PX, Drawing, Mark, Stroke, SvgText

_MARGIN_PX = 6.0
_PAD_PX = 9.0  # from a point to the label on the pipe that leaves it
_ROW_GAP_PX = 4.5
_SHORTEST_PX = 26.0
_NAME_MOST_PX = 170.0
_INDENT_PX = 16.0


@dataclass(slots=True)
class Node:
    """A point of the line with what leads to it: its labels, and what goes on from it.

    Attributes
    ----------
    kind : str
        Its mark, as of Mark.
    edge : str
        How the way to it is drawn, as of Stroke.
    above, below : list of SvgText
        What stands along the way to it, a text a line.
    beside : list of list of SvgText
        What stands behind a point that ends the line, each line of one or more pieces.
    children : list of Node
        What goes on from it.
    regulated : bool
        Whether a regulator stands at the start of the way to it.
    """

    kind: str
    edge: str = "pipe"
    above: list[SvgText] = field(default_factory=list)
    below: list[SvgText] = field(default_factory=list)
    beside: list[list[SvgText]] = field(default_factory=list)
    children: list[Node] = field(default_factory=list)
    regulated: bool = False

    @property
    def way_px(self) -> float:
        """The length of the way to the point that its labels ask for [px]."""
        widest_px = max((piece.width_px for piece in (*self.above, *self.below)), default=0.0)
        return widest_px + 2 * _PAD_PX if widest_px else _SHORTEST_PX

    def clip(self) -> None:
        """Cut names that are too long for a drawing, here and in all that follows."""
        self.above = [piece.clipped(_NAME_MOST_PX) for piece in self.above]
        self.below = [piece.clipped(_NAME_MOST_PX) for piece in self.below]
        self.beside = [[piece.clipped(_NAME_MOST_PX) for piece in line] for line in self.beside]
        for child in self.children:
            child.clip()


def across(root: Node) -> Drawing:
    """Lay the tree out from left to right: a row for each end, the first branch straight on, the others under it."""
    root.clip()
    return _Across(root).drawing


class _Across:
    """A drawing from left to right in the making: the columns' widths, the rows' heights, then what stands in them."""

    def __init__(self, root: Node) -> None:
        self.drawing = Drawing()
        self.columns_px: dict[int, float] = {}  # by depth, what the widest way to a point of it asks for
        self._widen(root, 0)
        self.y_px = self._stack(_rows_of(root))
        self._put(root, 0, _MARGIN_PX, self.y_px[id(root)])

    def _widen(self, node: Node, depth: int) -> None:
        if node.kind == "point":
            self.columns_px[depth] = max(self.columns_px.get(depth, 0.0), node.way_px)
        for child in node.children:
            self._widen(child, depth + 1)

    def _stack(self, rows: Sequence[Sequence[Node]]) -> dict[int, float]:
        """Return the height of each node [px] by its id, and give the drawing its height."""
        heights_px: dict[int, float] = {}
        next_px = _MARGIN_PX
        for row in rows:
            above = max(max(len(node.above), 1 if len(node.beside) > 1 else 0) for node in row)
            below = max(max(len(node.below), 1) for node in row)
            next_px += above * LINE_PX + 3.0
            for node in row:
                heights_px[id(node)] = next_px
            next_px += below * LINE_PX + _ROW_GAP_PX
        self.drawing.height_px = next_px
        return heights_px

    def _put(self, node: Node, depth: int, from_px: float, from_y_px: float) -> None:
        """Draw a node that is reached from a place, and all that follows it."""
        y_px = self.y_px[id(node)]
        x_px = from_px + (self.columns_px[depth] if node.kind == "point" else node.way_px)
        corner = ((from_px, from_y_px),) if from_y_px != y_px else ()
        self.drawing.strokes.append(Stroke(node.edge, (*corner, (from_px, y_px), (x_px, y_px))))
        if node.regulated or node.kind == "regulator":
            self.drawing.marks.append(Mark("regulator", from_px + 3.0, y_px))
        if node.kind != "regulator":
            self.drawing.marks.append(Mark(node.kind, x_px, y_px))
        right_px = max(x_px, self._label(node, from_px, x_px, y_px))
        self.drawing.width_px = max(self.drawing.width_px, right_px + _MARGIN_PX)
        for child in node.children:
            self._put(child, depth + 1, x_px, y_px)

    def _label(self, node: Node, from_px: float, x_px: float, y_px: float) -> float:
        """Write what stands along the way to a node and after it; return where what is after it ends [px]."""
        for number, piece in enumerate(reversed(node.above)):
            self.drawing.write(from_px + _PAD_PX, y_px - 5.0 - number * LINE_PX, [piece])
        for number, piece in enumerate(node.below):
            self.drawing.write(from_px + _PAD_PX, y_px + 12.0 + number * LINE_PX, [piece])
        first_px = y_px - 2.5 if len(node.beside) > 1 else y_px + 4.0
        ends_px = [
            self.drawing.write(x_px + 9.0, first_px + number * LINE_PX, line) for number, line in enumerate(node.beside)
        ]
        return max(ends_px, default=0.0)


def _rows_of(root: Node) -> list[list[Node]]:
    """Return the nodes of each row, from the left: a first child stands in its parent's row, another begins a row."""
    rows: list[list[Node]] = [[]]

    def place(node: Node) -> None:
        rows[-1].append(node)
        for number, child in enumerate(node.children):
            if number:
                rows.append([])
            place(child)

    place(root)
    return rows


def down(root: Node, most_px: float) -> Drawing:
    """Lay the tree out down the page: each point in a band of its own, the longest way straight down.

    An end that is alone at its point stands in that point's band. Every other branch is set in by one step, so that
    the steps are no more than the number of points halved again and again.

    Parameters
    ----------
    root : Node
        The regulator with all that follows it; names that are too long are cut in it.
    most_px : float
        How wide the drawing may be [px].

    Returns
    -------
    Drawing
        The drawing, as tall as it must be.
    """
    root.clip()
    drawing = Drawing()
    y_px = _MARGIN_PX

    def put(node: Node, x_px: float, from_: tuple[float, float] | None) -> None:
        nonlocal y_px
        chain = _merged(node)
        end = chain[-1]
        lines = list(_wrapped(_groups(chain), most_px - x_px - 10.0 - _MARGIN_PX))
        y_px += LINE_PX
        at_px = y_px - 4.0
        if from_ is not None:
            corner = ((from_[0], at_px),) if from_[0] != x_px else ()
            drawing.strokes.append(Stroke(node.edge, (from_, *corner, (x_px, at_px))))
            if node.regulated:
                drawing.marks.append(Mark("regulator", *((x_px - 8.0, at_px) if corner else (x_px, at_px - 8.0))))
        drawing.marks.append(Mark(node.kind if len(chain) == 1 else end.kind, x_px, at_px))
        for number, line in enumerate(lines):
            right_px = drawing.write(x_px + 10.0, y_px + number * LINE_PX, line)
            drawing.width_px = max(drawing.width_px, right_px + _MARGIN_PX)
        y_px += (len(lines) - 1) * LINE_PX + 2.5
        for child, child_px in _set_in(end.children, x_px):
            put(child, child_px, (x_px, at_px))

    put(root, _MARGIN_PX + 6.0, None)
    drawing.height_px = y_px + _MARGIN_PX
    return drawing


def _merged(node: Node) -> list[Node]:
    """Return a point with what alone follows it up to an end of the line, or the point alone."""
    chain = [node]
    while chain[-1].kind != "regulator" and len(chain[-1].children) == 1 and chain[-1].children[0].kind != "point":
        chain.append(chain[-1].children[0])
    return chain


def _groups(chain: Sequence[Node]) -> Iterator[list[SvgText]]:
    """Yield the pieces of the nodes that are not to be parted at the end of a line."""
    for node in chain:
        yield from ([piece] for piece in (*node.above, *node.below))
        yield from node.beside


def _wrapped(groups: Iterator[list[SvgText]], most_px: float) -> Iterator[list[SvgText]]:
    """Yield lines of groups no wider than most_px, where a group is no wider by itself."""
    line: list[SvgText] = []
    used_px = 0.0
    for group in groups:
        group_px = sum(piece.width_px + GAP_PX for piece in group)
        if line and used_px + group_px - GAP_PX > most_px:
            yield line
            line, used_px = [], 0.0
        line.extend(group)
        used_px += group_px
    if line:
        yield line


def _set_in(children: Sequence[Node], x_px: float) -> list[tuple[Node, float]]:
    """Return the children with their places: the one with the most after it last, straight under its parent."""
    if not children:
        return []
    main = max(reversed(children), key=_size)  # of several as large, the last: the order stays that of the file
    return [*((child, x_px + _INDENT_PX) for child in children if child is not main), (main, x_px)]


def _size(node: Node) -> int:
    return 1 + sum(map(_size, node.children))
