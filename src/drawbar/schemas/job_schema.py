"""The JSON Schema of the job file: the reader's model, the catalogue's names, and what holds between its keys."""

from __future__ import annotations

from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.particulars_fields import USUAL
from drawbar.job import ROOT
from drawbar.jobfile.appliances import ANY, NO_HOSE
from drawbar.jobfile.device_fields import OF_A_FIGURE
from drawbar.jobfile.model import APPLIANCE, CYLINDERS, DEVICE, FITTINGS, JOB, PIPE
from drawbar.jobfile.pipework import AUTO
from drawbar.jobfile.space_fields import INSIDE, OUTSIDE, SPACE
from drawbar.physics.formulas import FORMULAS
from drawbar.schemas.walk import NAME_PATTERN, Knowledge, KnownNames, Schema, whole_schema
from drawbar.yamlfile.fields import Record

_DEVICE_LIKE = "devices.like"  # its names are others than those of an appliance's `like`
_BOTTLE_LIKE = "cylinders.like"
# What the reader asks of several keys of a table together.
_TOGETHER: tuple[tuple[Record, Schema], ...] = (
    (
        SPACE,
        {
            "anyOf": [{"required": ["berths", "vents"]}, {"required": ["bottles"]}],
            "dependentRequired": {"drain": ["bottles"]},
        },
    ),
    (
        DEVICE,
        {
            "anyOf": [{"required": ["name"]}, {"required": ["like"]}],
            "dependentRequired": {"flow": ["drop"], "drop": ["flow"]},
            "dependentSchemas": {"like": {"properties": dict.fromkeys(OF_A_FIGURE, False)}},
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


def job_schema(catalogue: Catalogue) -> Schema:
    """Return the JSON Schema (2020-12) of the job file.

    Parameters
    ----------
    catalogue : Catalogue
        The names that a job file may use; a file that names what a workshop's library has needs that library in it.

    Returns
    -------
    dict of str to Any
    """
    of_rules = {
        "enum": [row.rule.name for row in map(catalogue.rule_row, catalogue.names("rules")) if row and row.rule.no_drop]
    }
    about_limits: Schema = {
        "anyOf": [{"required": ["rule"]}, {"required": ["limits"]}],
        "if": {"properties": {"rule": of_rules}, "required": ["rule"]},
        "then": {"required": ["limits"]},
    }
    known = Knowledge(
        {
            "gas": KnownNames(dict.fromkeys(catalogue.gas_names, ""), "a gas of `drawbar list gases`"),
            "formula": KnownNames(
                {name: formula.title for name, formula in FORMULAS.items()}, "a formula of `drawbar list formulas`"
            ),
            "rule": known_names(catalogue, "rules", "a rule set of `drawbar list rules`"),
            "pipe": known_pipes(catalogue, with_auto=True),
            "fittings": known_names(catalogue, "fittings", "fittings of `drawbar list fittings`"),
            "like": known_names(catalogue, "appliances", "an appliance of `drawbar list appliances`"),
            **known_particulars(),
            _DEVICE_LIKE: known_names(catalogue, "devices", "a device of `drawbar list devices`"),
            _BOTTLE_LIKE: known_names(catalogue, "cylinders", "a bottle of `drawbar list bottles`"),
        },
        elsewhere=[(DEVICE, "like", _DEVICE_LIKE), (CYLINDERS, "like", _BOTTLE_LIKE)],
        together=[(JOB, about_limits), *_TOGETHER],
        defined={"pipe": PIPE, "fittings": FITTINGS.kind, "device": DEVICE},
        hints={"from": (ROOT,), "plugs-into": (ANY,), "hose": (ANY, NO_HOSE), "used": (INSIDE, OUTSIDE)},
    )
    about = "The low-pressure LPG line of a trailer, caravan, van, boat or small fixed job."
    return whole_schema("job", "Drawbar job file", about, JOB, known)


def known_particulars() -> dict[str, KnownNames]:
    """Return the usual fields of workshop, customer, vehicle and installer, beside which others may stand."""
    return {
        what: KnownNames(dict.fromkeys(fields, ""), "a name for the field", others=NAME_PATTERN)
        for what, fields in USUAL.items()
    }


def known_names(catalogue: Catalogue, kind: str, what: str) -> KnownNames:
    """Return the names of a kind that the catalogue has, each with its title."""
    return KnownNames({name: catalogue.title(kind, name) for name in catalogue.names(kind)}, what)


def known_pipes(catalogue: Catalogue, *, with_auto: bool, others: str | None = None) -> KnownNames:
    """Return the pipes that the catalogue has, as `family/size`, and `family/auto` where any size may stand."""
    sizes = {family: catalogue.sizes(family) or {} for family in catalogue.names("pipes")}
    first = (AUTO,) if with_auto else ()
    labels = [f"{family}/{size}" for family, rows in sizes.items() for size in (*first, *rows)]
    if with_auto:  # where a job names its pipe, it may be by what the trade calls the size
        others = _trade_pipes(catalogue)
    return KnownNames(dict.fromkeys(labels, ""), "a pipe of `drawbar list pipes`, as `as1432-b/12.70`", others=others)


def _trade_pipes(catalogue: Catalogue) -> str:
    """Return the pattern of every `family/size` by what the size is also called."""
    families = (catalogue.pipe_family(name) for name in catalogue.names("pipes"))
    return "|".join(
        f"^{family.name}/(?:{'|'.join(dict.fromkeys(family.trade_names))})$"
        for family in families
        if family is not None and family.trade_names
    )
