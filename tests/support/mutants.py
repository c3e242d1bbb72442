"""Mutants of the code: one operator, comparison or number changed at a time, to see whether the tests notice.

`python tests/support/mutants.py SEED COUNT` changes COUNT places of `physics/`, `line/`, `checking/`, `verdict.py`,
one after another, each in a copy of the project, runs the tests of that room on it, and prints which changes they let
pass. The tests must pass on the copy as it is, else nothing is told of them.
"""

import ast
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
ROOMS = {  # the code, and the tests that are to notice
    "physics": ("tests/physics", "tests/checking/test_check_by_hand.py", "tests/checking/test_one_equation.py"),
    "line": ("tests/line", "tests/checking/test_check_by_hand.py", "tests/checking/test_crowded_states.py"),
    "checking": ("tests/checking",),
    "verdict.py": ("tests/checking", "tests/cli/test_check_command.py"),
}
_OTHER = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Lt: ast.GtE,
    ast.LtE: ast.Gt,
    ast.Gt: ast.LtE,
    ast.GtE: ast.Lt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
MOST_SECONDS = 240


def places(tree: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """Yield each node that can be changed, and which part of it."""
    for node in ast.walk(tree):
        if isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in _OTHER:
            yield node, "op"
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in _OTHER:
            yield node, "ops"
        elif (
            isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool)
        ):
            yield node, "value"


def changed(text: str, number: int) -> tuple[str, str]:
    """Return a module with its nth place changed, and what was changed where."""
    tree = ast.parse(text)
    node, part = list(places(tree))[number]
    before = ast.unparse(node)
    if part == "op":
        node.op = _OTHER[type(node.op)]()  # type: ignore[attr-defined]
    elif part == "ops":
        node.ops[0] = _OTHER[type(node.ops[0])]()  # type: ignore[attr-defined]
    else:
        node.value = node.value * 1.1 if isinstance(node.value, float) and node.value else node.value + 1  # type: ignore[attr-defined]
    return ast.unparse(tree), f"line {node.lineno}: `{before}` -> `{ast.unparse(node)}`"  # type: ignore[attr-defined]


def survives(copy_of: Path, tests: tuple[str, ...]) -> bool:
    """Tell whether the tests pass on a copy of the project."""
    words = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-x",
        "-m",
        "not long and not timing",
        "-p",
        "no:cacheprovider",
        *tests,
    ]
    environment = {**os.environ, "PYTHONPATH": str(copy_of / "src"), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        ended = subprocess.run(
            words, cwd=copy_of, env=environment, capture_output=True, timeout=MOST_SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        return False
    return ended.returncode == 0


def main(seed: int, count: int) -> None:
    """Try so many mutants and print what became of each."""
    chance = Random(seed)
    every = []
    for room in ROOMS:
        path = ROOT / "src" / "drawbar" / room
        for module in sorted(path.glob("*.py")) if path.is_dir() else [path]:
            text = module.read_text(encoding="utf-8")
            every.extend((room, module, number) for number in range(len(list(places(ast.parse(text))))))
    killed = 0
    with tempfile.TemporaryDirectory() as folder:
        copy_of = Path(folder) / "project"
        shutil.copytree(ROOT, copy_of, ignore=shutil.ignore_patterns(".git", ".venv", ".mypy_cache", "__pycache__"))
        for room, tests in ROOMS.items():
            if not survives(copy_of, tests):
                raise SystemExit(f"{room}: its tests fail before anything is changed")
        for tried, (room, module, number) in enumerate(chance.sample(every, count), 1):
            text = module.read_text(encoding="utf-8")
            mutant, what = changed(text, number)
            target = copy_of / module.relative_to(ROOT)
            target.write_text(mutant, encoding="utf-8")
            lives = survives(copy_of, ROOMS[room])
            target.write_text(text, encoding="utf-8")
            killed += not lives
            said = f"{'LIVES' if lives else 'killed'} {module.relative_to(ROOT)}, {what}"
            print(f"{tried} of {len(every)} places, {killed} killed: {said}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
