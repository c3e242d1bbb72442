"""Sizing as a mixed-integer linear programme for a general solver (HiGHS, by scipy)."""

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.line.plugging import plans_of
from drawbar.line.state import StateOnLine


def least_cost(job: Job, cost) -> float | None:
    """Return the least cost of a job of fixed appliances, one stage, no rise, with a formula whose drop is linear."""
    return solve(model(job, cost))


def model(job: Job, cost):
    """Return (costs, constraints): one binary a run and pipe; the drops along each path within what is allowed."""
    flows = dict.fromkeys((run.name for run in job.runs), 0.0)
    parent = {run.name: run.start for run in job.runs}
    paths = {}
    for appliance in job.appliances:
        name, path = appliance.at, []
        while name in parent:
            path.append(name)
            flows[name] += appliance.flow_kg_s
            name = parent[name]
        paths[appliance.name] = path
    columns, costs, drops = {}, [], []
    # The line with every run's nth choice, from which each run's section is taken.
    most = max(len(run.pipes) for run in job.runs)
    lines = [Line(job, {run.name: run.pipes[min(nth, len(run.pipes) - 1)] for run in job.runs}) for nth in range(most)]
    for number, run in enumerate(job.runs):
        for nth, pipe in enumerate(run.pipes):
            columns[run.name, pipe.label] = len(costs)
            costs.append(cost(run, pipe))
            section = lines[nth].sections[number]
            drops.append(section.loss(flows[run.name]).linear_pa + section.devices_pa(flows[run.name]))
    one_pipe = lil_matrix((len(job.runs), len(costs)))
    for row, run in enumerate(job.runs):
        for pipe in run.pipes:
            one_pipe[row, columns[run.name, pipe.label]] = 1.0
    limit = lil_matrix((len(paths), len(costs)))
    for row, appliance in enumerate(job.appliances):
        allowed_pa = min(job.allowed_drop_pa, job.regulator.outlet_gauge_pa - appliance.min_gauge_pa)
        for run in job.runs:
            if run.name in paths[appliance.name]:
                for pipe in run.pipes:
                    column = columns[run.name, pipe.label]
                    limit[row, column] = drops[column] / allowed_pa
    constraints = [LinearConstraint(one_pipe.tocsr(), 1, 1), LinearConstraint(limit.tocsr(), -np.inf, 1.0)]
    return np.array(costs), constraints


def solve(model) -> float | None:
    """Return the least cost of a model, None if it has no solution."""
    costs, constraints = model
    solution = milp(
        costs,
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, 1),
        constraints=constraints,
        options={"mip_rel_gap": 1e-9},
    )
    return solution.fun if solution.status == 0 else None


def least_cost_of_ways(job: Job, cost) -> float | None:
    """Return the least cost of a job of one stage, no rise, and a linear formula, every combination a limit."""
    most = max(len(run.pipes) for run in job.runs)
    lines = [Line(job, {run.name: run.pipes[min(nth, len(run.pipes) - 1)] for run in job.runs}) for nth in range(most)]
    columns = {(number, nth): None for number, run in enumerate(job.runs) for nth in range(len(run.pipes))}
    columns = {key: place for place, key in enumerate(columns)}
    rows = set()
    for plan in plans_of(job):
        for way in StateOnLine(lines[0], plan).ways:
            flows = lines[0].flows([(end.at, end.flow_kg_s) for end in way])
            for end in way:
                factors = {}
                for number in lines[0].paths[end.at]:
                    for nth in range(len(job.runs[number].pipes)):
                        section = lines[nth].sections[number]
                        drop_pa = section.loss(flows[number]).linear_pa + section.devices_pa(flows[number])
                        if number == end.at and end.plugged is not None:
                            drop_pa += sum(
                                piece.loss(end.flow_kg_s).linear_pa + piece.devices_pa(end.flow_kg_s)
                                for piece in lines[nth].tail(end.plugged.outlet, end.plugged.hose)
                            )
                        factors[columns[number, nth]] = drop_pa
                allowed_pa = lines[0].source_abs_pa - end.floor_abs_pa
                rows.add(tuple((place, drop_pa / allowed_pa) for place, drop_pa in factors.items()))
    limit = lil_matrix((len(rows), len(columns)))
    for row, factors in enumerate(sorted(rows)):
        for place, share in factors:
            limit[row, place] = share
    one_pipe = lil_matrix((len(job.runs), len(columns)))
    for (number, _), place in columns.items():
        one_pipe[number, place] = 1.0
    costs = np.array([cost(job.runs[number], job.runs[number].pipes[nth]) for number, nth in columns])
    return solve((costs, [LinearConstraint(one_pipe.tocsr(), 1, 1), LinearConstraint(limit.tocsr(), -np.inf, 1.0)]))
