"""A run, outlet or hose: its losses add up, the way back is the way there, and its bounds hold."""

import math
from random import Random

import pytest
from CoolProp.CoolProp import PropsSI

from drawbar.checking.corner import worst_corner
from drawbar.job import Job
from drawbar.line.network import Line
from drawbar.line.section import Section, section_flow
from jobs import job_from

AIR_PA = 101_325.0
TEXT = """
job: One run
gas: propane
site: {temperature: %s degC, altitude: %s m}
limits: {drop: 1 kPa}
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: {bore: %s mm}, length: 20 m, rise: %s m, fittings: {elbow-90: 2},
         devices: [{name: valve, flow: 60 MJ/h, drop: 30 Pa}]}
appliances:
  heater: {at: main, input: 40 MJ/h}
"""


def job(bore_mm: float = 14, rise_m: float = 0, celsius: str = "15", metres: str = "0") -> Job:
    return job_from(TEXT % (celsius, metres, bore_mm, rise_m))


def section(bore_mm: float = 14, rise_m: float = 0) -> Section:
    return Line(job(bore_mm, rise_m)).sections[0]


@pytest.mark.parametrize("rise_m", [0, 3, -3, 18, -18])
def test_the_losses_of_a_section_add_up_to_its_drop(rise_m: float) -> None:
    """Pipe, devices and height; the speed at the end is m / (rho A) with CoolProp's density, in 0.1 %."""
    for flow_kg_s in (1e-5, 1e-4, 5e-4):
        flow = section_flow(section(14, rise_m), "regulator", AIR_PA + 2750.0, flow_kg_s)
        assert flow.friction_pa + flow.devices_pa + flow.height_pa == pytest.approx(flow.drop_pa, abs=1e-6)
        assert flow.inlet_abs_pa - flow.drop_pa == pytest.approx(flow.outlet_abs_pa)
        density = PropsSI("D", "T", 288.15, "P", flow.outlet_abs_pa, "Propane")
        assert flow.velocity_m_s == pytest.approx(flow_kg_s / density / (0.25 * math.pi * 0.014**2), rel=1e-3)
        assert (flow.start, flow.regime in ("laminar", "transition", "turbulent")) == ("regulator", True)
        if rise_m:
            assert math.copysign(1.0, flow.height_pa) == math.copysign(1.0, rise_m)
        else:
            assert flow.height_pa == pytest.approx(0.0, abs=1e-6)


def test_a_section_that_chokes_has_no_end() -> None:
    """No pressure, no speed and no parts where so much can't pass."""
    flow = section_flow(section(2), "regulator", AIR_PA + 2750.0, 0.01)
    assert (flow.regime, flow.outlet_abs_pa, flow.velocity_m_s) == ("choked", 0.0, 0.0)
    assert (flow.devices_pa, flow.height_pa) == (0.0, 0.0)
    assert section(2).least_drop_pa(0.01, AIR_PA, AIR_PA + 2750.0) == math.inf


@pytest.mark.parametrize("rise_m", [0, 3, -3, 18, -18])
def test_the_way_back_is_the_way_there(rise_m: float) -> None:
    """From an end to the start that gives it, uphill and downhill, to a billionth."""
    piece = section(12, rise_m)
    for flow_kg_s in (1e-5, 1e-4, 5e-4):
        for gauge_pa in (2750.0, 20e3, 140e3):
            outlet_pa = piece.outlet_abs_pa(AIR_PA + gauge_pa, flow_kg_s)
            assert piece.inlet_abs_pa(outlet_pa, flow_kg_s) == pytest.approx(AIR_PA + gauge_pa, rel=1e-9)


@pytest.mark.parametrize("rise_m", [0, 3, -3, 18, -18])
def test_the_least_drop_is_no_more_than_any_between_two_pressures(rise_m: float) -> None:
    """Whatever its pressures between the two; it is that of the highest, but for what the height takes there."""
    piece, random = section(12, rise_m), Random(1)
    for _ in range(60):
        low_pa = AIR_PA + random.uniform(500.0, 2000.0)
        high_pa = low_pa + random.uniform(0.0, 1500.0)
        flow_kg_s = random.uniform(1e-5, 4e-4)
        least_pa = piece.least_drop_pa(flow_kg_s, low_pa, high_pa)
        for share in (0.0, 0.3, 0.7, 1.0):
            start_pa = low_pa + share * (high_pa - low_pa)
            end_pa = piece.outlet_abs_pa(start_pa, flow_kg_s)
            if end_pa >= low_pa:
                assert least_pa <= start_pa - end_pa + 1e-9
        at_high_pa = high_pa - piece.outlet_abs_pa(high_pa, flow_kg_s)
        assert least_pa == pytest.approx(at_high_pa, abs=0.3 * abs(rise_m) + 1e-6)


@pytest.mark.parametrize("rise_m", [10, -10])
def test_a_range_weighs_the_gas_where_it_is_heaviest_uphill_and_lightest_downhill(rise_m: float) -> None:
    """(rho - rho_air) g h by CoolProp: cold and at the sea on the way up, warm and high on the way down; 1 % of it."""
    line = Line(worst_corner(job(14, rise_m, "-5 to 45", "0 to 1500")))
    thin_pa = line.conditions.atmospheric_pa
    celsius, air_pa = (-5.0, AIR_PA) if rise_m > 0 else (45.0, thin_pa)
    gas = PropsSI("D", "T", celsius + 273.15, "P", air_pa + 2700.0, "Propane")
    air = PropsSI("D", "T", celsius + 273.15, "P", air_pa, "Air")
    taken_pa = line.sections[0].height_pa(thin_pa + 2700.0)
    assert taken_pa == pytest.approx((gas - air) * 9.80665 * rise_m, rel=0.01)
