"""The annotations of a hosted CI: by its published workflow-command form, escaped, at the line of what is wrong.

The form and its escapes are those of GitHub's documentation of workflow commands (`::error file={name},line={line}`; in
its open toolkit data has %, CR and LF coded, and properties colon and comma as well).
"""

import re

from drawbar.report.annotations import annotation
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
