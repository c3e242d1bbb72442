"""`drawbar new`: starter files that pass the check as written, whatever is filled in; nothing is ever overwritten."""

import itertools
import os
import re
import select
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml

from calls import Call, call_process
from drawbar import templates
from drawbar.answers import whole_check
from drawbar.checking.check import check_job
from drawbar.checking.results import CheckResult
from drawbar.first_draft import Draft, DraftAppliance, drafted, runs_of
from drawbar.problems import Problems
from drawbar.verdict import Verdict
from jobs import CATALOGUE, job_from
from paths import EXAMPLES, ROOT

NAMES = tuple(templates.templates())


@pytest.fixture
def call(drawbar: Callable[..., Call], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., Call]:
    """Return the program as a call in an empty folder."""
    monkeypatch.chdir(tmp_path)
    return drawbar


def checked(text: str) -> CheckResult:
    return check_job(job_from(text))


# the templates


@pytest.mark.parametrize("name", NAMES)
def test_a_template_passes_as_written(name: str) -> None:
    """Every state passes with nothing odd about it, and the text stands in 80 columns, with notes."""
    starter = templates.starter_file(name, {}, CATALOGUE)
    result = checked(starter.text)
    assert result.passes
    assert {reason.code for reason in result.warnings} <= TOLD
    assert starter.changes == ()
    lines = starter.text.splitlines()
    assert max(map(len, lines)) <= 80
    assert sum(line.startswith("#") for line in lines) >= 12
    assert "\t" not in starter.text
    assert yaml.safe_load(starter.text)["job"] == result.job.title  # other YAML tools read it so as well


# Where a rule goes by the tables of its code, what another formula makes of it is told, and nothing else.
TOLD = {"other-formula", "outside-formula"}
WITHOUT_DROP = sorted(set(CATALOGUE.names("rules")) - set(CATALOGUE.rules_with_drop()))
ALTITUDES = ("-100 m", "2000 m")
TEMPERATURES = ("0 degC", "-10 degF", "45 degC")


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("rule", CATALOGUE.rules_with_drop())
def test_it_passes_whatever_is_answered(name: str, rule: str) -> None:
    """Every rule, gas, height and temperature gives a file that passes; what no size of pipe puts right is refused.

    The reader refuses what would be liquid in the open air, the check what is so at the regulator's pressure.
    """
    refused: list[str] = []
    for gas, altitude, temperature in itertools.product(CATALOGUE.gas_names, ALTITUDES, TEMPERATURES):
        answers = {"rule": rule, "gas": gas, "altitude": altitude, "temperature": temperature}
        try:
            starter = templates.starter_file(name, answers, CATALOGUE)
        except Problems as error:
            refused.extend(problem.what.partition(" the gas")[0] for problem in error.problems)
            continue
        result = checked(starter.text)
        assert (result.verdict, result.because) == (Verdict.PASS, ()), answers
        assert {reason.code for reason in result.warnings} <= TOLD
        read = yaml.safe_load(starter.text)
        assert (read["rule"], read["gas"]) == (rule, gas)
        assert read["site"] == {"temperature": temperature, "altitude": altitude}
    # n-butane and isobutane in the hard frost, at both heights; n-butane at 0 degC under the denser air. It boils at
    # -0.5 degC at 101.3 kPa (NIST Chemistry WebBook), and the regulator has 2.75 kPa on top.
    liquid = ["at -23 degC"] * 4 + ["at 0 degC"]
    # BS 6891 has pressures for propane and butane: isobutane where it is a gas, propylene always.
    unpressed = [f"{rule} gives no pressure for this gas"] * (4 + 6) if rule == "bs-6891-lpg" else []
    # The tables of the IFGC are of propane: every other gas that the reader takes, all but the four in the frost.
    untabled = ["ifgc-11inwc is for propane alone, and the job's gas is another"] * 14 if rule == "ifgc-11inwc" else []
    beside = [what for what in refused if what.startswith("the ifgc formula is not for ")]
    assert sorted(refused) == sorted(liquid + unpressed + untabled + beside)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("rule", CATALOGUE.rules_with_drop())
