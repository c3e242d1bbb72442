"""The worst corner of a job: the job with every tolerance at its bad end at once.

The corner is a job like any other, solved by the same code. Of what stands here each quantity can only make a pressure
lower when it goes to its bad end, whatever the rest: a bore that is smaller, a length, a fitting, a device's drop or an
input that is larger, a regulator that is set lower. So no line within the tolerances does worse than the corner.

Where the site's temperature, altitude or gas is a range, no single end is the worst: friction is worst in thin warm
gas, height in dense cold gas on a rising run. The corner then takes each at its own bad end, which is a bound on all
between: the molar mass of the lightest gas at the warm end and in the thinnest air for friction and for runs that fall;
the heaviest gas at the cold end in the densest air for runs that rise; the largest viscosity for the friction factor,
and the smallest for whether the flow is laminar. Mixtures are looked at in even steps from one end to the other.
"""

from __future__ import annotations

from dataclasses import replace

from drawbar.job import Appliance, Device, Fitting, Hose, Job, Outlet, Pipe, Regulator, Run
from drawbar.line.regulating import greatest_gauge_pa
from drawbar.line.state import StateOnLine, states_again
from drawbar.physics import air
from drawbar.physics.gas import Vapour
from drawbar.rules import Tolerances
from drawbar.site import SiteRange, Uphill


def worst_corner(job: Job) -> Job:
    """Return a job with every tolerance at its bad end at once, runs, pipes and all else in the same order.

    Parameters
    ----------
    job : Job
        Any job; runs may leave their sizes open.

    Returns
    -------
    Job
        The job at its worst; the job itself where it is to be computed as drawn only.
    """
    tolerances = job.tolerances
    if tolerances is None:
        return job
    ends = _ends(job) if _has_range(job) else None
    more_fittings, worst_pipes = 1.0 + tolerances.fittings, _WorstPipes()
    corner = with_worst_inputs(job)._replace(
        regulator=_set_low(job.regulator),
        runs=tuple([_run(run, tolerances, more_fittings, worst_pipes) for run in job.runs]),
        outlets=tuple(_outlet(outlet, tolerances) for outlet in job.outlets),
        hoses=tuple(_hose(hose, tolerances) for hose in job.hoses),
    )
    if ends is None:
        return corner
    return corner._replace(
        vapour=ends.vapour,
        atmospheric_pa=ends.atmospheric_pa,
        air_density_kg_m3=ends.air_density_kg_m3,
        uphill=ends.uphill,
    )


def states_at_worst(job: Job, on_line: list[StateOnLine]) -> list[StateOnLine]:
    """Return the states of a job on the line of its worst corner.

    Parameters
    ----------
    job : Job
        As drawn, every run with one size.
    on_line : list of StateOnLine
        Its states as drawn, on one line; their combinations are those of the corner.

    Returns
    -------
    list of StateOnLine
        In the same order; the same list where the job is to be computed as drawn only.
    """
    corner = worst_corner(job)
    return on_line if corner is job else states_again(on_line, on_line[0].line.of_corner(corner))


def with_worst_inputs(job: Job) -> Job:
    """Return a job with the inputs of its appliances at the large end of their tolerance, all else as drawn."""
    tolerances = job.tolerances
    if tolerances is None:
        return job
    more_flow = (1.0 + tolerances.input) * (_flow_factor(job) if job.site_range is not None else 1.0)
    net = net_factor(job)
    return job._replace(
        appliances=tuple(
            _appliance(appliance, tolerances, more_flow, 1.0 if appliance.basis_known else net)
            for appliance in job.appliances
        )
    )


def net_factor(job: Job) -> float:
    """Return how much more an input is if it is net and was counted as gross [-]."""
    return job.gas.gross_j_kg / job.gas.net_j_kg


def worst_length_m(length_m: float, tolerances: Tolerances) -> float:
    """Return a length at the long end of its tolerance [m]."""
    return length_m + max(tolerances.length * length_m, tolerances.length_m)


