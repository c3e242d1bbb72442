"""Working pressures to take to the job, and what the readings brought back say about the line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drawbar.job import ROOT, Job, decided
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.onsite.fault_fitting import TOLERANCE, Finding, Reading, diagnose
from drawbar.onsite.testpoints import Model, Place, Setup, pluggings, stage_point

if TYPE_CHECKING:
    from drawbar.checking.results import CheckResult
    from drawbar.onsite.readings import Readings


@dataclass(frozen=True, slots=True)
class ExpectedPressure:
    """A test point with what it should show.

    Attributes
    ----------
    place : Place
        The test point.
    rated_gauge_pa : float
        Pressure with every burner at its rated input [Pa gauge].
    orifice_gauge_pa : float
        Pressure with every burner a fixed orifice [Pa gauge].
    """

    place: Place
    rated_gauge_pa: float
    orifice_gauge_pa: float


@dataclass(frozen=True, slots=True)
class StateTable:
    """The test points of a state in its worst way of plugging.

    Attributes
    ----------
    state : str
        The name of the state.
    way : tuple of Plugged
        What is plugged in where.
    rows : tuple of ExpectedPressure
        From the regulator on; none where the ways of plugging are too many to try.
    """

    state: str
    way: tuple[Plugged, ...]
    rows: tuple[ExpectedPressure, ...]


@dataclass(frozen=True, slots=True)
class ExpectedPressures:
    """The test points of a job in each of its states, with what they should show.

    Attributes
    ----------
    job : Job
        The job.
    states : tuple of StateTable
        A table for each state, in the order of the job.
    """

    job: Job
    states: tuple[StateTable, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading beside what it should be.

    Attributes
    ----------
    measured : Reading
        What was read.
    predicted_gauge_pa : float
        What it should be with nothing wrong [Pa gauge].
    """

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
class BelowLimit:
    """A reading at an appliance that has less pressure than it must have.

    Attributes
    ----------
    measured : Reading
        What was read.
    limit_gauge_pa : float
        The least that it may be [Pa gauge].
    """

    measured: Reading
    limit_gauge_pa: float


@dataclass(frozen=True, slots=True)
class Commissioning:
    """A job's readings beside the predicted pressures, and what they point at.

    Attributes
    ----------
    job : Job
        The job.
    readings : Readings
        What was read.
    fixed_orifice : bool
        Whether burners are taken as fixed orifices, or at rated input.
    compared : tuple of Compared
        Each reading, in the order of the file.
    finding : Finding
        The parts that explain the readings.
    below_limit : tuple of BelowLimit
        The readings at appliances that are below the allowed drop or the appliance's least pressure.
    """

    job: Job
    readings: Readings
    fixed_orifice: bool
    compared: tuple[Compared, ...]
    finding: Finding
    below_limit: tuple[BelowLimit, ...]

    @property
    def is_clear(self) -> bool:
        """Tell whether all readings are within tolerance and limits, and no part is blamed."""
        is_within = all(compared.is_within for compared in self.compared)
        return is_within and not self.finding.is_blamed and not self.below_limit


def expected_pressures(job: Job, checked: CheckResult | None = None) -> ExpectedPressures:
    """Work out what every test point should show, in every state.

    Parameters
    ----------
    job : Job
        The job, with the sizes of its runs decided.
    checked : CheckResult or None
        The job's check, if it was made: its states are then not solved again.

    Returns
    -------
    ExpectedPressures
        The test points with their pressures [Pa gauge], each state in its worst way of plugging.

    Raises
    ------
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> expected = drawbar.expected_pressures(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True))
    >>> [(row.place.name, round(row.rated_gauge_pa)) for row in expected.states[0].rows[:3]]
    [('regulator', 2750), ('main', 2729), ('fryer', 2706)]
    """
    decided(job)
    rated, orifice = Model(job, fixed_orifice=False), Model(job, fixed_orifice=True)
    tables = []
    for ways in pluggings(job, checked):
        setup = ways.worst()
        if setup is None:
            tables.append(StateTable(ways.state.name, (), ()))
            continue
        at_rated, at_orifice = rated.gauge_pa(setup), orifice.gauge_pa(setup)
        rows = tuple(
            ExpectedPressure(place, at_rated[place.name], at_orifice[place.name]) for place in rated.places(setup)
        )
        tables.append(StateTable(setup.state.name, setup.way, rows))
    return ExpectedPressures(job, tuple(tables))


def commission(job: Job, readings: Readings, *, fixed_orifice: bool | None = None) -> Commissioning:
    """Set the readings of a job beside the predicted pressures, and find the part that explains the difference.

    Parameters
    ----------
    job : Job
        The job, with the sizes of its runs decided.
    readings : Readings
        What was read, as `read_readings` gives it.
    fixed_orifice : bool or None
        Whether burners answer to a low pressure as fixed orifices, or not at all; None for what the readings say, and
        for orifices where they say nothing.

    Returns
    -------
    Commissioning
        Each reading with what it should be, and what they point at.

    Raises
    ------
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar, pathlib, tempfile
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "readings.yaml")
    ...     _ = file.write_text("readings: [{state: breakfast, at: fryer, pressure: 2.71 kPa}]")
    ...     readings = drawbar.read_readings(file, job)
    >>> drawbar.commission(job, readings).is_clear
    True
    """
    if fixed_orifice is None:
        fixed_orifice = readings.fixed_orifice is not False
    model = Model(decided(job), fixed_orifice=fixed_orifice)
    setups: list[Setup] = []
    predicted: list[dict[str, float]] = []
    compared = []
    for reading in readings.measured:
        if reading.setup not in setups:
            setups.append(reading.setup)
            predicted.append(model.gauge_pa(reading.setup))
        compared.append(Compared(reading, predicted[setups.index(reading.setup)][reading.at]))
    finding, below = diagnose(model, readings.measured), tuple(_below_limit(model.line, readings.measured))
    return Commissioning(job, readings, fixed_orifice, tuple(compared), finding, below)


def _below_limit(line: Line, readings: Sequence[Reading]) -> Iterator[BelowLimit]:
    """Yield the readings at appliances that are below what they must have.

    The allowed drop counts from the outlet of the last regulator: as it was read in the same setup, else as it is set.
    """
    job = line.job
    appliances = {appliance.name: appliance for appliance in job.appliances}
    for reading in readings:
        appliance = appliances.get(reading.at)
        if appliance is None:
            continue
        outlets = (plugged.outlet.at for plugged in reading.setup.way if plugged.appliance.name == reading.at)
        number = line.index[appliance.at or next(outlets)]
        stage = line.stage_of(number)
        point = ROOT if stage < 0 else stage_point(job.runs[stage].name)
        read = [other.gauge_pa for other in readings if (other.setup, other.at) == (reading.setup, point)]
        stage_gauge_pa = min(read, default=line.stage_gauge_pa[number])
        limit_gauge_pa = max(stage_gauge_pa - job.allowed_drop_pa, appliance.min_gauge_pa)
        if reading.gauge_pa < limit_gauge_pa:
            yield BelowLimit(reading, limit_gauge_pa)
