"""The slips of a first hour, each by somebody who has never written YAML: what the program says to type instead."""

import pytest

from drawbar.jobfile.reader import job_of
from drawbar.problems import Problems
from jobs import CATALOGUE
from paths import EXAMPLE

GOOD = EXAMPLE.read_text(encoding="utf-8")
KNOWN_RUNS = "known here: main, galley, kerbside, rear"

# What is typed, in place of what, and all that is said: (place in the job, what is wrong, what to type).
SLIPS = [
    # a unit forgotten or half written
    (
        "input: 50 MJ/h",
        "input: 50",
        (
            "appliances.fryer.input",
            "`50` has no unit",
            "write one of MJ/h, kW, W, Btu/h, kg/h, g/h, lb/h, m3/h, ft3/h after it",
        ),
    ),
    ("input: 50 MJ/h", "input: 50 MJ", ("appliances.fryer.input", "`MJ` is not a unit here", "did you mean `MJ/h`?")),
    (
        "temperature: 15 degC",
        "temperature: 15",
        ("site.temperature", "`15` has no unit", "write one of degC, degF, K after it"),
    ),
    ("outlet: 2.75 kPa", "outlet: 2.75 kpa", ("regulator.outlet", "`kpa` is not a unit here", "did you mean `kPa`?")),
    ("fryer: 100 %", "fryer: 100", ("states.service.fryer", "`100` has no unit", "write % after it")),
    (
        "{elbow-90: 3}",
        "{elbow-90: 3 m}",
        (
            "runs.main.fittings.elbow-90",
            "`3 m` can't stand here",
            "write a whole number from 1 to 200, without a unit",
        ),
    ),
    (
        "rule: as-nzs-5601.2",
        "rule: AS5601",
        ("rule", "`AS5601` is not a rule set of the catalogue", "did you mean `as-nzs-5601.1` or `as-nzs-5601.2`?"),
    ),
    # YAML itself
    (
        "job: Harvest-fair food trailer",
        "job: Trailer: rear",
        ("", "a second `: ` on the line", 'put a text that holds a colon in quotes, as in `job: "Trailer: rear line"`'),
    ),
    (
        "job: Harvest-fair food trailer",
        "job: “Trailer: rear”",
        ("", "a second `: ` on the line, and curly quotes, which are no quotes here", 'type straight ones: `"`'),
    ),
    ("  galley:   {", "\tgalley:   {", ("", "a tab stands in the indentation", "use spaces")),
    ("gas: propane", "gas:propane", ("", "`gas:propane` has no space after its colon", "write `NAME: VALUE`")),
    (
        "{elbow-90: 3}",
        "{elbow-90:3}",
        ("runs.main.fittings", "`elbow-90:3` has no space after its colon", "write `elbow-90: 3`"),
    ),
    (
        "{tee-through: 1}}",
        "{tee-through: 1}",
        (
            "",
            "a bracket opens here, and its `}` or a comma is missing",
            "close it with `}`, and put a comma between its parts",
        ),
    ),
    (
        "{elbow-90: 3}",
        "[elbow-90]",
        ("runs.main.fittings", "is a list", "write each with its number, as `{elbow-90: 3}`"),
    ),
    # names
    (
        "from: regulator",
        "from: regulater",
        ("runs.main.from", "there is no run `regulater` to start from", "did you mean `regulator`?"),
    ),
    (
        "from: regulator",
        "from: “regulator”",
        ("runs.main.from", "there is no run `“regulator”` to start from", "did you mean `regulator`?"),
    ),
    (
        "galley:   {from: main",
        "galley:   {from: galley",
        (
            "runs.galley.from",
            "goes round in a loop: it starts from itself",
            "write the run that feeds it, or `regulator`",
        ),
    ),
    (
        "from: regulator",
        "from: galley",
        (
            "runs.main.from",
            "goes round in a loop: main from galley from main",
            "one run of it must start from `regulator` or the rest of the line",
        ),
    ),
    (
        "rear:     {from: kerbside",
        "rear:     {from: kerb-bayonet",
        (
            "runs.rear.from",
            "there is no run `kerb-bayonet` to start from",
            "that is an outlet: write a run, as `kerbside` where that is",
        ),
    ),
    (
        "rear:     {from: kerbside",
        "rear:     {from: fryer",
        (
            "runs.rear.from",
            "there is no run `fryer` to start from",
            "that is an appliance: write a run, as `galley` where that is",
        ),
    ),
    (
        "main, pipe: as1432-b/12.70, length: 1.1 m",
        "main, pipe: 12.70, length: 1.1 m",
        (
            "runs.galley.pipe",
            "`12.70` is not a family and a size",
            "say of which tube: `as1432-a/12.70` or `as1432-b/12.70` or `as1432-c/12.70` (see `drawbar list pipes`)",
        ),
    ),
    (
        "main, pipe: as1432-b/12.70, length: 1.1 m",
        "main, pipe: as1432-b/12.7, length: 1.1 m",
        ("runs.galley.pipe", "`12.7` is not a size of as1432-b", "did you mean `12.70`?"),
    ),
    (
        "plugs-into: any, hose: short-hose",
        "at: kerb-bayonet, hose: short-hose",
        (
            "appliances.urn.at",
            "there is no run `kerb-bayonet`",
            "that is an outlet: write `plugs-into: kerb-bayonet`",
        ),
    ),
    (
        "plugs-into: any",
        "plugs-into: galley",
        (
            "appliances.urn.plugs-into",
            "`galley` is not an outlet of this job",
            "that is a run: write `at: galley` if it is fixed there, else one of the `outlets:`",
        ),
    ),
    (
        "fryer:    {at: galley",
        "fryer:    {at: gally",
        ("appliances.fryer.at", "there is no run `gally`", "did you mean `galley`?"),
    ),
    (
        "fryer:    {at: galley",
        "fryer:    {at: regulator",
        (
            "appliances.fryer.at",
            "there is no run `regulator`",
            "put a run from `regulator` in between, and write its name",
        ),
    ),
    (
        "fryer:    {at: galley",
        "fryer:    {at: urn",
        ("appliances.fryer.at", "there is no run `urn`", "that is an appliance: write a run"),
    ),
    (
        "hose: short-hose, input: 21",
        "hose: hose/8, input: 21",
        (
            "appliances.urn.hose",
            "`hose/8` is not a hose of this job",
            "that is a pipe: write the name of one of the `hoses:`, as `short-hose`",
        ),
    ),
    (
        "[urn, fryer]",
        "[urn, kerb-bayonet]",
        (
            "states.breakfast",
            "there is no appliance `kerb-bayonet`",
            "that is an outlet: write appliances, known here: fryer, urn, griddle, basin",
        ),
    ),
    (
        "[urn, fryer]",
        "[urn, galley]",
        (
            "states.breakfast",
            "there is no appliance `galley`",
            "that is a run: write appliances, known here: fryer, urn, griddle, basin",
        ),
    ),
]


