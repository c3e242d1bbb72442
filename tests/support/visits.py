"""Visits to lines that are not as in the job file: wrong lengths, thin air, faults found reading by reading."""

import random
import statistics
from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from CoolProp.CoolProp import PropsSI

from commission_jobs import (
    JOBS,
    MOVED_PA,
    NOISE_PA,
    Fault,
    Remembering,
    faults,
    job,
    model_of,
    moved,
    setups,
    sized,
)
from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.onsite.fault_fitting import Reading, diagnose, noise_at_pa
from drawbar.onsite.gas_of_day import Day, on_the_day
from drawbar.onsite.next_reading import Search
from drawbar.onsite.testpoints import Altered, Model, Setup
from drawbar.physics.air import standard_atmosphere_pa

MOST_READINGS = 16  # of one visit, by advice


def read(setup: Setup, at: str, pressures: Mapping[str, float], rng: random.Random) -> Reading:
    """Return a reading of a true pressure, with the manometer's noise."""
    noise_pa = noise_at_pa(NOISE_PA, pressures[at])
    return Reading(setup, at, rng.gauss(pressures[at], noise_pa), noise_pa)


def as_built(base: Job, rng: random.Random, how: str, length: float, rate: float) -> Altered:
    """Return a line whose lengths and rates are off: evenly spread to a limit, normally by it, or always by it."""

    def off(share: float) -> float:
        return {
            "even": lambda: rng.uniform(-share, share),
            "normal": lambda: rng.gauss(0.0, share),
            "always": lambda: rng.choice((-share, share)),
        }[how]()

    runs = tuple(run._replace(length_m=run.length_m * (1.0 + off(length))) for run in base.runs)
    return Altered(Line(base._replace(runs=runs)), loads={each.name: 1.0 + off(rate) for each in base.appliances})


def blamed_when_healthy(seeds: Iterable[int], how: str, length: float = 0.10, rate: float = 0.05) -> float:
    """Return the share of lines with nothing wrong, but not as in the job file, of which a part is blamed."""
    outcomes = []
    for seed in seeds:
        rng = random.Random(seed)
        text = rng.choice(JOBS)
        model = model_of(text, fixed_orifice=True)
        altered, measured = as_built(model.job, rng, how, length, rate), []
        for setup in setups(text):
            true = model.gauge_pa(setup, altered)
            measured += [read(setup, place.name, true, rng) for place in model.places(setup)]
        outcomes.append(diagnose(model, measured).is_blamed)
    return statistics.mean(outcomes)


@cache
def search(text: str) -> Search:
    """Return the search of a job, which is the same for every visit to it."""
    return Search(model_of(text, fixed_orifice=True), setups(text))


def fault_of(rng: random.Random) -> tuple[str, Fault, Altered]:
    """Return a job with one fault that moves a pressure by 50 to 250 Pa."""
    while True:
        text = rng.choice(JOBS)
        model, states = model_of(text, fixed_orifice=True), setups(text)
        fault = rng.choice(faults(model.job, states))
        altered = fault.make(sized(model, states, fault, rng.uniform(MOVED_PA, 5.0 * MOVED_PA)))
        most_pa = max(
            moved(model.gauge_pa(setup, altered)[place.name], model.gauge_pa(setup)[place.name])
            for setup in states
            for place in model.places(setup)
        )
        if most_pa >= MOVED_PA:
            return text, fault, altered


def _in_order(text: str) -> Iterator[tuple[Setup, str]]:
    model = model_of(text, fixed_orifice=True)
    for setup in setups(text):
        yield from ((setup, place.name) for place in model.places(setup))