def test_pressure_regulator_vents_and_bottles_pass(name: str, rule: str) -> None:
    """Under each rule set nothing that is judged is open, the bottles included, which stand beside the verdict."""
    whole = whole_check(job_from(templates.starter_file(name, {"rule": rule}, CATALOGUE).text), in_full=False)
    assert (whole.result.verdict, whole.result.because) == (Verdict.PASS, ())
    assert whole.bottles is None or whole.bottles == (Verdict.PASS, ())


@pytest.mark.parametrize("name", NAMES)
def test_the_notes_of_a_template_hold(name: str) -> None:
    """What its notes offer to write is read: a measured tube, own tolerances, none; what is left out is UNDECIDED."""
    text = templates.starter_file(name, {}, CATALOGUE).text
    (measured,) = re.findall(r"`(pipe: \{bore: .*, measured: yes\})`", text)
    (own,) = re.findall(r"^# (tolerances: \{.*\})$", text, re.MULTILINE)
    with_own = re.sub(r"pipe: [\w./-]+", measured, text, count=1).replace(f"# {own}", own)
    job = checked(with_own).job
    assert job.runs[0].pipes[0].bore_tolerance_m == pytest.approx(1e-4)  # the caliper's 0.1 mm
    assert job.tolerances is not None
    assert f"length: {job.tolerances.length * 100:g} %" in own
    assert checked(text.replace(f"# {own}", "tolerances: none")).job.tolerances is None
    for part, left_out in (("devices", "unknown-devices"), ("hose", "unknown-hose")):
        written = re.compile(rf"(?<=[ ]){part}: (?:\[.*\]|[\w-]+)(, |$)", re.MULTILINE)
        if not written.search(text):
            assert f"{part}: none" not in text
            continue
        assert f"`{part}: none`" in text
        assert checked(written.sub(rf"{part}: none\1", text)).verdict is Verdict.PASS
        assert {reason.code for reason in checked(written.sub("", text)).because} == {left_out}


def test_every_answer_is_put_in_and_nothing_else() -> None:
    """The answers stand in their lines; the notes behind them and every other line are the template's."""
    answers = {"title": "Pancake van", "ref": "P-7", "gas": "propylene", "temperature": "-5 degC", "altitude": "600 m"}
    before = templates.starter_file("caravan", {"ref": "Q-0001"}, CATALOGUE).text.splitlines()
    after = templates.starter_file("caravan", answers, CATALOGUE).text.splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert changed == [
        ("job: Caravan", "job: Pancake van"),
        (
            "ref: Q-0001                     # your own job number, if you have one",
            "ref: P-7                        # your own job number, if you have one",
        ),
        (
            "gas: propane                    # what is in the bottle: `drawbar list gases`",
            "gas: propylene                  # what is in the bottle: `drawbar list gases`",
        ),
        (
            "site: {temperature: 15 degC, altitude: 0 m}     # of the gas, and above the sea",
            "site: {temperature: -5 degC, altitude: 600 m}     # of the gas, and above the sea",
        ),
    ]


@pytest.mark.parametrize(
    "title", ["Trailer: rear", "# 7", "no", "[x]", 'a "b" \\c', "'tis", "- one", "Bäckerei 漢 €", "@x", "{a: b", "1:30"]
)
def test_any_title_is_valid_yaml(title: str) -> None:
    """A title that YAML would take for something else is put in quotes."""
    assert checked(templates.starter_file("caravan", {"title": title, "ref": title}, CATALOGUE).text).job.title == title


def test_a_mixture_is_put_in_as_it_is_typed() -> None:
    """A gas may be a mixture in braces; one that is not closed is told as in a file."""
    starter = templates.starter_file("caravan", {"gas": "{propane: 70 %, n-butane: 30 %}"}, CATALOGUE)
    assert "gas: {propane: 70 %, n-butane: 30 %}  # what" in starter.text
    assert [share for _, share in checked(starter.text).job.gas.fractions] == pytest.approx([0.7, 0.3])
    with pytest.raises(Problems, match="a bracket opens here, and its `}` or a comma is missing"):
        templates.starter_file("caravan", {"gas": "{propane: 70 %"}, CATALOGUE)


