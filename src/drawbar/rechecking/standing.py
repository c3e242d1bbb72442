"""How a job stands, for many jobs: verdict and least margin alone, without the figures of a full check."""

from __future__ import annotations

from dataclasses import dataclass

from drawbar.checking.results import TOLERANCE_PA
from drawbar.checking.vents import check_space
from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.line.state import states_on_line


@dataclass(frozen=True, slots=True)
class Standing:
    """How a job stands.

    Attributes
    ----------
    passes : bool
        Whether the job passes.
    margin_pa : float
        The least margin of all states and appliances [Pa].
    state, appliance : str
        The state and the appliance that have it.
    vents_pass : bool
        Whether the vents of its space are large enough, which it must pass too.
    """

    passes: bool
    margin_pa: float
    state: str
    appliance: str
    vents_pass: bool = True

    @property
    def pressures_pass(self) -> bool:
        """Tell whether every appliance gets its pressure, whatever the vents."""
        return self.margin_pa >= -TOLERANCE_PA


def standing(job: Job) -> Standing:
    """Return how a job stands.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.

    Returns
    -------
    Standing
        The verdict and the margin of the full check.
    """
    line = Line(job)
    least = (float("inf"), "", "")
    for state_on_line in states_on_line(line):
        margin_pa, name = state_on_line.worst()
        if margin_pa < least[0]:
            least = (margin_pa, state_on_line.plan.state.name, name)
    space = check_space(job)
    vents_pass = space is None or space.passes is not False
    return Standing(least[0] >= -TOLERANCE_PA and vents_pass, *least, vents_pass)
