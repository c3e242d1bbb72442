"""A line as it might really be, solved by another route: Darcy's equation at the mean density, friction by `fluids`.

It shares with the project the properties of the gas and the reading of the job file, nothing of how a line is solved:
pressures go down the tree by plain recursion, and every combination is made by trying all assignments.
"""

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from random import Random

from fluids import friction_factor

from drawbar.job import Appliance, Hose, Job, Outlet, Run
from drawbar.physics.air import GRAVITY, air_density_kg_m3, standard_atmosphere_pa
from drawbar.rules import Tolerances

BAD, GOOD = 1.0, -1.0  # the two ends of a tolerance: lower pressure, higher pressure
Plugging = dict[str, tuple[Outlet, Hose | None]]


class Dice:
    """How far each figure is off: at its bad end, at its good end, or anywhere between."""

    def __init__(self, random: Random, share_bad: float) -> None:
        self.random = random
        self.share_bad = share_bad

    def off(self) -> float:
        """Return from GOOD to BAD."""
        throw = self.random.random()
        if throw < self.share_bad:
            return BAD
        return GOOD if throw < self.share_bad + 0.1 else self.random.uniform(GOOD, BAD)


def true_job(job: Job, dice: Dice) -> Job:
    """Return the job with every figure somewhere within its tolerances, its site and its gas within their ranges."""
    tolerances = job.tolerances
    assert tolerances is not None

    def piece(each: Run | Hose) -> dict[str, object]:
        longer = max(tolerances.length * each.length_m, tolerances.length_m)
        return {
            "length_m": max(1e-4, each.length_m + dice.off() * longer),
            "fittings": fittings(each),
            "devices": devices(each),
        }

    def fittings(each: Run | Outlet | Hose) -> tuple[object, ...]:
        return tuple(
            (kind._replace(ratio=kind.ratio * (1.0 + dice.off() * tolerances.fittings)), count)
            for kind, count in each.fittings
        )

    def devices(each: Run | Outlet | Hose) -> tuple[object, ...]:
        return tuple(
            device._replace(drop_pa=device.drop_pa * (1.0 + dice.off() * tolerances.devices)) for device in each.devices
        )

    def pipe(each: Run | Hose) -> object:
        nominal = each.pipe
        return nominal._replace(bore_m=nominal.bore_m - dice.off() * nominal.bore_tolerance_m)

    def regulator(each: object) -> object:
        return each._replace(outlet_gauge_pa=each.outlet_gauge_pa * (1.0 - dice.off() * each.accuracy))

    gas, temperature_k, altitude_m = job.gas, job.temperature_k, job.altitude_m
    if job.site_range is not None:
        gas = dice.random.choice(job.site_range.gases)
        temperature_k, altitude_m = (
            low + (high - low) * dice.random.choice((0.0, dice.random.random(), 1.0))
            for low, high in (job.site_range.temperature_k, job.site_range.altitude_m)
        )
    atmospheric_pa = standard_atmosphere_pa(altitude_m)
    return job._replace(
        gas=gas,
        vapour=gas.vapour(temperature_k),
        temperature_k=temperature_k,
        atmospheric_pa=atmospheric_pa,
        air_density_kg_m3=air_density_kg_m3(atmospheric_pa, temperature_k),
        regulator=regulator(job.regulator),
        runs=tuple(
            run._replace(
                **piece(run), pipes=(pipe(run),), regulator=regulator(run.regulator) if run.regulator else None
            )
            for run in job.runs
        ),
        outlets=tuple(o._replace(fittings=fittings(o), devices=devices(o)) for o in job.outlets),
        hoses=tuple(replace(hose, **piece(hose), pipe=pipe(hose)) for hose in job.hoses),
        appliances=tuple(_true_input(a, tolerances, dice, job, gas.gross_j_kg) for a in job.appliances),
    )


def _true_input(appliance: Appliance, tolerances: Tolerances, dice: Dice, job: Job, gross_j_kg: float) -> Appliance:
    more = 1.0 + dice.off() * tolerances.input
    flow_kg_s = appliance.flow_kg_s * more * job.gas.gross_j_kg / gross_j_kg
    return appliance._replace(input_w=appliance.input_w * more, flow_kg_s=flow_kg_s)


def least_margin_pa(job: Job) -> float:
    """Return the least margin of all states, combinations, appliances and second stages [Pa]."""
    return min(margin_pa for state in job.states for margin_pa in _margins(job, dict(state.shares)))


def least_by_appliance(job: Job) -> dict[str, float]:
    """Return by appliance the least margin of all states and combinations [Pa]."""
    least: dict[str, float] = {}
    for state in job.states:
        shares = dict(state.shares)
        for plugging in pluggings(job, shares):
            for name, margin_pa in _solved(job, shares, plugging)[0].items():
                least[name] = min(margin_pa, least.get(name, math.inf))
    return least


def _margins(job: Job, shares: Mapping[str, float]) -> Iterator[float]:
    for plugging in pluggings(job, shares):
        appliances, stages = _solved(job, shares, plugging)
        yield from appliances.values()
        yield from stages


