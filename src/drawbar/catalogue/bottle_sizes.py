"""Bottles of the usual sizes, as in data/cylinders.yaml, and how heat gets into them, as in data/vaporisation.yaml."""

from __future__ import annotations

from typing import NamedTuple

from drawbar import units
from drawbar.catalogue.common_fields import SOURCE_FIELD, TITLE_FIELD
from drawbar.job import OfftakeFit
from drawbar.yamlfile.bounds import DIAMETER, TARE, WATER_CAPACITY
from drawbar.yamlfile.entry import Entry, required
from drawbar.yamlfile.fields import Field, Record
from drawbar.yamlfile.nodes import Position
from drawbar.yamlfile.scalars import Choice, Name, of

BOTTLE_SIZE = Record(
    {
        "title": TITLE_FIELD,
        "series": Field(Name(), "what the sizes share that are sold and filled beside each other"),
        "gas": Field(of(units.MASS, "0.1 kg", "500 kg"), "the gas it holds when full", required=True),
        "diameter": Field(DIAMETER, "outside diameter", required=True),
        "height": Field(of(units.LENGTH, "50 mm", "3 m"), "height over all"),
        "water-capacity": Field(WATER_CAPACITY, "the whole volume inside", required=True),
        "tare": Field(TARE, "its mass when empty", required=True),
        "wall": Field(Choice({wall: wall for wall in ("metal", "composite")}), "what its wall is; metal if not given"),
        "source": SOURCE_FIELD,
    }
)


class BottleSize(NamedTuple):
    """A usual size: the gas it holds [kg], its dimensions [m], water capacity [m3] and mass when empty [kg].

    `series` is the same for sizes that are sold and filled beside each other; None where that is not known. A composite
    wall lets less heat in.
    """

    name: str
    title: str
    series: str | None
    gas_kg: float
    diameter_m: float
    height_m: float | None
    water_capacity_m3: float
    tare_kg: float
    is_composite: bool
    source: str
    place: Position


class Vaporisation(NamedTuple):
    """How heat gets into a bottle, and how low its pressure may fall; `source` has where each figure stands.

    Attributes
    ----------
    coefficient_w_m2_k : float
        Heat from the air through the wetted wall, of metal [W/m2/K].
    composite_w_m2_k : float
        The same through a composite wall [W/m2/K].
    fit_left_kg : tuple of float
        Least and most of the gas left in a bottle that the coefficient was fitted over [kg].
    fit_air_k : tuple of float
        Least and most of the temperature of the air that it was fitted over [K].
    fit_within : float
        How far the table's cells are from it there, a share [-].
    trade_continuous_kg_h : list of list of float
        A second published table: the gas a bottle holds [kg], and what it is taken to give without a break [kg/h].
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
    composite_w_m2_k: float
    fit_left_kg: tuple[float, float]
    fit_air_k: tuple[float, float]
    fit_within: float
    trade_continuous_kg_h: list[list[float]]
    steel_j_kg_k: float
    low_pressure_outlet_pa: float
    inlet_min_pa: float
    inlet_over_outlet_pa: float
    source: dict[str, str]

    def coefficient_of(self, size: BottleSize | None) -> tuple[float, str]:
        """Return the heat through the wetted wall of a usual size [W/m2/K] and its source; None is one of metal."""
        if size is not None and size.is_composite:
            return self.composite_w_m2_k, self.source["composite_w_m2_k"]
        return self.coefficient_w_m2_k, self.source["coefficient_w_m2_k"]

    def fit_of(self, gas_kg: float) -> OfftakeFit:
        """Return what the offtake of a bottle that holds gas_kg [kg] goes by."""
        no_larger = [(kg, kg_h) for kg, kg_h in self.trade_continuous_kg_h if kg <= gas_kg]
        trade_kg, trade_kg_h = max(no_larger, default=(None, None))
        return OfftakeFit(
            left_kg=(self.fit_left_kg[0], self.fit_left_kg[1]),
            air_k=(self.fit_air_k[0], self.fit_air_k[1]),
            share=self.fit_within,
            beyond=self.source["fit"],
            trade_bottle_kg=trade_kg,
            trade_kg_s=trade_kg_h / 3600.0 if trade_kg_h is not None else None,
            trade_source=self.source["trade_continuous_kg_h"],
        )


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
        is_composite=entry.text("wall") == "composite",
        source=required(entry.text("source")),
        place=place,
    )
