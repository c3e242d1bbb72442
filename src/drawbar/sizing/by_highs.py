"""The cheapest sizes by a solver of mixed-integer linear programmes (HiGHS), where our own search can't prove them.

It needs the extra `exact` (the package highspy). The programme has a binary for each run and choice, each run one, and
one limit an end that needs a pressure under each scenario: the drops on its way stay within what it may lose. The drops
are the least that a choice may take, so the programme never asks too much and its bound holds. What it gives is then
solved as a line: scenarios that it fails are taken in; where it fails one that was in already, as drops are a little
more than the least, that very choice is cut off with all that take no less on the way to the ends that fail.

References
----------
Huangfu and Hall, "Parallelizing the dual revised simplex method", Mathematical Programming Computation 10 (2018),
119-142.
"""

from __future__ import annotations

import importlib.util
import itertools
import operator
from typing import TYPE_CHECKING, Any, NamedTuple

from drawbar.checking.results import TOLERANCE_PA
from drawbar.sizing.lower_bound import INFINITE
from drawbar.sizing.stage import SAME_BORE, stage_trees

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from drawbar.line.network import Line
    from drawbar.sizing.choosing import Choosing
    from drawbar.sizing.lower_bound import StageTree
    from drawbar.sizing.stage import Option, Stage

BY_HIGHS = "HiGHS"
_MOST_ROUNDS = 60  # how often a choice may be solved as a line and be sent back
# Counted work, so that a job gives the same answer on every machine: the factors of the programme times the nodes of
# its search, in all rounds; the presolve and the first relaxation with its cuts cost as much as so many nodes.
_MOST_WORK, _MOST_NODES, _ROOT_NODES = 40_000_000, 20_000, 1_000
_SAME_COST = 1.0 - 1e-9  # times another, a cost is still the same
_SIZE = -1  # in place of a run's number, for the binary of a size
_OPTIONS = {
    "log_to_console": False,
    "output_flag": False,
    "threads": 1,
    "mip_rel_gap": 0.0,
    "mip_abs_gap": 0.0,
    "mip_feasibility_tolerance": 1e-9,
    "primal_feasibility_tolerance": 1e-9,
}


class SolverSizes(NamedTuple):
    """What the solver came to.

    Attributes
    ----------
    cost : float
        What the choice costs; INFINITE where it came to none that passes.
    picks : list of int
        By run, which of its choices.
    least : float
        A cost that no choice that passes goes below.
    """

    cost: float
    picks: list[int]
    least: float


class _Row(NamedTuple):
    """A limit of the programme: the sum of factors times binaries, between two values."""

    low: float
    high: float
    factors: dict[tuple[int, int], float]


class _Programme(NamedTuple):
    """Limits, and how many nodes the search for its answer may take."""

    rows: list[_Row]
    factor_count: int
    most_nodes: int


def has_highs() -> bool:
    """Tell whether the solver is there, without loading it."""
    return importlib.util.find_spec("highspy") is not None


def surely_begins(choosing: Choosing) -> bool:
    """Tell, with the solver or without, whether the programme of a job is surely small enough to be begun.

    Its factors are at most the choices of the runs on the way to every end, in its stage, under each scenario, and few
    others; where scenarios cover each other they are fewer.
    """
    runs, line = choosing.job.runs, choosing.lines[0]
    choices = [
        sum(len(runs[n].pipes) for n in path if line.stage_of(n) == line.stage_of(number))
        for number, path in enumerate(line.paths)
    ]
    factor_count = sum(
        choices[at] for scenario in choosing.scenarios for at in {number for number, *_ in scenario.ends}
    )
    return factor_count * _ROOT_NODES < _MOST_WORK


def settle(choosing: Choosing, known: SolverSizes) -> SolverSizes:
    """Carry on from sizes that are not proven, with the scenarios that were taken in.

    Parameters
    ----------
    choosing : Choosing
        The job, with its scenarios.
    known : SolverSizes
        Sizes that pass, of the cost INFINITE where there are none so far, and the bound on the cost.

    Returns
    -------
    SolverSizes
        The cheapest sizes where the bound reaches their cost, else the best that was come to.
    """
    watch, best = choosing.watch, known
    try:
        for best in _rounds(choosing, known):
            if watch is not None:
                watch.tell(best.cost, best.least)
    except KeyboardInterrupt:
        if watch is None:
            raise
        watch.is_stopped = True  # the sizes of the last round stand
    return best._replace(least=best.cost) if best.least >= best.cost * _SAME_COST else best


