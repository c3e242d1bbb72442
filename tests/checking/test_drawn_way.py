"""The one combination that a drawing shows: a real one, the worst there is or was tried, and those next to it."""

import pytest
from test_crowded_states import seven_by_seven

from drawbar.checking.check import check_job
from drawbar.checking.drawn_way import MOST_OTHERS, drawn_way
from drawbar.line.state import StateOnLine
from drawbar.line.worst_way import worst_tried
from jobs import job_from
from random_jobs import small_jobs


def test_a_state_is_drawn_in_its_worst_combination_and_the_next_are_told() -> None:
    """By every combination of small jobs, solved by itself: the worst first, so many more, and what is left out."""
    others = out = 0
    for _, job in small_jobs(range(800, 840)):
        result = check_job(job)
        for state in result.states:
            on_line: StateOnLine = state.solved.state_on_line
            margins_pa = sorted(min(on_line.solve_way(way).margins_pa) for way in on_line.ways or [])
            drawn = drawn_way(result, state)
            assert drawn.state is state
            assert {flow.section.name: flow.flow_kg_s for flow in drawn.state.runs} == {
                run.name: flow for run, flow in zip(job.runs, on_line.flows(state.solved.worst.way), strict=True)
            }
            names = [appliance.name for appliance in drawn.appliances]
            assert sorted([*names, *drawn.out]) == sorted(appliance.name for appliance in state.appliances)
            assert [plugged.appliance.name for plugged in state.plugged] == [
                appliance.name for appliance in drawn.appliances if appliance.outlet is not None
            ]
            assert len(drawn.others) == min(MOST_OTHERS, len(margins_pa) - 1)
            assert drawn.left_out == max(0, len(margins_pa) - 1 - MOST_OTHERS)
            if not job.runs or any(run.regulator for run in job.runs):
                continue  # of a second stage's inlet the order goes by that too
            assert min(a.margin_pa for a in drawn.appliances) == pytest.approx(margins_pa[0])
            assert [other.margin_pa for other in drawn.others] == pytest.approx(margins_pa[1 : MOST_OTHERS + 1])
            others += len(drawn.others)
            out += len(drawn.out)
    assert others > 20
    assert out > 5


def test_another_combination_is_told_by_its_appliance_with_the_least_to_spare() -> None:
    """Its pressure is the set pressure less its drop: what the check of that plugging alone has."""
    for _, job in small_jobs(range(840, 860)):
        result = check_job(job)
        for state in result.states:
            on_line = state.solved.state_on_line
            for other in drawn_way(result, state).others:
                solved = on_line.solve_way(on_line.way_of(other.plugged))
                margins_pa = {end.name: pa for end, pa in zip(solved.way, solved.margins_pa, strict=True)}
                assert margins_pa[other.appliance] == min(margins_pa.values()) == pytest.approx(other.margin_pa)
                (end,) = (end for end in solved.way if end.name == other.appliance)
                pressure_pa = solved.outlets_pa[end.at]
                for section in end.tail:
                    pressure_pa = section.outlet_abs_pa(pressure_pa, end.flow_kg_s)
                assert other.gauge_pa == pytest.approx(pressure_pa - job.atmospheric_pa)


def test_of_too_many_combinations_the_worst_that_was_tried_is_drawn() -> None:
    """Every figure of it happens at once: all seven burn, their flows add up, and no margin is below the bound's."""
    result = check_job(job_from(seven_by_seven()))
    bounded = [state for state in result.states if state.is_bound]
    assert bounded
    for state in bounded:
        drawn = drawn_way(result, state)
        assert (len(drawn.appliances), drawn.out, drawn.others, drawn.left_out) == (7, (), (), 0)
        assert {plugged.outlet.name for plugged in drawn.state.plugged} == {f"bay-{number}" for number in range(7)}
        flow_kg_s = {flow.section.name: flow.flow_kg_s for flow in drawn.state.runs}
        loads_kg_s = {a.name: a.load_w / result.job.gas.gross_j_kg for a in drawn.appliances}
        assert flow_kg_s["main"] == pytest.approx(sum(loads_kg_s.values()))
        for plugged in drawn.state.plugged:
            assert flow_kg_s[plugged.outlet.at] == pytest.approx(loads_kg_s[plugged.appliance.name])
        least_pa = min(appliance.margin_pa for appliance in drawn.appliances)
        tried = worst_tried(state.solved.state_on_line, state.solved.places)
        assert least_pa == pytest.approx(min(place.margin_pa for place in tried.values()))
        assert state.margin_pa - 1e-9 <= least_pa < state.margin_pa + 5.0
