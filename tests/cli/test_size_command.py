"""`drawbar size` as a user calls it: what it prints, writes and refuses."""

import json
import re
import shutil

import pytest

from paths import EXAMPLES

OPEN = "market-kitchen-open.yaml"


@pytest.fixture
def run(drawbar, monkeypatch):
    """Return the program as a call in the folder of the examples, or in another."""

    def call(*words, folder=EXAMPLES, stdin=""):
        monkeypatch.chdir(folder)
        return drawbar(*map(str, words), stdin=stdin)

    return call


def test_the_sizes_written_pass_check_and_nothing_else_changes(run, tmp_path):
    """`--write` makes a file that check passes, the same but for the pipes; a second time nothing changes."""
    job = tmp_path / OPEN
    before = (EXAMPLES / OPEN).read_text()
    job.write_bytes(b"\xef\xbb\xbf" + before.replace("\n", "\r\n").encode())
    assert run("check", job).code == 2
    done = run("size", job, "--write")
    assert (done.code, done.err) == (0, f"{job}: 5 sizes written\n")
    written = job.read_bytes()
    assert written.startswith(b"\xef\xbb\xbf")
    after = written.decode("utf-8-sig").replace("\r\n", "\n")
    assert "\r" not in after
    changed = [(old, new) for old, new in zip(before.splitlines(), after.splitlines(), strict=True) if old != new]
    assert len(changed) == 5
    for old, new in changed:
        name, pipe, rest = old.partition("pipe: ")
        assert new.startswith(name + pipe + "as1432-b/")
        assert new.endswith(rest[rest.index(", length") :])
    assert run("check", job).code == 0
    assert run("size", job, "--write").code == 0
    assert job.read_bytes() == written
    assert [path.name for path in tmp_path.iterdir()] == [OPEN]


def test_the_page_is_one_screen(run, tmp_path):
    """Verdict, cost and its proof, a row a run, the worst appliance, what to call next, one caution; then the prompt.

    The figures of a smaller size are those of the check with that size.
    """
    done = run("size", OPEN)
    lines = done.out.splitlines()
    assert (done.code, done.err) == (0, "")
    assert lines[0] == "Market kitchen on a tandem trailer (Q-0131): sizes: PASS"
    assert "Cost 3.004 kg of pipe: no other choice of sizes that passes costs less." in lines
    assert "oven   as1432-b/9.52   1.60  7.94: oven-and-hob 0.065 kPa short in washing" in lines
    assert f"To put these sizes into {OPEN}: the same call with --write." in lines
    assert len(lines) <= 23
    assert max(map(len, lines)) <= 80
    sizes = {row.split()[0]: row.split()[1] for row in lines if " as1432-b/" in row}
    text = (EXAMPLES / OPEN).read_text()
    for name, size in {**sizes, "oven": "as1432-b/7.94"}.items():
        text = re.sub(rf"(^  {name}: .*pipe: )(?:as1432-b/auto|\[[^]]*\])", rf"\g<1>{size}", text, flags=re.MULTILINE)
    (tmp_path / "smaller.yaml").write_text(text)
    states = json.loads(run("check", "smaller.yaml", "--format", "json", folder=tmp_path).out)["results"][0]["states"]
    least = min((appliance["margin_Pa"], appliance["name"]) for state in states for appliance in state["appliances"])
    worst = min(
        (appliance["worst_margin_Pa"], appliance["name"]) for state in states for appliance in state["appliances"]
    )
    assert "oven-and-hob" in (least[1], worst[1])
    assert min(abs(least[0] + 65.0), abs(worst[0] + 65.0)) <= 0.5


def test_pounds_of_pipe_where_the_job_is_in_feet(run):
    """The cost by mass is in the job's own unit: NIST SP 811, 1 lb = 0.45359237 kg."""
    pounds = 3.004 / 0.45359237
    said = re.search(r"Cost ([0-9.]+) lb of pipe", run("size", OPEN, "--units", "us").out)
    assert float(said[1]) == pytest.approx(pounds, abs=2e-3)


