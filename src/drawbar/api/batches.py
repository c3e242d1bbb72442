"""What a script asks of many jobs: which files they are, how they stand, and what changed since an earlier run."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence

from drawbar.rechecking.job_files import JobFile, files_named
from drawbar.rechecking.recheck import OTHER, Outcome
from drawbar.rechecking.result_lines import read_outcomes
from drawbar.rechecking.swaps import Swap
from drawbar.rechecking.workers import Task, recheck_all

_File = str | os.PathLike[str]


def job_files(*names: _File) -> list[JobFile]:
    """Return the job files that names of files, folders and patterns mean, as `drawbar recheck` takes them.

    Parameters
    ----------
    *names : str or path
        Files, folders (for their .yaml and .yml files, also in folders below) and patterns.

    Returns
    -------
    list of JobFile
        In the order of the names, those of a folder or a pattern in alphabetical order; what a folder holds need not be
        a job.

    Raises
    ------
    Problems
        If a name is empty.

    Examples
    --------
    >>> import drawbar
    >>> [file.name for file in drawbar.job_files("examples/*trailer.yaml")]
    ['examples/harvest-fair-trailer.yaml']
    """
    return list(files_named([os.fspath(name) for name in names]))


def recheck_files(
    files: Iterable[_File | JobFile], swaps: Sequence[Swap] = (), *, libraries: Sequence[_File] = (), workers: int = 1
) -> Iterator[Outcome]:
    """Yield how jobs stand with appliances swapped, one by one, as `drawbar recheck` does.

    Parameters
    ----------
    files : iterable of str, path or JobFile
        The job files, as of `job_files`.
    swaps : sequence of Swap
        The swaps.
    libraries : sequence of str or path
        Libraries of the workshop's own, laid over the project's data.
    workers : int
        How many processes work on them at most.

    Returns
    -------
    iterator of Outcome
        In the order of the files; what is wrong with a file is in its outcome. Files of folders that are no jobs are
        left out.

    Examples
    --------
    >>> import drawbar
    >>> swaps = [drawbar.parse_swap("urn", "24 MJ/h")]
    >>> outcomes = drawbar.recheck_files(drawbar.job_files("examples/*trailer.yaml"), swaps)
    >>> [outcome.change for outcome in outcomes]
    ['still passes']
    """
    named = [file if isinstance(file, JobFile) else JobFile(os.fspath(file)) for file in files]
    outcomes = recheck_all(named, Task(tuple(os.fspath(library) for library in libraries), tuple(swaps)), workers)
    return (outcome for outcome in outcomes if outcome.change != OTHER)


def read_results(*files: _File) -> Iterator[Outcome]:
    """Yield the outcomes that `drawbar recheck --format jsonl` wrote.

    Parameters
    ----------
    *files : str or path
        The files, or `-` for standard input.

    Returns
    -------
    iterator of Outcome
        In the order of the lines.

    Raises
    ------
    Problems
        If a file can't be read, or at the first line that is no result.

    Examples
    --------
    >>> import drawbar
    >>> list(drawbar.read_results("no-such-file.jsonl"))
    Traceback (most recent call last):
        ...
    drawbar.problems.Problems: no-such-file.jsonl: can't be read: No such file or directory
    """
    return read_outcomes([os.fspath(file) for file in files])
