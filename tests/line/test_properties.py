"""What must hold for any job: more gas or more pipe never gives more pressure, and the order of keys is nothing."""

from collections.abc import Callable
from random import Random
from typing import Any

import pytest
import yaml

from drawbar.checking.check import check_job
from drawbar.job import Appliance, Job, Run, State
from drawbar.jobfile.reader import job_of
from drawbar.physics.formulas import FORMULAS
from jobs import CATALOGUE, job_from
from random_jobs import SIZES, job_text

SHORT, LONG = 30, 2530  # eight relations: 20,000 jobs
CLOSE_PA = 1e-6  # what floats may lose

seeds = pytest.mark.parametrize(
    "numbers",
    [pytest.param(range(SHORT), id="some"), pytest.param(range(SHORT, LONG), id="many", marks=pytest.mark.long)],
)


def text_of(seed: int, *, rises: bool = True, states: bool = False) -> str:
    random = Random(seed)
    portables = random.choice((0, 0, 1, 2, 3))
    return job_text(
        random,
        random.randint(1, 14),
        SIZES,
        portables=portables,
        outlets=random.randint(1, 3) if portables else 0,
        hoses=random.randint(0, 2),
        states=states,
        stages=seed % 4 == 0,
        rises=rises,
        formula=list(FORMULAS)[seed % len(FORMULAS)],
        sized=True,
    )


def drops(job: Job) -> dict[tuple[str, str], float]:
    """Return the drop of every appliance in every state [Pa]."""
    return {
        (state.name, appliance.name): appliance.drop_pa
        for state in check_job(job).states
        for appliance in state.appliances
    }


def never_lower(numbers: range, change: Callable[[Random, Job], Job]) -> None:
    """Assert that a change never lowers a drop of an appliance, and that it raises some."""
    raised = 0
    for seed in numbers:
        job = job_from(text_of(seed))
        before, after = drops(job), drops(change(Random(seed), job))
        for key, drop_pa in before.items():
            assert after[key] >= drop_pa - CLOSE_PA, f"seed {seed}, {key}"
            raised += after[key] > drop_pa + CLOSE_PA
    assert raised > len(numbers)


def with_run(job: Job, name: str, **changes: Any) -> Job:
    return job._replace(runs=tuple(run._replace(**changes) if run.name == name else run for run in job.runs))


def one_run(random: Random, job: Job) -> Run:
    """Return a run with gas in it that stands behind the last regulator, where the drop is counted."""
    staged = any(run.regulator for run in job.runs)
    behind: set[str] = set()
    for run in job.runs:
        if run.regulator is not None or run.start in behind or not staged:
            behind.add(run.name)
    return random.choice([run for run in job.runs if run.name in behind])


@seeds
def test_one_more_appliance_never_lowers_a_drop(numbers: range) -> None:
    """Another appliance on, fixed anywhere, leaves none of the others with more pressure."""

    def change(random: Random, job: Job) -> Job:
        mj_h = random.choice((1.0, 10.0, 40.0))
        heat_w = mj_h / 0.0036
        more = Appliance("more", heat_w, heat_w / job.gas.gross_j_kg, at=one_run(random, job).name)
        states = tuple(state._replace(shares=(*state.shares, ("more", 1.0))) for state in job.states)
        return job._replace(appliances=(*job.appliances, more), states=states)

    never_lower(numbers, change)


@seeds
def test_more_load_never_lowers_a_drop(numbers: range) -> None:
    """An appliance that takes more leaves none with more pressure, itself included."""

    def change(random: Random, job: Job) -> Job:
        name, factor = random.choice(job.appliances).name, random.uniform(1.01, 2.0)
        return job._replace(
            appliances=tuple(
                appliance._replace(input_w=appliance.input_w * factor, flow_kg_s=appliance.flow_kg_s * factor)
                if appliance.name == name
                else appliance
                for appliance in job.appliances
            ),
        )

    never_lower(numbers, change)


@seeds
def test_a_longer_run_never_lowers_a_drop(numbers: range) -> None:
    """A metre more in any run costs pressure or leaves it, with the same rise."""

    def change(random: Random, job: Job) -> Job:
        run = one_run(random, job)
        return with_run(job, run.name, length_m=run.length_m + random.uniform(0.01, 1.0))

    never_lower(numbers, change)


@seeds
def test_one_more_fitting_never_lowers_a_drop(numbers: range) -> None:
    """A fitting more in any run costs pressure or leaves it."""
    elbow = CATALOGUE.fitting("elbow-90")
    assert elbow is not None

    def change(random: Random, job: Job) -> Job:
        run = one_run(random, job)
        return with_run(job, run.name, fittings=(*run.fittings, (elbow, 1)))

    never_lower(numbers, change)


@seeds
def test_a_smaller_bore_never_lowers_a_drop(numbers: range) -> None:
    """A size smaller in any run, of the same roughness, costs pressure or leaves it; so a larger one costs none."""
    sizes = CATALOGUE.sizes("as1432-b")
    assert sizes is not None
    by_bore = sorted(sizes.values(), key=lambda pipe: pipe.bore_m)

    def change(random: Random, job: Job) -> Job:
        run = one_run(random, job)
        smaller = [pipe for pipe in by_bore if pipe.bore_m < run.pipes[0].bore_m]
        assert all(pipe.roughness_m == run.pipes[0].roughness_m for pipe in smaller)
        return with_run(job, run.name, pipes=(random.choice(smaller),)) if smaller else job

    never_lower(numbers, change)


