"""What is wrong with an input, as data: where it stands, what is wrong and what would fit."""

from __future__ import annotations

import errno
import functools
import re
from collections.abc import Iterable
from typing import NamedTuple

MACHINE_ERRORS = frozenset(
    {errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG, errno.ENOMEM, errno.EPIPE, errno.EMFILE, errno.ENFILE}
)
"""What a machine runs out of, or breaks: not for the call to put right."""
_MOST_NEAR = 6  # names that are told as equally near
_MOST_LETTERS = 1500  # of known names that are compared letter by letter with one name
_MOST_ALIKE = 12  # names that are, where there are more letters: those that begin and end most like it
_LEAST_BEGINNING = 4  # letters that say which name is begun
_MOST_NAMES = 12  # that a message lists

INVISIBLE = "\u00ad\u061c\u180e\u200b\u200e\u200f\u202a-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\U000e0000-\U000e007f"
"""Characters that can't be seen or turn the direction of writing, as the inside of a set of a regular expression."""

JOINERS = "\u200c\u200d"
"""Characters that can't be seen either, which some scripts and pictures need in a text."""

# What a terminal would act on: control characters, line breaks that few know, halves of characters, what can't be seen.
_ACTED_ON = re.compile(f"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff{JOINERS}{INVISIBLE}]")


class Problem(NamedTuple):
    """What is wrong at a place of a file.

    Attributes
    ----------
    file : str
        The file's name as the caller gave it.
    line, column : int
        Counted from 1; 0 where the problem is the file as a whole.
    where : str
        The place in the file's own terms, such as `runs.main.length`; empty for the whole file.
    what : str
        What is wrong.
    fit : str
        What would fit; empty where nothing is to be said of it.
    asked : str
        What brought it beside the file, as `--set 1`; empty where it stands in the file itself.
    machine_failed : bool
        Whether it is the machine that failed to give the file, as a disk does.
    """

    file: str
    line: int
    column: int
    where: str
    what: str
    fit: str = ""
    asked: str = ""
    machine_failed: bool = False

    def __str__(self) -> str:
        place = self.asked or (f"{self.file}:{self.line}:{self.column}" if self.line else self.file)
        sentence = f"{self.what}; {self.fit}" if self.fit else self.what
        return printable(f"{place}: {self.where}: {sentence}" if self.where else f"{place}: {sentence}")

    @property
    def of_several(self) -> str:
        """The problem as it is told where several files are read: what was asked of all is told with the file."""
        return printable(f"{self.file}: {self}") if self.asked else str(self)


class Problems(Exception):
    """An input that can't be used, with all that is wrong with it.

    Attributes
    ----------
    problems : tuple of Problem
        What is wrong, in the order in which it is printed.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        return "\n".join(map(str, self.problems))

    @property
    def exit_code(self) -> int:
        """What the program ends with: 2, and 4 where the machine failed."""
        return 4 if any(problem.machine_failed for problem in self.problems) else 2


def unread(file: str, error: OSError | ValueError) -> Problem:
    """Return why a file can't be read, from what the system says of it."""
    reason = getattr(error, "strerror", None) or str(error)
    failed = getattr(error, "errno", None) in MACHINE_ERRORS
    return Problem(file, 0, 0, "", f"can't be read: {reason}", machine_failed=failed)


def shown(text: str, most: int = 40) -> str:
    r"""Return a text as a message may quote it: on a line of its own, printable, and not long.

    Parameters
    ----------
    text : str
        Any text.
    most : int
        The most characters that are quoted.

    Returns
    -------
    str
        The text between backquotes.

    Examples
    --------
    >>> shown("two\nlines")
    '`two lines`'
    """
    line = printable(" ".join(text[: 8 * most].split()) or text[:most])
    return f"`{line}`" if len(line) <= most else f"`{line[: most - 3]}...`"


