"""Units: factors against NIST SP 811 and pint's own registry, strictness, and round trips."""

import math
import re
import time

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drawbar import unit_words, units
from drawbar.units import Dimension, UnitError, from_si, number_and_unit, quantity_of_text, registry, to_si, unit_of

DIMENSIONS = [value for value in vars(units).values() if isinstance(value, Dimension)]
PAIRS = [(dimension, unit) for dimension in DIMENSIONS for unit in dimension.units]
IDS = [f"{dimension.name}: {unit}" for dimension, unit in PAIRS]

# NIST Special Publication 811, 2008 edition, appendix B.8: dimension, unit, factor to the SI unit.
# Factors that the publication prints in bold are exact; the others have seven digits.
NIST = [
    (units.LENGTH, "ft", 0.3048, "exact"),
    (units.LENGTH, "in", 0.0254, "exact"),
    (units.PRESSURE, "bar", 1.0e5, "exact"),
    (units.PRESSURE, "mbar", 100.0, "exact"),
    (units.PRESSURE, "mmH2O", 9.80665, "exact"),  # millimetre of water, conventional
    (units.PRESSURE, "inH2O", 249.0889, "seven digits"),  # inch of water, conventional
    (units.PRESSURE, "psi", 6894.757, "seven digits"),
    (units.HEAT_RATE, "Btu/h", 0.2930711, "seven digits"),  # British thermal unit, International Table, per hour
    (units.MASS, "lb", 0.45359237, "exact"),
    (units.VOLUME, "L", 1.0e-3, "exact"),
    (units.AREA, "mm2", 1.0e-6, "exact"),
    (units.TIME, "min", 60.0, "exact"),
    (units.TIME, "h", 3600.0, "exact"),
    (units.HEAT_RATE, "MJ/h", 1.0e6 / 3600.0, "exact"),
    (units.HEAT_RATE, "kW", 1000.0, "exact"),
    (units.GAS_MASS_FLOW, "kg/h", 1.0 / 3600.0, "exact"),
    (units.GAS_MASS_FLOW, "g/h", 1.0 / 3.6e6, "exact"),
    (units.GAS_VOLUME_FLOW, "m3/h", 1.0 / 3600.0, "exact"),
    (units.WATER_FLOW, "L/min", 1.0e-3 / 60.0, "exact"),
    (units.RATIO, "percent", 0.01, "exact"),
    (units.AREA, "in2", 6.4516e-4, "exact"),
    (units.VOLUME, "ft3", 2.831685e-2, "seven digits"),
    (units.VOLUME, "USgal", 3.785412e-3, "seven digits"),
    (units.VOLUME, "impgal", 4.54609e-3, "exact"),
    (units.WATER_FLOW, "USgal/min", 6.309020e-5, "seven digits"),
    (units.GAS_MASS_FLOW, "lb/h", 1.259979e-4, "seven digits"),
]


@pytest.mark.parametrize(("dimension", "unit", "factor", "printed"), NIST, ids=[row[1] for row in NIST])
def test_factors_against_nist(dimension, unit, factor, printed):
    """The factor is the published one: to the rounding of floats if it is exact, else within half its last digit."""
    relative = 1e-14 if printed == "exact" else 0.5e-6 / float(f"{factor:.6e}".split("e")[0])
    assert to_si(1.0, unit, dimension) == pytest.approx(factor, rel=relative, abs=0.0)


def test_british_thermal_unit():
    """NIST SP 811, B.8: the International Table Btu is 1055.05585262 J exactly."""
    assert to_si(3600.0, "Btu/h", units.HEAT_RATE) == pytest.approx(1055.05585262, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [
        ("0 degC", 273.15),
        ("100 C", 373.15),
        ("-40 °C", 233.15),
        ("-40 degF", 233.15),
        ("32 F", 273.15),
        ("212 °F", 373.15),
        ("288.15 K", 288.15),
    ],
)
def test_temperatures_against_nist(text, kelvin):
    """NIST SP 811, B.8: T/K = t/degC + 273.15 and T/K = (t/degF + 459.67) / 1.8."""
    assert to_si(*number_and_unit(text, units.TEMPERATURE)) == pytest.approx(kelvin, rel=1e-14)


