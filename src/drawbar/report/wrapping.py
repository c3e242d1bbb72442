"""Words in lines of a width: broken between words, and never within a number or a file name's extension.

A figure stays beside its unit. A word that is longer than a line, such as a path, is broken after its separators.
"""

from __future__ import annotations

import functools
import re

_LEFT_OUT = "..."
_KEPT = "\ue000"  # stands for a space that is not broken at; of the private use area, so that no text has it
_UNITS = (
    *("%", "Pa", "kPa", "mbar", "bar", "mmH2O", "inH2O", "psi", "MJ/h", "kW", "W", "Btu/h", "MJ", "MJ/kg", "MJ/m3"),
    *("m", "mm", "cm", "ft", "in", "mm2", "in2", "m2", "L", "m3", "ft3", "US gal", "L/min", "L/h", "ft3/h", "m/s"),
    *("ft/s", "US gal/min", "kg", "g", "lb", "kg/h", "lb/h", "kg/m", "kg/m3", "K", "degC", "degF", "s", "min", "h"),
)
_BESIDE_UNIT = re.compile(rf"(?<=\d) (?=(?:{'|'.join(map(re.escape, _UNITS))})(?![\w/]))")
_GALLONS = re.compile(r"\bUS (?=gal\b)")
_ATOM = re.compile(r"\.[A-Za-z]\w{0,7}(?!\w)|\d+(?:[.,]\d+)*|.", re.DOTALL)  # an extension, a number, any letter
_MOST_KEPT = 4096  # texts whose lines are remembered: a table of many states says the same names in each
_STRONG, _WEAK = "/\\" + _KEPT, "_-,;:=&+"


def columns(text: str) -> int:
    """Return how many columns of a terminal a line of text takes.

    Parameters
    ----------
    text : str
        One line.

    Returns
    -------
    int
        Two for a letter of full width, none for a mark that stands on the one before.

    Examples
    --------
    >>> columns("main"), columns("収穫")
    (4, 4)
    """
    if text.isascii() or text.replace(_KEPT, " ").isascii():
        return len(text)
    import unicodedata  # few texts need it

    return sum(
        0 if unicodedata.category(letter) in ("Mn", "Me", "Cf") else 1 + (unicodedata.east_asian_width(letter) in "WF")
        for letter in text
    )


@functools.lru_cache(maxsize=_MOST_KEPT)
def filled(text: str, width: int, *, first: str = "", rest: str = "") -> str:
    """Return a text in lines of a width, broken between words, and within one only where it is longer than a line.

    Parameters
    ----------
    text : str
        The text. What it starts with in blanks stands before each line.
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
    >>> print(filled("a run of 3.6 m", 12, first="- ", rest="  "))
    - a run of
      3.6 m
    >>> print(filled("jobs/2026/van.yaml", 10))
    jobs/2026/
    van.yaml
    """
    if columns(first) + columns(text) <= width:
        return first + text
    indent = text[: len(text) - len(text.lstrip(" "))][: width // 2]
    line, rest, is_empty = first + indent, rest + indent, True
    room = max(1, width - columns(rest))
    lines = []
    for word in words(text):
        gap = "" if is_empty else " "
        for piece in _pieces(word, room):
            if columns(line) + len(gap) + columns(piece) > width and not is_empty:
                lines.append(line)
                line, gap = rest, ""
            line, gap, is_empty = line + gap + piece, "", False
    return "\n".join([*lines, line]).replace(_KEPT, " ")


def shortened(text: str, width: int, *, from_end: bool = False) -> str:
    """Return a line of text in a width, with three dots for what is left out where it is longer.

    Parameters
    ----------
    text : str
        One line.
    width : int
        Columns, at least 3.
    from_end : bool
        Whether its end is kept, as of a path, which ends with the name of the file; else its beginning is.

    Returns
    -------
    str

    Examples
    --------
    >>> shortened("jobs/2026/van.yaml", 11), shortened("jobs/2026/van.yaml", 11, from_end=True)
    ('jobs/202...', '...van.yaml')
    """
    if columns(text) <= width:
        return text
    while text and columns(text) > width - len(_LEFT_OUT):
        text = text[1:] if from_end else text[:-1]
    return f"{_LEFT_OUT}{text}" if from_end else f"{text.rstrip()}{_LEFT_OUT}"


def words(text: str) -> list[str]:
    """Return the words of a text, a figure and its unit as one word with a character for the space between."""
    return _GALLONS.sub(f"US{_KEPT}", _BESIDE_UNIT.sub(_KEPT, text)).split()


@functools.lru_cache(maxsize=_MOST_KEPT)
def longest_word(text: str) -> int:
    """Return how many columns a text needs if it is broken between words alone."""
    return max(map(columns, words(text)), default=0)


@functools.lru_cache(maxsize=_MOST_KEPT)
def longest_piece(text: str) -> int:
    """Return how many columns a text needs if words are broken behind their separators as well."""
    return max(
        (columns(piece) for word in words(text) for piece in _behind(_behind([word], _STRONG), _WEAK)), default=0
    )


def _pieces(word: str, room: int) -> list[str]:
    """Return a word in pieces that fit a room: whole, broken after its separators, or, if nothing else fits, cut."""
    pieces = [word]
    for separators in (_STRONG, _WEAK):
        pieces = [
            part for piece in pieces for part in (_behind([piece], separators) if _is_over(piece, room) else [piece])
        ]
    return [part for piece in pieces for part in (_cut(piece, room) if _is_over(piece, room) else [piece])]


def _is_over(piece: str, room: int) -> bool:
    return columns(piece) > room


def _behind(pieces: list[str], separators: str) -> list[str]:
    """Return pieces broken behind separators, but never within a figure such as 3/4, 1e-5 or 2026-01-31."""
    parts = []
    for piece in pieces:
        start = 0
        for place in range(1, len(piece) - 1):
            after = piece[place + 1]
            is_figure = after.isdigit() and (piece[place - 1].isdigit() or piece[place] == "-")
            if piece[place] in separators and after not in separators and not is_figure:
                parts.append(piece[start : place + 1])
                start = place + 1
        parts.append(piece[start:])
    return parts


def _cut(piece: str, room: int) -> list[str]:
    """Return a piece without separators in parts of a room, no number and no extension cut if it fits by itself."""
    parts = [""]
    for atom in _ATOM.findall(piece):
        for part in [atom] if columns(atom) <= room else atom:
            if parts[-1] and columns(parts[-1]) + columns(part) > room:
                parts.append("")
            parts[-1] += part
    return parts
