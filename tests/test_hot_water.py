"""Hot water: water's properties beside CoolProp, the heat balance by hand, the wait, and the command."""

import json
import math
import re

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from drawbar.hot_water import (
    HEATER_START_S,
    MIXING,
    NoHeater,
    NoSuchHeater,
    WantedTooCold,
    flow_m3_s,
    heater_result,
    outlet_k,
)
from drawbar.job import Appliance, WaterDuty
from drawbar.physics.water import density_kg_m3, heat_capacity_j_kg_k
from drawbar.water_line.hotwater_answer import hotwater
from jobs import job_from

L_MIN = 1e-3 / 60
W_PER_MJ_H = 1e6 / 3600
HEATER = Appliance(
    "basin", 32 * W_PER_MJ_H, 1.8e-4, at="main", heats=WaterDuty(6 * L_MIN, 288.15, 0.8, bore_m=0.010, length_m=3.0)
)
JOB = """
job: A trailer
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 2 m}
appliances:
  basin: {at: main, input: 32 MJ/h, heats: {flow: 6 L/min, inlet: 15 degC, efficiency: 80 %,
          pipe: {bore: 10 mm, length: 3 m}}}
  shower: {at: main, input: 80 MJ/h, heats: {flow: 4 L/min, inlet: 20 degC, efficiency: 80 %}}
  stove: {at: main, input: 20 MJ/h}
"""
WITHOUT_HEATERS = "\n".join(line for line in JOB.splitlines() if "heats" not in line and "pipe: {bore" not in line)


@pytest.mark.parametrize("celsius", [0.01, 4, 10, 15, 25, 40, 50, 60, 75, 90, 99])
def test_water_agrees_with_coolprop(celsius):
    """Density within 0.001 % and heat capacity within 0.01 % of IAPWS-95 as CoolProp has it, at 0.1 MPa."""
    kelvin = celsius + 273.15
    assert density_kg_m3(kelvin) == pytest.approx(PropsSI("D", "T", kelvin, "P", 101325.0, "Water"), rel=1e-5)
    assert heat_capacity_j_kg_k(kelvin) == pytest.approx(PropsSI("C", "T", kelvin, "P", 101325.0, "Water"), rel=1e-4)


def test_water_refuses_a_temperature_outside_its_range():
    """Steam and deep cold are no liquid water."""
    with pytest.raises(ValueError, match=r"120\.0 degC is outside the range of the figures for water"):
        density_kg_m3(393.15)
    with pytest.raises(ValueError, match=r"-30\.0 degC is outside the range of the figures for water"):
        heat_capacity_j_kg_k(243.15)


@pytest.mark.parametrize(
    ("heat_w", "litres_min", "inlet_c"), [(7111.1, 6, 15), (12000, 5, 10), (20000, 10, 20), (25000, 5, 25)]
)
def test_the_outlet_is_where_the_enthalpy_balances(heat_w, litres_min, inlet_c):
    """CoolProp's enthalpies at inlet and outlet, times the mass flow of cold water, give the heat within 0.1 %."""
    hot_k = outlet_k(heat_w, litres_min * L_MIN, inlet_c + 273.15)
    mass_kg_s = litres_min * L_MIN * PropsSI("D", "T", inlet_c + 273.15, "P", 101325.0, "Water")
    before, after = (PropsSI("H", "T", kelvin, "P", 101325.0, "Water") for kelvin in (inlet_c + 273.15, hot_k))
    assert mass_kg_s * (after - before) == pytest.approx(heat_w, rel=1e-3)


def test_the_rise_by_the_rule_of_thumb():
    """The trade's figure: a kilowatt raises a litre a minute by 60 / 4.19 K (common practice, water as 4.19 kJ/L/K).

    Water at 15 to 30 degC has 4.18 kJ/kg/K and 0.999 kg/L, so the rule is 0.3 % low.
    """
    assert outlet_k(7000.0, 7.0 * L_MIN, 288.15) - 288.15 == pytest.approx(60 / 4.19, rel=0.004)


@given(
    heat_w=st.floats(2000, 40000),
    inlet_k=st.floats(274.0, 330.0),
    rise_k=st.floats(5.0, 42.0),
)
def test_flow_and_outlet_undo_each_other(heat_w, inlet_k, rise_k):
    """The flow for a temperature gives that temperature."""
    flow = flow_m3_s(heat_w, inlet_k, inlet_k + rise_k)
    assert outlet_k(heat_w, flow, inlet_k) == pytest.approx(inlet_k + rise_k, abs=1e-6)


@given(st.floats(1.0, 50.0), st.floats(1.01, 3.0))
def test_more_flow_is_never_hotter(litres_min, factor):
    """With the same heat more water comes cooler, and none once it would boil."""
    slow, fast = (outlet_k(7000.0, flow * L_MIN, 288.15) for flow in (litres_min, litres_min * factor))
    assert slow is None or fast < slow


