"""A workshop's logo made inert: a small PNG or SVG as a data URI, which an `<img>` shows and never runs or fetches."""

from __future__ import annotations

import base64
import os
import re
from pathlib import Path
from xml.parsers import expat

from drawbar.problems import Problem, Problems

_MOST_BYTES = 60_000
_PNG = b"\x89PNG\r\n\x1a\n"
# What an SVG in an <img> could not do anyway; a logo with it is not what it seems to be.
_ACTIVE_TAGS = {"script", "foreignobject", "iframe", "object", "embed", "audio", "video", "use"}
_OUTSIDE = re.compile(r"@import|url\(\s*['\"]?(?!#)", re.IGNORECASE)


def logo_uri(file: str) -> str:
    """Return a logo as a data URI.

    Parameters
    ----------
    file : str
        Its path: a PNG, or an SVG without scripts, entities or anything from outside.

    Returns
    -------
    str

    Raises
    ------
    Problems
        If it can't be read, is too large, is neither, or is an SVG that does more than draw.
    """
    path, name = Path(file), os.fspath(file)
    try:
        with path.open("rb") as stream:
            data = stream.read(_MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
        raise _problem(name, f"the logo can't be read: {reason}", "name it from the folder of the file on") from None
    if len(data) > _MOST_BYTES:
        raise _problem(name, f"the logo is over {_MOST_BYTES:,} bytes", "make it smaller; it is printed 18 mm high")
    if data.startswith(_PNG):
        return "data:image/png;base64," + base64.b64encode(data).decode()
    _refuse_active(name, data)
    return "data:image/svg+xml;base64," + base64.b64encode(data).decode()


def _problem(file: str, what: str, fit: str) -> Problems:
    return Problems([Problem(file, 0, 0, "workshop.logo", what, fit)])


def _refuse_active(file: str, data: bytes) -> None:
    """Raise Problems unless the bytes are an SVG that only draws."""
    fit = "save it as a PNG, or as an SVG that only draws"
    tags: list[str] = []
    texts: list[str] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        local = tag.rpartition(":")[2].lower()
        tags.append(local)
        if local in _ACTIVE_TAGS:
            raise _problem(file, f"the logo holds <{local}>", fit)
        for name, value in attributes.items():
            key = name.rpartition(":")[2].lower()
            is_outside = key in ("href", "src") and not value.startswith(("#", "data:image/png", "data:image/jpeg"))
            if key.startswith("on") or is_outside or _OUTSIDE.search(value):
                raise _problem(file, f"the logo holds {name}, which runs or fetches something", fit)

    def refuse(*_: object) -> None:
        raise _problem(file, "the logo declares a document type or an entity", fit)

    parser = expat.ParserCreate()
    parser.StartElementHandler = start
    parser.EntityDeclHandler = refuse
    parser.ExternalEntityRefHandler = None
    parser.ProcessingInstructionHandler = refuse
    parser.CharacterDataHandler = texts.append
    try:
        parser.Parse(data, True)  # noqa: FBT003 - its last piece
    except expat.ExpatError:
        raise _problem(file, "the logo is neither a PNG nor an SVG", fit) from None
    if not tags or tags[0] != "svg":
        raise _problem(file, "the logo is neither a PNG nor an SVG", fit)
    if _OUTSIDE.search("".join(texts)):
        raise _problem(file, "the logo fetches something from outside", fit)
