"""Which outlet leaves an appliance least pressure, where the pressure before each is known: told with few looks."""

from __future__ import annotations

from collections.abc import Sequence

from drawbar.job import Outlet
from drawbar.line.network import Line
from drawbar.line.section import Section

_HOPE_PA = 1e-3  # how much lower than by its estimate a pressure may be


def lowest_of_each_sort(
    line: Line, outlets: Sequence[Outlet], points_pa: Sequence[float]
) -> list[tuple[Outlet, float]]:
    """Return of the outlets that take alike the one with the lowest pressure before it.

    Parameters
    ----------
    line : Line
        The line that they are on.
    outlets : sequence of Outlet
        Those to choose among.
    points_pa : sequence of float
        The pressure before each [Pa absolute].

    Returns
    -------
    list of tuple of Outlet and float
        The first of several that are equal, with that pressure.
    """
    lowest: dict[tuple[float, ...], tuple[Outlet, float]] = {}
    for outlet, point_pa in zip(outlets, points_pa, strict=True):
        sort = line.tail(outlet, None)[0].sort
        if sort not in lowest or point_pa < lowest[sort][1]:
            lowest[sort] = outlet, point_pa
    return list(lowest.values())


def outlet_of_least(places: Sequence[tuple[Section, float, Outlet]], flow_kg_s: float) -> tuple[Outlet, float]:
    """Return the outlet behind which a flow [kg/s] has least pressure, the first of several, with that before it.

    Only the fittings' part is long to work out, and the drop of pipe grows faster than its length. So what the longest
    takes at the lowest pressure tells how low the pressure behind each of the others can be.

    Parameters
    ----------
    places : sequence of tuple of Section, float and Outlet
        The outlets of one stage, each as a section, with the pressure before it [Pa absolute].
    flow_kg_s : float
        What passes it [kg/s].

    Returns
    -------
    tuple of Outlet and float
    """
    if len(places) == 1:
        return places[0][2], places[0][1]
    lowest_pa = min(point_pa for _, point_pa, _ in places)
    most_pa: dict[tuple[float, float], tuple[float, float]] = {}  # by bore and roughness: the longest, what it takes
    for section, _, _ in places:
        kind = section.pipe.bore_m, section.pipe.roughness_m
        if kind not in most_pa or section.fittings_m > most_pa[kind][0]:
            taken_pa = lowest_pa - section.outlet_abs_pa(lowest_pa, flow_kg_s) - section.devices_pa(flow_kg_s)
            most_pa[kind] = section.fittings_m, taken_pa
    hopes = []
    for number, (section, point_pa, _) in enumerate(places):
        longest_m, taken_pa = most_pa[section.pipe.bore_m, section.pipe.roughness_m]
        share = section.fittings_m / longest_m if longest_m else 0.0
        hopes.append((point_pa - section.devices_pa(flow_kg_s) - share * taken_pa - _HOPE_PA, number))
    hopes.sort()
    best: tuple[float, int] | None = None
    for hope_pa, number in hopes:
        if best is not None and hope_pa > best[0]:
            break
        section, point_pa, _ = places[number]
        behind = section.outlet_abs_pa(point_pa, flow_kg_s), number
        best = behind if best is None else min(best, behind)
    assert best is not None  # there is an outlet
    return places[best[1]][2], places[best[1]][1]
