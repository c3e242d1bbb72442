"""Working pressures to take to the job, and what the readings brought back say about the line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from drawbar.job import Job
from drawbar.line.plugging import Plugged
from drawbar.onsite.fault_fitting import Finding, Reading, find
from drawbar.onsite.testpoints import Model, Place, Setup, pluggings

if TYPE_CHECKING:
    from drawbar.onsite.readings import Readings

TOLERANCE = 3.0  # times the manometer's standard deviation: one good reading in 370 falls outside


@dataclass(frozen=True, slots=True)
class Row:
    """A test point with what it should show at rated input and with fixed orifices [Pa gauge]."""

    place: Place
    rated_gauge_pa: float
    orifice_gauge_pa: float


@dataclass(frozen=True, slots=True)
class StateTable:
    """The test points of a state in its worst way of plugging; no rows where the ways are too many to try."""

    state: str
    way: tuple[Plugged, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading beside what it should be [Pa gauge]."""

    measured: Reading
    predicted_gauge_pa: float

    @property
    def difference_pa(self) -> float:
        """Measured less predicted [Pa]."""
        return self.measured.gauge_pa - self.predicted_gauge_pa

    @property
    def is_within(self) -> bool:
        """Tell whether it is within tolerance."""
        return abs(self.difference_pa) <= TOLERANCE * self.measured.noise_pa


@dataclass(frozen=True, slots=True)
class Commissioning:
    """A job's readings beside the predicted pressures, and what they point at."""

    job: Job
    readings: Readings
    fixed_orifice: bool
    compared: tuple[Compared, ...]
    finding: Finding

    @property
    def is_clear(self) -> bool:
        """Tell whether all readings are within tolerance and no part is blamed."""
        return not self.finding.is_blamed and all(one.is_within for one in self.compared)


def tables(job: Job) -> list[StateTable]:
    """Return the test points of every state with their predicted pressures."""
    rated, orifice = Model(job, fixed_orifice=False), Model(job, fixed_orifice=True)
    found = []
    for ways in pluggings(job):
        setup = ways.worst()
        if setup is None:
            found.append(StateTable(ways.state.name, (), ()))
            continue
        at_rated, at_orifice = rated.gauge_pa(setup), orifice.gauge_pa(setup)
        rows = tuple(Row(place, at_rated[place.name], at_orifice[place.name]) for place in rated.places(setup))
        found.append(StateTable(setup.state.name, setup.way, rows))
    return found


def compare_readings(job: Job, readings: Readings, *, fixed_orifice: bool) -> Commissioning:
    """Set the readings of a job beside the predicted pressures, and find the part that explains the difference."""
    model = Model(job, fixed_orifice=fixed_orifice)
    predicted: dict[int, dict[str, float]] = {}
    setups: list[Setup] = []
    compared = []
    for one in readings.measured:
        if one.setup not in setups:
            setups.append(one.setup)
            predicted[len(setups) - 1] = model.gauge_pa(one.setup)
        compared.append(Compared(one, predicted[setups.index(one.setup)][one.at]))
    return Commissioning(job, readings, fixed_orifice, tuple(compared), find(model, readings.measured))
