"""The worst corner of a job: every quantity at its bad end, and each can only lower the pressure on its way there."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI

from drawbar.checking.check import check_job
from drawbar.checking.corner import highest_static_gauge_pa, worst_corner
from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.line.state import states_on_line
from drawbar.physics.air import standard_atmosphere_pa
from drawbar.physics.friction import reynolds
from jobs import job_from

TEXT = """
job: One run and a hose
gas: propane
limits: {drop: 5 kPa}
regulator: {outlet: 10 kPa, capacity: 900 MJ/h}
runs:
  main: {from: regulator, pipe: {bore: BORE mm}, length: 4 m, rise: 1 m, fittings: {elbow-90: 3},
         devices: [{name: valve, flow: 60 MJ/h, drop: 30 Pa}]}
outlets: {tail: {at: main, fittings: {elbow-90: 1}, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}}
hoses: {hose: {pipe: hose/8, length: 1.5 m, rise: -0.5 m, devices: [{name: coupler, flow: 60 MJ/h, drop: 40 Pa}]}}
appliances: {stove: {plugs-into: tail, hose: hose, input: LOAD MJ/h}}
"""


def with_run(job: Job, **changes: object) -> Job:
    return job._replace(runs=(job.runs[0]._replace(**changes),))


def with_bore(job: Job, factor: float) -> Job:
    pipe = job.runs[0].pipe
    return with_run(job, pipes=(pipe._replace(bore_m=pipe.bore_m * factor),))


def with_hose(job: Job, **changes: object) -> Job:
    return job._replace(hoses=(replace(job.hoses[0], **changes),))


def with_input(job: Job, factor: float) -> Job:
    stove = job.appliances[0]
    return job._replace(appliances=(stove._replace(flow_kg_s=stove.flow_kg_s * factor),))


# Each takes a factor that goes from 1 to the bad side.
TO_THE_BAD_END: dict[str, Callable[[Job, float], Job]] = {
    "bore of a run": lambda job, x: with_bore(job, 1.0 / x),
    "length of a run": lambda job, x: with_run(job, length_m=job.runs[0].length_m * x),
    "fittings of a run": lambda job, x: with_run(
        job, fittings=tuple((kind._replace(ratio=kind.ratio * x), n) for kind, n in job.runs[0].fittings)
    ),
    "devices of a run": lambda job, x: with_run(
        job, devices=tuple(device._replace(drop_pa=device.drop_pa * x) for device in job.runs[0].devices)
    ),
    "bore of a hose": lambda job, x: with_hose(
        job, pipe=job.hoses[0].pipe._replace(bore_m=job.hoses[0].pipe.bore_m / x)
    ),
    "length of a hose": lambda job, x: with_hose(job, length_m=job.hoses[0].length_m * x),
    "devices of an outlet": lambda job, x: job._replace(
        outlets=(
            job.outlets[0]._replace(devices=tuple(d._replace(drop_pa=d.drop_pa * x) for d in job.outlets[0].devices)),
        )
    ),
    "input": with_input,
}


def margin_pa(job: Job) -> float:
    return min(state.worst()[0] for state in states_on_line(Line(job)))


@pytest.mark.parametrize("quantity", TO_THE_BAD_END)
@pytest.mark.parametrize("formula", ["darcy", "ifgc", "pole", "renouard", "spitzglass"])
def test_each_quantity_only_lowers_the_pressure(quantity, formula):
    """From laminar flow over transition to turbulent, each step to the bad side leaves the appliance no more."""
    regimes = set()
    for bore_mm, load in ((20, 5), (12, 8), (12, 17), (12, 20), (14, 60), (16, 150)):
        text = TEXT.replace("BORE", str(bore_mm)).replace("LOAD", str(load))
        job = job_from(text)._replace(formula=formula)
        before = margin_pa(job)
        for step in range(1, 61):
            changed = TO_THE_BAD_END[quantity](job, 1.0 + 0.01 * step)
            now = margin_pa(changed)
            assert now <= before + 1e-9, (bore_mm, load, step)
            before = now
            flow_kg_s = changed.appliances[0].flow_kg_s
            number = reynolds(flow_kg_s, changed.runs[0].pipe.bore_m, changed.vapour.viscosity_pa_s)
            regimes.add("laminar" if number < 1900 else "transition" if number < 4000 else "turbulent")
        assert before < margin_pa(job)
    assert regimes == {"laminar", "transition", "turbulent"}


@pytest.mark.parametrize("share", [0.01, 0.02, 0.05, 0.1])
def test_a_regulator_that_is_set_lower_gives_no_more(share):
    """Set lower, with a least pressure of the appliance, the margin falls; the allowed drop goes along."""
    text = TEXT.replace("BORE", "14").replace("LOAD", "60")
    text = text.replace("input: 60 MJ/h", "input: 60 MJ/h, min-pressure: 6 kPa").replace("drop: 5 kPa", "drop: 9 kPa")
    job = job_from(text.replace("capacity: 900 MJ/h", f"capacity: 900 MJ/h, accuracy: {share * 100:g} %"))
    corner = worst_corner(job)
    assert corner.regulator.outlet_gauge_pa == pytest.approx(10_000.0 * (1.0 - share))
    drawn, worst = margin_pa(job), margin_pa(corner)
    assert worst < drawn - 10_000.0 * share + 200.0


def test_the_fittings_of_a_hose_and_an_outlet_take_more_as_those_of_a_run_do():
    """Each by the same share of its equivalent length."""
    text = (
        TEXT.replace("BORE", "14")
        .replace("LOAD", "60")
        .replace("pipe: hose/8,", "pipe: hose/8, fittings: {elbow-90: 2},")
    )
    job = job_from(text)
    corner, more = worst_corner(job), 1.0 + job.tolerances.fittings
    for drawn, worst in (
        (job.runs[0], corner.runs[0]),
        (job.outlets[0], corner.outlets[0]),
        (job.hoses[0], corner.hoses[0]),
    ):
        ((fitting, count),), ((worse, worse_count),) = drawn.fittings, worst.fittings
        assert worse.ratio == pytest.approx(fitting.ratio * more)
        assert (worse.name, worse_count) == (fitting.name, count)


def test_a_curve_counts_by_its_least_point():
    """At any load a regulator may give no more than the lowest point of its curve, and that low by its accuracy."""
    text = TEXT.replace("BORE", "14").replace("LOAD", "60")
    curve = "curve: [{load: 10 MJ/h, pressure: 10.4 kPa}, {load: 90 MJ/h, pressure: 9.2 kPa}]"
    for accuracy, least_pa in (("", 9200.0), ("accuracy: 5 %, ", 8740.0)):
        job = job_from(text.replace("outlet: 10 kPa, ", f"outlet: 10 kPa, {accuracy}{curve}, "))
        assert worst_corner(job).regulator.outlet_gauge_pa == pytest.approx(least_pa)
    assert worst_corner(job_from(text)).regulator.outlet_gauge_pa == pytest.approx(10_000.0)


def test_every_figure_is_at_its_bad_end():
    """Lengths, bores, fittings, devices and inputs are all off by their tolerance at once; a typical device is not."""
    job = job_from(TEXT.replace("BORE", "14").replace("LOAD", "60"))
    tolerances = job.tolerances
    corner = worst_corner(job)
    run, drawn = corner.runs[0], job.runs[0]
    assert run.length_m == pytest.approx(4.0 + max(tolerances.length * 4.0, tolerances.length_m))
    assert run.pipe.bore_m == pytest.approx(0.014 * (1.0 - tolerances.own_bore))
    assert run.fittings[0][0].ratio == pytest.approx(drawn.fittings[0][0].ratio * (1.0 + tolerances.fittings))
    assert run.devices[0].drop_pa == pytest.approx(30.0 * (1.0 + tolerances.devices))
    assert corner.appliances[0].flow_kg_s == pytest.approx(job.appliances[0].flow_kg_s * (1.0 + tolerances.input))
    assert corner.hoses[0].pipe.bore_m < job.hoses[0].pipe.bore_m


def test_a_bore_that_was_measured_takes_the_calipers_tolerance():
    """A measured bore may be off by what a caliper is, not by a share."""
    job = job_from(TEXT.replace("{bore: BORE mm}", "{bore: 14 mm, measured: yes}").replace("LOAD", "60"))
    assert job.runs[0].pipe.bore_tolerance_m == job.tolerances.caliper_m < 0.001 * 0.2


def test_as_drawn_only():
    """`tolerances: none` has no corner, and says so under the verdict."""
    job = job_from(TEXT.replace("BORE", "14").replace("LOAD", "60") + "tolerances: none\n")
    assert job.tolerances is None
    assert worst_corner(job) is job


def test_a_job_may_say_its_own_tolerances():
    """What the job says goes before the catalogue's, the bore for every pipe and hose."""
    said = "tolerances: {length: 4 %, bore: 0.5 mm, fittings: 0 %, input: 10 %, devices: 0 %, set-pressure: 6 %}\n"
    job = job_from(TEXT.replace("BORE", "14").replace("LOAD", "60") + said)
    assert (job.tolerances.length, job.tolerances.input, job.tolerances.fittings) == (0.04, 0.1, 0.0)
    assert {job.runs[0].pipe.bore_tolerance_m, job.hoses[0].pipe.bore_tolerance_m} == {0.0005}
    assert job.regulator.accuracy == 0.06


