"""Random job files for tests: always valid, the same from the same seed, some that pass and some that fail."""

from collections.abc import Iterator, Sequence
from random import Random
from typing import Literal

from drawbar.job import Job
from jobs import job_from

SIZES = ("6.35", "7.94", "9.52", "12.70", "15.88", "19.05", "25.40", "31.75")  # of as1432-b
_FITTINGS = ("elbow-90", "elbow-45", "tee-branch", "tee-through", "ball-valve")


def job_text(  # noqa: PLR0913 - each says what kind of job
    random: Random,
    runs: int,
    sizes: Sequence[str] | Literal["auto"] = SIZES,
    *,
    portables: int = 0,
    outlets: int = 0,
    hoses: int = 0,
    states: bool = False,
    stages: bool = False,
    rises: bool = True,
    formula: str = "darcy",
    sized: bool = False,
    tolerances: str | None = "none",
) -> str:
    """Return the text of a job with so many runs, plug-in appliances, outlets and kinds of hose.

    Parameters
    ----------
    random : Random
        What all choices are drawn from.
    runs : int
        How many runs there are.
    sizes : sequence of str, or "auto"
        Of as1432-b, which every run may choose from; "auto" for all of the family.
    portables, outlets, hoses : int
        How many plug-in appliances, outlets and kinds of hose there are.
    states : bool
        Whether it gives two or three states of its own.
    stages : bool
        Whether it has a first stage at 70 or 140 kPa, and second-stage regulators.
    rises : bool
        Whether some runs and hoses rise or fall.
    formula : str
        The pressure-drop formula.
    sized : bool
        Whether each run has one size, near to what its load asks for.
    tolerances : str or None
        What stands at `tolerances:`; None to leave it out, for the usual ones.

    Returns
    -------
    str
        The job file.
    """
    if portables and not outlets:
        raise ValueError("plug-in appliances need outlets")
    starts = _starts(random, runs)
    first_stage, regulated = _staged(random, starts) if stages else (set(), set())
    second_stage = [name for name in starts if name not in first_stage]
    leaves = [name for name in second_stage if name not in starts.values()]
    bare = random.sample(leaves, len(leaves))
    outlet_at = {
        f"outlet-{n}": bare.pop() if bare and random.random() < 0.7 else random.choice(second_stage)
        for n in range(outlets)
    }
    fixed_at = [name for name in leaves if name not in outlet_at.values()]
    fixed_at += [name for name in second_stage if random.random() < 0.15]
    if not fixed_at and not portables:
        fixed_at.append(random.choice(second_stage))

    total_mj_h = random.uniform(25.0, 220.0) * max(1.0, runs / 12.0) ** 0.3
    weights = [random.uniform(0.3, 1.0) for _ in range(len(fixed_at) + portables)]
    inputs = [max(0.2, total_mj_h * weight / sum(weights)) for weight in weights]
    loads = dict.fromkeys(starts, 0.0)
    for at, mj_h in (*zip(fixed_at, inputs, strict=False), *((at, inputs[-1]) for at in outlet_at.values())):
        name = at
        while name in starts:
            loads[name] += mj_h
            name = starts[name]

    hose_counts = {f"hose-{n}": random.choice((None, 1, 1, 2, 3)) for n in range(hoses)}
    appliances = {f"fixed-{n}": f"at: {at}" for n, at in enumerate(fixed_at)}
    appliances |= {
        f"portable-{n}": _plugs(random, list(outlet_at), list(hose_counts), any_hose=hoses > 0)
        for n in range(portables)
    }
    # Butane would be a liquid at the pressure of a first stage.
    gases = ["propane", "propane", "{propane: 70 %, n-butane: 30 %, of: vapour}", *([] if stages else ["n-butane"])]
    lines = [
        f"job: Random job {random.randrange(10_000)}",
        f"gas: {random.choice(gases)}",
        f"site: {{temperature: {random.randint(8, 35)} degC, altitude: {random.choice((0, 0, 300, 1500))} m}}",
        "limits: {drop: 0.25 kPa}",
        *([f"formula: {formula}"] if formula != "darcy" else []),
        f"regulator: {{outlet: {random.choice(('70 kPa', '140 kPa')) if stages else '2.75 kPa'}, capacity: 400 MJ/h}}",
        *([f"tolerances: {tolerances}"] if tolerances is not None else []),
        "runs:",
    ]
    for name, start in starts.items():
        length_m = random.uniform(0.3, 3.0)
        pipe = _pipe(random, sizes, loads[name], first_stage=name in first_stage, sized=sized)
        lines.append(
            f"  {name}: {{from: {start}, pipe: {pipe}, length: {length_m:.2f} m"
            + (f", rise: {random.uniform(-0.9, 0.9) * length_m:.2f} m" if rises and random.random() < 0.6 else "")
            + _fittings(random)
            + (", devices: [{name: valve, flow: 100 MJ/h, drop: 20 Pa}]" if random.random() < 0.1 else "")
            + (", regulator: {inlet-min: 30 kPa, outlet: 2.75 kPa, capacity: 300 MJ/h}" if name in regulated else "")
            + "}"
        )
    if outlet_at:
        lines.append("outlets:")
        for name, at in outlet_at.items():
            drop_pa = random.randint(10, 60)
            lines.append(
                f"  {name}: {{at: {at}, devices: [{{name: bayonet, flow: 60 MJ/h, drop: {drop_pa} Pa}}]"
                + (_fittings(random) if random.random() < 0.3 else "")
                + "}"
            )
    if hose_counts:
        lines.append("hoses:")
        for name, count in hose_counts.items():
            lines.append(
                f"  {name}: {{pipe: {random.choice(('hose/8', 'hose/10'))}, length: {random.uniform(0.8, 2.0):.1f} m"
                + (f", count: {count}" if count else "")
                + (f", rise: {random.choice((-0.5, 0.4))} m" if rises and random.random() < 0.5 else "")
                + (", devices: [{name: coupler, flow: 50 MJ/h, drop: 30 Pa}]" if random.random() < 0.5 else "")
                + "}"
            )
    lines.append("appliances:")
    for (name, place), mj_h in zip(appliances.items(), inputs, strict=True):
        least = ", min-pressure: 2.55 kPa" if random.random() < 0.1 else ""
        lines.append(f"  {name}: {{{place}, input: {mj_h:.2f} MJ/h{least}}}")
    if states:
        lines.append("states:")
        lines.extend(f"  state-{n}: {_state(random, list(appliances))}" for n in range(random.randint(2, 3)))
    return "\n".join(lines) + "\n"