def test_the_regulator_follows_the_rule() -> None:
    """A rule of another nominal pressure sets the regulator, and the program says so."""
    starter = templates.starter_file("camper-trailer", {"rule": "bs-6891-lpg"}, CATALOGUE)
    assert "regulator: {outlet: 3.7 kPa, capacity: 120 MJ/h}" in starter.text
    assert starter.changes == ("The regulator is set to 3.7 kPa, the nominal pressure of bs-6891-lpg for this gas.",)


def test_pipes_are_chosen_anew_where_the_template_s_would_fail() -> None:
    """Half the allowed drop at a great height is too much for the van's own pipes: others are chosen, and said."""
    answers = {"rule": "ifgc-11inwc", "altitude": "4500 m", "temperature": "50 degC"}
    text = templates.starter_file("food-van", {}, CATALOGUE).text
    for old, new in (("as-nzs-5601.2 ", "ifgc-11inwc "), ("altitude: 0 m", "altitude: 4500 m"), ("15 degC", "50 degC")):
        text = text.replace(old, new)
    assert not checked(text).passes
    starter = templates.starter_file("food-van", answers, CATALOGUE)
    assert checked(starter.text).passes
    assert starter.changes == ("The pipes are not the template's: `drawbar size` chose them for these answers.",)


# the command


def test_it_writes_the_file_and_says_what_comes_next(tmp_path: Path) -> None:
    """With options nothing is asked; what is said at the end works as typed."""
    words = ("new", "my van.yaml", "--template", "food-van", "--title", "Pancake: van")
    code, printed, problems = call_process(*words, cwd=tmp_path)
    assert (code, problems) == (0, "")
    assert printed.startswith("Pancake: van: PASS\n")
    assert printed.endswith(
        "\n\nmy van.yaml is written. Read it, put your own figures in, then type:\n  drawbar check 'my van.yaml'\n"
        "So that your editor completes and checks it:\n  drawbar schema --install\n"
    )
    assert 'job: "Pancake: van"\n' in (tmp_path / "my van.yaml").read_text(encoding="utf-8")
    code, page, problems = call_process("check", "my van.yaml", cwd=tmp_path)
    assert (code, problems) == (0, "")
    assert page.startswith("Pancake: van: PASS\n")


@pytest.mark.parametrize("words", [("new",), ("new", "-")])
def test_without_a_file_it_prints(words: tuple[str, ...], call: Callable[..., Call], tmp_path: Path) -> None:
    """The first template comes on standard output as it is."""
    assert call(*words) == (0, templates.starter_file(templates.DEFAULT_TEMPLATE, {}, CATALOGUE).text, "")
    assert list(tmp_path.iterdir()) == []


