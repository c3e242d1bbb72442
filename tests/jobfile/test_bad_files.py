"""Bad files through the whole program: exactly what is said, where, and exit code 2.

The slips stand in bad_files/, a list to a theme. To add one, name it under `slip:`, give a piece of the good job
(tests/support/good_job.py) under `replace:` and what stands in its place under `by:`, or a text for the end of the job
under `add:`, and under `said:` each line that the program must say, without the file's name before it.
"""

import os
from pathlib import Path
from typing import NamedTuple

import pytest
import yaml

from drawbar.jobfile import model
from good_job import GOOD

BAD_FILES = Path(__file__).parent / "bad_files"
THEMES = (
    "figures",
    "shapes",
    "missing",
    "keys_and_names",
    "runs",
    "catalogue_names",
    "connections",
    "yaml_form",
    "tolerances_and_unknowns",
)
# Keys as messages list them: all of a table's, or the first twelve of many.
KEYS = {
    "{APPLIANCE KEYS}": ", ".join(model.APPLIANCE.fields),
    "{REGULATOR KEYS}": ", ".join(model.REGULATOR.fields),
    "{JOB KEYS}": ", ".join(list(model.JOB.fields)[:12]) + f" and {len(model.JOB.fields) - 12} more",
}
FAMILY = "title: t, source: s, material: copper, roughness: 0 mm, roughness-source: s"


# The good job with nothing left out, so that its verdict is that of its figures.
WHOLE = (
    GOOD.replace("outlet: 2.75 kPa", "outlet: 2.75 kPa, capacity: 100 MJ/h")
    .replace("bay: {at: main}", "bay: {at: main, devices: none}")
    .replace("input: 50 MJ/h", "input: 30 MJ/h")
)


class Slip(NamedTuple):
    """What is wrong, the file with it, and what is said after the file's name."""

    name: str
    text: str
    said: list[str]


def cases(name: str) -> list[dict[str, object]]:
    """Return a list of bad files."""
    return yaml.safe_load((BAD_FILES / f"{name}.yaml").read_text(encoding="utf-8"))


def with_keys(line: str) -> str:
    """Return a line with the keys of the model in place of their names in braces."""
    for braces, keys in KEYS.items():
        line = line.replace(braces, keys)
    return line


def slip(case: dict[str, object]) -> Slip:
    """Return a case as the good job with the slip in it."""
    said = [with_keys(line) for line in case["said"]]
    if "add" in case:
        return Slip(case["slip"], GOOD + case["add"], said)
    assert case["replace"] in GOOD
    return Slip(case["slip"], GOOD.replace(case["replace"], case["by"], 1), said)


SLIPS = [slip(case) for theme in THEMES for case in cases(theme)]
# Slips that are long, and so are made here.
SLIPS += [
    Slip(
        "digits without end",
        GOOD.replace("length: 3.6 m", "length: " + "1" * 20_000 + " m m", 1),
        [
            "6:57: runs.main.length: `1111111111111111111111111111111111111...` is not a number and a "
            "unit; write a number and one of mm, cm, m, in, ft"
        ],
    ),
    Slip(
        "a list too long",
        GOOD + "states: {a: [" + "fryer, " * 201 + "]}\n",
        ["14:13: states.a: is a list of 201; write up to 200"],
    ),
    Slip(
        "names too many",
        GOOD.replace(
            "hoses:\n", "hoses:\n" + "".join(f"  h{n}: {{pipe: hose/8, length: 1 m}}\n" for n in range(40)), 1
        ),
        ["10:3: hoses: has 41 names; write up to 40"],
    ),
]

