"""Materials with prices. All money is decimal, and a price that the list does not have is never guessed.

The order of the sum: each line is quantity x price, rounded half up to the cent. Materials and labour are the sums of
their rounded lines, and cost is the two together. Margin is the list's share of the cost, rounded; tax is its share of
cost and margin, rounded; the total is all three.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from drawbar.job import Job
from drawbar.materials.needs import Needs, needs_of, together
from drawbar.materials.prices import PriceList
from drawbar.materials.takeoff import Takeoff, takeoff_of

_CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """A line: what it is, how much of it, the price of each and the amount.

    Attributes
    ----------
    section : str
        `pipe`, `fitting`, `device`, `hose`, `regulator` or `labour`.
    item, size : str
        What it is; the size is empty where it has none.
    quantity : Decimal
        How much of it, in `unit`.
    unit : str
        `m` or `each`.
    keys : tuple of str
        Under which names the price list was asked, the first that it has going before the others.
    price : Decimal or None
        The price of a unit, None where the list has none.
    """

    section: str
    item: str
    size: str
    quantity: Decimal
    unit: str
    keys: tuple[str, ...]
    price: Decimal | None = None

    @property
    def amount(self) -> Decimal | None:
        """Quantity times price, to the cent; None where the list has no price."""
        return None if self.price is None else to_cent(self.quantity * self.price)


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
    missing : tuple of QuoteLine
        The lines that have no price, which are in no sum.
    materials, labour, margin, tax : Decimal
        The sums, in the money of the price list.
    """

    takeoff: Takeoff
    prices: PriceList
    lines: tuple[QuoteLine, ...]
    missing: tuple[QuoteLine, ...]
    materials: Decimal
    labour: Decimal
    margin: Decimal
    tax: Decimal

    @property
    def cost(self) -> Decimal:
        """Materials and labour."""
        return self.materials + self.labour

    @property
    def total(self) -> Decimal:
        """Cost, margin and tax."""
        return self.cost + self.margin + self.tax

    @property
    def is_complete(self) -> bool:
        """Whether every line has a price."""
        return not self.missing


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


def to_cent(amount: Decimal) -> Decimal:
    """Return an amount rounded half up to the cent.

    Parameters
    ----------
    amount : Decimal
        The amount, in any money.

    Returns
    -------
    Decimal
        The amount with two decimals.

    Examples
    --------
    >>> to_cent(Decimal("2.675"))
    Decimal('2.68')
    """
    return amount.quantize(_CENT, ROUND_HALF_UP)


def lines_of(takeoff: Takeoff, prices: PriceList | None = None) -> list[QuoteLine]:
    """Return the lines of a takeoff, with the prices that a list has.

    Parameters
    ----------
    takeoff : Takeoff
        The materials.
    prices : PriceList or None
        The price list, None for lines without prices.

    Returns
    -------
    list of QuoteLine
        Pipe, parts and labour. Labour is there only if it is priced, and so is what is formed in the pipe if there
        are prices at all.
    """
    lines = [
        QuoteLine(
            "pipe", "pipe", pipe.pipe, pipe.bought_m, "m", (pipe.pipe,), prices.per_metre(pipe.pipe) if prices else None
        )
        for pipe in takeoff.pipes
    ]
    for part, count in takeoff.parts:
        price = prices.fitting(part.name, part.size) if prices else None
        keys = (f"{part.name}@{part.size}", part.name) if part.size else (part.name,)
        if price is not None or prices is None or not part.formed:
            lines.append(QuoteLine(part.section, part.name, part.size, Decimal(count), "each", keys, price))
    labour = (
        ("laying pipe", takeoff.length_m, "m", "per-metre", prices.labour_per_metre if prices else None),
        ("joints", Decimal(takeoff.joints), "each", "per-joint", prices.labour_per_joint if prices else None),
    )
    for item, quantity, unit, key, price in labour:
        if price is not None:
            lines.append(QuoteLine("labour", item, "", quantity, unit, (key,), price))
    return lines


def quote(takeoff: Takeoff, prices: PriceList) -> Quote:
    """Return a takeoff with the prices of a list; where the takeoff leaves the waste open, with that of the list.

    Parameters
    ----------
    takeoff : Takeoff
        The materials.
    prices : PriceList
        The price list.

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
    (Decimal('860.95'), True)
    """
    if not takeoff.waste_is_given and prices.waste is not None:
        takeoff = takeoff_of(takeoff.needs, prices.waste, stock_m=takeoff.stock_m, kerf_m=takeoff.kerf_m)
    lines = lines_of(takeoff, prices)
    amounts = {section: Decimal("0.00") for section in ("materials", "labour")}
    for line in lines:
        amounts["labour" if line.section == "labour" else "materials"] += line.amount or Decimal(0)
    cost = sum(amounts.values(), Decimal(0))
    margin = to_cent(cost * (prices.margin or Decimal(0)))
    tax = to_cent((cost + margin) * (prices.tax or Decimal(0)))
    missing = tuple(line for line in lines if line.price is None)
    return Quote(takeoff, prices, tuple(lines), missing, amounts["materials"], amounts["labour"], margin, tax)


def materials_of(  # noqa: PLR0913 - each is asked for by its name
    jobs: Iterable[Job | Needs | None],
    prices: PriceList | None = None,
    *,
    each: bool = False,
    waste: Decimal | float | None = None,
    stock_m: Decimal | float | None = None,
    kerf_m: Decimal | float = 0,
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
        return Materials(takeoff, quote(takeoff, prices) if prices is not None else None, left_out)

    all_needs = [None if job is None else _needs(job) for job in jobs]  # of a job no more is kept than what it needs
    readable = [needs for needs in all_needs if needs is not None]
    if not readable:
        return []
    by_job = [priced(needs) for needs in readable] if each and len(readable) > 1 else []
    return [*by_job, priced(together(readable), len(all_needs) - len(readable))]


def _needs(job: Job | Needs) -> Needs:
    return job if isinstance(job, Needs) else needs_of(job)
