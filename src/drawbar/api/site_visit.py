"""What is taken to the job and brought back from it: test figures, pressures to expect, readings."""

from __future__ import annotations

from typing import NamedTuple

import drawbar.onsite.commission as _commission
import drawbar.onsite.tightness as _tightness
from drawbar.api.files import shipped_catalogue
from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job, TightnessTest, decided
from drawbar.onsite.commission import Commissioning, StateTable
from drawbar.onsite.readings import Readings
from drawbar.onsite.tightness import RESOLUTION_PA, Reading, TestSection, Tightness


def tightness(  # noqa: PLR0913 - a keyword for each thing that a visit may say or ask
    job: Job,
    catalogue: Catalogue | None = None,
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
    """Work out what a line holds, what its tightness test is, what readings mean, and the purge.

    Parameters
    ----------
    job : Job
        The job, with one size a run.
    catalogue : Catalogue, optional
        Where the figures of the test stand; without it, the project's own data.
    test : str, optional
        The name of a test; without it, that of the job's rule set.
    hoses : bool
        Whether the largest hoses that go on the outlets are counted.
    section : str, optional
        In a job of several stages the section that is meant: `regulator`, or the run with a regulator of its own.
    readings_gauge_pa : (float, float), optional
        First and second reading [Pa gauge].
    temperatures_k : (float, float), optional
        Temperatures of the gas at the two readings [K].
    time_s : float, optional
        Between the readings [s]; without it, the time of the test.
    resolution_pa : float
        The step that the manometer shows [Pa].
    leak_m3_s : float, optional
        A leak, to be told how long it takes to show [m3/s].

    Returns
    -------
    Tightness
        Volume, test, reading and purge.

    Raises
    ------
    ValueError
        If a run leaves its size open, or an argument can't be right beside the others, as a reading that rose.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> visit = drawbar.tightness(job, readings_gauge_pa=(2750.0, 2600.0))
    >>> visit.reading.passes, round(visit.reading.fall_pa)
    (False, 150)
    """
    decided(job)
    figures = _test_of(job, test, catalogue or shipped_catalogue())
    sections = _tightness.sections_of(job, hoses=hoses)
    if section is not None:
        sections = [known for known in sections if known.name == section]
        if not sections:
            raise ValueError(f"{section} has no regulator of its own")
    if time_s is None and figures is not None:
        time_s = figures.hold_s
    reading = None
    if readings_gauge_pa is not None:
        reading = _reading(job, figures, sections, readings_gauge_pa, temperatures_k, time_s, resolution_pa)
    elif temperatures_k is not None:
        raise ValueError("temperatures go with readings")
    return _tightness.tightness(
        job, figures, sections, resolution_pa=resolution_pa, time_s=time_s, leak_m3_s=leak_m3_s, reading=reading
    )


def _test_of(job: Job, name: str | None, catalogue: Catalogue) -> TightnessTest | None:
    if name is None:
        return catalogue.tightness_test(job.rule.name) if job.rule is not None else None
    figures = catalogue.tightness_test(name)
    if figures is None:
        raise ValueError(f"{name} is not a test of the catalogue")
    return figures


def _reading(  # noqa: PLR0913, PLR0917 - all that a reading is judged by
    job: Job,
    test: TightnessTest | None,
    sections: list[TestSection],
    readings_gauge_pa: tuple[float, float],
    temperatures_k: tuple[float, float] | None,
    time_s: float | None,
    resolution_pa: float,
) -> Reading:
    if time_s is None:
        raise ValueError("the test gives no time, so say how far apart the readings are")
    if len(sections) > 1:
        names = ", ".join(section.name for section in sections)
        raise ValueError(f"the job has several stages; say which section was read: {names}")
    start_gauge_pa, end_gauge_pa = readings_gauge_pa
    if temperatures_k is None and end_gauge_pa > start_gauge_pa:
        raise ValueError("the reading rose; no leak does that")
    reading = _tightness.reading_of(
        job, test, sections[0], start_gauge_pa, end_gauge_pa, time_s, temperatures_k, resolution_pa
    )
    if reading.rises:
        raise ValueError(f"put right for temperature the reading rose by {-reading.fall_pa:.0f} Pa")
    return reading


class ExpectedPressures(NamedTuple):
    """What a manometer should show in each state of a job, in the job's order, each in its worst way of plugging in."""

    job: Job
    states: tuple[StateTable, ...]


def expected_pressures(job: Job) -> ExpectedPressures:
    """Work out what a manometer should show at every test point in every state.

    Parameters
    ----------
    job : Job
        The job, with one size a run.

    Returns
    -------
    ExpectedPressures
        The test points of each state; no rows where the ways of plugging in are too many to try.

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
    return ExpectedPressures(job, tuple(_commission.tables(decided(job))))


def commission(job: Job, readings: Readings, *, fixed_orifice: bool | None = None) -> Commissioning:
    """Set readings beside the predicted pressures, and find the part of the line that explains the difference.

    Parameters
    ----------
    job : Job
        The job, with one size a run.
    readings : Readings
        What was read, as `read_readings` gives it.
    fixed_orifice : bool, optional
        Whether burners take less at a lower pressure, as a fixed orifice does, or their rated input at any; without
        it, what the readings say, and an orifice where they say nothing.

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
    return _commission.compare_readings(decided(job), readings, fixed_orifice=fixed_orifice)