def worst_pipe(pipe: Pipe) -> Pipe:
    """Return a pipe at the small end of its bore's tolerance."""
    return pipe._replace(bore_m=pipe.bore_m - pipe.bore_tolerance_m) if pipe.bore_tolerance_m else pipe


def highest_static_gauge_pa(job: Job, at: str) -> float:
    """Return the pressure at the end of a run while next to nothing flows, every tolerance at the high end [Pa gauge].

    Parameters
    ----------
    job : Job
        As drawn; its regulators may stand high by their accuracy, and its site may be a range.
    at : str
        The run.

    Returns
    -------
    float
        What the regulator that feeds it gives, more by what LPG weighs over air on the way down [Pa gauge].
    """
    runs = {run.name: run for run in job.runs}
    name, path = at, []
    while name in runs:
        path.append(runs[name])
        if runs[name].regulator is not None:
            break
        name = runs[name].start
    regulator = path[-1].regulator or job.regulator
    gauge_pa = greatest_gauge_pa(regulator)
    ends = _ends(job) if _has_range(job) else None
    heavy = _weight_pa_m(job.vapour, gauge_pa, job.atmospheric_pa, job.air_density_kg_m3)
    light = heavy
    if ends is not None:
        up = ends.uphill
        heavy = _weight_pa_m(up.vapour, gauge_pa, up.atmospheric_pa, up.air_density_kg_m3)
        light = _weight_pa_m(ends.vapour, gauge_pa, ends.atmospheric_pa, ends.air_density_kg_m3)
    return gauge_pa - sum((light if run.rise_m > 0.0 else heavy) * run.rise_m for run in path)


def _weight_pa_m(vapour: Vapour, gauge_pa: float, atmospheric_pa: float, air_density_kg_m3: float) -> float:
    """Return what a metre of height takes [Pa/m]."""
    return (vapour.density_kg_m3(gauge_pa + atmospheric_pa) - air_density_kg_m3) * air.GRAVITY


# pieces


def _set_low(regulator: Regulator) -> Regulator:
    """Return a regulator at the least that it gives at any load: by its accuracy, and by its curve."""
    if not regulator.accuracy and not regulator.curve:
        return regulator
    drooped_pa = min([regulator.outlet_gauge_pa, *(gauge_pa for _, gauge_pa in regulator.curve)])
    return regulator._replace(outlet_gauge_pa=drooped_pa * (1.0 - regulator.accuracy))


class _WorstPipes(dict[Pipe, Pipe]):
    """Pipes at the small end of their bore's tolerance, by the pipe as drawn; most runs have the pipe of another."""

    def __missing__(self, pipe: Pipe) -> Pipe:
        self[pipe] = worst = worst_pipe(pipe)
        return worst


def _run(run: Run, tolerances: Tolerances, more_fittings: float, worst_pipes: _WorstPipes) -> Run:
    """Return a run at its worst; bare, as a batch of old jobs asks for thousands of them."""
    name, start, pipes, length_m, rise_m, fittings, devices, regulator = run
    return Run(
        name,
        start,
        tuple([worst_pipes[pipe] for pipe in pipes]),
        worst_length_m(length_m, tolerances),
        rise_m,
        _fittings(fittings, more_fittings) if fittings else fittings,
        _devices(devices, tolerances) if devices else devices,
        _set_low(regulator) if regulator is not None else None,
    )


def _outlet(outlet: Outlet, tolerances: Tolerances) -> Outlet:
    return outlet._replace(
        fittings=_fittings(outlet.fittings, 1.0 + tolerances.fittings), devices=_devices(outlet.devices, tolerances)
    )


def _hose(hose: Hose, tolerances: Tolerances) -> Hose:
    return replace(
        hose,
        pipe=worst_pipe(hose.pipe),
        length_m=worst_length_m(hose.length_m, tolerances),
        fittings=_fittings(hose.fittings, 1.0 + tolerances.fittings),
        devices=_devices(hose.devices, tolerances),
    )


