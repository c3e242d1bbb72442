"""What a job, or many jobs together, take of materials: pipe, fittings, devices, hoses, regulators, joints.

Counted is what the job files list. Counts are whole numbers, lengths whole micrometres [um] and then decimals, so that
what is priced comes out the same by hand.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from drawbar.job import ROOT, Fitting, Hose, Job, Pipe
from drawbar.materials.cutting import CuttingList, Piece, cut, split

MILLIMETRE = Decimal("0.001")
COUPLING = "coupling"

# How many joints a part makes, where no fitting's `ends` says it; common practice.
FIRST_REGULATOR_JOINTS = 1  # its outlet; its inlet comes with the bottles
SECOND_STAGE_JOINTS = 2
DEVICE_JOINTS = 2  # of a device in a run, and of each at an outlet but the last, which ends the pipe
APPLIANCE_JOINTS = 1  # of an appliance that is fixed; a hose comes made up
COUPLING_JOINTS = 2


@dataclass(frozen=True, slots=True)
class JobName:
    """What a job is called: its file, title and the workshop's number."""

    file: str
    title: str
    ref: str | None


@dataclass(frozen=True, slots=True)
class Part:
    """A kind of part to buy: section `fitting`, `device`, `hose` or `regulator`, its name, and which size of it.

    formed : whether it is made in the pipe, so that it need not be bought
    """

    section: str
    name: str
    size: str = ""
    formed: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """The pipe of one run: its size, its length [um], and the run's name."""

    pipe: str
    length_um: int
    run: str


@dataclass(frozen=True, slots=True)
class Needs:
    """What jobs need as they stand, before pipe is bought: stretches of pipe, parts by number, joints.

    remarks : what the job files leave open
    unit : the unit of length that the jobs are written in, `m` where they differ
    """

    jobs: tuple[JobName, ...]
    stretches: tuple[Stretch, ...]
    parts: tuple[tuple[Part, int], ...]
    joints: int
    remarks: tuple[str, ...]
    unit: str


@dataclass(frozen=True, slots=True)
class PipeTaken:
    """One size of pipe.

    length_m, with_waste_m : what is laid, and that with the waste allowance, each to the millimetre [m]
    full : the stock lengths that go in whole; cutting : how the rest is cut; None and 0 without a stock length
    extra : stock lengths beyond the cutting list, where its offcuts are less than the waste allowance
    couplings : what joins the stretches that are longer than a stock length
    bought_m : what is to be bought: whole stock lengths, or without a stock length the length with waste [m]
    """

    pipe: str
    runs: int
    length_m: Decimal
    with_waste_m: Decimal
    bought_m: Decimal
    full: int = 0
    cutting: CuttingList | None = None
    extra: int = 0
    couplings: int = 0

    @property
    def lengths(self) -> int:
        """How many stock lengths are to be bought."""
        return self.full + self.extra + (len(self.cutting.bars) if self.cutting else 0)


@dataclass(frozen=True, slots=True)
class Takeoff:
    """The materials of jobs.

    waste : share that is added to the pipe, 1 for 100 %
    stock_m : stock length [m], None where pipe is not so bought
    """

    needs: Needs
    waste: Decimal
    stock_m: Decimal | None
    pipes: tuple[PipeTaken, ...]
    parts: tuple[tuple[Part, int], ...]
    joints: int

    @property
    def length_m(self) -> Decimal:
        """The pipe that is laid, all sizes together [m]."""
        return sum((pipe.length_m for pipe in self.pipes), Decimal(0))


def takeoff_of(needs: Needs, waste: Decimal, stock_um: int | None = None, kerf_um: int = 0) -> Takeoff:
    """Return the materials for what jobs need.

    waste : share that is added to the pipe, 1 for 100 %
    stock_um : the stock length that pipe is bought in [um], None where it is bought by the metre
    kerf_um : what a cut takes [um]
    """
    by_size: dict[str, list[Stretch]] = {}
    for stretch in needs.stretches:
        by_size.setdefault(stretch.pipe, []).append(stretch)
    pipes = [_pipe_taken(label, by_size[label], waste, stock_um, kerf_um) for label in sorted(by_size, key=_in_order)]
    parts = Counter(dict(needs.parts))
    for pipe in pipes:
        if pipe.couplings:
            parts[Part("fitting", COUPLING, pipe.pipe)] += pipe.couplings
    joints = needs.joints + COUPLING_JOINTS * sum(pipe.couplings for pipe in pipes)
    stock_m = _metres(stock_um) if stock_um is not None else None
    return Takeoff(needs, waste, stock_m, tuple(pipes), _sorted(parts), joints)


