"""A sheet checked again: as it was made, changed by hand, of another job, of another version, of another library."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import drawbar as library_calls
from calls import Call
from drawbar.catalogue.catalogue import Catalogue
from drawbar.report.sheet import dress, tables
from drawbar.yamlfile.carried import is_as_made, sealed
from paths import EXAMPLES
from sheet_jobs import DATE, TINY, hostile_job

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
FITTINGS = "fittings: {own-bend: {title: Bend of the workshop, ratio: 60, source: the maker's sheet}}\n"
BENT = TINY.replace("length: 2 m", "length: 2 m, fittings: {own-bend: 2}")
Program = Callable[..., Call]


@pytest.fixture(scope="module")
def trailer_page() -> str:
    """Return the sheet of the trailer, made once."""
    return library_calls.sheet(library_calls.read_job(TRAILER, sized=True))


def verified(drawbar: Program, *words: str) -> tuple[int, dict[str, Any]]:
    """Return the exit code and the JSON of `sheet --verify`."""
    code, printed, problems = drawbar("sheet", *words, "--format", "json")
    assert problems == ""
    (result,) = json.loads(printed)["results"]
    return code, result


def changes(result: dict[str, Any], table: str) -> dict[str, tuple[str, str]]:
    """Return what changed in a table, by row and column."""
    return {
        each["where"].removeprefix(f"{table}, "): (each["was"], each["now"])
        for each in result["changed"]
        if each["where"].startswith(f"{table}, ")
    }


def test_an_untouched_sheet_stands(trailer_page: str, tmp_path: Path, drawbar: Program) -> None:
    """Every figure of its tables is the same, with exit code 0; the page says what a digest is not."""
    file = tmp_path / "sheet.html"
    file.write_text(trailer_page, encoding="utf-8")
    code, result = verified(drawbar, "--verify", str(file))
    assert code == 0
    assert result["stands"]
    assert result["as_made"]
    assert result["figures"] > 150
    assert (result["changed"], result["not_there"], result["job_lines"]) == ([], [], [])
    code, printed, _ = drawbar("sheet", "--verify", str(file))
    assert code == 0
    printed = " ".join(printed.split())
    assert "sheet.html: stands ==" in printed
    assert "it is no signature" in printed


def test_a_changed_number_is_found(trailer_page: str, tmp_path: Path, drawbar: Program) -> None:
    """One figure written over: exit code 2, and which it was; a word beside the tables as well."""
    file = tmp_path / "sheet.html"
    shown = '<td class="figure" data-label="at worst kPa">0.016</td>'
    assert trailer_page.count(shown) == 1
    file.write_text(trailer_page.replace(shown, shown.replace("0.016", "0.116")), encoding="utf-8")
    code, result = verified(drawbar, "--verify", str(file))
    assert code == 2
    assert not result["as_made"]
    assert [(each["where"], each["was"], each["now"]) for each in result["changed"]] == [
        ("Appliances, griddle, at worst kPa", "0.116", "0.016")
    ]
    assert "sheet.html: changed by hand ==" in " ".join(drawbar("sheet", "--verify", str(file))[1].split())
    file.write_text(trailer_page.replace("Never warm a bottle", "You may warm a bottle"), encoding="utf-8")
    code, result = verified(drawbar, "--verify", str(file))
    assert code == 2
    ((where, was, now),) = [each.values() for each in result["changed"]]
    assert (where, was[:19], now[:19]) == ("", "You may warm a bott", "Never warm a bottle")


def test_a_verdict_with_a_new_digest_is_found(trailer_page: str, tmp_path: Path, drawbar: Program) -> None:
    """Who works out another digest is still told from what the carried job gives: exit code 1."""
    file = tmp_path / "sheet.html"
    shown = '<dt>Bottles</dt><dd><strong class="undecided">UNDECIDED</strong>'
    assert trailer_page.count(shown) == 1
    file.write_text(sealed(trailer_page.replace(shown, shown.replace("UNDECIDED", "PASS"))), encoding="utf-8")
    code, result = verified(drawbar, "--verify", str(file))
    assert (code, result["as_made"], result["stands"]) == (1, True, False)
    assert [tuple(each.values()) for each in result["changed"]] == [("Bottles", "PASS", "UNDECIDED")]


def test_a_changed_job(trailer_page: str, tmp_path: Path, drawbar: Program) -> None:
    """The job written over in the page: exit code 2, its figures beside. Changed in its file since: exit code 1."""
    file, job = tmp_path / "sheet.html", tmp_path / "job.yaml"
    assert trailer_page.count("length: 3.6 m") == 1
    file.write_text(trailer_page.replace("length: 3.6 m", "length: 4.6 m"), encoding="utf-8")
    code, result = verified(drawbar, "--verify", str(file))
    assert (code, result["as_made"]) == (2, False)
    assert "main, drop kPa" in changes(result, "Runs")
    file.write_text(trailer_page, encoding="utf-8")
    job.write_text(TRAILER.read_text(encoding="utf-8").replace("length: 3.6 m", "length: 4.6 m"), encoding="utf-8")
    code, result = verified(drawbar, str(job), "--verify", str(file))
    assert (code, result["as_made"], result["against"]) == (1, True, str(job))
    assert [line[0] for line in result["job_lines"]] == ["-", "+"]
    assert "length: 4.6 m" in result["job_lines"][1]
    drops = []
    for checked in (TRAILER, job):
        state = json.loads(drawbar("check", str(checked), "--format", "json")[1])["results"][0]["states"][0]
        drops += [f"{run['drop_Pa'] / 1000.0:.3f}" for run in state["runs"] if run["name"] == "main"]
    assert changes(result, "Runs")["main, drop kPa"] == tuple(drops)
    code, result = verified(drawbar, str(TRAILER), "--verify", str(file))
    assert (code, result["stands"]) == (0, True)


def test_a_newer_version(trailer_page: str, tmp_path: Path, drawbar: Program, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the same figures it stands and both versions are told; so is what the newer one calls by another name."""
    file = tmp_path / "sheet.html"
    file.write_text(trailer_page, encoding="utf-8")
    monkeypatch.setattr("drawbar.api.sheets.__version__", "9.0.0")
    monkeypatch.setattr(dress, "__version__", "9.0.0")
    code, result = verified(drawbar, "--verify", str(file))
    assert (code, result["made_by"], result["version"]) == (0, library_calls.__version__, "9.0.0")
    assert f"Made by drawbar {library_calls.__version__}, worked out again by 9.0.0." in " ".join(
        drawbar("sheet", "--verify", str(file))[1].split()
    )
    monkeypatch.setattr(tables, "Column", _renamed)
    code, result = verified(drawbar, "--verify", str(file))
    assert "Appliances, griddle, at worst kPa" in result["not_there"]
    assert result["stands"] is False


