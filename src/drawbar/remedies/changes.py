"""Changes that may put a job right: each made in a job, and each as an edit of the job file's own keys."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeVar

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.display_units import Display
from drawbar.job import Appliance, Device, Hose, Job, Outlet, Pipe, Run

_EXACT_DIGITS = 6  # significant ones of a figure that is given, not worked out
_DIGITS = 3  # of one that is worked out: it is rounded down, so that what is written passes as well
_SAME = 1e-6  # relative; figures read back from JSON have ten digits

_Piece = TypeVar("_Piece", Run, Outlet, Hose, Appliance)


class SizeChange(NamedTuple):
    """A run that gets another size: its name, the size it has and the size that it needs, each as `family/size`."""

    run: str
    old: str
    new: str

    def made_in(self, job: Job, catalogue: Catalogue) -> Job:
        """Return the job with the new size; ValueError where the job or the catalogue is not the one it is for."""

        def changed(run: Run) -> Run:
            return run._replace(pipes=(_new_pipe("run", run.name, run.pipe, self, catalogue),))

        return job._replace(runs=_with(job.runs, self.run, "run", changed))

    def edit(self, display: Display) -> tuple[str, str]:  # noqa: ARG002 - each has the same form
        """Return the key of the job file and what is to stand there."""
        return f"runs.{self.run}.pipe", self.new


class HoseChange(NamedTuple):
    """A kind of hose that gets another size: its name, the size it has and the size that it needs."""

    hose: str
    old: str
    new: str

    def made_in(self, job: Job, catalogue: Catalogue) -> Job:
        """Return the job with the new size; ValueError where the job or the catalogue is not the one it is for."""

        def changed(hose: Hose) -> Hose:
            return replace(hose, pipe=_new_pipe("hose", hose.name, hose.pipe, self, catalogue))

        return job._replace(hoses=_with(job.hoses, self.hose, "hose", changed))

    def edit(self, display: Display) -> tuple[str, str]:  # noqa: ARG002 - each has the same form
        """Return the key of the job file and what is to stand there."""
        return f"hoses.{self.hose}.pipe", self.new


class LengthChange(NamedTuple):
    """A kind of hose that must be shorter: its name, the length it has and the greatest that passes [m]."""

    hose: str
    old_m: float
    most_m: float

    def made_in(self, job: Job, catalogue: Catalogue) -> Job:  # noqa: ARG002 - each has the same form
        """Return the job with the shorter hose; ValueError where the job is not the one it is for."""

        def changed(hose: Hose) -> Hose:
            _refuse_other(f"hose {hose.name}", hose.length_m, self.old_m, "m")
            return replace(hose, length_m=self.most_m)

        return job._replace(hoses=_with(job.hoses, self.hose, "hose", changed))

    def edit(self, display: Display) -> tuple[str, str]:
        """Return the key of the job file and what is to stand there, rounded down."""
        return f"hoses.{self.hose}.length", rounded_down(self.most_m, display.length, units.LENGTH)


class DeviceChange(NamedTuple):
    """A device that must take less.

    Attributes
    ----------
    place_kind, place : str
        `run`, `outlet` or `hose`, and its name.
    number : int
        Which of its devices it is, from 0.
    device : str
        Its name.
    flow_w : float
        The flow of its figure as gross heat [W].
    old_pa, most_pa : float
        What it takes at that flow, and the most that it may take there [Pa].
    """

    place_kind: str
    place: str
    number: int
    device: str
    flow_w: float
    old_pa: float
    most_pa: float

    def made_in(self, job: Job, catalogue: Catalogue) -> Job:  # noqa: ARG002 - each has the same form
        """Return the job with such a device; ValueError where the job is not the one it is for."""
        match self.place_kind:
            case "run":
                return job._replace(
                    runs=_with(job.runs, self.place, "run", lambda run: run._replace(devices=self._among(run)))
                )
            case "outlet":
                return job._replace(
                    outlets=_with(job.outlets, self.place, "outlet", lambda at: at._replace(devices=self._among(at)))
                )
            case _:
                return job._replace(
                    hoses=_with(job.hoses, self.place, "hose", lambda hose: replace(hose, devices=self._among(hose)))
                )

    def _among(self, piece: Run | Outlet | Hose) -> tuple[Device, ...]:
        where = f"{self.place_kind} {self.place}"
        if self.number >= len(piece.devices) or piece.devices[self.number].name != self.device:
            raise ValueError(f"{where} has no {self.device}")
        old = piece.devices[self.number]
        _refuse_other(f"{self.device} of {where}", old.drop_pa, self.old_pa, "Pa")
        new = old._replace(drop_pa=self.most_pa, like=None)
        return (*piece.devices[: self.number], new, *piece.devices[self.number + 1 :])

    def edit(self, display: Display) -> tuple[str, str]:
        """Return the key of the job file and what is to stand there, the drop rounded down."""
        flow = f"{units.from_si(self.flow_w, display.heat, units.HEAT_RATE):.{_EXACT_DIGITS}g} {display.heat}"
        drop = rounded_down(self.most_pa, display.pressure, units.PRESSURE)
        key = f"{self.place_kind}s.{self.place}.devices.{self.number}"
        return key, f"{{name: {self.device}, flow: {flow}, drop: {drop}}}"


class LoadChange(NamedTuple):
    """An appliance that must be smaller: its name, the input it has and the largest that passes [W]."""

    appliance: str
    old_w: float
    most_w: float

    def made_in(self, job: Job, catalogue: Catalogue) -> Job:  # noqa: ARG002 - each has the same form
        """Return the job with the smaller appliance; ValueError where the job is not the one it is for."""

        def changed(appliance: Appliance) -> Appliance:
            _refuse_other(f"appliance {appliance.name}", appliance.input_w, self.old_w, "W")
            flow_kg_s = self.most_w / job.gas.gross_j_kg
            return appliance._replace(input_w=self.most_w, flow_kg_s=flow_kg_s, like=None)

        return job._replace(appliances=_with(job.appliances, self.appliance, "appliance", changed))

    def edit(self, display: Display) -> tuple[str, str]:
        """Return the key of the job file and what is to stand there, rounded down."""
        return f"appliances.{self.appliance}.input", rounded_down(self.most_w, display.heat, units.HEAT_RATE)


Change = SizeChange | HoseChange | LengthChange | DeviceChange | LoadChange


def path_of(change: Change) -> tuple[str, ...]:
    """Return the way to what a change changes in a job file, through its keys; an item of a list is its number from 0.

    Parameters
    ----------
    change : Change
        Any change.

    Returns
    -------
    tuple of str
        What `edit` has with dots between.
    """
    match change:
        case SizeChange(run=name):
            return "runs", name, "pipe"
        case HoseChange(hose=name):
            return "hoses", name, "pipe"
        case LengthChange(hose=name):
            return "hoses", name, "length"
        case LoadChange(appliance=name):
            return "appliances", name, "input"
        case DeviceChange():
            return f"{change.place_kind}s", change.place, "devices", str(change.number)


def rounded_down(si: float, unit: str, dimension: units.Dimension) -> str:
    """Return a figure that may not be exceeded, in a unit and to three digits, never more than it is.

    Parameters
    ----------
    si : float
        The figure in the SI unit of its dimension.
    unit : str
        The unit to show it in.
    dimension : Dimension
        What it is.

    Returns
    -------
    str
        With the unit.

    Examples
    --------
    >>> rounded_down(0.0259, "m", units.LENGTH), rounded_down(1.9999, "m", units.LENGTH)
    ('0.0259 m', '1.99 m')
    """
    value = units.from_si(si, unit, dimension)
    if value <= 0.0:
        return f"0 {unit}"
    decimals = _DIGITS - 1 - math.floor(math.log10(value))
    # A figure that three digits hold exactly is not a step lower for what its last binary digit lacks.
    down = math.floor(value * 10.0**decimals * (1.0 + 1e-12)) / 10.0**decimals
    return f"{down:.{max(decimals, 0)}f} {unit}"


def _with(pieces: Sequence[_Piece], name: str, kind: str, change: object) -> tuple[_Piece, ...]:
    """Return the pieces with that of a name changed."""
    assert callable(change)
    if all(piece.name != name for piece in pieces):
        raise ValueError(f"the job has no {kind} {name}")
    return tuple(change(piece) if piece.name == name else piece for piece in pieces)


def _new_pipe(kind: str, name: str, pipe: Pipe, change: SizeChange | HoseChange, catalogue: Catalogue) -> Pipe:
    if pipe.label != change.old:
        raise ValueError(f"{kind} {name} has {pipe.label}, not {change.old}, which the remedy takes out")
    family, _, size = change.new.partition("/")
    sizes: Mapping[str, Pipe] = catalogue.sizes(family) or {}
    if size not in sizes:
        raise ValueError(f"the catalogue has no pipe {change.new}")
    return sizes[size]


def _refuse_other(what: str, figure: float, old: float, unit: str) -> None:
    if abs(figure - old) > _SAME * abs(old):
        raise ValueError(f"{what} has {figure:g} {unit}, not {old:g} {unit}, which the remedy changes")
