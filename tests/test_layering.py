"""How the package is built: calls go one way, physics runs on plain floats, and a call loads no more than it needs."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

import drawbar

PACKAGE = Path(drawbar.__file__).parent
EXAMPLE = Path(__file__).parent.parent / "examples" / "harvest-fair-trailer.yaml"

# Each room may use those before it, none after it.
ROOMS = (
    # words and constants
    "problems",
    "cautions",
    "air",
    "water",
    "cutting",
    # a text's figures
    "units",
    "document",
    "fields",
    # gas and pipe
    "gas",
    "cylinder",
    "cooling",
    "flow",
    "formulas",
    "job",
    "space",
    # the job file and what stands beside it
    "jobfile",
    "catalogue",
    "prices",
    "parts",
    "bottles",
    "tree",
    "reader",
    "schema",
    "writeback",
    # the line
    "network",
    "states",
    "plugging",
    "headroom",
    "longest",
    "results",
    "odd",
    "checking",
    # what the user asks
    "explain",
    "bound",
    "search",
    "sizing",
    "stock",
    "orifice",
    "testpoints",
    "faults",
    "diagnosis",
    "commission",
    "readings",
    "hotwater",
    "tightness",
    "supply",
    "materials",
    "quoting",
    "fleet",
    "workers",
    "starter",
    "library",
    # how it is shown
    "report",
    "cli",
    "__main__",
)
PHYSICS = (
    "air",
    "water",
    "gas",
    "cylinder",
    "cooling",
    "flow",
    "formulas",
    "space",
    "network",
    "states",
    "plugging",
    "headroom",
    "longest",
    "checking",
    "bound",
    "search",
    "sizing",
    "orifice",
    "hotwater",
    "tightness",
)
OUTSIDE = ("pint", "click", "yaml", "tabulate")
EXTRA = ("jinja2", "markupsafe", "svg")  # what the printable sheet alone may need
# Where each of them may be imported.
ALLOWED = {
    "pint": {"units"},
    "yaml": {
        "document",
        "fields",
        "catalogue",
        "prices",
        "parts",
        "tree",
        "reader",
        "writeback",
        "bottles",
        "readings",
    },
    "tabulate": {"report.layout"},
}


@cache
def trees() -> dict[str, ast.Module]:
    """Return the syntax tree of every module, by its name within the package."""
    found = {}
    for path in PACKAGE.rglob("*.py"):
        name = ".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix(".__init__")
        found[name] = ast.parse(path.read_text(encoding="utf-8"))
    return found


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
            used.add(next((one for one in inside if one in trees()), "__init__"))
    return used


def room(name: str) -> str:
    return name.split(".")[0]


def test_every_module_has_a_room() -> None:
    """A new module is given its place in ROOMS, and no room stands there without a module."""
    assert {room(name) for name in trees()} - {"__init__"} == set(ROOMS)


def test_calls_go_one_way() -> None:
    """No module imports one of a later room, not even inside a function."""
    place = {name: number for number, name in enumerate(ROOMS)}
    wrong = [
        f"{name} imports {used}"
        for name in trees()
        if name != "__init__"
        for used in modules_used(name)
        if used != "__init__" and room(used) != room(name) and place[room(used)] >= place[room(name)]
    ]
    assert wrong == []


def test_the_reports_show_and_do_not_read() -> None:
    """A report is given results: it reads no file. The layout and the units of display stand below the others."""
    for name in trees():
        if room(name) == "report":
            assert not modules_used(name) & {"reader", "document", "parts", "tree"}, name
    assert {room(used) for used in modules_used("report.layout")} <= {"__init__"}
    assert not {used for used in modules_used("report.display") if room(used) == "report"}


def test_the_physics_knows_nothing_of_units_files_or_screens() -> None:
    """No physics module imports pint, click, yaml or tabulate, nor a module of the package that does."""
    for name in PHYSICS:
        reached, waiting = set(), [name]
        while waiting:
            one = waiting.pop()
            if one not in reached and one != "__init__":
                reached.add(one)
                waiting.extend(modules_used(one))
        outside = {full.split(".")[0] for one in reached for full in imports(trees()[one])} & set(OUTSIDE)
        assert outside == set(), f"{name} reaches {sorted(outside)}"


def test_each_library_has_its_door() -> None:
    """Pint in units alone, click in the command line alone, tabulate in the layout, yaml where files are read."""
    for name in trees():
        used = {full.split(".")[0] for full in imports(trees()[name])}
        extra = EXTRA if name.startswith("report.sheet.") else ()
        assert used <= {*sys.stdlib_module_names, "drawbar", *OUTSIDE, *extra}, name
        assert "click" not in used or room(name) == "cli", name
        for library, doors in ALLOWED.items():
            assert library not in used or name in doors, f"{name} imports {library}"


def test_a_command_imports_its_work_when_it_is_called() -> None:
    """At the top of a command's module stand click and the command line alone, so that --help stays quick."""
    for name, tree in trees().items():
        if room(name) == "cli":
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
    assert not modules & {"pint", "yaml", "tabulate", "drawbar.units", "drawbar.gas", "drawbar.checking"}


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


