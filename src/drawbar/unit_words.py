"""The ways people write a figure and its unit, beside a number and the unit as the registry spells it.

Only what can be read in a single way is taken. What can be read in two, such as a gallon that may be of either country,
is asked back with the ways to write it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from drawbar.problems import shown

NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,4})?"
_WATER_COLUMN = ("w.c.", "wc", "WC", "W.C.", "w.g.", "wg", "WG")  # water column, water gauge: the same

# The ways people write a unit that is in the list, beside the list's own spelling.
SPELLINGS = {
    "%": "percent",
    "°C": "degC",
    "°F": "degF",
    "C": "degC",
    "F": "degF",
    "m³/h": "m3/h",
    "mm²": "mm2",
    "l/min": "L/min",
    "l/h": "L/h",
    "l": "L",
    "'": "ft",
    "\u2032": "ft",  # the prime
    "ft.": "ft",
    '"': "in",
    "\u2033": "in",  # the double prime
    "in.": "in",
    **{f"{inch}{column}": "inH2O" for inch in ("in ", "in. ", "in", '"', '" ') for column in _WATER_COLUMN},
    **{f"mm{space}{column}": "mmH2O" for space in (" ", "") for column in _WATER_COLUMN},
    "in²": "in2",
    "ft³": "ft3",
    "ft³/h": "ft3/h",
    "US gal": "USgal",
    "US gal/min": "USgal/min",
    "imp gal": "impgal",
    "imp gal/min": "impgal/min",
}
_SHOWN = {"percent": "%", **{unit: text for text, unit in SPELLINGS.items() if "gal" in unit}}

# What people write for a unit that the list spells otherwise, in small letters. Not taken: asked about.
MEANT = {
    **dict.fromkeys(("metre", "metres", "meter", "meters", "mtr", "mtrs"), "m"),
    **dict.fromkeys(("foot", "feet"), "ft"),
    **dict.fromkeys(("inch", "inches", "''"), "in"),
    **dict.fromkeys(("mb", "millibar", "millibars"), "mbar"),
    **dict.fromkeys(("iwc", "wc", "w.c.", "in.w.c.", "inches wc", "inches w.c.", "inches of water"), "inH2O"),
    **dict.fromkeys(("kpag", "kpa(g)"), "kPa"),
    **dict.fromkeys(("mbarg", "mbar(g)"), "mbar"),
    **dict.fromkeys(("psig", "psi(g)"), "psi"),
    **dict.fromkeys(("btu", "btuh", "btu/hr"), "Btu/h"),
    **dict.fromkeys(("mj", "mjh", "mj/hr"), "MJ/h"),
    **dict.fromkeys(("kg", "kg/hr"), "kg/h"),
    **dict.fromkeys(("lb", "lb/hr", "lbs/h", "lbs/hr"), "lb/h"),
    **dict.fromkeys(("cfh", "cuft/h", "cu ft/h"), "ft3/h"),
    **dict.fromkeys(("cuft", "cu ft", "cf"), "ft3"),
    **dict.fromkeys(("sq in", "sqin", "sq. in."), "in2"),
    **dict.fromkeys(("lpm", "l/m", "litres/min"), "L/min"),
    **dict.fromkeys(("degrees", "deg", "celsius"), "degC"),
    **dict.fromkeys(("us gpm", "usgpm"), "USgal/min"),
    **dict.fromkeys(("imp gpm", "uk gal/min"), "impgal/min"),
    "uk gal": "impgal",
    "fahrenheit": "degF",
    "kgs": "kg",
    "lbs": "lb",
}
_EACH_GALLON = "say which gallon: `US gal{0}` (3.785 L) or `imp gal{0}` (4.546 L)"
# What has no single meaning, or is not counted in here, in small letters: a unit of the dimension where that is so, and
# what to write.
ASKED_BACK = {
    **dict.fromkeys(("gal/min", "gpm", "gallons/min"), ("USgal/min", _EACH_GALLON.format("/min"))),
    **dict.fromkeys(("gal", "gallon", "gallons"), ("USgal", _EACH_GALLON.format(""))),
    **dict.fromkeys(('"', "\u2033", "in", "inch", "inches"), ("inH2O", "inches of water? write `inH2O`")),
    "mbh": ("Btu/h", "1 MBH is 1000 Btu/h: write it in Btu/h"),
    **dict.fromkeys(("oz", "osi"), ("psi", "an ounce a square inch is 0.0625 psi: write it in psi")),
}

# fractions, and feet with inches

_FRACTIONAL = ("in", "ft", "inH2O", "psi", "lb")  # units that people halve and quarter
_PARTS = r"[1-9][0-9]?/(?:2|4|8|16|32|64)"  # of a rule's marks
_FEET = "(?:ft\\.?|'|\u2032)"
_INCHES = '(?:in\\.?|"|\u2033)'
_FRACTION = rf"[+-]?(?:[0-9]{{1,4}}[ -])?{_PARTS}"
_FEET_AND_INCHES = (
    rf"[+-]?[0-9]{{1,5}}\s*{_FEET}[ -]?(?:(?:[0-9]{{1,3}}[ -])?{_PARTS}|[0-9]{{1,3}}(?:\.[0-9]+)?)\s*{_INCHES}"
)
_FRACTION_READ = re.compile(rf"([+-]?)(?:([0-9]{{1,4}})[ -])?({_PARTS})\s*(\S+(?: \S+)*)")
_FEET_READ = re.compile(
    rf"([+-]?)([0-9]{{1,5}})\s*{_FEET}[ -]?(?:(?:([0-9]{{1,3}})[ -])?({_PARTS})|([0-9.]+))\s*{_INCHES}"
)
_FEET_FORM = re.compile(_FEET_AND_INCHES)
_ANY_FRACTION = re.compile(r"([0-9]{1,4}[ -])?([0-9]{1,3})/([0-9]{1,3})\s*(\S*)")
_WITH_COMMAS = re.compile(r"([+-]?[0-9]{1,9})((?:,[0-9]{1,9})+)(\.[0-9]*)?(\s*\S*)")
_THOUSAND = 3  # digits behind a comma between thousands
_DOZEN = 12.0  # inches in a foot


def compound(text: str) -> tuple[float, str] | None:
    """Read a fraction or feet with inches.

    Parameters
    ----------
    text : str
        What stands in a file or a call, not long.

    Returns
    -------
    tuple of float and str, or None
        The number and the unit as it is written, feet for feet and inches; None if the text is neither, or is one that
        can be read in two ways, as `221/2 in`.

    Examples
    --------
    >>> compound("6 1/2 in"), compound("22 ft 6 in")
    ((6.5, 'in'), (22.5, 'ft'))
    >>> compound("221/2 in") is None
    True
    """
    feet = _FEET_READ.fullmatch(text) if _FEET_FORM.fullmatch(text) else None
    if feet is not None:
        sign, whole, inches, parts, plain = feet.groups()
        over = _fraction(parts) if parts else float(plain)
        if over is None or float(inches or 0) + over >= _DOZEN:
            return None
        return _signed(sign, float(whole) + (float(inches or 0) + over) / _DOZEN), "ft"
    fraction = _FRACTION_READ.fullmatch(text)
    if fraction is None or SPELLINGS.get(fraction[4], fraction[4]) not in _FRACTIONAL:
        return None
    over = _fraction(fraction[3])
    return None if over is None else (_signed(fraction[1], float(fraction[2] or 0) + over), fraction[4])


def _fraction(parts: str) -> float | None:
    """Return a fraction of less than a whole; None for one that is more, where a blank may be missing."""
    above, _, below = parts.partition("/")
    return int(above) / int(below) if int(above) < int(below) else None


def _signed(sign: str, value: float) -> float:
    return -value if sign == "-" else value


def misread(text: str) -> tuple[str, str] | None:
    """Return what is wrong with a text that is nearly a figure, and what to write; None where it is not that near.

    Parameters
    ----------
    text : str
        What is neither a number and a unit nor `compound`.

    Returns
    -------
    tuple of str and str, or None

    Examples
    --------
    >>> misread("1,5 kPa")
    ('`1,5 kPa` has a comma', 'write `1.5 kPa`')
    """
    if _FEET_FORM.fullmatch(text):
        return f"{shown(text)} has too many inches", "write less than 12 of them after the feet, or inches alone"
    return _commas(text) or _slash(text)


def _commas(text: str) -> tuple[str, str] | None:
    """Return what to write for a figure with commas: behind the first may stand decimals, or the next thousand."""
    matched = _WITH_COMMAS.fullmatch(text)
    if matched is None:
        return None
    whole, groups, decimals, unit = matched.groups()
    first, *more = groups.removeprefix(",").split(",")
    bare = shown(f"{whole}{first}{''.join(more)}{decimals or ''}{unit}")
    point = shown(f"{whole}.{first}{unit}")
    if any(len(group) != _THOUSAND for group in more):
        return None
    unit_too = "" if unit else ", with its unit"
    if more or decimals:
        return f"{shown(text)} has commas", f"write it without: {bare}{unit_too}"
    fit = f"write {bare} or {point}, whichever is meant" if len(first) == _THOUSAND else f"write {point}"
    return f"{shown(text)} has a comma", fit + unit_too


def _slash(text: str) -> tuple[str, str] | None:
    """Return what to write for a fraction that is not taken."""
    matched = _ANY_FRACTION.fullmatch(text)
    if matched is None or not int(matched[3]):
        return None
    whole, above, below, unit = matched.groups()
    if not unit:
        return f"{shown(text)} has no unit", f"write one after it: {shown(f'{text} in')}"
    if not whole and len(above) > 1 and int(above) > int(below):
        blank = f"{above[:-1]} {above[-1]}/{below} {unit}"
        return f"{shown(text)} is more than a whole", f"write {shown(blank)}, or a decimal, whichever is meant"
    decimal = f"{float((whole or '0').rstrip(' -')) + int(above) / int(below):.6g} {unit}"
    return f"{shown(text)} is a fraction", f"write it as a decimal: {shown(decimal)}"


def pattern(units: Sequence[str], written: Sequence[str]) -> str:
    """Return the pattern of a figure, in what Python's `re` and ECMA-262 have in common.

    Parameters
    ----------
    units : sequence of str
        The units that fit, as the registry spells them.
    written : sequence of str
        Every way to write them.

    Returns
    -------
    str
    """
    # The longer first, so that a pattern never stops at `m` of `mm`.
    ordered = sorted(written, key=len, reverse=True)
    halved = [way for way in ordered if SPELLINGS.get(way, way) in _FRACTIONAL]
    forms = [rf"(?:{NUMBER})\s*(?:{_alternatives(ordered)})"]
    if halved:
        forms.append(rf"{_FRACTION}\s*(?:{_alternatives(halved)})")
    if "ft" in units:
        forms.append(_FEET_AND_INCHES)
    return rf"^(?:{'|'.join(forms)})$" if len(forms) > 1 else f"^{forms[0]}$"


def _alternatives(texts: Sequence[str]) -> str:
    return "|".join(re.escape(text).replace("\\ ", " ") for text in texts)


def unit_shown(unit: str) -> str:
    """Return a unit as messages write it, as `US gal/min` for the registry's USgal/min."""
    return _SHOWN.get(unit, unit)
