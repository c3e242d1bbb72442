"""Seven states of seven portables on seven outlets: more ways than all states may try, explained all the same."""

from collections.abc import Callable

import pytest

from calls import Call
from drawbar.checking.check import check_job, in_worst_way
from drawbar.checking.explain import explain
from drawbar.checking.results import CheckResult
from drawbar.onsite.testpoints import pluggings
from drawbar.rechecking.standing import standing
from jobs import job_from

COUNT = 7
STATES = [f"s{number}" for number in range(COUNT)]
RUNS = ["main", *(f"leg-{number}" for number in range(COUNT))]
APPLIANCES = [f"unit-{number}" for number in range(COUNT)]


def seven_by_seven() -> str:
    """Return the job's text: each of the seven may go into any outlet, and each state has one of them burn lower."""
    lines = [
        "job: Seven by seven",
        "gas: propane",
        "limits: {drop: 0.25 kPa}",
        "regulator: {outlet: 2.75 kPa, capacity: 200 MJ/h}",
        "runs:",
        "  main: {from: regulator, pipe: as1432-b/19.05, length: 2 m}",
    ]
    for number in range(COUNT):
        lines.append(f"  leg-{number}: {{from: main, pipe: as1432-b/12.70, length: {0.5 + 0.4 * number:.1f} m}}")
    lines.append("outlets:")
    for number in range(COUNT):
        lines.append(f"  bay-{number}: {{at: leg-{number}, devices: [{{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}}]}}")
    lines.append("appliances:")
    for number in range(COUNT):
        lines.append(f"  unit-{number}: {{plugs-into: any, hose: none, input: {8 + 2 * number} MJ/h}}")
    lines.append("states:")
    for number, state in enumerate(STATES):
        shares = ", ".join(f"{name}: {60 if other == number else 100} %" for other, name in enumerate(APPLIANCES))
        lines.append(f"  {state}: {{{shares}}}")
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def result() -> CheckResult:
    """Return the job checked."""
    return check_job(job_from(seven_by_seven()))


def test_some_states_are_tried_and_some_bounded(result: CheckResult) -> None:
    """7! = 5040 ways a state; the states that come after the search's budget is spent are bounded."""
    bounded = {state.name for state in result.states if state.is_bound}
    assert "s0" not in bounded
    assert "s6" in bounded
    assert {state.ways for state in result.states if state.name not in bounded} == {5040}


@pytest.mark.parametrize("state", STATES)
def test_every_run_and_appliance_is_explained_with_the_figures_of_the_check(
    result: CheckResult, state: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run ends at the pressure that the check says, an appliance has its margin, tried or bounded as it is there."""
    # What is explained is a check of its own; here it is the same for all names, so it is made once.
    monkeypatch.setattr("drawbar.checking.explain.check_job", lambda *_: result)
    (checked,) = (each for each in result.states if each.name == state)
    for flow in checked.runs:
        run = explain(result.job, flow.section.name, state)
        assert run.gauge_pa + result.job.atmospheric_pa == pytest.approx(flow.outlet_abs_pa, abs=1e-9)
        assert run.ways == checked.ways
    for appliance in checked.appliances:
        way = explain(result.job, appliance.name, state)
        assert (way.margin_pa, way.gauge_pa) == (appliance.margin_pa, appliance.gauge_pa)
        assert way.ways == checked.ways
        # From the regulator down, leg by leg, the pressures come to the appliance's.
        drops_pa = sum(leg.flow.drop_pa for leg in way.legs)
        assert result.job.regulator.outlet_gauge_pa - drops_pa == pytest.approx(appliance.gauge_pa, abs=1e-6)
    assert {flow.section.name for flow in checked.runs} == set(RUNS)
    assert {appliance.name for appliance in checked.appliances} == set(APPLIANCES)


def test_the_worst_way_is_the_way_of_the_runs(result: CheckResult) -> None:
    """Tried, all seven burn in the state's worst way; bounded, the worst appliance alone is told."""
    for state in result.states:
        together = in_worst_way(state)
        assert len(together) == (1 if state.is_bound else COUNT)
        least_pa = min(appliance.margin_pa for appliance in together)
        assert least_pa == min(appliance.margin_pa for appliance in state.appliances) == state.margin_pa


def test_a_bounded_state_is_bounded_for_all_that_ask(result: CheckResult) -> None:
    """The test points and the quick verdict of many jobs go by the same ways and bounds as the check."""
    bounded = {state.name for state in result.states if state.is_bound}
    assert {ways.state.name for ways in pluggings(result.job) if ways.are_too_many} >= bounded
    quick = standing(result.job)
    assert (quick.margin_pa, quick.state) == (result.states[0].margin_pa, result.states[0].name)


def test_the_command_explains_a_run_of_a_bounded_state(result: CheckResult, drawbar: Callable[..., Call]) -> None:
    """`drawbar explain - main --state s6` says the bound's figure, and its exit code is the run's."""
    call = drawbar("explain", "-", "main", "--state", "s6", stdin=seven_by_seven())
    assert (call.code, call.err) == (0, "")
    (state,) = (each for each in result.states if each.name == "s6")
    (main,) = (flow for flow in state.runs if flow.section.name == "main")
    assert f"{(main.outlet_abs_pa - result.job.atmospheric_pa) / 1000:.3f} kPa" in call.out
