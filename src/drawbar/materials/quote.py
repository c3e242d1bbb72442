"""A takeoff with prices. All money is decimal, and a price that the list does not have is never guessed.

The order of the sum: each line is quantity x price, rounded half up to the cent. Materials and labour are the sums of
their rounded lines, and cost is the two together. Margin is the list's share of the cost, rounded; tax is its share of
cost and margin, rounded; the total is all three.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from drawbar.materials.prices import PriceList
from drawbar.materials.takeoff import Takeoff

CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class QuoteLine:
    """One line: what it is, how much of it, the price of one and the amount.

    section : `pipe`, `fitting`, `device`, `hose`, `regulator` or `labour`
    keys : under which names the price list was asked, the first that it has going before the others
    price, amount : None where the list has no price
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
        """Quantity times price, to the cent."""
        return None if self.price is None else to_cent(self.quantity * self.price)


@dataclass(frozen=True, slots=True)
class Quote:
    """A takeoff with prices. missing : the lines that have none, which are in no sum."""

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


def to_cent(amount: Decimal) -> Decimal:
    """Return an amount rounded half up to the cent."""
    return amount.quantize(CENT, ROUND_HALF_UP)


def lines_of(takeoff: Takeoff, prices: PriceList | None = None) -> list[QuoteLine]:
    """Return the lines of a takeoff, with the prices that a list has. Labour is there only if it is priced."""
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
    """Return a takeoff with the prices of a list."""
    lines = lines_of(takeoff, prices)
    amounts = {section: Decimal("0.00") for section in ("materials", "labour")}
    for line in lines:
        amounts["labour" if line.section == "labour" else "materials"] += line.amount or Decimal(0)
    cost = sum(amounts.values(), Decimal(0))
    margin = to_cent(cost * (prices.margin or Decimal(0)))
    tax = to_cent((cost + margin) * (prices.tax or Decimal(0)))
    missing = tuple(line for line in lines if line.price is None)
    return Quote(takeoff, prices, tuple(lines), missing, amounts["materials"], amounts["labour"], margin, tax)
