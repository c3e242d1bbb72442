"""A drawing as plain data: strokes, marks and labels with their places. What overlaps shows before it is drawn."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field

from drawbar.verdict import Verdict

LINE_PX = 13.0  # from one line of text to the next
GAP_PX = 7.0  # between the pieces on a line
_SIZE_PX = 11.0
_ASCENT_PX, _DESCENT_PX = 9.5, 3.0
_ROOM = 1.1  # a font may run wider than the usual one, whose widths are taken
_BOLD = 1.08

# Advance widths in thousandths of the size, of the sans-serif fonts with the metrics that browsers use most.
_WIDTHS = {
    **dict.fromkeys("ijl'|", 222),
    **dict.fromkeys(" !,./:;I[]ft\\", 278),
    **dict.fromkeys("()-r`", 333),
    **dict.fromkeys('"*^', 420),
    **dict.fromkeys("cksvxyzJ", 500),
    **dict.fromkeys("abdeghnopqu0123456789LT#$?_{}~", 556),
    **dict.fromkeys("+<=>", 584),
    **dict.fromkeys("FZ", 611),
    **dict.fromkeys("ABEKPSVXY&", 667),
    **dict.fromkeys("CDHNRUw", 722),
    **dict.fromkeys("GOQ", 778),
    **dict.fromkeys("mMW%@", 1015),
}
_OTHER, _WIDE, _PICTURE = 900, 1000, 1400
_FIRST_PICTURE = 0x1F000  # the code from which on letters are pictures


def width_px(text: str, *, bold: bool = False) -> float:
    """Return what a label's text takes at most [px]."""
    return sum(map(_letter, text)) / 1000.0 * _SIZE_PX * _ROOM * (_BOLD if bold else 1.0)


def is_measured(text: str) -> bool:
    """Tell whether the width of every letter is known, and not only guessed."""
    return all(letter in _WIDTHS for letter in text)


def _letter(letter: str) -> int:
    known = _WIDTHS.get(letter)
    if known is not None:
        return known
    if unicodedata.category(letter) in ("Mn", "Me", "Cf"):
        return 0
    if ord(letter) >= _FIRST_PICTURE:
        return _PICTURE
    return _WIDE if unicodedata.east_asian_width(letter) in "WF" else _OTHER


def clipped(text: str, most_px: float, *, bold: bool = False) -> str:
    """Return the text, cut with three dots where it is wider than most_px."""
    if width_px(text, bold=bold) <= most_px:
        return text
    kept = ""
    for letter in text:
        if width_px(kept + letter + "...", bold=bold) > most_px:
            break
        kept += letter
    return kept.rstrip() + "..."


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle; y goes down."""

    left_px: float
    top_px: float
    right_px: float
    bottom_px: float

    def overlaps(self, other: Box) -> bool:
        """Tell whether two rectangles share more than an edge."""
        return (
            self.left_px < other.right_px
            and other.left_px < self.right_px
            and self.top_px < other.bottom_px
            and other.top_px < self.bottom_px
        )


@dataclass(frozen=True, slots=True)
class SvgText:
    """A piece of a label.

    Attributes
    ----------
    text : str
        What stands there.
    kind : str
        `plain`, `name` (bold), or the value of a verdict (a word with its mark before it).
    """

    text: str
    kind: str = "plain"

    @property
    def width_px(self) -> float:
        """The width that it takes, its mark included [px]."""
        mark_px = MARK_PX if self.kind in VERDICT_KINDS else 0.0
        return mark_px + width_px(self.text, bold=self.kind != "plain")

    def clipped(self, most_px: float) -> SvgText:
        """Return the piece no wider than so much [px]."""
        return SvgText(clipped(self.text, most_px, bold=self.kind != "plain"), self.kind)


MARK_PX = 13.0  # of a verdict's mark before its word
VERDICT_KINDS = tuple(verdict.value for verdict in Verdict)


@dataclass(frozen=True, slots=True)
class SvgLabel:
    """A piece of text at a place.

    Attributes
    ----------
    x_px, y_px : float
        Its left edge, or its right edge where `ends`, and its baseline [px].
    text : SvgText
        The piece.
    ends : bool
        Whether x_px is where it ends.
    """

    x_px: float
    y_px: float
    text: SvgText
    ends: bool = False

    @property
    def box(self) -> Box:
        """The rectangle that it takes."""
        wide_px = self.text.width_px
        left_px = self.x_px - wide_px if self.ends else self.x_px
        return Box(left_px, self.y_px - _ASCENT_PX, left_px + wide_px, self.y_px + _DESCENT_PX)


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points.

    Attributes
    ----------
    kind : str
        `pipe`, `hose`, `link`, `worst`, `limit`, `axis` or `leader`.
    points : tuple of (float, float)
        Its corners from end to end [px].
    """

    kind: str
    points: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """A sign at a place.

    Attributes
    ----------
    kind : str
        `regulator`, `point`, `outlet` or `appliance`.
    x_px, y_px : float
        Its middle [px].
    """

    kind: str
    x_px: float
    y_px: float


@dataclass(slots=True)
class Drawing:
    """What is drawn on a surface of a width and a height."""

    width_px: float = 0.0
    height_px: float = 0.0
    strokes: list[Stroke] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    labels: list[SvgLabel] = field(default_factory=list)

    def write(self, x_px: float, y_px: float, pieces: Sequence[SvgText], gap_px: float = GAP_PX) -> float:
        """Put pieces on one line from x_px on; return where the last one ends."""
        for number, piece in enumerate(pieces):
            x_px += gap_px if number else 0.0
            self.labels.append(SvgLabel(x_px, y_px, piece))
            x_px += piece.width_px
        return x_px
