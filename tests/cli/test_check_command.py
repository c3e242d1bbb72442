"""`drawbar check` as a script and a person call it: the JSON contract, the other forms, many files, colour."""

import csv
import io
import json
import os

import pytest

from calls import Call, call_process
from drawbar.checking.check import check_job
from drawbar.jobfile.reader import read_job_file
from drawbar.physics.formulas import FORMULAS
from jobs import CATALOGUE
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


def call(*words: str, stdin: str | None = None) -> Call:
    return call_process("check", *words, cwd=EXAMPLES, stdin=stdin)


def results(*words: str) -> dict:
    return json.loads(call(*words, "--format", "json").out)


@pytest.mark.parametrize("file", [TRAILER, FAILING, STAGES])
def test_the_json_has_the_keys_of_the_contract(file):
    """Every key that scripts rely on is there, in every part; states hold every state of the job."""
    document = results(file)
    assert document["drawbar"] == "0.1.0"
    assert document["kind"] == "check"
    (result,) = document["results"]
    assert set(result) >= RESULT
    assert set(result["gas"]) == GAS
    job = read_job_file(str(EXAMPLES / file), CATALOGUE, sized=True)
    assert {state["name"] for state in result["states"]} == {state.name for state in job.states}
    for state in result["states"]:
        assert set(state) >= STATE
        assert [run["name"] for run in state["runs"]] == [run.name for run in job.runs]
        assert all(set(run) >= RUN for run in state["runs"])
        assert all(set(appliance) >= APPLIANCE for appliance in state["appliances"])


def test_the_figures_of_the_json_belong_together():
    """Drops add up along a run and along the way to an appliance, and the margin is what is left."""
    (result,) = results(TRAILER)["results"]
    for state in result["states"]:
        for run in state["runs"]:
            parts_pa = run["friction_Pa"] + run["devices_Pa"] + run["height_Pa"]
            assert run["drop_Pa"] == pytest.approx(parts_pa, abs=1e-6)
            assert 1000 * (run["inlet_kPa"] - run["outlet_kPa"]) == pytest.approx(run["drop_Pa"], abs=1e-6)
        for appliance in state["appliances"]:
            assert 1000 * (2.75 - appliance["pressure_kPa"]) == pytest.approx(appliance["drop_Pa"], abs=1e-6)
            assert appliance["verdict"] == ("pass" if appliance["margin_Pa"] >= 0 else "fail")
        fryer = next(appliance for appliance in state["appliances"] if appliance["name"] == "fryer")
        assert fryer["margin_Pa"] == pytest.approx(250.0 - fryer["drop_Pa"], abs=1e-6)
    margins = [state["margin_Pa"] for state in result["states"]]
    assert margins == sorted(margins)


def test_exit_codes_and_many_files():
    """0 where all pass, 1 where one fails, 2 where one can't be read, and the others are checked all the same."""
    assert call(TRAILER, STAGES).code == 0
    failing = call(TRAILER, FAILING)
    assert failing.code == 1
    mixed = call("missing.yaml", TRAILER, FAILING, "--format", "json")
    assert mixed.code == 2
    assert mixed.err == "missing.yaml: there is no such file\n"
    assert [result["verdict"] for result in json.loads(mixed.out)["results"]] == ["pass", "fail"]


def test_standard_input_and_out(tmp_path):
    """`-` reads a job from standard input; `--out` writes the same text to a file, and nothing to standard output."""
    text = (EXAMPLES / TRAILER).read_text(encoding="utf-8")
    plain = call("-", "--format", "csv", stdin=text)
    written = call("-", "--format", "csv", "--out", str(tmp_path / "out.csv"), stdin=text)
    assert (plain.code, written.code, written.out) == (0, 0, "")
    assert (tmp_path / "out.csv").read_text(encoding="utf-8") == plain.out
    assert os.listdir(tmp_path) == ["out.csv"]


def test_csv_has_the_figures_of_the_json():
    """A row an appliance and state, with the same figures to six digits."""
    rows = list(csv.DictReader(io.StringIO(call(TRAILER, "--format", "csv").out)))
    (result,) = results(TRAILER)["results"]
    figures = [(state["name"], appliance) for state in result["states"] for appliance in state["appliances"]]
    names = [(state, appliance["name"]) for state, appliance in figures]
    assert [(row["state"], row["appliance"]) for row in rows] == names
    for row, (_, appliance) in zip(rows, figures, strict=True):
        assert float(row["drop_Pa"]) == pytest.approx(appliance["drop_Pa"], rel=1e-5)
        assert float(row["headroom_MJ_h"]) == pytest.approx(appliance["headroom_MJ_h"], rel=1e-5)
        assert row["verdict"] == appliance["verdict"]


def test_another_formula_and_all_side_by_side():
    """`--formula` gives that formula's figures; `--compare` gives each one's, in JSON, CSV and table."""
    job = read_job_file(str(EXAMPLES / TRAILER), CATALOGUE, sized=True)
    drops = {
        name: {
            (state.name, appliance.name): appliance.drop_pa
            for state in check_job(job, name).states
            for appliance in state.appliances
        }
        for name in FORMULAS
    }
    (result,) = results(TRAILER, "--formula", "pole")["results"]
    assert result["formula"] == "pole"
    for state in result["states"]:
        for appliance in state["appliances"]:
            assert appliance["drop_Pa"] == pytest.approx(drops["pole"][state["name"], appliance["name"]])
    (compared,) = results(TRAILER, "--compare")["results"]
    assert len(compared["compare"]) == 8
    for row in compared["compare"]:
        for name in FORMULAS:
            assert row["drop_Pa"][name] == pytest.approx(drops[name][row["state"], row["appliance"]])
    rows = list(csv.DictReader(io.StringIO(call(TRAILER, "--compare", "--format", "csv").out)))
    for row in rows:
        for name in FORMULAS:
            expected = drops[name][row["state"], row["appliance"]]
            assert float(row[f"{name}_drop_Pa"]) == pytest.approx(expected, rel=1e-5)
    table = call(TRAILER, "--compare").out
    assert all(f"- {name}: " in table for name in FORMULAS)
