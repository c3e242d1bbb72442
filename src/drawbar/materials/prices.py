"""A workshop's price list. Money and shares are decimals from the text to the result: no float comes near them.

A part is priced by its name, or by `NAME@SIZE` for one size of it, which goes before the bare name.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from yaml.nodes import Node

from drawbar.problems import shown
from drawbar.yamlfile import nodes
from drawbar.yamlfile.fields import Field, Named, Path, Record, TextLine, scalar
from drawbar.yamlfile.nodes import Source

NO_CURRENCY = "money units"  # said where the list names no currency
_MOST_PRICES = 2000
_MOST_MONEY = Decimal(1_000_000)
_DECIMAL_COMMA = re.compile(r"[0-9]+,[0-9]+")
_MARKED = re.compile(r"[^0-9.,+-]{1,5}\s?[0-9][0-9.,]*|[0-9][0-9.,]*\s?[^0-9.,%]{1,5}")  # `$ 12.50`, `12.50 AUD`


@dataclass(frozen=True, slots=True)
class Money:
    """An amount above zero with at most two decimals, as `12.50`, without a currency. Reads as a Decimal."""

    @staticmethod
    def schema() -> dict[str, Any]:
        """Return the JSON Schema of an amount, which an editor may take for a number."""
        pattern = r"^[+]?[0-9]{1,9}(?:\.[0-9]{1,2})?$"
        bounds = {"exclusiveMinimum": 0, "maximum": int(_MOST_MONEY)}
        return {
            "type": ["number", "string"],
            **bounds,
            "pattern": pattern,
            "errorMessage": "write an amount as `12.50`",
        }

    def read(self, node: Node, source: Source, path: Path) -> Decimal | None:
        """Return the amount, or None with a problem noted."""
        fit = "write an amount as `12.50`"
        text = scalar(node, source, path, fit)
        if text is None:
            return None
        if re.fullmatch(r"[0-9]{1,9}\.[0-9]{3,}", text):
            source.add(node, path, f"{shown(text)} has more than two decimals", "round it to the cent")
        elif _DECIMAL_COMMA.fullmatch(text):
            fit = "write the decimals after a point, and no comma between thousands"
            source.add(node, path, f"{shown(text)} is not an amount", fit)
        elif _MARKED.fullmatch(text):
            source.add(node, path, f"{shown(text)} is not a bare amount", "name the money once, in `currency:`")
        elif re.fullmatch(r"[+-]?[0-9]{1,9}(\.[0-9]{1,2})?", text) is None:
            source.add(node, path, f"{shown(text)} is not an amount", fit)
        elif (amount := Decimal(text)) <= 0:
            what = "is zero" if amount == 0 else "is below zero"
            source.add(node, path, f"{shown(text)} {what}", "write what it costs, or leave the line out")
        elif amount > _MOST_MONEY:
            source.add(node, path, f"{shown(text)} can't be right", f"write up to {_MOST_MONEY:,}")
        else:
            return amount
        return None


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
            source.add(node, path, f"{shown(text)} has no unit", "write % behind it")
        elif re.search(r"\.[0-9]{3}", text):
            source.add(node, path, f"{shown(text)} has more than two decimals", fit)
        elif not 0 <= Decimal(percentage[1]) <= self.most:
            source.add(node, path, f"{shown(text)} can't be right", fit)
        else:
            return Decimal(percentage[1]) / 100
        return None


_LABOUR = Record(
    {
        "per-joint": Field(Money(), "the work of one joint, as `6.50`"),
        "per-metre": Field(Money(), "the work of a metre of pipe, as `14.00`"),
    }
)
PRICES_FILE = Record(
    {
        "currency": Field(TextLine(12), "the money, as `AUD`"),
        "per-metre": Field(Named(Money(), most=_MOST_PRICES), "pipe by the metre, as `{as1432-b/12.70: 9.80}`"),
        "each": Field(Named(Money(), most=_MOST_PRICES), "parts by the piece, as `{elbow-90: 2.50}`"),
        "labour": Field(_LABOUR, "labour, as `{per-joint: 6.50, per-metre: 14.00}`"),
        "waste": Field(Share(100), "what is added to the pipe for waste, as `5 %`"),
        "margin": Field(Share(500), "what is added to the cost of materials and labour, as `20 %`"),
        "tax": Field(Share(100), "the tax on cost and margin, as `10 %`"),
    }
)


@dataclass(frozen=True, slots=True)
class PriceList:
    """A price list as read. None where it says nothing.

    Attributes
    ----------
    file : str
        Where it stands.
    currency : str
        The money, NO_CURRENCY where the list names none.
    pipes : mapping of str to Decimal
        The price of a metre by `family/size`.
    parts : mapping of str to Decimal
        The price of a piece by its name, or by `name@size`.
    labour_per_joint, labour_per_metre : Decimal or None
        The work of a joint, and of a metre of pipe that is laid.
    waste, margin, tax : Decimal or None
        Shares, 1 for 100 %.
    """

    file: str
    currency: str
    pipes: Mapping[str, Decimal]
    parts: Mapping[str, Decimal]
    labour_per_joint: Decimal | None = None
    labour_per_metre: Decimal | None = None
    waste: Decimal | None = None
    margin: Decimal | None = None
    tax: Decimal | None = None

    def per_metre(self, label: str) -> Decimal | None:
        """Return the price of a metre of a pipe, None if the list has none."""
        return self.pipes.get(label)

    def fitting(self, name: str, label: str) -> Decimal | None:
        """Return the price of a fitting, or of any other part, in a size: that of the size, else that of any size."""
        sized = self.parts.get(f"{name}@{label}")
        return self.parts.get(name) if sized is None else sized


def read_price_list(file: str) -> PriceList:
    """Return the price list of a file.

    Parameters
    ----------
    file : str
        The file's name, `-` for standard input.

    Returns
    -------
    PriceList
        The list as read.

    Raises
    ------
    Problems
        With all that is wrong with it.
    """
    source = Source(file)
    top = PRICES_FILE.read(nodes.compose(nodes.read_text(file), source), source, ())
    assert top is not None  # compose returns a mapping
    pipes, parts = top.get("per-metre", {}), top.get("each", {})
    for label, (_, node) in pipes.items():
        if not label.startswith("bore ") and not all(label.partition("/")):
            source.add(node, ("per-metre", label), "is not a pipe", "write `FAMILY/SIZE`, as `as1432-b/12.70`")
        elif label.endswith("/auto"):
            source.add(node, ("per-metre", label), "names no size", "give each size its own price")
    for name, (_, node) in parts.items():
        if "@" in name and not all(name.partition("@")):
            source.add(node, ("each", name), "is not NAME@SIZE", "write for example `elbow-90@as1432-b/12.70`")
    source.raise_if_any()
    labour = top.get("labour")
    return PriceList(
        file=file,
        currency=top.get("currency", NO_CURRENCY),
        pipes={label: price for label, (price, _) in pipes.items()},
        parts={name: price for name, (price, _) in parts.items()},
        labour_per_joint=labour.get("per-joint") if labour else None,
        labour_per_metre=labour.get("per-metre") if labour else None,
        waste=top.get("waste"),
        margin=top.get("margin"),
        tax=top.get("tax"),
    )