# Whole files: bytes, and what is said after the file's name.
FILES: list[tuple[str, bytes, list[str]]] = [
    ("empty", b"", ["1:1: the file is empty; write `key: value` lines"]),
    ("only comments", b"# a job\n\n# some day\n", ["1:1: the file is empty; write `key: value` lines"]),
    ("only a document mark", b"---\n", ["1:1: the file is empty; write `key: value` lines"]),
    ("41 deep", b"[" * 41 + b"]" * 41, ["1:40: the values are nested more than 40 deep; a job is 6 deep"]),
    ("1001 deep", b"[" * 1001, ["1:1001: the values are nested more than 40 deep; a job is 6 deep"]),
    (
        "50 001 values",
        b"[" + b"x," * 50_000 + b"]",
        ["1:1: the file holds more than 50,000 values; a job has a few hundred"],
    ),
    ("a list at the top", b"- job: t\n", ["1:1: the file is a list; write `key: value` lines"]),
    ("a text at the top", b"a trailer\n", ["1:1: the file is the text `a trailer`; write `key: value` lines"]),
    (
        "Latin-1",
        GOOD.encode().replace(b"job: t", b"job: caf\xe9"),
        ["1:9: byte 0xe9 is not UTF-8 text; save the file as UTF-8"],
    ),
    ("UTF-16", GOOD.encode("utf-16"), ["1:1: byte 0xff is not UTF-8 text; save the file as UTF-8"]),
    ("NUL", GOOD.encode().replace(b"fryer", b"fry\0er"), ["12:6: character U+0000 can't be printed; delete it"]),
    ("escape", GOOD.encode().replace(b"fryer", b"\x1b[31m"), ["12:3: character U+001B can't be printed; delete it"]),
    ("bell", GOOD.encode() + b"# \a\n", ["14:3: character U+0007 can't be printed; delete it"]),
    ("mark within", GOOD.encode() + "# \ufeff\n".encode(), ["14:3: character U+FEFF can't be printed; delete it"]),
    ("line separator", GOOD.encode() + "# \u2028\n".encode(), ["14:3: character U+2028 can't be printed; delete it"]),
    (
        "right lines with CRLF",
        GOOD.replace("3.6 m", "3.6").replace("\n", "\r\n").encode(),
        ["6:57: runs.main.length: `3.6` has no unit; write one of mm, cm, m, in, ft after it"],
    ),
    (
        "right columns behind a byte order mark",
        b"\xef\xbb\xbf" + GOOD.replace("job: t", "jab: t").encode(),
        ["1:1: jab: is not a key here; did you mean `job`?", "1:1: `job` is missing; write `job:` and a title"],
    ),
    (
        "no file to speak of",
        b"job: t\n",
        [
            "1:1: `gas` is missing; write `gas:` and a gas, as `propane`, or a mixture by mole, "
            "as `{propane: 70 %, n-butane: 30 %}`",
            "1:1: `regulator` is missing; write `regulator:` and the regulator at the start, as `{outlet: 2.75 kPa}`",
            "1:1: `runs` is missing; write `runs:` and the pipe, run by run",
            "1:1: `appliances` is missing; write `appliances:` and each appliance with its input",
            "1:1: no allowed pressure drop is given; write `rule: NAME` (see `drawbar list rules`) or "
            "`limits: {drop: 0.25 kPa}`",
        ],
    ),
]


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path, monkeypatch):
    """Work in an empty folder, without a library from the environment."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("DRAWBAR_LIBRARY", raising=False)


def lines(file: str, said: list[str]) -> str:
    """Return what standard error holds where this is said of a file."""
    return "".join(f"{file}:{line}\n" for line in said)


def test_the_lists_are_whole():
    """Every list of slips is read, and no two slips have one name."""
    assert {path.stem for path in BAD_FILES.glob("*.yaml")} == {*THEMES, "libraries", "eight_slips"}
    names = [case.name for case in SLIPS]
    assert len(set(names)) == len(names) == 210
    assert len(cases("libraries")) == 11


@pytest.mark.parametrize("case", SLIPS, ids=[case.name for case in SLIPS])
def test_one_slip(drawbar, case):
    """One slip in a good file: exactly these lines on standard error, nothing on standard output, exit code 2."""
    Path("job.yaml").write_text(case.text, encoding="utf-8")
    assert drawbar("check", "job.yaml") == (2, "", lines("job.yaml", case.said))


@pytest.mark.parametrize(("data", "said"), [file[1:] for file in FILES], ids=[file[0] for file in FILES])
def test_whole_file(drawbar, data, said):
    """A file that is no job at all, byte for byte."""
    Path("job.yaml").write_bytes(data)
    assert drawbar("check", "job.yaml") == (2, "", lines("job.yaml", said))


@pytest.mark.parametrize(
    "data",
    [
        WHOLE.encode(),
        b"\xef\xbb\xbf" + WHOLE.encode(),
        WHOLE.replace("\n", "\r\n").encode(),
        WHOLE.replace("\n", "\r").encode(),
        WHOLE.rstrip("\n").encode(),
        b"%YAML 1.1\n---\n" + WHOLE.encode() + b"...\n",
        WHOLE.replace("job: t", "job: Fish & chips!").encode(),
    ],
    ids=["plain", "byte order mark", "CRLF", "CR", "no last line break", "YAML 1.1 marks", "ampersand"],
)
def test_good_file(drawbar, data):
    """What editors and systems do to a good file does no harm: nothing is said, and the check is made."""
    Path("job.yaml").write_bytes(data)
    code, out, said = drawbar("check", "job.yaml")
    assert (code, said) == (0, "")
    assert ": PASS\n" in out.partition("=")[0]


def test_all_at_once(drawbar):
    """A file with eight slips of different kinds gives eight lines, in the order of the file."""
    Path("job.yaml").write_bytes((BAD_FILES / "eight_slips.yaml").read_bytes())
    said = (BAD_FILES / "eight_slips.txt").read_text(encoding="utf-8")
    assert drawbar("check", "job.yaml") == (2, "", said)


def test_no_more_than_can_be_read(drawbar):
    """Two hundred problems are told; more would help nobody."""
    Path("job.yaml").write_text("".join(f"k{n}: 1\n" for n in range(300)))
    code, out, said = drawbar("check", "job.yaml")
    assert (code, out) == (2, "")
    each = said.splitlines()
    assert each[0].startswith("job.yaml:1:1: k0: is not a key here; known here: job, ref,")
    assert len(each) == 201
    assert each[-1] == "job.yaml: 200 problems, and there may be more; mend these first"


def test_other_jobs_go_on(drawbar):
    """A job that can't be read does not stop the others; the exit code is the highest."""
    Path("good.yaml").write_text(GOOD)
    Path("bad.yaml").write_text("job: t\n- a\n")
    code, out, said = drawbar("check", "missing.yaml", "good.yaml", "bad.yaml", "--format", "csv")
    assert code == 2
    assert [line.split(",")[0] for line in out.splitlines()] == ["file", "good.yaml", "good.yaml"]
    assert said == (
        "missing.yaml: there is no such file\n"
        "bad.yaml:2:1: not well-formed YAML: did not find expected key; is a colon or a space after it missing, "
        "or a line indented differently from its neighbours?\n"
    )


