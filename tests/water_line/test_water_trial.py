"""No PASS that fails, no FAIL that passes: true lines drawn at random within the tolerances of random jobs."""

from random import Random

import pytest
from test_water_jobs import GAS, WATER

from drawbar.verdict import Verdict
from drawbar.water_line.water_answer import connection_result
from drawbar.water_line.water_ends import NO_TOLERANCE
from drawbar.water_line.water_parts import Connection
from jobs import job_from

L_MIN = 1e-3 / 60


def _random_job(random):
    """Return a job with other figures, half of the jobs near to one that passes."""
    if random.random() < 0.5:
        text = GAS + WATER.replace("temperature: 16 degC", f"temperature: {random.uniform(15, 18):.1f} degC")
        text = text.replace("input: 42", f"input: {random.uniform(40, 47):.1f}")
        return job_from(text.replace("drop: 40 kPa", f"drop: {random.uniform(30, 50):.1f} kPa"))
    changes = {
        "length: 5 m": f"length: {random.uniform(1, 9):.2f} m",
        "length: 3 m": f"length: {random.uniform(0.5, 4):.2f} m",
        "flow: 7.5 L/min, pressure: 0": f"flow: {random.uniform(3.5, 12):.2f} L/min, pressure: 0",
        "drop: 40 kPa": f"drop: {random.uniform(10, 80):.1f} kPa",
        "drop: 30 kPa": f"drop: {random.uniform(10, 60):.1f} kPa",
        "level: -0.4 m": f"level: {random.uniform(-1.2, -0.5):.2f} to -0.3 m",
        "temperature: 16 degC": f"temperature: {random.uniform(8, 14):.1f} to {random.uniform(15, 20):.1f} degC",
        "least-flow: 2.5": f"least-flow: {random.uniform(2, 4):.2f}",
    }
    text = GAS.replace("input: 42", f"input: {random.uniform(25, 60):.1f}") + WATER
    for before, after in changes.items():
        assert before in text
        text = text.replace(before, after, 1)
    return job_from(text)


def _true_line(random, connection: Connection, off) -> Connection:
    """Return a line that may stand behind the drawing: every figure anywhere within its tolerance."""

    def by(share):
        return 1.0 + random.choice((-1.0, 1.0, random.uniform(-1, 1))) * share

    def run(each):
        bore_m = each.pipe.bore_m + random.uniform(-1, 1) * each.pipe.bore_tolerance_m
        return each._replace(length_m=each.length_m * by(off.length), pipe=each.pipe._replace(bore_m=bore_m))

    def device(each):
        return each._replace(drop_pa=each.drop_pa * by(off.devices))

    level_m, k = (random.uniform(*ends) for ends in (connection.source.level_m, connection.source.temperature_k))
    flow, pa = by(off.pump), by(off.pump)
    heater = connection.heater
    return connection._replace(
        source=connection.source._replace(level_m=(level_m, level_m), temperature_k=(k, k)),
        pump=connection.pump._replace(curve=tuple((q * flow, p * pa) for q, p in connection.pump.curve)),
        cold=tuple(map(run, connection.cold)),
        hot=tuple(map(run, connection.hot)),
        heater=heater._replace(input_w=heater.input_w * by(off.input), device=device(heater.device)),
        outlet=connection.outlet._replace(device=device(connection.outlet.device)),
    )


@pytest.mark.trial
def test_no_verdict_is_wrong_within_the_tolerances():
    """60 jobs with 12 true lines each: what passes never fails as built, and flows and temperatures are within."""
    random, seen = Random(20), set()
    for _ in range(60):
        job = _random_job(random)
        (connection,) = job.water.connections
        judged = connection_result(job, connection)
        seen.add(judged.verdict)
        for _ in range(12):
            built = connection_result(job._replace(tolerances=None), _true_line(random, connection, job.tolerances))
            fails = any(reason.verdict is Verdict.FAIL for reason in built.because)
            assert not (judged.verdict is Verdict.PASS and fails), (judged.because, built.because)
            assert judged.flows.least.flow_m3_s <= built.flows.drawn.flow_m3_s <= judged.flows.most.flow_m3_s
            assert judged.hot.full.coldest_k <= built.hot.full.drawn_k <= judged.hot.full.hottest_k
            assert built.flows.drawn.heater_pa >= judged.flows.weakest_pa
    assert seen == {Verdict.PASS, Verdict.UNDECIDED, Verdict.FAIL}
    assert NO_TOLERANCE.pump == 0.0
