"""What a check finds, as data: a job's states, their appliances and regulators, with figures and verdicts."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.spare import Headroom
from drawbar.checking.vents import SpaceResult
from drawbar.job import Job, Regulator
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.line.section import SectionFlow
from drawbar.line.worst_way import SolvedState

# A pressure is taken as reached within this much [Pa]: far below what a manometer shows, far above what floats lose.
TOLERANCE_PA = 1e-6


class ApplianceResult(NamedTuple):
    """One appliance in its own worst way of plugging.

    Attributes
    ----------
    name : str
        The appliance's.
    at : str
        The run at whose end it hangs.
    outlet, hose : str or None
        What it is plugged in with; None where it is fixed, or has no hose.
    load_w : float
        Gross heat at the state's share [W].
    gauge_pa : float
        Pressure at its inlet [Pa gauge].
    drop_pa : float
        From the last regulator to its inlet [Pa].
    margin_pa : float
        To the nearer of the allowed drop and its least pressure [Pa].
    tail : tuple of SectionFlow
        The outlet and hose it is plugged in with.
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
    """One regulator with its highest load and, for a second stage, the lowest pressure at its inlet.

    Attributes
    ----------
    name : str
        `regulator` for the first, the run at whose start it is for a second stage.
    regulator : Regulator
        As the job has it.
    load_w : float
        The most gross heat that passes it [W].
    inlet_gauge_pa : float or None
        Lowest pressure at its inlet [Pa gauge]; None for the first.
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

    Attributes
    ----------
    name : str
        The state's.
    ways : int or None
        How many ways of plugging were tried; None where they are too many and the drops an upper bound.
    plugged : tuple of Plugged
        What is plugged in where, in the way with the least margin of all.
    total_w : float
        The most that can burn at once [W].
    runs : tuple of SectionFlow
        The runs in the way of plugging with the least margin of all.
    appliances : tuple of ApplianceResult
        Each in its own worst way.
    regulators : tuple of RegulatorResult
        The first regulator, then the second stages.
    solved : SolvedState
        What these figures are read from: the state solved on the line, with its ways of plugging or their bound.
    headroom : Headroom or None
        What the state has left, where it was asked for.
    """

    name: str
    ways: int | None
    plugged: tuple[Plugged, ...]
    total_w: float
    runs: tuple[SectionFlow, ...]
    appliances: tuple[ApplianceResult, ...]
    regulators: tuple[RegulatorResult, ...]
    solved: SolvedState
    headroom: Headroom | None = None

    @property
    def is_bound(self) -> bool:
        """Tell whether the drops are an upper bound, not the exact figures."""
        return self.ways is None

    @property
    def margin_pa(self) -> float:
        """The least margin of all [Pa]."""
        margins = [appliance.margin_pa for appliance in self.appliances]
        margins.extend(regulator.margin_pa for regulator in self.regulators if regulator.margin_pa is not None)
        return min(margins)

    @property
    def passes(self) -> bool:
        """Tell whether every appliance and every regulator has its pressure."""
        return all(appliance.passes for appliance in self.appliances) and all(
            regulator.passes for regulator in self.regulators
        )


class CheckResult(NamedTuple):
    """A job checked.

    Attributes
    ----------
    job : Job
        What was checked.
    formula : str
        The formula that it was checked with.
    states : tuple of StateResult
        The worst first.
    warnings : tuple of str
        What is odd about the job, a sentence each.
    line : Line
        Solved with the job's pipes.
    space : SpaceResult or None
        The vents of its space, if it has one.
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
        """Tell whether every state passes and the vents of the space, if the rule judges them, are large enough."""
        return self.pressures_pass and (self.space is None or self.space.passes is not False)
