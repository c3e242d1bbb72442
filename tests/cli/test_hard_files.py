"""Jobs made to be as much work as a file can ask for: answered, by a bound where they must be, within their bars.

The work is the processor's time of a process of its own and the memory the kernel's figure; both are printed with `-s`.
What bounds them is counted, so that the answer is the same on every machine.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from drawbar.line.budget import bounds_each_place
from drawbar.line.network import Line
from drawbar.line.plugging import Plan, plans_of
from drawbar.line.state import StateOnLine
from drawbar.line.worst_way import bound_places
from drawbar.problems import close_to
from jobs import job_from
from paths import EXAMPLES, SUPPORT

FILES = Path(__file__).parents[1] / "hard_files"
MOST_SECONDS, MOST_MB = 2.0, 200.0
TRIES = 3
LOAD_SECONDS = 0.3  # what the solver and numpy, which it brings, take to load
# (file, command, exit code): what the largest files come to. READINGS is the file of readings beside it.
CALLS = [
    ("hundred-portables.yaml", "check", 0),
    ("hundred-portables.yaml", "check --compare", 0),
    ("hundred-portables.yaml", "size", 0),
    ("hundred-portables.yaml", "sheet", 0),
    ("hundred-portables.yaml", "commission", 0),
    ("hundred-portables-with-shares.yaml", "check", 3),
    ("hundred-portables-with-shares.yaml", "check --compare", 3),
    ("hundred-portables-with-shares.yaml", "size", 3),
    ("hundred-portables-with-shares.yaml", "recheck", 3),
    ("hundred-portables-with-shares.yaml", "sheet", 3),
    ("hundred-portables-with-shares.yaml", "diff", 0),
    ("twenty-outlets-each.yaml", "check", 3),
    ("twenty-outlets-each.yaml", "check --compare", 3),
    ("twenty-outlets-each.yaml", "size", 3),
    ("thirty-by-thirty.yaml", "size", 0),
    ("seven-by-seven.yaml", "recheck", 3),
    ("seven-by-seven.yaml", "size", 3),
    ("four-gases.yaml", "supply", 3),
    ("four-gases.yaml", "commission", 0),
    ("all-fails.yaml", "check", 1),
    ("all-fails.yaml", "check --compare", 1),
    ("all-fails.yaml", "sheet", 1),
    ("fixed-all-fails.yaml", "check", 1),
    ("fixed-all-fails.yaml", "commission", 0),
    ("fixed-all-fails.yaml", "commission --full", 0),
    ("forty-states.yaml", "check", 2),
    ("misspelt-runs.yaml", "check", 2),
    ("open-sizes.yaml", "size", 0),
    ("open-sizes-forty-states.yaml", "size", 3),
    ("open-all-fails.yaml", "size", 1),
    ("open-stages.yaml", "size", 3),
    ("many-choices.yaml", "size", 3),
    ("fixed-forty-states.yaml", "check --full", 3),
    ("fixed-forty-states.yaml", "check --compare", 3),
    ("fixed-forty-states.yaml", "size", 3),
    ("fixed-forty-states.yaml", "explain", 0),
    ("fixed-forty-states.yaml", "explain --short", 0),
    ("fixed-forty-states.yaml", "recheck", 3),
    ("fixed-forty-states.yaml", "takeoff", 0),
    ("fixed-forty-states.yaml", "tightness", 0),
    ("fixed-forty-states.yaml", "commission", 0),
    ("fixed-forty-states.yaml", "commission --full", 0),
    ("fixed-forty-states.yaml", "commission READINGS", 3),
    ("fixed-forty-states.yaml", "compare", 3),
    ("fixed-forty-states.yaml", "sheet", 3),
    ("fixed-forty-states.yaml", "diff", 0),
    ("few-ways-forty-states.yaml", "check --full", 3),
    ("few-ways-forty-states.yaml", "commission", 0),
    ("few-ways-forty-states.yaml", "commission READINGS", 1),
    ("few-ways-forty-states.yaml", "sheet --readings READINGS", 1),
    ("portables-on-a-chain.yaml", "check --full", 3),
    ("portables-on-a-chain.yaml", "size", 3),
    ("portables-on-a-chain.yaml", "recheck", 3),
    ("portables-on-a-chain.yaml", "sheet", 3),
    ("outlets-that-differ.yaml", "check --compare", 3),
    ("outlets-that-differ.yaml", "size", 3),
    ("outlets-that-differ.yaml", "sheet", 3),
    ("forty-hoses.yaml", "check --compare", 3),
    ("forty-hoses.yaml", "size", 3),
    ("forty-hoses.yaml", "sheet", 3),
    ("twenty-devices-a-run.yaml", "check --full", 1),
    ("twenty-devices-a-run.yaml", "recheck", 1),
    ("twenty-devices-a-run.yaml", "commission", 0),
    ("hundred-curves.yaml", "check", 3),
    ("hundred-curves.yaml", "commission", 0),
    ("thirty-connections.yaml", "check", 3),
    ("thirty-connections.yaml", "hotwater --full", 3),
    ("thirty-connections.yaml", "sheet", 3),
    ("thirty-connections.yaml", "supply --full", 0),
    ("thirty-connections.yaml", "takeoff", 0),
]


WITH_EXTRA = ["many-choices.yaml", "open-sizes-forty-states.yaml", "open-stages.yaml"]  # whose sizes a solver looks at


def words_of(name: str, command: str) -> list[str]:
    """Return the words of a call, with what its command asks for beside the job."""
    file = FILES / name
    first, *others = command.split()
    more = {
        "recheck": ("--swap", "a0=24 MJ/h"),
        "compare": ("--variant", "swap a0=24 MJ/h"),
        "sheet": ("-o", "-"),
        "diff": (str(FILES / "hundred-portables.yaml"),),
    }
    readings = str(file.with_name(f"{file.stem}-readings.yaml"))
    return [first, str(file), *(readings if each == "READINGS" else each for each in others), *more.get(first, ())]


def work_of(tmp_path: Path, name: str, command: str, **env: str) -> tuple[int, float, float]:
    """Return the exit code of a call, its work [s], the least of some tries, and its memory [MB]; print the figures."""
    words = [sys.executable, str(SUPPORT / "peak.py"), str(tmp_path / "peak"), *words_of(name, command)]
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("DRAWBAR", "COVERAGE"))} | env
    seconds, megabytes = [], 0.0
    while not seconds or (min(seconds) >= MOST_SECONDS and len(seconds) < TRIES):
        with (tmp_path / "out").open("wb") as out:
            child = subprocess.Popen(words, stdout=out, stderr=out, env=environment)
            _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        seconds.append(usage.ru_utime + usage.ru_stime)
        megabytes = max(megabytes, int((tmp_path / "peak").read_text(encoding="utf-8")) / 1024)
    assert b"Traceback" not in (tmp_path / "out").read_bytes()
    print(f"{command} {name}{' with the extra' if env else ''}: {min(seconds):.2f} s, {megabytes:.0f} MB")
    return child.returncode, min(seconds), megabytes


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="the kernel's figures of a process are Linux's")
@pytest.mark.parametrize(("name", "command", "code"), CALLS, ids=[f"{command} {name}" for name, command, _ in CALLS])
def test_the_work_of_a_hard_file(tmp_path, name, command, code):
    """Within 2 s of work, the start of the program counted, and 200 MB."""
    came_to, seconds, megabytes = work_of(tmp_path, name, command)
    assert came_to == code
    assert seconds < MOST_SECONDS
    assert megabytes < MOST_MB


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="the kernel's figures of a process are Linux's")
@pytest.mark.parametrize("name", WITH_EXTRA)
def test_the_extra_has_its_bounds_too(tmp_path, name):
    """Where a solver may be asked, the same bars hold, but for what it takes to load it."""
    pytest.importorskip("highspy")
    came_to, seconds, megabytes = work_of(tmp_path, name, "size", PEAK_WITH_EXTRA="1")
    assert came_to == 3
    assert seconds < MOST_SECONDS + LOAD_SECONDS
    assert megabytes < MOST_MB


def test_too_many_places_are_refused(drawbar):
    """Forty states of a hundred portables and forty outlets are told in a sentence, where they stand."""
    call = drawbar("check", str(FILES / "forty-states.yaml"))
    assert (call.code, call.out) == (2, "")
    assert "states: have 160,000 places of outlet and hose to plug in in, all states together; up to 60,000" in call.err


def test_one_bound_for_all_places_is_never_above_that_of_each():
    """Where a bound for each place is too much work, one for all is below it, so that no job passes by it alone."""
    job = job_from((FILES / "thirty-by-thirty.yaml").read_text(encoding="utf-8"))
    line = Line(job)
    each, coarse = (StateOnLine(line, Plan(job, job.states[0], each_place=by_place)) for by_place in (True, False))
    of_each, for_all = bound_places(each), bound_places(coarse)
    assert of_each.keys() == for_all.keys()
    assert all(for_all[name].margin_pa <= of_each[name].margin_pa + 1e-9 for name in of_each)
    assert any(for_all[name].margin_pa < of_each[name].margin_pa - 1e-6 for name in of_each)


def test_the_work_is_counted_alike_whatever_asks():
    """By the job alone it is decided which bound is used: small jobs have one for each place."""
    largest, small = (
        job_from((FILES / name).read_text(encoding="utf-8"))
        for name in ("hundred-portables.yaml", "thirty-by-thirty.yaml")
    )
    assert not bounds_each_place(largest)
    assert bounds_each_place(small)
    assert {plan.each_place for plan in plans_of(largest)} == {False}


def test_long_names_are_compared_by_their_ends_first():
    """Of many long names the one with a slip in it is still found, and few are compared letter by letter."""
    known = [f"{'a-very-long-name-of-a-run-' * 2}{number}" for number in range(200)]
    assert close_to(known[117].replace("name", "nome", 1), known) == f"did you mean `{known[117]}`?"


def test_a_run_with_the_regulator_s_name_ends(drawbar):
    """A run called `regulator` that hangs on the line from the regulator goes round for ever unless it is seen."""
    text = (
        (EXAMPLES / "harvest-fair-trailer.yaml").read_text(encoding="utf-8").replace("  galley:   {", "  regulator: {")
    )
    call = drawbar("check", "-", stdin=text)
    assert (call.code, call.out) == (2, "")
    assert "-:12:3: runs.regulator: " in call.err
