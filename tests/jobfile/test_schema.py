"""The JSON Schema of the job file: valid as a schema, complete, and of one mind with the reader on good and bad files.

The judge of the schema is jsonschema, a general JSON Schema library. A file is shown to it in two ways: as the reader
takes it, every value a text, and as an editor does, by the YAML 1.1 rules of PyYAML.
"""

import copy
import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from yaml.nodes import MappingNode, Node, SequenceNode

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.jobfile import model
from drawbar.jobfile.reader import job_of
from drawbar.jobfile.state_fields import USE, SharesAndUse
from drawbar.problems import Problems
from drawbar.schemas.job_schema import job_schema
from drawbar.schemas.walk import Knowledge, _Walk
from drawbar.yamlfile import nodes
from drawbar.yamlfile.fields import Either, ListOf, Named, OrNone, Range, Record
from drawbar.yamlfile.nodes import Source
from drawbar.yamlfile.scalars import Quantity
from good_job import GOOD
from jobs import CATALOGUE
from paths import EXAMPLES

if TYPE_CHECKING:
    from drawbar.yamlfile.fields import Kind

SCHEMA = job_schema(CATALOGUE)
VALIDATOR = Draft202012Validator(SCHEMA)
EXAMPLES = {
    path.name: path.read_text(encoding="utf-8")
    for path in sorted((EXAMPLES).glob("*.yaml"))
    if re.search(r"^regulator:.*^runs:", path.read_text(encoding="utf-8"), re.M | re.S)  # not price lists and the like
}

BASE = GOOD

# Each case: a piece of BASE, and what stands in its place. None for the piece: the text is added at the end.
Case = tuple[str | None, str]

