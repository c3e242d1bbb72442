"""Jobs with a water side: verdicts, what is not known, bad input, what a use takes, the command and the library."""

import json
from pathlib import Path

import pytest

import drawbar
from drawbar.problems import Problems
from drawbar.verdict import Verdict
from drawbar.water_line import water_flow
from drawbar.water_line.water_answer import water_results
from jobs import job_from
from paths import EXAMPLES

L_MIN = 1e-3 / 60
GAS = """
job: A camper
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa, capacity: 180 MJ/h}
cylinders: {size: 9 kg, fill: 80 %, ambient: 10 degC}
runs:
  main: {from: regulator, pipe: as1432-b/12.70, length: 2 m}
appliances:
  stove: {at: main, input: 16 MJ/h}
  heater: {at: main, input: 42 MJ/h}
"""
WATER = """
water:
  sources:
    tank: {volume: 90 L, level: -0.4 m, temperature: 16 degC}
  pumps:
    pump: {curve: [{flow: 0 L/min, pressure: 240 kPa}, {flow: 7.5 L/min, pressure: 0 kPa}], current: 4}
  runs:
    suction: {pipe: {bore: 10 mm, measured: yes}, length: 3 m, devices: none}
    hose: {pipe: {bore: 10 mm, measured: yes}, length: 5 m, devices: none, mass: 0.12 kg/m}
  heaters:
    heater: {efficiency: 80 %, flow: 6 L/min, drop: 40 kPa, least-flow: 2.5 L/min,
             least-pressure: 15 kPa, least-input: 40 %}
  outlets:
    rose: {flow: 6 L/min, drop: 30 kPa, height: 0.9 m}
  connections:
    shower: {source: tank, pump: pump, cold: [suction], heater: heater, hot: [hose], outlet: rose,
             wanted: 38 degC, for: 5 min}
"""
OPEN = WATER.replace("least-pressure: 15 kPa, ", "")
FAILS = WATER.replace("height: 0.9", "height: 29")
PASSES = WATER.replace("wanted: 38 degC", "wanted: 38 degC, measured: 4.9 L/min")


def results_of(water, gas=GAS):
    """Return what each connection of a job comes to, by name."""
    return {result.connection.name: result for result in water_results(job_from(gas + water))}


def codes(result):
    """Return the reasons of a connection, as code and verdict."""
    return [(reason.code, reason.verdict.value) for reason in result.because]


def test_a_measured_flow_that_does_all_that_is_asked_passes():
    """4.9 L/min within 5 %: at least 38 degC, at most 50 degC, lit."""
    shower = results_of(PASSES)["shower"]
    assert shower.verdict is Verdict.PASS
    assert shower.hot.full.coldest_k > 311.15
    assert shower.hot.full.hottest_k < 323.15
    assert shower.use.of_source == int(90 / (4.9 * 1.05 * 5))


@pytest.mark.parametrize(
    ("before", "after", "code"),
    [
        ("volume: 90 L, level: -0.4 m, ", "volume: 90 L, ", "level"),
        (", height: 0.9 m", "", "height"),
        (", temperature: 16 degC", "", "temperature"),
        ("{flow: 6 L/min, drop: 30 kPa, height", "{height", "drop"),
        ("flow: 6 L/min, drop: 40 kPa, ", "", "drop"),
        ("length: 3 m, devices: none", "length: 3 m", "devices"),
        ("length: 3 m, devices: none", "length: 3 m, devices: [{name: filter}]", "device"),
        ("efficiency: 80 %, ", "", "efficiency"),
        ("least-flow: 2.5 L/min,", "", "least-flow"),
        ("least-pressure: 15 kPa, ", "", "least-pressure"),
        ("wanted: 38 degC, ", "", "wanted"),
        (
            "{curve: [{flow: 0 L/min, pressure: 240 kPa}, {flow: 7.5 L/min, pressure: 0 kPa}], current: 4}",
            "{current: 4}",
            "curve",
        ),
    ],
)
def test_what_is_left_out_is_not_known_and_passes_nothing(before, after, code):
    """Whatever decides and is left out leaves the verdict open, and is named with what to write."""
    assert before in WATER
    shower = results_of(WATER.replace(before, after, 1))["shower"]
    assert shower.verdict is not Verdict.PASS
    assert code in [reason.details["what"] for reason in shower.because if reason.code == "water-unknown"]


