"""Remedies of random small jobs that fail, against every other change of their kind, each job solved anew."""

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest

from drawbar.checking.check import check_job
from drawbar.checking.corner import worst_corner
from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import Hose, Job, Pipe, Run
from drawbar.line.network import Line
from drawbar.line.state import states_on_line
from drawbar.remedies.changes import DeviceChange, LengthChange, LoadChange
from drawbar.remedies.remedy import (
    FEWEST_RUNS,
    LARGER_HOSE,
    LARGER_RUNS,
    OTHER_DEVICE,
    SHORTER_HOSE,
    SMALLER_LOAD,
    Remedies,
)
from drawbar.remedies.search import remedies_for
from jobs import CATALOGUE, job_from
from random_jobs import SIZES, job_text

MOST_TRIED = 3000  # changes of sizes, for one job
KINDS = (LARGER_RUNS, FEWEST_RUNS, LARGER_HOSE, OTHER_DEVICE, SHORTER_HOSE, SMALLER_LOAD)


def passes(job: Job) -> bool:
    """Tell whether a job's pressures hold at the worst corner, solved from the beginning."""
    states = states_on_line(Line(worst_corner(job)))
    return min(state.worst()[0] for state in states) >= -TOLERANCE_PA


def failing_jobs(first: int, count: int) -> Iterator[Job]:
    """Yield so many small jobs that fail, by up to half more load than they bear."""
    seed = first
    while count:
        random = Random(seed)
        portables = seed % 3
        text = job_text(
            random,
            random.randint(1, 4),
            SIZES,
            portables=portables,
            outlets=random.randint(1, 2) if portables else 0,
            hoses=random.randint(1, 2) if portables else 0,
            states=seed % 4 == 0,
            stages=seed % 7 == 0,
            sized=True,
            tolerances="none" if seed % 2 else None,
        )
        seed += 1
        job = job_from(text)
        for _ in range(12):
            if not passes(job):
                count -= 1
                yield job
                break
            job = with_more(job, random.uniform(1.05, 1.4))


def with_more(job: Job, factor: float) -> Job:
    """Return the job with every input larger."""
    return job._replace(
        appliances=tuple(
            appliance._replace(input_w=appliance.input_w * factor, flow_kg_s=appliance.flow_kg_s * factor)
            for appliance in job.appliances
        )
    )


def larger(piece: Run | Hose) -> list[Pipe]:
    """Return the pipe of a run or hose, and the larger ones of its family."""
    family = CATALOGUE.sizes(piece.pipe.label.partition("/")[0])
    return [piece.pipe, *(pipe for pipe in family.values() if pipe.bore_m > piece.pipe.bore_m)]


def is_tapered(job: Job, pipes: tuple[Pipe, ...]) -> bool:
    """Tell whether no run that is changed is larger than the one that feeds it."""
    by_name = {run.name: pipe for run, pipe in zip(job.runs, pipes, strict=True)}
    return all(
        pipe == run.pipe or run.regulator or run.start == "regulator" or pipe.bore_m <= by_name[run.start].bore_m + 1e-9
        for run, pipe in zip(job.runs, pipes, strict=True)
    )


def changes_of_runs(job: Job) -> list[tuple[float, int, tuple[Pipe, ...]]]:
    """Return every change of sizes that is allowed: what its new pipe weighs, how many runs it changes, the pipes."""
    choices = []
    for pipes in itertools.product(*map(larger, job.runs)):
        changed = [(run, pipe) for run, pipe in zip(job.runs, pipes, strict=True) if pipe != run.pipe]
        if changed and is_tapered(job, pipes):
            choices.append((sum(run.length_m * pipe.mass_kg_m for run, pipe in changed), len(changed), pipes))
    return sorted(choices, key=lambda choice: choice[:2])


def passes_in(job: Job, pipes: tuple[Pipe, ...]) -> bool:
    return passes(
        job._replace(runs=tuple(run._replace(pipes=(pipe,)) for run, pipe in zip(job.runs, pipes, strict=True)))
    )


def check_runs(job: Job, remedies: Remedies) -> None:
    """No cheaper change passes, nor one of fewer runs than those of the second; without a remedy none does."""
    cheapest, fewest = remedies.of_kind(LARGER_RUNS), remedies.of_kind(FEWEST_RUNS)
    choices = changes_of_runs(job)
    if cheapest is None:
        assert fewest is None
        for _, _, pipes in choices[-MOST_TRIED:]:
            assert not passes_in(job, pipes)
        return
    assert cheapest.is_proven
    repaired = cheapest.applied_to(job, CATALOGUE)
    assert is_tapered(job, tuple(run.pipe for run in repaired.runs))
    for kg, changed, pipes in choices:
        is_cheaper = kg < cheapest.cost * (1.0 - 1e-6)
        is_fewer = kg <= cheapest.cost * (1.0 + 1e-9) and changed < len(cheapest.changes)
        if (
            is_cheaper
            or is_fewer
            or (fewest is not None and (changed, kg) < (len(fewest.changes), fewest.cost * (1.0 - 1e-9)))
        ):
            assert not passes_in(job, pipes)
    if fewest is not None:
        assert len(fewest.changes) < len(cheapest.changes)
        assert is_tapered(job, tuple(run.pipe for run in fewest.applied_to(job, CATALOGUE).runs))


