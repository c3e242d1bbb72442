"""Tolerances of the data files, beside the limits that standards put on tube, and the typical drops of devices."""

import math

import pytest
from test_catalogue_data import PIPES, load, si

from drawbar import units

FIGURES = {
    "length": (0.02, 0.020),  # the larger of 2 % and 20 mm; our own choice
    "fittings": (0.30, None),  # within the Hydraulic Institute's range of variation for K
    "input": (0.05, None),  # the usual limit of appliance standards; from memory
    "devices": (0.20, None),
    "caliper": (None, 0.0001),
    "own-bore": (0.04, None),
    "pump": (0.10, None),
}
# Hydraulic Institute, Engineering Data Library: approximate range of variation for K, screwed fittings [%].
HI_VARIATION = {"elbow above 2 in": 20, "elbow below 2 in": 40, "long elbow": 25, "tee": 25, "gate valve": 25}
STANDINGS = ("our own choice", "from memory", "as printed", "as a printed", "as reprinted", "could not be looked up")


def bore_tolerance_mm(catalogue, family, size):
    return catalogue.sizes(family)[size].bore_tolerance_m * 1e3


def test_tolerances_of_kind(catalogue):
    """Each kind has its figures and no others, and says where they stand."""
    assert catalogue.names("tolerances") == list(FIGURES)
    for name, figures in FIGURES.items():
        row = catalogue.tolerance_row(name)
        assert (row.share, row.least_m) == pytest.approx(figures), name
    tolerances = catalogue.tolerances()
    assert tolerances[:7] == pytest.approx((0.02, 0.020, 0.30, 0.05, 0.20, 0.0001, 0.04))
    assert [name for name, _ in tolerances.sources] == list(FIGURES)
    assert all("our own choice" in text or "from memory" in text for _, text in tolerances.sources)


def test_fittings_are_as_unsure_as_the_hydraulic_institute_has_them(catalogue):
    """30 % covers screwed tees, valves and long elbows, and lies between the two figures for screwed elbows."""
    percent = catalogue.tolerances().fittings * 100
    assert HI_VARIATION["elbow above 2 in"] < percent < HI_VARIATION["elbow below 2 in"]
    assert percent >= max(HI_VARIATION[kind] for kind in ("long elbow", "tee", "gate valve"))


@pytest.mark.parametrize("family", PIPES)
def test_every_family_says_how_much_smaller_a_bore_may_be(catalogue, family):
    """Each size has a tolerance with a source or a standing: at least 0.5 % of its bore, at most a sixth."""
    assert any(words in PIPES[family]["tolerance-source"] for words in STANDINGS)
    for size, pipe in catalogue.sizes(family).items():
        assert pipe.tolerance_source == PIPES[family]["tolerance-source"]
        assert 0.005 * pipe.bore_m < pipe.bore_tolerance_m < pipe.bore_m / 6, size


@pytest.mark.parametrize("family", PIPES)
def test_least_bores_stand_in_the_order_of_the_bores(catalogue, family):
    """No size of a family may be smaller than the one before it, each at its least."""
    least_m = [pipe.bore_m - pipe.bore_tolerance_m for pipe in catalogue.sizes(family).values()]
    assert least_m == sorted(least_m)


# A tube maker's table of EN 1057 and EN 13348 sizes: limits on the mean outside diameter [mm] and on the wall [%].
EN1057_LIMITS = {
    "12x0.6": (0.04, 10),
    "12x0.8": (0.04, 10),
    "15x0.7": (0.04, 10),
    "15x1.0": (0.04, 13),
    "22x0.9": (0.05, 10),
    "22x1.2": (0.05, 15),
    "28x0.9": (0.05, 10),
    "28x1.2": (0.05, 15),
}


@pytest.mark.parametrize("size", EN1057_LIMITS)
def test_en1057_limits_against_a_printed_table(catalogue, size):
    """The least bore is the least mean outside diameter less two of the thickest walls."""
    od_tolerance_mm, wall_percent = EN1057_LIMITS[size]
    od_mm, wall_mm = map(float, size.split("x"))
    least_mm = od_mm - od_tolerance_mm - 2 * wall_mm * (1 + wall_percent / 100)
    pipe = catalogue.sizes("en1057")[size]
    assert (pipe.bore_m - pipe.bore_tolerance_m) * 1e3 == pytest.approx(least_mm, abs=1e-9)


