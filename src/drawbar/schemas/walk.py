"""From the model that a reader uses to a JSON Schema, so that editors complete and check a file as the reader does.

An editor hands on what its own YAML makes of a plain value: `2` is a number there, and `yes` may be a boolean, where
the reader takes the text that stands. The schema takes both. It refuses nothing that the reader takes, but for a value
that is `null` or `~`, which an editor takes for nothing. It can't see what only the reader can: bounds of a quantity,
names that the file itself must have, what several values say together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from drawbar import __version__, unit_words, units
from drawbar.jobfile.gas_fields import OF, STATES, Mixture
from drawbar.jobfile.space_fields import OneOrSeveral
from drawbar.jobfile.state_fields import USE, SharesAndUse
from drawbar.yamlfile.fields import Either, Field, ListOf, Named, OrNone, Range, Record
from drawbar.yamlfile.scalars import MOST_NAME, Choice, Name, Number, Quantity, TextLine

if TYPE_CHECKING:
    from drawbar.yamlfile.fields import Kind

DIALECT = "https://json-schema.org/draft/2020-12/schema"
URN = "urn:drawbar:"
Schema = dict[str, Any]

# Patterns are in what Python's `re` and ECMA-262 have in common, as JSON Schema wants them.
NAME_PATTERN = r"^\S+(?: \S+)*$"
# One value, whatever an editor's YAML makes of it. To name the types would make an editor offer `true` and `false`.
_NO_TABLE: Schema = {"not": {"type": ["object", "array", "null"]}}
_BOOLEANS = {"yes", "no", "on", "off", "true", "false"}  # the words that it may take for a boolean
_IN_BACKTICKS = re.compile("`([^`]+)`")


@dataclass(frozen=True, slots=True)
class KnownNames:
    """The names that may stand at a key.

    Attributes
    ----------
    names : mapping of str to str
        What each is, by name; these an editor completes.
    what : str
        What they are, as an editor says of a name that is none of them.
    others : str or None
        The pattern of names that may stand there beside these; None where there can be no others.
    """

    names: Mapping[str, str]
    what: str
    others: str | None = None


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What a schema says beyond the model.

    Attributes
    ----------
    names : mapping of str to KnownNames
        By the key that they stand at.
    elsewhere : sequence of tuple
        A table, a key of it, and the name in `names` of what stands there, where that is not the key.
    together : sequence of tuple
        A table, and what the reader asks of several of its keys together.
    defined : mapping of str to Kind
        Kinds that the model uses in several places, under the names they have in `$defs`.
    hints : mapping of str to sequence of str
        Words that may stand at a key beside names of the file itself.
    """

    names: Mapping[str, KnownNames]
    elsewhere: Sequence[tuple[Record, str, str]] = ()
    together: Sequence[tuple[Record, Schema]] = ()
    defined: Mapping[str, Kind] | None = None
    hints: Mapping[str, Sequence[str]] | None = None


def whole_schema(of: str, title: str, about: str, model: Kind, known: Knowledge) -> Schema:
    """Return the JSON Schema (2020-12) of a file.

    Parameters
    ----------
    of : str
        The kind of file, for the schema's name.
    title, about : str
        What the file is called, and what it holds.
    model : Kind
        What the file may hold.
    known : Knowledge
        The names that may stand in it, and what holds between keys.

    Returns
    -------
    dict of str to Any
    """
    walk = _Walk(known)
    schema = {**head(of, title, about), **walk.kind(model)}
    if known.defined:
        schema["$defs"] = {name: walk.inline(kind, name, "") for name, kind in known.defined.items()}
    return schema


def head(of: str, title: str, about: str) -> Schema:
    """Return how the schema of a kind of file begins: the dialect, its own name with the version, what it is of."""
    version = ".".join(__version__.split(".")[:2])
    return {"$schema": DIALECT, "$id": f"{URN}{of}:{version}", "title": title, "description": about}


