"""The purge: how much gas it takes, and how long, until a line that held air holds gas."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from drawbar.job import ROOT, Appliance, Hose, Job, Outlet, Pipe
from drawbar.line.plugging import places
from drawbar.onsite.line_volume import pipe_volume_m3

PURGED = 0.95
"""Share of gas at the end of a purge; its source is PURGE_SOURCE."""
PURGE_SOURCE = "Energy Safe Victoria, gas information sheet 14b"
SMALL_BURNER_W = 1000.0
"""Gross input of a small burner, by which a purge is bounded where the smallest is not known [W].

Common practice, no source: the smallest burner of a hob.
"""


def mixed_volumes(share: float) -> float:
    """How many volumes of gas make a line's contents that share gas if all that is in it mixes at once [-].

    n = ln(1 / (1 - s)). Without any mixing one volume is enough; a line is in between.

    Parameters
    ----------
    share : float
        s, share of gas at the end, from 0 to below 1 [-].

    Returns
    -------
    float
        n, gas let in by the line's volume [-].

    References
    ----------
    Mass balance of a stirred volume.

    Examples
    --------
    >>> round(mixed_volumes(0.95), 2)
    3.0
    """
    return math.log(1.0 / (1.0 - share))


@dataclass(frozen=True, slots=True)
class Purge:
    """The way from the first regulator to one burner, to be filled with gas through it.

    Attributes
    ----------
    appliance : Appliance
        The burner that the gas leaves by.
    outlet : Outlet or None
        Where it is plugged in, None if it is fixed.
    hose : Hose or None
        The hose that it is plugged in with, None if it has none.
    volume_m3 : float
        Volume of pipe and hose [m3].
    mass_kg : float
        Gas in it at working pressure [kg].
    flow_kg_s : float
        Gas through all its burners at their full rate [kg/s].
    smallest_kg_s : float
        Gas through the burner that is lit first, its smallest, or what that takes at the least [kg/s].
    is_burner_known : bool
        Whether the job says what the smallest burner takes, or there is one alone.
    """

    appliance: Appliance
    outlet: Outlet | None
    hose: Hose | None
    volume_m3: float
    mass_kg: float
    flow_kg_s: float
    smallest_kg_s: float
    is_burner_known: bool

    @property
    def least_s(self) -> float:
        """Time if the gas pushes the air out without mixing, through all burners if the smallest is not known [s]."""
        return self.mass_kg / (self.smallest_kg_s if self.is_burner_known else self.flow_kg_s)

    @property
    def mixed_s(self) -> float:
        """Time until the line holds PURGED of gas if all mixes at once, through the smallest burner [s]."""
        return self.mass_kg / self.smallest_kg_s * mixed_volumes(PURGED)


def purges_of(job: Job) -> Iterator[Purge]:
    """Yield the purge through each appliance; one that is plugged in takes the way that holds the most.

    Parameters
    ----------
    job : Job
        The job, with the sizes of its runs decided.

    Yields
    ------
    Purge
        That of each appliance in the order of the job, but of those that fit nowhere.
    """
    contents: dict[str, tuple[float, float]] = {ROOT: (0.0, 0.0)}  # volume and mass up to the end of each run
    stage_gauge_pa = {ROOT: job.regulator.outlet_gauge_pa}

    def further(before: tuple[float, float], pipe: Pipe, length_m: float, gauge_pa: float) -> tuple[float, float]:
        volume_m3 = pipe_volume_m3(pipe.bore_m, length_m)
        density_kg_m3 = job.vapour.density_kg_m3(gauge_pa + job.atmospheric_pa)
        return before[0] + volume_m3, before[1] + volume_m3 * density_kg_m3

    for run in job.runs:
        stage_gauge_pa[run.name] = run.regulator.outlet_gauge_pa if run.regulator else stage_gauge_pa[run.start]
        contents[run.name] = further(contents[run.start], run.pipes[0], run.length_m, stage_gauge_pa[run.name])
    for appliance in job.appliances:
        if appliance.at is not None:
            yield Purge(
                appliance, None, None, *contents[appliance.at], appliance.flow_kg_s, *_lit_first(job, appliance)
            )
            continue
        ways = []
        for outlet, hose in places(job, appliance):
            held = contents[outlet.at]
            if hose is not None:
                held = further(held, hose.pipe, hose.length_m, stage_gauge_pa[outlet.at])
            ways.append((*held, outlet, hose))
        if ways:
            volume_m3, mass_kg, outlet, hose = max(ways, key=lambda way: way[0])
            yield Purge(appliance, outlet, hose, volume_m3, mass_kg, appliance.flow_kg_s, *_lit_first(job, appliance))


def _lit_first(job: Job, appliance: Appliance) -> tuple[float, bool]:
    """Return what the burner that is lit first takes [kg/s], or may take at the least, and whether that is known."""
    if appliance.smallest_burner_kg_s is not None:
        return appliance.smallest_burner_kg_s, True
    if appliance.heats is not None:  # a water heater has one
        return appliance.flow_kg_s, True
    return min(appliance.flow_kg_s, SMALL_BURNER_W / job.gas.gross_j_kg), False
