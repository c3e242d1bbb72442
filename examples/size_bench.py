"""Size a job at the bench: the cheapest sizes, what they cost and what is to spare, written into a copy of the job.

Run it as: python size_bench.py JOB COPY [PRICES]
For example: python size_bench.py market-kitchen-open.yaml market-kitchen.yaml prices.yaml

Every appliance is taken to draw a tenth more than its input, to leave room, and no run is larger than the one before.
Without a price list pipes compare by their mass. The exit code is that of the verdict. Where no choice of sizes passes,
nothing is written; what else fails the job so sized, or leaves it open, is printed.
"""

from __future__ import annotations

import sys

import drawbar

WISHES = drawbar.Wishes(no_increase=True, reserve=0.1)


def spare_lines(check: drawbar.CheckResult) -> list[str]:
    """Return a line for each appliance of the worst state: what it gets, and what it has to spare."""
    worst = check.states[0]
    lines = [f"to spare in state {worst.name}, with {WISHES.reserve:.0%} more drawn:"]
    for appliance in worst.appliances:
        gauge, margin = (drawbar.quantity(appliance, name).to("kPa") for name in ("gauge_pa", "margin_pa"))
        lines.append(f"  {appliance.name}: gets {gauge.magnitude:.3f} kPa, {margin.magnitude:.3f} kPa to spare")
    return lines


def main(job_file: str, copy: str, price_file: str | None = None) -> int:
    """Size a job, print what comes of it and write the copy. Return the exit code."""
    job = drawbar.read_job(job_file)
    prices = drawbar.read_prices(price_file) if price_file is not None else None
    sizes = drawbar.size(job, wishes=WISHES, prices=prices)
    if not sizes.result.passes:
        met = "passes" if sizes.result.is_settled else "that passes was met"
        print(f"{job.title}: no choice of sizes {met}")
        return sizes.result.verdict.exit_code
    print(f"{job.title}: {sizes.result.cost:.2f} {sizes.cost_unit}")
    for run in sizes.result.sized.runs:
        print(f"  {run.name}: {run.pipe.label}, {sizes.run_costs[run.name]:.2f} {sizes.cost_unit}")
    print(*spare_lines(sizes.result.check), sep="\n")
    drawbar.write_sizes(sizes.result.sized, copy)
    for reason in drawbar.because(sizes.result.check):
        print(f"{reason['verdict'].upper()}: {reason['text']}; {reason['fix']}")
    return sizes.result.verdict.exit_code


if __name__ == "__main__":
    if len(sys.argv) not in (3, 4):
        sys.exit((__doc__ or "").splitlines()[2])
    try:
        sys.exit(main(*sys.argv[1:]))
    except (drawbar.Problems, OSError) as error:
        sys.exit(str(error))
