"""What a job, or many jobs together, need as they stand: stretches of pipe, parts by number, joints.

Counted is what the job files list. Counts are whole numbers and lengths whole micrometres [um].
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from drawbar import units
from drawbar.display_units import Display
from drawbar.job import Hose, Job, Regulator, decided
from drawbar.materials.tees import NO_DEVICE, Remark, bought_as, exits_by_point, fittings_at, left_open

UM_PER_M = 1_000_000

# How many joints a part makes, where no fitting's `ends` says it; common practice.
_FIRST_REGULATOR_JOINTS = 1  # its outlet; its inlet comes with the bottles
_SECOND_STAGE_JOINTS = 2
_DEVICE_JOINTS = 2  # of a device in a run, and of each at an outlet but the last, which ends the pipe
_APPLIANCE_JOINTS = 1  # of an appliance that is fixed; a hose comes made up
_SECTIONS = ("fitting", "device", "hose", "regulator", "appliance", "bottle")
_MJ_H = 0.0036  # in a watt


@dataclass(frozen=True, slots=True)
class JobName:
    """What a job is called: its file, title and the workshop's number."""

    file: str
    title: str
    ref: str | None


@dataclass(frozen=True, slots=True)
class Part:
    """A kind of part to buy.

    Attributes
    ----------
    section : str
        `fitting`, `device`, `hose`, `regulator`, `appliance` or `bottle`.
    name : str
        What it is bought as.
    size : str
        Which size of it, empty where it has none; of an appliance its type, where the job names one.
    formed : bool
        Whether it is made in the pipe, so that it need not be bought.
    own_units : str
        The size in the units of the job, where that has others; the same part whatever they are.
    """

    section: str
    name: str
    size: str = ""
    formed: bool = False
    own_units: str = field(default="", compare=False)

    @property
    def shown_size(self) -> str:
        """The size as a person reads it, in the units of the job."""
        return self.own_units or self.size


@dataclass(frozen=True, slots=True)
class Stretch:
    """The pipe of one run: its size, its length [um], and the run's name."""

    pipe: str
    length_um: int
    run: str


@dataclass(frozen=True, slots=True)
class Needs:
    """What jobs need as they stand, before pipe is bought.

    Attributes
    ----------
    jobs : tuple of JobName
        The jobs, one or several.
    stretches : tuple of Stretch
        The pipe of every run.
    parts : tuple of (Part, int)
        The parts by number.
    joints : int
        How many joints there are to make.
    remarks : tuple of Remark
        What the job files leave open.
    unit : str
        The unit of length that the jobs are written in, `m` where they differ.
    """

    jobs: tuple[JobName, ...]
    stretches: tuple[Stretch, ...]
    parts: tuple[tuple[Part, int], ...]
    joints: int
    remarks: tuple[Remark, ...]
    unit: str

    def has(self, section: str) -> bool:
        """Tell whether there is any part of a section."""
        return any(part.section == section for part, _ in self.parts)


def needs_of(job: Job) -> Needs:
    """Return what a job needs.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.

    Returns
    -------
    Needs
        Pipe, parts and joints as the job lists them, with what it leaves open.

    Raises
    ------
    ValueError
        If a run leaves its size open.
    """
    decided(job)
    parts: Counter[Part] = Counter()
    remarks: list[Remark] = []
    joints = _add_regulators(job, parts) + _add_devices(job, parts, remarks)
    for hose in job.hoses:
        _add_hose(job, hose, parts)
    parts.update(Part("appliance", appliance.name, appliance.like or "") for appliance in job.appliances)
    _add_bottles(job, parts)
    joints += _APPLIANCE_JOINTS * sum(appliance.at is not None for appliance in job.appliances)
    for point, exits in exits_by_point(job).items():
        for fitting, pipe, count in fittings_at(exits):
            if count:
                parts[Part("fitting", bought_as(fitting), pipe.label, fitting.ends == 0)] += count
                joints += fitting.ends * count
        remarks.extend(left_open(job, point, exits))
    stretches = tuple(Stretch(run.pipes[0].label, round(run.length_m * UM_PER_M), run.name) for run in job.runs)
    unit = job.display.length
    return Needs((JobName(job.file, job.title, job.ref),), stretches, sorted_parts(parts), joints, tuple(remarks), unit)


