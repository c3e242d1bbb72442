"""How far a line with nothing wrong may read from the prediction: by what the prediction rests on, and the manometer.

Each thing that is not known exactly - a run as built, a part's figure, an appliance's rate, a regulator - moves many
readings together. The prediction's covariance holds that: the sum over all of them of what one standard deviation
changes, and the manometer's noise, which each reading has for itself.
"""

from __future__ import annotations

import itertools
import math
import operator
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from drawbar.job import Device, Fitting, Hose, Job, Outlet, Regulator
from drawbar.line.network import Line
from drawbar.line.section import Section
from drawbar.onsite.fault_models import own_hose, with_outlet, with_run
from drawbar.onsite.testpoints import Altered, Model, Setup, lock_up_gauge_pa

LENGTH_AS_BUILT, INPUT_AS_BUILT = 0.10, 0.05
"""How far a length and a rate are from those of the job file on a line as it is built [-]: one standard deviation.

Our own choice: a pipe is led round what is in its way, and a burner's rate differs by its plate's tolerance.
"""
SET_AS_BUILT, DROOP_AS_BUILT = 0.01, 0.025
"""How far a regulator without a class is from its set pressure, and how much one without a curve droops [-]. Ours."""
FRICTION = 0.01
"""How far a drop is from what friction formulas and straight lines give, anew at every flow [-]. Our own choice."""
_EVEN = 1.0 / math.sqrt(3.0)  # standard deviation of what is evenly spread between two limits, by half their distance
# Where it does not go straight, x and its square count: more + less is twice the square's part at one standard
# deviation, and the root of the mean square of x2 is the root of 3.
_BENT = 0.5 * math.sqrt(3.0)
_STRAIGHT_PA = 0.5  # what goes straight but for so little is left at that
_MOST_SHORTER = 0.9
_MOST_WORK = 4_000  # setups by parts squared, in which each part is tried off; a trailer's has a few hundred
_CURVE_WORK = 4  # times the work, where a regulator's outlet goes with the flow that it makes
_BORE_POWER = 5.0  # friction goes as bore to the power -5


class Allowances(NamedTuple):
    """How far a line as built may be from the job file: standard deviations, as shares [-].

    Attributes
    ----------
    length : float
        Of the length of each run and hose.
    input : float
        Of the rate of each appliance.
    fittings, devices : float
        Of the equivalent length of fittings, and of the drop of devices.
    set_pressure, droop : float
        Of regulators without a class or a curve of their own, by their set pressure.
    bores : float
        Of the tolerance of a bore.
    friction : float
        Of the drop from the regulator before it, at each reading by itself.
    """

    length: float
    input: float
    fittings: float
    devices: float
    set_pressure: float = SET_AS_BUILT
    droop: float = DROOP_AS_BUILT
    bores: float = _EVEN
    friction: float = FRICTION


