"""What a check finds, as data: a job's states, their appliances and regulators, with figures and verdicts."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drawbar.checking.vents import SpaceResult
from drawbar.job import Job, Regulator
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged
from drawbar.line.section import SectionFlow
from drawbar.line.worst_way import SolvedState
from drawbar.verdict import Reason, Verdict, verdict_of, worst_verdict

if TYPE_CHECKING:
    from drawbar.checking.spare import Headroom

# A pressure is taken as reached within this much [Pa]: far below what a manometer shows, far above what floats lose.
TOLERANCE_PA = 1e-6


class ApplianceResult(NamedTuple):
    """One appliance in its worst combination.

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
    verdict : Verdict
        On its pressure in the state: PASS holds at the worst corner, with nothing on the way left unknown.
    worst_margin_pa : float
        The least margin at the worst corner [Pa].
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
    verdict: Verdict
    worst_margin_pa: float
    tail: tuple[SectionFlow, ...] = ()

    @property
    def passes(self) -> bool:
        """Tell whether the appliance gets its pressure, at the worst corner too."""
        return self.verdict is Verdict.PASS


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
    worst_margin_pa : float or None
        What the inlet has above the least it works at, at the worst corner [Pa]; None for the first.
    """

    name: str
    regulator: Regulator
    load_w: float
    inlet_gauge_pa: float | None
    worst_margin_pa: float | None = None

    @property
    def margin_pa(self) -> float | None:
        """What the inlet has above the least it works at [Pa]; None for the first stage."""
        return None if self.inlet_gauge_pa is None else self.inlet_gauge_pa - self.regulator.inlet_min_gauge_pa

    @property
    def verdict(self) -> Verdict:
        """The verdict on its inlet pressure."""
        margin_pa, worst_pa = self.margin_pa, self.worst_margin_pa
        if margin_pa is None or worst_pa is None or worst_pa >= -TOLERANCE_PA:
            return Verdict.PASS
        return Verdict.FAIL if margin_pa < -TOLERANCE_PA else Verdict.UNDECIDED


class StateResult(NamedTuple):
    """One state, each appliance in its worst combination.

    Attributes
    ----------
    name : str
        The state's.
    ways : int or None
        How many combinations were tried; None where they are too many and the drops an upper bound.
    plugged : tuple of Plugged
        What is plugged in where, in the way with the least margin of all.
    total_w : float
        The most that can burn at once [W].
    runs : tuple of SectionFlow
        The runs in the combination with the least margin of all.
    appliances : tuple of ApplianceResult
        Each in its own worst way.
    regulators : tuple of RegulatorResult
        The first regulator, then the second stages.
    solved : SolvedState
        What these figures are read from: the state solved on the line, with its combinations or their bound.
    worst : SolvedState
        The state solved at the worst corner; the same where the job is computed as drawn only.
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
    worst: SolvedState
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
    def worst_margin_pa(self) -> float:
        """The least margin of all at the worst corner [Pa]."""
        margins = [appliance.worst_margin_pa for appliance in self.appliances]
        margins.extend(reg.worst_margin_pa for reg in self.regulators if reg.worst_margin_pa is not None)
        return min(margins)

    @property
    def verdict(self) -> Verdict:
        """The verdict on the pressures of every appliance and at every second stage."""
        verdicts = [appliance.verdict for appliance in self.appliances]
        verdicts.extend(regulator.verdict for regulator in self.regulators)
        return worst_verdict(verdicts)

    @property
    def passes(self) -> bool:
        """Tell whether every appliance and every second stage has its pressure, at the worst corner too."""
        return self.verdict is Verdict.PASS


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
    because : tuple of Reason
        Why the verdict is not PASS, what fails first; empty for PASS.
    warnings : tuple of Reason
        What to check on site, which does not change the verdict.
    line : Line
        Solved with the job's pipes.
    spaces : tuple of SpaceResult
        The vents of its spaces, in the order of the job.
    """

    job: Job
    formula: str
    states: tuple[StateResult, ...]
    because: tuple[Reason, ...]
    warnings: tuple[Reason, ...]
    line: Line
    spaces: tuple[SpaceResult, ...] = ()

    @property
    def space(self) -> SpaceResult | None:
        """The vents of its first living space, None where it has none."""
        return next((vents for vents in self.spaces if not vents.space.holds_bottles), None)

    @property
    def has_vents(self) -> bool:
        """Tell whether the job's rule judges any of its spaces."""
        return any(vents.is_judged for vents in self.spaces)

    @property
    def verdict(self) -> Verdict:
        """The verdict on the job."""
        return verdict_of(self.because)

    @property
    def pressures_pass(self) -> bool:
        """Tell whether every appliance and second stage has its pressure at the worst corner, whatever else is open."""
        return all(state.worst_margin_pa >= -TOLERANCE_PA for state in self.states)

    @property
    def passes(self) -> bool:
        """Tell whether the verdict is PASS."""
        return self.verdict is Verdict.PASS
