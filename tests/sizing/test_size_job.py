"""A job sized as a workshop asks for it: its stock, its prices, and what other choices come to."""

from decimal import Decimal

import pytest

from drawbar.checking.check import check_job
from drawbar.job import Job
from drawbar.materials.prices import Price, PriceList
from drawbar.problems import Problems
from drawbar.sizing.size import Wishes, size, with_pipes
from drawbar.sizing.size_job import size_job
from drawbar.sizing.stock import StockList
from jobs import job_from

TEXT = """job: Three burners
gas: propane
rule: as-nzs-5601.2
regulator: {outlet: 2.75 kPa}
runs:
  main: {from: regulator, pipe: [as1432-b/7.94, as1432-b/9.52, as1432-b/12.70], length: 4 m}
  left: {from: main, pipe: [as1432-b/7.94, as1432-b/9.52, as1432-b/12.70], length: 1 m, fittings: {elbow-90: 2}}
  tail: {from: main, pipe: as1432-b/9.52, length: 1 m}
appliances:
  hob: {at: left, input: 30 MJ/h}
  oven: {at: tail, input: 25 MJ/h}
"""
STOCK = StockList("stock.yaml", frozenset({"as1432-b/7.94", "as1432-b/12.70"}))


def prices(**parts: str) -> PriceList:
    metre = {"as1432-b/7.94": "5.00", "as1432-b/9.52": "4.00", "as1432-b/12.70": "9.00"}
    pieces = {name.replace("_", "-"): Price(Decimal(price)) for name, price in parts.items()}
    return PriceList("prices.yaml", "AUD", {label: Price(Decimal(price)) for label, price in metre.items()}, pieces)


@pytest.fixture
def job() -> Job:
    return job_from(TEXT, sized=False)


def test_it_is_the_same_as_sizing_by_mass(job: Job) -> None:
    """Without stock or prices the sizes are those of `size`, each run's cost its pipe's mass, and they add up."""
    sized, plain = size_job(job), size(job)
    assert (sized.result.sized, sized.result.cost) == (plain.sized, plain.cost)
    assert sized.cost_unit == "kg of pipe"
    masses = {run.name: run.length_m * run.pipes[0].mass_kg_m for run in sized.result.sized.runs}
    assert sized.run_costs == pytest.approx(masses)
    assert sum(sized.run_costs.values()) == pytest.approx(sized.result.cost)


def test_stock_limits_what_is_open(job: Job) -> None:
    """Open runs take what is in stock; the run whose size is decided keeps it."""
    labels = {run.name: run.pipes[0].label for run in size_job(job, stock=STOCK).result.sized.runs}
    assert labels.pop("tail") == "as1432-b/9.52"
    assert set(labels.values()) <= STOCK.labels
    assert size_job(job, stock=STOCK).result.chosen_labels == labels


def test_prices_are_what_is_made_least(job: Job) -> None:
    """Pipe by the metre and elbows by the piece: 4.00 a metre, and 1 m of left with two elbows at 2.50."""
    sized = size_job(job, prices=prices(elbow_90="2.50"))
    assert sized.cost_unit == "AUD"
    assert sized.result.chosen_labels["left"] == "as1432-b/9.52"  # dearer in both others
    assert sized.run_costs["left"] == pytest.approx(4.00 + 2 * 2.50)
    assert sized.run_costs["tail"] == pytest.approx(4.00)


def test_the_other_choices_are_checks_of_their_own(job: Job) -> None:
    """What is said of the next smaller size and of the longest-run method is what a check of that line says."""
    sized = size_job(job)
    assert set(sized.next_smaller) == {run.name for run in sized.result.sized.runs} - {"tail"} - {
        run.name for run in sized.result.sized.runs if run.pipes[0].label == "as1432-b/7.94"
    }
    for name, smaller in sized.next_smaller.items():
        changed = check_job(with_pipes(sized.result.sized, {name: smaller.pipe}))
        assert smaller.passes == changed.pressures_pass
        assert smaller.margin_pa == pytest.approx(min(state.worst_margin_pa for state in changed.states))
    longest_run = sized.longest_run
    assert None not in longest_run.pipes.values()
    assert longest_run.passes == check_job(with_pipes(job, longest_run.pipes)).pressures_pass
    assert longest_run.cost == pytest.approx(
        sum(run.length_m * longest_run.pipes[run.name].mass_kg_m for run in job.runs)
    )


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            {"stock": StockList("stock.yaml", frozenset({"as1432-b/15.88"}))},
            "job.yaml: runs.main.pipe: none of its 3 choices is in stock.yaml; "
            "add one of as1432-b/7.94, as1432-b/9.52, as1432-b/12.70 there\n"
            "job.yaml: runs.left.pipe: none of its 3 choices is in stock.yaml; "
            "add one of as1432-b/7.94, as1432-b/9.52, as1432-b/12.70 there",
        ),
        (
            {"stock": STOCK, "wishes": Wishes(most_sizes=1)},
            "job.yaml: runs.tail.pipe: no one size is enough for the choices of every run, and this run has the "
            "fewest; allow more sizes here, or more sizes in all",
        ),
        (
            {"prices": PriceList("prices.yaml", "AUD", {"as1432-b/9.52": Price(Decimal(4))}, {})},
            "job.yaml: runs.main.pipe: prices.yaml has no price for as1432-b/7.94, as1432-b/12.70; "
            "add `per-metre` prices, or choose among what has one\n"
            "job.yaml: runs.left.pipe: prices.yaml has no price for as1432-b/7.94, as1432-b/12.70; "
            "add `per-metre` prices, or choose among what has one",
        ),
    ],
    ids=["stock", "wish", "prices"],
)
def test_choices_that_can_not_be_used_are_problems(job: Job, words: dict, message: str) -> None:
    """A script that catches Problems hears of each run whose choices can't be used, as the command tells it."""
    with pytest.raises(Problems) as refusal:
        size_job(job, **words)
    assert str(refusal.value) == message
