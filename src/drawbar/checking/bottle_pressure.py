"""Whether the bottles give the first regulator the pressure that it needs before they have cooled at all.

Below its lowest inlet pressure a regulator does not hold its set pressure, and nothing said of the line holds. How the
pressure falls as a bottle cools is for `drawbar.gas_supply`. The code and details of the reason stand in
`drawbar.checking.judge`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.job import ROOT, Job
from drawbar.line.feeding import least_at_flow_gauge_pa, pigtail_drop_pa
from drawbar.line.surroundings import drawn_around, worst_around
from drawbar.line.worst_way import SolvedState
from drawbar.physics.cylinder import liquid_in
from drawbar.physics.liquid import bubble_pa
from drawbar.verdict import Reason, Verdict


def about_bottle_pressure(job: Job, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    """Yield where a bottle as warm as the air gives the first regulator less than it needs at the largest load."""
    bottles = job.cylinders
    if bottles is None:
        return
    hardest = max(drawn, key=lambda solved: solved.most_kg_s)
    each_kg_s = hardest.most_kg_s / bottles.drawing
    for verdict, around in (
        (Verdict.FAIL if hardest.worst is not None else Verdict.UNDECIDED, drawn_around(job, bottles)),
        (Verdict.UNDECIDED, worst_around(job, bottles)),
    ):
        air_k, around_pa = around.ambient_k, around.atmospheric_pa
        liquid = liquid_in(around.gas, bottles.size_kg, bottles.fill, air_k)
        gauge_pa = bubble_pa(liquid, air_k) - around_pa
        flow_kg_s = around.more * each_kg_s
        if gauge_pa < least_at_flow_gauge_pa(bottles, flow_kg_s, around_pa):
            yield Reason(
                "bottle-pressure",
                verdict,
                ROOT,
                {
                    "state": hardest.state_on_line.plan.state.name,
                    "gauge_pa": gauge_pa,
                    "temperature_k": air_k,
                    "pigtail_pa": pigtail_drop_pa(bottles, flow_kg_s, bottles.least_gauge_pa + around_pa),
                    "min_gauge_pa": bottles.least_gauge_pa,
                },
            )
            return
