"""Figures that job files and library files both have, with the bounds between which they can be right."""

from __future__ import annotations

from drawbar import units
from drawbar.yamlfile.scalars import Choice, Quantity, of

# A rate at which an appliance burns, or a part passes, gas: as heat, mass or volume (at 15 degC and 101.325 kPa).
HEAT = Quantity((units.HEAT_RATE, units.GAS_MASS_FLOW, units.GAS_VOLUME_FLOW), "0.1 MJ/h", "5000 MJ/h")
BASIS = Choice({"gross": "gross", "net": "net"})
GAUGE = of(units.PRESSURE, "0.5 kPa", "1000 kPa")
DROP = of(units.PRESSURE, "1 Pa", "100 kPa")
DIAMETER = of(units.LENGTH, "50 mm", "1.5 m")
WATER_CAPACITY = of(units.VOLUME, "0.2 L", "1000 L")
TARE = of(units.MASS, "0.1 kg", "500 kg")
