"""The catalogue's rows that a job uses; those of a workshop's libraries as the text of a library of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar.catalogue.kinds import LIBRARY_KINDS
from drawbar.yamlfile.as_text import flow_text, quoted

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Fitting, Job, Pipe

_LOOKED_THROUGH = ("devices", "tightness", "cylinders", "tolerances")  # no name of the job says which of them count


def pipes_used(job: Job) -> dict[str, Pipe]:
    """Return the pipes of a job, of its gas line, its hoses and its water side.

    Parameters
    ----------
    job : Job
        A job; of a run that leaves its size open all sizes count.

    Returns
    -------
    dict of str to Pipe
        By label, as `family/size` where the catalogue has it, in the order of the job.
    """
    water = job.water.runs if job.water is not None else ()
    pipes = [pipe for run in job.runs for pipe in run.pipes]
    pipes += [hose.pipe for hose in job.hoses]
    pipes += [run.pipe for run in water]
    return {pipe.label: pipe for pipe in pipes}


def fittings_used(job: Job) -> dict[str, Fitting]:
    """Return the fittings of a job, of its gas line, its outlets, its hoses and its water side.

    Parameters
    ----------
    job : Job
        A job.

    Returns
    -------
    dict of str to Fitting
        By name, in the order of the job.
    """
    water = job.water.runs if job.water is not None else ()
    lists = [run.fittings for run in job.runs]
    lists += [outlet.fittings for outlet in job.outlets]
    lists += [hose.fittings for hose in job.hoses]
    lists += [run.fittings for run in water]
    return {fitting.name: fitting for fittings in lists for fitting, _ in fittings}


def library_text(job: Job, catalogue: Catalogue) -> str:
    """Return the rows of libraries that a job names or that count for any job, as a library file.

    Parameters
    ----------
    job : Job
        A job.
    catalogue : Catalogue
        What it was read with.

    Returns
    -------
    str
        YAML with every text in quotes; empty where no library has a say. The workshop's logo is left out.
    """
    named = _named(job)
    lines: list[str] = []
    workshop = dict(catalogue.particulars.workshop)
    if workshop:
        fields = ", ".join(f"{quoted(name)}: {quoted(text)}" for name, text in workshop.items())
        lines.append(f"workshop: {{{fields}}}")
    for kind in LIBRARY_KINDS:
        rows = [
            f"  {quoted(name)}: {flow_text(node)}"
            for name, node in catalogue.library_rows(kind).items()
            if kind in _LOOKED_THROUGH or name in named[kind]
        ]
        if rows:
            lines += [f"{kind}:", *rows]
    if any(not line.startswith("workshop:") for line in lines):
        lines.append("replace: yes")
    return "".join(f"{line}\n" for line in lines)


def _named(job: Job) -> dict[str, set[str]]:
    """Return the names of rows that a job uses, by kind."""
    return {
        "pipes": {label.partition("/")[0] for label in pipes_used(job)},
        "fittings": set(fittings_used(job)),
        "rules": {job.rule.name} if job.rule is not None else set(),
        "appliances": {appliance.like for appliance in job.appliances if appliance.like is not None},
    }
