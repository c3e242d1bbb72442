"""The jq one-liners of the scripting guide, against the same read from the JSON here."""

import json
import re
import shutil

import pytest

import pages
from paths import EXAMPLES

pytestmark = pytest.mark.skipif(shutil.which("jq") is None, reason="there is no jq")

GUIDE = (EXAMPLES / "scripting.md").read_text(encoding="utf-8")
LINES = [
    line
    for block in re.findall(r"^```sh\n(.*?)^```$", GUIDE, re.M | re.S)
    for line in block.splitlines()
    if "| jq" in line
]


def test_each_line_says_what_the_json_says():
    """Verdicts, least spare at worst, problems with their places, the total of a quote that is complete."""
    verdicts, spare, problems, total = (pages.run(line).rstrip("\n") for line in LINES)
    jobs = sorted(f"examples/{path.name}" for path in EXAMPLES.glob("*-*.yaml"))
    checked = json.loads(pages.run(f"drawbar check {' '.join(jobs)} --format json 2> /dev/null"))
    quoted = json.loads(pages.run(LINES[-1].partition(" | jq")[0]))
    lines = verdicts.splitlines()
    assert [line for line in lines if line.startswith("examples/") and ":" not in line] == [
        f"{result['file']} {result['verdict']}" for result in checked["results"]
    ]
    least = {
        result["file"]: min(state["worst_margin_Pa"] for state in result["states"]) for result in checked["results"]
    }
    assert dict(json.loads(line) for line in spare.splitlines() if line.startswith("[")) == pytest.approx(least)
    assert [f"{told['file']}:{told['line']}: {told['where']}: {told['what']}" for told in checked["problems"]] == [
        line for line in dict.fromkeys(problems.splitlines()) if "; " not in line
    ]
    assert float(total) == quoted["results"][-1]["quote"]["total"]
