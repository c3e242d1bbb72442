"""Which files are earlier outputs of the program, that an output may take the place of without being told so.

Each output says by its own bytes what it is: JSON and pages of HTML in their first lines, CSV by its heads, a text or
Markdown page and a PDF in a last line of their own, a spreadsheet in its properties. So nothing is kept beside it, and
an output that was copied or moved is known as well.
"""

from __future__ import annotations

import os
import stat
from typing import TYPE_CHECKING

from drawbar import __version__

if TYPE_CHECKING:
    from collections.abc import Sequence

MARK = f"drawbar {__version__}"
"""What says, in any version, that a page was written by the program."""

_OF_ANY_VERSION = b"drawbar "
_LOOKED_AT = 4096  # bytes at each end of a file
_WIDEST_LAST_LINE = 60  # bytes
# How the first line of each kind of rows begins; no file that people write for the program begins so.
_HEADS = (
    b"file,job",
    b"way,file,",
    b"list,count,",
    b"family,title,sizes,",
    b"fitting,title,",
    b"device,title,",
    b"gas,molar_mass_",
    b"formula,title,",
    b"rule,title,",
    b"appliance,title,",
    b"bottle,title,",
    b"test,title,",
    b"tolerance,title,",
    b"size,od_mm,",
)
_STARTS = {
    b"{": (b'"drawbar": "', b'"$id": "urn:drawbar:'),
    b"<": (b'<meta name="generator" content="drawbar ',),
}


def last_lines(form: str) -> str:
    """Return the last lines of a page that is written into a file, which say what wrote it.

    Parameters
    ----------
    form : str
        `table` or `markdown`.

    Returns
    -------
    str
        An empty line and the mark.
    """
    return f"\n<!-- {MARK} -->\n" if form == "markdown" else f"\n{MARK}\n"


def marked_pdf(pdf: bytes) -> bytes:
    """Return a PDF with a comment behind its end, where readers look for nothing, that says what wrote it."""
    return pdf.rstrip(b"\n") + f"\n%{MARK}\n".encode()


def may_be_replaced(file: str) -> bool:
    """Tell whether an output may take a place without `--force`.

    Parameters
    ----------
    file : str
        Where the output is to go.

    Returns
    -------
    bool
        Whether nothing is there, or an empty file, an earlier output, or what is no file, as a device.
    """
    try:
        there = os.stat(file)
        if not stat.S_ISREG(there.st_mode) or there.st_size == 0:
            return True
        with open(file, "rb") as stream:
            start = stream.read(_LOOKED_AT)
            stream.seek(max(0, there.st_size - _LOOKED_AT))
            end = stream.read(_LOOKED_AT)
    except FileNotFoundError:
        return True
    except (OSError, ValueError):
        return not os.path.exists(file)  # what can't be read is not known to be ours
    return _says_so(start, end) or (start[:2] == b"PK" and _is_workbook(file))


def _says_so(start: bytes, end: bytes) -> bool:
    """Tell whether the first or the last bytes of a file are those of an output."""
    if any(start.startswith(head) for head in _HEADS):
        return True
    signs: Sequence[bytes] = _STARTS.get(start[:1], ())
    if any(sign in start for sign in signs):
        return True
    last = end.rstrip().rpartition(b"\n")[2].strip()
    if last.startswith(b"<!-- ") and last.endswith(b" -->"):
        last = last[len(b"<!-- ") : -len(b" -->")]
    return last.lstrip(b"%").startswith(_OF_ANY_VERSION) and len(last) < _WIDEST_LAST_LINE and b":" not in last


def _is_workbook(file: str) -> bool:
    """Tell whether a spreadsheet says in its properties that the program wrote it."""
    import zipfile

    try:
        with zipfile.ZipFile(file) as parts, parts.open("docProps/core.xml") as stream:
            return _OF_ANY_VERSION in stream.read(_LOOKED_AT)
    except (OSError, KeyError, ValueError, RuntimeError, NotImplementedError, zipfile.BadZipFile):
        return False
