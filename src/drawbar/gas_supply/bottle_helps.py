"""What helps where bottles do not hold a state: each is worked out by the verdict on the changed job."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from drawbar.catalogue.bottle_sizes import BottleSize
from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.gas_supply.by_use import holds_surely
from drawbar.job import Cylinders, Job, State

DRAW_FROM_MORE, LARGER, FULLER, WARMER = "draw-from-more", "larger", "fuller", "warmer"
_MOST_TOGETHER = 10  # no manifold for more is advised
_COLDEST_K, _HOTTEST_K = 233.15, 318.15  # the weather that is looked through: -40 to 45 degC
_AIR_K, _FILL = 0.05, 0.001  # how closely air and fill are looked for
_DENSER = 1.02  # a usual size that holds so many times the job's gas by the litre is one for another gas


class Help(NamedTuple):
    """A change to the bottles with which a state passes.

    Attributes
    ----------
    state : str
        The state's name.
    kind : str
        DRAW_FROM_MORE, LARGER, FULLER or WARMER.
    bottles : Cylinders
        The bottles as changed; for WARMER in the coldest air in which the state passes.
    down_to_k : float or None
        The coldest air in which it passes so [K], no colder than -40 degC; None where that was not looked for.
    """

    state: str
    kind: str
    bottles: Cylinders
    down_to_k: float | None


def helps_for(job: Job, state: State, load_w: float, catalogue: Catalogue | None = None) -> Iterator[Help]:
    """Yield what makes bottles hold a state, a change of each kind alone.

    Parameters
    ----------
    job : Job
        As drawn, with bottles that do not surely hold the state.
    state : State
        Of the job, as it is used.
    load_w : float
        The most that can burn at once in it, as drawn [W].
    catalogue : Catalogue, optional
        What has the usual sizes; without it, the project's own data.

    Yields
    ------
    Help
        Of each kind at most a single change, the least that does.
    """
    bottles = job.cylinders
    assert bottles is not None  # the caller has looked

    def holds(changed: Cylinders) -> bool:
        return holds_surely(job, changed, state, load_w)

    def down_to_k(changed: Cylinders) -> float:
        return _coldest_k(job, state, load_w, changed, _COLDEST_K, bottles.ambient_k)

    more = next(filter(holds, _drawing(bottles, range(bottles.drawing + 1, _MOST_TOGETHER + 1))), None)
    if more is not None:
        yield Help(state.name, DRAW_FROM_MORE, more, down_to_k(more))
    larger = next(filter(holds, _larger(bottles, catalogue or shipped_catalogue())), None)
    if larger is not None:
        yield Help(state.name, LARGER, larger, down_to_k(larger))
    if bottles.fill < 1.0 and holds(replace(bottles, fill=1.0)):
        low, high = bottles.fill, 1.0
        while high - low > _FILL:
            middle = 0.5 * (low + high)
            low, high = (low, middle) if holds(replace(bottles, fill=middle)) else (middle, high)
        yield Help(state.name, FULLER, replace(bottles, fill=high), None)
    if holds(replace(bottles, ambient_k=_HOTTEST_K)):
        air_k = _coldest_k(job, state, load_w, bottles, bottles.ambient_k, _HOTTEST_K)
        yield Help(state.name, WARMER, replace(bottles, ambient_k=air_k), air_k)


def _drawing(bottles: Cylinders, numbers: range) -> list[Cylinders]:
    """Return the bottles with more drawn from at once; behind a changeover there are as many on the other side."""
    sides = 2 if bottles.has_changeover else 1
    return [replace(bottles, drawing=number, count=max(sides * number, bottles.count)) for number in numbers]


def _larger(bottles: Cylinders, catalogue: Catalogue) -> list[Cylinders]:
    """Return the usual sizes of the job's gas that hold more, the smallest first, as full as the job's.

    They are of the series of the job's own: a fitter in one country can't buy another's. Of bottles whose series is
    not known, any will do.
    """
    own = bottles.bottle
    series = next((size.series for size in catalogue.bottle_sizes if size.name == bottles.name), None)

    def suits(size: BottleSize) -> bool:
        if series not in (None, size.series):
            return False
        is_denser = size.gas_kg / size.water_capacity_m3 > _DENSER * own.gas_kg / own.water_capacity_m3
        return size.gas_kg > own.gas_kg * _DENSER and not is_denser

    def of(size: BottleSize) -> Cylinders:
        coefficient_w_m2_k, heat_source = catalogue.vaporisation.coefficient_of(size)
        bottle = own._replace(
            gas_kg=size.gas_kg,
            diameter_m=size.diameter_m,
            water_capacity_m3=size.water_capacity_m3,
            tare_kg=size.tare_kg,
            coefficient_w_m2_k=coefficient_w_m2_k,
        )
        return replace(
            bottles,
            size_kg=size.gas_kg,
            name=size.name,
            source=size.source,
            bottle=bottle,
            heat_source=heat_source,
        )

    return [of(size) for size in sorted(catalogue.bottle_sizes, key=lambda size: size.gas_kg) if suits(size)]


def _coldest_k(job: Job, state: State, load_w: float, bottles: Cylinders, low_k: float, high_k: float) -> float:  # noqa: PLR0913, PLR0917
    """Return the coldest air between two in which bottles hold a state [K], which they do at the second."""

    def holds(ambient_k: float) -> bool:
        return holds_surely(job, replace(bottles, ambient_k=ambient_k), state, load_w)

    if holds(low_k):
        return low_k
    while high_k - low_k > _AIR_K:
        middle_k = 0.5 * (low_k + high_k)
        low_k, high_k = (low_k, middle_k) if holds(middle_k) else (middle_k, high_k)
    return high_k
