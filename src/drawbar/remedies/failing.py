"""Where a job fails worst: the appliance, and what each piece on the way to it takes of its drop."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import Device, Hose, Outlet
from drawbar.line.section import Section
from drawbar.line.state import StateOnLine


class DropShare(NamedTuple):
    """What a piece takes of the drop to the appliance that is worst off.

    Attributes
    ----------
    place_kind, place : str
        `run`, `outlet` or `hose`, and its name.
    number : int or None
        Which of its devices it is, from 0; None for its pipe with fittings and rise.
    name : str
        The device's name, or that of the place.
    drop_pa : float
        What it takes [Pa].
    """

    place_kind: str
    place: str
    number: int | None
    name: str
    drop_pa: float


class Failing(NamedTuple):
    """Where a job fails.

    Attributes
    ----------
    shares : tuple of DropShare
        The pieces on the way from its regulator to the appliance, or the second stage, that is worst off.
    appliances : frozenset of str
        All that fall short.
    on : frozenset of str
        All that burn in the state that is the worst.
    """

    shares: tuple[DropShare, ...]
    appliances: frozenset[str]
    on: frozenset[str]

    @property
    def bottleneck(self) -> DropShare:
        """The piece that takes most."""
        return max(self.shares, key=lambda share: share.drop_pa)


def failing_of(states: Sequence[StateOnLine]) -> Failing:
    """Return where a job fails.

    Parameters
    ----------
    states : sequence of StateOnLine
        Its states on its line, at the corner that must hold.

    Returns
    -------
    Failing
        The way to the worst, in that state and combination.
    """
    appliances: set[str] = set()
    least = (math.inf, states[0], "", -1)
    for state in states:
        solved = state.solved
        for name, place in solved.places.items():
            if place.margin_pa < -TOLERANCE_PA:
                appliances.add(name)
            if place.margin_pa < least[0]:
                least = place.margin_pa, state, name, -1
        for number, margin_pa in solved.inlet_margins_pa.items():
            if margin_pa < least[0]:
                least = margin_pa, state, "", number
    _, state, name, stage = least
    shares = _to_appliance(state, name) if stage < 0 else _to_stage(state, stage)
    return Failing(tuple(shares), frozenset(appliances), frozenset(share[0] for share in state.plan.state.shares))


def _to_appliance(state: StateOnLine, name: str) -> list[DropShare]:
    solved = state.solved
    end, flows = solved.places[name].end, solved.flows_to(name)
    shares, point_pa = _along(state, end.at, flows)
    if end.plugged is not None:
        # The places of a plan may be those of the job as drawn; the line's own job is that at the corner.
        pieces: list[Outlet | Hose] = [*state.line.job.outlets, *state.line.job.hoses]
        for section in end.tail:
            piece = next(piece for piece in pieces if piece.name == section.name)
            kind = "hose" if isinstance(piece, Hose) else "outlet"
            shares += _shares(kind, piece.devices, section, point_pa, end.flow_kg_s)
            point_pa = section.outlet_abs_pa(point_pa, end.flow_kg_s)
    return shares


def _to_stage(state: StateOnLine, number: int) -> list[DropShare]:
    before = state.line.parents[number]
    if before < 0:  # nothing lies between the two regulators
        return [DropShare("run", state.line.job.runs[number].name, None, state.line.job.runs[number].name, 0.0)]
    return _along(state, before, state.solved.flows)[0]


def _along(state: StateOnLine, at: int, flows: Sequence[float]) -> tuple[list[DropShare], float]:
    """Return the shares of the runs from the last regulator to the end of one, and the pressure there [Pa absolute]."""
    line = state.line
    shares: list[DropShare] = []
    point_pa = line.source_abs_pa
    for number in line.paths[at]:
        run = line.job.runs[number]
        if run.regulator is not None:
            shares = []
        point_pa = line.behind_regulator_pa(number, point_pa)
        shares += _shares("run", run.devices, line.sections[number], point_pa, flows[number])
        point_pa = line.sections[number].outlet_abs_pa(point_pa, flows[number])
    return shares, point_pa


def _shares(
    place_kind: str, devices: Sequence[Device], section: Section, inlet_pa: float, flow_kg_s: float
) -> list[DropShare]:
    """Return the share of a section's pipe, and of each of its devices."""
    name = section.name
    of_devices = [
        DropShare(place_kind, name, number, device.name, section.device_pa_per_flow2(device) * flow_kg_s**2)
        for number, device in enumerate(devices)
    ]
    whole_pa = inlet_pa - section.outlet_abs_pa(inlet_pa, flow_kg_s)
    pipe_pa = max(0.0, whole_pa - sum(share.drop_pa for share in of_devices))
    return [DropShare(place_kind, name, None, name, pipe_pa), *of_devices]
