"""How a state of a job file says that it is used: `for` and `every` beside its appliances."""

import json

import jsonschema
import pytest
import yaml

from drawbar.job import State
from drawbar.problems import Problems
from drawbar.schemas.job_schema import job_schema
from jobs import CATALOGUE, job_from

JOB = """\
job: Shower van
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa, capacity: 180 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/15.88, length: 2 m}
appliances:
  heater: {at: main, input: 90 MJ/h}
  oven: {at: main, input: 20 MJ/h}
states:
  shower: STATE
"""


def states(state):
    return job_from(JOB.replace("STATE", state)).states


@pytest.mark.parametrize(
    ("state", "on_s", "every_s"),
    [
        ("{heater: 100 %}", None, None),
        ("{heater: 100 %, for: 20 min}", 1200.0, None),
        ("{heater: 100 %, for: 20 min, every: 1 h}", 1200.0, 3600.0),
        ("{every: 1 h, for: 60 min, heater: 100 %}", 3600.0, 3600.0),
        ("{heater: 100 %, for: 10 s, every: 72 h}", 10.0, 259200.0),
    ],
)
def test_a_state_says_how_it_is_used(state, on_s, every_s):
    """Both keys may be left out, and stand anywhere beside the appliances; bounds are inside."""
    assert states(state) == (State("shower", (("heater", 1.0),), on_s, every_s),)


def test_a_list_says_nothing_of_its_use():
    """A state written as a list has none."""
    assert states("[heater, oven]") == (State("shower", (("heater", 1.0), ("oven", 1.0))),)


@pytest.mark.parametrize(
    ("state", "message"),
    [
        (
            "{heater: 100 %, every: 1 h}",
            "11:34: states.shower.every: stands without `for`; write how long it is on as well, as `for: 20 min`",
        ),
        (
            "{heater: 100 %, for: 2 h, every: 1 h}",
            "11:44: states.shower.every: `1 h` is shorter than the `2 h` it is on for; write the time from one start "
            "to the next",
        ),
        ("{heater: 100 %, for: 5 s}", "11:32: states.shower.for: `5 s` can't be right; write from 10 s to 72 h"),
        (
            "{heater: 100 %, for: 20 min, every: 73 h}",
            "11:47: states.shower.every: `73 h` can't be right; write from 10 s to 72 h",
        ),
        ("{heater: 100 %, for: 20}", "11:32: states.shower.for: `20` has no unit; write one of s, min, h after it"),
        (
            "{heater: 100 %, for: 20 min, for: 1 h}",
            "11:40: states.shower.for: stands here a second time, first on line 11; keep one",
        ),
        ("{for: 20 min}", "11:3: states.shower: has nothing on; write at least one appliance that burns"),
        ("{heater: 0 %, for: 20 min}", "11:3: states.shower: has nothing on; write at least one appliance that burns"),
        (
            "[heater, for]",
            "11:20: states.shower: there is no appliance `for`; write the state as `{shower: 100 %, for: 20 min, "
            "every: 1 h}`",
        ),
    ],
)
def test_a_use_that_can_not_be_right_is_told(state, message):
    """Each with its line and column, and what would fit."""
    with pytest.raises(Problems) as caught:
        states(state)
    assert str(caught.value) == f"job.yaml:{message}"


@pytest.mark.parametrize("name", ["for", "every"])
def test_the_keys_of_a_use_name_no_appliance(name):
    """Else a state could not tell them apart."""
    with pytest.raises(Problems) as caught:
        job_from(JOB.replace("oven:", f"{name}:").replace("STATE", "[heater]"))
    assert str(caught.value) == f"job.yaml:9:3: appliances.{name}: in a state `{name}` says how it is used; " + (
        "choose another name"
    )


@pytest.mark.parametrize(
    ("state", "is_taken"),
    [
        ("{heater: 100 %, for: 20 min, every: 1 h}", True),
        ("{heater: 100 %, for: 20 min}", True),
        ("{heater: 100 %, every: 1 h}", False),
        ("{heater: 100 %, for: 20 kPa}", False),
        ("{heater: 100 %, for: 100 %}", False),
    ],
)
def test_editors_know_the_keys(state, is_taken):
    """By the schema, as by the reader."""
    document = yaml.safe_load(JOB.replace("STATE", state))
    validator = jsonschema.Draft202012Validator(json.loads(json.dumps(job_schema(CATALOGUE))))
    assert validator.is_valid(document) is is_taken