def _appliance(appliance: Appliance, tolerances: Tolerances, more_flow: float, net: float) -> Appliance:
    return appliance._replace(
        input_w=appliance.input_w * (1.0 + tolerances.input) * net, flow_kg_s=appliance.flow_kg_s * more_flow * net
    )


def _fittings(fittings: tuple[tuple[Fitting, int], ...], more: float) -> tuple[tuple[Fitting, int], ...]:
    return tuple(
        [
            (Fitting(name, ratio * more, source, ends, part, way), count)
            for (name, ratio, source, ends, part, way), count in fittings
        ]
    )


def _devices(devices: tuple[Device, ...], tolerances: Tolerances) -> tuple[Device, ...]:
    """Return devices at the high end of their drop; a typical range counts by its worse end already."""
    more = 1.0 + tolerances.devices
    return tuple(
        device if device.like is not None else device._replace(drop_pa=device.drop_pa * more) for device in devices
    )


# ranges


class _Ends:
    """The bad ends of what may be different from day to day.

    Attributes
    ----------
    vapour : Vapour
        For friction and for runs that fall: each of its figures at its own bad end.
    atmospheric_pa, air_density_kg_m3 : float
        The thinnest air, in the same state [Pa absolute, kg/m3].
    uphill : Uphill
        For runs that rise.
    """

    __slots__ = ("air_density_kg_m3", "atmospheric_pa", "uphill", "vapour")

    def __init__(self, vapour: Vapour, atmospheric_pa: float, uphill: Uphill) -> None:
        self.vapour = vapour
        self.atmospheric_pa = atmospheric_pa
        self.air_density_kg_m3 = air.air_density_kg_m3(atmospheric_pa, vapour.temperature_k)
        self.uphill = uphill


def _has_range(job: Job) -> bool:
    regulators = (job.regulator, *(run.regulator for run in job.runs if run.regulator is not None))
    return job.site_range is not None or any(regulator.accuracy for regulator in regulators)


def _site_range(job: Job) -> SiteRange:
    point = SiteRange(
        (job.temperature_k, job.temperature_k), (job.altitude_m, job.altitude_m), (job.gas,), (job.filled_with,)
    )
    return job.site_range or point


def _ends(job: Job) -> _Ends:
    site = _site_range(job)
    cold_k, warm_k = site.temperature_k
    low_m, high_m = site.altitude_m
    warm = [gas.vapour(warm_k) for gas in site.gases]
    cold = [gas.vapour(cold_k) for gas in site.gases]
    friction = Vapour(
        molar_mass_kg_mol=min(vapour.molar_mass_kg_mol for vapour in warm),
        temperature_k=warm_k,
        viscosity_pa_s=max(vapour.viscosity_pa_s for vapour in (*warm, *cold)),
        virial_m3_mol=max(vapour.virial_m3_mol for vapour in warm),
        reference_density_kg_m3=min(vapour.reference_density_kg_m3 for vapour in warm),
        relative_density=max(vapour.relative_density for vapour in warm),
        gross_j_kg=min(vapour.gross_j_kg for vapour in warm),
        least_viscosity_pa_s=min(vapour.viscosity_pa_s for vapour in (*warm, *cold)),
    )
    regulators = (job.regulator, *(run.regulator for run in job.runs if run.regulator is not None))
    over_pa = max(2.0 * regulator.accuracy * regulator.outlet_gauge_pa for regulator in regulators)
    dense_pa = air.standard_atmosphere_pa(low_m)
    heaviest = max(cold, key=lambda vapour: vapour.molar_mass_kg_mol)
    uphill = Uphill(heaviest, dense_pa + over_pa, air.air_density_kg_m3(dense_pa, cold_k))
    return _Ends(friction, air.standard_atmosphere_pa(high_m), uphill)


def _flow_factor(job: Job) -> float:
    """Return how much more gas by mass the same heat may take, over the gases of a range [-]."""
    return job.gas.gross_j_kg / min(gas.gross_j_kg for gas in _site_range(job).gases)
