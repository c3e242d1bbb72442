"""The catalogue: what is looked up, and a workshop's own library laid over the project's data."""

import json
import math

import pytest
import yaml

from drawbar import units
from drawbar.catalogue.catalogue import Catalogue
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problems
from paths import DATA, EXAMPLE

KINDS = ("pipes", "fittings", "devices", "rules", "appliances", "tolerances")
OWN = """\
pipes:
  own-hose:
    title: Hose of the workshop
    source: the maker's sheet
    material: rubber
    roughness: 0.02 mm
    roughness-source: the maker's sheet
    sizes:
      wide: {bore: 12 mm}
      narrow: {bore: 6 mm, mass: 0.2 kg/m}
      middle: {od: 13 mm, wall: 2 mm, source: measured}
  as1432-b:
    title: Copper of another mill
    source: measured
    material: copper
    roughness: 0.0015 mm
    roughness-source: Moody 1944
    sizes:
      "12.70": {od: 12.70 mm, wall: 1 mm}
fittings:
  elbow-90: {title: Long elbow, ratio: 16, source: the maker's sheet}
  manifold: {title: Manifold, ratio: 90.5, source: measured}
rules:
  house: {title: House rule, source: common practice, drop: 100 Pa, nominal: 2.75 kPa, caution: The code prevails.}
appliances:
  big-fryer: {title: Fryer of two pans, input: 20 kW, basis: net, source: data plate}
replace: yes
"""


@pytest.fixture
def library(tmp_path):
    """Write a library and return the catalogue with it."""

    def write(text: str, *more: str) -> Catalogue:
        names = []
        for number, content in enumerate((text, *more)):
            file = tmp_path / f"library-{number}.yaml"
            file.write_text(content, encoding="utf-8")
            names.append(str(file))
        return Catalogue(names)

    return write


@pytest.mark.parametrize("kind", KINDS)
def test_own_data_loads(catalogue, kind):
    """The project's own data is read without a problem, and every name leads to something."""
    names = catalogue.names(kind)
    assert len(names) == len(set(names)) > 2
    look_up = {
        "pipes": catalogue.sizes,
        "fittings": catalogue.fitting,
        "devices": catalogue.device,
        "rules": catalogue.rule,
        "appliances": catalogue.appliance,
        "tolerances": catalogue.tolerance_row,
    }[kind]
    for name in names:
        assert look_up(name), name
        assert catalogue.entry(kind, name) is not None


def test_every_row_is_read_where_it_stands(catalogue):
    """The names are those that a YAML reader has for each file, in its order, and a row's place is that of its name."""
    rows = {
        "pipes": catalogue.pipe_family,
        "fittings": catalogue.fitting_row,
        "devices": catalogue.device,
        "rules": catalogue.rule_row,
        "appliances": catalogue.appliance,
        "tolerances": catalogue.tolerance_row,
    }
    for kind, row in rows.items():
        text = (DATA / f"{kind}.yaml").read_text(encoding="utf-8")
        assert catalogue.names(kind) == list(yaml.safe_load(text))
        for name in catalogue.names(kind):
            file, line, column = row(name).place
            assert (file, column) == (f"{kind}.yaml", 1)
            assert text.splitlines()[line - 1].startswith(f"{name}:")


def test_gases_are_those_of_the_file(catalogue):
    """Each gas has the figures that a YAML reader has for it."""
    gases = yaml.safe_load((DATA / "gases.yaml").read_text(encoding="utf-8"))["gases"]
    assert catalogue.gas_names == list(gases)
    for name, block in gases.items():
        del block["source"]
        figures = {key: tuple(figure) if isinstance(figure, list) else figure for key, figure in block.items()}
        assert catalogue.component(name)._asdict() == {"name": name, "collision_coefficients": (), **figures}


def test_rows_of_a_library(library):
    """A row of a library is typed as one of the project's is: SI units, words, and its place in the library."""
    known = library(OWN)
    family = known.pipe_family("own-hose")
    assert (family.title, family.material, family.roughness_m) == ("Hose of the workshop", "rubber", 2e-5)
    assert list(family.sizes) == ["wide", "narrow", "middle"]
    middle = family.sizes["middle"]
    assert (middle.od_m, middle.wall_m) == pytest.approx((0.013, 0.002), rel=1e-14)
    assert (middle.mass_kg_m, middle.source) == (None, "measured")
    assert middle.place[1:] == (11, 7)
    fryer = known.appliance("big-fryer")
    assert (fryer.title, fryer.source, fryer.place[1:]) == ("Fryer of two pans", "data plate", (26, 3))
    assert fryer.input == (20e3, units.HEAT_RATE, "net", "20 kW")
    assert known.rule_row("house").applies_to is None
    assert known.tightness_test("house") is None
    assert known.tightness_test("en-1949").volume_min_m3 == pytest.approx(0.7e-3)


