"""Figures in the units that a job file is written in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar import units
from drawbar.job import Display

if TYPE_CHECKING:
    from drawbar.physics.gas import Gas

MJ_H = 0.0036
"""A watt in MJ/h, for scripts, whose figures are in MJ/h whatever the units of the job."""

_PRESSURE_DIGITS = {"Pa": 0, "kPa": 3, "mbar": 2, "bar": 5, "mmH2O": 1, "inH2O": 3, "psi": 4}
_HEAT_DIGITS = {"MJ/h": 1, "kW": 2, "W": 0, "Btu/h": 0}
_LENGTH_DIGITS = {"m": 2, "ft": 1}
_BORE_DIGITS = {"mm": 2, "in": 3}


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
        value = units.from_si(k, self.display.temperature, units.TEMPERATURE)
        return f"{round(value, 1):g} {self.display.temperature}"

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

    @staticmethod
    def _figure(si: float, unit: str, dimension: units.Dimension, digits: dict[str, int]) -> str:
        text = f"{units.from_si(si, unit, dimension):.{digits[unit]}f}"
        return text.removeprefix("-") if float(text) == 0.0 else text


def gas_words(gas: Gas) -> str:
    """Return what a gas is made of."""
    return " and ".join(
        f"{share * 100:g} % {component.name}" if share < 1.0 else component.name for component, share in gas.fractions
    )


def _short(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text
