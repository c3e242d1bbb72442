"""What the bottles of a job work in, as drawn and at worst: the gas that they were filled with, and the air."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.job import Cylinders, Job
from drawbar.physics import air
from drawbar.physics.gas import Gas


class Surroundings(NamedTuple):
    """What bottles work in.

    Attributes
    ----------
    gas : Gas
        What they were filled with.
    ambient_k : float
        The air around them [K].
    atmospheric_pa : float
        Its pressure [Pa absolute].
    more : float
        By what factor the inputs are larger than drawn [-].
    is_worst : bool
        Whether a use that is too often to follow counts by a pattern that is harder, not milder, on the bottle.
    """

    gas: Gas
    ambient_k: float
    atmospheric_pa: float
    more: float
    is_worst: bool


def worst_around(job: Job, bottles: Cylinders) -> Surroundings:
    """Return what bottles work in with everything at its worst; as drawn where the job has no tolerances.

    Bottles that give no air of their own are read with the coldest of the site.

    Parameters
    ----------
    job : Job
        As drawn.
    bottles : Cylinders
        Its own bottles, or others in their place.

    Returns
    -------
    Surroundings
    """
    worst = Surroundings(job.filled_with, bottles.ambient_k, job.atmospheric_pa, 1.0, is_worst=True)
    if job.tolerances is None:
        return worst
    worst = worst._replace(more=1.0 + job.tolerances.input)
    site = job.site_range
    if site is None:
        return worst
    heaviest, lowest_pa = max(site.fills, key=_boils_at_k), air.standard_atmosphere_pa(site.altitude_m[0])
    return worst._replace(gas=heaviest, atmospheric_pa=lowest_pa)


def drawn_around(job: Job, bottles: Cylinders) -> Surroundings:
    """Return what bottles work in as drawn: in the middle of a site that is a range, as the line."""
    site = job.site_range
    is_of_site = site is not None and bottles.ambient_k == site.temperature_k[0]
    ambient_k = job.temperature_k if is_of_site else bottles.ambient_k
    return Surroundings(job.filled_with, ambient_k, job.atmospheric_pa, 1.0, is_worst=False)


def _boils_at_k(gas: Gas) -> float:
    return sum(share * component.boiling_k for component, share in gas.fractions)
