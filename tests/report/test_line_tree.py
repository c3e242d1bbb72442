"""The line as `check` draws it: what hangs on what, in any terminal, within 80 columns."""

import re

import pytest

from drawbar.answers import whole_check
from drawbar.checking.check import check_job, in_worst_way
from drawbar.report.check_report import CheckReport
from drawbar.report.layout import TreeTable, as_markdown, as_text
from jobs import job_from
from paths import EXAMPLES


def checked(text: str):
    return check_job(job_from(text))


def example(name: str):
    return checked((EXAMPLES / f"{name}.yaml").read_text(encoding="utf-8"))


def tree_of(result) -> TreeTable:
    page = CheckReport(in_full=True).page(whole_check(result.job))
    (tree,) = [block for block in page if isinstance(block, TreeTable)]
    return tree


def drawn(result, *, plain: bool = False) -> str:
    return as_text([tree_of(result)], plain=plain)


def test_the_trailer_is_drawn() -> None:
    """Regulator at the top, runs with size, load and end pressure, what is fixed and what is plugged in at its end.

    The figures are our own output; others check them.
    """
    assert drawn(example("harvest-fair-trailer")) == (
        "line                               pipe or hose     load  at end  verdict\n"
        "                                                    MJ/h     kPa\n"
        "---------------------------------  --------------  -----  ------  -------\n"
        "regulator                                          131.0   2.750\n"
        "└─ main                            as1432-b/15.88  131.0   2.686\n"
        "   ├─ galley                       as1432-b/12.70   82.0   2.636\n"
        "   │  ├─ fryer                                      50.0   2.636  PASS\n"
        "   │  └─ basin                                      32.0   2.636  PASS\n"
        "   └─ kerbside                     as1432-b/12.70   49.0   2.677\n"
        "      ├─ kerb-bayonet: urn         short-hose       21.0   2.649  PASS\n"
        "      └─ rear                      as1432-b/9.52    28.0   2.635\n"
        "         └─ rear-bayonet: griddle  short-hose       28.0   2.587  PASS\n"
    )


def test_plain_characters_stand_in_the_same_places() -> None:
    """Without Unicode each stroke has one plain character in its stead."""
    result = example("ice-cream-van-fail")
    plain = drawn(result, plain=True)
    assert plain.isascii()
    assert plain == drawn(result).translate(str.maketrans("─│├└", "-|+`"))
    assert [line.split("  ")[0] for line in plain.splitlines()[3:5]] == ["regulator", "`- main"]
    assert len(re.findall("FAIL$", plain, re.MULTILINE)) == 2


def test_a_second_stage_stands_where_it_is() -> None:
    """The regulator of a run is drawn before the run, with the pressure that it is set to and its own verdict."""
    lines = drawn(example("riverboat-two-stage")).splitlines()
    assert [re.split(r"  +(?=\S)", line.strip()) for line in lines[4:7]] == [
        ["└─ deck", "as1432-b/9.52", "96.0", "69.266"],
        ["└─ regulator of galley", "96.0", "2.750", "PASS"],
        ["└─ galley", "as1432-b/15.88", "96.0", "2.725"],
    ]
    starved = (EXAMPLES / "riverboat-two-stage.yaml").read_text(encoding="utf-8").replace("35 kPa", "69.5 kPa")
    assert re.search(r"regulator of galley +96\.0 +2\.750  FAIL", drawn(checked(starved)))


@pytest.mark.parametrize("name", ["harvest-fair-trailer", "riverboat-two-stage", "orchard-cookhouse-imperial"])
def test_the_loads_add_up(name: str) -> None:
    """What a run carries is what is drawn on it: the way of the tree is one combination, not several mixed."""
    result = example(name)
    state = result.states[0]
    on = in_worst_way(state)
    assert sorted(appliance.name for appliance in on) == sorted(appliance.name for appliance in state.appliances)
    assert sum(appliance.load_w for appliance in on) == pytest.approx(state.total_w)
    least_pa = min(appliance.margin_pa for appliance in state.appliances)
    assert min(appliance.margin_pa for appliance in on) == pytest.approx(least_pa)
    ends = {flow.section.name: flow.outlet_abs_pa - result.job.atmospheric_pa for flow in state.runs}
    for appliance in on:
        lost_pa = sum(flow.drop_pa for flow in appliance.tail)
        assert appliance.gauge_pa == pytest.approx(ends[appliance.at] - lost_pa, abs=1e-6)