GOOD: list[Case] = [
    (None, "# nothing changed\n"),
    ("job: t", "job: 12"),
    ("job: t", "job: yes"),
    ("job: t", "job: 2024-05-01"),
    ("job: t", f"job: {'x' * 200}"),
    ("job: t", 'job: "' + "x   " * 66 + '"'),  # 264 characters, but blanks in a row count as one
    (None, "ref: 0117\n"),
    (None, "ref: Q 1:30\n"),
    ("gas: propane", "gas: {propane: 70 %, n-butane: 30%}"),
    ("gas: propane", "gas: {propane: 100 percent}"),
    ("limits: {drop: 0.25 kPa}", "rule: as-nzs-5601.2"),
    (None, "rule: ifgc-11inwc\n"),
    (None, "formula: renouard\n"),
    (None, "site: {temperature: -5 °C, altitude: 1.2e3 ft}\n"),
    (None, "site: {}\n"),
    ("length: 3.6 m", "length: .5m"),
    ("length: 3.6 m", "length: +3. m"),
    ("length: 3.6 m", 'length: "3.6 \\t m"'),
    ("length: 3.6 m", "length: 3.6 m, rise: -0.4 m, fittings: {elbow-90: 3, union: 1}"),
    ("length: 3.6 m", "length: 3.6 m, fittings: {}"),
    ("length: 3.6 m", 'length: 3.6 m, fittings: {elbow-90: "3"}'),
    ("length: 3.6 m", "length: 3.6 m, fittings: {elbow-90: +3}"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{name: 7, flow: 1 kg/h, drop: 40 Pa}]"),
    ("pipe: as1432-b/12.70", "pipe: as1432-b/auto"),
    ("pipe: as1432-b/12.70", "pipe: as1432-b/DN 15"),
    ("pipe: as1432-b/12.70", "pipe: b88-l/1 1/4 in"),
    ("pipe: as1432-b/12.70", "pipe: b280/3/8"),
    ("length: 3.6 m", "length: 11 ft 9 1/2 in"),
    ("length: 3.6 m", "length: 11' 9\""),
    ("outlet: 2.75 kPa", "outlet: 11 in w.c."),
    ("pipe: as1432-b/12.70", "pipe: [as1432-b/9.52, en1057/auto]"),
    ("pipe: as1432-b/12.70", "pipe: [b88-l/1 1/4 in, b88-l/3/4, b280/1/2 in OD, en10255-m/DN15]"),
    ("pipe: as1432-b/12.70", "pipe: {bore: 10.9 mm}"),
    ("pipe: as1432-b/12.70", "pipe: {bore: 10.9 mm, roughness: 0.0015 mm}"),
    ("regulator: {outlet: 2.75 kPa}", "regulator: {outlet: 11 inH2O, capacity: 7.2 m³/h}"),
    ("regulator: {outlet: 2.75 kPa}", "regulator: {outlet: 2.75 kPa, capacity: 50 kW, basis: net}"),
    (
        "main: {from: regulator, pipe: as1432-b/12.70, length: 3.6 m}",
        "a: {from: regulator, pipe: as1432-b/12.70, length: 3 m}\n"
        "  main: {from: a, pipe: as1432-b/12.70, length: 3 m, regulator: {inlet-min: 2.6 kPa, outlet: 2.5 kPa}}",
    ),
    ("urn: {plugs-into: any,", "1: {plugs-into: [any],"),
    ("urn: {plugs-into: any, hose: hose,", "no: {plugs-into: bay,"),
    ("input: 21 MJ/h", "input: {like: urn}"),
    ("input: 50 MJ/h", "input: 0.9 kg/h, min-pressure: 2.4 kPa, room-sealed: yes"),
    ("input: 50 MJ/h", "input: 50 MJ/h, room-sealed: false"),
    ("input: 50 MJ/h", "input: 50 MJ/h, heats: {flow: 6 l/min, inlet: 59 F, efficiency: 80 %}"),
    ("length: 1.5 m}", "length: 1.5 m, count: 2, rise: 0.2 m}"),
    (None, "cylinders: {size: 9 kg, count: 2, drawing: 1, fill: 50 %, ambient: 278 K}\n"),
    (None, "space: {berths: 0, vents: 52000 mm²}\n"),
    (None, "space: {berths: 0, floor: 6 m2, vents: {high: 26000 mm2, low: 26000 mm2}}\n"),
    (None, "space: {van: {berths: 2, vents: 9000 mm2}, locker: {bottles: yes, drain: 10000 mm2}}\n"),
    (None, "cylinders: {size: 5 kg, like: 5-kg-composite, count: 2, changeover: yes}\n"),
    (None, "cylinders: {size: 9 kg, pigtail: {flow: 1.5 kg/h, drop: 8 kPa, at: 200 kPa}}\n"),
    ("outlet: 2.75 kPa", "outlet: 2.75 kPa, capacity: 60 MJ/h, count: 2, share: 80 %"),
    ("input: 50 MJ/h", "input: 50 MJ/h, used: outside"),
    (None, "states: {breakfast: [urn, fryer], service: {fryer: 60 %, urn: 100%}}\n"),
    (None, "states: {1: [urn], on: [fryer]}\n"),
    # a range, of which the first end may leave its unit out
    (None, "site: {temperature: -5 to 45 degC, altitude: 0 to 1.2e3 m}\n"),
    (None, "site: {temperature: 23 °F to 45 degC}\n"),
    (None, "site: {temperature: 15 degC to 15 degC}\n"),
    (None, "site: {temperature: 278 to 318 K, altitude: -10 m to 4000ft}\n"),
    (None, 'site: {altitude: "0  to  .5e3 m"}\n'),
    # what there is none of, and what is not known
    ("bay: {at: main}", "bay: {at: main, devices: none}"),
    ("length: 3.6 m", "length: 3.6 m, devices: none"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{name: cock}]"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{like: gas-cock}, {name: the cock, like: gas-cock}]"),
    ("hose: hose,", "hose: none,"),
    (None, "tolerances: none\n"),
    (None, "tolerances: {length: 2 %, bore: 0.2 mm, fittings: 40 %, input: 0 %, devices: 10%, set-pressure: 5 %}\n"),
    (None, "tolerances: {gas: {propane: 70 %, n-butane: 30 %}}\n"),
    (None, "tolerances: {gas: n-butane}\n"),
    ("outlet: 2.75 kPa", "outlet: 2.75 kPa, accuracy: 5 %"),
    ("input: 50 MJ/h", "input: 50 MJ/h, min-pressure: 2 kPa, max-pressure: 3.5 kPa, never-full: yes"),
]

