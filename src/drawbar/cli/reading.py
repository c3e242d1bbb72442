"""How commands read what they are given: the catalogue and the jobs, with their problems told."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job
    from drawbar.problems import Problem


LIBRARIES = "drawbar.libraries"
"""Where a call keeps the libraries that it read, for its output to name them."""
PROBLEMS = "drawbar.problems"
"""Where a call keeps what is wrong with the files that it left out, for its JSON to carry it."""


class EndOfCall(click.ClickException):
    """What ends a call, told as it stands and without click's own words."""

    def show(self, file: Any = None) -> None:
        """Print what is wrong to standard error, or to a stream."""
        click.echo(self.message, file=file, err=True)


class InputWrong(EndOfCall):
    """Problems of an input; the program ends with exit code 2.

    Attributes
    ----------
    problems : tuple of Problem
        What is wrong, as data; empty where it is no file's.
    """

    exit_code = 2

    def __init__(self, message: str, problems: Iterable[Problem] = ()) -> None:
        super().__init__(message)
        self.problems = tuple(problems)

    @classmethod
    def of(cls, *problems: Problem) -> InputWrong:
        """Return what ends a call with problems."""
        return cls("\n".join(map(str, problems)), problems)


@contextlib.contextmanager
def problems_told() -> Iterator[None]:
    """Turn Problems into the end of the program with exit code 2."""
    from drawbar.problems import Problems

    try:
        yield
    except Problems as error:
        raise InputWrong.of(*error.problems) from None


def catalogue(libraries: Sequence[str]) -> Catalogue:
    """Return the catalogue with the libraries of the environment and of the call laid over it."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    with problems_told():
        known = Catalogue(library_files(libraries))
    click.get_current_context().meta[LIBRARIES] = known.libraries
    return known


def each_job(files: Sequence[str], known: Catalogue, *, sized: bool) -> Iterator[Job | None]:
    """Yield the job of each file in turn, None with its problems told on standard error where it can't be read."""
    from drawbar.jobfile.reader import read_job_file
    from drawbar.problems import Problems

    for file in files:
        try:
            yield read_job_file(file, known, sized=sized)
        except Problems as error:
            click.echo(str(error), err=True)
            keep_problems(error.problems)
            yield None


def keep_problems(problems: Iterable[Problem]) -> None:
    """Keep what is wrong with a file that the call leaves out, for its JSON to carry it."""
    click.get_current_context().meta.setdefault(PROBLEMS, []).extend(problems)
