"""Jobs to commission, and faults put into them by other ways than the program fits: for the trials."""

import dataclasses
import random
from collections.abc import Callable
from functools import cache

from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import ROOT, Device, Job
from drawbar.jobfile.reader import job_of
from drawbar.line.network import Line
from drawbar.onsite.fault_fitting import Reading
from drawbar.onsite.testpoints import Altered, Model, Setup, pluggings

TRAILER = """
job: Food trailer
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa}
runs:
  main:     {from: regulator, pipe: as1432-b/15.88, length: 3.6 m, rise: -0.4 m, fittings: {elbow-90: 3}}
  galley:   {from: main, pipe: as1432-b/12.70, length: 1.1 m, rise: 0.5 m, fittings: {tee-branch: 1, elbow-90: 2}}
  kerbside: {from: main, pipe: as1432-b/12.70, length: 0.9 m, fittings: {tee-through: 1}}
  rear:     {from: kerbside, pipe: as1432-b/9.52, length: 2.2 m, fittings: {elbow-90: 2}}
outlets:
  kerb-bayonet: {at: kerbside, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
  rear-bayonet: {at: rear,     devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
hoses:
  short-hose: {pipe: hose/8, length: 1.5 m, count: 2, devices: [{name: coupler, flow: 50 MJ/h, drop: 60 Pa}]}
appliances:
  fryer:   {at: galley, input: 50 MJ/h}
  urn:     {plugs-into: any, hose: short-hose, input: 21 MJ/h}
  griddle: {plugs-into: any, hose: short-hose, input: 28 MJ/h}
  basin:   {at: galley, input: 32 MJ/h}
states:
  breakfast:  [urn, fryer]
  service:    {fryer: 100 %, griddle: 60 %}
  everything: [fryer, urn, griddle, basin]
"""
CARAVAN = """
job: Caravan, all fixed
gas: {propane: 70 %, n-butane: 30 %}
limits: {drop: 0.25 kPa}
regulator: {outlet: 30 mbar}
runs:
  drawbar: {from: regulator, pipe: as1432-b/12.70, length: 2.4 m, fittings: {elbow-90: 2}}
  front:   {from: drawbar, pipe: as1432-b/9.52, length: 1.2 m, fittings: {tee-branch: 1}}
  spine:   {from: drawbar, pipe: as1432-b/12.70, length: 3.5 m, devices: [{name: valve, flow: 40 MJ/h, drop: 30 Pa}]}
  kitchen: {from: spine, pipe: as1432-b/9.52, length: 0.8 m, fittings: {tee-branch: 1, elbow-90: 1}}
  back:    {from: spine, pipe: as1432-b/9.52, length: 2.8 m, fittings: {tee-through: 1, elbow-90: 2}}
appliances:
  heater: {at: front, input: 14 MJ/h}
  hob:    {at: kitchen, input: 26 MJ/h}
  fridge: {at: back, input: 2.5 MJ/h}
  shower: {at: back, input: 22 MJ/h}
states:
  evening: [heater, hob, fridge]
  morning: [shower, hob, fridge]
  all on:  [heater, hob, fridge, shower]
"""
TWO_STAGE = """
job: Two buildings on one first stage
gas: propane
limits: {drop: 0.3 kPa}
regulator: {outlet: 70 kPa}
runs:
  yard:   {from: regulator, pipe: as1432-b/9.52, length: 18 m, fittings: {elbow-90: 4}}
  house:  {from: yard, pipe: as1432-b/15.88, length: 4 m, regulator: {inlet-min: 20 kPa, outlet: 2.75 kPa}}
  stove:  {from: house, pipe: as1432-b/12.70, length: 3 m, fittings: {tee-branch: 1, elbow-90: 3}}
  bath:   {from: house, pipe: as1432-b/15.88, length: 5 m, fittings: {tee-through: 1, elbow-90: 2}}
  shed:   {from: yard, pipe: as1432-b/9.52, length: 12 m}
  bench:  {from: shed, pipe: as1432-b/12.70, length: 2 m, regulator: {inlet-min: 20 kPa, outlet: 2.75 kPa}}
appliances:
  range:  {at: stove, input: 45 MJ/h}
  geyser: {at: bath, input: 85 MJ/h}
  forge:  {at: bench, input: 60 MJ/h}
states:
  house: [range, geyser]
  work:  [range, forge]
  all:   [range, geyser, forge]
"""
BOAT = """
job: Boat with three places to plug in
gas: propane
limits: {drop: 2.5 mbar}
regulator: {outlet: 37 mbar}
runs:
  locker: {from: regulator, pipe: as1432-b/12.70, length: 1.5 m, rise: 0.6 m, fittings: {elbow-90: 2}}
  port:   {from: locker, pipe: as1432-b/9.52, length: 4.2 m, fittings: {tee-branch: 1, elbow-90: 3}}
  stern:  {from: locker, pipe: as1432-b/9.52, length: 3.1 m, fittings: {tee-through: 1, elbow-90: 2}}
  deck:   {from: stern, pipe: as1432-b/9.52, length: 1.4 m, rise: 1.1 m}
outlets:
  saloon: {at: port,  devices: [{name: socket, flow: 30 MJ/h, drop: 35 Pa}]}
  aft:    {at: stern, devices: [{name: socket, flow: 30 MJ/h, drop: 35 Pa}]}
  rail:   {at: deck,  devices: [{name: socket, flow: 30 MJ/h, drop: 35 Pa}]}
hoses:
  long:  {pipe: hose/8, length: 3 m}
  short: {pipe: hose/8, length: 1 m}
appliances:
  cooker:  {at: port, input: 24 MJ/h}
  grill:   {plugs-into: [rail, aft], hose: long, input: 18 MJ/h}
  stove:   {plugs-into: [saloon, aft], hose: short, input: 12 MJ/h}
states:
  cooking: [cooker]
  harbour: [cooker, grill]
  winter:  [cooker, stove]
  all:     [cooker, grill, stove]
"""
NOISE_PA = 10.0
MOVED_PA = 50.0