def visit(seed: int, way: str) -> tuple[int, str]:
    """Return how many readings a visit to a faulty line takes, and how it ends: right, wrong or open.

    `advised` reads what the program says, `order` each point along the line, state by state, `all` all of them at once.
    """
    rng = random.Random(seed)
    text, fault, altered = fault_of(rng)
    model, points = model_of(text, fixed_orifice=True), list(_in_order(text))
    measured: list[Reading] = []
    while len(measured) < (MOST_READINGS if way == "advised" else len(points)):
        if way == "advised":
            advised = search(text).next_reading(measured, NOISE_PA)
            if advised is None:
                break
            taken = [(advised.setup, advised.place.name)]
        else:
            taken = points[len(measured) : None if way == "all" else len(measured) + 1]
        measured += [read(setup, at, model.gauge_pa(setup, altered), rng) for setup, at in taken]
        finding = diagnose(model, measured)
        if finding.is_found:
            named = finding.groups[0].fits[0].candidate.part
            return len(measured), "right" if named == fault.part else "wrong"
    return len(measured), "open"


def summary(results: Iterable[tuple[int, str]]) -> dict[str, float]:
    """Return shares of the ends of visits, and of those that end right the middle and the mean count of readings."""
    results = list(results)
    right = [count for count, end in results if end == "right"]
    shares = {name: sum(end == name for _, end in results) / len(results) for name in ("right", "wrong", "open")}
    return {**shares, "median": statistics.median(right), "mean": statistics.mean(right)}


class _TrueAtHeight(Remembering):
    """A line whose burners take what orifices pass by densities of CoolProp."""

    def __init__(self, plate: Job, job: Job) -> None:
        super().__init__(job, fixed_orifice=True)
        self._plate_job = plate

    def flow_factor(self, stage_gauge_pa: float) -> float:
        """Return the root of the ratio of the densities before the orifice [-]."""
        here, plate = (
            _density_kg_m3(each, stage_gauge_pa, temperature_k, air_pa)
            for each, temperature_k, air_pa in (
                (self.job, self.job.temperature_k, self.job.atmospheric_pa),
                (self._plate_job, 288.15, 101_325.0),
            )
        )
        return (here / plate) ** 0.5


def _density_kg_m3(job: Job, gauge_pa: float, temperature_k: float, air_pa: float) -> float:
    names = {"propane": "Propane", "n-butane": "n-Butane"}
    parts = [(names[component.name], share) for component, share in job.gas.fractions]
    fluid = "&".join(name if len(parts) == 1 else f"{name}[{share}]" for name, share in parts)
    return float(PropsSI("D", "T", temperature_k, "P", gauge_pa + air_pa, f"HEOS::{fluid}"))


@cache
def at_height(text: str, altitude_m: float) -> tuple[Model, Model]:
    """Return the true line of a job at an altitude, and the program's."""
    there = on_the_day(job(text), Day(altitude_m=altitude_m))
    assert there.atmospheric_pa == standard_atmosphere_pa(altitude_m)
    return _TrueAtHeight(job(text), there), Remembering(there, fixed_orifice=True)


def at_altitude(seeds: Iterable[int], altitude_m: float) -> dict[str, float]:
    """Return at an altitude the share of healthy lines that are blamed, and of faults of which the part is named."""
    blamed, named = [], []
    for seed in seeds:
        rng = random.Random(seed)
        text, fault, _ = fault_of(rng)
        true, model = at_height(text, altitude_m)
        # The fault is the same thing at every height: it is made again on the line there.
        again = next(
            each for each in faults(true.job, setups(text)) if (each.part, each.kind) == (fault.part, fault.kind)
        )
        size = sized(true, setups(text), again, rng.uniform(100.0, 250.0))
        for outcome, altered_there in ((blamed, None), (named, again.make(size))):
            measured = []
            for setup in setups(text):
                pressures = true.gauge_pa(setup, altered_there)
                measured += [read(setup, place.name, pressures, rng) for place in model.places(setup)]
            finding = diagnose(model, measured)
            parts = [fit.candidate.part for fit in finding.groups[0].fits] if finding.is_blamed else []
            outcome.append(finding.is_blamed if altered_there is None else fault.part in parts)
    return {"blamed": statistics.mean(blamed), "named": statistics.mean(named)}
