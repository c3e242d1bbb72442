"""The job files that are meant by names of files, folders and patterns, or by a list of paths."""

from __future__ import annotations

import glob
from collections.abc import Iterator, Sequence
from pathlib import Path

from drawbar.yamlfile.nodes import read_text

_MOST_LIST_BYTES = 100_000_000
_PATTERN_MARKS = "*?["
_SUFFIXES = (".yaml", ".yml")


def job_files(names: Sequence[str], list_file: str | None = None) -> Iterator[str]:
    """Yield the job files that are meant, whether or not they are there.

    Parameters
    ----------
    names : sequence of str
        Files, folders (for their .yaml and .yml files, also in folders below) and patterns.
    list_file : str or None
        A file of such names, one a line, which come after the others; `-` for standard input.

    Yields
    ------
    str
        The files in the order of the names, those of a folder or a pattern in alphabetical order. A pattern that
        nothing fits comes as it stands.

    Raises
    ------
    Problems
        If the list can't be read.
    """
    listed = [] if list_file is None else read_text(list_file, most_bytes=_MOST_LIST_BYTES).splitlines()
    for name in (*names, *(line for line in listed if line.strip())):
        path = Path(name)
        if path.is_dir():
            yield from sorted(str(file) for file in path.rglob("*") if file.suffix in _SUFFIXES and file.is_file())
        elif not path.exists() and any(mark in name for mark in _PATTERN_MARKS):
            yield from sorted(glob.glob(name, recursive=True)) or [name]
        else:
            yield name
