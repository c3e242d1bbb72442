"""From a job file to a Job, or to all that is wrong with the file at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from yaml.nodes import ScalarNode

from drawbar import units
from drawbar.catalogue.particulars_fields import read_particulars
from drawbar.display_units import Display
from drawbar.job import ROOT, Job
from drawbar.jobfile.appliances import ANY, NO_HOSE, read_appliances
from drawbar.jobfile.asked import NOTHING_ASKED, Asked
from drawbar.jobfile.bottles import least_bottle_gauge_pa, read_cylinders
from drawbar.jobfile.gas_fields import LIQUID, OF, VAPOUR
from drawbar.jobfile.gas_named import read_gas
from drawbar.jobfile.model import JOB
from drawbar.jobfile.outlets_and_hoses import read_hoses, read_outlets
from drawbar.jobfile.pipework import AUTO, PipeworkReader, Sections
from drawbar.jobfile.runs import read_runs
from drawbar.jobfile.space_fields import read_spaces
from drawbar.jobfile.state_fields import USE
from drawbar.jobfile.states import read_states
from drawbar.jobfile.tolerances import read_tolerances
from drawbar.physics import air
from drawbar.physics.formulas import FORMULAS
from drawbar.physics.liquid import vapours_of
from drawbar.problems import close_to, shown
from drawbar.rules import Rule
from drawbar.site import SiteRange
from drawbar.yamlfile import nodes
from drawbar.yamlfile.carried import JOB as CARRIED_JOB
from drawbar.yamlfile.carried import read_carried
from drawbar.yamlfile.entry import Entry, required
from drawbar.yamlfile.nodes import Source

if TYPE_CHECKING:
    from yaml.nodes import Node

    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Appliance, State
    from drawbar.physics.gas import Gas
    from drawbar.water_line.water_parts import WaterSide

_SURELY_LIQUID = 1.2  # of the dew pressure by Raoult's law, which is good to a few per cent
_GAS_STEPS = 5  # mixtures from one end of a range of gas to the other, both ends among them


def read_job_file(file: str, catalogue: Catalogue, *, sized: bool = False, asked: Asked = NOTHING_ASKED) -> Job:
    """Read a job file.

    Parameters
    ----------
    file : str
        Its path, or `-` for standard input.
    catalogue : Catalogue
        What the file may name.
    sized : bool
        Whether every run must have one size, as all but the sizing itself need.
    asked : Asked
        What is asked of it beside the file.

    Returns
    -------
    Job

    Raises
    ------
    Problems
        All that is wrong with the file.
    """
    return job_of(read_carried(file, CARRIED_JOB), file, catalogue, sized=sized, asked=asked)


def job_of(text: str, file: str, catalogue: Catalogue, *, sized: bool = False, asked: Asked = NOTHING_ASKED) -> Job:
    """Return the job that a YAML text describes.

    Parameters
    ----------
    text : str
        The text of a job file.
    file : str
        Its name in messages.
    catalogue : Catalogue
        What it may name.
    sized : bool
        Whether every run must have one size, as all but the sizing itself need.
    asked : Asked
        What is asked of it beside the file.

    Returns
    -------
    Job

    Raises
    ------
    Problems
        All that is wrong with the text.
    """
    source = Source(file)
    root = nodes.compose(text, source)
    asked.change(root, source)
    entry = JOB.read(root, source, ())
    assert entry is not None  # compose returns a mapping
    reader = _Reader(source, catalogue, entry, sized=sized)
    job = reader.job()
    source.raise_if_any()
    assert job is not None  # without a problem, nothing was missing
    return job if asked is NOTHING_ASKED else job._replace(asked=asked.words, display=asked.display or job.display)


class _Reader:
    """One reading: the entry, what is known so far, and the source that problems are noted on."""

    def __init__(self, source: Source, catalogue: Catalogue, entry: Entry, *, sized: bool) -> None:
        self.pipework = PipeworkReader(source, catalogue)
        self.problem = self.pipework.problem
        self.catalogue = catalogue
        self.entry = entry
        self.sized = sized

    def job(self) -> Job | None:
        """Build the job; what can't be built is noted, and None returned at the end if anything is missing."""
        top, pipework = self.entry, self.pipework
        given = self._gas(top)
        rule, allowed_drop_pa = self._limits()
        formula = self._formula(rule.method.formula if rule is not None and rule.method is not None else "darcy")
        temperatures_k, altitudes_m = self._site()
        temperature_k, altitude_m = 0.5 * sum(temperatures_k), 0.5 * sum(altitudes_m)
        allowed = read_tolerances(top, pipework.tolerances)
        regulator_table = top.table("regulator")
        vapours = self._vapours(given, temperatures_k[0], altitudes_m[1])
        gas = pipework.gas = vapours[0] if vapours else None
        pipework.asks_basis = rule is not None and rule.asks_basis
        regulator = pipework.regulator(regulator_table) if regulator_table is not None else None
        sections = Sections(*(top.named_tables(section) for section in Sections._fields))
        self._refuse_doubles(sections)
        runs = read_runs(pipework, sections, regulator.outlet_gauge_pa if regulator else None, sized=self.sized)
        outlets = read_outlets(pipework, sections)
        hoses = read_hoses(pipework, sections.hoses)
        appliances = read_appliances(pipework, top, sections, regulator)
        states = read_states(pipework, top, sections, appliances)
        water = self._water(appliances, states)
        particulars = read_particulars(top, pipework.source)
        spaces = read_spaces(pipework, top)
        cylinders = read_cylinders(pipework, top.table("cylinders"), temperatures_k[0], regulator)
        atmospheric_pa = air.standard_atmosphere_pa(altitude_m)
        if gas is not None and regulator is not None:
            self._refuse_liquid(gas, temperature_k, regulator.outlet_gauge_pa + atmospheric_pa)
        if pipework.source.problems or given is None or gas is None or allowed_drop_pa is None or regulator is None:
            return None
        job = Job(
            file=pipework.source.file,
            title=required(top.text("job")),
            ref=top.text("ref"),
            gas=gas,
            vapour=gas.vapour(temperature_k),
            temperature_k=temperature_k,
            altitude_m=altitude_m,
            atmospheric_pa=atmospheric_pa,
            air_density_kg_m3=air.air_density_kg_m3(atmospheric_pa, temperature_k),
            rule=rule,
            allowed_drop_pa=allowed_drop_pa,
            formula=formula,
            regulator=allowed.regulator(regulator),
            runs=tuple(map(allowed.run, runs)),
            outlets=outlets,
            hoses=tuple(map(allowed.hose, hoses)),
            appliances=appliances,
            states=states,
            cylinders=cylinders,
            spaces=spaces,
            display=_display(top),
            has_own_limit=top.table("limits") is not None,
            tolerances=allowed.tolerances,
            site_range=self._site_range(given, temperatures_k, altitudes_m),
            bottle_gas=given if self._gas_state() == LIQUID and given is not gas else None,
            gas_is_said=self._gas_state() is not None or len(gas.fractions) == 1,
            particulars=particulars.over(self.catalogue.particulars),
            water=water,
        )
        return job if water is None else _with_water_states(job, water)

    def _formula(self, default: str) -> str:
        formula = self.entry.text("formula", default)
        if formula not in FORMULAS:
            fit = close_to(formula, FORMULAS)
            self.problem(self.entry.at("formula"), ("formula",), f"{shown(formula)} is not a formula", fit)
        return formula

    def _site(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return least and most of the temperature of the gas in the pipe [K] and of the altitude of the place [m]."""
        site = self.entry.table("site")
        if site is None:
            return (air.REFERENCE_K, air.REFERENCE_K), (0.0, 0.0)
        return site.ends("temperature", air.REFERENCE_K), site.ends("altitude", 0.0)

    def _site_range(
        self, given: Gas, temperatures_k: tuple[float, float], altitudes_m: tuple[float, float]
    ) -> SiteRange | None:
        """Return what the job gives as a range, None where it gives nothing so."""
        tolerances = self.entry.table("tolerances")
        other = self._gas(tolerances) if tolerances is not None and "gas" in tolerances.nodes else None
        fills = (given,) if other is None else self._between(given, other)
        gases = tuple(vapour for fill in fills for vapour in self._vapours(fill, temperatures_k[0], altitudes_m[1]))
        site_range = SiteRange(temperatures_k, altitudes_m, gases, fills)
        return None if site_range.is_point else site_range

    def _between(self, gas: Gas, other: Gas) -> tuple[Gas, ...]:
        """Return mixtures from one gas to another in even steps, both ends among them."""
        first, last = ({part.name: share for part, share in end.fractions} for end in (gas, other))
        names = [name for name in self.catalogue.gas_names if name in first or name in last]
        steps = [step / (_GAS_STEPS - 1) for step in range(_GAS_STEPS)]
        mixtures = [
            [(name, (1.0 - step) * first.get(name, 0.0) + step * last.get(name, 0.0)) for name in names]
            for step in steps
        ]
        return tuple(self.catalogue.gas(tuple(pair for pair in shares if pair[1] > 0.0)) for shares in mixtures)

    # gas and limits

    def _gas(self, entry: Entry) -> Gas | None:
        return read_gas(entry, self.catalogue, self.pipework.source)

    def _water(self, appliances: tuple[Appliance, ...], states: tuple[State, ...]) -> WaterSide | None:
        if self.entry.table("water") is None:
            return None
        from drawbar.jobfile.water_reader import read_water  # for jobs with a water side alone

        return read_water(self.pipework, self.entry, appliances, states)

    def _gas_state(self) -> str | None:
        """Return whether a mixture is said to be the liquid in the bottle or the vapour."""
        word, _ = self.entry.named_tables("gas").get(OF, (None, None))
        return str(word) if word is not None else None

    def _vapours(self, gas: Gas | None, coldest_k: float, highest_m: float) -> tuple[Gas, ...]:
        """Return the vapours that may be in the pipe, that as drawn first.

        A liquid gives another vapour at the first of the bottle than at its last. A mixture that does not say which it
        is may be either: as drawn it is the vapour.
        """
        if gas is None:
            return ()
        state = self._gas_state()
        if state == VAPOUR or len(gas.fractions) == 1:
            return (gas,)
        bottles = self.entry.table("cylinders")
        ambient_k = bottles.quantity("ambient", coldest_k) if bottles is not None else coldest_k
        low_k, high_k = gas.temperature_range_k
        if not low_k <= ambient_k <= high_k:
            return (gas,)
        regulator = self.entry.table("regulator")
        outlet_pa, inlet_pa = (
            (regulator.quantity(key, 0.0) for key in ("outlet", "inlet-min")) if regulator is not None else (0.0, 0.0)
        )
        least_pa, _ = least_bottle_gauge_pa(self.catalogue, outlet_pa, inlet_pa)
        lightest, *over = vapours_of(gas, ambient_k, least_pa + air.standard_atmosphere_pa(highest_m))
        return (*over, lightest) if state == LIQUID else (gas, *over, lightest)

    def _refuse_liquid(self, gas: Gas, temperature_k: float, highest_abs_pa: float) -> None:
        """Note a gas that would be liquid in the line; one that is near to it is odd, and left to a warning."""
        dew_pa = gas.dew_pressure_pa(temperature_k)
        if highest_abs_pa > _SURELY_LIQUID * dew_pa:
            node = self.entry.at("site") if "site" in self.entry.nodes else self.entry.at("gas")
            what = f"at {temperature_k - 273.15:.0f} degC the gas condenses above {dew_pa / 1000:.0f} kPa absolute"
            fit = "give the temperature that the line is used at, a gas that boils in the cold, or a lower pressure"
            self.problem(node, ("site", "temperature"), what, fit)

    def _limits(self) -> tuple[Rule | None, float | None]:
        """Return the rule set and the allowed drop [Pa]; the job's own limit goes before that of the rule set."""
        top = self.entry
        rule = None
        name = top.text("rule")
        if name is not None:
            rule = self.catalogue.rule(name)
            if rule is None:
                fit = close_to(name, self.catalogue.names("rules"))
                self.problem(top.at("rule"), ("rule",), f"{shown(name)} is not a rule set of the catalogue", fit)
        limits = top.table("limits")
        drop_pa = limits.quantity("drop") if limits is not None else None
        if drop_pa is None and rule is not None:
            drop_pa = rule.drop_pa
            if drop_pa is None and "limits" not in top.nodes:
                what = f"rule `{rule.name}` has no allowed drop here: {rule.no_drop}"
                fit = "write `limits: {drop: ...}` beside it, as the code in force has it"
                self.problem(top.at("rule"), ("rule",), what, fit)
        if drop_pa is None and "rule" not in top.nodes and "limits" not in top.nodes:
            fit = "write `rule: NAME` (see `drawbar list rules`) or `limits: {drop: 0.25 kPa}`"
            self.problem(top.node, (), "no allowed pressure drop is given", fit)
        return rule, drop_pa

    # names

    def _refuse_doubles(self, sections: Sections) -> None:
        """Note every name that is reserved, or that stands in two places."""
        places: dict[str, tuple[str, Node]] = {}
        for section, tables in zip(Sections._fields, sections, strict=True):
            for name, (_, node) in tables.items():
                if name in (ROOT, ANY, AUTO, NO_HOSE):
                    self.problem(node, (section, name), f"`{name}` has a meaning of its own", "choose another name")
                elif section == "appliances" and name in USE:
                    what = f"in a state `{name}` says how it is used"
                    self.problem(node, (section, name), what, "choose another name")
                elif name in places:
                    other, first = places[name]
                    what = f"the name is taken by one of the {other}, {nodes.place_of(first)}"
                    self.problem(node, (section, name), what, "choose another")
                else:
                    places[name] = section, node


def _with_water_states(job: Job, water: WaterSide) -> Job:
    """Return a job with the connections of its water side that are states of its gas side after its own."""
    from drawbar.water_line.water_answer import gas_state  # for jobs with a water side alone

    derived = (gas_state(job, connection) for connection in water.connections)
    return job._replace(states=(*job.states, *(state for state in derived if state is not None)))


def _display(job: Entry) -> Display:
    """Return the units that the file itself uses: those of the first figure of each sort, or what goes with feet."""
    (first_run, _), *_ = job.named_tables("runs").values()
    (first_appliance, _), *_ = job.named_tables("appliances").values()
    is_imperial = _unit(first_run, "length", units.LENGTH, "m") in ("ft", "in")
    heat = _unit(first_appliance, "input", units.HEAT_RATE, "Btu/h" if is_imperial else "MJ/h")
    return Display(
        pressure=_unit(job.table("regulator"), "outlet", units.PRESSURE, "kPa"),
        heat=heat,
        length="ft" if is_imperial else "m",
        bore="in" if is_imperial else "mm",
        temperature=_unit(job.table("site"), "temperature", units.TEMPERATURE, "degF" if heat == "Btu/h" else "degC"),
    )


def _unit(entry: Entry | None, key: str, dimension: units.Dimension, default: str) -> str:
    """Return the unit that a value is written in, or the default where it has none of the dimension."""
    node = entry.nodes.get(key) if entry is not None else None
    if not isinstance(node, ScalarNode):
        return default
    written = units.unit_of(node.value)
    return written if written in dimension.units else default
