"""The hot water of a job: its heaters at given flows, and its water side as it is connected, with a verdict."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drawbar.hot_water import HeaterResult, NoHeater, NoSuchHeater, heater_result
from drawbar.job import Appliance, Job, WaterDuty
from drawbar.problems import close_to, shown
from drawbar.verdict import Reason, Verdict, verdict_of
from drawbar.water_line.water_answer import ConnectionResult, water_results


@dataclass(frozen=True, slots=True)
class HotWaterResult:
    """What the water heaters of a job give.

    Attributes
    ----------
    job : Job
        The job.
    heaters : tuple of HeaterResult
        Each heater that says what water it heats, or that which was asked about.
    connections : tuple of ConnectionResult
        Each way that its water side is connected, or those of the heater that was asked about.
    """

    job: Job
    heaters: tuple[HeaterResult, ...]
    connections: tuple[ConnectionResult, ...] = ()

    @property
    def because(self) -> tuple[Reason, ...]:
        """Why the verdict is not PASS, what fails first."""
        reasons = [reason for connection in self.connections for reason in connection.because]
        return tuple(sorted(reasons, key=lambda reason: reason.verdict is not Verdict.FAIL))

    @property
    def verdict(self) -> Verdict | None:
        """The worst verdict of its connections; None where the job says nothing of its water side."""
        return verdict_of(self.because) if self.connections else None


def hotwater(
    job: Job, appliance: str | None = None, *, pump_m3_s: float | None = None, wanted_k: float | None = None
) -> HotWaterResult:
    """Work out the temperature of the water of a job's heaters, the wait, and how much runs off first.

    Parameters
    ----------
    job : Job
        The job. Runs may leave their sizes open.
    appliance : str or None
        The name of the only heater to look at, None for all.
    pump_m3_s : float or None
        The flow of another pump [m3/s].
    wanted_k : float or None
        A temperature to give the flow for [K].

    Returns
    -------
    HotWaterResult
        Each heater, with the job's own flow and those asked about, and each way that the water side is connected.

    Raises
    ------
    NoHeater
        If no appliance says what water it heats.
    NoSuchHeater
        If the appliance is not in the job, or heats no water.
    WantedTooCold
        If the wanted temperature is not above that of the cold water. All three are a kind of ValueError.

    Examples
    --------
    >>> import drawbar
    >>> water = drawbar.hotwater(drawbar.read_job("examples/harvest-fair-trailer.yaml"))
    >>> [(heater.appliance.name, round(heater.draws[0].outlet_k - 273.15, 1)) for heater in water.heaters]
    [('basin', 32.0)]
    """
    heaters = {heater.name: heater for heater in job.appliances if heater.heats is not None}
    connections = water_results(job)
    if not heaters and not connections:
        raise NoHeater("no appliance says what water it heats")
    known = dict.fromkeys((*heaters, *(each.connection.heater.name for each in connections)))
    if appliance is not None and appliance not in known:
        is_there = any(other.name == appliance for other in job.appliances)
        what = "says of no water that it heats it" if is_there else "is not an appliance of this job"
        fit = f"heaters here: {', '.join(known)}" if is_there else close_to(appliance, known)
        raise NoSuchHeater(f"{shown(appliance)} {what}; {fit}")
    if pump_m3_s is not None or wanted_k is not None:
        heaters |= {heater.name: heater for heater in _by_connection(job, connections) if heater.name not in heaters}
    asked = [heater for name, heater in heaters.items() if appliance in (None, name)]
    return HotWaterResult(
        job,
        tuple(heater_result(heater, pump_m3_s, wanted_k) for heater in asked),
        tuple(each for each in connections if appliance in (None, each.connection.heater.name)),
    )


def _by_connection(job: Job, connections: tuple[ConnectionResult, ...]) -> Iterator[Appliance]:
    """Yield the heaters of connections with the flow and the cold water of the first of them, for what is asked."""
    appliances = {appliance.name: appliance for appliance in job.appliances}
    seen: set[str] = set()
    for result in connections:
        heater, flows = result.connection.heater, result.flows
        if heater.name in seen or flows is None or heater.efficiency is None or flows.drawn.flow_m3_s <= 0.0:
            continue
        seen.add(heater.name)
        duty = WaterDuty(flows.drawn.flow_m3_s, flows.drawn_line.cold_k, heater.efficiency)
        yield appliances[heater.name]._replace(heats=duty)
