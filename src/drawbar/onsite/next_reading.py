"""Which one further reading would best tell apart what is left: the one from which most information is expected.

What may be wrong is a finite list: nothing, or one fault of one part at one of several sizes. The readings so far give
each a likelihood, the prediction's covariance and the manometer's noise among it. For every test point the reading that
each of them would give is known to a normal distribution; the mutual information between the part at fault and the
reading says in bits how much of the question "which part?" the reading is expected to answer (Lindley 1956, "On a
measure of the information provided by an experiment", Annals of Mathematical Statistics 27, from memory).
"""

from __future__ import annotations

import math
import operator
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.job import Job
from drawbar.onsite.fault_fitting import Reading
from drawbar.onsite.fault_models import LOAD, NARROW, SETTING, Candidate, candidates
from drawbar.onsite.spread import Allowances, Spread, Whitening, allowances_of, whitening, work_of_setup
from drawbar.onsite.testpoints import NOTHING_ON, Model, Place, Setup

HEALTHY = ""
"""Stands for the part at fault where nothing is wrong."""

_HEALTHY_ODDS = 1.0  # nothing wrong, against all faults together, before anything was read. Our own choice.
_LEAST_PA, _MOST_PA = 20.0, 1000.0  # a fault that is looked for moves some pressure by so much
_ANOTHER_SETUP = 0.85  # of its bits a reading is worth for which other appliances are to be lit
_LEAST_BITS = 0.02  # a reading that tells less is not worth it
_LEAST_WEIGHT = 1e-4  # what is less likely than this, by the likeliest, is left out
_KERNEL = tuple(math.exp(-0.5 * step * step) for step in range(-3, 4))
_MOST_EXPECTED = 3  # parts for which it is told what the reading would be
_LEAST_EXPECTED = 0.02
_DOUBLINGS = 12
_MOST_WORK = 1_000  # setups by parts squared, in which every fault is solved at every size
_STEP_PA = 25.0  # between the sizes of a fault: a few times the noise of a manometer


class Expected(NamedTuple):
    """What a reading would show if a part is at fault: the likeliest [Pa gauge], with how likely that is [-]."""

    part: str
    weight: float
    gauge_pa: float


@dataclass(frozen=True, slots=True)
class NextReading:
    """The reading that would tell most.

    Attributes
    ----------
    setup : Setup
        What is to be on, and where it is plugged in.
    place : Place
        The test point.
    bits : float
        How much of the question which part is at fault it is expected to answer [bit].
    open_bits : float
        How much of it is open before [bit].
    expected : tuple of Expected
        What it would show, the likeliest part first; HEALTHY for nothing wrong.
    """

    setup: Setup
    place: Place
    bits: float
    open_bits: float
    expected: tuple[Expected, ...]


class _Hypothesis(NamedTuple):
    """A part with a fault of one size, its share before anything was read, and what every setup shows with it."""

    part: str
    share: float
    gauge_pa: Sequence[Mapping[str, float]]


