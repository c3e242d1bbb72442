"""What a shell completes, by click's own protocol: the words of the line come in the environment, the answers in lines.

Names of a job are those of the file that stands earlier on the line.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from calls import Call
from drawbar.catalogue.listing import LISTED_KINDS, listed_names
from jobs import CATALOGUE
from paths import EXAMPLES

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
BOAT = EXAMPLES / "riverboat-two-stage.yaml"
LIKE = """\
job: t
gas: propane
limits: {drop: 0.25 kPa}
regulator: {outlet: 2.75 kPa}
runs: {main: {from: regulator, pipe: as1432-b/12.70, length: 2 m}}
appliances: {old-urn: {at: main, input: {like: urn}}, lamp: {at: main, input: 1 MJ/h}}
"""


@pytest.fixture
def complete(drawbar: Callable[..., Call], monkeypatch: pytest.MonkeyPatch) -> Callable[..., list[str]]:
    """Return a call for what is offered behind the words of a line, the last of which is being typed."""

    def offered(*words: str | Path, shell: str = "bash") -> list[str]:
        typed = [str(word) for word in words]
        assert not any(" " in word for word in typed)
        monkeypatch.setenv("_DRAWBAR_COMPLETE", f"{shell}_complete")
        monkeypatch.setenv("COMP_WORDS", " ".join(["drawbar", *typed]))
        monkeypatch.setenv("COMP_CWORD", typed[-1] if shell == "fish" else str(len(typed)))
        code, out, err = drawbar()
        assert (code, err) == (0, "")
        return [line for line in out.splitlines() if line]

    return offered


def names(lines: list[str]) -> list[str]:
    """Return the names of what bash is offered, without their type."""
    return [line.removeprefix("plain,") for line in lines]


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (("explain", TRAILER, ""), "main galley kerbside rear fryer urn griddle basin"),
        (("explain", TRAILER, "g"), "galley griddle"),
        (("explain", TRAILER, "--state", "s"), "service"),
        (("supply", TRAILER, "--state", ""), "breakfast service everything"),
        (("supply", "--format", "json", TRAILER, "--state", "b"), "breakfast"),
        (("hotwater", TRAILER, "--appliance", ""), "basin"),
        (("tightness", BOAT, "--section", ""), "regulator galley"),
        (("tightness", TRAILER, "--section", ""), ""),  # of one stage there is nothing to choose
        (("recheck", TRAILER, "--swap", ""), "fryer= urn= griddle= basin="),
        (("recheck", TRAILER, BOAT, "--swap", "u"), "urn="),
        (("check", TRAILER, "--swap", "urn=bai"), "urn=bain-marie"),
        (("check", TRAILER, "--set", "runs.galley.l"), "runs.galley.length="),
        (("check", TRAILER, "--set", "reg"), "regulator.outlet= regulator.capacity="),
        (("list", "pipes", "as1432"), "as1432-a as1432-b as1432-c as1432-d"),
        (("list", "bottles", "1"), "100-lb 11-kg 13-kg 15-kg 19-kg 11-kg-refillable 10-kg-composite"),
        (("list", "nothing", ""), ""),
        (("schema", "--of", "p"), "prices"),
        (("new", "--portable", "heater=instantaneous-heater-f"), "heater=instantaneous-heater-fixed"),
        (("new", "--tube", "b"), "b88-k b88-l b88-m b280"),
        # a job that is not named, not there, or read from the terminal: nothing, and no message
        (("supply", "--state", ""), ""),
        (("explain", "none.yaml", ""), ""),
        (("explain", "-", ""), ""),
        (("explain", EXAMPLES, ""), ""),
    ],
    ids=lambda value: " ".join(map(str, value)).replace(str(EXAMPLES), "") if isinstance(value, tuple) else "",
)
def test_names_are_offered(words, offered, complete):
    assert names(complete(*words)) == offered.split()


@pytest.mark.parametrize("kind", LISTED_KINDS)
def test_every_kind_that_is_listed_completes(kind, complete):
    """The kinds behind `list`, and behind each all its names."""
    assert kind in names(complete("list", kind[:4]))
    assert names(complete("list", kind, "")) == listed_names(kind, CATALOGUE)


def test_a_job_that_is_being_written_completes_as_far_as_it_stands(complete, tmp_path, monkeypatch):
    """Problems of the reader are no matter; of a text that is no YAML there is nothing to offer."""
    monkeypatch.chdir(tmp_path)
    Path("half.yaml").write_text("runs: {main: {length: 3}, rear: }\nappliances: [x]\nstates: {a b: [x], 1: [x]}\n")
    assert names(complete("explain", "half.yaml", "")) == ["main", "rear"]
    assert names(complete("supply", "half.yaml", "--state", "")) == ["a b", "1"]
    Path("none.yaml").write_text("runs: {main: [")
    assert complete("explain", "none.yaml", "") == []


def test_types_in_a_job_can_be_swapped_and_its_state_has_a_name(complete, tmp_path, monkeypatch):
    """`like: urn` is swapped by the type as well; a job without states has one with everything on."""
    monkeypatch.chdir(tmp_path)
    Path("job.yaml").write_text(LIKE)
    assert names(complete("recheck", "job.yaml", "--swap", "")) == ["old-urn=", "lamp=", "urn="]
    assert names(complete("supply", "job.yaml", "--state", "")) == ["all on"]


def test_a_library_of_the_call_completes(complete, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("ours.yaml").write_text("fittings: {our-bend: {title: Bend, ratio: 20, source: measured}}\n")
    assert names(complete("list", "--library", "ours.yaml", "fittings", "our")) == ["our-bend"]
    assert names(complete("list", "--library", "none.yaml", "fittings", "uni")) == ["union"]


def test_zsh_and_fish_are_offered_the_same(complete):
    """Each in its own form: zsh takes three lines a name, fish one."""
    assert complete("explain", TRAILER, "ga", shell="zsh") == ["plain", "galley", "_"]
    assert complete("explain", TRAILER, "ga", shell="fish")[-1].startswith("plain,")
