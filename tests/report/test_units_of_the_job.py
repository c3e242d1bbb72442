"""A page is in the units of its job: no other unit stands on any page of any command."""

import re

import pytest

from paths import EXAMPLES

IMPERIAL, METRIC = EXAMPLES / "orchard-cookhouse-imperial.yaml", EXAMPLES / "harvest-fair-trailer.yaml"
METRIC_UNITS = r"k?Pa|mbar|bar|MJ|MJ/h|kW|W|degC|kg|g|mm2?|cm|L|m3|m|K|litres?|metres?"
OTHERS_THAN_MBAR = r"k?Pa|MJ|MJ/h|inH2O|psi|Btu|Btu/h|degF|lb|ft|in2|gal"
# What a rule, a code or a maker's standard says is quoted as it stands there.
QUOTED = (
    r"Water over 50 degC scalds\. AS/NZS 3500\.4",
    r"EN 16129, lowest inlet pressure of low-pressure regulators, 0\.3 bar",
    r"Range: [^;\n]*",
    r"nominal 2\.75 kPa: common practice",
    r"Pa s\b",  # a viscosity, of which each system of units has its own
)
PAGES = [
    ("check",),
    ("check", "--full"),
    ("supply",),
    ("supply", "--full"),
    ("explain", "--short"),
    ("hotwater",),
    ("hotwater", "--full"),
    ("takeoff",),
    ("takeoff", "--full"),
    ("tightness",),
    ("tightness", "--full"),
    ("size",),
    ("size", "--full"),
]


@pytest.fixture
def page(drawbar, tmp_path, monkeypatch):
    """Return the page of a command on a job, in one line of words, without what it quotes."""
    monkeypatch.delenv("DRAWBAR_LIBRARY", raising=False)

    def of(words, job, *more):
        copy = tmp_path / "job.yaml"
        text = job.read_text(encoding="utf-8")
        if words[0] == "size":
            text = re.sub(r"(pipe: [a-z0-9-]+)/[0-9.]+", r"\1/auto", text, count=1)
        copy.write_text(text, encoding="utf-8")
        monkeypatch.chdir(tmp_path)
        done = drawbar(*words, "job.yaml", *more)
        assert done.err == ""
        assert done.code in (0, 3)
        told = " ".join(done.out.split())
        assert len(told) > 100
        for quoted in QUOTED:
            told = re.sub(quoted, "", told)
        return told

    return of


def foreign(told, units):
    return re.findall(rf"(?<![\w/.-])(?:{units})(?![\w/-])", told)


@pytest.mark.parametrize("words", PAGES, ids=" ".join)
def test_a_job_in_feet_prints_no_metric_unit(page, words):
    """The orchard's job is in feet, inches of water, Btu/h, degF, pounds and US gallons, and so is every page of it."""
    assert foreign(page(words, IMPERIAL), METRIC_UNITS) == []


def test_a_recheck_in_feet_prints_no_metric_unit(page):
    """So is the page of the job with another appliance in."""
    told = page(("recheck", "--swap", "water-heater=50000 Btu/h"), IMPERIAL)
    assert foreign(told, METRIC_UNITS) == []


@pytest.mark.parametrize("words", PAGES, ids=" ".join)
def test_mbar_and_kw_are_kept_to(page, words):
    """Asked for in mbar and kW, no page prints kPa, MJ/h or an imperial unit; a bottle's pressure is in bar."""
    told = page(words, METRIC, "--units", "mbar")
    assert foreign(told, OTHERS_THAN_MBAR) == []
    assert re.search(r"\d (?:mbar|kW)\b|\b(?:mbar|kW)\b", told) or words[0] in ("hotwater", "takeoff")


def test_the_words_that_are_looked_for_are_found():
    """The search sees a unit behind a figure, in a head and in brackets, and none inside a name."""
    told = "drop 0.2 kPa, load MJ/h, (12 mm) -6.7 degC; b88-k/0.5 main m. 3 L/min"
    assert foreign(told, METRIC_UNITS) == ["kPa", "MJ/h", "mm", "degC", "m"]
    assert foreign("K 4 m", METRIC_UNITS) == ["K", "m"]
