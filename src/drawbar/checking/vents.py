"""The vents of the spaces of a job by its rule: what burns and who sleeps there, high and low, and the bottles' locker.

The codes and details of the reasons stand in `drawbar.checking.judge`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from drawbar.job import Appliance, Job, Space
from drawbar.rules import FloorVents, LockerFormula, VentFormula
from drawbar.verdict import Reason, Verdict

VENT_CODES = ("vents", "vents-inside", "vents-levels", "vents-split", "vents-floor", "locker")
"""The codes of the reasons that are about vents."""
_RELATIVE_TOLERANCE = 1e-9  # what floats lose between mm2 and m2
_EVEN = 0.5  # of the needed area at each level where a rule asks for vents at both: common practice
_OUTSIDE, _INSIDE = "outside", "inside"
_FAIL, _OPEN = Verdict.FAIL, Verdict.UNDECIDED


class SpaceResult(NamedTuple):
    """The vents of a space, and what there is in it that needs them.

    Attributes
    ----------
    space : Space
        As the job gives it.
    formula : VentFormula or None
        That of the job's rule by heat and berths, None where it has none.
    unsealed_w : float
        Gross heat of the appliances that are not room-sealed and surely stand in it [W].
    portable_w : float
        Gross heat of those that are not room-sealed and may be used in it, as the job does not say where they are [W].
    floor_vents : FloorVents or None
        Those of the job's rule by the floor, None where it has none.
    locker : LockerFormula or None
        That of the job's rule for a locker, None where it has none.
    bottles_kg : float
        Gas that the bottles of the job hold when full [kg].
    """

    space: Space
    formula: VentFormula | None
    unsealed_w: float
    portable_w: float
    floor_vents: FloorVents | None = None
    locker: LockerFormula | None = None
    bottles_kg: float = 0.0

    @property
    def is_judged(self) -> bool:
        """Tell whether the job's rule has something to judge the space by."""
        if self.space.holds_bottles:
            return self.locker is not None
        return self.formula is not None or self.floor_vents is not None

    @property
    def passes(self) -> bool | None:
        """Tell whether the vents are large enough for the inputs as given; None where no formula judges them."""
        return self.passes_at(0.0)

    def passes_at(self, share: float) -> bool | None:
        """Tell whether the vents are enough for inputs larger by a share [-]; None where no formula judges them."""
        if self.formula is None:
            return None
        return _is_enough(self.space.vents_m2, self.needed_m2(self.formula, share))

    def needed_m2(self, formula: VentFormula, share: float = 0.0) -> float:
        """Return the least free area [m2] by a formula, the job's own or another, for inputs larger by a share [-]."""
        return needed_vents_m2(formula, (1.0 + share) * self.unsealed_w, self.space.berths)

    def needed_with_portable_m2(self, formula: VentFormula, share: float = 0.0) -> float:
        """Return the least free area [m2] by a formula if all that may be used in it is, for larger inputs [-]."""
        return needed_vents_m2(formula, (1.0 + share) * (self.unsealed_w + self.portable_w), self.space.berths)


def needed_vents_m2(formula: VentFormula, unsealed_w: float, berths: int) -> float:
    """Return the least free area of the vents of a living space.

    A = max(A0, a U + b P); also where all appliances are room-sealed, which leaves U at 0.

    Parameters
    ----------
    formula : VentFormula
        A0 [m2], a [m2/W] and b [m2] of a rule set.
    unsealed_w : float
        U, gross input of the appliances in the space that are not room-sealed [W].
    berths : int
        P, how many sleep there [-].

    Returns
    -------
    float
        A, the least free area [m2].

    References
    ----------
    The formula's own source; AS/NZS 5601.2:2020, section 7, has max(4000, 610 U + 650 P) mm2 with U in MJ/h.

    Examples
    --------
    >>> as_nzs = VentFormula(4000e-6, 610e-6 * 0.0036, 650e-6, "AS/NZS 5601.2:2020, section 7")
    >>> round(needed_vents_m2(as_nzs, 5000.0, 2), 5)  # 18 MJ/h and two berths: 610 x 18 + 650 x 2 mm2
    0.01228
    """
    return max(formula.least_m2, formula.m2_per_w * unsealed_w + formula.berth_m2 * berths)


