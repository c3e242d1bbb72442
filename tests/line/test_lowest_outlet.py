"""The outlet that leaves least pressure, told with few looks, is the one that looking at each of them gives."""

import random

import pytest

from drawbar.fixtures import Fitting
from drawbar.job import Outlet, Pipe
from drawbar.line.lowest_outlet import lowest_of_each_sort, outlet_of_least
from drawbar.line.network import Line
from drawbar.line.section import Section
from jobs import job_from

JOB = """
job: t
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa, capacity: 900 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/19.05, length: 1 m}
outlets:
  bay: {at: main, devices: none}
appliances:
  urn: {plugs-into: any, hose: none, input: 40 MJ/h}
"""


def outlets(chance: random.Random, line: Line, flow_kg_s: float) -> list[tuple[Section, float, Outlet]]:
    """Return outlets with the pressure before each, of which some leave all but the same behind them."""
    (bay,) = line.job.outlets
    places = []
    wanted_pa = line.source_abs_pa - 2_000.0
    for number in range(chance.randint(2, 9)):
        pipe = Pipe(f"p/{number}", chance.choice((0.0109, 0.0138)), chance.choice((1.5e-6, 0.0)), None, "")
        fittings = ((Fitting("elbow", chance.choice((0.0, chance.uniform(1.0, 900.0))), "made up"), 1),)
        outlet = bay._replace(name=f"bay-{number}", fittings=fittings)
        section = Section(outlet, pipe, 2750.0, line.conditions)
        # Behind it a pressure near that of the others, so that a poor estimate misses the lowest.
        before_pa = section.inlet_abs_pa(wanted_pa + chance.uniform(0.0, 0.01), flow_kg_s)
        places.append((section, before_pa, outlet))
    return places


@pytest.mark.parametrize("seed", range(60))
def test_it_is_the_lowest_of_all(seed: int) -> None:
    """To the last digit, among outlets that leave within a hundredth of a pascal of each other."""
    chance = random.Random(seed)
    line = Line(job_from(JOB))
    flow_kg_s = chance.uniform(5e-4, 5e-3)
    places = outlets(chance, line, flow_kg_s)
    behind_pa = [section.outlet_abs_pa(before_pa, flow_kg_s) for section, before_pa, _ in places]
    lowest = behind_pa.index(min(behind_pa))
    assert outlet_of_least(places, flow_kg_s) == (places[lowest][2], places[lowest][1])


def test_few_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of many outlets of one pipe with clearly different drops, one alone is worked out beside the longest."""
    line = Line(job_from(JOB))
    (bay,) = line.job.outlets
    pipe = Pipe("p", 0.0109, 1.5e-6, None, "")
    places = []
    for number in range(40):
        outlet = bay._replace(name=f"bay-{number}", fittings=((Fitting("elbow", 10.0 * (number + 1), "made up"), 1),))
        places.append((Section(outlet, pipe, 2750.0, line.conditions), line.source_abs_pa, outlet))
    looks = []
    exact = Section.outlet_abs_pa
    monkeypatch.setattr(Section, "outlet_abs_pa", lambda *args: looks.append(args) or exact(*args))
    assert outlet_of_least(places, 1e-3)[0].name == "bay-39"
    assert len(looks) <= 40 + 1  # the longest so far of a pipe, as they come; then the one


def test_of_those_that_take_alike_the_lowest_is_kept() -> None:
    """A longer fitting on a shorter pipe may add up to the same, and then takes alike; a difference does not."""
    line = Line(job_from(JOB))
    kept = lowest_of_each_sort(line, line.job.outlets * 3, [3.0, 1.0, 2.0])
    assert [pressure for _, pressure in kept] == [1.0]


def test_hoses_take_alike_by_length_and_fittings_together() -> None:
    """Of hoses as much longer as their fittings count for more, the longer is looked at: L/D of an elbow is 30."""
    text = JOB.replace("hose: none", "hose: any").replace(
        "appliances:",
        "hoses:\n"
        "  short: {pipe: hose/8, length: 0.8 m, fittings: {elbow-90: 1}, devices: none}\n"
        "  long: {pipe: hose/8, length: 1.04 m, fittings: {elbow-90: 2}, devices: none}\n"
        "appliances:",
    )
    line = Line(job_from(text))
    short, long = line.job.hoses
    assert [hose.name for hose in line.worst_hoses((short.name, long.name), 2750.0)] == ["long"]
