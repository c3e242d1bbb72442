"""Quote a change of heater over a folder of jobs: which still pass, and what the others need, priced, as CSV.

Run it as: python quote_swap.py FOLDER OLD NEW PRICES OUT.csv
For example: python quote_swap.py jobs basin instantaneous-heater-fixed prices.yaml quote.csv

OLD is the heater's name in the jobs, or its type; NEW is a type of `drawbar list appliances` or a rate as `60 MJ/h`.
Each job that the new heater would fail gets the pipe and fittings of the cheapest change of sizes. The heater itself,
the joints of the change, fees and sundries are not in the price: add them by hand.
"""

from __future__ import annotations

import csv
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import drawbar

COLUMNS = ["file", "ref", "job", "result", "item", "size", "quantity", "unit", "price", "amount"]


def quote_of_change(job: drawbar.Job, changed: drawbar.Job, prices: drawbar.PriceList) -> drawbar.Quote:
    """Return the priced materials that a changed job has and the job as it stands has not."""
    before, after = drawbar.takeoff(job).needs, drawbar.takeoff(changed).needs
    more = replace(
        after,
        stretches=tuple(stretch for stretch in after.stretches if stretch not in before.stretches),
        parts=tuple((Counter(dict(after.parts)) - Counter(dict(before.parts))).items()),
        joints=0,
    )
    of_change = replace(prices, labour_per_joint=None, labour_per_job=None, test_min=None, purge_min=None, fees={})
    of_change = replace(of_change, sundries=None, sundries_share=None)
    return drawbar.quote(drawbar.takeoff(more), of_change)


def rows(file: Path, swap: drawbar.Swap, prices: drawbar.PriceList) -> Iterator[list[object]]:
    """Yield the rows of one job: how it stands with the new heater, and what it needs."""
    job = drawbar.read_job(file, sized=True)
    outcome = drawbar.recheck(job, [swap])
    head = [file.name, job.ref, job.title, outcome.change]
    larger = outcome.remedies.of_kind("larger-runs")
    if larger is None:
        others = [remedy.edits(outcome.remedies.display) for remedy in outcome.remedies.in_order]
        ways = " or ".join(", ".join(f"{key}: {value}" for key, value in edits.items()) for edits in others)
        pipe = f"no size is enough: {ways}" if ways else "no change of pipe puts it right"
        yield [*head, "nothing to change" if outcome.exit_code == 0 else pipe, *[""] * 5]
        return
    quote = quote_of_change(job, larger.applied_to(job), prices)
    for line in quote.lines:
        price = "no price" if line.price is None else line.price
        yield [*head, line.item, line.size, line.quantity, line.unit, price, line.amount]
    yield [*head, "margin", "", "", "", "", quote.margin]
    yield [*head, "tax", "", "", "", "", quote.tax]
    yield [*head, "total" if quote.is_complete else "total, without what has no price", *[""] * 4, quote.total]


def main(folder: str, old: str, new: str, price_file: str, out: str) -> int:
    """Write the quote; a job that can't be read is told, and left out. Return the exit code: 0, or 2 if any was."""
    code = 0
    swap = drawbar.parse_swap(old, new)
    prices = drawbar.read_prices(price_file)
    with Path(out).open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(COLUMNS)
        for file in sorted(Path(folder).glob("*.yaml")):
            try:
                writer.writerows(rows(file, swap, prices))
            except drawbar.Problems as problems:
                print(problems, file=sys.stderr)
                code = 2
    return code


if __name__ == "__main__":
    if len(sys.argv) != 6:  # noqa: PLR2004 - the five that the usage names
        sys.exit((__doc__ or "").splitlines()[2])
    try:
        sys.exit(main(*sys.argv[1:]))
    except (drawbar.Problems, drawbar.SwapError) as error:
        sys.exit(str(error))
