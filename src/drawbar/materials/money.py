"""Money in decimals, as a price list gives it and as a quote rounds it: no float comes near it."""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from typing import Any

from yaml.nodes import Node

from drawbar.catalogue.data_files import plain_data
from drawbar.problems import close_to, shown
from drawbar.yamlfile.nodes import Source
from drawbar.yamlfile.scalars import Path, scalar

NO_CURRENCY = "money units"  # said where the list names no currency
USUAL_DIGITS = 2  # of a minor unit, where no currency is named
_MOST_MONEY = Decimal(1_000_000_000)
_MOST_SHOWN_SHARE = 2  # decimals of a percentage
_DECIMAL_COMMA = re.compile(r"[0-9]+,[0-9]+")
_MARKED = re.compile(r"[^0-9.,+-]{1,5}\s?[0-9][0-9.,]*|[0-9][0-9.,]*\s?[^0-9.,%]{1,5}")  # `$ 12.50`, `12.50 AUD`


@functools.cache
def currencies() -> Mapping[str, int]:
    """Return the digits of each currency's minor unit, by its ISO 4217 code."""
    digits = plain_data("currencies")["digits"]
    return {code: number for number, codes in digits.items() for code in codes}


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency by its code of ISO 4217. Reads as the code."""

    @staticmethod
    def schema() -> dict[str, Any]:
        """Return the JSON Schema of a currency's code."""
        return {"enum": sorted(currencies()), "errorMessage": "write a currency's code by ISO 4217, as `AUD`"}

    def read(self, node: Node, source: Source, path: Path) -> str | None:
        """Return the code, or None with a problem noted."""
        text = scalar(node, source, path, "write the currency's code, as `AUD`")
        if text is None:
            return None
        if text not in currencies():
            near = close_to(text, currencies())
            fit = near if near.startswith("did you mean") else "write three letters, as AUD, EUR, GBP, NZD or USD"
            source.add(node, path, f"{shown(text)} is no currency's code by ISO 4217", fit)
            return None
        return text


@dataclass(frozen=True, slots=True)
class Money:
    """An amount above zero without its currency, as `12.50`, with no more decimals than the currency has.

    Reads as a Decimal.

    Attributes
    ----------
    digits : int
        The decimals of the currency.
    """

    digits: int = USUAL_DIGITS

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of an amount, which an editor may take for a number."""
        pattern = r"^[+]?[0-9]{1,10}" + (rf"(?:\.[0-9]{{1,{self.digits}}})?$" if self.digits else "$")
        bounds = {"exclusiveMinimum": 0, "maximum": int(_MOST_MONEY)}
        return {"type": ["number", "string"], **bounds, "pattern": pattern, "errorMessage": self._fit()}

    def read(self, node: Node, source: Source, path: Path) -> Decimal | None:
        """Return the amount, or None with a problem noted."""
        fit = self._fit()
        text = scalar(node, source, path, fit)
        if text is None:
            return None
        if re.fullmatch(rf"\+?[0-9]{{1,10}}\.[0-9]{{{self.digits + 1},}}", text):
            source.add(node, path, f"{shown(text)} has more than {_decimals(self.digits)}", _ROUND_IT[self.digits])
        elif _DECIMAL_COMMA.fullmatch(text):
            fit = "write the decimals after a point, and no comma between thousands"
            source.add(node, path, f"{shown(text)} is not an amount", fit)
        elif _MARKED.fullmatch(text):
            source.add(node, path, f"{shown(text)} is not a bare amount", "name the money once, in `currency:`")
        elif re.fullmatch(r"[+-]?[0-9]{1,10}(\.[0-9]+)?", text) is None:
            source.add(node, path, f"{shown(text)} is not an amount", fit)
        elif (amount := Decimal(text)) <= 0:
            what = "is zero" if amount == 0 else "is below zero"
            source.add(node, path, f"{shown(text)} {what}", "write what it costs, or leave the line out")
        elif amount > _MOST_MONEY:
            source.add(node, path, f"{shown(text)} can't be right", f"write up to {_MOST_MONEY:,}")
        else:
            return amount
        return None

    def _fit(self) -> str:
        return f"write an amount as `{Decimal('12.5'):.{self.digits}f}`"


_ROUND_IT = {0: "round it to a whole number", 2: "round it to the cent", 3: "round it to the third decimal"}


def _decimals(digits: int) -> str:
    return {0: "no decimals in its currency", 2: "two decimals", 3: "three decimals"}[digits]


@dataclass(frozen=True, slots=True)
class Share:
    """A percentage from 0 to `most`, with at most two decimals, as `5 %`. Reads as a Decimal, 1 for 100 %."""

    most: int

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of a percentage."""
        message = f"write a percentage from 0 % to {self.most} %, as `5 %`"
        pattern = r"^[+]?[0-9]{1,4}(?:\.[0-9]{1,2})?\s?%$"
        return {"type": "string", "pattern": pattern, "patternErrorMessage": message, "errorMessage": message}

    def read(self, node: Node, source: Source, path: Path) -> Decimal | None:
        """Return the share, or None with a problem noted."""
        fit = f"write a percentage from 0 % to {self.most} %, as `5 %`"
        text = scalar(node, source, path, fit)
        if text is None:
            return None
        percentage = re.fullmatch(r"([+-]?[0-9]{1,4}(?:\.[0-9]+)?)\s?(%?)", text)
        if percentage is None:
            source.add(node, path, f"{shown(text)} is not a percentage", fit)
        elif not percentage[2]:
            source.add(node, path, f"{shown(text)} has no unit", "write % after it")
        elif re.search(rf"\.[0-9]{{{_MOST_SHOWN_SHARE + 1}}}", text):
            source.add(node, path, f"{shown(text)} has more than two decimals", fit)
        elif not 0 <= Decimal(percentage[1]) <= self.most:
            source.add(node, path, f"{shown(text)} can't be right", fit)
        else:
            return Decimal(percentage[1]) / 100
        return None


