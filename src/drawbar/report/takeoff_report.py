"""A takeoff, with or without prices, as a page, as rows, as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from drawbar import units
from drawbar.cautions import TAKEOFF_CAUTIONS, TAKEOFF_PIECES
from drawbar.materials.cutting import LEAST_STUB_UM, Bar, CuttingList
from drawbar.materials.needs import Part
from drawbar.materials.prices import NO_CURRENCY
from drawbar.materials.quote import Materials, Quote, QuoteLine, lines_of
from drawbar.materials.takeoff import COUPLING, PipeTaken, Takeoff
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.report import Report

_MOST_REMARKS = 20
_MOST_FILES = 6
_DIGITS = {"m": 3, "ft": 2}


class TakeoffReport(Report[Materials]):
    """The materials of jobs, priced or not."""

    kind = "takeoff"
    columns = (
        *("file", "job", "ref", "section", "item", "size", "quantity", "unit", "unit_price", "amount", "currency"),
        "note",
    )

    def page(self, result: Materials) -> list[Block]:
        """Return the whole page: pipe, cutting list, parts or priced lines, and what to mind."""
        takeoff, quote = result.takeoff, result.quote
        blocks: list[Block] = [Heading(_title(result)), _head(result), pipes_table(takeoff)]
        cuttings = [pipe for pipe in takeoff.pipes if pipe.lengths]
        if cuttings:
            blocks.extend(_cutting(takeoff, cuttings))
        if quote is None:
            blocks.append(parts_table(takeoff))
        else:
            blocks.extend(_quote(quote))
        if takeoff.needs.remarks:
            blocks.append(Points("The job files leave this open:", _remarks(takeoff.needs.remarks)))
        blocks.append(Points("Mind:", [*TAKEOFF_CAUTIONS, *([TAKEOFF_PIECES] if cuttings else [])]))
        return blocks

    def data(self, result: Materials) -> dict[str, Any]:
        """Return the materials for JSON. Every decimal is written with the digits that it has."""
        takeoff, quote = result.takeoff, result.quote
        return {
            "jobs": [{"file": job.file, "job": job.title, "ref": job.ref} for job in takeoff.needs.jobs],
            "jobs_not_read": result.left_out,
            "waste": float(takeoff.waste),
            "stock_length_m": float(takeoff.stock_m) if takeoff.stock_m is not None else None,
            "pipes": [_pipe_data(pipe) for pipe in takeoff.pipes],
            "parts": [_part_data(part, count) for part, count in takeoff.parts],
            "joints": takeoff.joints,
            "remarks": list(takeoff.needs.remarks),
            "quote": _quote_data(quote) if quote else None,
        }

    def rows(self, result: Materials) -> Iterator[list[Any]]:
        """Yield the rows of the CSV: the lines, the cutting list, and the sums where there are prices."""
        takeoff, quote = result.takeoff, result.quote
        jobs = takeoff.needs.jobs
        single = len(jobs) == 1
        head = [jobs[0].file, jobs[0].title, jobs[0].ref] if single else [None, f"{len(jobs)} jobs together", None]
        currency = quote.prices.currency if quote else None
        for line in quote.lines if quote else lines_of(takeoff):
            note = "no price" if quote and line.price is None else None
            figures = [line.price, line.amount] if quote else [None, None]
            yield [*head, line.section, line.item, line.size, line.quantity, line.unit, *figures, currency, note]
        if quote is None:
            yield [*head, "labour", "joints", None, takeoff.joints, "each", None, None, None, None]
        for pipe in takeoff.pipes:
            for number, what, left in _bars(pipe, "m"):
                note = f"{what}; left {left} m"
                yield [*head, "cutting", f"length {number}", pipe.pipe, None, None, None, None, None, note]
        if quote is not None:
            for item in ("materials", "labour", "margin", "tax", "total"):
                note = "incomplete" if item == "total" and not quote.is_complete else None
                yield [*head, "sum", item, None, None, None, None, getattr(quote, item), currency, note]


def _title(materials: Materials) -> str:
    jobs = materials.takeoff.needs.jobs
    what = "materials and prices" if materials.quote else "materials"
    if len(jobs) > 1:
        return f"{len(jobs)} jobs together: {what}"
    return f"{jobs[0].title} ({jobs[0].ref}): {what}" if jobs[0].ref else f"{jobs[0].title}: {what}"


def _head(materials: Materials) -> str:
    takeoff = materials.takeoff
    jobs = takeoff.needs.jobs
    files = ", ".join(job.file for job in jobs[:_MOST_FILES])
    if len(jobs) > _MOST_FILES:
        files += f" and {len(jobs) - _MOST_FILES} more"
    waste = (
        f"{_percent(takeoff.waste)} added to the pipe for waste." if takeoff.waste else "Nothing is added for waste."
    )
    lines = [f"{'Files' if len(jobs) > 1 else 'File'} {files}. {waste}"]
    if materials.left_out:
        count = materials.left_out
        lines.append(f"NOT WHOLE: {count} job file{'s' * (count > 1)} could not be read and left out.")
    if takeoff.stock_m is not None:
        priced = " and priced so" if materials.quote else ""
        lines.append(
            f"Pipe is bought in whole lengths{priced}. Offcuts count as waste: a length is added only where they are "
            "too little."
        )
    return "\n".join(lines)


def _remarks(remarks: Sequence[str]) -> list[str]:
    sentences = [remark[:1].upper() + remark[1:] + "." for remark in remarks[:_MOST_REMARKS]]
    if len(remarks) > _MOST_REMARKS:
        sentences.append(f"And {len(remarks) - _MOST_REMARKS} more; --each and --format json show all.")
    return sentences


def pipes_table(takeoff: Takeoff) -> Table:
    """Return the pipe by size.

    Parameters
    ----------
    takeoff : Takeoff
        The materials.

    Returns
    -------
    Table
        A row a size, lengths in the unit of the jobs; with stock lengths how many of them.
    """
    unit = takeoff.needs.unit
    columns = [
        Column("pipe", words=True),
        Column("runs"),
        Column(f"length\n{unit}"),
        Column(f"with waste\n{unit}"),
    ]
    if takeoff.stock_m is not None:
        stock = f"{_short(_length(takeoff.stock_m, unit))} {unit}"
        columns.extend(
            [Column(f"lengths\nof {stock}"), Column(f"bought\n{unit}"), Column("fewest\npossible", words=True)]
        )
    rows = []
    for pipe in takeoff.pipes:
        row = [pipe.pipe, str(pipe.runs), _length(pipe.length_m, unit), _length(pipe.with_waste_m, unit)]
        if pipe.cutting is not None:
            needed = pipe.full + pipe.cutting.least_bars
            proof = "yes" if pipe.cutting.is_least else f"not proven; at least {needed}"
            row.extend([str(pipe.lengths), _length(pipe.bought_m, unit), proof])
        rows.append(row)
    return Table(tuple(columns), rows)


def _cutting(takeoff: Takeoff, pipes: list[PipeTaken]) -> Iterator[Block]:
    unit = takeoff.needs.unit
    kerf_um = next(pipe.cutting.kerf_um for pipe in pipes if pipe.cutting)
    saw = f", {kerf_um / 1000:g} mm for each cut" if kerf_um else ""
    assert takeoff.stock_m is not None  # pipe has lengths only where it is bought so
    yield f"Cutting list, lengths of {_short(_length(takeoff.stock_m, unit))} {unit}{saw}:"
    rows = []
    for pipe in pipes:
        for number, what, left in _bars(pipe, unit):
            rows.append([pipe.pipe, number, what, left])
    yield Table(
        (Column("pipe", words=True), Column("length"), Column("cut into", words=True), Column(f"left\n{unit}")), rows
    )
    joined = [pipe for pipe in pipes if pipe.couplings]
    if joined:
        counts = ", ".join(f"{pipe.couplings} in {pipe.pipe}" for pipe in joined)
        yield (
            f"Runs longer than a stock length are joined: {counts}, each with a {COUPLING} that is counted below. "
            f"Where a fitting stands at the joint it takes the coupling's place. No stub is shorter than "
            f"{LEAST_STUB_UM / 1000:g} mm."
        )


def _bars(pipe: PipeTaken, unit: str) -> Iterator[tuple[str, str, str]]:
    """Yield (which lengths, what they are cut into, what is left of each)."""
    zero = _length(Decimal(0), unit)
    if pipe.full:
        yield _numbers(1, pipe.full), "whole, for runs longer than a length" if pipe.couplings else "whole", zero
    bars = pipe.cutting.bars if pipe.cutting else ()
    for number, bar in enumerate(bars, pipe.full + 1):
        yield str(number), _pieces(bar, unit), _um(bar.offcut_um, unit)
    if pipe.extra:
        assert pipe.cutting is not None  # without a stock length there is none to add
        first = pipe.full + len(bars) + 1
        yield _numbers(first, first + pipe.extra - 1), "spare, for waste", _um(pipe.cutting.stock_um, unit)


def _numbers(first: int, last: int) -> str:
    return str(first) if first == last else f"{first} to {last}"


def _pieces(bar: Bar, unit: str) -> str:
    return ", ".join(f"{piece.name} {_um(piece.length_um, unit)}" for piece in bar.pieces)


def parts_table(takeoff: Takeoff) -> Table:
    """Return the parts by kind and size, and the joints.

    Parameters
    ----------
    takeoff : Takeoff
        The materials.

    Returns
    -------
    Table
        A row a part, and the joints last.
    """
    rows = []
    for part, count in takeoff.parts:
        rows.append([part.name, f"{part.size}, formed in the pipe" if part.formed else part.size, str(count)])
    rows.append(["joints to make", "", str(takeoff.joints)])
    return Table((Column("part", words=True), Column("size", words=True), Column("number")), rows)


def _quote(quote: Quote) -> Iterator[Block]:
    money = "" if quote.prices.currency == NO_CURRENCY else f"\n{quote.prices.currency}"
    columns = (
        Column("item", words=True),
        Column("size", words=True),
        Column("quantity"),
        Column("unit", words=True),
        Column(f"price{money}"),
        Column(f"amount{money}"),
    )
    rows = [[line.item, line.size, _figure(line.quantity), line.unit, *_prices(line)] for line in quote.lines]
    yield Table(columns, rows)
    prices = quote.prices
    sums = [["materials", f"{quote.materials:,}"]]
    if quote.labour:
        sums.append(["labour", f"{quote.labour:,}"])
    if prices.margin:
        sums.append([f"margin, {_percent(prices.margin)} of {quote.cost:,}", f"{quote.margin:,}"])
    if prices.tax:
        sums.append([f"tax, {_percent(prices.tax)} of {quote.cost + quote.margin:,}", f"{quote.tax:,}"])
    sums.append(["total" if quote.is_complete else "total, INCOMPLETE", f"{quote.total:,}"])
    yield Table((Column(f"sum by {prices.file}", words=True), Column(f"amount{money}")), sums)
    yield " ".join(_about_sum(quote))
    if quote.missing:
        yield Points("No price, and so not in the total:", [_missing(line) for line in quote.missing])


def _about_sum(quote: Quote) -> Iterator[str]:
    prices = quote.prices
    yield "Every line is rounded to the cent, half a cent up, then summed."
    absent = [name for name, share in (("margin", prices.margin), ("tax", prices.tax)) if share is None]
    if not quote.labour:
        absent.insert(0, "labour")
    if absent:
        yield f"The price list has no {' and no '.join(absent)}, so none is in the total."


def _missing(line: QuoteLine) -> str:
    section = "per-metre" if line.section == "pipe" else "each"
    names = " or ".join(f"`{key}: ...`" for key in line.keys)
    size = f" {line.size}" if line.size and line.section != "pipe" else ""
    what = line.size if line.section == "pipe" else f"{line.item}{size}"
    return f"{what}, {_figure(line.quantity)} {line.unit}: add {names} under `{section}`."


def _prices(line: QuoteLine) -> tuple[str, str]:
    return ("no price", "") if line.price is None else (f"{line.price:,.2f}", f"{line.amount:,}")


# figures


def _length(length_m: Decimal, unit: str) -> str:
    return f"{units.from_si(float(length_m), unit, units.LENGTH):.{_DIGITS[unit]}f}"


def _um(length_um: int, unit: str) -> str:
    return _length(Decimal(length_um) / 1_000_000, unit)


def _short(figure: str) -> str:
    return figure.rstrip("0").rstrip(".") if "." in figure else figure


def _figure(quantity: Decimal) -> str:
    return f"{quantity:f}"


def _percent(share: Decimal) -> str:
    return f"{_short(f'{share * 100:f}')} %"


# for scripts


def _pipe_data(pipe: PipeTaken) -> dict[str, Any]:
    return {
        "pipe": pipe.pipe,
        "runs": pipe.runs,
        "length_m": float(pipe.length_m),
        "with_waste_m": float(pipe.with_waste_m),
        "bought_m": float(pipe.bought_m),
        "lengths": pipe.lengths if pipe.cutting else None,
        "whole_lengths": pipe.full,
        "spare_lengths": pipe.extra,
        "couplings": pipe.couplings,
        "cutting": _cutting_data(pipe.cutting) if pipe.cutting else None,
    }


def _part_data(part: Part, count: int) -> dict[str, Any]:
    return {
        "section": part.section,
        "name": part.name,
        "size": part.size or None,
        "count": count,
        "formed": part.formed,
    }


def _cutting_data(cutting: CuttingList) -> dict[str, Any]:
    return {
        "kerf_mm": cutting.kerf_um / 1000,
        "least_lengths": cutting.least_bars,
        "proven_least": cutting.is_least,
        "lengths": [
            {
                "pieces": [{"run": piece.name, "length_m": piece.length_um / 1e6} for piece in bar.pieces],
                "offcut_m": bar.offcut_um / 1e6,
            }
            for bar in cutting.bars
        ],
    }


def _quote_data(quote: Quote) -> dict[str, Any]:
    return {
        "currency": quote.prices.currency,
        "complete": quote.is_complete,
        "lines": [
            {
                "section": line.section,
                "item": line.item,
                "size": line.size or None,
                "quantity": float(line.quantity),
                "unit": line.unit,
                "unit_price": float(line.price) if line.price is not None else None,
                "amount": float(line.amount) if line.amount is not None else None,
            }
            for line in quote.lines
        ],
        "materials": float(quote.materials),
        "labour": float(quote.labour),
        "margin": float(quote.margin),
        "tax": float(quote.tax),
        "total": float(quote.total),
    }
