"""A sized job as a page, as rows, as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from drawbar.answers import WholeCheck, WholeSizes
from drawbar.cautions import IN_SHORT
from drawbar.checking.results import StateResult
from drawbar.job import Pipe, Run
from drawbar.report.check_report import JOB_COLUMNS, CheckReport, job_cells
from drawbar.report.check_screen import SCREEN_LINES, Room, check_screen, worst_table
from drawbar.report.check_view import ALL
from drawbar.report.check_whole import most_of_the_drop, path_to
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table, as_text
from drawbar.report.report import Report
from drawbar.report.verdict_words import reason_points
from drawbar.report.words import job_name, word
from drawbar.sizing.choosing import BY_SEARCH
from drawbar.sizing.next_smaller import NextSmaller
from drawbar.sizing.size import MASS_OF_PIPE, SizeResult
from drawbar.sizing.size_job import LongestRunSizes, SizedJob


class SizeReport(Report[WholeSizes]):
    """How the sizes of a job are shown: what was chosen, why nothing smaller, and the check of the whole."""

    kind = "size"
    columns = (
        *("file", "job", "ref", "run", "pipe", "bore_mm", "length_m", "cost", "cost_unit"),
        *("next_smaller", "next_smaller_margin_Pa"),
        *JOB_COLUMNS,
    )

    def __init__(self, *, in_full: bool = False, is_written: bool = False) -> None:
        self.in_full = in_full
        self.is_written = is_written

    def page(self, whole_sizes: WholeSizes) -> list[Block]:
        """Return a sized job as a page: one screen, or the whole of it."""
        return self._full_page(whole_sizes) if self.in_full else self._screen(whole_sizes)

    def _screen(self, whole_sizes: WholeSizes) -> list[Block]:
        sized, whole = whole_sizes
        result = sized.result
        job, shown = result.job, Shown(result.job.display)
        name = job_name(job)
        heading = Heading(f"{name}: sizes: {result.verdict.word}")
        if not result.has_choice:
            above: list[Block] = [heading, _NOTHING_OPEN]
            return [*above, *_check_below(above, whole, shown)]
        if not result.is_settled:
            blocks: list[Block] = [*_not_settled(result), *_worst_rows(result, shown, _MOST_WORST)]
        elif not result.passes:
            blocks = [*_impossible(result, shown), *_worst_rows(result, shown, _MOST_WORST)]
        else:
            opened = sum(len(run.pipes) > 1 for run in job.runs)
            blocks = [
                " ".join(_cost_and_wishes(sized, shown)),
                *reason_points(result.check.because, shown, in_full=False),
                _sizes_table(sized, shown),
                *_kept_words(len(job.runs) - opened),
                *_worst_rows(result, shown, _MOST_WORST if opened <= _FEW_RUNS else int(opened <= _SOME_RUNS)),
            ]
            if not self.is_written and job.file != STANDARD_INPUT:
                into = f"To put these sizes into {job.file}: the same call with --write."
                return [heading, *blocks, f"{into}\n{IN_SHORT}"]
        return [heading, *blocks, IN_SHORT]

    def _full_page(self, whole_sizes: WholeSizes) -> list[Block]:
        sized, whole_check = whole_sizes
        result = sized.result
        job, shown = result.job, Shown(result.job.display)
        name = job_name(job)
        heading = Heading(f"{name}: sizes: {result.verdict.word}")
        check = _check_below([heading], whole_check, shown)
        if not result.has_choice:
            return [heading, _NOTHING_OPEN, *check]
        if not result.is_settled:
            return [heading, *_not_settled(result), *check]
        if not result.passes:
            return [heading, *_impossible(result, shown), *check]
        return [
            heading,
            " ".join(_cost_and_wishes(sized, shown)),
            _runs_table(sized, shown),
            _longest_run_words(sized, shown),
            *check,
        ]

    def data(self, whole_sizes: WholeSizes) -> dict[str, Any]:
        """Return the sizes, why none is smaller, the longest-run method, and the check of the whole."""
        sized, whole_check = whole_sizes
        result, longest_run = sized.result, sized.longest_run
        return {
            **CheckReport().data(whole_check),
            "verdict": result.verdict.value,
            "has_choice": result.has_choice,
            "is_settled": result.is_settled,
            "proof": result.proof,
            "cost": result.cost,
            "least_cost": result.least_cost,
            "cost_unit": sized.cost_unit,
            "reserve": result.wishes.reserve,
            "no_increase": result.wishes.no_increase,
            "most_sizes": result.wishes.most_sizes,
            "sizes": [_run_data(sized, run, pipe) for run, pipe in _sizes(result)],
            "longest_run_cost": longest_run.cost,
            "longest_run_verdict": _verdict(longest_run),
        }

    def rows(self, whole_sizes: WholeSizes) -> Iterable[Sequence[Any]]:
        """Return the rows of the CSV, one a run; the verdict is that on the sizes, with why where it is not PASS."""
        sized = whole_sizes.sized
        result = sized.result
        _, *of_parts = job_cells(whole_sizes.whole)
        for run, pipe in _sizes(result):
            smaller = sized.next_smaller.get(run.name)
            yield [
                *(result.job.file, result.job.title, result.job.ref, run.name),
                pipe.label if result.passes else None,
                pipe.bore_m * 1000.0,
                run.length_m,
                sized.run_costs[run.name],
                sized.cost_unit,
                smaller.pipe.label if smaller else None,
                smaller.margin_pa if smaller else None,
                *(result.verdict.value, *of_parts),
            ]


_NOTHING_OPEN = (
    "Nothing to choose: every run has its size. To have one chosen, write `pipe: family/auto` or a list of sizes for "
    "the runs that may change."
)
STANDARD_INPUT = "-"
_FEW_RUNS, _SOME_RUNS = 3, 5  # up to so many, the worst two appliances are a table beside the runs, or the worst one
_MOST_WORST = 2
_EXTRA = "The extra `exact` may settle it."  # which has the solver


def _sizes(result: SizeResult) -> Iterator[tuple[Run, Pipe]]:
    """Yield each run as it was read, with the pipe chosen."""
    for run, decided in zip(result.job.runs, result.sized.runs, strict=True):
        yield run, decided.pipes[0]


# the page


def _check_below(above: Sequence[Block], whole: WholeCheck, shown: Shown) -> list[Block]:
    """Return the check of the whole, to fit what a screen has left below the name of the job and what else is above."""
    room = Room(SCREEN_LINES - as_text(above).count("\n") - 1)
    return check_screen(whole, shown, ALL, room, with_heading=False)


def _cost_and_wishes(sized: SizedJob, shown: Shown) -> Iterator[str]:
    """Yield sentences on the cost and on what the sizes keep to."""
    result, wishes = sized.result, sized.result.wishes
    cost = f"Cost {_cost(sized, result.cost or 0.0, shown)} {_cost_unit(sized, shown)}"
    if result.is_proven:
        by = "" if result.proof == BY_SEARCH else f" (proven by {result.proof})"
        yield f"{cost}: no other choice of sizes that passes costs less{by}."
    else:
        yield (
            f"{cost}. The job is too large to prove that this is the least: "
            f"no choice that passes costs less than {_cost(sized, result.least_cost or 0.0, shown)}."
            + (f" {_EXTRA}" if result.extra_may_settle else "")
        )
    if wishes.reserve:
        yield f"Every appliance is taken to draw {wishes.reserve * 100:g} % more than its input."
    if wishes.no_increase:
        yield "No run is larger than the one that feeds it."
    if wishes.most_sizes is not None:
        yield f"At most {wishes.most_sizes} size{'s' if wishes.most_sizes > 1 else ''}."


def _sizes_table(sized: SizedJob, shown: Shown) -> Table:
    """Return a row for each run that had a choice: what was chosen, and what one size smaller would do."""
    columns = (
        Column("run", words=True),
        Column("pipe", words=True),
        Column(shown.display.length),
        Column("one size smaller", words=True),
    )
    rows = [
        [run.name, pipe.label, shown.length(run.length_m), _smaller_words(sized.next_smaller.get(run.name), shown)]
        for run, pipe in _sizes(sized.result)
        if len(run.pipes) > 1
    ]
    return Table(columns, rows)


def _kept_words(kept: int) -> Iterator[str]:
    if kept:
        yield f"{'Another run keeps its' if kept == 1 else f'{kept} other runs keep their'} one size."


def _worst_rows(result: SizeResult, shown: Shown, most: int) -> Iterator[Block]:
    """Yield the rows of the appliances that are left least, or the least in a sentence where there is no room."""
    table = worst_table(result.check, shown, ALL)
    if most:
        yield table._replace(rows=table.rows[:most])
        return
    state = min(result.check.states, key=lambda state: state.margin_pa)
    worst = min(state.appliances, key=lambda appliance: appliance.margin_pa)
    spare, at_worst = (shown.pressure_unit(pa) for pa in (worst.margin_pa, worst.worst_margin_pa))
    yield f"The least spare is that of {worst.name} in state {state.name}: {spare}, {at_worst} at worst."


def _runs_table(sized: SizedJob, shown: Shown) -> Table:
    columns = (
        Column("run", words=True),
        Column("chosen", words=True),
        Column(f"bore\n{shown.display.bore}"),
        Column("cost"),
        Column("longest-run\nmethod", words=True),
        Column("the next smaller size here", words=True),
    )
    rows = []
    for run, pipe in _sizes(sized.result):
        other = sized.longest_run.pipes[run.name]
        rows.append(
            [
                run.name,
                pipe.label,
                shown.bore(pipe.bore_m),
                _cost(sized, sized.run_costs[run.name], shown),
                "none is enough" if other is None else "the same" if other == pipe else other.label,
                _smaller_words(sized.next_smaller.get(run.name), shown),
            ]
        )
    return Table(columns, rows)


def _smaller_words(smaller: NextSmaller | None, shown: Shown) -> str:
    if smaller is None:
        return "there is none"
    size = smaller.pipe.label.rpartition("/")[2]
    if smaller.margin_pa is None:
        return f"{size}: not tried, job too large"
    if smaller.passes:
        return f"{size}: would pass, but costs more"
    return f"{size}: {smaller.name} {shown.pressure_unit(-smaller.margin_pa)} short in {smaller.state}"


def _longest_run_words(sized: SizedJob, shown: Shown) -> str:
    about = (
        "The longest-run method of the code tables (IFGC 2018, 402.4.1 and Appendix A) sizes every section for "
        "the length of the longest run and its own load, by the ifgc formula."
    )
    longest_run = sized.longest_run
    if longest_run.cost is None:
        return f"{about} Here no choice is large enough for it in some run."
    passes = "passes" if longest_run.passes else "fails"
    more = longest_run.cost - (sized.result.cost or 0.0)
    beside = f"{'+' if more >= 0.0 else '-'}{_cost(sized, abs(more), shown)} beside these"
    cost = f"{_cost(sized, longest_run.cost, shown)} {_cost_unit(sized, shown)}"
    return f"{about} Its sizes cost {cost}, {beside}, and the line so sized {passes}."


def _cost(sized: SizedJob, cost: float, shown: Shown) -> str:
    """Return a cost as a bare figure: a mass in the job's own unit, or money as the price list has it."""
    return shown.mass(cost, 3) if sized.cost_unit == MASS_OF_PIPE else f"{cost:.3f}"