def test_json_holds_the_sizes_and_the_check(run):
    """The sizes, why none is smaller, the longest-run method, and the check's own parts are in the JSON."""
    done = run("size", OPEN, "--format", "json")
    (result,) = json.loads(done.out)["results"]
    assert result["verdict"] == "pass"
    assert [size["pipe"] for size in result["sizes"]] == [section["pipe"] for section in result["states"][0]["runs"]]
    for size in result["sizes"]:
        assert size["pipe"] in size["choices"]
        assert size["next_smaller"] is None or size["next_smaller"]["verdict"] == "fail"
    assert result["cost"] == pytest.approx(sum(size["cost"] for size in result["sizes"]))
    assert result["longest_run_verdict"] == "fail"


def test_wishes_are_kept(run):
    """Few sizes, one size, and room for growth each show in the result."""
    few, one_size, roomy = (
        json.loads(run("size", OPEN, *wish, "--format", "json").out)["results"][0]
        for wish in (["--most-sizes", "2"], ["--one-size"], ["--reserve", "20 %"])
    )
    assert len({size["pipe"] for size in few["sizes"]}) <= 2
    assert len({size["pipe"] for size in one_size["sizes"]}) == 1
    assert roomy["cost"] > few["cost"] * 0.9
    assert roomy["reserve"] == pytest.approx(0.2)


def test_stock_and_prices_limit_and_cost_the_choice(run, tmp_path):
    """With a stock list only what is in it is chosen; with prices the cost is money and pipe and fittings count."""
    (tmp_path / "stock.yaml").write_text("stock: [as1432-b/12.70, as1432-b/15.88]\n")
    done = run("size", OPEN, "--stock", tmp_path / "stock.yaml", "--format", "json")
    sizes = json.loads(done.out)["results"][0]["sizes"]
    assert {size["pipe"] for size in sizes} <= {"as1432-b/12.70", "as1432-b/15.88"}
    priced = json.loads(run("size", OPEN, "--prices", "prices.yaml", "--format", "json").out)["results"][0]
    left = next(size for size in priced["sizes"] if size["name"] == "left")
    assert left["pipe"] == "as1432-b/12.70"
    assert left["cost"] == pytest.approx(0.7 * 9.80 + 4.80)  # pipe by the metre, and the tee that it leaves by the side
    assert priced["cost_unit"] == "AUD"


@pytest.mark.parametrize(
    ("stock", "message"),
    [
        ("stock: [as1432-b/6.3]\n", "stock.yaml:1:9: stock: `6.3` is not a size of as1432-b; did you mean `6.35`?\n"),
        (
            "stock: [as1432-a/9.52]\n",
            f"{OPEN}:13:34: runs.main.pipe: none of its 10 choices is in stock.yaml; "
            "add one of as1432-b/6.35, as1432-b/7.94, as1432-b/9.52, as1432-b/12.70 there",
        ),
    ],
)
def test_a_stock_list_that_does_not_fit(run, tmp_path, stock, message):
    """A wrong size is told where it stands in the list; a list without any choice, where the job asks for one."""
    shutil.copy(EXAMPLES / OPEN, tmp_path)
    (tmp_path / "stock.yaml").write_text(stock)
    done = run("size", OPEN, "--stock", "stock.yaml", folder=tmp_path)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(message)


@pytest.mark.parametrize(
    ("prices", "message"),
    [
        ("per-metre: {as1432-b/9.52: 0}\n", "prices.yaml:1:28: per-metre.as1432-b/9.52: "),
        ("per-metre: {as1432-b/9.52: -4.50}\n", "prices.yaml:1:28: per-metre.as1432-b/9.52: "),
        (
            "per-metre: {as1432-b/9.52: 4.50}\n",
            f"{OPEN}:13:34: runs.main.pipe: prices.yaml has no price for as1432-b/6.35",
        ),
    ],
)
def test_a_price_list_that_does_not_fit(run, tmp_path, prices, message):
    """A price of zero or less is told where it stands; a missing price, where the choice stands in the job."""
    shutil.copy(EXAMPLES / OPEN, tmp_path)
    (tmp_path / "prices.yaml").write_text(prices)
    done = run("size", OPEN, "--prices", "prices.yaml", folder=tmp_path)
    assert (done.code, done.out) == (2, "")
    assert message in done.err