def printable(text: str) -> str:
    r"""Return a text with what a terminal would act on, such as escape codes and line breaks, written out as codes.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        The text, every character of it printable.

    Examples
    --------
    >>> print(printable("a\x1b[31mb"))
    a\x1b[31mb
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text)


def visible(text: str) -> str:
    r"""Return a text for an output, with what a terminal would act on written out; its lines and tabs stay.

    Parameters
    ----------
    text : str
        Any text; JSON stays the same JSON, as these are its own escapes.

    Returns
    -------
    str
        The text, each control character and each that can't be seen as its code.

    Examples
    --------
    >>> print(visible("van\x1b[2J.yaml"))
    van\u001b[2J.yaml
    """
    return _ACTED_ON.sub(_escaped, text)


def _escaped(letter: re.Match[str]) -> str:
    units = letter.group().encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[place]:02x}{units[place + 1]:02x}" for place in range(0, len(units), 2))


def _near(name: str, names: list[str]) -> list[str]:
    """Return the names that are nearest to one, several where they are equally near."""
    import difflib  # only where something is wrong

    if sum(map(len, names)) > _MOST_LETTERS:
        names = sorted(names, key=lambda known: -_same_at_ends(name, known))[:_MOST_ALIKE]
    near = difflib.get_close_matches(name, names, n=_MOST_NEAR, cutoff=0.6)
    matcher = difflib.SequenceMatcher()
    matcher.set_seq2(name)
    ratios = []
    for known in near:
        matcher.set_seq1(known)
        ratios.append(matcher.ratio())
        if ratios[-1] < ratios[0]:
            break
    return near[: ratios.count(ratios[0])] if near else []


def _same_at_ends(name: str, known: str) -> int:
    """Return how many letters two names have in common from their starts and from their ends."""
    least = min(len(name), len(known))
    front = next((place for place in range(least) if name[place] != known[place]), least)
    back = next((place for place in range(least - front) if name[-1 - place] != known[-1 - place]), least - front)
    return front + back


@functools.lru_cache(maxsize=4096)  # the same names are asked about once a problem
def _plain(name: str) -> str:
    """Return a name without regard to case and to what stands between its parts."""
    return "".join(letter for letter in name.casefold() if letter.isalnum())


def close_to(name: str, known: Iterable[str]) -> str:
    """Return the known names that fit in place of an unknown one: the nearest if any is near, else a few of them.

    A name that differs in case or in what stands between its parts alone is the one that is meant, and next those that
    begin with it. Names that are equally near are all told, so that nobody is led from one tube to another.

    Parameters
    ----------
    name : str
        The unknown name.
    known : iterable of str
        The names that would do.

    Returns
    -------
    str
        What to suggest; empty where nothing is known.

    Examples
    --------
    >>> close_to("propan", ["propane", "n-butane"])
    'did you mean `propane`?'
    >>> close_to("AS1432 B", ["as1432-a", "as1432-b"])
    'did you mean `as1432-b`?'
    >>> close_to("as1432-x", ["as1432-a", "as1432-b"])
    'did you mean `as1432-a` or `as1432-b`?'
    """
    names = list(known)
    plain = _plain(name[:60])
    same = [known_name for known_name in names if _plain(known_name) == plain]
    begun = (
        [known_name for known_name in names if _plain(known_name).startswith(plain)]
        if len(plain) >= _LEAST_BEGINNING
        else []
    )
    near = same or begun[:_MOST_NEAR] or _near(name[:60], names) or _near(name[:60].lower(), names)
    if near:
        return f"did you mean {' or '.join(f'`{known_name}`' for known_name in sorted(near))}?"
    return known_here(names)


def known_here(known: Iterable[str]) -> str:
    """Return what to suggest where no name is near to what was typed: a few of the known names.

    Parameters
    ----------
    known : iterable of str
        The names that would do.

    Returns
    -------
    str
        Empty where nothing is known.
    """
    names = list(known)
    if not names:
        return ""
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return f"known here: {', '.join(names[:_MOST_NAMES])}{more}"
