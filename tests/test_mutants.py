"""Changes of the code itself: nearly all are noticed by a test, and each of the rest has its reason."""

import ast
import json
import subprocess
import sys

import pytest

from mutated_code import SOURCE, changed, modules, mutants_of, reasons_left
from paths import ROOT, SUPPORT

SAMPLE = 200
LEAST_KILLED = 0.9


def test_each_listed_reason_is_of_a_change_that_can_be_made():
    """A reason whose code is no longer there is taken from the list."""
    every = {mutant.key for module in modules() for mutant in mutants_of(module)}
    assert [key for key in reasons_left() if key not in every] == []


def test_a_change_is_of_one_place_alone():
    """All else of a module reads as before, its docstrings too."""
    module = "verdict.py"
    before = ast.unparse(ast.parse((SOURCE / module).read_text(encoding="utf-8"))).splitlines()
    mutants = mutants_of(module)
    assert mutants
    for mutant in mutants:
        after = ast.unparse(changed(mutant)).splitlines()
        assert sum(line != other for line, other in zip(before, after, strict=True)) == 1


@pytest.mark.long
@pytest.mark.mutation
def test_nine_in_ten_changes_are_noticed(tmp_path, capfd):
    """Of places drawn at random in the physics, the line, the checking and the verdict, and not listed with a reason.

    What no test can or need notice does not count; both shares are printed.
    """
    outcomes = tmp_path / "outcomes.jsonl"
    words = [sys.executable, str(SUPPORT / "mutants.py"), "--seed", "1", "--count", str(SAMPLE), "--to", str(outcomes)]
    with capfd.disabled():
        print()
        subprocess.run(words, cwd=ROOT, check=True)
    killed = {}
    for line in outcomes.read_text(encoding="utf-8").splitlines():
        outcome = json.loads(line)
        killed[outcome["mutant"]] = outcome["killed"]
    assert len(killed) == SAMPLE
    reasons = reasons_left()
    listed = {str(mutant) for module in modules() for mutant in mutants_of(module) if mutant.key in reasons}
    counted = [is_killed for name, is_killed in killed.items() if is_killed or name not in listed]
    noticed = sum(counted)
    with capfd.disabled():
        print(f"{noticed} of {len(counted)} that are not listed are noticed: {100 * noticed / SAMPLE:.1f} % of all")
    assert noticed >= LEAST_KILLED * len(counted)
