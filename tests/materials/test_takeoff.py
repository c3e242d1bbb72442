"""A takeoff beside those that were worked by hand."""

from decimal import Decimal

import pytest

from drawbar.materials.needs import Part, needs_of, together
from drawbar.materials.takeoff import takeoff_of
from jobs import job_from
from van_galley import B9, B12, JOB, JOINTS, PARTS, needs


def with_runs(runs, rest="", appliances="cooker: {at: end, input: 20 MJ/h}"):
    """Return a job with these runs, the other appliances and outlets as given."""
    lines = "\n".join(f"  {run}" for run in runs)
    return (
        "job: t\ngas: propane\nlimits: {drop: 0.5 kPa}\nregulator: {outlet: 2.75 kPa}\n"
        f"runs:\n{lines}\n{rest}\nappliances:\n  {appliances}\n"
    )


def test_a_takeoff_by_hand():
    """Parts and joints counted on paper, pipe added up: 4.25 + 1.40 and 0.85 + 7.30, with 5 % for waste."""
    takeoff = takeoff_of(needs(), Decimal("0.05"))
    assert list(takeoff.parts) == PARTS
    assert takeoff.joints == JOINTS == 21
    assert [(pipe.pipe, pipe.runs, pipe.length_m, pipe.with_waste_m, pipe.bought_m) for pipe in takeoff.pipes] == [
        (B9, 2, Decimal("8.150"), Decimal("8.558"), Decimal("8.558")),
        (B12, 2, Decimal("5.650"), Decimal("5.933"), Decimal("5.933")),
    ]


def test_stock_lengths_by_hand():
    """7.3 m is a whole length and 1.3 m with a coupling; 1.3 and 0.85 m come from one length, 4.25 and 1.4 m too."""
    takeoff = takeoff_of(needs(), Decimal("0.05"), stock_m=6)
    nine, twelve = takeoff.pipes
    assert (nine.full, nine.couplings, nine.lengths, nine.bought_m) == (1, 1, 2, Decimal(12))
    assert (twelve.full, twelve.couplings, twelve.lengths, twelve.bought_m) == (0, 0, 1, Decimal(6))
    assert [[piece.name for piece in bar.pieces] for bar in nine.cutting.bars] == [["far", "right"]]
    assert [bar.offcut_um for bar in (*nine.cutting.bars, *twelve.cutting.bars)] == [3_850_000, 350_000]
    assert (Part("fitting", "coupling", B9), 1) in takeoff.parts
    assert takeoff.joints == JOINTS + 2


def test_a_length_is_added_where_the_offcuts_are_less_than_the_waste():
    """5.65 m with 6 % is 5.989 m, within one length; with 8 % it is 6.102 m, and a second is bought."""
    within, beyond = (takeoff_of(needs(), Decimal(waste), stock_m=6).pipes[1] for waste in ("0.06", "0.08"))
    assert (within.extra, within.lengths) == (0, 1)
    assert (beyond.extra, beyond.lengths, beyond.bought_m) == (1, 2, Decimal(12))


def test_feet_add_up_without_a_rest():
    """Three runs of 3.1 ft are 9.3 ft: 2.83464 m, to the millimetre 2.835 m."""
    runs = [
        f"r{n}: {{from: {start}, pipe: as1432-b/12.70, length: 3.1 ft}}" for n, start in ((1, "regulator"), (2, "r1"))
    ]
    text = with_runs([*runs, "end: {from: r2, pipe: as1432-b/12.70, length: 3.1 ft}"])
    assert takeoff_of(needs(text), Decimal(0)).pipes[0].length_m == Decimal("2.835")


R = "pipe: as1432-b/12.70, length: 1 m"


