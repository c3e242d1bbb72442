"""A checked job of up to eight appliances fits one screen of 80 x 24 with the prompt, whatever its verdict."""

import itertools
import json
from random import Random

import pytest

from calls import Call
from drawbar.answers import whole_check
from drawbar.checking.check import check_job
from drawbar.jobfile.reader import job_of
from drawbar.report.check_brief import BriefCheck, BriefReport
from drawbar.report.check_report import CheckReport
from drawbar.report.check_screen import SCREEN_LINES
from drawbar.report.check_view import CheckView
from drawbar.report.layout import as_text
from jobs import CATALOGUE
from paths import EXAMPLES
from random_jobs import job_text

NAMES = ("griddle", "urn", "fryer", "water-heater", "pancake-plate", "pie-oven", "bain-marie", "noodle-boiler")
SIZED = [path for path in sorted(EXAMPLES.glob("*.yaml")) if path.stem not in ("prices", "market-kitchen-open")]
FAILING = EXAMPLES / "ice-cream-van-fail.yaml"
TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"


def made_up(count: int, *, kind: str, plugged: int = 0) -> str:
    """Return a job of so many appliances that passes, fails, is undecided or is measured; some of them plugged in."""
    bore = {"fails": "9.52", "undecided": "25.40"}.get(kind, "31.75")
    lines = [
        f"job: Market van with {count} appliances",
        "ref: Q-9999",
        "gas: propane",
        "rule: as-nzs-5601.2",
        f"regulator: {{outlet: 2.75 kPa{'' if kind == 'undecided' else ', capacity: 400 MJ/h'}}}",
        "cylinders: {size: 9 kg, count: 2, drawing: 1, fill: 50 %, ambient: 5 degC}",
        "space: {berths: 2, vents: {high: 100000 mm2, low: 100000 mm2}}",
        "runs:",
        f"  main: {{from: regulator, pipe: as1432-b/{bore}, length: 4.2 m, fittings: {{elbow-90: 3}}}}",
    ]
    measured = ", measured: yes" if kind == "measured" else ""
    size = "9.52" if kind == "fails" else "15.88"
    pipe = f"{{bore: 13.5 mm, roughness: 0.0015 mm{measured}}}" if measured else f"as1432-b/{size}"
    lines.extend(f"  to-{name}: {{from: main, pipe: {pipe}, length: 1.4 m}}" for name in NAMES[:count])
    if plugged:
        devices = "" if kind == "undecided" else ", devices: [{name: bayonet, flow: 60 MJ/h, drop: 20 Pa}]"
        lines.append("outlets:")
        lines.extend(f"  {name}-bayonet: {{at: to-{name}{devices}}}" for name in NAMES[:plugged])
        lines.extend(["hoses:", "  short-hose: {pipe: hose/10, length: 1.5 m, devices: none}"])
    lines.append("appliances:")
    for number, name in enumerate(NAMES[:count]):
        at = "plugs-into: any, hose: short-hose" if number < plugged else f"at: to-{name}"
        lines.append(f"  {name}: {{{at}, input: {18 + 4 * number} MJ/h}}")
    return "\n".join(lines) + "\n"


def screen_of(text: str, file: str = "job.yaml") -> str:
    """Return the page of a job, after holding what every page of one screen has."""
    whole = whole_check(job_of(text, file, CATALOGUE, sized=True), None, CATALOGUE, in_full=False)
    page = as_text(CheckReport().page(whole))
    assert page.split("\n")[0].endswith(f": {whole.result.verdict.word}")
    assert page.count("\n") <= SCREEN_LINES, page
    for appliance in whole.result.job.appliances:
        if any(appliance.name == checked.name for state in whole.result.states for checked in state.appliances):
            assert f"\n{appliance.name} " in page
    flat = " ".join(page.split())
    assert "An aid: a licensed gasfitter answers for the work" in flat
    assert "`drawbar check --full` has the rest." in flat
    assert ("Why:" in page) == bool(whole.result.because)
    if whole.remedies is not None and whole.remedies.in_order:
        assert "To put it right:" in page
    return page


@pytest.mark.parametrize("path", SIZED, ids=lambda path: path.stem)
def test_the_examples_fit(path) -> None:
    """Every example that has its sizes."""
    screen_of(path.read_text(encoding="utf-8"), str(path))


@pytest.mark.parametrize("kind", ["passes", "fails", "undecided", "measured"])
def test_jobs_of_one_to_eight_appliances_fit(kind: str) -> None:
    """Fixed and plugged in, with bottles and vents."""
    for count, plugged in itertools.product((1, 3, 6, 8), (0, 2)):
        page = screen_of(made_up(count, kind=kind, plugged=min(plugged, count)))
        verdict = {"fails": "FAIL" if count > 1 else "PASS", "undecided": "UNDECIDED"}.get(kind, "PASS")
        assert page.split("\n")[0] == f"Market van with {count} appliances (Q-9999): {verdict}", page