@pytest.mark.trial
@pytest.mark.parametrize(
    ("site", "tolerances"),
    [
        ("{temperature: -5 to 45 degC}", ""),
        ("{temperature: 15 degC, altitude: 0 to 2000 m}", ""),
        ("{temperature: 10 degC}", "tolerances: {gas: {propane: 70 %, n-butane: 30 %}}"),
        ("{temperature: 0 to 40 degC, altitude: 0 to 1500 m}", "tolerances: {gas: {propane: 80 %, n-butane: 20 %}}"),
    ],
)
def test_a_range_is_never_better_than_any_point_of_it(site, tolerances):
    """The corner of a range is under that of every point of it, ends and between, rising run and falling hose."""
    for bore_mm, load in ((14, 17), (12, 18), (14, 60)):
        text = TEXT.replace("BORE", str(bore_mm)).replace("LOAD", str(load))
        job = job_from(text + f"site: {site}\n{tolerances}\n")
        worst = margin_pa(worst_corner(job))
        cold, warm = job.site_range.temperature_k
        low, high = job.site_range.altitude_m
        for part in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
            for other in (0.0, 0.5, 1.0):
                kelvin, metres = cold + part * (warm - cold), low + other * (high - low)
                for gas in job.site_range.gases:
                    shares = ", ".join(f"{component.name}: {share * 100:.10g} %" for component, share in gas.fractions)
                    point = job_from(
                        text.replace("gas: propane", f"gas: {{{shares}}}")
                        + f"site: {{temperature: {kelvin - 273.15:.6f} degC, altitude: {metres:.6f} m}}\n"
                    )
                    assert worst <= margin_pa(worst_corner(point)) + 1e-6


