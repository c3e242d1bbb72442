"""The text of a job file that gives a job again, for a sheet to carry."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from drawbar.asking import asked_by
from drawbar.jobfile.edit import with_sizes
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problems
from drawbar.rechecking.swaps import SwapError
from drawbar.yamlfile import nodes
from drawbar.yamlfile.as_text import file_text
from drawbar.yamlfile.carried import JOB, read_carried
from drawbar.yamlfile.nodes import Source

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job
    from drawbar.jobfile.asked import Asked


def job_text(job: Job, catalogue: Catalogue, text: str | None = None) -> str | None:
    """Return a text that reads as a job, with what was asked and the sizes of open runs put in.

    Parameters
    ----------
    job : Job
        A job whose runs have one size each.
    catalogue : Catalogue
        What it was read with.
    text : str, optional
        The text that it was read from; without it, that of its file.

    Returns
    -------
    str or None
        None where nothing gives the job, as for one that was changed in a script. Units aside: they are those of the
        text.
    """
    try:
        given = read_carried(job.file, JOB) if text is None else text
        if job.asked:
            root, source = nodes.compose(given, Source(job.file)), Source(job.file)
            _asked_again(job.asked, catalogue).change(root, source)
            given = file_text(root)
        if not _gives(given, job, catalogue):
            given = with_sizes(given, job.file, {run.name: run.pipe.label for run in job.runs})
        return given if _gives(given, job, catalogue) else None
    except (Problems, SwapError):
        return None


def _gives(text: str, job: Job, catalogue: Catalogue) -> bool:
    """Tell whether a text reads as a job: so what was made of it wrongly is never carried."""
    read = job_of(text, job.file, catalogue)
    return read._replace(display=job.display, asked=job.asked) == job


def _asked_again(words: Sequence[str], catalogue: Catalogue) -> Asked:
    """Return what was asked from the lines that say it."""
    settings, swaps = [], []
    for line in words:
        if " swapped for " in line and " = " not in line:
            old, _, new = line.partition(" swapped for ")
            swaps.append(f"{old}={new}")
        else:
            key, _, value = line.removesuffix(" taken out").partition(" = ")
            settings.append(f"{key}={value}")
    return asked_by(catalogue, settings, swaps)
