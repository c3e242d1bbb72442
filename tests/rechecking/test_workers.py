"""Several processes: the same results, none left behind however the first ends, and none waited for."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import make_jobs
from drawbar.rechecking import workers
from drawbar.rechecking.recheck import recheck_file
from drawbar.rechecking.workers import Task, recheck_all
from jobs import CATALOGUE
from two_ends import swaps

SWAPS = swaps("urn=wok-burner")
TASK = Task(swaps=tuple(SWAPS))
pytestmark = [
    pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="looks for processes in /proc"),
    # The process of the tests has threads; those of these tests take no lock that another thread may hold.
    pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning"),
]


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Return sixty jobs."""
    folder = tmp_path_factory.mktemp("jobs")
    make_jobs.make(folder, 60)
    return sorted(map(str, folder.iterdir()))


@pytest.fixture
def always_worth_it(monkeypatch):
    """Start workers, as copies of this process, however little there is to do, and on a single processor as well."""
    monkeypatch.setattr(workers, "_context", lambda: workers.multiprocessing.get_context("fork"))
    monkeypatch.setattr(workers, "_WORTH_S", 0.0001)
    monkeypatch.setattr(workers, "_processors", lambda: 2)


def children_of(pid: int) -> list[int]:
    """Return the processes whose parent a process is."""
    children = []
    for name in os.listdir("/proc"):
        if name.isdigit():
            try:
                if int(Path(f"/proc/{name}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[1]) == pid:
                    children.append(int(name))
            except (FileNotFoundError, ProcessLookupError):
                continue
    return children


def test_workers_are_started_only_where_they_are_worth_it(files, monkeypatch):
    """Sixty small jobs are done before a worker would be ready: none is started."""
    started = []
    monkeypatch.setattr(workers, "_Worker", lambda *_: started.append(1))
    monkeypatch.setattr(workers, "_processors", lambda: 8)
    monkeypatch.setattr(workers, "_WORTH_S", 60.0)
    assert len(list(recheck_all(files, TASK, 8))) == 60
    assert started == []


@pytest.mark.usefixtures("always_worth_it")
@pytest.mark.parametrize("way", ["fork", "spawn"])
def test_they_give_the_same_in_the_same_order(files, monkeypatch, way):
    """By a copy of the process or started afresh, two and three give what one gives."""
    if way == "spawn":
        monkeypatch.setattr(workers, "_context", lambda: workers.multiprocessing.get_context("spawn"))
    alone = [recheck_file(file, CATALOGUE, SWAPS) for file in files]
    assert list(recheck_all(files, TASK, 3)) == alone
    assert children_of(os.getpid()) == [] or way == "spawn"  # the resource tracker of `multiprocessing` stays


@pytest.mark.usefixtures("always_worth_it")
def test_a_worker_that_is_stopped_is_not_waited_for(files, monkeypatch):
    """With a worker that never answers, as on a machine that is too busy, all jobs are done by this process."""
    monkeypatch.setattr(workers, "_work", lambda *_: time.sleep(600))
    alone = [recheck_file(file, CATALOGUE, SWAPS) for file in files]
    assert list(recheck_all(files, TASK, 2)) == alone


@pytest.mark.usefixtures("always_worth_it")
def test_a_worker_that_is_killed_loses_nothing(files, monkeypatch):
    """What it had is done by the others, and it is told."""
    monkeypatch.setattr(workers, "_work", lambda *_: os.kill(os.getpid(), signal.SIGKILL))
    told = []
    alone = [recheck_file(file, CATALOGUE, SWAPS) for file in files]
    assert list(recheck_all(files, TASK, 2, lost=told.append)) == alone
    assert told == ["a worker was ended by signal 9 before its time; its jobs are done by the others"]


@pytest.mark.parametrize(("by", "way"), [(signal.SIGTERM, "fork"), (signal.SIGKILL, "fork"), (signal.SIGKILL, "spawn")])
def test_they_end_with_the_process_that_started_them(tmp_path, files, by, way):
    """Whatever ends it, none of its workers is left, nor a hidden file of half a result."""
    code = (
        "from drawbar.rechecking import workers\nfrom drawbar.cli.main import main\n"
        "workers._WORTH_S = 0.0001; workers._processors = lambda: 3\n"
        f"workers._context = lambda: workers.multiprocessing.get_context({way!r})\n"
        "if __name__ == '__main__': main()\n"
    )
    program = tmp_path / "program.py"
    program.write_text(code, encoding="utf-8")
    (tmp_path / "list.txt").write_text("\n".join(files * 200), encoding="utf-8")
    words = [str(program), "recheck", "--jobs-from", str(tmp_path / "list.txt"), "--swap", "urn=wok-burner"]
    running = subprocess.Popen(
        [sys.executable, *words, "--workers", "3", "--format", "jsonl", "--out", str(tmp_path / "out.jsonl")],
        stderr=subprocess.PIPE,
    )
    part = tmp_path / "out.jsonl.part"
    deadline = time.monotonic() + 100
    while not (part.exists() and part.read_bytes().count(b"\n") > 40) and time.monotonic() < deadline:
        time.sleep(0.02)
    left = children_of(running.pid)
    os.kill(running.pid, by)
    running.communicate(timeout=60)
    assert len(left) >= 2
    while any(os.path.exists(f"/proc/{pid}") for pid in left) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert not [pid for pid in left if os.path.exists(f"/proc/{pid}")]
    assert sorted(os.listdir(tmp_path)) == ["list.txt", "out.jsonl.part", "program.py"]
    *lines, last = part.read_text(encoding="utf-8").split("\n")
    assert last == ""
    assert all(
        json.loads(line)["kind"] == ("recheck" if number else "recheck-run") for number, line in enumerate(lines)
    )