@pytest.mark.parametrize(
    ("runs", "tees"),
    [
        # side and straight of one tee
        (
            [
                f"a: {{from: m, {R}, fittings: {{tee-branch: 1}}}}",
                f"end: {{from: m, {R}, fittings: {{tee-through: 1}}}}",
            ],
            1,
        ),
        # the straight way not listed
        ([f"a: {{from: m, {R}, fittings: {{tee-branch: 1}}}}", f"end: {{from: m, {R}}}"], 1),
        # a tee fed from below: both leave by its side
        (
            [
                f"a: {{from: m, {R}, fittings: {{tee-branch: 1}}}}",
                f"end: {{from: m, {R}, fittings: {{tee-branch: 1}}}}",
            ],
            1,
        ),
        # two tees one behind the other
        (
            [
                f"a: {{from: m, {R}, fittings: {{tee-branch: 1}}}}",
                f"b: {{from: m, {R}, fittings: {{tee-through: 1, tee-branch: 1}}}}",
                f"end: {{from: m, {R}, fittings: {{tee-through: 2}}}}",
            ],
            2,
        ),
        # one more in each run, as for a test point
        (
            [
                f"a: {{from: m, {R}, fittings: {{tee-branch: 1, tee-through: 1}}}}",
                f"end: {{from: m, {R}, fittings: {{tee-through: 2}}}}",
            ],
            3,
        ),
        # alone in a run that does not branch
        ([f"end: {{from: m, {R}, fittings: {{tee-through: 1}}}}"], 1),
        ([f"end: {{from: m, {R}, fittings: {{tee-branch: 1}}}}"], 1),
        # a valve with three ways is one valve
        (
            [
                f"a: {{from: m, {R}, fittings: {{plug-valve-3-way-branch: 1}}}}",
                f"end: {{from: m, {R}, fittings: {{plug-valve-3-way-through: 1}}}}",
            ],
            1,
        ),
    ],
)
def test_a_tee_that_two_runs_pass_is_bought_once(runs, tees):
    """Each run is charged with its way through the tee, but there is one tee."""
    names = [run.partition(":")[0] for run in runs]
    appliances = "\n".join(f"  cooker-{name}: {{at: {name}, input: 9 MJ/h}}" for name in names).strip()
    bought = needs(with_runs([f"m: {{from: regulator, {R}}}", *runs], appliances=appliances))
    counted = {part.name: count for part, count in bought.parts if part.section == "fitting"}
    assert sum(counted.values()) == tees
    assert set(counted) <= {"tee", "plug-valve-3-way"}
    assert bought.joints == 1 + len(names) + 3 * tees  # the regulator's, the cookers', the tees'


def test_a_street_elbow_makes_one_joint_and_a_second_stage_two():
    """Its other end goes into another fitting; devices in a run make two, and an outlet without a device is told."""
    device = "devices: [{name: valve, flow: 60 MJ/h, drop: 40 Pa}]"
    stage = "regulator: {inlet-min: 30 kPa, outlet: 2.75 kPa, capacity: 60 MJ/h}"
    text = with_runs(
        [f"m: {{from: regulator, {R}, fittings: {{elbow-90-street: 1}}, {device}}}", f"end: {{from: m, {R}, {stage}}}"],
        "outlets: {bay: {at: end}}",
        "cooker: {plugs-into: bay, input: 20 MJ/h}",
    ).replace("outlet: 2.75 kPa}", "outlet: 70 kPa}")
    bought = needs(text)
    assert bought.joints == 1 + 1 + 2 + 2 + 1  # regulator, street elbow, valve, second stage, bay
    assert dict(bought.parts)[Part("regulator", "second-stage", "2.75 kPa, 60 MJ/h")] == 1
    assert dict(bought.parts)[Part("regulator", "regulator", "70 kPa")] == 1
    assert list(bought.remarks) == ["outlet bay lists no device: no part is counted for it"]


def test_what_the_job_leaves_open_is_told():
    """A branch without a tee, and a change of size without a reducer."""
    assert list(needs().remarks) == [
        "where main ends, right goes on in as1432-b/9.52 from as1432-b/12.70: see that a reducing tee or a reducer is "
        "counted",
        "where right ends, far and heater go on, but no tee is listed",
    ]


