"""What the supply makes of a job: each state with its verdict, and the whole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drawbar.checking.results import RegulatorResult
from drawbar.gas_supply.bottle_helps import Help
from drawbar.gas_supply.by_use import SAME_LOAD, Use
from drawbar.gas_supply.in_turn import InTurnSupply
from drawbar.job import Cylinders, Job
from drawbar.physics.component import Component
from drawbar.physics.cooling import Course, Duty
from drawbar.physics.cylinder import Steady
from drawbar.verdict import Reason, Verdict, verdict_of


@dataclass(frozen=True, slots=True)
class StateSupply:
    """What the supply makes of one state.

    Attributes
    ----------
    name : str
        The state's.
    load_w : float
        The most that can burn at once, gross [W].
    flow_kg_s : float
        The gas that takes [kg/s].
    steady_w : float
        Continuous offtake of the bottles drawn from, gross [W].
    bottles_needed : int or None
        How many bottles it takes, None where none gives any.
    drawing_s, all_s : float
        How long the gas in the bottles drawn from, and in all, would last at that load [s].
    liquid_k : float
        What the liquid settles at while its level stands [K], no lower than where the regulator gives up.
    course : Course
        That of a bottle from the temperature of the air.
    duty_course : Course or None
        The same for a load that comes and goes.
    lowest_fill : float or None
        The fill down to which the bottles keep the load up [-], None where they don't even now.
    regulators : tuple of RegulatorResult
        The first, and the second stages, with their loads.
    use : Use or None
        How it is used, None where the job does not say.
    because : tuple of Reason
        Why its verdict is not PASS: about bottles, whose place is the state, then about regulators.
    helps : tuple of Help
        What makes the bottles hold it.
    """

    name: str
    load_w: float
    flow_kg_s: float
    steady_w: float
    bottles_needed: int | None
    drawing_s: float
    all_s: float
    liquid_k: float
    course: Course
    duty_course: Course | None
    lowest_fill: float | None
    regulators: tuple[RegulatorResult, ...]
    use: Use | None
    because: tuple[Reason, ...]
    helps: tuple[Help, ...]

    @property
    def keeps_up(self) -> bool:
        """Tell whether the bottles drawing give the load without a break."""
        return self.load_w <= self.steady_w * SAME_LOAD

    @property
    def overloaded(self) -> tuple[RegulatorResult, ...]:
        """The regulators whose load is above their capacity."""
        return tuple(
            stage
            for stage in self.regulators
            if stage.regulator.capacity_w is not None and stage.load_w > stage.regulator.capacity_w * SAME_LOAD
        )

    @property
    def verdict(self) -> Verdict:
        """The verdict on the bottles and the regulators together."""
        return verdict_of(self.because)

    @property
    def passes(self) -> bool:
        """Tell whether the verdict is PASS."""
        return self.verdict is Verdict.PASS


@dataclass(frozen=True, slots=True)
class SupplyResult:
    """A job's supply.

    Attributes
    ----------
    job : Job
        The job.
    cylinders : Cylinders
        Its bottles.
    liquid : tuple of (Component, float)
        What is in one bottle now [mol].
    steady : Steady
        Continuous offtake of one bottle.
    full_w : float
        Continuous offtake of the bottles drawn from if they were full, gross [W].
    states : tuple of StateSupply
        The states asked about, in the order of the job.
    grid : tuple of tuple of float
        Continuous offtake of the bottles drawn from, by fill and air temperature, gross [W], in the order of GRID_FILLS
        and GRID_AMBIENTS_K.
    duty : Duty or None
        The load that comes and goes, if it was asked about: every state is then judged as if it were used so.
    in_turn : tuple of InTurnSupply
        What becomes of the bottles where states are used one after the other.
    """

    job: Job
    cylinders: Cylinders
    liquid: tuple[tuple[Component, float], ...]
    steady: Steady
    full_w: float
    states: tuple[StateSupply, ...]
    grid: tuple[tuple[float, ...], ...]
    duty: Duty | None
    in_turn: tuple[InTurnSupply, ...] = ()

    @property
    def because(self) -> tuple[Reason, ...]:
        """Why the verdict is not PASS, what fails first; of each regulator the state that is the hardest on it."""
        by_place: dict[tuple[str, str], Reason] = {}
        for reason in self._reasons():
            before = by_place.setdefault((reason.code, reason.place), reason)
            if (reason.verdict is Verdict.FAIL, reason.details["load_w"]) > (
                before.verdict is Verdict.FAIL,
                before.details["load_w"],
            ):
                by_place[reason.code, reason.place] = reason
        return tuple(sorted(by_place.values(), key=lambda reason: reason.verdict is not Verdict.FAIL))

    def _reasons(self) -> Iterator[Reason]:
        for state in self.states:
            yield from state.because
        for in_turn in self.in_turn:
            yield from in_turn.because

    @property
    def verdict(self) -> Verdict:
        """The worst verdict of its states."""
        return verdict_of(self.because)

    @property
    def passes(self) -> bool:
        """Tell whether every state passes."""
        return self.verdict is Verdict.PASS
