"""The materials of jobs, priced or not, on one screen: a row a kind, what has no price, what the job leaves open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path

from drawbar import units
from drawbar.cautions import IN_SHORT
from drawbar.materials.needs import Part
from drawbar.materials.quote import Materials, Quote
from drawbar.materials.quote_lines import QuoteLine
from drawbar.materials.takeoff import Takeoff
from drawbar.materials.tees import NEW_SIZE, NO_DEVICE, NO_TEE
from drawbar.report.layout import Block, Column, Table
from drawbar.report.quote_tables import (
    currency_words,
    money,
    percent,
    quantity_figure,
    short_figure,
    sums_for_person,
    validity_words,
)

# Which sections of the lines go into a row.
_ROWS = {
    "pipe": ("pipe",),
    "fittings": ("fitting",),
    "parts": ("device", "hose", "regulator"),
    "appliances": ("appliance",),
    "bottles": ("bottle",),
    "sundries": ("sundries",),
    "labour": ("labour",),
    "fees": ("fee",),
}
_SUMMED = ("materials", *_ROWS)  # sums that the rows above show
_MOST_MISSING = 8
_MOST_PLACES = 4
_OPEN = {
    NO_TEE: "a tee where {} end{}",
    NEW_SIZE: "reducers where {} end{}",
    NO_DEVICE: "devices at {}",
}


def screen(materials: Materials) -> Iterator[Block]:
    """Yield what stands on one screen.

    Parameters
    ----------
    materials : Materials
        The materials, with prices or without.

    Yields
    ------
    Block
    """
    takeoff, quote = materials.takeoff, materials.quote
    heads = (Column("for", words=True), Column("what", words=True))
    rows = list(_kinds(takeoff))
    if quote is None:
        yield Table(heads, [*rows, ("joints", f"{takeoff.joints} to make")])
    else:
        amount = Column(f"amount {currency_words(quote)}".strip())
        priced = [[kind, what, _amount(quote, kind)] for kind, what in (*rows, *_work(quote))]
        yield Table((*heads, amount), [*priced, *_sums(quote)])
    yield " ".join(_notes(materials))


def _kinds(takeoff: Takeoff) -> Iterator[tuple[str, str]]:
    """Yield each kind of material with what there is of it, in words."""
    yield f"pipe +{percent(takeoff.waste)}" if takeoff.waste else "pipe", _pipe_words(takeoff)
    for kind, sections in _ROWS.items():
        parts = [pair for section in sections for pair in takeoff.parts if pair[0].section == section]
        if parts:
            yield kind, _counted(parts)


def _pipe_words(takeoff: Takeoff) -> str:
    """Return the pipe by size, those of a family together."""
    unit = takeoff.needs.unit
    by_family: dict[str, list[str]] = {}
    for pipe in takeoff.pipes:
        family, _, size = pipe.pipe.rpartition("/")
        bars = f" ({pipe.lengths} length{'s' * (pipe.lengths > 1)})" if pipe.cutting else ""
        by_family.setdefault(family, []).append(f"{_length(pipe.bought_m, unit)} {unit} of {size}{bars}")
    return "; ".join(f"{family} {', '.join(lengths)}".strip() for family, lengths in by_family.items())


def _length(length_m: Decimal, unit: str) -> str:
    return short_figure(f"{units.from_si(float(length_m), unit, units.LENGTH):.2f}")


def _counted(parts: Sequence[tuple[Part, int]]) -> str:
    """Return parts by number, the fittings of a name together with their sizes."""
    fittings: dict[str, list[str]] = {}
    words: list[str] = []
    several = len({part.size.rpartition("/")[0] for part, _ in parts}) > 1
    for part, count in parts:
        size = part.shown_size
        if part.section == "fitting":
            short = size if several else size.rpartition("/")[2]
            fittings.setdefault(part.name, []).append(f"{count} in {short}")
        elif part.section == "appliance":
            words.append(part.name if count == 1 else f"{count} {part.name}")
        elif part.section == "bottle":
            words.append(f"{count} of {size}")
        else:
            words.append(f"{count} {part.name} ({size})" if size else f"{count} {part.name}")
    return "; ".join(f"{name} {', '.join(sizes)}" for name, sizes in fittings.items()) or ", ".join(words)


def _amount(quote: Quote, kind: str) -> str:
    """Return the sum of the lines of a row, marked where a part of them has no price."""
    lines = [line for line in quote.lines if line.section in _ROWS[kind.partition(" ")[0]]]
    priced = [line.amount for line in lines if line.amount is not None]
    if not priced:
        return "no price" if lines else "not quoted"
    return money(quote, sum(priced, Decimal(0))) + (" +" if len(priced) < len(lines) else "")


def _work(quote: Quote) -> Iterator[tuple[str, str]]:
    """Yield sundries, labour and fees in words."""
    for kind in ("sundries", "labour", "fees"):
        words = [_work_words(line, quote) for line in quote.lines if line.section in _ROWS[kind]]
        if words:
            yield kind, ", ".join(words)


def _work_words(line: QuoteLine, quote: Quote) -> str:
    quantity, unit = short_figure(quantity_figure(line)), quote.takeoff.needs.unit
    if line.unit == "m":
        return f"{line.item} {_length(line.quantity, unit)} {unit}"
    if line.unit == "min":
        return f"{line.item.removeprefix('tightness ')} {quantity} min"
    if line.unit == "share":
        return line.item.removeprefix("sundries, ")
    return line.item if line.unit == "job" and quantity == "1" else f"{quantity} {line.item}"


def _sums(quote: Quote) -> Iterator[list[str]]:
    """Yield what is added to the lines, and the total; one that is incomplete in a row with what is added to it."""
    rows = [[*_kind_and_what(label), amount] for label, amount in sums_for_person(quote) if label not in _SUMMED]
    if quote.is_complete:
        yield from rows
        return
    added = [kind for kind, _, _ in rows if kind != "total"]
    total = next(row for row in rows if row[0] == "total")
    yield [total[0], f"{total[1]}, with {' and '.join(added)}" if added else total[1], total[2]]


def _kind_and_what(label: str) -> tuple[str, str]:
    kind, _, what = label.partition(", ")
    return kind, what


def _missing(quote: Quote) -> str:
    """Return what the price list lacks, under the keys that it goes under."""
    names = list(dict.fromkeys((line.list_key, line.keys[-1]) for line in quote.missing))
    by_key: dict[str, list[str]] = {}
    for key, name in names[:_MOST_MISSING]:
        by_key.setdefault(key, []).append(name)
    listed = "; ".join(f"{key}: {', '.join(of_key)}" for key, of_key in by_key.items())
    more = f" and {len(names) - _MOST_MISSING} more" if len(names) > _MOST_MISSING else ""
    return f"Add to {Path(quote.prices.file).name}, as it has no price: {listed}{more}."


def _notes(materials: Materials) -> Iterator[str]:
    """Yield what is open, how long the prices hold, and the caution."""
    takeoff, quote = materials.takeoff, materials.quote
    open_words = []
    for kind, words in _OPEN.items():
        places = list(dict.fromkeys(remark.place for remark in takeoff.needs.remarks if remark.kind == kind))
        if places:
            more = f" and {len(places) - _MOST_PLACES} more" if len(places) > _MOST_PLACES else ""
            listed = ", ".join(places[:_MOST_PLACES]) + more
            open_words.append(words.format(listed, "" if len(places) > 1 else "s"))
    if open_words:
        yield f"Not counted, see the job: {'; '.join(open_words)}."
    if quote is not None:
        if quote.missing:
            yield _missing(quote)
        yield from validity_words(quote)
        if quote.not_quoted:
            yield f"Not in the total: {', '.join(quote.not_quoted)}."
        if quote.unused:
            yield f"{len(quote.unused)} price{'s' * (len(quote.unused) > 1)} of the list not used."
    if materials.left_out:
        count = materials.left_out
        yield f"INCOMPLETE: {count} job file{'s' * (count > 1)} could not be read and left out."
    yield "--full has each line."
    yield IN_SHORT
