"""A checked job on one screen, and as rows; its whole page and its JSON stand in files of their own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.answers import WholeCheck
from drawbar.report.check_screen import SCREEN, Room, check_screen
from drawbar.report.check_view import ALL, CheckView
from drawbar.report.display import MJ_H, Shown
from drawbar.report.layout import Block
from drawbar.report.reasons import because_data, reason_words
from drawbar.report.report import Report
from drawbar.report.verdict_words import job_parts

_PARTS = ("pressure", "regulator", "vents", "bottles")
JOB_COLUMNS = ("job_verdict", *(f"{part}_verdict" for part in _PARTS), "because")
"""What every row of a CSV says of the whole job, so that rows that pass hide no job that does not."""


class CheckReport(Report[WholeCheck]):
    """How a checked job is shown.

    Attributes
    ----------
    in_full : bool
        Whether its page has every state and all figures; else it is one screen.
    view : CheckView
        What of it is shown. The verdict is that of all of it.
    room : Room
        What the page of one screen is to fit.
    """

    kind = "check"
    columns = (
        *("file", "job", "ref", "formula", "state", "appliance", "outlet", "hose", "load_MJ_h", "pressure_kPa"),
        *("drop_Pa", "allowed_drop_Pa", "margin_Pa", "headroom_MJ_h", "worst_margin_Pa", "verdict"),
        *JOB_COLUMNS,
    )

    def __init__(self, *, in_full: bool = False, view: CheckView = ALL, room: Room = SCREEN) -> None:
        self.in_full = in_full
        self.view = view
        self.room = room

    def page(self, whole: WholeCheck) -> list[Block]:
        """Return the page of a checked job: one screen, or the whole of it."""
        shown = Shown(whole.result.job.display)
        if not self.in_full:
            return check_screen(whole, shown, self.view, self.room)
        from drawbar.report.check_whole import whole_page

        return list(whole_page(whole, shown, self.view))

    def data(self, whole: WholeCheck) -> dict[str, Any]:
        """Return the result as the JSON contract has it."""
        from drawbar.report.break_even_table import break_even_data
        from drawbar.report.check_data import check_data
        from drawbar.report.remedy_words import remedy_data

        job, values = whole.result.job, whole.break_evens
        data = check_data(whole.result)
        if self.view != ALL:
            shown = {state.name: {a.name for a in self.view.appliances_of(state)} for state in whole.result.states}
            data["states"] = [
                {
                    **state,
                    "appliances": [entry for entry in state["appliances"] if entry["name"] in shown[state["name"]]],
                }
                for state in data["states"]
                if not self.view.states or state["name"] in self.view.states
            ]
            # What is here may be a part alone; the verdict is that of the whole job.
            data["shown"] = {"states": list(self.view.states) or None, "failing": self.view.failing}
        return {
            **data,
            "remedies": None if whole.remedies is None else remedy_data(whole.remedies),
            "bottles": None
            if whole.bottles is None
            else {
                "verdict": whole.bottles[0].value,
                "because": because_data(whole.bottles[1], Shown(job.display)),
            },
            "break_even": None if values is None else break_even_data(values, job),
        }

    def rows(self, whole: WholeCheck) -> Iterator[list[Any]]:
        """Yield a row an appliance and state."""
        result = whole.result
        job = result.job
        for state in self.view.states_of(result):
            spare_w = state.headroom.appliances if state.headroom else None
            for appliance in filter(self.view.shows, state.appliances):
                yield [
                    *(job.file, job.title, job.ref, result.formula, state.name),
                    *(appliance.name, appliance.outlet, appliance.hose),
                    appliance.load_w * MJ_H,
                    appliance.gauge_pa / 1000.0,
                    appliance.drop_pa,
                    job.allowed_drop_pa,
                    appliance.margin_pa,
                    spare_w[appliance.name] * MJ_H if spare_w else None,
                    appliance.worst_margin_pa,
                    appliance.verdict.value,
                    *job_cells(whole),
                ]


def job_cells(whole: WholeCheck) -> list[str | None]:
    """Return what every row of a CSV says of the whole job, under JOB_COLUMNS.

    Parameters
    ----------
    whole : WholeCheck
        The checked job.

    Returns
    -------
    list of str or None
        The verdict on the job, those on its parts, empty where a part is not judged, and why it is not PASS.
    """
    result, parts, shown = whole.result, job_parts(whole), Shown(whole.result.job.display)
    verdicts = [parts[part].value if part in parts else None for part in _PARTS]
    return [
        result.verdict.value,
        *verdicts,
        "; ".join(reason_words(reason, shown)[0] for reason in result.because),
    ]