def test_it_never_writes_over_a_file(call: Callable[..., Call], tmp_path: Path) -> None:
    """A file, a folder, a link to nowhere: each is left as it is, with exit code 2."""
    (tmp_path / "job.yaml").write_text("mine", encoding="utf-8")
    (tmp_path / "folder").mkdir()
    (tmp_path / "link.yaml").symlink_to("nowhere.yaml")
    there = "is there already, and is left as it is; choose another name\n"
    for name, message in (
        ("job.yaml", there),
        ("link.yaml", there),
        ("folder", "is a folder; name a file in it\n"),
        ("none/job.yaml", "there is no folder none\n"),
    ):
        assert call("new", name) == (2, "", f"{name}: {message}")
    assert (tmp_path / "job.yaml").read_text(encoding="utf-8") == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "job.yaml", "link.yaml"]


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--temperature", "15"), "--temperature: `15` has no unit; write one of degC, degF, K after it"),
        (("--gas", "propan"), "--gas: `propan` is not a gas of the catalogue; did you mean `propane`?"),
        (("--gas", "{propane: 70 %, n-butane: 20 %}"), "--gas: the shares add up to 90 %; make them 100 % by mole"),
        (
            ("--gas", "{propane: 100 %}\nx: 1"),
            "--gas: `{propane: 100 %} x: 1` holds a line break, a tab or blanks too many; leave them out",
        ),
        (
            ("--rule", "as-5601"),
            "--rule: `as-5601` is not a rule set of the catalogue; did you mean `as-nzs-5601.1` or `as-nzs-5601.2`?",
        ),
        (
            ("--rule", "trf-50"),
            "--rule: rule `trf-50` has no allowed drop here: no page that could be read gives the drop of the "
            "technical rules for LPG there; write `limits: {drop: ...}` beside it, as the code in force has it",
        ),
        (("--altitude", "9000 m"), "--altitude: `9000 m` can't be right; write from -400 m to 5000 m"),
        (("--title", " "), "--title: is empty; write a line of text"),
        (("--template", "camper"), "--template: `camper` is not a template; did you mean `camper-trailer`?"),
        (
            ("--gas", "n-butane", "--temperature", "-20 degC"),
            "--temperature: at -20 degC the gas condenses above 45 kPa absolute; give the temperature that the line "
            "is used at, a gas that boils in the cold, or a lower pressure",
        ),
        (
            ("--rule", "bs-6891-lpg", "--gas", "propylene"),
            "--gas: bs-6891-lpg gives no pressure for this gas; write `limits:` of the code that applies to it",
        ),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_a_wrong_option_is_told_in_the_reader_s_words(
    options: tuple[str, ...], message: str, call: Callable[..., Call], tmp_path: Path
) -> None:
    """The sentence is the reader's own, at the option that brings it; nothing is written."""
    code, printed, problems = call("new", "job.yaml", *options)
    assert (code, printed) == (2, "")
    assert problems.splitlines()[-1] == f"Error: Invalid value for {message}"
    assert list(tmp_path.iterdir()) == []


def test_the_list_names_every_template(call: Callable[..., Call]) -> None:
    """--list prints each name with what it is, within 80 columns."""
    code, listing, problems = call("new", "--list")
    assert (code, problems) == (0, "")
    assert [line.split("  ")[0] for line in listing.splitlines()[2:] if not line.startswith(" ")] == list(NAMES)
    assert max(map(len, listing.splitlines())) <= 80
    assert call("new", "x.yaml", "--list").code == 2


# on a terminal


def on_terminal(answers: list[str], *call: str, cwd: Path) -> tuple[int, str]:
    """Run a call on a pseudo-terminal, answer each question as it comes, and return the exit code and the screen."""
    pty = pytest.importorskip("pty")
    pid, master = pty.fork()
    if pid == 0:  # pragma: no cover - the child
        os.chdir(cwd)
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # a job in the background is started with it ignored
        os.environ.update(PYTHONPATH=str(ROOT / "src"), TERM="xterm", LC_ALL="C.UTF-8")
        os.execv(sys.executable, [sys.executable, "-m", "drawbar", *call])
    screen, waiting = "", list(answers)
    seen, last = 0, time.monotonic()
    while time.monotonic() - last < 20.0:
        if select.select([master], [], [], 0.1)[0]:
            try:
                piece = os.read(master, 65536).decode("utf-8", "replace")
            except OSError:  # the child is gone
                break
            if not piece:
                break
            screen += piece
            last = time.monotonic()
        if waiting and screen[seen:].rstrip(" ").endswith(":"):
            seen = len(screen)
            os.write(master, (waiting.pop(0) + "\n").encode())
    else:
        os.kill(pid, signal.SIGKILL)  # it has said nothing for long: it waits for an answer
    code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    os.close(master)
    return code, screen.replace("\r\n", "\n")


ANSWERS = [
    *("", "", "butan", "n-butane", "", "180", "180 MJ/h", "", "", ""),  # to the bottles, with two slips
    *("fryer", "50", "50 MJ/h", ""),
    *("fryer", "urn", "", "p", ""),  # a name that is taken; a type of the catalogue; no more
    *("0", "", "1.5 m", "1.5 m hose/8"),
    *("", "3,6 m", "3.6 m", "1 m", "2 m as1432-b/9.52"),
]


