"""The test record filled in: each reading with its verdict, the head with those of tightness and readings, the logo."""

import base64
import datetime
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import drawbar as library_calls
from calls import Call
from drawbar.cli.extras import install_advice
from drawbar.problems import Problems
from drawbar.records.logo import logo_uri
from paths import EXAMPLES
from sheet_jobs import DATE, LOGO, TINY, Page

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
Program = Callable[..., Call]
TESTED = ("--start", "2.75 kPa", "--end", "2.75 kPa", "--time", "5 min", "--settled", "3 min", "--resolution", "10 Pa")
PNG = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAQAAAC1HAwCAAAAC0lEQVR42mNk+A8AAQUBAScY42YAAAAASUVORK5CYII="
)  # a dot of one pixel, made for this test


def expected() -> dict[str, float]:
    """Return what each point of the trailer's worst state should show, every burner an orifice [Pa]."""
    tables = library_calls.expected_pressures(library_calls.read_job(TRAILER, sized=True))
    (worst,) = [table for table in tables.states if table.state == "everything"]
    return {row.place.name: row.orifice_gauge_pa for row in worst.rows}


def filled(drawbar: Program, folder: Path, readings_pa: dict[str, float], *more: str) -> tuple[int, Page]:
    """Return the exit code and the page of the trailer's sheet with readings in its worst state."""
    file, out = folder / "readings.yaml", folder / "sheet.html"
    rows = [f"  - {{state: everything, at: {at}, pressure: {pa:.0f} Pa}}\n" for at, pa in readings_pa.items()]
    file.write_text("readings:\n" + "".join(rows), encoding="utf-8")
    call = ("sheet", str(TRAILER), "-o", str(out), "--date", DATE, "--readings", str(file), *more)
    code, printed, problems = drawbar(*call)
    assert (printed, problems) == ("", "")
    return code, Page(out.read_text(encoding="utf-8"))


def verdicts(page: Page) -> dict[str, str]:
    terms = zip((term.text for term in page.of("dt")), (text.text for text in page.of("dd")), strict=True)
    return {part: word for part, word in terms if word in ("PASS", "UNDECIDED", "FAIL")}


def read(page: Page) -> dict[str, tuple[str, str]]:
    """Return what was read at each point, with its verdict."""
    table = page.table("Lock-up and working pressure")
    return {row[0]: (row[-2], row[-1]) for row in table.rows}


APPLIANCES = ("fryer", "urn", "griddle", "basin")


def test_all_read_as_predicted_passes(tmp_path: Path, drawbar: Program) -> None:
    """Each appliance read within tolerance and above its limit: PASS beside each and at the head."""
    code, page = filled(drawbar, tmp_path, {name: expected()[name] for name in APPLIANCES}, *TESTED)
    assert code == 0
    assert verdicts(page)["Readings"] == verdicts(page)["Tightness"] == "PASS"
    for name in APPLIANCES:
        assert read(page)[name] == (f"{round(expected()[name]) / 1000.0:.3f}", "PASS")
    assert read(page)["regulator"] == ("to be written in", "to be written in")
    form = [row for table in page.tables if table.caption.startswith("Tightness") for row in table.rows]
    shown = {row[0]: row[2] for row in form}
    assert shown["pressure at start"] == shown["pressure at end"] == "2.75 kPa"
    assert (shown["settled for"], shown["time at end"], shown["result"]) == ("3 min", "5 min later", "PASS")
    assert shown["manometer, its step"] == "0.01 kPa"
    assert shown["filled with"] == shown["temperature at start"] == "to be written in"


def test_lock_up_is_expected_and_filled_in(tmp_path: Path, drawbar: Program) -> None:
    """By the regulator's own figure where the job gives one; a reading above it fails its row, and the head."""
    job, file, out = tmp_path / "job.yaml", tmp_path / "readings.yaml", tmp_path / "sheet.html"
    text = TRAILER.read_text(encoding="utf-8")
    assert text.count("capacity: 180 MJ/h") == 1
    job.write_text(text.replace("capacity: 180 MJ/h", "capacity: 180 MJ/h, lock-up: 3.2 kPa"), encoding="utf-8")
    rows = [f"  - {{state: everything, at: {name}, pressure: {expected()[name]:.0f} Pa}}\n" for name in APPLIANCES]
    for locked, verdict in (("3.1", "PASS"), ("3.4", "FAIL")):
        more = f"  - {{state: lock-up, at: regulator, pressure: {locked} kPa}}\n"
        file.write_text("readings:\n" + "".join(rows) + more, encoding="utf-8")
        assert drawbar("sheet", str(job), "-o", str(out), "--readings", str(file))[2] == ""
        page = Page(out.read_text(encoding="utf-8"))
        (row,) = [row for row in page.table("Lock-up and working pressure").rows if row[0] == "regulator"]
        assert row[-4:] == ["2.750 to 3.200", f"{locked}00", "to be written in", verdict]
        assert verdicts(page)["Readings"] == verdict


