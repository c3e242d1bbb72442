"""The job files that are meant by names of files, folders and patterns, or by a list of paths."""

from __future__ import annotations

import glob
import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from drawbar.problems import Problem, Problems, shown
from drawbar.yamlfile import nodes
from drawbar.yamlfile.entry import entries
from drawbar.yamlfile.nodes import Source, read_text

_MOST_LIST_BYTES = 100_000_000
_PATTERN_MARKS = "*?["
_SUFFIXES = (".yaml", ".yml")
_JOB_KEY = re.compile(r"""(?m)^(?:[{ ]\s*)?["']?job["']?\s*:""")


class JobFile(NamedTuple):
    """A file that a batch is to read.

    Attributes
    ----------
    name : str
        Its path.
    is_named : bool
        Whether it was named outright, and so must be a job; what a folder or a pattern holds may be something else.
    """

    name: str
    is_named: bool = True


def files_named(names: Sequence[str], list_file: str | None = None) -> Iterator[JobFile]:
    """Yield the job files that are meant, whether or not they are there.

    Parameters
    ----------
    names : sequence of str
        Files, folders (for their .yaml and .yml files, also in folders below) and patterns. What is hidden, as
        `.git` is, is passed over in folders and patterns.
    list_file : str or None
        A file of such names, one a line, which come after the others; `-` for standard input.

    Yields
    ------
    JobFile
        The files in the order of the names, those of a folder or a pattern in alphabetical order. A pattern that
        nothing fits comes as it stands.

    Raises
    ------
    Problems
        If the list can't be read, or a name is empty.
    """
    listed = [] if list_file is None else read_text(list_file, most_bytes=_MOST_LIST_BYTES).splitlines()
    for name in (*names, *(line for line in listed if line.strip())):
        if not name.strip():
            what = "an empty name was given for a job"
            raise Problems([Problem(name or '""', 0, 0, "", what, "name a file, a folder or `.` for this one")])
        if os.path.isdir(name):
            yield from (JobFile(file, is_named=False) for file in _in_folder(name))
        elif any(mark in name for mark in _PATTERN_MARKS) and not os.path.lexists(name):
            matched = [file for file in sorted(glob.glob(name, recursive=True)) if not _is_no_file(file)]
            yield from (JobFile(file, is_named=False) for file in matched)
            if not matched:
                yield JobFile(name)
        else:
            yield JobFile(name)


def _in_folder(folder: str) -> Iterator[str]:
    """Yield the YAML files of a folder and of those below in alphabetical order, hidden ones left out."""
    files_there: list[str] = []
    for at, folders, files in os.walk(folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        files_there.extend(
            os.path.join(at, name)
            for name in files
            if name.lower().endswith(_SUFFIXES) and not name.startswith(".") and not _is_no_file(os.path.join(at, name))
        )
    yield from sorted(files_there, key=Path)


def _is_no_file(path: str) -> bool:
    """Tell whether a path is something that can't hold a job: a folder, a device, or a pipe that would never end."""
    return os.path.exists(path) and not os.path.isfile(path)


def is_other_file(text: str, file: str) -> bool:
    """Tell whether a text is that of some other YAML file, such as a price list: it has no `job:` at its top.

    Parameters
    ----------
    text : str
        The text of a file that a folder holds.
    file : str
        Its name.

    Returns
    -------
    bool
        A text that is no YAML is looked at line by line: it may be a job with a slip.
    """
    try:
        top = nodes.compose(text, Source(file))
    except Problems:
        return _JOB_KEY.search(text) is None
    return all(key != "job" for key, _ in entries(top))


def others_words(names: Sequence[str], most: int = 5) -> str:
    """Return in words which files of folders and patterns are no jobs and were passed over.

    Parameters
    ----------
    names : sequence of str
        The files.
    most : int
        How many to name.

    Returns
    -------
    str
        Empty where there are none.
    """
    if not names:
        return ""
    listed = ", ".join(shown(name, 200).strip("`") for name in names[:most])
    more = f" and {len(names) - most} more" if len(names) > most else ""
    count = f"{len(names)} file{'s' if len(names) != 1 else ''}"
    return f"{count} without `job:` passed over: {listed}{more}"