def test_it_asks_on_a_terminal(tmp_path: Path) -> None:
    """Bad answers are asked again with what would fit; Enter takes the default; the file and its verdict are shown."""
    code, screen = on_terminal(ANSWERS, "new", "taco-van.yaml", cwd=tmp_path)
    assert code == 0, screen
    screen = re.sub(r"\x1b\[[0-9;]*m", "", screen)  # the colour of the verdict
    folded = " ".join(screen.split())
    for message in (
        "What is the job called [Taco van]:",
        "Error: `butan` is not a gas of the catalogue; did you mean `n-butane`?",
        "Error: `180` has no unit; write one of MJ/h, kW,",
        "Error: there is `fryer` already; give each its own name",
        "Error: write a whole number from 1 to 40",
        "Error: `1.5 m` is not a length and a pipe; write for example `1.5 m hose/8`, or `none`",
        "Error: `3,6 m` has a comma; write `3.6 m`",
        "Length of to-fryer, from the end of main to fryer:",
        "Taco van: PASS",
        "drawbar check taco-van.yaml",
    ):
        assert message in folded, message
    assert max(map(len, screen.splitlines())) <= 80
    fryer, urn = DraftAppliance("fryer", "50 MJ/h"), DraftAppliance("urn", "urn", is_portable=True)
    lengths = {"main": "3.6 m", "to-fryer": "1 m", "to-bayonet": "2 m as1432-b/9.52"}
    draft = Draft("Taco van", (fryer, urn), lengths, gas="n-butane", capacity="180 MJ/h", hose="1.5 m hose/8")
    assert (tmp_path / "taco-van.yaml").read_text(encoding="utf-8") == drafted(draft, CATALOGUE).text


def test_ending_the_questions_writes_nothing(tmp_path: Path) -> None:
    """Ctrl-D or Ctrl-C at the last questions ends the call, and there is no file."""
    for end in ("\x04", "\x03"):
        code, screen = on_terminal([*ANSWERS[:-3], end], "new", "van.yaml", cwd=tmp_path)
        assert code == 130
        assert "drawbar: stopped" in screen
        assert list(tmp_path.iterdir()) == []


# a file of one's own, by options

OWN = (
    *("--appliance", "fryer=50 MJ/h", "--appliance", "oven", "--portable", "urn=21 MJ/h", "--portable", "lamp=lamp"),
    *("--run", "main=3.6 m", "--run", "to-fryer=1 m", "--run", "to-oven=1.2 m as1432-b/9.52"),
    *("--run", "to-bayonet-1=2 m", "--run", "to-bayonet-2=0.4 m", "--hose", "1.5 m hose/8", "--bottles", "2 x 9 kg"),
)


def test_options_make_a_file_of_one_s_own(call: Callable[..., Call], tmp_path: Path) -> None:
    """What is said stands in it; what is not is on the safe side or left out, and the verdict says so."""
    code, out, err = call("new", "taco.yaml", *OWN)
    assert (code, err) == (0, "")
    assert out.startswith("Taco: UNDECIDED\n")  # the regulator's capacity is not known
    assert "Write its `capacity:`." in out
    text = (tmp_path / "taco.yaml").read_text(encoding="utf-8")
    assert text.startswith("# yaml-language-server: $schema=.drawbar/job.schema.json\n")
    read = yaml.safe_load(text)
    assert read["regulator"] == {"outlet": "2.75 kPa"}
    assert read["cylinders"]["count"] == 2
    assert read["appliances"] == {
        "fryer": {"at": "to-fryer", "input": "50 MJ/h"},
        "oven": {"at": "to-oven", "input": {"like": "oven"}},
        "urn": {"plugs-into": "any", "hose": "hose", "input": "21 MJ/h"},
        "lamp": {"plugs-into": "any", "hose": "hose", "input": {"like": "lamp"}},
    }
    assert read["runs"]["to-oven"]["pipe"] == "as1432-b/9.52"
    assert read["runs"]["to-bayonet-2"]["rise"] == "0.4 m"  # no more than its length
    assert "states" not in read
    job = job_from(text)
    assert {state.name for state in job.states} == {"all on"}
    given = call("new", "known.yaml", *OWN, "--capacity", "180 MJ/h").out
    assert given.startswith("Known: PASS\n")
    assert "PASS counts what it marks `guess`" in given
    assert call("check", "known.yaml").code == 0