@dataclass(frozen=True, slots=True)
class MoneyOrShare:
    """An amount, or a percentage. Reads as (amount, None) or (None, share)."""

    money: Money
    share: Share

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of either."""
        return {"anyOf": [self.money.schema(), self.share.schema()]}

    def read(self, node: Node, source: Source, path: Path) -> tuple[Decimal | None, Decimal | None] | None:
        """Return the one that it is."""
        text = scalar(node, source, path, "write an amount or a percentage, as `25.00` or `4 %`")
        if text is None:
            return None
        if text.rstrip().endswith("%"):
            share = self.share.read(node, source, path)
            return None if share is None else (None, share)
        amount = self.money.read(node, source, path)
        return None if amount is None else (amount, None)


@dataclass(frozen=True, slots=True)
class Validity:
    """How long prices hold: days from the date of a quote, as `30 days`, or up to a date, as `2026-06-30`.

    Reads as a number of days or as a date.
    """

    most_days: int = 366

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of days or a date, which an editor's YAML may take for a date of its own."""
        pattern = r"^(?:[0-9]{1,3}\s?days?|[0-9]{4}-[0-9]{2}-[0-9]{2})$"
        return {"type": "string", "pattern": pattern, "errorMessage": "write `30 days`, or a date as `2026-06-30`"}

    def read(self, node: Node, source: Source, path: Path) -> int | datetime.date | None:
        """Return the days or the date."""
        fit = "write `30 days`, or a date as `2026-06-30`"
        text = scalar(node, source, path, fit)
        if text is None:
            return None
        days = re.fullmatch(r"([0-9]{1,3})\s?days?", text)
        if days and 1 <= int(days[1]) <= self.most_days:
            return int(days[1])
        try:
            if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
                return datetime.date.fromisoformat(text)
        except ValueError:
            pass  # no such day
        source.add(node, path, f"{shown(text)} is no date and no number of days", fit)
        return None


@dataclass(frozen=True, slots=True)
class Rounding:
    """How the amounts of a quote are rounded.

    Attributes
    ----------
    by_line : bool
        Whether each line is rounded and the rounded lines are summed; else lines and shares are summed as they come
        out, and the sums alone are rounded.
    half_even : bool
        Whether half a unit goes to the even one, not up.
    total_to : Decimal or None
        What the total is rounded to a multiple of, as 0.05 where there are no smaller coins; None for the minor unit.
    """

    by_line: bool = True
    half_even: bool = False
    total_to: Decimal | None = None

    def rounded(self, amount: Decimal, digits: int) -> Decimal:
        """Return an amount to the minor unit.

        Parameters
        ----------
        amount : Decimal
            The amount, in any money.
        digits : int
            The decimals of the money.

        Returns
        -------
        Decimal
            The amount with so many decimals.

        Examples
        --------
        >>> Rounding().rounded(Decimal("2.665"), 2), Rounding(half_even=True).rounded(Decimal("2.665"), 2)
        (Decimal('2.67'), Decimal('2.66'))
        """
        return amount.quantize(Decimal(1).scaleb(-digits), self._way())

    def rounded_total(self, total: Decimal, digits: int) -> Decimal:
        """Return a total to the minor unit, or to the multiple that it is rounded to."""
        if self.total_to is None:
            return self.rounded(total, digits)
        multiples = (total / self.total_to).quantize(Decimal(1), self._way())
        return (multiples * self.total_to).quantize(Decimal(1).scaleb(-digits))

    def _way(self) -> str:
        return ROUND_HALF_EVEN if self.half_even else ROUND_HALF_UP
