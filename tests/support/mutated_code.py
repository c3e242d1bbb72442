"""Mutants: which places of a module can be changed, what each is changed to, and which function that is in.

An operator becomes its opposite or its neighbour, a comparison gets or loses its equality or is turned round, a
condition is turned round, a number grows by one, or by a tenth where that is more, a word of a list of words becomes
another, the least becomes the largest, an action is left out. Left as they are: docstrings, texts with a space in them
(messages and what a page shows), annotations, imports, decorators, and what guards without doing anything: an `assert`
for the type checker, `strict` of a `zip`.
"""

import ast
import copy
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import yaml

from paths import ROOT, SUPPORT

Key = tuple[str, str, str, str, int]

SOURCE = ROOT / "src" / "drawbar"
ROOMS = ("physics", "line", "checking", "verdict.py")
_ARITHMETIC = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.FloorDiv: (ast.Div,),
    ast.Mod: (ast.FloorDiv,),
    ast.Pow: (ast.Mult,),
    ast.BitOr: (ast.BitAnd,),
    ast.BitAnd: (ast.BitOr,),
}
_COMPARISONS = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
_CALLS = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}
_LEFT_ALONE = (ast.Assert, ast.Import, ast.ImportFrom, ast.JoinedStr)
_ANNOTATIONS = ("annotation", "returns", "decorator_list", "type_params", "bases")
# Where a condition stands, which can be turned round.
_CONDITIONS = {(ast.If, "test"), (ast.While, "test"), (ast.IfExp, "test"), (ast.comprehension, "ifs")}


@dataclass(frozen=True)
class Mutant:
    """One change of one place.

    Attributes
    ----------
    module : str
        The module's path under `src/drawbar`.
    function : str
        The qualified name of the outermost function that it is in; empty for what is worked out at import.
    line : int
        Where the change is.
    lines : tuple of int
        The first and last line of the statement that it is in; of one with a body, of its head.
    before, after : str
        The code there, and what it is changed to.
    number : int
        Which change of its module it is.
    occurrence : int
        Which of the changes that read the same in this function it is, from 1.
    """

    module: str
    function: str
    line: int
    lines: tuple[int, int]
    before: str
    after: str
    number: int
    occurrence: int

    @property
    def key(self) -> Key:
        """What it is known by as the lines around it change."""
        return self.module, self.function, self.before, self.after, self.occurrence

    @property
    def room(self) -> str:
        """The room that the module is in."""
        return self.module.partition("/")[0]

    def __str__(self) -> str:
        return f"{self.module}:{self.line} {self.function}: `{self.before}` -> `{self.after}` ({self.occurrence})"


@dataclass
class _Place:
    parent: ast.AST
    field: str
    index: int | None
    node: ast.AST
    function: str
    lines: tuple[int, int]


def modules() -> list[str]:
    """Return the paths of the modules that are changed, under `src/drawbar`."""
    paths: list[Path] = []
    for room in ROOMS:
        path = SOURCE / room
        paths.extend(sorted(path.glob("*.py")) if path.is_dir() else [path])
    return [path.relative_to(SOURCE).as_posix() for path in paths]


def mutants_of(module: str) -> list[Mutant]:
    """Return every change of a module."""
    tree = ast.parse((SOURCE / module).read_text(encoding="utf-8"))
    mutants: list[Mutant] = []
    seen: dict[tuple[str, str, str], int] = {}
    for number, (place, after) in enumerate(_changes(tree)):
        before, text = ast.unparse(place.node), ast.unparse(after)
        key = place.function, before, text
        seen[key] = seen.get(key, 0) + 1
        line = place.node.lineno  # type: ignore[attr-defined]
        mutants.append(Mutant(module, place.function, line, place.lines, before, text, number, seen[key]))
    return mutants


def changed(mutant: Mutant) -> ast.Module:
    """Return the tree of a module with the change made."""
    tree = ast.parse((SOURCE / mutant.module).read_text(encoding="utf-8"))
    place, after = next(change for number, change in enumerate(_changes(tree)) if number == mutant.number)
    value = getattr(place.parent, place.field)
    if place.index is None:
        setattr(place.parent, place.field, after)
    else:
        value[place.index] = after
    return ast.fix_missing_locations(tree)


def reasons_left() -> dict[Key, str]:
    """Return why no test can or need notice a change, of `mutants_left.yaml`: those of a function by one reason."""
    reasons: dict[Key, str] = {}
    for entry in yaml.safe_load((SUPPORT / "mutants_left.yaml").read_text(encoding="utf-8")):
        for before, after, *occurrence in entry["changes"]:
            reasons[entry["module"], entry["in"], before, after, *(occurrence or [1])] = entry["why"]
    return reasons