class Search:
    """Every fault that is looked for on a line, with the pressures that it would make at every test point.

    Attributes
    ----------
    model : Model
        The line with nothing wrong.
    setups : list of Setup
        What may be lit for a reading.
    spread : Spread
        How far a line with nothing wrong may read from the prediction there.
    """

    def __init__(self, model: Model, setups: Iterable[Setup], allowances: Allowances | None = None) -> None:
        self.model = model
        self.setups = list(dict.fromkeys([*setups, NOTHING_ON]))
        self.spread = Spread(model, self.setups, allowances or allowances_of(model.job))
        healthy = [model.gauge_pa(setup) for setup in self.setups]
        self._places = [list(model.places(setup)) for setup in self.setups]
        self._hypotheses = [_Hypothesis(HEALTHY, _HEALTHY_ODDS, healthy)]
        by_part: dict[str, list[Candidate]] = defaultdict(list)
        for candidate in candidates(model, self.setups):
            by_part[candidate.part].append(candidate)
        for part, kinds in by_part.items():
            for candidate in kinds:
                made = list(self._sizes(candidate, healthy))
                share = 1.0 / (len(by_part) * len(kinds) * max(len(made), 1))
                self._hypotheses.extend(_Hypothesis(part, share, gauge_pa) for gauge_pa in made)

    def _sizes(
        self, candidate: Candidate, healthy: Sequence[Mapping[str, float]]
    ) -> Iterator[Sequence[Mapping[str, float]]]:
        """Yield what every setup shows with a fault of each size that is looked for.

        Between the sizes that are solved pressures go nearly straight with the size: they are filled in.
        """
        for sizes in _branches(candidate):
            before: Sequence[Mapping[str, float]] = healthy
            for size in sizes:
                altered = candidate.alter(size)
                solved = [
                    self.model.gauge_pa(setup, altered) if number in candidate.setups else was
                    for number, (setup, was) in enumerate(zip(self.setups, healthy, strict=True))
                ]
                between = max(1, math.ceil(self._moved_pa(solved, before) / _STEP_PA))
                for step in range(1, between + 1):
                    faulty = _between(before, solved, step / between)
                    if _LEAST_PA <= self._moved_pa(faulty, healthy) <= _MOST_PA:
                        yield faulty
                before = solved
                if self._moved_pa(solved, healthy) > _MOST_PA:
                    break

    def _moved_pa(self, pressures: Sequence[Mapping[str, float]], others: Sequence[Mapping[str, float]]) -> float:
        """Return the most by which pressures differ at a test point [Pa]."""
        return max(
            abs(now[place.name] - was[place.name])
            for now, was, places in zip(pressures, others, self._places, strict=True)
            for place in places
        )

    def next_reading(self, measured: Sequence[Reading], noise_pa: float) -> NextReading | None:
        """Return the reading that would tell most, None where none would tell much.

        Parameters
        ----------
        measured : sequence of Reading
            What was read so far, in setups of this search.
        noise_pa : float
            Standard deviation of the manometer that it would be read with [Pa].

        Returns
        -------
        NextReading or None
        """
        points = [(self.setups.index(reading.setup), reading.at) for reading in measured]
        white = whitening(
            self.spread.at(points),
            [
                math.hypot(r.noise_pa, self.spread.by_itself_pa(point))
                for r, point in zip(measured, points, strict=True)
            ],
        )
        weighed = self._weighed(measured, points, white)
        parts: dict[str, float] = defaultdict(float)
        for hypothesis, weight, _ in weighed:
            parts[hypothesis.part] += weight
        open_bits = -sum(weight * math.log2(weight) for weight in parts.values() if weight > 0.0)
        best: tuple[float, float, int, Place] | None = None
        last = points[-1][0] if points else None
        read = set(points)
        for number, places in enumerate(self._places):
            for place in places:
                if (number, place.name) in read:
                    continue
                bits = self._bits((number, place.name), points, white, weighed, parts, noise_pa)
                worth = bits if last in (None, number) else _ANOTHER_SETUP * bits
                if best is None or worth > best[0] * 1.001:
                    best = worth, bits, number, place
        if best is None or best[1] < _LEAST_BITS:
            return None
        _, bits, number, place = best
        expected = self._expected((number, place.name), points, white, weighed, parts)
        return NextReading(self.setups[number], place, bits, open_bits, expected)

    def _weighed(
        self, measured: Sequence[Reading], points: Sequence[tuple[int, str]], white: Whitening
    ) -> list[tuple[_Hypothesis, float, list[float]]]:
        """Return the hypotheses with how likely they are [-], and what of the readings each leaves over."""
        left = []
        for hypothesis in self._hypotheses:
            raw = [
                reading.gauge_pa - hypothesis.gauge_pa[number][at]
                for reading, (number, at) in zip(measured, points, strict=True)
            ]
            whitened = white.solved(raw)
            left.append((hypothesis, sum(map(operator.mul, whitened, whitened)), whitened))
        least = min(chi2 for _, chi2, _ in left)
        weights = [hypothesis.share * math.exp(0.5 * (least - chi2)) for hypothesis, chi2, _ in left]
        enough = _LEAST_WEIGHT * max(weights)
        total = sum(weight for weight in weights if weight >= enough)
        return [
            (hypothesis, weight / total, whitened)
            for (hypothesis, _, whitened), weight in zip(left, weights, strict=True)
            if weight >= enough
        ]

    def _foreseen(
        self, point: tuple[int, str], points: Sequence[tuple[int, str]], white: Whitening
    ) -> tuple[list[float], float]:
        """Return how a prediction goes with what the readings left over, and the variance that stays [Pa2]."""
        along = white.solved([self.spread.covariance_pa2(point, other) for other in points])
        return along, self.spread.variance_pa2(point) - sum(map(operator.mul, along, along))

    def _bits(  # noqa: PLR0913, PLR0917 - what is known before, by hypothesis and by part
        self,
        point: tuple[int, str],
        points: Sequence[tuple[int, str]],
        white: Whitening,
        weighed: Sequence[tuple[_Hypothesis, float, list[float]]],
        parts: Mapping[str, float],
        noise_pa: float,
    ) -> float:
        """Return the mutual information between the part at fault and a reading [bit], on a grid of its deviation."""
        number, at = point
        along, variance_pa2 = self._foreseen(point, points, white)
        step_pa = math.sqrt(max(variance_pa2, 0.0) + noise_pa**2)
        masses: dict[str, dict[int, float]] = {part: defaultdict(float) for part in parts}
        for hypothesis, weight, left in weighed:
            mean_pa = hypothesis.gauge_pa[number][at] + sum(map(operator.mul, along, left))
            masses[hypothesis.part][round(mean_pa / step_pa)] += weight
        spread_out = {part: _spread_out(mass) for part, mass in masses.items()}
        every: dict[int, float] = defaultdict(float)
        for mass in spread_out.values():
            for place, share in mass.items():
                every[place] += share
        return sum(
            share * math.log2(share / (parts[part] * every[place]))
            for part, mass in spread_out.items()
            for place, share in mass.items()
            if share > 0.0
        )

    def _expected(
        self,
        point: tuple[int, str],
        points: Sequence[tuple[int, str]],
        white: Whitening,
        weighed: Sequence[tuple[_Hypothesis, float, list[float]]],
        parts: Mapping[str, float],
    ) -> tuple[Expected, ...]:
        """Return what a reading would show with the likeliest parts at fault, each at its likeliest size."""
        number, at = point
        along, _ = self._foreseen(point, points, white)
        likeliest = sorted(parts, key=lambda part: -parts[part])[:_MOST_EXPECTED]
        expected = []
        for part in likeliest:
            if parts[part] >= _LEAST_EXPECTED:
                hypothesis, _, left = max((each for each in weighed if each[0].part == part), key=lambda each: each[1])
                gauge_pa = hypothesis.gauge_pa[number][at] + sum(map(operator.mul, along, left))
                expected.append(Expected(part, parts[part], gauge_pa))
        return tuple(expected)


