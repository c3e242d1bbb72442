"""How commands read what they are given: the catalogue and the jobs, with their problems told."""

from __future__ import annotations

import contextlib
import functools
import os
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job
    from drawbar.jobfile.asked import Asked
    from drawbar.problems import Problem, Problems


LIBRARIES = "drawbar.libraries"
"""Where a call keeps the libraries that it read, for its output to name them."""
PROBLEMS = "drawbar.problems"
"""Where a call keeps what is wrong with the files that it left out, for its JSON to carry it."""
ASKED = "drawbar.asked"
"""Where a call keeps what it asks of its jobs beside their files, for its output to say it."""


MACHINE = "drawbar.machine"
"""Where a call keeps the exit code that it ends with as the machine failed where it read one of several files."""


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
    def by(cls, error: Problems) -> InputWrong:
        """Return what ends a call with the problems of an input; the exit code is theirs."""
        kind = cls if error.exit_code == cls.exit_code else MachineFailedToRead
        return kind(str(error), error.problems)


class MachineFailedToRead(InputWrong):
    """An input that the machine could not read, as a disk that fails; the program ends with exit code 4."""

    exit_code = 4


@contextlib.contextmanager
def problems_told() -> Iterator[None]:
    """Turn Problems into the end of the program with exit code 2."""
    from drawbar.problems import Problems

    try:
        yield
    except Problems as error:
        raise InputWrong.by(error) from None


def catalogue(libraries: Sequence[str]) -> Catalogue:
    """Return the catalogue with the libraries of the environment and of the call laid over it."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    with problems_told():
        known = Catalogue([*_sheets_with_library(), *library_files(libraries)])
    click.get_current_context().meta[LIBRARIES] = known.libraries
    return known


def _sheets_with_library() -> list[str]:
    """Return the sheets among the jobs of the call that carry rows of a library; they are laid under those it names."""
    context = click.get_current_context()
    given: list[str] = []
    for param in context.command.params:
        value = context.params.get(param.name or "")
        if isinstance(param, click.Argument) and value:
            given += [value] if isinstance(value, str) else [name for name in value if isinstance(name, str)]
    pages = [name for name in given if name.lower().endswith((".html", ".htm"))]
    if not pages:
        return []
    from drawbar.yamlfile.carried import LIBRARY, carried
    from drawbar.yamlfile.nodes import read_text

    return [name for name in pages if carried(read_text(name), LIBRARY)]


class JobReader:
    """Reads the jobs of a call, with what is asked of them beside their files.

    Attributes
    ----------
    libraries : sequence of str
        The files of the workshop's own libraries.
    settings, swaps : sequence of str
        What is asked by `--set` and by `--swap`.
    units : str or None
        The name of a system of units; None for those of the file.
    """

    def __init__(
        self, libraries: Sequence[str], settings: Sequence[str], swaps: Sequence[str], units: str | None
    ) -> None:
        self.libraries = libraries
        self.settings = settings
        self.swaps = swaps
        self.units = units

    @functools.cached_property
    def catalogue(self) -> Catalogue:
        """What jobs may name; the call ends where a library is wrong."""
        return catalogue(self.libraries)

    @functools.cached_property
    def asked(self) -> Asked:
        """What is asked of every job; the call ends where that can't be."""
        from drawbar.jobfile.asked import NOTHING_ASKED

        if not self.settings and not self.swaps and self.units is None:
            return NOTHING_ASKED
        from drawbar.asking import asked_by
        from drawbar.rechecking.swaps import SwapError

        context = click.get_current_context()
        try:
            with problems_told():
                asked = asked_by(self.catalogue, self.settings, self.swaps, self.units)
        except SwapError as error:
            raise click.BadParameter(str(error), context, param_hint="--swap") from None
        context.meta[ASKED] = asked.words
        return asked

    def job(self, file: str, *, sized: bool) -> Job:
        """Return the job of a file; the call ends with its problems where it can't be read."""
        from drawbar.jobfile.reader import read_job_file

        with problems_told():
            return read_job_file(file, self.catalogue, sized=sized, asked=self.asked)

    def job_of(self, text: str, file: str, *, sized: bool = False) -> Job:
        """Return the job of a text that was read from a file; raises Problems."""
        from drawbar.jobfile.reader import job_of

        return job_of(text, file, self.catalogue, sized=sized, asked=self.asked)

    def each(self, files: Sequence[str], *, sized: bool) -> Iterator[Job | None]:
        """Yield the job of each file in turn, None with its problems told where it can't be read."""
        from drawbar.jobfile.reader import read_job_file
        from drawbar.problems import Problems

        for file in files:
            try:
                yield read_job_file(file, self.catalogue, sized=sized, asked=self.asked)
            except Problems as error:
                self.tell(error, of_several=len(files) > 1)
                yield None

    def tell(self, error: Problems, *, of_several: bool) -> None:
        """Tell what is wrong with a file that the call leaves out."""
        if error.exit_code != InputWrong.exit_code:
            click.get_current_context().meta[MACHINE] = error.exit_code
        for problem in error.problems:
            click.echo(problem.of_several if of_several else str(problem), err=True)
        keep_problems(error.problems)


def keep_problems(problems: Iterable[Problem]) -> None:
    """Keep what is wrong with a file that the call leaves out, for its JSON to carry it."""
    click.get_current_context().meta.setdefault(PROBLEMS, []).extend(problems)


def jobs_named(names: Sequence[str]) -> list[str]:
    """Return the job files that names of files, folders and patterns mean; what a folder holds beside jobs is told."""
    if names and all(name == "-" or os.path.isfile(name) for name in names):
        return list(names)  # each is one job: what reads folders and patterns need not be loaded
    from drawbar.problems import Problems
    from drawbar.rechecking.job_files import files_named, is_other_file, others_words
    from drawbar.yamlfile.nodes import read_text

    with problems_told():
        files = list(files_named(names))
    others = []
    for file in files:
        with contextlib.suppress(Problems):  # which reading the job tells
            if not file.is_named and is_other_file(read_text(file.name), file.name):
                others.append(file.name)
    if others:
        from drawbar.cli.telling import remark

        remark(f"drawbar: {others_words(others)}")
    left = [file.name for file in files if file.is_named or file.name not in {*others}]
    if not left:
        raise InputWrong("no job files were found")
    return left