# names and docstrings

# What a float's name ends in, and how its unit stands in a docstring's brackets.
UNITS = {
    "_pa_s": "Pa s",
    "_pa": "Pa",
    "_per_pa": "1/Pa",
    "_kg_s": "kg/s",
    "_kg_m3": "kg/m3",
    "_kg_mol": "kg/mol",
    "_m3_mol": "m3/mol",
    "_j_kg": "J/kg",
    "_j_kg_k": "J/kg/K",
    "_m3_s": "m3/s",
    "_m3": "m3",
    "_m2": "m2",
    "_m_s": "m/s",
    "_m": "m",
    "_kg": "kg",
    "_k": "K",
    "_w": "W",
    "_s": "s",
}
# Floats without a unit: pure numbers, and those whose unit is that of what they are used for.
PURE = {"reynolds", "relative_roughness", "acentric", "share", "fill", "reserve", "fraction", "ratio"}
ANY_UNIT = {
    ("headroom", "largest"),  # a search for any quantity
    ("search", "cheapest"),  # in the unit of the cost
    ("bound", "Curve.reach"),  # cost per pascal
}
# Modules of equations: there every parameter stands in the docstring by its name.
EQUATIONS = ("air", "gas", "flow", "formulas")


def public_functions(module: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Yield the public functions of a module, and the public methods of its public classes, with their names."""
    for node in module.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for one in node.body:
                if isinstance(one, ast.FunctionDef) and not one.name.startswith("_"):
                    yield f"{node.name}.{one.name}", one


def float_parameters() -> Iterator[tuple[str, str, str, str]]:
    """Yield (module, function, parameter, docstring) of every public function's floats in the physics."""
    for module in PHYSICS:
        for name, function in public_functions(trees()[module]):
            if (module, name) in ANY_UNIT:
                continue
            for one in (*function.args.args, *function.args.kwonlyargs):
                if one.annotation is not None and ast.unparse(one.annotation) in ("float", "float | None"):
                    yield module, name, one.arg, ast.get_docstring(function) or ""


def unit_of(parameter: str) -> str | None:
    ends = [end for end in UNITS if parameter.endswith(end)]
    return UNITS[max(ends, key=len)] if ends else None


def test_every_float_s_name_says_its_unit() -> None:
    """A float parameter of the physics ends in its unit, or is a pure number."""
    nameless = [
        f"{module}.{name}: {parameter}"
        for module, name, parameter, _ in float_parameters()
        if parameter not in PURE and unit_of(parameter) is None
    ]
    assert nameless == []


def test_every_float_s_unit_stands_in_the_docstring() -> None:
    """The docstring has the unit of each float in brackets; in a module of equations the parameter's name as well."""
    missing = []
    count = 0
    for module, name, parameter, text in float_parameters():
        unit = "-" if parameter in PURE else unit_of(parameter)
        assert unit is not None
        count += 1
        brackets = " ".join(re.findall(r"\[([^\]]+)\]", text))
        has_unit = re.search(rf"(?<![\w/]){re.escape(unit)}(?![\w/])", brackets) is not None or "[SI]" in text
        if not has_unit or (module in EQUATIONS and parameter not in text):
            missing.append(f"{module}.{name}: {parameter} [{unit}]")
    assert missing == []
    assert count > 100
