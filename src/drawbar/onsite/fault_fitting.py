"""Which one part explains readings that part company with the prediction: each fault fitted by least squares."""

from __future__ import annotations

import math
import operator
from collections.abc import Sequence
from dataclasses import dataclass

from drawbar.onsite.fault_models import LOAD, Candidate, candidates
from drawbar.onsite.spread import Allowances, Spread, allowances_of, is_too_much, whitening
from drawbar.onsite.straight_spread import StraightSpread
from drawbar.onsite.testpoints import Model, Setup

DEFAULT_NOISE_PA = 10.0
"""Standard deviation of a manometer of which nothing is said [Pa]."""
TOLERANCE = 3.0  # times the manometer's standard deviation: one good reading in 370 falls outside
# A part is blamed where no more than five good lines in a hundred would look so bad by what is not known.
_FALSE_ALARM = 0.05
_LEFT_ALARM = 0.01  # a part at fault does not explain all where no more than one good fit in a hundred leaves so much
# Two parts can't be told apart where the pressures they explain differ by less than this much of the noise in all.
_APART = 2.0
_LESS_LIKELY = 6.0  # nor, where one explains the readings so much less well, at a twentieth of the likelihood
GAUGE_NOISE = 0.0025
"""Standard deviation of a gauge by what it shows [-]: a class of 0.5 to 1 %. Common practice, no source."""
SURE = 0.95
"""How likely a part must be, if one is at fault, to be found."""
_UNSEEN = 1.0  # times the noise, over all readings: less than that of SMALL_PA more drop and a part is not seen at all
_NOTHING = 0.02  # a fault that changes no more than this of what readings show is not looked for
_MOST_ALONE = 150  # readings; of more, each is held against what it may be whatever the others
_ENOUGH = 1e-3  # a fit is done where the next step would better chi-square by less
_MOST_STEPS = 12


