"""What may be wrong with a line: one thing with one part, as another job from which every pressure can be asked."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from drawbar.job import ROOT, Device, Hose, Job
from drawbar.line.network import Line
from drawbar.onsite.testpoints import Altered, Model, Setup, stage_point

SMALL_PA = 50.0  # a fault that a fitter would want to know of: so much at one point
BLOCKED, NARROW, SETTING, LOAD = "blocked", "narrow", "setting", "load"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part with one thing that may be wrong with it, of size x.

    Attributes
    ----------
    part : str
        What a fitter calls it, as `run main`.
    kind : str
        BLOCKED, x more drop at flow_kg_s [Pa]; NARROW, friction 1 + x times as large by a smaller bore [-];
        SETTING, a regulator set x higher [Pa]; LOAD, an appliance taking 1 + x times its rate [-].
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
        return self.normal + size if self.kind in (BLOCKED, SETTING) else self.normal * (1.0 + size)


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
    job = model.job
    yield _setting(ROOT, _set_first(job), frozenset(range(len(setups))), job.regulator.outlet_gauge_pa)
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
            if run.regulator is not None:
                yield _setting(stage_point(run.name), _set_stage(job, number), passes.setups, stage_pa)


def _of_outlets(model: Model, passing: Mapping[str, _Passing]) -> Iterator[Candidate]:
    job, line = model.job, model.line
    for outlet in job.outlets:
        if (passes := passing.get(outlet.name)) is not None:
            stage_pa = line.stage_gauge_pa[line.index[outlet.at]]
            alter = _blocked_outlet(job, outlet.name, passes.flow_kg_s)
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


def _setting(part: str, alter: Callable[[float], Altered], setups: frozenset[int], set_gauge_pa: float) -> Candidate:
    return Candidate(part, SETTING, alter, setups, -0.7 * set_gauge_pa, set_gauge_pa, -SMALL_PA, set_gauge_pa, 0.0)


# How a fault of size x is made: always by another job, so that every pressure comes from the same equations.


def _with_run(job: Job, number: int, **changes: object) -> Job:
    runs = list(job.runs)
    runs[number] = runs[number]._replace(**changes)  # type: ignore[arg-type]
    return job._replace(runs=tuple(runs))


def _restriction(flow_kg_s: float, drop_pa: float) -> Device:
    return Device("restriction", flow_kg_s, drop_pa)


def _narrowed(bore_m: float, more: float) -> float:
    """Return the bore at which friction is about 1 + more times as large: it goes as bore to the power -5."""
    return bore_m * math.pow(1.0 + more, -0.2)


def _blocked_run(job: Job, number: int, flow_kg_s: float) -> Callable[[float], Altered]:
    devices = job.runs[number].devices
    return lambda x: Altered(Line(_with_run(job, number, devices=(*devices, _restriction(flow_kg_s, x)))))


def _narrow_run(job: Job, number: int) -> Callable[[float], Altered]:
    pipe = job.runs[number].pipes[0]
    return lambda x: Altered(Line(_with_run(job, number, pipes=(pipe._replace(bore_m=_narrowed(pipe.bore_m, x)),))))


def _set_stage(job: Job, number: int) -> Callable[[float], Altered]:
    regulator = job.runs[number].regulator
    assert regulator is not None  # asked for such runs alone
    set_pa = regulator.outlet_gauge_pa
    return lambda x: Altered(Line(_with_run(job, number, regulator=regulator._replace(outlet_gauge_pa=set_pa + x))))


def _set_first(job: Job) -> Callable[[float], Altered]:
    set_pa = job.regulator.outlet_gauge_pa
    return lambda x: Altered(Line(job._replace(regulator=job.regulator._replace(outlet_gauge_pa=set_pa + x))))


def _blocked_outlet(job: Job, name: str, flow_kg_s: float) -> Callable[[float], Altered]:
    def alter(x: float) -> Altered:
        more = _restriction(flow_kg_s, x)
        outlets = (
            outlet._replace(devices=(*outlet.devices, more)) if outlet.name == name else outlet
            for outlet in job.outlets
        )
        return Altered(Line(job._replace(outlets=tuple(outlets))))

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