def _pipe_taken(
    label: str, stretches: Sequence[Stretch], waste: Decimal, stock_um: int | None, kerf_um: int
) -> PipeTaken:
    total_m = sum((_metres(stretch.length_um) for stretch in stretches), Decimal(0))
    length_m, with_waste_m = _to_mm(total_m), _to_mm(total_m * (1 + waste))
    if stock_um is None:
        return PipeTaken(label, len(stretches), length_m, with_waste_m, with_waste_m)
    pieces: list[Piece] = []
    full = couplings = 0
    for stretch in stretches:
        parts = split(stretch.length_um, stock_um)
        full += parts.count(stock_um)
        couplings += len(parts) - 1
        pieces.extend(Piece(length_um, stretch.run) for length_um in parts if length_um != stock_um)
    cutting = cut(pieces, stock_um, kerf_um)
    lengths = full + len(cutting.bars)
    with_waste_um = int(with_waste_m * 1_000_000)
    extra = max(0, -(-with_waste_um // stock_um) - lengths)
    bought_m = _to_mm((lengths + extra) * _metres(stock_um))
    return PipeTaken(label, len(stretches), length_m, with_waste_m, bought_m, full, cutting, extra, couplings)


def _metres(length_um: int) -> Decimal:
    return Decimal(length_um) / 1_000_000


def _to_mm(length_m: Decimal) -> Decimal:
    return length_m.quantize(MILLIMETRE, ROUND_HALF_UP)


# what jobs need


def needs_of(job: Job) -> Needs:
    """Return what one job needs. Each run has one size, as a job has that is read with `sized`."""
    parts: Counter[Part] = Counter(
        {_regulator("regulator", job.regulator.outlet_gauge_pa, job.regulator.capacity_w): 1}
    )
    joints = FIRST_REGULATOR_JOINTS
    remarks: list[str] = []
    for run in job.runs:
        parts.update(Part("device", device.name) for device in run.devices)
        joints += DEVICE_JOINTS * len(run.devices)
        if run.regulator is not None:
            parts[_regulator("second-stage", run.regulator.outlet_gauge_pa, run.regulator.capacity_w)] += 1
            joints += SECOND_STAGE_JOINTS
    for outlet in job.outlets:
        parts.update(Part("device", device.name) for device in outlet.devices)
        joints += DEVICE_JOINTS * max(1, len(outlet.devices)) - 1
        if not outlet.devices:
            remarks.append(f"outlet {outlet.name} lists no device: no part is counted for it")
    for hose in job.hoses:
        _add_hose(job, hose, parts)
    joints += APPLIANCE_JOINTS * sum(appliance.at is not None for appliance in job.appliances)
    for point, exits in _points(job).items():
        for fitting, pipe, count in _fittings_at(exits):
            if count:
                parts[Part("fitting", _bought_as(fitting), pipe.label, fitting.ends == 0)] += count
                joints += fitting.ends * count
        remarks.extend(_left_open(job, point, exits))
    stretches = tuple(Stretch(run.pipes[0].label, round(run.length_m * 1e6), run.name) for run in job.runs)
    unit = job.display.length
    return Needs((JobName(job.file, job.title, job.ref),), stretches, _sorted(parts), joints, tuple(remarks), unit)


def together(all_needs: Sequence[Needs]) -> Needs:
    """Return what jobs need together; the run's names and the remarks then say which job they are of."""
    if len(all_needs) == 1:
        return all_needs[0]
    parts: Counter[Part] = Counter()
    stretches: list[Stretch] = []
    remarks: list[str] = []
    for needs in all_needs:
        parts.update(dict(needs.parts))
        job = needs.jobs[0]
        name = job.ref or job.title
        stretches.extend(Stretch(one.pipe, one.length_um, f"{name}: {one.run}") for one in needs.stretches)
        remarks.extend(f"{name}: {remark}" for remark in needs.remarks)
    units = {needs.unit for needs in all_needs}
    return Needs(
        tuple(job for needs in all_needs for job in needs.jobs),
        tuple(stretches),
        _sorted(parts),
        sum(needs.joints for needs in all_needs),
        tuple(remarks),
        units.pop() if len(units) == 1 else "m",
    )


def _regulator(name: str, outlet_gauge_pa: float, capacity_w: float | None) -> Part:
    capacity = f", {capacity_w * 0.0036:.4g} MJ/h" if capacity_w is not None else ""
    return Part("regulator", name, f"{outlet_gauge_pa / 1000:.4g} kPa{capacity}")


def _add_hose(job: Job, hose: Hose, parts: Counter[Part]) -> None:
    """Add the hoses of a kind, made up with their devices and fittings.

    Where the job does not say how many there are: as many as can be in use at once.
    """
    users = [appliance for appliance in job.appliances if hose.name in appliance.hoses]
    outlets = {outlet for appliance in users for outlet in appliance.plugs_into}
    count = hose.count if hose.count is not None else min(len(users), len(outlets))
    if not count:
        return
    parts[Part("hose", hose.name, f"{hose.pipe.label}, {hose.length_m:.4g} m")] += count
    for device in hose.devices:
        parts[Part("device", device.name)] += count
    for fitting, number in hose.fittings:
        parts[Part("fitting", _bought_as(fitting), hose.pipe.label, fitting.ends == 0)] += count * number


def _bought_as(fitting: Fitting) -> str:
    return fitting.part or fitting.name


# what leaves a point of the line


@dataclass(frozen=True, slots=True)
class _Exit:
    """What leaves the line at a point: a run, an outlet or a fixed appliance, its pipe and its fittings."""

    name: str
    pipe: Pipe
    fittings: tuple[tuple[Fitting, int], ...] = ()

    def sided(self, part: str) -> int:
        """Return how many tees of a kind it takes by their side."""
        return sum(count for one, count in self.fittings if one.way == "side" and _bought_as(one) == part)


def _points(job: Job) -> dict[str, list[_Exit]]:
    """Return what leaves at each point, by the name of the run that ends there."""
    pipes = {run.name: run.pipes[0] for run in job.runs}
    points: dict[str, list[_Exit]] = {}
    for run in job.runs:
        points.setdefault(run.start, []).append(_Exit(run.name, run.pipes[0], run.fittings))
    for outlet in job.outlets:
        points.setdefault(outlet.at, []).append(_Exit(outlet.name, pipes[outlet.at], outlet.fittings))
    for appliance in job.appliances:
        if appliance.at is not None:
            points.setdefault(appliance.at, []).append(_Exit(appliance.name, pipes[appliance.at]))
    return points


def _fittings_at(exits: Sequence[_Exit]) -> Iterator[tuple[Fitting, Pipe, int]]:
    """Yield the fittings that what leaves a point takes: a tee that several pass once, in the size of its side branch.

    A tee that one exit takes by its side is the same that another passes straight on. Where every exit takes a tee by
    its side, one tee feeds two of them.
    """
    sides: Counter[str] = Counter()
    for exit_ in exits:
        for fitting, count in exit_.fittings:
            if fitting.way == "side":
                sides[_bought_as(fitting)] += count
    smallest = min(exits, key=lambda exit_: exit_.pipe.bore_m)
    shared = {part for part in sides if len(exits) > 1 and all(exit_.sided(part) for exit_ in exits)}
    for exit_ in exits:
        others = {part: total - exit_.sided(part) for part, total in sides.items()}
        for fitting, count in exit_.fittings:
            part, left = _bought_as(fitting), count
            if fitting.way == "straight":
                left = max(0, count - others.get(part, 0))
                others[part] = max(0, others.get(part, 0) - count)
            elif fitting.way == "side" and exit_ is smallest and part in shared:
                shared.remove(part)
                left -= 1
            yield fitting, exit_.pipe, left


def _left_open(job: Job, point: str, exits: Sequence[_Exit]) -> Iterator[str]:
    """Yield a sentence for what a point needs and the job does not show: a tee, a change of size."""
    where = "at the regulator" if point == ROOT else f"where {point} ends"
    tees = sum(count for fitting, _, count in _fittings_at(exits) if fitting.ends > 2)
    if tees < len(exits) - 1:
        listed = f"{tees or 'no'} tee is" if tees < 2 else f"{tees} tees are"
        yield f"{where}, {_listed([one.name for one in exits])} go on, but {listed} listed"
    before = next((run.pipes[0].label for run in job.runs if run.name == point), None)
    changed: dict[str, list[str]] = {}
    for one in exits:
        if before is not None and one.pipe.label != before:
            changed.setdefault(one.pipe.label, []).append(one.name)
    for label, names in changed.items():
        yield (
            f"{where}, {_listed(names)} {'goes' if len(names) == 1 else 'go'} on in {label} from {before}: see that a "
            "reducing tee or a reducer is counted"
        )


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]]) if len(names) > 1 else names[0]


def _in_order(label: str) -> tuple[str, float, str]:
    """Return what sorts sizes: by family, then by the first number in them."""
    family, _, size = label.rpartition("/")
    number = re.search(r"[0-9]+(\.[0-9]+)?", size)
    return family, float(number.group()) if number else 0.0, label


_SECTIONS = ("fitting", "device", "hose", "regulator")


def _sorted(parts: Counter[Part]) -> tuple[tuple[Part, int], ...]:
    return tuple(
        sorted(
            parts.items(), key=lambda pair: (_SECTIONS.index(pair[0].section), pair[0].name, _in_order(pair[0].size))
        )
    )
