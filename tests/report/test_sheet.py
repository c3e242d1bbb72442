"""The sheet's page: its figures are those of the other commands, it is one whole file, and no text breaks it."""

import itertools
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from calls import Call
from drawbar import __version__
from drawbar.cautions import CHECK_CAUTIONS, SUPPLY_CAUTIONS, TIGHTNESS_CAUTIONS
from paths import EXAMPLES
from sheet_jobs import (
    DATE,
    HOSTILE_NAMES,
    HOSTILE_TITLE,
    TINY,
    Page,
    PageTable,
    figure,
    hostile_job,
    large_job,
    result_of,
)

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
MOST_BYTES = 500_000
Program = Callable[..., Call]
# All that the page is made of. A browser runs or fetches nothing for any of them.
TAGS = {
    *("html", "head", "meta", "title", "style", "body", "header", "main", "section", "footer", "div", "span", "p"),
    *("h1", "h2", "h3", "strong", "dl", "dt", "dd", "ul", "li", "figure", "figcaption", "bdi", "br", "code", "pre"),
    *("table", "caption", "thead", "tbody", "tr", "th", "td", "details", "summary"),
    *("svg", "desc", "polyline", "rect", "circle", "text"),
}
ATTRIBUTES = {
    *("lang", "charset", "name", "content", "http-equiv", "class", "id", "dir", "scope", "role", "tabindex"),
    *("aria-label", "aria-labelledby", "data-label"),
    *("viewbox", "width", "height", "points", "x", "y", "cx", "cy", "r"),
}


class Made(NamedTuple):
    """A job file with its sheet and its check."""

    file: Path
    text: str
    page: Page
    checked: dict[str, Any]


_MADE: dict[str, Made] = {}


@pytest.fixture(params=["trailer", "market", "large", "stages", "hostile", "tiny"])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, drawbar: Program) -> Made:
    """Return a sheet, made once for all tests: of jobs with and without plug-in outlets, bottles, stages."""
    name = request.param
    if name not in _MADE:
        folder = tmp_path_factory.mktemp(name)
        file = TRAILER if name == "trailer" else folder / "job.yaml"
        if name == "market":
            file.write_bytes((EXAMPLES / "market-kitchen-open.yaml").read_bytes())
            assert drawbar("size", "--write", str(file))[0] == 0
        elif name != "trailer":
            texts = {"large": large_job(5), "stages": large_job(8, stages=True), "hostile": hostile_job(), "tiny": TINY}
            file.write_text(texts[name], encoding="utf-8")
        checked = data(drawbar, "check", file)
        text = sheet(drawbar, file, folder)
        _MADE[name] = Made(file, text, Page(text), checked)
    return _MADE[name]


def sheet(drawbar: Program, file: Path, folder: Path, *more: str) -> str:
    """Return the text of the sheet of a job."""
    out = folder / "sheet.html"
    code, printed, problems = drawbar("sheet", str(file), "-o", str(out), "--date", DATE, *more)
    assert (printed, problems) == ("", "")
    assert more or code == drawbar("check", str(file))[0]
    return out.read_text(encoding="utf-8")


def data(drawbar: Program, command: str, file: Path) -> dict[str, Any]:
    return result_of(drawbar(command, str(file), "--format", "json")[1])


def cells(table: PageTable, *heads: str) -> dict[str, list[str]]:
    """Return the cells under some headings, by the name of the row."""
    places = [table.heads.index(head) for head in heads]
    return {row[0]: [row[place] for place in places] for row in table.rows}


