"""The standard atmosphere and the density of dry air."""

import pytest
from CoolProp.CoolProp import PropsSI

from drawbar.physics.air import ALTITUDE_RANGE_M, REFERENCE_K, STANDARD_PA, air_density_kg_m3, standard_atmosphere_pa


# ISO 2533:1975, table by geopotential altitude; the same figures stand in the ICAO Standard Atmosphere (Doc 7488).
# The tolerance is half a unit of the last printed digit, 0.05 Pa, and the rounding of the constants.
@pytest.mark.parametrize(
    ("altitude_m", "abs_pa"),
    [
        (0, 101325.0),
        (500, 95460.8),
        (1000, 89874.6),
        (1500, 84556.0),
        (2000, 79495.2),
        (4000, 61640.2),
        (5000, 54019.9),
    ],
)
def test_pressure_is_that_of_the_published_table(altitude_m, abs_pa):
    """The pressure agrees with every figure of the table to its last digit."""
    assert standard_atmosphere_pa(altitude_m) == pytest.approx(abs_pa, abs=0.06)


# ISO 2533:1975: 1.225 kg/m3 at sea level, 1.11164 kg/m3 at 1000 m (281.650 K), 0.736116 kg/m3 at 5000 m (255.650 K).
@pytest.mark.parametrize(
    ("abs_pa", "temperature_k", "density_kg_m3"),
    [(101325.0, 288.15, 1.225), (89874.6, 281.650, 1.11164), (54019.9, 255.650, 0.736116)],
)
def test_density_is_that_of_the_published_table(abs_pa, temperature_k, density_kg_m3):
    """Within 0.005 %: the table's gas constant is 8.31432 J/mol/K, ours is today's."""
    assert air_density_kg_m3(abs_pa, temperature_k) == pytest.approx(density_kg_m3, rel=5e-5)


@pytest.mark.parametrize("temperature_k", [223.15, 253.15, 288.15, 323.15])
def test_density_is_within_a_fifth_of_a_percent_of_real_air(temperature_k):
    """CoolProp's real dry air is the reference; the docstring states the bound."""
    real_kg_m3 = PropsSI("D", "T", temperature_k, "P", STANDARD_PA, "Air")
    assert air_density_kg_m3(STANDARD_PA, temperature_k) == pytest.approx(real_kg_m3, rel=0.002)


def test_pressure_falls_with_height():
    """Every step up has less air above it."""
    heights_m = range(-2000, 11001, 250)
    pressures_pa = [standard_atmosphere_pa(height_m) for height_m in heights_m]
    assert pressures_pa == sorted(pressures_pa, reverse=True)


def test_pressure_carries_the_air_between_two_heights():
    """The step of pressure over 10 m is the weight of the air in between."""
    step_pa = standard_atmosphere_pa(0.0) - standard_atmosphere_pa(10.0)
    assert step_pa == pytest.approx(air_density_kg_m3(STANDARD_PA, REFERENCE_K) * 9.80665 * 10.0, rel=1e-3)


@pytest.mark.parametrize("altitude_m", [-2000.1, 11000.1, float("nan"), float("inf")])
def test_outside_the_troposphere_is_refused(altitude_m):
    """The formula is not stretched past its range, and a not-a-number is not let through."""
    with pytest.raises(ValueError, match=r"altitude \S+ m is outside the standard atmosphere's -2000 m to 11000 m"):
        standard_atmosphere_pa(altitude_m)


def test_both_ends_of_the_range_are_allowed():
    """The range is closed."""
    assert [standard_atmosphere_pa(end_m) > 0.0 for end_m in ALTITUDE_RANGE_M] == [True, True]