def test_a_single_run_needs_no_brackets():
    """`cold: suction` is `cold: [suction]`."""
    assert results_of(PASSES.replace("cold: [suction]", "cold: suction"))["shower"].verdict is Verdict.PASS


def test_none_is_nothing():
    """A heater with no least flow and pressure, that can't be turned down, and a drop of none."""
    water = PASSES.replace("flow: 6 L/min, drop: 40 kPa, least-flow: 2.5 L/min", "drop: none, least-flow: none")
    water = water.replace("least-pressure: 15 kPa, least-input: 40 %", "least-pressure: none, least-input: none")
    assert results_of(water)["shower"].verdict is Verdict.PASS


def test_what_is_not_known_is_told_with_what_it_may_take():
    """A rose without a figure: it may take what is left at the heater's least flow, everything else at its worst."""
    shower = results_of(WATER.replace("{flow: 6 L/min, drop: 30 kPa, height", "{height"))["shower"]
    (reason,) = (reason for reason in shower.because if reason.code == "water-unknown")
    at_most = reason.details["most_pa"]
    by_drop = {}
    for share in (0.9, 1.1):
        drop = f"{{flow: 2.5 L/min, drop: {at_most * share / 1.2 / 1000:.4f} kPa, height"
        known = results_of(WATER.replace("{flow: 6 L/min, drop: 30 kPa, height", drop))["shower"]
        by_drop[share] = "water-unlit" in [reason.code for reason in known.because]
    assert by_drop == {0.9: False, 1.1: True}


def test_a_heater_that_never_lights_fails():
    """By too little flow, or by too little pressure; nothing is then said of how hot it comes."""
    little = results_of(WATER.replace("least-flow: 2.5 L/min", "least-flow: 9 L/min"))["shower"]
    assert codes(little) == [("water-unlit", "fail")]
    weak = results_of(WATER.replace("least-pressure: 15 kPa", "least-pressure: 200 kPa"))["shower"]
    assert codes(weak) == [("water-low-pressure", "fail")]


def test_a_pump_that_does_not_lift_the_water_fails():
    """30 m up a pump of 240 kPa gives nothing."""
    shower = results_of(WATER.replace("height: 0.9 m", "height: 29 m"))["shower"]
    assert codes(shower) == [("water-stalls", "fail")]


def test_a_wanted_temperature_that_no_flow_gives_is_said():
    """Water that is wanted so hot that its flow is below the least that lights the heater."""
    shower = results_of(PASSES.replace("wanted: 38 degC", "wanted: 85 degC"))["shower"]
    (reason,) = (reason for reason in shower.because if reason.code == "water-cool")
    assert reason.verdict is Verdict.FAIL
    assert reason.details["wanted_m3_s"] < reason.details["least_m3_s"]


def test_the_limit_belongs_to_the_rule():
    """The same water fails under the Australian rule, by its 50 degC; under one without a limit it is open."""
    hot = PASSES.replace("measured: 4.9 L/min", "measured: 3.2 L/min").replace("least-input: 40 %", "least-input: none")
    (reason,) = results_of(hot)["shower"].because
    assert (reason.code, reason.verdict, reason.details["limit_k"]) == ("water-hot", Verdict.FAIL, 323.15)
    other = GAS.replace("as-nzs-5601.2", "ifgc-11inwc")
    assert codes(results_of(hot, other)["shower"]) == [("water-no-limit", "undecided")]
    own = hot.replace("water:\n", "water:\n  hottest: 65 degC\n")
    assert results_of(own, other)["shower"].verdict is Verdict.PASS


def test_water_that_would_boil_fails_under_any_rule():
    """42 MJ/h into a litre a minute."""
    boils = PASSES.replace("measured: 4.9 L/min", "measured: 1 L/min").replace("2.5 L/min", "0.5 L/min")
    other = GAS.replace("as-nzs-5601.2", "ifgc-11inwc")
    assert ("water-hot", "fail") in codes(results_of(boils, other)["shower"])


def test_a_tempering_valve_and_a_setting_keep_to_the_limit():
    """Either puts the too hot water right."""
    hot = PASSES.replace("measured: 4.9 L/min", "measured: 3.2 L/min")
    assert results_of(hot)["shower"].verdict is Verdict.FAIL
    assert results_of(hot.replace("height: 0.9 m}", "height: 0.9 m, tempered: 45 degC}"))["shower"].because == ()
    fixes = {fix.kind: fix for fix in results_of(hot)["shower"].fixes}
    setting = hot.replace("measured: 3.2", f"set: {fixes['set'].value * 100:.0f} %, measured: 3.2")
    assert fixes["set"].result.verdict is results_of(setting)["shower"].verdict is Verdict.PASS


