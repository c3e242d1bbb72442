"""From a job file to a Job, or to all that is wrong with the file at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from yaml.nodes import Node, ScalarNode

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import ALL_ON, ROOT, Appliance, Display, Hose, Job, Outlet, Regulator, Rule, Space, State, WaterDuty
from drawbar.jobfile.bottles import read_cylinders
from drawbar.jobfile.model import JOB, MOST_PLACES
from drawbar.jobfile.pipework import AUTO, PipeworkReader
from drawbar.jobfile.runs import Names, hung_at, read_runs
from drawbar.physics import air
from drawbar.physics.formulas import FORMULAS
from drawbar.physics.gas import Gas
from drawbar.problems import close_to, shown
from drawbar.yamlfile import nodes
from drawbar.yamlfile.fields import Entry
from drawbar.yamlfile.nodes import Source

ANY = "any"
SURELY_LIQUID = 1.2  # of the dew pressure by Raoult's law, which is good to a few per cent
LEAST_SHARE = 0.01  # no burner turns down so far; less is a slip, such as 0.6 % for 60 %


def read_job_file(file: str, catalogue: Catalogue, *, sized: bool = False) -> Job:
    """Read the job file at a path, or standard input for `-`.

    sized : whether every run must have one size, as all but the sizing itself need
    Raises Problems with all that is wrong with the file.
    """
    return job_of(nodes.read_text(file), file, catalogue, sized=sized)


def job_of(text: str, file: str, catalogue: Catalogue, *, sized: bool = False) -> Job:
    """Return the Job that a YAML text describes; file is its name in messages. Otherwise as read_job."""
    source = Source(file)
    entry = JOB.read(nodes.compose(text, source), source, ())
    assert entry is not None  # compose returns a mapping
    reader = _Reader(source, catalogue, entry, sized=sized)
    job = reader.job()
    source.raise_if_any()
    assert job is not None  # without a problem, nothing was missing
    return job


class _Reader:
    """One reading: the entry, what is known so far, and the source that problems are noted on."""

    def __init__(self, source: Source, catalogue: Catalogue, entry: Entry, *, sized: bool) -> None:
        self.parts = PipeworkReader(source, catalogue)
        self.problem = self.parts.problem
        self.catalogue = catalogue
        self.entry = entry
        self.sized = sized

    def job(self) -> Job | None:
        """Build the job; what can't be built is noted, and None returned at the end if anything is missing."""
        top = self.entry
        gas = self.parts.gas = self._gas()
        rule, allowed_drop_pa = self._limits()
        formula = top.get("formula", "darcy")
        if formula not in FORMULAS:
            self.problem(
                top.at("formula"), ("formula",), f"{shown(formula)} is not a formula", close_to(formula, FORMULAS)
            )
        site = top.get("site")
        temperature_k = site.get("temperature", air.REFERENCE_K) if site else air.REFERENCE_K
        altitude_m = site.get("altitude", 0.0) if site else 0.0
        regulator_entry = top.get("regulator")
        regulator = self.parts.regulator(regulator_entry) if regulator_entry else None
        named: dict[str, Names] = {key: top.get(key, {}) for key in ("runs", "outlets", "hoses", "appliances")}
        self._refuse_doubles(named)
        runs = read_runs(self.parts, named, regulator.outlet_gauge_pa if regulator else None, sized=self.sized)
        outlets = self._outlets(named)
        hoses = self._hoses(named["hoses"])
        appliances = self._appliances(named, regulator)
        states = self._states(named)
        cylinders, space = read_cylinders(self.parts, top.get("cylinders"), temperature_k, regulator), self._space()
        atmospheric_pa = air.standard_atmosphere_pa(altitude_m)
        if gas is not None and regulator is not None:
            self._refuse_liquid(gas, temperature_k, regulator.outlet_gauge_pa + atmospheric_pa)
        if self.parts.source.problems or gas is None or allowed_drop_pa is None or regulator is None:
            return None
        return Job(
            file=self.parts.source.file,
            title=top.get("job"),
            ref=top.get("ref"),
            gas=gas,
            vapour=gas.vapour(temperature_k),
            temperature_k=temperature_k,
            altitude_m=altitude_m,
            atmospheric_pa=atmospheric_pa,
            air_density_kg_m3=air.air_density_kg_m3(atmospheric_pa, temperature_k),
            rule=rule,
            allowed_drop_pa=allowed_drop_pa,
            formula=formula,
            regulator=regulator,
            runs=runs,
            outlets=outlets,
            hoses=hoses,
            appliances=appliances,
            states=states,
            cylinders=cylinders,
            space=space,
            display=self._display(),
        )

    def _display(self) -> Display:
        """Return the units that the file itself uses: those of the first figure of each sort."""
        top = self.entry

        def unit(entry: Entry | None, key: str, dimension: units.Dimension, default: str) -> str:
            node = entry.nodes.get(key) if entry is not None else None
            if not isinstance(node, ScalarNode):
                return default
            written = units.unit_of(node.value)
            return written if written in dimension.units else default

        first_run, first_appliance = (next(iter(top.get(key).values()))[0] for key in ("runs", "appliances"))
        is_imperial = unit(first_run, "length", units.LENGTH, "m") in ("ft", "in")
        return Display(
            pressure=unit(top.get("regulator"), "outlet", units.PRESSURE, "kPa"),
            heat=unit(first_appliance, "input", units.HEAT_RATE, "MJ/h"),
            length="ft" if is_imperial else "m",
            bore="in" if is_imperial else "mm",
            temperature=unit(top.get("site"), "temperature", units.TEMPERATURE, "degC"),
        )

    # gas and limits

    def _gas(self) -> Gas | None:
        wanted = self.entry.get("gas")
        if wanted is None:
            return None
        names = {wanted: (1.0, self.entry.at("gas"))} if isinstance(wanted, str) else wanted
        unknown = [(name, node) for name, (_, node) in names.items() if name not in self.catalogue.gas_names]
        for name, node in unknown:
            fit = close_to(name, self.catalogue.gas_names)
            self.problem(node, ("gas",), f"{shown(name)} is not a gas of the catalogue", fit)
        shares = [(name, share) for name, (share, _) in names.items() if share is not None]
        if unknown or not shares or len(shares) < len(names):
            return None
        total = sum(share for _, share in shares)
        if abs(total - 1.0) > 1e-4:
            what = f"the shares add up to {total * 100:g} %"
            self.problem(self.entry.at("gas"), ("gas",), what, "make them 100 % by mole")
            return None
        return self.catalogue.gas(tuple((name, share / total) for name, share in shares if share > 0.0))

    def _refuse_liquid(self, gas: Gas, temperature_k: float, highest_abs_pa: float) -> None:
        """Note a gas that would be liquid in the line; one that is near to it is odd, and left to a warning."""
        dew_pa = gas.dew_pressure_pa(temperature_k)
        if highest_abs_pa > SURELY_LIQUID * dew_pa:
            node = self.entry.at("site") if "site" in self.entry.nodes else self.entry.at("gas")
            what = f"at {temperature_k - 273.15:.0f} degC the gas condenses above {dew_pa / 1000:.0f} kPa absolute"
            fit = "give the temperature that the line is used at, a gas that boils in the cold, or a lower pressure"
            self.problem(node, ("site", "temperature"), what, fit)

    def _limits(self) -> tuple[Rule | None, float | None]:
        top = self.entry
        rule = None
        name = top.get("rule")
        if name is not None:
            rule = self.catalogue.rule(name)
            if rule is None:
                fit = close_to(name, self.catalogue.names("rules"))
                self.problem(top.at("rule"), ("rule",), f"{shown(name)} is not a rule set of the catalogue", fit)
        limits = top.get("limits")
        drop_pa = limits.get("drop") if limits else None
        if drop_pa is None and rule is not None:
            drop_pa = rule.drop_pa
        if drop_pa is None and "rule" not in top.nodes and "limits" not in top.nodes:
            fit = "write `rule: NAME` (see `drawbar list rules`) or `limits: {drop: 0.25 kPa}`"
            self.problem(top.node, (), "no allowed pressure drop is given", fit)
        return rule, drop_pa

    # names

    def _refuse_doubles(self, named: Mapping[str, Names]) -> None:
        """Note every name that is reserved or that two things carry."""
        seen: dict[str, tuple[str, int]] = {}
        for section, things in named.items():
            for name, (_, node) in things.items():
                path = (section, name)
                if name in (ROOT, ANY, AUTO):
                    self.problem(node, path, f"`{name}` has a meaning of its own", "choose another name")
                elif name in seen:
                    other, line = seen[name]
                    self.problem(node, path, f"the name is taken by one of the {other}, line {line}", "choose another")
                else:
                    seen[name] = (section, node.start_mark.line + 1)

    def _run_named(self, entry: Entry, named: Mapping[str, Names]) -> str | None:
        at: str | None = entry.get("at")
        runs = named["runs"]
        if at is not None and at not in runs:
            if runs:  # else what is wrong with them is told already
                fit = close_to(at, runs)
                if at == ROOT:
                    fit = f"put a run from `{ROOT}` in between, and write its name"
                elif at in named["outlets"] and entry.path[0] == "appliances":
                    fit = f"that is an outlet: write `plugs-into: {at}`"
                else:
                    fit = hung_at(named, at) or fit
                self.problem(entry.at("at"), (*entry.path, "at"), f"there is no run {shown(at)}", fit)
            return None
        return at

    def _outlets(self, named: Mapping[str, Names]) -> tuple[Outlet, ...]:
        found = []
        for name, (entry, _) in named["outlets"].items():
            if entry is not None:
                at = self._run_named(entry, named)
                fittings, devices = self.parts.fittings(entry), self.parts.devices(entry)
                if at is not None:
                    found.append(Outlet(name, at, fittings, devices))
        return tuple(found)

    def _hoses(self, things: Names) -> tuple[Hose, ...]:
        found = []
        for name, (entry, _) in things.items():
            if entry is None:
                continue
            pipes, fittings, devices = self.parts.pipes(entry), self.parts.fittings(entry), self.parts.devices(entry)
            if len(pipes) > 1:
                self.problem(
                    entry.at("pipe"),
                    (*entry.path, "pipe"),
                    "gives several bores",
                    "a hose has one: give it a name each",
                )
            length_m, rise_m = entry.get("length"), entry.get("rise", 0.0)
            if length_m is not None and abs(rise_m) > length_m * 1.001:
                fit = "write the height gained from outlet to appliance"
                self.problem(entry.at("rise"), (*entry.path, "rise"), "is more than the length of the hose", fit)
            if pipes and length_m is not None:
                found.append(Hose(name, pipes[0], length_m, rise_m, entry.get("count"), fittings, devices))
        return tuple(found)

    # appliances and states

    def _appliances(self, named: Mapping[str, Names], regulator: Regulator | None) -> tuple[Appliance, ...]:
        found = []
        for name, (entry, _) in named["appliances"].items():
            if entry is None:
                continue
            at = self._run_named(entry, named)
            outlets = self._several(entry, "plugs-into", "outlets", named)
            hoses = self._several(entry, "hose", "hoses", named)
            if ("at" in entry.nodes) == ("plugs-into" in entry.nodes):
                both = "has both `at` and `plugs-into`" if "at" in entry.nodes else "is connected to nothing"
                self.problem(
                    entry.node,
                    entry.path,
                    both,
                    "write `at: RUN` if it is fixed, `plugs-into: OUTLET` if it is portable",
                )
            elif "hose" in entry.nodes and "at" in entry.nodes and entry.get("at") not in named["outlets"]:
                self.problem(entry.at("hose"), (*entry.path, "hose"), "goes with `plugs-into` alone", "leave it out")
            rate, like = self._input(entry)
            min_gauge_pa = entry.get("min-pressure", 0.0)
            if regulator is not None and min_gauge_pa >= regulator.outlet_gauge_pa > 0.0:
                what = f"is not below the regulator's {regulator.outlet_gauge_pa / 1000:g} kPa"
                stages = any(run is not None and run.get("regulator") for run, _ in named["runs"].values())
                if not stages:
                    self.problem(
                        entry.at("min-pressure"), (*entry.path, "min-pressure"), what, "no line can give it that"
                    )
            if rate:
                found.append(
                    Appliance(
                        name,
                        rate[0],
                        rate[1],
                        at,
                        outlets,
                        hoses,
                        min_gauge_pa,
                        room_sealed=entry.get("room-sealed", False),
                        heats=self._heats(entry),
                        like=like,
                    )
                )
        places = sum(len(one.plugs_into) * max(1, len(one.hoses)) for one in found)
        if places > MOST_PLACES:
            what = f"can be plugged in in {places:,} places of outlet and hose; up to {MOST_PLACES:,} can be looked at"
            self.problem(self.entry.at("appliances"), ("appliances",), what, "name fewer outlets or hoses for each")
        return tuple(found)

    def _several(self, entry: Entry, key: str, section: str, named: Mapping[str, Names]) -> tuple[str, ...]:
        """Return the names of a section that a key lists, all there are for `any`."""
        kind = "an outlet" if section == "outlets" else "a hose"
        known = named[section]
        names: list[str] = []
        for name, node in entry.get(key, ()):
            if name == ANY and known:
                names.extend(other for other in known if other not in names)
            elif name not in known and (known or section not in self.entry.nodes):
                fit = close_to(name, known) or f"the file has no `{section}:`"
                if section == "outlets" and name in named["runs"]:
                    fit = f"that is a run: write `at: {name}` if it is fixed there, else one of the `outlets:`"
                elif section == "hoses" and "/" in name and self.catalogue.sizes(name.partition("/")[0]):
                    example = f", as `{next(iter(known))}`" if known else ""
                    fit = f"that is a pipe: write the name of one of the `hoses:`{example}"
                self.problem(node, (*entry.path, key), f"{shown(name)} is not {kind} of this job", fit)
            elif name not in names:
                names.append(name)
        return tuple(names)

    def _input(self, entry: Entry) -> tuple[tuple[float, float] | None, str | None]:
        wanted = entry.get("input")
        if not isinstance(wanted, Entry):
            return self.parts.rate(entry, "input"), None
        like = wanted.get("like")
        if like is None:
            return None, None
        listed = self.catalogue.appliance(like)
        if listed is None:
            fit = close_to(like, self.catalogue.names("appliances"))
            self.problem(
                wanted.at("like"), (*wanted.path, "like"), f"{shown(like)} is not an appliance of the catalogue", fit
            )
            return None, None
        if "basis" in entry.nodes:
            fit = "leave it out: the catalogue says it"
            self.problem(entry.at("basis"), (*entry.path, "basis"), "goes with an input of your own alone", fit)
        return self.parts.rate(listed, "input", (wanted.at("like"), (*wanted.path, "like"))), like

    def _heats(self, entry: Entry) -> WaterDuty | None:
        heats = entry.get("heats")
        if heats is None or any(heats.get(key) is None for key in ("flow", "inlet", "efficiency")):
            return None
        pipe = heats.get("pipe")
        bore_m, length_m = (pipe.get("bore"), pipe.get("length")) if pipe else (None, None)
        return WaterDuty(heats.get("flow"), heats.get("inlet"), heats.get("efficiency"), bore_m, length_m)

    def _states(self, named: Mapping[str, Names]) -> tuple[State, ...]:
        appliances = named["appliances"]
        states: Mapping[str, tuple[Any, Node]] | None = self.entry.get("states")
        if states is None:
            return (State(ALL_ON, tuple((name, 1.0) for name in appliances)),)
        found = []
        for name, (on, key_node) in states.items():
            shares: dict[str, float] = {}
            listed = (
                [(key, *pair) for key, pair in on.items()]
                if isinstance(on, dict)
                else [(n, 1.0, at) for n, at in on or ()]
            )
            for appliance, share, node in listed:
                path = ("states", name)
                if appliance not in appliances:
                    if appliances:  # else what is wrong with them is told already
                        fit = close_to(appliance, appliances)
                        for section, kind in (("outlets", "an outlet"), ("runs", "a run"), ("hoses", "a hose")):
                            if appliance in named[section]:
                                fit = (
                                    f"that is {kind}: write appliances, known here: {', '.join(list(appliances)[:12])}"
                                )
                        self.problem(node, path, f"there is no appliance {shown(appliance)}", fit)
                elif appliance in shares:
                    self.problem(node, path, f"{shown(appliance)} stands here a second time", "name it once")
                elif share is not None:
                    shares[appliance] = share
                    if 0.0 < share < LEAST_SHARE:
                        fit = "write 0 % for off, or from 1 % to 100 %"
                        self.problem(node, (*path, appliance), f"burns at {share * 100:.2g} %", fit)
            if shares and not any(shares.values()):
                self.problem(key_node, ("states", name), "has nothing on", "write at least one appliance that burns")
            found.append(State(name, tuple(pair for pair in shares.items() if pair[1] > 0.0)))
        return tuple(found)

    # what stands beside the line

    def _space(self) -> Space | None:
        entry = self.entry.get("space")
        if entry is None or entry.get("berths") is None or entry.get("vents") is None:
            return None
        return Space(entry.get("berths"), entry.get("vents"))
