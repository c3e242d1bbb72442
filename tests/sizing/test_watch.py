"""Whoever waits for sizes is told how far the proof is; an interrupt gives sizes that pass."""

import pytest

from drawbar.checking.check import check_job
from drawbar.jobfile.reader import read_job_file
from drawbar.sizing.choosing import Choosing
from drawbar.sizing.size import size
from drawbar.sizing.watch import Watch
from jobs import CATALOGUE
from paths import EXAMPLES

OPEN = str(EXAMPLES / "market-kitchen-open.yaml")


def test_it_is_told_how_far_the_proof_is():
    """The bound never passes the cost, and meets it once the sizes are proven."""
    told = []
    result = size(read_job_file(OPEN, CATALOGUE), watch=Watch(lambda cost, least: told.append((cost, least))))
    assert told
    assert all(least <= cost * (1 + 1e-9) for cost, least in told)
    assert told[-1] == (pytest.approx(result.cost), pytest.approx(result.cost))


def test_an_interrupt_gives_the_best_so_far(monkeypatch):
    """The sizes pass, and the gap is told; a second interrupt, or one that nobody waits for, ends the call."""
    job = read_job_file(OPEN, CATALOGUE)
    calls = []
    best = Choosing.best

    def interrupted(self, *rest):
        calls.append(1)
        if len(calls) == 1:
            raise KeyboardInterrupt
        return best(self, *rest)

    monkeypatch.setattr(Choosing, "best", interrupted)
    watch = Watch()
    result = size(job, watch=watch)
    assert watch.is_stopped
    assert result.passes
    assert check_job(result.sized).pressures_pass
    assert not result.is_proven or result.least_cost == pytest.approx(result.cost)
    assert result.least_cost <= result.cost * (1 + 1e-9)
    calls.clear()
    with pytest.raises(KeyboardInterrupt):
        size(job)
    calls.clear()
    with pytest.raises(KeyboardInterrupt):
        size(job, watch=watch)
