"""Names and docstrings: every float says its unit, in its name and in the docstring."""

import ast
import re
from collections.abc import Iterator

from test_layers import PLAIN_MODULES, package, trees

from drawbar.quantities import UNIT_BY_ENDING, unit_of_name

# The packages and modules of figures.
MORE = ("sizing.size", "checking.spare", "checking.vents", "checking.check")
PLAIN = sorted(
    name for name in trees() if package(name) in ("physics", "line", "hot_water") or name in (*PLAIN_MODULES, *MORE)
)
# Floats without a unit: pure numbers, and those whose unit is that of what they are used for.
PURE = {
    "reynolds",
    "critical_reynolds",
    "relative_roughness",
    "friction",
    "reduced_temperature",
    "acentric",
    "share",
    "fill",
    "reserve",
    "fraction",
    "ratio",
}
ANY_UNIT = {
    ("checking.spare", "largest"),  # a search for any quantity
    ("sizing.pareto", "cheapest"),  # in the unit of the cost
    ("sizing.lower_bound", "Curve.reach"),  # cost per pascal
}
# What the fields of the physics' results end in beside these, and those that are pure numbers.
FIELD_UNITS = {
    "_bar2": "bar2",
    "_mbar": "mbar",
    "_psi2": "psi2",
    "_inh2o": "in w.c.",
    "_in": "in",
    "_m3_h": "m3/h",
    "_ft3_h": "ft3/h",
    "_angstrom": "angstrom",
    "flow_by_bore_max": "m3/h by mm",
}
PURE_FIELDS = {
    *("simple", "correction", "inverse_reduced", "collision_integral", "compressibility", "reference_compressibility"),
    *("thin_air", "site"),
    *("friction_factor", "capacity_factor", "superexpansibility", "corrected_density", "relative_density", "shape"),
}
# Modules of equations: there every parameter stands in the docstring by its name.
EQUATIONS = tuple(name for name in PLAIN if package(name) == "physics")


def public_functions(module: ast.Module) -> Iterator[tuple[str, ast.FunctionDef]]:
    """Yield the public functions of a module, and the public methods of its public classes, with their names."""
    for node in module.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node.name, node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            for method in node.body:
                if isinstance(method, ast.FunctionDef) and not method.name.startswith("_"):
                    yield f"{node.name}.{method.name}", method


def float_parameters() -> Iterator[tuple[str, str, str, str]]:
    """Yield (module, function, parameter, docstring) of every public function's floats in the physics."""
    for module in PLAIN:
        for name, function in public_functions(trees()[module]):
            if (module, name) in ANY_UNIT:
                continue
            for argument in (*function.args.args, *function.args.kwonlyargs):
                if argument.annotation is not None and ast.unparse(argument.annotation) in ("float", "float | None"):
                    yield module, name, argument.arg, ast.get_docstring(function) or ""


def test_every_float_s_name_says_its_unit() -> None:
    """A float parameter of the physics ends in its unit, or is a pure number."""
    nameless = [
        f"{module}.{name}: {parameter}"
        for module, name, parameter, _ in float_parameters()
        if parameter not in PURE and unit_of_name(parameter) is None
    ]
    assert nameless == []


def test_every_float_s_unit_stands_in_the_docstring() -> None:
    """The docstring has the unit of each float in brackets; in a module of equations the parameter's name as well."""
    missing = []
    count = 0
    for module, name, parameter, text in float_parameters():
        unit = "-" if parameter in PURE else unit_of_name(parameter)
        assert unit is not None
        count += 1
        brackets = " ".join(re.findall(r"\[([^\]]+)\]", text))
        has_unit = re.search(rf"(?<![\w/]){re.escape(unit)}(?![\w/])", brackets) is not None or "[SI]" in text
        if not has_unit or (module in EQUATIONS and parameter not in text):
            missing.append(f"{module}.{name}: {parameter} [{unit}]")
    assert missing == []
    assert count > 100


def unit_of_field(name: str) -> str | None:
    endings = [ending for ending in FIELD_UNITS if name.endswith(ending)]
    known, more = unit_of_name(name), max(endings, key=len, default=None)
    longest = max((ending for ending in UNIT_BY_ENDING if name.endswith(ending)), key=len, default="")
    return FIELD_UNITS[more] if more is not None and len(more) > len(longest) else known


def test_every_float_field_of_the_physics_has_its_unit_beside_it() -> None:
    """A float of a tuple or dataclass ends in its unit, or is a pure number; its own entry has that in brackets."""
    missing = []
    count = 0
    for module in (name for name in PLAIN if package(name) == "physics"):
        for node in trees()[module].body:
            if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
                continue
            entries = re.split(r"(?m)^(?=\w+ : )", ast.get_docstring(node) or "")
            for line in node.body:
                if isinstance(line, ast.AnnAssign) and ast.unparse(line.annotation) == "float":
                    count += 1
                    name = ast.unparse(line.target)
                    unit = "-" if name in PURE | PURE_FIELDS else unit_of_field(name)
                    entry = next((text for text in entries if text.startswith(f"{name} : float\n")), "")
                    if not re.search(rf"\[{re.escape(str(unit))}( \w+)?\]", entry):
                        missing.append(f"{module}.{node.name}: {name} [{unit}]")
    assert missing == []
    assert count > 60
