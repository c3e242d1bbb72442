"""The line of a job at another setting or at its worst corner is the line of the job that is so."""

from random import Random

import pytest

from drawbar.checking.corner import worst_corner
from drawbar.job import Job
from drawbar.line.budget import bounds_each_place
from drawbar.line.network import Line
from drawbar.line.plugging import Plan
from jobs import job_from
from random_jobs import SIZES, job_text, small_jobs


def random_job(seed: int) -> Job:
    random = Random(seed)
    return job_from(job_text(random, 8, SIZES, stages=seed % 2 == 0, sized=True, tolerances="{set-pressure: 4 %}"))


def flows_of(line: Line) -> list[float]:
    job = line.job
    return line.flows([(line.index[appliance.at or ""], appliance.flow_kg_s) for appliance in job.appliances])


@pytest.mark.parametrize("seed", range(8))
def test_regulators_that_give_more_are_those_of_a_job_set_so(seed: int) -> None:
    """The first by 70 Pa, a second stage by 30: every pressure, and what is before a regulator."""
    job = random_job(seed)
    line = Line(job)
    more_pa = dict.fromkeys(line.stages[:1], 30.0)
    runs = tuple(
        run._replace(regulator=run.regulator._replace(outlet_gauge_pa=run.regulator.outlet_gauge_pa + 30.0))
        if number in more_pa and run.regulator is not None
        else run
        for number, run in enumerate(job.runs)
    )
    first = job.regulator._replace(outlet_gauge_pa=job.regulator.outlet_gauge_pa + 70.0)
    other = Line(job._replace(regulator=first, runs=runs))
    flows = flows_of(line)
    assert line.regulated(70.0, more_pa).solve(flows) == pytest.approx(other.solve(flows), rel=1e-9)
    assert Line(job).solve(flows) == line.solve(flows)


@pytest.mark.parametrize("seed", range(8))
def test_the_line_of_the_corner_is_that_of_the_job_at_its_corner(seed: int) -> None:
    """The same tree, solved to the same pressures, whether or not there is a second stage."""
    job = random_job(seed)
    corner = worst_corner(job)
    quick, whole = Line(job).of_corner(corner), Line(corner)
    assert bool(quick.stages) is (seed % 2 == 0)
    assert quick.stage_gauge_pa == whole.stage_gauge_pa
    assert quick.solve(flows_of(whole)) == whole.solve(flows_of(whole))


@pytest.mark.parametrize("formula", ["ifgc", "darcy", "pole"])
def test_the_line_of_the_corner_has_the_gas_of_the_code_as_well(formula: str) -> None:
    """Under a rule whose code has a gas of its own, and in a range: solved to the same pressures as the whole line."""
    text = (
        "job: t\ngas: propane\nrule: ifgc-11inwc\nsite: {temperature: -5 to 35 degC, altitude: 0 to 1000 m}\n"
        "regulator: {outlet: 11 inH2O, capacity: 200000 Btu/h}\n"
        "runs:\n  main: {from: regulator, pipe: {bore: 0.5 in}, length: 20 ft}\n"
        "appliances:\n  heater: {at: main, input: 90000 Btu/h}\n"
    )
    job = job_from(text)
    corner = worst_corner(job)
    quick, whole = Line(job, formula=formula).of_corner(corner), Line(corner, formula=formula)
    assert quick.solve(flows_of(whole)) == pytest.approx(whole.solve(flows_of(whole)), rel=1e-12)


def test_a_run_hangs_on_the_last_regulator_before_it() -> None:
    """The run at whose start that is, or -1 for the first regulator."""
    for seed in range(0, 20, 2):
        job = random_job(seed)
        line, names = Line(job), [run.name for run in job.runs]
        for number, run in enumerate(job.runs):
            start, head = number, -1
            while head < 0 and start >= 0:
                head = start if job.runs[start].regulator is not None else -1
                start = names.index(job.runs[start].start) if job.runs[start].start in names else -1
            assert line.stage_of(number) == head, run.name


def test_the_ways_of_a_plan_are_those_of_the_plan_at_other_flows() -> None:
    """They are made once: at the flows of the corner they are the very same, or too many as well."""
    for _, job in small_jobs(range(900, 910)):
        for state in job.states:
            plan = Plan(job, state)
            again = plan.at_flows_of(worst_corner(job))
            assert again.ways is plan.ways
            assert again.state is state


@pytest.mark.parametrize(("appliances", "is_each"), [(5, True), (6, False)])
def test_each_place_is_bounded_for_itself_up_to_ten_thousand_runs_on_the_way(appliances: int, *, is_each: bool) -> None:
    """Twenty outlets, each after a hundred runs, for so many appliances: 2,000 runs for each."""
    lines = ["job: t", "gas: propane", "limits: {drop: 1 kPa}", "regulator: {outlet: 2.75 kPa}", "runs:"]
    lines += [f"  r{n}: {{from: {f'r{n - 1}' if n else 'regulator'}, pipe: b88-l/1, length: 1 m}}" for n in range(100)]
    lines += ["outlets:", *(f"  bay-{n}: {{at: r99, devices: none}}" for n in range(20))]
    lines += ["appliances:", "  fixed: {at: r99, input: 9 MJ/h}"]
    lines += [f"  unit-{n}: {{plugs-into: any, hose: none, input: 9 MJ/h}}" for n in range(appliances)]
    assert bounds_each_place(job_from("\n".join(lines) + "\n")) is is_each