def test_a_range_costs_little_more_than_its_worst_end():
    """For a line that neither rises nor falls, the corner of a range of temperature is its warm end."""
    text = TEXT.replace("BORE", "14").replace("LOAD", "90").replace(", rise: 1 m", "").replace(", rise: -0.5 m", "")
    ranged = job_from(text + "site: {temperature: -5 to 45 degC}\n")
    warm = job_from(text + "site: {temperature: 45 degC}\n")
    assert margin_pa(worst_corner(ranged)) == pytest.approx(margin_pa(worst_corner(warm)), abs=1e-6)


def test_the_worst_margins_stand_beside_those_as_drawn():
    """A check tells both margins, and the verdict goes by the worst."""
    job = job_from(TEXT.replace("BORE", "14").replace("LOAD", "60"))
    state = check_job(job).states[0]
    assert state.worst_margin_pa < state.margin_pa
    assert state.worst_margin_pa == pytest.approx(margin_pa(worst_corner(job)))


# Where a figure of the gas is at its bad end: smaller in a lighter, warmer gas, or larger.
WORSE_IS_LESS = ("molar_mass_kg_mol", "reference_density_kg_m3", "gross_j_kg")
WORSE_IS_MORE = ("temperature_k", "viscosity_pa_s", "virial_m3_mol", "relative_density")


