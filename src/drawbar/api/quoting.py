"""Materials and money: what jobs take, and what it costs."""

from __future__ import annotations

from decimal import Decimal

import drawbar.materials.quote as _quote
import drawbar.materials.takeoff as _takeoff
from drawbar.job import Job, decided
from drawbar.materials.prices import PriceList
from drawbar.materials.quote import Quote
from drawbar.materials.takeoff import Needs, Takeoff

_UM_PER_M = 1_000_000


def takeoff(
    *jobs: Job | Needs,
    waste: Decimal | float | None = None,
    stock_m: Decimal | float | None = None,
    kerf_m: Decimal | float = 0,
) -> Takeoff:
    """Return the materials of jobs together, or of needs that were put together by hand.

    Parameters
    ----------
    *jobs : Job or Needs
        The jobs, each with one size a run.
    waste : Decimal or float, optional
        The share that is added to the pipe, 1 for 100 %. Without it `quote` adds what its price list says, and the
        takeoff by itself nothing.
    stock_m : Decimal or float, optional
        The stock length that pipe is bought in [m]; without it pipe is bought by the metre.
    kerf_m : Decimal or float
        What a cut takes [m].

    Returns
    -------
    Takeoff
        Pipe by size, parts and joints; lengths are decimals.

    Raises
    ------
    ValueError
        If there are no jobs, or a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> [(pipe.pipe, pipe.with_waste_m) for pipe in drawbar.takeoff(job, waste=0.05).pipes]
    [('as1432-b/9.52', Decimal('2.310')), ('as1432-b/12.70', Decimal('2.100')), ('as1432-b/15.88', Decimal('3.780'))]
    """
    if not jobs:
        raise ValueError("there are no jobs to take off")
    needs = _takeoff.together([job if isinstance(job, Needs) else _takeoff.needs_of(decided(job)) for job in jobs])
    stock_um = None if stock_m is None else round(_decimal(stock_m) * _UM_PER_M)
    return _takeoff.takeoff_of(needs, _decimal(waste or 0), stock_um, round(_decimal(kerf_m) * _UM_PER_M))


def quote(takeoff: Takeoff, prices: PriceList) -> Quote:
    """Return a takeoff with the prices of a list, and with its waste where the takeoff has none.

    Parameters
    ----------
    takeoff : Takeoff
        The materials.
    prices : PriceList
        The list, as `read_prices` reads it.

    Returns
    -------
    Quote
        The priced lines and their sums, in decimals; a line without a price is in no sum.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> quote = drawbar.quote(drawbar.takeoff(job), drawbar.read_prices("examples/prices.yaml"))
    >>> quote.total, quote.is_complete
    (Decimal('860.95'), True)
    """
    if not takeoff.waste and prices.waste:
        stock_um = None if takeoff.stock_m is None else round(takeoff.stock_m * _UM_PER_M)
        kerf_um = next((pipe.cutting.kerf_um for pipe in takeoff.pipes if pipe.cutting is not None), 0)
        takeoff = _takeoff.takeoff_of(takeoff.needs, prices.waste, stock_um, kerf_um)
    return _quote.quote(takeoff, prices)


def _decimal(figure: Decimal | float) -> Decimal:
    """Return a figure as the decimal that it is written as: 0.05 is 5 % exactly."""
    return figure if isinstance(figure, Decimal) else Decimal(str(figure))
