"""What a script starts from: a job file from a few answers, and the JSON Schemas of the files."""

from __future__ import annotations

from typing import Any

from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.first_draft import Draft, drafted
from drawbar.schemas.schema_kinds import SCHEMA_KINDS
from drawbar.templates import StarterFile


def starter_job(draft: Draft, catalogue: Catalogue | None = None) -> StarterFile:
    """Return a job file from a few answers, with the sizes chosen, as `drawbar new` writes it.

    Parameters
    ----------
    draft : Draft
        The answers: appliances, the length of each run, and what else is known.
    catalogue : Catalogue, optional
        What they may name; without it, the project's own data.

    Returns
    -------
    StarterFile
        The text of the file, and how its sizes were chosen. The verdict on it may be any of the three.

    Raises
    ------
    Problems
        What is wrong with an answer.

    Examples
    --------
    >>> import drawbar
    >>> fryer = drawbar.DraftAppliance("fryer", "50 MJ/h")
    >>> draft = drawbar.Draft("Van", (fryer,), {"main": "3.6 m"}, capacity="180 MJ/h")
    >>> job = drawbar.job_from_text(drawbar.starter_job(draft).text, sized=True)
    >>> drawbar.check(job).verdict.word, job.runs[0].pipe.label
    ('PASS', 'as1432-b/12.70')
    """
    return drafted(draft, catalogue or shipped_catalogue())


def json_schema(kind: str = "job", catalogue: Catalogue | None = None) -> dict[str, Any]:
    """Return the JSON Schema of a file that people write or of what a command prints, as `drawbar schema --of` does.

    Parameters
    ----------
    kind : str
        `job`, `prices`, `stock`, `library`, `readings`, `swaps`, or the name of a command for its JSON.
    catalogue : Catalogue, optional
        The names that the file may use; without it, those of the project's own data.

    Returns
    -------
    dict of str to Any
        The schema, of the dialect 2020-12.

    Raises
    ------
    ValueError
        If there is no such kind.

    Examples
    --------
    >>> import drawbar
    >>> drawbar.json_schema("stock")["required"]
    ['stock']
    """
    if kind not in SCHEMA_KINDS:
        raise ValueError(f"no schema of {kind!r}; one of {', '.join(SCHEMA_KINDS)}")
    return SCHEMA_KINDS[kind].build(catalogue or shipped_catalogue())
