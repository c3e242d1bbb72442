"""A sized job as a page, as rows, as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from drawbar.checking.check import check
from drawbar.job import Job, Pipe
from drawbar.report import check_report
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.words import word
from drawbar.sizing.longest_run import longest_run_sizes
from drawbar.sizing.size import Cost, Short, SizeResult, next_smaller, with_pipes

CSV_COLUMNS = (
    "file",
    "job",
    "ref",
    "run",
    "pipe",
    "bore_mm",
    "length_m",
    "cost",
    "next_smaller",
    "next_smaller_margin_Pa",
)


@dataclass(frozen=True, slots=True)
class Sized:
    """A size result with what is shown beside it.

    cost, unit : how a run's pipe is costed, and in what
    smaller : for each run with a smaller choice, that choice and the check of the job with that one change
    longest : what the longest-run method of the code tables chooses, by run; its cost and whether it passes
    """

    result: SizeResult
    cost: Cost
    unit: str
    smaller: dict[str, tuple[Pipe, Short]]
    longest: dict[str, Pipe | None]
    longest_cost: float | None
    longest_passes: bool | None


def sized(job: Job, result: SizeResult, cost: Cost, unit: str) -> Sized:
    """Work out what is shown beside a size result."""
    smaller = {run.name: (pipe, found) for run, pipe, found in next_smaller(job, result)} if result.passes else {}
    longest = longest_run_sizes(result.check.job, {run.name: run.pipes for run in job.runs})
    full = {name: pipe for name, pipe in longest.items() if pipe is not None}
    complete = len(full) == len(job.runs)
    total = sum(cost(run, full[run.name]) for run in job.runs) if complete else None
    passes = check(with_pipes(result.check.job, full)).pressures_pass if complete else None
    return Sized(result, cost, unit, smaller, longest, total, passes)


def page(shown_size: Sized) -> list[Block]:
    """Return the page of a sized job."""
    result = shown_size.result
    job, shown = result.job, Shown(result.job.display)
    name = f"{job.title} ({job.ref})" if job.ref else job.title
    if not result.passes:
        return [Heading(f"{name}: no choice of sizes passes: FAIL"), *_impossible(result, shown)]
    blocks: list[Block] = [
        Heading(f"{name}: sizes that pass at the least cost: PASS"),
        _wishes(result, shown_size, shown),
        _runs(shown_size, shown),
        _longest_words(shown_size),
    ]
    whole = check_report.CheckReport().page(result.check)
    return [*blocks, *whole[1:]]


def _wishes(result: SizeResult, shown_size: Sized, shown: Shown) -> str:
    wishes = result.wishes
    told = [f"Cost {result.cost:.3f} {shown_size.unit}: no other choice of sizes that passes costs less."]
    if not result.is_proven:
        told = [
            f"Cost {result.cost:.3f} {shown_size.unit}. The job is too crowded to prove that this is the least: "
            f"no choice that passes costs less than {result.least_cost:.3f}."
        ]
    if wishes.reserve:
        told.append(f"Every appliance is taken to draw {wishes.reserve * 100:g} % more than its input.")
    if wishes.no_increase:
        told.append("No run is larger than the one that feeds it.")
    if wishes.most_sizes is not None:
        told.append(f"At most {wishes.most_sizes} size{'s' if wishes.most_sizes > 1 else ''}.")
    least_pa = min(state.margin_pa for state in result.check.states)
    told.append(f"The least margin is {shown.pressure_unit(least_pa)}.")
    return " ".join(told)


def _runs(shown_size: Sized, shown: Shown) -> Table:
    columns = (
        Column("run", words=True),
        Column("chosen", words=True),
        Column(f"bore\n{shown.display.bore}"),
        Column("cost"),
        Column("longest-run\nmethod", words=True),
        Column("the next smaller size here", words=True),
    )
    result = shown_size.result
    rows = []
    for run, decided in zip(result.job.runs, result.sized.runs, strict=True):
        pipe = decided.pipes[0]
        other = shown_size.longest[run.name]
        longest = "none is enough" if other is None else "the same" if other == pipe else other.label
        rows.append(
            [
                run.name,
                pipe.label,
                shown.bore(pipe.bore_m),
                f"{shown_size.cost(run, pipe):.3f}",
                longest,
                _why(shown_size, run.name, shown),
            ]
        )
    return Table(columns, rows)


def _why(shown_size: Sized, run: str, shown: Shown) -> str:
    if run not in shown_size.smaller:
        return "there is none"
    pipe, found = shown_size.smaller[run]
    size = pipe.label.rpartition("/")[2]
    if found.passes:
        return f"{size}: would pass, but costs more"
    return f"{size}: {found.name} {shown.pressure_unit(-found.margin_pa)} short in {found.state}"


def _longest_words(shown_size: Sized) -> str:
    about = (
        "The longest-run method of the code tables (IFGC 2018, 402.4.1 and Appendix A) sizes every section for "
        "the length of the longest run and its own load, by the ifgc formula."
    )
    if shown_size.longest_cost is None:
        return f"{about} Here no choice is large enough for it somewhere."
    cost, own = shown_size.longest_cost, shown_size.result.cost or 0.0
    passes = "passes" if shown_size.longest_passes else "fails"
    beside = f"{cost - own:+.3f} beside these"
    return f"{about} Its sizes cost {cost:.3f} {shown_size.unit}, {beside}, and the line so sized {passes}."


def _impossible(result: SizeResult, shown: Shown) -> Iterator[Block]:
    state = result.check.states[0]
    worst = min(state.appliances, key=lambda one: one.margin_pa)
    if result.check.pressures_pass:
        yield "The largest choice everywhere passes, but no choice was found that keeps to what was asked of sizes."
        yield Points("What would help:", ["Allow more sizes, or larger ones in the runs that have few to choose from."])
        yield from check_report.CheckReport().page(result.check)[1:]
        return
    if worst.passes:
        starved = min(
            (one for one in state.regulators if one.margin_pa is not None), key=lambda one: one.margin_pa or 0.0
        )
        short = f"the regulator of run {starved.name} is short of inlet pressure in state {state.name}"
        yield f"With the largest choice everywhere, {short}."
    else:
        yield (
            f"With the largest choice everywhere, {worst.name} still is {shown.pressure_unit(-worst.margin_pa)} short "
            f"in state {state.name}."
        )
        yield check_report.most_of_the_drop(result.job, state, shown)
    yield Points(
        "What would help:",
        [
            "Allow a larger size in the run that loses most, or make it shorter, or take fittings out of it.",
            "Split the line there, so that each branch carries less.",
            "Say in `states:` what is never on together, if that is so.",
        ],
    )
    yield from check_report.CheckReport().page(result.check)[1:]


def rows(shown_size: Sized) -> Iterator[list[Any]]:
    """Yield the rows of CSV_COLUMNS, one a run."""
    result = shown_size.result
    for run, decided in zip(result.job.runs, result.sized.runs, strict=True):
        pipe = decided.pipes[0]
        smaller = shown_size.smaller.get(run.name)
        yield [
            result.job.file,
            result.job.title,
            result.job.ref,
            run.name,
            pipe.label if result.passes else None,
            pipe.bore_m * 1000.0,
            run.length_m,
            shown_size.cost(run, pipe),
            smaller[0].label if smaller else None,
            smaller[1].margin_pa if smaller else None,
        ]


def data(shown_size: Sized) -> dict[str, Any]:
    """Return the result for JSON: the sizes, why none is smaller, the longest-run method, the check of the whole."""
    result = shown_size.result
    runs = []
    for run, decided in zip(result.job.runs, result.sized.runs, strict=True):
        pipe = decided.pipes[0]
        smaller = shown_size.smaller.get(run.name)
        longest = shown_size.longest[run.name]
        runs.append(
            {
                "name": run.name,
                "pipe": pipe.label if result.passes else None,
                "choices": [one.label for one in run.pipes],
                "bore_mm": pipe.bore_m * 1000.0,
                "cost": shown_size.cost(run, pipe),
                "longest_run_pipe": longest.label if longest else None,
                "next_smaller": {
                    "pipe": smaller[0].label,
                    "verdict": word(smaller[1].passes).lower(),
                    "state": smaller[1].state,
                    "name": smaller[1].name,
                    "margin_Pa": smaller[1].margin_pa,
                }
                if smaller
                else None,
            }
        )
    return {
        **check_report.CheckReport().data(result.check),
        "verdict": word(result.passes).lower(),
        "cost": result.cost,
        "least_cost": result.least_cost,
        "cost_unit": shown_size.unit,
        "reserve": result.wishes.reserve,
        "no_increase": result.wishes.no_increase,
        "most_sizes": result.wishes.most_sizes,
        "sizes": runs,
        "longest_run_cost": shown_size.longest_cost,
        "longest_run_verdict": None if shown_size.longest_passes is None else word(shown_size.longest_passes).lower(),
    }