def test_15_by_1_copper_has_a_bore_of_at_least_12_7_mm(catalogue):
    """Worked by hand: od 14.96 mm, wall 1.13 mm, bore 14.96 - 2.26 = 12.70 mm, 0.30 mm under 13 mm."""
    assert bore_tolerance_mm(catalogue, "en1057", "15x1.0") == pytest.approx(0.30)


def test_en1057_limits_change_at_1_mm_and_at_18_mm():
    """All rows follow the bands of the printed table: od to 15 mm and above, wall under 1 mm and from it."""
    table = PIPES["en1057"]
    for size, row in table["sizes"].items():
        od_mm, wall_mm = map(float, size.split("x"))
        percent = 10 if wall_mm < 1.0 else 13 if od_mm < 18 else 15
        assert row.get("wall-tolerance", table["wall-tolerance"]) == f"{percent} %"
        assert row.get("od-tolerance", table["od-tolerance"]) == ("0.04 mm" if od_mm < 18 else "0.05 mm")


# ASTM B88 as an open engineering data book reprints it: limits on the average od, annealed, and on the wall [in].
B88_LIMITS = {
    ("b88-k", "0.25"): (0.002, 0.0035),
    ("b88-k", "0.5"): (0.0025, 0.005),
    ("b88-k", "0.75"): (0.003, 0.006),
    ("b88-k", "2"): (0.005, 0.008),
    ("b88-l", "0.25"): (0.002, 0.003),
    ("b88-l", "0.375"): (0.0025, 0.004),
    ("b88-l", "1"): (0.0035, 0.005),
    ("b88-l", "1.25"): (0.004, 0.006),
    ("b88-l", "2"): (0.005, 0.007),
}


@pytest.mark.parametrize(("family", "size"), B88_LIMITS)
def test_b88_limits_against_a_reprinted_table(catalogue, family, size):
    """The od is at its low limit, the wall at its high one."""
    od_in, wall_in = B88_LIMITS[family, size]
    assert bore_tolerance_mm(catalogue, family, size) == pytest.approx((od_in + 2 * wall_in) * 25.4)


def test_b88_m_and_b280_walls_are_a_tenth_of_the_wall_at_least():
    """Rows whose limits could not be looked up are no closer than 8 % of the wall, as ASTM B88 types K and L are."""
    for family in ("b88-m", "b280"):
        for row in PIPES[family]["sizes"].values():
            share = si(row["wall-tolerance"]) / si(row["wall"])
            assert share > (0.1 if family == "b88-m" else 0.08)


# Standard wire gauge as a table of sheet gauges prints it [mm], gauges 15 to 22.
SWG_MM = [1.83, 1.63, 1.42, 1.22, 1.02, 0.91, 0.81, 0.71]


@pytest.mark.parametrize("family", ["as1432-a", "as1432-b", "as1432-c", "as1432-d"])
def test_as1432_walls_may_be_a_gauge_thicker(family):
    """A wall from memory may be a wire gauge more, which is more than a mill's usual 10 % in every row."""
    for size, row in PIPES[family]["sizes"].items():
        wall_mm, tolerance_mm = (si(row[key]) * 1e3 for key in ("wall", "wall-tolerance"))
        thicker_mm = min(gauge for gauge in SWG_MM if gauge > wall_mm + 1e-6)
        assert tolerance_mm == pytest.approx(thicker_mm - wall_mm), size
        assert tolerance_mm > 0.1 * wall_mm, size


@pytest.mark.parametrize("size", PIPES["sch40"]["sizes"])
def test_steel_pipe_at_the_limits_of_its_od_and_mass(catalogue, size):
    """ASTM A53, from memory: od 1/64 in or at 2 in 1 % under, mass 10 % over; our least bore is no larger than that."""
    row = PIPES["sch40"]["sizes"][size]
    od_m, pipe = si(row["od"]), catalogue.sizes("sch40")[size]
    least_od_m = od_m * 0.99 if size == "2" else od_m - 0.0254 / 64
    steel_m2 = 1.1 * (od_m**2 - pipe.bore_m**2)
    least_bore_m = math.sqrt(least_od_m**2 - steel_m2)
    assert pipe.bore_m - pipe.bore_tolerance_m == pytest.approx(least_bore_m, rel=0.01)
    assert pipe.bore_m - pipe.bore_tolerance_m < least_bore_m * 1.0005


