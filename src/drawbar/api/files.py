"""What a script reads and writes: jobs, price lists, and sizes put into a job file."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path

from drawbar.asking import asked_with
from drawbar.catalogue.catalogue import Catalogue, shipped_catalogue
from drawbar.job import Job
from drawbar.jobfile.edit import bom_of, with_sizes
from drawbar.jobfile.reader import job_of, read_job_file
from drawbar.materials.prices import PriceList, read_price_list
from drawbar.rechecking.swaps import Swap
from drawbar.yamlfile.carried import JOB, is_page, part_of
from drawbar.yamlfile.nodes import read_text

_File = str | os.PathLike[str]


def read_job(  # noqa: PLR0913 - a keyword for each thing that may be asked of a job
    file: _File,
    catalogue: Catalogue | None = None,
    *,
    sized: bool = False,
    settings: Mapping[str, str] | None = None,
    swaps: Sequence[Swap] = (),
    units: str | None = None,
) -> Job:
    """Read a job file.

    Parameters
    ----------
    file : str or path
        The file, or `-` for standard input.
    catalogue : Catalogue, optional
        What the job may name; without it, the project's own data. `Catalogue(["library.yaml"])` lays a workshop's
        library over them.
    sized : bool
        Whether a run that leaves its size open is a problem, as it is to all calls but a few, such as `size`.
    settings : mapping of str to str, optional
        Keys to set before the job is read, as `{"runs.main.length": "4.2 m"}`: a value as the file would have it, an
        empty one to take the key out. The file stays as it is; the job's `asked` has what was set.
    swaps : sequence of Swap
        Appliances to swap before the job is read, each of which must be in it.
    units : str, optional
        The units of pages: `metric`, `mbar` or `us`; without it, those of the file.

    Returns
    -------
    Job
        The job, in SI floats with the unit in the name.

    Raises
    ------
    Problems
        All that is wrong with the file, each with its place, and with what is set or swapped.
    ValueError
        If there are no units of that name.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> job.runs[0].name, job.runs[0].length_m, job.runs[0].pipe.label
    ('main', 3.6, 'as1432-b/15.88')
    >>> longer = {"runs.main.length": "9 m"}
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True, settings=longer)
    >>> drawbar.check(job).verdict, job.asked
    (<Verdict.UNDECIDED: 'undecided'>, ('runs.main.length = 9 m',))
    """
    known = catalogue or shipped_catalogue()
    return read_job_file(os.fspath(file), known, sized=sized, asked=asked_with(settings, swaps, units))


def job_from_text(  # noqa: PLR0913 - as `read_job`
    text: str,
    catalogue: Catalogue | None = None,
    *,
    sized: bool = False,
    file: str = "job.yaml",
    settings: Mapping[str, str] | None = None,
    swaps: Sequence[Swap] = (),
    units: str | None = None,
) -> Job:
    """Return the job that a text describes, written as a job file is.

    Parameters
    ----------
    text : str
        The text, in YAML or JSON.
    catalogue : Catalogue, optional
        What the job may name; without it, the project's own data.
    sized : bool
        Whether a run that leaves its size open is a problem.
    file : str
        What the text is called in problems and results.
    settings : mapping of str to str, optional
        Keys to set before the job is read, as for `read_job`.
    swaps : sequence of Swap
        Appliances to swap before the job is read.
    units : str, optional
        The units of pages: `metric`, `mbar` or `us`; without it, those of the text.

    Returns
    -------
    Job
        The job, as `read_job` returns it.

    Raises
    ------
    Problems
        All that is wrong with the text, each with its place, and with what is set or swapped.
    ValueError
        If there are no units of that name.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.job_from_text('''
    ... job: Pie cart
    ... gas: propane
    ... limits: {drop: 0.25 kPa}
    ... regulator: {outlet: 2.75 kPa}
    ... runs: {main: {from: regulator, pipe: as1432-b/12.70, length: 2 m}}
    ... appliances: {oven: {at: main, input: 20 MJ/h}}
    ... ''')
    >>> job.appliances[0].name, round(job.appliances[0].input_w)
    ('oven', 5556)
    """
    known = catalogue or shipped_catalogue()
    return job_of(text, file, known, sized=sized, asked=asked_with(settings, swaps, units))


def read_prices(file: _File, catalogue: Catalogue | None = None) -> PriceList:
    """Read a price list.

    Parameters
    ----------
    file : str or path
        The file, or `-` for standard input.
    catalogue : Catalogue, optional
        What has the pipes and fittings that the list may price; without it, their names are not checked.

    Returns
    -------
    PriceList
        The list; money and shares are decimals, 1 for 100 %.

    Raises
    ------
    Problems
        All that is wrong with the file, each with its place.

    Examples
    --------
    >>> import drawbar
    >>> prices = drawbar.read_prices("examples/prices.yaml")
    >>> prices.per_metre("as1432-b/12.70"), prices.waste
    (Decimal('9.80'), Decimal('0.05'))
    """
    return read_price_list(os.fspath(file), catalogue)


def write_sizes(job: Job, file: _File, *, source: _File | None = None) -> None:
    """Write a job file with the sizes of a job; nothing else in it changes, comments and order included.

    Parameters
    ----------
    job : Job
        The job with one size a run, as of `size` or a remedy applied to it.
    file : str or path
        The file to write, whole or not at all. It may be the one that the job was read from.
    source : str or path, optional
        The job file that the sizes are put into; without it, the one that the job was read from.

    Raises
    ------
    Problems
        If there is no such job file.
    ValueError
        If a run leaves its size open, the file is the sheet that the job was read from, or the job was read with more
        set than pipes of runs: the sizes of another line are not those of the file.
    OSError
        If the file can't be written.

    Examples
    --------
    >>> import drawbar, pathlib, tempfile
    >>> sizes = drawbar.size(drawbar.read_job("examples/market-kitchen-open.yaml"))
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "market-kitchen.yaml")
    ...     drawbar.write_sizes(sizes.result.sized, file)
    ...     drawbar.check(drawbar.read_job(file, sized=True)).passes
    True
    """
    if not all(re.fullmatch(r"runs\..+\.pipe = .+", words) for words in job.asked):
        raise ValueError(f"the job was read with {'; '.join(job.asked)}: its sizes are not those of the file")
    origin = job.file if source is None else os.fspath(source)
    labels = {run.name: run.pipe.label for run in job.runs}
    read = read_text(origin)
    if is_page(read) and Path(origin).resolve() == Path(file).resolve():
        raise ValueError(f"{origin} is a sheet; write its job to a file of its own")
    text = bom_of(origin) + with_sizes(part_of(read, origin, JOB), origin, labels)
    target = Path(file).resolve()
    part = target.with_name(f".{target.name[:50]}.{os.getpid()}")
    try:
        part.write_bytes(text.encode())
        if target.exists():
            shutil.copymode(target, part)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