def test_the_tables_hold_the_figures_of_check(made: Made) -> None:
    """Lowest pressure, margin at worst and verdict of each appliance, runs and other states are the JSON's figures."""
    page, worst = made.page, made.checked["states"][0]
    table = page.table("Appliances")
    has_others = "lowest kPa" in table.heads
    shown = cells(
        table, "lowest kPa" if has_others else "pressure kPa", "at worst kPa", "spare capacity MJ/h", "verdict"
    )
    assert shown == {
        appliance["name"]: [
            figure(appliance["pressure_kPa"], 3),
            figure(appliance["worst_margin_Pa"] / 1000.0, 3),
            figure(appliance["headroom_MJ_h"], 1),
            appliance["verdict"].upper(),
        ]
        for appliance in worst["appliances"]
    }
    if not worst["bound"]:
        runs = {
            run["name"]: [run["pipe"], figure(run["load_MJ_h"], 1), figure(run["drop_Pa"] / 1000.0, 3)]
            for run in worst["runs"]
        }
        assert cells(page.table("Runs"), "pipe", "load MJ/h", "drop kPa") == runs
    others = {
        state["name"]: [
            figure(state["total_MJ_h"], 1),
            figure(state["margin_Pa"] / 1000.0, 3),
            state["verdict"].upper(),
        ]
        for state in made.checked["states"][1:]
    }
    if others:
        assert cells(page.table("Other states"), "maximum load MJ/h", "spare kPa", "verdict") == others


def test_picture_table_and_test_record_are_of_one_combination(made: Made) -> None:
    """What is drawn happens at once: no outlet twice, and drawing, table and test record agree on each appliance.

    The combination is the worst: its least margin is the state's.
    """
    page, worst = made.page, made.checked["states"][0]
    drawn = cells(page.table("Appliances"), "at", "pressure kPa", "spare kPa")
    on = {name: row for name, row in drawn.items() if row[0] != "not plugged in"}
    taken = [at for name, (at, *_) in on.items() if worst["plugged"].get(name)]
    assert len(taken) == len(set(taken))
    texts = [element.text for element in page.of("text")]
    record = cells(page.table("Lock-up and working pressure"), "rated kPa")
    for name, (_, pressure, _) in on.items():
        assert record[name] == [pressure]
        assert texts.count(f"{pressure} kPa") + texts.count(f"at most {pressure} kPa") >= 2  # on both drawings
        assert texts.count(pressure) >= 1  # on the profile
    assert len(record) == len(on) + len(worst["regulators"])
    verdicts = sum(element.text in ("PASS", "UNDECIDED", "FAIL") for element in page.of("text"))
    assert verdicts == 2 * len(on)
    if not worst["bound"]:
        for name, outlet in worst["plugged"].items():
            assert on[name][0].partition(" by ")[0] == outlet
        least = min(float(row[2]) for row in on.values())
        if all(regulator["inlet_kPa"] is None for regulator in worst["regulators"]):
            assert figure(worst["margin_Pa"] / 1000.0, 3) == figure(least, 3)


def test_the_other_tables_hold_the_figures_of_their_commands(made: Made, drawbar: Program) -> None:
    """Supply, purge and materials are those of supply, tightness and takeoff."""
    page = made.page
    if "cylinders:" in made.file.read_text(encoding="utf-8"):
        supplied = data(drawbar, "supply", made.file)
        rows = page.table("Bottles and regulator against the load").rows
        assert [[row[0], row[1], row[2], row[-1]] for row in rows] == [
            [
                state["name"],
                figure(state["load_MJ_h"], 1),
                figure(state["steady_offtake_MJ_h"], 1),
                state["verdict"].upper(),
            ]
            for state in supplied["states"]
        ]
    else:
        assert not [table for table in page.tables if "ottle" in table.caption]
    tight = data(drawbar, "tightness", made.file)
    assert [[row[0], *row[-2:]] for row in page.table("Purge").rows] == [
        [purge["appliance"], figure(purge["least_s"], 0), figure(purge["most_s"], 0)] for purge in tight["purge"]
    ]
    materials = data(drawbar, "takeoff", made.file)
    assert [row[:2] for row in page.table("Pipe").rows] == [
        [pipe["pipe"], str(pipe["runs"])] for pipe in materials["pipes"]
    ]
    assert [[row[0], row[2]] for row in page.table("Parts").rows] == [
        *([part["name"], str(part["count"])] for part in materials["parts"]),
        ["joints to make", str(materials["joints"])],
    ]


