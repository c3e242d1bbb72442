"""Sheets: one page of a job to print and file, and whether such a page still stands."""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from drawbar import __version__
from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.catalogue.rows_used import library_text
from drawbar.display_units import Display
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problem, Problems
from drawbar.records.content import content_of
from drawbar.records.job_text import job_text
from drawbar.records.sheet import Measured, sheet_of
from drawbar.records.verified import SheetVerified, compared, lines_changed
from drawbar.yamlfile import nodes
from drawbar.yamlfile.carried import (
    JOB,
    LIBRARY,
    MADE_WITH,
    READINGS,
    carried,
    is_as_made,
    is_page,
    part_of,
    read_carried,
    version_of,
)

if TYPE_CHECKING:
    from drawbar.job import Job

_File = str | os.PathLike[str]


def sheet(
    job: Job,
    catalogue: Catalogue | None = None,
    *,
    date: datetime.date | None = None,
    readings: _File | None = None,
    tightness: Mapping[str, Any] | None = None,
) -> str:
    """Return the record of a job as one page to print and file. It needs the extra `drawbar[sheet]`.

    Parameters
    ----------
    job : Job
        The job, with one size a run.
    catalogue : Catalogue, optional
        What it was read with; without it, the project's own data.
    date : datetime.date, optional
        The date on the sheet; without it, today's.
    readings : str or path, optional
        A file of manometer readings, as of `read_readings`, that the test record is filled in from.
    tightness : mapping of str to Any, optional
        Arguments of `drawbar.tightness` that say what the tightness test read, as `readings_gauge_pa` and `time_s`.

    Returns
    -------
    str
        One HTML file, which needs no network and no script. It carries the job file, for `verify_sheet`.

    Raises
    ------
    ValueError
        If a run leaves its size open, or an argument of the tightness test can't be right.
    Problems
        If the readings or the workshop's logo can't be read.
    ModuleNotFoundError
        If the extra is not installed.

    Examples
    --------
    >>> import drawbar
    >>> page = drawbar.sheet(drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True))
    >>> page.startswith("<!DOCTYPE html>")
    True
    """
    from drawbar.report.sheet.page import as_html

    known = catalogue or shipped_catalogue()
    measured = Measured(tightness=dict(tightness or {}))
    if readings is not None:
        name = os.fspath(readings)
        measured = measured._replace(readings_text=read_carried(name, READINGS), readings_file=name)
    return as_html(sheet_of(job, known, job_text(job, known), date=date, measured=measured))


def verify_sheet(file: _File, job: Job | None = None, catalogue: Catalogue | None = None) -> SheetVerified:
    """Work out a sheet again and compare each of its figures. It needs the extra `drawbar[sheet]`.

    Parameters
    ----------
    file : str or path
        The sheet, an HTML file that `sheet` made.
    job : Job, optional
        The job as its file gives it now; without it, the job that the sheet carries.
    catalogue : Catalogue, optional
        The workshop's library as it is now; without it, the rows that the sheet carries.

    Returns
    -------
    SheetVerified
        What changed. A digest shows whether the page was changed since it was made; it is no signature.

    Raises
    ------
    Problems
        If the file is no sheet, carries no job, or what it carries can't be read.
    ModuleNotFoundError
        If the extra is not installed.

    Examples
    --------
    >>> import drawbar, pathlib, tempfile
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "sheet.html")
    ...     _ = file.write_text(drawbar.sheet(job), encoding="utf-8")
    ...     drawbar.verify_sheet(file).stands
    True
    """
    from drawbar.report.sheet.page import as_html

    name = os.fspath(file)
    page = nodes.read_text(name)
    version = version_of(page) if is_page(page) else None
    if version is None:
        raise Problems([Problem(name, 0, 0, "", "is no sheet", "name the HTML file that `drawbar sheet` wrote")])
    text, library = part_of(page, name, JOB), part_of(page, name, LIBRARY)
    known = catalogue or (Catalogue([name]) if library else shipped_catalogue())
    own = job_of(text, name, known, sized=True) if job is None else job
    given = text if job is None else job_text(job, known)
    made_with = _made_with(page, name)
    content = content_of(page)
    again = sheet_of(
        own if job is not None else own._replace(display=made_with["display"], asked=made_with["asked"]),
        known,
        given,
        date=made_with["date"],
        measured=Measured(carried(page, READINGS), name, made_with["tightness"]),
        logo=content.logo,
    )
    figures, changed, not_there = compared(content, content_of(as_html(again)))
    return SheetVerified(
        file=name,
        made_by=version,
        version=__version__,
        is_as_made=is_as_made(page),
        against=job.file if job is not None else None,
        figures=figures,
        changed=changed,
        not_there=not_there,
        job_lines=lines_changed(text, given) if given is not None else (),
        library_lines=lines_changed(library, library_text(own, known)),
    )


def _made_with(page: str, file: str) -> dict[str, Any]:
    """Return what a sheet was made with beside its job and readings."""
    try:
        read = json.loads(carried(page, MADE_WITH) or "")
        visit = {key: tuple(value) if isinstance(value, list) else value for key, value in read["tightness"].items()}
        return {
            "date": datetime.date.fromisoformat(read["date"]),
            "display": Display(**read["units"]),
            "asked": tuple(map(str, read["asked"])),
            "tightness": visit,
        }
    except (ValueError, KeyError, TypeError, AttributeError):
        what = "what it was made with can't be read"
        raise Problems([Problem(file, 0, 0, "", what, "make the sheet again from its job file")]) from None