def test_a_range_that_is_wanted_has_a_most():
    """A heater that can't be turned down gives 43 degC: too warm for 36 to 39 degC; by 40 % it can be."""
    ranged = PASSES.replace("wanted: 38 degC", "wanted: 36 to 39 degC")
    assert results_of(ranged)["shower"].verdict is Verdict.PASS
    fixed = results_of(ranged.replace("least-input: 40 %", "least-input: none"))["shower"]
    assert codes(fixed) == [("water-warm", "fail")]
    unknown = results_of(ranged.replace("least-pressure: 15 kPa, least-input: 40 %", "least-pressure: 15 kPa"))[
        "shower"
    ]
    assert codes(unknown) == [("water-unknown", "undecided")]


def test_what_is_not_tried_is_told(monkeypatch, drawbar, tmp_path):
    """Of connections too many to try another pump for all, those left out are told on the page and in JSON."""
    tried = results_of(FAILS)["shower"]
    assert tried.because
    assert tried.has_fixes_tried
    monkeypatch.setattr("drawbar.water_line.water_answer._MOST_TRIED", 10)
    (tmp_path / "job.yaml").write_text(GAS + FAILS)
    page = drawbar("hotwater", str(tmp_path / "job.yaml"))
    assert "For shower no other pump or setting was tried: there are too many connections." in " ".join(
        page.out.split()
    )
    data = json.loads(drawbar("hotwater", str(tmp_path / "job.yaml"), "--format", "json").out)
    assert [each["fixes_tried"] for each in data["results"][0]["connections"]] == [False]


def test_stretches_of_one_pipe_are_solved_as_one(monkeypatch):
    """A hose in twenty pieces comes to what it does whole, and a look at a flow takes no more work."""
    taken, looks = water_flow._taken, []
    monkeypatch.setattr(water_flow, "_taken", lambda *args: looks.append(args) or taken(*args))
    longer = WATER.replace("length: 5 m", "length: 6 m")  # worked out by no other test, and so not remembered
    of_whole = results_of(longer)["shower"].flows.drawn
    for_whole = len(looks)
    looks.clear()
    entry = next(line for line in longer.splitlines() if "hose: {pipe" in line)
    names = [f"hose-{number}" for number in range(20)]
    pieces = "\n".join(entry.replace("hose:", f"{name}:").replace("length: 6 m", "length: 0.3 m") for name in names)
    in_pieces = longer.replace(entry, pieces).replace("hot: [hose]", f"hot: [{', '.join(names)}]")
    of_pieces = results_of(in_pieces)["shower"].flows.drawn
    assert of_pieces.flow_m3_s == pytest.approx(of_whole.flow_m3_s, rel=1e-9)
    assert len(of_pieces.drops) == len(of_whole.drops) + 19
    points = (len(looks) - for_whole) / 19  # where each piece is worked out once
    assert points == int(points) < 0.05 * for_whole


# facts of the trade: common practice, no source


def test_a_pump_raised_from_3_8_to_6_litres_cools_what_was_too_hot():
    """Common practice: a pump of 3.8 L/min is changed for one of 6 L/min, as the first brings the shower too hot."""
    pumps = "{open-flow: 3.8 L/min, shut-off: 240 kPa}"
    small = WATER.replace(
        "{curve: [{flow: 0 L/min, pressure: 240 kPa}, {flow: 7.5 L/min, pressure: 0 kPa}], current: 4}", pumps
    )
    before = results_of(small)["shower"]
    after = results_of(small.replace("3.8 L/min", "6 L/min"))["shower"]
    assert before.verdict is Verdict.FAIL
    assert before.hot.full.drawn_k > 323.15
    assert 313.15 < after.hot.full.drawn_k < 323.15
    fix = next(fix for fix in before.fixes if fix.kind == "pump")
    assert fix.value / L_MIN == pytest.approx(6.0)
    assert fix.result.verdict is Verdict.UNDECIDED  # until the flow is measured


def test_the_sink_beside_the_heater_is_hot_within_about_five_seconds():
    """Common practice: with a metre of hose the water is hot within about five seconds."""
    sink = results_of(PASSES.replace("length: 5 m", "length: 1 m"))["shower"].wait
    assert sink.least_s < 1.5
    assert 3.0 < sink.most_s < 7.0


