"""What of a checked job is shown: all of it, some of its states, or what does not pass. The verdict is that of all."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.results import ApplianceResult, CheckResult, StateResult
from drawbar.verdict import Verdict


class CheckView(NamedTuple):
    """Which part of a checked job is shown.

    Attributes
    ----------
    states : tuple of str
        The states; empty for all of them.
    failing : bool
        Whether to leave out the appliances that pass.
    """

    states: tuple[str, ...] = ()
    failing: bool = False

    def states_of(self, result: CheckResult) -> list[StateResult]:
        """Return the states that are shown, the worst first."""
        return [state for state in result.states if not self.states or state.name in self.states]

    def shows(self, appliance: ApplianceResult) -> bool:
        """Tell whether an appliance of a state is shown."""
        return not self.failing or appliance.verdict is not Verdict.PASS

    def appliances_of(self, state: StateResult) -> list[ApplianceResult]:
        """Return the appliances of a state that are shown, the worst first."""
        return sorted(filter(self.shows, state.appliances), key=lambda appliance: appliance.worst_margin_pa)

    def worst_of(self, result: CheckResult) -> list[tuple[ApplianceResult, StateResult]]:
        """Return each appliance that is shown with the state that leaves it least, the worst first."""
        worst: dict[str, tuple[ApplianceResult, StateResult]] = {}
        for state in self.states_of(result):
            for appliance in self.appliances_of(state):
                before = worst.get(appliance.name)
                if before is None or appliance.worst_margin_pa < before[0].worst_margin_pa:
                    worst[appliance.name] = appliance, state
        return sorted(worst.values(), key=lambda pair: pair[0].worst_margin_pa)

    def words(self, result: CheckResult) -> str:
        """Return what is left out and whose the verdict is, as sentences; empty where all is shown."""
        told = []
        count = len(result.states)
        if self.states and len(self.states_of(result)) < count:
            names = " and ".join(self.states)
            told.append(f"Shown is {names} alone; the verdict is that of all {count} states.")
        if self.failing:
            there = {appliance.name for state in self.states_of(result) for appliance in state.appliances}
            left_out = len(there) - len(self.worst_of(result))
            if left_out:
                told.append(f"{left_out} of {len(there)} appliances pass and are left out.")
        return " ".join(told)


ALL = CheckView()
"""All of a checked job."""