def _cost_unit(sized: SizedJob, shown: Shown) -> str:
    return f"{shown.display.mass} of pipe" if sized.cost_unit == MASS_OF_PIPE else sized.cost_unit


def _not_settled(result: SizeResult) -> Iterator[str]:
    """Yield that the search came to nothing in time, and what would help."""
    yield (
        f"The search for at most {result.wishes.most_sizes} different sizes came to none within its limit of work. "
        "There may be some that pass. Allow more sizes in all, or fewer to choose among."
        + (f" {_EXTRA}" if result.extra_may_settle else "")
    )


def _impossible(result: SizeResult, shown: Shown) -> Iterator[Block]:
    """Yield what is short with the largest choice everywhere, and what would help."""
    if result.check.pressures_pass:
        yield "The largest choice everywhere passes, but no choice was found that keeps to what was asked of sizes."
        yield Points("To put it right:", ["Allow more sizes, or larger ones in the runs that have few to choose from."])
        return
    state = result.check.states[0]
    worst = min(state.appliances, key=lambda appliance: appliance.margin_pa)
    allow = "Allow a larger size in the run that loses most"
    if worst.passes:
        yield f"No choice of sizes passes. With the largest everywhere, {_starved_words(state)}."
    else:
        flows = path_to(result.job, state, worst)
        loses_most = max(flows, key=lambda flow: flow.friction_pa).section.name
        if any(run.name == loses_most for run in result.job.runs):
            allow = f"Allow a larger size in {loses_most}"
        short = f"{worst.name} still is {shown.pressure_unit(-worst.margin_pa)} short in state {state.name}"
        lost = most_of_the_drop(result.job, state, shown)
        yield f"No choice of sizes passes. With the largest everywhere, {short}. {lost}"
    yield Points(
        "To put it right:",
        [
            f"{allow}, or make it shorter, or take fittings out of it.",
            "Split the line there, so that each branch carries less.",
            "Write `states:` if some appliances are never on together.",
        ],
    )


