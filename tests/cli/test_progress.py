"""A line of progress: on a terminal alone, there while the work goes on, gone when it is over."""

import io
from types import SimpleNamespace

import pytest

from drawbar.cli import progress


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self):
        """Return True."""
        return True


@pytest.fixture
def terminal(monkeypatch):
    """Return standard error as a terminal, with a clock that goes on by a second a look."""
    stream = Terminal()
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=stream))
    monkeypatch.setenv("TERM", "xterm")
    seconds = iter(range(10_000))
    monkeypatch.setattr(progress, "time", SimpleNamespace(monotonic=lambda: float(next(seconds))))
    return stream


def test_it_stands_while_items_come_and_is_taken_away(terminal):
    """Done, rate and time left; what speaks finds a line of its own; nothing is left at the end."""
    seen = []
    for item in progress.with_progress(iter(range(4)), 4, "jobs", lambda item: item == 2):
        seen.append(terminal.getvalue())
        assert item == len(seen) - 1
    assert seen[1].endswith("2 of 4 jobs, 1 a second, 0:02 left\r")
    assert seen[2] == seen[1] + "\r\x1b[K"
    assert terminal.getvalue().endswith("\r\x1b[K")


def test_there_is_none_where_it_can_not_be_drawn(terminal, monkeypatch):
    """Not on a dumb terminal, not where standard error is a file."""
    monkeypatch.setenv("TERM", "dumb")
    assert list(progress.with_progress(iter(range(4)), 4, "jobs")) == [0, 1, 2, 3]
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setattr(progress, "sys", SimpleNamespace(stderr=io.StringIO()))
    assert list(progress.with_progress(iter(range(4)), 4, "jobs")) == [0, 1, 2, 3]
    assert terminal.getvalue() == ""


def test_the_gap_of_a_proof(terminal):
    """The line tells the cost, the bound and the gap, and goes."""
    line = progress.GapLine()
    line.show(4.2, 4.0)
    assert terminal.getvalue() == "\r\x1b[Kcost 4.2, none below 4: gap 4.8 %; Ctrl-C takes the best so far\r"
    line.end()
    assert terminal.getvalue().endswith("\r\x1b[K")