# What our unit is in pint's own list, where the name or the meaning differs.
PINT = {
    "mmH2O": "millimeter * kilogram / liter * standard_gravity",
    "inH2O": "inch * kilogram / liter * standard_gravity",
    "mm2": "mm ** 2",
    "m3": "m ** 3",
    "in2": "in ** 2",
    "ft3": "ft ** 3",
    "ft3/h": "ft ** 3 / hour",
    "USgal": "US_liquid_gallon",
    "USgal/min": "US_liquid_gallon / minute",
    "impgal": "imperial_gallon",
    "impgal/min": "imperial_gallon / minute",
    "lb/h": "lb / hour",
    "m3/h": "m ** 3 / hour",
    "MJ/m3": "MJ / m ** 3",
    "m2": "m ** 2",
    "ft2": "foot ** 2",
    "Btu/ft3": "Btu_it / foot ** 3",
    "Btu/h": "Btu_it / hour",
    "kg/m3": "kg / m ** 3",
    "psi": "pound * standard_gravity / inch ** 2",
    "h": "hour",
    "MJ/h": "MJ / hour",
    "kg/h": "kg / hour",
    "g/h": "g / hour",
    "L/min": "liter / minute",
    "percent": "percent",
}
PINTS_OWN = pint.UnitRegistry(cache_folder=None)


@pytest.mark.parametrize(("dimension", "unit"), PAIRS, ids=IDS)
def test_against_pints_own_registry(dimension, unit):
    """Every unit of every dimension is as large as pint's own list has it, at 1 and at 37.5."""
    si = dimension.si.replace("ratio", "dimensionless")
    for value in (1.0, 37.5):
        theirs = PINTS_OWN.Quantity(value, PINT.get(unit, unit)).to(si).magnitude
        assert to_si(value, unit, dimension) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(("dimension", "unit"), PAIRS, ids=IDS)
@given(value=st.floats(-1e9, 1e9))
@settings(max_examples=40, deadline=None)
def test_round_trip(dimension, unit, value):
    """A value goes to SI and back within the rounding of floats."""
    # With an offset, as of a temperature, the rounding is that of the offset.
    assert from_si(to_si(value, unit, dimension), unit, dimension) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(("dimension", "unit"), PAIRS, ids=IDS)
def test_every_listed_unit_is_read(dimension, unit):
    """A unit that messages offer is one that is read, with and without a blank."""
    assert number_and_unit(f"3.5 {unit}", dimension) == (3.5, unit, dimension)
    assert number_and_unit(f"3.5{unit}", dimension) == (3.5, unit, dimension)
    assert unit_of(f"3.5 {unit}") == unit


