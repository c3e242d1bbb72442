"""Two job files of the same job, an older and a newer one: what changed in it, and what that does to its verdict."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.comparing.differences import Difference, differences_of
from drawbar.problems import Problem, Problems
from drawbar.rechecking.recheck import Outcome, recheck_text
from drawbar.yamlfile.carried import JOB, read_carried
from drawbar.yamlfile.nodes import Source, compose


class ChangedJob(NamedTuple):
    """A job before and after its file was changed.

    Attributes
    ----------
    old, new : Outcome
        How it stood and how it stands; the new one is compared with the old one.
    keys : tuple of Difference
        The keys of the file that are other, each with what it was and what it is.
    """

    old: Outcome
    new: Outcome
    keys: tuple[Difference, ...]


def changed_job(old: str, new: str, catalogue: Catalogue | None = None) -> ChangedJob:
    """Return what changed from one job file to another, and what that does to the verdict.

    Parameters
    ----------
    old : str
        The job file as it was.
    new : str
        The job file as it is.
    catalogue : Catalogue, optional
        What they may name; without it, the project's own data.

    Returns
    -------
    ChangedJob
        How the job stood and stands, and the keys that are other.

    Raises
    ------
    Problems
        All that is wrong with the files.

    Examples
    --------
    >>> import drawbar
    >>> example = "examples/harvest-fair-trailer.yaml"
    >>> drawbar.changed_job(example, example).keys
    ()
    """
    known = catalogue or shipped_catalogue()
    outcomes: list[Outcome] = []
    trees = []
    problems: list[Problem] = []
    for file in (old, new):
        try:
            text = read_carried(file, JOB)
            outcomes.append(recheck_text(text, file, known, ()))
            trees.append(compose(text, Source(file)))
        except Problems as error:
            problems.extend(error.problems)
    if problems:
        raise Problems(problems)
    return ChangedJob(outcomes[0], outcomes[1].held_against(outcomes[0]), differences_of(trees))