def test_a_shower_hose_of_five_metres_works():
    """Common practice: five metres of 10 mm hose to the rose take little of what a 12 V pump gives."""
    shower = results_of(WATER)["shower"]
    hose = next(drop for drop in shower.flows.drawn.drops if drop.stretch.name == "hose")
    assert hose.drop_pa < 0.1 * 240e3
    assert shower.flows.least.flow_m3_s > 2.5 * L_MIN


def test_the_ends_hold_what_lies_between():
    """Every flow of lines within the tolerances is between the least and the most, their temperatures as well."""
    base = results_of(WATER)["shower"]
    for length, height, drop in (
        ("4.91 m", "0.9 m", "25 kPa"),
        ("5.09 m", "0.9 m", "35.9 kPa"),
        ("5 m", "0.9 m", "24.1 kPa"),
    ):
        text = WATER.replace("length: 5 m", f"length: {length}").replace("drop: 30 kPa", f"drop: {drop}")
        near = results_of(text.replace("height: 0.9 m", f"height: {height}"))["shower"]
        assert base.flows.least.flow_m3_s < near.flows.drawn.flow_m3_s < base.flows.most.flow_m3_s
        assert base.hot.full.coldest_k < near.hot.full.drawn_k < base.hot.full.hottest_k


# the gas side


def test_a_connection_is_a_state_of_the_gas_side_where_it_says_what_is_on_with_it():
    """The most that the heater may draw for what is wanted, by the heat balance, and the stove in full."""
    job = job_from(GAS + PASSES.replace("for: 5 min", "for: 5 min, with: [stove]"))
    state = next(state for state in job.states if state.name == "shower")
    share = dict(state.shares)
    mass_kg_s = 4.9 * 1.05 * L_MIN * 998.94
    assert share["heater"] == pytest.approx(mass_kg_s * 4180.0 * 22.0 / (0.8 * 42e6 / 3600), rel=2e-3)
    assert (share["stove"], state.on_s) == (1.0, 300.0)
    assert [state.name for state in drawbar.supply(job).states] == ["all on", "shower"]
    assert [state.name for state in job_from(GAS + PASSES).states] == ["all on"]


# bad input


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("outlet: rose", "outlet: ros", "there is no outlet `ros`; did you mean `rose`?"),
        ("source: tank", "source: tnk", "there is no source `tnk`; did you mean `tank`?"),
        ("cold: [suction]", "cold: [sucton]", "there is no run `sucton` of water; did you mean `suction`?"),
        ("heater: heater, hot", "heater: stove, hot", "there is no heater `stove`"),
        ("pressure: 0 kPa}]", "pressure: 300 kPa}]", "does not fall with the flow"),
        ("for: 5 min", "for: 5 min, with: [stov]", "there is no appliance `stov`; did you mean `stove`?"),
        ("for: 5 min", "every: 1 h", "stands without `for`"),
        ("for: 5 min", "set: 20 %", "is below the 40 % of `least-input`"),
        ("efficiency: 80 %, flow: 6 L/min, ", "efficiency: 80 %, ", "`flow` is missing"),
        ("volume: 90 L", "volumn: 90 L", "is not a key here; did you mean `volume`?"),
        ("current: 4}", "current: 4, shut-off: 100 kPa}", "stands beside `curve`"),
    ],
)
def test_what_is_wrong_with_the_water_side_is_told(before, after, said):
    """With what would fit."""
    assert before in WATER
    with pytest.raises(Problems) as told:
        job_from(GAS + WATER.replace(before, after, 1))
    assert said in str(told.value)


def test_a_pump_with_half_its_figures_is_a_problem():
    """The open flow alone is no curve."""
    pump = "{curve: [{flow: 0 L/min, pressure: 240 kPa}, {flow: 7.5 L/min, pressure: 0 kPa}], current: 4}"
    with pytest.raises(Problems, match="`shut-off` is missing"):
        job_from(GAS + WATER.replace(pump, "{open-flow: 7.5 L/min}"))


# the command


