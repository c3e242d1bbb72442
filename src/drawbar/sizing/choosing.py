"""The search for a job's cheapest sizes: the scenarios that limit them, taken in as they fail, and what is proven."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from drawbar.checking.results import TOLERANCE_PA
from drawbar.job import Job, Pipe, Run
from drawbar.line.network import Line
from drawbar.line.plugging import Plugged, plans_of, work_of_look
from drawbar.line.state import End, StateOnLine, asked_of
from drawbar.line.worst_way import bound_places
from drawbar.physics.air import GRAVITY
from drawbar.sizing.few_sizes import FewSizes
from drawbar.sizing.lower_bound import INFINITE
from drawbar.sizing.pareto import StageSizes, Work, cheapest
from drawbar.sizing.stage import SAME_BORE, Option, Stage
from drawbar.sizing.watch import Watch

BY_SEARCH = "search"
_LOOK_WORK, _MOST_LOOK_WORK = 15, 100_000  # steps that all looks at the job cost, by runs and places in one; at most
_CHOICE_WORK = 6  # and for each choice that a run has, in each state
_MOST_LOOKED = 250_000  # runs and places worked out while sizes are held against all states


class Scenario(NamedTuple):
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


class _ScenarioEnd(NamedTuple):
    """What hangs at a run's end under a scenario: its number, flow [kg/s], floor [Pa absolute] and place."""

    scenario: int
    flow_kg_s: float
    floor_pa: float
    plugged: Plugged | None


class JobSizes(NamedTuple):
    """The sizes chosen for a job.

    Attributes
    ----------
    cost : float
        What they cost.
    picks : list of int
        By run, which of its choices.
    least : float
        A cost that no choice that passes goes below.
    proof : str or None
        What proved that none costs less; None where nothing did.
    """

    cost: float
    picks: list[int]
    least: float
    proof: str | None


