"""The words on the vents of a job's spaces: reasons, and what stands there beside what is needed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from drawbar.catalogue.catalogue import shipped_catalogue
from drawbar.checking.results import CheckResult
from drawbar.checking.vents import VENT_CODES, SpaceResult, floor_row, locker_needs_m2
from drawbar.report.display import MJ_H, Shown
from drawbar.rules import VentFormula
from drawbar.verdict import Reason, Verdict, verdict_of

_VENTS_OF = "as-nzs-5601.2"  # the rule that tells what vents would be needed where the job's own has no formula


def vents_verdict(result: CheckResult, vents: SpaceResult) -> Verdict | None:
    """Return the verdict on a space, None where the job's rule does not judge it."""
    if not vents.is_judged:
        return None
    return verdict_of(r for r in result.because if r.code in VENT_CODES and r.place == vents.space.name)


def vent_formula(vents: SpaceResult) -> VentFormula:
    """Return the formula by which the need of a space is told: that of its job's rule, else AS/NZS 5601.2's."""
    formula = vents.formula
    if formula is None:
        rule = shipped_catalogue().rule(_VENTS_OF)
        formula = rule.vents if rule is not None else None
        assert formula is not None  # it stands in the project's own data
    return formula


def vent_source(vents: SpaceResult) -> str:
    """Return where stands what a space needs."""
    if vents.space.holds_bottles:
        return vents.locker.source if vents.locker is not None else ""
    if vents.formula is None and vents.floor_vents is not None:
        return vents.floor_vents.source
    return vent_formula(vents).source


# what is to be said of each space


def space_words(result: CheckResult, shown: Shown) -> str:
    """Return what is to be said of the vents of a job's spaces, empty where it has none."""
    return "\n".join(line for vents in result.spaces for line in _lines(result, vents, shown))


def _lines(result: CheckResult, vents: SpaceResult, shown: Shown) -> Iterator[str]:
    if vents.space.holds_bottles:
        yield _locker_line(result, vents, shown)
        return
    verdict, space = vents_verdict(result, vents), vents.space
    head = f"Vents of {space.name}:" if space.name else "Vents of the living space:"
    there = shown.area_unit(space.vents_m2)
    if space.high_m2 is not None and space.low_m2 is not None:
        there += f" ({shown.area_unit(space.high_m2)} high, {shown.area_unit(space.low_m2)} low)"
    if vents.formula is None and vents.floor_vents is not None:
        row = floor_row(vents.floor_vents, space.floor_m2, is_open=vents.unsealed_w > 0.0)
        needed = "" if row is None else f", {shown.area_unit(row[0])} high and {shown.area_unit(row[1])} low needed"
        word = verdict.word if verdict is not None else ""
        yield f"{head} {word}, {there} there{needed} ({vents.floor_vents.source})."
        return
    formula = vent_formula(vents)
    needed, berths = shown.area_unit(vents.needed_m2(formula)), space.berths
    fixed = "of appliances there" if space.name else "of fixed appliances"
    burns = (
        f"for {shown.heat_unit(vents.unsealed_w)} {fixed} that are not room-sealed and {berths} "
        f"berth{'' if berths == 1 else 's'}."
    )
    if verdict is None:
        yield (
            f"{head} not checked, as no rule of the job has a formula for them. {there} there; "
            f"{formula.source}, would ask for {needed} {burns}"
        )
    else:
        yield f"{head} {verdict.word}, {there} there, {needed} needed ({formula.source}) {burns}"
    if vents.portable_w > 0.0:
        most = shown.area_unit(vents.needed_with_portable_m2(formula))
        yield f"Where {shown.heat_unit(vents.portable_w)} more is used is not given. Used inside it would need {most}."


def _locker_line(result: CheckResult, vents: SpaceResult, shown: Shown) -> str:
    space, verdict = vents.space, vents_verdict(result, vents)
    there = "not given" if space.drain_m2 is None else shown.area_unit(space.drain_m2)
    head = "Bottle locker:" if space.name in ("", "locker") else f"Bottle locker {space.name}:"
    if verdict is None or vents.locker is None:
        return f"{head} not checked, as no rule of the job has a formula for it. At its lowest point {there}."
    low_m2, high_m2, _ = locker_needs_m2(vents.locker, space.floor_m2, vents.bottles_kg)
    high = f", and {shown.area_unit(high_m2)} high" if high_m2 > 0.0 else ""
    needed = f"{shown.area_unit(low_m2)} needed{high}"
    return f"{head} {verdict.word}, at its lowest point {there}, {needed} ({vents.locker.source})."


def spaces_data(result: CheckResult) -> list[dict[str, Any]]:
    """Return the spaces of a job as they stand in JSON."""
    return [_space_data(result, vents) for vents in result.spaces]


