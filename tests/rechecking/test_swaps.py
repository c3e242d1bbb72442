"""Swaps: what OLD and NEW may be, and which appliances of a job they meet."""

import pytest

from drawbar.rechecking.swaps import SwapError, swapped_job
from jobs import job_from
from two_ends import TWO_ENDS, swaps


def test_a_swap_finds_appliances_by_name_and_by_what_they_are_like():
    """OLD is a job name or a catalogue entry; NEW is a catalogue entry or a rate in any of the units of a job file."""
    job = job_from(TWO_ENDS)
    by_name, names, *_ = swapped_job(job, swaps("hob=0.6 kg/h"))
    assert names == ("hob",)
    assert by_name.appliances[1].flow_kg_s == pytest.approx(0.6 / 3600)
    by_entry, names, *_ = swapped_job(job, swaps("urn=wok-burner"))
    assert names == ("heater",)
    assert by_entry.appliances[0].input_w == pytest.approx(30e6 / 3600)
    assert by_entry.appliances[0].like == "wok-burner"
    both, names, *_ = swapped_job(job, swaps("urn=24 MJ/h", "hob=8 kW"))
    assert names == ("heater", "hob")
    assert [appliance.input_w for appliance in both.appliances] == pytest.approx([24e6 / 3600, 8000.0])


def test_a_swap_that_fits_several_says_which_it_took():
    """All of a type are swapped and named; a swap by name goes before one by type, and that is told."""
    job = job_from(TWO_ENDS.replace("input: 20 MJ/h", "input: {like: urn}"))
    several = swapped_job(job, swaps("urn=30 MJ/h"))
    assert several.names == ("heater", "hob")
    assert several.notes == ("`urn=30 MJ/h` fits 2 appliances, and all were swapped: heater, hob",)
    both = swapped_job(job, swaps("urn=30 MJ/h", "hob=40 MJ/h"))
    assert [swap.new for swap in both.by] == ["30 MJ/h", "40 MJ/h"]
    assert both.notes == ("hob: `hob=40 MJ/h` goes by its name and was taken, not `urn=30 MJ/h`, which fits too",)


def test_swaps_that_contradict_each_other_are_refused():
    """The same old appliance for two new ones is no question that has an answer; the same swap twice is one."""
    job = job_from(TWO_ENDS)
    assert swapped_job(job, swaps("hob=36 MJ/h", "hob=10 kW")).names == ("hob",)
    with pytest.raises(SwapError, match=r"^`hob` is swapped twice, for `36 MJ/h` and for `11 kW`; leave one out$"):
        swapped_job(job, swaps("hob=36 MJ/h", "hob=11 kW"))
