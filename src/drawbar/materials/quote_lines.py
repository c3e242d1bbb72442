"""The lines of a quote: what is taken off, the work and the fees, each with its quantity, its price and its amount."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from drawbar.materials.needs import Part
from drawbar.materials.prices import FOOT_M, Price, PriceList
from drawbar.materials.takeoff import Takeoff

_THREE_DIGITS = Decimal("0.001")
_MINUTES = Decimal(60)  # in the hour that time is priced by
GOODS = ("pipe", "fitting", "device", "hose", "regulator")  # what sundries are a share of
_KEYS = {"pipe": "per-metre", "appliance": "appliances", "bottle": "bottles"}  # of a price list; `each` for the rest
MATERIALS = (*GOODS, "appliance", "bottle")


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """A line: what it is, how much of it, the price and the amount.

    Attributes
    ----------
    section : str
        `pipe`, `fitting`, `device`, `hose`, `regulator`, `appliance`, `bottle`, `sundries`, `labour` or `fee`.
    item, size : str
        What it is; the size is empty where it has none.
    quantity : Decimal
        How much of it, in `unit`.
    unit : str
        `m`, `each`, `min` or `job`.
    keys : tuple of str
        Under which names the price list was asked, the first that it has going before the others.
    price : Decimal or None
        The price, None where the list has none.
    per : Decimal
        How many units the price is for.
    amount : Decimal or None
        Quantity times price, rounded; None where the list has no price.
    text : str
        What it is in the words of the price list, empty where that has none.
    """

    section: str
    item: str
    size: str
    quantity: Decimal
    unit: str
    keys: tuple[str, ...]
    price: Decimal | None = None
    per: Decimal = Decimal(1)
    amount: Decimal | None = None
    text: str = ""

    @property
    def exact(self) -> Decimal:
        """Quantity times price before it is rounded; nothing where the list has no price."""
        return Decimal(0) if self.price is None else self.quantity * self.price / self.per

    @property
    def list_key(self) -> str:
        """The key of a price list under which its price stands."""
        return _KEYS.get(self.section, "each")


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
        Pipe, parts, sundries, labour and fees. The last three are there only if they are priced, what is formed in the
        pipe only if it is where there are prices at all, and appliances and bottles unless the list leaves them out.
    """
    lines = [
        _line(prices, "pipe", "pipe", pipe.pipe, pipe.bought_m, "m", (pipe.pipe,), prices.pipes if prices else {})
        for pipe in takeoff.pipes
    ]
    for part, count in takeoff.parts:
        known = _prices_of(prices, part.section)
        if known is None:
            continue
        line = _line(prices, part.section, part.name, part.shown_size, Decimal(count), "each", keys_of(part), known)
        if line.price is not None or prices is None or not part.formed:
            lines.append(line)
    return [*lines, *_work_and_fees(takeoff, prices, lines)] if prices is not None else lines


def _prices_of(prices: PriceList | None, section: str) -> Mapping[str, Price] | None:
    """Return the prices that parts of a section are looked up in; None where they are not quoted."""
    if prices is None:
        return {}
    return {"appliance": prices.appliances, "bottle": prices.bottles}.get(section, prices.parts)


def keys_of(part: Part) -> tuple[str, ...]:
    """Return the names under which the price of a part may stand, the most particular first."""
    if part.section == "bottle":
        return tuple(dict.fromkeys((part.shown_size, part.size)))
    if part.section == "appliance":
        return (part.name, part.size) if part.size else (part.name,)
    sizes = dict.fromkeys(size for size in (part.shown_size, part.size) if size)
    return (*(f"{part.name}@{size}" for size in sizes), part.name)


def _line(  # noqa: PLR0913, PLR0917 - the columns of a quote
    prices: PriceList | None,
    section: str,
    item: str,
    size: str,
    quantity: Decimal,
    unit: str,
    keys: tuple[str, ...],
    known: Mapping[str, Price] | None = None,
) -> QuoteLine:
    """Return a line with the first price that is known under its keys."""
    price = next(((known or {})[key] for key in keys if key in (known or {})), None)
    line = QuoteLine(section, item, size, quantity, unit, keys)
    return line if price is None or prices is None else _priced(line, price, prices)


def _priced(line: QuoteLine, price: Price, prices: PriceList) -> QuoteLine:
    """Return a line with its price; a length that is priced by the foot in feet, to three digits as in metres."""
    by_foot = line.unit == "m" and price.unit == "ft"
    quantity = (line.quantity / FOOT_M).quantize(_THREE_DIGITS) if by_foot else line.quantity
    amount = prices.rounding.rounded(quantity * price.amount / price.per, prices.digits)
    return QuoteLine(
        *(line.section, line.item, line.size, quantity, "ft" if by_foot else line.unit, line.keys),
        *(price.amount, price.per, amount, price.text),
    )


def _work_and_fees(takeoff: Takeoff, prices: PriceList, goods: Sequence[QuoteLine]) -> Iterator[QuoteLine]:
    """Yield sundries, labour and fees, as far as the list prices them."""
    jobs = Decimal(len(takeoff.needs.jobs))
    hour = None if prices.labour_per_hour is None else Price(prices.labour_per_hour, _MINUTES)

    def line(section: str, item: str, quantity: Decimal, unit: str, price: Price) -> QuoteLine:
        return _priced(QuoteLine(section, item, "", quantity, unit, ()), price, prices)

    if prices.sundries_share is not None:
        share = prices.sundries_share
        base = sum((counted(line, prices) for line in goods if line.section in GOODS), Decimal(0))
        yield line("sundries", f"sundries, {_percent(share)} of pipe and parts", share, "share", Price(base))
    elif prices.sundries is not None:
        yield line("sundries", "sundries", jobs, "job", Price(prices.sundries))
    labour = (
        ("laying pipe", takeoff.length_m, "m", prices.labour_per_metre),
        ("joints", Decimal(takeoff.joints), "each", prices.labour_per_joint),
        ("work of a job", jobs, "job", prices.labour_per_job),
    )
    for item, quantity, unit, rate in labour:
        if rate is not None:
            yield line("labour", item, quantity, unit, Price(rate))
    for item, minutes in (("tightness test", prices.test_min), ("purge", prices.purge_min)):
        if minutes is not None and hour is not None:
            yield line("labour", item, minutes * jobs, "min", hour)
    for name, fee in prices.fees.items():
        yield line("fee", name, jobs, "job", Price(fee))


def counted(line: QuoteLine, prices: PriceList) -> Decimal:
    """Return what a line adds to a sum: its amount, or what that was before it was rounded, as the list says."""
    return (line.amount or Decimal(0)) if prices.rounding.by_line else line.exact


def _percent(share: Decimal) -> str:
    return f"{(share * 100).normalize():f} %"