BAD: list[Case] = [
    ("job: t\n", ""),
    ("job: t", "job:"),
    ("job: t", 'job: " "'),
    ("job: t", "job: [t]"),
    ("job: t", f"job: {'x' * 201}"),
    ("gas: propane", "gas: propan"),
    ("gas: propane", "gas: [propane]"),
    ("gas: propane", "gas: {propan: 100 %}"),
    ("gas: propane", "gas: {propane: 1}"),
    ("gas: propane", "gas: {}"),
    ("limits: {drop: 0.25 kPa}\n", ""),
    ("limits: {drop: 0.25 kPa}", "limits: {}"),
    ("drop: 0.25 kPa", "drop: 250"),
    ("drop: 0.25 kPa", "drop: 0.25 m"),
    ("drop: 0.25 kPa", "drop: 0.25 kpa"),
    ("drop: 0.25 kPa", "drop: 0,25 kPa"),
    ("drop: 0.25 kPa", "drop: 1 0 kPa"),
    ("drop: 0.25 kPa", "drop: about 0.25 kPa"),
    ("drop: 0.25 kPa", 'drop: " 0.25 kPa"'),
    ("drop: 0.25 kPa", f"drop: 0.{'0' * 60}1 kPa"),
    ("drop: 0.25 kPa", "drop: kPa"),
    ("drop: 0.25 kPa", "drop: .nan kPa"),
    ("regulator: {outlet: 2.75 kPa}\n", ""),
    ("regulator: {outlet: 2.75 kPa}", "regulator: 2.75 kPa"),
    ("regulator: {outlet: 2.75 kPa}", "regulator: {outlet: 2.75 kPa, basis: nett}"),
    (None, "formula: darcey\n"),
    (None, "Formula: darcy\n"),
    (None, "states: {}\n"),
    (None, "states: {a: urn}\n"),
    (None, "states: {a: []}\n"),
    (None, "states: {a: [[urn]]}\n"),
    (None, "site: 15 degC\n"),
    (None, "site: {temperatur: 15 degC}\n"),
    (None, "space: {berths: 2}\n"),
    (None, "space: {berths: 2, vents: {high: 9000 mm2}}\n"),
    (None, "space: {van: {berths: 2}}\n"),
    (None, "space: {berths: 2, vents: 9000 mm2, drain: 9000 mm2}\n"),
    (None, "cylinders: {size: 9 kg, pigtail: {flow: 1.5 kg/h, drop: 8 kPa}}\n"),
    (None, "cylinders: {size: 9 kg, like: 9-kilo}\n"),
    ("outlet: 2.75 kPa", "outlet: 2.75 kPa, count: 2, share: most"),
    ("limits: {drop: 0.25 kPa}", "rule: en-1949"),
    (None, "space: {berths: two, vents: 1 mm2}\n"),
    ("length: 3.6 m", "length: 3.6"),
    ("length: 3.6 m", "long: 3.6 m"),
    ("length: 3.6 m", "length: 3.6 m, fittings: [elbow-90]"),
    ("length: 3.6 m", "length: 3.6 m, fittings: {elbow-90: 1.5}"),
    ("length: 3.6 m", "length: 3.6 m, fittings: {elbow-90: many}"),
    ("length: 3.6 m", "length: 3.6 m, devices: {name: x, flow: 1 kg/h, drop: 40 Pa}"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{name: x, flow: 1 kg/h}]"),
    ("length: 3.6 m", "length: 3.6 m, regulator: {outlet: 2.5 kPa}"),
    ("from: regulator, ", ""),
    ("pipe: as1432-b/12.70", "pipe: as1432-b"),
    ("pipe: as1432-b/12.70", "pipe: as1432-b/DN 16"),
    ("length: 3.6 m", "length: 11 ft 9"),
    ("length: 3.6 m", "length: 221/2 m"),
    ("outlet: 2.75 kPa", "outlet: 11 in"),
    ("pipe: as1432-b/12.70", "pipe: as1432-b/"),
    ("pipe: as1432-b/12.70", "pipe: 12.70"),
    ("pipe: as1432-b/12.70", "pipe: []"),
    ("pipe: as1432-b/12.70", "pipe: {roughness: 0.1 mm}"),
    ("pipe: as1432-b/12.70", "pipe: {bore: 10.9}"),
    ("at: main, input: 50 MJ/h", "input: 50 MJ/h"),
    ("at: main, input: 50 MJ/h", "at: main, plugs-into: bay, input: 50 MJ/h"),
    ("at: main, input: 50 MJ/h", "at: main, hose: hose, input: 50 MJ/h"),
    ("at: main, input: 50 MJ/h", "at: main"),
    ("at: main, input: 50 MJ/h", "at: [main], input: 50 MJ/h"),
    ("input: 50 MJ/h", "input: {}"),
    ("input: 50 MJ/h", "input: {lik: urn}"),
    ("input: 50 MJ/h", "input: [50 MJ/h]"),
    ("input: 50 MJ/h", "input: 50 MJ/h, room-sealed: maybe"),
    ("urn:", f"{'u' * 61}:"),
    ("urn:", '"u  rn":'),
    ("urn: {plugs-into: any, hose: hose, input: 21 MJ/h}", "urn:"),
    (None, "site: {temperature: -5 to 45}\n"),
    (None, "site: {temperature: -5 m to 45 degC}\n"),
    (None, "site: {temperature: cold to 45 degC}\n"),
    (None, "site: {temperature: -5 - 45 degC}\n"),
    (None, "site: {temperature: -5 to 20 to 45 degC}\n"),
    (None, "site: {temperature: to 45 degC}\n"),
    ("bay: {at: main}", "bay: {at: main, devices: nothing}"),
    ("bay: {at: main}", "bay: {at: main, devices: [none]}"),
    ("bay: {at: main}", "bay: {at: main, devices: []}"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{name: x, drop: 40 Pa}]"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{flow: 1 kg/h, drop: 40 Pa}]"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{name: x, like: gas-cock, flow: 1 kg/h, drop: 40 Pa}]"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{like: gas-cock, basis: net}]"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{like: gas-cock, of: air}]"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{like: gas-cock, at: 2.75 kPa}]"),
    (None, "tolerances: some\n"),
    (None, "tolerances: 5 %\n"),
    (None, "tolerances: {lenght: 2 %}\n"),
    (None, "tolerances: {bore: 2 %}\n"),
    ("outlet: 2.75 kPa", "outlet: 2.75 kPa, accuracy: 5"),
    # names of the catalogue
    ("as1432-b/12.70", "as1432-z/12.70"),
    ("as1432-b/12.70", "as1432-b/12.71"),
    ("as1432-b/12.70", "AS1432-B/12.70"),
    ("as1432-b/12.70", "b88-k/1/2 in OD"),
    ("pipe: as1432-b/12.70", "pipe: [as1432-b/12.70, as1432-b/12.71]"),
    ("length: 3.6 m", "length: 3.6 m, fittings: {elbow: 1}"),
    ("length: 3.6 m", "length: 3.6 m, devices: [{like: elsewhere}]"),
    ("limits: {drop: 0.25 kPa}", "rule: elsewhere"),
    ("input: 50 MJ/h", "input: {like: elsewhere}"),
]