def pluggings(job: Job, shares: Mapping[str, float]) -> Iterator[Plugging]:
    """Yield every combination that leaves no room for one more appliance as the rest stand."""
    portable = [a for a in job.appliances if a.name in shares and a.at is None]
    choices = [
        [
            None,
            *itertools.product(
                [o for o in job.outlets if o.name in a.plugs_into],
                [h for h in job.hoses if h.name in a.hoses] or [None],
            ),
        ]
        for a in portable
    ]
    for places in itertools.product(*choices):
        taken = [place for place in places if place is not None]
        if not _fits(job, taken):
            continue
        out = [choice for choice, place in zip(choices, places, strict=True) if place is None]
        if not any(_fits(job, [*taken, place]) for choice in out for place in choice if place is not None):
            yield {a.name: place for a, place in zip(portable, places, strict=True) if place is not None}


def _fits(job: Job, places: list[tuple[Outlet, Hose | None]]) -> bool:
    outlets = [outlet.name for outlet, _ in places]
    if len(set(outlets)) < len(outlets):
        return False
    used = [hose.name for _, hose in places if hose is not None]
    return all(hose.count is None or used.count(hose.name) <= hose.count for hose in job.hoses)


def _solved(job: Job, shares: Mapping[str, float], plugging: Plugging) -> tuple[dict[str, float], list[float]]:
    runs = {run.name: run for run in job.runs}
    outlet_at = {name: place[0].at for name, place in plugging.items()}
    burning = {a.name: a for a in job.appliances if a.name in shares and (a.at is not None or a.name in plugging)}
    flows = dict.fromkeys(runs, 0.0)
    for name, appliance in burning.items():
        at = appliance.at or outlet_at[name]
        while at in runs:
            flows[at] += appliance.flow_kg_s * shares[name]
            at = runs[at].start
    ends: dict[str, float] = {"regulator": job.regulator.outlet_gauge_pa}  # gauge
    stage = {"regulator": job.regulator.outlet_gauge_pa}
    stage_margins = []
    for run in job.runs:
        start_pa, stage[run.name] = ends[run.start], stage[run.start]
        if run.regulator is not None:
            stage_margins.append(start_pa - run.regulator.inlet_min_gauge_pa)
            start_pa = stage[run.name] = run.regulator.outlet_gauge_pa
        ends[run.name] = end_gauge_pa(job, run, run.pipe, start_pa, flows[run.name], stage[run.name])
    margins = {}
    for name, appliance in burning.items():
        at, flow_kg_s = appliance.at or outlet_at[name], appliance.flow_kg_s * shares[name]
        pressure_pa = ends[at]
        if name in plugging:
            outlet, hose = plugging[name]
            pressure_pa = end_gauge_pa(job, outlet, runs[at].pipe, pressure_pa, flow_kg_s, stage[at])
            if hose is not None:
                pressure_pa = end_gauge_pa(job, hose, hose.pipe, pressure_pa, flow_kg_s, stage[at])
        margins[name] = pressure_pa - max(stage[at] - job.allowed_drop_pa, appliance.min_gauge_pa)
    return margins, stage_margins


def end_gauge_pa(  # noqa: PLR0913, PLR0917 - what stands in the equation
    job: Job, piece: object, pipe: object, start_pa: float, flow_kg_s: float, stage_pa: float
) -> float:
    """Return the pressure at the end of a run, outlet or hose [Pa gauge], by the density at the mean pressure.

    A maker's figure is for 15 degC, the sea and the pressure of the stage.
    """
    length_m = getattr(piece, "length_m", 0.0) + pipe.bore_m * sum(kind.ratio * n for kind, n in piece.fittings)
    rise_m = getattr(piece, "rise_m", 0.0)
    thin = job.gas.vapour(288.15).density_kg_m3(101_325.0 + stage_pa) / job.vapour.density_kg_m3(
        job.atmospheric_pa + stage_pa
    )
    devices_pa = thin * sum(device.drop_pa * (flow_kg_s / device.flow_kg_s) ** 2 for device in piece.devices)
    friction_pa = 0.0
    flux = flow_kg_s / (0.25 * math.pi * pipe.bore_m**2)
    if flow_kg_s > 0.0 and length_m > 0.0:
        reynolds = flux * pipe.bore_m / job.vapour.viscosity_pa_s
        if reynolds < 1900.0:
            factor = 64.0 / reynolds
        else:
            factor = friction_factor(Re=max(reynolds, 2040.1), eD=pipe.roughness_m / pipe.bore_m, Method="Clamond")
            if reynolds < 2040.1:  # what `fluids` counts as laminar; the smooth law of Blasius carries it down
                factor *= (2040.1 / reynolds) ** 0.25
        for _ in range(4):
            mean = job.vapour.density_kg_m3(start_pa - 0.5 * friction_pa + job.atmospheric_pa)
            friction_pa = factor * length_m / pipe.bore_m * flux**2 / (2.0 * mean)
            if friction_pa > start_pa:
                return -1e9
    after_pa = start_pa - friction_pa - devices_pa
    weight = job.vapour.density_kg_m3(after_pa + job.atmospheric_pa) - job.air_density_kg_m3
    return after_pa - weight * GRAVITY * rise_m