def test_the_command_ends_with_the_verdict(tmp_path, monkeypatch, drawbar):
    """0, 1 and 3 by the verdict; JSON and CSV carry what the library gives."""
    monkeypatch.chdir(tmp_path)
    for water, code in ((PASSES, 0), (FAILS, 1), (OPEN, 3)):
        Path("job.yaml").write_text(GAS + water, encoding="utf-8")
        assert drawbar_code(drawbar) == code
    out = drawbar("hotwater", "job.yaml", "--format", "json")[1]
    (result,) = json.loads(out)["results"]
    (shower,) = result["connections"]
    known = water_results(job_from(GAS + OPEN))[0]
    assert (result["verdict"], shower["verdict"]) == ("undecided", "undecided")
    assert shower["flow_L_min"] == pytest.approx(known.flows.drawn.flow_m3_s / L_MIN)
    assert shower["full"]["hottest_degC"] == pytest.approx(known.hot.full.hottest_k - 273.15)
    head, row = drawbar("hotwater", "job.yaml", "--format", "csv")[1].splitlines()
    cells = dict(zip(head.split(","), row.split(","), strict=False))
    assert (cells["connection"], cells["appliance"]) == ("shower", "heater")
    assert float(cells["flow_L_min"]) == pytest.approx(known.flows.drawn.flow_m3_s / L_MIN, rel=1e-5)
    assert row.endswith(",undecided")


def drawbar_code(drawbar):
    """Return the exit code of `hotwater`."""
    return drawbar("hotwater", "job.yaml")[0]


def test_one_screen_answers_and_full_works_it_out(drawbar):
    """The example fits on 23 lines of 80 columns, above the prompt; `--full` has formula, numbers and source."""
    example = str(EXAMPLES / "shower-tent-camper.yaml")
    code, out, err = drawbar("hotwater", example)
    assert (code, err) == (1, "")
    assert len(out.splitlines()) <= 23
    assert max(map(len, out.splitlines())) <= 80
    assert "from-the-can: a larger pump" in " ".join(out.split())
    whole = " ".join(drawbar("hotwater", example, "--full")[1].split())
    for told in (
        "Colebrook-White",
        "IAPWS SR6-08(2011)",
        "T2 = T1 + P / (rho V cp) = 16 degC",
        "drain heater, pump and",
    ):
        assert told in whole


def test_no_screen_of_an_american_job_has_a_metric_unit_or_an_australian_note(drawbar, tmp_path):
    """In US gallons, degF, feet and inches; no AS/NZS."""
    (tmp_path / "job.yaml").write_text(
        (GAS + WATER).replace("as-nzs-5601.2", "ifgc-11inwc").replace("42 MJ/h", "40000 Btu/h"), encoding="utf-8"
    )
    for full in ([], ["--full"]):
        out = drawbar("hotwater", str(tmp_path / "job.yaml"), "--units", "us", *full)[1]
        assert "AS/NZS" not in out
        for unit in (" degC", " L/min", "MJ/h", " mm", "kPa", " kg"):
            assert unit not in out, (unit, out)


def test_what_is_asked_about_is_told_of_a_heater_without_heats(drawbar, tmp_path):
    """`--flow` and `--outlet` go by the heat balance from the source's water: 42 MJ/h, 80 %, 16 degC at 8 L/min."""
    (tmp_path / "job.yaml").write_text(GAS + PASSES, encoding="utf-8")
    asked = ("hotwater", str(tmp_path / "job.yaml"), "--flow", "8 L/min", "--outlet", "40 degC", "--format", "json")
    (result,) = json.loads(drawbar(*asked)[1])["results"]
    given, pump, wanted = result["heaters"][0]["flows"]
    assert given["flow_L_min"] == pytest.approx(4.9)
    assert pump["outlet_degC"] == pytest.approx(16 + 0.8 * 42e6 / 3600 / (8 * L_MIN * 998.94 * 4182.0), abs=0.05)
    assert wanted["outlet_degC"] == pytest.approx(40.0)


def test_names_of_the_water_side_are_completed(tmp_path, monkeypatch):
    """A connection that is a state, and a heater without `heats`."""
    import click

    from drawbar.cli import complete_names

    monkeypatch.chdir(tmp_path)
    Path("job.yaml").write_text(GAS + PASSES.replace("for: 5 min", "for: 5 min, with: [stove]"), encoding="utf-8")
    context = click.Context(click.Command("supply"))
    context.args = ["job.yaml"]
    assert complete_names.state_names(context, click.Argument(["file"]), "") == ["shower"]
    assert complete_names.heater_names(context, click.Argument(["file"]), "") == ["heater"]