def test_unknown_names_are_none(catalogue):
    """What is not there is None, to be told by whoever asked."""
    assert catalogue.sizes("nope") is None
    assert catalogue.fitting("nope") is None
    assert catalogue.fitting("nope") is None
    assert catalogue.rule("nope") is None
    assert catalogue.appliance("nope") is None


def test_sizes_by_bore(catalogue):
    """Every family stands with the smallest bore first, and each pipe says its name and where its figures stand."""
    for family in catalogue.names("pipes"):
        sizes = catalogue.sizes(family)
        bores = [pipe.bore_m for pipe in sizes.values()]
        assert bores == sorted(bores)
        assert bores[0] > 0.0
        for size, pipe in sizes.items():
            assert pipe.label == f"{family}/{size}"
            assert pipe.source
            assert 0.0 <= pipe.roughness_m < 0.05 * pipe.bore_m


def test_same_pipe_each_time(catalogue):
    """A family is worked out once: the same objects come back."""
    assert catalogue.sizes("as1432-b") is catalogue.sizes("as1432-b")
    assert catalogue.fitting("elbow-90") is catalogue.fitting("elbow-90")


def test_mass_from_the_metal(catalogue):
    """ASTM B88 prints 0.344 lb/ft for half-inch type K: mass is metal area times density, within half a last digit."""
    assert catalogue.sizes("b88-k")["0.5"].mass_kg_m == pytest.approx(0.344 * 0.45359237 / 0.3048, rel=0.005)


def test_mass_where_it_can_not_be_known(catalogue):
    """A hose has no outside diameter, so no mass."""
    assert {pipe.mass_kg_m for pipe in catalogue.sizes("hose").values()} == {None}


def test_library_adds(library):
    """A family of the workshop's own is there with its sizes by bore, its own masses and sources."""
    sizes = library(OWN).sizes("own-hose")
    assert list(sizes) == ["narrow", "middle", "wide"]
    assert [pipe.bore_m for pipe in sizes.values()] == pytest.approx([0.006, 0.009, 0.012])
    assert [pipe.mass_kg_m for pipe in sizes.values()] == [0.2, None, None]
    assert [pipe.source for pipe in sizes.values()] == ["the maker's sheet", "measured", "the maker's sheet"]
    assert [pipe.roughness_m for pipe in sizes.values()] == pytest.approx([2e-5] * 3)


def test_library_overrides(library, catalogue):
    """What a library names replaces the project's entry as a whole; the rest stays."""
    known = library(OWN)
    sizes = known.sizes("as1432-b")
    assert list(sizes) == ["12.70"]
    assert sizes["12.70"].bore_m == pytest.approx(0.0107)
    assert sizes["12.70"].mass_kg_m == pytest.approx(math.pi / 4 * (0.0127**2 - 0.0107**2) * 8940.0)
    assert (known.fitting("elbow-90").ratio, catalogue.fitting("elbow-90").ratio) == (16.0, 30.0)
    assert known.fitting("manifold").ratio == 90.5
    assert known.fitting("elbow-45") == catalogue.fitting("elbow-45")
    assert known.sizes("as1432-a") == catalogue.sizes("as1432-a")
    assert known.rule("house").drop_pa == 100.0
    assert known.rule("house").nominal_gauge_pa == (("", 2750.0),)
    assert known.rule("bs-6891-lpg") == catalogue.rule("bs-6891-lpg")
    assert set(known.names("pipes")) == {*catalogue.names("pipes"), "own-hose"}


def test_later_library_prevails(library):
    """Of two libraries the one named later has the say."""
    later = "fittings:\n  elbow-90: {title: Elbow, ratio: 21, source: measured}\nreplace: yes\n"
    assert library(OWN, later).fitting("elbow-90").ratio == 21.0
    assert library(later, OWN).fitting("elbow-90").ratio == 16.0


def test_job_with_a_library(library):
    """A job names what the library has: pipe, fitting, rule and appliance with its net rate."""
    text = (
        "job: t\ngas: propane\nrule: house\nregulator: {outlet: 2.75 kPa}\n"
        "runs: {main: {from: regulator, pipe: own-hose/wide, length: 1 m, fittings: {manifold: 1}}}\n"
        "appliances: {fryer: {at: main, input: {like: big-fryer}}}\n"
    )
    job = job_of(text, "job.yaml", library(OWN))
    assert (job.allowed_drop_pa, job.runs[0].pipes[0].bore_m) == (100.0, 0.012)
    assert [(fitting.ratio, count) for fitting, count in job.runs[0].fittings] == [(90.5, 1)]
    # ISO 6976: propane 2219.17 kJ/mol gross, less 4 x 44.013 kJ/mol net
    assert job.appliances[0].input_w == pytest.approx(20e3 * 2219.17 / (2219.17 - 4 * 44.013), rel=1e-5)
    with pytest.raises(Problems, match=r"rule: `house` is not a rule set of the catalogue; known here: as-nzs-5601\.2"):
        job_of(text, "job.yaml", Catalogue())


