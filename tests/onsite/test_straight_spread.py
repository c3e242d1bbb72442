"""The spread of a line's predictions by its slopes, beside that by solving the line anew with each thing off."""

import math
import random
from collections.abc import Sequence

import pytest

from commission_jobs import BOAT, CARAVAN, JOBS, TRAILER, TWO_STAGE, job, setups
from drawbar.onsite.commission import commission, expected_pressures
from drawbar.onsite.readings import readings_of
from drawbar.onsite.spread import Allowances, Spread, allowances_of, is_too_much
from drawbar.onsite.straight_spread import StraightSpread, spread_of
from drawbar.onsite.testpoints import NOTHING_ON, Model, Setup
from drawbar.report.commission_report import CommissionReport, ExpectedPressuresReport
from drawbar.report.commission_words import NOT_SOUGHT, STRAIGHT

LITTLE = 0.02  # of what lines may be off, everything goes straight
CLOSE_PA = 1e-3


def points(model: Model, lit: Sequence[Setup]) -> list[tuple[int, str]]:
    """Return every test point that gas passes, or the regulators where nothing burns."""
    return [(number, place.name) for number, setup in enumerate(lit) for place in model.places(setup)]


def far_apart(text: str, allowances: Allowances, *, fixed_orifice: bool) -> list[tuple[float, float]]:
    """Return the standard deviation at every test point by both [Pa]."""
    model = Model(job(text), fixed_orifice=fixed_orifice)
    lit = [*setups(text), NOTHING_ON]
    tried, straight = Spread(model, lit, allowances), StraightSpread(model, lit, allowances)
    return [
        (math.sqrt(tried.variance_pa2(point)), math.sqrt(straight.variance_pa2(point))) for point in points(model, lit)
    ]


def less(allowances: Allowances, share: float) -> Allowances:
    return Allowances(*(share * each for each in allowances))


@pytest.mark.parametrize("fixed_orifice", [True, False], ids=["orifice", "rated"])
@pytest.mark.parametrize("text", JOBS)
def test_small_changes_are_summed_as_by_trying_each(text: str, fixed_orifice: bool) -> None:  # noqa: FBT001 - pytest's
    """With everything off by little, the tree gives what solving the line with each thing off gives."""
    base = job(text)
    for tried_pa, straight_pa in far_apart(text, less(allowances_of(base), LITTLE), fixed_orifice=fixed_orifice):
        assert straight_pa == pytest.approx(tried_pa, rel=0.05, abs=CLOSE_PA)


@pytest.mark.parametrize("fixed_orifice", [True, False], ids=["orifice", "rated"])
@pytest.mark.parametrize("text", [TRAILER, CARAVAN, BOAT, TWO_STAGE], ids=["trailer", "caravan", "boat", "two-stage"])
def test_a_line_as_built_differs_about_as_much(text: str, fixed_orifice: bool) -> None:  # noqa: FBT001 - pytest's
    """What does not go straight is a small part of what a line as built may be off."""
    for tried_pa, straight_pa in far_apart(text, allowances_of(job(text)), fixed_orifice=fixed_orifice):
        assert straight_pa == pytest.approx(tried_pa, rel=0.1, abs=0.5)


def large_tree(runs: int, seed: int) -> str:
    """Return a job of many runs, each third with an appliance at its end."""
    rng = random.Random(seed)
    lines = ["job: Large", "gas: propane", "limits: {drop: 0.5 kPa}", "regulator: {outlet: 2.75 kPa}", "runs:"]
    starts = ["regulator", *(f"r{max(0, number - rng.randint(1, 3))}" for number in range(1, runs))]
    for number, start in enumerate(starts):
        lines.append(f"  r{number}: {{from: {start}, pipe: as1432-b/31.75, length: {rng.uniform(0.2, 1.0):.2f} m}}")
    ends = [f"r{number}" for number in range(runs) if f"r{number}" not in starts]
    lines.append("appliances:")
    lines.extend(f"  a{end}: {{at: {end}, input: {rng.uniform(2, 9):.1f} MJ/h}}" for end in ends)
    return "\n".join(lines)


def test_where_the_parts_are_too_many_it_takes_the_place_of_trying_each() -> None:
    """By a count of parts and setups alike, and the readings are then held against about the same tolerance."""
    text = large_tree(45, 1)
    base = job(text)
    model = Model(base, fixed_orifice=True)
    lit = setups(text)
    assert not is_too_much(base, len(lit))
    assert is_too_much(base, 10)
    assert isinstance(spread_of(model, lit, allowances_of(base)), Spread)
    straight = spread_of(model, lit, allowances_of(base), states=10)
    assert isinstance(straight, StraightSpread)
    tried = Spread(model, lit, allowances_of(base))
    for point in points(model, lit):
        assert math.sqrt(straight.variance_pa2(point)) == pytest.approx(math.sqrt(tried.variance_pa2(point)), rel=0.05)


def test_readings_of_a_large_job_are_each_held_against_what_they_may_be_off() -> None:
    """No part is looked for, and the sum of squares is that of each reading by itself."""
    text = large_tree(90, 2)
    base = job(text)
    model = Model(base, fixed_orifice=True)
    at = base.appliances[0].name
    setup = setups(text)[0]
    gauge_pa = model.gauge_pa(setup)[at]
    deviation_pa = math.hypot(
        10.0, math.sqrt(StraightSpread(model, [setup], allowances_of(base)).variance_pa2((0, at)))
    )
    for times, is_within in ((2.9, True), (3.1, False)):
        kpa = (gauge_pa - times * deviation_pa) / 1000.0
        readings = readings_of(f"readings: [{{at: {at}, pressure: {kpa:.6f} kPa}}]", "readings.yaml", base)
        result = commission(base, readings)
        assert result.finding.is_too_large
        assert result.finding.chi2 == pytest.approx(times**2, rel=1e-3)
        assert [compared.is_within for compared in result.compared] == [is_within]
        for in_full in (False, True):
            page = CommissionReport(in_full=in_full).page(result)
            assert any(isinstance(block, str) and NOT_SOUGHT in block for block in page)
    for in_full in (False, True):
        page = ExpectedPressuresReport(in_full=in_full).page(expected_pressures(base))
        assert any(isinstance(block, str) and STRAIGHT in block for block in page)


def test_where_no_further_reading_is_looked_for_it_is_said() -> None:
    """A job whose parts can be told apart by its readings may yet be too large for a look at all that might be read."""
    base = job(large_tree(30, 3))
    assert not is_too_much(base, 1)
    at = base.appliances[0].name
    result = commission(base, readings_of(f"readings: [{{at: {at}, pressure: 2.74 kPa}}]", "readings.yaml", base))
    assert (result.next_reading, result.is_next_open, result.finding.is_too_large) == (None, True, False)
    page = CommissionReport().page(result)
    assert any(isinstance(block, str) and "No further reading was looked for" in block for block in page)
