"""Sizing as a mixed-integer linear programme for a general solver (HiGHS, by scipy): a second route to the least cost."""

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

from drawbar.job import Job
from drawbar.network import Line


def least_cost(job: Job, cost) -> float | None:  # noqa: ANN001 - a function of run and pipe
    """Return the least cost of a job of fixed appliances, one stage, no rise, with a formula whose drop is linear in pressure.

    One binary a run and pipe; for each appliance, the drops along its path stay within the allowed drop.
    """
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
    for run in job.runs:
        for pipe in run.pipes:
            columns[run.name, pipe.label] = len(costs)
            costs.append(cost(run, pipe))
            part = Line(job, {run.name: pipe}).parts[[one.name for one in job.runs].index(run.name)]
            drops.append(part.loss(flows[run.name]).linear_pa)
    one_pipe = lil_matrix((len(job.runs), len(costs)))
    for row, run in enumerate(job.runs):
        for pipe in run.pipes:
            one_pipe[row, columns[run.name, pipe.label]] = 1.0
    limit = lil_matrix((len(paths), len(costs)))
    for row, path in enumerate(paths.values()):
        for run in job.runs:
            if run.name in path:
                for pipe in run.pipes:
                    limit[row, columns[run.name, pipe.label]] = drops[columns[run.name, pipe.label]] / job.allowed_drop_pa
    found = milp(
        np.array(costs),
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(one_pipe.tocsr(), 1, 1), LinearConstraint(limit.tocsr(), -np.inf, 1.0)],
        options={"mip_rel_gap": 1e-9},
    )
    return found.fun if found.status == 0 else None
