"""A device's drop goes with the density of the gas at the site, and its figure may be of another gas, or of air."""

import pytest
from CoolProp.CoolProp import PropsSI

from drawbar.checking.check import check_job
from drawbar.physics.air import standard_atmosphere_pa
from drawbar.problems import Problems
from jobs import job_from

JOB = """job: One valve
gas: {gas}
site: {{temperature: 15 degC, altitude: {altitude} m}}
limits: {{drop: 2 kPa}}
tolerances: none
regulator: {{outlet: {outlet}, capacity: 200 MJ/h}}
runs:
  main: {{from: regulator, pipe: as1432-b/15.88, length: 1 m, devices: [{{name: valve, {figure}}}]}}
appliances:
  fryer: {{at: main, input: 60 MJ/h}}
"""


def drop_pa(figure, gas="propane", altitude=0, outlet="2.75 kPa"):
    job = job_from(JOB.format(gas=gas, altitude=altitude, outlet=outlet, figure=figure))
    return check_job(job).states[0].runs[0].devices_pa


@pytest.mark.parametrize("altitude_m", [0, 1000, 2000, 3000, 4000])
def test_a_drop_is_as_much_larger_as_the_gas_is_thinner(altitude_m):
    """120 Pa at the sea, by CoolProp's densities within 0.3 %: 172 Pa at 3000 m."""
    sea, there = (
        PropsSI("D", "T", 288.15, "P", air_pa + 2750.0, "Propane")
        for air_pa in (101_325.0, standard_atmosphere_pa(altitude_m))
    )
    got_pa = drop_pa("flow: 60 MJ/h, drop: 120 Pa", altitude=altitude_m)
    assert got_pa == pytest.approx(120.0 * sea / there, rel=0.003)
    if altitude_m == 3000:
        assert round(got_pa) == 172


def test_a_figure_of_air_is_turned_to_the_gas():
    """40 Pa at 2 m3/h of air: a valve's K = drop x density / mass flow squared, densities by CoolProp at 15 degC."""
    air, propane = (PropsSI("D", "T", 288.15, "P", 101_325.0, name) for name in ("Air", "Propane"))
    mass_flow = 60e6 / 3600.0 / 50.326e6  # gross heat of propane, 50.33 MJ/kg: ISO 6976:2016
    expected = 40.0 * (mass_flow / (2.0 / 3600.0 * air)) ** 2 * air / propane
    assert drop_pa("flow: 2 m3/h, of: air, drop: 40 Pa") == pytest.approx(expected, rel=0.003)


def test_a_figure_of_another_gas_is_turned_to_the_job_s():
    """A valve of a propane figure in a line of n-butane: more mass, denser gas; by hand with CoolProp's densities."""
    propane, butane = (PropsSI("D", "T", 288.15, "P", 101_325.0, name) for name in ("Propane", "n-Butane"))
    expected = 40.0 * (50.326 / 49.505) ** 2 * propane / butane  # MJ/kg gross, ISO 6976:2016
    assert drop_pa("flow: 60 MJ/h, of: propane, drop: 40 Pa", gas="n-butane") == pytest.approx(expected, rel=0.003)
    own = drop_pa("flow: 60 MJ/h, drop: 40 Pa", gas="n-butane")
    assert own == pytest.approx(40.0, rel=1e-9)  # without `of` it is the job's gas, the larger drop


def test_a_figure_at_another_pressure_counts_by_density():
    """A first-stage valve whose figure is for 2.75 kPa takes less at 70 kPa, by CoolProp's densities within 0.3 %."""
    low, high = (PropsSI("D", "T", 288.15, "P", 101_325.0 + gauge, "Propane") for gauge in (2750.0, 70_000.0))
    assert drop_pa("flow: 60 MJ/h, drop: 40 Pa", outlet="70 kPa") == pytest.approx(40.0, rel=1e-9)
    at_low = drop_pa("flow: 60 MJ/h, drop: 40 Pa, at: 2.75 kPa", outlet="70 kPa")
    assert at_low == pytest.approx(40.0 * low / high, rel=0.003)


@pytest.mark.parametrize(
    ("figure", "said"),
    [
        ("flow: 2 m3/h, drop: 40 Pa", "`2 m3/h` of what is not said; write `of: air`, or `of:` and the gas"),
        (
            "flow: 60 MJ/h, of: air, drop: 40 Pa",
            "air has no heat to burn; write the flow of air as a volume, as `1.5 m3/h`",
        ),
        ("flow: 2 m3/h, of: propan, drop: 40 Pa", "`propan` is not air or a gas; did you mean `propane`?"),
    ],
)
def test_what_is_not_clear_is_asked_back(figure, said):
    """A volume of what is not said, a heat of air, a gas that there is none of."""
    with pytest.raises(Problems) as caught:
        drop_pa(figure)
    assert said in str(caught.value)
