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

    unsealed_w : gross heat of the fixed appliances that are not room-sealed [W]
    needed_m2 : least free area of the vents [m2]
    portable_w : gross heat of the appliances at plug-in outlets that are not room-sealed [W], taken to stand outdoors
    needed_with_portable_m2 : least free area if those are used in the space as well [m2]
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
    """Least free area of the vents of a living space [m2].

    A = max(4000, 610 U + 650 P) mm2, with U in MJ/h

    unsealed_w : U, gross input of the appliances in the space that are not room-sealed [W]
    berths : P, how many sleep there [-]

    Range: a caravan or boat with LPG appliances; also where all of them are room-sealed, which leaves U at 0.
    Source: AS/NZS 5601.2:2020, section 7.
    """
    return 1e-6 * max(LEAST_MM2, MM2_PER_MJ_H * unsealed_w / _W_PER_MJ_H + MM2_PER_BERTH * berths)


def check_space(job: Job) -> SpaceResult | None:
    """Return the vents of a job's space beside what it needs, None where the job gives no space.

    The fixed appliances count, unless they are room-sealed. Those at plug-in outlets are taken to be used outdoors.
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
