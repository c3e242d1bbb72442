"""The tightness of a line: its volume, what a fall of pressure means, what a manometer can see, and the purge."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drawbar.job import ROOT, Appliance, Hose, Job, Outlet, Pipe, Run, TightnessTest
from drawbar.line.plugging import places
from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.gas import Vapour

NO_FALL_SOURCE = "Energy Safe Victoria, gas information sheet 04: on LPG any loss of pressure is located and put right"
PURGED = 0.95
"""Share of gas at the end of a purge; its source is PURGE_SOURCE."""
PURGE_SOURCE = "Energy Safe Victoria, gas information sheet 14b"
RESOLUTION_PA = 10.0
"""What a manometer shows if nothing else is said [Pa]: about a millimetre of water. Common practice, no source."""

_TOLERANCE_PA = 1e-6


def pipe_m3(bore_m: float, length_m: float) -> float:
    """Volume of a pipe [m3]: pi / 4 bore_m^2 length_m, both [m]."""
    return 0.25 * math.pi * bore_m**2 * length_m


def gauge_at_pa(gauge_pa: float, atmospheric_pa: float, from_k: float, to_k: float) -> float:
    """Gauge pressure that a closed pipe reads once it is at another temperature [Pa].

    p2 = (p1 + pa) T2 / T1 - pa

    gauge_pa : p1 [Pa gauge]; atmospheric_pa : pa, the same at both readings [Pa]; from_k, to_k : T1, T2 [K]

    Range: gas in a pipe that keeps its volume, near the atmosphere's pressure. CoolProp's real air changes by 0.3 %
    more than this says, propane by 3 to 5 %, n-butane by 8 %.
    Source: ideal gas law; IFGC 2018, Appendix A, A.6.5 has an example.
    """
    return (gauge_pa + atmospheric_pa) * to_k / from_k - atmospheric_pa


def leak_of_fall_m3_s(volume_m3: float, fall_pa: float, temperature_k: float, time_s: float) -> float:
    """Leak that a fall of pressure at one temperature means, as gas of 15 degC and 101325 Pa [m3/s].

    q = V dp / t x (T0 / T) / p0

    volume_m3 : V [m3]; fall_pa : dp [Pa]; temperature_k : T [K]; time_s : t [s]; T0 : 288.15 K; p0 : 101325 Pa

    Range: near the atmosphere's pressure, where this is within 0.1 % of real air, and up to 3 % short for propane.
    Source: ideal gas law; reference state of ISO 13443.
    """
    return volume_m3 * fall_pa / time_s * REFERENCE_K / (temperature_k * STANDARD_PA)


def wait_for_fall_s(volume_m3: float, fall_pa: float, temperature_k: float, leak_m3_s: float) -> float:
    """Time until a leak has made a fall [s].

    t = V dp / q x (T0 / T) / p0; leak_m3_s : q [m3/s]; volume_m3 [m3], fall_pa [Pa], temperature_k [K] and the rest as
    in `leak_of_fall_m3_s`, turned round
    """
    return volume_m3 * fall_pa / leak_m3_s * REFERENCE_K / (temperature_k * STANDARD_PA)


def air_viscosity_pa_s(temperature_k: float) -> float:
    """Viscosity of air [Pa s].

    mu = 1.458e-6 T^1.5 / (T + 110.4)

    temperature_k : T [K]. Range: the troposphere. Source: ISO 2533:1975 (Sutherland's formula; clause from memory).
    """
    return 1.458e-6 * math.pow(temperature_k, 1.5) / (temperature_k + 110.4)


def gas_for_air(vapour: Vapour) -> tuple[float, float]:
    """How much gas passes a leak through which so much air passes at the same pressures [-]: (a hole, a hairline).

    A hole as an orifice: sqrt(1 / d); a hairline as laminar flow: viscosity of air / viscosity of the gas

    vapour : d, relative density [-], and viscosity [Pa s] at its temperature [K]

    Source: orifice equation and Hagen-Poiseuille's law.
    """
    return 1.0 / math.sqrt(vapour.relative_density), air_viscosity_pa_s(vapour.temperature_k) / vapour.viscosity_pa_s


def mixed_volumes(share: float) -> float:
    """How many volumes of gas make a line's contents that share gas if all that is in it mixes at once [-].

    n = ln(1 / (1 - share)); share : of gas at the end [-], from 0 to below 1

    Source: mass balance of a stirred volume. Without any mixing one volume is enough; a line is in between.
    """
    return math.log(1.0 / (1.0 - share))


@dataclass(frozen=True, slots=True)
class TestSection:
    """What lies behind one regulator and before the next, and is tested in one.

    name : `regulator` for the first, the run at whose start it is for a second stage
    gauge_pa : the regulator's outlet pressure [Pa gauge]
    runs : each with its volume [m3]; hoses : those plugged in for the test, with their volumes [m3]
    """

    name: str
    gauge_pa: float
    runs: tuple[tuple[Run, float], ...]
    hoses: tuple[tuple[Outlet, Hose, float], ...]

    @property
    def volume_m3(self) -> float:
        """Volume of pipe and hoses [m3]."""
        return sum(volume for _, volume in self.runs) + sum(volume for _, _, volume in self.hoses)


@dataclass(frozen=True, slots=True)
class Reading:
    """Two readings of a manometer on a section, and what they mean.

    start_gauge_pa, end_gauge_pa : as read [Pa gauge], time_s apart [s]
    start_k, end_k : of the gas in the pipe [K]; is_corrected tells whether they were given
    fall_pa : with the end put right to the start's temperature [Pa]; below 0 if it rose
    leak_m3_s : that this fall means, as gas of 15 degC and 101325 Pa [m3/s]
    allowed_fall_pa, resolution_pa : [Pa]
    """

    start_gauge_pa: float
    end_gauge_pa: float
    start_k: float
    end_k: float
    is_corrected: bool
    time_s: float
    fall_pa: float
    leak_m3_s: float
    allowed_fall_pa: float
    resolution_pa: float

    @property
    def passes(self) -> bool:
        """Tell whether the fall is less than one step of the manometer over what is allowed."""
        return self._is_within(self.fall_pa)

    @property
    def passes_by_correction(self) -> bool:
        """Tell whether the readings would not pass as they stand, and do once put right for temperature."""
        return self.passes and not self._is_within(self.start_gauge_pa - self.end_gauge_pa)

    @property
    def rises(self) -> bool:
        """Tell whether the pressure rose by a step of the manometer or more, which no leak explains."""
        return -self.fall_pa >= self.resolution_pa - _TOLERANCE_PA

    def _is_within(self, fall_pa: float) -> bool:
        return fall_pa < self.allowed_fall_pa + self.resolution_pa - _TOLERANCE_PA


@dataclass(frozen=True, slots=True)
class Purge:
    """The way from the first regulator to one burner, to be filled with gas through it.

    volume_m3 : of the pipe and hose [m3]; mass_kg : gas in it at working pressure [kg]; flow_kg_s : at full rate [kg/s]
    """

    appliance: Appliance
    outlet: Outlet | None
    hose: Hose | None
    volume_m3: float
    mass_kg: float
    flow_kg_s: float

    @property
    def least_s(self) -> float:
        """Time if the gas pushes the air out without mixing [s]."""
        return self.mass_kg / self.flow_kg_s

    @property
    def mixed_s(self) -> float:
        """Time until the line holds PURGED of gas if all mixes at once [s]."""
        return self.least_s * mixed_volumes(PURGED)


@dataclass(frozen=True, slots=True)
class Tightness:
    """A line's volume, test and purge.

    test : None where neither the rule set nor the call gives one
    time_s : of the test or the reading [s], None where nothing gives it; leak_m3_s : asked about [m3/s], or None
    """

    job: Job
    test: TightnessTest | None
    sections: tuple[TestSection, ...]
    resolution_pa: float
    time_s: float | None
    leak_m3_s: float | None
    reading: Reading | None
    purges: tuple[Purge, ...]

    @property
    def passes(self) -> bool:
        """Tell whether the reading, if there is one, is within what is allowed."""
        return self.reading is None or self.reading.passes

    def gauge_pa(self, section: TestSection) -> float:
        """Return the pressure that a section is tested at [Pa gauge]."""
        return self.test.pressure_gauge_pa if self.test else section.gauge_pa

    def pa_per_k(self, section: TestSection) -> float:
        """Return what a kelvin changes at the test pressure [Pa/K]."""
        return (self.gauge_pa(section) + self.job.atmospheric_pa) / self.job.temperature_k

    def smallest_leak_m3_s(self, section: TestSection) -> float | None:
        """Return the leak that makes one step of the manometer in the time [m3/s], None where no time is known."""
        if self.time_s is None:
            return None
        return leak_of_fall_m3_s(section.volume_m3, self.resolution_pa, self.job.temperature_k, self.time_s)

    def wait_s(self, section: TestSection) -> float | None:
        """Return how long the leak asked about takes to make one step of the manometer [s], None if none was."""
        if self.leak_m3_s is None:
            return None
        return wait_for_fall_s(section.volume_m3, self.resolution_pa, self.job.temperature_k, self.leak_m3_s)


def sections_of(job: Job, *, hoses: bool = False) -> list[TestSection]:
    """Return the sections of a job whose sizes are decided, with the largest hoses that go on its outlets if asked."""
    head: dict[str, str] = {ROOT: ROOT}
    runs: dict[str, list[tuple[Run, float]]] = {}
    pressures = {ROOT: job.regulator.outlet_gauge_pa}
    for run in job.runs:
        if run.regulator is not None:
            head[run.name] = run.name
            pressures[run.name] = run.regulator.outlet_gauge_pa
        else:
            head[run.name] = head[run.start]
        runs.setdefault(head[run.name], []).append((run, pipe_m3(run.pipes[0].bore_m, run.length_m)))
    plugged: dict[str, list[tuple[Outlet, Hose, float]]] = {}
    for outlet, hose in largest_hoses(job) if hoses else ():
        plugged.setdefault(head[outlet.at], []).append((outlet, hose, pipe_m3(hose.pipe.bore_m, hose.length_m)))
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
        hose.name: [o.name for o in job.outlets if any((o, hose) in places(job, one) for one in job.appliances)]
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

    for hose in sorted(job.hoses, key=lambda one: -pipe_m3(one.pipe.bore_m, one.length_m)):
        for _ in range(min(hose.count or len(job.outlets), len(job.outlets))):
            if not placed(hose, set()):
                break  # another one of the kind finds no place either
    return [(outlet, holder[outlet.name]) for outlet in job.outlets if outlet.name in holder]


def purges_of(job: Job) -> Iterator[Purge]:
    """Yield the purge through each appliance; one that is plugged in takes the way that holds the most."""
    mass_to: dict[str, tuple[float, float]] = {ROOT: (0.0, 0.0)}
    stage = {ROOT: job.regulator.outlet_gauge_pa}

    def further(before: tuple[float, float], pipe: Pipe, length_m: float, gauge_pa: float) -> tuple[float, float]:
        volume = pipe_m3(pipe.bore_m, length_m)
        density_kg_m3 = job.vapour.density_kg_m3(gauge_pa + job.atmospheric_pa)
        return before[0] + volume, before[1] + volume * density_kg_m3

    for run in job.runs:
        stage[run.name] = run.regulator.outlet_gauge_pa if run.regulator else stage[run.start]
        mass_to[run.name] = further(mass_to[run.start], run.pipes[0], run.length_m, stage[run.name])
    for appliance in job.appliances:
        if appliance.at is not None:
            yield Purge(appliance, None, None, *mass_to[appliance.at], appliance.flow_kg_s)
            continue
        ways = []
        for outlet, hose in places(job, appliance):
            whole = mass_to[outlet.at]
            if hose is not None:
                whole = further(whole, hose.pipe, hose.length_m, stage[outlet.at])
            ways.append((*whole, outlet, hose))
        if ways:
            volume_m3, mass_kg, outlet, hose = max(ways, key=lambda way: way[0])
            yield Purge(appliance, outlet, hose, volume_m3, mass_kg, appliance.flow_kg_s)


def tightness(
    job: Job,
    test: TightnessTest | None,
    sections: Sequence[TestSection],
    *,
    resolution_pa: float = RESOLUTION_PA,
    time_s: float | None = None,
    leak_m3_s: float | None = None,
    reading: Reading | None = None,
) -> Tightness:
    """Put together what is to be said of a line.

    resolution_pa : of the manometer [Pa]; time_s : of the test, its own where none is given [s]
    leak_m3_s : a leak to turn into a fall [m3/s]
    """
    if time_s is None and test is not None:
        time_s = test.hold_s
    return Tightness(job, test, tuple(sections), resolution_pa, time_s, leak_m3_s, reading, tuple(purges_of(job)))


def reading_of(
    job: Job,
    test: TightnessTest | None,
    section: TestSection,
    start_gauge_pa: float,
    end_gauge_pa: float,
    time_s: float,
    temperatures_k: tuple[float, float] | None = None,
    resolution_pa: float = RESOLUTION_PA,
) -> Reading:
    """Return what two readings on a section mean.

    start_gauge_pa, end_gauge_pa : [Pa gauge]; time_s : between them [s]; resolution_pa : of the manometer [Pa]
    temperatures_k : of the gas at start and end [K]; None if they were not taken: the site's, the same at both
    """
    start_k, end_k = temperatures_k or (job.temperature_k, job.temperature_k)
    fall_pa = start_gauge_pa - gauge_at_pa(end_gauge_pa, job.atmospheric_pa, end_k, start_k)
    return Reading(
        start_gauge_pa=start_gauge_pa,
        end_gauge_pa=end_gauge_pa,
        start_k=start_k,
        end_k=end_k,
        is_corrected=temperatures_k is not None,
        time_s=time_s,
        fall_pa=fall_pa,
        leak_m3_s=leak_of_fall_m3_s(section.volume_m3, fall_pa, start_k, time_s),
        allowed_fall_pa=test.allowed_fall_pa if test else 0.0,
        resolution_pa=resolution_pa,
    )