def _branches(candidate: Candidate) -> Iterator[Sequence[float]]:
    """Yield the sizes of a fault that are solved, from small to large, one way and the other."""
    if candidate.kind == LOAD:
        yield from ((-0.15, -0.3, -0.6), (0.15, 0.4, 1.0))
    elif candidate.kind == SETTING:
        yield from ([share * candidate.normal for share in shares] for shares in ((-0.05, -0.3), (0.05, 0.3)))
    else:
        first = 0.25 if candidate.kind == NARROW else 0.5 * candidate.scale
        sizes = (first * 2.0**doubling for doubling in range(_DOUBLINGS))
        yield [size for size in sizes if size <= candidate.high]


def _between(
    first: Sequence[Mapping[str, float]], last: Sequence[Mapping[str, float]], share: float
) -> Sequence[Mapping[str, float]]:
    if share == 1.0:
        return last
    return [
        {name: pa + share * (after[name] - pa) for name, pa in before.items()}
        for before, after in zip(first, last, strict=True)
    ]


def _spread_out(masses: Mapping[int, float]) -> dict[int, float]:
    """Return masses on a grid of one standard deviation, each spread out as a normal distribution has it."""
    total = sum(_KERNEL)
    made: dict[int, float] = defaultdict(float)
    for place, mass in masses.items():
        for step, share in enumerate(_KERNEL, -(len(_KERNEL) // 2)):
            made[place + step] += mass * share / total
    return made


def can_look(job: Job, read: int) -> bool:
    """Tell whether a job is small enough for a further reading to be looked for, with so many setups read."""
    return max(1, read) * work_of_setup(job) <= _MOST_WORK


def next_reading(
    model: Model,
    setups: Iterable[Setup],
    measured: Sequence[Reading],
    noise_pa: float,
    allowances: Allowances | None = None,
) -> NextReading | None:
    """Return the reading that would best tell apart what is left, None where none would tell much.

    Parameters
    ----------
    model : Model
        The line with nothing wrong.
    setups : iterable of Setup
        What may be lit for it, that of every reading among them; all appliances off is added.
    measured : sequence of Reading
        What was read so far.
    noise_pa : float
        Standard deviation of the manometer [Pa].
    allowances : Allowances or None
        How far the line as built may be from the job file; None for `allowances_of` the job.

    Returns
    -------
    NextReading or None
        None as well where the job has too many parts for the setups that were read. Of the other setups only as many
        are looked at, the first ones, as the work allows.
    """
    read = dict.fromkeys(reading.setup for reading in measured)
    if not can_look(model.job, len(read)):
        return None
    lit = list(dict.fromkeys([*read, *setups]))[: _MOST_WORK // work_of_setup(model.job)]
    return Search(model, lit, allowances).next_reading(measured, noise_pa)