def _changes(tree: ast.Module) -> Iterator[tuple[_Place, ast.AST]]:
    for place in _places(tree, "", (0, 0)):
        for after in _replacements(place):
            yield place, ast.copy_location(after, place.node)


def _places(node: ast.AST, function: str, lines: tuple[int, int]) -> Iterator[_Place]:
    inside = function
    is_outermost = not function or function.endswith(".")
    if isinstance(node, ast.ClassDef) and is_outermost:
        inside = f"{function}{node.name}."
    for field, value in ast.iter_fields(node):
        if field in _ANNOTATIONS or (isinstance(node, ast.ClassDef) and field == "keywords"):
            continue
        # Defaults are worked out where the function is made.
        where = inside
        if isinstance(node, ast.FunctionDef) and is_outermost and field == "body":
            where = f"{function}{node.name}"
        for index, child in enumerate(value if isinstance(value, list) else [value]):
            if not isinstance(child, ast.AST) or _is_left_alone(child):
                continue
            said = "" if where.endswith(".") else where
            child_lines = _lines(child) if isinstance(child, ast.stmt) else lines
            if hasattr(child, "lineno"):
                yield _Place(node, field, index if isinstance(value, list) else None, child, said, child_lines)
            yield from _places(child, where, child_lines)


def _lines(statement: ast.stmt) -> tuple[int, int]:
    body = getattr(statement, "body", None)
    last = body[0].lineno - 1 if body else statement.end_lineno or 0
    return statement.lineno, max(statement.lineno, last)


def _is_left_alone(child: ast.AST) -> bool:
    if isinstance(child, _LEFT_ALONE) or (isinstance(child, ast.keyword) and child.arg == "strict"):
        return True
    if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):  # a docstring, of a figure too
        return True
    return isinstance(child, ast.If) and isinstance(child.test, ast.Name) and child.test.id == "TYPE_CHECKING"


def _replacements(place: _Place) -> Iterator[ast.AST]:
    node = place.node
    yield from _other_operators(node)
    if isinstance(node, ast.Constant):
        yield from _other_constants(node.value)
    elif isinstance(node, ast.Call):
        yield from _other_calls(node)
    elif isinstance(node, ast.Break | ast.Continue):
        yield ast.Continue() if isinstance(node, ast.Break) else ast.Break()
    elif isinstance(node, ast.Expr):
        yield _without(node)
    is_turned = isinstance(node, ast.Compare | ast.UnaryOp)  # which change by themselves
    if (type(place.parent), place.field) in _CONDITIONS and not is_turned:
        yield ast.UnaryOp(op=ast.Not(), operand=node)  # type: ignore[arg-type]


def _other_operators(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.BinOp | ast.AugAssign):
        for other in _ARITHMETIC.get(type(node.op), ()):
            yield _with(node, op=other())
    elif isinstance(node, ast.BoolOp):
        yield _with(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())
    elif isinstance(node, ast.Compare):
        for index, operator in enumerate(node.ops):
            for other in _COMPARISONS[type(operator)]:
                yield _with(node, ops=[*node.ops[:index], other(), *node.ops[index + 1 :]])
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.operand


def _with(node: ast.AST, **fields: object) -> ast.AST:
    other = copy.copy(node)
    for name, value in fields.items():
        setattr(other, name, value)
    return other


def _other_constants(value: object) -> Iterator[ast.Constant]:
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
    elif isinstance(value, float):
        yield ast.Constant(max(value + 1.0, value * 1.1))
    elif isinstance(value, str) and not any(sign.isspace() for sign in value):
        yield ast.Constant(f"{value}-other")


def _other_calls(node: ast.Call) -> Iterator[ast.AST]:
    if isinstance(node.func, ast.Name) and node.func.id in _CALLS:
        yield _with(node, func=ast.Name(_CALLS[node.func.id], ast.Load()))
    elif isinstance(node.func, ast.Attribute) and node.func.attr in _CALLS:
        yield _with(node, func=ast.Attribute(node.func.value, _CALLS[node.func.attr], ast.Load()))


def _without(node: ast.Expr) -> ast.AST:
    """Return a statement that does nothing; a generator stays one, and a method that knows its class too."""
    if isinstance(node.value, ast.Yield | ast.YieldFrom):
        return ast.Expr(ast.YieldFrom(ast.Tuple([], ast.Load())))
    if any(isinstance(part, ast.Name) and part.id == "super" for part in ast.walk(node)):
        return ast.Expr(ast.Name("__class__", ast.Load()))
    return ast.Pass()
