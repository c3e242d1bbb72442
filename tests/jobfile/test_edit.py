"""Sizes put into a file: the pipes' values change and nothing else does, whatever the file looks like."""

from random import Random

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from drawbar.jobfile.edit import BOM, with_sizes
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problems
from jobs import CATALOGUE
from random_jobs import SIZES, job_text

ONE, TWO = "as1432-b/9.52", "as1432-b/12.70"

# Each with the text before, and after main is written as TWO. Of a block list the dashes go, and the lines of the other
# choices; comments stay.
LOOKS = {
    "flow": (
        "  main: {from: regulator, pipe: @, length: 3 m}  # the main\n",
        ["as1432-b/auto", '"as1432-b/auto"', ONE],
    ),
    "flow, pipe last": ("  main: {from: regulator, length: 3 m, pipe: @}\n", ["'as1432-b/auto'", f"[{ONE}, {TWO}]"]),
    "flow, odd spacing": ("  main : {  from:   regulator,pipe:   @   ,length: 3 m  }\n", [ONE, f"[ {ONE} ,{TWO} ]"]),
    "flow over lines": (
        "  main: {\n    from: regulator, # where\n    pipe: @, # - [which], {size}: 'or' \"what\"\n    length: 3 m}\n",
        ["as1432-b/auto", f"[{ONE},\n           {TWO}]"],
    ),
    "quoted keys": (
        '  "main": {\'from\': regulator, "pipe": @, length: 3 m}\n',
        ["as1432-b/auto", f"['{ONE}', {TWO}]"],
    ),
    "block": (
        "  main:   # the main\n    from: regulator\n    pipe: @   # not yet: # decided\n\n"
        "    # before the length\n    length: 3 m\n",
        ["as1432-b/auto", "'as1432-b/auto'", f"[{ONE}, {TWO}, as1432-b/15.88]"],
    ),
    "block, pipe first": (
        "  main:\n    pipe: @\n    from: regulator\n    length: 3 m\n",
        ["as1432-b/auto", f'"{ONE}"'],
    ),
    "on a line of its own": (
        "  main:\n    pipe: # choose\n      # one of\n      @\n    from: regulator\n    length: 3 m\n",
        ["as1432-b/auto", f"[{ONE}]"],
    ),
    "folded": (
        "  main:\n    pipe: @\n    from: regulator\n    length: 3 m\n",
        [">-\n      as1432-b/auto", "|-\n     as1432-b/auto"],
    ),
}
BLOCK_LISTS = {
    "indented": (
        f"    pipe:\n      - {ONE}\n      - {TWO}\n    length: 3 m\n",
        f"    pipe:\n        {TWO}\n    length: 3 m\n",
    ),
    "not indented": (
        f"    pipe:\n    - {ONE}\n    - {TWO}\n    length: 3 m\n",
        f"    pipe:\n      {TWO}\n    length: 3 m\n",
    ),
    "comments on the items": (
        f"    pipe:  # - any\n      -   '{ONE}'  # first - the small\n"
        f"      - {TWO} # second\n      - as1432-b/15.88\n    length: 3 m\n",
        f"    pipe:  # - any\n          {TWO}  # first - the small\n      # second\n    length: 3 m\n",
    ),
    "comments between the items": (
        f"    pipe:\n      # small - or\n      - {ONE}\n\n"
        f"      # - large\n      - {TWO}\n      # none other\n    length: 3 m\n",
        f"    pipe:\n      # small - or\n        {TWO}\n\n      # - large\n      # none other\n    length: 3 m\n",
    ),
    "comments between dash and item": (
        f"    pipe:\n    - # one - of\n      {ONE}\n    - # two - of\n      {TWO}\n    length: 3 m\n",
        f"    pipe:\n      # one - of\n      {TWO}\n    # two - of\n    length: 3 m\n",
    ),
    "a single item": (
        f"    pipe:\n      - {ONE} # it\n    length: 3 m\n",
        f"    pipe:\n        {TWO} # it\n    length: 3 m\n",
    ),
    "folded items": (
        f"    pipe:\n      - >-\n       {ONE}\n      - |-\n       {TWO}\n    length: 3 m\n",
        f"    pipe:\n        {TWO}\n    length: 3 m\n",
    ),
}
HEAD = (
    "# Größe to be chosen 🔥 - [yes], {really}: # and so on\n"
    "job: 'Crêpes & Glühwein 🥘: größer'\n"
    "gas: propane   # - what else\n"
    "limits: {drop: 0.25 kPa}\n"
    "regulator: {outlet: 2.75 kPa}\n"
    "runs:\n"
)
TAIL = "# between\nappliances:\n  fryer: {at: main, input: 20 MJ/h}\n\n\n# the end\n"

ENDS = pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
MARKS = pytest.mark.parametrize("mark", ["", BOM], ids=["no BOM", "BOM"])