def together(all_needs: Sequence[Needs]) -> Needs:
    """Return what jobs need together; the run's names and the remarks then say which job they are of.

    Parameters
    ----------
    all_needs : sequence of Needs
        What each job needs by itself, of one job at least.

    Returns
    -------
    Needs
        The sum of them.
    """
    if len(all_needs) == 1:
        return all_needs[0]
    parts: Counter[Part] = Counter()
    stretches: list[Stretch] = []
    remarks: list[Remark] = []
    for needs in all_needs:
        parts.update(dict(needs.parts))
        job = needs.jobs[0]
        name = job.ref or job.title
        stretches.extend(
            Stretch(stretch.pipe, stretch.length_um, f"{name}: {stretch.run}") for stretch in needs.stretches
        )
        remarks.extend(Remark(remark.kind, f"{name}: {remark.place}", f"{name}: {remark}") for remark in needs.remarks)
    units = {needs.unit for needs in all_needs}
    return Needs(
        tuple(job for needs in all_needs for job in needs.jobs),
        tuple(stretches),
        sorted_parts(parts),
        sum(needs.joints for needs in all_needs),
        tuple(remarks),
        units.pop() if len(units) == 1 else "m",
    )


def _add_regulators(job: Job, parts: Counter[Part]) -> int:
    """Add the regulators; return the joints that they make."""
    parts[_regulator("regulator", job.regulator, job.display)] += job.regulator.number
    joints = _FIRST_REGULATOR_JOINTS
    for run in job.runs:
        if run.regulator is not None:
            parts[_regulator("second-stage", run.regulator, job.display)] += run.regulator.number
            joints += _SECOND_STAGE_JOINTS
    return joints


def _regulator(name: str, regulator: Regulator, display: Display) -> Part:
    pa, capacity_w = regulator.outlet_gauge_pa, regulator.capacity_w
    if regulator.most_w is not None:
        capacity_w = regulator.most_w / regulator.number  # that of one, as it is bought
    size = f"{pa / 1000:.4g} kPa" + (f", {capacity_w * _MJ_H:.4g} MJ/h" if capacity_w is not None else "")
    own = _in(pa, display.pressure, units.PRESSURE)
    if capacity_w is not None:
        own += f", {_in(capacity_w, display.heat, units.HEAT_RATE)}"
    return Part("regulator", name, size, own_units=own if own != size else "")


def _in(value: float, unit: str, dimension: units.Dimension) -> str:
    """Return a figure in a unit, to four digits and without an exponent."""
    figure = units.from_si(value, unit, dimension)
    return f"{float(f'{figure:.4g}'):,.10g} {unit}"


def _add_bottles(job: Job, parts: Counter[Part]) -> None:
    if job.cylinders is None:
        return
    kg = job.cylinders.bottle.gas_kg
    own = _in(kg, job.display.mass, units.MASS) if job.display.is_us else ""
    parts[Part("bottle", "bottle", f"{kg:.4g} kg", own_units=own)] += job.cylinders.count


def _add_devices(job: Job, parts: Counter[Part], remarks: list[Remark]) -> int:
    """Add the devices of runs and outlets, and a remark for an outlet without; return the joints that they make."""
    joints = 0
    for run in job.runs:
        parts.update(Part("device", device.name) for device in run.devices)
        joints += _DEVICE_JOINTS * len(run.devices)
    for outlet in job.outlets:
        parts.update(Part("device", device.name) for device in outlet.devices)
        joints += _DEVICE_JOINTS * max(1, len(outlet.devices)) - 1
        if not outlet.devices:
            text = f"outlet {outlet.name} lists no device: no part is counted for it"
            remarks.append(Remark(NO_DEVICE, outlet.name, text))
    return joints


def _add_hose(job: Job, hose: Hose, parts: Counter[Part]) -> None:
    """Add the hoses of a kind, made up with their devices and fittings.

    Where the job does not say how many there are: as many as can be in use at once.
    """
    users = [appliance for appliance in job.appliances if hose.name in appliance.hoses]
    outlets = {outlet for appliance in users for outlet in appliance.plugs_into}
    count = hose.count if hose.count is not None else min(len(users), len(outlets))
    if not count:
        return
    own = f"{hose.pipe.label}, {_in(hose.length_m, job.display.length, units.LENGTH)}" if job.display.is_us else ""
    parts[Part("hose", hose.name, f"{hose.pipe.label}, {hose.length_m:.4g} m", own_units=own)] += count
    for device in hose.devices:
        parts[Part("device", device.name)] += count
    for fitting, number in hose.fittings:
        parts[Part("fitting", bought_as(fitting), hose.pipe.label, fitting.ends == 0)] += count * number


def size_order(label: str) -> tuple[str, float, str]:
    """Return what sorts sizes: by family, then by the first number in them."""
    family, _, size = label.rpartition("/")
    number = re.search(r"[0-9]+(\.[0-9]+)?", size)
    return family, float(number.group()) if number else 0.0, label


def sorted_parts(parts: Counter[Part]) -> tuple[tuple[Part, int], ...]:
    """Return parts by number in the order of a list: by section, name and size."""
    return tuple(
        sorted(
            parts.items(), key=lambda pair: (_SECTIONS.index(pair[0].section), pair[0].name, size_order(pair[0].size))
        )
    )