def test_water_that_would_boil_has_no_outlet_temperature():
    """7.1 kW into half a litre a minute is over 100 degC."""
    assert outlet_k(7100.0, 0.5 * L_MIN, 288.15) is None


def test_wait_and_loss_by_hand():
    """10 mm by 3 m holds 0.2356 L; at 6 L/min that is 2.356 s, and with the allowances 1.5 x 2.356 + 3 = 6.53 s."""
    assert (MIXING, HEATER_START_S) == (1.5, 3.0)
    (draw,) = heater_result(HEATER).draws
    assert draw.lost_least_m3 == pytest.approx(math.pi / 4 * 0.01**2 * 3.0)
    assert draw.wait_least_s == pytest.approx(2.356, abs=0.001)
    assert draw.wait_s == pytest.approx(6.534, abs=0.001)
    assert draw.lost_m3 == pytest.approx(0.6534e-3, abs=1e-7)


@pytest.mark.parametrize("length_m", [1.0, 2.0, 3.0])
def test_a_trailer_sink_comes_hot_in_about_five_seconds(length_m):
    """Common practice, no source: 6 L/min, hot at a trailer's sink in about 5 s. Here 8 mm bore, 1 to 3 m of it."""
    duty = WaterDuty(6 * L_MIN, 288.15, 0.8, bore_m=0.008, length_m=length_m)
    (draw,) = heater_result(Appliance("sink", 9000.0, 1.8e-4, at="main", heats=duty)).draws
    assert draw.wait_s == pytest.approx(5.0, abs=1.3)


def test_another_pump_and_a_wanted_temperature_are_further_draws():
    """The job's own flow first, then the pump asked about, then the flow that gives the temperature."""
    heater = heater_result(HEATER, pump_m3_s=8 * L_MIN, wanted_k=313.15)
    assert [draw.why for draw in heater.draws] == ["given", "pump", "wanted"]
    given_draw, pump, wanted = heater.draws
    assert pump.outlet_k < given_draw.outlet_k < wanted.outlet_k == pytest.approx(313.15)
    assert pump.wait_s < given_draw.wait_s < wanted.wait_s
    assert not wanted.scalds


def test_what_heats_no_water_is_refused():
    """A stove is no water heater, and a heater can't cool."""
    with pytest.raises(NoSuchHeater, match=r"^stove heats no water$"):
        heater_result(Appliance("stove", 5000.0, 1e-4, at="main"))
    with pytest.raises(WantedTooCold, match=r"^the cold water of basin is at 15 degC already$"):
        heater_result(HEATER, wanted_k=288.15)


def test_the_heaters_of_a_job():
    """All that say what they heat, in the job's order, or the one that is named; anything else is refused."""
    job = job_from(JOB)
    result = hotwater(job, pump_m3_s=8 * L_MIN)
    assert [heater.appliance.name for heater in result.heaters] == ["basin", "shower"]
    assert all([draw.why for draw in heater.draws] == ["given", "pump"] for heater in result.heaters)
    (shower,) = hotwater(job, "shower").heaters
    assert shower.heat_w == pytest.approx(0.8 * 80 * W_PER_MJ_H)
    with pytest.raises(NoSuchHeater, match=r"^`basn` is not an appliance of this job; did you mean `basin`[?]$"):
        hotwater(job, "basn")
    with pytest.raises(NoSuchHeater, match=r"^`stove` says of no water that it heats it; heaters here: basin, shower$"):
        hotwater(job, "stove")
    with pytest.raises(NoHeater, match=r"^no appliance says what water it heats$"):
        hotwater(job_from(WITHOUT_HEATERS))