@seeds
def test_less_on_never_lowers_the_least_margin(numbers: range) -> None:
    """A state with fewer of the appliances on, or some turned down, has a least margin that is no lower."""
    higher = 0
    for seed in numbers:
        random, job = Random(seed), job_from(text_of(seed))
        (whole,) = job.states
        kept = random.sample(whole.shares, random.randint(1, len(whole.shares)))
        less = State("less", tuple((name, share * random.choice((1.0, 1.0, 0.5, 0.8))) for name, share in kept))
        margins = {state.name: state.margin_pa for state in check_job(job._replace(states=(whole, less))).states}
        assert margins["less"] >= margins[whole.name] - CLOSE_PA, f"seed {seed}"
        higher += margins["less"] > margins[whole.name] + CLOSE_PA
    assert higher > len(numbers) // 2


def shuffled(random: Random, value: Any) -> Any:
    """Return a value with the keys of every mapping in another order."""
    if isinstance(value, dict):
        keys = random.sample(list(value), len(value))
        return {key: shuffled(random, value[key]) for key in keys}
    return [shuffled(random, item) for item in value] if isinstance(value, list) else value


@seeds
def test_the_order_of_keys_does_not_matter(numbers: range) -> None:
    """A file with its keys in any other order gives the same drops and verdicts."""
    for seed in numbers:
        text = text_of(seed, states=seed % 2 == 0)
        other = yaml.safe_dump(shuffled(Random(seed), yaml.safe_load(text)), sort_keys=False, allow_unicode=True)
        job, mixed = job_from(text), job_from(other)
        assert drops(mixed) == pytest.approx(drops(job), rel=1e-9, abs=CLOSE_PA), f"seed {seed}"
        results = ({state.name: state.passes for state in check_job(either).states} for either in (job, mixed))
        assert next(results) == next(results)


@seeds
def test_a_higher_place_has_more_drop(numbers: range) -> None:
    """In thinner air the gas is thinner too, so that on the level the same heat costs more pressure."""
    for seed in numbers:
        text = text_of(5 * seed, rises=False)  # darcy, the formula that knows of the air
        start = text.index("altitude: ")
        end = text.index(" m}", start)
        low, high = (job_from(text[:start] + f"altitude: {altitude}" + text[end:]) for altitude in (0, 3000))
        before, after = drops(low), drops(high)
        assert low.formula == "darcy"
        assert all(after[key] >= before[key] - CLOSE_PA for key in before), f"seed {seed}"


PLAIN = """\
job: t
gas: propane
site: {temperature: %s degC, altitude: %s m}
limits: {drop: 1 kPa}
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 5 m}
appliances:
  fryer: {at: main, input: 90 MJ/h}
"""


def test_friction_goes_with_the_gas_s_volume() -> None:
    """For one mass flow, friction goes as 1 / density: 3000 m up by the pressures' ratio, at 40 degC by the kelvins'.

    Temperature brings the viscosity along: 8 % more of it is 2 % more friction at a Reynolds number of 7400.
    """
    (sea,), (high,), (hot,) = (
        drops(job_from(PLAIN % site)).values() for site in (("15", "0"), ("15", "3000"), ("40", "0"))
    )
    # ISO 2533:1975: 70 108 Pa at 3000 m. The real gas is 2 % thinner by its compressibility at sea level, 1.4 % there.
    assert high / sea == pytest.approx((101_325 + 2650) / (70_108 + 2650), rel=0.01)
    assert hot / sea == pytest.approx(313.15 / 288.15 * 1.02, rel=0.01)


def test_random_jobs_are_valid_and_come_again_from_their_seed() -> None:
    """Two hundred job files of all kinds read without a problem; some pass, some fail; a seed gives one text."""
    verdicts = {True: 0, False: 0}
    for seed in range(200):
        sized = seed % 4 != 0
        options: dict[str, Any] = {
            "portables": seed % 5,
            "outlets": 1 + seed % 3,
            "hoses": seed % 4,
            "states": seed % 2 == 0,
            "stages": seed % 3 == 0,
            "rises": seed % 7 != 0,
            "formula": list(FORMULAS)[seed % len(FORMULAS)],
            "sized": sized,
        }
        runs, sizes = 1 + seed % 40, ("auto", SIZES[2:5], SIZES)[seed % 3]
        text = job_text(Random(seed), runs, sizes, **options)
        assert text == job_text(Random(seed), runs, sizes, **options)
        job = job_of(text, f"seed-{seed}.yaml", CATALOGUE, sized=sized)
        assert (len(job.runs), job.formula) == (runs, options["formula"])
        assert sum(appliance.at is None for appliance in job.appliances) == options["portables"]
        assert (len(job.outlets), len(job.hoses)) == (options["outlets"], options["hoses"])
        if sized:
            verdicts[check_job(job).passes] += 1
        else:
            assert all(len(run.pipes) > 1 for run in job.runs)
    assert min(verdicts.values()) > 30