def assert_written(before: str, after: str, mark: str, line_end: str) -> None:
    """Assert that TWO written for main makes one text of the other, which reads so, and again does nothing."""
    before, after = (mark + text.replace("\n", line_end) for text in (before, after))
    written = with_sizes(before, "job.yaml", {"main": TWO})
    assert written == after
    job = job_of(written.removeprefix(BOM), "job.yaml", CATALOGUE, sized=True)
    assert [run.pipes[0].label for run in job.runs] == [TWO]
    assert with_sizes(written, "job.yaml", {"main": TWO}) == written


@ENDS
@MARKS
@pytest.mark.parametrize("look", LOOKS)
def test_only_the_value_changes(look: str, mark: str, line_end: str) -> None:
    """A single value or a list in brackets becomes the size; every other character stays."""
    template, values = LOOKS[look]
    for value in values:
        before, after = (HEAD + template.replace("@", pipe) + TAIL for pipe in (value, TWO))
        assert_written(before, after, mark, line_end)


@ENDS
@MARKS
@pytest.mark.parametrize("look", BLOCK_LISTS)
def test_a_block_list_becomes_one_value(look: str, mark: str, line_end: str) -> None:
    """The first item becomes the size where it stood, the lines of the others go, and every comment stays."""
    start = HEAD + "  main:\n    from: regulator\n"
    before, after = (start + text + TAIL for text in BLOCK_LISTS[look])
    assert_written(before, after, mark, line_end)


def test_a_list_at_the_end_of_the_file() -> None:
    """A file that ends with the list, with or without a line break."""
    start = "job: t\ngas: propane\nlimits: {drop: 1 kPa}\nregulator: {outlet: 2.75 kPa}\n"
    start += "appliances: {fryer: {at: main, input: 20 MJ/h}}\nruns:\n  main:\n    from: regulator\n    length: 3 m\n"
    for end in ("\n", ""):
        before = start + f"    pipe:\n    - {ONE}\n    - {TWO}{end}"
        assert_written(before, start + f"    pipe:\n      {TWO}\n", "", "\n")


def test_a_comment_within_brackets_goes_with_the_list() -> None:
    """What stands between the brackets is the value; the rest of the line stays."""
    before = HEAD + f"  main: {{from: regulator, length: 3 m, pipe: [{ONE}, # small\n    {TWO}]}} # main\n" + TAIL
    after = HEAD + f"  main: {{from: regulator, length: 3 m, pipe: {TWO}}} # main\n" + TAIL
    assert_written(before, after, "", "\n")


@pytest.mark.parametrize(
    "label", ["shop: copper/0.5", "a, b/1", "it's/[1]", "x #y/2", '"q"/1', "größe/1.5", "- a/1", "b/{2}"]
)
@pytest.mark.parametrize("look", ["flow", "block"])
def test_a_label_that_needs_quotes_gets_them(look: str, label: str) -> None:
    """A family of the workshop's own may have any name: it reads back as it is."""
    text = HEAD + LOOKS[look][0].replace("@", "as1432-b/auto") + TAIL
    written = with_sizes(text, "job.yaml", {"main": label})
    assert yaml.safe_load(written)["runs"]["main"]["pipe"] == label
    assert with_sizes(written, "job.yaml", {"main": label}) == written


def test_what_stands_there_is_left_alone() -> None:
    """Runs that are not named, names of no run, and a size that stands there already, quoted or not, change nothing."""
    for value in (TWO, f'"{TWO}"', f"'{TWO}'"):
        text = HEAD + LOOKS["flow"][0].replace("@", value) + TAIL
        assert with_sizes(text, "job.yaml", {"main": TWO}) == text
        assert with_sizes(text, "job.yaml", {}) == text
        assert with_sizes(text, "job.yaml", {"other": ONE}) == text
        own = HEAD + LOOKS["flow"][0].replace("@", "{bore: 10 mm}") + TAIL
        assert with_sizes(own, "job.yaml", {"main": TWO}) == own


def test_a_text_that_is_no_job_file() -> None:
    """What is not well formed is told as when it is read."""
    with pytest.raises(Problems, match=r"^job\.yaml:1:14: a bracket opens here, and its `}` or a comma is missing"):
        with_sizes("runs: {main: {pipe: x\njob: t\n", "job.yaml", {"main": TWO})


# random files

_COMMENTS = ("", "", "  # - which", " # [a], {b}: 'c' \"d\"", "   # für später 🔧", " #")


