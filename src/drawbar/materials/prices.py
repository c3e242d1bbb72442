"""A workshop's price list: what it may hold, and how it is read.

A part is priced by its name, or by `NAME@SIZE` for one size of it, which goes before the bare name. A price is an
amount, or `{price: 36.00, per: 15 m, text: in coils}`, which says what the amount is for.
"""

from __future__ import annotations

import datetime
import functools
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple

from yaml.nodes import Node

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.materials.money import (
    NO_CURRENCY,
    USUAL_DIGITS,
    Currency,
    Money,
    MoneyOrShare,
    Rounding,
    Share,
    Validity,
    currencies,
)
from drawbar.problems import close_to, shown
from drawbar.yamlfile import nodes
from drawbar.yamlfile.entry import Entry
from drawbar.yamlfile.fields import Either, Field, ListOf, Named, OrNone, Record
from drawbar.yamlfile.nodes import Source
from drawbar.yamlfile.scalars import FLAG, Choice, Path, TextLine, of, scalar

FOOT_M = Decimal("0.3048")  # ISO 80000-3
_MOST_PRICES = 2000
_MOST_TERMS = 40
_WORK_TIME = of(units.TIME, "1 min", "24 h")
_PER = "what the amount is for, as `15 m` of a coil or `10` of a box"


@dataclass(frozen=True, slots=True)
class PackSize:
    """How much an amount is for: `m`, `each`, or a length or a number of pieces, as `15 m` or `10`.

    Reads as (Decimal, unit), the unit `m`, `ft` or `each`.

    Attributes
    ----------
    is_length : bool
        Whether it is sold by length.
    """

    is_length: bool

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of what an amount is for."""
        if self.is_length:
            return {"type": "string", "pattern": r"^(?:[0-9]+(?:\.[0-9]+)?\s?)?(?:m|ft)$", "errorMessage": self._fit()}
        return {"type": ["string", "integer"], "minimum": 1, "pattern": r"^(?:each|[1-9][0-9]{0,3})$"}

    def read(self, node: Node, source: Source, path: Path) -> tuple[Decimal, str] | None:
        """Return the length or the number, and its unit."""
        text = scalar(node, source, path, self._fit())
        if text is None:
            return None
        pattern = r"(?:([0-9]{1,4}(?:\.[0-9]{1,3})?)\s?)?(m|ft)" if self.is_length else r"([1-9][0-9]{0,3})|(each)"
        size = re.fullmatch(pattern, text)
        if size is None or Decimal(size[1] or 1) <= 0:
            source.add(node, path, f"{shown(text)} can't stand here", self._fit())
            return None
        return Decimal(size[1] or 1), size[2] if self.is_length else "each"

    def _fit(self) -> str:
        return "write `m`, or a length as `15 m`" if self.is_length else "write `each`, or how many as `10`"


@functools.cache
def prices_file(digits: int = USUAL_DIGITS) -> Record:
    """Return what a price list may hold.

    Parameters
    ----------
    digits : int
        The decimals of its currency.

    Returns
    -------
    Record
    """
    money = Money(digits)

    def prices(*, by_length: bool = False) -> Named:
        priced = Record(
            {
                "price": Field(money, "the amount, as `36.00`", required=True),
                "per": Field(PackSize(by_length), _PER),
                "text": Field(TextLine(80), "what it is, as the quote is to say it"),
            }
        )
        return Named(Either(money, priced), most=_MOST_PRICES)

    labour = Record(
        {
            "per-joint": Field(money, "the work of one joint, as `6.50`"),
            "per-metre": Field(money, "the work of a metre of pipe, as `14.00`"),
            "per-job": Field(money, "the work of a job beside that, as `120.00`"),
            "per-hour": Field(money, "an hour of test and purge, as `95.00`"),
            "test": Field(_WORK_TIME, "the time of the tightness test, as `30 min`"),
            "purge": Field(_WORK_TIME, "the time of the purge, as `15 min`"),
        }
    )
    tax = Record(
        {
            "name": Field(TextLine(20), "what the tax is called, as `GST`", required=True),
            "rate": Field(Share(100), "its rate, as `10 %`", required=True),
            "included": Field(FLAG, "yes if the prices of the list have it in them"),
        }
    )
    rounding = Record(
        {
            "by": Field(Choice({"line": True, "total": False}), "what is rounded: each line, or the sums alone"),
            "half": Field(Choice({"up": False, "even": True}), "where half a unit goes"),
            "total-to": Field(money, "what the total is rounded to a multiple of, as `0.05`"),
        }
    )
    return Record(
        {
            "currency": Field(Currency(), "the money, as `AUD`"),
            "per-metre": Field(prices(by_length=True), "pipe by the metre, as `{as1432-b/12.70: 9.80}`"),
            "each": Field(prices(), "parts by the piece, as `{elbow-90: 2.50}`"),
            "appliances": Field(OrNone(prices(), "prices, or `none`"), "by name or type, or `none` for not quoted"),
            "bottles": Field(OrNone(prices(), "prices, or `none`"), "as `{9 kg: 95.00}`, or `none` for not quoted"),
            "labour": Field(labour, "labour, as `{per-joint: 6.50, per-metre: 14.00}`"),
            "fees": Field(Named(money, most=_MOST_TERMS), "by the job, as `{call-out: 85.00, certificate: 48.00}`"),
            "sundries": Field(
                MoneyOrShare(money, Share(100)), "clips, sealant: a share of pipe and parts, or an amount"
            ),
            "waste": Field(Share(100), "what is added to the pipe for waste, as `5 %`"),
            "margin": Field(Share(500), "what is added to materials, sundries and labour, as `20 %`"),
            "tax": Field(Either(Share(100), tax), "the tax, as `10 %` or `{name: GST, rate: 10 %, included: yes}`"),
            "rounding": Field(rounding, "how amounts are rounded, as `{by: line, half: up}`"),
            "valid": Field(Validity(), "how long the prices hold, as `30 days` or `2026-06-30`"),
            "terms": Field(ListOf(TextLine(300), or_one=True, most=_MOST_TERMS), "terms, as they stand on the quote"),
        }
    )


class Price(NamedTuple):
    """A price: the amount, how many of which unit it is for, and what is sold, in the list's words."""

    amount: Decimal
    per: Decimal = Decimal(1)
    unit: str = "each"
    text: str = ""

    @property
    def of_unit(self) -> Decimal:
        """The price of a metre or a piece."""
        return self.amount / self.per / (FOOT_M if self.unit == "ft" else 1)


