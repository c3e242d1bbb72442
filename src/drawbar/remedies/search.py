"""Every single kind of change that puts a job right, in the order in which a gasfitter would take them.

1. A larger hose. It is a made-up part that is screwed on in minutes: no joint of the line is opened, and nothing but
   its own ends is tested again.
2. Another device or a shorter hose where it takes most of the drop on the way to the appliance that is worst off: then
   the pipe beside it is not what is wrong. A device goes first, for the hose must still reach.
3. Larger runs: pipe work under the chassis, purged and tested anew. The cheapest change of sizes; after it that of the
   fewest runs, where those are fewer.
4. Another device or a shorter hose that is not the bottleneck and would do.
5. A smaller appliance, only where no pipe can do it: it is what the customer wanted.

Within a place those come first that ask the least change: a device or hose that keeps the largest share of what it has,
an appliance that keeps the largest share of its input.

Each is verified by looking at the changed job. Of larger runs and larger hoses none that is cheaper passes, and of the
other kinds none that is larger passes, but for those that say that they are not proven.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.checking.corner import worst_corner
from drawbar.job import Job, decided
from drawbar.remedies.changes import DeviceChange, LengthChange, LoadChange
from drawbar.remedies.devices import other_devices
from drawbar.remedies.failing import Failing, failing_of
from drawbar.remedies.hoses import larger_hoses, shorter_hoses
from drawbar.remedies.larger_runs import larger_runs
from drawbar.remedies.loads import smaller_loads
from drawbar.remedies.looks import Looks, TooManyLooksError
from drawbar.remedies.remedy import (
    FEWEST_RUNS,
    LARGER_HOSE,
    LARGER_RUNS,
    OTHER_DEVICE,
    SHORTER_HOSE,
    SMALLER_LOAD,
    Remedies,
    Remedy,
)
from drawbar.sizing.size import Cost


def remedies_for(  # noqa: PLR0913 - each is a choice of its own
    job: Job,
    catalogue: Catalogue | None = None,
    passes: Callable[[Job], bool] | None = None,
    *,
    corner: Callable[[Job], Job] = worst_corner,
    swapped: Sequence[str] = (),
    price: tuple[Cost, str] | None = None,
) -> Remedies:
    """Return what would put a job right whose pressures fail, one kind of change at a time, the best first.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.
    catalogue : Catalogue, optional
        What has the sizes of the families; without it, the project's own data.
    passes : callable, optional
        Tells whether a changed job passes; without it, whether its pressures do at the corner.
    corner : callable
        Makes of a job the job whose pressures must hold; the job itself for a job as drawn.
    swapped : sequence of str
        The appliances that may be smaller, where they were swapped; none for every appliance that is on.
    price : tuple of Cost and str, optional
        What a run costs in a pipe, and in which unit; without it, the mass of the pipe.

    Returns
    -------
    Remedies
        None in it where the job passes.

    Raises
    ------
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> drawbar.remedies_for(drawbar.read_job("examples/ice-cream-van-fail.yaml")).of_kind("fewest-runs").edits()
    {'runs.main.pipe': 'as1432-b/19.05'}
    """
    catalogue = catalogue or shipped_catalogue()
    looks = Looks(decided(job), passes, corner)
    try:
        if looks.passes(job):
            return Remedies(display=job.display)
    except TooManyLooksError:
        return Remedies(unfinished=(LARGER_HOSE, OTHER_DEVICE, SHORTER_HOSE, LARGER_RUNS), display=job.display)
    failing = failing_of(looks.states_of(job))
    searches: list[tuple[str, Callable[[], Iterable[Remedy | None]]]] = [
        (LARGER_RUNS, lambda: larger_runs(looks, catalogue, price)),
        (LARGER_HOSE, lambda: [larger_hoses(looks, failing, catalogue)]),
        (OTHER_DEVICE, lambda: other_devices(looks, failing)),
        (SHORTER_HOSE, lambda: shorter_hoses(looks, failing)),
        (SMALLER_LOAD, lambda: smaller_loads(looks, swapped or sorted(failing.on))),
    ]
    remedies: list[Remedy] = []
    unfinished: list[str] = []
    for kind, search in searches:
        if kind == SMALLER_LOAD and any(remedy.kind == LARGER_RUNS for remedy in remedies):
            continue
        try:
            for remedy in search():
                if remedy is not None:
                    remedies.append(remedy)
        except TooManyLooksError:
            unfinished.append(kind)
    remedies.sort(key=lambda remedy: _rank(remedy, failing))
    return Remedies(tuple(remedies), failing.bottleneck, tuple(unfinished), job.display)


def _rank(remedy: Remedy, failing: Failing) -> tuple[int, int, float]:
    """Return what puts remedies in the order of this module's head: the less, the sooner."""
    changed = 1.0 - _kept_share(remedy)
    if remedy.kind in (OTHER_DEVICE, SHORTER_HOSE):
        place = 1 if _is_bottleneck(remedy, failing) else 3
        return place, (OTHER_DEVICE, SHORTER_HOSE).index(remedy.kind), changed
    return (
        {LARGER_HOSE: 0, LARGER_RUNS: 2, FEWEST_RUNS: 2, SMALLER_LOAD: 4}[remedy.kind],
        remedy.kind == FEWEST_RUNS,
        changed,
    )


def _kept_share(remedy: Remedy) -> float:
    """Return how much of what it had a device, a hose or an appliance keeps."""
    match remedy.changes[0]:
        case DeviceChange(old_pa=old_pa, most_pa=most_pa):
            return most_pa / old_pa
        case LengthChange(old_m=old_m, most_m=most_m):
            return most_m / old_m
        case LoadChange(old_w=old_w, most_w=most_w):
            return most_w / old_w
        case _:
            return 1.0


def _is_bottleneck(remedy: Remedy, failing: Failing) -> bool:
    bottleneck = failing.bottleneck
    for change in remedy.changes:
        match change:
            case DeviceChange(place_kind=kind, place=place, number=number):
                place_of: tuple[str, str, int | None] = (kind, place, number)
            case LengthChange(hose=hose):
                place_of = ("hose", hose, None)
            case _:
                continue
        if place_of == (bottleneck.place_kind, bottleneck.place, bottleneck.number):
            return True
    return False
