"""What `drawbar takeoff` prints, and how it ends."""

import csv
import io
import json
import re
import shutil
from decimal import Decimal

import pytest

from drawbar import api
from drawbar.materials.quote import materials_of
from paths import EXAMPLES
from van_galley import B9, JOB, PRICES


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.yaml").write_text(JOB)
    (tmp_path / "prices.yaml").write_text(PRICES)
    return tmp_path


@pytest.fixture
def run(folder, drawbar):  # noqa: ARG001 - the call runs in the folder
    return lambda *words: drawbar("takeoff", *words)


def test_the_example_list_prices_the_example_job_in_full(run):
    """So that what stands in the examples can be tried as it stands."""
    code, out, err = run("--prices", str(EXAMPLES / "prices.yaml"), str(EXAMPLES / "harvest-fair-trailer.yaml"))
    assert (code, err) == (0, "")
    assert "no price" not in out
    assert re.search(r"^total +[0-9,]+\.[0-9]{2}$", out, re.MULTILINE)


SIZED = [path for path in sorted(EXAMPLES.glob("*.yaml")) if path.stem not in ("prices", "market-kitchen-open")]


@pytest.mark.parametrize("job", SIZED, ids=[path.stem for path in SIZED])
def test_a_quote_fits_one_screen_whole_or_not(run, folder, job):
    """A terminal shows 23 lines of 80 columns of it at most; a quote that lacks a price says so at both ends.

    However deep the folder is that the price list stands in.
    """
    deep = folder / "/".join(["a-folder-in-a-folder"] * 6)
    deep.mkdir(parents=True)
    shutil.copy(EXAMPLES / "prices.yaml", deep)
    code, out, err = run("--prices", str(deep / "prices.yaml"), str(job))
    assert len((out + err).splitlines()) <= 23
    assert err == ""
    assert max(map(len, out.splitlines())) <= 80
    title, *_ = out.splitlines()
    total = next(line for line in out.splitlines() if line.startswith("total "))
    assert ("INCOMPLETE" in title) == ("INCOMPLETE, with margin and tax" in total) == (code == 1)


@pytest.mark.parametrize(
    ("options", "figures"),
    [
        ((), {}),
        (("--waste", "0 %"), {"waste": 0}),
        (("--waste", "7 %"), {"waste": 0.07}),
        (("--stock-length", "6 m", "--kerf", "2 mm"), {"stock_m": 6, "kerf_m": 0.002}),
        (("--waste", "12.5 %", "--stock-length", "20 ft"), {"waste": Decimal("0.125"), "stock_m": 6.096}),
    ],
)
def test_the_command_and_the_library_price_the_same(run, options, figures):
    """To the cent and line for line, on the example; without options with the 5 % waste of the list."""
    trailer, list_file = (str(EXAMPLES / name) for name in ("harvest-fair-trailer.yaml", "prices.yaml"))
    printed = json.loads(run("--prices", list_file, "--format", "json", *options, trailer).out)["results"][0]
    job, prices = api.read_job(trailer, sized=True), api.read_prices(list_file)
    for quoted in (materials_of([job], prices, **figures)[-1].quote, api.quote(api.takeoff(job, **figures), prices)):
        assert float(quoted.total) == printed["quote"]["total"]
        assert [float(line.amount) for line in quoted.lines] == [line["amount"] for line in printed["quote"]["lines"]]
        assert [float(pipe.bought_m) for pipe in quoted.takeoff.pipes] == [
            pipe["bought_m"] for pipe in printed["pipes"]
        ]
        assert float(quoted.takeoff.waste) == printed["waste"]


PAGE = """\
Van galley (Q-7): INCOMPLETE: 1 line has no price
=================================================

File van.yaml. 5 % added to the pipe for waste.
Pipe is bought in whole lengths and priced so. Offcuts count as waste: a length
is added only where they are too little.

pipe            runs  length  with waste  lengths  bought  fewest
                           m           m   of 6 m       m  possible
--------------  ----  ------  ----------  -------  ------  --------
as1432-b/9.52      2   8.150       8.558        2  12.000  yes
as1432-b/12.70     2   5.650       5.933        1   6.000  yes

Cutting list, lengths of 6 m, 2 mm for each cut:

pipe            length  cut into                               left
                                                                  m
--------------  ------  ------------------------------------  -----
as1432-b/9.52        1  whole, for runs longer than a length  0.000
as1432-b/9.52        2  far 1.300, right 0.850                3.846
as1432-b/12.70       1  main 4.250, left 1.400                0.346
"""


def test_the_page_in_full(run):
    """Exit code 1 with a price missing; that is told on standard error and at the total."""
    code, out, err = run("--full", "--stock-length", "6 m", "--kerf", "2 mm", "--prices", "prices.yaml", "van.yaml")
    assert code == 1
    assert err == "prices.yaml: 1 line has no price: the total is incomplete\n"
    assert max(map(len, out.splitlines())) <= 80
    first, _, rest = out.partition("\nRuns longer")
    assert first == PAGE
    flat = " ".join(rest.split())
    assert "coupling as1432-b/9.52 1 each no price" in flat
    assert "total, INCOMPLETE" in flat
    assert "No price, and so not in the total: - coupling as1432-b/9.52, 1 each: add" in flat
    assert f"add `coupling@{B9}: ...` or `coupling: ...` under `each`." in flat


