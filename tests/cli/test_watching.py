"""`check --watch`: again at every save, however an editor saves, and next to no work in between."""

import os
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from queue import Queue
from types import SimpleNamespace

import pytest

from calls import unmeasured
from drawbar.cli import watching
from drawbar.cli.watching import POLL_S, saves
from good_job import GOOD
from paths import ROOT

LIBRARY = "fittings: {bend-own: {title: a bend, ratio: 20, source: own}}\n"


def save_in_place(file: Path, text: str) -> None:
    file.write_text(text, encoding="utf-8")


def save_by_renaming(file: Path, text: str) -> None:
    other = file.with_suffix(".new")
    other.write_text(text, encoding="utf-8")
    other.replace(file)


def save_by_deleting_first(file: Path, text: str) -> None:
    file.unlink()
    file.write_text(text, encoding="utf-8")


class Clock:
    """What stands for `time.sleep`: it counts the seconds, and does what is due in them."""

    def __init__(self) -> None:
        self.s = 0.0
        self.due: list[tuple[float, Callable[[], object]]] = []

    def sleep(self, s: float) -> None:
        """Let so many seconds pass; an hour ends it."""
        self.s += s
        while self.due and self.due[0][0] <= self.s:
            self.due.pop(0)[1]()
        if self.s > 3600:
            raise TimeoutError


@pytest.mark.parametrize("save", [save_in_place, save_by_renaming, save_by_deleting_first, "unlink"])
def test_a_save_is_seen_within_half_a_second(tmp_path: Path, save) -> None:
    """In place or by another file in its place, of the same length too; also when the file goes away."""
    file = tmp_path / "job.yaml"
    file.write_text("a: 1\n", encoding="utf-8")
    clock = Clock()
    seen = saves([str(file)], sleep=clock.sleep)
    next(seen)
    at_s = 100.0
    clock.due = [(at_s, file.unlink if save == "unlink" else lambda: save(file, "a: 2\n"))]
    next(seen)
    assert at_s <= clock.s < at_s + 0.5


def test_what_is_saved_while_the_job_is_checked_is_not_missed(tmp_path: Path) -> None:
    """The files are looked at before they are read."""
    file = tmp_path / "job.yaml"
    file.write_text("a: 1\n", encoding="utf-8")
    clock = Clock()
    seen = saves([str(file)], sleep=clock.sleep)
    next(seen)
    file.write_text("a: 12\n", encoding="utf-8")
    next(seen)
    assert clock.s < 0.5


def test_an_hour_without_a_save_is_one_look_a_poll(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is read and nothing yielded: a file's status is asked five times a second, and no more."""
    file = tmp_path / "job.yaml"
    file.write_text("a: 1\n", encoding="utf-8")
    looks = []
    monkeypatch.setattr(watching, "os", SimpleNamespace(stat=lambda name: looks.append(name) or os.stat(name)))
    seen = saves([str(file), str(file)], sleep=Clock().sleep)
    next(seen)
    with pytest.raises(TimeoutError):
        next(seen)
    assert len(looks) == pytest.approx(2 * 3600 / POLL_S, rel=0.001)


def lines_of(process: subprocess.Popen[str]) -> "Queue[str]":
    """Return a queue of what a process prints on both its streams."""
    queue: Queue[str] = Queue()

    def pass_on() -> None:
        for line in process.stdout or ():
            queue.put(line)

    threading.Thread(target=pass_on, daemon=True).start()
    return queue


def until(lines: "Queue[str]", text: str) -> str:
    """Return what is printed up to a line that holds a text."""
    printed = ""
    while text not in printed:
        printed += lines.get(timeout=30)
    return printed


def test_checked_again_until_ctrl_c(tmp_path: Path) -> None:
    """A save that breaks the file shows its problem, the next one the job again; a library counts too; then 130."""
    job, library = tmp_path / "job.yaml", tmp_path / "own.yaml"
    job.write_text(GOOD, encoding="utf-8")
    library.write_text(LIBRARY, encoding="utf-8")
    with subprocess.Popen(
        [sys.executable, "-m", "drawbar", "check", str(job), "--watch", "--library", str(library)],
        env={**unmeasured(), "PYTHONPATH": str(ROOT / "src")},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        # A job in the background is started with Ctrl-C ignored.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509 - no thread runs yet
    ) as process:
        try:
            lines = lines_of(process)
            first = until(lines, "Ctrl-C ends")
            title, *_, last = first.splitlines()
            assert re.fullmatch("t: [A-Z]+", title)
            assert re.fullmatch(rf"\d\d:\d\d:\d\d, checked again at every save, Ctrl-C ends: {job}, {library}", last)
            assert "\x1b" not in first
            save_by_renaming(job, GOOD.replace("3.6 m", "3.6"))
            assert f"{job}:6:57: runs.main.length: `3.6` has no unit" in until(lines, "Ctrl-C ends")
            save_in_place(job, GOOD)
            assert "\nt: " in until(lines, "Ctrl-C ends")
            library.unlink()
            assert f"{library}: there is no such file" in until(lines, "Ctrl-C ends")
            save_in_place(library, LIBRARY)
            assert "\nt: " in until(lines, "Ctrl-C ends")
            process.send_signal(signal.SIGINT)
            assert process.wait(timeout=30) == 130
            until(lines, "drawbar: stopped\n")
        finally:
            process.kill()


def test_a_watch_goes_to_the_screen_alone(drawbar, tmp_path: Path) -> None:
    """Standard input comes once, and a file or JSON would be written over and over."""
    job = tmp_path / "job.yaml"
    job.write_text(GOOD, encoding="utf-8")
    for words, message in (
        (["-"], "--watch needs files, not standard input."),
        (
            [str(job), "--out", str(tmp_path / "x")],
            "--watch shows a table on the screen; leave --out and --format out.",
        ),
        ([str(job), "--format", "json"], "--watch shows a table on the screen; leave --out and --format out."),
    ):
        call = drawbar("check", *words, "--watch")
        assert (call.code, call.out) == (2, "")
        assert message in call.err
