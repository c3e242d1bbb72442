"""`drawbar check` as a script and a person call it: the JSON contract, the other forms, many files, colour."""

import csv
import io
import json
import os
import pty
import subprocess
import sys

import pytest

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check
from drawbar.jobfile.reader import read_job_file
from drawbar.physics.formulas import FORMULAS
from paths import EXAMPLES

TRAILER, FAILING, STAGES = "harvest-fair-trailer.yaml", "ice-cream-van-fail.yaml", "riverboat-two-stage.yaml"

RESULT = {
    "file",
    "job",
    "ref",
    "verdict",
    "formula",
    "rule",
    "allowed_drop_Pa",
    "gas",
    "states",
    "warnings",
    "cautions",
}
GAS = {
    *("molar_mass_kg_per_mol", "density_kg_m3", "viscosity_Pa_s", "gross_MJ_kg", "gross_MJ_m3"),
    "relative_density",
}
STATE = {"name", "plugged", "verdict", "total_MJ_h", "runs", "appliances"}
RUN = {
    *("name", "from", "pipe", "bore_mm", "roughness_mm", "length_m", "equivalent_length_m", "rise_m", "load_MJ_h"),
    *("mass_flow_kg_h", "velocity_m_s", "reynolds", "regime", "friction_Pa", "devices_Pa", "height_Pa", "drop_Pa"),
    *("inlet_kPa", "outlet_kPa"),
}
APPLIANCE = {
    *("name", "outlet", "input_MJ_h", "pressure_kPa", "drop_Pa", "margin_Pa", "headroom_MJ_h", "verdict"),
}


def run(*words, **more):
    return subprocess.run(
        [sys.executable, "-m", "drawbar", "check", *words],
        capture_output=True,
        text=True,
        timeout=60,
        cwd=EXAMPLES,
        **more,
    )


def results(*words):
    return json.loads(run(*words, "--format", "json").stdout)


@pytest.mark.parametrize("file", [TRAILER, FAILING, STAGES])
def test_the_json_has_the_keys_of_the_contract(file):
    """Every key that scripts rely on is there, in every part; states hold every state of the job."""
    document = results(file)
    assert document["drawbar"] == "0.1.0"
    assert document["kind"] == "check"
    (result,) = document["results"]
    assert set(result) >= RESULT
    assert set(result["gas"]) == GAS
    job = read_job_file(str(EXAMPLES / file), Catalogue(), sized=True)
    assert {state["name"] for state in result["states"]} == {state.name for state in job.states}
    for state in result["states"]:
        assert set(state) >= STATE
        assert [one["name"] for one in state["runs"]] == [one.name for one in job.runs]
        assert all(set(one) >= RUN for one in state["runs"])
        assert all(set(one) >= APPLIANCE for one in state["appliances"])


def test_the_figures_of_the_json_belong_together():
    """Drops add up along a run and along the way to an appliance, and the margin is what is left."""
    (result,) = results(TRAILER)["results"]
    for state in result["states"]:
        for one in state["runs"]:
            parts = one["friction_Pa"] + one["devices_Pa"] + one["height_Pa"]
            assert one["drop_Pa"] == pytest.approx(parts, abs=1e-6)
            assert 1000 * (one["inlet_kPa"] - one["outlet_kPa"]) == pytest.approx(one["drop_Pa"], abs=1e-6)
        for one in state["appliances"]:
            assert 1000 * (2.75 - one["pressure_kPa"]) == pytest.approx(one["drop_Pa"], abs=1e-6)
            assert one["verdict"] == ("pass" if one["margin_Pa"] >= 0 else "fail")
        fryer = next(one for one in state["appliances"] if one["name"] == "fryer")
        assert fryer["margin_Pa"] == pytest.approx(250.0 - fryer["drop_Pa"], abs=1e-6)
    margins = [state["margin_Pa"] for state in result["states"]]
    assert margins == sorted(margins)