@pytest.mark.parametrize(
    ("wall_mm", "most_mm"),
    [(2.0, 2.3), (2.4, 2.8), (5.4, 6.1), (6.6, 7.4), (6.7, 7.5), (8.2, 9.2), (10.0, 11.1), (12.7, 14.1)],
)
def test_the_rule_for_polyethylene_walls_is_that_of_a_printed_table(wall_mm, most_mm):
    """ISO 11922-1 grade V: a tenth and 0.1 mm over the least wall, rounded up to 0.1 mm."""
    assert wall_mm + polyethylene_tolerance_mm(wall_mm) == pytest.approx(most_mm, abs=1e-6)


def polyethylene_tolerance_mm(wall_mm):
    return math.ceil(round(wall_mm + 1, 6)) / 10


def test_polyethylene_walls():
    """Each wall's tolerance follows that rule."""
    for size, row in PIPES["as4130"]["sizes"].items():
        assert si(row["wall-tolerance"]) * 1e3 == pytest.approx(polyethylene_tolerance_mm(si(row["wall"]) * 1e3)), size


# ISO 1307:2008 in a hose maker's table: least inside diameter [mm] with a rigid mandrel, a flexible one, and none.
@pytest.mark.parametrize(
    ("size", "least_mm"), [("6.3", (6.2, 6.2, 5.6)), ("8", (7.7, 7.7, 7.2)), ("10", (9.3, 9.3, 8.7))]
)
def test_hose_bores_against_a_printed_table(catalogue, size, least_mm):
    """Nobody knows how a hose was made, so the least of the three counts."""
    pipe = catalogue.sizes("hose")[size]
    assert (pipe.bore_m - pipe.bore_tolerance_m) * 1e3 == pytest.approx(min(least_mm))


def test_typical_devices(catalogue):
    """A few parts, each with a range of at least a factor of 1.5, and plain about where it stands."""
    names = catalogue.names("devices")
    assert names == [
        *("bayonet", "quick-coupler", "gas-cock", "ball-valve", "flow-limiter", "hose-failure-valve", "filter"),
    ]
    for name in names:
        device = catalogue.device(name)
        assert 1.5 * device.low_pa <= device.high_pa <= 200.0, name
        assert "no source" in device.source or "from memory" in device.source, name
        assert device.rate.dimension in (units.HEAT_RATE, units.GAS_MASS_FLOW)
    bayonet = catalogue.device("bayonet")
    assert (bayonet.low_pa, bayonet.high_pa, bayonet.rate.written) == (30.0, 60.0, "60 MJ/h")
    assert catalogue.device("nope") is None


@pytest.mark.parametrize(
    ("name", "from_mm", "to_mm"),
    [("bayonet", 5.0, 6.5), ("quick-coupler", 4.4, 5.6), ("gas-cock", 4.4, 7.1), ("ball-valve", 8.0, 12.6)],
)
def test_typical_drops_are_those_of_ways_of_a_likely_size(catalogue, name, from_mm, to_mm):
    """The velocity head lost once, p = (m / A)^2 / (2 rho): the way through the part is as wide as the source says."""
    device, propane = catalogue.device(name), catalogue.gas((("propane", 1.0),))
    flow_kg_s = device.rate.value / propane.gross_j_kg
    ways_mm = [
        math.sqrt(4 / math.pi * flow_kg_s / math.sqrt(2 * propane.reference_density_kg_m3 * drop_pa)) * 1e3
        for drop_pa in (device.high_pa, device.low_pa)
    ]
    assert from_mm < ways_mm[0] < ways_mm[1] < to_mm


def test_devices_and_tolerances_are_written_as_people_write_them():
    """The files give units with every figure."""
    for row in load("devices").values():
        assert set(row["drop"]) == {"from", "to"}
        assert all(text.endswith(" Pa") for text in row["drop"].values())
    for row in load("tolerances").values():
        assert set(row) - {"title", "source"} <= {"share", "least"}
