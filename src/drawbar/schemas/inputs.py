"""The JSON Schemas of the files beside the job: price list, stock list, library, readings and swaps."""

from __future__ import annotations

from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.data_files import plain_data
from drawbar.catalogue.library import LIBRARY
from drawbar.catalogue.tolerance_rows import TOLERANCES_OF_KINDS
from drawbar.materials.prices import prices_file
from drawbar.onsite.readings import READINGS_FILE
from drawbar.rechecking.swaps import SWAPS_FILE
from drawbar.schemas.job_schema import known_names, known_particulars, known_pipes
from drawbar.schemas.walk import Knowledge, KnownNames, Schema, names_schema, quantity_schema, said, whole_schema
from drawbar.sizing.stock import STOCK_FILE
from drawbar.yamlfile.bounds import HEAT

_MOST_DIGITS = 3  # decimals of a currency; a schema can't see which it is
_OWN_BORE = r"^bore \S+(?: \S+)*$"  # how a price list names a pipe that a job gives by its bore


def prices_schema(catalogue: Catalogue) -> Schema:
    """Return the JSON Schema of a price list; `catalogue` has the pipes that it may price."""
    known = Knowledge({"per-metre": known_pipes(catalogue, with_auto=False, others=_OWN_BORE)})
    return whole_schema("prices", "Drawbar price list", "What a job costs.", prices_file(_MOST_DIGITS), known)


def stock_schema(catalogue: Catalogue) -> Schema:
    """Return the JSON Schema of a stock list; `catalogue` has the pipes that may be in stock."""
    known = Knowledge({"stock": known_pipes(catalogue, with_auto=True)})
    return whole_schema("stock", "Drawbar stock list", "The sizes that a workshop has in stock.", STOCK_FILE, known)


def library_schema(catalogue: Catalogue) -> Schema:
    """Return the JSON Schema of a workshop's library; `catalogue` has the names that a library refers to.

    It is stricter than the reader in two names that the reader passes over: a material without a density here, and a
    nominal pressure of a gas that is none.
    """
    materials = dict.fromkeys(plain_data("materials"), "")
    known = Knowledge(
        {
            "material": KnownNames(materials, f"one of {', '.join(materials)}"),
            **known_particulars(),
            "nominal": KnownNames(dict.fromkeys(catalogue.gas_names, ""), "gases of `drawbar list gases`"),
            "tolerances": KnownNames(
                dict.fromkeys(TOLERANCES_OF_KINDS, ""), "a tolerance of `drawbar list tolerances`"
            ),
        }
    )
    about = "Pipes, fittings, rules, appliances and so on of a workshop's own."
    return whole_schema("library", "Drawbar library", about, LIBRARY, known)


def readings_schema(_catalogue: Catalogue) -> Schema:
    """Return the JSON Schema of manometer readings; its names are those of the job, so it needs no catalogue."""
    about = "What a manometer showed on a finished line."
    known = Knowledge({}, hints={"at": ("regulator",)})
    return whole_schema("readings", "Drawbar readings", about, READINGS_FILE, known)


def swaps_schema(catalogue: Catalogue) -> Schema:
    """Return the JSON Schema of a file of swaps; `catalogue` has the appliances that may be put in."""
    schema = whole_schema("swaps", "Drawbar swaps", "Appliances swapped for others.", SWAPS_FILE, Knowledge({}))
    new = known_names(catalogue, "appliances", "an appliance of `drawbar list appliances`, or a rate as `24 MJ/h`")
    schema["properties"]["swaps"]["additionalProperties"] = {
        "anyOf": [names_schema(new.names), quantity_schema(HEAT, "`24 MJ/h`")],
        **said(f"write {new.what}"),
    }
    return schema
