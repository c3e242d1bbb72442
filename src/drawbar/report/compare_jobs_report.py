"""Ways of doing a job side by side, as a page, as rows and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from drawbar.cautions import IN_SHORT
from drawbar.comparing.ways import ComparedWay, JobsCompared, TapWait
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.report import Report
from drawbar.report.verdict_words import reason_sentence
from drawbar.report.wrapping import shortened
from drawbar.verdict import Verdict

_MOST_DIFFERENCES = 8  # that a page lists unless all are asked for
_MOST_COLUMNS = 60  # of a value, likewise
_NOTHING = "-"


class CompareJobsReport(Report[JobsCompared]):
    """Ways of doing a job: what differs between their files first, then what each comes to, a column a way."""

    kind = "compare"
    columns = (
        *("way", "file", "job", "ref", "asked_of_way", "verdict", "margin_Pa", "worst_margin_Pa", "state", "appliance"),
        *("pipe_kg", "pipe_m", "fittings", "joints", "price", "currency", "unpriced", "line_volume_L"),
        *("hot_water_wait_s", "because"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: JobsCompared) -> list[Block]:
        """Return the page, all of it in the units of the first job."""
        ways, shown = result.ways, Shown(result.ways[0].job.display)
        names = [_letter(number) for number in range(len(ways))]
        verdicts = ", ".join(f"{name} {way.standing.verdict.word}" for name, way in zip(names, ways, strict=True))
        blocks: list[Block] = [
            Heading(f"{len(ways)} way{'s' if len(ways) != 1 else ''} side by side: {verdicts}"),
            "\n".join(f"{name}: {words}" for name, words in zip(names, _called(ways), strict=True)),
            *self._differences(result, names),
            Table((Column("", words=True), *(Column(name, words=True) for name in names)), list(_rows(ways, shown))),
        ]
        because = [
            f"{name}: {reason_sentence(way.standing.because[0], shown, with_remedy=False)}"
            for name, way in zip(names, ways, strict=True)
            if way.standing.because and (self.in_full or way.standing.pressures_pass)
        ]
        if because:
            blocks.append(Points("Why not PASS (`drawbar check` has the rest):", because))
        blocks.append(IN_SHORT)
        return blocks

    def _differences(self, result: JobsCompared, names: Sequence[str]) -> Iterator[Block]:
        """Yield the table of the keys that differ, cut where it is long."""
        listed = result.differences if self.in_full else result.differences[:_MOST_DIFFERENCES]
        if not listed:
            yield "The files are the same."
            return
        columns = (Column("what differs", words=True), *(Column(name, words=True) for name in names))
        rows = [[key, *map(self._value, values)] for key, values in listed]
        yield Table(columns, rows)
        more = len(result.differences) - len(listed)
        if more:
            yield f"And {more} more: --full lists them."

    def _value(self, value: str | None) -> str:
        if value is None:
            return _NOTHING
        return value if self.in_full else shortened(value, _MOST_COLUMNS)

    def data(self, result: JobsCompared) -> dict[str, Any]:
        """Return the ways and what differs between their files, for JSON."""
        return {
            "ways": [_way_data(way) for way in result.ways],
            "differences": [{"key": key, "values": list(values)} for key, values in result.differences],
        }

    def rows(self, result: JobsCompared) -> Iterator[list[Any]]:
        """Yield a row a way."""
        for number, way in enumerate(result.ways):
            data, shown = _way_data(way), Shown(way.job.display)
            waits_s = [wait.wait_s for wait in way.waits if wait.wait_s is not None]
            yield [
                *(_letter(number), data["file"], data["job"], data["ref"], "; ".join(way.job.asked)),
                *(data[key] for key in ("verdict", "margin_Pa", "worst_margin_Pa", "state", "appliance")),
                *(data[key] for key in ("pipe_kg", "pipe_m", "fittings", "joints")),
                *(data[key] for key in ("price", "currency", "unpriced", "line_volume_L")),
                max(waits_s, default=None),
                "; ".join(reason_words(reason, shown)[0] for reason in way.standing.because),
            ]


def _letter(number: int) -> str:
    """Return what a way is called: A to Z, then AA and on."""
    before, last = divmod(number, 26)
    return (_letter(before - 1) if before else "") + chr(ord("A") + last)


def _called(ways: Sequence[ComparedWay]) -> Iterator[str]:
    """Yield the file of each way, and what was set for it alone; a variant of the first by the first's letter."""
    for_all = set(ways[0].job.asked).intersection(*(way.job.asked for way in ways))
    for way in ways:
        job = way.job
        own = "; ".join(words for words in job.asked if words not in for_all)
        name = f"{job.file}, {job.title}" + (f" ({job.ref})" if job.ref else "")
        if own and job.file == ways[0].job.file and way is not ways[0]:
            name = _letter(0)
        yield f"{name} with {own}" if own else name


