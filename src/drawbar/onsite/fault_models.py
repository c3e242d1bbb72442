"""What may be wrong with a line: one thing with one part, as another job from which every pressure can be asked."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from drawbar.job import ROOT, Device, Hose, Job, Outlet
from drawbar.line.network import Line
from drawbar.onsite.testpoints import Altered, Model, Setup

SMALL_PA = 50.0  # a fault that a fitter would want to know of: so much at one point
BLOCKED, NARROW, SETTING, LOAD = "blocked", "narrow", "setting", "load"
DROOP, CREEP, STARVING = "droop", "creep", "starving"
BOTTLES = "bottles"
_STARVES_AS = 4  # a bottle that starves gives way at the largest loads: by this power of the flow. Our own choice.


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part with one thing that may be wrong with it, of size x.

    Attributes
    ----------
    part : str
        What a fitter calls it, as `run main`.
    kind : str
        BLOCKED, x more drop at flow_kg_s [Pa]; NARROW, friction 1 + x times as large by a smaller bore [-];
        SETTING, a regulator set x higher [Pa]; DROOP, one that gives x less at flow_kg_s, in proportion to the flow
        [Pa]; CREEP, one that rises x more with no flow [Pa]; STARVING, bottles that let the first regulator give x less
        at flow_kg_s [Pa]; LOAD, an appliance taking 1 + x times its rate [-].
    alter : callable
        The line with that fault of size x.
    setups : frozenset of int
        The numbers of the setups in which gas passes the part.
    low, high : float
        Bounds of x.
    scale : float
        A size x that is easily seen.
    normal : float
        What it is with nothing wrong: 0 [Pa], the bore [m], the set pressure [Pa gauge], the rate [kg/s].
    flow_kg_s : float
        The most that the part passes at rated input in these setups [kg/s].
    """

    part: str
    kind: str
    alter: Callable[[float], Altered]
    setups: frozenset[int]
    low: float
    high: float
    scale: float
    normal: float
    flow_kg_s: float

    def becomes(self, size: float) -> float:
        """Return what a fault of that size makes of the normal figure, in its unit."""
        if self.kind == NARROW:
            return _narrowed(self.normal, size)
        return self.normal * (1.0 + size) if self.kind == LOAD else self.normal + size


@dataclass(frozen=True, slots=True)
class _Passing:
    """What passes gas in the setups: the most that a part passes at rated input [kg/s], and in which setups it does."""

    flow_kg_s: float
    setups: frozenset[int]


def candidates(model: Model, setups: Sequence[Setup]) -> Iterator[Candidate]:
    """Yield every fault of every part that gas passes in one of the setups.

    Parameters
    ----------
    model : Model
        The job's line with nothing wrong.
    setups : sequence of Setup
        What was on when something was read.

    Yields
    ------
    Candidate
        Those of runs, outlets, hoses, regulators and appliances.
    """
    passing = _passing(model, setups)
    yield from _of_runs(model, passing)
    yield from _of_outlets(model, passing)
    yield from _of_hoses(model, setups, passing)
    yield from _of_regulators(model, setups, passing)
    job = model.job
    for appliance in job.appliances:
        if (passes := passing.get(appliance.name)) is not None:
            part, alter = f"appliance {appliance.name}", _loaded(model, appliance.name)
            yield Candidate(part, LOAD, alter, passes.setups, -0.7, 1.0, 0.5, appliance.flow_kg_s, passes.flow_kg_s)


def _of_runs(model: Model, passing: Mapping[str, _Passing]) -> Iterator[Candidate]:
    job, line = model.job, model.line
    for number, run in enumerate(job.runs):
        if (passes := passing.get(run.name)) is not None:
            part, stage_pa = f"run {run.name}", line.stage_gauge_pa[number]
            yield _blocked(part, _blocked_run(job, number, passes.flow_kg_s), passes, stage_pa)
            yield _narrow(part, _narrow_run(job, number), passes, run.pipes[0].bore_m)


