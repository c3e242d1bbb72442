"""Working pressures to take to the job, and what the readings brought back say about the line."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drawbar.job import ROOT, Job, Regulator, decided
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.onsite.fault_fitting import DEFAULT_NOISE_PA, TOLERANCE, Finding, Reading, diagnose, setups_of
from drawbar.onsite.gas_of_day import on_the_day
from drawbar.onsite.next_reading import NextReading, can_look, next_reading
from drawbar.onsite.spread import allowances_of, is_too_much
from drawbar.onsite.straight_spread import spread_of
from drawbar.onsite.testpoints import Model, Place, lock_up_gauge_pa, pluggings, stage_point
from drawbar.verdict import Verdict

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
    deviation_pa : float
        How far a line with nothing wrong may be from that: its standard deviation, the manometer apart [Pa].
    limit_gauge_pa : float or None
        At an appliance, the least that it must have with the regulator at its set pressure [Pa gauge].
    """

    place: Place
    rated_gauge_pa: float
    orifice_gauge_pa: float
    deviation_pa: float = 0.0
    limit_gauge_pa: float | None = None


@dataclass(frozen=True, slots=True)
class ExpectedLockUp:
    """A regulator with what it may stand at while nothing burns.

    Attributes
    ----------
    name : str
        Its test point.
    least_gauge_pa, most_gauge_pa : float
        Between which pressures [Pa gauge].
    is_known : bool
        Whether the job says its lock-up; else it is our own choice of what a regulator may.
    """

    name: str
    least_gauge_pa: float
    most_gauge_pa: float
    is_known: bool


@dataclass(frozen=True, slots=True)
class StateTable:
    """The test points of a state in its worst combination.

    Attributes
    ----------
    state : str
        The name of the state.
    way : tuple of Plugged
        What is plugged in where.
    rows : tuple of ExpectedPressure
        From the regulator on; none where the combinations are too many to try.
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
    lock_ups : tuple of ExpectedLockUp
        Each regulator with nothing on.
    first : NextReading or None
        The reading to begin with, where it was asked for.
    is_straight : bool
        Whether the job is so large that every change is taken as straight in the deviations.
    """

    job: Job
    states: tuple[StateTable, ...]
    lock_ups: tuple[ExpectedLockUp, ...] = ()
    first: NextReading | None = None
    is_straight: bool = False


@dataclass(frozen=True, slots=True)
class Compared:
    """A reading beside what it should be.

    Attributes
    ----------
    measured : Reading
        What was read.
    predicted_gauge_pa : float
        What it should be with nothing wrong [Pa gauge].
    deviation_pa : float
        How far a reading with nothing wrong may be from that: the standard deviation of line and manometer [Pa].
    goes_with_others : bool
        Whether it is about what the other readings foretell of it, with nothing wrong.
    """

    measured: Reading
    predicted_gauge_pa: float
    deviation_pa: float
    goes_with_others: bool

    @property
    def difference_pa(self) -> float:
        """Measured less predicted [Pa]."""
        return self.measured.gauge_pa - self.predicted_gauge_pa

    @property
    def is_within(self) -> bool:
        """Tell whether it is within tolerance."""
        if abs(self.difference_pa) <= TOLERANCE * self.measured.noise_pa:
            return True
        return self.goes_with_others and abs(self.difference_pa) <= TOLERANCE * self.deviation_pa


@dataclass(frozen=True, slots=True)
class OutsideLimit:
    """A reading at an appliance that has less pressure than it must have, or more than it may.

    Attributes
    ----------
    measured : Reading
        What was read.
    limit_gauge_pa : float
        The least or the most that it may be [Pa gauge].
    """

    measured: Reading
    limit_gauge_pa: float

    @property
    def is_below(self) -> bool:
        """Tell whether it is too low, or too high."""
        return self.measured.gauge_pa < self.limit_gauge_pa


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
    outside_limit : tuple of OutsideLimit
        The readings at appliances that are below the allowed drop or the appliance's least pressure, or above its
        greatest; and of regulators above their lock-up.
    unread : tuple of str
        The appliances that are on in some state and were not read in any.
    next_reading : NextReading or None
        The reading that would best tell apart what is left; None where the part is found, or none would tell much.
    is_next_open : bool
        Whether none was looked for, as the job has too many parts.
    """

    job: Job
    readings: Readings
    fixed_orifice: bool
    compared: tuple[Compared, ...]
    finding: Finding
    outside_limit: tuple[OutsideLimit, ...]
    unread: tuple[str, ...]
    next_reading: NextReading | None
    is_next_open: bool = False

    @property
    def is_clear(self) -> bool:
        """Tell whether all readings are within tolerance and limits, and no part is blamed."""
        is_within = all(compared.is_within for compared in self.compared)
        return is_within and not self.finding.is_blamed and not self.outside_limit

    @property
    def verdict(self) -> Verdict:
        """PASS where all is clear and every appliance was read, UNDECIDED where one was not, FAIL otherwise."""
        if not self.is_clear:
            return Verdict.FAIL
        return Verdict.UNDECIDED if self.unread else Verdict.PASS


def expected_pressures(job: Job, checked: CheckResult | None = None, *, advise: bool = False) -> ExpectedPressures:
    """Work out what every test point should show, in every state.

    Parameters
    ----------
    job : Job
        The job, with the sizes of its runs decided.
    checked : CheckResult or None
        The job's check, if it was made: its states are then not solved again.
    advise : bool
        Whether the reading to begin with is worked out.

    Returns
    -------
    ExpectedPressures
        The test points with their pressures [Pa gauge], each state in its worst combination.

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
    tables, setups = [], []
    for ways in pluggings(job, checked):
        setup = ways.worst()
        if setup is None:
            tables.append(StateTable(ways.state.name, (), ()))
            continue
        setups.append(setup)
        at_rated, at_orifice = rated.gauge_pa(setup), orifice.gauge_pa(setup)
        spread = spread_of(orifice, [setup], allowances_of(job), states=len(job.states))
        rows = tuple(
            ExpectedPressure(
                place,
                at_rated[place.name],
                at_orifice[place.name],
                math.sqrt(spread.variance_pa2((0, place.name))),
                _least_gauge_pa(orifice.line, Reading(setup, place.name, 0.0, 0.0), ()),
            )
            for place in rated.places(setup)
        )
        tables.append(StateTable(setup.state.name, setup.way, rows))
    lock_ups = tuple(_lock_up(name, regulator) for name, regulator in orifice.regulators.items())
    first = next_reading(orifice, setups, (), DEFAULT_NOISE_PA) if advise else None
    return ExpectedPressures(job, tuple(tables), lock_ups, first, is_too_much(job, len(job.states)))


