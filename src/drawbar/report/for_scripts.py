"""What scripts read: results as JSON and rows as CSV, one dialect of each for every kind of result."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from drawbar import __version__

if TYPE_CHECKING:
    from drawbar.catalogue.library import LibraryUsed
    from drawbar.problems import Problem

FORMAT = 1  # of the documents; DEVELOPERS.md says what may change within a number
_JSON_DIGITS = 10  # significant ones of a float
_CSV_DIGITS = 6
# What a spreadsheet takes for the start of a formula, alone or once it has dropped what stands before.
_FORMULA_MARKS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")  # noqa: RUF001 - full width is meant
_BARE_NUMBER = re.compile(r"[+-][0-9]+(\.[0-9]+)?")


def as_csv(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Return rows as CSV that a spreadsheet opens: figures as figures, and no text that it would take for a formula.

    Parameters
    ----------
    columns : sequence of str
        The headings.
    rows : iterable of sequence
        A cell for each heading; floats are written to six significant digits.

    Returns
    -------
    str
        The text, with a line break at its end.
    """
    import csv  # as the other forms, only where it is asked for
    import io

    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(map(_csv_cell, columns))
    for row in rows:
        writer.writerow([_csv_cell(value) for value in row])
    return stream.getvalue()


def as_json(
    kind: str,
    results: Sequence[Any],
    libraries: Sequence[LibraryUsed] = (),
    problems: Sequence[Problem] = (),
    asked: Sequence[str] = (),
) -> str:
    """Return the results of a kind of command as the JSON document that scripts read.

    Parameters
    ----------
    kind : str
        What the results are of.
    results : sequence
        An entry a result; floats are written to ten significant digits.
    libraries : sequence of LibraryUsed
        The libraries that were read.
    problems : sequence of Problem
        What is wrong with the files that could not be read.
    asked : sequence of str
        What was asked of the jobs beside their files.

    Returns
    -------
    str
        The text, with a line break at its end.

    Raises
    ------
    ValueError
        If a float is not finite.
    """
    import json

    document = {
        "drawbar": __version__,
        "kind": kind,
        "format": FORMAT,
        "libraries": [{"file": used.file, "replaces": list(used.replaces)} for used in libraries],
        "problems": [problem_data(problem) for problem in problems],
        "asked": list(asked),
        "results": rounded(results),
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def problem_data(problem: Problem) -> dict[str, Any]:
    """Return a problem as it stands in JSON; where it is the file as a whole, line and column are null.

    Parameters
    ----------
    problem : Problem
        What is wrong with a file.

    Returns
    -------
    dict
        The place, what is wrong and what would fit, and whether it is the machine that failed.
    """
    return {
        "file": problem.file,
        "line": problem.line or None,
        "column": problem.column or None,
        "where": problem.where,
        "what": problem.what,
        "fits": problem.fit,
        "asked": problem.asked or None,
        "machine_failed": problem.machine_failed,
    }


def rounded(value: Any) -> Any:
    """Return a value for JSON, every float in it to ten significant digits: more than any figure here is good for.

    Parameters
    ----------
    value : dict, list, tuple, str, float, int, bool or None
        What JSON can hold.

    Returns
    -------
    object
        The same, all but floats as they are.

    Examples
    --------
    >>> rounded({"bore_mm": 13.840000000000002, "sizes": [3, None, "as1432-b"]})
    {'bore_mm': 13.84, 'sizes': [3, None, 'as1432-b']}
    """
    if isinstance(value, float):
        return float(f"{value:.{_JSON_DIGITS}g}")
    if isinstance(value, dict):
        return {key: rounded(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [rounded(item) for item in value]
    return value


def _csv_cell(value: Any) -> Any:
    if isinstance(value, float):
        return f"{value:.{_CSV_DIGITS}g}"
    if isinstance(value, str):
        guard = "'" if value.startswith(_FORMULA_MARKS) and not _BARE_NUMBER.fullmatch(value) else ""
        return guard + value.replace("\r", " ")  # which the writer would leave bare, as the end of a line
    return value