def _of_regulators(model: Model, setups: Sequence[Setup], passing: Mapping[str, _Passing]) -> Iterator[Candidate]:
    """Yield the faults of each regulator: set wrong, drooping, creeping; and the bottles that starve the first."""
    job, everywhere = model.job, frozenset(range(len(setups)))
    still = frozenset(number for number, setup in enumerate(setups) if not setup.state.shares)
    runs = [job.runs[number] for number in model.line.stages]
    starts = (ROOT, *(run.name for run in runs))
    for (name, regulator), start in zip(model.regulators.items(), starts, strict=True):
        set_pa = regulator.outlet_gauge_pa
        number = model.line.index.get(start)
        passes = passing.get(start, _Passing(0.0, frozenset()))
        seen = everywhere if number is None else passes.setups | still
        alter = _set_first(job) if number is None else _set_stage(job, number)
        yield Candidate(name, SETTING, alter, seen, -0.7 * set_pa, set_pa, -SMALL_PA, set_pa, 0.0)
        if still:
            yield _regulated(model, (name, CREEP, name), still, set_pa, 0.0)
        if passes.flow_kg_s > 0.0:
            yield _regulated(model, (name, DROOP, name), passes.setups, 0.9 * set_pa, passes.flow_kg_s)
            if number is None:
                yield _regulated(model, (BOTTLES, STARVING, name), passes.setups, 0.9 * set_pa, passes.flow_kg_s)


def _regulated(
    model: Model, what: tuple[str, str, str], setups: frozenset[int], high_pa: float, flow_kg_s: float
) -> Candidate:
    """Return a fault - part, kind and regulator - in how a regulator answers to the flow."""
    part, kind, regulator = what

    def alter(x: float) -> Altered:
        def more_pa(flow: float) -> float:
            if kind == CREEP:
                return 0.0 if flow > 0.0 else x
            return -x * math.pow(flow / flow_kg_s, _STARVES_AS if kind == STARVING else 1)

        return Altered(model.line, regulators={regulator: more_pa})

    return Candidate(part, kind, alter, setups, 0.0, high_pa, SMALL_PA, 0.0, flow_kg_s)


def _of_outlets(model: Model, passing: Mapping[str, _Passing]) -> Iterator[Candidate]:
    job, line = model.job, model.line
    for outlet in job.outlets:
        if (passes := passing.get(outlet.name)) is not None:
            stage_pa = line.stage_gauge_pa[line.index[outlet.at]]
            alter = _blocked_outlet(job, outlet, passes.flow_kg_s)
            yield _blocked(f"outlet {outlet.name}", alter, passes, stage_pa)


def _of_hoses(model: Model, setups: Sequence[Setup], passing: Mapping[str, _Passing]) -> Iterator[Candidate]:
    """Yield the faults of each appliance's own hose: a part by itself, taken to stay with its appliance."""
    hoses = {
        own_hose(plugged.appliance.name, plugged.hose): (plugged.appliance.name, plugged.hose)
        for setup in setups
        for plugged in setup.way
        if plugged.hose
    }
    for name, (appliance, hose) in hoses.items():
        passes, part = passing[name], f"hose {name}"
        alter = _blocked_hose(model, appliance, hose, passes.flow_kg_s)
        yield _blocked(part, alter, passes, model.job.regulator.outlet_gauge_pa)
        yield _narrow(part, _narrow_hose(model, appliance, hose), passes, hose.pipe.bore_m)


def own_hose(appliance: str, hose: Hose) -> str:
    """Return the name of an appliance's own hose: of a kind of hose there may be several."""
    return f"{hose.name} of {appliance}"


def _passing(model: Model, setups: Sequence[Setup]) -> dict[str, _Passing]:
    passing: dict[str, _Passing] = {}
    for number, setup in enumerate(setups):
        burners = model.burners(setup)
        flows = model.line.flows([(burner.at, burner.flow_kg_s) for burner in burners])
        here = {run.name: flow for run, flow in zip(model.job.runs, flows, strict=True)}
        here[ROOT] = sum(burner.flow_kg_s for burner in burners)
        here |= {burner.name: burner.flow_kg_s for burner in burners}
        for plugged in setup.way:
            here[plugged.outlet.name] = here[plugged.appliance.name]
            if plugged.hose is not None:
                here[own_hose(plugged.appliance.name, plugged.hose)] = here[plugged.appliance.name]
        for name, flow_kg_s in here.items():
            if flow_kg_s > 0.0:
                before = passing.get(name, _Passing(0.0, frozenset()))
                passing[name] = _Passing(max(before.flow_kg_s, flow_kg_s), before.setups | {number})
    return passing


