"""The worst corner of a job: every quantity at its bad end, and each can only lower the pressure on its way there."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from drawbar.checking.check import check_job
from drawbar.checking.corner import worst_corner
from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.line.state import states_on_line
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
