"""drawbar as a Python library: each call beside the command that prints the same."""

import csv
import datetime
import json
from decimal import Decimal

import pytest

import drawbar
from calls import call_process
from paths import EXAMPLES

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
OPEN = EXAMPLES / "market-kitchen-open.yaml"
PRICES = EXAMPLES / "prices.yaml"


def trailer() -> drawbar.Job:
    return drawbar.read_job(TRAILER, sized=True)


def printed_by(*words: str) -> dict:
    """Return the only result that a command prints as JSON."""
    (result,) = json.loads(call_process(*words, "--format", "json").out)["results"]
    return result


# reading


def test_reading_a_job():
    """A job reads from a path of either kind, with the project's own catalogue or another."""
    job = drawbar.read_job(TRAILER, sized=True)
    assert isinstance(job, drawbar.Job)
    assert job.title == "Harvest-fair food trailer"
    assert drawbar.read_job(str(TRAILER), drawbar.Catalogue(), sized=True) == job


def test_a_job_of_a_text():
    """A text makes the job that a file of it makes, with the name it is given in results and problems."""
    text = TRAILER.read_text(encoding="utf-8")
    assert drawbar.job_from_text(text, sized=True, file=str(TRAILER)) == trailer()
    with pytest.raises(drawbar.Problems, match=r"^cart\.yaml:1:1: `regulator` is missing"):
        drawbar.job_from_text("{job: t, gas: propane}", file="cart.yaml")


def test_the_pipe_of_a_run():
    """A run whose size is decided has a pipe; one that leaves it open says so."""
    assert trailer().runs[0].pipe.label == "as1432-b/15.88"
    with pytest.raises(ValueError, match=r"^run main leaves its size open$"):
        _ = drawbar.read_job(OPEN).runs[0].pipe


def test_a_library_of_the_workshop(tmp_path):
    """A catalogue with a workshop's library knows its names; without it they are a problem with a place."""
    (tmp_path / "own.yaml").write_text(
        "appliances: {our-fryer: {title: Ours, input: 44 MJ/h, source: common practice}}\n", encoding="utf-8"
    )
    file = tmp_path / "job.yaml"
    file.write_text(
        TRAILER.read_text(encoding="utf-8").replace("input: 50 MJ/h", "input: {like: our-fryer}"), encoding="utf-8"
    )
    job = drawbar.read_job(file, drawbar.Catalogue([str(tmp_path / "own.yaml")]))
    assert job.appliances[0].input_w == pytest.approx(44e6 / 3600)
    with pytest.raises(drawbar.Problems, match="`our-fryer` is not an appliance of the catalogue") as caught:
        drawbar.read_job(file)
    (problem,) = caught.value.problems
    assert isinstance(problem, drawbar.Problem)
    assert (problem.file, problem.line, problem.where) == (str(file), 24, "appliances.fryer.input.like")


def test_problems_come_all_at_once(tmp_path):
    """All that is wrong with a file is in one exception, as data."""
    file = tmp_path / "job.yaml"
    file.write_text("job: t\ngas: air\n", encoding="utf-8")
    with pytest.raises(drawbar.Problems, match="`regulator` is missing") as caught:
        drawbar.read_job(file)
    assert len(caught.value.problems) == 5


# what the commands work out


def test_check_has_the_figures_of_the_command():
    """`check` gives what `drawbar check` prints: verdict, margins, drops and what each appliance could take more."""
    result = drawbar.check(trailer())
    assert isinstance(result, drawbar.CheckResult)
    printed = printed_by("check", str(TRAILER))
    assert result.passes
    assert printed["verdict"] == "pass"
    for state, shown in zip(result.states, printed["states"], strict=True):
        assert state.name == shown["name"]
        margins = {appliance.name: appliance.margin_pa for appliance in state.appliances}
        assert margins == pytest.approx({row["name"]: row["margin_Pa"] for row in shown["appliances"]}, abs=0.01)
        assert state.headroom is not None
    assert drawbar.check(trailer(), "pole").formula == printed_by("check", str(TRAILER), "--formula", "pole")["formula"]


def test_compare_formulas_has_the_figures_of_the_command():
    """`compare_formulas` gives the drops of `drawbar check --compare`."""
    drops_pa = drawbar.compare_formulas(trailer()).drops_pa
    printed = printed_by("check", str(TRAILER), "--compare")["compare"]
    assert len(printed) == len(drops_pa) == 8
    for row in printed:
        assert drops_pa[row["state"], row["appliance"]] == pytest.approx(row["drop_Pa"], abs=0.01)


