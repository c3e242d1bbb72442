"""Every input of every command changed at random: a verdict or problems, never a traceback, and no input is touched."""

import pytest

from mutated import try_mutated


@pytest.mark.trial
def test_some_mutated_inputs(tmp_path, monkeypatch, drawbar):
    """A few of each kind; both what can be read and what can't be are among them."""
    pytest.importorskip("jinja2")
    pytest.importorskip("svg")
    monkeypatch.chdir(tmp_path)
    counts = try_mutated(tmp_path, drawbar, range(80))
    assert sum(counts.values()) == 80
    assert counts["2"] > 10
    assert counts["0"] + counts["1"] + counts["3"] > 10


@pytest.mark.long
@pytest.mark.parametrize("part", range(20))
def test_mutated_inputs_by_the_thousand(tmp_path, monkeypatch, drawbar, part):
    """100,000 in all."""
    monkeypatch.chdir(tmp_path)
    counts = try_mutated(tmp_path, drawbar, range(part * 5000 + 80, (part + 1) * 5000 + 80))
    print(counts)
    assert sum(counts.values()) == 5000
