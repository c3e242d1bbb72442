"""Swaps: what OLD and NEW may be, and which appliances of a job they meet."""

import pytest

from drawbar.rechecking.swaps import swapped_job
from jobs import job_from
from two_ends import TWO_ENDS, swaps


def test_a_swap_finds_appliances_by_name_and_by_what_they_are_like():
    """OLD is a job name or a catalogue entry; NEW is a catalogue entry or a rate in any of the units of a job file."""
    job = job_from(TWO_ENDS)
    by_name, names = swapped_job(job, swaps("hob=0.6 kg/h"))
    assert names == ("hob",)
    assert by_name.appliances[1].flow_kg_s == pytest.approx(0.6 / 3600)
    by_entry, names = swapped_job(job, swaps("urn=wok-burner"))
    assert names == ("heater",)
    assert by_entry.appliances[0].input_w == pytest.approx(30e6 / 3600)
    assert by_entry.appliances[0].like == "wok-burner"
    both, names = swapped_job(job, swaps("urn=24 MJ/h", "hob=8 kW"))
    assert names == ("heater", "hob")
    assert [appliance.input_w for appliance in both.appliances] == pytest.approx([24e6 / 3600, 8000.0])
