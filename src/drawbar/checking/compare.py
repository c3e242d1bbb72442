"""The pressure-drop formulas side by side on one job, so that one sees how far they part in small tubes."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.results import CheckResult
from drawbar.line.network import Line
from drawbar.line.state import states_again
from drawbar.line.worst_way import SolvedState
from drawbar.physics.formulas import FORMULAS


class FormulaComparison(NamedTuple):
    """A checked job by every formula.

    Attributes
    ----------
    check : CheckResult
        The job checked by its own formula, or by the one that was asked for.
    drops_pa : dict
        By state and appliance the drop of each formula, by its name [Pa]; the states in the job's own order.
    """

    check: CheckResult
    drops_pa: dict[tuple[str, str], dict[str, float]]


def comparison_of(result: CheckResult) -> FormulaComparison:
    """Check a job by every other formula as well.

    Parameters
    ----------
    result : CheckResult
        The job, checked.

    Returns
    -------
    FormulaComparison
        Every formula's drop to each appliance in its worst combination [Pa].
    """
    job = result.job
    checked = {state.name: state.solved for state in result.states}
    solved = [checked[state.name] for state in job.states]
    drops_pa: dict[tuple[str, str], dict[str, float]] = {
        (state.name, name): {} for state in job.states for name, _ in state.shares
    }
    for formula in FORMULAS:
        by_formula = solved
        if formula != result.formula:
            again = states_again([state.state_on_line for state in solved], Line(job, formula=formula))
            by_formula = [state.solved for state in again]
        for state, here in zip(job.states, by_formula, strict=True):
            for name, _ in state.shares:
                drops_pa[state.name, name][formula] = _drop_pa(here, name)
    return FormulaComparison(result, drops_pa)


def _drop_pa(solved: SolvedState, name: str) -> float:
    """Return the drop to an appliance in its worst combination [Pa]."""
    line, place = solved.state_on_line.line, solved.places[name]
    point_pa = place.point_pa
    for section in place.end.tail:
        point_pa = section.outlet_abs_pa(point_pa, place.end.flow_kg_s)
    return line.stage_gauge_pa[place.end.at] - (point_pa - line.job.atmospheric_pa)
