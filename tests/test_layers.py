"""How the package is built: calls go one way, physics runs on plain floats, and a call loads no more than it needs."""

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import drawbar
from paths import EXAMPLE, ROOT

PACKAGE = Path(drawbar.__file__).parent

# Each package, and each module beside them, may import those before it and none after it.
ORDER = (
    "problems",
    "cautions",
    "verdict",
    "physics",
    "unit_words",
    "units",
    "quantities",
    "rules",
    "site",
    "display_units",
    "particulars",
    "fixtures",
    "job",
    "hot_water",
    "water_line",
    "yamlfile",
    "catalogue",
    "jobfile",
    "line",
    "checking",
    "materials",
    "sizing",
    "remedies",
    "onsite",
    "gas_supply",
    "answers",
    "rechecking",
    "asking",
    "records",
    "comparing",
    "report",
    "schemas",
    "templates",
    "first_draft",
    "api",
    "cli",
    "__main__",
)
# What works on plain floats: it reaches neither pint, click, yaml nor tabulate.
PLAIN = (
    *("verdict", "physics", "rules", "site", "display_units", "fixtures", "job", "line", "checking", "hot_water"),
    "water_line",
)
PLAIN_MODULES = (
    *("sizing.lower_bound", "sizing.pareto", "sizing.longest_run"),
    *("onsite.tightness", "onsite.tightness_reading", "onsite.tightness_verdict"),
)
OUTSIDE = ("pint", "click", "yaml", "tabulate")
# What an extra alone may need: the printable sheet, a quote as a spreadsheet, the sizing of very crowded jobs.
EXTRA = {
    "report.sheet": ("jinja2", "markupsafe", "svg"),
    "report.quote_workbook": ("xlsxwriter",),
    "sizing.by_highs": ("highspy",),
}
# Where each of them may be imported.
ALLOWED = {
    "pint": {"units"},
    "yaml": {
        "yamlfile.nodes",
        "yamlfile.loading",
        "yamlfile.scalars",
        "yamlfile.asked_value",
        "yamlfile.fields",
        "yamlfile.entry",
        "yamlfile.syntax",
        "yamlfile.as_text",
        "catalogue.data_files",
        "catalogue.pure_gases",
        "materials.money",
        "materials.prices",
        "jobfile.asked",
        "jobfile.gas_fields",
        "comparing.differences",
        "comparing.ways",
        "jobfile.pipework",
        "jobfile.runs",
        "jobfile.reader",
        "jobfile.edit",
        "jobfile.bottles",
        "jobfile.space_fields",
        "jobfile.state_fields",
        "onsite.readings",
        "cli.complete_names",
        "onsite.taken",
    },
    "tabulate": {"report.layout"},
}


@cache
def trees() -> dict[str, ast.Module]:
    """Return the syntax tree of every module, by its name within the package."""
    by_name = {}
    for path in PACKAGE.rglob("*.py"):
        name = ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix(".__init__")
        by_name[name] = ast.parse(path.read_text(encoding="utf-8"))
    return by_name


def imports(node: ast.AST) -> Iterator[str]:
    """Yield the full name of all that is imported at run time, inside functions as well."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.If) and ast.unparse(child.test) == "TYPE_CHECKING":
            continue  # for the type checker alone
        if isinstance(child, ast.Import):
            yield from (alias.name for alias in child.names)
        elif isinstance(child, ast.ImportFrom):
            assert child.level == 0, "relative import"
            yield from (f"{child.module}.{alias.name}" for alias in child.names)
        yield from imports(child)


def modules_used(name: str) -> set[str]:
    """Return the package's modules that a module uses, by their names within the package."""
    used = set()
    for full in imports(trees()[name]):
        parts = full.split(".")
        if parts[0] == "drawbar":
            inside = [".".join(parts[1:end]) for end in range(len(parts), 1, -1)]
            used.add(next((module for module in inside if module in trees()), "__init__"))
    return used


def package(name: str) -> str:
    return name.split(".", maxsplit=1)[0]


def test_every_package_has_its_place() -> None:
    """A new package is given its place in ORDER, and nothing stands there that is not."""
    assert {package(name) for name in trees()} - {"__init__"} == set(ORDER)


def test_every_package_is_in_the_wheel() -> None:
    """A package that pyproject.toml does not list is not installed."""
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["packages"]
    folders = {path.parent.relative_to(PACKAGE.parent) for path in PACKAGE.rglob("__init__.py")}
    assert {".".join(folder.parts) for folder in folders} == set(listed) - {"drawbar.examples"}