def test_all_problems_of_a_library(library):
    """All that is wrong with a library is told at once, in the order of the file."""
    bad = OWN.replace("bore: 12 mm", "bore: 12").replace("ratio: 16", "ratio: x").replace("drop: 100 Pa", "drop: 1 m")
    with pytest.raises(Problems, match="has no unit") as caught:
        library(bad)
    assert [problem.where for problem in caught.value.problems] == [
        "pipes.own-hose.sizes.wide.bore",
        "fittings.elbow-90.ratio",
        "rules.house.drop",
    ]


TOLERANCES = """\
pipes:
  shelf:
    title: Tube off the shelf
    source: our caliper
    material: copper
    roughness: 0.0015 mm
    roughness-source: Moody 1944
    od-tolerance: 1 %
    wall-tolerance: 0.1 mm
    bore-tolerance: 2 %
    tolerance-source: the mill's sheet
    sizes:
      "10": {od: 10 mm, wall: 1 mm, wall-tolerance: 20 %}
      "12": {od: 12 mm, wall: 1 mm, od-tolerance: 0.05 mm, wall-tolerance: 20 %}
      "14": {bore: 12 mm}
      "16": {bore: 14 mm, bore-tolerance: 0.4 mm}
      "18": {od: 18 mm, wall: 1 mm}
devices:
  bayonet: {title: The bayonet we fit, flow: 50 MJ/h, drop: {from: 20 Pa, to: 25 Pa}, source: its maker's sheet}
tolerances:
  length: {title: Length by laser, share: 0.5 %, least: 5 mm, source: our laser}
  own-bore: {title: Bore of a tube we know, share: 2 %, source: our caliper}
replace: yes
"""


def test_tolerances_of_a_library(library, catalogue):
    """A library sets tolerances by name; the rest stays as it is in the project's own."""
    tolerances, own = library(TOLERANCES).tolerances(), catalogue.tolerances()
    assert (tolerances.length, tolerances.length_m, tolerances.own_bore) == pytest.approx((0.005, 0.005, 0.02))
    sources = {"length": "our laser", "own-bore": "our caliper"}
    changed = tuple((name, sources.get(name, source)) for name, source in own.sources)
    assert tolerances == own._replace(length=0.005, length_m=0.005, own_bore=0.02, sources=changed)


def test_devices_of_a_library(library):
    """A device of the workshop's own takes the place of the project's."""
    known = library(TOLERANCES)
    assert known.device("bayonet").high_pa == 25.0
    assert known.device("bayonet").rate.written == "50 MJ/h"
    assert known.device("filter").source


def test_bore_tolerances_of_a_library(library):
    """A row's own tolerances prevail over its family's, and one of the bore over those of od and wall beside it."""
    sizes = library(TOLERANCES).sizes("shelf")
    assert {size: pipe.bore_tolerance_m * 1e3 for size, pipe in sizes.items()} == pytest.approx(
        {
            "10": 0.02 * 8,  # the row gives the wall's alone, so the family's of the bore counts
            "12": 0.05 + 2 * 0.2,
            "14": 0.02 * 12,
            "16": 0.4,
            "18": 0.02 * 16,
        }
    )
    assert {pipe.tolerance_source for pipe in sizes.values()} == {"the mill's sheet"}


