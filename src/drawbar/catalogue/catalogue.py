"""Pipes, fittings, rule sets, gases and appliance types: from the project's data files and a workshop's own library.

A library file has one key a kind (`pipes:`, `fittings:`, `rules:`, `tightness:`, `appliances:`, `cylinders:`), each
in the form of the project's file of that name. What it names replaces what the project has under that name. A file is
read when something of its kind is first asked for.
"""

from __future__ import annotations

import functools
import math
import os
from collections.abc import Iterator, Sequence
from importlib import resources
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, SequenceNode

from drawbar import units
from drawbar.job import Fitting, Pipe, Rule, TightnessTest
from drawbar.physics.component import Component
from drawbar.physics.gas import Gas
from drawbar.yamlfile import nodes
from drawbar.yamlfile.bounds import BASIS, DIAMETER, DROP, GAUGE, HEAT, TARE, WATER_CAPACITY
from drawbar.yamlfile.fields import Choice, Either, Entry, Field, Kind, Name, Named, Number, Record, TextLine, of
from drawbar.yamlfile.nodes import Source

SAME_BOTTLE = 0.002  # two sizes of bottle are one within this; 9 kg and 20 lb are 0.8 % apart

_SOURCE = Field(
    TextLine(400),
    "where the figures stand: a standard and its table, `common practice` or `from memory`",
    required=True,
)
_TITLE = Field(TextLine(), "what it is, in words", required=True)
_SIZE = Record(
    {
        "od": Field(of(units.LENGTH, "2 mm", "400 mm"), "outside diameter"),
        "wall": Field(of(units.LENGTH, "0.1 mm", "50 mm"), "wall thickness"),
        "bore": Field(of(units.LENGTH, "1 mm", "300 mm"), "inside diameter"),
        "mass": Field(of(units.MASS_PER_LENGTH, "0.001 kg/m", "200 kg/m"), "mass per metre"),
        "also": Field(TextLine(), "what else the size is called"),
        "source": Field(TextLine(400), "where this size stands, if not where the family does"),
    }
)
_FAMILY = Record(
    {
        "title": _TITLE,
        "source": _SOURCE,
        "material": Field(Name(), "a material of the project's list", required=True),
        "roughness": Field(of(units.LENGTH, "0 mm", "1 mm"), "absolute roughness", required=True),
        "roughness-source": Field(TextLine(400), "where the roughness stands", required=True),
        "note": Field(TextLine(400), "what to mind with this pipe"),
        "sizes": Field(Named(_SIZE), "the sizes", required=True),
    }
)
_FITTING = Record(
    {
        "title": _TITLE,
        "ratio": Field(Number(0.0, 2000.0), "equivalent length over bore", required=True),
        "source": _SOURCE,
        "ends": Field(Number(0, 6, whole=True), "how many pipe ends it takes; 0 if it is formed in the pipe"),
        "part": Field(Name(), "what it is bought as, if not under its own name"),
        "way": Field(Choice({way: way for way in ("side", "straight")}), "which way through a tee the gas goes"),
    }
)
_TIGHTNESS = Record(
    {
        "medium": Field(TextLine(), "what the line is filled with", required=True),
        "pressure": Field(of(units.PRESSURE, "0.1 kPa", "1000 kPa"), "the test pressure", required=True),
        "settle": Field(of(units.TIME, "0 s", "2 h"), "the time to settle"),
        "hold": Field(of(units.TIME, "1 s", "72 h"), "the time of the test"),
        "allowed-fall": Field(of(units.PRESSURE, "0 Pa", "100 kPa"), "the fall that is allowed", required=True),
        "note": Field(TextLine(400), "what to mind with it"),
        "source": _SOURCE,
    }
)
_RULE = Record(
    {
        "title": _TITLE,
        "source": _SOURCE,
        "applies-to": Field(TextLine(), "where the rule set applies"),
        "drop": Field(DROP, "the allowed drop", required=True),
        "nominal": Field(Either(GAUGE, Named(GAUGE)), "the nominal pressure, or one a gas", required=True),
        "nominal-source": Field(TextLine(400), "where the nominal pressure stands"),
        "caution": Field(TextLine(600), "what to mind", required=True),
        "tightness": Field(_TIGHTNESS, "the figures of the tightness test"),
    }
)
_TEST = Record(
    {
        "title": _TITLE,
        "applies-to": Field(TextLine(), "where the test applies"),
        **_TIGHTNESS.fields,
        "volume-min": Field(of(units.VOLUME, "0.01 L", "1000 L"), "the least volume under test"),
        "caution": Field(TextLine(600), "what to mind"),
    }
)
_APPLIANCE = Record(
    {
        "title": _TITLE,
        "input": Field(HEAT, "the gas consumption", required=True),
        "basis": Field(BASIS, "gross or net"),
        "source": _SOURCE,
    }
)
_CYLINDER = Record(
    {
        "title": _TITLE,
        "gas": Field(of(units.MASS, "0.1 kg", "500 kg"), "the gas it holds when full", required=True),
        "diameter": Field(DIAMETER, "outside diameter", required=True),
        "height": Field(of(units.LENGTH, "50 mm", "3 m"), "height over all"),
        "water-capacity": Field(WATER_CAPACITY, "the whole volume inside", required=True),
        "tare": Field(TARE, "its mass when empty", required=True),
        "source": _SOURCE,
    }
)
_MATERIAL = Record(
    {
        "density": Field(of(units.DENSITY, "100 kg/m3", "20000 kg/m3"), "density"),
        "source": _SOURCE,
    }
)
_KINDS: dict[str, Kind] = {
    "pipes": _FAMILY,
    "fittings": _FITTING,
    "rules": _RULE,
    "tightness": _TEST,
    "appliances": _APPLIANCE,
    "cylinders": _CYLINDER,
}


