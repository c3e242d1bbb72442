"""The tightness of a line: its test, the verdict on two readings, what a manometer can see, the purge."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from drawbar.job import Job, decided
from drawbar.onsite.leak import leak_of_fall_m3_s, wait_for_fall_s
from drawbar.onsite.line_volume import TestSection, sections_of
from drawbar.onsite.purge import Purge, purges_of
from drawbar.onsite.tightness_reading import RESOLUTION_PA, THERMOMETER_K, TightnessReading, Visit, reading_of
from drawbar.onsite.tightness_verdict import reading_reasons
from drawbar.problems import close_to, shown
from drawbar.rules import TightnessTest
from drawbar.verdict import Reason, Verdict, verdict_of

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue

NO_FALL_SOURCE = "Energy Safe Victoria, gas information sheet 04: on LPG any loss of pressure is located and put right"

# The kinds of warning.
HOLDS_LITTLE = "holds less than the test is for"
WORKS_ABOVE_TEST = "works at more than the test's pressure"

_MOST_UNCERTAIN_K = 50.0


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


class TightnessWarning(NamedTuple):
    """A thing that a careful fitter would look at again.

    Attributes
    ----------
    kind : str
        HOLDS_LITTLE or WORKS_ABOVE_TEST.
    section : TestSection
        The section that it is about.
    """

    kind: str
    section: TestSection


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
    because : tuple of Reason
        Why the reading is not a PASS, by `tightness_verdict.reading_reasons`; empty without a reading.
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
    because: tuple[Reason, ...]
    purges: tuple[Purge, ...]

    @property
    def verdict(self) -> Verdict | None:
        """The verdict on what was read; None without a reading, as nothing was tested."""
        return None if self.reading is None else verdict_of(self.because)

    @property
    def passes(self) -> bool:
        """Tell whether there is a reading, and it was the test, passed."""
        return self.verdict is Verdict.PASS

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
        """Yield each thing about the line that a careful fitter would look at before the test."""
        if self.test is None:
            return
        for section in self.sections:
            if self.test.volume_min_m3 is not None and section.volume_m3 < self.test.volume_min_m3:
                yield TightnessWarning(HOLDS_LITTLE, section)
            # Once it was read, the verdict says whether the pressure was enough.
            if self.reading is None and section.gauge_pa > self.test.pressure_gauge_pa * 1.001:
                yield TightnessWarning(WORKS_ABOVE_TEST, section)


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
    settled_s: float | None = None,
    resolution_pa: float | None = None,
    thermometer_k: float = THERMOMETER_K,
    gas_change_k: float | None = None,
    leak_m3_s: float | None = None,
) -> Tightness:
    """Work out what a line holds, what its tightness test is and what readings mean.

    For a PASS the time between the readings, the time to settle and the step of the manometer must be said.

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
        Between the readings [s]; None if it is not known, and the time of the test is reckoned with.
    settled_s : float or None
        From filling to the first reading [s], None if it is not known.
    resolution_pa : float or None
        The step of the manometer [Pa]; None if it is not known, and RESOLUTION_PA is reckoned with.
    thermometer_k : float
        How far each temperature may be from that of the place where it was taken [K].
    gas_change_k : float or None
        How far the change of the gas's temperature may be from that of this place [K]; None for a default of `Visit`.
    leak_m3_s : float or None
        A leak, to be told how long it takes to show [m3/s].

    Returns
    -------
    Tightness
        Volume, test, reading with its verdict, and purge.

    Raises
    ------
    TightnessError
        If an argument can't be right beside the others, as temperatures without readings.
    ValueError
        If a run leaves its size open.
    """
    decided(job)
    for argument, value in (("time_s", time_s), ("resolution_pa", resolution_pa), ("leak_m3_s", leak_m3_s)):
        if value is not None and not value > 0.0:
            raise TightnessError(argument, f"{value:g} can't be right; give more than 0")
    visit = Visit(temperatures_k, time_s, settled_s, resolution_pa, thermometer_k, gas_change_k)
    _refuse_uncertain(visit, has_readings=readings_gauge_pa is not None)
    figures = _test_of(job, catalogue, test)
    sections = _sections_named(sections_of(job, hoses=hoses), section)
    if time_s is None and figures is not None:
        time_s = figures.hold_s
    reading: TightnessReading | None = None
    because: tuple[Reason, ...] = ()
    if readings_gauge_pa is not None:
        if time_s is None:
            raise TightnessError("time_s", "the test gives none, so say how far apart the readings are.")
        read = _section_read(sections)
        allowed_fall_pa = figures.allowed_fall_pa if figures else 0.0
        reading = reading_of(job, read, readings_gauge_pa, time_s, visit, allowed_fall_pa=allowed_fall_pa)
        because = reading_reasons(reading, read, figures)
    return Tightness(
        job=job,
        test=figures,
        sections=tuple(sections),
        resolution_pa=RESOLUTION_PA if resolution_pa is None else resolution_pa,
        time_s=time_s,
        leak_m3_s=leak_m3_s,
        reading=reading,
        because=because,
        purges=tuple(purges_of(job)),
    )


def _refuse_uncertain(visit: Visit, *, has_readings: bool) -> None:
    """Refuse what was said of readings that are not there, and figures of it that can't be right."""
    of_readings: dict[str, float | tuple[float, float] | None] = {
        "temperatures_k": visit.temperatures_k,
        "settled_s": visit.settled_s,
        "gas_change_k": visit.gas_change_k,
    }
    for argument, given in of_readings.items():
        if given is not None and not has_readings:
            raise TightnessError(argument, "goes with readings")
    if visit.settled_s is not None and not visit.settled_s >= 0.0:
        raise TightnessError("settled_s", f"{visit.settled_s:g} can't be right; give 0 or more")
    for argument, value in (("thermometer_k", visit.thermometer_k), ("gas_change_k", visit.gas_change_k)):
        if value is not None and not 0.0 <= value <= _MOST_UNCERTAIN_K:
            raise TightnessError(argument, f"{value:g} can't be right; give from 0 to {_MOST_UNCERTAIN_K:g}")


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


def _section_read(sections: Sequence[TestSection]) -> TestSection:
    """Return the section that readings are of."""
    if len(sections) > 1:
        names = [section.name for section in sections]
        raise TightnessError("section", f"the job has several stages; say which was read: {', '.join(names)}.", names)
    return sections[0]
