"""All that a job file may name, looked up by name: the workshop's libraries laid over the project's data files.

What a library names replaces what the project has under that name, where the library says so.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from drawbar.catalogue.appliance_types import ApplianceType, appliance_type
from drawbar.catalogue.bottle_sizes import BottleSize, Vaporisation, bottle_size
from drawbar.catalogue.data_files import DataFile, plain_data
from drawbar.catalogue.fittings import FittingRow, fitting_row
from drawbar.catalogue.pipe_families import PipeFamily, pipe_family
from drawbar.catalogue.pure_gases import pure_gas, pure_gas_names
from drawbar.catalogue.rule_sets import RuleRow, TightnessRow, rule_row, tightness_row
from drawbar.catalogue.tolerance_rows import ToleranceRow, all_tolerances, tolerance_row
from drawbar.catalogue.typical_devices import TypicalDevice, typical_device
from drawbar.job import Fitting, Pipe
from drawbar.particulars import NONE_GIVEN
from drawbar.physics.component import Component
from drawbar.physics.gas import Gas
from drawbar.rules import Rule, TightnessTest, Tolerances
from drawbar.yamlfile.entry import Entry
from drawbar.yamlfile.nodes import Position

if TYPE_CHECKING:
    from yaml.nodes import Node

    from drawbar.catalogue.library import LibraryUsed

_Row = TypeVar("_Row")
_SAME_BOTTLE = 0.002  # two sizes of bottle are one within this; 9 kg and 20 lb are 0.8 % apart


class Catalogue:
    """All that a job file may name: pipes, fittings, rule sets, gases, bottles and appliance types.

    Parameters
    ----------
    libraries : sequence of str
        The paths of the workshop's library files; the later has the say over the earlier.

    Attributes
    ----------
    libraries : tuple of LibraryUsed
        The libraries, with the rows of the project's own that they replace.
    particulars : Particulars
        What the libraries say of the workshop.

    Raises
    ------
    Problems
        Where a library file can't be read; the project's own data is read when first asked for.
    """

    def __init__(self, libraries: Sequence[str] = ()) -> None:
        self.libraries: tuple[LibraryUsed, ...] = ()
        self.particulars = NONE_GIVEN
        self._library: dict[str, dict[str, tuple[Entry, Position]]] = {}
        self._files: dict[str, DataFile] = {}
        self._rows: dict[tuple[str, str], Any] = {}
        self._sizes: dict[str, dict[str, Pipe]] = {}
        self._components: dict[str, Component] = {}
        self._gases: dict[tuple[tuple[str, float], ...], Gas] = {}
        self._tolerances: Tolerances | None = None
        if libraries:
            from drawbar.catalogue.library import read_library
        for file in libraries:
            by_kind, used = read_library(file)
            self.libraries = (*self.libraries, used)
            self.particulars = used.particulars.over(self.particulars)
            for kind, rows in by_kind.items():
                self._library.setdefault(kind, {}).update(rows)

    def names(self, kind: str) -> list[str]:
        """Return the names of a kind: `pipes` (the families), `fittings`, `rules`, `appliances` and so on."""
        return list(dict.fromkeys((*self._file(kind).names, *self._library.get(kind, {}))))

    def library_rows(self, kind: str) -> dict[str, Node]:
        """Return the rows of a kind that stand in libraries, by name."""
        return {name: entry.node for name, (entry, _) in self._library.get(kind, {}).items()}

    def _file(self, kind: str) -> DataFile:
        if kind not in self._files:
            self._files[kind] = DataFile(kind)
        return self._files[kind]

    def _row(self, kind: str, name: str, build: Callable[[str, Entry, Position], _Row]) -> _Row | None:
        """Return what a row says, worked out once; None if there is none of that name."""
        key = (kind, name)
        if key not in self._rows:
            read = self._library.get(kind, {}).get(name) or self._file(kind).entry(name)
            self._rows[key] = build(name, *read) if read is not None else None
        row: _Row | None = self._rows[key]
        return row

    # pipes

    def pipe_family(self, name: str) -> PipeFamily | None:
        """Return a family of pipe, None if there is none of that name."""
        return self._row("pipes", name, pipe_family)

    def sizes(self, family: str) -> dict[str, Pipe] | None:
        """Return the pipes of a family by size, smallest bore first; None if there is no such family."""
        if family not in self._sizes:
            row = self.pipe_family(family)
            if row is None:
                return None
            material = self.entry("materials", row.material)
            density_kg_m3 = material.quantity("density") if material is not None else None
            own = None if row.gives_tolerances else self.tolerance_row("own-bore")
            own_bore = (own.share or 0.0, f"none given: {own.source}") if own is not None else ()
            self._sizes[family] = row.pipes(density_kg_m3, *own_bore)
        return self._sizes[family]

    # fittings, devices, rule sets, appliance types

    def fitting_row(self, name: str) -> FittingRow | None:
        """Return a fitting with its title, None if there is none of that name."""
        return self._row("fittings", name, fitting_row)

    def fitting(self, name: str) -> Fitting | None:
        """Return a fitting, None if there is none of that name."""
        row = self.fitting_row(name)
        return row.fitting if row is not None else None

    def device(self, name: str) -> TypicalDevice | None:
        """Return a part with what it typically takes, None if there is none of that name."""
        return self._row("devices", name, typical_device)

    def rule_row(self, name: str) -> RuleRow | None:
        """Return a rule set with where it applies and its tightness test, None if there is none of that name."""
        return self._row("rules", name, rule_row)

    def rule(self, name: str) -> Rule | None:
        """Return a rule set, None if there is none of that name."""
        row = self.rule_row(name)
        return row.rule if row is not None else None

    def rules_with_drop(self) -> list[str]:
        """Return the names of the rule sets that have an allowed drop, so that a job needs no limits beside them."""
        return [name for name in self.names("rules") if (rule := self.rule(name)) and rule.drop_pa is not None]

    def tightness_test(self, name: str) -> TightnessTest | None:
        """Return a tightness test that stands by itself or that of a rule set, None if there is none of that name."""
        row: TightnessRow | RuleRow | None = self._row("tightness", name, tightness_row) or self.rule_row(name)
        return row.test if row is not None else None

    def tightness_tests(self) -> list[str]:
        """Return the names that tightness_test knows."""
        rules = [name for name in self.names("rules") if self.tightness_test(name) is not None]
        return rules + [name for name in self.names("tightness") if name not in rules]

    def appliance(self, name: str) -> ApplianceType | None:
        """Return an appliance type with its typical input, None if there is none of that name."""
        return self._row("appliances", name, appliance_type)

    def title(self, kind: str, name: str) -> str:
        """Return what a fitting, a device, a rule set or an appliance type is, in words."""
        match kind:
            case "fittings":
                fitting = self.fitting_row(name)
                return fitting.title if fitting is not None else ""
            case "rules":
                rule = self.rule(name)
                return rule.title if rule is not None else ""
            case "cylinders":
                bottle = self.bottle_called(name)
                return bottle.title if bottle is not None else ""
            case "devices":
                device = self.device(name)
                return device.title if device is not None else ""
            case _:
                appliance = self.appliance(name)
                return appliance.title if appliance is not None else ""

    # tolerances

    def tolerance_row(self, name: str) -> ToleranceRow | None:
        """Return the tolerance of a kind with its title, None if there is none of that name."""
        return self._row("tolerances", name, tolerance_row)

    def tolerances(self) -> Tolerances:
        """Return how far a line as built may be from the line as drawn, by kind."""
        if self._tolerances is None:
            self._tolerances = all_tolerances(self.tolerance_row)
        return self._tolerances

    # bottles

    def bottle(self, gas_kg: float) -> BottleSize | None:
        """Return the usual size of metal that holds gas_kg [kg] when full; None if there is none."""
        sizes = [size for size in self.bottle_sizes if not size.is_composite]
        nearest = min(sizes, key=lambda size: abs(size.gas_kg - gas_kg))
        return nearest if abs(nearest.gas_kg - gas_kg) <= _SAME_BOTTLE * gas_kg else None

    def bottle_called(self, name: str) -> BottleSize | None:
        """Return the usual size of a name, None if there is none."""
        return self._row("cylinders", name, bottle_size)

    @functools.cached_property
    def bottle_sizes(self) -> list[BottleSize]:
        """The usual sizes of bottles, those of a workshop's library among them."""
        sizes = [self._row("cylinders", name, bottle_size) for name in self.names("cylinders")]
        return [size for size in sizes if size is not None]

    @functools.cached_property
    def vaporisation(self) -> Vaporisation:
        """How heat gets into a bottle, and how low its pressure may fall."""
        return Vaporisation(**plain_data("vaporisation"))

    # gases

    @property
    def gas_names(self) -> list[str]:
        """The names of the pure gases."""
        return pure_gas_names()

    def component(self, name: str) -> Component:
        """Return a pure gas; KeyError if there is none of that name."""
        if name not in self._components:
            self._components[name] = pure_gas(name)
        return self._components[name]

    def gas(self, shares: tuple[tuple[str, float], ...]) -> Gas:
        """Return the mixture of these mole fractions, which add up to 1."""
        if shares not in self._gases:
            self._gases[shares] = Gas(tuple((self.component(name), share) for name, share in shares))
        return self._gases[shares]

    def entry(self, kind: str, name: str) -> Entry | None:
        """Return a row as its file gives it, None if there is none; what is typed comes from the calls above."""
        read = self._library.get(kind, {}).get(name) or self._file(kind).entry(name)
        return read[0] if read is not None else None


@functools.cache
def shipped_catalogue() -> Catalogue:
    """Return the project's own catalogue, without a workshop's library, read once."""
    return Catalogue()