@cache
def job(text: str) -> Job:
    return job_of(text, "job.yaml", Catalogue([]), sized=True)


@cache
def setups(text: str) -> tuple[Setup, ...]:
    found = [ways.worst() for ways in pluggings(job(text))]
    assert None not in found
    return tuple(one for one in found if one is not None)


JOBS = (TRAILER, CARAVAN, TWO_STAGE, BOAT)


@dataclasses.dataclass(frozen=True)
class Put:
    """A fault: the part's name as the program calls it, and the line with that fault as bad as x (from 0 on)."""

    part: str
    kind: str
    make: Callable[[float], Altered]


def _run_changed(base: Job, name: str, **changes: object) -> Job:
    runs = (dataclasses.replace(run, **changes) if run.name == name else run for run in base.runs)
    return dataclasses.replace(base, runs=tuple(runs))


def faults(base: Job, states: tuple[Setup, ...]) -> list[Put]:
    """Return every fault that can be put in: a small bore, a kink, a stuck device, a low regulator, a wrong jet."""
    puts: list[Put] = []
    lit = {burner.name for setup in states for burner in Model(base, fixed_orifice=False).burners(setup)}
    for run in base.runs:
        pipe = run.pipes[0]

        def undersized(x: float, run=run, pipe=pipe) -> Altered:
            bore_m = pipe.bore_m / (1.0 + x)
            return Altered(Line(_run_changed(base, run.name, pipes=(dataclasses.replace(pipe, bore_m=bore_m),))))

        def kinked(x: float, run=run) -> Altered:
            kink = Device("kink", 5e-4, 100.0 * x)
            return Altered(Line(_run_changed(base, run.name, devices=(*run.devices, kink))))

        puts += [Put(f"run {run.name}", "undersized", undersized), Put(f"run {run.name}", "kinked", kinked)]
        if run.devices:

            def stuck(x: float, run=run) -> Altered:
                devices = tuple(dataclasses.replace(d, drop_pa=d.drop_pa * (1.0 + x)) for d in run.devices)
                return Altered(Line(_run_changed(base, run.name, devices=devices)))

            puts.append(Put(f"run {run.name}", "device", stuck))
        if run.regulator is not None:

            def low_stage(x: float, run=run) -> Altered:
                low = dataclasses.replace(
                    run.regulator, outlet_gauge_pa=run.regulator.outlet_gauge_pa / (1.0 + 0.2 * x)
                )
                return Altered(Line(_run_changed(base, run.name, regulator=low)))

            puts.append(Put(f"regulator of {run.name}", "regulator", low_stage))
    for outlet in base.outlets:
        if not any(one.outlet.name == outlet.name for setup in states for one in setup.way):
            continue

        def blocked(x: float, outlet=outlet) -> Altered:
            devices = tuple(dataclasses.replace(d, drop_pa=d.drop_pa * (1.0 + x)) for d in outlet.devices)
            outlets = (dataclasses.replace(o, devices=devices) if o.name == outlet.name else o for o in base.outlets)
            return Altered(Line(dataclasses.replace(base, outlets=tuple(outlets))))

        puts.append(Put(f"outlet {outlet.name}", "device", blocked))
    for name, hose in {(o.appliance.name, o.hose) for setup in states for o in setup.way if o.hose is not None}:

        def pinched(x: float, name=name, hose=hose) -> Altered:
            pipe = dataclasses.replace(hose.pipe, bore_m=hose.pipe.bore_m / (1.0 + x))
            return Altered(Line(base), hoses={name: dataclasses.replace(hose, name=f"own of {name}", pipe=pipe)})

        puts.append(Put(f"hose {hose.name} of {name}", "undersized", pinched))
    puts.sort(key=lambda put: (put.part, put.kind))  # a set has no order of its own

    def low(x: float) -> Altered:
        regulator = dataclasses.replace(
            base.regulator, outlet_gauge_pa=base.regulator.outlet_gauge_pa / (1.0 + 0.2 * x)
        )
        return Altered(Line(dataclasses.replace(base, regulator=regulator)))

    puts.append(Put(ROOT, "regulator", low))
    for one in base.appliances:
        if one.name in lit:

            def hungry(x: float, one=one) -> Altered:
                return Altered(Line(base), loads={one.name: 1.0 + x})

            def starved(x: float, one=one) -> Altered:
                return Altered(Line(base), loads={one.name: 1.0 / (1.0 + x)})

            puts += [
                Put(f"appliance {one.name}", "over rate", hungry),
                Put(f"appliance {one.name}", "under rate", starved),
            ]
    return puts