@pytest.mark.parametrize("left_out", APPLIANCES)
def test_an_appliance_that_was_not_read_is_no_pass(left_out: str, tmp_path: Path, drawbar: Program) -> None:
    """Whatever the others show, the readings stay UNDECIDED, and what is missing is said."""
    readings_pa = {name: expected()[name] for name in APPLIANCES if name != left_out}
    code, page = filled(drawbar, tmp_path, readings_pa)
    assert (code, verdicts(page)["Readings"]) == (3, "UNDECIDED")
    assert f"Not read with all of the worst state on: {left_out}." in [item.text for item in page.of("li")]
    assert "Tightness" not in verdicts(page)


def test_a_reading_below_its_limit_fails(tmp_path: Path, drawbar: Program) -> None:
    """FAIL beside it and at the head, with exit code 1; so does one that is high enough and not what it should be."""
    readings_pa = {name: expected()[name] for name in APPLIANCES}
    code, page = filled(drawbar, tmp_path, {**readings_pa, "griddle": 2390.0})
    assert (code, verdicts(page)["Readings"], read(page)["griddle"][1]) == (1, "FAIL", "FAIL")
    assert any(
        item.text.startswith("griddle was read at 2.39 kPa, below its minimum of 2.5 kPa") for item in page.of("li")
    )
    code, page = filled(drawbar, tmp_path, {**readings_pa, "griddle": 2502.0})
    assert (code, verdicts(page)["Readings"], read(page)["griddle"][1]) == (1, "FAIL", "FAIL")
    assert any(item.text.startswith("The readings at griddle are not what was predicted") for item in page.of("li"))
    assert drawbar("commission", str(TRAILER), str(tmp_path / "readings.yaml"))[0] == 1  # one truth


def test_readings_of_other_states_stand_in_a_table_of_their_own(tmp_path: Path, drawbar: Program) -> None:
    """They are of no row of the record, which stays empty there."""
    file, out = tmp_path / "readings.yaml", tmp_path / "sheet.html"
    file.write_text("readings:\n  - {state: breakfast, at: fryer, pressure: 2.71 kPa}\n", encoding="utf-8")
    assert drawbar("sheet", str(TRAILER), "-o", str(out), "--readings", str(file))[0] == 3
    page = Page(out.read_text(encoding="utf-8"))
    assert [[row[0], row[1], row[-2]] for row in page.table("Other readings").rows] == [["fryer", "breakfast", "2.710"]]
    assert read(page)["fryer"] == ("to be written in", "to be written in")


def test_a_fall_fails_at_the_head(tmp_path: Path, drawbar: Program) -> None:
    """A tightness test that fails is at the head, in the form and in the exit code; `verify` reads it back."""
    out = tmp_path / "sheet.html"
    words = ("--start", "2.75 kPa", "--end", "1 kPa", "--time", "5 min", "--settled", "3 min")
    assert drawbar("sheet", str(TRAILER), "-o", str(out), *words)[0] == 1
    assert verdicts(Page(out.read_text(encoding="utf-8")))["Tightness"] == "FAIL"
    assert drawbar("sheet", "--verify", str(out))[0] == 0
    code, printed, problems = drawbar("sheet", str(TRAILER), "-o", str(out), "--start", "2.75 kPa")
    assert (code, printed) == (2, "")
    assert "--start and --end go together" in problems


def test_a_script_fills_in_the_same(tmp_path: Path, drawbar: Program) -> None:
    """The library's call gives the page that the command writes."""
    _, _ = filled(drawbar, tmp_path, {"fryer": 2600.0}, *TESTED)
    visit = {"readings_gauge_pa": (2750.0, 2750.0), "time_s": 300.0, "settled_s": 180.0, "resolution_pa": 10.0}
    job, date = library_calls.read_job(TRAILER, sized=True), datetime.date.fromisoformat(DATE)
    page = library_calls.sheet(job, date=date, readings=tmp_path / "readings.yaml", tightness=visit)
    assert page == (tmp_path / "sheet.html").read_text(encoding="utf-8")


# the letterhead


