"""The texts that a sheet carries: written into its page as text, and read back out of it where a file is asked for."""

from __future__ import annotations

import hashlib
import html
import re

from drawbar.problems import Problem, Problems
from drawbar.yamlfile import nodes

JOB, LIBRARY, READINGS, MADE_WITH = "job-file", "library", "readings-file", "made-with"
"""What a sheet carries, by the id of the element that holds it."""

NO_DIGEST = "0" * 64
"""What stands in the place of a digest until the page is sealed."""
_DIGEST = re.compile(r'(<code id="digest">)([0-9a-f]{64})(</code>)')
_VERSION = re.compile(r'<meta name="generator" content="drawbar ([^"]*)">')


def is_page(text: str) -> bool:
    """Tell whether a text is a web page, as a sheet is, and no job file."""
    return text[:200].lstrip().lower().startswith(("<!doctype html", "<html"))


def carried(page: str, what: str) -> str | None:
    """Return a text that a page carries, None where it carries none of the sort."""
    # Within the element every `<` of the text stands as an entity, so that the first end tag is its own.
    match = re.search(rf'<pre id="{what}"[^>]*>\n(.*?)</pre>', page, re.DOTALL)
    return html.unescape(match.group(1)) if match is not None else None


def read_carried(file: str, what: str) -> str:
    """Return the text of a file, or what a sheet carries of that sort where the file is one.

    Parameters
    ----------
    file : str
        Its path, or `-` for standard input.
    what : str
        JOB, LIBRARY, READINGS or MADE_WITH.

    Returns
    -------
    str

    Raises
    ------
    Problems
        If it can't be read, or is a web page that carries no such text.
    """
    return part_of(nodes.read_text(file), file, what)


def part_of(text: str, file: str, what: str) -> str:
    """Return a text that was read, or what it carries of a sort where it is a sheet; as `read_carried` does."""
    if not is_page(text):
        return text
    inside = carried(text, what)
    if inside is None:
        what_is = "is a web page" if version_of(text) is None else "is a sheet"
        fit = f"name a sheet of `drawbar sheet` that carries one, or the {what.replace('-', ' ')} itself"
        raise Problems([Problem(file, 0, 0, "", f"{what_is} and carries no {what.replace('-', ' ')}", fit)])
    return inside


def version_of(page: str) -> str | None:
    """Return the version that a sheet was made with, None where the page is no sheet."""
    match = _VERSION.search(page)
    return html.unescape(match.group(1)) if match is not None else None


def digest_of(page: str) -> str:
    """Return the digest of a page: SHA-256 of its text with noughts in the place of the digest."""
    return hashlib.sha256(_DIGEST.sub(rf"\g<1>{NO_DIGEST}\g<3>", page).encode()).hexdigest()


def sealed(page: str) -> str:
    """Return a page with its digest in its place."""
    return _DIGEST.sub(rf"\g<1>{digest_of(page)}\g<3>", page)


def is_as_made(page: str) -> bool:
    """Tell whether a page is as it was made: its digest is that of its text.

    A digest is no signature: who changes the page can work out another.
    """
    match = _DIGEST.search(page)
    return match is not None and match.group(2) == digest_of(page)
