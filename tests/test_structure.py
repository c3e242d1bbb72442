"""The structure: rooms small, every public name once, docstrings in one dialect that agree with the signatures."""

import ast
import re
from collections import defaultdict
from collections.abc import Iterator

from test_layers import PACKAGE, package, trees

from paths import ROOT

MOST_LINES = 400  # of a module
MOST_BODY = 60  # lines of a function, its docstring left out; ruff's C901 holds its complexity
VAGUE = {"found", "one"}  # names that say nothing of what a value is
_SECTION = re.compile(r"^(Parameters|Attributes|Returns|Yields|Raises|References|Examples|Notes)\n-{4,}$", re.MULTILINE)
_ENTRY = re.compile(r"^([\w*]+(?:, [\w*]+)*) : ", re.MULTILINE)
# Whose public functions document every parameter and what they return.
IN_FULL = ("physics", "api")


def functions(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    """Yield every function of a module, methods and inner ones as well."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))


def documented(node: ast.FunctionDef | ast.ClassDef, section: str) -> list[str] | None:
    """Return the names that a section of a docstring has, None without the section."""
    text = ast.get_docstring(node) or ""
    head = re.search(rf"^{section}\n-{{4,}}\n", text, re.MULTILINE)
    if head is None:
        return None
    rest = text[head.end() :]
    following = _SECTION.search(rest)
    body = rest[: following.start()] if following else rest
    return [name.strip().lstrip("*") for names in _ENTRY.findall(body) for name in names.split(",")]


def taken(function: ast.FunctionDef) -> list[str]:
    """Return the names of a function's parameters in order, without self and cls."""
    arguments = function.args
    every = [*arguments.posonlyargs, *arguments.args, arguments.vararg, *arguments.kwonlyargs, arguments.kwarg]
    return [argument.arg for argument in every if argument is not None and argument.arg not in ("self", "cls")]


def public_names(tree: ast.Module) -> Iterator[str]:
    """Yield the public functions, classes and values that a module defines."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names = [node.name]
        elif isinstance(node, ast.Assign):
            names = [target.id for target in node.targets if isinstance(target, ast.Name)]
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            names = [node.target.id]
        else:
            names = []
        yield from (name for name in names if not name.startswith("_"))


def test_no_public_name_stands_twice() -> None:
    """One name for one thing: a public function, class or value is defined in one module alone."""
    places = defaultdict(list)
    for module, tree in trees().items():
        for name in dict.fromkeys(public_names(tree)):
            places[name].append(module)
    assert {name: modules for name, modules in places.items() if len(modules) > 1} == {}


def test_no_file_name_stands_twice() -> None:
    """A newcomer who is told a file's name finds one file of that name."""
    places = defaultdict(list)
    for path in PACKAGE.rglob("*.py"):
        if path.name != "__init__.py":
            places[path.name].append(path.relative_to(PACKAGE).as_posix())
    assert {name: paths for name, paths in places.items() if len(paths) > 1} == {}


def test_modules_and_functions_are_small() -> None:
    """No module over 400 lines, no function over 60 without its docstring."""
    large = []
    for path in PACKAGE.rglob("*.py"):
        lines = path.read_text(encoding="utf-8").count("\n")
        if lines > MOST_LINES:
            large.append(f"{path.relative_to(PACKAGE)}: {lines} lines")
    for module, tree in trees().items():
        for function in functions(tree):
            first = function.body[0]
            docstring = first.end_lineno - first.lineno + 1 if ast.get_docstring(function) and first.end_lineno else 0
            lines = (function.end_lineno or 0) - function.lineno + 1 - docstring
            if lines > MOST_BODY:
                large.append(f"{module}.{function.name}: {lines} lines")
    assert large == []


def test_a_value_is_named_by_what_it_is() -> None:
    """No value or parameter is called `found` or `one`, neither in the program nor in the tests."""
    vague = []
    for folder in ("src", "tests", "examples"):
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                name = node.arg if isinstance(node, ast.arg) else node.id if isinstance(node, ast.Name) else ""
                if name in VAGUE:
                    vague.append(f"{path.relative_to(ROOT)}:{node.lineno}: {name}")
    assert vague == []


def test_docstrings_speak_one_dialect() -> None:
    """Where parameters are described they stand in numpydoc's sections, and they are those of the signature."""
    wrong = []
    for module, tree in trees().items():
        for node in ast.walk(tree):
            if not isinstance(node, ast.FunctionDef | ast.ClassDef):
                continue
            text = ast.get_docstring(node) or ""
            if _ENTRY.search(text) and not _SECTION.search(text):
                wrong.append(f"{module}.{node.name}: describes parameters outside a section")
            names = documented(node, "Parameters")
            if isinstance(node, ast.FunctionDef) and names is not None and names != taken(node):
                wrong.append(f"{module}.{node.name}: documents {names}, takes {taken(node)}")
    assert wrong == []


def test_equations_and_the_library_are_documented_in_full() -> None:
    """Every public function of the physics and of the library has its parameters and what it returns in sections."""
    bare = []
    for module, tree in trees().items():
        if package(module) not in IN_FULL:
            continue
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                if taken(node) and documented(node, "Parameters") is None:
                    bare.append(f"{module}.{node.name}: no Parameters")
                if ast.unparse(node.returns or ast.Constant(None)) != "None" and not re.search(
                    r"^(Returns|Yields)\n-{4,}$", ast.get_docstring(node) or "", re.MULTILINE
                ):
                    bare.append(f"{module}.{node.name}: no Returns")
    assert bare == []
