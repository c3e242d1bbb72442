"""The JSON Schema of what each command prints as JSON, from the shapes that stand in data/outputs.yaml."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from typing import Any

from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.data_files import plain_data
from drawbar.report.for_scripts import FORMAT
from drawbar.schemas.walk import Schema, head

_SHAPES = "shapes"  # the key of what several outputs share
_ONE_OF = "one of"
_PLAIN: dict[str, Schema] = {
    "text": {"type": "string"},
    "number": {"type": "number"},
    "count": {"type": "integer"},
    "flag": {"type": "boolean"},
    "null": {"type": "null"},
    "any": {},
    "verdict": {"enum": ["pass", "undecided", "fail"]},
}


@functools.cache
def _outputs() -> dict[str, Any]:
    outputs: dict[str, Any] = plain_data("outputs")
    return outputs


def output_kinds() -> list[str]:
    """Return the kinds of output that have a schema: the commands that print JSON."""
    return [kind for kind in _outputs() if kind != _SHAPES]


def schema_of_output(kind: str) -> Callable[[Catalogue], Schema]:
    """Return what makes the schema of a kind of output, which no catalogue has a part in."""
    return lambda _: output_schema(kind)


def output_schema(kind: str) -> Schema:
    """Return the JSON Schema (2020-12) of a command's JSON.

    Every key that it names must be there; others may be, as a later version may add some.

    Parameters
    ----------
    kind : str
        One of output_kinds().

    Returns
    -------
    dict of str to Any
        The schema of the whole document.

    Raises
    ------
    KeyError
        If there is no such kind.
    """
    walk = _Walk(_outputs()[_SHAPES])
    document = {
        "drawbar": "text",
        "kind": f"={kind}",
        "format": f"={FORMAT}",
        "libraries": ["library"],
        "problems": ["problem"],
        "asked": ["text"],
        "results": [_outputs()[kind]],
    }
    schema = walk.schema(document)
    return {
        **head(kind, f"What `drawbar {kind} --format json` prints", f"Format {FORMAT}. Units are in the keys."),
        **schema,
        "$defs": {name: walk.schema(walk.shapes[name]) for name in walk.used()},
    }


class _Walk:
    """The way through the shapes of an output; it keeps which of those that are shared are used.

    Attributes
    ----------
    shapes : dict
        The shapes that outputs share.
    """

    def __init__(self, shapes: dict[str, Any]) -> None:
        self.shapes = shapes
        self._used: list[str] = []

    def used(self) -> list[str]:
        """Return the names of the shapes that are used, also by those that are themselves used."""
        for name in self._used:  # grows as it is walked
            self.schema(self.shapes[name])
        return self._used

    def schema(self, shape: Any) -> Schema:
        """Return the schema of a shape."""
        if isinstance(shape, list):
            return {"type": "array", "items": self.schema(shape[0])}
        if isinstance(shape, dict):
            if _ONE_OF in shape:
                return {"anyOf": [self.schema(choice) for choice in shape[_ONE_OF]]}
            properties = {key: self.schema(value) for key, value in shape.items()}
            return {"type": "object", "properties": properties, "required": list(shape)}
        return self._of_word(str(shape))

    def _of_word(self, word: str) -> Schema:
        if word.endswith("?"):
            return {"anyOf": [{"type": "null"}, self._of_word(word[:-1])]}
        if word.startswith("["):
            return self.schema([word[1:-1]])
        if word.startswith("map "):
            return {"type": "object", "additionalProperties": self._of_word(word[4:])}
        return self._plain(word)

    def _plain(self, word: str) -> Schema:
        if word.startswith("="):
            return {"const": int(word[1:]) if word[1:].isdigit() else word[1:]}
        if "|" in word:
            return {"enum": re.split(r" *\| *", word)}
        if word in _PLAIN:
            return _PLAIN[word]
        if word not in self.shapes:
            raise KeyError(f"outputs.yaml: there is no shape {word!r}")
        if word not in self._used:
            self._used.append(word)
        return {"$ref": f"#/$defs/{word}"}