def test_hoses_are_counted_as_the_job_says_else_as_can_be_in_use():
    """`count: 3` stands; without it two appliances and one outlet make one; and their couplers go with them."""
    counted = needs(JOB.replace("length: 1.2 m,", "length: 1.2 m, count: 3,"))
    assert dict(counted.parts)[Part("hose", "lead", "hose/8, 1.2 m")] == 3
    assert dict(counted.parts)[Part("device", "coupler")] == 3
    two = needs(JOB.replace("hoses:", "  bay2: {at: far}\nhoses:").replace("plugs-into: bay", "plugs-into: any"))
    assert dict(two.parts)[Part("hose", "lead", "hose/8, 1.2 m")] == 2


def test_jobs_together_are_the_sum_of_each():
    """Counts and lengths add up, and the pieces say which job they are of."""
    van, boat = needs(), needs(JOB.replace("ref: Q-7\n", "").replace("Van galley", "Boat"))
    both = takeoff_of(together([van, boat]), Decimal("0.05"), stock_m=6)
    alone = takeoff_of(van, Decimal("0.05"), stock_m=6)
    assert dict(both.parts) == {part: 2 * count for part, count in alone.parts}
    assert both.joints == 2 * alone.joints
    assert [pipe.length_m for pipe in both.pipes] == [2 * pipe.length_m for pipe in alone.pipes]
    names = {piece.name for pipe in both.pipes for bar in pipe.cutting.bars for piece in bar.pieces}
    assert {"Q-7: main", "Boat: main"} <= names
    # 1.3 + 0.85 m twice still come from one length: three of 9.52 for both, where each alone takes two
    assert (both.pipes[0].lengths, alone.pipes[0].lengths) == (3, 2)


@pytest.mark.parametrize("waste", [0.07, Decimal("0.07"), 0, 1])
def test_a_float_is_the_decimal_that_it_is_written_as(waste):
    """0.07 is 7 % exactly, where the float is a little more; lengths and kerfs in floats cut as those in decimals."""
    floats = takeoff_of(needs(), waste, stock_m=6.1, kerf_m=0.0025)
    assert floats == takeoff_of(needs(), Decimal(str(waste)), stock_m=Decimal("6.1"), kerf_m=Decimal("0.0025"))
    assert (floats.waste, floats.stock_m, floats.kerf_m) == (Decimal(str(waste)), Decimal("6.1"), Decimal("0.0025"))
    assert {type(figure) for figure in (floats.waste, floats.stock_m, floats.kerf_m)} == {Decimal}


@pytest.mark.parametrize(
    ("figures", "message"),
    [
        ({"waste": -0.05}, r"^waste is -0\.05: it takes a number from zero up$"),
        ({"waste": float("nan")}, r"^waste is nan: it takes a number from zero up$"),
        ({"waste": 5}, r"^waste is 5: it takes a share up to 1, as 0\.05 for 5 %$"),
        ({"stock_m": Decimal("-6")}, r"^stock_m is -6: it takes a number from zero up$"),
        ({"stock_m": 0}, r"^stock_m is 0: a stock length is longer than nothing$"),
        ({"kerf_m": float("inf")}, r"^kerf_m is inf: it takes a number from zero up$"),
    ],
)
def test_a_figure_that_cannot_be_is_refused(figures, message):
    """Before anything is cut."""
    with pytest.raises(ValueError, match=message):
        takeoff_of(needs(), **figures)


def test_a_run_whose_size_is_open_is_refused():
    """A takeoff needs a size for every run."""
    text = JOB.replace("pipe: as1432-b/9.52, length: 0.85 m", "pipe: as1432-b/auto, length: 1 m")
    with pytest.raises(ValueError, match=r"^run right leaves its size open$"):
        needs_of(job_from(text, sized=False))