def test_each_figure_of_the_gas_is_as_bad_as_at_any_point_of_a_range():
    """Over temperature and mixture, each by itself; and no worse than it can be."""
    text = TEXT.replace("BORE", "14").replace("LOAD", "60")
    mixed = text.replace("gas: propane", "gas: {propane: 80 %, n-butane: 20 %}")
    other = "tolerances: {gas: {propane: 40 %, n-butane: 60 %}}\n"
    job = job_from(mixed + "site: {temperature: -5 to 45 degC, altitude: 0 to 1500 m}\n" + other)
    worst, site = worst_corner(job), job.site_range
    cold_k, warm_k = site.temperature_k
    points = [gas.vapour(cold_k + share * (warm_k - cold_k)) for gas in site.gases for share in (0.0, 0.3, 0.7, 1.0)]
    assert len({point.molar_mass_kg_mol for point in points}) > 1
    for name in WORSE_IS_LESS:
        assert getattr(worst.vapour, name) == pytest.approx(min(getattr(point, name) for point in points)), name
    for name in WORSE_IS_MORE:
        assert getattr(worst.vapour, name) == pytest.approx(max(getattr(point, name) for point in points)), name
    # Where flow turns turbulent goes by the least viscosity.
    assert worst.vapour.least_viscosity_pa_s == pytest.approx(min(point.viscosity_pa_s for point in points))
    # Thin air for the friction, and for what rises the heaviest gas in the densest air, on the coldest day.
    assert worst.atmospheric_pa == pytest.approx(standard_atmosphere_pa(1500.0))
    assert worst.uphill.vapour.molar_mass_kg_mol == max(point.molar_mass_kg_mol for point in points)
    assert worst.uphill.vapour.temperature_k == cold_k
    assert worst.uphill.atmospheric_pa == pytest.approx(standard_atmosphere_pa(0.0))
    assert worst.uphill.air_density_kg_m3 == pytest.approx(101325.0 * 0.0289647 / (8.314463 * cold_k), rel=1e-3)


@pytest.mark.parametrize("rises", [0.0, 1.0, -1.0, 8.0, -8.0])
def test_the_highest_pressure_of_a_range_is_no_less_than_that_of_any_point(rises):
    """At rest, uphill and downhill, with a regulator that stands high by its accuracy."""
    text = TEXT.replace("BORE", "14").replace("LOAD", "60")
    text = text.replace("length: 4 m, rise: 1 m", f"length: 9 m, rise: {rises} m")
    high, name = text.replace("outlet: 10 kPa", "outlet: 10.5 kPa"), job_from(text).runs[0].name
    text = text.replace("capacity: 900 MJ/h", "capacity: 900 MJ/h, accuracy: 5 %")
    job = job_from(text + "site: {temperature: -5 to 45 degC, altitude: 0 to 2000 m}\n")
    worst_pa = highest_static_gauge_pa(job, name)
    gauge_pa = 1.05 * job.regulator.outlet_gauge_pa
    at_points = []
    for celsius in (-5, 20, 45):
        for metres in (0, 1000, 2000):
            point = job_from(high + f"site: {{temperature: {celsius} degC, altitude: {metres} m}}\n")
            at_points.append(highest_static_gauge_pa(point, name))
            # By CoolProp's densities of propane and air: (rho - rho_air) g h.
            air_pa = standard_atmosphere_pa(metres)
            rho = PropsSI("D", "T", celsius + 273.15, "P", air_pa + gauge_pa, "Propane")
            weight_pa = (rho - PropsSI("D", "T", celsius + 273.15, "P", air_pa, "Air")) * 9.80665 * rises
            assert at_points[-1] == pytest.approx(gauge_pa - weight_pa, abs=0.01 * abs(weight_pa) + 1e-6)
    assert worst_pa >= max(at_points) - 1e-9
    assert worst_pa <= max(at_points) + 1.0 * abs(rises) + 1e-9