def test_each_spelling_is_of_a_listed_unit():
    """The other spellings that are taken, and the slips that are understood, lead to units of some dimension."""
    listed = {unit for dimension in DIMENSIONS for unit in dimension.units}
    assert set(unit_words.SPELLINGS.values()) <= listed
    assert set(unit_words.MEANT.values()) <= listed
    assert not set(unit_words.MEANT) & set(unit_words.SPELLINGS)
    assert {unit for unit, _ in unit_words.ASKED_BACK.values()} <= listed


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("3.6 m", 3.6, "m"),
        ("+3 m", 3.0, "m"),
        ("-0.4 m", -0.4, "m"),
        (".5 m", 0.5, "m"),
        ("3. m", 3.0, "m"),
        ("1e3 mm", 1000.0, "mm"),
        ("1E-3 m", 0.001, "m"),
        ("3.6\t m", 3.6, "m"),
        ("0.375 in", 0.375, "in"),
    ],
)
def test_good_texts(text, value, unit):
    """Numbers as people and spreadsheets write them."""
    assert number_and_unit(text, units.LENGTH) == (value, unit, units.LENGTH)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "`` is not a number and a unit; write a number and one of mm, cm, m, in, ft"),
        ("m", "`m` is not a number and a unit"),
        ("3", "`3` has no unit; write one of mm, cm, m, in, ft after it"),
        ("1,5 m", "`1,5 m` has a comma; write `1.5 m`"),
        ("1,000 m", "`1,000 m` has a comma; write `1000 m` or `1.000 m`, whichever is meant"),
        ("1,250.5 m", "`1,250.5 m` has commas; write it without: `1250.5 m`"),
        ("1,000,000 mm", "`1,000,000 mm` has commas; write it without: `1000000 mm`"),
        ("1,5,3 m", "`1,5,3 m` is not a number and a unit"),
        ("1 000 m", "`1 000 m` is not a number and a unit"),
        ("1.2.3 m", "`1.2.3 m` is not a number and a unit"),
        ("1.2.3m", "`.3m` is not a unit of length"),
        ("3 m m", "is not a number and a unit"),
        ("3 m ", "is not a number and a unit"),
        (" 3 m", "is not a number and a unit"),
        ("--3 m", "is not a number and a unit"),
        ("1e99999 m", "`1e99999 m` is not a number and a unit"),
        ("1e9999 m", "`1e9999 m` is not a finite number"),
        ("nan m", "`nan m` is not a number and a unit"),
        ("inf m", "`inf m` is not a number and a unit"),
        ("9**9**9 m", "`9**9**9 m` is not a number and a unit"),
        ("3 m**2", "`m**2` is not a unit of length"),
        ("3 kg*m/kg", "`kg*m/kg` is not a unit of length"),
        ("3 km", "`km` is not a unit of length"),
        ("3 Pa", "`Pa` is not a unit of length"),
        ("3 MM", "`MM` is not a unit here; did you mean `mm`?"),
        ("3 feet", "`feet` is not a unit here; did you mean `ft`?"),
        ("3/7 in", "`3/7 in` is a fraction; write it as a decimal: `0.428571 in`"),
        ("2 1/2 m", "`2 1/2 m` is a fraction; write it as a decimal: `2.5 m`"),
        ("3/8", "`3/8` has no unit; write one after it: `3/8 in`"),
        ("221/2 in", "`221/2 in` is more than a whole; write `22 1/2 in`, or a decimal, whichever is meant"),
        ("5/4 in", "`5/4 in` is a fraction; write it as a decimal: `1.25 in`"),
        ("3' 14\"", "`3' 14\"` has too many inches; write less than 12 of them after the feet, or inches alone"),
        ("3' 11 5/4\"", "`3' 11 5/4\"` has too many inches"),
        ("3.5' 6\"", "is not a number and a unit"),
        ("3 ft 6", "is not a number and a unit"),
        ("3' 6", "is not a number and a unit"),
        ("6\" 3'", "is not a number and a unit"),
        ("3' - 6\"", "is not a number and a unit"),
        ("3/0 in", "`3/0 in` is not a number and a unit; write a number and one of"),
        ("\u0663 m", "is not a number and a unit"),
        ("\uff13 m", "is not a number and a unit"),
        ("3\u00a0m", None),
        ("\x1b[31m", r"`\x1b[31m` is not a number and a unit"),
        ("1" * 61 + " m", "is not a number and a unit"),
    ],
)
def test_strictness(text, message):
    """What pint would read as something else, or run, is refused with what to write; a no-break space is a blank."""
    if message is None:
        assert number_and_unit(text, units.LENGTH) == (3.0, "m", units.LENGTH)
        return
    with pytest.raises(UnitError) as caught:
        number_and_unit(text, units.LENGTH)
    assert message in str(caught.value)
    assert str(caught.value) == f"{caught.value.what}; {caught.value.fit}"


