"""What each connection of a job's water side comes to: flow, warmth, wait, water, gas, current, and what would do."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from drawbar.hot_water import BOILING_K, HEATER_START_S, MIXING
from drawbar.job import Job, State
from drawbar.physics.water import density_kg_m3, heat_capacity_j_kg_k
from drawbar.rules import HotLimit
from drawbar.verdict import Reason, Verdict, verdict_of
from drawbar.water_line.water_ends import FlowEnds, flow_ends
from drawbar.water_line.water_judge import HotEnds, hot_ends, water_reasons
from drawbar.water_line.water_parts import Connection, WaterPump, WaterRun

PUMP_SIZES_M3_S = tuple(
    litres * 1e-3 / 60.0 for litres in (3.8, 4.3, 5.0, 6.0, 7.5, 8.0, 10.0, 11.3, 12.5, 15.0, 17.0, 20.0)
)
"""Open flows of 12 V pumps as they are sold [m3/s]: common practice, no source."""
_SETTINGS = tuple(share / 20.0 for share in range(19, 1, -1))
_HOUR_S = 3600.0
_MOST_TRIED = 2_000  # stretches by pumps and settings, over the connections of a job for which another is looked for


class Wait(NamedTuple):
    """Until water comes hot [s], and what runs off first [m3]: the least and about the most."""

    least_s: float
    most_s: float
    least_m3: float
    most_m3: float


class OneUse(NamedTuple):
    """What a use of a connection takes.

    Attributes
    ----------
    on_s : float
        How long [s].
    water_m3, most_water_m3 : float
        Water, as drawn and at most [m3].
    gas_kg, most_gas_kg : float
        Gas, as drawn and at most [kg].
    charge_ah : float or None
        What the pump takes of the battery [Ah]; None where its current is not known, 0 without a pump.
    of_source : int or None
        Uses that the full source has water for at the most flow; None where it has no end or is not known.
    of_bottles : int or None
        Uses that the bottles drawn from have gas for as they are filled; None where the job has no bottles.
    """

    on_s: float
    water_m3: float
    most_water_m3: float
    gas_kg: float
    most_gas_kg: float
    charge_ah: float | None
    of_source: int | None
    of_bottles: int | None


@dataclass(frozen=True, slots=True)
class ConnectionResult:
    """A connection worked out.

    Attributes
    ----------
    connection : Connection
        The connection.
    flows : FlowEnds or None
        Where it settles; None where that can't be worked out.
    hot : HotEnds or None
        How warm it comes with its heater lit.
    limit_k : float or None
        The hottest that may reach its outlet [K].
    wait : Wait or None
        Until it comes hot.
    use : OneUse or None
        What a use takes; None where the job does not say how long it is.
    because : tuple of Reason
        Why its verdict is not PASS.
    fixes : tuple of WaterFix
        What would do, each alone.
    has_fixes_tried : bool
        Whether other pumps and settings were tried where it does not pass.
    """

    connection: Connection
    flows: FlowEnds | None
    hot: HotEnds | None
    limit_k: float | None
    wait: Wait | None
    use: OneUse | None
    because: tuple[Reason, ...]
    fixes: tuple[WaterFix, ...] = ()
    has_fixes_tried: bool = False

    @property
    def verdict(self) -> Verdict:
        """The verdict on it."""
        return verdict_of(self.because)

    @property
    def is_unlit(self) -> bool:
        """Tell whether its heater does not light as drawn."""
        return any(
            reason.code in ("water-unlit", "water-low-pressure") and reason.verdict is Verdict.FAIL
            for reason in self.because
        )


@dataclass(frozen=True, slots=True)
class WaterFix:
    """A change with which a connection passes.

    Attributes
    ----------
    kind : str
        `pump`: another pump; `set`: the heater turned down.
    value : float
        The pump's open flow, its curve drawn out or in [m3/s]; the share of the input [-].
    result : ConnectionResult
        The connection with that change.
    """

    kind: str
    value: float
    result: ConnectionResult


def water_results(job: Job, *, with_fixes: bool = True) -> tuple[ConnectionResult, ...]:
    """Return what each connection of a job comes to; nothing where the job has no water side.

    Parameters
    ----------
    job : Job
        The job. Runs of gas pipe may leave their sizes open.
    with_fixes : bool
        Whether to try other pumps and settings for the connections that do not pass.

    Returns
    -------
    tuple of ConnectionResult
        In the order of the job. Where the connections that do not pass are very many or long, other pumps and settings
        are tried for the first of them alone.
    """
    if job.water is None:
        return ()
    results = []
    left = _MOST_TRIED
    for connection in job.water.connections:
        result = connection_result(job, connection)
        if with_fixes and result.because:
            left -= (len(connection.cold) + len(connection.hot) + 2) * (len(PUMP_SIZES_M3_S) + len(_SETTINGS))
            if left >= 0:
                result = replace(result, fixes=tuple(_fixes(job, result)), has_fixes_tried=True)
        results.append(result)
    return tuple(results)


def connection_result(job: Job, connection: Connection) -> ConnectionResult:
    """Return what a connection comes to, without what would put it right."""
    flows = flow_ends(connection, job.tolerances)
    hot = hot_ends(connection, flows, job.tolerances) if flows is not None else None
    limit = limit_with_source(job)
    limit_k = limit.most_k if limit is not None else None
    wait = use = None
    if flows is not None and hot is not None:
        wait, use = _wait(connection, flows, hot), _use(job, connection, flows, hot)
    because = tuple(water_reasons(connection, flows, hot, limit_k))
    return ConnectionResult(connection, flows, hot, limit_k, wait, use, because)


def limit_with_source(job: Job) -> HotLimit | None:
    """Return the hottest that may reach an outlet of a job: its own, else that of its rule, else None."""
    if job.water is not None and job.water.own_limit_k is not None:
        return HotLimit(job.water.own_limit_k, "given in the job file")
    return job.rule.hot_water if job.rule is not None else None


def gas_state(job: Job, connection: Connection) -> State | None:
    """Return a connection as a state of the gas side: what its heater draws at most, with what is on beside it.

    Parameters
    ----------
    job : Job
        The job, for its tolerances.
    connection : Connection
        The connection.

    Returns
    -------
    State or None
        None where the connection does not say what is on with it.
    """
    if connection.together_with is None:
        return None
    flows = flow_ends(connection, job.tolerances)
    hot = hot_ends(connection, flows, job.tolerances) if flows is not None else None
    share = hot.most_share if hot is not None else connection.set_share or 1.0
    shares = ((connection.heater.name, share), *((name, 1.0) for name in connection.together_with))
    return State(connection.name, shares, connection.on_s, connection.every_s)


# pieces


def held_m3(runs: tuple[WaterRun, ...]) -> float:
    """Return the water that runs hold [m3]."""
    return sum(0.25 * math.pi * run.pipe.bore_m**2 * run.length_m for run in runs)


def wall_m3(runs: tuple[WaterRun, ...], temperature_k: float) -> float:
    """Return the water that takes as much heat as the walls of runs [m3]."""
    by_volume = density_kg_m3(temperature_k) * heat_capacity_j_kg_k(temperature_k)
    return sum(run.wall_j_m_k * run.length_m for run in runs) / by_volume


def _wait(connection: Connection, flows: FlowEnds, hot: HotEnds) -> Wait | None:
    """Return the wait: at least the water of the pipe at the most flow; about, with mixing, the walls and the start."""
    if flows.least.flow_m3_s <= 0.0:
        return None
    least_m3 = held_m3(connection.hot)
    walls_m3 = wall_m3(connection.hot, min(hot.used.drawn_k, BOILING_K))
    most_s = (MIXING * least_m3 + walls_m3) / flows.least.flow_m3_s + HEATER_START_S
    most_m3 = MIXING * least_m3 + walls_m3 + HEATER_START_S * flows.most.flow_m3_s
    return Wait(least_m3 / flows.most.flow_m3_s, most_s, least_m3, most_m3)


def _use(job: Job, connection: Connection, flows: FlowEnds, hot: HotEnds) -> OneUse | None:
    on_s = connection.on_s
    if on_s is None:
        return None
    pump, bottles, volume_m3 = connection.pump, job.cylinders, connection.source.volume_m3
    more = 1.0 + (job.tolerances.input if job.tolerances is not None else 0.0)
    gas_kg = connection.heater.flow_kg_s * hot.used.share * on_s
    most_gas_kg = connection.heater.flow_kg_s * hot.most_share * more * on_s
    most_m3 = flows.most.flow_m3_s * on_s
    charge_ah: float | None = 0.0
    if pump is not None:
        charge_ah = None if pump.current_a is None else pump.current_a * on_s / _HOUR_S
    filled_kg = bottles.size_kg * bottles.fill * bottles.drawing if bottles is not None else None
    return OneUse(
        on_s,
        flows.drawn.flow_m3_s * on_s,
        most_m3,
        gas_kg,
        most_gas_kg,
        charge_ah,
        None if volume_m3 is None or math.isinf(volume_m3) else math.floor(volume_m3 / most_m3),
        None if filled_kg is None else math.floor(filled_kg / most_gas_kg),
    )


def _fixes(job: Job, result: ConnectionResult) -> Iterator[WaterFix]:
    """Yield the pump and the setting with which a connection passes, else fails no more: of each the nearest."""
    connection = result.connection
    pump, least_share = connection.pump, connection.heater.least_share
    if pump is not None and pump.curve:
        now = pump.curve[-1][0]
        sizes = sorted(PUMP_SIZES_M3_S, key=lambda size: abs(math.log(size / now)))
        pumps = (
            WaterFix("pump", size, connection_result(job, _with_pump(connection, _resized(pump, size / now))))
            for size in sizes
        )
        yield from _best(result, pumps)
    if least_share is not None and connection.set_share is None:
        settings = (
            WaterFix("set", share, connection_result(job, connection._replace(set_share=share)))
            for share in _SETTINGS
            if share >= least_share
        )
        yield from _best(result, settings)


def _best(result: ConnectionResult, fixes: Iterable[WaterFix]) -> Iterator[WaterFix]:
    """Yield the first fix that passes, else the first with the best verdict, if it is better than the result's."""
    order = (Verdict.PASS, Verdict.UNDECIDED, Verdict.FAIL)
    best, best_rank = None, order.index(result.verdict)
    for fix in fixes:
        rank = order.index(fix.result.verdict)
        if rank < best_rank:
            best, best_rank = fix, rank
        if best_rank == 0:
            break
    if best is not None:
        yield best


def _with_pump(connection: Connection, pump: WaterPump) -> Connection:
    return connection._replace(pump=pump, measured_m3_s=None)


def _resized(pump: WaterPump, factor: float) -> WaterPump:
    """Return a pump of the same pressures with its flows larger by a factor."""
    return pump._replace(curve=tuple((flow * factor, pa) for flow, pa in pump.curve))
