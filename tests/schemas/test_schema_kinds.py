"""`drawbar schema --of` and `--install`: a schema for each file that people write, of one mind with its reader.

The judge is jsonschema, a general JSON Schema library.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from calls import Call
from drawbar.api import json_schema, read_job
from drawbar.catalogue.catalogue import Catalogue
from drawbar.catalogue.kinds import LIBRARY_KINDS
from drawbar.materials.prices import read_price_list
from drawbar.onsite.readings import read_readings
from drawbar.problems import Problems
from drawbar.rechecking.swaps import read_swap_file
from drawbar.schemas.schema_kinds import SCHEMA_KINDS
from drawbar.sizing.stock import read_stock
from jobs import CATALOGUE
from paths import EXAMPLES, ROOT

SCHEMAS = {kind: of.build(CATALOGUE) for kind, of in SCHEMA_KINDS.items()}
TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"

# A file of each kind that its reader takes.
GOOD = {
    "job": TRAILER.read_text(encoding="utf-8"),
    "prices": (EXAMPLES / "prices.yaml").read_text(encoding="utf-8") + "\n# by its bore\n",
    "stock": "stock: [as1432-b/9.52, as1432-b/12.70, b88-l/auto]\n",
    "library": (
        "pipes:\n  our-tube: {title: Ours, source: measured, material: copper, roughness: 0.002 mm,\n"
        "    roughness-source: measured, bore-tolerance: 2 %, tolerance-source: measured,\n"
        "    sizes: {'10': {bore: 10 mm}}}\n"
        "fittings: {our-bend: {title: Bend, ratio: 20, source: measured, way: side}}\n"
        "devices: {our-cock: {title: Cock, flow: 30 MJ/h, drop: {from: 5 Pa, to: 9 Pa}, source: its maker}}\n"
        "rules: {ours: {title: Ours, source: ours, drop: 0.1 kPa, nominal: {propane: 2.75 kPa}, caution: none}}\n"
        "tightness: {ours: {title: T, medium: air, pressure: 7 kPa, allowed-fall: 0 Pa, source: ours}}\n"
        "appliances: {our-urn: {title: Urn, input: 20 MJ/h, source: data plate}}\n"
        "cylinders: {12 kg: {title: B, gas: 12 kg, diameter: 310 mm, water-capacity: 29 L, tare: 12 kg, source: s}}\n"
        "tolerances: {length: {title: L, share: 1 %, least: 10 mm, source: ours}}\n"
        "replace: yes\n"
    ),
    "readings": (
        "job: Q-0117\nnoise: 10 Pa\nburners: orifice\nreadings:\n"
        "  - {state: breakfast, at: fryer, pressure: 2.71 kPa}\n"
        "  - {state: service, plugged: {griddle: rear-bayonet}, at: griddle, pressure: 2.58 kPa}\n"
        "  - {state: breakfast, plugged: {urn: {outlet: rear-bayonet, hose: short-hose}},\n"
        "     at: urn, pressure: 2.6 kPa}\n"
    ),
    "swaps": "swaps: {urn: 24 MJ/h, griddle: griddle-4-burner, basin: 1.2 kg/h}\n",
}
# A key of each, and the same misspelt.
MISSPELT = {
    "job": [("regulator:", "regulater:"), ("length:", "lenght:"), ("input:", "imput:")],
    "prices": [("per-metre:", "per-meter:"), ("each:", "eech:"), ("per-joint:", "per-joints:"), ("waste:", "wast:")],
    "stock": [("stock:", "stok:")],
    "library": [("pipes:", "pipe:"), ("roughness:", "roughnes:"), ("ratio:", "ration:"), ("nominal:", "nominel:")],
    "readings": [("readings:", "reading:"), ("pressure:", "presure:"), ("noise:", "niose:"), ("hose:", "hoze:")],
    "swaps": [("swaps:", "swap:")],
}
# Values that both refuse.
WRONG = {
    "prices": [("waste: 5 %", "waste: 5"), ("9.80", "AUD 9.80"), ("2.50", "0")],
    "stock": [("as1432-b/9.52", "as1432-b/9.53"), ("[as1432-b/9.52, as1432-b/12.70, b88-l/auto]", "[]")],
    "library": [("bore: 10 mm", "bore: 10"), ("way: side", "way: left"), ("tolerances: {length", "tolerances: {lenth")],
    "readings": [
        ("2.71 kPa", "2.71"),
        ("burners: orifice", "burners: fixed"),
        ("state: breakfast, at", "state: [b], at"),
    ],
    "swaps": [("24 MJ/h", "24"), ("griddle-4-burner", "griddle-5-burner")],
}


def read(kind: str, text: str, folder: Path) -> None:
    """Read a file of a kind as the program does; raises Problems."""
    file = folder / f"{kind}.yaml"
    file.write_text(text, encoding="utf-8")
    match kind:
        case "job":
            read_job(file)
        case "prices":
            read_price_list(str(file))
        case "stock":
            read_stock(file)
        case "library":
            Catalogue([str(file)])
        case "readings":
            read_readings(file, read_job(TRAILER, sized=True))
        case "swaps":
            read_swap_file(str(file), CATALOGUE)


def refused(kind: str, text: str) -> list[str]:
    validator = Draft202012Validator(SCHEMAS[kind])
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(yaml.safe_load(text))]


@pytest.mark.parametrize("kind", SCHEMAS)
def test_each_is_a_schema(kind):
    """By the rules of JSON Schema 2020-12, with a name of its own, and without a pattern that only Python knows."""
    schema = SCHEMAS[kind]
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["$id"] == f"urn:drawbar:{kind}:0.1"
    assert "(?P" not in json.dumps(schema)


@pytest.mark.parametrize("kind", GOOD)
def test_a_good_file_is_taken_by_reader_and_schema(kind, tmp_path):
    read(kind, GOOD[kind], tmp_path)
    assert refused(kind, GOOD[kind]) == []


@pytest.mark.parametrize(
    ("kind", "piece", "new"),
    [(kind, *pair) for kinds in (MISSPELT, WRONG) for kind, all_ in kinds.items() for pair in all_],
)
def test_a_bad_file_is_refused_by_reader_and_schema(kind, piece, new, tmp_path):
    """A key that is misspelt, a figure without its unit, a name that is not listed."""
    assert piece in GOOD[kind]
    text = GOOD[kind].replace(piece, new, 1)
    with pytest.raises(Problems, match=r"\.yaml:\d+:\d+: "):
        read(kind, text, tmp_path)
    assert refused(kind, text)


def test_the_project_s_own_data_are_a_library_by_the_schema():
    """All data files together, each under its key, are valid: as many kinds as a library has."""
    data: dict[str, Any] = {
        kind: yaml.safe_load((ROOT / f"src/drawbar/data/{kind}.yaml").read_text(encoding="utf-8"))
        for kind in LIBRARY_KINDS
    }
    assert len(data) == 8
    assert [error.message for error in Draft202012Validator(SCHEMAS["library"]).iter_errors(data)] == []


def test_a_price_list_may_price_a_pipe_by_its_bore():
    """A pipe that a job gives by its bore is priced as `bore 10.9 mm`; one that no catalogue has is marked."""
    assert refused("prices", "per-metre: {bore 10.9 mm: 8.00}") == []
    assert refused("prices", "per-metre: {our-tube/10: 8.00}") != []


def test_a_script_gets_them_too():
    """Of a kind by its name; of any other it is told which there are."""
    assert json_schema("prices") == SCHEMAS["prices"]
    with pytest.raises(ValueError, match=r"^no schema of 'price'; one of job, prices, stock, "):
        json_schema("price")


# the command


def test_of_prints_each_kind(drawbar: Callable[..., Call]):
    for kind in SCHEMA_KINDS:
        code, out, err = drawbar("schema", "--of", kind)
        assert (code, err) == (0, "")
        assert json.loads(out) == SCHEMAS[kind]


def test_a_kind_that_is_none_is_told(drawbar: Callable[..., Call]):
    code, out, err = drawbar("schema", "--of", "price")
    assert (code, out) == (2, "")
    assert err.endswith("--of: `price` is no kind of file with a schema; did you mean `prices`?\n")


def test_install_writes_them_beside_the_jobs(drawbar, tmp_path, monkeypatch):
    """One folder beside the jobs, found by the line that it prints; a second time renews it, with a library's names."""
    monkeypatch.chdir(tmp_path)
    code, out, err = drawbar("schema", "--install")
    assert (code, err) == (0, "")
    assert [path.name for path in tmp_path.iterdir()] == [".drawbar"]
    lines = [line.strip() for line in out.splitlines() if "$schema=" in line]
    assert len(lines) == len([of for of in SCHEMA_KINDS.values() if of.is_input])
    for line in lines:
        file = tmp_path / line.removeprefix("# yaml-language-server: $schema=")
        assert json.loads(file.read_text(encoding="utf-8")) == SCHEMAS[file.name.partition(".")[0]]
    (tmp_path / "ours.yaml").write_text(GOOD["library"], encoding="utf-8")
    (tmp_path / "jobs").mkdir()
    assert drawbar("schema", "--install", "--library", "ours.yaml").code == 0
    job = json.loads((tmp_path / ".drawbar/job.schema.json").read_text(encoding="utf-8"))
    assert "our-bend" in job["$defs"]["fittings"]["properties"]
    assert drawbar("schema", "--install", "jobs").code == 0
    assert len(list((tmp_path / "jobs/.drawbar").iterdir())) == len(lines)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--install", "none"), "none: there is no such folder\n"),
        (
            ("--install", "--of", "prices"),
            "--install writes them all, each to its own file; leave --of and --out out.\n",
        ),
        (("--install", "--out", "x"), "--install writes them all, each to its own file; leave --of and --out out.\n"),
        (
            ("--install", "there"),
            "there/.drawbar/job.schema.json: is no schema of drawbar, and is left as it is; move it away\n",
        ),
    ],
)
def test_install_leaves_other_files_alone(words, told, drawbar, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    mine = tmp_path / "there/.drawbar/job.schema.json"
    mine.parent.mkdir(parents=True)
    mine.write_text("{}", encoding="utf-8")
    code, out, err = drawbar("schema", *words)
    assert (code, out) == (2, "")
    assert err.endswith(told)
    assert mine.read_text(encoding="utf-8") == "{}"
    assert list((tmp_path / "there/.drawbar").iterdir()) == [mine]
