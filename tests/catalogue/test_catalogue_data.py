"""The data files: shape, source and units of every row, and their figures beside those of outside documents."""

import csv
import itertools
import math
import re

import fluids
import pytest
import yaml
from fluids.fittings import (
    K_angle_valve_Crane,
    K_ball_valve_Crane,
    K_gate_valve_Crane,
    K_globe_valve_Crane,
    K_plug_valve_Crane,
    K_swing_check_valve_Crane,
    bend_rounded_Crane,
)
from fluids.friction import ft_Crane

from paths import DATA, PUBLISHED

M = {"mm": 1e-3, "in": 0.0254}
PA = {"kPa": 1e3, "mbar": 100.0, "inH2O": 249.08891, "psi": 6894.757}
OTHER = {"kg/m3": 1.0, "kg/m": 1.0, "MJ/h": 1.0, "min": 60.0, "L": 1e-3}
KG_M_PER_LB_FT = 0.45359237 / 0.3048

FILES = ["pipes", "materials", "fittings", "devices", "rules", "tightness", "appliances", "tolerances"]


def load(name):
    with (DATA / f"{name}.yaml").open(encoding="utf-8") as file:
        return yaml.safe_load(file)


def si(text):
    number, unit = text.split(" ")
    return float(number) * (M | PA | OTHER)[unit]


def bore_m(row):
    return si(row["bore"]) if "bore" in row else si(row["od"]) - 2 * si(row["wall"])


def metal_area_m2(row):
    return math.pi * (si(row["od"]) - si(row["wall"])) * si(row["wall"])