@pytest.fixture
def call(tmp_path, monkeypatch, drawbar):
    def run(*options, text=JOB):
        (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
        monkeypatch.chdir(tmp_path)
        return drawbar("hotwater", "job.yaml", *options)

    return run


def test_the_page(call):
    """The heater that is named, its figures and what the other pump changes; scalding is a caution, not a failure."""
    code, out, err = call("--appliance", "basin", "--flow", "8 L/min", "--outlet", "40 degC")
    assert (code, err) == (0, "")
    assert out.startswith(
        "A trailer: hot water\n"
        "====================\n"
        "\n"
        "basin: 32 MJ/h of gas, 80 % of it to the water (25.6 MJ/h). Cold water at\n"
        "15 degC.\n"
        "Pipe to the tap: bore 10 mm, 3 m long, holds 0.24 L.\n"
        "\n"
        "                 flow  rise  outlet    wait s  wait s    lost L  lost L\n"
        "                L/min     K    degC  at least   about  at least   about\n"
        "--------------  -----  ----  ------  --------  ------  --------  ------\n"
        "the job's flow   6.00  17.0    32.0       2.4     6.5      0.24    0.65\n"
        "the other pump   8.00  12.8    27.8       1.8     5.7      0.24    0.75\n"
        "for 40 degC      4.09  25.0    40.0       3.5     8.2      0.24    0.56\n"
        "\n"
        "From 6 L/min to 8 L/min the water comes 4.3 K cooler, 0.9 s sooner.\n"
        "\n"
        "COOL: at 6 L/min the water comes at 32 degC, cooler than a shower is taken\n"
        "(38 degC, common practice); 4.44 L/min gives that.\n"
    )
    assert "\nHot water scalds: a tempering valve" in out
    assert max(map(len, out.splitlines())) <= 80
    assert len(out.splitlines()) <= 24
    _, out, _ = call("--full", "--appliance", "basin")
    assert "Hot water scalds, children" in out
    assert "Heat balance with the density and heat capacity" in " ".join(out.split())


def test_us_units(call):
    """US gallons a minute, degF and Btu/h: 6 L/min is 1.585 US gal/min, 32 degC is 89.6 degF (NIST SP 811)."""
    _, out, _ = call("--units", "us", "--appliance", "basin")
    flow, rise, outlet = next(line.split()[3:6] for line in out.splitlines() if line.startswith("the job's flow"))
    assert (float(flow), float(rise), float(outlet)) == pytest.approx((1.585, 30.6, 89.6), abs=0.11)
    assert re.search(r"lost\s+lost\s+US gal\s+US gal", out)


def test_scalding_water_is_told_and_does_not_fail(call):
    """80 MJ/h into 4 L/min comes at 84 degC."""
    code, out, _ = call("--appliance", "shower")
    assert code == 0
    assert "SCALD: at 4 L/min the water leaves the heater at 84 degC, over 50 degC." in out
    assert "The job gives no water pipe" in out


def test_json_has_every_heater_and_flow(call):
    """Both heaters, figures as numbers, null where the job gives no pipe or the water would boil."""
    code, out, _ = call("--format", "json", "--flow", "1 L/min")
    assert code == 0
    (result,) = json.loads(out)["results"]
    assert [heater["name"] for heater in result["heaters"]] == ["basin", "shower"]
    given_draw, slow = result["heaters"][1]["flows"]
    assert given_draw["outlet_degC"] == pytest.approx(84.0, abs=0.3)
    assert given_draw["wait_s"] is None
    assert (slow["outlet_degC"], slow["boils"], slow["scalds"]) == (None, True, True)


def test_csv_has_a_row_for_each_flow(call):
    """Heading and one row a heater and flow."""
    code, out, _ = call("--format", "csv", "--appliance", "basin", "--outlet", "50 degC")
    assert code == 0
    head, given_draw, wanted = out.splitlines()
    assert head.split(",")[3:8] == ["appliance", "asked", "flow_L_min", "inlet_degC", "outlet_degC"]
    assert given_draw.split(",")[3:7] == ["basin", "given", "6", "15"]
    assert wanted.split(",")[7:9] == ["50", "no"]


USAGE = "Usage: drawbar hotwater [OPTIONS] JOB\nTry 'drawbar hotwater --help' for help.\n\nError: "


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (
            ["--outlet", "-300 degC"],
            "Invalid value for '--outlet': `-300 degC` can't be right; write from 1 degC to 99 degC",
        ),
        (["--outlet", "40"], "Invalid value for '--outlet': `40` has no unit; write one of degC, degF, K after it"),
        (
            ["--outlet", "15 degC"],
            "Invalid value for --outlet: the cold water of basin is at 15 degC already; write a higher temperature.",
        ),
        (
            ["--flow", "-6 L/min"],
            "Invalid value for '--flow': `-6 L/min` can't be right; write from 0.2 L/min to 100 L/min",
        ),
        (
            ["--appliance", "basn"],
            "Invalid value for --appliance: `basn` is not an appliance of this job; did you mean `basin`?",
        ),
        (
            ["--appliance", "stove"],
            "Invalid value for --appliance: `stove` says of no water that it heats it; heaters here: basin, shower",
        ),
    ],
)
def test_a_wrong_option_is_named(call, options, message):
    """Exit code 2, nothing on standard output, the option's name and what would fit."""
    assert call(*options) == (2, "", f"{USAGE}{message}\n")


def test_a_job_without_a_water_heater_is_refused(call):
    """Exit code 2 with what to write."""
    assert call(text=WITHOUT_HEATERS) == (
        2,
        "",
        "job.yaml: appliances: no appliance says what water it heats; write "
        "`heats: {flow: 6 L/min, inlet: 15 degC, efficiency: 80 %}` at the heater\n",
    )