def _rows(ways: Sequence[ComparedWay], shown: Shown) -> Iterator[list[str]]:
    """Yield what each way comes to, the verdict first."""
    units = shown.display
    standings = [way.standing for way in ways]
    yield ["verdict", *(standing.verdict.word for standing in standings)]
    spares = (f"{shown.pressure(standing.margin_pa)} ({standing.appliance})" for standing in standings)
    yield [f"least spare, {units.pressure}", *spares]
    yield [f"at worst, {units.pressure}", *(shown.pressure(standing.worst_margin_pa) for standing in standings)]
    yield ["pipe", *(_pipe(way, shown) for way in ways)]
    yield ["fittings, joints", *(f"{way.fittings}, {way.joints}" for way in ways)]
    quotes = [way.quote for way in ways]
    if quotes[0] is not None:
        yield [f"price, {quotes[0].prices.currency}", *map(_price, ways)]
    yield [f"to purge, {units.volume}", *(shown.volume(way.volume_m3) for way in ways)]
    by_way = [{wait.name: _wait(wait) for wait in way.waits} for way in ways]
    for name in dict.fromkeys(name for waits in by_way for name in waits):
        yield [f"hot water at {name}, s", *(waits.get(name, _NOTHING) for waits in by_way)]


def _wait(wait: TapWait) -> str:
    """Return a wait, with the verdict on the connection where that is not PASS."""
    seconds = _NOTHING if wait.wait_s is None else f"{wait.wait_s:.0f}"
    return seconds if wait.verdict in (None, Verdict.PASS) else f"{seconds} ({wait.verdict.word})"


def _pipe(way: ComparedWay, shown: Shown) -> str:
    length = f"{shown.length(way.pipe_m)} {shown.display.length}"
    return length if way.pipe_kg is None else f"{length}, {shown.mass(way.pipe_kg)} {shown.display.mass}"


def _price(way: ComparedWay) -> str:
    """Return the price of a way; where lines have none it is no price, and said to be more."""
    if way.quote is None:
        return _NOTHING
    return str(way.price) if way.price is not None else f"over {way.quote.total}"


def _way_data(way: ComparedWay) -> dict[str, Any]:
    job, standing, quote = way.job, way.standing, way.quote
    return {
        "file": job.file,
        "job": job.title,
        "ref": job.ref,
        "asked": list(job.asked),
        "verdict": standing.verdict.value,
        "because": because_data(standing.because, Shown(job.display)),
        "margin_Pa": standing.margin_pa,
        "worst_margin_Pa": standing.worst_margin_pa,
        "state": standing.state,
        "appliance": standing.appliance,
        "pipe_kg": way.pipe_kg,
        "pipe_m": way.pipe_m,
        "fittings": way.fittings,
        "joints": way.joints,
        "price": None if way.price is None else float(way.price),
        "currency": None if quote is None else quote.prices.currency,
        "unpriced": None if quote is None else len(quote.missing),
        "line_volume_L": way.volume_m3 * 1000.0,
        "hot_water": [{**wait._asdict(), "verdict": wait.verdict and wait.verdict.value} for wait in way.waits],
    }