def test_the_letterhead_has_what_is_given_and_nothing_else(tmp_path: Path, drawbar: Program) -> None:
    """Workshop, customer, vehicle and installer as text; a job that gives none has no such lines."""
    (tmp_path / "logo.svg").write_text(LOGO, encoding="utf-8")
    own = (
        "workshop: {business: '<b>Bend</b> & Flare', licence: L 1, logo: logo.svg}\ncustomer: A. Person\n"
        "vehicle: {make: Steel box, VIN: TEST 1}\n"
    )
    job, out = tmp_path / "job.yaml", tmp_path / "sheet.html"
    job.write_text(TINY + own, encoding="utf-8")
    assert drawbar("sheet", str(job), "-o", str(out))[2] == ""
    page = Page(out.read_text(encoding="utf-8"))
    (picture,) = page.of("img")
    data = picture.attributes["src"] or ""
    assert base64.b64decode(data.removeprefix("data:image/svg+xml;base64,")).decode() == LOGO
    assert picture.attributes["alt"] == "Logo of <b>Bend</b> & Flare"
    assert "<b>Bend</b> & Flare" in [strong.text for strong in page.of("strong")]
    terms = dict(zip((term.text for term in page.of("dt")), (text.text for text in page.of("dd")), strict=True))
    assert (terms["Customer"], terms["Vehicle"]) == ("A. Person", "Steel box; VIN TEST 1")
    assert "Installer" not in terms
    assert drawbar("sheet", "--verify", str(out))[0] == 0
    job.write_text(TINY, encoding="utf-8")
    assert drawbar("sheet", str(job), "-o", str(out))[2] == ""
    bare = out.read_text(encoding="utf-8")
    assert not any(word in bare.split("</style>")[1] for word in ("letterhead", "Customer", "Vehicle", "<img"))


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"GIF89a", "is neither a PNG nor an SVG"),
        (b"<html/>", "is neither a PNG nor an SVG"),
        (PNG + b"x" * 60_000, "is over 60,000 bytes"),
        (b"<svg><script>alert(1)</script></svg>", "holds <script>"),
        (b"<svg onload='alert(1)'/>", "holds onload, which runs or fetches something"),
        (b"<svg><image href='https://example.com/x.png'/></svg>", "holds href, which runs or fetches something"),
        (b"<svg><rect fill='url(https://example.com/x)'/></svg>", "holds fill, which runs or fetches something"),
        (b"<svg><style>@import 'https://example.com/x'</style></svg>", "fetches something from outside"),
        (b"<!DOCTYPE svg [<!ENTITY a 'b'>]><svg>&a;</svg>", "declares a document type or an entity"),
        (b"<svg><foreignObject/></svg>", "holds <foreignobject>"),
    ],
)
def test_a_logo_that_does_more_than_show_is_refused(data: bytes, what: str, tmp_path: Path) -> None:
    """Scripts, entities, anything from outside, another format, a large file: each is told with what would fit."""
    file = tmp_path / "logo.svg"
    file.write_bytes(data)
    with pytest.raises(Problems, match="the logo") as raised:
        logo_uri(str(file))
    assert what in str(raised.value)


def test_a_png_is_taken_and_a_logo_that_is_not_there_is_told(tmp_path: Path) -> None:
    """By what it holds, whatever its name."""
    file = tmp_path / "logo.svg"
    file.write_bytes(PNG)
    assert logo_uri(str(file)) == "data:image/png;base64," + base64.b64encode(PNG).decode()
    with pytest.raises(Problems, match="the logo can't be read: No such file or directory"):
        logo_uri(str(tmp_path / "none.png"))


# what prints it


@pytest.mark.parametrize(
    ("prefix", "config", "start"),
    [
        ("pipx/venvs/drawbar", "", "pipx inject drawbar "),
        ("tool", "uv = 0.9.1\n", "uv pip install --python "),
        ("venv", "version = 3.11\n", ""),
    ],
)
def test_how_to_install_an_extra(
    prefix: str, config: str, start: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the environment was made: pipx keeps its own under pipx/venvs, uv writes its version into pyvenv.cfg."""
    folder = tmp_path / prefix
    folder.mkdir(parents=True)
    (folder / "pyvenv.cfg").write_text(config, encoding="utf-8")
    monkeypatch.setattr(sys, "prefix", str(folder))
    monkeypatch.setattr(sys, "executable", "/a folder/python")
    start = start or "'/a folder/python' -m pip install "
    python = "'/a folder/python' " if "uv" in start else ""
    assert install_advice("sheet") == f"{start}{python}'jinja2>=3.1' 'svg.py>=1.10'"
    assert install_advice("pdf").endswith(" 'weasyprint>=68'")


def test_weasyprint_prints_where_there_is_no_browser(tmp_path: Path) -> None:
    """With the figures of the page and the labels of its drawings; nothing outside the page is fetched."""
    pytest.importorskip("weasyprint")
    pypdf = pytest.importorskip("pypdf")
    from drawbar.cli.browser import _by_weasyprint

    page = library_calls.sheet(library_calls.read_job(TRAILER, sized=True))
    outside = page.replace("</header>", '<img src="file:///etc/hostname" alt="x"></header>')
    out = tmp_path / "sheet.pdf"
    out.write_bytes(_by_weasyprint(outside))
    pages = pypdf.PdfReader(out).pages
    text = "\n".join(each.extract_text() for each in pages)
    assert len(pages) <= 3
    for words in ("Harvest-fair food trailer", "Q-0117", "1.1 m, drop 0.0", "Lock-up and working pressure"):
        assert words in text
    assert "What this sheet was made from" not in text