def test_without_options_nothing_is_added_and_joints_are_told(run):
    """No waste, no lengths, no prices."""
    code, out, err = run("--full", "van.yaml")
    assert (code, err) == (0, "")
    assert "Nothing is added for waste." in out
    assert re.search(r"^joints to make +21$", out, re.MULTILINE)
    assert re.search(r"^bend-90 +as1432-b/9.52, formed in the pipe +2$", out, re.MULTILINE)
    assert "Cutting list" not in out


def test_the_option_goes_before_the_waste_of_the_list(run):
    """5 % in the list, 10 % asked for."""
    _, out, _ = run("--waste", "10 %", "--prices", "prices.yaml", "--format", "json", "van.yaml")
    result = json.loads(out)["results"][0]
    assert result["waste"] == 0.1
    assert [pipe["with_waste_m"] for pipe in result["pipes"]] == [8.965, 6.215]


def test_csv_opens_in_a_spreadsheet(run):
    """One heading, figures bare, the sums at the end."""
    code, out, _ = run("--prices", "prices.yaml", "--format", "csv", "van.yaml")
    table = list(csv.DictReader(io.StringIO(out)))
    assert code == 0
    assert {row["job"] for row in table} == {"Van galley"}
    lines = [row for row in table if row["section"] not in ("sum", "cutting")]
    assert [row["amount"] for row in lines][:3] == ["61.19", "58.44", "24.90"]
    sums = {row["item"]: row["amount"] for row in table if row["section"] == "sum"}
    assert sums == {"materials": "360.78", "labour": "327.30", "margin": "120.41", "tax": "80.85", "total": "889.34"}
    assert sum(Decimal(row["amount"]) for row in lines) == Decimal("688.08")


def test_json_carries_the_same_figures(run):
    """Every decimal as it stands, as a number."""
    _, out, _ = run("--prices", "prices.yaml", "--stock-length", "6 m", "--format", "json", "van.yaml")
    document = json.loads(out, parse_float=Decimal)
    assert document["kind"] == "takeoff"
    result = document["results"][0]
    assert result["joints"] == 23
    assert result["pipes"][0]["cutting"]["lengths"] == [
        {
            "pieces": [{"run": "far", "length_m": Decimal("1.3")}, {"run": "right", "length_m": Decimal("0.85")}],
            "offcut_m": Decimal("3.85"),
        }
    ]
    assert result["quote"]["complete"] is False
    amounts = [line["amount"] for line in result["quote"]["lines"] if line["amount"] is not None]
    assert sum(amounts) == result["quote"]["materials"] + result["quote"]["labour"]


def test_each_job_stands_before_all_together(run, folder):
    """Two jobs, three results; a file that can't be read is told, left out and said to be."""
    (folder / "boat.yaml").write_text(JOB.replace("Q-7", "Q-8"))
    code, out, _ = run("--each", "--format", "json", "van.yaml", "boat.yaml")
    results = json.loads(out)["results"]
    assert code == 0
    assert [[job["ref"] for job in result["jobs"]] for result in results] == [["Q-7"], ["Q-8"], ["Q-7", "Q-8"]]
    assert [result["joints"] for result in results] == [21, 21, 42]
    code, out, err = run("van.yaml", "gone.yaml", "boat.yaml")
    assert code == 2
    assert err == "gone.yaml: there is no such file\n"
    assert out.startswith("2 jobs together: materials\n")
    assert "INCOMPLETE: 1 job file could not be read and left out." in out


def test_markdown_has_the_same_tables(run):
    """Pipes for the columns, the heading as one."""
    code, out, _ = run("--format", "markdown", "--prices", "prices.yaml", "van.yaml")
    assert code == 0
    assert out.startswith("## Van galley (Q-7): 889.34 AUD\n")
    assert "| 889.34 |" in re.sub(" +", " ", out)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--kerf", "2 mm"], "Error: --kerf goes with --stock-length."),
        (["--waste", "5"], "Error: Invalid value for '--waste': `5` has no unit; write % after it"),
        (["--stock-length", "6 kg"], "`kg` is not a unit of length"),
        (["--stock-length", "1 mm"], "`1 mm` can't be right; write from 0.5 m to 100 m"),
    ],
)
def test_a_wrong_option_ends_the_call(run, words, message):
    """Exit code 2, and nothing on standard output."""
    code, out, err = run(*words, "van.yaml")
    assert (code, out) == (2, "")
    assert message in err


def test_a_run_whose_size_is_open_is_told_with_its_place(run, folder):
    """A takeoff needs one size."""
    (folder / "van.yaml").write_text(
        JOB.replace("pipe: as1432-b/9.52, length: 0.85 m", "pipe: as1432-b/auto, length: 1 m")
    )
    code, out, err = run("van.yaml")
    assert (code, out) == (2, "")
    assert err.startswith("van.yaml:9:29: runs.right.pipe: ")
