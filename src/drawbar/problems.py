"""What is wrong with an input, as data: where it stands, what is wrong and what would fit."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Problem(NamedTuple):
    """One thing that is wrong with a file, with the place of it.

    file : the file's name as the caller gave it
    line, column : counted from 1; 0 where the problem is the file as a whole
    where : the place in the file's own terms, such as `runs.main.length`
    what : what is wrong
    fit : what would fit
    """

    file: str
    line: int
    column: int
    where: str
    what: str
    fit: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        said = f"{self.what}; {self.fit}" if self.fit else self.what
        return printable(f"{place}: {self.where}: {said}" if self.where else f"{place}: {said}")


class Problems(Exception):
    """An input that can't be used, with all that is wrong with it. The program ends with exit code 2."""

    exit_code = 2

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(self.problems)

    def __str__(self) -> str:
        return "\n".join(map(str, self.problems))


def shown(text: str, most: int = 40) -> str:
    """Return the text as a message may quote it: on one line, printable, and not longer than `most` characters."""
    one_line = printable(" ".join(text[: 8 * most].split()) or text[:most])
    return f"`{one_line}`" if len(one_line) <= most else f"`{one_line[: most - 3]}...`"


def printable(text: str) -> str:
    """Return the text with what a terminal would act on, such as escape codes and line breaks, written out as codes."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text)


def _near(name: str, names: list[str]) -> list[str]:
    import difflib  # only where something is wrong

    return difflib.get_close_matches(name, names, n=1, cutoff=0.6)


def close_to(name: str, known: Iterable[str]) -> str:
    """Return the known names that fit in place of an unknown one: the nearest if one is near, else all of a few."""
    names = list(known)
    near = [*_near(name[:60], names), *_near(name[:60].lower(), names)]
    if near:
        return f"did you mean `{near[0]}`?"
    if not names:
        return ""
    few = ", ".join(names[:12])
    return f"known here: {few}" + (f" and {len(names) - 12} more" if len(names) > 12 else "")
