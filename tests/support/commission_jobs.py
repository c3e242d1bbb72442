"""Jobs to commission, and faults put into them by other ways than the program fits: for the trials."""

import dataclasses
import random
from collections.abc import Callable, Iterator, Sequence
from functools import cache, lru_cache

from drawbar.job import ROOT, Device, Hose, Job, Outlet, Regulator, Run
from drawbar.line.network import Line
from drawbar.onsite.fault_fitting import Reading, noise_at_pa
from drawbar.onsite.testpoints import Altered, Model, Setup, pluggings
from jobs import job_from

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
CLOSE_PA = 0.5  # how closely a fault's size is set


@cache
def job(text: str) -> Job:
    """Return the job of a text, read once."""
    return job_from(text)


@cache
def setups(text: str) -> tuple[Setup, ...]:
    """Return each state of a job in its worst combination."""
    worst = [ways.worst() for ways in pluggings(job(text))]
    assert None not in worst
    return tuple(setup for setup in worst if setup is not None)


JOBS = (TRAILER, CARAVAN, TWO_STAGE, BOAT)


class Remembering(Model):
    """A model that keeps the pressures it has worked out: visits to one job begin with the same faults."""

    def __init__(self, job: Job, *, fixed_orifice: bool) -> None:
        super().__init__(job, fixed_orifice=fixed_orifice)
        self._remembered = lru_cache(maxsize=3000)(self._worked_out)

    def gauge_pa(self, setup: Setup, altered: Altered | None = None) -> dict[str, float]:
        """Return the pressure at every test point of a setup, by name [Pa gauge]."""
        if altered is None:
            return self._remembered(setup, None, (), ())
        if altered.regulators or any(
            section.length_m != run.length_m
            for section, run in zip(altered.line.sections, altered.line.job.runs, strict=True)
        ):  # what its job does not say
            return super().gauge_pa(setup, altered)
        return self._remembered(setup, altered.line.job, tuple(altered.loads.items()), tuple(altered.hoses.items()))

    def _worked_out(
        self,
        setup: Setup,
        job: Job | None,
        loads: tuple[tuple[str, float], ...],
        hoses: tuple[tuple[str, Hose], ...],
    ) -> dict[str, float]:
        return super().gauge_pa(setup, None if job is None else Altered(Line(job), dict(loads), dict(hoses)))


@cache
def model_of(text: str, *, fixed_orifice: bool) -> Model:
    """Return the model of a job, which is the same for every visit to it."""
    return Remembering(job(text), fixed_orifice=fixed_orifice)


@dataclasses.dataclass(frozen=True)
class Fault:
    """What is wrong: the part's name as the program calls it, and the line with that fault as bad as x (from 0 on)."""

    part: str
    kind: str
    make: Callable[[float], Altered]


def faults(base: Job, states: tuple[Setup, ...]) -> list[Fault]:
    """Return every fault that can be put in: a small bore, a kink, a stuck device, a low regulator, a wrong jet."""
    used = {plugged.outlet.name for setup in states for plugged in setup.way}
    parts = [fault for run in base.runs for fault in _of_run(base, run)]
    parts += [_of_outlet(base, outlet) for outlet in base.outlets if outlet.name in used]
    hoses = {(plugged.appliance.name, plugged.hose) for setup in states for plugged in setup.way}
    parts += [_of_hose(base, name, hose) for name, hose in hoses if hose is not None]
    parts.sort(key=lambda fault: (fault.part, fault.kind))  # a set has no order of its own
    lit = {burner.name for setup in states for burner in Model(base, fixed_orifice=False).burners(setup)}
    burning = [appliance.name for appliance in base.appliances if appliance.name in lit]
    return [*parts, _of_regulator(base), *(fault for name in burning for fault in _of_appliance(base, name))]


def _of_run(base: Job, run: Run) -> Iterator[Fault]:
    pipe = run.pipes[0]

    def changed(**changes: object) -> Altered:
        runs = (each._replace(**changes) if each.name == run.name else each for each in base.runs)
        return Altered(Line(base._replace(runs=tuple(runs))))

    def undersized(x: float) -> Altered:
        return changed(pipes=(pipe._replace(bore_m=pipe.bore_m / (1.0 + x)),))

    def kinked(x: float) -> Altered:
        return changed(devices=(*run.devices, Device("kink", 5e-4, 100.0 * x)))

    def stuck(x: float) -> Altered:
        return changed(devices=_dropping(run.devices, 1.0 + x))

    def low(x: float) -> Altered:
        return changed(regulator=_lower(run.regulator, x))

    yield Fault(f"run {run.name}", "undersized", undersized)
    yield Fault(f"run {run.name}", "kinked", kinked)
    if run.devices:
        yield Fault(f"run {run.name}", "device", stuck)
    if run.regulator is not None:
        yield Fault(f"regulator of {run.name}", "regulator", low)


