"""The pipe sizes of a job, among those it allows, that pass in every state and way of plugging at the least cost."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from drawbar.checking.check import check
from drawbar.checking.results import TOLERANCE_PA, CheckResult
from drawbar.job import Job, Pipe, Run
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged, plans_of
from drawbar.line.state import End, StateOnLine, asked_of
from drawbar.line.worst_way import bound_places
from drawbar.physics.air import GRAVITY
from drawbar.sizing.pareto import Found, Option, Stage, Work, cheapest

Cost = Callable[[Run, Pipe], float]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the sizes must keep to besides the pressure.

    no_increase : no run larger than the one that feeds it (a second-stage regulator starts afresh)
    most_sizes : how many different sizes there may be, None for any number
    reserve : how much more than its input every appliance is taken to draw [-]
    """

    no_increase: bool = False
    most_sizes: int | None = None
    reserve: float = 0.0


@dataclass(frozen=True, slots=True)
class SizeResult:
    """What sizing found.

    sized : the job with one pipe a run: the cheapest, or the largest choice where nothing passes
    check : the sized job checked, with the reserve on its loads if one was wished for
    cost : of the pipes and fittings, in the unit of the cost that was asked for; None where nothing passes
    least_cost : a cost that no choice that passes goes below: the cost itself where that is proven the least
    """

    job: Job
    wishes: Wishes
    sized: Job
    check: CheckResult
    cost: float | None
    least_cost: float | None = None

    @property
    def is_proven(self) -> bool:
        """Tell whether no other choice that passes costs less, as all but very crowded jobs allow to prove."""
        return self.cost is not None and self.least_cost is not None and self.least_cost >= self.cost * (1.0 - 1e-9)

    @property
    def passes(self) -> bool:
        """Tell whether sizes were found."""
        return self.cost is not None


class Cheapest(NamedTuple):
    """The cheapest sizes: what they cost, the pipe of each run, and a cost that no choice that passes goes below."""

    cost: float
    pipes: dict[str, Pipe]
    least: float


def mass_cost(job: Job) -> tuple[Cost, str]:
    """Return the cost by which pipes compare where there are no prices, and its unit.

    That is the mass of the pipe [kg]; or, where any pipe's mass is not known, length times bore [m mm] for all.
    """
    if all(pipe.mass_kg_m is not None for run in job.runs for pipe in run.pipes):
        return lambda run, pipe: run.length_m * (pipe.mass_kg_m or 0.0), "kg of pipe"
    return lambda run, pipe: run.length_m * pipe.bore_m * 1000.0, "m mm (length x bore, as a pipe's mass is not known)"


def cheapest_sizes(job: Job, cost: Cost, wishes: Wishes = Wishes()) -> Cheapest | None:
    """Return the cheapest sizes that pass, None if none do.

    The least cost is exact, whatever the cost of a run's pipe may be. Every scenario of flows - a state in one way of
    plugging - limits the choice. Most never matter, so the search starts with the worst few, and takes in the worst
    that its answer fails until it fails none.
    """
    return _Sizing(_with_reserve(job, wishes.reserve), cost, wishes).solve()


def size(job: Job, cost: Cost | None = None, wishes: Wishes = Wishes()) -> SizeResult:
    """Return the cheapest sizes that pass, as cheapest_sizes finds them, and the job so sized checked."""
    found = cheapest_sizes(job, cost or mass_cost(job)[0], wishes)
    loaded = _with_reserve(job, wishes.reserve)
    if found is None:
        largest = largest_pipes(job)
        return SizeResult(job, wishes, with_pipes(job, largest), check(with_pipes(loaded, largest)), None)
    sized = with_pipes(job, found.pipes)
    return SizeResult(job, wishes, sized, check(with_pipes(loaded, found.pipes)), found.cost, found.least)


def with_pipes(job: Job, pipes: Mapping[str, Pipe]) -> Job:
    """Return the job with one pipe for each run that is named."""
    return replace(
        job, runs=tuple(replace(run, pipes=(pipes[run.name],)) if run.name in pipes else run for run in job.runs)
    )


def largest_pipes(job: Job) -> dict[str, Pipe]:
    """Return the largest of each run's choices, the smoothest of several."""
    return {run.name: max(run.pipes, key=lambda pipe: (pipe.bore_m, -pipe.roughness_m)) for run in job.runs}


class Short(NamedTuple):
    """How a job stands with one run a size smaller: whether it passes, and the margin [Pa] that shows it, and whose."""

    passes: bool
    margin_pa: float
    state: str
    name: str


