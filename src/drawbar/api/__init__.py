"""What Python code uses: the same calls and results as the commands, with the defaults that a script wants.

Everything here is there as `drawbar.NAME` as well.
"""

from __future__ import annotations

import functools
import os
from collections.abc import Sequence
from decimal import Decimal

import drawbar.jobfile.reader as _reader
import drawbar.materials.prices as _prices
import drawbar.rechecking.recheck as _fleet
from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check
from drawbar.checking.results import CheckResult
from drawbar.job import Job, decided
from drawbar.materials.prices import PriceList
from drawbar.materials.quote import Quote, quote
from drawbar.materials.takeoff import Needs, Takeoff, needs_of, together
from drawbar.materials.takeoff import takeoff_of as _takeoff
from drawbar.problems import Problem, Problems
from drawbar.rechecking.recheck import Outcome, Swap, SwapError
from drawbar.sizing.size import SizeResult, Wishes, size

__all__ = [
    "Catalogue",
    "CheckResult",
    "Job",
    "Needs",
    "Outcome",
    "PriceList",
    "Problem",
    "Problems",
    "Quote",
    "SizeResult",
    "Swap",
    "SwapError",
    "Takeoff",
    "Wishes",
    "check",
    "quote",
    "read_job",
    "read_prices",
    "recheck",
    "size",
    "swap_of",
    "takeoff",
]

File = str | os.PathLike[str]


@functools.cache
def _shipped() -> Catalogue:
    """Return the project's own catalogue, read once."""
    return Catalogue()


def read_job(file: File, catalogue: Catalogue | None = None, *, sized: bool = False) -> Job:
    """Read a job file, or standard input for `-`.

    catalogue : what the job may name; without one, the project's own data. `Catalogue(["library.yaml"])` lays a
    workshop's library over it
    sized : whether every run must have one size, as all calls but `size` need
    Raises Problems with all that is wrong with the file.
    """
    return _reader.read_job_file(os.fspath(file), catalogue or _shipped(), sized=sized)


def recheck(job: Job, swaps: Sequence[Swap], catalogue: Catalogue | None = None) -> Outcome:
    """Look at a job again with appliances swapped: how it stands before and after, and what would put it right.

    catalogue : whose pipe sizes may put it right; without one, the project's own data
    Raises ValueError if a run leaves its size open.
    """
    return _fleet.recheck_job(decided(job), swaps, catalogue or _shipped())


def swap_of(old: str, new: str, catalogue: Catalogue | None = None) -> Swap:
    """Return the swap of an appliance, by its name in the job or its type, for a type or a rate as `30 MJ/h`.

    Raises SwapError if the new one is neither.
    """
    return _fleet.parse_swap(old, new, catalogue or _shipped())


def takeoff(
    *jobs: Job | Needs,
    waste: Decimal = Decimal(0),
    stock_m: Decimal | None = None,
    kerf_m: Decimal = Decimal(0),
) -> Takeoff:
    """Return the materials of jobs together, or of needs that were put together by hand.

    waste : share that is added to the pipe, 1 for 100 %
    stock_m : the stock length that pipe is bought in [m], None where it is bought by the metre
    kerf_m : what a cut takes [m]
    Raises ValueError if there are no jobs, or a run leaves its size open.
    """
    if not jobs:
        raise ValueError("there are no jobs to take off")
    needs = [one if isinstance(one, Needs) else needs_of(decided(one)) for one in jobs]
    stock_um = round(stock_m * 1_000_000) if stock_m is not None else None
    return _takeoff(together(needs), waste, stock_um, round(kerf_m * 1_000_000))


def read_prices(file: File) -> PriceList:
    """Read a price list, or standard input for `-`. Raises Problems with all that is wrong with it."""
    return _prices.read_price_list(os.fspath(file))
