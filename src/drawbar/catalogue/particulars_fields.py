"""The fields of a job file and of a workshop's library that say who, for whom and on what."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, NamedTuple

from drawbar.particulars import LOGO, NAME, NONE_GIVEN, Fields, Particulars
from drawbar.problems import shown
from drawbar.yamlfile.fields import Either, Field, Named
from drawbar.yamlfile.scalars import TextLine

if TYPE_CHECKING:
    from yaml.nodes import Node

    from drawbar.yamlfile.entry import Entry
    from drawbar.yamlfile.nodes import Source

_MOST_FIELDS = 20
_FIELDS = Either(TextLine(), Named(TextLine(), most=_MOST_FIELDS))

WORKSHOP = Field(
    _FIELDS, "who does the work, as `{business: ..., licence: ..., phone: ..., address: ..., logo: logo.png}`"
)
PARTICULARS = {
    "workshop": WORKSHOP,
    "customer": Field(_FIELDS, "whom it is for: a text, or fields of any name, as `{name: ..., phone: ...}`"),
    "vehicle": Field(_FIELDS, "what it is in, as `{make: ..., registration: ..., VIN: ...}`"),
    "installer": Field(_FIELDS, "who fits and tests it, as `{name: ..., licence: ...}`"),
}
USUAL = {
    "workshop": ("business", "licence", "phone", "email", "address", LOGO),
    "customer": (NAME, "phone", "address"),
    "vehicle": ("make", "model", "registration", "VIN", "hull number"),
    "installer": (NAME, "licence"),
}
"""The fields that editors complete; any other name may stand beside them."""


class _Read(NamedTuple):
    fields: Fields
    logo: Node | None


def read_particulars(entry: Entry, source: Source) -> Particulars:
    """Return what a table says of workshop, customer, vehicle and installer.

    Parameters
    ----------
    entry : Entry
        The top of a job file or of a library.
    source : Source
        The file that it is of, on which problems are noted.

    Returns
    -------
    Particulars
        The path of the logo is taken from the file's folder on.
    """
    if not any(what in entry.nodes for what in PARTICULARS):
        return NONE_GIVEN
    read = {what: _fields(entry, what) for what in PARTICULARS}
    fields = {what: each.fields for what, each in read.items()}
    return Particulars(**fields, logo=_logo(read["workshop"].logo, dict(entry.named_texts("workshop")), source))


def _fields(entry: Entry, what: str) -> _Read:
    """Return the fields of one of the tables, without the logo of a workshop, and the node of that."""
    alone = entry.text(what)
    if alone is not None:
        return _Read(((NAME, alone),), None)
    named = entry.named_texts(what)
    logo = named[LOGO][1] if what == "workshop" and LOGO in named else None
    texts = ((name, text) for name, (text, _) in named.items() if text is not None)
    return _Read(tuple(pair for pair in texts if logo is None or pair[0] != LOGO), logo)


def _logo(node: Node | None, named: dict[str, tuple[str | None, Node]], source: Source) -> str | None:
    """Return the path of a logo, from where the file is; None where there is none, or it can't be one."""
    name = named[LOGO][0] if node is not None else None
    if name is None:
        return None
    if os.path.isabs(name) or "\\" in name or ":" in name:
        what = f"{shown(name)} is not a file beside this one"
        source.add(node, ("workshop", LOGO), what, "name it from this file's folder on, as `logo.png`")
        return None
    return os.path.join(os.path.dirname(source.file), name)