def _space_data(result: CheckResult, vents: SpaceResult) -> dict[str, Any]:
    space, verdict = vents.space, vents_verdict(result, vents)
    high_m2 = low_m2 = total_m2 = None
    if space.holds_bottles:
        if vents.locker is not None:
            low_m2, high_m2, _ = locker_needs_m2(vents.locker, space.floor_m2, vents.bottles_kg)
    elif vents.formula is None and vents.floor_vents is not None:
        row = floor_row(vents.floor_vents, space.floor_m2, is_open=vents.unsealed_w > 0.0)
        high_m2, low_m2 = row if row is not None else (None, None)
    else:
        total_m2 = vents.needed_m2(vent_formula(vents))

    def mm2(area_m2: float | None) -> float | None:
        return None if area_m2 is None else area_m2 * 1e6

    return {
        "name": space.name or None,
        "bottles": space.holds_bottles,
        "vents_mm2": space.vents_m2 * 1e6,
        "high_mm2": mm2(space.high_m2),
        "low_mm2": mm2(space.low_m2),
        "drain_mm2": mm2(space.drain_m2),
        "floor_m2": space.floor_m2,
        "berths": space.berths,
        "unsealed_MJ_h": vents.unsealed_w * MJ_H,
        "not_said_MJ_h": vents.portable_w * MJ_H,
        "needed_mm2": mm2(total_m2),
        "needed_high_mm2": mm2(high_m2),
        "needed_low_mm2": mm2(low_m2),
        "needed_source": vent_source(vents) or None,
        "verdict": verdict.value if verdict is not None else None,
    }


# reasons


def _areas(reason: Reason, shown: Shown) -> tuple[str, str, str]:
    """Return the space, its vents, and what is needed."""
    has = shown.area_unit(float(reason.details.get("vents_m2", 0.0)))
    return reason.place or "the space", has, shown.area_unit(float(reason.details.get("needed_m2", 0.0)))


def _vents(reason: Reason, shown: Shown) -> tuple[str, str]:
    who, has, needed = _areas(reason, shown)
    if reason.verdict is Verdict.FAIL:
        return f"the vents of {who} are {has}; {needed} is needed", f"make them {needed}"
    text = f"the vents of {who} are {has}; as a data plate may be some per cent low, up to {needed} may be needed"
    return text, f"make them {needed}"


def _inside(reason: Reason, shown: Shown) -> tuple[str, str]:
    who, has, needed = _areas(reason, shown)
    text = f"the vents of {who} are {has}; with all that may be used in it {needed} would be needed"
    return text, "write `used: outside` for what is used outdoors, or where it is used"


def _levels(reason: Reason, shown: Shown) -> tuple[str, str]:
    who, _, needed = _areas(reason, shown)
    text = f"how much of the vents of {who} is high and how much low is not given; it may need {needed} at a level"
    return text, "write `vents: {high: ..., low: ...}`"


def _split(reason: Reason, shown: Shown) -> tuple[str, str]:
    who, has, needed = _areas(reason, shown)
    level = reason.details["level"]
    if reason.verdict is Verdict.FAIL:
        return f"the vents of {who} at {level} level are {has}; {needed} is needed", f"make them {needed}"
    text = f"the vents of {who} at {level} level are {has}; {needed} there may be needed"
    return text, f"make them {needed}, or confirm the split by the code in force"


def _floor(reason: Reason, shown: Shown) -> tuple[str, str]:  # noqa: ARG001 - each has the same form
    who, floor_m2 = reason.place or "the space", float(reason.details["floor_m2"])
    if floor_m2 <= 0.0:
        return f"the vents of {who} go by its floor, which is not given", "write `floor:` for it, as `6 m2`"
    text = f"the floor of {who} is over the largest of the rule's table"
    return text, "take the vents from the code in force"


def _locker(reason: Reason, shown: Shown) -> tuple[str, str]:
    who = "the locker" if reason.place in ("", "locker") else reason.place
    point, unknown = reason.details["point"], reason.details["unknown"]
    needed, there = (shown.area_unit(float(reason.details[key])) for key in ("needed_m2", "there_m2"))
    where, key = ("at its lowest point", "drain:") if point == "lowest" else ("high up", "vents: {high: ..., low: ...}")
    if unknown == "area":
        return f"the openings of {who} {where} are not given; at least {needed} is needed", f"write `{key}` for it"
    if reason.verdict is Verdict.FAIL:
        return f"the openings of {who} {where} are {there}; {needed} is needed", f"make them {needed}"
    goes_by = "its floor" if unknown == "floor" else "the gas in its bottles"
    fit = "write `floor:` for it" if unknown == "floor" else "write `cylinders:`"
    return f"what {who} needs {where} goes by {goes_by}, which is not given", fit


VENT_WORDS: dict[str, Callable[[Reason, Shown], tuple[str, str]]] = {
    "vents": _vents,
    "vents-inside": _inside,
    "vents-levels": _levels,
    "vents-split": _split,
    "vents-floor": _floor,
    "locker": _locker,
}
"""By the code of a reason about vents: what it says, and what to find out or to change."""
