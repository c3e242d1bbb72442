"""The vents of a living space, against what its appliances and the people who sleep there need."""

from __future__ import annotations

from typing import NamedTuple

from drawbar.job import Job, Space

SOURCE = "AS/NZS 5601.2:2020, section 7"
LEAST_MM2 = 4000.0
MM2_PER_MJ_H = 610.0
MM2_PER_BERTH = 650.0

_W_PER_MJ_H = 1e6 / 3600.0
_RELATIVE_TOLERANCE = 1e-9  # what floats lose between mm2 and m2


class SpaceResult(NamedTuple):
    """The vents of a space beside what it needs.

    Attributes
    ----------
    space : Space
        As the job gives it.
    unsealed_w : float
        Gross heat of the fixed appliances that are not room-sealed [W].
    needed_m2 : float
        Least free area of the vents [m2].
    portable_w : float
        Gross heat of the appliances at plug-in outlets that are not room-sealed, taken to stand outdoors [W].
    needed_with_portable_m2 : float
        Least free area if those are used in the space as well [m2].
    """

    space: Space
    unsealed_w: float
    needed_m2: float
    portable_w: float
    needed_with_portable_m2: float

    @property
    def passes(self) -> bool:
        """Tell whether the vents are large enough."""
        return self.space.vents_m2 >= self.needed_m2 * (1.0 - _RELATIVE_TOLERANCE)


def needed_vents_m2(unsealed_w: float, berths: int) -> float:
    """Return the least free area of the vents of a living space.

    A = max(4000, 610 U + 650 P) mm2, with U in MJ/h, for a caravan or boat with LPG appliances; also where all of
    them are room-sealed, which leaves U at 0.

    Parameters
    ----------
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
    AS/NZS 5601.2:2020, section 7.

    Examples
    --------
    >>> round(needed_vents_m2(5000.0, 2), 5)  # 18 MJ/h and two berths: 610 x 18 + 650 x 2 mm2
    0.01228
    """
    return 1e-6 * max(LEAST_MM2, MM2_PER_MJ_H * unsealed_w / _W_PER_MJ_H + MM2_PER_BERTH * berths)


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
        What the vents have and need [m2].
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
    return SpaceResult(
        space,
        fixed_w,
        needed_vents_m2(fixed_w, space.berths),
        portable_w,
        needed_vents_m2(fixed_w + portable_w, space.berths),
    )