def next_smaller(job: Job, result: SizeResult) -> Iterator[tuple[Run, Pipe, Short]]:
    """Yield (run, its next smaller choice, how the job stands with that one change) for every run that has one.

    The ways of plugging that are the worst for the sizes chosen are tried first. If one fails, that is enough: the
    shortfall is then at least so much.
    """
    sized, plans = result.check.job, {plan.state.name: plan for plan in plans_of(result.check.job)}
    for run, now in zip(job.runs, result.sized.runs, strict=True):
        smaller = [pipe for pipe in run.pipes if pipe.bore_m < now.pipes[0].bore_m]
        if smaller:
            pipe = max(smaller, key=lambda one: one.bore_m)
            line = Line(sized, {run.name: pipe})
            states = [(StateOnLine(line, plans[state.name]), state) for state in result.check.states]
            found = min((*on.least_of([on.way_of(state.plugged)]), state.name) for on, state in states)
            if found[0] >= -TOLERANCE_PA:
                found = min((*on.worst(), state.name) for on, state in states)
            margin_pa, name, state_name = found
            yield run, pipe, Short(margin_pa >= -TOLERANCE_PA, margin_pa, state_name, name)


def _with_reserve(job: Job, reserve: float) -> Job:
    """Return the job with every appliance drawing so much more."""
    if not reserve:
        return job
    more = 1.0 + reserve
    appliances = tuple(
        replace(one, input_w=one.input_w * more, flow_kg_s=one.flow_kg_s * more) for one in job.appliances
    )
    return replace(job, appliances=appliances)


@dataclass(frozen=True, slots=True)
class _Scenario:
    """One set of flows that the sizes must pass, with what hangs where.

    flows : by run [kg/s]; ends : (number of the run, appliance's flow [kg/s], floor [Pa absolute], place if it is
    plugged in)
    """

    flows: tuple[float, ...]
    ends: tuple[tuple[int, float, float, Plugged | None], ...]


