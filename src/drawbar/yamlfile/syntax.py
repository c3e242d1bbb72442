"""What the parser's complaints about a text that is no YAML mean: the place, and what to type instead.

To tell another slip, write a function from _Complaint to _Advice and give it its place in _ADVISERS, or put the words
of the complaint into _BY_WORDS.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

import yaml

from drawbar.problems import Problem, shown
from drawbar.yamlfile.loading import TOO_DEEP

_GLUED = re.compile(r"\s*([\w-]+:[^\s#]\S*)")
_CURLY = "\u201c\u201d\u2018\u2019"  # what a word processor makes of quotes

# The parser's words, what they mean, and what to do.
_BY_WORDS = (
    ("nesting depth", *TOO_DEEP),
    ("expected a single document", "a second document starts here", "one file holds one job"),
    ("incompatible YAML document", "a `%YAML` line of a version that is not known", "delete the line"),
    ("undefined alias", "an alias (`*name`) that points nowhere", "write the value out"),
)


class _Complaint(NamedTuple):
    """What the parser says, and the lines around it.

    Attributes
    ----------
    words : str
        Its context and its problem, as one text.
    lines : list of str
        The lines of the file.
    at : tuple of int
        Line and column of the problem, from 0.
    opened : tuple of int or None
        Line and column where what it was reading begins, from 0.
    """

    words: str
    lines: list[str]
    at: tuple[int, int]
    opened: tuple[int, int] | None

    @property
    def line(self) -> str:
        """The text of the line."""
        number = self.at[0]
        return self.lines[number] if number < len(self.lines) else ""


class _Advice(NamedTuple):
    """What is wrong, what to do, and where, if not at the place of the complaint; no `what` leaves the parser's own."""

    what: str
    fit: str
    at: tuple[int, int] | None = None


def syntax_problem(error: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    """Return the parser's complaint as a problem with a place and, for the usual slips, what to type instead.

    Parameters
    ----------
    error : yaml.MarkedYAMLError
        What the parser raised.
    text : str
        The text that it read.
    file : str
        The name of the file in messages.

    Returns
    -------
    Problem
    """
    mark, opened = error.problem_mark or error.context_mark, error.context_mark
    complaint = _Complaint(
        words=f"{error.context} {error.problem}",
        lines=text.splitlines(),
        at=(mark.line, mark.column) if mark else (0, 0),
        opened=(opened.line, opened.column) if opened else None,
    )
    advice = next((advice for adviser in _ADVISERS if (advice := adviser(complaint)) is not None), _Advice("", ""))
    line, column = advice.at or complaint.at
    what = advice.what or f"not well-formed YAML: {error.problem or error.context}"
    return Problem(file, line + 1, column + 1, "", what, advice.fit)


def _tab(complaint: _Complaint) -> _Advice | None:
    line = complaint.line
    is_indented = "\t" in line[: len(line) - len(line.lstrip())]
    if is_indented or ("cannot start any token" in complaint.words and "\t" in line):
        return _Advice("a tab stands in the indentation", "use spaces")
    return None


def _glued_colon(complaint: _Complaint) -> _Advice | None:
    opened = complaint.opened
    if "could not find expected ':'" not in complaint.words or opened is None:
        return None
    glued = _GLUED.match(complaint.lines[opened[0]])
    if glued is None:
        return None
    return _Advice(f"{shown(glued.group(1))} has no space after its colon", "write `NAME: VALUE`", opened)


def _second_colon(complaint: _Complaint) -> _Advice | None:
    if "mapping values are not allowed" not in complaint.words:
        return None
    if any(quote in complaint.line for quote in _CURLY):
        return _Advice(
            "a second `: ` on the line, and curly quotes, which are no quotes here", 'type straight ones: `"`'
        )
    if ": " in complaint.line[: complaint.at[1]]:
        fit = 'put a text that holds a colon in quotes, as in `job: "Trailer: rear line"`'
        return _Advice("a second `: ` on the line", fit)
    fit = "is the line indented like its neighbours, and has the line before it a space after its colon?"
    return _Advice("a `: ` where none can stand", fit)


def _open_quote(complaint: _Complaint) -> _Advice | None:
    if "quoted scalar" in complaint.words and "end of stream" in complaint.words and complaint.opened is not None:
        return _Advice("a quote opens here and is never closed", "close it, or leave it out", complaint.opened)
    return None


def _open_bracket(complaint: _Complaint) -> _Advice | None:
    words, opened = complaint.words, complaint.opened
    is_flow = "did not find expected" in words and "while parsing a flow" in words
    if not is_flow or opened is None or opened[0] >= complaint.at[0]:
        return None
    bracket = "]" if "sequence" in words else "}"
    fit = f"close it with `{bracket}`, and put a comma between its parts"
    return _Advice(f"a bracket opens here, and its `{bracket}` or a comma is missing", fit, opened)


def _first_character(complaint: _Complaint) -> _Advice | None:
    if "cannot start any token" not in complaint.words:
        return None
    column = complaint.at[1]
    return _Advice(f"a value can't start with {shown(complaint.line[column : column + 1])}", "put it in quotes")


def _by_words(complaint: _Complaint) -> _Advice | None:
    return next((_Advice(what, fit) for words, what, fit in _BY_WORDS if words in complaint.words), None)


def _missing_mark(complaint: _Complaint) -> _Advice | None:
    words = complaint.words
    if "did not find expected ',' or" in words or "did not find expected node content" in words:
        return _Advice("", "is a comma, a closing bracket or a closing quote missing?")
    if ("block" in words and "did not find expected" in words) or "could not find expected ':'" in words:
        fit = "is a colon or a space after it missing, or a line indented differently from its neighbours?"
        return _Advice("", fit)
    return None


# The first that knows a complaint has the say.
_ADVISERS: tuple[Callable[[_Complaint], _Advice | None], ...] = (
    _tab,
    _glued_colon,
    _second_colon,
    _open_quote,
    _open_bracket,
    _first_character,
    _by_words,
    _missing_mark,
)
