"""How a job's supply is shown: on one screen, or the whole of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from drawbar.cautions import IN_SHORT, NEVER_HEAT_SHORT
from drawbar.gas_supply.supplied import StateSupply, SupplyResult
from drawbar.report.display import MJ_H, Shown
from drawbar.report.layout import Block, Heading, Points
from drawbar.report.reasons import reason_words
from drawbar.report.report import Report
from drawbar.report.supply_data import supply_data
from drawbar.report.supply_whole import bottles_words, in_turn_block, supplied_states, supply_in_full
from drawbar.report.supply_words import help_words
from drawbar.report.verdict_words import reason_points, reason_sentence
from drawbar.report.words import job_name
from drawbar.verdict import Reason, Verdict

_COLD_K = 255.0  # a gas that boils above this gives nothing on a cold day
_MOST_HELPS = 2  # on the page of one screen


class SupplyReport(Report[SupplyResult]):
    """What bottles and regulators give beside what a job burns, and for how long."""

    kind = "supply"
    columns = (
        *("file", "job", "ref", "state", "load_MJ_h", "flow_kg_h", "steady_offtake_MJ_h", "bottles_needed"),
        *("drawing_hours", "all_hours", "liquid_degC", "ended", "minutes", "left_kg", "keeps_up_to_fill_percent"),
        *("duty_ended", "duty_minutes", "duty_left_kg", "for_min", "every_min", "regulator_capacity_MJ_h"),
        *("verdict", "because", "job_verdict"),
    )

    def __init__(self, *, in_full: bool = False) -> None:
        self.in_full = in_full

    def page(self, result: SupplyResult) -> list[Block]:
        """Return the page of a job's supply: one screen, or the whole of it."""
        job, shown = result.job, Shown(result.job.display)
        name = job_name(job)
        heading = Heading(f"{name}: supply: {result.verdict.word}")
        bottles = f"{bottles_words(result.cylinders, shown)}."
        if self.in_full:
            reasons = reason_points(result.because, shown, in_full=True)
            return [heading, *reasons, *_helps(result, shown), bottles, *supply_in_full(result, shown)]
        return [
            heading,
            f"{_deciding(result, shown)}\n{bottles}",
            supplied_states(result, shown),
            *in_turn_block(result, shown),
            *_helps(result, shown, most=_MOST_HELPS),
            f"{NEVER_HEAT_SHORT} {IN_SHORT}",
        ]

    def data(self, result: SupplyResult) -> dict[str, Any]:
        """Return bottles, continuous offtake and states as they stand in JSON."""
        return supply_data(result)

    def rows(self, result: SupplyResult) -> Iterator[list[Any]]:
        """Yield a row for each state."""
        job, shown = result.job, Shown(result.job.display)
        for state in result.states:
            duty = state.duty_course
            capacity_w = job.regulator.capacity_w
            yield [
                job.file,
                job.title,
                job.ref,
                state.name,
                state.load_w * MJ_H,
                state.flow_kg_s * 3600.0,
                state.steady_w * MJ_H,
                state.bottles_needed,
                state.drawing_s / 3600.0,
                state.all_s / 3600.0,
                state.liquid_k - 273.15,
                state.course.ended,
                state.course.time_s / 60.0,
                state.course.left_kg,
                None if state.lowest_fill is None else state.lowest_fill * 100.0,
                duty.ended if duty else None,
                duty.time_s / 60.0 if duty else None,
                duty.left_kg if duty else None,
                state.use.on_s / 60.0 if state.use else None,
                state.use.every_s / 60.0 if state.use and state.use.every_s else None,
                None if capacity_w is None else capacity_w * MJ_H,
                state.verdict.value,
                "; ".join(reason_words(reason, shown)[0] for reason in state.because),
                result.verdict.value,
            ]


def _hardest_first(result: SupplyResult) -> list[StateSupply]:
    """Return the states, what fails before what is open, then by load."""
    return sorted(result.states, key=lambda state: (state.verdict is not Verdict.FAIL, -state.load_w))


def _deciding(result: SupplyResult, shown: Shown) -> str:
    """Return why the verdict is what it is, with the figure that decides it."""
    if result.because:
        first, rest = _first_reason(result), len(result.because) - 1
        more = f" And {rest} more: see --full." if rest else ""
        return reason_sentence(first, shown) + more
    least = min(result.states, key=lambda state: state.steady_w - state.load_w)
    load, steady = shown.heat_unit(least.load_w), shown.heat_unit(least.steady_w)
    if least.keeps_up:
        return f"The largest load, {least.name} with {load}, is within the continuous offtake of {steady}."
    return f"{least.name} is {load}, over the continuous offtake of {steady}; it passes as it is used."


def _first_reason(result: SupplyResult) -> Reason:
    """Return the reason of the hardest state; of two, what fails goes before what is open."""
    by_state = [state.because for state in _hardest_first(result)] + [each.because for each in result.in_turn]
    reasons = [
        reason for each in by_state for reason in sorted(each, key=lambda reason: reason.verdict is not Verdict.FAIL)
    ]
    return min(reasons, key=lambda reason: reason.verdict is not Verdict.FAIL)


def _helps(result: SupplyResult, shown: Shown, most: int | None = None) -> Iterator[Points]:
    """Yield what makes the bottles hold each state that they do not surely hold, the hardest state first."""
    bottles = result.cylinders
    each = [
        [help_words(help_, bottles.most_at_once, state.use, shown) for help_ in state.helps]
        for state in _hardest_first(result)
        if state.helps
    ]
    helps = [words for state in each for words in state]
    if most is not None and len(each) > 1:  # the best for the hardest state, and that for the next
        helps = [words[0] for words in each]
    if _is_too_cold(result):
        helps.insert(0, "Propane: butane does not boil in the cold.")
    if helps:
        yield Points("To put it right:", helps[:most])


def _is_too_cold(result: SupplyResult) -> bool:
    return result.steady.gross_w <= 0.0 and any(component.boiling_k > _COLD_K for component, _ in result.liquid)
