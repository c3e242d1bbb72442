"""The longest-run method against the worked example of the code's appendix, and by hand on small lines."""

import csv

import pytest

from drawbar.job import Job, Pipe
from drawbar.physics.flow import PipeFlow
from drawbar.physics.gas import Vapour
from drawbar.physics.ifgc import FOOT_M, IFGC_DENSITY_RATIO, INCH_M, INCH_WATER_PA, capacity_factor, ifgc
from drawbar.sizing.longest_run import LongestRun, LongestRunSection, longest_run_m, longest_run_sizes, smallest
from jobs import job_from
from paths import PUBLISHED

AIR_PA = 101_325.0

# Natural gas as the code has it: relative density 0.60, viscosity 0.012 cP, 60 degF (IFGC 2018, 402.4 and A.4). The
# density of dry air at 15 degC and 101.325 kPa, 1.2250 kg/m3, is that of ISO 2533:1975.
NATURAL_GAS = Vapour(
    molar_mass_kg_mol=0.60 * 0.0289647,
    temperature_k=288.706,
    viscosity_pa_s=1.2e-5,
    virial_m3_mol=0.0,
    reference_density_kg_m3=0.60 * 1.2250,
    relative_density=0.60,
    gross_j_kg=5e7,
)
# Bores of schedule 40 pipe [in]: IFGC 2018, Table 402.4(2).
SCHEDULE_40 = {"1/2": 0.622, "3/4": 0.824, "1": 1.049, "1 1/4": 1.380}


def pipe(label: str, bore_m: float) -> Pipe:
    return Pipe(label, bore_m, 4.6e-5, None, "IFGC 2018, Table 402.4(2)")


PIPES = [pipe(label, inches * INCH_M) for label, inches in SCHEDULE_40.items()]


def feet3_h(flow: float) -> float:
    """Return the mass flow [kg/s] of a flow in the code's cubic feet an hour."""
    return flow * FOOT_M**3 * NATURAL_GAS.reference_density_kg_m3 * IFGC_DENSITY_RATIO / 3600.0


def test_the_natural_gas_is_the_code_s() -> None:
    """Cr of the gas built here is the 0.6094 that the code prints for natural gas (IFGC 2018, 402.4)."""
    assert capacity_factor(NATURAL_GAS) == pytest.approx(0.6094, rel=1e-3)


def natural_gas_run(length_m: float, drop_pa: float, stage_gauge_pa: float) -> LongestRun:
    return LongestRun(length_m, drop_pa, NATURAL_GAS, stage_gauge_pa, AIR_PA)


@pytest.mark.parametrize(
    ("flow_feet3_h", "size"),
    [
        pytest.param(35, "1/2", id="outlet A"),
        pytest.param(75, "3/4", id="outlet B"),
        pytest.param(110, "3/4", id="section 1, for A and B"),
        pytest.param(135, "3/4", id="section 2, for C and D"),
        pytest.param(245, "1", id="section 3, for all"),
    ],
)
def test_the_appendix_s_example(flow_feet3_h: float, size: str) -> None:
    """IFGC 2018 Appendix A, the longest length example: 0.50 in w.c., 60 ft to outlet A, the only distance used."""
    longest = natural_gas_run(60.0 * FOOT_M, 0.50 * INCH_WATER_PA, 7.0 * INCH_WATER_PA)
    chosen = smallest(PIPES, feet3_h(flow_feet3_h), longest)
    assert chosen is not None
    assert chosen.label == size


def test_the_smallest_is_the_last_within_the_drop() -> None:
    """The pipe chosen keeps within the drop, the next smaller does not; the order of the choices does not matter."""
    flow, longest = feet3_h(135.0), natural_gas_run(60.0 * FOOT_M, 0.50 * INCH_WATER_PA, 1743.6)

    def takes_pa(bore_m: float) -> float:
        return ifgc(PipeFlow(flow, bore_m, 0.0, longest.length_m, NATURAL_GAS, 1743.6)).linear_pa

    assert takes_pa(PIPES[1].bore_m) <= longest.drop_pa < takes_pa(PIPES[0].bore_m)
    for choices in (PIPES, PIPES[::-1]):
        assert smallest(choices, flow, longest) == PIPES[1]
    assert smallest(PIPES[:1], flow, longest) is None


