"""What a text means that names a pipe: a size by its own name or by what else it is called, else the sizes it may mean.

Tubes that differ by one letter or one digit differ in their bores. So a text is taken only where it is a name, or what
the source of the table calls the size (`1/2 in`, `DN 10`). Any other is answered with the names that it may stand for,
all of them where it is not clear which, and never with the one whose letters happen to be nearest.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from drawbar.catalogue.pipe_families import PipeFamily, PipeSize

_SAME_OD_M = 0.0001
_INCH_M = 0.0254
_MOST_TOLD = 6
_DN = re.compile(r"dn ?([0-9]{1,6})")
_MIXED = re.compile(r"(?:([0-9]{1,3})[ -])?([0-9]{1,3})/([1-9][0-9]{0,2})|([0-9]{1,3}(?:\.[0-9]{1,6})?)")
_PLAIN = re.compile(r"[0-9]{0,3}(?:\.[0-9]{1,6})?(?: ?x ?[0-9]{0,3}(?:\.[0-9]{1,6})?)?")


def size_named(family: PipeFamily, text: str) -> str | None:
    """Return the size of a family that a text names, by its own name or by what else it is called.

    Parameters
    ----------
    family : PipeFamily
        The family.
    text : str
        What stands behind `family/`.

    Returns
    -------
    str or None
        Its name in the family; None where the text names none, or could be one of two.
    """
    if text in family.sizes:
        return text
    named = family.also_called(text)
    return named[0] if len(named) == 1 else None


def sizes_called(family: PipeFamily, text: str) -> list[PipeSize]:
    """Return the sizes of a family whose own name a text is, however it is written.

    Parameters
    ----------
    family : PipeFamily
        The family.
    text : str
        Such as `12.7 mm` or `dn 15`, or what `size_named` takes.

    Returns
    -------
    list of PipeSize
    """
    named = size_named(family, text)
    if named is not None:
        return [family.sizes[named]]
    asked = _meaning(text)
    if asked is None:
        return []
    same = [
        row for row in family.sizes.values() if asked._replace(kind=asked.kind.replace("mm", "")) == _meaning(row.size)
    ]
    return [row for row in same if asked.kind != "mm" or _is_across(asked.figures[0], row)]


def sizes_meant(family: PipeFamily, text: str) -> list[PipeSize]:
    """Return the sizes of a family that a text may stand for that names none.

    Parameters
    ----------
    family : PipeFamily
        The family.
    text : str
        What stands behind `family/`.

    Returns
    -------
    list of PipeSize
        None, one, or all between which the text does not decide.
    """
    asked, rows = _meaning(text), list(family.sizes.values())
    same = sizes_called(family, text)
    if same or asked is None:
        return same
    if asked.kind in ("in", "dn"):
        called = [row for row in rows if row.also and _meaning(row.also.removesuffix(" OD")) == asked]
        if called and not asked.is_od:
            return called
    return [row for row in rows if _may_be(asked, row)]


def family_meant(text: str, families: Iterable[str]) -> tuple[str, str] | None:
    """Return the family that a text begins with, whatever its case and what stands between its parts, and the rest.

    Parameters
    ----------
    text : str
        A text such as `AS 1432 B 12.7`.
    families : iterable of str
        The names of the families.

    Returns
    -------
    tuple of str or None
        The name as it is listed, and what stands after it; None where it begins with no family.
    """
    begun = []
    for name in families:
        letters = [re.escape(letter) for letter in name.casefold() if letter.isalnum()]
        beginning = re.match(r"[\W_]*".join(letters) + r"(?![a-z])", text.casefold())
        if beginning is not None:
            begun.append((len(letters), name, text[beginning.end() :].strip(" /:-_")))
    if not begun:
        return None
    _, name, rest = max(begun)
    return name, rest


def told(rows: Iterable[PipeSize], family: str = "") -> str:
    """Return what to suggest: each size by its name, with what else it is called where there are several.

    Parameters
    ----------
    rows : iterable of PipeSize
        The sizes.
    family : str
        Its name, where it is to stand before each size.

    Returns
    -------
    str
        As `did you mean ...?`; empty without a size.
    """
    sizes = list(rows)
    before = f"{family}/" if family else ""
    names = [
        f"`{before}{row.size}`" + (f" ({row.also})" if row.also and (len(sizes) > 1 or " in" in row.also) else "")
        for row in sizes[:_MOST_TOLD]
    ]
    return f"did you mean {' or '.join(names)}?" if names else ""


class _Meaning(NamedTuple):
    """What a text says of a size: `dn` a nominal number, `in` inches, `mm` millimetres, `` a number without a unit.

    `figures` are one number, or outside diameter and wall; `is_od` where the text says that it is an outside diameter.
    """

    kind: str
    figures: tuple[Fraction, ...]
    is_od: bool = False


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


def _meaning(text: str) -> _Meaning | None:
    """Return what a text says of a size, None where it says nothing that is known."""
    plain = _folded(text).replace("\u00d7", "x").replace(",", ".").replace("''", '"')
    is_od = plain.endswith(" od") or plain.startswith("od ")
    plain = plain.removesuffix(" od").removeprefix("od ").strip()
    nominal = _DN.fullmatch(plain)
    if nominal is not None:
        return _Meaning("dn", (Fraction(nominal[1]),))
    inches = re.sub(r" ?(?:\"|inch(?:es)?|in\.?)$", "", plain)
    mixed = _MIXED.fullmatch(inches)
    if mixed is not None and (inches != plain or "/" in inches):
        whole, top, bottom, decimal = mixed.groups()
        value = Fraction(decimal) if decimal else Fraction(int(whole or 0)) + Fraction(int(top), int(bottom))
        return _Meaning("in", (value,), is_od)
    numbers = plain.replace("mm", "").strip()
    if not numbers or _PLAIN.fullmatch(numbers) is None or not re.search("[0-9]", numbers):
        return None
    figures = tuple(Fraction(part.strip() or "0") for part in numbers.split("x"))
    return _Meaning("mm" if numbers != plain else "", figures, is_od)


def _is_across(millimetres: Fraction, row: PipeSize) -> bool:
    """Tell whether a size measures that much across, outside or inside."""
    return any(abs(float(millimetres) / 1e3 - across) <= _SAME_OD_M for across in (row.od_m, row.bore_m) if across)


def _may_be(asked: _Meaning, row: PipeSize) -> bool:
    """Tell whether a size may be what was asked for: by its diameter, its first figure or its nominal number."""
    own, also = _meaning(row.size), _meaning(row.also or "")
    first = asked.figures[0]
    if asked.kind == "dn":
        return False
    od_m = row.od_m if row.od_m is not None else -1.0
    if asked.kind == "in":
        return abs(float(first) * _INCH_M - od_m) <= _SAME_OD_M
    by_name = own is not None and own.figures[: len(asked.figures)] == asked.figures
    by_od = len(asked.figures) == 1 and abs(float(first) / 1000.0 - od_m) <= _SAME_OD_M
    if asked.kind == "mm":
        return by_od or (by_name and _is_across(first, row))
    by_number = also is not None and also.kind == "dn" and also.figures == asked.figures
    begins = len(asked.figures) == 1 and row.size.partition(".")[0] == str(first)
    return by_name or by_od or by_number or begins
