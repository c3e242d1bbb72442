"""Figures in the units that a job file is written in."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from drawbar import units
from drawbar.display_units import Display

if TYPE_CHECKING:
    from drawbar.physics.gas import Gas

MJ_H = 0.0036
"""A watt in MJ/h, for scripts, whose figures are in MJ/h whatever the units of the job."""

_PRESSURE_DIGITS = {"Pa": 0, "kPa": 3, "mbar": 2, "bar": 5, "mmH2O": 1, "inH2O": 3, "psi": 4}
_HEAT_DIGITS = {"MJ/h": 1, "kW": 2, "W": 0, "Btu/h": 0}
_LENGTH_DIGITS = {"m": 2, "ft": 1}
_BORE_DIGITS = {"mm": 2, "in": 3}
_GAUGE_DIGITS = {"kPa": 0, "bar": 2, "psi": 1}
_WATER_PRESSURE_DIGITS = {"kPa": 1, "bar": 3, "psi": 2}
_VOLUME_DIGITS = {"L": 3, "ft3": 4}
_WATER_DIGITS = {"L": 2, "USgal": 2}
_AREA_DIGITS = {"mm2": 0, "in2": 1}
_MINUTE_S = 60.0
_HOUR_S = 3600.0
_WHOLE_LEAK = 100.0  # from here a leak is told in whole units


class Shown:
    """Writes SI floats as text in a job's own units."""

    def __init__(self, display: Display) -> None:
        self.display = display

    def pressure(self, pa: float) -> str:
        """Return a pressure [Pa] as a bare figure."""
        return self._figure(pa, self.display.pressure, units.PRESSURE, _PRESSURE_DIGITS)

    def heat(self, w: float) -> str:
        """Return a heat rate [W] as a bare figure."""
        return self._figure(w, self.display.heat, units.HEAT_RATE, _HEAT_DIGITS)

    def length(self, m: float) -> str:
        """Return a length [m] as a bare figure."""
        return self._figure(m, self.display.length, units.LENGTH, _LENGTH_DIGITS)

    def bore(self, m: float) -> str:
        """Return a bore [m] as a bare figure."""
        return self._figure(m, self.display.bore, units.LENGTH, _BORE_DIGITS)

    def pressure_unit(self, pa: float) -> str:
        """Return a pressure [Pa] with its unit, without the zeros at its end; to one figure where it is very small."""
        text = _short(self.pressure(pa))
        if pa and float(text) == 0.0:
            text = f"{units.from_si(pa, self.display.pressure, units.PRESSURE):.1g}"
        return f"{text} {self.display.pressure}"

    def heat_unit(self, w: float) -> str:
        """Return a heat rate [W] with its unit."""
        return f"{_short(self.heat(w))} {self.display.heat}"

    def length_unit(self, m: float) -> str:
        """Return a length [m] with its unit."""
        return f"{_short(self.length(m))} {self.display.length}"

    def temperature_unit(self, k: float) -> str:
        """Return a temperature [K] with its unit, to a tenth."""
        return f"{_short(self.temperature(k))} {self.display.temperature}"

    @property
    def speed_unit(self) -> str:
        """The unit of speeds, as that of lengths."""
        return f"{self.display.length}/s"

    def speed(self, m_s: float) -> str:
        """Return a speed [m/s] as a bare figure."""
        return f"{units.from_si(m_s, self.display.length, units.LENGTH):.1f}"

    def bore_unit(self, m: float) -> str:
        """Return a bore [m] with its unit."""
        return f"{_short(self.bore(m))} {self.display.bore}"

    def temperature(self, k: float, digits: int = 1) -> str:
        """Return a temperature [K] as a bare figure, to a tenth or to the digits asked for."""
        return self._figure(k, self.display.temperature, units.TEMPERATURE, {self.display.temperature: digits})

    @property
    def difference_unit(self) -> str:
        """The unit of differences of temperature."""
        return "degF" if self.display.temperature == "degF" else "K"

    def difference(self, k: float) -> str:
        """Return a difference of temperature [K] as a bare figure, to a tenth."""
        return f"{k * (1.8 if self.display.temperature == 'degF' else 1.0):.1f}"

    def difference_short(self, k: float, figures: int = 2) -> str:
        """Return a difference of temperature [K] with its unit, to so many figures."""
        return f"{k * (1.8 if self.display.temperature == 'degF' else 1.0):.{figures}g} {self.difference_unit}"

    def gauge(self, pa: float) -> str:
        """Return the pressure in a bottle or before a second stage [Pa gauge] as a bare figure, as a gauge shows it."""
        return self._figure(pa, self.display.gauge, units.PRESSURE, _GAUGE_DIGITS)

    def gauge_unit(self, pa: float) -> str:
        """Return the pressure in a bottle or before a second stage [Pa gauge] with its unit."""
        return f"{_short(self.gauge(pa))} {self.display.gauge}"

    def water_pressure(self, pa: float) -> str:
        """Return a pressure or a drop of water [Pa] as a bare figure, in the unit that a gauge shows."""
        return self._figure(pa, self.display.gauge, units.PRESSURE, _WATER_PRESSURE_DIGITS)

    def water_pressure_unit(self, pa: float) -> str:
        """Return a pressure or a drop of water [Pa] with its unit."""
        return f"{_short(self.water_pressure(pa))} {self.display.gauge}"

    def volume(self, m3: float) -> str:
        """Return a volume of gas, or of what a line holds [m3], as a bare figure."""
        return self._figure(m3, self.display.volume, units.VOLUME, _VOLUME_DIGITS)

    def volume_unit(self, m3: float) -> str:
        """Return a volume of gas, or of what a line holds [m3], with its unit."""
        return f"{_short(self.volume(m3))} {self.display.volume}"

    def leak_unit(self, m3_s: float) -> str:
        """Return a leak [m3/s] with its unit, to two figures."""
        return f"{self.leak(m3_s)} {self.display.volume}/h"

    def leak(self, m3_s: float) -> str:
        """Return a leak [m3/s] as a bare figure, to two figures and without a power of ten."""
        value = units.from_si(m3_s * _HOUR_S, self.display.volume, units.VOLUME)
        if value >= _WHOLE_LEAK or value <= 0.0:
            return f"{value:.0f}"
        return _short(f"{value:.{max(0, 1 - math.floor(math.log10(value)))}f}")

    @property
    def water_name(self) -> str:
        """The unit of volumes of water as people write it; which gallon it is, is said."""
        return self.display.water.replace("USgal", "US gal")

    def water(self, m3: float) -> str:
        """Return a volume of water [m3] as a bare figure."""
        return self._figure(m3, self.display.water, units.VOLUME, _WATER_DIGITS)

    def water_unit(self, m3: float) -> str:
        """Return a volume of water [m3] with its unit."""
        return f"{_short(self.water(m3))} {self.water_name}"

    def water_flow(self, m3_s: float) -> str:
        """Return a flow of water [m3/s] as a bare figure, a minute's."""
        return self.water(m3_s * _MINUTE_S)

    def water_flow_unit(self, m3_s: float) -> str:
        """Return a flow of water [m3/s] with its unit."""
        return f"{self.water_unit(m3_s * _MINUTE_S)}/min"

    def mass(self, kg: float, digits: int = 2) -> str:
        """Return a mass [kg] as a bare figure, to a hundredth or to the digits asked for."""
        return self._figure(kg, self.display.mass, units.MASS, {self.display.mass: digits})

    def mass_unit(self, kg: float) -> str:
        """Return a mass [kg] with its unit."""
        return f"{_short(self.mass(kg))} {self.display.mass}"

    def mass_flow(self, kg_s: float) -> str:
        """Return a mass flow [kg/s] as a bare figure, an hour's."""
        return self.mass(kg_s * _HOUR_S)

    def mass_flow_unit(self, kg_s: float) -> str:
        """Return a mass flow [kg/s] with its unit."""
        return f"{self.mass_unit(kg_s * _HOUR_S)}/h"

    def area_unit(self, m2: float) -> str:
        """Return the area of a vent [m2] with its unit."""
        value = units.from_si(m2, self.display.area, units.AREA)
        return f"{value:,.{_AREA_DIGITS[self.display.area]}f} {self.display.area}"

    @staticmethod
    def _figure(si: float, unit: str, dimension: units.Dimension, digits: dict[str, int]) -> str:
        text = f"{units.from_si(si, unit, dimension):.{digits[unit]}f}"
        return text.removeprefix("-") if float(text) == 0.0 else text


def gas_words(gas: Gas) -> str:
    """Return what a gas is made of."""
    return " and ".join(
        f"{share * 100:.3g} % {component.name}" if share < 1.0 else component.name for component, share in gas.fractions
    )


def _short(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text
