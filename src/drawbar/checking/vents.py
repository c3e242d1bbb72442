"""The vents of a living space, against what its appliances and the people who sleep there need by the job's rule."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.job import Job, Space
from drawbar.rules import VentFormula

_RELATIVE_TOLERANCE = 1e-9  # what floats lose between mm2 and m2


class SpaceResult(NamedTuple):
    """The vents of a space, and what there is in it that needs them.

    Attributes
    ----------
    space : Space
        As the job gives it.
    formula : VentFormula or None
        That of the job's rule; None where there is none, and the vents are not judged.
    unsealed_w : float
        Gross heat of the fixed appliances that are not room-sealed [W].
    portable_w : float
        Gross heat of the appliances at plug-in outlets that are not room-sealed, taken to stand outdoors [W].
    """

    space: Space
    formula: VentFormula | None
    unsealed_w: float
    portable_w: float

    @property
    def passes(self) -> bool | None:
        """Tell whether the vents are large enough for the inputs as given; None where no formula judges them."""
        return self.passes_at(0.0)

    def passes_at(self, share: float) -> bool | None:
        """Tell whether the vents are enough for inputs larger by a share [-]; None where no formula judges them."""
        if self.formula is None:
            return None
        return self.space.vents_m2 >= self.needed_m2(self.formula, share) * (1.0 - _RELATIVE_TOLERANCE)

    def needed_m2(self, formula: VentFormula, share: float = 0.0) -> float:
        """Return the least free area [m2] by a formula, the job's own or another, for inputs larger by a share [-]."""
        return needed_vents_m2(formula, (1.0 + share) * self.unsealed_w, self.space.berths)

    def needed_with_portable_m2(self, formula: VentFormula) -> float:
        """Return the least free area [m2] by a formula if what is plugged in is used in the space as well."""
        return needed_vents_m2(formula, self.unsealed_w + self.portable_w, self.space.berths)


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


def check_space(job: Job) -> SpaceResult | None:
    """Return the vents of a job's space beside what it needs, None where the job gives no space.

    The fixed appliances count, unless they are room-sealed. Those at plug-in outlets are taken to be used outdoors.

    Parameters
    ----------
    job : Job
        With a space or without.

    Returns
    -------
    SpaceResult or None
        What the vents have, what needs them, and the formula of the job's rule if it has one.
    """
    space = job.space
    if space is None:
        return None
    fixed_w = portable_w = 0.0
    for appliance in job.appliances:
        if appliance.room_sealed:
            continue
        if appliance.at is not None:
            fixed_w += appliance.input_w
        else:
            portable_w += appliance.input_w
    return SpaceResult(space, job.rule.vents if job.rule is not None else None, fixed_w, portable_w)
