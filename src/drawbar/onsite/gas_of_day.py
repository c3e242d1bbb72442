"""The gas and the air of the day: a job in the conditions that were measured on site."""

from __future__ import annotations

from dataclasses import dataclass

from drawbar.job import Job
from drawbar.physics.air import air_density_kg_m3, standard_atmosphere_pa
from drawbar.physics.gas import Gas


@dataclass(frozen=True, slots=True)
class Day:
    """What was measured on site beside pressures.

    Attributes
    ----------
    temperature_k : float or None
        Of the gas in the pipe [K]; None for that of the job.
    altitude_m : float or None
        Of the place [m]; None for that of the job.
    gas : Gas or None
        What was in the line; None for the gas of the job.
    """

    temperature_k: float | None = None
    altitude_m: float | None = None
    gas: Gas | None = None


AS_IN_THE_JOB = Day()


def on_the_day(job: Job, day: Day) -> Job:
    """Return a job in the conditions of a day; the inputs of its appliances stay those of their plates.

    Parameters
    ----------
    job : Job
        The job.
    day : Day
        What was measured.

    Returns
    -------
    Job
        The job itself where nothing was.
    """
    if day == AS_IN_THE_JOB:
        return job
    gas = day.gas or job.gas
    temperature_k = job.temperature_k if day.temperature_k is None else day.temperature_k
    altitude_m = job.altitude_m if day.altitude_m is None else day.altitude_m
    atmospheric_pa = standard_atmosphere_pa(altitude_m)
    return job._replace(
        gas=gas,
        vapour=gas.vapour(temperature_k),
        temperature_k=temperature_k,
        altitude_m=altitude_m,
        atmospheric_pa=atmospheric_pa,
        air_density_kg_m3=air_density_kg_m3(atmospheric_pa, temperature_k),
        site_range=None,
    )