def test_an_empty_outlet_is_drawn_as_free() -> None:
    """An outlet with nothing in it in the worst way is there all the same."""
    text = (EXAMPLES / "harvest-fair-trailer.yaml").read_text(encoding="utf-8")
    page_text = drawn(checked(text[: text.index("states:")] + "states:\n  one: [urn]\n"))
    assert "├─ kerb-bayonet: free\n" in page_text
    assert "└─ rear-bayonet: urn " in page_text


def deep(levels: int, name: str = "run") -> str:
    """Return a job of runs each on the end of the one before it, with an appliance on each."""
    lines = ["job: Deep", "gas: propane", "rule: as-nzs-5601.2", "regulator: {outlet: 2.75 kPa}", "runs:"]
    starts = ["regulator", *(f"{name}-{number}" for number in range(levels))]
    lines.extend(
        f"  {name}-{number}: {{from: {starts[number]}, pipe: as1432-b/25.40, length: 10 mm}}"
        for number in range(levels)
    )
    lines.append("appliances:")
    lines.extend(f"  burner-{number}: {{at: {name}-{number}, input: 1 MJ/h}}" for number in range(0, levels, 2))
    lines.append(f"  last: {{at: {name}-{levels - 1}, input: 1 MJ/h}}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", ["run", "a rather long name of a run that goes on and on for", "x" * 55])
@pytest.mark.parametrize("levels", [3, 12, 99])
@pytest.mark.parametrize("plain", [True, False])
def test_no_line_is_wider_than_80_columns(name: str, levels: int, plain: bool) -> None:  # noqa: FBT001 - pytest passes it by name
    """However deep a line and however long its names, each thing is drawn once, or twice where it is taken up again."""
    text = drawn(checked(deep(levels, name)), plain=plain)
    assert max(map(len, text.splitlines())) <= 80
    assert len(re.findall("PASS$", text, re.MULTILINE)) == len(range(0, levels, 2)) + 1
    squeezed = re.sub(r"[─│├└|+`\s-]", "", text)
    for number in range(levels):
        assert f"{name}{number}".replace(" ", "").replace("-", "") in squeezed or len(name) > 10
    cut = squeezed.count("(onbelow)")
    assert text.count("\n\n") == cut
    assert (cut > 0) == (levels > 3)


def test_a_bound_says_what_it_draws() -> None:
    """Where the combinations are too many, the page says what of the portable ones is drawn."""
    lines = ["job: Many", "gas: propane", "rule: as-nzs-5601.2", "regulator: {outlet: 2.75 kPa}", "runs:"]
    lines.append("  main: {from: regulator, pipe: as1432-b/25.40, length: 1 m}")
    lines.append("outlets:")
    lines.extend(
        f"  out-{number}: {{at: main, devices: [{{name: tap, flow: 9 MJ/h, drop: 20 Pa}}]}}" for number in range(9)
    )
    lines.append("appliances:")
    lines.append("  oven: {at: main, input: 5 MJ/h}")
    lines.extend(f"  thing-{number}: {{plugs-into: any, input: {number + 1} MJ/h}}" for number in range(9))
    result = checked("\n".join(lines) + "\n")
    assert result.states[0].is_bound
    blocks = CheckReport(in_full=True).page(whole_check(result.job))
    at = next(number for number, block in enumerate(blocks) if isinstance(block, TreeTable))
    assert blocks[at - 1] == (
        "The line, with its upper bounds. Plug-in appliances are drawn only in the worst combination of all:"
    )
    text = drawn(result)
    assert len(re.findall("thing-", text)) == 1
    assert len(re.findall("oven", text)) == 1
    assert "free" not in text


def test_markdown_keeps_the_drawing() -> None:
    """In Markdown the tree stands in a block that keeps its spaces."""
    text = as_markdown([tree_of(example("harvest-fair-trailer"))])
    assert text.startswith("```text\nline ")
    assert text.endswith("PASS\n```\n")
    assert "\n└─ main " in text