@dataclass(frozen=True, slots=True)
class PriceList:
    """A price list as read. None where it says nothing.

    Attributes
    ----------
    file : str
        Where it stands.
    currency : str
        The money by ISO 4217, NO_CURRENCY where the list names none.
    pipes : mapping of str to Price
        The price of pipe by `family/size`.
    parts : mapping of str to Price
        The price of a part by its name, or by `name@size`.
    appliances, bottles : mapping of str to Price, or None
        By an appliance's name or type, and by a bottle's size; None where they are not quoted, as the list says.
    labour_per_joint, labour_per_metre, labour_per_job, labour_per_hour : Decimal or None
        The work of a joint, of a metre of pipe that is laid, of a job, and of an hour of test and purge.
    test_min, purge_min : Decimal or None
        The time of the tightness test and of the purge of a job [min].
    fees : mapping of str to Decimal
        What a job costs beside, by name, as `call-out`.
    sundries : Decimal or None
        What a job costs in sundries.
    sundries_share : Decimal or None
        The same as a share of pipe and parts, 1 for 100 %.
    waste, margin, tax : Decimal or None
        Shares, 1 for 100 %.
    tax_name : str
        What the tax is called.
    tax_included : bool
        Whether the prices of the list have the tax in them.
    rounding : Rounding
        How amounts are rounded.
    valid : int or date or None
        The days that a quote holds, or the date up to which the prices do.
    terms : tuple of str
        The terms, as they stand on a quote.
    """

    file: str
    currency: str
    pipes: Mapping[str, Price]
    parts: Mapping[str, Price]
    appliances: Mapping[str, Price] | None = field(default_factory=dict)
    bottles: Mapping[str, Price] | None = field(default_factory=dict)
    labour_per_joint: Decimal | None = None
    labour_per_metre: Decimal | None = None
    labour_per_job: Decimal | None = None
    labour_per_hour: Decimal | None = None
    test_min: Decimal | None = None
    purge_min: Decimal | None = None
    fees: Mapping[str, Decimal] = field(default_factory=dict)
    sundries: Decimal | None = None
    sundries_share: Decimal | None = None
    waste: Decimal | None = None
    margin: Decimal | None = None
    tax: Decimal | None = None
    tax_name: str = "tax"
    tax_included: bool = False
    rounding: Rounding = field(default_factory=Rounding)
    valid: int | datetime.date | None = None
    terms: tuple[str, ...] = ()

    @property
    def digits(self) -> int:
        """The decimals of the money."""
        return currencies().get(self.currency, USUAL_DIGITS)

    def per_metre(self, label: str) -> Decimal | None:
        """Return the price of a metre of a pipe, None if the list has none."""
        price = self.pipes.get(label)
        return None if price is None else price.of_unit

    def fitting(self, name: str, label: str) -> Decimal | None:
        """Return the price of a fitting, or of any other part, in a size: that of the size, else that of any size."""
        price = self.parts.get(f"{name}@{label}") or self.parts.get(name)
        return None if price is None else price.of_unit