def _starts(random: Random, runs: int) -> dict[str, str]:
    """Return what each run starts from: a tree that is neither a line nor a star."""
    starts: dict[str, str] = {}
    for number in range(runs):
        from_source = number == 0 or random.random() < 0.5 / runs
        starts[f"run-{number}"] = "regulator" if from_source else f"run-{random.randrange(max(0, number - 4), number)}"
    return starts


def _staged(random: Random, starts: dict[str, str]) -> tuple[set[str], set[str]]:
    """Return the runs before the second stages, and those that have a second-stage regulator at their start."""
    feeding = set(starts.values())
    first = {name for name, start in starts.items() if start == "regulator" and name in feeding}
    first |= {
        name for name, start in starts.items() if start in first and name in feeding and random.random() < 0.2
    }  # a first-stage line that branches
    return first, {name for name, start in starts.items() if name not in first and start in {"regulator", *first}}


def _pipe(random: Random, sizes: Sequence[str], mj_h: float, *, first_stage: bool, sized: bool) -> str:
    if not sized:
        if sizes == "auto":
            return "as1432-b/auto"
        labels = [f"as1432-b/{size}" for size in sizes]
        return labels[0] if len(labels) == 1 else f"[{', '.join(labels)}]"
    wished_mm = (8.0 if first_stage else 14.0) * (max(mj_h, 5.0) / 60.0) ** 0.38 * random.uniform(0.75, 1.25)
    known = SIZES if sizes == "auto" else sizes
    return "as1432-b/" + min(known, key=lambda size: abs(float(size) - wished_mm))


def _fittings(random: Random) -> str:
    chosen = random.sample(_FITTINGS, random.randint(0, 3))
    return f", fittings: {{{', '.join(f'{name}: {random.randint(1, 3)}' for name in chosen)}}}" if chosen else ""


def _plugs(random: Random, outlets: list[str], hoses: list[str], *, any_hose: bool) -> str:
    some = random.sample(outlets, random.randint(1, len(outlets)))
    place = "any" if random.random() < 0.4 else f"[{', '.join(some)}]"
    if not any_hose or random.random() < 0.25:
        return f"plugs-into: {place}, hose: none"
    kinds = random.sample(hoses, random.randint(1, len(hoses)))
    hose = "any" if random.random() < 0.3 else kinds[0] if len(kinds) == 1 else f"[{', '.join(kinds)}]"
    return f"plugs-into: {place}, hose: {hose}"


def _state(random: Random, appliances: list[str]) -> str:
    on = random.sample(appliances, random.randint(1, len(appliances)))
    if random.random() < 0.4:
        return f"[{', '.join(on)}]"
    return f"{{{', '.join(f'{name}: {random.choice((40, 60, 100, 100))} %' for name in on)}}}"


def small_jobs(seeds: range) -> Iterator[tuple[int, Job]]:
    """Yield jobs with up to four plug-in appliances, four outlets and three kinds of hose, each with its seed."""
    for seed in seeds:
        random = Random(seed)
        text = job_text(
            random,
            random.randint(1, 6),
            SIZES,
            portables=random.randint(1, 4),
            outlets=random.randint(1, 4),
            hoses=random.randint(0, 3),
            states=seed % 2 == 0,
            stages=seed % 5 == 0,
            sized=True,
        )
        yield seed, job_from(text)