def test_explain_goes_the_way_of_the_command():
    """`explain` gives the legs, the drop and the margin of `drawbar explain`."""
    way = drawbar.explain(trailer(), "griddle", "service")
    printed = printed_by("explain", str(TRAILER), "griddle", "--state", "service")
    assert isinstance(way, drawbar.Explained)
    assert way.drop_pa == pytest.approx(printed["drop_Pa"], abs=0.01)
    assert way.margin_pa == pytest.approx(printed["margin_Pa"], abs=0.01)
    with pytest.raises(ValueError, match=r"^basin is not on in state service$"):
        drawbar.explain(trailer(), "basin", "service")


def test_size_has_the_sizes_of_the_command():
    """`size` gives what `drawbar size` prints, and its job can be checked and taken off."""
    result = drawbar.size(drawbar.read_job(OPEN), wishes=drawbar.Wishes(no_increase=True)).result
    assert isinstance(result, drawbar.SizeResult)
    assert result.passes
    printed = call_process("size", str(OPEN), "--no-increase", "--format", "csv").out.splitlines()
    rows = list(csv.DictReader(printed))
    sizes = {row["run"]: row["pipe"] for row in rows if row["run"]}
    assert {run.name: run.pipe.label for run in result.sized.runs} == sizes
    assert drawbar.check(result.sized).passes
    assert isinstance(drawbar.takeoff(result.sized), drawbar.Takeoff)


def test_size_from_stock_at_prices(tmp_path):
    """With a stock list, a price list and a reserve the sizes and their cost are those of the command."""
    stock = tmp_path / "stock.yaml"
    stock.write_text("stock: [as1432-b/9.52, as1432-b/15.88]", encoding="utf-8")
    sizes = drawbar.size(
        drawbar.read_job(OPEN),
        wishes=drawbar.Wishes(reserve=0.05),
        stock=drawbar.read_stock(stock),
        prices=drawbar.read_prices(PRICES),
    )
    call = ("size", str(OPEN), "--stock", str(stock), "--prices", str(PRICES), "--reserve", "5 %", "--format", "csv")
    rows = [row for row in csv.DictReader(call_process(*call).out.splitlines()) if row["run"]]
    assert {run.name: run.pipe.label for run in sizes.result.sized.runs} == {row["run"]: row["pipe"] for row in rows}
    assert {row["pipe"] for row in rows} == {"as1432-b/9.52", "as1432-b/15.88"}
    assert sizes.run_costs == pytest.approx({row["run"]: float(row["cost"]) for row in rows}, abs=0.01)
    assert sizes.cost_unit == "AUD"


def test_size_from_a_stock_that_is_too_small(tmp_path):
    """A run for which nothing is in stock is a problem at its pipe."""
    stock = tmp_path / "stock.yaml"
    stock.write_text("stock: [as1432-b/9.52, en1057/15x0.7]", encoding="utf-8")
    job = drawbar.job_from_text(OPEN.read_text(encoding="utf-8").replace("as1432-b/auto", "b88-l/auto"))
    with pytest.raises(drawbar.Problems, match=r"runs\.main\.pipe: none of its \d+ choices is in .*stock\.yaml"):
        drawbar.size(job, stock=drawbar.read_stock(stock))


@pytest.mark.parametrize("start", ["", "\ufeff"])
def test_write_sizes_writes_what_the_command_writes(start, tmp_path):
    """The copy is to the byte the file that `drawbar size --write` leaves, its mark and line ends kept."""
    text = start + OPEN.read_text(encoding="utf-8").replace("\n", "\r\n")
    by_command, by_call = tmp_path / "command.yaml", tmp_path / "call.yaml"
    for file in (by_command, by_call):
        file.write_bytes(text.encode())
    assert call_process("size", "--write", str(by_command)).code == 0
    drawbar.write_sizes(drawbar.size(drawbar.read_job(by_call)).result.sized, by_call)
    assert by_call.read_bytes() == by_command.read_bytes() != text.encode()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["call.yaml", "command.yaml"]


def test_write_sizes_that_are_open_or_of_no_file(tmp_path):
    """A job with an open size, and one that was read from a text, can't be written; nothing is left behind."""
    out = tmp_path / "out.yaml"
    with pytest.raises(ValueError, match=r"^run main leaves its size open$"):
        drawbar.write_sizes(drawbar.read_job(OPEN), out)
    job = drawbar.job_from_text(TRAILER.read_text(encoding="utf-8"), file="none.yaml")
    with pytest.raises(drawbar.Problems, match=r"^none\.yaml: there is no such file$"):
        drawbar.write_sizes(job, out)
    drawbar.write_sizes(job, out, source=TRAILER)
    assert out.read_bytes() == TRAILER.read_bytes()