# What only the reader sees, with a pattern of what it says of it.
ONLY_READER: list[tuple[str | None, str, str]] = [
    # names that something must carry
    ("from: regulator", "from: elsewhere", "there is no run `.*` to start from"),
    ("fryer: {at: main", "fryer: {at: elsewhere", "there is no run `.*`$"),
    ("plugs-into: any", "plugs-into: elsewhere", "is not an outlet of this job"),
    ("hose: hose,", "hose: elsewhere,", "is not a hose of this job"),
    (None, "states: {a: [elsewhere]}\n", "there is no appliance `"),
    # names that nothing may carry, or one thing alone
    ("urn:", "any:", "`.*` has a meaning of its own"),
    ("urn:", "main:", "the name is taken by one of the "),
    ("urn:", "fryer:", "stands here a second time$"),
    (None, "job: again\n", "stands here a second time, first on line "),
    (None, "states: {a: [urn, urn]}\n", "`.*` stands here a second time$"),
    # the shape of the line
    ("from: regulator", "from: main", "goes round in a loop"),
    ("outlets:", "  spare: {from: main, pipe: hose/8, length: 1 m}\noutlets:", "nothing is at its end"),
    # bounds of a quantity, and of a number in quotes
    ("length: 3.6 m", "length: 3600 m", "^`.*` can't be right"),
    ("length: 3.6 m", "length: -3.6 m", "^`.*` can't be right"),
    ("length: 3.6 m", "length: 1e9999 m", "is not a finite number"),
    ("input: 50 MJ/h", "input: 500 kg/h", "MJ/h, which can't be right"),
    ("length: 3.6 m", 'length: 3.6 m, fittings: {elbow-90: "300"}', "`300` can't stand here"),
    # what several values say together
    ("gas: propane", "gas: {propane: 70 %}", "the shares add up to .* %"),
    ("length: 3.6 m", "length: 3.6 m, rise: 4 m", "is more than the length of the run"),
    ("length: 1.5 m}", "length: 1.5 m, rise: 2 m}", "is more than the length of the hose"),
    ("pipe: hose/8", "pipe: [hose/8, hose/10]", "gives several bores"),
    ("pipe: as1432-b/12.70", "pipe: {bore: 10 mm, roughness: 0.9 mm}", "is over a twentieth of the bore"),
    ("outlet: 2.75 kPa", "outlet: 2.75 kPa, inlet-min: 2 kPa", "is not above the outlet pressure"),
    ("length: 3.6 m", "length: 3.6 m, regulator: {inlet-min: 9 kPa, outlet: 2 kPa}", "that the stage before it gives"),
    ("input: 50 MJ/h", "input: 50 MJ/h, min-pressure: 3 kPa", "is not below the regulator's .* kPa"),
    (None, "site: {temperature: 45 to -5 degC}\n", "goes down$"),
    (None, "site: {temperature: -50 to 45 degC}\n", "^`.*` can't be right"),
    (None, "tolerances: {length: 60 %}\n", "^`.*` can't be right"),
    ("hose: hose,", "hose: [none, hose],", "`none` can't stand beside a hose"),
    (
        "input: 50 MJ/h",
        "input: 50 MJ/h, min-pressure: 2 kPa, max-pressure: 2 kPa",
        "is not above the .* of `min-pressure`",
    ),
    ("input: 50 MJ/h", "input: 1 kg/h, basis: net", "goes with a heat rate alone"),
    ("input: 50 MJ/h", "input: {like: urn}, basis: net", "goes with an input of your own alone"),
    (None, "cylinders: {size: 9 kg, count: 1, drawing: 2}\n", "[0-9]+ can't be drawn from, as the count is"),
    (None, "states: {a: {urn: 0 %}}\n", "has nothing on"),
    (None, "states: {a: {urn: 0.6 %}}\n", "burns at .* %"),
    # how the text is written
    ("job: t", 'job: "\\e[31m"', "which can't be printed"),
]
# Of cylinders that are of no usual size; what is asked of them depends on the catalogue.
OF_CYLINDERS = ["is not a usual size", "would be .* mm high", "can't hold .* as a liquid"]
# Names of the water side and of spaces that stand elsewhere, and what goes together there.
OF_WATER = [
    "` is not a space of the job$",
    *("there is no (?:pump|source|outlet|heater|connection) `", "there is no run `.*` of water", "` is not a state$"),
    *("`(?:open-flow|shut-off|flow|drop)` is missing$", "does not say how long it is on$", "`0` can't stand here"),
]


