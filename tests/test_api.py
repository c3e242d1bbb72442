"""drawbar as a Python library: the calls, what they return, their types, and the example script."""

import csv
import io
import json
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest

import drawbar
from drawbar.checking.results import TOLERANCE_PA
from paths import EXAMPLES, ROOT

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
OPEN = EXAMPLES / "market-kitchen-open.yaml"

# The main example with a shorter, thinner main: it passes, and with a heater of 80 MJ/h it needs the next size.
THIN = (
    TRAILER.read_text(encoding="utf-8")
    .replace(
        "main:     {from: regulator, pipe: as1432-b/15.88, length: 3.6 m",
        "main: {from: regulator, pipe: as1432-b/12.70, length: 2.0 m",
    )
    .replace("input: 50 MJ/h}", "input: 40 MJ/h}")
    .replace("ref: Q-0117", "ref: Q-0118")
)


def run(code: str) -> str:
    """Return what a fresh interpreter prints."""
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, timeout=60, check=True
    )
    return done.stdout.strip()


def cli(*arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "drawbar", *arguments], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stderr == ""
    return done.stdout


# names


def test_importing_is_cheap():
    """`import drawbar` loads neither yaml, pint, click nor any other module of the package."""
    code = (
        "import drawbar, sys; print([m for m in sys.modules if m in ('yaml', 'pint', 'click') or m[:8] == 'drawbar.'])"
    )
    assert run(code) == "[]"


@pytest.mark.parametrize("name", drawbar.__all__)
def test_every_name_is_there(name):
    """Each name of `__all__` is the library's object of that name, and no module."""
    from drawbar import api

    assert getattr(drawbar, name) is getattr(api, name)
    assert type(getattr(drawbar, name)).__name__ != "module"
    assert name in dir(drawbar)


def test_the_names_are_those_of_the_library_module():
    """The package and its library module list the same names."""
    from drawbar import api

    assert drawbar.__all__ == api.__all__


def test_an_unknown_name():
    """Any other name is an AttributeError, as of every module."""
    with pytest.raises(AttributeError, match=r"^module 'drawbar' has no attribute 'chekc'$"):
        drawbar.chekc  # noqa: B018


# reading


def test_reading_a_job():
    """A job reads from a path of either kind, with the project's own catalogue or another."""
    job = drawbar.read_job(TRAILER, sized=True)
    assert isinstance(job, drawbar.Job)
    assert job.title == "Harvest-fair food trailer"
    assert drawbar.read_job(str(TRAILER), drawbar.Catalogue(), sized=True) == job


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


# what the commands print


def test_check_has_the_figures_of_the_command():
    """`check` gives what `drawbar check` prints: the same verdict, margins and drops."""
    result = drawbar.check(drawbar.read_job(TRAILER, sized=True))
    assert isinstance(result, drawbar.CheckResult)
    printed = json.loads(cli("check", str(TRAILER), "--format", "json"))["results"][0]
    assert result.passes
    assert printed["verdict"] == "pass"
    for state, shown in zip(result.states, printed["states"], strict=True):
        assert state.name == shown["name"]
        margins = {one.name: one.margin_pa for one in state.appliances}
        assert margins == pytest.approx({one["name"]: one["margin_Pa"] for one in shown["appliances"]}, abs=0.01)
        assert all(margin > -TOLERANCE_PA for margin in margins.values())


def test_size_has_the_sizes_of_the_command():
    """`size` gives what `drawbar size` prints, and its job can be checked and taken off."""
    result = drawbar.size(drawbar.read_job(OPEN), wishes=drawbar.Wishes(no_increase=True))
    assert isinstance(result, drawbar.SizeResult)
    assert result.passes
    printed = cli("size", str(OPEN), "--no-increase", "--format", "csv").splitlines()
    rows = list(csv.DictReader(printed))
    sizes = {row["run"]: row["pipe"] for row in rows if row["run"]}
    assert {run.name: run.pipes[0].label for run in result.sized.runs} == sizes
    assert drawbar.check(result.sized).passes
    assert isinstance(drawbar.takeoff(result.sized), drawbar.Takeoff)


