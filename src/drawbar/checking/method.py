"""What is outside the method or was left out of the check: reasons that leave a verdict open, and liquid in the line.

The codes and details of the reasons stand in `drawbar.checking.judge`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.corner import net_factor, worst_corner
from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.line.section import code_method
from drawbar.line.state import states_again
from drawbar.line.worst_way import SolvedState
from drawbar.physics.formulas import FORMULAS
from drawbar.verdict import Reason, Verdict

_MOST_OUTSIDE = 3  # sections outside a formula's range that are named
_DEW_KNOWN = 0.98  # how closely a dew pressure is known: 1 % for a pure gas, 2 % by Raoult's law
_STEP_K = 0.1  # how closely the temperature is looked for from which the gas does not condense
_FAIL, _OPEN = Verdict.FAIL, Verdict.UNDECIDED


def about_states(job: Job) -> Iterator[Reason]:
    """Yield each appliance that no state has on, or none in full unless that is meant."""
    most: dict[str, tuple[float, str]] = {}
    for state in job.states:
        for name, share in state.shares:
            most[name] = max(most.get(name, (0.0, "")), (share, state.name))
    for appliance in job.appliances:
        share, name = most.get(appliance.name, (0.0, ""))
        if share <= 0.0:
            yield Reason("not-on", _OPEN, appliance.name, {})
        elif share < 1.0 and not appliance.never_full:
            yield Reason("not-full", _OPEN, appliance.name, {"share": share, "state": name})


def about_gas(job: Job) -> Iterator[Reason]:
    """Yield where the gas would be a liquid in the line, or its data do not reach."""
    low_k, high_k = job.gas.temperature_range_k
    cold_k, warm_k = job.site_range.temperature_k if job.site_range is not None else (job.temperature_k,) * 2
    for temperature_k in (cold_k, warm_k):
        if not low_k <= temperature_k <= high_k:
            yield Reason("gas-data", _OPEN, "", {"temperature_k": temperature_k, "low_k": low_k, "high_k": high_k})
            return
    gases = job.site_range.gases if job.site_range is not None else (job.gas,)
    highest_pa = job.regulator.outlet_gauge_pa + job.atmospheric_pa
    for verdict, temperature_k, looked_at, known in (
        (_FAIL, job.temperature_k, (job.gas,), 1.0),
        (_OPEN, cold_k, gases, _DEW_KNOWN),
    ):
        dew_pa = known * min(gas.dew_pressure_pa(temperature_k) for gas in looked_at)
        if highest_pa < dew_pa:
            continue
        works_from_k = temperature_k
        while works_from_k < high_k and min(gas.dew_pressure_pa(works_from_k) for gas in looked_at) <= highest_pa:
            works_from_k = min(works_from_k + _STEP_K, high_k)
        details: dict[str, float | str] = {
            "temperature_k": temperature_k,
            "condenses_gauge_pa": dew_pa - job.atmospheric_pa,
            "gauge_pa": job.regulator.outlet_gauge_pa,
            "works_from_k": works_from_k,
        }
        yield Reason("condenses", verdict, "", details)
        return


def about_formula(job: Job, formula: str, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    """Yield where a formula is used outside its range and Darcy's, which has no limit here, does not pass too."""
    outside = outside_formula(formula, drawn)
    if not outside:
        return
    line = Line(worst_corner(job), formula="darcy")
    if min(on_line.worst()[0] for on_line in states_again([s.state_on_line for s in drawn], line)) >= -TOLERANCE_PA:
        return
    for name, what in list(outside.items())[:_MOST_OUTSIDE]:
        yield Reason("outside-formula", _OPEN, name, {"formula": formula, "what": what})


def about_code(job: Job, formula: str, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    """Yield where the gas is not the one that the job's rule is for, or the rule's own method does not pass too."""
    rule = job.rule
    if rule is None or rule.method is None:
        return
    if code_method(job, rule.method.formula) is None:
        yield Reason("rule-gas", _OPEN, "", {"rule": rule.name, "gas": rule.method.gas})
    elif formula != rule.method.formula:
        corner = worst_corner(job)
        for verdict, asked in ((_FAIL, job), (_OPEN, corner)) if corner is not job else ((_FAIL, job),):
            line = Line(asked, formula=rule.method.formula)
            again = states_again([s.state_on_line for s in drawn], line)
            margin_pa, name = min(on_line.worst() for on_line in again)
            is_bound = any(on_line.ways is None for on_line in again)
            if margin_pa < -TOLERANCE_PA:
                details: dict[str, float | str] = {
                    "formula": rule.method.formula,
                    "rule": rule.name,
                    "margin_pa": margin_pa,
                }
                yield Reason("code-formula", _OPEN if is_bound else verdict, name, details)
                return


def about_basis(job: Job) -> Iterator[Reason]:
    """Yield each appliance whose input may be gross or net."""
    for appliance in job.appliances:
        if not appliance.basis_known:
            details: dict[str, float | str] = {
                "gross_w": appliance.input_w,
                "net_w": appliance.input_w * net_factor(job),
            }
            yield Reason("basis", _OPEN, appliance.name, details)


def outside_formula(formula: str, drawn: Sequence[SolvedState]) -> dict[str, str]:
    """Return what is outside a formula's range in each run, outlet or hose; Darcy's is for all flow in such a line.

    Parameters
    ----------
    formula : str
        A name of FORMULAS.
    drawn : sequence of SolvedState
        Every state, solved with it.

    Returns
    -------
    dict of str to str
        By name of the run, outlet or hose, what is outside; empty where nothing is.
    """
    outside: dict[str, str] = {}
    if formula == "darcy":
        return outside
    for solved in drawn:
        line = solved.state_on_line.line
        flows = list(zip(line.sections, solved.flows, strict=True))
        flows.extend((section, place.end.flow_kg_s) for place in solved.places.values() for section in place.end.tail)
        for section, flow_kg_s in flows:
            if section.length_m + section.fittings_m > 0.0:  # a bayonet has no pipe
                what = FORMULAS[formula].outside(section.pipe_flow(flow_kg_s))
                if what is not None:
                    outside.setdefault(section.name, what)
    return outside
