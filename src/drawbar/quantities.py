"""Figures by their names: the unit that a name ends in, and the figure as a pint quantity."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from drawbar.units import registry

if TYPE_CHECKING:
    import pint

# What a figure's name ends in, and the unit that it is in. Gauge and absolute are said by the name alone.
UNIT_BY_ENDING = {
    "_pa": "Pa",
    "_pa2": "Pa2",
    "_per_pa": "1/Pa",
    "_pa_s": "Pa s",
    "pa_per_flow2": "Pa s2/kg2",  # a drop over the square of a mass flow
    "_kg": "kg",
    "_kg_s": "kg/s",
    "_kg_m": "kg/m",
    "_kg_m2_s": "kg/m2/s",
    "_kg_m3": "kg/m3",
    "_kg_mol": "kg/mol",
    "_m": "m",
    "_um": "um",
    "_m2": "m2",
    "m2_per_w": "m2/W",  # of vents for each watt
    "_m3": "m3",
    "_m3_s": "m3/s",
    "_m3_mol": "m3/mol",
    "_m_s": "m/s",
    "_s": "s",
    "_k": "K",
    "_w": "W",
    "_w_m2_k": "W/m2/K",
    "_j": "J",
    "_j_kg": "J/kg",
    "_j_kg_k": "J/kg/K",
    "_j_m3": "J/m3",
    "_j_mol": "J/mol",
}
_POWER = re.compile(r"(?<=[A-Za-z])(?=[2-9])")


def unit_of_name(name: str) -> str | None:
    """Tell which unit a figure is in by what its name ends in.

    Parameters
    ----------
    name : str
        The name, as `drop_pa` or `mass_flow_kg_s`.

    Returns
    -------
    str or None
        The unit as docstrings have it in brackets; None if the name ends in none.

    Examples
    --------
    >>> unit_of_name("mass_flow_kg_s")
    'kg/s'
    >>> unit_of_name("reynolds") is None
    True
    """
    endings = [ending for ending in UNIT_BY_ENDING if name.endswith(ending)]
    return UNIT_BY_ENDING[max(endings, key=len)] if endings else None


def quantity_of_name(value: float, name: str) -> pint.Quantity[float]:
    """Return a figure as a pint quantity of the project's registry, in the unit that its name ends in.

    Parameters
    ----------
    value : float
        The figure.
    name : str
        Its name, as `drop_pa`.

    Returns
    -------
    pint.Quantity
        The figure with its unit; a temperature is in kelvins, a pressure gauge or absolute as its name says.

    Raises
    ------
    ValueError
        If the name ends in no unit.

    Examples
    --------
    >>> quantity_of_name(2612.0, "gauge_pa").to("kPa").magnitude
    2.612
    """
    unit = unit_of_name(name)
    if unit is None:
        raise ValueError(f"{name} ends in no unit, as a figure with a unit does")
    return registry().Quantity(value, _POWER.sub("**", unit))
