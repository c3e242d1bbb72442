"""The tightness of a line: its test, what two readings mean, what a manometer can see, and what to look at again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from drawbar.job import Job, decided
from drawbar.onsite.leak import gauge_at_pa, leak_of_fall_m3_s, wait_for_fall_s
from drawbar.onsite.line_volume import TestSection, sections_of
from drawbar.onsite.purge import Purge, purges_of
from drawbar.problems import close_to, shown
from drawbar.rules import TightnessTest

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue

NO_FALL_SOURCE = "Energy Safe Victoria, gas information sheet 04: on LPG any loss of pressure is located and put right"
RESOLUTION_PA = 10.0
"""What a manometer shows if nothing else is given [Pa]: about a millimetre of water. Common practice, no source."""

# The kinds of warning.
HOLDS_LITTLE = "holds less than the test is for"
WORKS_ABOVE_TEST = "works at more than the test's pressure"
TOO_SHORT = "read too soon"
STARTS_LOW = "first reading under the test's pressure"
TEMPERATURE_DECIDES = "temperature changes the reading by a step or more"
NO_TEMPERATURES = "no temperatures were given"

_TOLERANCE_PA = 1e-6


class TightnessError(ValueError):
    """An argument of `tightness` that can't be right, or that is missing beside the others.

    Attributes
    ----------
    argument : str
        The name of the argument.
    reason : str
        What is wrong with it.
    choices : tuple of str
        The names that it may take, where it is missing.
    """

    def __init__(self, argument: str, reason: str, choices: Sequence[str] = ()) -> None:
        self.argument = argument
        self.reason = reason
        self.choices = tuple(choices)
        super().__init__(f"{argument}: {reason}")


@dataclass(frozen=True, slots=True)
class TightnessReading:
    """Two readings of a manometer on a section, and what they mean.

    Attributes
    ----------
    start_gauge_pa, end_gauge_pa : float
        As read [Pa gauge].
    start_k, end_k : float
        Temperature of the gas in the pipe at each [K].
    is_corrected : bool
        Whether the temperatures were given.
    time_s : float
        Between the readings [s].
    fall_pa : float
        Fall with the end put right to the start's temperature [Pa]; below 0 if the pressure rose.
    leak_m3_s : float
        What this fall means, as gas of 15 degC and 101325 Pa [m3/s].
    allowed_fall_pa : float
        The fall that the test allows [Pa].
    resolution_pa : float
        The step of the manometer [Pa].
    """

    start_gauge_pa: float
    end_gauge_pa: float
    start_k: float
    end_k: float
    is_corrected: bool
    time_s: float
    fall_pa: float
    leak_m3_s: float
    allowed_fall_pa: float
    resolution_pa: float

    @property
    def passes(self) -> bool:
        """Tell whether the fall is less than one step of the manometer over what is allowed."""
        return self._is_within(self.fall_pa)

    @property
    def passes_by_correction(self) -> bool:
        """Tell whether the readings would not pass as they stand, and do once put right for temperature."""
        return self.passes and not self._is_within(self.start_gauge_pa - self.end_gauge_pa)

    @property
    def rises(self) -> bool:
        """Tell whether the pressure rose by a step of the manometer or more, which no leak explains."""
        return -self.fall_pa >= self.resolution_pa - _TOLERANCE_PA

    @property
    def by_temperature_pa(self) -> float:
        """What the temperatures account for of the fall [Pa], below 0 for a fall that they make."""
        return self.fall_pa - (self.start_gauge_pa - self.end_gauge_pa)

    def _is_within(self, fall_pa: float) -> bool:
        return fall_pa < self.allowed_fall_pa + self.resolution_pa - _TOLERANCE_PA


class TightnessWarning(NamedTuple):
    """A thing that a careful fitter would look at again.

    Attributes
    ----------
    kind : str
        HOLDS_LITTLE, WORKS_ABOVE_TEST, TOO_SHORT, STARTS_LOW, TEMPERATURE_DECIDES or NO_TEMPERATURES.
    section : TestSection or None
        The section that it is about, None where it is about the readings.
    """

    kind: str
    section: TestSection | None = None


@dataclass(frozen=True, slots=True)
class Tightness:
    """A line's volume, test and purge.

    Attributes
    ----------
    job : Job
        The job.
    test : TightnessTest or None
        The test's figures, None where neither the rule set nor the call gives one.
    sections : tuple of TestSection
        What is tested, each behind a regulator.
    resolution_pa : float
        The step of the manometer [Pa].
    time_s : float or None
        Of the test or between the readings [s], None where nothing gives it.
    leak_m3_s : float or None
        The leak that was asked about [m3/s].
    reading : TightnessReading or None
        What was read.
    purges : tuple of Purge
        The purge through each appliance.
    """

    job: Job
    test: TightnessTest | None
    sections: tuple[TestSection, ...]
    resolution_pa: float
    time_s: float | None
    leak_m3_s: float | None
    reading: TightnessReading | None
    purges: tuple[Purge, ...]

    @property
    def passes(self) -> bool:
        """Tell whether the reading, if there is one, is within what is allowed."""
        return self.reading is None or self.reading.passes

    def gauge_pa(self, section: TestSection) -> float:
        """Return the pressure that a section is tested at [Pa gauge]."""
        return self.test.pressure_gauge_pa if self.test else section.gauge_pa

    def pa_per_k(self, section: TestSection) -> float:
        """Return what a kelvin changes at the test pressure [Pa/K]."""
        return (self.gauge_pa(section) + self.job.atmospheric_pa) / self.job.temperature_k

    def smallest_leak_m3_s(self, section: TestSection) -> float | None:
        """Return the leak that makes one step of the manometer in the time [m3/s], None where no time is known."""
        if self.time_s is None:
            return None
        return leak_of_fall_m3_s(section.volume_m3, self.resolution_pa, self.job.temperature_k, self.time_s)

    def wait_s(self, section: TestSection) -> float | None:
        """Return how long the leak asked about takes to make one step of the manometer [s], None if none was."""
        if self.leak_m3_s is None:
            return None
        return wait_for_fall_s(section.volume_m3, self.resolution_pa, self.job.temperature_k, self.leak_m3_s)

    def warnings(self) -> Iterator[TightnessWarning]:
        """Yield each thing that a careful fitter would look at again."""
        if self.test is not None:
            for section in self.sections:
                if self.test.volume_min_m3 is not None and section.volume_m3 < self.test.volume_min_m3:
                    yield TightnessWarning(HOLDS_LITTLE, section)
                if section.gauge_pa > self.test.pressure_gauge_pa * 1.001:
                    yield TightnessWarning(WORKS_ABOVE_TEST, section)
        reading = self.reading
        if reading is None:
            return
        if self.test is not None:
            if self.test.hold_s is not None and reading.time_s < self.test.hold_s:
                yield TightnessWarning(TOO_SHORT)
            if reading.start_gauge_pa < self.test.pressure_gauge_pa - reading.resolution_pa:
                yield TightnessWarning(STARTS_LOW)
        if abs(reading.by_temperature_pa) >= reading.resolution_pa:
            yield TightnessWarning(TEMPERATURE_DECIDES)
        if not reading.is_corrected:
            yield TightnessWarning(NO_TEMPERATURES)


def tightness_of(  # noqa: PLR0913 - a keyword for each thing that a visit may say or ask
    job: Job,
    catalogue: Catalogue,
    *,
    test: str | None = None,
    hoses: bool = False,
    section: str | None = None,
    readings_gauge_pa: tuple[float, float] | None = None,
    temperatures_k: tuple[float, float] | None = None,
    time_s: float | None = None,
    resolution_pa: float = RESOLUTION_PA,
    leak_m3_s: float | None = None,
) -> Tightness:
    """Work out what a line holds, what its tightness test is and what readings mean.

    Parameters
    ----------
    job : Job
        The job, with the sizes of its runs decided.
    catalogue : Catalogue
        Where the figures of the test stand.
    test : str or None
        The name of a test, None for that of the job's rule set.
    hoses : bool
        Whether the largest hoses that go on the outlets are counted.
    section : str or None
        In a job of several stages the section that is meant: `regulator`, or the run with a regulator of its own.
    readings_gauge_pa : tuple of float or None
        First and second reading [Pa gauge].
    temperatures_k : tuple of float or None
        Temperatures of the gas at the first and the second reading [K]; None if they were not taken.
    time_s : float or None
        Between the readings [s], None for the time of the test.
    resolution_pa : float
        The step of the manometer [Pa].
    leak_m3_s : float or None
        A leak, to be told how long it takes to show [m3/s].

    Returns
    -------
    Tightness
        Volume, test, reading and purge.

    Raises
    ------
    TightnessError
        If an argument can't be right beside the others, as a reading that rose.
    ValueError
        If a run leaves its size open.
    """
    decided(job)
    for argument, value in (("time_s", time_s), ("resolution_pa", resolution_pa), ("leak_m3_s", leak_m3_s)):
        if value is not None and not value > 0.0:
            raise TightnessError(argument, f"{value:g} can't be right; give more than 0")
    figures = _test_of(job, catalogue, test)
    sections = _sections_named(sections_of(job, hoses=hoses), section)
    if time_s is None and figures is not None:
        time_s = figures.hold_s
    reading = None
    if readings_gauge_pa is not None:
        _refuse_what_is_missing(sections, readings_gauge_pa, temperatures_k, time_s)
        assert time_s is not None  # refused above
        reading = reading_of(
            job,
            sections[0],
            readings_gauge_pa,
            time_s,
            test=figures,
            temperatures_k=temperatures_k,
            resolution_pa=resolution_pa,
        )
        if reading.rises:
            what = (
                f"put right for temperature the reading rose by {-reading.fall_pa:.0f} Pa; no leak does that. Let the "
                f"line settle and read again."
            )
            raise TightnessError("temperatures_k", what)
    elif temperatures_k is not None:
        raise TightnessError("temperatures_k", "goes with readings")
    return Tightness(job, figures, tuple(sections), resolution_pa, time_s, leak_m3_s, reading, tuple(purges_of(job)))


def _test_of(job: Job, catalogue: Catalogue, name: str | None) -> TightnessTest | None:
    """Return the test that is named, or that of the job's rule set."""
    if name is None:
        return catalogue.tightness_test(job.rule.name) if job.rule else None
    test = catalogue.tightness_test(name)
    if test is None:
        fit = close_to(name, catalogue.tightness_tests())
        raise TightnessError("test", f"{shown(name)} is not a test of the catalogue; {fit}")
    return test


