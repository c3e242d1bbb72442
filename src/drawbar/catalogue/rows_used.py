"""The rows of a workshop's libraries that a job was read with, as the text of a library of their own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drawbar.catalogue.kinds import LIBRARY_KINDS
from drawbar.yamlfile.as_text import flow_text, quoted

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.job import Job

_LOOKED_THROUGH = ("devices", "tightness", "cylinders", "tolerances")  # no name of the job says which of them count


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
    pipes = [pipe.label for run in job.runs for pipe in run.pipes] + [hose.pipe.label for hose in job.hoses]
    fittings = [part.fittings for part in job.runs]
    fittings += [part.fittings for part in job.outlets]
    fittings += [part.fittings for part in job.hoses]
    return {
        "pipes": {label.partition("/")[0] for label in pipes},
        "fittings": {fitting.name for listed in fittings for fitting, _ in listed},
        "rules": {job.rule.name} if job.rule is not None else set(),
        "appliances": {appliance.like for appliance in job.appliances if appliance.like is not None},
    }