@dataclass(frozen=True, slots=True)
class Fit:
    """A candidate at the size that explains the readings best.

    Attributes
    ----------
    candidate : Candidate
        The part and what may be wrong with it.
    size : float
        How much of that, in the candidate's own measure.
    chi2 : float
        Sum of the squares of the differences that are left, by their noise [-].
    shift : tuple of float
        What the fault changes at each reading, by its noise [-].
    """

    candidate: Candidate
    size: float
    chi2: float
    shift: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Parts that these readings can't tell apart.

    Attributes
    ----------
    fits : tuple of Fit
        The parts, the best first.
    weight : float
        How likely the fault is among them [-].
    """

    fits: tuple[Fit, ...]
    weight: float


@dataclass(frozen=True, slots=True)
class Finding:
    """What the readings point at.

    Attributes
    ----------
    chi2 : float
        Sum of the squares of the differences by their noise, with nothing wrong [-]; each by itself where no part was
        looked for.
    needed : float
        How much less it must be for a part to be blamed [-].
    gained : float
        How much less it is with the best part at fault [-].
    groups : tuple of Group
        The groups by falling weight, empty where no part explains anything.
    is_blamed : bool
        Whether the first group is blamed.
    off : tuple of int
        Numbers of the readings that differ by too much from what the others foretell, with nothing wrong.
    left_over : tuple of int
        Numbers of the readings that differ by too much still, with the first part at fault if it is blamed.
    unseen : tuple of str
        Parts that these readings would not show if they took SMALL_PA more.
    is_too_large : bool
        Whether no part was looked for, as the job has too many for so many setups.
    """

    chi2: float
    needed: float
    gained: float
    groups: tuple[Group, ...]
    is_blamed: bool
    off: tuple[int, ...]
    left_over: tuple[int, ...]
    unseen: tuple[str, ...]
    is_too_large: bool = False

    @property
    def is_found(self) -> bool:
        """Tell whether one part is blamed, and no other is likely."""
        return self.is_blamed and len(self.groups[0].fits) == 1 and self.groups[0].weight >= SURE


@dataclass(frozen=True, slots=True)
class Reading:
    """A pressure that a manometer showed.

    Attributes
    ----------
    setup : Setup
        What was on, and where it was plugged in.
    at : str
        The name of the test point.
    gauge_pa : float
        What it showed [Pa gauge].
    noise_pa : float
        The manometer's standard deviation [Pa].
    """

    setup: Setup
    at: str
    gauge_pa: float
    noise_pa: float


def noise_at_pa(noise_pa: float, gauge_pa: float) -> float:
    """Return the standard deviation of a reading [Pa]: that of the manometer, or a share of what a coarser gauge shows.

    What is at 70 kPa is not read by the manometer that is made for 3 kPa.
    """
    return max(noise_pa, GAUGE_NOISE * abs(gauge_pa))


def setups_of(measured: Sequence[Reading]) -> list[Setup]:
    """Return the setups of some readings, each once in the order of the readings."""
    return list(dict.fromkeys(reading.setup for reading in measured))


def diagnose(
    model: Model,
    measured: Sequence[Reading],
    allowances: Allowances | None = None,
    spread: Spread | StraightSpread | None = None,
) -> Finding:
    """Fit every candidate alone, and say which parts explain the readings, if any is needed to.

    Parameters
    ----------
    model : Model
        The job's line with nothing wrong.
    measured : sequence of Reading
        What was read.
    allowances : Allowances or None
        How far the line as built may be from the job file; None for `allowances_of` the job.
    spread : Spread, StraightSpread or None
        That of the setups by `spread_of`, each once in the order of the readings, if it was made.

    Returns
    -------
    Finding
        The parts, grouped where these readings can't tell them apart.
    """
    allowances = allowances or allowances_of(model.job)
    setups = setups_of(measured)
    if is_too_much(model.job, len(setups)):
        return _each_by_itself(model, measured, spread or StraightSpread(model, setups, allowances))
    fitter = _Fitter(model, measured, allowances, spread if isinstance(spread, Spread) else None)
    fits, unseen, tried = _fits_of(fitter)
    needed = _normal_quantile(1.0 - 0.5 * _FALSE_ALARM / max(tried, 1)) ** 2
    groups = _grouped(fits)
    gained = fitter.chi2 - groups[0].fits[0].chi2 if groups else 0.0
    is_blamed = gained >= needed
    off = left = fitter.left(None)
    if is_blamed:
        left = fitter.left(groups[0].fits[0])
    most = _normal_quantile(1.0 - 0.5 * _LEFT_ALARM / max(len(left), 1))
    far, left_over = (tuple(number for number, by in enumerate(each) if abs(by) > most) for each in (off, left))
    return Finding(fitter.chi2, needed, gained, groups, is_blamed, far, left_over, unseen)


def _each_by_itself(model: Model, measured: Sequence[Reading], spread: Spread | StraightSpread) -> Finding:
    """Return what is said where no part is looked for: each reading by itself, by what it may be off."""
    setups = setups_of(measured)
    numbers = {setup: number for number, setup in enumerate(setups)}
    healthy = [model.gauge_pa(setup) for setup in setups]
    chi2 = 0.0
    for reading in measured:
        number = numbers[reading.setup]
        variance_pa2 = reading.noise_pa**2 + spread.variance_pa2((number, reading.at))
        chi2 += (reading.gauge_pa - healthy[number][reading.at]) ** 2 / variance_pa2
    return Finding(
        chi2=chi2,
        needed=math.inf,
        gained=0.0,
        groups=(),
        is_blamed=False,
        off=(),
        left_over=(),
        unseen=(),
        is_too_large=True,
    )


def _fits_of(fitter: _Fitter) -> tuple[list[Fit], tuple[str, ...], int]:
    """Return each part's best fit, the parts that no reading sees, and how many candidates the readings see."""
    fits: dict[str, Fit] = {}
    is_unseen: dict[str, bool] = {}
    tried = 0
    for candidate in candidates(fitter.model, fitter.setups):
        fit, seen = fitter.fit(candidate)
        tried += seen >= _NOTHING
        if candidate.kind != LOAD:  # a rate is off by some share, not by so many pascals
            is_unseen[candidate.part] = is_unseen.get(candidate.part, True) and seen < _UNSEEN
        before = fits.get(candidate.part)
        if fit is not None and (before is None or fit.chi2 < before.chi2):
            fits[candidate.part] = fit
    return list(fits.values()), tuple(part for part, unseen in is_unseen.items() if unseen), tried


def _normal_quantile(share: float) -> float:
    from statistics import NormalDist  # slow to import, and wanted here alone

    return NormalDist().inv_cdf(share)


def _grouped(fits: list[Fit]) -> tuple[Group, ...]:
    """Put together what can't be told apart, and weigh the groups: exp(-chi2 / 2) of each part, all equally likely."""
    left = sorted(fits, key=lambda fit: fit.chi2)
    if not left:
        return ()
    best = left[0].chi2
    total = sum(math.exp(0.5 * (best - fit.chi2)) for fit in left)
    groups = []
    while left:
        first = left[0]
        same = [
            fit for fit in left if math.dist(fit.shift, first.shift) < _APART and fit.chi2 < first.chi2 + _LESS_LIKELY
        ]
        left = [fit for fit in left if fit not in same]
        groups.append(Group(tuple(same), sum(math.exp(0.5 * (best - fit.chi2)) for fit in same) / total))
    return tuple(sorted(groups, key=lambda group: -group.weight))