def test_folder(drawbar):
    """A folder holds jobs for `check`, and one without any is said; a command of one job wants a file."""
    Path("jobs").mkdir()
    assert drawbar("check", "jobs") == (2, "", "no job files were found\n")
    assert drawbar("size", "jobs") == (2, "", "jobs: is a folder; name the file in it\n")


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads every file")
def test_unreadable(drawbar):
    """A file without read permission is said to be that."""
    Path("job.yaml").write_text(GOOD)
    Path("job.yaml").chmod(0)
    assert drawbar("check", "job.yaml") == (2, "", "job.yaml: can't be read: Permission denied\n")


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("no\0name", "can't be read: embedded null byte"),
        ("x" * 300, "can't be read: File name too long"),
        ("job.yaml/more", "can't be read: Not a directory"),
    ],
    ids=["NUL", "long", "file for a folder"],
)
def test_odd_names(drawbar, name, said):
    """A name that no file can have is a problem of the call."""
    Path("job.yaml").write_text(GOOD)
    shown = name.replace("\0", "\\x00")
    assert drawbar("check", name) == (2, "", f"{shown}: {said}\n")


def test_too_large(drawbar):
    """A file over a megabyte is not read on."""
    Path("job.yaml").write_bytes(b"# " + b"x" * 1_000_000)
    said = "job.yaml: is over 1,000,000 bytes; a job file is a few thousand; is this the right file?\n"
    assert drawbar("check", "job.yaml") == (2, "", said)


