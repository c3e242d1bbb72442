"""Ways of doing a job side by side: quantities reckoned by hand, what differs, and the screen."""

import csv
import io
import json
import math
import re
from pathlib import Path

import pytest
from yaml.nodes import Node

import drawbar
from calls import call_process
from drawbar.comparing.differences import Difference, differences_of, on_one_line
from drawbar.yamlfile.nodes import Source, compose
from good_job import GOOD
from paths import ROOT

COPPER_KG_M3 = 8940.0  # from memory, as handbooks give it for tube of phosphorus-deoxidised copper
TRAILER = "examples/harvest-fair-trailer.yaml"
VAN = "examples/ice-cream-van-fail.yaml"
UNDECIDED = "examples/camper-tail-undecided.yaml"


@pytest.fixture(autouse=True)
def at_the_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


def tree(text: str) -> Node:
    return compose(text, Source("job.yaml"))


def test_pipe_and_volume_are_as_reckoned_by_hand(tmp_path: Path) -> None:
    """A main of 3.6 m in 12.70 x 0.91 mm and in 15.88 x 1.02 mm tube (AS 1432, type B), and a hose of 8 mm bore.

    Volume: pi / 4 d^2 l of the bore, 10.88 and 13.84 mm, and of 1.5 m of hose. Mass: pi (D - t) t l rho of copper.
    """
    file = tmp_path / "job.yaml"
    file.write_text(GOOD, encoding="utf-8")
    compared = drawbar.compare(file, variants=["runs.main.pipe=as1432-b/15.88"])
    hose_m3 = math.pi / 4 * 0.008**2 * 1.5
    for way, outside_mm, wall_mm in zip(compared.ways, (12.70, 15.88), (0.91, 1.02), strict=True):
        bore_m = (outside_mm - 2 * wall_mm) / 1000
        assert way.volume_m3 == pytest.approx(math.pi / 4 * bore_m**2 * 3.6 + hose_m3, rel=1e-6)
        by_hand_kg = math.pi * (outside_mm - wall_mm) * wall_mm * 1e-6 * 3.6 * COPPER_KG_M3
        assert way.pipe_kg == pytest.approx(by_hand_kg, rel=0.005)  # masses are listed to three digits
        assert (way.pipe_m, way.fittings, way.joints) == (3.6, 0, 3)  # regulator, bayonet, fryer
    assert compared.differences == (Difference("runs.main.pipe", ("as1432-b/12.70", "as1432-b/15.88")),)


def test_every_figure_is_that_of_its_own_command() -> None:
    """Spare of `check`, materials of `takeoff`, price of `quote`, wait of `hotwater`, volume of `tightness`."""
    prices = drawbar.read_prices("examples/prices.yaml")
    way, wider = drawbar.compare(TRAILER, variants=["runs.rear.pipe=as1432-b/12.70"], prices=prices).ways
    for settings, shown in (({}, way), ({"runs.rear.pipe": "as1432-b/12.70"}, wider)):
        job = drawbar.read_job(TRAILER, sized=True, settings=settings)
        checked = drawbar.check(job)
        assert shown.standing.verdict is checked.verdict
        assert shown.standing.margin_pa == pytest.approx(min(state.margin_pa for state in checked.states))
        takeoff = drawbar.takeoff(job)
        assert shown.pipe_m == float(takeoff.length_m)
        assert shown.joints == takeoff.joints
        assert shown.price == drawbar.quote(takeoff, prices).total
        assert shown.waits == (("basin", None, drawbar.hotwater(job).heaters[0].draws[0].wait_s, None),)
        line = drawbar.tightness(job, hoses=True).sections
        assert shown.volume_m3 == pytest.approx(sum(section.volume_m3 for section in line))