def test_takeoff_and_quote_have_the_lines_of_the_command():
    """`takeoff` and `quote` give the lines and the total of `drawbar takeoff --prices`; a float is as good."""
    jobs = [trailer()] * 2
    prices = drawbar.read_prices(PRICES)
    taken = drawbar.takeoff(*jobs, waste=Decimal("0.05"), stock_m=Decimal(6), kerf_m=Decimal("0.002"))
    assert drawbar.takeoff(*jobs, waste=0.05, stock_m=6.0, kerf_m=0.002) == taken
    quote = drawbar.quote(taken, prices)
    assert isinstance(quote, drawbar.Quote)
    options = ("--prices", str(PRICES), "--waste", "5 %", "--stock-length", "6 m", "--kerf", "2 mm")
    printed = printed_by("takeoff", str(TRAILER), str(TRAILER), *options)["quote"]
    assert float(quote.total) == printed["total"]
    assert quote.is_complete
    assert printed["complete"]
    assert [pipe.lengths for pipe in taken.pipes] == [1, 1, 2]


def test_a_quote_adds_the_waste_of_its_price_list():
    """A takeoff that says nothing of waste is quoted with the list's, as the command does it."""
    quote = drawbar.quote(drawbar.takeoff(trailer()), drawbar.read_prices(PRICES))
    assert str(quote.total) == "4464.33"
    assert printed_by("takeoff", str(TRAILER), "--prices", str(PRICES))["quote"]["total"] == 4464.33
    assert quote.takeoff.waste == Decimal("0.05")


def test_recheck_says_what_would_put_it_right():
    """`recheck` gives the cheapest change of sizes; put into the swapped job it passes."""
    job = trailer()
    swaps = [drawbar.parse_swap("basin", "120 MJ/h")]
    outcome = drawbar.recheck(job, swaps)
    assert isinstance(outcome, drawbar.Outcome)
    assert (outcome.change, outcome.exit_code, outcome.swapped) == ("pass to fail", 1, ("basin",))
    printed = printed_by("recheck", str(TRAILER), "--swap", "basin=120 MJ/h")
    assert outcome.change == printed["change"]
    assert not drawbar.check(drawbar.swapped(job, swaps), with_headroom=False).passes
    remedy = outcome.remedies.best
    assert remedy.kind == "larger-runs"
    remedied = remedy.applied_to(drawbar.swapped(job, swaps))
    assert drawbar.check(remedied, with_headroom=False).pressures_pass
    changed = [(old.name, new.pipe.label) for old, new in zip(job.runs, remedied.runs, strict=True) if old != new]
    assert changed == [(run, new) for run, _, new in remedy.sizes] != []


def test_a_swap_or_a_remedy_that_is_none():
    """A swap for nothing known says so; where no size is enough there is no remedy to put in."""
    with pytest.raises(drawbar.SwapError, match=r"^`big` is no appliance of the catalogue and no rate"):
        drawbar.parse_swap("basin", "big")
    remedies = drawbar.recheck(trailer(), [drawbar.parse_swap("basin", "4900 MJ/h")]).remedies
    assert remedies.of_kind("larger-runs") is None
    with pytest.raises(
        ValueError, match=r"^appliance basin has 8888.89 W, not 1.36111e\+06 W, which the remedy changes$"
    ):
        remedies.best.applied_to(trailer())


def test_supply_has_the_figures_of_the_command():
    """`supply` gives what `drawbar supply` prints, of every state or the one asked for."""
    supplied = drawbar.supply(drawbar.read_job(TRAILER), duty=drawbar.Duty(1200.0, 2400.0))
    printed = printed_by("supply", str(TRAILER), "--duty", "20 min on, 40 min off")
    for state, shown in zip(supplied.states, printed["states"], strict=True):
        assert state.name == shown["name"]
        assert state.flow_kg_s * 3600.0 == pytest.approx(shown["flow_kg_h"], abs=1e-3)
        assert state.duty_course is not None
    assert [state.name for state in drawbar.supply(trailer(), "service").states] == ["service"]
    with pytest.raises(ValueError, match="is not a state of this job"):
        drawbar.supply(trailer(), "servce")