def library_files(given: Sequence[str] = ()) -> list[str]:
    """Return the libraries to read: that of the environment's DRAWBAR_LIBRARY, and over it those that are given."""
    named = os.environ.get("DRAWBAR_LIBRARY")
    return [*([named] if named else []), *given]


class Catalogue:
    """All that a job file may name, the workshop's own library files laid over the project's data.

    Raises Problems where a library file can't be read; the project's own data is read when first asked for.
    """

    def __init__(self, libraries: Sequence[str] = ()) -> None:
        self._nodes: dict[str, dict[str, Node]] = {}
        self._entries: dict[tuple[str, str], Entry | None] = {}
        self._made: dict[tuple[str, str], Any] = {}
        self._components: dict[str, Component] = {}
        self._gases: dict[tuple[tuple[str, float], ...], Gas] = {}
        self._own: dict[str, dict[str, Entry | None]] = {}
        for file in libraries:
            self._add_library(file)

    def _add_library(self, file: str) -> None:
        source = Source(file)
        kinds = {kind: Field(Named(table, most=2000), f"the {kind}, by name") for kind, table in _KINDS.items()}
        top = Record(kinds).read(nodes.compose(nodes.read_text(file), source), source, ())
        assert top is not None  # compose returns a mapping
        for kind in _KINDS:
            for name, (entry, node) in top.get(kind, {}).items():
                if entry is not None:
                    _check(kind, entry, source)
                if "/" in name and kind == "pipes":
                    source.add(node, (kind, name), "has a `/` in its name", "it separates the family from the size")
                self._own.setdefault(kind, {})[name] = entry
        source.raise_if_any()

    def names(self, kind: str) -> list[str]:
        """Return the names of a kind: `pipes` (the families), `fittings`, `rules`, `tightness` or `appliances`."""
        return list(dict.fromkeys((*self._shipped(kind), *self._own.get(kind, {}))))

    def entry(self, kind: str, name: str) -> Entry | None:
        """Return the entry of a name as the data file gives it, None if there is none."""
        own = self._own.get(kind, {})
        if name in own:
            return own[name]
        key = (kind, name)
        if key not in self._entries:
            node = self._shipped(kind).get(name)
            self._entries[key] = _read(kind, name, node) if node is not None else None
        return self._entries[key]

    def _shipped(self, kind: str) -> dict[str, Node]:
        """Return what one of the project's own data files has under each name, to be read when it is asked for."""
        if kind not in self._nodes:
            root = nodes.compose(_data(kind), Source(f"{kind}.yaml"))
            self._nodes[kind] = {key.value: node for key, node in root.value}
        return self._nodes[kind]

    def appliance(self, name: str) -> Entry | None:
        """Return an appliance type with its `input`, None if there is none of that name."""
        return self.entry("appliances", name)

    def sizes(self, family: str) -> dict[str, Pipe] | None:
        """Return the pipes of a family by size, smallest bore first; None if there is no such family."""
        entry = self.entry("pipes", family)
        if entry is None:
            return None
        key = ("pipes", family)
        if key not in self._made:
            self._made[key] = dict(sorted(self._pipes(family, entry), key=lambda pair: pair[1].bore_m))
        made: dict[str, Pipe] = self._made[key]
        return made

    def _pipes(self, family: str, entry: Entry) -> Iterator[tuple[str, Pipe]]:
        density_kg_m3 = self._density_kg_m3(entry.get("material"))
        for size, (row, _) in entry.get("sizes").items():
            bore_m = _bore_m(row)
            mass_kg_m = row.get("mass")
            od_m = row.get("od")
            if mass_kg_m is None and od_m is not None and density_kg_m3 is not None:
                mass_kg_m = math.pi / 4.0 * (od_m**2 - bore_m**2) * density_kg_m3
            source = row.get("source", entry.get("source"))
            yield size, Pipe(f"{family}/{size}", bore_m, entry.get("roughness"), mass_kg_m, source)

    def _density_kg_m3(self, material: str) -> float | None:
        entry = self.entry("materials", material)
        return entry.get("density") if entry is not None else None

    def fitting(self, name: str) -> Fitting | None:
        """Return a fitting, None if there is none of that name."""
        key = ("fittings", name)
        if key not in self._made:
            entry = self.entry(*key)
            self._made[key] = _fitting(name, entry) if entry else None
        made: Fitting | None = self._made[key]
        return made

    def rule(self, name: str) -> Rule | None:
        """Return a rule set, None if there is none of that name."""
        entry = self.entry("rules", name)
        if entry is None:
            return None
        nominal = entry.get("nominal")
        by_gas = {gas: pa for gas, (pa, _) in nominal.items()} if isinstance(nominal, dict) else {"": nominal}
        return Rule(
            name,
            entry.get("title"),
            entry.get("source"),
            entry.get("drop"),
            tuple(by_gas.items()),
            entry.get("caution"),
        )

    def tightness_test(self, name: str) -> TightnessTest | None:
        """Return a tightness test of its own or that of a rule set, None if there is none of that name."""
        entry, about = self.entry("tightness", name), self.entry("rules", name)
        if entry is None:
            entry = about.get("tightness") if about is not None else None
        else:
            about = entry
        if entry is None or about is None:
            return None
        return TightnessTest(
            name,
            about.get("title"),
            entry.get("source"),
            entry.get("medium"),
            entry.get("pressure"),
            entry.get("allowed-fall"),
            entry.get("settle"),
            entry.get("hold"),
            entry.get("volume-min"),
            entry.get("note"),
            about.get("caution"),
        )

    def tightness_tests(self) -> list[str]:
        """Return the names that tightness_test knows."""
        rules = [name for name in self.names("rules") if self.tightness_test(name) is not None]
        return rules + [name for name in self.names("tightness") if name not in rules]

    # bottles

    def bottle(self, gas_kg: float) -> tuple[str, Entry] | None:
        """Return the usual size that holds gas_kg when full, and its name; None if there is none."""
        found_kg, name = min(self._bottle_sizes, key=lambda pair: abs(pair[0] - gas_kg))
        entry = self.entry("cylinders", name)
        return (name, entry) if entry is not None and abs(found_kg - gas_kg) <= SAME_BOTTLE * gas_kg else None

    @functools.cached_property
    def _bottle_sizes(self) -> list[tuple[float, str]]:
        """The gas that each usual size holds when full [kg], and its name."""
        entries = [(name, self.entry("cylinders", name)) for name in self.names("cylinders")]
        return [(entry.get("gas"), name) for name, entry in entries if entry is not None]

    @functools.cached_property
    def vaporisation(self) -> dict[str, Any]:
        """data/vaporisation.yaml: plain numbers in SI units, with the sources of each."""
        data: dict[str, Any] = yaml.load(_data("vaporisation"), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
        return data

    # gases

    @property
    def gas_names(self) -> list[str]:
        """The names of the pure gases."""
        return list(_gas_nodes())

    def component(self, name: str) -> Component:
        """Return a pure gas; KeyError if there is none of that name."""
        if name not in self._components:
            self._components[name] = _component(name, _gas_nodes()[name])
        return self._components[name]

    def gas(self, shares: tuple[tuple[str, float], ...]) -> Gas:
        """Return the mixture of these mole fractions, which add up to 1."""
        if shares not in self._gases:
            self._gases[shares] = Gas(tuple((self.component(name), share) for name, share in shares))
        return self._gases[shares]


def gas_data() -> dict[str, Any]:
    """Return data/gases.yaml: plain numbers in SI units, with the sources of each."""
    data: dict[str, Any] = yaml.load(_data("gases"), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return data


def _fitting(name: str, entry: Entry) -> Fitting:
    ratio, source, ends = entry.get("ratio"), entry.get("source"), entry.get("ends", 2)
    return Fitting(name, ratio, source, ends, entry.get("part", name), entry.get("way"))


@functools.cache
def _gas_nodes() -> dict[str, Node]:
    """Return the gases of data/gases.yaml by name."""
    root = nodes.compose(_data("gases"), Source("gases.yaml"))
    gases = nodes.node_at(root, ("gases",))
    assert isinstance(gases, MappingNode)  # the project's own file, which a test reads whole
    return {key.value: node for key, node in gases.value}


def _component(name: str, node: Node) -> Component:
    """Return a pure gas: every figure of its block as a float, or as a tuple of floats."""
    figures: dict[str, Any] = {
        key.value: tuple(float(one.value) for one in value.value)
        if isinstance(value, SequenceNode)
        else float(value.value)
        for key, value in node.value
        if not isinstance(value, MappingNode)
    }
    return Component(name=name, **figures)


def _data(kind: str) -> str:
    return resources.files("drawbar").joinpath(f"data/{kind}.yaml").read_text(encoding="utf-8")


def _read(kind: str, name: str, node: Node) -> Entry | None:
    """Return an entry of one of the project's own data files."""
    source = Source(f"{kind}.yaml")
    entry: Entry | None = (_MATERIAL if kind == "materials" else _KINDS[kind]).read(node, source, (name,))
    if entry is not None:
        _check(kind, entry, source)
    source.raise_if_any()
    return entry


def _bore_m(row: Entry) -> float:
    bore_m: float | None = row.get("bore")
    return bore_m if bore_m is not None else row.get("od") - 2.0 * row.get("wall")


def _check(kind: str, entry: Entry, source: Source) -> None:
    """Note what the keys of an entry don't say one by one: that a size has a bore, that a basis goes with heat."""
    if kind == "appliances":
        rate = entry.get("input")
        if rate is not None and rate[1] is not units.HEAT_RATE and "basis" in entry.nodes:
            source.add(entry.at("basis"), (*entry.path, "basis"), "goes with a heat rate alone", "leave it out")
    if kind != "pipes":
        return
    for size, (row, node) in entry.get("sizes", {}).items():
        if row is None or any(key in row.nodes and row.get(key) is None for key in ("bore", "od", "wall")):
            continue  # told already
        path = (*entry.path, "sizes", size)
        has_bore, has_wall = row.get("bore") is not None, row.get("od") is not None and row.get("wall") is not None
        if not has_bore and not has_wall:
            source.add(node, path, "has no bore", "write `bore:`, or `od:` and `wall:`")
        elif _bore_m(row) < 0.0005 or (row.get("od") is not None and _bore_m(row) >= row.get("od")):
            source.add(node, path, f"has a bore of {_bore_m(row) * 1000:g} mm", "od is bore and two walls")
