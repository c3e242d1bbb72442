"""The pressure-drop formulas side by side: what each says an appliance loses."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.checking.compare import FormulaComparison
from drawbar.physics.formulas import FORMULAS
from drawbar.report.check_data import check_data
from drawbar.report.display import Shown
from drawbar.report.layout import Block, Column, Heading, Points, Table
from drawbar.report.report import Report
from drawbar.report.words import cautions


class FormulasReport(Report[FormulaComparison]):
    """A checked job by every formula. The JSON holds the check, and the formulas beside it."""

    kind = "check"
    columns = ("file", "job", "ref", "state", "appliance", *(f"{name}_drop_Pa" for name in FORMULAS), "allowed_drop_Pa")

    def page(self, result: FormulaComparison) -> list[Block]:
        """Return the drops by formula, and what each formula is for."""
        job, shown = result.check.job, Shown(result.check.job.display)
        columns = (
            Column("state", words=True),
            Column("appliance", words=True),
            *(Column(f"{name}\n{shown.display.pressure}") for name in FORMULAS),
        )
        rows = [
            [state, appliance, *(shown.pressure(by_formula[name]) for name in FORMULAS)]
            for (state, appliance), by_formula in result.drops_pa.items()
        ]
        about = (
            f"Drop to each appliance in its worst combination; allowed {shown.pressure_unit(job.allowed_drop_pa)}. "
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

    def data(self, result: FormulaComparison) -> dict[str, Any]:
        """Return the check, and beside it every formula's drop."""
        drops = [
            {"state": state, "appliance": appliance, "drop_Pa": by_formula}
            for (state, appliance), by_formula in result.drops_pa.items()
        ]
        return {**check_data(result.check), "compare": drops}

    def rows(self, result: FormulaComparison) -> Iterator[list[Any]]:
        """Yield a row an appliance and state."""
        job = result.check.job
        for (state, appliance), by_formula in result.drops_pa.items():
            drops_pa = [by_formula[name] for name in FORMULAS]
            yield [job.file, job.title, job.ref, state, appliance, *drops_pa, job.allowed_drop_pa]
