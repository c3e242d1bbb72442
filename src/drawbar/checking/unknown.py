"""What a job leaves out, carried as a quantity: how much it may take before an appliance fails at the worst corner.

What is left out counts as nothing where the line is solved. So each piece that is not known is given a drop that grows
with the square of the flow, the rest at the worst corner and whatever else is not known at nothing, until something
fails.

The details of its reasons: `name` of the device, empty for an outlet that names none or a hose; `most_pa` [Pa], what
its maker's figure may be at the load `load_w` [W] of the largest appliance that its gas goes to, its tolerance on top;
`others`, how many more are not known; `typical`, what such a piece is, and `typical_low_pa` to `typical_high_pa` [Pa],
what it typically takes at that load. Where the job is too crowded to look at so often, `most_pa` and `load_w` are left
out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from drawbar.checking.corner import worst_corner
from drawbar.checking.spare import largest
from drawbar.job import Device, Hose, Job, Outlet, Pipe, Run
from drawbar.line.network import Line
from drawbar.line.plugging import work_of_look
from drawbar.line.state import StateOnLine, states_again, states_on_line
from drawbar.line.worst_way import SolvedState
from drawbar.rules import TypicalDrop
from drawbar.verdict import Reason, Verdict

_MOST_PA = 100_000.0  # a drop beyond this is no limit to speak of
_MOST_UNKNOWN = 12  # pieces that are worked out; of more, only that they are not known is said
_MOST_LOOKED = 300_000  # runs and places worked out for them, over all states and looks; beyond it, as well
_FEWEST_LOOKS = 6  # that such a piece takes
_TRIAL = "not known"  # the name of the hose that stands for one that is not known
_WIDE = Pipe("", 0.1, 0.0, None, "")


class _Unknown(NamedTuple):
    """A piece that is not known.

    Attributes
    ----------
    code, place, name : str
        Of its reason: the code, the piece or appliance, the device's own name.
    load_kg_s : float
        The flow at which what it may take is told [kg/s].
    typical : TypicalDrop or None
        What such a piece typically takes, if the catalogue has it.
    taking : Callable
        From a drop over mass flow squared [Pa s2/kg2] to the job in which it takes that.
    """

    code: str
    place: str
    name: str
    load_kg_s: float
    typical: TypicalDrop | None
    taking: Callable[[float], Job]


def unknown_reasons(job: Job, formula: str, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    """Yield a reason for each piece whose drop the job leaves out, with the most that it may take.

    Parameters
    ----------
    job : Job
        As drawn.
    formula : str
        The name of the formula that its line is solved with.
    drawn : sequence of SolvedState
        Every state of the job, solved as drawn.

    Yields
    ------
    Reason
        Each leaves the verdict open.
    """
    pieces = list(_pieces(job, drawn))
    looks = _Looks(formula, [solved.state_on_line for solved in drawn])
    for number, piece in enumerate(pieces):
        details: dict[str, float | str] = {"name": piece.name, "others": len(pieces) - 1}
        most_pa = looks.most_pa(piece) if number < _MOST_UNKNOWN else None
        if most_pa is not None:
            details["most_pa"] = most_pa
            details["load_w"] = piece.load_kg_s * job.gas.gross_j_kg
        if piece.typical is not None:
            at_load = (piece.load_kg_s / piece.typical.flow_kg_s) ** 2
            details["typical"] = piece.typical.name
            details["typical_low_pa"] = piece.typical.low_pa * at_load
            details["typical_high_pa"] = piece.typical.high_pa * at_load
        yield Reason(piece.code, Verdict.UNDECIDED, piece.place, details)


class _TooManyLooksError(Exception):
    """The job is too crowded for so many looks at it."""


class _Looks:
    """The states of a job, to be looked at with a piece that takes more, within a count of work."""

    def __init__(self, formula: str, states: Sequence[StateOnLine]) -> None:
        self.formula = formula
        self.states = states
        self._left = _MOST_LOOKED
        self._a_look = sum(work_of_look(state.plan) for state in states)

    def most_pa(self, piece: _Unknown) -> float | None:
        """Return the most that a piece may take at its load [Pa]; None where the work is spent."""
        most = _MOST_PA / piece.load_kg_s**2
        if self._left < _FEWEST_LOOKS * self._a_look:
            return None
        try:
            return largest(lambda taken: self._margin_pa(piece, taken), most, most / 1000.0) * piece.load_kg_s**2
        except _TooManyLooksError:
            return None

    def _margin_pa(self, piece: _Unknown, pa_per_flow2: float) -> float:
        self._left -= self._a_look
        if self._left < 0:
            raise _TooManyLooksError
        line = Line(worst_corner(piece.taking(pa_per_flow2)), formula=self.formula)
        # With a hose in place of none, the combinations are to be made anew.
        again = states_on_line(line) if piece.code == "unknown-hose" else states_again(self.states, line)
        return min(state.worst()[0] for state in again)


def _pieces(job: Job, drawn: Sequence[SolvedState]) -> Iterator[_Unknown]:
    most = {appliance.name: 0.0 for appliance in job.appliances}
    for solved in drawn:
        for name, share in solved.state_on_line.plan.state.shares:
            flow_kg_s = next(a.flow_kg_s for a in job.appliances if a.name == name)
            most[name] = max(most[name], share * flow_kg_s)
    for outlet in job.outlets:
        load_kg_s = max((most[a.name] for a in job.appliances if outlet.name in a.plugs_into), default=0.0)
        if load_kg_s <= 0.0:
            continue
        if not outlet.devices_known:
            yield _Unknown("unknown-devices", outlet.name, "", load_kg_s, outlet.typical, _device_at(job, outlet))
        yield from _devices(job, outlet, load_kg_s)
    for hose in job.hoses:
        load_kg_s = max((most[a.name] for a in job.appliances if hose.name in a.hoses), default=0.0)
        yield from _devices(job, hose, load_kg_s)
    for number, run in enumerate(job.runs):
        yield from _devices(job, run, max(solved.flows[number] for solved in drawn))
    for appliance in job.appliances:
        if not appliance.hose_known and most[appliance.name] > 0.0:
            taking = _hose_of(job, appliance.name)
            yield _Unknown("unknown-hose", appliance.name, "", most[appliance.name], None, taking)


def _devices(job: Job, piece: Run | Outlet | Hose, load_kg_s: float) -> Iterator[_Unknown]:
    for device in piece.devices:
        if not device.is_known and load_kg_s > 0.0:
            yield _Unknown("unknown-device", piece.name, device.name, load_kg_s, device.typical, _device_at(job, piece))


def _trial(pa_per_flow2: float) -> Device:
    """Return a device that takes so much at one kilogram a second, as a maker would say; its tolerance goes on top."""
    return Device("", 1.0, pa_per_flow2)


def _device_at(job: Job, piece: Run | Outlet | Hose) -> Callable[[float], Job]:
    """Return what makes the job in which a piece has one more device."""

    def taking(pa_per_flow2: float) -> Job:
        devices = (*piece.devices, _trial(pa_per_flow2))
        if isinstance(piece, Run):
            runs = (run._replace(devices=devices) if run.name == piece.name else run for run in job.runs)
            return job._replace(runs=tuple(runs))
        if isinstance(piece, Outlet):
            outlets = (each._replace(devices=devices) if each.name == piece.name else each for each in job.outlets)
            return job._replace(outlets=tuple(outlets))
        hoses = (replace(hose, devices=devices) if hose.name == piece.name else hose for hose in job.hoses)
        return job._replace(hoses=tuple(hoses))

    return taking


def _hose_of(job: Job, name: str) -> Callable[[float], Job]:
    """Return what makes the job in which an appliance has a hose that is nothing but a device."""

    def taking(pa_per_flow2: float) -> Job:
        hose = Hose(_TRIAL, _WIDE, 0.0, devices=(_trial(pa_per_flow2),))
        appliances = (a._replace(hoses=(_TRIAL,)) if a.name == name else a for a in job.appliances)
        return job._replace(hoses=(*job.hoses, hose), appliances=tuple(appliances))

    return taking
