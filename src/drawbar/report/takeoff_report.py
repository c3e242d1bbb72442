"""A takeoff, with or without prices, on one screen, as the whole page, as rows, as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from drawbar import units
from drawbar.cautions import TAKEOFF_CAUTIONS, TAKEOFF_PIECES
from drawbar.materials.cutting import LEAST_STUB_UM, Bar, CuttingList
from drawbar.materials.needs import Part
from drawbar.materials.quote import Materials
from drawbar.materials.quote_lines import lines_of
from drawbar.materials.takeoff import COUPLING, PipeTaken, Takeoff
from drawbar.materials.tees import Remark
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.quote_tables import (
    money_figure,
    percent,
    quantity_figure,
    quote_blocks,
    quote_data,
    short_figure,
    sum_rows,
    total_words,
)
from drawbar.report.report import Report
from drawbar.report.takeoff_screen import screen
from drawbar.report.words import sentence

_MOST_REMARKS = 20
_MOST_FILES = 6
_DIGITS = {"m": 3, "ft": 2}


class TakeoffReport(Report[Materials]):
    """The materials of jobs, priced or not."""

    kind = "takeoff"
    columns = (
        *("file", "job", "ref", "section", "item", "size", "quantity", "unit", "price", "per", "amount"),
        *("currency", "note"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: Materials) -> list[Block]:
        """Return one screen, or the whole page: pipe, cutting list, parts or priced lines, and the notes."""
        heading = Heading(_title(result))
        return [heading, *(self._whole(result) if self.in_full else screen(result))]

    @staticmethod
    def _whole(result: Materials) -> list[Block]:
        takeoff, quote = result.takeoff, result.quote
        blocks: list[Block] = [_head(result), pipes_table(takeoff)]
        cuttings = [pipe for pipe in takeoff.pipes if pipe.lengths]
        if cuttings:
            blocks.extend(_cutting(takeoff, cuttings))
        if quote is None:
            blocks.append(parts_table(takeoff))
        else:
            blocks.extend(quote_blocks(quote))
        if takeoff.needs.remarks:
            blocks.append(Points("The job files leave this open:", _remarks(takeoff.needs.remarks)))
        blocks.append(Points("Notes:", [*TAKEOFF_CAUTIONS, *([TAKEOFF_PIECES] if cuttings else [])]))
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
            "complete": result.is_whole,
            "quote": quote_data(quote) if quote else None,
        }

    def rows(self, result: Materials) -> Iterator[list[Any]]:
        """Yield the rows of the CSV: the lines, the cutting list, and the sums where there are prices."""
        takeoff, quote = result.takeoff, result.quote
        jobs = takeoff.needs.jobs
        single = len(jobs) == 1
        head = [jobs[0].file, jobs[0].title, jobs[0].ref] if single else [None, f"{len(jobs)} jobs together", None]
        currency = quote.prices.currency if quote else None
        for line in quote.lines if quote else lines_of(takeoff):
            note = "no price" if quote and line.price is None else line.text or None
            figures = (
                [money_figure(quote, line.price), line.per, money_figure(quote, line.amount)] if quote else [None] * 3
            )
            yield [
                *head,
                line.section,
                line.item,
                line.size,
                quantity_figure(line),
                line.unit,
                *figures,
                currency,
                note,
            ]
        if quote is None:
            yield [*head, "labour", "joints", None, takeoff.joints, "each", *[None] * 5]
        for pipe in takeoff.pipes:
            for number, what, left in _bars(pipe, "m"):
                note = f"{what}; left {left} m"
                yield [*head, "cutting", f"length {number}", pipe.pipe, *[None] * 6, note]
        if quote is not None:
            for item, amount in sum_rows(quote):
                note = None if item != "total" or result.is_whole else "incomplete"
                yield [*head, "sum", item, *[None] * 5, money_figure(quote, amount), currency, note]


def _title(materials: Materials) -> str:
    jobs, quote = materials.takeoff.needs.jobs, materials.quote
    name = f"{len(jobs)} jobs together" if len(jobs) > 1 else jobs[0].title
    if len(jobs) == 1 and jobs[0].ref:
        name = f"{name} ({jobs[0].ref})"
    return f"{name}: {'materials' if quote is None else total_words(materials, quote)}"


def _head(materials: Materials) -> str:
    takeoff = materials.takeoff
    jobs = takeoff.needs.jobs
    files = ", ".join(job.file for job in jobs[:_MOST_FILES])
    if len(jobs) > _MOST_FILES:
        files += f" and {len(jobs) - _MOST_FILES} more"
    waste = f"{percent(takeoff.waste)} added to the pipe for waste." if takeoff.waste else "Nothing is added for waste."
    lines = [f"{'Files' if len(jobs) > 1 else 'File'} {files}. {waste}"]
    if materials.left_out:
        count = materials.left_out
        lines.append(f"INCOMPLETE: {count} job file{'s' * (count > 1)} could not be read and left out.")
    if takeoff.stock_m is not None:
        priced = " and priced so" if materials.quote else ""
        lines.append(
            f"Pipe is bought in whole lengths{priced}. Offcuts count as waste: a length is added only where they are "
            "too little."
        )
    return "\n".join(lines)


def _remarks(remarks: Sequence[Remark]) -> list[str]:
    sentences = [sentence(remark) for remark in remarks[:_MOST_REMARKS]]
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
        stock = f"{short_figure(_length(takeoff.stock_m, unit))} {unit}"
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
    yield f"Cutting list, lengths of {short_figure(_length(takeoff.stock_m, unit))} {unit}{saw}:"
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
        size = part.shown_size
        rows.append([part.name, f"{size}, formed in the pipe" if part.formed else size, str(count)])
    rows.append(["joints to make", "", str(takeoff.joints)])
    return Table((Column("part", words=True), Column("size", words=True), Column("number")), rows)


# figures


def _length(length_m: Decimal, unit: str) -> str:
    return f"{units.from_si(float(length_m), unit, units.LENGTH):.{_DIGITS[unit]}f}"


def _um(length_um: int, unit: str) -> str:
    return _length(Decimal(length_um) / 1_000_000, unit)


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