class Choosing:
    """A job whose sizes are to be chosen.

    Attributes
    ----------
    job : Job
        The job whose pipes are priced and compared.
    solved : Job
        The job whose pressures must hold: the same runs in the same order, each with as many choices in the same order.
    no_increase : bool
        Whether no run may be larger than the one that feeds it.
    may_stay : frozenset of tuple of str and str
        Runs, each with the label of a pipe in which it may be larger all the same.
    most_sizes : int or None
        How many different sizes there may be.
    lines : list of Line
        The solved line with every run's nth choice: each holds the parts, and the outlets behind them, for that choice.
    costs : list of lists of float
        By run and choice.
    scenarios : dict of Scenario to None
        Those taken in so far, in order.
    work : Work
        What is left of the steps that proving may take.
    looks_left : int
        What is left of the steps that holding sizes against all states may take.
    is_settled : bool
        Whether sizes that pass were come to, or it is certain that there are none.
    extra_may_settle : bool
        Whether the solver, which is not there, would have been asked to prove more.
    known_least : float
        A cost that no choice goes below by the scenarios looked at so far; 0 where there are several stages.
    watch : Watch or None
        Who waits for it.
    """

    def __init__(  # noqa: PLR0913 - what is solved, what is priced, and each wish
        self,
        job: Job,
        cost: Callable[[Run, Pipe], float],
        solved: Job | None = None,
        *,
        no_increase: bool = False,
        may_stay: frozenset[tuple[str, str]] = frozenset(),
        most_sizes: int | None = None,
    ) -> None:
        self.job = job
        self.solved = solved = solved or job
        self.no_increase = no_increase
        self.may_stay = may_stay
        self.most_sizes = most_sizes
        self.plans = plans_of(solved)
        most = max(len(run.pipes) for run in solved.runs)
        self.lines = [
            Line(solved, {run.name: run.pipes[min(number, len(run.pipes) - 1)] for run in solved.runs})
            for number in range(most)
        ]
        self.costs = [[cost(run, pipe) for pipe in run.pipes] for run in job.runs]
        self.scenarios: dict[Scenario, None] = {}
        self.work = Work()
        looks = min(_MOST_LOOK_WORK, _LOOK_WORK * sum(map(work_of_look, self.plans)))
        self.work.left -= looks + self.choice_work
        self.looks_left = _MOST_LOOKED
        self.is_settled = True
        self.extra_may_settle = False
        self.known_least = 0.0
        self.watch: Watch | None = None

    @property
    def choice_work(self) -> int:
        """How many steps of the search the choices of the runs cost beside it, in all states."""
        return _CHOICE_WORK * sum(map(len, self.costs)) * len(self.plans)

    def solve(self) -> JobSizes | None:
        """Return the cheapest sizes, None if nothing passes; the best so far where who waits for it interrupts it."""
        try:
            return self._solved()
        except KeyboardInterrupt:
            if self.watch is None or self.watch.is_stopped:
                raise
            self.watch.is_stopped = True
            self.work.left = -1  # so that what is left takes the narrowest search, which is over at once
            return self._solved()

    def _solved(self) -> JobSizes | None:
        if self.most_sizes is None and all(len(run.pipes) == 1 for run in self.job.runs):
            sizes = self._largest()
            return None if sizes is None else sizes._replace(least=sizes.cost, proof=BY_SEARCH)
        self.take_in_worst(self.lines[-1])
        while True:
            best = self._best_for_scenarios()
            if best is None:
                return self._carried_on(self._surely_passing()) if self.work.left < 0 else None
            if not self.take_in_failing(self.line_of(best.picks)):
                if best.least >= best.cost * (1.0 - 1e-9):
                    return JobSizes(best.cost, best.picks, best.least, BY_SEARCH)
                return self._carried_on(JobSizes(best.cost, best.picks, best.least, None))
            if self.looks_left < 0:  # too crowded to go on, or for the solver: what passes everywhere is the answer
                return self._surely_passing()

    def _carried_on(self, sizes: JobSizes | None) -> JobSizes | None:
        """Return what the solver makes of sizes that are not proven, where it is there."""
        from drawbar.sizing.by_highs import BY_HIGHS, SolverSizes, has_highs, settle, surely_begins

        if not has_highs() or (self.watch is not None and self.watch.is_stopped):
            self.extra_may_settle = not has_highs() and surely_begins(self)
            return sizes
        self.is_settled = True
        known = SolverSizes(sizes.cost, sizes.picks, sizes.least) if sizes else SolverSizes(INFINITE, [], 0.0)
        cost, picks, least = settle(self, known)
        if not picks:
            self.is_settled = least == INFINITE
            return None
        return JobSizes(cost, picks, least, BY_HIGHS if least >= cost else None)

    def line_of(self, picks: Sequence[int]) -> Line:
        """Return the line that is solved, with one choice a run."""
        runs = self.solved.runs
        return Line(self.solved, {run.name: run.pipes[pick] for run, pick in zip(runs, picks, strict=True)})

    def take_in_worst(self, line: Line) -> None:
        """Take in the one scenario that is the worst on a line."""
        self.scenarios[min(self._worst_of_states(line), key=_margin)[1]] = None

    def take_in_failing(self, line: Line) -> bool:
        """Take in the worst scenario of each state that fails on a line; tell whether any was new."""
        before = len(self.scenarios)
        for least_pa, scenario in self._worst_of_states(line):
            if least_pa < -TOLERANCE_PA:
                self.scenarios[scenario] = None
        return len(self.scenarios) > before

    def _worst_of_states(self, line: Line) -> Iterator[tuple[float, Scenario]]:
        """Yield (least margin on a line [Pa], the scenario that has it) for each state."""
        for plan in self.plans:
            on = StateOnLine(line, plan)
            yield _worst(on)
            self.looks_left -= work_of_look(plan)

    def _surely_passing(self) -> JobSizes | None:
        """Return sizes that are seen to pass, where the search came to nothing in time: one size, else the largest.

        Of so many different sizes at most there is no largest choice: where no size alone passes the answer stays open.
        """
        sizes = self._one_size()
        if sizes is None and self.most_sizes is None:
            return self._largest()
        self.is_settled = sizes is not None
        return sizes

    def _largest(self) -> JobSizes | None:
        """Return the largest choice everywhere, or where no run may be larger than its feeder, the largest that is not.

        If it does not pass, nothing does, and None is returned.
        """
        picks: list[int] = []
        for run, parent in zip(self.job.runs, self.lines[0].parents, strict=True):
            most_m = INFINITE
            if self.no_increase and parent >= 0 and run.regulator is None:
                most_m = self.job.runs[parent].pipes[picks[parent]].bore_m * SAME_BORE
            fitting = [n for n, pipe in enumerate(run.pipes) if pipe.bore_m <= most_m]
            if not fitting:
                return None
            bores = [(run.pipes[n].bore_m, -run.pipes[n].roughness_m) for n in fitting]
            picks.append(fitting[bores.index(max(bores))])
        return self._if_it_passes(picks)

    def _one_size(self) -> JobSizes | None:
        """Return the narrowest size that every run may have and that passes everywhere; None where none does."""
        by_run = [{pipe.label: n for n, pipe in enumerate(run.pipes)} for run in self.job.runs]
        shared = [pipe for pipe in self.job.runs[0].pipes if all(pipe.label in picks for picks in by_run)]
        shared.sort(key=lambda pipe: (pipe.bore_m, -pipe.roughness_m))
        best: JobSizes | None = None
        low, high = 0, len(shared)
        while low < high:
            middle = (low + high) // 2
            sizes = self._if_it_passes([picks[shared[middle].label] for picks in by_run])
            if sizes is None:
                low = middle + 1
            else:
                best, high = sizes, middle
        return best

    def _if_it_passes(self, picks: list[int]) -> JobSizes | None:
        """Return some sizes with what they cost, not proven the cheapest; None where they do not pass."""
        if min(map(_margin, self._worst_of_states(self.line_of(picks)))) < -TOLERANCE_PA:
            return None
        cost = sum(costs[pick] for costs, pick in zip(self.costs, picks, strict=True))
        return JobSizes(cost, picks, max(self.known_least, sum(map(min, self.costs))), None)

    def _best_for_scenarios(self) -> StageSizes | None:
        """Return the cheapest choice under the scenarios taken in so far."""
        if self.most_sizes is None:
            sizes = self.best(self._worth_trying(), INFINITE, self.known_least)
            self.known_least = sizes.least if sizes and not self.lines[0].stages else 0.0
            if sizes and self.watch is not None:
                self.watch.tell(sizes.cost, sizes.least)
            return sizes
        every = [range(len(run.pipes)) for run in self.job.runs]
        labels = [[pipe.label for pipe in run.pipes] for run in self.job.runs]
        return FewSizes(labels, self.most_sizes, self.stages(every), self.best, self.work).solve()

    def _worth_trying(self) -> list[Sequence[int]]:
        """Return by run the choices but for those that another beats: smoother or as smooth, wider and no dearer.

        What a pipe takes goes by its bore and roughness alone. Where none may be larger than its feeder, all count.
        """
        every: list[Sequence[int]] = [range(len(run.pipes)) for run in self.job.runs]
        if self.no_increase:
            return every
        worth: list[Sequence[int]] = []
        for run, costs, numbers in zip(self.solved.runs, self.costs, every, strict=True):
            kept: list[int] = []
            least: list[tuple[float, float]] = []  # roughness and cost of those that are wider
            for number in sorted(numbers, key=lambda n: (-run.pipes[n].bore_m, costs[n])):
                roughness_m = run.pipes[number].roughness_m
                if not any(rough <= roughness_m and cost <= costs[number] for rough, cost in least):
                    kept.append(number)
                    least.append((roughness_m, costs[number]))
            worth.append(sorted(kept))
        return worth

    def best(self, within: Sequence[Sequence[int]], upper: float, known_least: float = 0.0) -> StageSizes | None:
        """Return the cheapest choice among some of each run's options that costs less than `upper`, stage by stage."""
        picks = [0] * len(self.job.runs)
        cost = least = 0.0
        for members, stage in self.stages(within):
            sizes = cheapest(stage, upper - cost, self.work, known_least)
            if sizes is None:
                return None
            cost += sizes.cost
            least += sizes.least
            for number, pick in zip(members, sizes.picks, strict=True):
                picks[number] = within[number][pick]
        return StageSizes(cost, picks, least)

    def stages(self, within: Sequence[Sequence[int]]) -> Iterator[tuple[list[int], Stage]]:
        """Yield the numbers of each stage's runs, and the stage with some of each run's options."""
        ends = self._ends_by_run()
        for head in (-1, *self.lines[0].stages):
            members = [n for n in range(len(self.job.runs)) if self.lines[0].stage_of(n) == head]
            if members:
                yield members, self._stage(head, members, within, ends)

    def _feeder_bore_m(self, number: int, pick: int) -> float:
        run = self.job.runs[number]
        return 0.0 if (run.name, run.pipes[pick].label) in self.may_stay else run.pipes[pick].bore_m

    def _stage(
        self,
        head: int,
        members: Sequence[int],
        within: Sequence[Sequence[int]],
        ends: Mapping[int, Sequence[_ScenarioEnd]],
    ) -> Stage:
        job, line = self.solved, self.lines[0]
        place = {number: at for at, number in enumerate(members)}
        parents = [place.get(line.parents[number], -1) if number != head else -1 for number in members]
        source_pa = line.stage_gauge_pa[members[0]] + job.atmospheric_pa
        options = [
            [
                Option(
                    self.lines[pick].sections[number],
                    self.costs[number][pick],
                    self._needs(number, self.lines[pick], ends.get(number, ())),
                    self.job.runs[number].pipes[pick].bore_m,
                    self._feeder_bore_m(number, pick),
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
        return Stage(parents, options, flows, source_pa, source_pa + gain_pa, lowest_pa, self.no_increase)

    def _ends_by_run(self) -> dict[int, list[_ScenarioEnd]]:
        """Return by run what hangs at its end under any scenario."""
        by_run: dict[int, list[_ScenarioEnd]] = {}
        for place, scenario in enumerate(self.scenarios):
            for at, flow_kg_s, floor_pa, plugged in scenario.ends:
                by_run.setdefault(at, []).append(_ScenarioEnd(place, flow_kg_s, floor_pa, plugged))
        return by_run

    def _needs(self, number: int, line: Line, ends: Sequence[_ScenarioEnd]) -> tuple[float, ...]:
        """Return the pressure that a run's end must have under each scenario [Pa absolute], by a line's choices."""
        job = self.solved
        inlet_pa = 0.0
        for stage in line.stages:
            regulator = job.runs[stage].regulator
            if line.parents[stage] == number and regulator is not None:
                inlet_pa = max(inlet_pa, regulator.inlet_min_gauge_pa + job.atmospheric_pa)
        needs = [inlet_pa] * len(self.scenarios)
        for place, flow_kg_s, floor_pa, plugged in ends:
            tail = line.tail(plugged.outlet, plugged.hose) if plugged else ()
            needs[place] = max(needs[place], asked_of(tail, flow_kg_s, floor_pa))
        return tuple(needs)


def _worst(on: StateOnLine) -> tuple[float, Scenario]:
    """Return (least margin [Pa], scenario): the worst combination, or the worst of all places by the bound."""
    if on.ways is not None:
        worst = on.worst_of(on.ways)
        return worst.margin_pa, Scenario(tuple(worst.flows), tuple(map(_end, worst.way)))
    numbers = range(len(on.line.sections))
    least = min(bound_places(on).values(), key=lambda place: place.margin_pa)
    inlet_pa = min(on.bound_inlet_margins().values(), default=INFINITE)
    if inlet_pa < least.margin_pa:
        return inlet_pa, Scenario(tuple(on.bound_flow_kg_s(n, None) for n in numbers), ())
    path = set(on.line.paths[least.end.at])
    flows = tuple(on.bound_flow_kg_s(n, least.end) if n in path else 0.0 for n in numbers)
    return least.margin_pa, Scenario(flows, (_end(least.end),))


def _margin(pair: tuple[float, Scenario]) -> float:
    return pair[0]


def _end(end: End) -> tuple[int, float, float, Plugged | None]:
    return end.at, end.flow_kg_s, end.floor_abs_pa, end.plugged
