"""The scripts of examples/: what they print and write, and what they say when they can't."""

import csv
import io
import re
import subprocess
import sys
from pathlib import Path

import pytest

import drawbar
from paths import EXAMPLES

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
OPEN = EXAMPLES / "market-kitchen-open.yaml"
PRICES = EXAMPLES / "prices.yaml"

# The main example with a shorter, thinner main: it passes, and with a heater of 80 MJ/h it needs the next size.
# The figures by hand are of the jobs as drawn.
AS_DRAWN = TRAILER.read_text(encoding="utf-8") + "tolerances: none\n"
THIN = (
    AS_DRAWN.replace(
        "main:     {from: regulator, pipe: as1432-b/15.88, length: 3.6 m",
        "main: {from: regulator, pipe: as1432-b/12.70, length: 2.0 m",
    )
    .replace("input: 50 MJ/h}", "input: 40 MJ/h}")
    .replace("ref: Q-0117", "ref: Q-0118")
)


def script(name: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(EXAMPLES / name), *arguments], capture_output=True, text=True, timeout=60, check=False
    )


@pytest.mark.parametrize("file", sorted(EXAMPLES.glob("*.py")), ids=lambda file: file.name)
def test_a_script_uses_nothing_private(file):
    """Beside the standard library a script imports drawbar alone, and asks it for names of `__all__`."""
    text = file.read_text(encoding="utf-8")
    imported = set(re.findall(r"^(?:import|from) (\w+)", text, re.MULTILINE))
    assert imported - set(sys.stdlib_module_names) == {"drawbar"}
    assert set(re.findall(r"\bdrawbar\.(\w+)", text)) <= set(drawbar.__all__)
    assert not re.search(r"\._[a-z]", text)


def test_size_bench(tmp_path):
    """It prints sizes, costs and what is to spare, and the copy is the job with these sizes, which passes."""
    copy = tmp_path / "copy.yaml"
    ended = script("size_bench.py", str(OPEN), str(copy), str(PRICES))
    assert (ended.returncode, ended.stderr) == (0, "")
    lines = ended.stdout.splitlines()
    sized = drawbar.read_job(copy, sized=True)
    costs = [line.rpartition(", ")[2].removesuffix(" AUD") for line in lines[1:6]]
    assert [line.rpartition(", ")[0] for line in lines[1:6]] == [
        f"  {run.name}: {run.pipe.label}" for run in sized.runs
    ]
    assert lines[0] == f"Market kitchen on a tandem trailer: {sum(map(float, costs)):.2f} AUD"
    assert lines[6] == "to spare in state washing, with 10% more drawn:"
    assert len(lines) == 7 + 3
    assert drawbar.check(sized).passes
    heading = OPEN.read_text(encoding="utf-8").partition("runs:")[0]
    assert copy.read_text(encoding="utf-8").startswith(heading)


def test_size_bench_where_something_is_not_known(tmp_path):
    """Sizes that hold are written, but without the regulator's rating the job is not decided, and that is said."""
    file, copy = tmp_path / "job.yaml", tmp_path / "copy.yaml"
    text = re.sub(r", capacity: [^,}]*", "", OPEN.read_text(encoding="utf-8"), count=1)
    file.write_text(text, encoding="utf-8")
    ended = script("size_bench.py", str(file), str(copy))
    assert (ended.returncode, ended.stderr) == (3, "")
    (last,) = [line for line in ended.stdout.splitlines() if line.startswith("UNDECIDED: ")]
    assert "the rating of the regulator is not given" in last
    assert drawbar.check(drawbar.read_job(copy, sized=True)).verdict is drawbar.Verdict.UNDECIDED


def test_size_bench_where_nothing_passes(tmp_path):
    """A job that no size lets pass is said to be one, and nothing is written."""
    file, copy = tmp_path / "job.yaml", tmp_path / "copy.yaml"
    text = OPEN.read_text(encoding="utf-8").replace("length: 2.8 m", "length: 1000 m, rise: 50 m")
    file.write_text(text, encoding="utf-8")
    ended = script("size_bench.py", str(file), str(copy))
    expected = "Market kitchen on a tandem trailer: no choice of sizes passes\n"
    assert (ended.returncode, ended.stdout, ended.stderr) == (1, expected, "")
    assert not copy.exists()


def folder_of_jobs(tmp_path: Path) -> Path:
    """Return a folder with a job that a larger heater makes fail, one that it does not, and one with open sizes."""
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    (jobs / "a-thin.yaml").write_text(THIN, encoding="utf-8")
    (jobs / "b-trailer.yaml").write_text(AS_DRAWN, encoding="utf-8")
    (jobs / "c-open.yaml").write_text(OPEN.read_text(encoding="utf-8"), encoding="utf-8")
    return jobs


def test_batch(tmp_path):
    """It says what changes, and writes the job that fails with the pipe that lets it pass; the others it leaves."""
    out = tmp_path / "out"
    ended = script("batch.py", str(folder_of_jobs(tmp_path)), "basin", "instantaneous-heater-fixed", str(out))
    assert ended.returncode == 2
    assert "c-open.yaml:13:34: runs.main.pipe: leaves the size open" in ended.stderr
    first, spare, second = ended.stdout.splitlines()
    assert first == "a-thin.yaml: pass to fail: main from as1432-b/12.70 to as1432-b/15.88"
    assert second == "b-trailer.yaml: still passes"
    assert [path.name for path in out.iterdir()] == ["a-thin.yaml"]
    remedied = THIN.replace(
        "main: {from: regulator, pipe: as1432-b/12.70", "main: {from: regulator, pipe: as1432-b/15.88"
    )
    assert (out / "a-thin.yaml").read_text(encoding="utf-8") == remedied != THIN
    swaps = [drawbar.parse_swap("basin", "instantaneous-heater-fixed")]
    check = drawbar.check(drawbar.swapped(drawbar.read_job(out / "a-thin.yaml"), swaps))
    assert check.passes
    worst = check.states[0]
    assert spare == f"  then {worst.margin_pa / 1000.0:.3f} kPa to spare in state {worst.name}"