def _renamed(head: str, words: bool = False) -> Any:  # noqa: FBT001, FBT002 - as the class has it
    """Return a column of another version, which calls the margin at worst by another name."""
    from drawbar.report.layout import Column

    return Column(head.replace("at worst", "in the worst corner"), words)


def test_a_changed_library_row(tmp_path: Path, drawbar: Program) -> None:
    """The sheet carries the row it was made with, and stands by it; with another row, the row and the figures."""
    shop, job, file = tmp_path / "shop.yaml", tmp_path / "job.yaml", tmp_path / "sheet.html"
    unused = "  unused: {title: Another, ratio: 10, source: none}\n"
    shop.write_text(FITTINGS.replace("{own-bend", "\n  own-bend").replace("}}", "}") + unused, encoding="utf-8")
    job.write_text(BENT, encoding="utf-8")
    assert drawbar("sheet", str(job), "-o", str(file), "--library", str(shop), "--date", DATE)[0] == 3
    page = file.read_text(encoding="utf-8")
    assert "own-bend" in page
    assert "unused" not in page  # rows that do not count stay at home
    code, result = verified(drawbar, "--verify", str(file))
    assert (code, result["stands"]) == (0, True)
    shop.write_text(shop.read_text(encoding="utf-8").replace("ratio: 60", "ratio: 900"), encoding="utf-8")
    code, result = verified(drawbar, "--verify", str(file), "--library", str(shop))
    assert (code, result["as_made"]) == (1, True)
    assert [("60" in line, "900" in line) for line in result["library_lines"]] == [(True, False), (False, True)]
    assert "main, drop kPa" in changes(result, "Runs")


