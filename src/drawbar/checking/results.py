"""What a check finds, as data: a job's states, their appliances and regulators, with figures and verdicts."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.spare import Headroom
from drawbar.checking.vents import SpaceResult
from drawbar.job import Job, Regulator
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.line.section import SectionFlow

# A pressure is taken as reached within this much [Pa]: far below what a manometer shows, far above what floats lose.
TOLERANCE_PA = 1e-6


class ApplianceResult(NamedTuple):
    """One appliance in its own worst way of plugging.

    at : the run at whose end it hangs; load_w : gross heat at the state's share [W]
    gauge_pa, drop_pa, margin_pa : at its inlet [Pa]; the margin is to the nearer of the allowed drop and its least
    pressure
    tail : the outlet and hose it is plugged in with
    """

    name: str
    at: str
    outlet: str | None
    hose: str | None
    load_w: float
    gauge_pa: float
    drop_pa: float
    margin_pa: float
    tail: tuple[SectionFlow, ...] = ()

    @property
    def passes(self) -> bool:
        """Tell whether the appliance gets its pressure."""
        return self.margin_pa >= -TOLERANCE_PA


class RegulatorResult(NamedTuple):
    """One regulator with its highest load [W] and, for a second stage, the lowest pressure at its inlet [Pa gauge].

    name : `regulator` for the first, the run at whose start it is for a second stage
    """

    name: str
    regulator: Regulator
    load_w: float
    inlet_gauge_pa: float | None

    @property
    def margin_pa(self) -> float | None:
        """What the inlet has above the least it works at [Pa]; None for the first stage."""
        return None if self.inlet_gauge_pa is None else self.inlet_gauge_pa - self.regulator.inlet_min_gauge_pa

    @property
    def passes(self) -> bool:
        """Tell whether it has the inlet pressure that it needs."""
        margin_pa = self.margin_pa
        return margin_pa is None or margin_pa >= -TOLERANCE_PA


class StateResult(NamedTuple):
    """One state, each appliance in its own worst way of plugging.

    ways : how many ways of plugging were tried; None where they are too many and the drops an upper bound
    plugged, runs : of the way of plugging with the least margin of all
    total_w : the most that can burn at once [W]
    headroom : what the state has left, where it was asked for
    """

    name: str
    ways: int | None
    plugged: tuple[Plugged, ...]
    total_w: float
    runs: tuple[SectionFlow, ...]
    appliances: tuple[ApplianceResult, ...]
    regulators: tuple[RegulatorResult, ...]
    headroom: Headroom | None = None

    @property
    def is_bound(self) -> bool:
        """Tell whether the drops are an upper bound, not the exact figures."""
        return self.ways is None

    @property
    def margin_pa(self) -> float:
        """The least margin of all [Pa]."""
        margins = [one.margin_pa for one in self.appliances]
        margins.extend(one.margin_pa for one in self.regulators if one.margin_pa is not None)
        return min(margins)

    @property
    def passes(self) -> bool:
        """Tell whether every appliance and every regulator has its pressure."""
        return all(one.passes for one in self.appliances) and all(one.passes for one in self.regulators)


class CheckResult(NamedTuple):
    """A job checked: the states, the worst first, what is odd about the job, and the vents of its space if it has one.

    line : solved with the job's pipes
    """

    job: Job
    formula: str
    states: tuple[StateResult, ...]
    warnings: tuple[str, ...]
    line: Line
    space: SpaceResult | None = None

    @property
    def pressures_pass(self) -> bool:
        """Tell whether every state passes, whatever the vents."""
        return all(state.passes for state in self.states)

    @property
    def passes(self) -> bool:
        """Tell whether every state passes and the vents of the space, if there is one, are large enough."""
        return self.pressures_pass and (self.space is None or self.space.passes)