def test_a_family_without_tolerances_is_as_unsure_as_a_bore_of_the_job_s_own(library):
    """4 % of the bore, or what the library says of such bores, and the source says that none was given."""
    knows_more = OWN.replace("replace: yes\n", "") + "tolerances:" + TOLERANCES.partition("tolerances:")[2]
    for text, share, source in [(OWN, 0.04, "our own choice"), (knows_more, 0.02, "our caliper")]:
        for pipe in library(text).sizes("own-hose").values():
            assert pipe.bore_tolerance_m == pytest.approx(share * pipe.bore_m)
            assert pipe.tolerance_source.startswith(f"none given: {source}")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "    tolerance-source: the mill's sheet\n",
            "",
            r":3:5: pipes\.shelf: `tolerance-source` is missing; write where the tolerances stand",
        ),
        (
            "bore-tolerance: 0.4 mm",
            "bore-tolerance: 4.8 mm",
            r":16:7: pipes\.shelf\.sizes\.16: has a bore of 14 mm that may be 4\.8 mm smaller; a tolerance over",
        ),
        ("od-tolerance: 1 %", "od-tolerance: 1", r"pipes\.shelf\.od-tolerance: `1` has no unit"),
        ("od-tolerance: 1 %", "od-tolerance: -1 mm", r"pipes\.shelf\.od-tolerance: `-1 mm` can't be right"),
        ("od-tolerance: 1 %", "od-tolerance: -1 %", r"pipes\.shelf\.od-tolerance: `-1 %` can't be right"),
        ("  length:", "  lengths:", r"tolerances\.lengths: is not a tolerance here; did you mean `length`"),
        (", least: 5 mm", "", r"tolerances\.length: `least` is missing; write `least:` and the least"),
        ("share: 2 %, ", "", r"tolerances\.own-bore: `share` is missing"),
        ("od: 10 mm, wall: 1 mm, wall-tolerance: 20 %", "od: 10 mm, wall: 1 mm, wall-tolerance: 60 %", r"10\.wall-tol"),
        ("share: 2 %,", "share: 2 %, least: 1 mm,", r"tolerances\.own-bore\.least: does not go with `own-bore`; write"),
        ("share: 2 %,", "share: 120 %,", r"tolerances\.own-bore\.share: `120 %` can't be right"),
        (", source: our laser", "", r"tolerances\.length: `source` is missing"),
        ("to: 25 Pa", "to: 15 Pa", r":19:\d+: devices\.bayonet\.drop\.to: is less than `from`; write the least first"),
        (", to: 25 Pa", "", r"devices\.bayonet\.drop: `to` is missing"),
        ("50 MJ/h,", "1 kg/h, basis: net,", r"devices\.bayonet\.basis: goes with a heat rate alone; leave it out"),
    ],
)
def test_bad_tolerances_of_a_library_are_told_with_their_place(library, old, new, told):
    """Each problem names the file's line, where in the library it is, and what would fit."""
    assert TOLERANCES.count(old) == 1
    with pytest.raises(Problems, match=told) as caught:
        library(TOLERANCES.replace(old, new))
    assert len(caught.value.problems) == 1


@pytest.mark.parametrize(
    ("vents", "told"),
    [
        ("{least: 4000 mm2, per-mj-h: 610 mm2, source: the book}", r"rules\.house\.vents: `per-berth` is missing"),
        ("{least: 4000, per-mj-h: 610 mm2, per-berth: 0 mm2, source: the book}", r"vents\.least: `4000` has no unit"),
        ("{least: 4 mm2, per-mj-h: 6 mm2, per-berth: 0 mm2, per-kw: 1 mm2, source: x}", r"per-kw: is not a key here"),
    ],
)
def test_bad_vents_of_a_rule_are_told_with_their_place(library, vents, told):
    """A formula is whole or it is a problem."""
    with pytest.raises(Problems, match=told):
        library(OWN.replace("nominal: 2.75 kPa,", f"nominal: 2.75 kPa, vents: {vents},"))


def test_gases(catalogue):
    """The four gases, and a mixture made once."""
    assert catalogue.gas_names == ["propane", "n-butane", "isobutane", "propylene"]
    shares = (("propane", 0.5), ("n-butane", 0.5))
    assert catalogue.gas(shares) is catalogue.gas(shares)
    assert [share for _, share in catalogue.gas(shares).fractions] == [0.5, 0.5]


def test_a_row_of_the_project_s_own_is_not_replaced_unseen(library, drawbar, tmp_path):
    """Without `replace: yes` a row that takes another's place is a problem; with it every output names it."""
    with pytest.raises(
        Problems, match=r"pipes\.as1432-b: takes the place of a row of the project's own; write"
    ) as told:
        library(OWN.replace("replace: yes\n", ""))
    assert {problem.where for problem in told.value.problems} == {"pipes.as1432-b", "fittings.elbow-90"}
    (used,) = library(OWN).libraries
    assert used.replaces == ("pipes as1432-b", "fittings elbow-90")
    file = tmp_path / "own.yaml"
    file.write_text(TOLERANCES, encoding="utf-8")
    page = drawbar("check", str(EXAMPLE), "--library", str(file))
    assert page.code in (0, 3)
    told_of = f"Library{file},inplaceoftheproject'sown:devicesbayonet,toleranceslength,tolerancesown-bore."
    assert told_of in "".join(page.out.split())
    data = json.loads(drawbar("check", str(EXAMPLE), "--library", str(file), "--format", "json").out)
    assert data["libraries"] == [
        {"file": str(file), "replaces": ["devices bayonet", "tolerances length", "tolerances own-bore"]}
    ]
    assert json.loads(drawbar("check", str(EXAMPLE), "--format", "json").out)["libraries"] == []