def test_what_nobody_said_errs_on_the_safe_side() -> None:
    """Each line marked `guess` takes pressure: without it an appliance has more to spare, as drawn and at worst."""
    fryer, urn = DraftAppliance("fryer", "50 MJ/h"), DraftAppliance("urn", "21 MJ/h", is_portable=True)
    lengths = {"main": "3.6 m", "to-fryer": "1 m", "to-bayonet": "2 m"}
    draft = Draft("t", (fryer, urn), lengths, capacity="180 MJ/h", hose="1.5 m hose/8", bottles="2 x 9 kg")
    lines = drafted(draft, CATALOGUE).text.splitlines()
    guesses = [number for number, line in enumerate(lines) if "# guess" in line and not line.startswith("#")]
    assert len(guesses) == 7

    def least(text: str) -> float:
        return min(state.worst_margin_pa for state in checked(text).states)

    def spare(text: str) -> float:
        return sum(figures.margin_pa for state in checked(text).states for figures in state.appliances)

    whole = "\n".join(lines)
    for number in guesses:
        left_out = [*lines[:number], *lines[number + 1 :]]
        if "devices" in lines[number]:
            left_out.insert(number, "    devices: none")
        assert spare("\n".join(left_out)) > spare(whole), lines[number]
        assert least("\n".join(left_out)) >= least(whole), lines[number]
    sea = whole.replace("altitude: 0 to 1000 m", "altitude: 0 m").replace("5 to 40 degC", "15 degC")
    assert least(sea) > least(whole)


@pytest.mark.parametrize(
    ("left_out", "codes"),
    [
        ({"capacity": None}, {"regulator-rating"}),
        ({"hose": None}, {"unknown-hose"}),
        ({"hose": None, "capacity": None}, {"regulator-rating", "unknown-hose"}),
        ({"hose": "none"}, set()),
    ],
)
def test_what_is_not_known_never_ends_in_pass(left_out: dict, codes: set[str]) -> None:
    """A regulator without its capacity and a portable without its hose leave the verdict open."""
    fryer, urn = DraftAppliance("fryer", "50 MJ/h"), DraftAppliance("urn", "21 MJ/h", is_portable=True)
    lengths = {"main": "3.6 m", "to-fryer": "1 m", "to-bayonet": "2 m"}
    draft = Draft("t", (fryer, urn), lengths, capacity="180 MJ/h", hose="1.5 m hose/8")
    result = checked(drafted(draft._replace(**left_out), CATALOGUE).text)
    assert {reason.code for reason in result.because} == codes
    assert (result.verdict is Verdict.PASS) == (not codes)


@pytest.mark.parametrize("rule", CATALOGUE.rules_with_drop())
@pytest.mark.parametrize("gas", ["propane", "n-butane"])
def test_every_rule_and_gas_gives_a_file(rule: str, gas: str) -> None:
    """The regulator is set to the rule's pressure for the gas, and the sizes pass."""
    fryer, oven = DraftAppliance("fryer", "45000 Btu/h"), DraftAppliance("oven", "oven")
    lengths = {"main": "12 ft", "to-fryer": "3 ft 6 in", "to-oven": "4 ft"}
    starter = drafted(Draft("t", (fryer, oven), lengths, gas=gas, rule=rule, capacity="180000 Btu/h"), CATALOGUE)
    result = checked(starter.text)
    # The tables of the code are of propane: of another gas the verdict stays open.
    other_gas = {"rule-gas"} if rule == "ifgc-11inwc" and gas != "propane" else set()
    assert {reason.code for reason in result.because} == other_gas
    assert (result.verdict is Verdict.PASS) == (not other_gas)
    assert "outlet: 11 inH2O" in starter.text or rule != "ifgc-11inwc"