def test_random_jobs_fit() -> None:
    """Jobs of up to eight appliances, with states, stages and hoses."""
    checked = 0
    for seed in range(30):
        random = Random(seed)
        portables = random.choice((0, 0, 1, 2, 3))
        shape = {"portables": portables, "outlets": random.randint(1, 3) if portables else 0, "hoses": 2}
        tolerances = random.choice((None, "none"))
        text = job_text(random, random.randint(1, 8), states=seed % 2 == 0, sized=True, tolerances=tolerances, **shape)
        job = job_of(text, "job.yaml", CATALOGUE)
        if len(job.appliances) <= 8 and all(len(run.pipes) == 1 for run in job.runs):
            page = screen_of(text)
            assert ("As drawn only: no tolerance is taken into account." in page) == (tolerances == "none")
            checked += 1
    assert checked > 15


def test_what_the_call_says_beside_fits_too(drawbar, tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A library that replaces rows, and what is asked by --set, take their lines from the page."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.yaml").write_text(made_up(8, kind="fails"), encoding="utf-8")
    (tmp_path / "our.lib").write_text(
        "replace: yes\nappliances:\n  urn: {title: Our urn, input: 22 MJ/h, source: our bench}\n", encoding="utf-8"
    )
    code, printed, _ = drawbar("check", "van.yaml", "--library", "our.lib", "--set", "runs.main.length=4 m")
    assert code == 1
    assert "in place of the project's own" in printed
    assert printed.count("\n") <= SCREEN_LINES, printed


def test_the_options_that_try_a_remedy_work(drawbar) -> None:
    """The page of a FAIL names the options with which the same call passes."""
    page = " ".join(drawbar("check", str(FAILING)).out.split())
    words = page.partition("Try it with `")[2].partition("`")[0].split()
    assert words == ["--set", "runs.main.pipe=as1432-b/19.05"]
    assert drawbar("check", str(FAILING), *words).code == 0


# parts of a job


def test_a_state_alone_leaves_the_verdict_of_all(drawbar) -> None:
    """The job fails in another state than the one shown: the verdict, the exit code and a sentence say so."""
    text = TRAILER.read_text(encoding="utf-8").replace(
        "urn:      {plugs-into: any, hose: short-hose, input: 21",
        "urn:      {plugs-into: any, hose: short-hose, input: 71",
    )
    whole = drawbar("check", "-", stdin=text)
    assert whole.code == 1
    part = drawbar("check", "-", "--state", "service", stdin=text)
    assert part.code == 1
    assert part.out.startswith("Harvest-fair food trailer (Q-0117): FAIL\n")
    assert "Shown is service alone; the verdict is that of all 3 states.\n" in part.out
    rows = [line for line in part.out.split("\n") if line.endswith(("  PASS", "  FAIL"))]
    assert [(row.split()[0], row.split()[-1]) for row in rows] == [("griddle", "PASS"), ("fryer", "PASS")]
    (result,) = json.loads(drawbar("check", "-", "--state", "service", "--format", "json", stdin=text).out)["results"]
    assert result["verdict"] == "fail"
    assert [state["name"] for state in result["states"]] == ["service"]
    assert result["shown"] == {"states": ["service"], "failing": False}
    csv = drawbar("check", "-", "--state", "service", "--state", "breakfast", "--format", "csv", stdin=text).out
    assert {line.split(",")[4] for line in csv.splitlines()[1:]} == {"service", "breakfast"}
    assert all(",fail," in line for line in csv.splitlines()[1:])


def test_an_unknown_state_is_told(drawbar) -> None:
    """With the name that is near."""
    code, printed, told = drawbar("check", str(TRAILER), "--state", "servce")
    assert (code, printed) == (2, "")
    assert told.endswith(f"`servce` is not a state of {TRAILER}; did you mean `service`?\n")


def test_failing_leaves_out_what_passes(drawbar) -> None:
    """Jobs that pass and appliances that pass; what is left out is counted."""
    undecided = EXAMPLES / "camper-tail-undecided.yaml"
    code, printed, told = drawbar("check", "--failing", str(TRAILER), str(undecided), str(FAILING))
    assert (code, told) == (1, "1 job passes and is left out\n")
    assert "Harvest-fair" not in printed
    assert "1 of 3 appliances pass and are left out." in printed
    assert "\ncooktop " not in printed
    assert printed.count("\nwaffle-irons ") == 1
    assert drawbar("check", "--failing", str(TRAILER)) == (0, "", "1 job passes and is left out\n")
    document = json.loads(drawbar("check", "--failing", str(TRAILER), str(FAILING), "--format", "json").out)
    assert [result["verdict"] for result in document["results"]] == ["fail"]
    assert document["results"][0]["shown"] == {"states": None, "failing": True}