def check_spaces(job: Job) -> tuple[SpaceResult, ...]:
    """Return the vents of each space of a job beside what needs them, in the order of the job.

    A fixed appliance stands in the only living space there is unless it is said to be elsewhere; of several spaces, and
    for one that is plugged in, the job must say where it is used. Room-sealed appliances need no vents.

    Parameters
    ----------
    job : Job
        With spaces or without.

    Returns
    -------
    tuple of SpaceResult
        What the vents have, what needs them, and what the job's rule judges them by.
    """
    rule, bottles = job.rule, job.cylinders
    is_only = sum(not space.holds_bottles for space in job.spaces) == 1
    results = []
    for space in job.spaces:
        surely_w = maybe_w = 0.0
        for appliance in job.appliances:
            is_in = None if appliance.room_sealed or space.holds_bottles else _is_in(appliance, space, is_only=is_only)
            surely_w += appliance.input_w if is_in is True else 0.0
            maybe_w += appliance.input_w if is_in is False else 0.0
        results.append(
            SpaceResult(
                space,
                rule.vents if rule is not None else None,
                surely_w,
                maybe_w,
                rule.floor_vents if rule is not None else None,
                rule.locker if rule is not None else None,
                bottles.size_kg * bottles.count if bottles is not None else 0.0,
            )
        )
    return tuple(results)


def _is_in(appliance: Appliance, space: Space, *, is_only: bool) -> bool | None:
    """Tell whether an appliance is used in a space: True surely, False maybe, None not."""
    if appliance.used is None:
        return is_only and appliance.at is not None
    if appliance.used == _OUTSIDE:
        return None
    return True if appliance.used in (space.name, _INSIDE) else None


def _is_enough(there_m2: float, needed_m2: float) -> bool:
    return there_m2 >= needed_m2 * (1.0 - _RELATIVE_TOLERANCE)


def about_vents(job: Job) -> Iterator[Reason]:
    """Yield where the vents of a space are not surely what the job's rule asks."""
    more = job.tolerances.input if job.tolerances is not None else 0.0
    for vents in check_spaces(job):
        if vents.space.holds_bottles:
            yield from _about_locker(vents)
        else:
            yield from _about_area(vents, more)
            yield from _about_levels(vents, more)
            yield from _about_floor(vents)


def _about_area(vents: SpaceResult, more: float) -> Iterator[Reason]:
    if vents.formula is None:
        return
    there_m2, name = vents.space.vents_m2, vents.space.name
    for verdict, share in ((_FAIL, 0.0), (_OPEN, more)):
        if not vents.passes_at(share):
            needed_m2 = vents.needed_m2(vents.formula, share)
            yield Reason("vents", verdict, name, {"vents_m2": there_m2, "needed_m2": needed_m2})
            return
    needed_m2 = vents.needed_with_portable_m2(vents.formula, more)
    if not _is_enough(there_m2, needed_m2):
        yield Reason("vents-inside", _OPEN, name, {"vents_m2": there_m2, "needed_m2": needed_m2})


def _about_levels(vents: SpaceResult, more: float) -> Iterator[Reason]:
    """Yield where a rule asks for vents high and low, and there are none at one, too few, or it is not said."""
    formula, space = vents.formula, vents.space
    if formula is None or formula.levels_source is None or not vents.passes:
        return
    needed_m2 = _EVEN * vents.needed_m2(formula, more)
    if space.high_m2 is None or space.low_m2 is None:
        yield Reason("vents-levels", _OPEN, space.name, {"needed_m2": needed_m2})
        return
    for level, there_m2 in (("high", space.high_m2), ("low", space.low_m2)):
        if not _is_enough(there_m2, needed_m2):
            details: dict[str, float | str] = {"level": level, "vents_m2": there_m2, "needed_m2": needed_m2}
            yield Reason("vents-split", _FAIL if there_m2 <= 0.0 else _OPEN, space.name, details)


