"""The code formulas at other sites than the sea: each drop goes with the real gas's density, against CoolProp."""

import pytest
from CoolProp.CoolProp import PropsSI

from drawbar.physics.air import STANDARD_PA, standard_atmosphere_pa
from drawbar.physics.flow import PipeFlow, outlet_abs_pa
from drawbar.physics.formulas import FORMULAS
from gases import gas

PROPANE = gas({"propane": 1.0})
GAUGE_PA = 2750.0
ALTITUDES_M = [0.0, 500.0, 1000.0, 2000.0, 3000.0, 4000.0]


def drop_pa(name, temperature_k, air_pa, flow_kg_s=0.002, bore_m=0.02093):
    flow = PipeFlow(flow_kg_s, bore_m, 4.6e-5, 9.144, PROPANE.vapour(temperature_k), GAUGE_PA, air_pa)
    return air_pa + GAUGE_PA - outlet_abs_pa(air_pa + GAUGE_PA, FORMULAS[name].function(flow))


def density_kg_m3(temperature_k, air_pa):
    return PropsSI("D", "T", temperature_k, "P", air_pa + GAUGE_PA, "Propane")


@pytest.mark.parametrize("altitude_m", ALTITUDES_M)
@pytest.mark.parametrize("name", FORMULAS)
def test_a_drop_grows_as_the_gas_gets_thinner_with_altitude(name, altitude_m):
    """Drop by drop at the sea is density at the sea by density: 1 %, 0 to 4000 m, 15 degC."""
    air_pa = standard_atmosphere_pa(altitude_m)
    expected = density_kg_m3(288.15, STANDARD_PA) / density_kg_m3(288.15, air_pa)
    grown = drop_pa(name, 288.15, air_pa) / drop_pa(name, 288.15, STANDARD_PA)
    assert grown == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("celsius", [20.0, 30.0, 40.0, 50.0])
@pytest.mark.parametrize("name", FORMULAS)
def test_a_drop_grows_as_the_gas_gets_thinner_with_warmth(name, celsius):
    """Drop by drop at 15 degC is density at 15 degC by density; the viscosity's own part is up to 3.5 % more.

    Friction goes with viscosity to the power of 0.15 to 0.25 (Blasius), and propane's is 10 % more at 50 degC.
    """
    expected = density_kg_m3(288.15, STANDARD_PA) / density_kg_m3(celsius + 273.15, STANDARD_PA)
    grown = drop_pa(name, celsius + 273.15, STANDARD_PA) / drop_pa(name, 288.15, STANDARD_PA)
    assert 0.99 * expected < grown < 1.035 * expected


def test_no_formula_passes_at_3000_m_what_is_full_at_the_sea():
    """330,000 Btu/h of propane through 30 ft of 3/4 in schedule 40 takes under 0.5 in w.c. at the sea, over it there.

    IFGC 2018 table 402.4(28) prints 336,000 Btu/h for it.
    """
    flow_kg_s = 330_000 * 1055.05585262 / 3600.0 / PROPANE.gross_j_kg
    high_pa, limit_pa = standard_atmosphere_pa(3000.0), 0.5 * 249.08891
    at_sea, high = (drop_pa("ifgc", 288.15, air_pa, flow_kg_s) for air_pa in (STANDARD_PA, high_pa))
    assert at_sea < limit_pa < high
    assert drop_pa("darcy", 288.15, high_pa, flow_kg_s) > limit_pa
