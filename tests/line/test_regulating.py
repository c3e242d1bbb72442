"""What a regulator gives by its curve, beside numpy's interpolation, and the most that it may give."""

import numpy as np
import pytest

from drawbar.job import Regulator
from drawbar.line.regulating import greatest_gauge_pa, outlet_gauge_pa

CURVES = [
    ((1e-4, 2780.0), (9e-4, 2700.0)),
    ((0.0, 2900.0), (2e-4, 2800.0), (3e-4, 2790.0), (8e-4, 2600.0)),
    ((5e-4, 2750.0),),
]


@pytest.mark.parametrize("curve", CURVES)
def test_a_curve_goes_straight_between_its_points_and_level_beyond(curve):
    """As numpy.interp has it, at the points, between them and beyond both ends."""
    regulator = Regulator(2750.0, curve=curve)
    flows, pressures = zip(*curve, strict=True)
    for flow_kg_s in (*flows, 1e-5, 1.5e-4, 2.5e-4, 5e-4, 7.9e-4, 9.5e-4, 1.0):
        reference_pa = np.interp(flow_kg_s, flows, pressures)
        assert outlet_gauge_pa(regulator, flow_kg_s) == pytest.approx(reference_pa, rel=1e-12)


def test_without_a_curve_it_gives_its_set_pressure():
    """At every flow."""
    assert {outlet_gauge_pa(Regulator(2750.0), flow_kg_s) for flow_kg_s in (1e-6, 1e-3, 1.0)} == {2750.0}


@pytest.mark.parametrize(
    ("regulator", "most_pa"),
    [
        (Regulator(2750.0), 2750.0),
        (Regulator(2750.0, accuracy=0.05), 2887.5),
        (Regulator(2750.0, curve=CURVES[1]), 2900.0),
        (Regulator(2950.0, curve=CURVES[1]), 2950.0),
        (Regulator(2750.0, accuracy=0.05, curve=CURVES[1]), 3045.0),
        (Regulator(2750.0, accuracy=0.05, lock_up_gauge_pa=3100.0), 3100.0),
        (Regulator(2750.0, accuracy=0.05, lock_up_gauge_pa=2800.0), 2887.5),
    ],
)
def test_the_most_it_may_give_is_the_highest_of_set_pressure_curve_and_lock_up(regulator, most_pa):
    """The first two high by its accuracy; a lock-up is the most as it stands."""
    assert greatest_gauge_pa(regulator) == pytest.approx(most_pa)
