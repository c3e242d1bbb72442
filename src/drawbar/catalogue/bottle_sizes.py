"""Bottles of the usual sizes, as in data/cylinders.yaml, and how heat gets into them, as in data/vaporisation.yaml."""

from __future__ import annotations

from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.yamlfile.bounds import DIAMETER, TARE, WATER_CAPACITY
from drawbar.yamlfile.entry import Entry, required
from drawbar.yamlfile.fields import Field, Name, Record, of
from drawbar.yamlfile.nodes import Position

BOTTLE_SIZE = Record(
    {
        "title": TITLE_FIELD,
        "series": Field(Name(), "what the sizes share that are sold and filled beside each other"),
        "gas": Field(of(units.MASS, "0.1 kg", "500 kg"), "the gas it holds when full", required=True),
        "diameter": Field(DIAMETER, "outside diameter", required=True),
        "height": Field(of(units.LENGTH, "50 mm", "3 m"), "height over all"),
        "water-capacity": Field(WATER_CAPACITY, "the whole volume inside", required=True),
        "tare": Field(TARE, "its mass when empty", required=True),
        "source": SOURCE_FIELD,
    }
)


class BottleSize(NamedTuple):
    """A usual size: the gas it holds [kg], its dimensions [m], water capacity [m3] and mass when empty [kg].

    `series` is the same for sizes that are sold and filled beside each other; None where that is not known.
    """

    name: str
    title: str
    series: str | None
    gas_kg: float
    diameter_m: float
    height_m: float | None
    water_capacity_m3: float
    tare_kg: float
    source: str
    place: Position


class Vaporisation(NamedTuple):
    """How heat gets into a bottle, and how low its pressure may fall; `source` has where each figure stands.

    Attributes
    ----------
    coefficient_w_m2_k : float
        Heat from the air through the wetted wall [W/m2/K].
    steel_j_kg_k : float
        Heat capacity of the steel [J/kg/K].
    low_pressure_outlet_pa : float
        The highest outlet of a regulator that is taken for a low-pressure one [Pa gauge].
    inlet_min_pa : float
        The lowest inlet of a low-pressure regulator [Pa gauge].
    inlet_over_outlet_pa : float
        What any other needs above its outlet [Pa].
    source : dict of str to str
    """

    coefficient_w_m2_k: float
    steel_j_kg_k: float
    low_pressure_outlet_pa: float
    inlet_min_pa: float
    inlet_over_outlet_pa: float
    source: dict[str, str]


def bottle_size(name: str, entry: Entry, place: Position) -> BottleSize:
    """Return a size of bottle from its entry."""
    return BottleSize(
        name=name,
        title=required(entry.text("title")),
        series=entry.text("series"),
        gas_kg=required(entry.quantity("gas")),
        diameter_m=required(entry.quantity("diameter")),
        height_m=entry.quantity("height"),
        water_capacity_m3=required(entry.quantity("water-capacity")),
        tare_kg=required(entry.quantity("tare")),
        source=required(entry.text("source")),
        place=place,
    )