def test_the_wait_of_each_connection_is_that_of_hotwater() -> None:
    """A job with a water side has a row for each way that it is connected; a shorter hose is hot sooner."""
    shorter = "set water.runs.shower-hose.length=2 m"
    camper = "examples/shower-tent-camper.yaml"
    connections = drawbar.hotwater(drawbar.read_job(camper)).connections
    way, short = drawbar.compare(camper, variants=[shorter]).ways
    assert [(wait.appliance, wait.connection, wait.wait_s) for wait in way.waits] == [
        ("heater", each.connection.name, each.wait.most_s) for each in connections
    ]
    before, after = ({wait.name: wait.wait_s for wait in each.waits} for each in (way, short))
    assert after["wash-up"] == before["wash-up"]
    assert after["shower"] < before["shower"] - 1.0
    assert [wait.verdict for wait in way.waits] == [each.verdict for each in connections]
    page = call_process("compare", camper, "--variant", shorter).out
    assert re.search(rf"\nhot water at wash-up, s +{before['wash-up']:.0f} +{before['wash-up']:.0f}\n", page)
    # Where the heater does not light, as with a rose thirty metres up, it never comes hot.
    (_, high) = drawbar.compare(camper, variants=["water.outlets.rose.height=30 m"]).ways
    assert {wait.name: wait.wait_s is None for wait in high.waits} == {
        "wash-up": False,
        "shower": True,
        "from-the-can": True,
    }


@pytest.mark.parametrize(
    ("texts", "differences"),
    [
        (("a: 1", "a: 1"), []),
        (("a: 1", "a: 2"), [("a", ("1", "2"))]),
        (("a: 1\nb: 2", "b: 2\na: 1"), []),
        (("a: {b: {c: 1, d: 2}}", "a: {b: {c: 1, d: 3}}"), [("a.b.d", ("2", "3"))]),
        (("a: {b: 1}", "c: 1"), [("a", ("{b: 1}", None)), ("c", (None, "1"))]),
        (("a: [x, y]", "a: [x, z]"), [("a.2", ("y", "z"))]),
        (("a: [x, y]", "a: [x]"), [("a", ("[x, y]", "[x]"))]),
        (("a: [x]", "a: x"), [("a", ("[x]", "x"))]),
        (("a: {b: 1}", "a: {b: 1}", "a: {b: 2}"), [("a.b", ("1", "1", "2"))]),
        (("a: {b: 1}", "a: {b: 2}", "c: 3"), [("a.b", ("1", "2", None)), ("c", (None, None, "3"))]),
        (("a: 'x'", 'a: "x"'), []),
    ],
)
def test_what_differs_is_told_by_its_key(texts: tuple[str, ...], differences: list[tuple[str, tuple]]) -> None:
    """Quotes and the order of keys make no difference; a table that one file alone has is told whole."""
    assert [tuple(difference) for difference in differences_of(list(map(tree, texts)))] == differences


def test_a_value_stands_on_one_line() -> None:
    """Lists and tables in brackets, with quotes where a text would end a part."""
    node = tree("a:\n  - {name: x, note: 'one, two'}\n  - y")
    assert on_one_line(node) == '{a: [{name: x, note: "one, two"}, y]}'


def test_the_screen(drawbar) -> None:
    """What differs first, then a column a way, and the worst verdict's exit code."""
    call = drawbar("compare", TRAILER, "--variant", "runs.main.pipe=as1432-b/12.70", "--units", "us")
    assert (call.code, call.err) == (1, "")
    lines = call.out.splitlines()
    assert len(lines) <= 24
    assert lines[0] == "2 ways side by side: A PASS, B FAIL"
    assert lines[4] == "B: A with runs.main.pipe = as1432-b/12.70"
    assert lines[8].split() == ["runs.main.pipe", "as1432-b/15.88", "as1432-b/12.70"]
    figures = {line.split("  ")[0]: line.split("  ", 1)[1] for line in lines[12:] if "  " in line}
    assert figures["verdict"].split() == ["PASS", "FAIL"]
    assert "lb" in figures["pipe"]
    assert "kPa" not in call.out