def published(name):
    with (PUBLISHED / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


PIPES = load("pipes")
FITTINGS = load("fittings")
RULES = load("rules")
APPLIANCES = load("appliances")
MATERIALS = load("materials")
ROWS = [(family, size, row) for family, table in PIPES.items() for size, row in table["sizes"].items()]
ROW_IDS = [f"{family}/{size}" for family, size, _ in ROWS]


def keys_that_stand_twice(node):
    if not isinstance(node, yaml.MappingNode):
        return []
    keys = [key.value for key, _ in node.value]
    deeper = [twice for _, value in node.value for twice in keys_that_stand_twice(value)]
    return [key for key in keys if keys.count(key) > 1] + deeper


@pytest.mark.parametrize("name", FILES)
def test_no_key_stands_twice(name):
    """A key written twice would silently drop the first row."""
    assert keys_that_stand_twice(yaml.compose((DATA / f"{name}.yaml").read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("name", FILES)
def test_every_entry_has_a_source_and_short_texts(name):
    """Every family, fitting, rule, material and appliance names its source, in a line of 200 characters at most."""
    for key, entry in load(name).items():
        assert re.fullmatch(r"[a-z0-9][a-z0-9.-]*", key)
        assert len(entry["source"]) > 8, key
        texts = [text for text in entry.values() if isinstance(text, str)]
        assert all(len(text) <= 200 and "\n" not in text for text in texts), key


def test_row_counts():
    """The tables hold as many sizes as the documents were read for."""
    assert {family: len(table["sizes"]) for family, table in PIPES.items()} == {
        "as1432-a": 8,
        "as1432-b": 10,
        "as1432-c": 5,
        "as1432-d": 3,
        "en1057": 27,
        "b88-k": 9,
        "b88-l": 9,
        "b88-m": 7,
        "b280": 9,
        "sch40": 9,
        "en10255-m": 8,
        "as4130": 6,
        "multilayer": 4,
        "hose": 3,
        "csst": 8,
        "convoluted": 3,
    }
    assert len(FITTINGS) == 21
    assert len(APPLIANCES) == 18


@pytest.mark.parametrize(("size", "row"), [row[1:] for row in ROWS], ids=ROW_IDS)
def test_each_size_is_a_tube(size, row):
    """A row gives either a bore or od and wall, each a number and a length unit, with a hole left in the middle."""
    tolerances = {"od-tolerance", "wall-tolerance", "bore-tolerance"}
    assert set(row) - {"also", "mass", "source"} - tolerances in ({"od", "wall"}, {"bore"})
    lengths = [row[key] for key in ("od", "wall", "bore") if key in row]
    assert all(re.fullmatch(r"\d+(\.\d+)? (mm|in)", text) for text in lengths)
    assert re.fullmatch(r"\d+(\.\d+)? kg/m", row.get("mass", "1 kg/m"))
    assert isinstance(size, str)
    assert "/" not in size
    assert " " not in size
    if "od" in row:
        assert 0 < 2 * si(row["wall"]) < 0.5 * si(row["od"]), "more than half of the tube is wall"
    assert 0.003 < bore_m(row) < 0.06


@pytest.mark.parametrize("family", PIPES)
def test_sizes_stand_in_the_order_of_their_bores(family):
    """Within a family every size has a larger bore than the one before it."""
    bores_m = [bore_m(row) for row in PIPES[family]["sizes"].values()]
    assert all(small < large for small, large in itertools.pairwise(bores_m))


@pytest.mark.parametrize("family", PIPES)
def test_family_has_material_and_roughness(family):
    """A family names a material of materials.yaml and a roughness with its own source."""
    table = PIPES[family]
    assert table["material"] in MATERIALS
    if family in ("csst", "convoluted"):
        assert 1e-4 < si(table["roughness"]) < 1e-3, "a corrugated wall"
        assert "no handbook figure" in table["roughness-source"]
        return
    assert 1e-6 < si(table["roughness"]) < 1e-4
    assert "handbook" in table["roughness-source"] or "Moody 1944" in table["roughness-source"]


def test_sizes_are_named_by_what_they_measure():
    """A size name that is a diameter says the diameter of the row; one that is a pair says od and wall."""
    for family, size, row in ROWS:
        if family.startswith("as1432") or family == "as4130":
            assert f"{float(size):g} mm" == f"{si(row['od']) * 1e3:g} mm"
        elif family in ("en1057", "multilayer"):
            od, wall = size.split("x")
            assert (float(od), float(wall)) == pytest.approx((si(row["od"]) * 1e3, si(row["wall"]) * 1e3))
        elif family == "b280":
            assert float(size) == pytest.approx(si(row["od"]) / 0.0254, abs=0.0006)
        elif family.startswith("b88"):
            # ASTM B88: the outside diameter is 1/8 in over the nominal size.
            assert float(size) + 0.125 == pytest.approx(si(row["od"]) / 0.0254)
        elif family == "hose":
            assert float(size) == pytest.approx(si(row["bore"]) * 1e3)


# Moody, Friction factors for pipe flow, 1944: drawn tubing 0.000005 ft, commercial steel 0.00015 ft.
@pytest.mark.parametrize(
    ("family", "roughness_ft"),
    [("as1432-b", 5e-6), ("en1057", 5e-6), ("b88-l", 5e-6), ("b280", 5e-6), ("sch40", 1.5e-4), ("en10255-m", 1.5e-4)],
)
def test_roughness_of_metal_pipe_against_moody(family, roughness_ft):
    """The roughness of metal pipe is Moody's, rounded to two digits."""
    assert PIPES[family]["roughness"] == f"{float(f'{roughness_ft * 304.8:.2g}'):g} mm"


def test_b88_type_k_bores_against_ifgc():
    """IFGC 2018, Tables 402.4(29) and (30) are for type K tube and print its nine bores to a thousandth of an inch."""
    header = [key for key in published("ifgc-2018-table-402.4-30.csv")[0] if key.startswith("bore_")]
    assert [f"bore_{bore_m(row) / 0.0254:.3f}" for row in PIPES["b88-k"]["sizes"].values()] == header


def test_schedule_40_bores_against_ifgc():
    """IFGC 2018, Table 402.4(28) prints the bores of schedule 40 pipe to a thousandth of an inch."""
    header = [key for key in published("ifgc-2018-table-402.4-28.csv")[0] if key.startswith("bore_")][:6]
    sizes = PIPES["sch40"]["sizes"]
    assert [f"bore_{bore_m(sizes[size]) / 0.0254:.3f}" for size in ("0.5", "0.75", "1", "1.25", "1.5", "2")] == header


@pytest.mark.parametrize("size", PIPES["sch40"]["sizes"])
def test_schedule_40_against_fluids(size):
    """Diameters agree with the metric figures of ASME B36.10M in `fluids`: od printed to 0.1 mm, wall to 0.01 mm."""
    row = PIPES["sch40"]["sizes"][size]
    _, _, od_m, wall_m = fluids.nearest_pipe(NPS=float(size), schedule="40")
    assert si(row["od"]) == pytest.approx(od_m, abs=0.051e-3)
    assert si(row["wall"]) == pytest.approx(wall_m, abs=0.0051e-3)


# ASTM B88-22 as reprinted in an open engineering data book: inside diameter in inches, and mass of the tube in lb/ft.
B88 = {
    "b88-k/0.375": (0.402, 0.269),
    "b88-k/0.5": (0.527, 0.344),
    "b88-k/0.625": (0.652, 0.418),
    "b88-k/0.75": (0.745, 0.641),
    "b88-k/1": (0.995, 0.839),
    "b88-k/1.25": (1.245, 1.04),
    "b88-k/1.5": (1.481, 1.36),
    "b88-k/2": (1.959, 2.06),
    "b88-l/0.25": (0.315, 0.126),
    "b88-l/0.375": (0.430, 0.198),
    "b88-l/0.5": (0.545, 0.285),
    "b88-l/0.625": (0.666, 0.362),
    "b88-l/0.75": (0.785, 0.455),
    "b88-l/1": (1.025, 0.655),
    "b88-l/1.25": (1.265, 0.884),
    "b88-l/1.5": (1.505, 1.14),
    "b88-l/2": (1.985, 1.75),
    "b88-m/0.375": (0.450, 0.145),
    "b88-m/0.5": (0.569, 0.204),
    "b88-m/0.75": (0.811, 0.328),
    "b88-m/1": (1.055, 0.465),
    "b88-m/1.25": (1.291, 0.682),
    "b88-m/1.5": (1.527, 0.94),
    "b88-m/2": (2.009, 1.46),
}


@pytest.mark.parametrize("pipe", B88)
def test_b88_against_the_printed_table(pipe):
    """The bore is the printed one; od, wall and the density of copper give the printed mass within 0.5 %."""
    family, size = pipe.split("/")
    row = PIPES[family]["sizes"][size]
    bore_in, mass_lb_ft = B88[pipe]
    assert bore_m(row) / 0.0254 == pytest.approx(bore_in, abs=1e-9)
    mass_kg_m = metal_area_m2(row) * si(MATERIALS["copper"]["density"])
    # Three digits are printed, two in places (0.94): half a last digit is up to 0.5 %.
    assert mass_kg_m / KG_M_PER_LB_FT == pytest.approx(mass_lb_ft, rel=0.005)


# ASTM B280, annealed coils: bore in inches from an engineering handbook table, mass in kg/m from a tube maker's.
B280 = {
    "0.25": (0.190, 0.119),
    "0.3125": (0.248, 0.162),
    "0.375": (0.311, 0.198),
    "0.5": (0.436, 0.270),
    "0.625": (0.555, 0.374),
    "0.75": (0.666, None),  # the maker's mass is that of the thinner wall
    "0.875": (0.785, 0.673),
    "1.125": (1.025, 0.971),
    "1.375": (1.265, None),
}


@pytest.mark.parametrize("size", B280)
def test_b280_against_the_printed_table(size):
    """The bore is the printed one; od, wall and the density of copper give the printed mass within 1 %."""
    row = PIPES["b280"]["sizes"][size]
    bore_in, mass_kg_m = B280[size]
    assert bore_m(row) / 0.0254 == pytest.approx(bore_in, abs=1e-9)
    if mass_kg_m is not None:
        # The maker rounds od and wall to 0.01 mm and may use 8.90 kg/dm3.
        assert metal_area_m2(row) * si(MATERIALS["copper"]["density"]) == pytest.approx(mass_kg_m, rel=0.01)


# Copper gas tube to EN 1057, a tube maker's table: inside diameter in mm and mass in kg/m.
EN1057 = {
    "10x1.0": (8.0, 0.252),
    "12x1.0": (10.0, 0.308),
    "15x1.0": (13.0, 0.391),
    "18x1.0": (16.0, 0.475),
    "22x1.0": (20.0, 0.587),
    "22x1.5": (19.0, 0.860),
    "28x1.5": (25.0, 1.111),
}


@pytest.mark.parametrize("size", EN1057)
def test_en1057_against_a_printed_table(size):
    """The bore is the printed one; od, wall and the density of copper give the printed mass within 1 %."""
    row = PIPES["en1057"]["sizes"][size]
    bore_mm, mass_kg_m = EN1057[size]
    assert bore_m(row) * 1e3 == pytest.approx(bore_mm, abs=1e-9)
    # The table's masses are for 8.90 kg/dm3, 0.45 % under ours.
    assert metal_area_m2(row) * si(MATERIALS["copper"]["density"]) == pytest.approx(mass_kg_m, rel=0.01)


def test_as1432_walls_are_wire_gauges_and_diameters_are_inches():
    """AS 1432 is a metric table of inch tube: diameters in sixteenths of an inch, walls in standard wire gauge."""
    gauges_mm = {22: 0.71, 20: 0.91, 19: 1.02, 18: 1.22, 17: 1.42, 16: 1.63}
    for family in ("as1432-a", "as1432-b", "as1432-c", "as1432-d"):
        for row in PIPES[family]["sizes"].values():
            sixteenths = si(row["od"]) / 0.0254 * 16
            assert sixteenths == pytest.approx(round(sixteenths), abs=0.005 / 25.4 * 16 + 1e-9)
            assert round(si(row["wall"]) * 1e3, 2) in gauges_mm.values()


def test_as1432_types_go_from_thick_to_thin():
    """At one outside diameter type A has the thickest wall and the letters go down from it."""
    tables = [PIPES[f"as1432-{letter}"]["sizes"] for letter in "abcd"]
    pairs = 0
    for thick, thin in [(0, 1), (1, 2), (1, 3)]:
        for size in tables[thick].keys() & tables[thin].keys():
            assert si(tables[thick][size]["wall"]) > si(tables[thin][size]["wall"])
            pairs += 1
    assert pairs == 8 + 5 + 3


@pytest.mark.parametrize("family", ["sch40", "en10255-m"])
def test_steel_masses_follow_from_the_dimensions(family):
    """The printed mass agrees with od, wall and 7850 kg/m3 within 1.5 %."""
    # EN 10255 prints masses for the middle of its od limits, which is up to 0.4 % over the specified od.
    for size, row in PIPES[family]["sizes"].items():
        assert metal_area_m2(row) * si(MATERIALS["steel"]["density"]) == pytest.approx(si(row["mass"]), rel=0.015), size


# Series M of EN 10255 in an open pipe library that quotes the standard's table: bore in mm.
@pytest.mark.parametrize(
    ("size", "bore_mm"),
    [
        ("DN8", 8.8),
        ("DN10", 12.5),
        ("DN15", 16.0),
        ("DN20", 21.6),
        ("DN25", 27.2),
        ("DN32", 35.9),
        ("DN40", 41.8),
        ("DN50", 53.1),
    ],
)
def test_en10255_bores_against_an_open_pipe_library(size, bore_mm):
    """The bore is that of the library, which rounds all but one down by a tenth of a millimetre."""
    assert bore_m(PIPES["en10255-m"]["sizes"][size]) * 1e3 == pytest.approx(bore_mm, abs=0.1 + 1e-6)


# SDR 11 in an open pipe library: inside diameter in mm.
@pytest.mark.parametrize(("size", "bore_mm"), [("25", 20.4), ("32", 26.2), ("40", 32.6), ("50", 40.8), ("63", 51.4)])
def test_polyethylene_bores_against_an_open_pipe_library(size, bore_mm):
    """From 25 mm the bores are those of SDR 11."""
    assert bore_m(PIPES["as4130"]["sizes"][size]) * 1e3 == pytest.approx(bore_mm, abs=1e-6)


# A maker's table to AS 4176.2:2010: inside diameter in mm and mass in kg/m.
@pytest.mark.parametrize(
    ("size", "bore_mm", "mass_kg_m"),
    [("16x2", 12, 0.125), ("20x2", 16, 0.170), ("25x2.5", 20, 0.252), ("32x3", 26, 0.390)],
)
def test_multilayer_against_a_printed_table(size, bore_mm, mass_kg_m):
    """Bore and mass of multilayer pipe are the printed ones."""
    row = PIPES["multilayer"]["sizes"][size]
    assert (bore_m(row) * 1e3, si(row["mass"])) == pytest.approx((bore_mm, mass_kg_m))


@pytest.mark.parametrize(
    ("fitting", "column"),
    [
        ("elbow-45", "elbow_45"),
        ("elbow-90", "elbow_90"),
        ("return-bend", "return_bend"),
        ("tee-branch", "tee_branch"),
    ],
)
def test_ratios_against_ifgc_equivalent_lengths(fitting, column):
    """IFGC 2018, Table A.2.2: each printed length over the bore rounds to the ratio, a whole number, six times."""
    rows = published("ifgc-2018-table-a.2.2.csv")
    assert len(rows) == 6
    # Not "ratio x bore within the printed digits": the table's own return bends of 1 to 1.5 in come from 66.6, not 67.
    assert [round(float(row[column]) * 12 / float(row["bore_in"])) for row in rows] == [FITTINGS[fitting]["ratio"]] * 6


@pytest.mark.parametrize(
    ("fitting", "loss"),
    [
        ("ball-valve", lambda d_m: K_ball_valve_Crane(d_m, d_m, 0)),
        ("gate-valve", lambda d_m: K_gate_valve_Crane(d_m, d_m, 0)),
        ("globe-valve", lambda d_m: K_globe_valve_Crane(d_m, d_m)),
        ("angle-valve", lambda d_m: K_angle_valve_Crane(d_m, d_m, style=1)),
        ("plug-valve", lambda d_m: K_plug_valve_Crane(d_m, d_m, 0)),
        ("plug-valve-3-way-through", lambda d_m: K_plug_valve_Crane(d_m, d_m, 0, style=1)),
        ("plug-valve-3-way-branch", lambda d_m: K_plug_valve_Crane(d_m, d_m, 0, style=2)),
        ("check-valve-swing", K_swing_check_valve_Crane),
    ],
)
def test_valve_ratios_against_crane(fitting, loss):
    """Crane TP-410 as written in `fluids`: K over the friction factor of full turbulence is the ratio."""
    assert loss(0.0158) / ft_Crane(0.0158) == pytest.approx(FITTINGS[fitting]["ratio"], rel=1e-9)


@pytest.mark.parametrize(("fitting", "angle_deg"), [("bend-90", 90), ("bend-45", 45)])
def test_bend_ratios_against_crane(fitting, angle_deg):
    """Crane TP-410 pipe bends as fitted in `fluids`: ours is the bend that loses most of those of 1.5 to 4 bores."""
    ratios = [bend_rounded_Crane(0.0158, angle_deg, bend_diameters=n) / ft_Crane(0.0158) for n in (1.5, 2, 3, 4)]
    ratio = FITTINGS[fitting]["ratio"]
    # The fit passes within 2 % of the printed values, which are whole numbers.
    assert max(ratios) == pytest.approx(ratio, rel=0.02)


@pytest.mark.parametrize(
    ("fitting", "loss"),
    [("reducer", fluids.contraction_sharp), ("enlarger", lambda d1, d2: fluids.diffuser_sharp(d2, d1))],
)
def test_reducers_take_the_most_there_can_be(fitting, loss):
    """A reducer counts the loss of any step by `fluids` and more, on the smaller bore: K = 0.5 or 1 over 0.02."""
    small_m = 0.008
    steps = [loss(small_m / beta, small_m) for beta in (0.9, 0.7, 0.5, 0.3)]
    if fitting == "enlarger":  # `fluids` gives it on the smaller bore too
        assert steps == pytest.approx([(1 - beta**2) ** 2 for beta in (0.9, 0.7, 0.5, 0.3)])
    assert max(steps) <= FITTINGS[fitting]["ratio"] * 0.02 * 1.13
    assert FITTINGS[fitting]["ratio"] * 0.02 == {"reducer": 0.5, "enlarger": 1.0}[fitting]


def test_handbook_ratios():
    """Tee run 20 and street elbows 50 and 26 (Crane), coupling and union K 0.04 over 0.02 (Perry)."""
    names = ("tee-through", "elbow-90-street", "elbow-45-street", "coupling", "union")
    assert [FITTINGS[name]["ratio"] for name in names] == [20, 50, 26, 2, 2]


@pytest.mark.parametrize(
    ("rule", "drop_pa", "nominal_pa"),
    [
        ("as-nzs-5601.2", 250.0, 2750.0),  # AS/NZS 5601.2:2020, clause 5.1.2
        ("bs-6891-lpg", 250.0, {"propane": 3700.0, "n-butane": 2800.0}),  # BS 6891 practice
        ("ifgc-11inwc", 124.54, 2739.98),  # IFGC 2018, Table 402.4(30): 0.5 and 11 in w.c. of 249.089 Pa
        ("as-nzs-5601.1", None, 2750.0),
        ("en-1949", None, 3000.0),  # 30 mbar
        ("en-iso-10239", None, 3000.0),
        ("en-iso-10239-37", None, {"propane": 3700.0, "n-butane": 2800.0}),
        ("trf-50", None, 5000.0),  # 50 mbar
        ("nfpa-1192", None, 2739.98),  # 11 in w.c.
    ],
)
def test_rules_against_the_documents(rule, drop_pa, nominal_pa):
    """Allowed drop and nominal pressure are those of the document that the rule is named after."""
    table = RULES[rule]
    if drop_pa is None:  # no source that could be read gives it
        assert "drop" not in table
        assert "no page" in table["no-drop"]
    else:
        assert si(table["drop"]) == pytest.approx(drop_pa, abs=0.01)
    if isinstance(nominal_pa, dict):
        assert {gas: si(text) for gas, text in table["nominal"].items()} == pytest.approx(nominal_pa)
    else:
        assert si(table["nominal"]) == pytest.approx(nominal_pa, abs=0.01)


@pytest.mark.parametrize("rule", RULES)
def test_each_rule_defers_to_the_code_in_force(rule):
    """A rule says where it applies, and that the code in force there prevails."""
    assert RULES[rule]["applies-to"]
    assert re.search(r"\bprevails\b.*The edition may have changed\.", RULES[rule]["caution"])
    assert set(RULES[rule]) <= {
        "title",
        "source",
        "applies-to",
        "drop",
        "no-drop",
        "locker",
        "vents-by-floor",
        "nominal",
        "vents",
        "method",
        "asks-basis",
        "hot-water",
        "caution",
        "tightness",
    }


@pytest.mark.parametrize(
    ("test", "figures"),
    [
        # AS/NZS 5601.2 Appendix E, method 1: operating pressure, for example 2 min to settle, 5 min, no loss.
        (RULES["as-nzs-5601.2"]["tightness"], (2750.0, 120.0, 300.0, 0.0)),
        # EN 1949:2011+A1:2013, 4.3: 150 mbar of air, 5 min, 5 min, 10 mbar.
        (load("tightness")["en-1949"], (15000.0, 300.0, 300.0, 1000.0)),
        # IFGC 2018, 406.4, from memory: 3 psi, 10 min, no loss; no time to settle is given.
        (RULES["ifgc-11inwc"]["tightness"], (20684.27, 0.0, 600.0, 0.0)),
        # IGEM/UP/1B as guides have it: 37 mbar, 1 min, 2 min, no perceptible movement.
        (RULES["bs-6891-lpg"]["tightness"], (3700.0, 60.0, 120.0, 0.0)),
        # EN ISO 10239, a gas engineers' journal: three times the working pressure, 111 mbar for propane.
        (RULES["en-iso-10239-37"]["tightness"], (3 * 3700.0, 300.0, 900.0, 0.0)),
        (RULES["en-iso-10239"]["tightness"], (3 * 3000.0, 300.0, 900.0, 0.0)),
        # No loss for LPG: a state regulator's sheet; 7 kPa and 5 min from memory.
        (RULES["as-nzs-5601.1"]["tightness"], (7000.0, 0.0, 300.0, 0.0)),
        (RULES["nfpa-1192"]["tightness"], (20684.27, 0.0, 600.0, 0.0)),  # 3 psi, 10 min, from memory
    ],
    ids=["as-nzs-5601.2", "en-1949", "ifgc", "bs-6891", "craft-37", "craft-30", "as-nzs-5601.1", "nfpa-1192"],
)
def test_tightness_figures(test, figures):
    """Pressure, time to settle, time to hold and the fall allowed are those of the document."""
    values = [si(test.get(key, "0 min")) for key in ("pressure", "settle", "hold", "allowed-fall")]
    assert values == pytest.approx(figures, abs=0.01)
    assert "air" in test["medium"]
    assert test["source"]


def test_least_volume_of_en1949_test():
    """EN 1949:2011+A1:2013, 4.3: the volume under test is at least 700 cm3."""
    assert si(load("tightness")["en-1949"]["volume-min"]) == pytest.approx(700e-6)


# Reference values for gas use in the handbook of a motor caravan, g/h, at 50.33 MJ/kg.
@pytest.mark.parametrize(
    ("appliance", "least_g_h", "most_g_h"),
    [("cooktop-2-burner", 100, 400), ("oven", 50, 200), ("space-heater", 170, 490)],
)
def test_caravan_appliances_against_reference_values(appliance, least_g_h, most_g_h):
    """Typical inputs lie in the range of gas use that a motor caravan's handbook prints."""
    assert least_g_h < si(APPLIANCES[appliance]["input"]) / 50.33 * 1000 < most_g_h


def test_fixed_water_heater_lifts_its_flow_by_25_k():
    """The heater of 10 L/min at 80 % lifts it by 25 K, on which flow is rated by common practice, within 5 %."""
    output_w = 0.8 * si(APPLIANCES["instantaneous-heater-fixed"]["input"]) * 1e6 / 3600
    assert output_w / (10 / 60 * 4186) == pytest.approx(25, rel=0.05)


def test_every_input_is_a_heat_rate():
    """Inputs are numbers with MJ/h, from a lamp to a commercial fryer."""
    for name, row in APPLIANCES.items():
        assert set(row) == {"title", "input", "source"}, name
        assert re.fullmatch(r"\d+(\.\d+)? MJ/h", row["input"]), name
        assert 0.5 < si(row["input"]) < 100, name
