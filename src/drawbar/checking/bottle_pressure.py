"""Whether the bottles give the first regulator the pressure that it needs before they have cooled at all.

Below its lowest inlet pressure a regulator does not hold its set pressure, and nothing said of the line holds. How the
pressure falls as a bottle cools is for `drawbar.gas_supply`. The code and details of the reason stand in
`drawbar.checking.judge`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drawbar.job import ROOT, Job
from drawbar.line.feeding import least_at_flow_gauge_pa, pigtail_drop_pa
from drawbar.line.worst_way import SolvedState
from drawbar.physics import air
from drawbar.physics.cylinder import liquid_in
from drawbar.physics.gas import Gas
from drawbar.physics.liquid import bubble_pa
from drawbar.verdict import Reason, Verdict


def about_bottle_pressure(job: Job, drawn: Sequence[SolvedState]) -> Iterator[Reason]:
    """Yield where a bottle as warm as the air gives the first regulator less than it needs at the largest load."""
    bottles = job.cylinders
    if bottles is None:
        return
    hardest = max(drawn, key=lambda solved: solved.most_kg_s)
    each_kg_s = hardest.most_kg_s / bottles.drawing
    site, gas, atmospheric_pa, more = job.site_range, job.filled_with, job.atmospheric_pa, 1.0
    ambient_k = bottles.ambient_k
    if site is not None and ambient_k == site.temperature_k[0]:
        ambient_k = job.temperature_k  # read with the coldest of the site; as drawn it is the middle, as for the line
    worst_gas, worst_pa = gas, atmospheric_pa
    if job.tolerances is not None:
        more = 1.0 + job.tolerances.input
        if site is not None:
            worst_gas = max(site.fills, key=_boils_at_k)
            worst_pa = air.standard_atmosphere_pa(site.altitude_m[0])
    ends = (
        (Verdict.FAIL if hardest.worst is not None else Verdict.UNDECIDED, gas, ambient_k, atmospheric_pa, 1.0),
        (Verdict.UNDECIDED, worst_gas, bottles.ambient_k, worst_pa, more),
    )
    for verdict, filled_with, air_k, around_pa, times in ends:
        liquid = liquid_in(filled_with, bottles.size_kg, bottles.fill, air_k)
        gauge_pa = bubble_pa(liquid, air_k) - around_pa
        flow_kg_s = times * each_kg_s
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


def _boils_at_k(gas: Gas) -> float:
    return sum(share * component.boiling_k for component, share in gas.fractions)