def allowances_of(job: Job, length: float | None = None, input_share: float | None = None) -> Allowances:
    """Return how far a job's line as built may be from its file.

    Parameters
    ----------
    job : Job
        Its tolerances of fittings and devices are limits, evenly spread within; with `tolerances: none` there are none.
    length, input_share : float or None
        Standard deviation of lengths and of rates [-], where the readings say them.

    Returns
    -------
    Allowances
        Lengths and rates as built, or as the job's tolerances where those are larger.
    """
    tolerances = job.tolerances
    if tolerances is None:
        return Allowances(length or 0.0, input_share or 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    return Allowances(
        length=max(LENGTH_AS_BUILT, tolerances.length) if length is None else length,
        input=max(INPUT_AS_BUILT, tolerances.input) if input_share is None else input_share,
        fittings=tolerances.fittings * _EVEN,
        devices=tolerances.devices * _EVEN,
    )


def is_too_much(job: Job, setups: int) -> bool:
    """Tell whether a job has too many parts for each to be tried off, and for a search, in so many setups.

    Parameters
    ----------
    job : Job
        The job.
    setups : int
        How many.

    Returns
    -------
    bool
        Whether the spread is to be that of `StraightSpread`, and no part is looked for.
    """
    return setups * work_of_setup(job) > _MOST_WORK


def work_of_setup(job: Job) -> int:
    """Return how much work it is to try every part of a job off in one setup.

    Parameters
    ----------
    job : Job
        The job.

    Returns
    -------
    int
        The square of its parts, more with a regulator that has a curve.
    """
    parts = sum(map(len, (job.runs, job.outlets, job.hoses, job.appliances)))
    has_curve = bool(job.regulator.curve) or any(run.regulator is not None and run.regulator.curve for run in job.runs)
    return parts * parts * (_CURVE_WORK if has_curve else 1)


Point = tuple[int, str]
"""The number of a setup, and the name of a test point."""


class Spread:
    """What one standard deviation of each thing that is not known exactly changes at every test point of some setups.

    Attributes
    ----------
    columns : list of list of dict
        For each such thing, by setup: the change at each test point [Pa]. What does not go straight has a second one.
    """

    def __init__(self, model: Model, setups: Sequence[Setup], allowances: Allowances) -> None:
        healthy = [model.gauge_pa(setup) for setup in setups]
        self._by_itself = [
            {name: allowances.friction * model.drop_pa(was, name, setup) for name in was}
            for was, setup in zip(healthy, setups, strict=True)
        ]
        self.columns: list[list[dict[str, float]]] = []
        for off in _off(model, setups, allowances):
            ends = [[model.gauge_pa(setup, altered) for setup in setups] for altered in (off(1.0), off(-1.0))]
            changes = [
                {name: (more[name] - pa, less[name] - pa) for name, pa in was.items()}
                for was, more, less in zip(healthy, *ends, strict=True)
            ]
            self.columns.append([{at: 0.5 * (more - less) for at, (more, less) in each.items()} for each in changes])
            bent = [{at: _BENT * (more + less) for at, (more, less) in each.items()} for each in changes]
            if max((abs(pa) for each in bent for pa in each.values()), default=0.0) > _STRAIGHT_PA:
                self.columns.append(bent)

    def variance_pa2(self, point: Point) -> float:
        """Return the variance of a prediction [Pa2]."""
        shared = sum(column[point[0]][point[1]] ** 2 for column in self.columns)
        return shared + self.by_itself_pa(point) ** 2

    def covariance_pa2(self, point: Point, other: Point) -> float:
        """Return the covariance of two predictions [Pa2]."""
        return sum(column[point[0]][point[1]] * column[other[0]][other[1]] for column in self.columns)

    def by_itself_pa(self, point: Point) -> float:
        """Return what a prediction may be off by itself, no other with it: its standard deviation [Pa]."""
        return self._by_itself[point[0]][point[1]]

    def at(self, points: Sequence[Point]) -> list[list[float]]:
        """Return for each point what each thing changes there [Pa]."""
        return [[column[number][name] for column in self.columns] for number, name in points]


_Off = Callable[[float], Altered]
"""The line with one thing off by so many standard deviations."""


def _off(model: Model, setups: Sequence[Setup], allowances: Allowances) -> Iterator[_Off]:
    """Yield each thing that may be off."""
    burning = {burner.name for setup in setups for burner in model.burners(setup)}
    passed = {number for setup in setups for burner in model.burners(setup) for number in model.line.paths[burner.at]}
    yield from _runs_off(model, passed, allowances)
    yield from _plugged_off(model, setups, allowances)
    yield from _regulators_off(model, setups, allowances)
    if allowances.input:
        yield from (_input_off(model, name, allowances.input) for name in sorted(burning))


def _input_off(model: Model, name: str, share: float) -> _Off:
    return lambda x: Altered(model.line, loads={name: 1.0 + x * share})


def _runs_off(model: Model, passed: set[int], allowances: Allowances) -> Iterator[_Off]:
    job, line = model.job, model.line
    for number in sorted(passed):
        section, run = line.sections[number], job.runs[number]
        if extra_m := extra_length_m(section, allowances):
            yield _longer_run(line, number, extra_m)
        if run.devices and allowances.devices:
            yield _device_off(job, number, allowances)


def extra_length_m(section: Section, allowances: Allowances) -> float:
    """Return how much longer or shorter a run may be in effect, its bore and fittings counted: one deviation [m]."""
    bore = section.pipe.bore_tolerance_m / section.pipe.bore_m * allowances.bores
    length_m = section.length_m + section.fittings_m
    extra_m = math.hypot(
        allowances.length * section.length_m,
        allowances.fittings * section.fittings_m,
        _BORE_POWER * bore * length_m,
    )
    return min(extra_m, _MOST_SHORTER * length_m)


def hose_length_share(hose: Hose, allowances: Allowances) -> float:
    """Return how much longer or shorter a hose may be in effect, its bore counted: one deviation, as a share [-]."""
    bore = hose.pipe.bore_tolerance_m / hose.pipe.bore_m * allowances.bores
    return min(_MOST_SHORTER, math.hypot(allowances.length, _BORE_POWER * bore))


def regulator_off_pa(regulator: Regulator, allowances: Allowances) -> tuple[float, float, float]:
    """Return how far a regulator may be off its set pressure, droop at the most flow, and lock up elsewhere [Pa]."""
    set_pa = regulator.outlet_gauge_pa
    low_pa, high_pa = lock_up_gauge_pa(regulator)
    return (
        set_pa * (regulator.accuracy * _EVEN or allowances.set_pressure),
        0.0 if regulator.curve else set_pa * allowances.droop,
        0.5 * (high_pa - low_pa) * _EVEN,
    )


def _longer_run(line: Line, number: int, extra_m: float) -> _Off:
    return lambda x: Altered(line.with_longer(number, x * extra_m))


def _device_off(job: Job, number: int, allowances: Allowances) -> _Off:
    devices = job.runs[number].devices
    return lambda x: Altered(Line(with_run(job, number, devices=_dropping_more(devices, x * allowances.devices))))


def _plugged_off(model: Model, setups: Sequence[Setup], allowances: Allowances) -> Iterator[_Off]:
    if not (allowances.devices or allowances.length or allowances.fittings):
        return
    outlets = {plugged.outlet.name: plugged.outlet for setup in setups for plugged in setup.way}
    for outlet in outlets.values():
        if outlet.devices or outlet.fittings:
            yield _outlet_off(model.job, outlet, allowances)
    hoses = {
        (plugged.appliance.name, plugged.hose.name): plugged.hose
        for setup in setups
        for plugged in setup.way
        if plugged.hose is not None
    }
    yield from (_hose_off(model, name, hose, allowances) for (name, _), hose in hoses.items())


def _outlet_off(job: Job, outlet: Outlet, allowances: Allowances) -> _Off:
    def off(x: float) -> Altered:
        devices = _dropping_more(outlet.devices, x * allowances.devices)
        fittings = _longer(outlet.fittings, x * allowances.fittings)
        return Altered(Line(with_outlet(job, outlet._replace(devices=devices, fittings=fittings))))

    return off


def _hose_off(model: Model, name: str, hose: Hose, allowances: Allowances) -> _Off:
    length = hose_length_share(hose, allowances)

    def off(x: float) -> Altered:
        changed = replace(
            hose,
            name=own_hose(name, hose),
            length_m=hose.length_m * (1.0 + x * length),
            devices=_dropping_more(hose.devices, x * allowances.devices),
            fittings=_longer(hose.fittings, x * allowances.fittings),
        )
        return Altered(model.line, hoses={name: changed})

    return off


def _regulators_off(model: Model, setups: Sequence[Setup], allowances: Allowances) -> Iterator[_Off]:
    """Yield each regulator off its set pressure, drooping, and locked up elsewhere than in the middle of its range."""
    most_kg_s = max((sum(each.flow_kg_s for each in model.burners(setup)) for setup in setups), default=0.0)
    for name, regulator in model.regulators.items():
        off_pa, droop_pa, lock_up_pa = regulator_off_pa(regulator, allowances)
        if off_pa:
            yield _regulator_off(model, name, _everywhere(off_pa))
        if droop_pa and most_kg_s:
            yield _regulator_off(model, name, _with_flow(-droop_pa / most_kg_s))
        if lock_up_pa > 0.0:
            yield _regulator_off(model, name, _at_no_flow(lock_up_pa))


def _everywhere(more_pa: float) -> Callable[[float], float]:
    return lambda _: more_pa


def _with_flow(pa_per_flow: float) -> Callable[[float], float]:
    return lambda flow_kg_s: pa_per_flow * flow_kg_s


def _at_no_flow(more_pa: float) -> Callable[[float], float]:
    return lambda flow_kg_s: 0.0 if flow_kg_s > 0.0 else more_pa


def _regulator_off(model: Model, name: str, more_pa: Callable[[float], float]) -> _Off:
    return lambda x: Altered(model.line, regulators={name: lambda flow: x * more_pa(flow)})


def _dropping_more(devices: Sequence[Device], share: float) -> tuple[Device, ...]:
    return tuple(device._replace(drop_pa=device.drop_pa * (1.0 + share)) for device in devices)


def _longer(fittings: Sequence[tuple[Fitting, int]], share: float) -> tuple[tuple[Fitting, int], ...]:
    return tuple((kind._replace(ratio=kind.ratio * (1.0 + share)), count) for kind, count in fittings)


class Whitening:
    """Turns differences that move together into ones that do not, each with a standard deviation of 1.

    With C = L L^T (Cholesky), y = L^-1 d: the sum of the squares of y is d^T C^-1 d, as generalised least squares has
    it.

    Attributes
    ----------
    rows : list of list of float
        The lower triangle L, by row [Pa].
    """

    def __init__(self) -> None:
        self.rows: list[list[float]] = []

    def add(self, covariances_pa2: Sequence[float], variance_pa2: float) -> None:
        """Take in a further difference, with its covariances with those before it and its own variance [Pa2]."""
        row = self.solved(covariances_pa2)
        left = variance_pa2 - sum(map(operator.mul, row, row))
        self.rows.append([*row, math.sqrt(left)])

    def solved(self, differences: Sequence[float]) -> list[float]:
        """Return L^-1 d for as many differences as were taken in, or for the first of them."""
        white: list[float] = []
        for row, difference in zip(self.rows, differences, strict=False):
            white.append((difference - sum(map(operator.mul, row, white))) / row[-1])
        return white

    def alone(self, differences: Sequence[float]) -> list[float]:
        """Return each difference as far as the others do not foretell it, by its standard deviation given them [-].

        With P = C^-1: (P d)_i / sqrt(P_ii).
        """
        white, alone = self.solved(differences), []
        for number in range(len(self.rows)):
            column = self._solved_from(number)  # of L^-1, of which P = L^-T L^-1 is made
            along = sum(map(operator.mul, column, white[number:]))
            alone.append(along / math.sqrt(sum(map(operator.mul, column, column))))
        return alone

    def _solved_from(self, number: int) -> list[float]:
        """Return L^-1 e for the unit vector of a number, from that number on."""
        white = [1.0 / self.rows[number][number]]
        for row in self.rows[number + 1 :]:
            white.append(-sum(map(operator.mul, row[number:-1], white)) / row[-1])
        return white


def whitening(columns: Sequence[Sequence[float]], noises_pa: Sequence[float]) -> Whitening:
    """Return the whitening of readings at points with these changes by each thing [Pa] and this noise [Pa]."""
    made = Whitening()
    for number, (column, noise_pa) in enumerate(zip(columns, noises_pa, strict=True)):
        before = [sum(map(operator.mul, column, other)) for other in itertools.islice(columns, number)]
        made.add(before, sum(map(operator.mul, column, column)) + noise_pa * noise_pa)
    return made