@pytest.mark.parametrize("case", cases("libraries"), ids=lambda case: case["slip"])
def test_bad_library(drawbar, case):
    """A slip in a workshop's library stops the program before any job is read."""
    Path("own.yaml").write_text(case["library"].replace("{FAMILY}", FAMILY))
    Path("job.yaml").write_text(GOOD)
    assert drawbar("check", "job.yaml", "--library", "own.yaml") == (2, "", lines("own.yaml", case["said"]))


def test_library_rate_out_of_bounds(drawbar):
    """A mass flow of the library that no appliance can have is told where the job file asks for it."""
    Path("own.yaml").write_text("appliances:\n  own: {title: t, input: 400 kg/h, source: s}\n")
    Path("job.yaml").write_text(GOOD.replace("50 MJ/h", "{like: own}"))
    assert drawbar("check", "job.yaml", "--library", "own.yaml") == (
        2,
        "",
        "job.yaml:12:35: appliances.fryer.input.like: `400 kg/h` is 20,131 MJ/h, which can't be right; "
        "write from 0.1 MJ/h to 5000 MJ/h\n",
    )


def test_missing_library(drawbar, monkeypatch):
    """A library that is named and not there stops the program, by option and by environment."""
    Path("job.yaml").write_text(GOOD)
    assert drawbar("check", "job.yaml", "--library", "own.yaml") == (2, "", "own.yaml: there is no such file\n")
    monkeypatch.setenv("DRAWBAR_LIBRARY", "env.yaml")
    assert drawbar("check", "job.yaml") == (2, "", "env.yaml: there is no such file\n")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check"], "Missing argument 'JOB...'."),
        (["check", "job.yaml", "--format", "xml"], "'xml' is not one of 'table', 'json', 'csv', 'markdown', 'github'."),
        (["check", "job.yaml", "--formula", "nope"], "'nope' is not a formula; known here: darcy, ifgc,"),
        (["check", "job.yaml", "--formula", "pol"], "'pol' is not a formula; did you mean `pole`?"),
        (["check", "job.yaml", "--nope"], "No such option '--nope'."),
        (["chek"], "No such command: `chek`; did you mean `check`?"),
    ],
    ids=["no job", "format", "formula", "formula misspelt", "option", "command"],
)
def test_bad_call(drawbar, words, said):
    """A call that is wrong says how it is used, and ends with exit code 2."""
    Path("job.yaml").write_text(GOOD)
    code, out, err = drawbar(*words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.startswith("Usage: drawbar ")


def test_out_into_a_missing_folder(drawbar):
    """What can't be written is said, and nothing is left behind."""
    Path("job.yaml").write_text(GOOD)
    said = "none/result.txt: can't be written: No such file or directory\n"
    assert drawbar("check", "job.yaml", "--out", "none/result.txt") == (2, "", said)
    assert [path.name for path in Path().iterdir()] == ["job.yaml"]


def test_out_keeps_the_old_file(drawbar):
    """A bad job leaves the file of the last good result as it was."""
    Path("job.yaml").write_text("job: t\n- a\n")
    Path("result.txt").write_text("old\n\ndrawbar 0.1.0\n")
    assert drawbar("check", "job.yaml", "--out", "result.txt")[0] == 2
    assert Path("result.txt").read_text().startswith("old")
