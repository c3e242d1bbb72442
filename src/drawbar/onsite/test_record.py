"""The test record of a line: what a manometer should show at regulators and appliances, and what it did show."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from drawbar.job import ROOT, Job
from drawbar.onsite.testpoints import NOTHING_ON, Model, Place, Setup, lock_up_gauge_pa, stage_point
from drawbar.verdict import Reason, Verdict, verdict_of, worst_verdict

if TYPE_CHECKING:
    from drawbar.checking.drawn_way import DrawnWay
    from drawbar.onsite.commission import Commissioning, Compared

# The codes of the reasons; all but NOT_READ fail the readings, as `Commissioning.verdict` has it.
READ_BELOW, READ_ABOVE = "read-below-limit", "read-above-limit"
READ_OFF = "read-off"
PART_BLAMED = "part-blamed"
NOT_READ = "not-read"


class PointRecord(NamedTuple):
    """A regulator's outlet or an appliance's inlet with what it should show, and what it did.

    Attributes
    ----------
    place : Place
        The test point.
    rated_gauge_pa, orifice_gauge_pa : float
        Pressure with every burner at its rated input, and with each a fixed orifice [Pa gauge].
    lock_up_gauge_pa : tuple of float
        Between which pressures it may stand with nothing on: the regulator's lock-up [Pa gauge].
    measured_gauge_pa : float or None
        What was read with the same on and plugged in [Pa gauge]; the lowest of several, None without a reading.
    locked_gauge_pa : float or None
        What was read with nothing on [Pa gauge]; the highest of several, None without a reading.
    verdict : Verdict or None
        On these readings, None without any.
    """

    place: Place
    rated_gauge_pa: float
    orifice_gauge_pa: float
    lock_up_gauge_pa: tuple[float, float]
    measured_gauge_pa: float | None = None
    locked_gauge_pa: float | None = None
    verdict: Verdict | None = None


class ReadElsewhere(NamedTuple):
    """A reading in another state or combination, or at another point, with its verdict."""

    compared: Compared
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class TestRecord:
    """The working pressures of one state in one combination, expected and read.

    Attributes
    ----------
    setup : Setup
        The state, and what is plugged in where.
    points : tuple of PointRecord
        The regulators and the appliances that are on.
    elsewhere : tuple of ReadElsewhere
        The readings that are of no row of the table.
    is_read : bool
        Whether there are readings at all.
    because : tuple of Reason
        Why the readings are no PASS.
    """

    __test__ = False  # no test of pytest's, for all its name

    setup: Setup
    points: tuple[PointRecord, ...]
    elsewhere: tuple[ReadElsewhere, ...]
    is_read: bool
    because: tuple[Reason, ...]

    @property
    def verdict(self) -> Verdict | None:
        """The verdict on the readings, None without any."""
        return verdict_of(self.because) if self.is_read else None


def record_of(job: Job, drawn: DrawnWay, commissioned: Commissioning | None = None) -> TestRecord:
    """Return the test record of a state in the combination that is drawn.

    Parameters
    ----------
    job : Job
        The job, every run with one size.
    drawn : DrawnWay
        The state and the way.
    commissioned : Commissioning, optional
        Readings beside their predictions.

    Returns
    -------
    TestRecord
        PASS asks for a reading at every appliance that is on, each within tolerance and above its limit, and no part
        that the readings blame.
    """
    setup = Setup(drawn.state.solved.state_on_line.plan.state, drawn.state.plugged)
    rated, orifice = Model(job, fixed_orifice=False), Model(job, fixed_orifice=True)
    at_rated, at_orifice = rated.gauge_pa(setup), orifice.gauge_pa(setup)
    wanted, lock_ups_pa = _wanted(job, drawn), _lock_ups(job, rated, drawn)
    read = _judged(commissioned) if commissioned is not None else []
    points, used = [], set[int]()
    for place in rated.places(setup):
        if place.name not in wanted:
            continue
        working = [number for number, (of, _) in enumerate(read) if _is_at(of, setup, place.name)]
        locked = [number for number, (of, _) in enumerate(read) if _is_at(of, NOTHING_ON, place.name)]
        used.update(working, locked)
        verdicts = [read[number][1] for number in (*working, *locked)]
        points.append(
            PointRecord(
                place,
                at_rated[place.name],
                at_orifice[place.name],
                lock_ups_pa[place.name],
                min((read[number][0].measured.gauge_pa for number in working), default=None),
                max((read[number][0].measured.gauge_pa for number in locked), default=None),
                worst_verdict(verdicts) if verdicts else None,
            )
        )
    elsewhere = tuple(ReadElsewhere(*pair) for number, pair in enumerate(read) if number not in used)
    because = tuple(_because(points, commissioned, wanted)) if commissioned is not None else ()
    return TestRecord(setup, tuple(points), elsewhere, commissioned is not None, because)


def _wanted(job: Job, drawn: DrawnWay) -> dict[str, bool]:
    """Return the points of the table by name, and whether each is an appliance."""
    stages = [stage_point(run.name) for run in job.runs if run.regulator is not None]
    regulators = dict.fromkeys((ROOT, *stages), False)
    return regulators | dict.fromkeys((appliance.name for appliance in drawn.appliances), True)


def _lock_ups(job: Job, model: Model, drawn: DrawnWay) -> dict[str, tuple[float, float]]:
    """Return between which pressures each point may stand with nothing on, by that of its regulator [Pa gauge]."""
    still_pa = model.gauge_pa(NOTHING_ON)
    lock_ups_pa = {name: lock_up_gauge_pa(regulator) for name, regulator in model.regulators.items()}
    for appliance in drawn.appliances:
        stage = model.line.stage_of(model.line.index[appliance.at])
        point = ROOT if stage < 0 else stage_point(job.runs[stage].name)
        above_pa = still_pa[appliance.at] - still_pa[point]  # by the height of the gas that stands in the line
        least_pa, most_pa = lock_ups_pa[point]
        lock_ups_pa[appliance.name] = least_pa + above_pa, most_pa + above_pa
    return lock_ups_pa


def _is_at(compared: Compared, setup: Setup, name: str) -> bool:
    measured = compared.measured
    return (
        measured.at == name
        and measured.setup.state.name == setup.state.name
        and set(measured.setup.way) == set(setup.way)
    )


def _judged(commissioned: Commissioning) -> list[tuple[Compared, Verdict]]:
    outside = [limit.measured for limit in commissioned.outside_limit]
    judged = []
    for compared in commissioned.compared:
        passes = compared.is_within and compared.measured not in outside
        judged.append((compared, Verdict.PASS if passes else Verdict.FAIL))
    return judged


def _because(points: Sequence[PointRecord], commissioned: Commissioning, wanted: dict[str, bool]) -> Iterator[Reason]:
    for limit in commissioned.outside_limit:
        figures = {"gauge_pa": limit.measured.gauge_pa, "limit_gauge_pa": limit.limit_gauge_pa}
        yield Reason(READ_BELOW if limit.is_below else READ_ABOVE, Verdict.FAIL, limit.measured.at, figures)
    off = [compared.measured.at for compared in commissioned.compared if not compared.is_within]
    told = {limit.measured.at for limit in commissioned.outside_limit}
    for name in dict.fromkeys(off):
        if name not in told:
            yield Reason(READ_OFF, Verdict.FAIL, name, {})
    if commissioned.finding.is_blamed and not off and not told:
        yield Reason(PART_BLAMED, Verdict.FAIL, "", {})
    for point in points:
        if wanted[point.place.name] and point.measured_gauge_pa is None:
            yield Reason(NOT_READ, Verdict.UNDECIDED, point.place.name, {})
