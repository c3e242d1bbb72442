"""Whether a line keeps to its rule and its regulators to their ratings: reasons of the verdict beside the pressures.

The codes and details of the reasons stand in `drawbar.checking.judge`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.checking.corner import highest_static_gauge_pa
from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import ROOT, Job, Regulator
from drawbar.line.network import Line
from drawbar.line.worst_way import SolvedState
from drawbar.verdict import Reason, Verdict

NOMINAL_SHARE = 0.1
"""How far from the rule's nominal pressure a regulator may be set and still be set to it [-]: our own choice."""

_SAME = 1.0001  # a load this much above a rating is still at it
_FAIL, _OPEN = Verdict.FAIL, Verdict.UNDECIDED


def about_greatest_pressures(job: Job) -> Iterator[Reason]:
    """Yield where an appliance can get more than its greatest pressure, with next to nothing flowing."""
    outlets = {outlet.name: outlet for outlet in job.outlets}
    for appliance in job.appliances:
        most_pa = appliance.max_gauge_pa
        if most_pa is None:
            continue
        places = [appliance.at] if appliance.at is not None else [outlets[name].at for name in appliance.plugs_into]
        drawn_job = job._replace(site_range=None)
        fails_pa = max(_drawn_static_pa(drawn_job, at) for at in places if at is not None)
        worst_pa = max(highest_static_gauge_pa(job, at) for at in places if at is not None)
        if job.tolerances is None:
            worst_pa = fails_pa
        if worst_pa > most_pa + TOLERANCE_PA:
            is_fail = fails_pa > most_pa + TOLERANCE_PA
            details = {"gauge_pa": fails_pa if is_fail else worst_pa, "max_gauge_pa": most_pa}
            yield Reason("greatest-pressure", _FAIL if is_fail else _OPEN, appliance.name, details)


def _drawn_static_pa(job: Job, at: str) -> float:
    def exact(regulator: Regulator) -> Regulator:
        return regulator._replace(accuracy=0.0, lock_up_gauge_pa=None)  # a lock-up is the most that it may be

    runs = tuple(run._replace(regulator=exact(run.regulator)) if run.regulator is not None else run for run in job.runs)
    return highest_static_gauge_pa(job._replace(regulator=exact(job.regulator), runs=runs), at)


def about_ratings(job: Job, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    """Yield where a regulator passes more than it is rated for, or its rating is not known."""
    regulators = [(ROOT, job.regulator, -1)]
    regulators.extend((job.runs[n].name, run, n) for n in drawn[0].state_on_line.line.stages if (run := _stage(job, n)))
    gross_j_kg = job.gas.gross_j_kg
    for name, regulator, number in regulators:
        loads = [
            (solved.most_kg_s if number < 0 else solved.loads_kg_s[number], solved.state_on_line.plan.state.name)
            for solved in drawn
        ]
        most_kg_s, state = max(loads)
        # What a bound over the ways counts may be more than any way burns.
        is_sure = all(solved.worst is not None for solved in drawn)
        reason = rating_reason(job, name, regulator, state, most_kg_s * gross_j_kg, is_sure=is_sure)
        if reason is not None:
            yield reason


def rating_reason(  # noqa: PLR0913 - a regulator and what passes it
    job: Job, name: str, regulator: Regulator, state: str, load_w: float, *, is_sure: bool
) -> Reason | None:
    """Return why it is not sure that a regulator passes a load; None where it does.

    Parameters
    ----------
    job : Job
        As drawn.
    name : str
        The regulator's: ROOT, or that of the run at whose start it is.
    regulator : Regulator
        With its rating, if it has one.
    state : str
        The state of which the load is.
    load_w : float
        What it must pass, as drawn [W].
    is_sure : bool
        Whether so much is surely burnt, and not a bound.

    Returns
    -------
    Reason or None
    """
    more = 1.0 + (job.tolerances.input if job.tolerances is not None else 0.0)
    capacity_w = regulator.capacity_w
    details: dict[str, float | str] = {"state": state, "load_w": load_w, "capacity_w": capacity_w or 0.0}
    if capacity_w is not None and load_w > (regulator.most_w or capacity_w) * _SAME:
        details["capacity_w"] = regulator.most_w or capacity_w
        return Reason("regulator-rating", _FAIL if is_sure else _OPEN, name, details)
    if capacity_w is None or load_w * more > capacity_w * _SAME:
        details["load_w"] = load_w * more
        if regulator.most_w is not None:
            details |= {"most_w": regulator.most_w, "number": regulator.number}
        return Reason("regulator-rating", _OPEN, name, details)
    return None


def _stage(job: Job, number: int) -> Regulator | None:
    return job.runs[number].regulator


def nominal_pa(job: Job) -> float | None:
    """Return the nominal pressure of a job's rule for what most of its gas is.

    Parameters
    ----------
    job : Job
        With a rule or without.

    Returns
    -------
    float or None
        Nominal pressure [Pa gauge]; None where the job has no rule, or the rule none for its gas.
    """
    if job.rule is None:
        return None
    by_gas = dict(job.rule.nominal_gauge_pa)
    main_gas = max(job.gas.fractions, key=lambda pair: pair[1])[0].name
    return by_gas.get(main_gas, by_gas.get(""))


def about_set_pressures(job: Job, line: Line) -> Iterator[Reason]:
    """Yield where appliances hang on a pressure that the rule's limit is not for."""
    rule = job.rule
    if rule is None or job.has_own_limit:
        return
    expected_pa = nominal_pa(job)
    ends = {line.index[at] for at in (*(o.at for o in job.outlets), *(a.at for a in job.appliances)) if at}
    for head in sorted({line.stage_of(number) for number in ends}):  # the stages that appliances hang on
        regulator = (_stage(job, head) if head >= 0 else None) or job.regulator
        gauge_pa = regulator.outlet_gauge_pa
        if expected_pa is not None and abs(gauge_pa - expected_pa) <= NOMINAL_SHARE * expected_pa:
            continue
        details: dict[str, float | str] = {
            "gauge_pa": gauge_pa,
            "nominal_gauge_pa": expected_pa or 0.0,
            "rule": rule.name,
        }
        yield Reason("set-pressure", _OPEN, job.runs[head].name if head >= 0 else ROOT, details)


def about_limits(job: Job) -> Iterator[Reason]:
    """Yield where the job allows a larger drop than its rule at the pressure that the rule is for."""
    rule, expected_pa = job.rule, nominal_pa(job)
    if rule is None or rule.drop_pa is None or expected_pa is None or job.allowed_drop_pa <= rule.drop_pa * _SAME:
        return
    if abs(job.regulator.outlet_gauge_pa - expected_pa) <= NOMINAL_SHARE * expected_pa:
        details: dict[str, float | str] = {
            "allowed_drop_pa": job.allowed_drop_pa,
            "rule_drop_pa": rule.drop_pa,
            "rule": rule.name,
        }
        yield Reason("limit-over-rule", _OPEN, "", details)
