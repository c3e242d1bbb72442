"""What a line holds: the volume of its pipe and hoses, by the sections that its regulators part it into."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drawbar.job import ROOT, Hose, Job, Outlet, Run
from drawbar.line.plugging import places


def pipe_volume_m3(bore_m: float, length_m: float) -> float:
    """Volume of a pipe [m3].

    V = pi / 4 d^2 l

    Parameters
    ----------
    bore_m : float
        d, inside diameter [m].
    length_m : float
        l, length [m].

    Returns
    -------
    float
        V [m3].

    References
    ----------
    Volume of a cylinder.

    Examples
    --------
    Four metres of 14 mm bore hold 0.616 L:

    >>> round(pipe_volume_m3(0.014, 4.0) * 1e3, 3)
    0.616
    """
    return 0.25 * math.pi * bore_m**2 * length_m


@dataclass(frozen=True, slots=True)
class TestSection:
    """What lies behind one regulator and before the next, and is tested in one.

    Attributes
    ----------
    name : str
        `regulator` for the first, the run at whose start it is for a second stage.
    gauge_pa : float
        The regulator's outlet pressure [Pa gauge].
    runs : tuple of (Run, float)
        Each run with its volume [m3].
    hoses : tuple of (Outlet, Hose, float)
        The hoses plugged in for the test, with their volumes [m3].
    """

    name: str
    gauge_pa: float
    runs: tuple[tuple[Run, float], ...]
    hoses: tuple[tuple[Outlet, Hose, float], ...]

    @property
    def volume_m3(self) -> float:
        """Volume of pipe and hoses [m3]."""
        return sum(volume for _, volume in self.runs) + sum(volume for _, _, volume in self.hoses)


def sections_of(job: Job, *, hoses: bool = False) -> list[TestSection]:
    """Return the sections that a job's regulators part its line into.

    Parameters
    ----------
    job : Job
        The job, with the sizes of its runs decided.
    hoses : bool
        Whether the largest hoses that go on its outlets are counted as well.

    Returns
    -------
    list of TestSection
        The first regulator's, then those of the second stages in the order of the runs.
    """
    head: dict[str, str] = {ROOT: ROOT}
    runs: dict[str, list[tuple[Run, float]]] = {}
    pressures = {ROOT: job.regulator.outlet_gauge_pa}
    for run in job.runs:
        if run.regulator is not None:
            head[run.name] = run.name
            pressures[run.name] = run.regulator.outlet_gauge_pa
        else:
            head[run.name] = head[run.start]
        runs.setdefault(head[run.name], []).append((run, pipe_volume_m3(run.pipes[0].bore_m, run.length_m)))
    plugged: dict[str, list[tuple[Outlet, Hose, float]]] = {}
    for outlet, hose in largest_hoses(job) if hoses else ():
        plugged.setdefault(head[outlet.at], []).append((outlet, hose, _hose_volume_m3(hose)))
    return [
        TestSection(name, pressures[name], tuple(members), tuple(plugged.get(name, ())))
        for name, members in runs.items()
    ]


def largest_hoses(job: Job) -> list[tuple[Outlet, Hose]]:
    """Return the hoses that hold the most together, one at an outlet, as many of each as there are.

    Taking them by falling volume, whenever one more can be placed, gives the most: the sets of hoses that can be
    placed are the independent sets of a transversal matroid (Edmonds 1971).
    """
    fits = {
        hose.name: [
            outlet.name
            for outlet in job.outlets
            if any((outlet, hose) in places(job, appliance) for appliance in job.appliances)
        ]
        for hose in job.hoses
    }
    holder: dict[str, Hose] = {}

    def placed(hose: Hose, tried: set[str]) -> bool:
        for name in sorted(fits[hose.name], key=holder.__contains__):  # the free ones first
            if name not in tried:
                tried.add(name)
                if name not in holder or placed(holder[name], tried):
                    holder[name] = hose
                    return True
        return False

    for hose in sorted(job.hoses, key=lambda hose: -_hose_volume_m3(hose)):
        for _ in range(min(hose.count or len(job.outlets), len(job.outlets))):
            if not placed(hose, set()):
                break  # another one of the kind finds no place either
    return [(outlet, holder[outlet.name]) for outlet in job.outlets if outlet.name in holder]


def _hose_volume_m3(hose: Hose) -> float:
    return pipe_volume_m3(hose.pipe.bore_m, hose.length_m)
