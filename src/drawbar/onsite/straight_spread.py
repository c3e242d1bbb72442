"""How far a line with nothing wrong may read from the prediction, by the slopes at the pressures that were predicted.

`Spread` solves the line anew with each thing off, both ways; on a line of very many parts that is too much. Here every
change is taken as straight. Then what one part changes goes along the tree as a current does in a network of resistors:
up and down each run its change of pressure falls by a factor, whichever part it comes from. So the variance of every
point is summed up once from the ends to the regulator and once back, in as many steps as there are parts.

References
----------
Superposition, and the circuit theorem of Helmholtz and Thevenin, as any textbook of circuits has them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drawbar.job import ROOT
from drawbar.line.burners import Burner, slopes
from drawbar.line.section import Section
from drawbar.onsite.spread import (
    Allowances,
    Point,
    Spread,
    extra_length_m,
    hose_length_share,
    is_too_much,
    regulator_off_pa,
)
from drawbar.onsite.testpoints import Model, Setup, stage_point


class StraightSpread:
    """The variance of every prediction in some setups, all changes taken as straight.

    Parameters
    ----------
    model : Model
        The line with nothing wrong.
    setups : sequence of Setup
        What is on.
    allowances : Allowances
        How far the line as built may be from the job file.
    """

    def __init__(self, model: Model, setups: Sequence[Setup], allowances: Allowances) -> None:
        most_kg_s = max((sum(each.flow_kg_s for each in model.burners(setup)) for setup in setups), default=0.0)
        self._variances: list[Mapping[str, float]] = []
        self._by_itself: list[dict[str, float]] = []
        for setup in setups:
            was = model.gauge_pa(setup)
            self._variances.append(_Tree(model, setup, allowances, most_kg_s).variances_pa2())
            self._by_itself.append({name: allowances.friction * model.drop_pa(was, name, setup) for name in was})

    def variance_pa2(self, point: Point) -> float:
        """Return the variance of a prediction [Pa2]."""
        return self._variances[point[0]][point[1]] + self.by_itself_pa(point) ** 2

    def by_itself_pa(self, point: Point) -> float:
        """Return what a prediction may be off by itself, no other with it: its standard deviation [Pa]."""
        return self._by_itself[point[0]][point[1]]


def spread_of(
    model: Model, setups: Sequence[Setup], allowances: Allowances, *, states: int | None = None
) -> Spread | StraightSpread:
    """Return how far a line with nothing wrong may read from the prediction in some setups.

    Parameters
    ----------
    model : Model
        The line with nothing wrong.
    setups : sequence of Setup
        What is on.
    allowances : Allowances
        How far the line as built may be from the job file.
    states : int, optional
        How many setups it is asked for in all, where these are not all.

    Returns
    -------
    Spread or StraightSpread
        That with each thing tried off, where the job is not too large for it.
    """
    kind = StraightSpread if is_too_much(model.job, len(setups) if states is None else states) else Spread
    return kind(model, setups, allowances)


class _End(NamedTuple):
    """A burner with its tail, as the tree sees it.

    Attributes
    ----------
    law : float
        What more pressure the burner itself takes for more flow; infinite for one at its rated flow [Pa s/kg].
    tail : sequence of float
        What more pressure each section of its tail takes for more flow [Pa s/kg].
    offs_pa : sequence of float
        How far each section of its tail may be off, one deviation [Pa].
    off_kg_s : float
        How far its rate may be off, one deviation [kg/s].
    """

    law: float
    tail: Sequence[float]
    offs_pa: Sequence[float]
    off_kg_s: float

    @property
    def admittance(self) -> float:
        """What more it draws for more pressure before its tail [kg/s/Pa]."""
        return 1.0 / (self.law + sum(self.tail))


class _Tree:
    """A line with its burners lit, as a network of resistors.

    By run: what more pressure it takes for more flow; what more flow goes down at its end for more pressure there, all
    told and through each of its branches; what more pressure there is at its end for less flow, towards the regulator.
    """

    def __init__(self, model: Model, setup: Setup, allowances: Allowances, most_kg_s: float) -> None:
        self.model, self.setup, self.allowances, self.most_kg_s = model, setup, allowances, most_kg_s
        self.line, self.burners, self.solution = model.lit(setup)
        self.flows = self.line.flows(
            [(burner.at, flow) for burner, flow in zip(self.burners, self.solution.flows_kg_s, strict=True)]
        )
        self.runs_slope, tails, laws = slopes(self.line, self.burners, self.solution)
        if not model.fixed_orifice:
            laws = [math.inf] * len(laws)
        self.ends = [self._end(number, law, tail) for number, (law, tail) in enumerate(zip(laws, tails, strict=True))]
        self.offs_pa2 = [self._run_off_pa2(number) for number in range(len(self.flows))]
        count = len(self.flows)
        self.is_held = [run.regulator is not None for run in self.line.job.runs]
        self.down = [0.0] * count
        self.branch = [0.0] * count
        for burner, end in zip(self.burners, self.ends, strict=True):
            self.down[burner.at] += end.admittance
        for number in reversed(range(count)):
            if not self.is_held[number]:
                self.branch[number] = self.down[number] / (1.0 + self.runs_slope[number] * self.down[number])
                if (parent := self.line.parents[number]) >= 0:
                    self.down[parent] += self.branch[number]
        self.up: list[float] = []
        for number in range(count):
            self.up.append(self.runs_slope[number] + (0.0 if self.is_held[number] else self._before(number)))

    def _before(self, number: int) -> float:
        """Return what less pressure there is at the start of a run for more flow into it, without it [Pa s/kg]."""
        parent = self.line.parents[number]
        return _at_node(self.up[parent], self.down[parent] - self.branch[number]) if parent >= 0 else 0.0

    # how far each part may be off

    def _run_off_pa2(self, number: int) -> float:
        """Return the variance of what a run takes, and of what a regulator at its start gives [Pa2]."""
        line, outlets_pa, allowances = self.line, self.solution.outlets_pa, self.allowances
        section, run, flow = line.sections[number], line.job.runs[number], self.flows[number]
        devices_pa = section.devices_pa(flow)
        friction_pa = _friction_pa(section, line.inlet_pa(number, outlets_pa), outlets_pa[number], flow)
        length_m = section.length_m + section.fittings_m
        off_pa2 = (friction_pa * extra_length_m(section, allowances) / length_m) ** 2 if length_m else 0.0
        off_pa2 += (devices_pa * allowances.devices) ** 2
        return off_pa2 + (self._regulator_pa2(stage_point(run.name), flow) if run.regulator is not None else 0.0)

    def _regulator_pa2(self, name: str, flow_kg_s: float) -> float:
        off_pa, droop_pa, lock_up_pa = regulator_off_pa(self.model.regulators[name], self.allowances)
        if flow_kg_s <= 0.0:
            return off_pa**2 + lock_up_pa**2
        return off_pa**2 + (droop_pa * flow_kg_s / self.most_kg_s) ** 2

    def _end(self, number: int, law: float, tail: Sequence[float]) -> _End:
        burner, allowances, flow = self.burners[number], self.allowances, self.solution.flows_kg_s[number]
        hoses = {plugged.appliance.name: plugged.hose for plugged in self.setup.way}
        before_pa = self.solution.outlets_pa[burner.at]
        offs_pa: list[float] = []
        for section, after_pa in zip(burner.tail, self.solution.tails_pa[number], strict=True):
            hose = hoses.get(burner.name) if offs_pa else None  # the outlet comes first
            length_m = section.length_m + section.fittings_m
            longer_m = section.fittings_m * allowances.fittings
            longer_m += section.length_m * hose_length_share(hose, allowances) if hose is not None else 0.0
            friction_pa = _friction_pa(section, before_pa, after_pa, flow)
            off_pa = friction_pa * longer_m / length_m if length_m else 0.0
            offs_pa.append(off_pa + section.devices_pa(flow) * allowances.devices)
            before_pa = after_pa
        return _End(law, tail, offs_pa, flow * allowances.input)

    # how far each point may be off

    def variances_pa2(self) -> dict[str, float]:
        """Return the variance of the pressure at every test point, without what each is off by itself [Pa2]."""
        line, runs = self.line, self.line.job.runs
        first_pa2 = self._regulator_pa2(
            ROOT, sum(f for f, parent in zip(self.flows, line.parents, strict=True) if parent < 0)
        )
        inside, of_branch, of_end = self._from_inside()
        at_ends: list[float] = []  # by run, at its end, from everywhere
        variances = {ROOT: first_pa2}
        for number, run in enumerate(runs):
            slope, down = self.runs_slope[number], self.down[number]
            parent = line.parents[number]
            outside = self.offs_pa2[number] / (1.0 + self.up[number] * down) ** 2
            if not self.is_held[number]:
                before = max(0.0, at_ends[parent] - of_branch[number]) if parent >= 0 else first_pa2
                outside += before / (1.0 + slope * down) ** 2
            else:
                variances[stage_point(run.name)] = self._regulator_pa2(stage_point(run.name), self.flows[number])
            at_ends.append(inside[number] + outside)
            variances[run.name] = at_ends[number]
        self._add_ends(variances, at_ends, of_end)
        return variances

    def _from_inside(self) -> tuple[list[float], list[float], list[float]]:
        """Return by run what comes from behind its end, and from its branch to its start; by burner, what it makes."""
        count = len(self.flows)
        inside, of_branch, of_end = [0.0] * count, [0.0] * count, []
        for burner, end in zip(self.burners, self.ends, strict=True):
            without = _at_node(self.up[burner.at], self.down[burner.at] - end.admittance)
            share = end.admittance * without / (1.0 + end.admittance * without)
            load = end.off_kg_s * _law_share(end) * _at_node(self.up[burner.at], self.down[burner.at])
            of_end.append(sum((share * off) ** 2 for off in end.offs_pa) + load**2)
            inside[burner.at] += of_end[-1]
        for number in reversed(range(count)):
            if (parent := self.line.parents[number]) < 0:
                continue
            before, up, down = self._before(number), self.up[number], self.down[number]
            of_branch[number] = inside[number] * (before / up) ** 2 if up else 0.0
            of_branch[number] += self.offs_pa2[number] * (down * before / (1.0 + up * down)) ** 2
            inside[parent] += of_branch[number]
        return inside, of_branch, of_end

    def _add_ends(self, variances: dict[str, float], at_ends: Sequence[float], of_end: Sequence[float]) -> None:
        """Add the points at outlets and appliances."""
        job = self.line.job
        for outlet in job.outlets:
            variances[outlet.name] = variances[outlet.at]
        if not self.burners:
            variances |= {each.name: variances[each.at] for each in job.appliances if each.at is not None}
        outlet_of = {plugged.appliance.name: plugged.outlet.name for plugged in self.setup.way}
        for burner, end, own in zip(self.burners, self.ends, of_end, strict=True):
            others = max(0.0, at_ends[burner.at] - own)
            variances[burner.name] = self._behind(burner, end, others, len(end.tail))
            if end.tail:
                variances[outlet_of[burner.name]] = self._behind(burner, end, others, 1)

    def _behind(self, burner: Burner, end: _End, others_pa2: float, passed: int) -> float:
        """Return the variance behind so many sections of a burner's tail, for that at its point from others [Pa2]."""
        taken = sum(end.tail[:passed])
        admittance, without = end.admittance, _at_node(self.up[burner.at], self.down[burner.at] - end.admittance)
        variance = others_pa2 * (1.0 - admittance * taken) ** 2
        for number, off_pa in enumerate(end.offs_pa):
            less = admittance / (1.0 + admittance * without)  # of flow, for a pascal more in the tail
            variance += (off_pa * ((without + taken) * less - (number < passed))) ** 2
        # A higher rate: what it draws more passes the tail, but for what the lower pressure takes off again.
        more = end.off_kg_s * _law_share(end)
        point_pa = more * _at_node(self.up[burner.at], self.down[burner.at])
        return variance + (point_pa + taken * (more - admittance * point_pa)) ** 2


def _at_node(up: float, down: float) -> float:
    """Return what less pressure there is at a node for more flow out of it [Pa s/kg], from what it is between."""
    return up / (1.0 + up * max(down, 0.0))


def _law_share(end: _End) -> float:
    """Return how much of a higher rate a burner draws while the pressure before its tail stands [-]."""
    return 1.0 if math.isinf(end.law) else end.law * end.admittance


def _friction_pa(section: Section, inlet_pa: float, outlet_pa: float, flow_kg_s: float) -> float:
    return max(0.0, inlet_pa - outlet_pa - section.devices_pa(flow_kg_s) - section.height_pa(outlet_pa))
