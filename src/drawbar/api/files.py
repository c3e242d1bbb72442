"""What a script reads and writes: jobs, price lists, stock lists, readings, and sizes put into a job file."""

from __future__ import annotations

import functools
import os
import shutil
from pathlib import Path
from typing import NamedTuple

import drawbar.jobfile.edit as _edit
import drawbar.jobfile.reader as _reader
import drawbar.materials.prices as _prices
import drawbar.onsite.readings as _readings
import drawbar.sizing.stock as _stock
from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job, decided
from drawbar.materials.prices import PriceList
from drawbar.onsite.readings import Readings
from drawbar.yamlfile.nodes import read_text

File = str | os.PathLike[str]


class StockList(NamedTuple):
    """A workshop's stock list as read: the file, and the sizes by `family/size`."""

    file: str
    labels: frozenset[str]


@functools.cache
def shipped_catalogue() -> Catalogue:
    """Return the project's own catalogue, read once."""
    return Catalogue()


def read_job(file: File, catalogue: Catalogue | None = None, *, sized: bool = False) -> Job:
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

    Returns
    -------
    Job
        The job, in SI floats with the unit in the name.

    Raises
    ------
    Problems
        All that is wrong with the file, each with its place.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> job.runs[0].name, job.runs[0].length_m, job.runs[0].pipe.label
    ('main', 3.6, 'as1432-b/15.88')
    """
    return _reader.read_job_file(os.fspath(file), catalogue or shipped_catalogue(), sized=sized)


def job_from_text(text: str, catalogue: Catalogue | None = None, *, sized: bool = False, file: str = "job.yaml") -> Job:
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

    Returns
    -------
    Job
        The job, as `read_job` returns it.

    Raises
    ------
    Problems
        All that is wrong with the text, each with its place.

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
    return _reader.job_of(text, file, catalogue or shipped_catalogue(), sized=sized)


def read_prices(file: File) -> PriceList:
    """Read a price list.

    Parameters
    ----------
    file : str or path
        The file, or `-` for standard input.

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
    return _prices.read_price_list(os.fspath(file))


def read_stock(file: File, catalogue: Catalogue | None = None) -> StockList:
    """Read a stock list, which `size` may be kept to.

    Parameters
    ----------
    file : str or path
        The file, or `-` for standard input, as `stock: [as1432-b/12.70, b88-l/auto]`.
    catalogue : Catalogue, optional
        What the list may name; without it, the project's own data.

    Returns
    -------
    StockList
        The sizes in stock.

    Raises
    ------
    Problems
        All that is wrong with the file, each with its place.

    Examples
    --------
    >>> import drawbar, pathlib, tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "stock.yaml")
    ...     _ = file.write_text("stock: [as1432-b/9.52, as1432-b/12.70]")
    ...     stock = drawbar.read_stock(file)
    >>> sorted(stock.labels)
    ['as1432-b/12.70', 'as1432-b/9.52']
    """
    name = os.fspath(file)
    return StockList(name, _stock.read_stock(name, catalogue or shipped_catalogue()))


def read_readings(file: File, job: Job) -> Readings:
    """Read the manometer readings of a job, which `commission` sets beside what they should be.

    Parameters
    ----------
    file : str or path
        The file, or `-` for standard input, in the form that `drawbar commission --help` shows.
    job : Job
        The job that they were taken on, with one size a run.

    Returns
    -------
    Readings
        The readings, each with the state and the way of plugging in that it was taken in.

    Raises
    ------
    Problems
        All that is wrong with the file, each with its place.
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar, pathlib, tempfile
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     file = pathlib.Path(folder, "readings.yaml")
    ...     _ = file.write_text("readings: [{state: breakfast, at: fryer, pressure: 2.71 kPa}]")
    ...     readings = drawbar.read_readings(file, job)
    >>> readings.measured[0].at, readings.measured[0].gauge_pa
    ('fryer', 2710.0)
    """
    return _readings.read_readings(os.fspath(file), decided(job))


def write_sizes(job: Job, file: File, *, source: File | None = None) -> None:
    """Write a job file with the sizes of a job; nothing else in it changes, comments and order included.

    Parameters
    ----------
    job : Job
        The job with one size a run, as of `size` or `remedied`.
    file : str or path
        The file to write, whole or not at all. It may be the one that the job was read from.
    source : str or path, optional
        The job file that the sizes are put into; without it, the one that the job was read from.

    Raises
    ------
    Problems
        If there is no such job file.
    ValueError
        If a run leaves its size open.
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
    origin = job.file if source is None else os.fspath(source)
    labels = {run.name: run.pipe.label for run in job.runs}
    text = _edit.with_sizes(read_text(origin), origin, labels)
    has_bom = Path(origin).read_bytes().startswith(_edit.BOM.encode())  # which reading leaves out
    target = Path(file).resolve()
    part = target.with_name(f".{target.name[:50]}.{os.getpid()}")
    try:
        part.write_bytes(((_edit.BOM if has_bom else "") + text).encode())
        if target.exists():
            shutil.copymode(target, part)
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
