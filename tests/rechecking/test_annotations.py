"""The annotations of a hosted CI: by its published workflow-command form, escaped, at the line of what is wrong.

The form and its escapes are those of GitHub's documentation of workflow commands (`::error file={name},line={line}`; in
its open toolkit data has %, CR and LF coded, and properties colon and comma as well).
"""

import re

import yaml

from drawbar.report.annotations import annotation
from paths import ROOT
from two_ends import TWO_ENDS

FORM = re.compile(
    r"::(?P<level>error|warning) file=(?P<file>[^,:]+),line=(?P<line>\d+)(,col=\d+)?,title=[^,:]*::(?P<text>.*)"
)


def decoded(text):
    for code, letter in (("%2C", ","), ("%3A", ":"), ("%0A", "\n"), ("%0D", "\r"), ("%25", "%")):
        text = text.replace(code, letter)
    return text


def test_what_would_end_a_part_is_coded():
    """Every text comes back as it was, and stays on one line."""
    nasty = "100 %0A\r\n::error::, x"
    line = annotation("error", nasty, (nasty, 3, 4), nasty)
    assert line.count("\n") == 1
    level, parts, text = re.fullmatch(r"::(\w+) (.*?)::(.*)\n", line).groups()
    assert (level, decoded(text)) == ("error", nasty)
    assert [decoded(part.partition("=")[2]) for part in parts.split(",")] == [nasty, "3", "4", nasty]


def test_each_reason_stands_at_its_line(drawbar, tmp_path):
    """A FAIL is an error at the appliance, what is left out a warning at its key, a problem an error at its place."""
    (tmp_path / "a-fails.yaml").write_text(TWO_ENDS.replace("input: 20 MJ/h", "input: 150 MJ/h"))
    (tmp_path / "b-open.yaml").write_text(TWO_ENDS.replace(", capacity: 400 MJ/h", ""))
    (tmp_path / "c-wrong.yaml").write_text(TWO_ENDS.replace("propane", "protane"))
    (tmp_path / "d-good.yaml").write_text(TWO_ENDS)
    done = drawbar("recheck", str(tmp_path), "--format", "github")
    assert done.code == 2
    seen = [FORM.fullmatch(line) for line in done.out.splitlines()]
    assert all(seen)
    places = [(match["level"], match["file"].rsplit("/", 1)[1], int(match["line"])) for match in seen]
    lines = TWO_ENDS.splitlines()
    hob = 1 + next(number for number, line in enumerate(lines) if line.startswith("  hob:"))
    assert ("error", "a-fails.yaml", hob) in places
    assert ("warning", "b-open.yaml", 5) in places
    assert ("error", "c-wrong.yaml", 3) in places
    assert not [place for place in places if place[1] == "d-good.yaml"]


def test_check_takes_folders_and_annotates_them(drawbar, tmp_path):
    """What `recheck` says of a folder, `check` says too; what is no job in it is told once."""
    (tmp_path / "a-fails.yaml").write_text(TWO_ENDS.replace("input: 20 MJ/h", "input: 150 MJ/h"))
    (tmp_path / "c-wrong.yaml").write_text(TWO_ENDS.replace("propane", "protane"))
    (tmp_path / "prices.yaml").write_text("currency: AUD\n")
    (tmp_path / "d-good.yaml").write_text(TWO_ENDS)
    checked = drawbar("check", str(tmp_path), "--format", "github")
    rechecked = drawbar("recheck", str(tmp_path), "--format", "github")
    assert checked.code == rechecked.code == 2
    assert sorted(checked.out.splitlines()) == sorted(rechecked.out.splitlines())
    assert checked.err.count("1 file without `job:` passed over") == 1
    brief = drawbar("check", str(tmp_path), "--brief")
    assert brief.code == 2
    assert "a-fails.yaml" in brief.out
    assert "d-good.yaml" in brief.out
    assert "prices" not in brief.out
    assert drawbar("check", str(tmp_path / "prices.yaml")).code == 2
    assert drawbar("check", str(tmp_path / "d-*.yaml")).code == 0


def test_the_hook_calls_the_program_as_it_is(drawbar, tmp_path):
    """The hook's entry, with the files that are given to it behind, is a call that checks them."""
    hook = yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))[0]
    (tmp_path / "job.yaml").write_text(TWO_ENDS)
    name, *words = hook["entry"].split()
    assert (name, hook["language"]) == ("drawbar", "python")
    done = drawbar(*words, str(tmp_path / "job.yaml"))
    assert done.code == 0
    assert done.out.splitlines()[-1] == "In all: 1 PASS."
