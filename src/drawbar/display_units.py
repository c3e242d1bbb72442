"""The units in which a job's results are shown to a person: those of its file, or a system of units by name."""

from __future__ import annotations

from typing import NamedTuple

_GAUGE_BY_PRESSURE = {"mbar": "bar", "bar": "bar", "inH2O": "psi", "psi": "psi"}


class Display(NamedTuple):
    """The units that a job file is written in, in which its results are shown to a person.

    A file gives five of them; what it has no figure for follows its lengths: feet and inches go with cubic feet, US
    gallons, pounds and square inches.
    """

    pressure: str = "kPa"
    heat: str = "MJ/h"
    length: str = "m"
    bore: str = "mm"
    temperature: str = "degC"

    @property
    def is_us(self) -> bool:
        """Tell whether lengths are in feet."""
        return self.length == "ft"

    @property
    def gauge(self) -> str:
        """The unit that a gauge at a bottle, or upstream of a second stage, shows."""
        return _GAUGE_BY_PRESSURE.get(self.pressure, "kPa")

    @property
    def volume(self) -> str:
        """The unit of gas and of what a line holds."""
        return "ft3" if self.is_us else "L"

    @property
    def water(self) -> str:
        """The unit of volumes of water, as pint has it."""
        return "USgal" if self.is_us else "L"

    @property
    def mass(self) -> str:
        """The unit of masses."""
        return "lb" if self.is_us else "kg"

    @property
    def area(self) -> str:
        """The unit of a vent's area."""
        return "in2" if self.is_us else "mm2"


METRIC = Display()
UNIT_SYSTEMS = {
    "metric": METRIC,
    "mbar": Display(pressure="mbar", heat="kW"),
    "us": Display(pressure="inH2O", heat="Btu/h", length="ft", bore="in", temperature="degF"),
}
"""Units by name, for those who want others than the file's."""
