"""A takeoff and a quote beside ones that were worked by hand, and what the command prints."""

import csv
import io
import json
import re
import sys
from decimal import Decimal

import pytest

from drawbar.catalogue.catalogue import Catalogue
from drawbar.cli.main import main
from drawbar.jobfile.reader import job_of
from drawbar.materials.prices import read_price_list
from drawbar.materials.quote import quote, to_cent
from drawbar.materials.takeoff import Part, needs_of, takeoff_of, together
from paths import EXAMPLES

B12, B9 = "as1432-b/12.70", "as1432-b/9.52"
KNOWN = Catalogue()

JOB = """\
job: Van galley
ref: Q-7
gas: propane
limits: {drop: 0.5 kPa}
regulator: {outlet: 2.75 kPa, capacity: 90 MJ/h}
runs:
  main:  {from: regulator, pipe: as1432-b/12.70, length: 4.25 m, fittings: {elbow-90: 2, ball-valve: 1}}
  left:  {from: main, pipe: as1432-b/12.70, length: 1.4 m, fittings: {tee-branch: 1, elbow-90: 1}}
  right: {from: main, pipe: as1432-b/9.52, length: 0.85 m, fittings: {tee-through: 1, bend-90: 2}}
  far:   {from: right, pipe: as1432-b/9.52, length: 7.3 m, fittings: {elbow-90: 3}}
outlets:
  bay: {at: far, devices: [{name: bayonet, flow: 60 MJ/h, drop: 40 Pa}]}
hoses:
  lead: {pipe: hose/8, length: 1.2 m, devices: [{name: coupler, flow: 50 MJ/h, drop: 60 Pa}]}
appliances:
  cooker: {at: left, input: 20 MJ/h}
  heater: {at: right, input: 10 MJ/h}
  grill:  {plugs-into: bay, hose: lead, input: 12 MJ/h}
  urn:    {plugs-into: bay, hose: lead, input: 12 MJ/h}
"""
# By hand. Elbows: 2 + 1 in 12.70, 3 in 9.52. One tee where main ends: left leaves by its side, right straight on.
# Hoses: two appliances may use one, but there is one outlet.
PARTS = [
    (Part("fitting", "ball-valve", B12), 1),
    (Part("fitting", "bend-90", B9, formed=True), 2),
    (Part("fitting", "elbow-90", B9), 3),
    (Part("fitting", "elbow-90", B12), 3),
    (Part("fitting", "tee", B12), 1),
    (Part("device", "bayonet"), 1),
    (Part("device", "coupler"), 1),
    (Part("hose", "lead", "hose/8, 1.2 m"), 1),
    (Part("regulator", "regulator", "2.75 kPa, 90 MJ/h"), 1),
]
# 6 elbows x 2, valve 2, tee 3, no joint for a formed bend, bayonet 1, two fixed appliances, regulator 1.
JOINTS = 12 + 2 + 3 + 1 + 2 + 1

PRICES = """\
currency: AUD
per-metre: {as1432-b/12.70: 9.85, as1432-b/9.52: 7.15}
each:
  elbow-90: 2.45
  elbow-90@as1432-b/12.70: 3.15
  ball-valve: 24.90
  tee: 4.80
  bayonet: 38.00
  coupler: 21.55
  lead: 46.10
  regulator: 89.00
labour: {per-joint: 6.55, per-metre: 13.75}
waste: 5 %
margin: 17.5 %
tax: 10 %
"""


def needs(text=JOB):
    return needs_of(job_of(text, "van.yaml", KNOWN, sized=True))


def with_runs(runs, rest="", appliances="cooker: {at: end, input: 20 MJ/h}"):
    """Return a job with these runs, the other appliances and outlets as given."""
    lines = "\n".join(f"  {run}" for run in runs)
    return (
        "job: t\ngas: propane\nlimits: {drop: 0.5 kPa}\nregulator: {outlet: 2.75 kPa}\n"
        f"runs:\n{lines}\n{rest}\nappliances:\n  {appliances}\n"
    )


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.yaml").write_text(JOB)
    (tmp_path / "prices.yaml").write_text(PRICES)
    return tmp_path