def _lock_up(name: str, regulator: Regulator) -> ExpectedLockUp:
    least_pa, most_pa = lock_up_gauge_pa(regulator)
    is_known = regulator.lock_up_gauge_pa is not None or bool(regulator.curve and regulator.curve[0][0] == 0.0)
    return ExpectedLockUp(name, least_pa, most_pa, is_known)


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
    decided(job)
    model = Model(on_the_day(job, readings.day), fixed_orifice=fixed_orifice, plate_gas=job.gas)
    allowances = readings.allowances or allowances_of(job)
    measured = readings.measured
    setups = setups_of(measured)
    numbers = {setup: number for number, setup in enumerate(setups)}
    predicted, spread = [model.gauge_pa(setup) for setup in setups], spread_of(model, setups, allowances)
    finding = diagnose(model, measured, allowances, spread)
    compared = []
    for number, reading in enumerate(measured):
        point = (numbers[reading.setup], reading.at)
        deviation_pa = math.hypot(reading.noise_pa, math.sqrt(spread.variance_pa2(point)))
        compared.append(Compared(reading, predicted[point[0]][reading.at], deviation_pa, number not in finding.off))
    advised = None
    if not finding.is_found:
        worst = (ways.worst() for ways in pluggings(job))
        lit = [*setups, *(setup for setup in worst if setup is not None)]
        advised = next_reading(model, lit, measured, readings.noise_pa, allowances)
    return Commissioning(
        job=job,
        readings=readings,
        fixed_orifice=fixed_orifice,
        compared=tuple(compared),
        finding=finding,
        outside_limit=tuple(_outside_limit(model.line, measured)),
        unread=tuple(_unread(job, measured)),
        next_reading=advised,
        is_next_open=not (finding.is_found or can_look(model.job, len(setups))),
    )


def _unread(job: Job, readings: Sequence[Reading]) -> Iterator[str]:
    """Yield the appliances that are on in a state and were not read while they were on."""
    on = {name for state in job.states for name, _ in state.shares}
    read = {reading.at for reading in readings if reading.at in dict(reading.setup.state.shares)}
    yield from (appliance.name for appliance in job.appliances if appliance.name in on - read)


def _outside_limit(line: Line, readings: Sequence[Reading]) -> Iterator[OutsideLimit]:
    """Yield the readings at appliances below what they must have or above what they may, and lock-ups that are high."""
    appliances = {appliance.name: appliance for appliance in line.job.appliances}
    for reading in readings:
        least_pa = _least_gauge_pa(line, reading, readings)
        if least_pa is not None and reading.gauge_pa < least_pa:
            yield OutsideLimit(reading, least_pa)
        appliance = appliances.get(reading.at)
        most_pa = appliance.max_gauge_pa if appliance is not None else None
        if reading.at == ROOT and not reading.setup.state.shares:
            most_pa = line.job.regulator.lock_up_gauge_pa
        if most_pa is not None and reading.gauge_pa > most_pa:
            yield OutsideLimit(reading, most_pa)


def _least_gauge_pa(line: Line, reading: Reading, readings: Sequence[Reading]) -> float | None:
    """Return the least that an appliance must have where it is read [Pa gauge]; None where none is read.

    The allowed drop counts from the outlet of the last regulator: as it was read in the same setup, else as it is set.
    """
    job = line.job
    appliance = next((each for each in job.appliances if each.name == reading.at), None)
    if appliance is None or not reading.setup.state.shares:
        return None
    outlets = (plugged.outlet.at for plugged in reading.setup.way if plugged.appliance.name == reading.at)
    number = line.index[appliance.at or next(outlets)]
    stage = line.stage_of(number)
    point = ROOT if stage < 0 else stage_point(job.runs[stage].name)
    read = [other.gauge_pa for other in readings if (other.setup, other.at) == (reading.setup, point)]
    stage_gauge_pa = min(read, default=line.stage_gauge_pa[number])
    return max(stage_gauge_pa - job.allowed_drop_pa, appliance.min_gauge_pa)
