"""A larger or a shorter hose that puts a job right.

A larger hose is the next sizes of the kind's own family. As few kinds as can be are changed, and among as many kinds
that with the least length times bore over all its pieces: a hose has no mass in the tables. A shorter hose is a single
kind, cut to the greatest length that passes.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.spare import largest
from drawbar.job import Hose, Job, Pipe
from drawbar.remedies.changes import HoseChange, LengthChange
from drawbar.remedies.failing import Failing
from drawbar.remedies.looks import Looks
from drawbar.remedies.remedy import LARGER_HOSE, SHORTER_HOSE, Remedy

_HOSE_UNIT = "m mm of hose (length x bore)"
_MOST_TRIES = 300  # sets of hoses
_LEAST_HOSE_M = 0.3  # a shorter one is not made up: common practice


class _Trial(NamedTuple):
    """One size for each of some kinds of hose."""

    cost: float
    sizes: tuple[tuple[Hose, Pipe], ...]


def larger_hoses(looks: Looks, failing: Failing, catalogue: Catalogue) -> Remedy | None:
    """Return the larger hoses that pass, as few kinds as can be and the cheapest of them; None if none pass.

    Parameters
    ----------
    looks : Looks
        The job that fails.
    failing : Failing
        Where it fails.
    catalogue : Catalogue
        What has the sizes of the families.

    Returns
    -------
    Remedy or None
        It is not proven where there are too many sets of hoses to try.

    Raises
    ------
    TooManyLooksError
        If the job is too crowded to tell.
    """
    job = looks.job
    larger = {hose.name: sizes for hose in _kinds(job, failing) if (sizes := _larger(hose, catalogue))}
    hoses = [hose for hose in job.hoses if hose.name in larger]

    def passes(sizes: Sequence[tuple[Hose, Pipe]]) -> bool:
        return looks.passes(_with_sizes(job, sizes))

    def largest_of(some: Sequence[Hose]) -> tuple[tuple[Hose, Pipe], ...]:
        return tuple((hose, larger[hose.name][-1]) for hose in some)

    if not hoses or not passes(largest_of(hoses)):
        return None
    tries = 0
    for count in range(1, len(hoses) + 1):
        trials: list[_Trial] = []
        for some in itertools.combinations(hoses, count):
            tries += 1
            if tries <= _MOST_TRIES and passes(largest_of(some)):
                trials.extend(_trials(job, some, larger))
        for trial in sorted(trials, key=lambda trial: trial.cost):
            tries += 1
            if tries <= _MOST_TRIES and passes(trial.sizes):
                return _remedy(looks, trial, is_proven=True)
        if tries > _MOST_TRIES:
            break
    return _remedy(looks, _Trial(_cost(job, largest_of(hoses)), largest_of(hoses)), is_proven=False)


def shorter_hoses(looks: Looks, failing: Failing) -> Iterator[Remedy]:
    """Yield each kind of hose that passes where it alone is shorter, with the greatest length that does.

    Parameters
    ----------
    looks : Looks
        The job that fails.
    failing : Failing
        Where it fails.

    Yields
    ------
    Remedy
        In the job's order.

    Raises
    ------
    TooManyLooksError
        If the job is too crowded to tell.
    """
    job = looks.job
    for hose in _kinds(job, failing):
        least_m = max(_LEAST_HOSE_M, abs(hose.rise_m))

        def with_more(more_m: float, hose: Hose = hose, least_m: float = least_m) -> Job:
            return _with_hose(job, replace(hose, length_m=least_m + more_m))

        def figure_pa(more_m: float, with_more=with_more) -> float:  # type: ignore[no-untyped-def]
            return looks.figure_pa(with_more(more_m))

        if hose.length_m <= least_m or figure_pa(0.0) < 0.0:
            continue
        more_m = largest(figure_pa, hose.length_m - least_m, (hose.length_m - least_m) / 2.0)
        change = LengthChange(hose.name, hose.length_m, least_m + more_m)
        yield Remedy(SHORTER_HOSE, (change,), looks.margin_pa(with_more(more_m)))


def _kinds(job: Job, failing: Failing) -> list[Hose]:
    """Return the kinds of hose that an appliance which falls short may have."""
    names = {name for appliance in job.appliances if appliance.name in failing.appliances for name in appliance.hoses}
    return [hose for hose in job.hoses if hose.name in names]


def _larger(hose: Hose, catalogue: Catalogue) -> list[Pipe]:
    """Return the larger sizes of a hose's family, smallest first."""
    sizes = catalogue.sizes(hose.pipe.label.partition("/")[0]) or {}
    larger = (pipe for pipe in sizes.values() if pipe.bore_m > hose.pipe.bore_m and pipe.label != hose.pipe.label)
    return sorted(larger, key=lambda pipe: pipe.bore_m)


def _trials(job: Job, some: Sequence[Hose], larger: dict[str, list[Pipe]]) -> Iterator[_Trial]:
    """Yield every choice of a larger size for each of some kinds, no more than may be tried."""
    choices = itertools.product(*(larger[hose.name] for hose in some))
    for pipes in itertools.islice(choices, _MOST_TRIES):
        sizes = tuple(zip(some, pipes, strict=True))
        yield _Trial(_cost(job, sizes), sizes)


def _cost(job: Job, sizes: Sequence[tuple[Hose, Pipe]]) -> float:
    """Return length times bore of all pieces of some kinds in new sizes [m mm]."""
    return math.fsum(hose.length_m * pipe.bore_m * 1000.0 * _pieces(job, hose) for hose, pipe in sizes)


def _pieces(job: Job, hose: Hose) -> int:
    """Return how many pieces there are of a kind: its count, or as many as there are appliances that it fits."""
    return hose.count or sum(hose.name in appliance.hoses for appliance in job.appliances)


def _remedy(looks: Looks, trial: _Trial, *, is_proven: bool) -> Remedy:
    changes = tuple(HoseChange(hose.name, hose.pipe.label, pipe.label) for hose, pipe in trial.sizes)
    margin_pa = looks.margin_pa(_with_sizes(looks.job, trial.sizes))
    return Remedy(LARGER_HOSE, changes, margin_pa, trial.cost, _HOSE_UNIT, is_proven)


def _with_sizes(job: Job, sizes: Sequence[tuple[Hose, Pipe]]) -> Job:
    for hose, pipe in sizes:
        job = _with_hose(job, replace(hose, pipe=pipe))
    return job


def _with_hose(job: Job, new: Hose) -> Job:
    return job._replace(hoses=tuple(new if hose.name == new.name else hose for hose in job.hoses))
