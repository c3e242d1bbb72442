"""The pipe sizes of a job, among those it allows, that pass in every state and way of plugging at the least cost."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from drawbar.checking.check import check_job
from drawbar.checking.results import TOLERANCE_PA, CheckResult
from drawbar.job import Job, Pipe, Run
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged, plans_of
from drawbar.line.state import End, StateOnLine, asked_of
from drawbar.line.worst_way import bound_places
from drawbar.physics.air import GRAVITY
from drawbar.sizing.pareto import StageSizes, Work, cheapest
from drawbar.sizing.stage import Option, Stage

Cost = Callable[[Run, Pipe], float]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the sizes must keep to besides the pressure.

    Attributes
    ----------
    no_increase : bool
        No run larger than the one that feeds it (a second-stage regulator starts afresh).
    most_sizes : int or None
        How many different sizes there may be, None for any number.
    reserve : float
        How much more than its input every appliance is taken to draw [-].
    """

    no_increase: bool = False
    most_sizes: int | None = None
    reserve: float = 0.0


@dataclass(frozen=True, slots=True)
class SizeResult:
    """The sizes that were chosen for a job.

    Attributes
    ----------
    job : Job
        The job as it was read.
    wishes : Wishes
        What the sizes had to keep to besides the pressure.
    sized : Job
        The job with one pipe a run: the cheapest, or the largest choice where nothing passes.
    check : CheckResult
        The sized job checked, with the reserve on its loads if one was wished for.
    cost : float or None
        Of the pipes and fittings, in the unit of the cost that was asked for; None where nothing passes.
    least_cost : float or None
        A cost that no choice that passes goes below: the cost itself where that is proven the least.
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
        """Tell whether there are sizes that pass."""
        return self.cost is not None

    @property
    def chosen_labels(self) -> dict[str, str]:
        """The size as `family/size` of each run that left it open, by the run's name."""
        decided = zip(self.job.runs, self.sized.runs, strict=True)
        return {run.name: sized.pipes[0].label for run, sized in decided if len(run.pipes) > 1}


class CheapestSizes(NamedTuple):
    """The cheapest sizes.

    Attributes
    ----------
    cost : float
        What they cost.
    pipes : dict of str to Pipe
        The pipe of each run.
    least : float
        A cost that no choice that passes goes below.
    """

    cost: float
    pipes: dict[str, Pipe]
    least: float


def mass_cost(job: Job) -> tuple[Cost, str]:
    """Return the cost by which pipes compare where there are no prices, and its unit.

    That is the mass of the pipe [kg]; or, where any pipe's mass is not known, length times bore [m mm] for all.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.

    Returns
    -------
    cost : Cost
        What a run costs in a pipe.
    unit : str
        Its unit in words.
    """
    if all(pipe.mass_kg_m is not None for run in job.runs for pipe in run.pipes):
        return lambda run, pipe: run.length_m * (pipe.mass_kg_m or 0.0), "kg of pipe"
    return lambda run, pipe: run.length_m * pipe.bore_m * 1000.0, "m mm (length x bore, as a pipe's mass is not known)"


def cheapest_sizes(job: Job, cost: Cost, wishes: Wishes = Wishes()) -> CheapestSizes | None:
    """Return the cheapest sizes that pass, None if none do.

    The least cost is exact, whatever the cost of a run's pipe may be. Every scenario of flows - a state in one way of
    plugging - limits the choice. Most never matter, so the search starts with the worst few, and takes in the worst
    that its answer fails until it fails none.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.
    cost : Cost
        What a run costs in a pipe.
    wishes : Wishes
        What the sizes must keep to besides the pressure.

    Returns
    -------
    CheapestSizes or None
        The pipe of each run, with the cost.
    """
    return _Sizing(_with_reserve(job, wishes.reserve), cost, wishes).solve()


def size(job: Job, cost: Cost | None = None, wishes: Wishes = Wishes()) -> SizeResult:
    """Choose the cheapest sizes that pass, and check the job so sized.

    Parameters
    ----------
    job : Job
        The job with the choices of each run.
    cost : Cost, optional
        What a run costs in a pipe; without it, the mass of the pipe as by `mass_cost`.
    wishes : Wishes
        What the sizes must keep to besides the pressure.

    Returns
    -------
    SizeResult
        The sizes, or the largest choice everywhere where nothing passes.

    Examples
    --------
    >>> from drawbar.catalogue.catalogue import Catalogue
    >>> from drawbar.jobfile.reader import job_of
    >>> text = '''
    ... job: Hob on a short line
    ... gas: propane
    ... limits: {drop: 0.25 kPa}
    ... regulator: {outlet: 2.75 kPa}
    ... runs: {main: {from: regulator, pipe: as1432-b/auto, length: 3 m}}
    ... appliances: {hob: {at: main, input: 20 MJ/h}}
    ... '''
    >>> result = size(job_of(text, "job.yaml", Catalogue()))
    >>> result.passes, result.chosen_labels
    (True, {'main': 'as1432-b/7.94'})
    """
    cheapest_choice = cheapest_sizes(job, cost or mass_cost(job)[0], wishes)
    loaded = _with_reserve(job, wishes.reserve)
    if cheapest_choice is None:
        largest = largest_pipes(job)
        return SizeResult(job, wishes, with_pipes(job, largest), check_job(with_pipes(loaded, largest)), None)
    sized = with_pipes(job, cheapest_choice.pipes)
    checked = check_job(with_pipes(loaded, cheapest_choice.pipes))
    return SizeResult(job, wishes, sized, checked, cheapest_choice.cost, cheapest_choice.least)


