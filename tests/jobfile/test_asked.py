"""What is asked of a job beside its file: the same as the edited file, each problem in its own place."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from yaml.nodes import MappingNode, Node, ScalarNode

import drawbar
from drawbar.problems import Problems
from drawbar.yamlfile.nodes import Source, compose
from good_job import GOOD
from paths import ROOT

EXAMPLES = sorted((ROOT / "examples").glob("*.yaml"))
JOBS = [file for file in EXAMPLES if re.search("^runs:", file.read_text(encoding="utf-8"), re.MULTILINE)]


def leaves(node: Node, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], ScalarNode]]:
    """Yield every value of a job file that is a single text, with the way to it."""
    if isinstance(node, MappingNode):
        for key, value in node.value:
            yield from leaves(value, (*path, key.value))
    elif isinstance(node, ScalarNode):
        yield path, node


def other(text: str) -> str:
    """Return another value in place of one: a figure a little larger, a name that there is not."""
    number = re.match(r"-?[0-9]+(\.[0-9]+)?", text)
    if number is None or "/" in text:
        return "no-such"
    return f"{float(number.group()) * 1.25:g}{text[number.end() :]}"


def outcome(text: str, settings: dict[str, str] | None = None) -> object:
    """Return the job of a text, or what is said of it but for the places."""
    try:
        return drawbar.job_from_text(text, settings=settings)._replace(asked=())
    except Problems as error:
        return sorted((problem.where, problem.what, problem.fit) for problem in error.problems)


def said(settings: dict[str, str], text: str = GOOD) -> list[str]:
    """Return what is said of settings that can't be."""
    with pytest.raises(Problems) as wrong:
        drawbar.job_from_text(text, settings=settings)
    return str(wrong.value).splitlines()