def scattered(random: Random, text: str, labels: dict[str, str]) -> tuple[str, str]:
    """Return a job file rewritten in a random look, and the same with one size for each run that is named."""
    top = yaml.safe_load(text)
    before: list[str] = []
    after: list[str] = []

    def add(line: str, other: str | None = None) -> None:
        comment = random.choice(_COMMENTS)
        before.append(line + comment)
        after.append((line if other is None else other) + comment)
        if random.random() < 0.15:
            blank = random.choice(("", "# - a line, of [its own]", "      # pipe: x"))
            before.append(blank)
            after.append(blank)

    for key, value in top.items():
        if key != "runs":
            add(f"{key}: {random.choice((flow, quoted))(value)}")
            continue
        add("runs:")
        for name, run in value.items():
            pipe = run.pop("pipe")
            keys = random.sample(list(run), len(run))
            keys.insert(random.randint(0, len(keys)), "pipe")
            if random.random() < 0.4:
                styled = random.choice((flow, quoted))(pipe)
                new = styled if labels.get(name, pipe) == pipe else labels[name]
                before_parts, after_parts = (
                    [f"{part}: {size if part == 'pipe' else flow(run[part])}" for part in keys]
                    for size in (styled, new)
                )
                gap = random.choice((", ", " ,  ", ",\n      ", ", # - why\n      "))
                add(f"  {name}: {{{gap.join(before_parts)}}}", f"  {name}: {{{gap.join(after_parts)}}}")
                continue
            add(f"  {name}:")
            for part in keys:
                if part != "pipe":
                    add(f"    {part}: {flow(run[part])}")
                elif isinstance(pipe, list) and random.random() < 0.6:
                    block_list(random, pipe, labels.get(name), before, after)
                else:
                    styled = random.choice((flow, quoted))(pipe)
                    add(
                        f"    pipe: {styled}", f"    pipe: {styled if labels.get(name, pipe) == pipe else labels[name]}"
                    )
    return "\n".join(before) + "\n", "\n".join(after) + "\n"


def block_list(random: Random, pipe: list[str], label: str | None, before: list[str], after: list[str]) -> None:
    """Add a block list to both texts: the first item becomes the label, of the others only their comments stay."""
    indent, gap = random.choice(("    ", "      ")), random.choice((" ", "   "))
    before.append("    pipe:")
    after.append("    pipe:")
    for number, item in enumerate(pipe):
        comment = random.choice(_COMMENTS)
        line = f"{indent}-{gap}{random.choice((flow, quoted))(item)}{comment}"
        before.append(line)
        if label is None:
            after.append(line)
        elif number == 0:
            after.append(f"{indent} {gap}{label}{comment}")
        elif comment:
            after.append(indent + comment.lstrip())


def flow(value: object) -> str:
    """Return a value in YAML's flow style, its texts plain."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {flow(item)}" for key, item in value.items()) + "}"
    return "[" + ", ".join(flow(item) for item in value) + "]" if isinstance(value, list) else str(value)


def quoted(value: object) -> str:
    """Return a value in YAML's flow style, its texts in quotes."""
    if isinstance(value, dict):
        return "{ " + " , ".join(f'"{key}": {quoted(item)}' for key, item in value.items()) + " }"
    return "[ " + " , ".join(quoted(item) for item in value) + " ]" if isinstance(value, list) else f"'{value}'"


def assert_round_trip(seed: int, runs: int, mark: str, line_end: str) -> None:
    random = Random(seed)
    sizes = random.choice(("auto", SIZES[2:5], SIZES[3:4]))
    text = job_text(random, runs, sizes, outlets=random.randint(0, 1), stages=random.random() < 0.3)
    names = [f"run-{number}" for number in range(runs)]
    some = random.sample(names, random.randint(0, runs))
    labels = {name: f"as1432-b/{random.choice(SIZES)}" for name in some}
    before, after = (
        mark + scattered_text.replace("\n", line_end).replace("Random job", "Zufälliger Auftrag 🔥")
        for scattered_text in scattered(random, text, labels)
    )
    written = with_sizes(before, "job.yaml", labels)
    assert written == after
    sized = {run.name: run for run in job_of(written.removeprefix(BOM), "job.yaml", CATALOGUE).runs}
    others = {run.name: run for run in job_of(text, "job.yaml", CATALOGUE).runs}
    for name in names:
        if name in labels:
            assert [pipe.label for pipe in sized[name].pipes] == [labels[name]]
        else:
            assert sized[name] == others[name]
    assert with_sizes(written, "job.yaml", labels) == written


CASES = given(
    seed=st.integers(0, 2**32),
    runs=st.integers(1, 12),
    mark=st.sampled_from(["", BOM]),
    line_end=st.sampled_from(["\n", "\r\n"]),
)


@settings(max_examples=80, deadline=None, derandomize=True)
@CASES
def test_random_files(seed: int, runs: int, mark: str, line_end: str) -> None:
    """Random jobs in random looks, with comments all over: the values change, nothing else, and it reads so."""
    assert_round_trip(seed, runs, mark, line_end)


@pytest.mark.long
@settings(max_examples=2000, deadline=None)
@CASES
def test_random_files_at_length(seed: int, runs: int, mark: str, line_end: str) -> None:
    """The same for many more."""
    assert_round_trip(seed, runs, mark, line_end)