def _blocked(part: str, alter: Callable[[float], Altered], passes: _Passing, stage_gauge_pa: float) -> Candidate:
    return Candidate(part, BLOCKED, alter, passes.setups, 0.0, 0.9 * stage_gauge_pa, SMALL_PA, 0.0, passes.flow_kg_s)


def _narrow(part: str, alter: Callable[[float], Altered], passes: _Passing, bore_m: float) -> Candidate:
    return Candidate(part, NARROW, alter, passes.setups, 0.0, 500.0, 1.0, bore_m, passes.flow_kg_s)


# How a fault of size x is made: always by another job, so that every pressure comes from the same equations.


def with_run(job: Job, number: int, **changes: object) -> Job:
    """Return a job with one run changed."""
    runs = list(job.runs)
    runs[number] = runs[number]._replace(**changes)  # type: ignore[arg-type]
    return job._replace(runs=tuple(runs))


def with_outlet(job: Job, changed: Outlet) -> Job:
    """Return a job with a changed outlet in place of that of its name."""
    return job._replace(outlets=tuple(changed if each.name == changed.name else each for each in job.outlets))


def _restriction(flow_kg_s: float, drop_pa: float) -> Device:
    return Device("restriction", flow_kg_s, drop_pa)


def _narrowed(bore_m: float, more: float) -> float:
    """Return the bore at which friction is about 1 + more times as large: it goes as bore to the power -5."""
    return bore_m * math.pow(1.0 + more, -0.2)


def _blocked_run(job: Job, number: int, flow_kg_s: float) -> Callable[[float], Altered]:
    devices = job.runs[number].devices
    return lambda x: Altered(Line(with_run(job, number, devices=(*devices, _restriction(flow_kg_s, x)))))


def _narrow_run(job: Job, number: int) -> Callable[[float], Altered]:
    pipe = job.runs[number].pipes[0]
    return lambda x: Altered(Line(with_run(job, number, pipes=(pipe._replace(bore_m=_narrowed(pipe.bore_m, x)),))))


def _set_stage(job: Job, number: int) -> Callable[[float], Altered]:
    regulator = job.runs[number].regulator
    assert regulator is not None  # asked for such runs alone
    set_pa = regulator.outlet_gauge_pa
    return lambda x: Altered(Line(with_run(job, number, regulator=regulator._replace(outlet_gauge_pa=set_pa + x))))


def _set_first(job: Job) -> Callable[[float], Altered]:
    set_pa = job.regulator.outlet_gauge_pa
    return lambda x: Altered(Line(job._replace(regulator=job.regulator._replace(outlet_gauge_pa=set_pa + x))))


def _blocked_outlet(job: Job, outlet: Outlet, flow_kg_s: float) -> Callable[[float], Altered]:
    def alter(x: float) -> Altered:
        blocked = outlet._replace(devices=(*outlet.devices, _restriction(flow_kg_s, x)))
        return Altered(Line(with_outlet(job, blocked)))

    return alter


def _blocked_hose(model: Model, name: str, hose: Hose, flow_kg_s: float) -> Callable[[float], Altered]:
    def alter(x: float) -> Altered:
        blocked = replace(hose, name=own_hose(name, hose), devices=(*hose.devices, _restriction(flow_kg_s, x)))
        return Altered(Line(model.job), hoses={name: blocked})

    return alter


def _narrow_hose(model: Model, name: str, hose: Hose) -> Callable[[float], Altered]:
    def alter(x: float) -> Altered:
        pipe = hose.pipe._replace(bore_m=_narrowed(hose.pipe.bore_m, x))
        return Altered(Line(model.job), hoses={name: replace(hose, name=own_hose(name, hose), pipe=pipe)})

    return alter


def _loaded(model: Model, name: str) -> Callable[[float], Altered]:
    return lambda x: Altered(model.line, loads={name: 1.0 + x})