def test_the_whole_page_has_the_worst_first(drawbar) -> None:
    """Of every state the appliance that is worst off comes first; what the page rests on stands once, at the end."""
    page = drawbar("check", "--full", str(TRAILER)).out
    states = [line.split()[1].rstrip(":") for line in page.split("\n") if line.startswith("State ")]
    assert states == ["everything", "breakfast", "service"]
    table = page.partition("State everything")[2]
    assert table.index("\ngriddle  ") < table.index("\nurn  ") < table.index("\nfryer  ")
    assert page.index("Where each figure") < page.index("Allowed drop") < page.index("Cautions:")
    for once in ("Allowed drop", "The verdict takes every tolerance", "Regulator 2.75 kPa", "Formula darcy"):
        assert page.count(once) == 1


# a line a job


def brief(*words: str, drawbar) -> Call:
    """Return what `check --brief` comes to."""
    return drawbar("check", "--brief", *words)


def test_brief_is_a_line_a_job_that_aligns(drawbar) -> None:
    """Verdict, spare and reason stand under each other, and no line is longer than 80 columns."""
    files = [str(path) for path in sorted(EXAMPLES.glob("*.yaml"))]
    code, printed, told = brief(*files, drawbar=drawbar)
    head, rule, *lines = printed.splitlines()
    assert code == 2
    assert told
    assert len(lines) == len(files)
    assert max(map(len, printed.splitlines())) <= 80
    place = head.index("verdict")
    verdicts = {
        file.rpartition("/")[2][-12:]: line[place : place + 9].strip() for file, line in zip(files, lines, strict=True)
    }
    assert sorted(verdicts.values()) == ["FAIL", *["PASS"] * 4, "UNDECIDED", "not read", "not read"]
    assert rule.replace("-", "").strip() == ""


def test_brief_says_why() -> None:
    """The first reason in a few words, how many more there are, and what the figures are of."""
    job = job_of(FAILING.read_text(encoding="utf-8"), "van.yaml", CATALOGUE, sized=True)
    line = BriefCheck.of(check_job(job), CheckView())
    assert (line.appliance, line.reason) == ("waffle-irons", "short of pressure, 1 more")
    text = as_text(BriefReport().page([line]), width=80)
    assert text == (
        "file      verdict  appliance          spare  reason\n"
        "--------  -------  ------------  ----------  -------------------------\n"
        f"van.yaml  FAIL     waffle-irons  {line.spare}  short of pressure, 1 more\n"
    )


def test_brief_in_the_other_forms(drawbar) -> None:
    """CSV has a row a job, Markdown a table; JSON has the whole of it anyway and is refused."""
    csv = brief(str(TRAILER), str(FAILING), "--format", "csv", drawbar=drawbar).out
    assert csv.splitlines()[0] == "file,job_verdict,appliance,margin_Pa,worst_margin_Pa,because"
    assert [line.split(",")[1] for line in csv.splitlines()[1:]] == ["pass", "fail"]
    assert "| FAIL " in brief(str(FAILING), "--format", "markdown", drawbar=drawbar).out
    for words in (("--format", "json"), ("--full",)):
        code, printed, told = brief(str(FAILING), *words, drawbar=drawbar)
        assert (code, printed) == (2, "")
        assert told.endswith("--brief is for --format table, csv and markdown, and goes without --full.\n")


def test_brief_of_what_fails(drawbar) -> None:
    """With --failing, the jobs that pass are counted and left out."""
    code, printed, told = brief("--failing", str(TRAILER), str(FAILING), drawbar=drawbar)
    assert (code, told) == (1, "1 job passes and is left out\n")
    assert len(printed.splitlines()) == 3


def test_long_names_are_cut_and_verdicts_are_not() -> None:
    """At 60 columns too: the end of a path is kept, which has the file's name."""
    jobs = [
        BriefCheck(
            "a/very/long/folder/of/old/jobs/harvest-fair.yaml",
            verdict,
            "noodle-boiler",
            "0.087 kPa",
            87.0,
            1.0,
            "x " * 40,
        )
        for verdict in (check_job(job_of(made_up(1, kind="passes"), "j", CATALOGUE)).verdict,)
    ]
    lines = as_text(BriefReport().page(jobs), width=60).splitlines()
    assert max(map(len, lines)) <= 60
    assert "fair.yaml  PASS" in lines[-1]
    assert "0.087 kPa" in lines[-1]