class _Fitter:
    """The readings beside the prediction, and what a fault would change of it.

    Attributes
    ----------
    model : Model
        The line with nothing wrong.
    setups : list of Setup
        Each setup that something was read in, once.
    differences : list of float
        Measured less predicted, whitened by the noise and what the prediction rests on [-].
    chi2 : float
        Sum of their squares [-].
    """

    def __init__(
        self, model: Model, measured: Sequence[Reading], allowances: Allowances, spread: Spread | None = None
    ) -> None:
        self.model = model
        self._measured = measured
        self.setups = setups_of(measured)
        self._setup_of = [self.setups.index(reading.setup) for reading in measured]
        self._healthy = [model.gauge_pa(setup) for setup in self.setups]
        points = [(number, reading.at) for reading, number in zip(measured, self._setup_of, strict=True)]
        spread = spread or Spread(model, self.setups, allowances)
        columns = spread.at(points)
        noises_pa = [
            math.hypot(reading.noise_pa, spread.by_itself_pa(point))
            for reading, point in zip(measured, points, strict=True)
        ]
        self._white = whitening(columns, noises_pa)
        self._raw_pa = [
            reading.gauge_pa - self._healthy[number][reading.at]
            for reading, number in zip(measured, self._setup_of, strict=True)
        ]
        self._deviations_pa = [math.hypot(noise_pa, *row) for noise_pa, row in zip(noises_pa, columns, strict=True)]
        self.differences = self._white.solved(self._raw_pa)
        self.chi2 = sum(r * r for r in self.differences)

    def shift(self, candidate: Candidate, size: float) -> tuple[float, ...]:
        """Return what a fault changes at each reading, by its noise [-]."""
        altered = candidate.alter(size)
        faulty = [
            self.model.gauge_pa(setup, altered) if number in candidate.setups else self._healthy[number]
            for number, setup in enumerate(self.setups)
        ]
        return tuple(
            self._white.solved(
                [
                    faulty[number][reading.at] - self._healthy[number][reading.at]
                    for reading, number in zip(self._measured, self._setup_of, strict=True)
                ]
            )
        )

    def left(self, fit: Fit | None) -> list[float]:
        """Return what is left of each reading with a fault explained, by what it may be given the others [-]."""
        altered = fit.candidate.alter(fit.size) if fit is not None else None
        faulty = [self.model.gauge_pa(setup, altered) for setup in self.setups]
        left_pa = [
            reading.gauge_pa - faulty[number][reading.at]
            for reading, number in zip(self._measured, self._setup_of, strict=True)
        ]
        if len(left_pa) > _MOST_ALONE:
            return list(map(operator.truediv, left_pa, self._deviations_pa))
        return self._white.alone(left_pa)

    def fit(self, candidate: Candidate) -> tuple[Fit | None, float]:
        """Return the best size of a fault, None if none betters the fit, and what its scale changes at readings [-].

        Gauss-Newton in one unknown; the slope is that of the last two sizes, as pressures go nearly straight with x.
        """
        size = candidate.scale
        shift = self.shift(candidate, size)
        seen = math.hypot(*shift)
        if seen < _NOTHING:
            return None, seen
        best: Fit | None = None
        before, shift_before, chi2 = 0.0, tuple(0.0 for _ in shift), self.chi2
        for step in range(_MOST_STEPS):
            if step:
                shift = self.shift(candidate, size)
            slope = [(new - old) / (size - before) for new, old in zip(shift, shift_before, strict=True)]
            left = [r - s for r, s in zip(self.differences, shift, strict=True)]
            chi2_here = sum(r * r for r in left)
            steep = sum(s * s for s in slope)
            if chi2_here < chi2:
                chi2 = chi2_here
                best = Fit(candidate, size, chi2_here, shift)
            elif step and best is not None and abs(chi2_here - chi2) > _ENOUGH:
                before, shift_before, size = best.size, best.shift, 0.5 * (size + best.size)
                continue
            if steep <= 0.0:
                break
            wanted = size + sum(r * s for r, s in zip(left, slope, strict=True)) / steep
            wanted = min(max(wanted, candidate.low), candidate.high)
            if wanted == 0.0 or (wanted - size) ** 2 * steep < _ENOUGH:
                break
            before, shift_before, size = size, shift, wanted
        return best, seen
