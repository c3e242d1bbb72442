"""Every kind of file and of output that has a JSON Schema, by the name that `drawbar schema --of` takes."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from drawbar.catalogue.catalogue import Catalogue
from drawbar.schemas.inputs import library_schema, prices_schema, readings_schema, stock_schema, swaps_schema
from drawbar.schemas.job_schema import job_schema
from drawbar.schemas.outputs import output_kinds, schema_of_output
from drawbar.schemas.walk import Schema


class SchemaKind(NamedTuple):
    """A kind of file, or of JSON that a command prints, that has a schema.

    Attributes
    ----------
    about : str
        What such a file is.
    build : callable
        Makes the schema of the names in a catalogue.
    is_input : bool
        Whether people write such files, so that editors want the schema beside them.
    """

    about: str
    build: Callable[[Catalogue], Schema]
    is_input: bool = True


# To add a kind, give it its line here: `drawbar schema --of`, its completion and `--install` follow.
SCHEMA_KINDS = {
    "job": SchemaKind("a job file", job_schema),
    "prices": SchemaKind("a price list, for `takeoff --prices` and `size --prices`", prices_schema),
    "stock": SchemaKind("a stock list, for `size --stock`", stock_schema),
    "library": SchemaKind("a workshop's library, for `--library`", library_schema),
    "readings": SchemaKind("manometer readings, for `commission`", readings_schema),
    "swaps": SchemaKind("appliances swapped, for `recheck --swaps`", swaps_schema),
    **{
        kind: SchemaKind(f"what `drawbar {kind} --format json` prints", schema_of_output(kind), is_input=False)
        for kind in output_kinds()
    },
}