def changed(case: Case) -> str:
    piece, new = case
    if piece is None:
        return BASE + new
    assert piece in BASE
    return BASE.replace(piece, new, 1)


def as_text(text: str) -> Any:
    """Return a YAML file as the reader takes it: every value the text that stands there."""

    def plain(node: Node) -> Any:
        if isinstance(node, MappingNode):
            return {key.value: plain(value) for key, value in node.value}
        return [plain(item) for item in node.value] if isinstance(node, SequenceNode) else node.value

    return plain(nodes.compose(text, Source("job.yaml")))


def as_editor(text: str) -> Any:
    """Return a YAML file as JSON has it: PyYAML's values, but keys as they stand, and a date a text."""
    loader = yaml.SafeLoader(text)

    def plain(node: Node) -> Any:
        if isinstance(node, MappingNode):
            return {key.value: plain(value) for key, value in node.value}
        if isinstance(node, SequenceNode):
            return [plain(item) for item in node.value]
        if node.tag == "tag:yaml.org,2002:timestamp":
            return node.value
        return loader.construct_object(node)

    try:
        return plain(loader.get_single_node())
    finally:
        loader.dispose()


def read(text: str) -> tuple[str, ...]:
    """Return what the reader says of a file, nothing where it takes it."""
    try:
        job_of(text, "job.yaml", CATALOGUE)
    except Problems as error:
        return tuple(problem.what for problem in error.problems)
    return ()


def refused(data: Any) -> list[str]:
    """Return what the schema says of a file, nothing where it takes it."""
    return [f"{error.json_path}: {error.message}" for error in VALIDATOR.iter_errors(data)]