def test_a_range_whose_regulators_stand_high_counts_the_gas_as_heavier_uphill():
    """Twice the accuracy of the set pressure, the largest of all regulators, over the air's pressure."""
    text = (
        TEXT.replace("BORE", "14")
        .replace("LOAD", "60")
        .replace("capacity: 900 MJ/h", "capacity: 900 MJ/h, accuracy: 5 %")
    )
    job = job_from(text)
    assert worst_corner(job).uphill.atmospheric_pa == pytest.approx(
        job.atmospheric_pa + 2.0 * 0.05 * job.regulator.outlet_gauge_pa
    )


@pytest.mark.parametrize(
    ("first", "second", "over_pa"),
    [("1 %", "5 %", 2.0 * 0.01 * 140e3), (None, "5 %", 2.0 * 0.05 * 2750.0), ("1 %", None, 2.0 * 0.01 * 140e3)],
)
def test_the_regulator_that_may_stand_highest_counts_for_the_weight_uphill(first, second, over_pa):
    """Of a first stage of 140 kPa and a second of 2.75 kPa twice what the accuracy of one makes, if only one has it."""
    text = TEXT.replace("BORE", "14").replace("LOAD", "20")
    text = text.replace("outlet: 10 kPa", "outlet: 140 kPa" + (f", accuracy: {first}" if first else ""))
    accuracy = f", accuracy: {second}" if second else ""
    stage = f"regulator: {{inlet-min: 50 kPa, outlet: 2.75 kPa{accuracy}}},\n         devices"
    job = job_from(text.replace("devices: [{name: valve", f"{stage}: [{{name: valve"))
    assert worst_corner(job).uphill.atmospheric_pa == pytest.approx(job.atmospheric_pa + over_pa)


def test_an_input_that_may_be_net_counts_as_net():
    """5 % more, and by gross over net heat, 2219.2 over 2043.1 kJ/mol for propane: handbooks; heat and flow alike."""
    text = TEXT.replace("BORE", "14").replace("LOAD MJ/h", "10 kW").replace("limits:", "rule: en-1949\nlimits:")
    job = job_from(text.replace("outlet: 10 kPa", "outlet: 30 mbar"))
    (drawn,), (worst,) = job.appliances, worst_corner(job).appliances
    assert not drawn.basis_known
    assert worst.input_w == pytest.approx(1.05 * 10e3 * 2219.2 / 2043.1, rel=2e-3)
    assert worst.flow_kg_s / drawn.flow_kg_s == pytest.approx(worst.input_w / drawn.input_w)


def test_more_gas_by_mass_is_burnt_of_the_leanest_gas_of_a_range():
    """The same heat of a mixture that has less of it in a kilogram; CoolProp has no heats, so by the program's own."""
    text = (
        TEXT.replace("BORE", "14").replace("LOAD", "60")
        + "tolerances: {input: 0 %, gas: {propane: 40 %, n-butane: 60 %}}\n"
    )
    job = job_from(text)
    least = min(gas.gross_j_kg for gas in job.site_range.gases)
    corner = worst_corner(job)
    for worst, drawn in zip(corner.appliances, job.appliances, strict=True):
        assert worst.flow_kg_s == pytest.approx(drawn.flow_kg_s * job.gas.gross_j_kg / least)
        assert worst.input_w == drawn.input_w
    assert least < job.gas.gross_j_kg
