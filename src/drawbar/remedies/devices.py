"""Another coupler or other device that puts a job right: the most that it may take at the flow of its figure.

Each device on the way to what is worst off is tried alone; where that is not enough, with all that are the same part
in other places, as a bayonet at each outlet. A part two sizes up takes about a sixth, as its drop goes with bore^-4 and
a size up is about 1.25 times the bore; less than that is no part that can be bought, and is not offered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.catalogue.catalogue import shipped_catalogue
from drawbar.checking.spare import largest
from drawbar.job import Device, Job
from drawbar.remedies.changes import DeviceChange
from drawbar.remedies.failing import DropShare, Failing
from drawbar.remedies.looks import Looks
from drawbar.remedies.remedy import OTHER_DEVICE, Remedy

_LEAST_SHARE = 1.0 / 6.0  # of what a device takes, that another of the kind may take: common practice

_Place = tuple[str, str, int, Device]  # kind and name of the place, which of its devices, the device


def other_devices(looks: Looks, failing: Failing) -> Iterator[Remedy]:
    """Yield each device that passes where it alone, or with its like in other places, takes less.

    Parameters
    ----------
    looks : Looks
        The job that fails.
    failing : Failing
        Where it fails.

    Yields
    ------
    Remedy
        With the most that it may take, along the way.

    Raises
    ------
    TooManyLooksError
        If the job is too crowded to tell.
    """
    places = list(_places(looks.job))
    tried: set[tuple[str, float, float]] = set()
    for share in failing.shares:
        if share.number is None:
            continue
        place = next(place for place in places if _is_at(place, share))
        device = place[3]
        if device.drop_pa <= 0.0:
            continue
        remedy = _with_less(looks, [place])
        key = (device.name, device.flow_kg_s, device.drop_pa)
        if remedy is None and key not in tried:
            tried.add(key)
            alike = [other for other in places if (other[3].name, other[3].flow_kg_s, other[3].drop_pa) == key]
            remedy = _with_less(looks, alike) if len(alike) > 1 else None
        if remedy is not None:
            yield remedy


def _places(job: Job) -> Iterator[_Place]:
    pieces = (
        [("run", run) for run in job.runs],
        [("outlet", at) for at in job.outlets],
        [("hose", h) for h in job.hoses],
    )
    for group in pieces:
        for kind, piece in group:
            for number, device in enumerate(piece.devices):
                yield kind, piece.name, number, device


def _is_at(place: _Place, share: DropShare) -> bool:
    return place[:3] == (share.place_kind, share.place, share.number)


def _with_less(looks: Looks, places: Sequence[_Place]) -> Remedy | None:
    """Return the change of devices that are all the same part to the most that passes, None where none is buyable."""
    device = places[0][3]
    flow_w = device.flow_kg_s * looks.job.gas.gross_j_kg
    least_pa = _LEAST_SHARE * device.drop_pa

    def changes(more_pa: float) -> tuple[DeviceChange, ...]:
        return tuple(
            DeviceChange(kind, name, number, device.name, flow_w, device.drop_pa, least_pa + more_pa)
            for kind, name, number, _ in places
        )

    def changed(more_pa: float) -> Job:
        job = looks.job
        for change in changes(more_pa):
            job = change.made_in(job, shipped_catalogue())
        return job

    def figure_pa(more_pa: float) -> float:
        return looks.figure_pa(changed(more_pa))

    if figure_pa(0.0) < 0.0:
        return None
    more_pa = largest(figure_pa, device.drop_pa - least_pa, (device.drop_pa - least_pa) / 2.0)
    return Remedy(OTHER_DEVICE, changes(more_pa), looks.margin_pa(changed(more_pa)))
