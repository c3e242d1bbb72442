"""Which fittings are bought where a line branches: a tee that several runs pass stands once.

Every run that leaves a point is charged with its own way through the tee there, side or straight on; the tee is bought
once, in the size of the run that takes it by its side.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from drawbar.job import ROOT, Fitting, Job, Pipe

_TEE_ENDS = 3  # how many pipe ends a fitting takes, at the least, that lets a line branch


NO_TEE, NEW_SIZE, NO_DEVICE = "tee", "size", "device"


class Remark(str):
    """What a job file leaves open, so that it is not counted: a sentence, without a capital and a full stop.

    Attributes
    ----------
    kind : str
        NO_TEE, NEW_SIZE or NO_DEVICE.
    place : str
        The run or the outlet.
    """

    __slots__ = ("kind", "place")
    kind: str
    place: str

    def __new__(cls, kind: str, place: str, text: str) -> Remark:
        """Return the sentence."""
        remark = super().__new__(cls, text)
        remark.kind, remark.place = kind, place
        return remark


class Exit(NamedTuple):
    """What leaves the line at a point.

    Attributes
    ----------
    name : str
        The run, the outlet or the fixed appliance.
    pipe : Pipe
        Its pipe; of an outlet or an appliance that of the run it stands on.
    fittings : tuple of (Fitting, int)
        Its fittings by number.
    """

    name: str
    pipe: Pipe
    fittings: tuple[tuple[Fitting, int], ...] = ()

    def side_tees(self, part: str) -> int:
        """Return how many tees of a kind it takes by their side."""
        return sum(count for fitting, count in self.fittings if fitting.way == "side" and bought_as(fitting) == part)


def bought_as(fitting: Fitting) -> str:
    """Return the name that a fitting is bought under."""
    return fitting.part or fitting.name


def exits_by_point(job: Job) -> dict[str, list[Exit]]:
    """Return what leaves the line at each point.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.

    Returns
    -------
    dict of str to list of Exit
        By the name of the run that ends there, or that of the first regulator.
    """
    pipes = {run.name: run.pipes[0] for run in job.runs}
    points: dict[str, list[Exit]] = {}
    for run in job.runs:
        points.setdefault(run.start, []).append(Exit(run.name, run.pipes[0], run.fittings))
    for outlet in job.outlets:
        points.setdefault(outlet.at, []).append(Exit(outlet.name, pipes[outlet.at], outlet.fittings))
    for appliance in job.appliances:
        if appliance.at is not None:
            points.setdefault(appliance.at, []).append(Exit(appliance.name, pipes[appliance.at]))
    return points


def fittings_at(exits: Sequence[Exit]) -> Iterator[tuple[Fitting, Pipe, int]]:
    """Yield the fittings to buy at a point: a tee that several exits pass once, in the size of its side branch.

    A tee that an exit takes by its side is the same that another passes straight on. Where every exit takes a tee by
    its side, one tee feeds two of them.

    Parameters
    ----------
    exits : sequence of Exit
        What leaves the point.

    Yields
    ------
    tuple of (Fitting, Pipe, int)
        A fitting, the pipe that it goes into, and how many are bought.
    """
    side_tees: Counter[str] = Counter()
    for exit_ in exits:
        for fitting, count in exit_.fittings:
            if fitting.way == "side":
                side_tees[bought_as(fitting)] += count
    smallest = min(exits, key=lambda exit_: exit_.pipe.bore_m)
    shared = {part for part in side_tees if len(exits) > 1 and all(exit_.side_tees(part) for exit_ in exits)}
    for exit_ in exits:
        others = {part: total - exit_.side_tees(part) for part, total in side_tees.items()}
        for fitting, count in exit_.fittings:
            part, bought = bought_as(fitting), count
            if fitting.way == "straight":
                bought = max(0, count - others.get(part, 0))
                others[part] = max(0, others.get(part, 0) - count)
            elif fitting.way == "side" and exit_ is smallest and part in shared:
                shared.remove(part)
                bought -= 1
            yield fitting, exit_.pipe, bought


def left_open(job: Job, point: str, exits: Sequence[Exit]) -> Iterator[Remark]:
    """Yield a remark on what a point needs and the job does not show: a tee, a change of size.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.
    point : str
        The name of the run that ends there, or that of the first regulator.
    exits : sequence of Exit
        What leaves the point.

    Yields
    ------
    Remark
    """
    where = "at the regulator" if point == ROOT else f"where {point} ends"
    tees = sum(count for fitting, _, count in fittings_at(exits) if fitting.ends >= _TEE_ENDS)
    if tees < len(exits) - 1:
        tees_listed = f"{tees} tees are" if tees > 1 else f"{tees or 'no'} tee is"
        yield Remark(
            NO_TEE, point, f"{where}, {_listed([exit_.name for exit_ in exits])} go on, but {tees_listed} listed"
        )
    before = next((run.pipes[0].label for run in job.runs if run.name == point), None)
    by_size: dict[str, list[str]] = {}
    for exit_ in exits:
        if before is not None and exit_.pipe.label != before:
            by_size.setdefault(exit_.pipe.label, []).append(exit_.name)
    for label, names in by_size.items():
        go = "goes" if len(names) == 1 else "go"
        needs = "see that a reducing tee or a reducer is counted"
        yield Remark(NEW_SIZE, point, f"{where}, {_listed(names)} {go} on in {label} from {before}: {needs}")


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]