def test_batch_where_no_size_is_enough(tmp_path):
    """A job that no pipe puts right is told how large the heater may be, and not written."""
    jobs, out = folder_of_jobs(tmp_path), tmp_path / "out"
    (jobs / "c-open.yaml").unlink()
    ended = script("batch.py", str(jobs), "basin", "4900 MJ/h", str(out))
    assert (ended.returncode, ended.stderr) == (1, "")
    assert ended.stdout.splitlines()[0].startswith(
        "a-thin.yaml: pass to fail: no size is enough; appliances.basin.input: 55"
    )
    assert list(out.iterdir()) == []


def test_quote_swap(tmp_path):
    """It reads a folder, swaps a heater, and writes what each job needs, priced, as CSV.

    By hand: 2.0 m of main and 5 % waste at 13.40, three elbows in that size at 4.20, 2.0 m to lay at 14.00; on their
    68.74 a margin of 20 %, and on both 10 % tax.
    """
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    (jobs / "a-thin.yaml").write_text(THIN, encoding="utf-8")
    (jobs / "b-trailer.yaml").write_text(AS_DRAWN, encoding="utf-8")
    out = tmp_path / "quote.csv"
    ended = script(
        "quote_swap.py", str(jobs), "basin", "instantaneous-heater-fixed", str(EXAMPLES / "prices.yaml"), str(out)
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, "", "")
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


def test_quote_swap_on_what_it_cannot_put_right(tmp_path):
    """Where no size is enough the script says how large the heater may be; a job that can't be read is told."""
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    (jobs / "a-thin.yaml").write_text(THIN, encoding="utf-8")
    (jobs / "b-open.yaml").write_text(OPEN.read_text(encoding="utf-8"), encoding="utf-8")
    out = tmp_path / "quote.csv"
    ended = script("quote_swap.py", str(jobs), "basin", "4900 MJ/h", str(EXAMPLES / "prices.yaml"), str(out))
    assert ended.returncode == 2
    assert "b-open.yaml:13:34: runs.main.pipe: leaves the size open" in ended.stderr
    ((_, _, _, result, item, *_),) = list(csv.reader(io.StringIO(out.read_text(encoding="utf-8"))))[1:]
    assert (result, item) == ("pass to fail", "no size is enough: appliances.basin.input: 55.6 MJ/h")
    job = drawbar.read_job(jobs / "a-thin.yaml", sized=True)
    assert [
        drawbar.recheck(job, [drawbar.parse_swap("basin", rate)]).exit_code for rate in ("55.6 MJ/h", "55.7 MJ/h")
    ] == [
        0,
        1,
    ]


def test_quote_swap_without_a_price(tmp_path):
    """A price that the list has not is said in its line and in the total's, and never guessed."""
    (tmp_path / "thin.yaml").write_text(THIN, encoding="utf-8")
    out = tmp_path / "quote.csv"
    priced = (EXAMPLES / "prices.yaml").read_text(encoding="utf-8").splitlines(keepends=True)
    prices = tmp_path / "prices.txt"  # no .yaml: the folder's .yaml files are its jobs
    prices.write_text("".join(line for line in priced if "as1432-b/38.10" not in line), encoding="utf-8")
    ended = script("quote_swap.py", str(tmp_path), "basin", "2000 MJ/h", str(prices), str(out))
    assert (ended.returncode, ended.stderr) == (0, "")
    rows = [row[4:] for row in csv.reader(io.StringIO(out.read_text(encoding="utf-8")))]
    assert rows[1] == ["pipe", "as1432-b/38.10", "3.255", "m", "no price", ""]
    assert rows[-1][0] == "total, without what has no price"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["size_bench.py", "job.yaml"], "Run it as: python size_bench.py JOB COPY [PRICES]"),
        (["size_bench.py", "none.yaml", "out.yaml"], "none.yaml: there is no such file"),
        (["batch.py", "jobs", "basin"], "Run it as: python batch.py FOLDER OLD NEW OUT"),
        (["batch.py", "jobs", "basin", "9 MJ", "out"], "`9 MJ` is no appliance of the catalogue and no rate"),
        (["quote_swap.py", "jobs", "basin"], "Run it as: python quote_swap.py FOLDER OLD NEW PRICES OUT.csv"),
        (["quote_swap.py", "jobs", "basin", "9 MJ/h", "none.yaml", "out.csv"], "none.yaml: there is no such file"),
        (["quote_swap.py", "jobs", "basin", "9 MJ", "none.yaml", "out.csv"], "`9 MJ` is no appliance of the catalogue"),
    ],
)
def test_a_script_called_wrongly(arguments, message):
    """A call that is wrong ends with a line that says so, and no file."""
    ended = script(*arguments)
    assert ended.returncode == 1
    assert ended.stderr.startswith(message)
    assert not any(Path(name).exists() for name in ("out.csv", "out.yaml", "out"))
