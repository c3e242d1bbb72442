"""Materials and work with prices. All money is decimal, and a price that the list does not have is never guessed.

The order of the sum: each line is quantity x price, rounded as the price list says (to the minor unit, half up, where
it says nothing). Materials (pipe, parts, appliances, bottles), sundries and labour are sums of lines, and cost is the
three together. Margin is the list's share of the cost; fees, as a call-out, carry none. Tax is its share of cost,
margin and fees, or the part of them that is tax where the prices have it in them. The total is all of them, rounded to
what the list says.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from drawbar.job import Job
from drawbar.materials.needs import Needs, needs_of, together
from drawbar.materials.prices import PriceList
from drawbar.materials.quote_lines import MATERIALS, QuoteLine, counted, keys_of, lines_of
from drawbar.materials.takeoff import Takeoff, takeoff_of


@dataclass(frozen=True, slots=True)
class Quote:
    """A takeoff with prices.

    Attributes
    ----------
    takeoff : Takeoff
        The materials, with the waste that is priced.
    prices : PriceList
        The price list.
    lines : tuple of QuoteLine
        Every line.
    materials, sundries, labour, fees, margin, tax : Decimal
        The sums, in the money of the price list.
    rounding : Decimal
        What the rounding of the total adds to them, or takes off.
    total : Decimal
        The total; the tax is in it.
    date : date
        The day of the quote.
    valid_until : date or None
        The last day on which it holds, None where the price list does not say.
    unused : tuple of str
        The prices of the list that no line asked for, as `each tee`.
    """

    takeoff: Takeoff
    prices: PriceList
    lines: tuple[QuoteLine, ...]
    materials: Decimal
    sundries: Decimal
    labour: Decimal
    fees: Decimal
    margin: Decimal
    tax: Decimal
    rounding: Decimal
    total: Decimal
    date: datetime.date
    valid_until: datetime.date | None
    unused: tuple[str, ...]

    @property
    def missing(self) -> tuple[QuoteLine, ...]:
        """The lines that have no price, which are in no sum."""
        return tuple(line for line in self.lines if line.price is None)

    @property
    def cost(self) -> Decimal:
        """Materials, sundries and labour: what the margin is a share of."""
        return self.materials + self.sundries + self.labour

    @property
    def is_complete(self) -> bool:
        """Whether every line has a price."""
        return not self.missing

    @property
    def is_expired(self) -> bool:
        """Whether the prices held only up to a day before that of the quote."""
        return self.valid_until is not None and self.valid_until < self.date

    @property
    def not_quoted(self) -> tuple[str, ...]:
        """What the price list says nothing of, so that none is in the total, or says to leave out."""
        prices = self.prices
        labour = (prices.labour_per_joint, prices.labour_per_metre, prices.labour_per_job)
        absent = {
            "appliances": prices.appliances is None,
            "bottles": prices.bottles is None and self.takeoff.needs.has("bottle"),
            "labour": all(rate is None for rate in labour),
            "test time": prices.test_min is None,
            "purge time": prices.purge_min is None,
            "call-out": "call-out" not in prices.fees,
            "certificate": "certificate" not in prices.fees,
            "sundries": prices.sundries is None and prices.sundries_share is None,
            "margin": prices.margin is None,
            "tax": prices.tax is None,
        }
        return tuple(name for name, is_absent in absent.items() if is_absent)


class Materials(NamedTuple):
    """The materials of a job or of several together, priced where there is a price list.

    Attributes
    ----------
    takeoff : Takeoff
        The materials.
    quote : Quote or None
        The same with prices, None without a price list.
    left_out : int
        How many jobs could not be read and are not in it.
    """

    takeoff: Takeoff
    quote: Quote | None = None
    left_out: int = 0

    @property
    def is_whole(self) -> bool:
        """Whether all jobs are in it and, with prices, each line has one that holds on the day of the quote."""
        return not self.left_out and (self.quote is None or (self.quote.is_complete and not self.quote.is_expired))


def quote(takeoff: Takeoff, prices: PriceList, *, date: datetime.date | None = None) -> Quote:
    """Return a takeoff with the prices of a list; where the takeoff leaves the waste open, with that of the list.

    Parameters
    ----------
    takeoff : Takeoff
        The materials.
    prices : PriceList
        The price list.
    date : datetime.date, optional
        The day of the quote; without it, today.

    Returns
    -------
    Quote
        The priced lines and their sums; a line without a price is in no sum. Its takeoff has the waste that is priced.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> quote = drawbar.quote(drawbar.takeoff(job), drawbar.read_prices("examples/prices.yaml"))
    >>> quote.total, quote.is_complete
    (Decimal('4464.33'), True)
    """
    if not takeoff.waste_is_given and prices.waste is not None:
        takeoff = takeoff_of(takeoff.needs, prices.waste, stock_m=takeoff.stock_m, kerf_m=takeoff.kerf_m)
    lines = lines_of(takeoff, prices)
    rules, digits = prices.rounding, prices.digits

    def sum_of(*sections: str) -> Decimal:
        return sum((counted(line, prices) for line in lines if line.section in sections), Decimal(0))

    def share_of(amount: Decimal, share: Decimal) -> Decimal:
        return rules.rounded(amount * share, digits) if rules.by_line else amount * share

    def shown(amount: Decimal) -> Decimal:
        return rules.rounded(amount, digits)

    materials, sundries, labour, fees = sum_of(*MATERIALS), sum_of("sundries"), sum_of("labour"), sum_of("fee")
    margin = share_of(materials + sundries + labour, prices.margin or Decimal(0))
    priced = materials + sundries + labour + margin + fees
    rate = prices.tax or Decimal(0)
    tax = share_of(priced, rate / (1 + rate) if prices.tax_included else rate)
    exact = priced if prices.tax_included else priced + tax
    total = rules.rounded_total(exact, digits)
    day = datetime.date.today() if date is None else date
    return Quote(
        takeoff=takeoff,
        prices=prices,
        lines=tuple(lines),
        materials=shown(materials),
        sundries=shown(sundries),
        labour=shown(labour),
        fees=shown(fees),
        margin=shown(margin),
        tax=shown(tax),
        rounding=total - shown(exact),
        total=total,
        date=day,
        valid_until=day + datetime.timedelta(prices.valid) if isinstance(prices.valid, int) else prices.valid,
        unused=_unused(lines, takeoff, prices),
    )


def _unused(lines: Sequence[QuoteLine], takeoff: Takeoff, prices: PriceList) -> tuple[str, ...]:
    """Return the prices that nothing in a takeoff asked for, each with the key it stands under."""
    asked = {(line.list_key, key) for line in lines for key in line.keys}
    asked |= {("each", key) for part, _ in takeoff.parts if part.formed for key in keys_of(part)}
    by_key = {
        "per-metre": prices.pipes,
        "each": prices.parts,
        "appliances": prices.appliances or {},
        "bottles": prices.bottles or {},
    }
    return tuple(f"{key} {name}" for key, known in by_key.items() for name in known if (key, name) not in asked)


def materials_of(  # noqa: PLR0913 - each is asked for by its name
    jobs: Iterable[Job | Needs | None],
    prices: PriceList | None = None,
    *,
    each: bool = False,
    waste: Decimal | float | None = None,
    stock_m: Decimal | float | None = None,
    kerf_m: Decimal | float = 0,
    date: datetime.date | None = None,
) -> list[Materials]:
    """Return the materials of jobs together, and of each by itself before if that is asked for.

    Parameters
    ----------
    jobs : iterable of Job, Needs or None
        The jobs, or what they need; None for a job that could not be read.
    prices : PriceList or None
        The price list, None for materials without prices.
    each : bool
        Whether each of several jobs comes by itself, before all together.
    waste : Decimal or float or None
        The share that is added to the pipe, 1 for 100 %; None for that of the price list, or nothing without it.
    stock_m : Decimal or float or None
        The stock length that pipe is bought in [m], None where it is bought by the metre.
    kerf_m : Decimal or float
        What a cut takes [m].
    date : datetime.date, optional
        The day of a quote; without it, today.

    Returns
    -------
    list of Materials
        The last is that of all jobs together. Empty if no job could be read.

    Raises
    ------
    ValueError
        If a run leaves its size open, or a figure can't be.
    """
    share = prices.waste if waste is None and prices is not None else waste

    def priced(needs: Needs, left_out: int = 0) -> Materials:
        takeoff = takeoff_of(needs, share, stock_m=stock_m, kerf_m=kerf_m)
        return Materials(takeoff, quote(takeoff, prices, date=date) if prices is not None else None, left_out)

    all_needs = [None if job is None else _needs(job) for job in jobs]  # of a job no more is kept than what it needs
    readable = [needs for needs in all_needs if needs is not None]
    if not readable:
        return []
    by_job = [priced(needs) for needs in readable] if each and len(readable) > 1 else []
    return [*by_job, priced(together(readable), len(all_needs) - len(readable))]


def _needs(job: Job | Needs) -> Needs:
    return job if isinstance(job, Needs) else needs_of(job)
