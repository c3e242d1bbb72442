"""The one pint registry, and the strict door through which a text becomes a quantity or an SI float.

pint is never handed free text: a text is taken apart here into a number and a unit, the unit must be one of those
listed for its dimension, and only then is pint asked how large that unit is. The answer is kept, so that reading many
jobs costs no pint call.
"""

from __future__ import annotations

import functools
import math
import re
from collections.abc import Sequence
from importlib import resources
from typing import TYPE_CHECKING, Any, NamedTuple

from drawbar.problems import shown
from drawbar.unit_words import ASKED_BACK, MEANT, NUMBER, SPELLINGS, compound, misread, pattern, unit_shown

if TYPE_CHECKING:
    import pint


class Dimension(NamedTuple):
    """A kind of quantity.

    Attributes
    ----------
    name : str
        What it is called in messages.
    si : str
        Its unit inside the program, as pint writes it.
    units : tuple of str
        The units that a file may use for it.
    """

    name: str
    si: str
    units: tuple[str, ...]


LENGTH = Dimension("length", "m", ("mm", "cm", "m", "in", "ft"))
AREA = Dimension("area", "m ** 2", ("mm2", "in2"))
FLOOR = Dimension("floor", "m ** 2", ("m2", "ft2"))
VOLUME = Dimension("volume", "m ** 3", ("L", "m3", "ft3", "USgal", "impgal"))
PRESSURE = Dimension("pressure", "Pa", ("Pa", "kPa", "mbar", "bar", "mmH2O", "inH2O", "psi"))
HEAT_RATE = Dimension("heat rate", "W", ("MJ/h", "kW", "W", "Btu/h"))
GAS_MASS_FLOW = Dimension("mass flow", "kg/s", ("kg/h", "g/h", "lb/h"))
GAS_VOLUME_FLOW = Dimension("gas flow", "m ** 3 / s", ("m3/h", "ft3/h"))
LEAK_RATE = Dimension("leak rate", "m ** 3 / s", ("L/h", "ft3/h"))
WATER_FLOW = Dimension("water flow", "m ** 3 / s", ("L/min", "USgal/min", "impgal/min"))
TEMPERATURE = Dimension("temperature", "K", ("degC", "degF", "K"))
TEMPERATURE_CHANGE = Dimension("temperature difference", "K", ("K",))
RATIO = Dimension("share", "ratio", ("percent",))
DYNAMIC_VISCOSITY = Dimension("viscosity", "Pa s", ("cP",))
HEAT_BY_VOLUME = Dimension("heat of a volume of gas", "J / m ** 3", ("MJ/m3", "Btu/ft3"))
MASS = Dimension("mass", "kg", ("kg", "lb", "g"))
TIME = Dimension("time", "s", ("s", "min", "h"))
DENSITY = Dimension("density", "kg / m ** 3", ("kg/m3",))
MASS_PER_LENGTH = Dimension("mass per length", "kg / m", ("kg/m",))

_NUMBER_AND_UNIT = re.compile(rf"({NUMBER})\s*(\S+(?: \S+)*)?")
MOST_LETTERS = 60  # of a number and a unit; a longer text is neither


US_CUSTOMARY = ("in", "ft", "in2", "ft3", "USgal", "USgal/min", "inH2O", "psi", "Btu/h", "lb", "lb/h", "ft3/h", "degF")
"""Units of those who would not read a bound in a metric one."""


class UnitError(ValueError):
    """A text that is not a number and a unit of the dimension asked for.

    Attributes
    ----------
    what : str
        What is wrong.
    fit : str
        What would fit.
    """

    def __init__(self, what: str, fit: str) -> None:
        super().__init__(f"{what}; {fit}")
        self.what = what
        self.fit = fit


_WITH_OFFSET = ("degC", "degF")


@functools.cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the project's pint registry, built on first use from data/units.txt."""
    import pint

    lines = resources.files("drawbar").joinpath("data/units.txt").read_text(encoding="utf-8").splitlines()
    return pint.UnitRegistry(lines, cache_folder=None)


@functools.cache
def _scale(unit: str, si: str) -> tuple[float, float]:
    """Return (factor, offset) so that a value in `unit` is factor x value + offset in the SI unit."""
    ureg = registry()
    if unit not in _WITH_OFFSET:  # the registry's root units are the SI units: a factor will do, and is had quicker
        factor: Any = ureg.get_root_units(unit)[0]
        return float(factor), 0.0
    offset = float(ureg.Quantity(0.0, unit).to(si).magnitude)
    return float(ureg.Quantity(1.0, unit).to(si).magnitude) - offset, offset


def number_and_unit(text: str, *dimensions: Dimension) -> tuple[float, str, Dimension]:
    """Take a text such as `3.6 m` apart.

    Parameters
    ----------
    text : str
        What stands in a file or a call.
    *dimensions : Dimension
        What it may be.

    Returns
    -------
    tuple of float, str and Dimension
        The number, the unit as the registry spells it, and the dimension that has this unit.

    Raises
    ------
    UnitError
        If the text is anything but a finite number and a unit of these dimensions; it says what would fit.

    Examples
    --------
    >>> number_and_unit("3.6 m", LENGTH)[:2]
    (3.6, 'm')
    >>> number_and_unit("20 °C", TEMPERATURE)[:2]
    (20.0, 'degC')
    """
    matched = _NUMBER_AND_UNIT.fullmatch(text) if len(text) <= MOST_LETTERS else None
    if matched is not None and matched[2]:
        value, unit = float(matched[1]), SPELLINGS.get(matched[2], matched[2])
        for dimension in dimensions:
            if unit in dimension.units and math.isfinite(value):
                return value, unit, dimension
    read = compound(text) if len(text) <= MOST_LETTERS else None
    if read is not None:
        unit = SPELLINGS.get(read[1], read[1])
        for dimension in dimensions:
            if unit in dimension.units:
                return read[0], unit, dimension
    written = read[1] if read is not None else matched[2] or "" if matched is not None else None
    raise _refused(text, written, dimensions, is_read=read is not None)


