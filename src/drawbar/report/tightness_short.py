"""A tightness test on one screen: what was found or how to make it, what to do, the figures that decide."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from drawbar.cautions import IN_SHORT
from drawbar.onsite.purge import PURGED, mixed_volumes
from drawbar.onsite.tightness import Tightness
from drawbar.onsite.tightness_reading import RESOLUTION_PA
from drawbar.onsite.tightness_verdict import hold_s, settle_s
from drawbar.report.display import Shown
from drawbar.report.layout import WIDTH, Block, Column, Points, Table
from drawbar.report.tightness_report import filled_to, place_words, tightness_warnings
from drawbar.report.tightness_words import duration, reading_words, verdict_blocks
from drawbar.report.wrapping import filled

_MOST_LINES = 9  # of reasons; one screen holds no more
_MOST_SECTIONS = 4


def short_page(result: Tightness, shown: Shown) -> Iterator[Block]:
    """Yield the blocks under the heading of a tightness test that stand on one screen.

    Parameters
    ----------
    result : Tightness
        The test, read or still to be made.
    shown : Shown
        The units of the job.

    Yields
    ------
    Block
        What was found or how to make the test, the figures by section, what to do, and one caution.
    """
    rest = "`--full` has the volumes by run, the purge by appliance, sources and cautions."
    for block in verdict_blocks(result, shown):
        if not isinstance(block, Points):
            yield block
            continue
        told = _that_fit(block.sentences)
        if (more := len(block.sentences) - len(told)) > 0:
            rest = f"`--full` has {more} more reason{'s' * (more > 1)}, volumes, purge, sources and cautions."
        yield Points(block.head, told)
    yield _how(result, shown)
    if result.reading is None:
        yield _by_section(result, shown)
        yield Points("To do:", list(_to_do(result, shown)))
    else:
        lines = reading_words(result, result.reading, shown).split("\n")
        yield "\n".join(line.partition(" May be more or less")[0] for line in lines)
    yield f"{IN_SHORT}\n{rest}"


def _that_fit(sentences: Sequence[str]) -> list[str]:
    """Return the sentences from the first on that one screen of 80 columns holds, one at least."""
    lines = itertools.accumulate(len(filled(f"- {sentence}", WIDTH - 2).split("\n")) for sentence in sentences)
    return [sentence for sentence, line in zip(sentences, lines, strict=True) if line <= _MOST_LINES] or [sentences[0]]


def _how(result: Tightness, shown: Shown) -> str:
    """Return the test in a line or two."""
    test = result.test
    if test is None:
        return "No figures of a tightness test are known for this job; choose a test with --test. Allowed fall: none."
    allowed = shown.pressure_unit(test.allowed_fall_pa) if test.allowed_fall_pa else "none"
    step = shown.pressure_unit(test.allowed_fall_pa or RESOLUTION_PA)
    return (
        f"Test {test.name}: fill with {test.medium} to {filled_to(test.pressure_gauge_pa, shown)}, let it "
        f"settle {duration(settle_s(test))}, then test for {duration(hold_s(test))}. Allowed fall: {allowed}. "
        f"Manometer: steps of {step} or finer."
    )


def _by_section(result: Tightness, shown: Shown) -> Table:
    """Return what each section holds and what the manometer shows of it."""
    units = shown.display
    columns = [Column("downstream of", words=True), Column(f"holds\n{units.volume}")]
    if result.test is None:
        columns.append(Column(f"works at\n{units.pressure}"))
    if result.time_s is not None:
        columns.append(Column(f"least leak that shows\nin {duration(result.time_s)}, {units.volume}/h"))
    if result.leak_m3_s is not None:
        columns.append(Column(f"{shown.leak_unit(result.leak_m3_s)}\nshows after"))
    columns.append(Column(f"per {shown.difference_short(1.0)}\n{units.pressure}"))
    rows = []
    for section in result.sections[:_MOST_SECTIONS]:
        smallest, wait_s = result.smallest_leak_m3_s(section), result.wait_s(section)
        row = [place_words(section), shown.volume(section.volume_m3)]
        row += [shown.pressure(section.gauge_pa)] if result.test is None else []
        row += [shown.leak(smallest)] if smallest is not None else []
        row += [duration(wait_s)] if wait_s is not None else []
        rows.append([*row, shown.pressure(result.pa_per_k(section))])
    if (more := len(result.sections) - _MOST_SECTIONS) > 0:
        rows.append([f"{more} more: --full", *[""] * (len(columns) - 1)])
    return Table(tuple(columns), rows)


def _to_do(result: Tightness, shown: Shown) -> Iterator[str]:
    """Yield what to do: to look before the test, to read and say so, to purge."""
    yield from tightness_warnings(result, shown)
    test = result.test
    section = " --section NAME" if len(result.sections) > 1 else ""
    time = duration(hold_s(test)) if test is not None else "TIME"
    yield (
        f"Test, then give the readings: --time '{time}' --settled TIME --start PRESSURE --end PRESSURE "
        f"--resolution STEP{section}."
    )
    if result.purges:
        longest = max(result.purges, key=lambda purge: purge.mixed_s)
        unknown = "" if longest.is_burner_known else " (no `smallest-burner` given)"
        gas_m3 = max(purge.volume_m3 for purge in result.purges) * mixed_volumes(PURGED)
        yield (
            f"Purge after a PASS: at most {shown.volume_unit(gas_m3)} of gas; longest through "
            f"{longest.appliance.name}{unknown}, {longest.least_s:.0f} to {longest.mixed_s:.0f} s."
        )