@pytest.fixture
def run(folder, monkeypatch, capsys):
    def call(*words):
        monkeypatch.setattr(sys, "argv", ["drawbar", "takeoff", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return ended.value.code, told.out, told.err

    return call


# the takeoff


def test_a_takeoff_by_hand():
    """Parts and joints counted on paper, pipe added up: 4.25 + 1.40 and 0.85 + 7.30, with 5 % for waste."""
    found = takeoff_of(needs(), Decimal("0.05"))
    assert list(found.parts) == PARTS
    assert found.joints == JOINTS == 21
    assert [(pipe.pipe, pipe.runs, pipe.length_m, pipe.with_waste_m, pipe.bought_m) for pipe in found.pipes] == [
        (B9, 2, Decimal("8.150"), Decimal("8.558"), Decimal("8.558")),
        (B12, 2, Decimal("5.650"), Decimal("5.933"), Decimal("5.933")),
    ]


def test_stock_lengths_by_hand():
    """7.3 m is a whole length and 1.3 m with a coupling; 1.3 and 0.85 m come from one length, 4.25 and 1.4 m too."""
    found = takeoff_of(needs(), Decimal("0.05"), 6_000_000)
    nine, twelve = found.pipes
    assert (nine.full, nine.couplings, nine.lengths, nine.bought_m) == (1, 1, 2, Decimal(12))
    assert (twelve.full, twelve.couplings, twelve.lengths, twelve.bought_m) == (0, 0, 1, Decimal(6))
    assert [[piece.name for piece in bar.pieces] for bar in nine.cutting.bars] == [["far", "right"]]
    assert [bar.offcut_um for bar in (*nine.cutting.bars, *twelve.cutting.bars)] == [3_850_000, 350_000]
    assert (Part("fitting", "coupling", B9), 1) in found.parts
    assert found.joints == JOINTS + 2


def test_a_length_is_added_where_the_offcuts_are_less_than_the_waste():
    """5.65 m with 6 % is 5.989 m, within one length; with 8 % it is 6.102 m, and a second is bought."""
    within, beyond = (takeoff_of(needs(), Decimal(waste), 6_000_000).pipes[1] for waste in ("0.06", "0.08"))
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
    found = needs(with_runs([f"m: {{from: regulator, {R}}}", *runs], appliances=appliances))
    counted = {part.name: count for part, count in found.parts if part.section == "fitting"}
    assert sum(counted.values()) == tees
    assert set(counted) <= {"tee", "plug-valve-3-way"}
    assert found.joints == 1 + len(names) + 3 * tees  # the regulator's, the cookers', the tees'


def test_a_street_elbow_makes_one_joint_and_a_second_stage_two():
    """Its other end goes into another fitting; devices in a run make two, and an outlet without a device is told."""
    device = "devices: [{name: valve, flow: 60 MJ/h, drop: 40 Pa}]"
    stage = "regulator: {inlet-min: 30 kPa, outlet: 2.75 kPa, capacity: 60 MJ/h}"
    text = with_runs(
        [f"m: {{from: regulator, {R}, fittings: {{elbow-90-street: 1}}, {device}}}", f"end: {{from: m, {R}, {stage}}}"],
        "outlets: {bay: {at: end}}",
        "cooker: {plugs-into: bay, input: 20 MJ/h}",
    ).replace("outlet: 2.75 kPa}", "outlet: 70 kPa}")
    found = needs(text)
    assert found.joints == 1 + 1 + 2 + 2 + 1  # regulator, street elbow, valve, second stage, bay
    assert dict(found.parts)[Part("regulator", "second-stage", "2.75 kPa, 60 MJ/h")] == 1
    assert dict(found.parts)[Part("regulator", "regulator", "70 kPa")] == 1
    assert found.remarks == ("outlet bay lists no device: no part is counted for it",)


def test_what_the_job_leaves_open_is_told():
    """A branch without a tee, and a change of size without a reducer."""
    assert needs().remarks == (
        "where main ends, right goes on in as1432-b/9.52 from as1432-b/12.70: see that a reducing tee or a reducer is "
        "counted",
        "where right ends, far and heater go on, but no tee is listed",
    )


def test_hoses_are_counted_as_the_job_says_else_as_can_be_in_use():
    """`count: 3` stands; without it two appliances and one outlet make one; and their couplers go with them."""
    counted = needs(JOB.replace("length: 1.2 m,", "length: 1.2 m, count: 3,"))
    assert dict(counted.parts)[Part("hose", "lead", "hose/8, 1.2 m")] == 3
    assert dict(counted.parts)[Part("device", "coupler")] == 3
    two = needs(JOB.replace("hoses:", "  bay2: {at: far}\nhoses:").replace("plugs-into: bay", "plugs-into: any"))
    assert dict(two.parts)[Part("hose", "lead", "hose/8, 1.2 m")] == 2


def test_jobs_together_are_the_sum_of_each():
    """Counts and lengths add up, and the pieces say which job they are of."""
    one, other = needs(), needs(JOB.replace("ref: Q-7\n", "").replace("Van galley", "Boat"))
    both = takeoff_of(together([one, other]), Decimal("0.05"), 6_000_000)
    alone = takeoff_of(one, Decimal("0.05"), 6_000_000)
    assert dict(both.parts) == {part: 2 * count for part, count in alone.parts}
    assert both.joints == 2 * alone.joints
    assert [pipe.length_m for pipe in both.pipes] == [2 * pipe.length_m for pipe in alone.pipes]
    names = {piece.name for pipe in both.pipes for bar in pipe.cutting.bars for piece in bar.pieces}
    assert {"Q-7: main", "Boat: main"} <= names
    # 1.3 + 0.85 m twice still come from one length: three of 9.52 for both, where each alone takes two
    assert (both.pipes[0].lengths, alone.pipes[0].lengths) == (3, 2)


# the quote


def test_a_quote_by_hand_to_the_cent(folder):
    """Worked on paper: each line rounded half up, then materials, labour, margin, tax, total."""
    found = quote(takeoff_of(needs(), Decimal("0.05")), read_price_list("prices.yaml"))
    assert [(line.item, line.size, str(line.quantity), str(line.amount)) for line in found.lines] == [
        ("pipe", B9, "8.558", "61.19"),  # x 7.15 = 61.1897
        ("pipe", B12, "5.933", "58.44"),  # x 9.85 = 58.44005
        ("ball-valve", B12, "1", "24.90"),
        ("elbow-90", B9, "3", "7.35"),
        ("elbow-90", B12, "3", "9.45"),
        ("tee", B12, "1", "4.80"),
        ("bayonet", "", "1", "38.00"),
        ("coupler", "", "1", "21.55"),
        ("lead", "hose/8, 1.2 m", "1", "46.10"),
        ("regulator", "2.75 kPa, 90 MJ/h", "1", "89.00"),
        ("laying pipe", "", "13.800", "189.75"),  # x 13.75, without waste
        ("joints", "", "21", "137.55"),  # x 6.55
    ]
    assert str(found.materials) == "360.78"
    assert str(found.labour) == "327.30"
    assert str(found.cost) == "688.08"
    assert str(found.margin) == "120.41"  # 17.5 % = 120.414
    assert str(found.tax) == "80.85"  # 10 % of 808.49 = 80.849
    assert str(found.total) == "889.34"
    assert found.is_complete


def test_the_example_list_prices_the_example_job_in_full(run):
    """So that what stands in the examples can be tried as it stands."""
    code, out, err = run("--prices", str(EXAMPLES / "prices.yaml"), str(EXAMPLES / "harvest-fair-trailer.yaml"))
    assert (code, err) == (0, "")
    assert "no price" not in out
    assert re.search(r"^total +[0-9]+\.[0-9]{2}$", out, re.MULTILINE)


def test_half_a_cent_goes_up_where_a_float_would_go_down():
    """2.675 is 2.67 in floats, and half-even would make 0.125 into 0.12."""
    assert [str(to_cent(Decimal(text))) for text in ("2.675", "0.125", "1.005", "0.004")] == [
        "2.68",
        "0.13",
        "1.01",
        "0.00",
    ]
    assert f"{2.675:.2f}" == "2.67"


def test_whole_lengths_are_priced_where_pipe_is_bought_so(folder):
    """12 m and 6 m by the metre; the coupling has no price and is in no sum."""
    found = quote(takeoff_of(needs(), Decimal("0.05"), 6_000_000), read_price_list("prices.yaml"))
    assert [str(line.amount) for line in found.lines[:2]] == ["85.80", "59.10"]
    assert [(line.item, line.keys) for line in found.missing] == [("coupling", (f"coupling@{B9}", "coupling"))]
    assert not found.is_complete
    assert found.materials == Decimal("360.78") - Decimal("61.19") - Decimal("58.44") + Decimal("144.90")


def test_a_formed_bend_needs_no_price_but_takes_one(folder):
    """It is not missing; if the list prices it, it is charged."""
    (folder / "prices.yaml").write_text(PRICES.replace("each:\n", "each:\n  bend-90: 1.25\n"))
    found = quote(takeoff_of(needs(), Decimal(0)), read_price_list("prices.yaml"))
    assert [str(line.amount) for line in found.lines if line.item == "bend-90"] == ["2.50"]


def test_margin_and_tax_that_the_list_leaves_out_are_not_added(folder):
    """The total is the cost, and no labour is guessed."""
    (folder / "prices.yaml").write_text(PRICES[: PRICES.index("labour")])
    found = quote(takeoff_of(needs(), Decimal("0.05")), read_price_list("prices.yaml"))
    assert (found.labour, found.margin, found.tax) == (0, 0, 0)
    assert str(found.total) == "360.78"


# the command

PAGE = """\
Van galley (Q-7): materials and prices
======================================

File van.yaml. 5 % added to the pipe for waste.
Pipe is bought in whole lengths and priced so. Offcuts count as waste: a length
is added only where they are too little.

pipe            runs  length  with waste  lengths  bought  fewest
                           m           m   of 6 m       m  possible
--------------  ----  ------  ----------  -------  ------  --------
as1432-b/9.52      2   8.150       8.558        2  12.000  yes
as1432-b/12.70     2   5.650       5.933        1   6.000  yes

Cutting list, lengths of 6 m, 2 mm for each cut:

pipe            length  cut into                               left
                                                                  m
--------------  ------  ------------------------------------  -----
as1432-b/9.52        1  whole, for runs longer than a length  0.000
as1432-b/9.52        2  far 1.300, right 0.850                3.846
as1432-b/12.70       1  main 4.250, left 1.400                0.346
"""


def test_the_page_in_full(run):
    """Exit code 0 with a price missing; that is told on standard error and at the total."""
    code, out, err = run("--stock-length", "6 m", "--kerf", "2 mm", "--prices", "prices.yaml", "van.yaml")
    assert code == 0
    assert err == "prices.yaml: 1 line has no price: the total is incomplete\n"
    assert max(map(len, out.splitlines())) <= 80
    first, _, rest = out.partition("\nRuns longer")
    assert first == PAGE
    flat = " ".join(rest.split())
    assert "coupling as1432-b/9.52 1 each no price" in flat
    assert "total, INCOMPLETE" in flat
    assert "No price, and so not in the total: - coupling as1432-b/9.52, 1 each: add" in flat
    assert f"add `coupling@{B9}: ...` or `coupling: ...` under `each`." in flat


def test_without_options_nothing_is_added_and_joints_are_told(run):
    """No waste, no lengths, no prices."""
    code, out, err = run("van.yaml")
    assert (code, err) == (0, "")
    assert "Nothing is added for waste." in out
    assert re.search(r"^joints to make +21$", out, re.MULTILINE)
    assert re.search(r"^bend-90 +as1432-b/9.52, formed in the pipe +2$", out, re.MULTILINE)
    assert "Cutting list" not in out


def test_the_option_goes_before_the_waste_of_the_list(run):
    """5 % in the list, 10 % asked for."""
    _, out, _ = run("--waste", "10 %", "--prices", "prices.yaml", "--format", "json", "van.yaml")
    result = json.loads(out)["results"][0]
    assert result["waste"] == 0.1
    assert [pipe["with_waste_m"] for pipe in result["pipes"]] == [8.965, 6.215]


def test_csv_opens_in_a_spreadsheet(run):
    """One heading, figures bare, the sums at the end."""
    code, out, _ = run("--prices", "prices.yaml", "--format", "csv", "van.yaml")
    table = list(csv.DictReader(io.StringIO(out)))
    assert code == 0
    assert {row["job"] for row in table} == {"Van galley"}
    lines = [row for row in table if row["section"] not in ("sum", "cutting")]
    assert [row["amount"] for row in lines][:3] == ["61.19", "58.44", "24.90"]
    sums = {row["item"]: row["amount"] for row in table if row["section"] == "sum"}
    assert sums == {"materials": "360.78", "labour": "327.30", "margin": "120.41", "tax": "80.85", "total": "889.34"}
    assert sum(Decimal(row["amount"]) for row in lines) == Decimal("688.08")


def test_json_carries_the_same_figures(run):
    """Every decimal as it stands, as a number."""
    _, out, _ = run("--prices", "prices.yaml", "--stock-length", "6 m", "--format", "json", "van.yaml")
    document = json.loads(out, parse_float=Decimal)
    assert document["kind"] == "takeoff"
    result = document["results"][0]
    assert result["joints"] == 23
    assert result["pipes"][0]["cutting"]["lengths"] == [
        {
            "pieces": [{"run": "far", "length_m": Decimal("1.3")}, {"run": "right", "length_m": Decimal("0.85")}],
            "offcut_m": Decimal("3.85"),
        }
    ]
    assert result["quote"]["complete"] is False
    amounts = [line["amount"] for line in result["quote"]["lines"] if line["amount"] is not None]
    assert sum(amounts) == result["quote"]["materials"] + result["quote"]["labour"]


def test_each_job_stands_before_all_together(run, folder):
    """Two jobs, three results; a file that can't be read is told, left out and said to be."""
    (folder / "boat.yaml").write_text(JOB.replace("Q-7", "Q-8"))
    code, out, _ = run("--each", "--format", "json", "van.yaml", "boat.yaml")
    results = json.loads(out)["results"]
    assert code == 0
    assert [[job["ref"] for job in result["jobs"]] for result in results] == [["Q-7"], ["Q-8"], ["Q-7", "Q-8"]]
    assert [result["joints"] for result in results] == [21, 21, 42]
    code, out, err = run("van.yaml", "gone.yaml", "boat.yaml")
    assert code == 2
    assert err == "gone.yaml: there is no such file\n"
    assert out.startswith("2 jobs together: materials\n")
    assert "NOT WHOLE: 1 job file could not be read and left out." in out


def test_markdown_has_the_same_tables(run):
    """Pipes for the columns, the heading as one."""
    code, out, _ = run("--format", "markdown", "--prices", "prices.yaml", "van.yaml")
    assert code == 0
    assert out.startswith("## Van galley (Q-7): materials and prices\n")
    assert "| 889.34 |" in re.sub(" +", " ", out)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--kerf", "2 mm"], "Error: --kerf goes with --stock-length."),
        (["--waste", "5"], "Error: Invalid value for '--waste': `5` has no unit; write % behind it"),
        (["--stock-length", "6 kg"], "`kg` is not a unit of length"),
        (["--stock-length", "1 mm"], "`1 mm` can't be right; write from 0.5 m to 100 m"),
    ],
)
def test_a_wrong_option_ends_the_call(run, words, said):
    """Exit code 2, and nothing on standard output."""
    code, out, err = run(*words, "van.yaml")
    assert (code, out) == (2, "")
    assert said in err


def test_a_run_whose_size_is_open_is_told_with_its_place(run, folder):
    """A takeoff needs one size."""
    (folder / "van.yaml").write_text(
        JOB.replace("pipe: as1432-b/9.52, length: 0.85 m", "pipe: as1432-b/auto, length: 1 m")
    )
    code, out, err = run("van.yaml")
    assert (code, out) == (2, "")
    assert err.startswith("van.yaml:9:29: runs.right.pipe: ")