def _refused(text: str, unit: str | None, dimensions: Sequence[Dimension], *, is_read: bool) -> UnitError:
    """Return what is wrong with a text that is not a figure of the dimensions, and what would fit.

    `unit` is what stands after its number, None where there is no number.
    """
    units = [known for dimension in dimensions for known in dimension.units]
    fit = f"write a number and {listed(units)}"
    near = misread(text) if len(text) <= MOST_LETTERS and not is_read else None
    if near is not None:
        return UnitError(*near)
    if unit is None:
        return UnitError(f"{shown(text)} is not a number and a unit", fit)
    if not unit:
        return UnitError(f"{shown(text)} has no unit", f"write {listed(units)} after it")
    question = _question(unit, units)
    if question:
        return UnitError(f"{shown(unit)} is not a unit here", question)
    what = f"{shown(unit)} is not a unit of {' or '.join(d.name for d in dimensions)}"
    if SPELLINGS.get(unit, unit) in units:
        what = f"{shown(text)} is not a finite number"
    elif " " in unit and unit not in SPELLINGS:
        what = f"{shown(text)} is not a number and a unit"
    return UnitError(what, fit)


def _question(unit: str, units: Sequence[str]) -> str:
    """Return what to ask back about a unit that is not one of these as it is written; empty where nothing is near."""
    if SPELLINGS.get(unit, unit) in units:
        return ""
    meant = unit.lower()
    of, question = ASKED_BACK.get(meant, ("", ""))
    if of in units:
        return question
    for known in units:
        if meant in (known.lower(), unit_shown(known).lower()) or known == MEANT.get(meant):
            return f"did you mean `{unit_shown(known)}`?"
    return ""


def spellings(*dimensions: Dimension) -> list[str]:
    """Return every way to write a unit that number_and_unit takes.

    Parameters
    ----------
    *dimensions : Dimension
        The dimensions that have the units.

    Returns
    -------
    list of str
        The units as the registry spells them, then their other spellings.
    """
    names = [unit for dimension in dimensions for unit in dimension.units]
    return names + [written for written, unit in SPELLINGS.items() if unit in names]


def pattern_of(*dimensions: Dimension) -> str:
    """Return the pattern of every text that number_and_unit takes, and of hardly another.

    Parameters
    ----------
    *dimensions : Dimension
        What the text may be.

    Returns
    -------
    str
        In what Python's `re` and ECMA-262 have in common.
    """
    return pattern([unit for dimension in dimensions for unit in dimension.units], spellings(*dimensions))


def listed(units: Sequence[str]) -> str:
    """Return the units as a message lists them.

    Parameters
    ----------
    units : sequence of str
        Units as the registry spells them.

    Returns
    -------
    str
        A few words.

    Examples
    --------
    >>> listed(["kPa", "mbar"])
    'one of kPa, mbar'
    """
    names = [unit_shown(unit) for unit in units]
    return f"one of {', '.join(names)}" if len(names) > 1 else names[0]


@functools.lru_cache(maxsize=1024)
def unit_of(text: str) -> str:
    """Return the unit of a text that number_and_unit takes.

    Parameters
    ----------
    text : str
        What stands in a file or a call.

    Returns
    -------
    str
        The unit as the registry spells it; empty if the text is not a number and a unit.

    Examples
    --------
    >>> unit_of("15 °C")
    'degC'
    """
    if len(text) > MOST_LETTERS:
        return ""
    read = compound(text)
    matched = _NUMBER_AND_UNIT.fullmatch(text)
    written = read[1] if read is not None else matched[2] or "" if matched is not None else ""
    return SPELLINGS.get(written, written)


def to_si(value: float, unit: str, dimension: Dimension) -> float:
    """Return a value in its SI unit.

    Parameters
    ----------
    value : float
        A value in `unit`.
    unit : str
        A unit of the dimension, as the registry spells it.
    dimension : Dimension
        What the value is.

    Returns
    -------
    float
        The value in the dimension's SI unit.

    Examples
    --------
    >>> to_si(11.0, "kPa", PRESSURE)
    11000.0
    """
    factor, offset = _scale(unit, dimension.si)
    return value * factor + offset


def from_si(value: float, unit: str, dimension: Dimension) -> float:
    """Return a value in a unit of a file, the inverse of to_si.

    Parameters
    ----------
    value : float
        A value in the dimension's SI unit.
    unit : str
        A unit of the dimension, as the registry spells it.
    dimension : Dimension
        What the value is.

    Returns
    -------
    float
        The value in `unit`.

    Examples
    --------
    >>> from_si(2750.0, "kPa", PRESSURE)
    2.75
    """
    factor, offset = _scale(unit, dimension.si)
    return (value - offset) / factor


def quantity_of_text(text: str, *dimensions: Dimension) -> pint.Quantity[float]:
    """Return a text such as `3.6 m` as a pint quantity of the project's registry.

    Parameters
    ----------
    text : str
        What stands in a file or a call.
    *dimensions : Dimension
        What it may be.

    Returns
    -------
    pint.Quantity
        The quantity, in the unit that the text has.

    Raises
    ------
    UnitError
        As number_and_unit does.

    Examples
    --------
    >>> quantity_of_text("3.6 m", LENGTH).to("mm").magnitude
    3600.0
    """
    value, unit, _ = number_and_unit(text, *dimensions)
    return registry().Quantity(value, unit)
