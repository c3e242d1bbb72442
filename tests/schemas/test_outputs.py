"""Every JSON that the program prints keeps to the schema of its kind, and a document that lost a key does not.

The judge is jsonschema, a general JSON Schema library.
"""

import copy
import json
from typing import Any

import pytest
from click.testing import CliRunner
from jsonschema import Draft202012Validator

from drawbar.catalogue.listing import LISTED_KINDS
from drawbar.cli.main import COMMANDS, Commands, cli
from drawbar.schemas.outputs import output_kinds, output_schema
from paths import EXAMPLES

JOBS = sorted(str(path) for path in EXAMPLES.glob("*-*.yaml"))
TRAILER = str(EXAMPLES / "harvest-fair-trailer.yaml")
PRICES = str(EXAMPLES / "prices.yaml")
READINGS = """\
noise: 10 Pa
readings:
  - {state: service, at: fryer, pressure: 2.3 kPa}
  - {state: service, plugged: {griddle: rear-bayonet}, at: main, pressure: 2.6 kPa}
"""
# Each is called with every example.
CALLS = [
    ("check",),
    ("check", "--compare"),
    ("size",),
    ("explain",),
    ("compare", "--variant", "job=Another; ref=Q-1", "--prices", PRICES),
    ("explain", "--formula", "spitzglass"),
    ("takeoff",),
    ("takeoff", "--stock-length", "6 m", "--prices", PRICES),
    ("supply",),
    ("supply", "--duty", "20 min on, 40 min off"),
    ("hotwater", "--outlet", "40 degC", "--flow", "8 L/min"),
    ("tightness", "--hoses"),
    ("tightness", "--start", "2.75 kPa", "--end", "2.7 kPa", "--time", "5 min", "--leak", "1 L/h"),
    ("commission",),
    ("diff", TRAILER),
    ("recheck", "--swap", "urn=40 MJ/h", "--allow-unused"),
]
LISTS = [("list",), *(("list", kind) for kind in LISTED_KINDS), ("list", "pipes", "as1432-b")]


def strict(schema: Any) -> Any:
    """Return a schema that takes no key that it does not name, so that none is forgotten in it."""
    if isinstance(schema, list):
        return [strict(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    closed = {key: strict(value) for key, value in schema.items()}
    return {**closed, "additionalProperties": False} if isinstance(schema.get("required"), list) else closed


def keys(value: Any, place: tuple[Any, ...] = ()) -> Any:
    """Yield the place of every key in a document."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield (*place, key)
            yield from keys(inner, (*place, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from keys(inner, (*place, number))


def without(document: Any, place: tuple[Any, ...]) -> Any:
    """Return a document without the key at a place."""
    changed = copy.deepcopy(document)
    inner = changed
    for step in place[:-1]:
        inner = inner[step]
    del inner[place[-1]]
    return changed


MAPS = {
    *("plugged", "hoses", "edits", "details", "units", "drop_Pa", "liquid_mole_percent", "rows", "loads_MJ_h", "pipes"),
}  # their keys are names


@pytest.fixture(scope="module")
def documents(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Any]]:
    """Return what the calls print, by kind, and what those print that find a problem."""
    readings = tmp_path_factory.mktemp("readings") / "readings.yaml"
    readings.write_text(READINGS, encoding="utf-8")
    calls = [(*call[:1], job, *call[1:]) for call in CALLS for job in JOBS]
    calls += [*LISTS, ("commission", TRAILER, str(readings))]
    calls += [(call[0], "gone.yaml", *call[1:]) for call in CALLS]
    page = str(tmp_path_factory.mktemp("sheet") / "sheet.html")
    CliRunner().invoke(cli, ["sheet", TRAILER, "-o", page])
    calls += [("sheet", "--verify", page), ("sheet", str(EXAMPLES / "ice-cream-van-fail.yaml"), "--verify", page)]
    runner = CliRunner()
    printed: dict[str, list[Any]] = {kind: [] for kind in output_kinds()}
    for call in calls:
        ended = runner.invoke(cli, [*call, "--format", "json"])
        if not ended.stdout:
            assert ended.exit_code == 2
            assert "--section" in ended.stderr  # the one question that a call of these leaves open
            continue
        document = json.loads(ended.stdout)
        assert document["kind"] == call[0]
        printed[call[0]].append(document)
    return printed


@pytest.fixture(scope="module")
def validators() -> dict[str, Draft202012Validator]:
    """Return what judges by the schemas, closed against keys that they do not name."""
    for kind in output_kinds():
        Draft202012Validator.check_schema(output_schema(kind))
    return {kind: Draft202012Validator(strict(output_schema(kind))) for kind in output_kinds()}


def test_every_command_that_prints_json_has_a_schema():
    """And there is none beside."""
    with_json = set()
    for name in COMMANDS:
        command = Commands().get_command(None, name)
        forms = next((param.type.choices for param in command.params if param.name == "form"), ())
        with_json |= {name} if "json" in forms else set()
    assert set(output_kinds()) == with_json


@pytest.mark.parametrize("kind", output_kinds())
def test_every_output_of_every_example_keeps_to_its_schema(kind, documents, validators):
    """Every key is named, and holds what the schema says. A key that is new belongs into data/outputs.yaml."""
    assert any(document["results"] for document in documents[kind])
    for document in documents[kind]:
        wrong = [f"{error.json_path}: {error.message[:200]}" for error in validators[kind].iter_errors(document)]
        assert wrong == []


@pytest.mark.parametrize("kind", output_kinds())
def test_a_document_that_lost_a_key_is_refused(kind, documents):
    """Each key that stands in any output, once for each place: the schema as scripts get it asks for it."""
    validator = Draft202012Validator(output_schema(kind))
    smallest: dict[tuple[Any, ...], tuple[Any, tuple[Any, ...]]] = {}
    for document in sorted(documents[kind], key=lambda document: len(json.dumps(document))):
        for place in keys(document):
            if not MAPS.intersection(place[-2:-1]):
                smallest.setdefault(tuple("*" if isinstance(step, int) else step for step in place), (document, place))
    kept = [
        ".".join(map(str, path))
        for path, (document, place) in smallest.items()
        if validator.is_valid(without(document, place))
    ]
    assert kept == []
    assert len(smallest) > len(("drawbar", "kind", "format", "libraries", "problems", "results"))


@pytest.mark.parametrize("kind", output_kinds())
def test_another_format_or_kind_is_refused(kind, documents):
    """What a script was not written for does not pass for it."""
    validator = Draft202012Validator(output_schema(kind))
    document = documents[kind][0]
    assert validator.is_valid(document)
    assert not validator.is_valid({**document, "format": 2})
    assert not validator.is_valid({**document, "kind": "other"})
    assert not validator.is_valid({**document, "results": [{}]})
