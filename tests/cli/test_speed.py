"""Speed and memory against references measured in the same run: importing what the program needs, libyaml's own parse.

Times on a busy machine mean little, so each bar is a ratio of two things run in turn, by the least of several goes.
"""

import compileall
import gc
import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import pytest
import yaml

import drawbar
import make_jobs
from drawbar.catalogue.catalogue import Catalogue
from drawbar.rechecking.recheck import parse_swap, recheck_file
from paths import EXAMPLE, SUPPORT


@pytest.fixture(autouse=True, scope="module")
def compiled():
    """Compile the package, as installing it does: Python may not be allowed to keep what it compiles."""
    compileall.compile_dir(Path(drawbar.__file__).parent, quiet=1)


PROGRAM = [sys.executable, "-c", "from drawbar.cli import main; main()"]  # as the installed script runs it
# What any program with these four packages and the project's short list of units pays before it does anything.
IMPORTS = "import click, yaml, tabulate, pint; from drawbar import units; units.registry()"


def least_seconds(*commands, goes: int = 9) -> list[float]:
    """Return the least processor time of each command over several goes, the commands run in turn."""
    least = [float("inf")] * len(commands)
    for _ in range(goes):
        for number, command in enumerate(commands):
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            spent = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
            least[number] = min(least[number], spent)
    return least


def test_one_job_costs_little_over_its_imports(capsys):
    """`drawbar check` on the README's example takes at most 1.25 times what importing its packages takes."""
    check, imports = least_seconds([*PROGRAM, "check", str(EXAMPLE)], [sys.executable, "-c", IMPORTS])
    with capsys.disabled():
        print(f"\ncheck: {check:.3f} s, {check / imports:.2f} times the imports ({imports:.3f} s)")
    assert check <= 1.25 * imports


def test_help_costs_little_over_click(capsys):
    """`drawbar --help` takes at most 1.5 times bare Python with click: it loads neither pint nor yaml."""
    shown, click = least_seconds([*PROGRAM, "--help"], [sys.executable, "-c", "import click"])
    with capsys.disabled():
        print(f"\nhelp: {shown:.3f} s, {shown / click:.2f} times Python with click ({click:.3f} s)")
    assert shown <= 1.5 * click


def times_of_parse(folder: Path, count: int) -> tuple[float, float]:
    """Return (time of libyaml's CSafeLoader, time of a recheck with a swap) over the same files, in this process."""
    make_jobs.make(folder, count)
    files = sorted(map(str, folder.iterdir()))
    catalogue = Catalogue()
    swaps = [parse_swap("urn", "21 MJ/h", catalogue)]
    recheck_file(files[0], catalogue, swaps)
    gc.collect()
    parse, recheck = 0.0, 0.0
    for start in range(0, len(files), 100):  # in turn, so that a slower spell of the machine meets both
        some = files[start : start + 100]
        before = time.process_time()
        for file in some:
            with open(file, encoding="utf-8") as stream:
                yaml.load(stream.read(), Loader=yaml.CSafeLoader)
        between = time.process_time()
        for file in some:
            recheck_file(file, catalogue, swaps)
        parse += between - before
        recheck += time.process_time() - between
    return parse, recheck


@pytest.mark.parametrize("count", [400, pytest.param(10_000, marks=pytest.mark.long)])
def test_a_job_costs_at_most_twice_its_parse(tmp_path, capsys, count):
    """Reading, checking, swapping and checking again costs per job at most twice what CSafeLoader takes to parse it."""
    parse, recheck = times_of_parse(tmp_path, count)
    with capsys.disabled():
        print(
            f"\n{count} jobs: {1e3 * recheck / count:.2f} ms a job, "
            f"{recheck / parse:.2f} times CSafeLoader's parse ({1e3 * parse / count:.2f} ms)"
        )
    assert recheck <= 2.0 * parse


def peak_mb(folder: Path, *words: str) -> float:
    """Return the peak memory of a recheck of a folder, in a process of its own [MB]."""
    report = folder.parent / "peak"
    command = [sys.executable, str(SUPPORT / "peak.py"), str(report), "recheck", str(folder), *words]
    subprocess.run([*command, "--format", "jsonl"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    return int(report.read_text(encoding="utf-8")) / 1024


@pytest.mark.parametrize("counts", [(100, 1000), pytest.param((100, 1000, 10_000), marks=pytest.mark.long)])
def test_memory_does_not_grow_with_the_number_of_jobs(tmp_path, capsys, counts):
    """The peak memory of a recheck is the same for 100 jobs as for many times as many, to a few megabytes."""
    peaks = []
    for count in counts:
        folder = tmp_path / str(count)
        make_jobs.make(folder, count)
        peaks.append(peak_mb(folder, "--swap", "urn=21 MJ/h"))
    with capsys.disabled():
        print(
            "\npeak memory: "
            + ", ".join(f"{peak:.0f} MB at {count} jobs" for peak, count in zip(peaks, counts, strict=True))
        )
    assert max(peaks) <= min(peaks) + 8.0


@pytest.mark.skipif((os.cpu_count() or 1) < 2, reason="needs two processors")
@pytest.mark.long
def test_two_workers_are_faster(tmp_path, capsys):
    """On two processors, two workers recheck 10 000 jobs in well under the time of one."""
    make_jobs.make(tmp_path, 10_000)
    seconds = []
    for workers in ("1", "2"):
        start = time.perf_counter()
        words = ["recheck", str(tmp_path), "--swap", "urn=21 MJ/h", "--format", "jsonl", "--workers", workers]
        subprocess.run([sys.executable, "-m", "drawbar", *words], stdout=subprocess.DEVNULL, check=False)
        seconds.append(time.perf_counter() - start)
    with capsys.disabled():
        ratio = seconds[0] / seconds[1]
        print(f"\ntwo workers: {ratio:.2f} times as fast ({seconds[0]:.1f} s to {seconds[1]:.1f} s)")
    assert seconds[0] / seconds[1] > 1.3