def with_pipes(job: Job, pipes: Mapping[str, Pipe]) -> Job:
    """Return the job with one pipe for each run that is named."""
    return job._replace(
        runs=tuple(run._replace(pipes=(pipes[run.name],)) if run.name in pipes else run for run in job.runs)
    )


def largest_pipes(job: Job) -> dict[str, Pipe]:
    """Return the largest of each run's choices, the smoothest of several."""
    return {run.name: max(run.pipes, key=lambda pipe: (pipe.bore_m, -pipe.roughness_m)) for run in job.runs}


def _with_reserve(job: Job, reserve: float) -> Job:
    """Return the job with every appliance drawing so much more."""
    if not reserve:
        return job
    more = 1.0 + reserve
    appliances = tuple(
        appliance._replace(input_w=appliance.input_w * more, flow_kg_s=appliance.flow_kg_s * more)
        for appliance in job.appliances
    )
    return job._replace(appliances=appliances)


@dataclass(frozen=True, slots=True)
class _Scenario:
    """One set of flows that the sizes must pass, with what hangs where.

    Attributes
    ----------
    flows : tuple of float
        By run [kg/s].
    ends : tuple of (int, float, float, Plugged or None)
        Number of the run, appliance's flow [kg/s], floor [Pa absolute], and its place if it is plugged in.
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

    def solve(self) -> CheapestSizes | None:
        """Return the cheapest sizes, None if nothing passes."""
        worst = (min(_worst(StateOnLine(self.lines[-1], plan)), key=_margin) for plan in self.plans)
        self.scenarios[min(worst, key=_margin)[1]] = None
        while True:
            best = self._best_for_scenarios()
            if best is None:
                return self._largest() if self.work.left < 0 else None
            pipes = {run.name: run.pipes[pick] for run, pick in zip(self.job.runs, best.picks, strict=True)}
            if not self._take_in_failing(Line(self.job, pipes)):
                return CheapestSizes(best.cost, pipes, best.least)

    def _largest(self) -> CheapestSizes | None:
        """Return the largest choice everywhere if it passes: what is left where the search came to nothing in time."""
        pipes = largest_pipes(self.job)
        line = Line(self.job, pipes)
        passes = min(min(_worst(StateOnLine(line, plan)), key=_margin)[0] for plan in self.plans) >= -TOLERANCE_PA
        if not passes or self.wishes.most_sizes is not None or self.wishes.no_increase:
            return None
        cost = sum(
            costs[run.pipes.index(pipes[run.name])] for run, costs in zip(self.job.runs, self.costs, strict=True)
        )
        return CheapestSizes(cost, pipes, 0.0)

    def _take_in_failing(self, line: Line) -> bool:
        """Take in the worst scenario of each state that fails on a line; tell whether any was new."""
        before = len(self.scenarios)
        for plan in self.plans:
            least_pa, scenario = min(_worst(StateOnLine(line, plan)), key=_margin)
            if least_pa < -TOLERANCE_PA:
                self.scenarios[scenario] = None
        return len(self.scenarios) > before

    def _best_for_scenarios(self) -> StageSizes | None:
        """Return the cheapest choice under the scenarios taken in so far."""
        if self.wishes.most_sizes is None:
            return self._best([range(len(run.pipes)) for run in self.job.runs], float("inf"))
        labels = sorted({pipe.label for run in self.job.runs for pipe in run.pipes})
        best: StageSizes | None = None
        least = float("inf")
        for allowed in itertools.combinations(labels, min(self.wishes.most_sizes, len(labels))):
            within = [[n for n, pipe in enumerate(run.pipes) if pipe.label in allowed] for run in self.job.runs]
            better = self._best(within, best.cost if best else float("inf")) if all(within) else None
            if better is not None:
                best, least = better, min(least, better.least)
        if best is None:
            return None
        if self.work.left < 0:
            # Some set of sizes was not searched to the end. No set can go below what all sizes together can't.
            free = self._best([range(len(run.pipes)) for run in self.job.runs], float("inf"))
            least = min(least, free.least if free is not None else 0.0)
        return best._replace(least=min(best.cost, least))

    def _best(self, within: Sequence[Sequence[int]], upper: float) -> StageSizes | None:
        """Return the cheapest choice among some of each run's options that costs less than `upper`, stage by stage."""
        picks = [0] * len(self.job.runs)
        cost = least = 0.0
        for head in (-1, *self.lines[0].stages):
            members = [n for n in range(len(self.job.runs)) if self.lines[0].stage_of(n) == head]
            if not members:
                continue
            sizes = cheapest(self._stage(head, members, within), upper - cost, self.work)
            if sizes is None:
                return None
            cost += sizes.cost
            least += sizes.least
            for number, pick in zip(members, sizes.picks, strict=True):
                picks[number] = within[number][pick]
        return StageSizes(cost, picks, least)

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
        inlet_pa = max((regulator.inlet_min_gauge_pa + job.atmospheric_pa for regulator in regulators), default=0.0)
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


def _margin(pair: tuple[float, _Scenario]) -> float:
    return pair[0]


def _end(end: End) -> tuple[int, float, float, Plugged | None]:
    return end.at, end.flow_kg_s, end.floor_abs_pa, end.plugged