def _starved_words(state: StateResult) -> str:
    """Return which second-stage regulator has the least inlet pressure beside what it needs."""
    second_stages = [regulator for regulator in state.regulators if regulator.margin_pa is not None]
    starved = min(second_stages, key=lambda regulator: regulator.margin_pa or 0.0)
    return f"the regulator of run {starved.name} is short of inlet pressure in state {state.name}"


# JSON


def _run_data(sized: SizedJob, run: Run, pipe: Pipe) -> dict[str, Any]:
    longest_run_pipe = sized.longest_run.pipes[run.name]
    return {
        "name": run.name,
        "pipe": pipe.label if sized.result.passes else None,
        "choices": [choice.label for choice in run.pipes],
        "bore_mm": pipe.bore_m * 1000.0,
        "cost": sized.run_costs[run.name],
        "longest_run_pipe": longest_run_pipe.label if longest_run_pipe else None,
        "next_smaller": _smaller_data(sized.next_smaller.get(run.name)),
    }


def _smaller_data(smaller: NextSmaller | None) -> dict[str, Any] | None:
    if smaller is None:
        return None
    return {
        "pipe": smaller.pipe.label,
        "verdict": "undecided" if smaller.margin_pa is None else word(smaller.passes).lower(),
        "state": smaller.state,
        "name": smaller.name,
        "margin_Pa": smaller.margin_pa,
    }


def _verdict(longest_run: LongestRunSizes) -> str | None:
    return None if longest_run.passes is None else word(longest_run.passes).lower()