@pytest.mark.parametrize("file", JOBS, ids=lambda file: file.stem)
def test_a_key_set_is_the_edited_file(file: Path) -> None:
    """Set or edited by hand, a value makes the same job, or the same problem but for its place."""
    text = file.read_text(encoding="utf-8")
    values = list(leaves(compose(text, Source(str(file)))))
    assert len(values) > 10
    for path, node in values[:: max(1, len(values) // 15)]:
        new = other(node.value)
        edited = text[: node.start_mark.index] + new + text[node.end_mark.index :]
        key = ".".join(f'"{part}"' if "." in part else part for part in path)
        assert outcome(text, {key: new}) == outcome(edited), f"{key}={new}"


def test_nothing_is_left_in_the_file_or_in_the_next_reading(tmp_path: Path) -> None:
    """The file stays as it is, and what was asked once is not asked again."""
    file = tmp_path / "job.yaml"
    file.write_text(GOOD, encoding="utf-8")
    before = drawbar.read_job(file)
    asked = drawbar.read_job(file, settings={"runs.main.length": "9 m"})
    assert asked.runs[0].length_m == 9.0
    assert asked.asked == ("runs.main.length = 9 m",)
    assert file.read_text(encoding="utf-8") == GOOD
    assert drawbar.read_job(file) == before
    assert before.asked == ()


@pytest.mark.parametrize(
    ("key", "value", "problem"),
    [
        ("runs.main.length", "9", "runs.main.length: `9` has no unit"),
        ("runs.main.length", "9 kg", "runs.main.length: "),
        ("runs.main.length", "9 km", "runs.main.length: "),
        ("runs.main.length", "[9 m]", "runs.main.length: is a list; write a number and a unit"),
        ("runs.main.rise", "5 m", "runs.main.rise: is more than the length of the run"),
        ("runs.main.pipe", "as1432-b/1", "runs.main.pipe: `1` is not a size of as1432-b"),
        ("runs.main.fittings", "{elbow-9: 3}", "runs.main.fittings.elbow-9: is not a fitting of the catalogue"),
        ("runs.main.fittings.elbow-90", "1.5", "runs.main.fittings.elbow-90: `1.5` can't stand here"),
        ("runs.main.lenght", "9 m", "runs.main.lenght: is not a key here; did you mean `length`?"),
        ("run.main.length", "9 m", "run: is not a key here; did you mean `runs`?"),
        ("gas", "propan", "gas: `propan` is not a gas of the catalogue; did you mean `propane`?"),
        ("formula", "darcey", "formula: `darcey` is not a formula; did you mean `darcy`?"),
        ("job", "'", "job: "),
        ("job", "a: b", "job: `a: b` is a `KEY: VALUE` without brackets"),
        ("job", "- a", "job: `- a` is a list item without brackets"),
        ("job", "# nothing", "job: is empty; write a line of text"),
        ("job", '"\\e[31m"', "job: holds the character U+001B, which can't be printed; delete it"),
        ("job", "a\x1b", "job: holds the character U+001B, which can't be printed; delete it"),
        ("job", "*a", "job: an alias (`*name`) that points nowhere; write the value out"),
        ("job", "!x b", "job: a tag stands here"),
        ("states", "[" * 60, "states: "),
        ("appliances", "", "appliances: can't be taken out; write `appliances:` and "),
    ],
)
def test_a_bad_value_of_every_kind_has_its_own_place(key: str, value: str, problem: str) -> None:
    """What is wrong is told at what set it, and never at a line of the file."""
    lines = said({key: value})
    assert lines[0].startswith(f"settings: {problem}"), lines
    assert not any(re.search(r"job\.yaml:\d", line) for line in lines)


@pytest.mark.parametrize(
    ("key", "value", "problem"),
    [
        (
            "runs.mian.length",
            "9 m",
            "runs.mian: is not in the file, and a new one needs from and pipe; did you mean `main`?",
        ),
        ("runs.main.length.x", "9", "runs.main.length.x: `runs.main.length` is the text `3.6 m` and has no `x`; "),
        ("gas.propane", "70 %", "gas.propane: `gas` is the text `propane` and has no `propane`; set `gas` whole"),
        ("hoses.hoze.x", "", "hoses.hoze: is not in the file, and can't be taken out; did you mean `hose`?"),
        ("cylinders.fill", "50 %", "cylinders: is not in the file, and a new one needs size; set `cylinders.size`"),
        ("runs.main", "{from: a, from: b}", "runs.main.from: stands here a second time, first on settings; keep one"),
        ("runs..length", "9 m", "`runs..length=9 m` has an empty part in its key; write KEY=VALUE"),
        ("", "9 m", "`=9 m` has an empty part in its key; write KEY=VALUE"),
    ],
)
def test_a_way_that_leads_nowhere_is_told(key: str, value: str, problem: str) -> None:
    """A way through a text, a name that is not there, and half of a new table are told, with what is meant."""
    lines = said({key: value})
    assert lines[0].startswith(f"settings: {problem}"), lines


def test_a_new_run_is_put_together_from_its_keys() -> None:
    """A table that is not there yet is made; an item of a list is its number, and one more goes to the end."""
    settings = {
        "runs.spur.from": "main",
        "runs.spur.pipe": "as1432-b/9.52",
        "runs.spur.length": "1 m",
        "appliances.stove": "{at: spur, input: 5 MJ/h}",
        "runs.spur.devices": "[{name: valve, flow: 60 MJ/h, drop: 40 Pa}]",
        "runs.spur.devices.1.drop": "50 Pa",
        "runs.spur.devices.2": "{name: cock, flow: 60 MJ/h, drop: 10 Pa}",
    }
    job = drawbar.job_from_text(GOOD, settings=settings)
    spur = next(run for run in job.runs if run.name == "spur")
    assert [(device.name, device.drop_pa) for device in spur.devices] == [("valve", 50.0), ("cock", 10.0)]
    assert job.appliances[-1].at == "spur"


def test_a_key_is_taken_out() -> None:
    """An empty value takes a key out, as if it had not been written."""
    assert drawbar.job_from_text(GOOD).hoses[0].count is None
    counted = GOOD.replace("length: 1.5 m", "length: 1.5 m, count: 2")
    assert drawbar.job_from_text(counted).hoses[0].count == 2
    without = drawbar.job_from_text(counted, settings={"hoses.hose.count": ""})
    assert without.hoses[0].count is None
    assert without.asked == ("hoses.hose.count taken out",)


def test_a_swap_is_the_swapped_job() -> None:
    """A rate and a type of appliance come to what `swapped` makes of the job; the basis of the old input goes."""
    text = GOOD.replace("input: 50 MJ/h", "input: 50 MJ/h, basis: net")
    assert text != GOOD
    for new in ("30 MJ/h", "0.6 kg/h", "wok-burner"):
        swap = drawbar.parse_swap("fryer", new)
        asked = drawbar.job_from_text(text, swaps=[swap])
        assert asked._replace(asked=()) == drawbar.swapped(drawbar.job_from_text(text), [swap])
        assert asked.asked == (f"fryer swapped for {new}",)


def test_a_swap_of_no_appliance_is_told() -> None:
    """An answer to a question about an appliance that is not there would be the answer to another."""
    with pytest.raises(Problems, match=r"^swaps: `fryr` is no appliance of the job; did you mean `fryer`\?$"):
        drawbar.job_from_text(GOOD, swaps=[drawbar.parse_swap("fryr", "30 MJ/h")])
    with pytest.raises(Problems, match=r"appliances.fryer.input: is set by settings already; leave one of them out"):
        drawbar.job_from_text(
            GOOD, settings={"appliances.fryer.input": "9 MJ/h"}, swaps=[drawbar.parse_swap("fryer", "30 MJ/h")]
        )


def test_units_are_those_asked_for() -> None:
    """The pages' units are the system's by name; no figure changes."""
    job, us = drawbar.job_from_text(GOOD), drawbar.job_from_text(GOOD, units="us")
    assert us.display.heat == "Btu/h"
    assert us._replace(display=job.display) == job
    with pytest.raises(ValueError, match="`imperial` is no system of units; known here: metric, mbar, us"):
        drawbar.job_from_text(GOOD, units="imperial")


def test_sizes_of_another_line_are_not_written(tmp_path: Path) -> None:
    """A job that was read with more set than pipes has no sizes for its file."""
    file = tmp_path / "job.yaml"
    file.write_text(GOOD, encoding="utf-8")
    longer = drawbar.read_job(file, settings={"runs.main.length": "9 m"})
    with pytest.raises(ValueError, match=r"the job was read with runs\.main\.length = 9 m: its sizes are not"):
        drawbar.write_sizes(longer, file)
    assert file.read_text(encoding="utf-8") == GOOD
    drawbar.write_sizes(drawbar.read_job(file, settings={"runs.main.pipe": "as1432-b/19.05"}), file)
    assert drawbar.read_job(file).runs[0].pipe.label == "as1432-b/19.05"


def test_a_table_made_within_one_that_is_told_is_told_once() -> None:
    """The outermost table that can't stand is told, and nothing of what was made in it."""
    lines = said({"runs.mian.regulator.accuracy": "5 %"})
    assert lines == [
        "settings: runs.mian: is not in the file, and a new one needs from, pipe and length; did you mean `main`?"
    ]