def test_hotwater_has_the_figures_of_the_command():
    """`hotwater` gives the flows and temperatures of `drawbar hotwater`."""
    (heater,) = drawbar.hotwater(trailer(), pump_m3_s=8e-3 / 60.0, wanted_k=313.15).heaters
    printed = printed_by("hotwater", str(TRAILER), "--flow", "8 L/min", "--outlet", "40 degC")["heaters"][0]
    assert [draw.outlet_k - 273.15 for draw in heater.draws] == pytest.approx(
        [row["outlet_degC"] for row in printed["flows"]], abs=0.01
    )
    with pytest.raises(ValueError, match="says of no water that it heats it"):
        drawbar.hotwater(trailer(), "urn")


def test_tightness_has_the_figures_of_the_command():
    """`tightness` gives volume, fall and leak of `drawbar tightness`, with hoses, readings and temperatures."""
    line = drawbar.tightness(
        trailer(), hoses=True, readings_gauge_pa=(2750.0, 2700.0), temperatures_k=(293.15, 293.05), time_s=600.0
    )
    readings = ("--start", "2.75 kPa", "--end", "2.7 kPa", "--start-temperature", "20 degC")
    printed = printed_by(
        "tightness", str(TRAILER), "--hoses", *readings, "--end-temperature", "19.9 degC", "--time", "10 min"
    )
    assert line.sections[0].volume_m3 * 1000.0 == pytest.approx(printed["sections"][0]["volume_L"], abs=1e-3)
    assert line.reading is not None
    assert line.reading.fall_pa == pytest.approx(printed["reading"]["fall_Pa"], abs=0.01)
    assert line.verdict is not None
    assert line.verdict.value == printed["verdict"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"test": "en-1950"}, "is not a test of the catalogue"),
        ({"section": "galley"}, "has no regulator of its own"),
        ({"temperatures_k": (293.15, 293.15)}, "with readings"),
        ({"settled_s": 60.0}, "with readings"),
    ],
)
def test_tightness_refuses_what_cannot_be(arguments, message):
    """An argument that can't be right beside the others is a ValueError that says so."""
    with pytest.raises(ValueError, match=message):
        drawbar.tightness(trailer(), **arguments)


def test_commission_has_the_figures_of_the_command(tmp_path):
    """`expected_pressures` and `commission` give what `drawbar commission` prints without and with readings."""
    job = trailer()
    for state, shown in zip(
        drawbar.expected_pressures(job).states, printed_by("commission", str(TRAILER))["states"], strict=True
    ):
        assert [row.place.name for row in state.rows] == [point["name"] for point in shown["points"]]
        assert [row.rated_gauge_pa / 1000.0 for row in state.rows] == pytest.approx(
            [point["rated_kPa"] for point in shown["points"]], abs=1e-4
        )
    file = tmp_path / "readings.yaml"
    file.write_text("readings: [{state: breakfast, at: fryer, pressure: 2.4 kPa}]", encoding="utf-8")
    compared = drawbar.commission(job, drawbar.read_readings(file, job))
    printed = printed_by("commission", str(TRAILER), str(file))
    (reading,) = printed["readings"]
    assert compared.compared[0].difference_pa == pytest.approx(reading["difference_Pa"], abs=0.01)
    assert not compared.is_clear


def test_sheet_is_the_page_of_the_command(tmp_path):
    """`sheet` gives the file that `drawbar sheet` writes, to the byte."""
    out = tmp_path / "sheet.html"
    assert call_process("sheet", str(TRAILER), "-o", str(out), "--date", "2026-01-31").code == 0
    assert drawbar.sheet(trailer(), date=datetime.date(2026, 1, 31)) == out.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    "name",
    ["check", "compare_formulas", "explain", "takeoff", "tightness", "expected_pressures", "sheet"],
)
def test_a_job_whose_sizes_are_open(name):
    """A call that needs the sizes says which run leaves its own open."""
    with pytest.raises(ValueError, match=r"^run main leaves its size open$"):
        getattr(drawbar, name)(drawbar.read_job(OPEN))


def test_a_swap_in_a_job_whose_sizes_are_open():
    """So does `recheck`."""
    with pytest.raises(ValueError, match=r"^run main leaves its size open$"):
        drawbar.recheck(drawbar.read_job(OPEN), [])


def test_a_takeoff_of_nothing():
    """A takeoff needs a job."""
    with pytest.raises(ValueError, match=r"^there are no jobs to take off$"):
        drawbar.takeoff()
