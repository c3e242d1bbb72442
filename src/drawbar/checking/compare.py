"""The pressure-drop formulas side by side on one job, so that one sees how far they part in small tubes."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.checking.check import check_job
from drawbar.checking.results import CheckResult
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
    drops_pa: dict[tuple[str, str], dict[str, float]] = {}
    for formula in FORMULAS:
        by_formula = result if formula == result.formula else check_job(job, formula)
        for state in by_formula.states:
            for appliance in state.appliances:
                drops_pa.setdefault((state.name, appliance.name), {})[formula] = appliance.drop_pa
    order = {state.name: number for number, state in enumerate(job.states)}
    return FormulaComparison(result, dict(sorted(drops_pa.items(), key=lambda item: order[item[0][0]])))