def test_calls_go_one_way() -> None:
    """No module imports one of a later package, not even inside a function."""
    place = {name: number for number, name in enumerate(ORDER)}
    wrong = [
        f"{name} imports {used}"
        for name in trees()
        if name != "__init__"
        for used in modules_used(name)
        if used != "__init__" and package(used) != package(name) and place[package(used)] >= place[package(name)]
    ]
    assert wrong == []


def test_the_reports_show_and_do_not_read() -> None:
    """A report is given results: it reads no file. The layout and the units of display stand below the others."""
    for name in trees():
        if package(name) == "report":
            assert not modules_used(name) & {"jobfile.reader", "jobfile.runs", "jobfile.pipework", "yamlfile.nodes"}, (
                name
            )
    layout = {"report.layout", "report.text_tables", "report.wrapping"}
    for name in layout:
        assert modules_used(name) <= {"__init__", *layout}, name
    assert not {used for used in modules_used("report.display") if package(used) == "report"}


def test_the_physics_knows_nothing_of_units_files_or_screens() -> None:
    """No physics module imports pint, click, yaml or tabulate, nor a module of the package that does."""
    plain = [name for name in trees() if package(name) in PLAIN or name in PLAIN_MODULES]
    for name in plain:
        reached, waiting = set(), [name]
        while waiting:
            module = waiting.pop()
            if module not in reached and module != "__init__":
                reached.add(module)
                waiting.extend(modules_used(module))
        outside = {full.split(".")[0] for module in reached for full in imports(trees()[module])} & set(OUTSIDE)
        assert outside == set(), f"{name} reaches {sorted(outside)}"


def test_each_library_has_its_door() -> None:
    """Pint in units alone, click in the command line alone, tabulate in the layout, yaml where files are read."""
    for name in trees():
        used = {full.split(".")[0] for full in imports(trees()[name])}
        extra = next((names for room, names in EXTRA.items() if f"{name}.".startswith(f"{room}.")), ())
        assert used <= {*sys.stdlib_module_names, "drawbar", *OUTSIDE, *extra}, name
        assert "click" not in used or package(name) == "cli", name
        for library, doors in ALLOWED.items():
            assert library not in used or name in doors, f"{name} imports {library}"


def test_a_command_imports_its_work_when_it_is_called() -> None:
    """At the top of a command's module stand click and the command line alone, so that --help stays quick."""
    for name, tree in trees().items():
        if package(name) == "cli":
            top = {
                full
                for node in tree.body
                if isinstance(node, ast.Import | ast.ImportFrom)
                for full in imports(ast.Module([node], []))
            }
            inside = {full for full in top if full.startswith("drawbar.")}
            assert all(full.startswith("drawbar.cli.") or full == "drawbar.__version__" for full in inside), name
            assert not {full.split(".")[0] for full in top} & {"pint", "yaml", "tabulate"}, name


def loaded_by(*call: str) -> tuple[int, set[str]]:
    """Return a call's exit code and the modules that were loaded by its end."""
    code = (
        "import sys, drawbar.cli\n"
        f"sys.argv = {['drawbar', *call]!r}\n"
        "try:\n    drawbar.cli.main()\n"
        "except SystemExit as end:\n    print(end.code or 0, *sorted(sys.modules), file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    code_text, *modules = done.stderr.splitlines()[-1].split()
    return int(code_text), set(modules)


@pytest.mark.parametrize("call", [("--help",), ("--version",), ("check", "--help")], ids=" ".join)
def test_help_loads_neither_units_nor_yaml(call: tuple[str, ...]) -> None:
    """What only says how to call it loads neither pint nor yaml, and none of the physics."""
    code, modules = loaded_by(*call)
    assert code == 0
    assert "click" in modules
    assert not modules & {"pint", "yaml", "tabulate", "drawbar.units", "drawbar.physics.gas", "drawbar.checking.check"}


def test_a_check_needs_no_numpy() -> None:
    """With numpy and scipy out of reach, as after a plain installation, a check says the same (pint may use numpy)."""
    outputs = []
    for hidden in ("", "sys.modules.update(numpy=None, scipy=None, CoolProp=None, fluids=None)\n"):
        call = f"sys.argv = ['drawbar', 'check', {str(EXAMPLE)!r}]\ndrawbar.cli.main()"
        code = f"import sys\n{hidden}import drawbar.cli\n{call}"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
        outputs.append((done.returncode, done.stdout, done.stderr))
    assert outputs[0] == outputs[1]
    assert outputs[0][1].startswith("Harvest-fair food trailer")
    assert outputs[0][2] == ""