def read_price_list(file: str, catalogue: Catalogue | None = None) -> PriceList:
    """Return the price list of a file.

    Parameters
    ----------
    file : str
        The file's name, `-` for standard input.
    catalogue : Catalogue, optional
        What has the pipes and fittings that may be priced; without it, their names are not held against anything.

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
    root = nodes.compose(nodes.read_text(file), source)
    top = prices_file(_digits(root)).read(root, source, ())
    assert top is not None  # compose returns a mapping
    _check_names(top, source, catalogue)
    labour, tax = top.table("labour"), top.table("tax")
    if labour is not None and "per-hour" not in labour.nodes:
        for work in ("test", "purge"):
            if work in labour.nodes:
                source.add(labour.at(work), ("labour", work), "is a time without a rate", "write `per-hour:` beside it")
    source.raise_if_any()
    sundries, sundries_share = top.get("sundries", (None, None))
    return PriceList(
        file=file,
        currency=top.text("currency", NO_CURRENCY),
        pipes=_prices(top, "per-metre") or {},
        parts=_prices(top, "each") or {},
        appliances=_prices(top, "appliances"),
        bottles=_prices(top, "bottles"),
        labour_per_joint=labour.get("per-joint") if labour else None,
        labour_per_metre=labour.get("per-metre") if labour else None,
        labour_per_job=labour.get("per-job") if labour else None,
        labour_per_hour=labour.get("per-hour") if labour else None,
        test_min=_minutes(labour, "test"),
        purge_min=_minutes(labour, "purge"),
        fees={name: fee for name, (fee, _) in top.get("fees", {}).items()},
        sundries=sundries,
        sundries_share=sundries_share,
        waste=top.get("waste"),
        margin=top.get("margin"),
        tax=tax.get("rate") if tax else top.get("tax"),
        tax_name=tax.text("name", "tax") if tax else "tax",
        tax_included=tax.flag("included") if tax else False,
        rounding=_rounding(top.table("rounding")),
        valid=top.get("valid"),
        terms=tuple(term for term, _ in top.get("terms", [])),
    )


def _digits(root: Node) -> int:
    """Return the decimals of the currency that a list names, before the rest of it is read."""
    node = nodes.node_at(root, ("currency",))
    return USUAL_DIGITS if node is None else currencies().get(str(node.value), USUAL_DIGITS)


def _prices(top: Entry, key: str) -> dict[str, Price] | None:
    """Return the prices under a key, none where it says nothing, None where it says `none`."""
    if top.is_none(key):
        return None
    return {name: _price(value) for name, (value, _) in top.get(key, {}).items()}


def _price(value: Decimal | Entry) -> Price:
    if not isinstance(value, Entry):
        return Price(value)
    per, unit = value.get("per", (Decimal(1), "each"))
    return Price(value.get("price"), per, unit, value.text("text", ""))


def _minutes(labour: Entry | None, key: str) -> Decimal | None:
    seconds = labour.quantity(key) if labour else None
    return None if seconds is None else Decimal(round(seconds)) / 60


def _rounding(entry: Entry | None) -> Rounding:
    if entry is None:
        return Rounding()
    return Rounding(entry.get("by", default=True), entry.flag("half"), entry.get("total-to"))


def _check_names(top: Entry, source: Source, catalogue: Catalogue | None) -> None:
    """Note names that price nothing there can be: what is no pipe, and sizes that there are not."""
    for label, (_, node) in top.get("per-metre", {}).items():
        _check_pipe(label, node, ("per-metre", label), source, catalogue)
    for name, (_, node) in top.get("each", {}).items():
        part, at, label = name.partition("@")
        if not at:
            continue
        if not (part and label):
            source.add(node, ("each", name), "is not NAME@SIZE", "write for example `elbow-90@as1432-b/12.70`")
        elif catalogue is not None and part in catalogue.names("fittings"):
            _check_pipe(label, node, ("each", name), source, catalogue)


def _check_pipe(label: str, node: Node, path: Path, source: Source, catalogue: Catalogue | None) -> None:
    if label.startswith("bore "):
        return
    family, _, size = label.partition("/")
    if not (family and size):
        source.add(node, path, "is not a pipe", "write `FAMILY/SIZE`, as `as1432-b/12.70`")
    elif size == "auto":
        source.add(node, path, "names no size", "give each size its own price")
    elif catalogue is not None:
        families = catalogue.names("pipes")
        sizes = catalogue.sizes(family) if family in families else None
        if sizes is None:
            source.add(node, path, f"{shown(family)} is not a pipe family of the catalogue", close_to(family, families))
        elif size not in sizes:
            source.add(node, path, f"{shown(size)} is not a size of {family}", close_to(size, sizes))
