"""What a result was worked out from, each part by its digest: the job's text, the catalogue rows it uses, the program.

Two results that differ can so be told why, years later.
"""

from __future__ import annotations

import functools
import hashlib
from collections.abc import Hashable, Iterator, Mapping
from importlib import resources
from typing import NamedTuple

from drawbar import __version__
from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.rows_used import fittings_used, pipes_used
from drawbar.job import Hose, Job, Outlet, Run

_DIGITS = 12  # of a digest that is kept: 48 bits tell the rows and versions of a workshop's lifetime apart
_CODE = (".py", ".txt")  # what the program computes with; its data files are seen row by row


class Inputs(NamedTuple):
    """What a result was worked out from.

    Attributes
    ----------
    job : str
        The digest of the job file's text.
    rows : mapping of str to str
        The digest of each catalogue row that it uses, by kind and name, as `pipes as1432-b/12.70`.
    program : str
        The program's version and the digest of its code, as `0.1.0 3f2a...`.
    loads_w : mapping of str to float
        The input of each appliance of the job as it stands, before any swap [W].
    pipes : mapping of str to str
        The pipe of each run, as `family/size`.
    """

    job: str
    rows: Mapping[str, str]
    program: str
    loads_w: Mapping[str, float]
    pipes: Mapping[str, str]


def inputs_of(text: str, job: Job, swapped: Job, catalogue: Catalogue) -> Inputs:
    """Return what a job's result is worked out from.

    Parameters
    ----------
    text : str
        The job file's text.
    job : Job
        The job that it describes.
    swapped : Job
        The same with its appliances swapped.
    catalogue : Catalogue
        What it was read with.

    Returns
    -------
    Inputs
        A row is told apart by its figures, its title and its source, not by how it is written.
    """
    return Inputs(
        job=digest(text),
        rows=dict(sorted(_rows(swapped, catalogue))),
        program=program(),
        loads_w={appliance.name: appliance.input_w for appliance in job.appliances},
        pipes={run.name: run.pipe.label for run in job.runs},
    )


def digest(text: str) -> str:
    """Return a short digest of a text."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:_DIGITS]


@functools.cache
def program() -> str:
    """Return the program's version with the digest of its code."""
    whole = hashlib.sha256()
    folders = [resources.files("drawbar")]
    while folders:
        for path in sorted(folders.pop().iterdir(), key=lambda path: path.name):
            if path.is_dir():
                if path.name not in ("__pycache__", "examples"):
                    folders.append(path)
            elif path.name.endswith(_CODE):
                whole.update(path.name.encode() + b"\0" + path.read_bytes())
    return f"{__version__} {whole.hexdigest()[:_DIGITS]}"


def _rows(job: Job, catalogue: Catalogue) -> Iterator[tuple[str, str]]:
    """Yield each row's kind and name with its digest."""
    pieces: tuple[Run | Outlet | Hose, ...] = (*job.runs, *job.outlets, *job.hoses)
    yield from ((f"pipes {label}", _digest(pipe)) for label, pipe in pipes_used(job).items() if "/" in label)
    yield from ((f"fittings {name}", _digest(fitting)) for name, fitting in fittings_used(job).items())
    typical = {device.typical for piece in pieces for device in piece.devices}
    typical |= {outlet.typical for outlet in job.outlets}
    yield from ((f"devices {drop.name}", _digest(drop)) for drop in typical if drop is not None)
    likes = {device.like: device for piece in pieces for device in piece.devices if device.like is not None}
    yield from ((f"devices {like}", _digest(device._replace(name=""))) for like, device in likes.items())
    for like in {appliance.like for appliance in job.appliances}:
        row = catalogue.appliance(like) if like is not None else None
        if row is not None:
            yield f"appliances {like}", _digest(row._replace(place=None))  # type: ignore[arg-type]
    yield from ((f"gases {part.name}", _digest(part)) for part, _ in job.gas.fractions)
    if job.rule is not None:
        yield f"rules {job.rule.name}", _digest(job.rule)
    if job.tolerances is not None:
        yield "tolerances", _digest(job.tolerances)


@functools.lru_cache(maxsize=4096)
def _digest(row: Hashable) -> str:
    return digest(repr(row))