def check_hoses(job: Job, remedies: Remedies) -> None:
    """No change of fewer kinds of hose passes, nor one of as many and of less length times bore."""
    remedy = remedies.of_kind(LARGER_HOSE)
    for pipes in itertools.product(*map(larger, job.hoses)):
        changed = [(hose, pipe) for hose, pipe in zip(job.hoses, pipes, strict=True) if pipe != hose.pipe]
        size = sum(
            hose.length_m
            * pipe.bore_m
            * 1000.0
            * (hose.count or sum(hose.name in appliance.hoses for appliance in job.appliances))
            for hose, pipe in changed
        )
        if remedy is None or (len(changed), size) < (len(remedy.changes), remedy.cost * (1.0 - 1e-9)):
            hoses = (replace(hose, pipe=pipe) for hose, pipe in zip(job.hoses, pipes, strict=True))
            assert not passes(job._replace(hoses=tuple(hoses)))


def check_single_figures(job: Job, remedies: Remedies) -> None:
    """Look whether all that alone would do is offered, and that one in a thousand more than its most fails."""
    offered = [change for remedy in remedies.in_order if len(remedy.changes) == 1 for change in remedy.changes]
    lengths = {change.hose for change in offered if isinstance(change, LengthChange)}
    for hose in job.hoses:
        shortest = LengthChange(hose.name, hose.length_m, max(0.3, abs(hose.rise_m)))
        if shortest.most_m < hose.length_m:
            assert passes(shortest.made_in(job, CATALOGUE)) is (hose.name in lengths)
    devices = {(change.place, change.number) for change in offered if isinstance(change, DeviceChange)}
    for kind, pieces in (("run", job.runs), ("outlet", job.outlets), ("hose", job.hoses)):
        for piece in pieces:
            for number, device in enumerate(piece.devices):
                flow_w = device.flow_kg_s * job.gas.gross_j_kg
                change = DeviceChange(
                    kind, piece.name, number, device.name, flow_w, device.drop_pa, device.drop_pa / 6.0
                )
                assert passes(change.made_in(job, CATALOGUE)) is ((piece.name, number) in devices)
    loads = {change.appliance for change in offered if isinstance(change, LoadChange)}
    if remedies.of_kind(LARGER_RUNS) is None:
        for appliance in job.appliances:
            smallest = LoadChange(appliance.name, appliance.input_w, 1e5 / 3600.0)
            assert passes(smallest.made_in(job, CATALOGUE)) is (appliance.name in loads)
    else:
        assert not loads


def one_in_a_thousand_more(change):
    field = {LengthChange: "most_m", DeviceChange: "most_pa", LoadChange: "most_w"}[type(change)]
    return change._replace(**{field: getattr(change, field) * 1.001})


def check_remedies(jobs: Iterator[Job]) -> Counter:
    kinds: Counter = Counter()
    for job in jobs:
        remedies = remedies_for(job, CATALOGUE)
        assert remedies.unfinished == ()
        check_runs(job, remedies)
        check_hoses(job, remedies)
        check_single_figures(job, remedies)
        for remedy in remedies.in_order:
            repaired = remedy.applied_to(job, CATALOGUE)
            assert passes(repaired)
            assert check_job(repaired).pressures_pass
            if remedy.kind in (LARGER_RUNS, FEWEST_RUNS, LARGER_HOSE):
                for change in remedy.changes:
                    others = remedy._replace(changes=tuple(other for other in remedy.changes if other != change))
                    without = others.applied_to(job, CATALOGUE)
                    assert not (passes(without) and is_tapered(job, tuple(run.pipe for run in without.runs)))
            else:
                more = remedy._replace(changes=tuple(map(one_in_a_thousand_more, remedy.changes)))
                assert not passes(more.applied_to(job, CATALOGUE))
        kinds.update({remedy.kind for remedy in remedies.in_order})
    return kinds


@pytest.mark.trial
def test_no_cheaper_change_passes():
    """Of 200 jobs: each remedy passes, nothing cheaper or less does, and no run is made larger than its feeder."""
    assert set(check_remedies(failing_jobs(1000, 200))) == set(KINDS)


@pytest.mark.long
def test_no_cheaper_change_passes_in_full():
    """The same of 2000 other jobs."""
    assert set(check_remedies(failing_jobs(100_000, 2000))) == set(KINDS)