@pytest.mark.parametrize(
    ("text", "value", "unit", "dimension"),
    [
        ("22 ft 6 in", 22.5, "ft", units.LENGTH),
        ("22ft 6in", 22.5, "ft", units.LENGTH),
        ("22 ft. 6 in.", 22.5, "ft", units.LENGTH),
        ("3' 6\"", 3.5, "ft", units.LENGTH),
        ("3'6\"", 3.5, "ft", units.LENGTH),
        ("3'-6\"", 3.5, "ft", units.LENGTH),
        ("3\u2032 6\u2033", 3.5, "ft", units.LENGTH),
        ("-1' 3\"", -1.25, "ft", units.LENGTH),
        ("0' 1 1/2\"", 0.125, "ft", units.LENGTH),
        ("2' 4.5\"", 2.375, "ft", units.LENGTH),
        ("22'", 22.0, "ft", units.LENGTH),
        ('6"', 6.0, "in", units.LENGTH),
        ("3/8 in", 0.375, "in", units.LENGTH),
        ("6 1/2 in", 6.5, "in", units.LENGTH),
        ('6-1/2"', 6.5, "in", units.LENGTH),
        ("-6 1/2 in", -6.5, "in", units.LENGTH),
        ("11 in w.c.", 11.0, "inH2O", units.PRESSURE),
        ("11 inwc", 11.0, "inH2O", units.PRESSURE),
        ('11" WC', 11.0, "inH2O", units.PRESSURE),
        ("1/2 in w.c.", 0.5, "inH2O", units.PRESSURE),
        ("280 mm w.g.", 280.0, "mmH2O", units.PRESSURE),
        ("1.5 US gal/min", 1.5, "USgal/min", units.WATER_FLOW),
        ("1.5 imp gal/min", 1.5, "impgal/min", units.WATER_FLOW),
        ("2.1 lb/h", 2.1, "lb/h", units.GAS_MASS_FLOW),
        ("80 in2", 80.0, "in2", units.AREA),
    ],
)
def test_as_people_write_it(text, value, unit, dimension):
    """Feet and inches, fractions of an inch, inches of water and either gallon are taken, and have a single reading."""
    assert number_and_unit(text, dimension) == (value, unit, dimension)
    assert unit_of(text) == unit
    assert re.search(units.pattern_of(dimension), text)


@pytest.mark.parametrize(
    ("text", "dimension", "message"),
    [
        ("2 gal/min", units.WATER_FLOW, "say which gallon: `US gal/min` (3.785 L) or `imp gal/min` (4.546 L)"),
        ("2 GPM", units.WATER_FLOW, "`GPM` is not a unit here; say which gallon"),
        ("5 gallons", units.VOLUME, "say which gallon: `US gal` (3.785 L) or `imp gal` (4.546 L)"),
        ("3 usgal/min", units.WATER_FLOW, "did you mean `US gal/min`?"),
        ('11"', units.PRESSURE, '`"` is not a unit here; inches of water? write `inH2O`'),
        ("11 in", units.PRESSURE, "inches of water? write `inH2O`"),
        ("100 MBH", units.HEAT_RATE, "1 MBH is 1000 Btu/h: write it in Btu/h"),
        ("45,000 Btu/h", units.HEAT_RATE, "write `45000 Btu/h` or `45.000 Btu/h`, whichever is meant"),
        ("3' 6\"", units.PRESSURE, "is not a unit of pressure; write a number and one of Pa"),
        ("2 L", units.WATER_FLOW, "`L` is not a unit of water flow; write a number and one of L/min, US gal/min, imp"),
    ],
)
def test_asked_back(text, dimension, message):
    """What can be read in two ways is asked back with both, and no listed pattern takes it."""
    with pytest.raises(UnitError, match=re.escape(message)):
        number_and_unit(text, dimension)
    assert re.search(units.pattern_of(dimension), text) is None


@given(
    feet=st.integers(0, 99_999),
    inches=st.integers(0, 11),
    part=st.sampled_from([(0, 1), (1, 2), (3, 4), (5, 8), (15, 16), (63, 64)]),
    form=st.sampled_from(["{f} ft {i} in", "{f}' {i}\"", "{f}'{i}\"", "{f}'-{i}\"", "{f}ft {i}in"]),
    sign=st.sampled_from(["", "-", "+"]),
)
@settings(max_examples=200, deadline=None)
def test_feet_and_inches_are_what_a_rule_shows(feet, inches, part, form, sign):
    """Feet, inches and marks of a rule, in every form, are the length that arithmetic gives, in metres."""
    above, below = part
    written = f"{inches} {above}/{below}" if above else str(inches)
    text = sign + form.format(f=feet, i=written)
    metres = (feet * 12 + inches + above / below) * 0.0254 * (-1 if sign == "-" else 1)
    assert to_si(*number_and_unit(text, units.LENGTH)) == pytest.approx(metres, rel=1e-14, abs=1e-15)
    assert re.search(units.pattern_of(units.LENGTH), text)