def test_exit_codes_and_many_files():
    """0 where all pass, 1 where one fails, 2 where one can't be read, and the others are checked all the same."""
    assert run(TRAILER, STAGES).returncode == 0
    failing = run(TRAILER, FAILING)
    assert failing.returncode == 1
    mixed = run("missing.yaml", TRAILER, FAILING, "--format", "json")
    assert mixed.returncode == 2
    assert mixed.stderr == "missing.yaml: there is no such file\n"
    assert [one["verdict"] for one in json.loads(mixed.stdout)["results"]] == ["pass", "fail"]


def test_standard_input_and_out(tmp_path):
    """`-` reads a job from standard input; `--out` writes the same text to a file, and nothing to standard output."""
    text = (EXAMPLES / TRAILER).read_text(encoding="utf-8")
    plain = run("-", "--format", "csv", input=text)
    written = run("-", "--format", "csv", "--out", str(tmp_path / "out.csv"), input=text)
    assert (plain.returncode, written.returncode, written.stdout) == (0, 0, "")
    assert (tmp_path / "out.csv").read_text(encoding="utf-8") == plain.stdout
    assert os.listdir(tmp_path) == ["out.csv"]


def test_csv_has_the_figures_of_the_json():
    """A row an appliance and state, with the same figures to six digits."""
    rows = list(csv.DictReader(io.StringIO(run(TRAILER, "--format", "csv").stdout)))
    (result,) = results(TRAILER)["results"]
    figures = [(state["name"], one) for state in result["states"] for one in state["appliances"]]
    assert [(row["state"], row["appliance"]) for row in rows] == [(state, one["name"]) for state, one in figures]
    for row, (_, one) in zip(rows, figures, strict=True):
        assert float(row["drop_Pa"]) == pytest.approx(one["drop_Pa"], rel=1e-5)
        assert float(row["headroom_MJ_h"]) == pytest.approx(one["headroom_MJ_h"], rel=1e-5)
        assert row["verdict"] == one["verdict"]


def test_another_formula_and_all_side_by_side():
    """`--formula` gives that formula's figures; `--compare` gives each one's, in JSON, CSV and table."""
    job = read_job_file(str(EXAMPLES / TRAILER), Catalogue(), sized=True)
    drops = {
        name: {(state.name, one.name): one.drop_pa for state in check(job, name).states for one in state.appliances}
        for name in FORMULAS
    }
    (result,) = results(TRAILER, "--formula", "pole")["results"]
    assert result["formula"] == "pole"
    for state in result["states"]:
        for one in state["appliances"]:
            assert one["drop_Pa"] == pytest.approx(drops["pole"][state["name"], one["name"]])
    (compared,) = results(TRAILER, "--compare")["results"]
    assert len(compared["compare"]) == 8
    for row in compared["compare"]:
        for name in FORMULAS:
            assert row["drop_Pa"][name] == pytest.approx(drops[name][row["state"], row["appliance"]])
    rows = list(csv.DictReader(io.StringIO(run(TRAILER, "--compare", "--format", "csv").stdout)))
    for row in rows:
        for name in FORMULAS:
            expected = drops[name][row["state"], row["appliance"]]
            assert float(row[f"{name}_drop_Pa"]) == pytest.approx(expected, rel=1e-5)
    table = run(TRAILER, "--compare").stdout
    assert all(f"- {name}: " in table for name in FORMULAS)


def on_a_terminal(**environment) -> str:
    """Return what a check prints on a terminal."""
    ours, theirs = pty.openpty()
    plain = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    with subprocess.Popen(
        [sys.executable, "-m", "drawbar", "check", FAILING], stdout=theirs, cwd=EXAMPLES, env=plain | environment
    ):
        os.close(theirs)
        printed = b""
        while True:
            try:
                piece = os.read(ours, 65536)
            except OSError:  # the other end is closed
                break
            if not piece:
                break
            printed += piece
    os.close(ours)
    return printed.decode()


def test_colour_only_on_a_terminal_that_wants_it():
    """The verdict is in words everywhere, and in colour as well on a terminal, unless NO_COLOR is set."""
    assert "\x1b[31m\x1b[1mFAIL" in on_a_terminal()
    assert "\x1b[" not in on_a_terminal(NO_COLOR="1")
    assert "FAIL" in on_a_terminal(NO_COLOR="1")
    assert "\x1b[" not in run(FAILING).stdout