def test_a_job_that_cannot_be_read_does_not_stop_the_others(drawbar) -> None:
    """Exit code 2 goes before 1; the JSON has the problem beside the ways."""
    call = drawbar("compare", TRAILER, "gone.yaml", VAN, "--format", "json")
    assert (call.code, call.err) == (2, "gone.yaml: there is no such file\n")
    document = json.loads(call.out)
    assert [way["verdict"] for way in document["results"][0]["ways"]] == ["pass", "fail"]
    assert document["problems"][0]["file"] == "gone.yaml"
    assert drawbar("compare", "gone.yaml", "off.yaml").code == 2


def test_why_it_is_open_is_said_where_no_figure_shows_it(drawbar) -> None:
    """An undecided job with spare at its worst says what is not known; `--full` says all, and every key."""
    call = drawbar("compare", TRAILER, UNDECIDED)
    assert call.code == 3
    assert "- B: The rating of the regulator is not given" in " ".join(call.out.split())
    assert "more: --full lists them." in call.out
    full = drawbar("compare", TRAILER, UNDECIDED, "--full")
    assert "--full lists them" not in full.out
    assert "..." not in full.out


def test_a_row_a_way(drawbar) -> None:
    """The CSV has the same figures, an empty cell for what is not known."""
    call = drawbar("compare", TRAILER, "--variant", "runs.main.length=3 m", "--format", "csv")
    first, second = csv.DictReader(io.StringIO(call.out))
    assert (first["way"], second["way"]) == ("A", "B")
    assert (first["pipe_m"], second["pipe_m"]) == ("7.8", "7.2")
    assert (first["asked_of_way"], second["asked_of_way"]) == ("", "runs.main.length = 3 m")
    assert first["price"] == ""
    markdown = drawbar("compare", TRAILER, VAN, "--format", "markdown").out
    assert "| what differs" in markdown


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([TRAILER], "There is only one way to compare; give a second JOB, or --variant."),
        ([TRAILER, VAN, "--variant", "job=x"], "--variant goes with one JOB."),
        ([TRAILER, "--variant", " ; "], "--variant 1: the variant is empty; write KEY=VALUE; KEY=VALUE"),
        ([TRAILER, "--variant", "job"], "--variant 1: `job` is not KEY=VALUE; write KEY=VALUE, as "),
        ([TRAILER, "--variant", "swap urn=kettel"], "Invalid value for --variant: `kettel` is no appliance of the"),
    ],
)
def test_a_wrong_call_is_told(drawbar, words: list[str], message: str) -> None:
    """Exit code 2, and what to write."""
    call = drawbar("compare", *words)
    assert (call.code, call.out) == (2, "")
    assert message in call.err


def test_a_variant_has_its_own_place_and_may_hold_several_things(drawbar) -> None:
    """Semicolons part settings but in brackets and quotes; what is wrong is told of the variant, and A is shown."""
    variant = "runs.main.length=4; swap urn=24 MJ/h"
    call = drawbar("compare", TRAILER, "--variant", variant)
    assert call.code == 2
    assert call.err.startswith("--variant 1: runs.main.length: `4` has no unit; ")
    assert call.out.startswith("1 way side by side: A PASS\n")
    call = drawbar("compare", TRAILER, "--variant", 'job="a; b"; swap urn=24 MJ/h', "--format", "json")
    assert call.err == ""
    assert json.loads(call.out)["results"][0]["differences"] == [
        {"key": "job", "values": ["Harvest-fair food trailer", "a; b"]},
        {"key": "appliances.urn.input", "values": ["21 MJ/h", "24 MJ/h"]},
    ]
    call = drawbar("compare", TRAILER, "--set", "runs.main.length=3 m", "--variant", "runs.main.length=4 m")
    assert "--variant 1: runs.main.length: is set by --set 1 already; leave one of them out" in call.err