def test_takeoff_and_quote_have_the_lines_of_the_command():
    """`takeoff` and `quote` give the lines and the total of `drawbar takeoff --prices`."""
    jobs = [drawbar.read_job(TRAILER, sized=True)] * 2
    prices = drawbar.read_prices(EXAMPLES / "prices.yaml")
    assert isinstance(prices, drawbar.PriceList)
    taken = drawbar.takeoff(*jobs, waste=Decimal("0.05"), stock_m=Decimal(6), kerf_m=Decimal("0.002"))
    quote = drawbar.quote(taken, prices)
    assert isinstance(quote, drawbar.Quote)
    call = ["takeoff", str(TRAILER), str(TRAILER), "--prices", str(EXAMPLES / "prices.yaml")]
    options = ["--waste", "5 %", "--stock-length", "6 m", "--kerf", "2 mm", "--format", "json"]
    done = subprocess.run(
        [sys.executable, "-m", "drawbar", *call, *options], capture_output=True, text=True, timeout=60, check=True
    )
    printed = json.loads(done.stdout)["results"][0]["quote"]
    assert float(quote.total) == printed["total"]
    assert quote.is_complete
    assert printed["complete"]
    assert [pipe.lengths for pipe in taken.pipes] == [1, 1, 2]


def test_recheck_says_what_would_put_it_right(tmp_path):
    """`recheck` gives how a job stands before and after a swap, and the cheapest change of sizes."""
    file = tmp_path / "thin.yaml"
    file.write_text(THIN, encoding="utf-8")
    job = drawbar.read_job(file, sized=True)
    swap = drawbar.swap_of("basin", "instantaneous-heater-fixed")
    assert isinstance(swap, drawbar.Swap)
    outcome = drawbar.recheck(job, [swap])
    assert isinstance(outcome, drawbar.Outcome)
    assert (outcome.change, outcome.exit_code, outcome.swapped) == ("pass to fail", 1, ("basin",))
    assert outcome.remedy is not None
    assert outcome.remedy.sizes == (("main", "as1432-b/12.70", "as1432-b/15.88"),)
    with pytest.raises(drawbar.SwapError, match=r"^`big` is no appliance of the catalogue and no rate"):
        drawbar.swap_of("basin", "big")


def test_a_job_whose_sizes_are_open():
    """Only `size` takes a job whose sizes are open; the other calls say which run it is."""
    job = drawbar.read_job(OPEN)
    for call in (drawbar.check, drawbar.takeoff, lambda one: drawbar.recheck(one, [])):
        with pytest.raises(ValueError, match=r"^run main leaves its size open$"):
            call(job)


def test_a_takeoff_of_nothing():
    """A takeoff needs a job."""
    with pytest.raises(ValueError, match=r"^there are no jobs to take off$"):
        drawbar.takeoff()


# types, and the example


def mypy(*arguments: str, folder: Path) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(folder / "cache"), *arguments],
        capture_output=True,
        text=True,
        cwd=folder,
        timeout=300,
        check=False,
    )
    return done.stdout


def test_types(tmp_path):
    """The package is typed: mypy passes the example, knows every result, and finds a name or argument that is wrong."""
    script = tmp_path / "script.py"
    script.write_text(
        "import drawbar\n"
        "job = drawbar.read_job('job.yaml', sized=True)\n"
        "reveal_type(drawbar.check(job).passes)\n"
        "reveal_type(drawbar.size(job))\n"
        "reveal_type(drawbar.recheck(job, []))\n"
        "reveal_type(drawbar.takeoff(job))\n"
        "drawbar.chekc(job)\n"
        "drawbar.check('job.yaml')\n",
        encoding="utf-8",
    )
    said = mypy(str(EXAMPLES / "quote_swap.py"), "script.py", folder=tmp_path)
    assert said.splitlines() == [
        'script.py:3: note: Revealed type is "bool"',
        'script.py:4: note: Revealed type is "drawbar.sizing.size.SizeResult"',
        'script.py:5: note: Revealed type is "drawbar.rechecking.recheck.Outcome"',
        'script.py:6: note: Revealed type is "drawbar.materials.Takeoff"',
        'script.py:7: error: Module has no attribute "chekc"; maybe "check"?  [attr-defined]',
        'script.py:8: error: Argument 1 to "check" has incompatible type "str"; expected "Job"  [arg-type]',
        "Found 2 errors in 1 file (checked 2 source files)",
    ]