def test_the_page_is_one_file_that_asks_for_nothing(made: Made) -> None:
    """It is well formed and small, and has no script, no link, no address, no handler and no path of this machine."""
    text, page = made.text, made.page
    assert page.declaration == "DOCTYPE html"
    assert len(text.encode()) < MOST_BYTES
    assert {element.tag for element in page.elements} <= TAGS
    assert {name for element in page.elements for name in element.attributes} <= ATTRIBUTES
    assert not re.search(r"https?:|@import|url\(|javascript:", text)
    assert str(made.file.parent) not in text
    (policy,) = [element for element in page.of("meta") if "http-equiv" in element.attributes]
    assert policy.attributes["content"] == "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def test_no_sheet_advises_a_command(made: Made) -> None:
    """Who is handed a sheet has no program."""
    shown = made.text.split("</style>")[1].replace(made.file.read_text(encoding="utf-8"), "")
    assert not re.search(r"drawbar (check|takeoff|supply|size|list|explain|tightness)|--[a-z]", shown)


def test_the_page_can_be_read_by_ear(made: Made) -> None:
    """It has its language, one heading above the others, captions and headers on tables, words on drawings."""
    page = made.page
    assert page.of("html")[0].attributes["lang"] == "en"
    levels = [int(element.tag[1]) for element in page.elements if re.fullmatch(r"h\d", element.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    ids = [element.attributes["id"] for element in page.elements if "id" in element.attributes]
    assert len(ids) == len(set(ids))
    for element in page.elements:
        assert set((element.attributes.get("aria-labelledby") or "").split()) <= set(ids)
    for table in page.tables:
        assert table.caption
        assert all(table.heads)
        assert all(len(row) == len(table.heads) for row in table.rows)
    for head in page.of("th"):
        assert head.attributes["scope"] in ("col", "row")
    words = {element.attributes.get("id"): element.text for element in page.elements}
    assert len(page.drawings()) == 3
    for drawing in page.drawings():
        assert drawing.attributes["role"] == "img"
        title, description = (drawing.attributes["aria-labelledby"] or "").split()
        assert words[title]
        assert len(words[description]) > 40
    described = words["line-0-description"]
    for name, (pressure,) in cells(page.table("Appliances"), "pressure kPa").items():
        assert pressure == "-" or re.search(
            rf"{re.escape(name)} at .* has {float(pressure):g} kPa, (PASS|UND|FAIL)", described
        )


def test_head_warnings_cautions_and_sources_are_all_there(tmp_path: Path, drawbar: Program) -> None:
    """The head of the job, what is odd about it, every caution once, the sources, the version."""
    text = sheet(drawbar, TRAILER, tmp_path)
    page, checked = Page(text), data(drawbar, "check", TRAILER)
    head = dict(zip((term.text for term in page.of("dt")), (text.text for text in page.of("dd")), strict=True))
    assert page.of("h1")[0].text == checked["job"] == "Harvest-fair food trailer"
    assert (head["Ref"], head["Date"], head["Job file"]) == ("Q-0117", DATE, TRAILER.name)
    assert (head["Gas"], head["Site"]) == ("propane", "15 degC, at 0 m")
    assert head["Allowed drop"].startswith("0.25 kPa, by as-nzs-5601.2: AS/NZS 5601.2:2020")
    assert head["Regulator"] == "2.75 kPa, rated 180 MJ/h"
    items = [item.text for item in page.of("li")]
    assert set(checked["warnings"]) <= set(items)
    for caution in {*checked["cautions"], *CHECK_CAUTIONS, *SUPPLY_CAUTIONS, *TIGHTNESS_CAUTIONS}:
        assert items.count(caution) == 1
    sources = {
        "Bore of as1432-b/15.88, as1432-b/12.70, as1432-b/9.52": "AS 1432:2004, type B; from memory",
        "Equivalent length of elbow-90": "IFGC 2018, Table A.2.2 (L/D 30)",
        "Density of the gas": "Tsonopoulos, AIChE J. 20 (1974) 263",
        "Vents of the living space": "AS/NZS 5601.2:2020, section 7",
    }
    assert {what: head[what] for what in sources} == sources
    assert page.of("footer")[0].text.startswith(f"drawbar {__version__}.")


def test_a_rule_of_the_workshop_and_a_mixture_bring_their_sources(tmp_path: Path, drawbar: Program) -> None:
    """What a workshop's library says of its source stands on the sheet as text, whatever it holds."""
    library = tmp_path / "own.yaml"
    source = '<b>own book</b>, page "9"'
    rule = {
        "title": "House rule",
        "source": source,
        "drop": "0.2 kPa",
        "applies-to": "tests",
        "caution": "Ask.",
        "nominal": {"propane": "2.75 kPa"},
    }
    library.write_text(yaml.safe_dump({"rules": {"house": rule}}), encoding="utf-8")
    file = tmp_path / "job.yaml"
    mixture = (
        TINY.replace("limits: {drop: 0.25 kPa}", "rule: house")
        .replace("gas: propane", "gas: {propane: 70 %, n-butane: 30 %}")
        .replace("outlet: 2.75 kPa", "outlet: 2.75 kPa, capacity: 60 MJ/h")
    )
    file.write_text(mixture, encoding="utf-8")
    out = tmp_path / "sheet.html"
    code, printed, problems = drawbar("sheet", str(file), "-o", str(out), "--library", str(library))
    assert (code, printed, problems) == (0, "", "")
    page = Page(out.read_text(encoding="utf-8"))
    assert "b" not in {element.tag for element in page.elements}
    head = dict(zip((term.text for term in page.of("dt")), (text.text for text in page.of("dd")), strict=True))
    assert head["Rule house"] == f"House rule: {source}"
    assert head["Viscosity of a mixture"] == "Wilke, J. Chem. Phys. 18 (1950) 517"
    assert head["Gas"] == "70 % propane and 30 % n-butane"


def test_hostile_text_is_shown_as_text(tmp_path: Path, drawbar: Program) -> None:
    """Markup, template marks, quotes, right-to-left letters and pictures stand on the page as they were written."""
    file = tmp_path / "job.yaml"
    file.write_text(hostile_job(), encoding="utf-8")
    page = Page(sheet(drawbar, file, tmp_path))
    assert page.of("h1")[0].text == HOSTILE_TITLE
    assert page.of("title")[0].text == f"{HOSTILE_TITLE}: gas line sheet"
    assert sorted(row[0] for row in page.table("Runs").rows) == sorted((HOSTILE_NAMES[0], HOSTILE_NAMES[4]))
    names = {row[0] for row in page.table("Appliances").rows}
    assert names == {HOSTILE_NAMES[3], HOSTILE_NAMES[5]}
    text = (tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert f"in <bdi>{HOSTILE_NAMES[2]}</bdi>, the one" in text  # so that what follows does not stand before it
    drawn = {element.text for element in page.of("text")}
    assert {"W" * 11 + "...", "regulator", HOSTILE_NAMES[2]} <= drawn


def test_a_title_of_10_000_characters_is_refused(tmp_path: Path, drawbar: Program) -> None:
    """It is a problem of the job file, and no sheet is written."""
    file, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    file.write_text(TINY.replace("Pie cart", "x" * 10_000), encoding="utf-8")
    message = f"{file}:1:6: job: is 10,000 characters long; write up to 200\n"
    assert drawbar("sheet", str(file), "-o", str(out)) == (2, "", message)
    assert not out.exists()


def test_the_same_job_and_date_make_the_same_file(tmp_path: Path, drawbar: Program) -> None:
    """Two sheets of one job and date are equal to the byte; without a date it bears today's."""
    first = sheet(drawbar, TRAILER, tmp_path)
    assert sheet(drawbar, TRAILER, tmp_path) == first
    out = tmp_path / "today.html"
    assert drawbar("sheet", str(TRAILER), "-o", str(out))[0] == 0
    text = out.read_text(encoding="utf-8")
    assert f"<bdi>{DATE}</bdi>" not in text
    dated = re.sub(r"\d{4}-\d\d-\d\d", DATE, text)
    without_digest = re.compile(r'<code id="digest">[0-9a-f]{64}')
    assert without_digest.sub("", dated) == without_digest.sub("", first)


def test_a_job_that_fails_has_its_sheet_and_exit_code_1(tmp_path: Path, drawbar: Program) -> None:
    """The verdict stands on the page in words."""
    file, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    file.write_text(TINY.replace("as1432-b/15.88, length: 2 m", "as1432-b/6.35, length: 20 m"), encoding="utf-8")
    assert drawbar("sheet", str(file), "-o", str(out)) == (1, "", "")
    page = Page(out.read_text(encoding="utf-8"))
    assert heads_verdicts(page) == {"Pressure": "FAIL", "Regulator": "UNDECIDED"}


def heads_verdicts(page: Page) -> dict[str, str]:
    """Return the verdict on each part as the head has it; the class of each is that of its word."""
    terms = zip((term.text for term in page.of("dt")), (text.text for text in page.of("dd")), strict=True)
    verdicts = {part: word for part, word in terms if word in ("PASS", "UNDECIDED", "FAIL")}
    classes = [strong.attributes["class"] for strong in page.of("strong") if "class" in strong.attributes]
    assert classes == [verdict.lower() for verdict in verdicts.values()]
    return verdicts


PARTS = """\
job: Two plugs
limits: {drop: 0.25 kPa}
gas: propane
regulator: {outlet: 2.75 kPa, capacity: 100 MJ/h}
runs:
  main: {from: regulator, pipe: as1432-b/9.52, length: 3 m}
outlets:
  side: {at: main, devices: none}
appliances:
  ring: {plugs-into: side, hose: none, input: 30 MJ/h}
"""


class Head(NamedTuple):
    """A change of PARTS, and what the head of its sheet then says."""

    old: str
    new: str
    verdict: str
    parts: str
    why: str = ""
    helps: str = ""


HEADS = (
    Head("", "", "PASS", "Pressure PASS, regulator PASS."),
    Head(
        old=", devices: none",
        new="",
        verdict="UNDECIDED",
        parts="Pressure UNDECIDED, regulator PASS.",
        why="The drop of side is not given; passes while it is below",
    ),
    Head(
        old=", capacity: 100 MJ/h",
        new="",
        verdict="UNDECIDED",
        parts="Pressure PASS, regulator UNDECIDED.",
        why="The rating of the regulator is not given; it must pass 31.5 MJ/h",
    ),
    Head(
        old="length: 3 m",
        new="length: 13 m",
        verdict="UNDECIDED",
        parts="Pressure UNDECIDED, regulator PASS.",
        why="short with every tolerance at its worst",
        helps="Make main 12.70",
    ),
    Head(
        old="length: 3 m",
        new="length: 30 m",
        verdict="FAIL",
        parts="Pressure FAIL, regulator PASS.",
        why="ring at side has",
        helps="Make main 12.70",
    ),
)


@pytest.mark.parametrize("head", HEADS, ids=lambda head: f"{head.verdict}-{head.new or head.old}")
def test_the_head_says_why_and_what_puts_it_right(head: Head, tmp_path: Path, drawbar: Program) -> None:
    """Verdict, its parts, each reason as check gives it, and the remedies; no verdict below contradicts the head's."""
    file = tmp_path / "job.yaml"
    file.write_text(PARTS.replace(head.old, head.new), encoding="utf-8")
    page, checked = Page(sheet(drawbar, file, tmp_path)), data(drawbar, "check", file)
    told = ", ".join(f"{part} {verdict}" for part, verdict in heads_verdicts(page).items())
    assert told.lower() == head.parts.rstrip(".").lower()
    items = " ".join(item.text for item in page.of("li"))
    for reason in checked["because"]:
        assert reason["text"][1:] in items  # but for the letter that a sentence starts with
    headings = [title.text for title in (*page.of("h2"), *page.of("h3"))]
    assert bool(checked["because"]) == bool(head.why) == ("Why, and what to do" in headings)
    assert head.why in items
    assert bool(head.helps) == ("To put it right" in headings)
    assert head.helps in items
    if checked["remedies"]:
        assert checked["remedies"]["in_order"][0]["text"] in items
    shown = {text.text for text in page.of("text")} & {"PASS", "UNDECIDED", "FAIL"}
    pressure = re.search(r"Pressure (\w+)", head.parts)
    assert pressure is not None
    assert shown == {pressure.group(1)}


def test_many_reasons_are_cut_short(tmp_path: Path, drawbar: Program) -> None:
    """Of more than four the first three stand on the sheet, and how many more there are."""
    file = tmp_path / "job.yaml"
    file.write_text(large_job(5), encoding="utf-8")
    page, checked = Page(sheet(drawbar, file, tmp_path)), data(drawbar, "check", file)
    items = [item.text for item in page.of("li")]
    texts = [reason["text"][1:] for reason in checked["because"]]
    assert len(texts) > 4
    assert [any(text in item for item in items) for text in texts[:3]] == [True] * 3
    assert f"And {len(texts) - 3} more of this kind." in items


def test_what_is_not_known_is_not_drawn_as_nothing(tmp_path: Path, drawbar: Program) -> None:
    """An outlet, a part or a hose that is not given has no drop of 0.000 on the drawing, and its appliance no figure.

    What the appliance gets is then the most that it may get.
    """
    text = PARTS.replace(", devices: none", "").replace("hose: none, ", "")
    file = tmp_path / "job.yaml"
    file.write_text(text, encoding="utf-8")
    page = Page(sheet(drawbar, file, tmp_path))
    texts = [element.text for element in page.of("text")]
    assert texts.count("drop not known") == 2  # on both drawings
    assert texts.count("not known") == 2
    assert "drop 0.000" not in texts
    assert len([text for text in texts if text.startswith("at most ")]) == 2
    head = dict(zip((term.text for term in page.of("dt")), (text.text for text in page.of("dd")), strict=True))
    assert head["Regulator"] == "2.75 kPa, rated 100 MJ/h"
    file.write_text(PARTS.replace(", capacity: 100 MJ/h", ""), encoding="utf-8")
    page = Page(sheet(drawbar, file, tmp_path))
    head = dict(zip((term.text for term in page.of("dt")), (text.text for text in page.of("dd")), strict=True))
    assert head["Regulator"] == "2.75 kPa, rating not known"


def test_the_verdicts_differ_without_colour(tmp_path: Path, drawbar: Program) -> None:
    """In black and white: each has its own frame at the head, and a mark of its own shape on the drawing."""
    marks, frames = {}, {}
    for length, verdict in (("3 m", "pass"), ("13 m", "undecided"), ("30 m", "fail")):
        file = tmp_path / "job.yaml"
        file.write_text(PARTS.replace("length: 3 m", f"length: {length}"), encoding="utf-8")
        text = sheet(drawbar, file, tmp_path)
        drawn = [
            line.attributes["points"] for line in Page(text).of("polyline") if line.attributes["class"] == "verdict"
        ]
        points = [[tuple(map(float, point.split(","))) for point in line.split()] for line in drawn[: len(drawn) // 2]]
        left, top = (min(point[axis] for line in points for point in line) for axis in (0, 1))
        marks[verdict] = tuple(tuple((round(x - left, 1), round(y - top, 1)) for x, y in line) for line in points)
        frame = re.search(rf"dl\.verdicts strong\.{verdict} \{{ border-style: (\w+)", text)
        frames[verdict] = frame.group(1) if frame else "solid"
        colours = set(re.findall(r"#([0-9a-f]{3,6})\b", text.split("</style>")[0]))
        assert {colour for colour in colours if len(set(re.findall("..", colour * 2))) > 1} == set()  # all are greys
    assert all(marks.values())
    assert len(set(marks.values())) == len(set(frames.values())) == 3


def test_too_many_ways_of_plugging(tmp_path: Path, drawbar: Program) -> None:
    """Where the drops are a bound, one real combination is drawn, no worse than it, with a box for each in it."""
    text = TINY.split("appliances:")[0] + "outlets:\n"
    text += "".join(f"  o{number}: {{at: main}}\n" for number in range(9)) + "appliances:\n"
    text += "".join(f"  a{number}: {{plugs-into: any, input: {number + 1} MJ/h}}\n" for number in range(9))
    file = tmp_path / "job.yaml"
    file.write_text(text, encoding="utf-8")
    page, checked = Page(sheet(drawbar, file, tmp_path)), data(drawbar, "check", file)
    assert checked["states"][0]["bound"]
    rows = cells(page.table("Appliances"), "at", "pressure kPa", "lowest kPa")
    assert len({at for at, *_ in rows.values()}) == 9  # an outlet each
    assert all(float(pressure) >= float(lowest) for _, pressure, lowest in rows.values())
    record = cells(page.table("Lock-up and working pressure"), "rated kPa", "working, read")
    assert {name: row for name, row in record.items() if name != "regulator"} == {
        name: [pressure, "to be written in"] for name, (_, pressure, _) in rows.items()
    }
    assert any("too many to try each" in paragraph.text for paragraph in page.of("p"))


@pytest.mark.parametrize("missing", ["jinja2", "svg"])
def test_without_the_extra(missing: str, tmp_path: Path, drawbar: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    """A missing library ends the call with what to install."""
    for name in [name for name in sys.modules if name.startswith("drawbar.report.sheet")]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.delattr("drawbar.report.sheet", raising=False)  # to be put back with the modules
    monkeypatch.setitem(sys.modules, missing, None)
    out = tmp_path / "sheet.html"
    code, printed, problems = drawbar("sheet", str(TRAILER), "-o", str(out))
    assert (code, printed) == (2, "")
    assert re.fullmatch(r"drawbar sheet needs more packages: \S.* 'jinja2>=3.1' 'svg.py>=1.10'\n", problems)
    assert not out.exists()


def test_a_sheet_that_cannot_be_written(tmp_path: Path, drawbar: Program) -> None:
    """A folder that is not there ends the call with exit code 2; so does a call without a file or with no date."""
    out = tmp_path / "none" / "sheet.html"
    message = f"{out}: can't be written: No such file or directory\n"
    assert drawbar("sheet", str(TRAILER), "-o", str(out)) == (2, "", message)
    code, printed, problems = drawbar("sheet", str(TRAILER))
    assert (code, printed) == (2, "")
    assert problems.endswith("Error: Give JOB and -o FILE, or --verify SHEET.\n")
    code, printed, problems = drawbar("sheet", str(TRAILER), "-o", str(tmp_path / "a"), "--date", "31.1.2026")
    assert (code, printed) == (2, "")
    assert problems.endswith("Error: Invalid value for '--date': '31.1.2026' does not match the format '%Y-%m-%d'.\n")


def test_what_stood_there_is_kept_where_the_job_is_wrong(tmp_path: Path, drawbar: Program) -> None:
    """A job with an open size gets no sheet, and the file of before stays as it was."""
    file, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    file.write_text(TINY.replace("as1432-b/15.88", "as1432-b/auto"), encoding="utf-8")
    before = '<!DOCTYPE html>\n<meta name="generator" content="drawbar 0.1.0">\n'
    out.write_text(before, encoding="utf-8")
    code, printed, problems = drawbar("sheet", str(file), "-o", str(out))
    assert (code, printed) == (2, "")
    assert problems.startswith(f"{file}:6:33: runs.main.pipe: ")
    assert out.read_text(encoding="utf-8") == before


def hide_browsers(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """Leave no browser on the PATH nor where Windows and macOS install them; a folder stands for the user's home."""
    monkeypatch.setenv("PATH", str(folder))
    for name in ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(folder))
    monkeypatch.setenv("USERPROFILE", str(folder))
    monkeypatch.setattr("drawbar.cli.browser._MAC_FOLDERS", ("~/Applications",))


def test_pdf_without_a_browser(tmp_path: Path, drawbar: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without WeasyPrint as well the call ends with what is missing, and writes nothing."""
    hide_browsers(monkeypatch, tmp_path)
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    out = tmp_path / "sheet.pdf"
    code, printed, problems = drawbar("sheet", str(TRAILER), "-o", str(out), "--format", "pdf")
    assert (code, printed) == (2, "")
    needs = "a PDF needs Chromium, Chrome or Edge, on the PATH or where it is usually installed, or WeasyPrint: "
    assert problems.startswith(needs)
    assert problems.endswith(" 'weasyprint>=68'; or print the HTML by hand.\n")
    assert not out.exists()


def test_a_browser_that_does_not_print(tmp_path: Path, drawbar: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    """A browser that ends without a page ends the call with exit code 2, not 1 as a job that fails."""
    browser = tmp_path / "chromium"
    browser.write_text("#!/bin/sh\nexit 0\n", encoding="utf-8")
    browser.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/bin:/usr/bin")
    out = tmp_path / "sheet.pdf"
    message = f"the browser {browser} did not print the page; print the HTML by hand instead.\n"
    assert drawbar("sheet", str(TRAILER), "-o", str(out), "--format", "pdf") == (2, "", message)
    assert not out.exists()


# Below which folder the installers put the three browsers on Windows and macOS; from memory.
INSTALLED = [
    ("PROGRAMFILES", "Google/Chrome/Application/chrome.exe"),
    ("PROGRAMFILES(X86)", "Microsoft/Edge/Application/msedge.exe"),
    ("LOCALAPPDATA", "Chromium/Application/chrome.exe"),
    ("", "Applications/Google Chrome.app/Contents/MacOS/Google Chrome"),
    ("", "Applications/Chromium.app/Contents/MacOS/Chromium"),
    ("", "Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge"),
]


@pytest.mark.skipif(sys.platform == "win32", reason="the browser of the test is a shell script")
@pytest.mark.parametrize(("variable", "path"), INSTALLED)
def test_a_browser_off_the_path(
    variable: str, path: str, tmp_path: Path, drawbar: Program, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A browser where Windows or macOS installs it prints the page though it is not on the PATH."""
    hide_browsers(monkeypatch, tmp_path)
    if variable:
        monkeypatch.setenv(variable, str(tmp_path))
    browser = tmp_path / path
    browser.parent.mkdir(parents=True)
    prints = 'for word in "$@"; do case "$word" in --print-to-pdf=*) echo %PDF > "${word#*=}";; esac; done'
    browser.write_text(f"#!/bin/sh\n{prints}\n", encoding="utf-8")
    browser.chmod(0o755)
    out = tmp_path / "sheet.pdf"
    assert drawbar("sheet", str(TRAILER), "-o", str(out), "--format", "pdf") == (0, "", "")
    assert out.read_text(encoding="utf-8") == f"%PDF\n%drawbar {__version__}\n"