@pytest.mark.parametrize(("right", "typed", "said"), SLIPS, ids=[f"{typed} for {right}" for right, typed, _ in SLIPS])
def test_a_slip(right: str, typed: str, said: tuple[str, str, str]) -> None:
    """One slip gives one sentence, which says what to type."""
    assert right in GOOD
    with pytest.raises(Problems) as told:
        job_of(GOOD.replace(right, typed, 1), "job.yaml", CATALOGUE)
    assert [(problem.where, problem.what, problem.fit) for problem in told.value.problems] == [said]


@pytest.mark.parametrize(("typed", "fit"), [("3,6", "`3.6`, with its unit"), ("3,6m", "`3.6m`"), ("3,6 m", "`3.6 m`")])
def test_a_decimal_comma_on_a_line_of_its_own(typed: str, fit: str) -> None:
    """Where each value has its own line, the comma itself is told."""
    told_runs = f"runs:\n  main:\n    from: regulator\n    pipe: as1432-b/15.88\n    length: {typed}\n"
    head, _, rest = GOOD.partition("runs:\n")
    with pytest.raises(Problems) as told:
        job_of(head + told_runs + rest.partition("\n")[2], "job.yaml", CATALOGUE)
    assert [(problem.where, problem.what, problem.fit) for problem in told.value.problems] == [
        (
            "runs.main.length",
            f"`{typed}` has a comma",
            f"write {fit}",
        )
    ]


@pytest.mark.parametrize("typed", ["12.70", "12.7", "12.7mm", "12.70 mm"])
def test_a_size_without_its_tube(typed: str) -> None:
    """However the size is written, the tubes that come in it are named as they are to be typed."""
    with pytest.raises(Problems, match="say of which tube") as told:
        job_of(GOOD.replace("pipe: as1432-b/15.88", f"pipe: {typed}"), "job.yaml", CATALOGUE)
    assert [problem.fit for problem in told.value.problems] == [
        "say of which tube: `as1432-a/12.70` or `as1432-b/12.70` or `as1432-c/12.70` (see `drawbar list pipes`)"
    ]


def test_a_decimal_comma() -> None:
    """Inside brackets a comma ends the value, so a length of `3,6 m` is two slips; the second says what to do."""
    with pytest.raises(Problems) as told:
        job_of(GOOD.replace("length: 3.6 m", "length: 3,6 m"), "job.yaml", CATALOGUE)
    assert [(problem.where, problem.what, problem.fit) for problem in told.value.problems] == [
        ("runs.main.length", "`3` has no unit", "write one of mm, cm, m, in, ft after it"),
        ("runs.main.6 m", "is not a key here", "if it is the rest of a number, write decimals after a point"),
    ]