def test_a_sheet_serves_as_its_job_and_library(tmp_path: Path, drawbar: Program) -> None:
    """`check` and the others read the job out of it, its library rows with it; a library of the call goes over them."""
    shop, job, file = tmp_path / "shop.yaml", tmp_path / "job.yaml", tmp_path / "sheet.html"
    shop.write_text(FITTINGS, encoding="utf-8")
    job.write_text(BENT, encoding="utf-8")
    drawbar("sheet", str(job), "-o", str(file), "--library", str(shop))

    def pressure(*words: str) -> float:
        (result,) = json.loads(drawbar("check", *words, "--format", "json")[1])["results"]
        return float(result["states"][0]["appliances"][0]["pressure_kPa"])

    of_job = pressure(str(job), "--library", str(shop))
    assert pressure(str(file)) == of_job
    assert drawbar("takeoff", str(file))[0] == 0
    assert library_calls.read_job(file, Catalogue([str(file)]), sized=True).runs[0].fittings[0][0].ratio == 60.0
    shop.write_text(FITTINGS.replace("ratio: 60", "ratio: 900"), encoding="utf-8")
    assert pressure(str(file), "--library", str(shop)) < of_job
    code, printed, problems = drawbar("size", "--write", str(file))
    assert (code, printed) == (2, "")
    assert problems.endswith("Error: --write needs a job file, not a sheet.\n")


def test_what_was_asked_stands_in_the_job_that_is_carried(tmp_path: Path, drawbar: Program) -> None:
    """A sheet of `--set` and `--units` stands by itself: the job in it is the one that was asked about."""
    job, file = tmp_path / "job.yaml", tmp_path / "sheet.html"
    job.write_text(TINY, encoding="utf-8")
    asked = ("--set", "runs.main.length=3 m", "--units", "us")
    assert drawbar("sheet", str(job), "-o", str(file), *asked)[2] == ""
    page = file.read_text(encoding="utf-8")
    assert "&#34;length&#34;: &#34;3 m&#34;" in page
    assert "inH2O" in page
    code, result = verified(drawbar, "--verify", str(file))
    assert (code, result["stands"]) == (0, True)


def test_hostile_text_is_carried_whole(tmp_path: Path, drawbar: Program) -> None:
    """Whatever the job file holds, markup and pictures, it comes out of the page as it went in."""
    job, file = tmp_path / "job.yaml", tmp_path / "sheet.html"
    text = hostile_job() + '# </pre><pre id="job-file">\njob: other\r\n'
    text = text.replace("job: other\r\n", "# &lt;/pre&gt;\r\n")
    job.write_bytes(text.encode())
    assert drawbar("sheet", str(job), "-o", str(file))[2] == ""
    from drawbar.yamlfile.carried import JOB, read_carried

    assert read_carried(str(file), JOB) == text
    assert verified(drawbar, "--verify", str(file))[0] == 0


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("<!DOCTYPE html><p>Another page</p>", "is no sheet; name the HTML file that `drawbar sheet` wrote"),
        ("job: t\n", "is no sheet; name the HTML file that `drawbar sheet` wrote"),
    ],
)
def test_what_is_no_sheet_is_told(text: str, message: str, tmp_path: Path, drawbar: Program) -> None:
    """Another web page, and a job file."""
    file = tmp_path / "page.html"
    file.write_text(text, encoding="utf-8")
    assert drawbar("sheet", "--verify", str(file)) == (2, "", f"{file}: {message}\n")


def test_a_web_page_is_no_job(tmp_path: Path, drawbar: Program) -> None:
    """It is told what would fit, and no line of markup is read as YAML."""
    file = tmp_path / "page.html"
    file.write_text("<!DOCTYPE html>\n<p>x</p>", encoding="utf-8")
    message = "is a web page and carries no job file; name a sheet of `drawbar sheet` that carries one, or the job file"
    assert drawbar("check", str(file)) == (2, "", f"{file}: {message} itself\n")


