"""All formulas side by side: what each says an appliance loses, so that one sees how far they part in small tubes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from drawbar.checking.check import check
from drawbar.job import Job
from drawbar.physics.formulas import FORMULAS
from drawbar.report.check_report import cautions
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table

CSV_COLUMNS = ["file", "job", "ref", "state", "appliance", *(f"{name}_drop_Pa" for name in FORMULAS), "allowed_drop_Pa"]


@dataclass(frozen=True, slots=True)
class Comparison:
    """A job by every formula: the drop [Pa] by state, appliance and formula."""

    job: Job
    drops: dict[tuple[str, str], dict[str, float]]


def compare(job: Job) -> Comparison:
    """Check a job by every formula."""
    drops: dict[tuple[str, str], dict[str, float]] = {}
    for formula in FORMULAS:
        for state in check(job, formula).states:
            for one in state.appliances:
                drops.setdefault((state.name, one.name), {})[formula] = one.drop_pa
    order = {state.name: number for number, state in enumerate(job.states)}
    return Comparison(job, dict(sorted(drops.items(), key=lambda pair: order[pair[0][0]])))


def page(comparison: Comparison) -> list[Block]:
    """Return the page of a comparison."""
    job, shown = comparison.job, Shown(comparison.job.display)
    columns = (
        Column("state", words=True),
        Column("appliance", words=True),
        *(Column(f"{name}\n{shown.display.pressure}") for name in FORMULAS),
    )
    rows = [
        [state, name, *(shown.pressure(drops[one]) for one in FORMULAS)]
        for (state, name), drops in comparison.drops.items()
    ]
    about = (
        f"Drop to each appliance in its worst way of plugging; allowed {shown.pressure_unit(job.allowed_drop_pa)}. "
        "The formulas are for the pipe; devices and height are the same in all."
    )
    ranges = [f"{name}: {formula.title}. Range: {formula.valid}" for name, formula in FORMULAS.items()]
    return [
        Heading(f"{job.title}: the formulas side by side"),
        about,
        Table(columns, rows),
        Points("The formulas:", ranges),
        Points("Cautions:", list(cautions(job))),
    ]


def rows(comparison: Comparison) -> Iterator[list[Any]]:
    """Yield the rows of CSV_COLUMNS."""
    job = comparison.job
    for (state, name), drops in comparison.drops.items():
        yield [job.file, job.title, job.ref, state, name, *(drops[one] for one in FORMULAS), job.allowed_drop_pa]


def data(comparison: Comparison) -> dict[str, Any]:
    """Return what `--compare` adds to the JSON of a check."""
    drops = [
        {"state": state, "appliance": name, "drop_Pa": by_formula}
        for (state, name), by_formula in comparison.drops.items()
    ]
    return {"compare": drops}
