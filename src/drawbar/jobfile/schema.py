"""The JSON Schema of the job file, made from the model that the reader uses, so that editors complete and check it.

An editor hands on what its own YAML makes of a plain value: `2` is a number there, and `yes` may be a boolean, where
the reader takes the text that stands. The schema takes both. It refuses nothing that the reader takes, but for a value
that is `null` or `~`, which an editor takes for nothing. It can't see what only the reader can: bounds of a quantity,
names that must exist, what several values say together.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drawbar import __version__, units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.jobfile.model import APPLIANCE, DEVICE, FITTINGS, JOB, PIPE
from drawbar.jobfile.pipework import AUTO
from drawbar.jobfile.state_fields import USE, SharesAndUse
from drawbar.physics.formulas import FORMULAS
from drawbar.yamlfile.fields import (
    MOST_NAME,
    Choice,
    Either,
    Field,
    ListOf,
    Name,
    Named,
    Number,
    OrNone,
    Quantity,
    Range,
    Record,
    TextLine,
)

if TYPE_CHECKING:
    from drawbar.yamlfile.fields import Kind

DIALECT = "https://json-schema.org/draft/2020-12/schema"
Schema = dict[str, Any]

# Patterns are in what Python's `re` and ECMA-262 have in common, as JSON Schema wants them.
_NAME = r"^\S+(?: \S+)*$"
_PIPE_NAME = r"^(?=[^/]+/.)\S+(?: \S+)*$"
_PLAIN = ["string", "number", "boolean"]  # what an editor's YAML may make of a text
_BOOLEANS = {"yes", "no", "on", "off", "true", "false"}  # the words that it may take for a boolean
_DEVICE_LIKE = "devices.like"  # its names are others than those of an appliance's `like`
_IN_BACKTICKS = re.compile("`([^`]+)`")

# Kinds that the model uses in several places, under the names they have in `$defs`.
_DEFINED: dict[str, Kind] = {"pipe": PIPE, "fittings": FITTINGS.kind, "device": DEVICE}
# What the reader asks of several keys of a table together.
_TOGETHER: tuple[tuple[Record, Schema], ...] = (
    (JOB, {"anyOf": [{"required": ["rule"]}, {"required": ["limits"]}]}),
    (
        DEVICE,
        {
            "anyOf": [{"required": ["name"]}, {"required": ["like"]}],
            "dependentRequired": {"flow": ["drop"], "drop": ["flow"]},
            "dependentSchemas": {"like": {"properties": {"flow": False, "drop": False, "basis": False}}},
        },
    ),
    (
        APPLIANCE,
        {
            "oneOf": [{"required": ["at"]}, {"required": ["plugs-into"]}],
            "dependentRequired": {"hose": ["plugs-into"]},
        },
    ),
)


@dataclass(frozen=True, slots=True)
class _Known:
    """The names that the catalogue has for a key.

    Attributes
    ----------
    names : mapping of str to str
        What each is, by name.
    form : str or None
        The pattern of other names, which a workshop's library may have; None where there can be no others.
    """

    names: Mapping[str, str]
    form: str | None = _NAME


def job_schema(catalogue: Catalogue) -> Schema:
    """Return the JSON Schema (2020-12) of the job file.

    Parameters
    ----------
    catalogue : Catalogue
        What there is to complete: the names that a job file may use.

    Returns
    -------
    dict of str to Any
    """
    walk = _Walk(_known(catalogue))
    version = ".".join(__version__.split(".")[:2])
    return {
        "$schema": DIALECT,
        "$id": f"urn:drawbar:job:{version}",
        "title": "Drawbar job file",
        "description": "The low-pressure LPG line of a trailer, caravan, van, boat or small fixed job.",
        **walk.kind(JOB),
        "$defs": {name: walk.inline(kind, name, "") for name, kind in _DEFINED.items()},
    }


def _known(catalogue: Catalogue) -> dict[str, _Known]:
    """Return the names that the catalogue has, by the key of the job file that they stand at."""

    def titles(kind: str) -> dict[str, str]:
        return {name: catalogue.title(kind, name) for name in catalogue.names(kind)}

    sizes = {family: catalogue.sizes(family) or {} for family in catalogue.names("pipes")}
    pipes = [f"{family}/{size}" for family, rows in sizes.items() for size in (AUTO, *rows)]
    return {
        "gas": _Known(dict.fromkeys(catalogue.gas_names, ""), None),
        "formula": _Known({name: formula.title for name, formula in FORMULAS.items()}, None),
        "rule": _Known(titles("rules")),
        "pipe": _Known(dict.fromkeys(pipes, ""), _PIPE_NAME),
        "fittings": _Known(titles("fittings")),
        "like": _Known(titles("appliances")),
        _DEVICE_LIKE: _Known(titles("devices")),
    }


class _Walk:
    """A walk through the model: a kind stands at a key of the job file, and `about` is what the model says of it."""

    def __init__(self, known: Mapping[str, _Known]) -> None:
        self.known = known

    def kind(self, kind: Kind, key: str = "", about: str = "") -> Schema:
        """Return the schema of a kind, by reference where it is defined once for several places."""
        for name, defined in _DEFINED.items():
            if kind is defined:
                return {"$ref": f"#/$defs/{name}"}
        return self.inline(kind, key, about)

    def inline(self, kind: Kind, key: str, about: str) -> Schema:  # noqa: C901, PLR0911 - a case for each kind of field
        """Return the schema of a kind, written out."""
        match kind:
            case TextLine():
                return _text(kind)
            case Quantity():
                return _quantity(kind, about)
            case Number():
                return _number(kind)
            case Choice():
                return _choice(kind)
            case Name():
                return _name(self.known.get(key))
            case ListOf():
                items = self.kind(kind.kind, key)
                several: Schema = {"type": "array", "items": items, "minItems": 1, "maxItems": kind.most}
                return {"anyOf": [items, several]} if kind.or_one else several
            case Named():
                return self._named(kind, key)
            case SharesAndUse():
                return self._shares_and_use(kind, key)
            case Either():
                return {"anyOf": [self.kind(kind.plain, key, about), self.kind(kind.mapping, key)]}
            case OrNone():
                return {"anyOf": [{"enum": ["none"]}, self.kind(kind.kind, key, about)]}
            case Range():
                return _range(kind, about)
            case Record():
                return self._table(kind)
        raise TypeError(f"{type(kind).__name__} has no schema")

    def _field(self, key: str, field: Field, table: Record | None = None) -> Schema:
        known_as = _DEVICE_LIKE if table is DEVICE and key == "like" else key
        schema = self.kind(field.kind, known_as, field.about)
        form = schema.get("description")
        return {**schema, "description": f"{field.about}: {form}" if form else field.about}

    def _table(self, table: Record) -> Schema:
        together = next((rules for of, rules in _TOGETHER if of is table), {})
        return {
            "type": "object",
            "properties": {key: self._field(key, field, table) for key, field in table.fields.items()},
            "required": [key for key, field in table.fields.items() if field.required],
            "additionalProperties": False,
            **together,
        }

    def _shares_and_use(self, kind: SharesAndUse, key: str) -> Schema:
        use = {name: self._field(name, field) for name, field in USE.items()}
        return {**self._named(kind.shares, key), "properties": use, "dependentRequired": {"every": ["for"]}}

    def _named(self, named: Named, key: str) -> Schema:
        known = self.known.get(key)
        value = self.kind(named.kind)
        schema: Schema = {"type": "object", "minProperties": 0 if named.or_empty else 1, "maxProperties": named.most}
        if known is not None:  # under `properties` as well, since editors complete keys from there
            schema["properties"] = {
                name: {**value, "description": title} if title else value for name, title in known.names.items()
            }
        if known is not None and known.form is None:
            return {**schema, "additionalProperties": False}
        names = {"pattern": _NAME, "maxLength": MOST_NAME}
        return {**schema, "propertyNames": names, "additionalProperties": value}


def _text(kind: TextLine) -> Schema:
    """Return the schema of a text: its length counts every stretch of white space as one, as the reader folds them."""
    return {"type": _PLAIN, "pattern": rf"^\s*(?=\S)(?:\S|\s+(?=\S)){{1,{kind.most}}}\s*$"}


def _quantity(kind: Quantity, about: str) -> Schema:
    # The longer first, so that a pattern never stops at `m` of `mm`.
    spellings = sorted(units.spellings(*kind.dimensions), key=len, reverse=True)
    pattern = rf"^(?:{units.NUMBER})\s*(?:{'|'.join(map(re.escape, spellings))})$"
    schema: Schema = {"type": "string", "pattern": pattern, "maxLength": units.MOST_LETTERS}
    listed = units.listed([unit for dimension in kind.dimensions for unit in dimension.units])
    schema["description"] = f"a number and {listed}, from {kind.low} to {kind.high}"
    # What common editors say, in place of the pattern; to all else it is a note, as any keyword that is not known.
    schema["patternErrorMessage"] = schema["errorMessage"] = f"write a number and {listed}"
    examples = [text for text in _IN_BACKTICKS.findall(about) if re.search(pattern, text)]
    return {**schema, "examples": examples} if examples else schema


def _range(kind: Range, about: str) -> Schema:
    """Return the schema of a quantity, or of two ends of which the first may leave its unit out."""
    schema = _quantity(kind.kind, about)
    figure = schema["pattern"].removeprefix("^").removesuffix("$")
    pattern = rf"^(?:\s*(?:{figure}|{units.NUMBER})\s* to \s*{figure}\s*|{figure})$"
    return {**schema, "pattern": pattern, "maxLength": 2 * units.MOST_LETTERS + len(" to ")}


def _number(kind: Number) -> Schema:
    """Return the schema of a number, or of its text."""
    form = "integer" if kind.whole else "number"
    pattern = r"^[+-]?[0-9]{1,9}$" if kind.whole else r"^[+-]?[0-9]{1,9}(?:\.[0-9]{1,12})?$"
    return {"type": [form, "string"], "minimum": kind.low, "maximum": kind.high, "pattern": pattern}


def _choice(kind: Choice) -> Schema:
    words: list[str | bool] = list(kind.words)
    return {"enum": [*words, True, False] if _BOOLEANS.intersection(kind.words) else words}


def _name(known: _Known | None) -> Schema:
    if known is None:
        return {"type": _PLAIN, "pattern": _NAME, "maxLength": MOST_NAME}
    if known.form is None:
        return {"enum": list(known.names)}
    others = {"type": "string" if known.form is _PIPE_NAME else _PLAIN, "pattern": known.form, "maxLength": MOST_NAME}
    return {"anyOf": [{"enum": list(known.names)}, others]}