def test_the_longest_run() -> None:
    """The length from the source to the farthest end, wherever it is."""
    trunk = [
        LongestRunSection("main", "", 10.0, 1.0),
        LongestRunSection("left", "main", 4.0, 1.0),
        LongestRunSection("right", "main", 2.5, 1.0),
    ]
    assert longest_run_m(trunk) == 14.0
    assert longest_run_m([*trunk, LongestRunSection("end", "right", 3.0, 1.0)]) == 15.5
    assert longest_run_m([*trunk, LongestRunSection("own", "", 30.0, 1.0)]) == 30.0


VAN = """\
job: van
gas: propane
limits: {drop: 0.5 inH2O}
regulator: {outlet: 11 inH2O}
runs:
  main:   {from: regulator, pipe: sch40/auto, length: 10 ft, fittings: {elbow-90: 9}}
  galley: {from: main, pipe: sch40/auto, length: 10 ft, rise: 4 ft}
  rear:   {from: main, pipe: sch40/auto, length: 20 ft}
outlets:
  bay: {at: rear}
appliances:
  range:  {at: galley, input: 130000 Btu/h}
  heater: {at: rear, input: 220000 Btu/h}
  urn:    {plugs-into: bay, input: 20000 Btu/h}
"""


def van(text: str = VAN) -> Job:
    return job_from(text, sized=False)


def test_a_job_s_sizes_by_the_longest_run() -> None:
    """Each run is sized for the 30 ft to the rear and for all that it carries; fittings and rises are left out.

    The sizes are those that IFGC 2018 Table 402.4(28) gives at 30 ft: undiluted propane, 11 in w.c., drop 0.5 in w.c.
    """
    with (PUBLISHED / "ifgc-2018-table-402.4-28.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    (row,) = (row for row in rows if row["length_ft"] == "30")
    capacities = {key.removeprefix("bore_"): float(value) for key, value in row.items() if key.startswith("bore_")}
    job = van()
    choices = {run.name: [pipe for pipe in run.pipes if pipe.bore_m > 0.6 * INCH_M] for run in job.runs}  # the table's
    chosen = longest_run_sizes(job, choices)
    for name, thousand_btu_h in {"main": 370.0, "galley": 130.0, "rear": 240.0}.items():
        bore_in = min(float(bore) for bore, capacity in capacities.items() if capacity >= thousand_btu_h)
        size = chosen[name]
        assert size is not None
        assert size.bore_m / INCH_M == pytest.approx(bore_in, abs=2e-3), name


def test_each_stage_has_a_longest_run_of_its_own() -> None:
    """Behind a second-stage regulator the length starts anew; the first may lose all that the second can spare."""
    text = VAN.replace("{outlet: 11 inH2O}", "{outlet: 10 psi}")
    text = text.replace("rise: 4 ft}", "regulator: {inlet-min: 9.8 psi, outlet: 11 inH2O}}")
    text = text.replace("length: 20 ft}", "length: 20 ft, regulator: {inlet-min: 4 psi, outlet: 11 inH2O}}")
    job = van(text)
    choices = {run.name: run.pipes for run in job.runs}
    chosen = longest_run_sizes(job, choices)

    def expected(btu_h: float, feet: float, drop_pa: float, stage_pa: float) -> Pipe | None:
        flow_kg_s = btu_h * 1055.05585262 / 3600.0 / job.gas.gross_j_kg
        longest = LongestRun(feet * FOOT_M, drop_pa, job.vapour, stage_pa, AIR_PA)
        return smallest(choices["main"], flow_kg_s, longest)

    psi_pa = 6894.757293
    assert chosen == {
        "main": expected(370_000, 10.0, 0.2 * psi_pa, 10.0 * psi_pa),  # the galley's regulator can spare the least
        "galley": expected(130_000, 10.0, 0.5 * INCH_WATER_PA, 11.0 * INCH_WATER_PA),
        "rear": expected(240_000, 20.0, 0.5 * INCH_WATER_PA, 11.0 * INCH_WATER_PA),
    }
    assert chosen["main"] != expected(370_000, 10.0, 6.0 * psi_pa, 10.0 * psi_pa)
    sizes = [size.bore_m for size in chosen.values() if size is not None]
    assert sizes[0] < sizes[2]  # the first stage carries it all in a smaller pipe


def test_nothing_is_large_enough() -> None:
    """A run whose every choice takes more than is allowed has no size."""
    job = van(VAN.replace("130000 Btu/h", "600000 Btu/h"))
    choices = {run.name: [pipe for pipe in run.pipes if pipe.bore_m < 0.83 * INCH_M] for run in job.runs}
    chosen = longest_run_sizes(job, choices)
    assert chosen["main"] is None
    assert chosen["galley"] is None
    assert chosen["rear"] is not None
