"""The water side against CoolProp (IAPWS-95 and R12-08), fluids and scipy's root finder."""

import math

import fluids
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

from drawbar.physics.water import RANGE_K, density_kg_m3, heat_capacity_j_kg_k, viscosity_pa_s
from drawbar.water_line.pump_curve import pump_pressure_pa
from drawbar.water_line.water_flow import WaterLine, WaterStretch, left_pa, stretch_drop, working_point

L_MIN = 1e-3 / 60
CURVE = ((0.0, 240e3), (4 * L_MIN, 150e3), (6 * L_MIN, 80e3), (7.5 * L_MIN, 0.0))


@pytest.mark.parametrize("celsius", [1, 5, 10, 15, 25, 40, 55, 70, 90, 99])
def test_viscosity_and_density_agree_with_coolprop(celsius):
    """Both within 0.2 % of CoolProp's water at 101.325 kPa."""
    kelvin = celsius + 273.15
    assert viscosity_pa_s(kelvin) == pytest.approx(PropsSI("V", "T", kelvin, "P", 101325.0, "Water"), rel=2e-3)
    assert density_kg_m3(kelvin) == pytest.approx(PropsSI("D", "T", kelvin, "P", 101325.0, "Water"), rel=2e-3)


@pytest.mark.parametrize("worked_out", [density_kg_m3, heat_capacity_j_kg_k, viscosity_pa_s])
def test_both_ends_of_the_range_of_water_are_allowed(worked_out):
    """-20 and 110 degC themselves, and nothing beyond: the range of IAPWS SR6-08 (from memory)."""
    low_k, high_k = RANGE_K
    assert (low_k, high_k) == (253.15, 383.15)
    assert worked_out(low_k) > 0.0
    assert worked_out(high_k) > 0.0
    for beyond_k in (low_k - 0.01, high_k + 0.01):
        with pytest.raises(ValueError, match="outside the range of the figures for water"):
            worked_out(beyond_k)


def test_viscosity_refuses_a_temperature_outside_its_range():
    """The range is that of the density."""
    with pytest.raises(ValueError, match=r"120\.0 degC is outside the range of the figures for water"):
        viscosity_pa_s(393.15)


@pytest.mark.parametrize("litres_min", [0.3, 0.6, 0.9, 2.5, 4.0, 6.0, 10.0, 20.0])
@pytest.mark.parametrize(("bore_mm", "roughness_mm", "celsius"), [(8, 0.02, 15), (10, 0.02, 40), (13, 0.0015, 10)])
def test_the_drop_of_a_hose_agrees_with_fluids(litres_min, bore_mm, roughness_mm, celsius):
    """Laminar to turbulent: Darcy-Weisbach with fluids' friction factor and CoolProp's water, within 0.5 %."""
    kelvin, bore_m, length_m = celsius + 273.15, bore_mm / 1000, 5.0
    rho, mu = (PropsSI(key, "T", kelvin, "P", 101325.0, "Water") for key in "DV")
    mass_kg_s = litres_min * L_MIN * rho
    velocity = mass_kg_s / rho / (math.pi / 4 * bore_m**2)
    number = fluids.Reynolds(V=velocity, D=bore_m, rho=rho, mu=mu)
    is_laminar = number < 1900
    factor = 64 / number if is_laminar else fluids.friction.Colebrook(number, eD=roughness_mm / bore_mm)
    drop = stretch_drop(
        WaterStretch("hose", bore_m, roughness_mm / 1000, length_m, 0.0, is_hot=False), mass_kg_s, kelvin
    )
    assert drop.friction_pa == pytest.approx(factor * length_m / bore_m * 0.5 * rho * velocity**2, rel=5e-3)
    assert drop.regime == ("laminar" if number < 1900 else "transition" if number <= 4000 else "turbulent")


def _line(curve, level_m=-0.5, height_m=0.9, drop_pa=30e3):
    at_6 = (6 * L_MIN * 999.1) ** 2
    stretches = (
        WaterStretch("suction", 0.010, 2e-5, 1.5, 12e3 / at_6, is_hot=False),
        WaterStretch("heater", 0.0, 0.0, 0.0, drop_pa / at_6, is_hot=False),
        WaterStretch("hose", 0.010, 2e-5, 5.0, 10e3 / at_6, is_hot=True),
        WaterStretch("rose", 0.0, 0.0, 0.0, 30e3 / at_6, is_hot=True),
    )
    return WaterLine(curve, stretches, level_m, height_m, 288.15, lambda _flow: 313.15)


@pytest.mark.parametrize("height_m", [-0.5, 0.9, 2.0])
@pytest.mark.parametrize("curve", [CURVE, ((0.0, 140e3), (3.8 * L_MIN, 0.0))])
def test_the_working_point_is_scipys_root(curve, height_m):
    """Where the pump's curve meets the line, written out with fluids' Colebrook and numpy's interpolation."""
    numpy = pytest.importorskip("numpy")
    line = _line(curve, height_m=height_m)
    flows, pressures = zip(*curve, strict=True)

    def left(flow):
        rest = numpy.interp(flow, flows, pressures) + 999.1 * 9.80665 * (line.level_m - height_m)
        for stretch in line.stretches:
            kelvin = 313.15 if stretch.is_hot else 288.15
            rho, mu = (PropsSI(key, "T", kelvin, "P", 101325.0, "Water") for key in "DV")
            mass = flow * 999.1
            rest -= stretch.pa_per_flow2 * mass**2 * 999.1 / rho
            if stretch.bore_m:
                velocity = mass / rho / (math.pi / 4 * stretch.bore_m**2)
                number = fluids.Reynolds(V=velocity, D=stretch.bore_m, rho=rho, mu=mu)
                factor = fluids.friction.Colebrook(number, eD=stretch.roughness_m / stretch.bore_m)
                rest -= factor * stretch.length_m / stretch.bore_m * 0.5 * rho * velocity**2
        return rest

    root = brentq(left, 1.5 * L_MIN, curve[-1][0])
    assert working_point(line).flow_m3_s == pytest.approx(root, rel=2e-3)
    assert left_pa(line, working_point(line).flow_m3_s) == pytest.approx(0.0, abs=1.0)


def test_water_that_runs_by_its_height():
    """Without a pump: the flow that a level 2 m over the outlet gives is the root that scipy finds."""
    line = _line(None, level_m=2.5, height_m=0.5)
    root = brentq(lambda flow: left_pa(line, flow), 1e-7, 1e-3)
    assert working_point(line).flow_m3_s == pytest.approx(root, rel=1e-6)
    assert working_point(_line(None, level_m=-0.5)).flow_m3_s == 0.0


def test_a_pump_by_points_goes_in_straight_lines():
    """Between its points, flat before the first and drawn out behind the last."""
    assert pump_pressure_pa(CURVE, 5 * L_MIN) == pytest.approx(115e3)
    assert pump_pressure_pa(CURVE[1:], 1 * L_MIN) == 150e3
    assert pump_pressure_pa(CURVE, 8 * L_MIN) == pytest.approx(-80e3 / 3)