def _rounds(choosing: Choosing, known: SolverSizes) -> Iterator[SolverSizes]:
    """Yield the best sizes and the bound after each round of the solver."""
    best = known
    work_left = _MOST_WORK
    cuts: list[_Row] = []
    for _ in range(_MOST_ROUNDS):
        programme = _programme(itertools.chain(_rows(choosing), cuts), work_left)
        if programme is None:
            return
        solution, node_count = _solved(choosing, programme, best)
        work_left -= programme.factor_count * (_ROOT_NODES + node_count)
        best = best._replace(least=max(best.least, min(best.cost, solution.least)))
        yield best
        if best.least >= best.cost * _SAME_COST or not solution.picks:
            return
        line = choosing.line_of(solution.picks)
        if choosing.take_in_failing(line):
            continue
        more = list(_cuts(choosing, line, solution.picks))
        if not more:  # it passes, and the solver came to nothing cheaper
            if solution.cost < best.cost:
                yield best._replace(cost=solution.cost, picks=solution.picks)
            return
        cuts += more


def _programme(rows: Iterable[_Row], work_left: int) -> _Programme | None:
    """Return what is to be solved; None, without making all of it, where that is too much work."""
    kept: list[_Row] = []
    factor_count = 0
    for row in rows:
        kept.append(row)
        factor_count += len(row.factors)
        if factor_count * _ROOT_NODES >= work_left:
            return None
    return _Programme(kept, factor_count, min(_MOST_NODES, work_left // factor_count - _ROOT_NODES))


def _cuts(choosing: Choosing, line: Line, picks: Sequence[int]) -> Iterator[_Row]:
    """Yield for each end that fails on a line: on the way to it, one run at least takes less than its choice does."""
    every = [range(len(run.pipes)) for run in choosing.job.runs]
    for members, stage in choosing.stages(every):
        places = {number: node for node, number in enumerate(members)}
        for nth, scenario in enumerate(choosing.scenarios):
            outlets_pa = line.solve(scenario.flows)
            for number in members:
                need = stage.options[places[number]][picks[number]].needs_abs_pa[nth]
                if outlets_pa[number] >= need - TOLERANCE_PA:
                    continue
                way = [n for n in line.paths[number] if n in places]
                factors = {}
                for n in way:
                    options, flow_kg_s = stage.options[places[n]], scenario.flows[n]
                    now = _takes(options[picks[n]], flow_kg_s, nth if n == number else None)
                    for pick, option in enumerate(options):
                        takes = _takes(option, flow_kg_s, nth if n == number else None)
                        if all(map(operator.ge, takes, now)):
                            factors[n, pick] = 1.0
                yield _Row(-INFINITE, len(way) - 1.0, factors)


def _takes(option: Option, flow_kg_s: float, scenario: int | None) -> tuple[float, ...]:
    """Return the figures by which an option takes no less than another: of its pipe, and what the end behind needs."""
    loss = option.section.loss(flow_kg_s)
    need = option.needs_abs_pa[scenario] if scenario is not None else 0.0
    return loss.linear_pa, loss.square_pa2, loss.flux_pa2, need


def _rows(choosing: Choosing) -> Iterator[_Row]:
    """Yield the limits: one choice a run, drops within what is allowed, and what was asked of sizes."""
    every = [range(len(run.pipes)) for run in choosing.job.runs]
    for number, options in enumerate(every):
        yield _Row(1.0, 1.0, {(number, pick): 1.0 for pick in options})
    for members, stage in choosing.stages(every):
        for node, parent in enumerate(stage.parents):
            if parent >= 0 and stage.no_increase:
                yield from _feeder_rows(stage, members, node, parent)
        for nth, tree in enumerate(stage_trees(stage)):
            for node, drops_pa in enumerate(tree.drops_pa):
                choked = {(members[node], pick): 1.0 for pick, drop_pa in enumerate(drops_pa) if drop_pa == INFINITE}
                if choked:
                    yield _Row(0.0, 0.0, choked)
                if tree.needs_pa[node] > 0.0:
                    yield _limit(stage, members, tree, node, nth)
    if choosing.most_sizes is not None:
        yield from _size_rows(choosing, choosing.most_sizes)


def _limit(stage: Stage, members: Sequence[int], tree: StageTree, end: int, nth: int) -> _Row:
    """Return the limit on the drops on the way to an end, as shares of what they may be with its least need."""
    allowed_pa = max(tree.source_pa - tree.needs_pa[end], 1.0)
    factors = {}
    node = end
    while node >= 0:
        for pick, drop_pa in enumerate(tree.drops_pa[node]):
            if drop_pa < INFINITE:
                more = stage.options[end][pick].needs_abs_pa[nth] - tree.needs_pa[end] if node == end else 0.0
                factors[members[node], pick] = (drop_pa + more) / allowed_pa
        node = tree.parents[node]
    return _Row(-INFINITE, (tree.source_pa - tree.needs_pa[end]) / allowed_pa, factors)


def _feeder_rows(stage: Stage, members: Sequence[int], node: int, parent: int) -> Iterator[_Row]:
    """Yield the limits that keep a run no larger than the one that feeds it: by bore, the larger of both add up."""
    for bore_m in sorted({option.feeder_bore_m for option in stage.options[node]} - {0.0}):
        factors = {
            (members[node], pick): 1.0
            for pick, option in enumerate(stage.options[node])
            if option.feeder_bore_m >= bore_m
        }
        factors |= {
            (members[parent], pick): -1.0
            for pick, option in enumerate(stage.options[parent])
            if option.bore_m * SAME_BORE >= bore_m
        }
        yield _Row(-INFINITE, 0.0, factors)


def _size_rows(choosing: Choosing, most: int) -> Iterator[_Row]:
    """Yield the limits that keep to so many different sizes; a size that is taken has a binary of its own."""
    labels = sorted({pipe.label for run in choosing.job.runs for pipe in run.pipes})
    yield _Row(-INFINITE, most, {(_SIZE, place): 1.0 for place in range(len(labels))})
    for number, run in enumerate(choosing.job.runs):
        for place, label in enumerate(labels):
            picks = {(number, pick): 1.0 for pick, pipe in enumerate(run.pipes) if pipe.label == label}
            if picks:
                yield _Row(-INFINITE, 0.0, picks | {(_SIZE, place): -1.0})


def _solved(choosing: Choosing, programme: _Programme, start: SolverSizes) -> tuple[SolverSizes, int]:
    """Return what the solver makes of a programme, from the best sizes so far as its start, and in how many nodes."""
    import highspy

    # Highs sets up callbacks, which greets on standard output before it can be told not to; its base does not.
    solver: Any = highspy.Highs.__mro__[1]()
    for name, value in _OPTIONS.items():
        solver.setOptionValue(name, value)
    solver.setOptionValue("mip_max_nodes", programme.most_nodes)
    columns = {
        key: place for place, key in enumerate(dict.fromkeys(key for row in programme.rows for key in row.factors))
    }
    for number, pick in columns:
        solver.addCol(0.0 if number == _SIZE else choosing.costs[number][pick], 0.0, 1.0, 0, [], [])
    for column in columns.values():
        solver.changeColIntegrality(column, highspy.HighsVarType.kInteger)
    for row in programme.rows:
        places = [columns[key] for key in row.factors]
        solver.addRow(row.low, row.high, len(places), places, list(row.factors.values()))
    if start.picks:
        values = highspy.HighsSolution()
        taken = {choosing.job.runs[number].pipes[pick].label for number, pick in enumerate(start.picks)}
        labels = sorted({pipe.label for run in choosing.job.runs for pipe in run.pipes})
        values.col_value = [
            float(labels[pick] in taken if number == _SIZE else start.picks[number] == pick) for number, pick in columns
        ]
        solver.setSolution(values)
    solver.run()
    node_count = max(0, solver.getInfo().mip_node_count)
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return SolverSizes(INFINITE, [], INFINITE), node_count
    least = max(0.0, solver.getInfo().mip_dual_bound)
    if solver.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return SolverSizes(INFINITE, [], least), node_count
    picks = [0] * len(choosing.job.runs)
    for (number, pick), value in zip(columns, solver.getSolution().col_value, strict=True):
        if number != _SIZE and value > 0.5:  # noqa: PLR2004 - a binary, but for rounding
            picks[number] = pick
    cost = sum(costs[pick] for costs, pick in zip(choosing.costs, picks, strict=True))
    return SolverSizes(cost, picks, least), node_count