CONTRADICTING = """job: Two sizes
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa, capacity: 180 MJ/h}
runs:
  main: {from: regulator, pipe: [as1432-b/7.94, as1432-b/9.52], length: 1 m}
  tail: {from: main, pipe: [as1432-b/12.70, as1432-b/15.88], length: 1 m}
appliances:
  hob: {at: tail, input: 8 MJ/h}
"""


@pytest.mark.parametrize(
    ("wish", "message"),
    [
        (
            "--no-increase",
            "job.yaml:7:28: runs.tail.pipe: is larger than main in every choice, which --no-increase forbids; "
            "allow a smaller size here, or a larger one in main\n",
        ),
        (
            "--one-size",
            "job.yaml:6:33: runs.main.pipe: no one size is enough for the choices of every run, "
            "and this run has the fewest; allow more sizes here, or more sizes in all\n",
        ),
    ],
)
def test_choices_that_contradict_a_wish(run, tmp_path, wish, message):
    """Where the wish can't be kept whatever the pressures, that is said at the run, with exit code 2."""
    (tmp_path / "job.yaml").write_text(CONTRADICTING)
    done = run("size", "job.yaml", wish, folder=tmp_path)
    assert (done.code, done.out, done.err) == (2, "", message)
    assert run("size", "job.yaml", "--most-sizes", "2", folder=tmp_path).code == 0


def test_an_impossible_job_says_what_is_short_and_what_would_help(run, tmp_path):
    """Where nothing passes: exit code 1, the appliance and how far off it is, and the file is left as it was."""
    text = (EXAMPLES / OPEN).read_text().replace("as1432-b/auto", "[as1432-b/6.35, as1432-b/7.94]")
    (tmp_path / OPEN).write_text(text)
    done = run("size", OPEN, "--write", folder=tmp_path)
    assert (done.code, done.err) == (1, "")
    words = " ".join(done.out.split())
    assert "sizes: FAIL" in words
    assert "No choice of sizes passes. With the largest everywhere, water-heater still is " in words
    assert "To put it right: - Allow a larger size in main, or make it shorter" in words
    assert len(done.out.splitlines()) <= 23
    assert (tmp_path / OPEN).read_text() == text


def test_a_wish_that_no_choice_keeps_is_told_as_such(run, tmp_path):
    """Where sizes pass, but none as the wish wants them, the page says that: exit code 1, no traceback."""
    text = CONTRADICTING.replace(
        "[as1432-b/7.94, as1432-b/9.52], length: 1 m", "[as1432-b/9.52, as1432-b/25.40], length: 4 m"
    )
    text = text.replace("[as1432-b/12.70, as1432-b/15.88]", "[as1432-b/9.52, as1432-b/12.70]").replace(
        "8 MJ/h", "80 MJ/h"
    )
    (tmp_path / "job.yaml").write_text(text)
    assert run("size", "job.yaml", folder=tmp_path).code == 0
    done = run("size", "job.yaml", "--one-size", folder=tmp_path)
    assert (done.code, done.err) == (1, "")
    words = " ".join(done.out.split())
    assert "The largest choice everywhere passes, but no choice was found that keeps to what was asked" in words


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            ["--one-size", "--most-sizes", "2"],
            "--one-size and --most-sizes ask for different things; give one of them.",
        ),
        (["--reserve", "20"], "`20` has no unit; write % after it"),
        (["--reserve", "-5 %"], "`-5 %` can't be right; write from 0 % to 500 %"),
    ],
)
def test_a_wrong_call_is_told(run, words, message):
    """Exit code 2 and a sentence."""
    done = run("size", OPEN, *words)
    assert (done.code, done.out) == (2, "")
    assert message in " ".join(done.err.split())


def test_standard_input_can_be_sized_but_not_written(run):
    """A job from standard input is sized; `--write` then has nowhere to write."""
    text = (EXAMPLES / OPEN).read_text()
    assert run("size", "-", stdin=text).code == 0
    refused = run("size", "-", "--write", stdin=text)
    assert refused.code == 2
    assert "--write needs a job file, not standard input." in refused.err
