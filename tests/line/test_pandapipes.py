"""Random networks solved by pandapipes as well, a general library for pipe networks: runs by the marker `long`.

pandapipes solves the whole network by Newton's rule, with Colebrook-White friction and a compressibility factor that is
linear in pressure; it is given the project's gas. Needs `pip install pandapipes`, which no extra brings: it is large.
"""

import random

import pytest

from drawbar.checking.check import check_job
from drawbar.physics.air import R
from jobs import job_from

pandapipes = pytest.importorskip("pandapipes")

NETWORKS = 40
TURBULENT = 4000.0
AIR_BAR = 1.01325


def network_text(dice):
    """Return a job of 4 to 20 runs as a tree, with an appliance at every end, all of it level and without devices."""
    count = dice.randint(4, 20)
    starts = ["regulator", *(f"r{dice.randrange(number)}" for number in range(1, count))]
    ends = [f"r{number}" for number in range(count) if f"r{number}" not in starts]
    runs = "\n".join(
        f"  r{number}: {{from: {start}, pipe: {{bore: {dice.choice((16, 20, 26, 33))} mm, "
        f"roughness: {dice.choice((0.0015, 0.046))} mm}}, length: {dice.uniform(1.0, 12.0):.2f} m}}"
        for number, start in enumerate(starts)
    )
    burners = "\n".join(f"  a{n}: {{at: {end}, input: {dice.randint(60, 160)} MJ/h}}" for n, end in enumerate(ends))
    return f"""job: Network
gas: propane
limits: {{drop: 2 kPa}}
tolerances: none
regulator: {{outlet: {dice.choice(("2.75 kPa", "7 kPa", "70 kPa"))}, capacity: 5000 MJ/h}}
runs:
{runs}
appliances:
{burners}
"""


def solved_by_pandapipes(job):
    """Return the pressure at the end of each run [Pa gauge]."""
    vapour, normal_k, normal_pa = job.vapour, 273.15, 101_325.0
    net = pandapipes.create_empty_network()

    def constant(value):
        return pandapipes.properties.fluids.FluidPropertyConstant(value)

    ideal_kg_m3 = normal_pa * vapour.molar_mass_kg_mol / (R * normal_k)
    # Z to the second order of p at the line's own pressure, as a straight line through 1 at no pressure.
    stage_bar = job.regulator.outlet_gauge_pa / 1e5 + AIR_BAR
    z = vapour.compressibility(stage_bar * 1e5)
    slope_bar = (z - 1.0) / stage_bar
    fluid = pandapipes.Fluid(
        "the project's propane",
        "gas",
        density=constant(ideal_kg_m3),
        viscosity=constant(vapour.viscosity_pa_s),
        heat_capacity=constant(1630.0),
        molar_mass=constant(vapour.molar_mass_kg_mol * 1e3),
        compressibility=pandapipes.properties.fluids.FluidPropertyLinear(slope_bar, 1.0),
        der_compressibility=constant(slope_bar),
    )
    pandapipes.create_fluid_from_lib(net, "hgas")
    net["fluid"] = fluid
    points = {"regulator": pandapipes.create_junction(net, pn_bar=AIR_BAR, tfluid_k=vapour.temperature_k)}
    pandapipes.create_ext_grid(
        net, points["regulator"], p_bar=job.regulator.outlet_gauge_pa / 1e5, t_k=vapour.temperature_k
    )
    for run in job.runs:
        points[run.name] = pandapipes.create_junction(net, pn_bar=AIR_BAR, tfluid_k=vapour.temperature_k)
        pandapipes.create_pipe_from_parameters(
            net,
            points[run.start],
            points[run.name],
            length_km=run.length_m / 1e3,
            inner_diameter_mm=run.pipe.bore_m * 1e3,
            k_mm=run.pipe.roughness_m * 1e3,
        )
    for appliance in job.appliances:
        pandapipes.create_sink(net, points[appliance.at], mdot_kg_per_s=appliance.flow_kg_s)
    pandapipes.pipeflow(
        net,
        friction_model="colebrook",
        mode="hydraulics",
        tol_p=1e-10,
        tol_m=1e-10,
        max_iter_hyd=200,
        tolerance_colebrook=1e-9,
        use_numba=False,
    )
    return {name: net.res_junction.p_bar.at[at] * 1e5 for name, at in points.items()}


@pytest.mark.long
@pytest.mark.filterwarnings("default")
def test_random_networks_agree_with_pandapipes(capsys):
    """40 networks whose runs are all turbulent: each point's drop within 0.3 %."""
    dice, worst, points, networks = random.Random(40), 0.0, 0, 0
    while networks < NETWORKS:
        job = job_from(network_text(dice))
        state = check_job(job).states[0]
        if min(flow.reynolds for flow in state.runs) < TURBULENT or any(flow.regime == "choked" for flow in state.runs):
            continue
        networks += 1
        theirs = solved_by_pandapipes(job)
        for flow in state.runs:
            ours_pa = job.regulator.outlet_gauge_pa - (flow.outlet_abs_pa - job.atmospheric_pa)
            their_pa = job.regulator.outlet_gauge_pa - theirs[flow.section.name]
            worst = max(worst, abs(ours_pa / their_pa - 1.0))
            points += 1
    with capsys.disabled():
        print(f"\n{networks} networks, {points} points: worst difference {worst:.3%}")
    assert worst < 0.003