class _Sizing:
    def __init__(self, job: Job, cost: Cost, wishes: Wishes) -> None:
        self.job = job
        self.wishes = wishes
        self.plans = plans_of(job)
        most = max(len(run.pipes) for run in job.runs)
        # The line with every run's nth choice: each holds the parts, and the outlets behind them, for that choice.
        self.lines = [
            Line(job, {run.name: run.pipes[min(number, len(run.pipes) - 1)] for run in job.runs})
            for number in range(most)
        ]
        self.costs = [[cost(run, pipe) for pipe in run.pipes] for run in job.runs]
        self.scenarios: dict[_Scenario, None] = {}
        self.work = Work()

    def solve(self) -> Cheapest | None:
        """Return the cheapest sizes, None if nothing passes."""
        worst = (min(_worst(StateOnLine(self.lines[-1], plan)), key=_margin) for plan in self.plans)
        self.scenarios[min(worst, key=_margin)[1]] = None
        while True:
            found = self._best_for_scenarios()
            if found is None:
                return self._largest() if self.work.left < 0 else None
            pipes = {run.name: run.pipes[pick] for run, pick in zip(self.job.runs, found.picks, strict=True)}
            if not self._take_in_failing(Line(self.job, pipes)):
                return Cheapest(found.cost, pipes, found.least)

    def _largest(self) -> Cheapest | None:
        """Return the largest choice everywhere if it passes: what is left where the search found nothing in time."""
        pipes = largest_pipes(self.job)
        line = Line(self.job, pipes)
        passes = min(min(_worst(StateOnLine(line, plan)), key=_margin)[0] for plan in self.plans) >= -TOLERANCE_PA
        if not passes or self.wishes.most_sizes is not None or self.wishes.no_increase:
            return None
        cost = sum(
            costs[run.pipes.index(pipes[run.name])] for run, costs in zip(self.job.runs, self.costs, strict=True)
        )
        return Cheapest(cost, pipes, 0.0)

    def _take_in_failing(self, line: Line) -> bool:
        """Take in the worst scenario of each state that fails on a line; tell whether any was new."""
        before = len(self.scenarios)
        for plan in self.plans:
            least_pa, scenario = min(_worst(StateOnLine(line, plan)), key=_margin)
            if least_pa < -TOLERANCE_PA:
                self.scenarios[scenario] = None
        return len(self.scenarios) > before

    def _best_for_scenarios(self) -> Found | None:
        """Return the cheapest choice under the scenarios taken in so far."""
        if self.wishes.most_sizes is None:
            return self._best([range(len(run.pipes)) for run in self.job.runs], float("inf"))
        labels = sorted({pipe.label for run in self.job.runs for pipe in run.pipes})
        best: Found | None = None
        least = float("inf")
        for allowed in itertools.combinations(labels, min(self.wishes.most_sizes, len(labels))):
            within = [[n for n, pipe in enumerate(run.pipes) if pipe.label in allowed] for run in self.job.runs]
            found = self._best(within, best.cost if best else float("inf")) if all(within) else None
            if found is not None:
                best, least = found, min(least, found.least)
        if best is None:
            return None
        if self.work.left < 0:
            # Some set of sizes was not searched to the end. No set can go below what all sizes together can't.
            free = self._best([range(len(run.pipes)) for run in self.job.runs], float("inf"))
            least = min(least, free.least if free is not None else 0.0)
        return best._replace(least=min(best.cost, least))

    def _best(self, within: Sequence[Sequence[int]], upper: float) -> Found | None:
        """Return the cheapest choice among some of each run's options that costs less than `upper`, stage by stage."""
        picks = [0] * len(self.job.runs)
        cost = least = 0.0
        for head in (-1, *self.lines[0].stages):
            members = [n for n in range(len(self.job.runs)) if self.lines[0].stage_of(n) == head]
            if not members:
                continue
            found = cheapest(self._stage(head, members, within), upper - cost, self.work)
            if found is None:
                return None
            cost += found.cost
            least += found.least
            for number, pick in zip(members, found.picks, strict=True):
                picks[number] = within[number][pick]
        return Found(cost, picks, least)

    def _stage(self, head: int, members: Sequence[int], within: Sequence[Sequence[int]]) -> Stage:
        job, line = self.job, self.lines[0]
        place = {number: at for at, number in enumerate(members)}
        parents = [place.get(line.parents[number], -1) if number != head else -1 for number in members]
        source_pa = line.stage_gauge_pa[members[0]] + job.atmospheric_pa
        options = [
            [
                Option(
                    self.lines[pick].sections[number], self.costs[number][pick], self._needs(number, self.lines[pick])
                )
                for pick in within[number]
            ]
            for number in members
        ]
        flows = [[scenario.flows[number] for scenario in self.scenarios] for number in members]
        # Downhill the pressure may rise above the regulator's, by the gas's own weight at most.
        downhill_m = sum(max(0.0, -job.runs[number].rise_m) for number in members)
        gain_pa = 1.1 * downhill_m * GRAVITY * job.vapour.density_kg_m3(source_pa)
        needs = [need for each in options for option in each for need in option.needs_abs_pa if need > 0.0]
        lowest_pa = min([source_pa, *needs]) - gain_pa
        return Stage(parents, options, flows, source_pa, source_pa + gain_pa, lowest_pa, self.wishes.no_increase)

    def _needs(self, number: int, line: Line) -> tuple[float, ...]:
        """Return the pressure that a run's end must have under each scenario [Pa absolute], by a line's choices."""
        job = self.job
        stages = [n for n in line.stages if line.parents[n] == number]
        regulators = [run.regulator for run in (job.runs[n] for n in stages) if run.regulator is not None]
        inlet_pa = max((one.inlet_min_gauge_pa + job.atmospheric_pa for one in regulators), default=0.0)
        needs = []
        for scenario in self.scenarios:
            need = inlet_pa
            for at, flow_kg_s, floor_pa, plugged in scenario.ends:
                if at == number:
                    tail = line.tail(plugged.outlet, plugged.hose) if plugged else ()
                    need = max(need, asked_of(tail, flow_kg_s, floor_pa))
            needs.append(need)
        return tuple(needs)


def _worst(on: StateOnLine) -> Iterator[tuple[float, _Scenario]]:
    """Yield (least margin [Pa], scenario): the worst way of plugging, or each appliance's worst place by the bound."""
    if on.ways is not None:
        worst = on.worst_of(on.ways)
        yield worst.margin_pa, _Scenario(tuple(worst.flows), tuple(map(_end, worst.way)))
        return
    count = len(on.line.sections)
    for end, _, margin_pa, _ in bound_places(on).values():
        path = set(on.line.paths[end.at])
        yield (
            margin_pa,
            _Scenario(tuple(on.bound_flow_kg_s(n, end) if n in path else 0.0 for n in range(count)), (_end(end),)),
        )
    margins = on.bound_inlet_margins()
    if margins:
        yield min(margins.values()), _Scenario(tuple(on.bound_flow_kg_s(n, None) for n in range(count)), ())


def _margin(found: tuple[float, _Scenario]) -> float:
    return found[0]


def _end(end: End) -> tuple[int, float, float, Plugged | None]:
    return end.at, end.flow_kg_s, end.floor_abs_pa, end.plugged