@pytest.mark.parametrize("rule", WITHOUT_DROP)
def test_a_rule_without_a_drop_asks_for_one(rule: str) -> None:
    """Without `--drop` it is said what is missing; with it the limit stands beside the rule, in both kinds of file."""
    draft = Draft("t", (DraftAppliance("oven", "30 MJ/h"),), {"main": "2 m"}, rule=rule, capacity="180 MJ/h")
    for written_file in (
        lambda drop: drafted(draft._replace(drop=drop or None), CATALOGUE),
        lambda drop: templates.starter_file(NAMES[0], {"rule": rule, **({"drop": drop} if drop else {})}, CATALOGUE),
    ):
        with pytest.raises(Problems, match=f"rule `{rule}` has no allowed drop here"):
            written_file("")
        assert f"rule: {rule}\nlimits: {{drop: 0.15 kPa}}" in re.sub(r"  +#.*", "", written_file("0.15 kPa").text)


def test_one_appliance_needs_no_fork() -> None:
    """A line with one end is one run."""
    assert runs_of(Draft("t", (DraftAppliance("urn", "urn", is_portable=True),))) == {"main": "bayonet"}
    assert runs_of(Draft("t", (DraftAppliance("oven", "oven"),))) == {"main": "oven"}


def test_where_no_sizes_pass_the_verdict_says_what_is_short() -> None:
    """A run of small tube that is laid stays; the rest is sized as if all were new, and said."""
    fryer, oven = DraftAppliance("fryer", "50 MJ/h"), DraftAppliance("oven", "oven")
    lengths = {"main": "3.6 m as1432-b/6.35", "to-fryer": "1 m", "to-oven": "1 m"}
    starter = drafted(Draft("t", (fryer, oven), lengths, capacity="180 MJ/h"), CATALOGUE)
    assert starter.changes == ("No sizes pass with the pipes that are laid; these would, were all of them new.",)
    assert "pipe: as1432-b/6.35" in starter.text
    assert checked(starter.text).verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--run", "main=1 m"), "say which appliances there are, as --appliance fryer='50 MJ/h'."),
        (("--appliance", "fryer"), "--appliance: `fryer` is not NAME=VALUE; write for example fryer='50 MJ/h'"),
        (("--appliance", "fryer=50"), "--appliance: `50` has no unit; write one of"),
        (("--appliance", "oven=ovn"), "--appliance: `ovn` is not an appliance of the catalogue; did you mean `oven`?"),
        (("--appliance", "oven", "--portable", "oven"), "--portable: there is `oven` already; give each its own name"),
        (("--appliance", "any=9 MJ/h"), "--appliance: `any` has a meaning of its own; choose another name"),
        (("--appliance", "oven"), "how long are the runs? Say it by --run main='LENGTH'"),
        (("--appliance", "oven", "--run", "mian=1 m"), "--run: there is no run `mian`; there are main"),
        (
            ("--appliance", "oven", "--run", "main=1"),
            "--run: `1` has no unit; write one of mm, cm, m,",
        ),
        (
            ("--appliance", "oven", "--run", "main=1 m AS1432B/9.52"),
            "--run: `AS1432B/9.52` is not a pipe of the catalogue; did you mean `as1432-b/9.52`?",
        ),
        (("--portable", "urn", "--hose", "hose/8"), "--hose: `hose/8` is not a length and a pipe;"),
        (("--appliance", "oven", "--tube", "as1432-x"), "--tube: `as1432-x` is not a pipe family of the catalogue;"),
        (("--appliance", "oven", "--capacity", "9"), "--capacity: `9` has no unit; write one of"),
        (("--appliance", "oven", "--bottles", "two"), "--bottles: `two` is not a number and a unit;"),
        (("--appliance", "oven", "--template", "caravan"), "--template has appliances and a line of its own;"),
        (("--appliance", "oven", "--list"), "--list goes alone."),
    ],
)
def test_a_wrong_option_of_one_s_own_is_told(words: tuple[str, ...], told: str, call, tmp_path: Path) -> None:
    """At the option that brings it, with what would fit; nothing is written."""
    code, out, err = call("new", "own.yaml", *words)
    assert (code, out) == (2, "")
    assert told in err
    assert list(tmp_path.iterdir()) == []


