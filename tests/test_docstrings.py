"""The examples in the docstrings run and give what they say."""

import doctest
import importlib

import pytest
from test_layers import trees

from paths import ROOT

MODULES = sorted(f"drawbar.{name}" if name != "__init__" else "drawbar" for name in trees() if name != "__main__")


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_of_a_module_run(name, monkeypatch):
    """Each `>>>` of a module's docstrings gives the line below it, called from the project's folder."""
    monkeypatch.chdir(ROOT)
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples_to_run():
    """The physics and the library have examples, so that the test above looks at something."""
    finder = doctest.DocTestFinder(exclude_empty=True)
    counts = {
        name: sum(len(test.examples) for test in finder.find(importlib.import_module(name)))
        for name in MODULES
        if name.startswith(("drawbar.physics.", "drawbar.api."))
    }
    assert sum(counts.values()) > 80