class _Walk:
    """A walk through the model: a kind stands at a key of the file, and `about` is what the model says of it."""

    def __init__(self, known: Knowledge) -> None:
        self.known = known
        self.defined = known.defined or {}
        self.hints = known.hints or {}

    def kind(self, kind: Kind, key: str = "", about: str = "") -> Schema:
        """Return the schema of a kind, by reference where it is defined once for several places."""
        for name, defined in self.defined.items():
            if kind is defined:
                return {"$ref": f"#/$defs/{name}"}
        return self.inline(kind, key, about)

    def inline(self, kind: Kind, key: str, about: str) -> Schema:  # noqa: C901, PLR0911, PLR0912 - a case a kind of field
        """Return the schema of a kind, written out."""
        match kind:
            case TextLine():
                return _text(kind)
            case Quantity():
                return quantity_schema(kind, about)
            case Number():
                return _number(kind)
            case Choice():
                return _choice(kind)
            case Name():
                return self._name(key)
            case ListOf():
                items = self.kind(kind.kind, key)
                several: Schema = {"type": "array", "items": items, "minItems": 1, "maxItems": kind.most}
                return {"anyOf": [items, several]} if kind.or_one else several
            case Named():
                return self._named(kind, key)
            case Mixture():
                return self._mixture(kind, key)
            case SharesAndUse():
                return self._shares_and_use(kind, key)
            case OneOrSeveral():
                return {"anyOf": [self.kind(kind.single, key, about), self.kind(kind.several, key)]}
            case Either():
                return {"anyOf": [self.kind(kind.plain, key, about), self.kind(kind.mapping, key)]}
            case OrNone():
                return {"anyOf": [{"enum": ["none"]}, self.kind(kind.kind, key, about)]}
            case Range():
                return _range(kind, about)
            case Record():
                return self._table(kind)
        own = getattr(kind, "schema", None)  # a kind that a room has for itself brings its own
        if own is None:
            raise TypeError(f"{type(kind).__name__} has no schema")
        schema: Schema = own()
        return schema

    def _field(self, key: str, field: Field, table: Record | None = None) -> Schema:
        known_as = next((name for of, at, name in self.known.elsewhere if of is table and at == key), key)
        schema = self.kind(field.kind, known_as, field.about)
        form = schema.get("description")
        return {**schema, "description": f"{field.about}: {form}" if form else field.about}

    def _table(self, table: Record) -> Schema:
        together = next((rules for of, rules in self.known.together if of is table), {})
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

    def _mixture(self, kind: Mixture, key: str) -> Schema:
        schema = self._named(kind.shares, key)
        of = {**_choice(STATES), "description": "whether the shares are of the liquid in the bottle or of the vapour"}
        return {**schema, "properties": {**schema.get("properties", {}), OF: of}}

    def _named(self, named: Named, key: str) -> Schema:
        known = self.known.names.get(key)
        value = self.kind(named.kind)
        schema: Schema = {"type": "object", "minProperties": 0 if named.or_empty else 1, "maxProperties": named.most}
        names: Schema = {"pattern": NAME_PATTERN, "maxLength": MOST_NAME}
        if known is None:
            return {**schema, "propertyNames": names, "additionalProperties": value}
        # Under `properties` as well, since editors complete keys from there.
        schema["properties"] = {
            name: {**value, "description": title} if title else value for name, title in known.names.items()
        }
        if known.others is None:
            return {**schema, "additionalProperties": False}
        return {**schema, "patternProperties": {known.others: value}, "additionalProperties": False}

    def _name(self, key: str) -> Schema:
        known = self.known.names.get(key)
        if known is None:
            hints = self.hints.get(key)
            about = said("write a name of up to 60 characters")
            name = {**_NO_TABLE, "pattern": NAME_PATTERN, "maxLength": MOST_NAME, **about}
            return {**name, "examples": list(hints)} if hints else name
        about = said(f"write {known.what}")
        listed: Schema = {"enum": list(known.names), **about}
        if known.others is None:
            return listed
        return {"anyOf": [listed, {"type": "string", "pattern": known.others, "maxLength": MOST_NAME}], **about}


def said(message: str) -> Schema:
    """Return the keywords by which common editors say a sentence in place of their own; to all else they are notes."""
    return {"patternErrorMessage": message, "errorMessage": message}


def _text(kind: TextLine) -> Schema:
    """Return the schema of a text: its length counts every stretch of white space as one, as the reader folds them."""
    pattern = rf"^\s*(?=\S)(?:\S|\s+(?=\S)){{1,{kind.most}}}\s*$"
    return {**_NO_TABLE, "pattern": pattern, **said(f"write a line of text of up to {kind.most} characters")}


def quantity_schema(kind: Quantity, about: str = "") -> Schema:
    """Return the schema of a number and a unit; `about` may have examples in backquotes."""
    pattern = units.pattern_of(*kind.dimensions)
    schema: Schema = {"type": "string", "pattern": pattern, "maxLength": units.MOST_LETTERS}
    listed = units.listed([unit for dimension in kind.dimensions for unit in dimension.units])
    schema["description"] = f"a number and {listed}, from {kind.low} to {kind.high}"
    schema.update(said(f"write a number and {listed}"))
    examples = [text for text in _IN_BACKTICKS.findall(about) if re.search(pattern, text)]
    return {**schema, "examples": examples} if examples else schema


def _range(kind: Range, about: str) -> Schema:
    """Return the schema of a quantity, or of two ends of which the first may leave its unit out."""
    schema = quantity_schema(kind.kind, about)
    figure = schema["pattern"].removeprefix("^").removesuffix("$")
    pattern = rf"^(?:\s*(?:{figure}|{unit_words.NUMBER})\s* to \s*{figure}\s*|{figure})$"
    return {**schema, "pattern": pattern, "maxLength": 2 * units.MOST_LETTERS + len(" to ")}


def _number(kind: Number) -> Schema:
    """Return the schema of a number, or of its text."""
    form = "integer" if kind.whole else "number"
    pattern = r"^[+-]?[0-9]{1,9}$" if kind.whole else r"^[+-]?[0-9]{1,9}(?:\.[0-9]{1,12})?$"
    return {"type": [form, "string"], "minimum": kind.low, "maximum": kind.high, "pattern": pattern}


def _choice(kind: Choice) -> Schema:
    words: list[str | bool] = list(kind.words)
    return {"enum": [*words, True, False] if _BOOLEANS.intersection(kind.words) else words}


def names_schema(names: Iterable[str]) -> Schema:
    """Return the schema of one of some names."""
    return {"enum": list(names)}