@dataclasses.dataclass(frozen=True)
class Trial:
    """One simulated visit: the model, what was read, and the part at fault, if any."""

    model: Model
    measured: list[Reading]
    put: Put | None
    moved_pa: float


def sized(model: Model, states: tuple[Setup, ...], put: Put, wanted_pa: float) -> tuple[float, float]:
    """Return the size of a fault that moves the reading it moves most by as much as is wanted [Pa], and by how much."""
    healthy = [model.gauge_pa(setup) for setup in states]

    def moved(x: float) -> float:
        altered = put.make(x)
        return max(
            abs(found - was[name])
            for setup, was in zip(states, healthy, strict=True)
            for name, found in model.gauge_pa(setup, altered).items()
        )

    most = 1.0 if put.kind in ("over rate", "under rate") else 3.0 if put.kind == "undersized" else 200.0
    if moved(most) < wanted_pa:
        return most, moved(most)
    low, high = 0.0, most
    for _ in range(14):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if moved(middle) < wanted_pa else (low, middle)
    return high, moved(high)


def trial(rng: random.Random, *, faulty: bool, every_point: bool = True) -> Trial:
    """Simulate a visit to one of the jobs: every test point in every state, or the inlets of appliances alone."""
    while True:
        text = rng.choice(JOBS)
        model, states = Model(job(text), fixed_orifice=rng.random() < 0.75), setups(text)
        put = rng.choice(faults(model.job, states)) if faulty else None
        altered, moved_pa = None, 0.0
        if put is not None:
            size, _ = sized(model, states, put, rng.uniform(MOVED_PA, 5.0 * MOVED_PA))
            altered = put.make(size)
        measured = []
        for setup in states:
            found, healthy = model.gauge_pa(setup, altered), model.gauge_pa(setup)
            lit = {burner.name for burner in model.burners(setup)}
            for place in model.places(setup):
                if every_point or place.name in lit:
                    moved_pa = max(moved_pa, abs(found[place.name] - healthy[place.name]))
                    measured.append(Reading(setup, place.name, rng.gauss(found[place.name], NOISE_PA), NOISE_PA))
        if put is None or moved_pa >= MOVED_PA:
            return Trial(model, measured, put, moved_pa)