def test_a_job_changed_in_a_script_says_that_it_can_not_be_checked(tmp_path: Path) -> None:
    """No text gives it: the page says so and carries none. Sizes that were chosen are written into the text."""
    job = library_calls.read_job(TRAILER, sized=True)
    longer = job._replace(runs=(job.runs[0]._replace(length_m=9.0), *job.runs[1:]))
    page = library_calls.sheet(longer)
    assert "No job file gives this job as it stands" in page
    assert '<pre id="job-file"' not in page
    sized = library_calls.size(library_calls.read_job(EXAMPLES / "market-kitchen-open.yaml")).result.sized
    file = tmp_path / "sheet.html"
    file.write_text(library_calls.sheet(sized), encoding="utf-8")
    assert library_calls.verify_sheet(file).stands


def test_any_change_of_a_letter_breaks_the_digest(trailer_page: str) -> None:
    """Of every hundredth letter of the page another one: the digest tells each."""
    assert is_as_made(trailer_page)
    for place in range(0, len(trailer_page), 997):
        letter = "x" if trailer_page[place] != "x" else "y"
        assert not is_as_made(trailer_page[:place] + letter + trailer_page[place + 1 :])


def test_options_that_do_not_go_together(trailer_page: str, tmp_path: Path, drawbar: Program) -> None:
    """What makes a sheet is not asked of one to be verified, and the other way round."""
    file = tmp_path / "sheet.html"
    file.write_text(trailer_page, encoding="utf-8")
    for words, message in (
        (("--verify", str(file), "--date", DATE), "takes the readings, the tightness test and the date from the sheet"),
        (("--verify", "-"), "needs a file, not standard input"),
        (("--verify", str(file), "--format", "pdf"), "with --verify it is table or json"),
        (("--verify", str(file), "--set", "runs.main.length=1 m"), "--set, --swap and --units go with JOB"),
        ((str(TRAILER), "-o", str(tmp_path / "x"), "--format", "json"), "goes with --verify; a sheet is html or pdf"),
    ):
        code, printed, problems = drawbar("sheet", *words)
        assert (code, printed) == (2, "")
        assert re.search(re.escape(message), problems)


def test_the_rows_of_the_water_side_are_carried(tmp_path: Path, drawbar: Program) -> None:
    """A pipe and a fitting of the library that the water side alone has, a run in no connection too: the sheet stands.

    They are named among the sources, and count as what a result was worked out from.
    """
    shop, job, file = tmp_path / "shop.yaml", tmp_path / "job.yaml", tmp_path / "sheet.html"
    hose = "title: Hose of the workshop, material: rubber, roughness: 0.0015 mm, source: the maker's sheet, "
    hose += "roughness-source: the maker's sheet"
    sizes = "sizes: {'11': {od: 15 mm, bore: 11 mm}}"
    shop.write_text(f"{FITTINGS}pipes: {{own-hose: {{{hose}, {sizes}}}, spare-hose: {{{hose}, {sizes}}}}}\n", "utf-8")
    text = (EXAMPLES / "shower-tent-camper.yaml").read_text(encoding="utf-8")
    run = "    suction: {pipe: hose/10, length: 0.8 m,"
    assert run in text
    own = run.replace("hose/10", "own-hose/11").replace("0.8 m,", "0.8 m, fittings: {own-bend: 1},")
    spare = "    spare: {pipe: spare-hose/11, length: 1 m, devices: none}"
    job.write_text(text.replace(run, f"{spare}\n{own}"), encoding="utf-8")
    drawbar("sheet", str(job), "-o", str(file), "--library", str(shop), "--date", DATE)
    code, result = verified(drawbar, "--verify", str(file))
    assert (code, result["stands"]) == (drawbar("check", str(job), "--library", str(shop)).code, True)
    page = file.read_text(encoding="utf-8")
    assert "bore of own-hose/11" in page
    assert "own-bend" in page
    line = drawbar("recheck", str(job), "--library", str(shop), "--format", "jsonl").out
    assert {"pipes own-hose/11", "pipes spare-hose/11", "fittings own-bend"} <= set(json.loads(line)["inputs"]["rows"])