def _about_floor(vents: SpaceResult) -> Iterator[Reason]:
    """Yield where a rule asks for vents by the floor, and they are too few, or it is not said."""
    by_floor, space = vents.floor_vents, vents.space
    if by_floor is None:
        return
    is_open = vents.unsealed_w > 0.0
    needed = floor_row(by_floor, space.floor_m2, is_open=is_open)
    if needed is None or space.floor_m2 is None:
        details: dict[str, float | str] = {"floor_m2": space.floor_m2 or 0.0, "most_m2": by_floor.rows[-1][0]}
        yield Reason("vents-floor", _OPEN, space.name, details)
        return
    if space.high_m2 is None or space.low_m2 is None:
        if _is_enough(space.vents_m2, sum(needed)):
            yield Reason("vents-levels", _OPEN, space.name, {"needed_m2": max(needed)})
        else:
            yield Reason("vents", _FAIL, space.name, {"vents_m2": space.vents_m2, "needed_m2": sum(needed)})
        return
    with_portable = floor_row(by_floor, space.floor_m2, is_open=is_open or vents.portable_w > 0.0) or needed
    for level, there_m2, need_m2, most_m2 in zip(
        ("high", "low"), (space.high_m2, space.low_m2), needed, with_portable, strict=True
    ):
        if not _is_enough(there_m2, most_m2):
            verdict = _OPEN if _is_enough(there_m2, need_m2) else _FAIL
            shown_m2 = need_m2 if verdict is _FAIL else most_m2
            yield Reason(
                "vents-split", verdict, space.name, {"level": level, "vents_m2": there_m2, "needed_m2": shown_m2}
            )


def floor_row(by_floor: FloorVents, floor_m2: float | None, *, is_open: bool) -> tuple[float, float] | None:
    """Return the free area that a floor asks for at high and at low level [m2].

    Parameters
    ----------
    by_floor : FloorVents
        The table of a rule set.
    floor_m2 : float or None
        The floor [m2], None where it is not known.
    is_open : bool
        Whether an appliance stands there that is not room-sealed.

    Returns
    -------
    tuple of float, or None
        None where the floor is not known, or larger than the table has.
    """
    if floor_m2 is None:
        return None
    rows = by_floor.rows if is_open else by_floor.sealed_rows
    return next(((high_m2, low_m2) for most_m2, high_m2, low_m2 in rows if floor_m2 <= most_m2), None)


def _about_locker(vents: SpaceResult) -> Iterator[Reason]:
    """Yield where the openings of a bottle locker are smaller than the job's rule asks, or not given."""
    if vents.locker is None:
        return
    locker, space = vents.locker, vents.space
    low_m2, high_m2, is_known = locker_needs_m2(vents.locker, space.floor_m2, vents.bottles_kg)
    for point, there_m2, needed_m2 in (("lowest", space.drain_m2, low_m2), ("high", space.high_m2, high_m2)):
        if point == "high" and locker.high_m2_per_kg <= 0.0:
            continue
        details: dict[str, float | str] = {"point": point, "needed_m2": needed_m2, "there_m2": there_m2 or 0.0}
        if there_m2 is None or not is_known:
            what = "area" if there_m2 is None else "floor" if locker.per_floor > 0.0 else "bottles"
            is_short = there_m2 is not None and not _is_enough(there_m2, needed_m2)
            yield Reason("locker", _FAIL if is_short else _OPEN, space.name, {**details, "unknown": what})
        elif not _is_enough(there_m2, needed_m2):
            yield Reason("locker", _FAIL, space.name, {**details, "unknown": ""})


def locker_needs_m2(locker: LockerFormula, floor_m2: float | None, bottles_kg: float) -> tuple[float, float, bool]:
    """Return the free area that a locker needs at its lowest point and at high level [m2], and whether that is all.

    Parameters
    ----------
    locker : LockerFormula
        That of a rule set.
    floor_m2 : float or None
        Its floor [m2], None where it is not known.
    bottles_kg : float
        Gas that the bottles hold when full [kg], 0 where they are not known.

    Returns
    -------
    tuple of (float, float, bool)
        False where it may be more, as what it goes by is not known.
    """
    low_m2 = max(locker.least_m2, locker.per_floor * (floor_m2 or 0.0), locker.low_m2_per_kg * bottles_kg)
    is_known = (locker.per_floor <= 0.0 or floor_m2 is not None) and (
        locker.low_m2_per_kg + locker.high_m2_per_kg <= 0.0 or bottles_kg > 0.0
    )
    return low_m2, locker.high_m2_per_kg * bottles_kg, is_known