def test_dimension_is_not_enough():
    """MJ/m3 has the dimension of a pressure, and N of nothing here: the unit must be listed."""
    with pytest.raises(UnitError, match=r"`MJ/m3` is not a unit of pressure; write a number and one of Pa, kPa, mbar"):
        number_and_unit("3.6 MJ/m3", units.PRESSURE)
    with pytest.raises(UnitError, match="`%` is not a unit of pressure"):
        number_and_unit("5 %", units.PRESSURE)
    with pytest.raises(UnitError, match="has no unit; write % after it"):
        number_and_unit("5", units.RATIO)


def test_the_dimension_that_has_the_unit_is_told():
    """Of several dimensions the one that has the unit is returned."""
    several = (units.HEAT_RATE, units.GAS_MASS_FLOW, units.GAS_VOLUME_FLOW)
    assert number_and_unit("0.6 kg/h", *several)[2] is units.GAS_MASS_FLOW
    assert number_and_unit("0.5 m³/h", *several)[2] is units.GAS_VOLUME_FLOW
    assert number_and_unit("8 kW", *several)[2] is units.HEAT_RATE
    with pytest.raises(UnitError, match="`Pa` is not a unit of heat rate or mass flow or gas flow"):
        number_and_unit("8 Pa", *several)


def test_quantity_is_of_the_one_registry():
    """A text becomes a quantity of the project's registry, built once."""
    pressure = quantity_of_text("11 inH2O", units.PRESSURE)
    assert pressure.to("Pa").magnitude == pytest.approx(11 * 249.0889, rel=1e-6)
    assert pressure._REGISTRY is registry()
    assert registry() is registry()


def test_unit_of_a_text_that_has_none():
    """What is no number and unit has no unit, nor has a text too long to be one."""
    assert unit_of("as1432-b/12.70 or so") == ""
    assert unit_of("1" * 100 + " m") == ""


HOSTILE = st.text(
    alphabet="0123456789.,eE+-*/ %°'\"\u2032\u2033mkPabrinftH2OMJhWw.cUSgal\u0663\uff13\x00\n\t_", max_size=80
)


@given(text=st.one_of(st.text(max_size=200), HOSTILE), dimension=st.sampled_from(DIMENSIONS))
@example(text="1" * 1_000_000 + " x y", dimension=units.LENGTH)
@example(text="1 " * 500_000, dimension=units.LENGTH)
@example(text="9" * 59 + "e", dimension=units.LENGTH)
@settings(max_examples=500, deadline=None)
def test_any_text(text, dimension):
    """Any text is read as a finite SI float or refused by UnitError, and either takes next to no time."""
    start = time.process_time()
    refused = None
    try:
        value, unit, dimension_read = number_and_unit(text, dimension)
    except UnitError as error:
        refused = error
    if refused is not None:
        assert refused.what.isprintable()
        assert refused.fit.isprintable()
        assert len(refused.what) < 120
    else:
        assert dimension_read is dimension
        assert unit in dimension.units
        assert math.isfinite(value)
        assert re.search(units.pattern_of(dimension), text.strip()), text  # an editor takes what is taken
    assert time.process_time() - start < 0.25


@given(value=st.floats(allow_nan=False, allow_infinity=False), pair=st.sampled_from(PAIRS))
@settings(max_examples=300, deadline=None)
def test_any_float_as_python_writes_it(value, pair):
    """Every finite float, written as Python writes it, is read as the same float."""
    dimension, unit = pair
    assert number_and_unit(f"{value!r} {unit}", dimension) == (value, unit, dimension)