def _of_outlet(base: Job, outlet: Outlet) -> Fault:
    def blocked(x: float) -> Altered:
        stuck = outlet._replace(devices=_dropping(outlet.devices, 1.0 + x))
        outlets = (stuck if each.name == outlet.name else each for each in base.outlets)
        return Altered(Line(base._replace(outlets=tuple(outlets))))

    return Fault(f"outlet {outlet.name}", "device", blocked)


def _of_hose(base: Job, name: str, hose: Hose) -> Fault:
    def pinched(x: float) -> Altered:
        pipe = hose.pipe._replace(bore_m=hose.pipe.bore_m / (1.0 + x))
        return Altered(Line(base), hoses={name: dataclasses.replace(hose, name=f"own of {name}", pipe=pipe)})

    return Fault(f"hose {hose.name} of {name}", "undersized", pinched)


def _of_regulator(base: Job) -> Fault:
    def low(x: float) -> Altered:
        return Altered(Line(base._replace(regulator=_lower(base.regulator, x))))

    return Fault(ROOT, "regulator", low)


def _of_appliance(base: Job, name: str) -> Iterator[Fault]:
    def hungry(x: float) -> Altered:
        return Altered(Line(base), loads={name: 1.0 + x})

    def starved(x: float) -> Altered:
        return Altered(Line(base), loads={name: 1.0 / (1.0 + x)})

    yield Fault(f"appliance {name}", "over rate", hungry)
    yield Fault(f"appliance {name}", "under rate", starved)


def _dropping(devices: Sequence[Device], times: float) -> tuple[Device, ...]:
    return tuple(device._replace(drop_pa=device.drop_pa * times) for device in devices)


def _lower(regulator: Regulator, x: float) -> Regulator:
    return regulator._replace(outlet_gauge_pa=regulator.outlet_gauge_pa / (1.0 + 0.2 * x))


@dataclasses.dataclass(frozen=True)
class Trial:
    """One simulated visit: the model, what was read, and the part at fault, if any."""

    model: Model
    measured: list[Reading]
    fault: Fault | None
    moved_pa: float


def moved(gauge_pa: float, was_pa: float) -> float:
    """Return by how much a reading moves [Pa], counted as much less as the gauge that shows it is coarser."""
    return abs(gauge_pa - was_pa) * NOISE_PA / noise_at_pa(NOISE_PA, was_pa)


def sized(model: Model, states: tuple[Setup, ...], fault: Fault, wanted_pa: float) -> float:
    """Return the size of a fault that moves the reading it moves most by as much as is wanted, or by CLOSE_PA more.

    Where even the largest size moves it less, that size.
    """
    healthy = [model.gauge_pa(setup) for setup in states]

    def over_pa(x: float) -> float:
        """Return how much more the reading moves than to the middle of what will do [Pa]."""
        altered = fault.make(x)
        moved_pa = max(
            moved(pa, was[name])
            for setup, was in zip(states, healthy, strict=True)
            for name, pa in model.gauge_pa(setup, altered).items()
        )
        return moved_pa - wanted_pa - 0.5 * CLOSE_PA

    most = 1.0 if fault.kind in ("over rate", "under rate") else 3.0 if fault.kind == "undersized" else 200.0
    low, low_pa, high, high_pa = 0.0, -wanted_pa, most, over_pa(most)
    if high_pa < 0.0:
        return most
    # By false position; the height of an end that stays put is halved each time (the Illinois rule).
    for _ in range(60):
        x = low - low_pa * (high - low) / (high_pa - low_pa)
        x_pa = over_pa(x)
        if abs(x_pa) <= 0.5 * CLOSE_PA:
            return x
        if x_pa < 0.0:
            low, low_pa, high_pa = x, x_pa, 0.5 * high_pa
        else:
            high, high_pa, low_pa = x, x_pa, 0.5 * low_pa
    raise AssertionError(f"no size of {fault.part} ({fault.kind}) moves a reading by {wanted_pa:.1f} Pa")


def trial(rng: random.Random, *, faulty: bool, every_point: bool = True) -> Trial:
    """Simulate a visit to one of the jobs: every test point in every state, or the inlets of appliances alone."""
    while True:
        text = rng.choice(JOBS)
        model, states = model_of(text, fixed_orifice=rng.random() < 0.75), setups(text)
        fault = rng.choice(faults(model.job, states)) if faulty else None
        altered, moved_pa = None, 0.0
        if fault is not None:
            altered = fault.make(sized(model, states, fault, rng.uniform(MOVED_PA, 5.0 * MOVED_PA)))
        measured = []
        for setup in states:
            real, healthy = model.gauge_pa(setup, altered), model.gauge_pa(setup)
            lit = {burner.name for burner in model.burners(setup)}
            for place in model.places(setup):
                if every_point or place.name in lit:
                    moved_pa = max(moved_pa, moved(real[place.name], healthy[place.name]))
                    noise_pa = noise_at_pa(NOISE_PA, real[place.name])
                    measured.append(Reading(setup, place.name, rng.gauss(real[place.name], noise_pa), noise_pa))
        if fault is None or moved_pa >= MOVED_PA:
            return Trial(model, measured, fault, moved_pa)
