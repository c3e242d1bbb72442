"""drawbar as a Python library: its names, what they say of themselves, and their types."""

import importlib
import inspect
import os
import pkgutil
import re
import subprocess
import sys
from importlib import metadata

import pytest

import drawbar
from paths import EXAMPLES, ROOT


def run(code: str) -> str:
    """Return what a fresh interpreter prints."""
    ended = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, timeout=60, check=True
    )
    return ended.stdout.strip()


# names


def test_importing_is_cheap():
    """`import drawbar` loads neither yaml, pint, click nor any other module of the package."""
    code = (
        "import drawbar, sys; print([m for m in sys.modules if m in ('yaml', 'pint', 'click') or m[:8] == 'drawbar.'])"
    )
    assert run(code) == "[]"


@pytest.mark.parametrize("name", drawbar.__all__)
def test_every_name_is_there(name):
    """Each name of `__all__` is the library's object of that name, and no module."""
    from drawbar import api

    assert getattr(drawbar, name) is getattr(api, name)
    assert type(getattr(drawbar, name)).__name__ != "module"


def test_the_names_are_those_of_the_library_module():
    """The package and its library module list the same names, and `dir` lists these and nothing else."""
    from drawbar import api

    assert drawbar.__all__ == api.__all__
    assert dir(drawbar) == sorted(drawbar.__all__)


def test_names_stay_what_they_are_whatever_is_imported():
    """With every module of the package imported, each name is still the library's, and `dir` still lists no other."""
    for module in pkgutil.walk_packages(drawbar.__path__, "drawbar."):
        if module.name != "drawbar.__main__":
            importlib.import_module(module.name)
    from drawbar import api

    assert [name for name in drawbar.__all__ if getattr(drawbar, name) is not getattr(api, name)] == []
    assert [name for name in drawbar.__all__ if isinstance(getattr(drawbar, name), type(sys))] == []
    assert dir(drawbar) == sorted(drawbar.__all__)


def test_an_unknown_name():
    """Any other name is an AttributeError, as of every module."""
    with pytest.raises(AttributeError, match=r"^module 'drawbar' has no attribute 'chekc'$"):
        drawbar.chekc  # noqa: B018 - the look-up is what fails


def test_the_version_is_that_of_the_distribution():
    """What is installed has the version that the package says, which stands nowhere else."""
    assert metadata.version("drawbar") == drawbar.__version__
    assert drawbar.__version__ not in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


def test_every_call_says_what_it_takes_and_returns():
    """Each function's docstring names all its parameters and what it returns, and has an example."""
    calls = [getattr(drawbar, name) for name in drawbar.__all__ if inspect.isfunction(getattr(drawbar, name))]
    assert len(calls) > 20
    for call in calls:
        text = inspect.getdoc(call) or ""
        parameters = re.search(r"^Parameters\n-+\n(.*?)^\w+\n---", text, re.MULTILINE | re.DOTALL)
        assert parameters is not None, call.__name__
        named = re.findall(r"^\*?(\w+) : ", parameters.group(1), re.MULTILINE)
        assert named == list(inspect.signature(call).parameters), call.__name__
        assert "\nReturns\n" in text or call is drawbar.write_sizes, call.__name__
        assert "\n>>> import drawbar" in text, call.__name__


# types


@pytest.mark.long  # mypy over the whole package once more
def test_types(tmp_path):
    """The package is typed: mypy passes the scripts, knows every result, and finds a name or argument that is wrong."""
    script = tmp_path / "script.py"
    script.write_text(
        "import drawbar\n"
        "job = drawbar.read_job('job.yaml', sized=True)\n"
        "reveal_type(drawbar.check(job).passes)\n"
        "reveal_type(drawbar.size(job).result)\n"
        "reveal_type(drawbar.recheck(job, []))\n"
        "reveal_type(drawbar.sheet(job))\n"
        "drawbar.chekc(job)\n"
        "drawbar.check('job.yaml')\n",
        encoding="utf-8",
    )
    scripts = [str(file) for file in sorted(EXAMPLES.glob("*.py"))]
    ended = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path / "cache"), *scripts, "script.py"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=os.environ | {"MYPYPATH": str(ROOT / "src")},  # an editable installation is none that mypy looks into
        timeout=300,
        check=False,
    )
    assert ended.stdout.splitlines() == [
        'script.py:3: note: Revealed type is "bool"',
        'script.py:4: note: Revealed type is "drawbar.sizing.size.SizeResult"',
        'script.py:5: note: Revealed type is "drawbar.rechecking.recheck.Outcome"',
        'script.py:6: note: Revealed type is "str"',
        'script.py:7: error: Module has no attribute "chekc"; maybe "check"?  [attr-defined]',
        'script.py:8: error: Argument 1 to "check" has incompatible type "str"; expected "Job"  [arg-type]',
        f"Found 2 errors in 1 file (checked {len(scripts) + 1} source files)",
    ]
