"""What is merely odd: each warning appears where it should, in words, and not where it should not."""

import pytest
from test_reasons import PLAIN, STAGED

from drawbar.answers import whole_check
from drawbar.checking.check import check_job
from drawbar.report.check_report import CheckReport
from drawbar.report.display import Shown
from drawbar.report.layout import as_text
from drawbar.report.reasons import reason_words
from drawbar.verdict import Verdict
from jobs import job_from


def warnings(text: str = PLAIN, *changes: tuple[str, str], formula: str | None = None) -> list[str]:
    """Return the warnings of a text with some changes made in it, in words; none is a reason against the job."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    result = check_job(job_from(text), formula)
    assert {warning.verdict for warning in result.warnings} <= {Verdict.PASS}
    return [reason_words(warning, Shown(result.job.display))[0] for warning in result.warnings]


def test_nothing_is_odd_about_a_plain_job() -> None:
    """Neither in one stage nor in two."""
    assert warnings(PLAIN) == []
    assert warnings(STAGED) == []


def test_a_run_larger_than_the_one_that_feeds_it() -> None:
    """A run that is larger is told, the same size is not; behind a regulator of its own a run may be larger."""
    small = ("main: {from: regulator, pipe: as1432-b/15.88", "main: {from: regulator, pipe: as1432-b/9.52")
    assert warnings(PLAIN, small) == ["run leg (bore 10.88 mm) is larger than main (bore 7.7 mm) that feeds it"]
    same = ("main: {from: regulator, pipe: as1432-b/15.88", "main: {from: regulator, pipe: as1432-b/12.70")
    assert warnings(PLAIN, same) == []
    assert "12.70" in STAGED  # after a feed of 7.94: nothing was told of it above


def test_a_pipe_that_cannot_pass_its_load() -> None:
    """Choked flow is told once for the part, and no speed is given for it."""
    leg = ("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 1.5 mm}, length: 1 m")
    assert warnings(PLAIN, leg) == ["leg can't pass its load at any pressure: its figures are no prediction"]


def test_a_speed_that_may_be_heard() -> None:
    """Over 15 m/s in a run or a hose, the fastest of all states; at 15 m/s and below nothing is told."""

    # 40 MJ/h of propane at 101.325 + 2.7 kPa and 15 degC is 2.208e-4 kg/s of 1.951 kg/m3; in a bore d it runs at
    # 1.441e-4 / d2 m/s (d in m).
    def leg(bore_mm: float) -> list[str]:
        return warnings(PLAIN, ("pipe: as1432-b/12.70, length: 1 m", f"pipe: {{bore: {bore_mm} mm}}, length: 0.05 m"))

    assert leg(3.15) == []  # 14.5 m/s
    assert leg(3.0) == ["the gas in leg runs at 16.0 m/s; a small line may be noisy"]
    half = "states: {low: {fryer: 50 %}, high: {fryer: 100 %, urn: 100 %}}\n"
    assert warnings(PLAIN + half, ("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 3 mm}, length: 0.05 m")) == [
        "the gas in leg runs at 16.0 m/s; a small line may be noisy"
    ]
    hose = ("pipe: hose/10, length: 1 m", "pipe: {bore: 2 mm}, length: 0.02 m")
    assert warnings(PLAIN, hose) == ["the gas in hose runs at 18.0 m/s; a small line may be noisy"]


def test_a_formula_outside_its_range() -> None:
    """Each part that is outside is told; darcy holds for all of these."""
    # Re = 4 m / (pi d mu): 0.2206 g/s for 40 MJ/h, mu 7.95 uPa s, bores 13.84, 10.88 and 10 mm.
    said = "the formula is for turbulent flow; the Reynolds number is"
    numbers = {"main": 3870, "leg": 3282, "hose": 1785}
    assert warnings(PLAIN, formula="pole") == [
        f"the pole formula is not for {name}: {said} {number}, below 4000" for name, number in numbers.items()
    ]
    assert warnings(PLAIN, formula="darcy") == []


def test_more_than_can_be_plugged_in_at_once() -> None:
    """One bayonet for two: a state that asks for both says what of it can burn; with two bayonets nothing is said."""
    pot, bay = "  pot:   {plugs-into: any, hose: none, input: 10 MJ/h}\n", "  bay: {at: main, devices: none}\n"
    text = PLAIN + pot
    said = "can burn at once, as outlets or hoses are too few"
    assert warnings(text) == [f"With everything on only 60 MJ/h of 70 MJ/h {said}"]
    both, half = "states:\n  both: [fryer, urn, pot]\n", "  half: {urn: 50 %, pot: 50 %}\n"
    # The worst state first: in `both` more burns.
    assert warnings(text + both + half) == [
        f"In state both only 60 MJ/h of 70 MJ/h {said}",
        f"In state half only 10 MJ/h of 15 MJ/h {said}",
    ]
    assert warnings(text, (bay, bay + bay.replace("bay", "bay-2"))) == []


def test_the_whole_page_names_what_to_check_on_site() -> None:
    """The warnings stand on the whole page as sentences, under their own head."""
    small = PLAIN.replace("main: {from: regulator, pipe: as1432-b/15.88", "main: {from: regulator, pipe: as1432-b/9.52")
    page = as_text(CheckReport(in_full=True).page(whole_check(job_from(small))))
    assert "Check on site:\n- Run leg (bore 10.88 mm) is larger than main (bore 7.7 mm) that feeds it.\n" in page


def test_what_is_odd_of_the_whole_job_has_no_place() -> None:
    """That the gas is not said is of no run and no state; a state of which not all can be on is told by its name."""
    result = check_job(job_from(PLAIN.replace("gas: propane", "gas: {propane: 70 %, n-butane: 30 %}")))
    assert [(warning.code, warning.place, dict(warning.details)) for warning in result.warnings] == [
        ("gas-not-said", "", {})
    ]
    pot = "  pot:   {plugs-into: any, hose: none, input: 10 MJ/h}\n"
    (warning,) = check_job(job_from(PLAIN + pot)).warnings
    assert (warning.code, set(warning.details)) == ("not-together", {"asked_w", "most_w"})
    assert [warning.details[name] * 0.0036 for name in ("asked_w", "most_w")] == pytest.approx([70.0, 60.0])


def test_a_warning_has_the_details_that_are_named() -> None:
    """Each figure in SI units under its name."""
    narrow = PLAIN.replace(
        "main: {from: regulator, pipe: as1432-b/15.88", "main: {from: regulator, pipe: as1432-b/9.52"
    )
    (larger,) = check_job(job_from(narrow)).warnings
    assert (larger.code, larger.place) == ("larger-than-feeder", "leg")
    assert larger.details == {
        "bore_m": pytest.approx(0.01088),
        "feeder": "main",
        "feeder_bore_m": pytest.approx(0.0077),
    }
    fast = PLAIN.replace("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 3 mm}, length: 0.05 m")
    (noisy,) = check_job(job_from(fast)).warnings
    assert (noisy.code, noisy.place, noisy.details) == ("fast", "leg", {"velocity_m_s": pytest.approx(16.0, rel=0.01)})
    choked = PLAIN.replace("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 1.5 mm}, length: 1 m")
    (no_prediction,) = check_job(job_from(choked)).warnings
    assert (no_prediction.code, no_prediction.place, dict(no_prediction.details)) == ("choked", "leg", {})
    main, *_ = check_job(job_from(PLAIN), "pole").warnings
    assert (main.code, main.place, set(main.details)) == ("outside-formula", "main", {"formula", "what"})
    assert main.details["formula"] == "pole"


def test_an_outlet_without_pipe_has_no_speed() -> None:
    """The gas is fast in the narrow leg; the bayonet on it has no length to be heard in."""
    fast = PLAIN.replace("pipe: as1432-b/12.70, length: 1 m", "pipe: {bore: 3 mm}, length: 0.05 m")
    fast = fast.replace("bay: {at: main", "bay: {at: leg").replace("fryer: {at: leg", "fryer: {at: main")
    places = {
        warning.place for warning in check_job(job_from(fast.replace("input: 20 MJ/h", "input: 41 MJ/h"))).warnings
    }
    assert places == {"leg"}