def test_names_and_titles_are_written_as_text(call: Callable[..., Call], tmp_path: Path) -> None:
    """What YAML would take for something else is put in quotes, and no answer becomes more than an answer."""
    words = ("--appliance", "no=9 MJ/h", "--appliance", "wok: 2=9 MJ/h", "--title", "a: {b} # c")
    lengths = ("--run", "main=2 m", "--run", "to-no=1 m", "--run", "to-wok: 2=1 m")
    assert call("new", "own.yaml", *words, *lengths, "--capacity", "99 MJ/h").code == 0
    job = job_from((tmp_path / "own.yaml").read_text(encoding="utf-8"))
    assert [appliance.name for appliance in job.appliances] == ["no", "wok: 2"]
    assert job.title == "a: {b} # c"
    assert call("new", "x.yaml", *words, *lengths, "--capacity", "99 MJ/h}\nspace: {").code == 2


def test_the_wheel_carries_the_templates() -> None:
    """The package data take the folder of the templates in."""
    assert re.search(r'^drawbar = \[.*"data/templates/\*".*\]$', (ROOT / "pyproject.toml").read_text(), re.MULTILINE)


def test_the_examples_are_listed(drawbar):
    """--example without a name lists every YAML file of the examples."""
    code, out, err = drawbar("new", "--example")
    assert (code, err) == (0, "")
    names = [line.split()[0] for line in out.splitlines()[2:] if line[:1].strip()]
    assert names == sorted(path.stem for path in EXAMPLES.glob("*.yaml"))


def test_an_example_is_written_as_it_is(drawbar, tmp_path, monkeypatch):
    """It is the example's own text, printed or in a new file; a file that is there is left alone."""
    monkeypatch.chdir(tmp_path)
    text = (EXAMPLES / "harvest-fair-trailer.yaml").read_text(encoding="utf-8")
    assert drawbar("new", "--example", "harvest-fair-trailer") == (0, text, "")
    assert drawbar("new", "--example", "harvest-fair-trailer", "van.yaml") == (0, "van.yaml is written.\n", "")
    assert (tmp_path / "van.yaml").read_text(encoding="utf-8") == text
    code, out, err = drawbar("new", "--example", "prices", "van.yaml")
    assert (code, out) == (2, "")
    assert err == "van.yaml: is there already, and is left as it is; choose another name\n"
    assert (tmp_path / "van.yaml").read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["harvest-fair-trailr"], "`harvest-fair-trailr` is not an example; did you mean `harvest-fair-trailer`?"),
        (["prices", "--title", "x"], "--example is written as it is; leave the other options out."),
        (["prices", "--template", "caravan"], "--example is written as it is; leave the other options out."),
        (["prices", "--list"], "--list goes alone."),
    ],
)
def test_an_example_that_cannot_be_is_told(drawbar, words, told):
    """A name that is none, and options that an example has no use for, end with exit code 2 and what to type."""
    code, out, err = drawbar("new", "--example", *words)
    assert (code, out) == (2, "")
    assert told in err


@pytest.mark.parametrize(
    ("length", "outlet"),
    [
        ("3.6 m", "2.75 kPa"),
        ("12 ft", "11 inH2O"),
        ("12 ft.", "11 inH2O"),
        ("12\u2032", "11 inH2O"),
        ("6 1/2 in.", "11 inH2O"),
        ("12 ft 6 in b88-m/1/2", "11 inH2O"),
    ],
)
def test_lengths_say_which_units_go_with_them(length: str, outlet: str) -> None:
    """Whichever way feet and inches are written, the rest of the file is in the units that go with them."""
    lengths = {"main": length, "to-fryer": "1 m"}
    draft = Draft("t", (DraftAppliance("fryer", "50 MJ/h"),), lengths)
    assert f"{{outlet: {outlet}" in drafted(draft, CATALOGUE).text
