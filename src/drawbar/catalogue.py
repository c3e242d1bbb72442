"""Pipes, fittings, rule sets, gases and appliance types: from the project's data files and a workshop's own library.

A library file has one key a kind (`pipes:`, `fittings:`, `rules:`, `appliances:`), each in the form of the project's
file of that
name. What it names replaces what the project has under that name. A file is read when something of its kind is first
asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from importlib import resources
from typing import Any

import yaml

from drawbar import document, units
from drawbar.document import Source
from drawbar.fields import Either, Entry, Field, Kind, Name, Named, Number, Table, Text, of
from drawbar.gas import Component, Gas
from drawbar.job import Fitting, Pipe, Rule
from drawbar.jobfile import BASIS, DROP, GAUGE, HEAT

_SOURCE = Field(
    Text(400), "where the figures stand: a standard and its table, `common practice` or `from memory`", required=True
)
_TITLE = Field(Text(), "what it is, in words", required=True)
_SIZE = Table(
    {
        "od": Field(of(units.LENGTH, "2 mm", "400 mm"), "outside diameter"),
        "wall": Field(of(units.LENGTH, "0.1 mm", "50 mm"), "wall thickness"),
        "bore": Field(of(units.LENGTH, "1 mm", "300 mm"), "inside diameter"),
        "mass": Field(of(units.MASS_PER_LENGTH, "0.001 kg/m", "200 kg/m"), "mass per metre"),
        "also": Field(Text(), "what else the size is called"),
        "source": Field(Text(400), "where this size stands, if not where the family does"),
    }
)
_FAMILY = Table(
    {
        "title": _TITLE,
        "source": _SOURCE,
        "material": Field(Name(), "a material of the project's list", required=True),
        "roughness": Field(of(units.LENGTH, "0 mm", "1 mm"), "absolute roughness", required=True),
        "roughness-source": Field(Text(400), "where the roughness stands", required=True),
        "note": Field(Text(400), "what to mind with this pipe"),
        "sizes": Field(Named(_SIZE), "the sizes", required=True),
    }
)
_FITTING = Table(
    {
        "title": _TITLE,
        "ratio": Field(Number(0.0, 2000.0), "equivalent length over bore", required=True),
        "source": _SOURCE,
    }
)
_TIGHTNESS = Table(
    {
        "medium": Field(Text(), "what the line is filled with", required=True),
        "pressure": Field(of(units.PRESSURE, "0.1 kPa", "1000 kPa"), "the test pressure", required=True),
        "settle": Field(of(units.TIME, "0 s", "2 h"), "the time to settle"),
        "hold": Field(of(units.TIME, "1 s", "72 h"), "the time of the test"),
        "allowed-fall": Field(of(units.PRESSURE, "0 Pa", "100 kPa"), "the fall that is allowed", required=True),
        "note": Field(Text(400), "what to mind with it"),
        "source": _SOURCE,
    }
)
_RULE = Table(
    {
        "title": _TITLE,
        "source": _SOURCE,
        "applies-to": Field(Text(), "where the rule set applies"),
        "drop": Field(DROP, "the allowed drop", required=True),
        "nominal": Field(Either(GAUGE, Named(GAUGE)), "the nominal pressure, or one a gas", required=True),
        "nominal-source": Field(Text(400), "where the nominal pressure stands"),
        "caution": Field(Text(600), "what to mind", required=True),
        "tightness": Field(_TIGHTNESS, "the figures of the tightness test"),
    }
)
_APPLIANCE = Table(
    {
        "title": _TITLE,
        "input": Field(HEAT, "the gas consumption", required=True),
        "basis": Field(BASIS, "gross or net"),
        "source": _SOURCE,
    }
)
_MATERIAL = Table(
    {
        "density": Field(of(units.DENSITY, "100 kg/m3", "20000 kg/m3"), "density"),
        "source": _SOURCE,
    }
)
_KINDS: dict[str, Kind] = {"pipes": _FAMILY, "fittings": _FITTING, "rules": _RULE, "appliances": _APPLIANCE}


class Catalogue:
    """All that a job file may name, the workshop's own library files laid over the project's data.

    Raises Problems where a library file can't be read; the project's own data is read when first asked for.
    """

    def __init__(self, libraries: Sequence[str] = ()) -> None:
        self._entries: dict[str, dict[str, Entry | None]] = {}
        self._made: dict[tuple[str, str], Any] = {}
        self._components: dict[str, Component] | None = None
        self._gases: dict[tuple[tuple[str, float], ...], Gas] = {}
        self._own: dict[str, dict[str, Entry | None]] = {}
        for file in libraries:
            self._add_library(file)

    def _add_library(self, file: str) -> None:
        source = Source(file)
        kinds = {kind: Field(Named(table), f"the {kind}, by name") for kind, table in _KINDS.items()}
        top = Table(kinds).read(document.compose(document.read_text(file), source), source, ())
        assert top is not None  # compose returns a mapping
        for kind in _KINDS:
            for name, (entry, node) in top.get(kind, {}).items():
                if entry is not None:
                    _check(kind, entry, source)
                if "/" in name and kind == "pipes":
                    source.add(node, (kind, name), "has a `/` in its name", "it separates the family from the size")
                self._own.setdefault(kind, {})[name] = entry
        source.raise_if_any()

    def _section(self, kind: str) -> dict[str, Entry | None]:
        """Return the entries of a kind by name."""
        found = self._entries.get(kind)
        if found is None:
            found = {name: entry for name, (entry, _) in _shipped(kind, _KINDS[kind]).items()}
            found.update(self._own.get(kind, {}))
            self._entries[kind] = found
        return found

    def names(self, kind: str) -> list[str]:
        """Return the names of a kind: `pipes` (the families), `fittings`, `rules` or `appliances`."""
        return list(self._section(kind))

    def entry(self, kind: str, name: str) -> Entry | None:
        """Return the entry of a name as the data file gives it, None if there is none."""
        return self._section(kind).get(name)

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
        if "materials" not in self._entries:
            self._entries["materials"] = {name: entry for name, (entry, _) in _shipped("materials", _MATERIAL).items()}
        entry = self._entries["materials"].get(material)
        return entry.get("density") if entry is not None else None

    def fitting(self, name: str) -> Fitting | None:
        """Return a fitting, None if there is none of that name."""
        key = ("fittings", name)
        if key not in self._made:
            entry = self.entry(*key)
            self._made[key] = Fitting(name, entry.get("ratio"), entry.get("source")) if entry else None
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

    # gases

    @property
    def components(self) -> dict[str, Component]:
        """The pure gases by name."""
        if self._components is None:
            self._components = {name: _component(name, row) for name, row in gas_data()["gases"].items()}
        return self._components

    @property
    def gas_names(self) -> list[str]:
        """The names of the pure gases."""
        return list(self.components)

    def gas(self, shares: tuple[tuple[str, float], ...]) -> Gas:
        """Return the mixture of these mole fractions, which add up to 1."""
        if shares not in self._gases:
            self._gases[shares] = Gas(tuple((self.components[name], share) for name, share in shares))
        return self._gases[shares]


def gas_data() -> dict[str, Any]:
    """Return data/gases.yaml: plain numbers in SI units, with the sources of each."""
    data: dict[str, Any] = yaml.load(_data("gases"), Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader))
    return data


def _component(name: str, row: dict[str, Any]) -> Component:
    figures: dict[str, Any] = {
        key: tuple(value) if isinstance(value, list) else value for key, value in row.items() if key != "source"
    }
    return Component(name=name, **figures)


def _data(kind: str) -> str:
    return resources.files("drawbar").joinpath(f"data/{kind}.yaml").read_text(encoding="utf-8")


def _shipped(kind: str, table: Kind) -> dict[str, tuple[Entry | None, Any]]:
    """Return the entries of one of the project's own data files."""
    source = Source(f"{kind}.yaml")
    read = Named(table).read(document.compose(_data(kind), source), source, ())
    for entry, _ in (read or {}).values():
        if entry is not None:
            _check(kind, entry, source)
    source.raise_if_any()
    return read or {}


def _bore_m(row: Entry) -> float:
    bore_m: float | None = row.get("bore")
    return bore_m if bore_m is not None else row.get("od") - 2.0 * row.get("wall")


def _check(kind: str, entry: Entry, source: Source) -> None:
    """Note what the keys of an entry don't say one by one: that a size has a bore, and one that is positive."""
    if kind != "pipes":
        return
    for size, (row, node) in entry.get("sizes", {}).items():
        if row is None:
            continue
        path = (*entry.path, "sizes", size)
        has_bore, has_wall = row.get("bore") is not None, row.get("od") is not None and row.get("wall") is not None
        if not has_bore and not has_wall:
            source.add(node, path, "has no bore", "write `bore:`, or `od:` and `wall:`")
        elif _bore_m(row) < 0.0005 or (row.get("od") is not None and _bore_m(row) >= row.get("od")):
            source.add(node, path, f"has a bore of {_bore_m(row) * 1000:g} mm", "od is bore and two walls")