def patterns(schema: Any) -> Iterator[str]:
    """Yield every pattern in a schema."""
    if isinstance(schema, dict):
        if isinstance(schema.get("pattern"), str):
            yield schema["pattern"]
        for value in schema.values():
            yield from patterns(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from patterns(value)


def kinds(kind: "Kind") -> Iterator["Kind"]:
    """Yield a kind of the model and all within it."""
    yield kind
    within: list[Kind] = []
    match kind:
        case Record():
            within = [field.kind for field in kind.fields.values()]
        case Named() | ListOf() | OrNone() | Range():
            within = [kind.kind]
        case SharesAndUse():
            within = [kind.shares, *(field.kind for field in USE.values())]
        case Either():
            within = [kind.plain, kind.mapping]
    for inner in within:
        yield from kinds(inner)


# the schema itself


def test_it_is_valid_json_schema():
    """The schema is a schema by the rules of 2020-12, says so, and has a name of its own."""
    Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert SCHEMA["$id"] == "urn:drawbar:job:0.1"


def test_patterns_are_what_editors_understand():
    """Patterns keep to what ECMA-262 and Python have in common: no inline flags, no named groups."""
    each = set(patterns(SCHEMA))
    assert len(each) > 8
    for pattern in each:
        assert pattern.startswith("^"), pattern
        assert pattern.endswith("$"), pattern
        assert set(re.findall(r"\\.", pattern)) <= {r"\s", r"\S", r"\."}, pattern
        assert set(re.findall(r"\(\?.", pattern)) <= {"(?:", "(?="}, pattern


def test_it_has_every_key_of_the_model():
    """Every key of a job file stands in the schema with a line on what it is."""
    for key, field in model.JOB.fields.items():
        assert SCHEMA["properties"][key]["description"].startswith(field.about)
    assert SCHEMA["required"] == ["job", "gas", "regulator", "runs", "appliances"]
    run = SCHEMA["properties"]["runs"]["additionalProperties"]
    assert list(run["properties"]) == list(model.RUN.fields)
    assert (run["required"], run["additionalProperties"]) == (["from", "pipe", "length"], False)


def test_a_quantity_says_what_fits():
    """A quantity carries its units and bounds in words, and an example that it takes itself."""
    length = SCHEMA["properties"]["runs"]["additionalProperties"]["properties"]["length"]
    assert length["description"] == (
        "the length of pipe, as `3.6 m`: a number and one of mm, cm, m, in, ft, from 1 mm to 1000 m"
    )
    assert length["errorMessage"] == length["patternErrorMessage"] == "write a number and one of mm, cm, m, in, ft"
    assert length["examples"] == ["3.6 m"]


def test_a_pattern_takes_every_spelling_of_a_unit_and_the_bounds():
    """Each quantity's pattern takes its own bounds, and every spelling of a unit that the reader takes."""
    for quantity in (kind for kind in kinds(model.JOB) if isinstance(kind, Quantity)):
        pattern = next(patterns(job_field(quantity)))
        spellings = units.spellings(*quantity.dimensions)
        for text in (quantity.low, quantity.high, *(f"1.5{unit}" for unit in spellings)):
            assert re.search(pattern, text), (pattern, text)
            units.number_and_unit(text, *quantity.dimensions)
    assert units.spellings(units.TEMPERATURE) == ["degC", "degF", "K", "°C", "°F", "C", "F"]
    assert units.spellings(units.RATIO) == ["percent", "%"]


def job_field(quantity: Quantity) -> Any:
    """Return the schema of one quantity of the model, by way of its bounds in words."""

    def lengths(schema: Any) -> Iterator[Any]:
        if isinstance(schema, dict):
            bounds = f"from {quantity.low} to {quantity.high}"
            listed = units.listed([unit for dimension in quantity.dimensions for unit in dimension.units])
            if str(schema.get("description")).endswith(f"a number and {listed}, {bounds}"):
                yield schema
            for value in schema.values():
                yield from lengths(value)
        elif isinstance(schema, list):
            for value in schema:
                yield from lengths(value)

    return next(lengths(SCHEMA))


def test_it_names_what_the_catalogue_has():
    """Gases, formulas, rules, pipes, fittings and appliance types are there to complete, each of them."""
    assert SCHEMA["properties"]["gas"]["anyOf"][0]["enum"] == CATALOGUE.gas_names
    assert "darcy" in SCHEMA["properties"]["formula"]["enum"]
    assert SCHEMA["properties"]["rule"]["enum"] == CATALOGUE.names("rules")
    pipes = SCHEMA["$defs"]["pipe"]["anyOf"][0]["anyOf"][0]["anyOf"][0]["enum"]
    assert [name for name in pipes if name.startswith("b280/")] == [
        "b280/auto",
        *(f"b280/{s}" for s in CATALOGUE.sizes("b280") or {}),
    ]
    assert list(SCHEMA["$defs"]["fittings"]["properties"]) == CATALOGUE.names("fittings")
    device = SCHEMA["$defs"]["device"]["properties"]["like"]["enum"]
    assert device == CATALOGUE.names("devices")
    appliance = SCHEMA["properties"]["appliances"]["additionalProperties"]["properties"]["input"]["anyOf"][1]
    assert appliance["properties"]["like"]["enum"] == CATALOGUE.names("appliances")


def test_a_kind_that_it_does_not_know_is_an_error():
    """A kind of field added to the model without a schema is found, and not left out silently."""
    with pytest.raises(TypeError, match=r"^object has no schema$"):
        _Walk(Knowledge({})).kind(object())  # type: ignore[arg-type]


# examples, and files good and bad


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_are_valid(name):
    """Every example job is valid as the reader takes it, as PyYAML loads it and as an editor shows it."""
    assert read(EXAMPLES[name]) == ()
    for data in (as_text(EXAMPLES[name]), yaml.safe_load(EXAMPLES[name]), as_editor(EXAMPLES[name])):
        assert refused(data) == []


def test_there_are_examples():
    """The examples that are jobs are found."""
    assert "harvest-fair-trailer.yaml" in EXAMPLES
    assert "prices.yaml" not in EXAMPLES


@pytest.mark.parametrize("case", GOOD, ids=lambda case: case[1][:50])
def test_good_files(case):
    """What the reader takes, the schema takes, whichever way the file is shown to it."""
    text = changed(case)
    assert read(text) == ()
    assert refused(as_text(text)) == []
    assert refused(as_editor(text)) == []


@pytest.mark.parametrize("case", BAD, ids=lambda case: case[1][:50])
def test_bad_files(case):
    """What is wrong with a file's keys and values is wrong to the reader and to the schema."""
    text = changed(case)
    assert read(text)
    assert refused(as_text(text))
    assert refused(as_editor(text))


@pytest.mark.parametrize(("piece", "new", "said"), ONLY_READER, ids=lambda value: str(value)[:50])
def test_what_only_the_reader_sees(piece, new, said):
    """Names that must exist, loops, bounds of quantities and the like are beyond a schema; the reader says them."""
    text = changed((piece, new))
    assert any(re.search(said, what) for what in read(text)), read(text)
    assert refused(as_text(text)) == []
    assert refused(as_editor(text)) == []


@pytest.mark.parametrize("value", ["300", "0"])
def test_bounds_of_a_number(value):
    """A number out of bounds is wrong to the reader, and to the schema where it comes as a number."""
    text = changed(("length: 3.6 m", f"length: 3.6 m, fittings: {{elbow-90: {value}}}"))
    assert read(text) == (f"`{value}` can't stand here",)
    assert len(refused(as_editor(text))) == 1


@pytest.mark.parametrize("number", ["0x10", "1_0", "1:30", "2.0"])
def test_numbers_as_an_editor_reads_them(number):
    """What YAML 1.1 makes a whole number of is no number to the reader, and the schema can't tell."""
    text = changed(("length: 3.6 m", f"length: 3.6 m, fittings: {{elbow-90: {number}}}"))
    assert read(text) == (f"`{number}` can't stand here",)
    assert refused(as_text(text))
    assert refused(as_editor(text)) == []


@pytest.mark.parametrize("value", ["null", "~"])
def test_the_one_thing_that_the_schema_alone_refuses(value):
    """A title that is `null` or `~` is that text to the reader, and nothing at all to an editor."""
    text = changed(("job: t", f"job: {value}"))
    assert read(text) == ()
    assert refused(as_text(text)) == []
    assert refused(as_editor(text)) == ["$.job: None should not be valid under {'type': ['object', 'array', 'null']}"]


# mutations

_SAID = "|".join([*(said for _, _, said in ONLY_READER), *OF_CYLINDERS, *OF_WATER])
ANYTHING = st.one_of(
    st.sampled_from(
        ["", " ", "x", "any", "main", "urn", "3.6 m", "50 MJ/h", "60 %", "yes", "as1432-b/12.70", 3, 0, 2.5]
    ),
    st.sampled_from([True, False, [], {}, ["x"], ["any", "urn"], {"x": "y"}, {"like": "urn"}, {"bore": "9 mm"}, [[]]]),
)


def places(data: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the way to every value below the top."""
    pairs = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in pairs:
        yield (*path, key)
        yield from places(value, (*path, key))


@st.composite
def mutated(draw: st.DrawFn) -> Any:
    """Draw an example with one to three changes: a key or value taken out, put in, renamed, or changed in type."""
    data = copy.deepcopy(as_text(EXAMPLES[draw(st.sampled_from(sorted(EXAMPLES)))]))
    for _ in range(draw(st.integers(1, 3))):
        spots = list(places(data))
        if not spots:
            break
        *way, last = draw(st.sampled_from(spots))
        holder = data
        for key in way:
            holder = holder[key]
        match draw(st.sampled_from(["delete", "change", "add", "rename", "wrap"])):
            case "delete":
                del holder[last]
            case "change":
                holder[last] = copy.deepcopy(draw(ANYTHING))
            case "wrap":
                holder[last] = [holder[last]]
            case "add" if isinstance(holder, dict):
                key = draw(st.sampled_from(["x", "at", "hose", "basis", "plugs-into", "regulator", "rule", "fittings"]))
                holder[key] = copy.deepcopy(draw(ANYTHING))
            case "rename" if isinstance(holder, dict):
                holder[draw(st.sampled_from(["x", "length", "input", "job"]))] = holder.pop(last)
    return data


@pytest.mark.trial
@settings(max_examples=400, deadline=None)
@given(mutated())
def test_mutated_examples(data):
    """Reader and schema agree on an example that was changed at random, but for what only the reader sees.

    What the schema refuses, the reader refuses; where the schema takes a file, all that the reader has to say is of
    the kinds that are listed as the reader's alone.
    """
    said = read(json.dumps(data))
    refusals = refused(data)
    if refusals:
        assert said, refusals
    else:
        assert [what for what in said if not re.search(_SAID, what)] == []


# the command


def drawbar(*arguments: str, folder: Path) -> tuple[int, str, str]:
    done = subprocess.run(
        [sys.executable, "-m", "drawbar", "schema", *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    return done.returncode, done.stdout, done.stderr


def test_the_command_prints_the_schema(tmp_path):
    """`drawbar schema` prints the schema as JSON in plain ASCII, whatever the terminal's encoding."""
    code, out, err = drawbar(folder=tmp_path)
    assert (code, err) == (0, "")
    assert out.isascii()
    assert json.loads(out) == SCHEMA


def test_the_command_writes_a_file_with_the_names_of_a_library(tmp_path):
    """`--library` puts the workshop's own names beside the catalogue's, `--out` writes a file."""
    library = "rules: {ours: {title: Ours, source: common practice, drop: 0.1 kPa, nominal: 2.75 kPa, caution: none}}\n"
    (tmp_path / "library.yaml").write_text(library, encoding="utf-8")
    code, out, err = drawbar("--library", "library.yaml", "--out", "job.schema.json", folder=tmp_path)
    assert (code, out, err) == (0, "", "")
    schema = json.loads((tmp_path / "job.schema.json").read_text(encoding="utf-8"))
    assert schema["properties"]["rule"]["enum"] == [*CATALOGUE.names("rules"), "ours"]


def test_a_file_that_needs_a_library_is_valid_by_the_schema_of_that_library(tmp_path):
    """Names that only a workshop's library has are marked, unless the schema was made with the library."""
    library = tmp_path / "library.yaml"
    library.write_text(
        "pipes: {our own: {title: Ours, source: measured, material: copper, roughness: 0.002 mm,\n"
        "  roughness-source: measured, sizes: {'12': {bore: 10 mm}}}}\n"
        "fittings: {our-bend: {title: Bend, ratio: 20, source: measured}}\n"
        "rules: {ours: {title: Ours, source: ours, drop: 0.1 kPa, nominal: 2.75 kPa, caution: none}}\n"
        "appliances: {ours: {title: Ours, input: 20 MJ/h, source: data plate}}\n",
        encoding="utf-8",
    )
    text = changed(("pipe: as1432-b/12.70", "pipe: our own/12, fittings: {our-bend: 2}"))
    text = text.replace("limits: {drop: 0.25 kPa}", "rule: ours").replace("input: 50 MJ/h", "input: {like: ours}")
    data = as_editor(text)
    assert len(refused(data)) == 4
    validator = Draft202012Validator(job_schema(Catalogue([str(library)])))
    assert list(validator.iter_errors(data)) == []


def test_names_of_the_file_complete_as_free_text():
    """At a name that the file itself has, an editor has no `true` and `false` to offer: no boolean is named there."""

    def offered(schema: Any) -> set[str]:
        inner = [schema, *(part for key in ("anyOf", "oneOf") for part in schema.get(key, ()))]
        inner += [part["items"] for part in inner if "items" in part]
        types = {
            kind
            for part in inner
            for kind in ([part["type"]] if isinstance(part.get("type"), str) else part.get("type", ()))
        }
        enums = [value for part in inner for value in part.get("enum", ())]
        return types | {str(value) for value in enums if isinstance(value, bool)}

    sections = {
        key: SCHEMA["properties"][key]["additionalProperties"]["properties"]
        for key in ("runs", "outlets", "appliances")
    }
    for section, key, hints in (
        ("runs", "from", ["regulator"]),
        ("outlets", "at", None),
        ("appliances", "at", None),
        ("appliances", "plugs-into", ["any"]),
        ("appliances", "hose", ["any", "none"]),
    ):
        schema = sections[section][key]
        assert not offered(schema) & {"boolean", "True", "False"}, (section, key)
        first = schema["anyOf"][0] if "anyOf" in schema else schema
        assert first.get("examples") == hints
    assert not offered(SCHEMA["properties"]["job"]) & {"boolean"}
    assert offered(sections["appliances"]["room-sealed"]) == {"True", "False"}  # where they may stand they are offered


def test_a_library_that_is_wrong(tmp_path):
    """A library that can't be read ends the command with its problems and exit code 2."""
    assert drawbar("--library", "none.yaml", folder=tmp_path) == (2, "", "none.yaml: there is no such file\n")