def quote_swap(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(EXAMPLES / "quote_swap.py"), *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_the_example_script(tmp_path):
    """The example reads a folder, swaps a heater, and writes what each job needs, priced, as CSV.

    By hand: 2.0 m of main and 5 % waste at 13.40, three elbows in that size at 4.20, 2.0 m to lay at 14.00; on their
    68.74 a margin of 20 %, and on both 10 % tax.
    """
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    (jobs / "a-thin.yaml").write_text(THIN, encoding="utf-8")
    (jobs / "b-trailer.yaml").write_text(TRAILER.read_text(encoding="utf-8"), encoding="utf-8")
    out = tmp_path / "quote.csv"
    done = quote_swap(str(jobs), "basin", "instantaneous-heater-fixed", str(EXAMPLES / "prices.yaml"), str(out))
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")
    head, *rows = csv.reader(io.StringIO(out.read_text(encoding="utf-8")))
    assert ",".join(head) == "file,ref,job,result,item,size,quantity,unit,price,amount"
    title = "Harvest-fair food trailer"
    assert {tuple(row[:4]) for row in rows[:-1]} == {("a-thin.yaml", "Q-0118", title, "pass to fail")}
    assert [row[4:] for row in rows[:-1]] == [
        ["pipe", "as1432-b/15.88", "2.100", "m", "13.40", "28.14"],
        ["elbow-90", "as1432-b/15.88", "3", "each", "4.20", "12.60"],
        ["laying pipe", "", "2.000", "m", "14.00", "28.00"],
        ["margin", "", "", "", "", "13.75"],
        ["tax", "", "", "", "", "8.25"],
        ["total", "", "", "", "", "90.74"],
    ]
    assert rows[-1] == ["b-trailer.yaml", "Q-0117", title, "still passes", "nothing to change", *[""] * 5]


def test_the_example_script_on_what_it_cannot_put_right(tmp_path):
    """Where no size is enough the script says how large the heater may be; a job that can't be read is told."""
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    (jobs / "a-thin.yaml").write_text(THIN, encoding="utf-8")
    (jobs / "b-open.yaml").write_text(OPEN.read_text(encoding="utf-8"), encoding="utf-8")
    out = tmp_path / "quote.csv"
    done = quote_swap(str(jobs), "basin", "4900 MJ/h", str(EXAMPLES / "prices.yaml"), str(out))
    assert done.returncode == 2
    assert "b-open.yaml:13:34: runs.main.pipe: leaves the size open" in done.stderr
    ((_, _, _, result, item, *_),) = list(csv.reader(io.StringIO(out.read_text(encoding="utf-8"))))[1:]
    assert (result, item) == ("pass to fail", "no size is enough: basin up to 55 MJ/h")
    job = drawbar.read_job(jobs / "a-thin.yaml", sized=True)
    assert [drawbar.recheck(job, [drawbar.swap_of("basin", rate)]).exit_code for rate in ("55 MJ/h", "56 MJ/h")] == [
        0,
        1,
    ]


def test_the_example_script_without_a_price(tmp_path):
    """A price that the list has not is said in its line and in the total's, and never guessed."""
    (tmp_path / "thin.yaml").write_text(THIN, encoding="utf-8")
    out = tmp_path / "quote.csv"
    priced = (EXAMPLES / "prices.yaml").read_text(encoding="utf-8").splitlines(keepends=True)
    prices = tmp_path / "prices.txt"  # no .yaml: the folder's .yaml files are its jobs
    prices.write_text("".join(line for line in priced if "as1432-b/38.10" not in line), encoding="utf-8")
    done = quote_swap(str(tmp_path), "basin", "2000 MJ/h", str(prices), str(out))
    assert (done.returncode, done.stderr) == (0, "")
    rows = [row[4:] for row in csv.reader(io.StringIO(out.read_text(encoding="utf-8")))]
    assert rows[1] == ["pipe", "as1432-b/38.10", "3.255", "m", "no price", ""]
    assert rows[-1][0] == "total, without what has no price"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["jobs", "basin"], "Run it as: python quote_swap.py FOLDER OLD NEW PRICES OUT.csv"),
        (["jobs", "basin", "9 MJ/h", "none.yaml", "out.csv"], "none.yaml: there is no such file"),
        (["jobs", "basin", "9 MJ", "none.yaml", "out.csv"], "`9 MJ` is no appliance of the catalogue and no rate"),
    ],
)
def test_the_example_script_called_wrongly(arguments, said):
    """A call that is wrong ends with a line that says so, and no file."""
    done = quote_swap(*arguments)
    assert done.returncode == 1
    assert done.stderr.startswith(said)
    assert not Path("out.csv").exists()