def _sections_named(sections: Sequence[TestSection], name: str | None) -> Sequence[TestSection]:
    """Return the section that is named, or all."""
    if name is None:
        return sections
    named = [section for section in sections if section.name == name]
    if not named:
        fit = close_to(name, [section.name for section in sections])
        raise TightnessError("section", f"{shown(name)} has no regulator of its own; {fit}")
    return named


def _refuse_what_is_missing(
    sections: Sequence[TestSection],
    readings_gauge_pa: tuple[float, float],
    temperatures_k: tuple[float, float] | None,
    time_s: float | None,
) -> None:
    """Refuse readings that rose with no temperatures beside them, or of no known time or section."""
    start_gauge_pa, end_gauge_pa = readings_gauge_pa
    if temperatures_k is None and end_gauge_pa > start_gauge_pa:
        what = "the reading rose; no leak does that. Let the line settle and read again, or give both temperatures."
        raise TightnessError("readings_gauge_pa", what)
    if time_s is None:
        raise TightnessError("time_s", "the test gives none, so say how far apart the readings are.")
    if len(sections) > 1:
        names = [section.name for section in sections]
        raise TightnessError("section", f"the job has several stages; say which was read: {', '.join(names)}.", names)


def reading_of(  # noqa: PLR0913 - the readings, and all that they are judged by
    job: Job,
    section: TestSection,
    readings_gauge_pa: tuple[float, float],
    time_s: float,
    *,
    test: TightnessTest | None = None,
    temperatures_k: tuple[float, float] | None = None,
    resolution_pa: float = RESOLUTION_PA,
) -> TightnessReading:
    """Return what two readings on a section mean.

    Parameters
    ----------
    job : Job
        The job, which says the site's temperature and the atmosphere's pressure.
    section : TestSection
        What was tested.
    readings_gauge_pa : tuple of float
        First and second reading [Pa gauge].
    time_s : float
        Between them [s].
    test : TightnessTest or None
        The test that says what fall is allowed; without one, none is.
    temperatures_k : tuple of float or None
        Temperatures of the gas at the first and the second [K]; None for the site's, the same at both.
    resolution_pa : float
        The step of the manometer [Pa].

    Returns
    -------
    TightnessReading
        The fall at one temperature, and the leak that it means.
    """
    start_gauge_pa, end_gauge_pa = readings_gauge_pa
    start_k, end_k = temperatures_k or (job.temperature_k, job.temperature_k)
    fall_pa = start_gauge_pa - gauge_at_pa(end_gauge_pa, job.atmospheric_pa, end_k, start_k)
    return TightnessReading(
        start_gauge_pa=start_gauge_pa,
        end_gauge_pa=end_gauge_pa,
        start_k=start_k,
        end_k=end_k,
        is_corrected=temperatures_k is not None,
        time_s=time_s,
        fall_pa=fall_pa,
        leak_m3_s=leak_of_fall_m3_s(section.volume_m3, fall_pa, start_k, time_s),
        allowed_fall_pa=test.allowed_fall_pa if test else 0.0,
        resolution_pa=resolution_pa,
    )
