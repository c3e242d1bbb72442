"""Mutants of the code: one place changed at a time, to see whether a test notices.

`python tests/support/mutants.py --seed 1 --count 400` changes 400 places of `physics/`, `line/`, `checking/` and
`verdict.py`, drawn at random, and prints which changes no test notices, each with its reason where
`mutants_left.yaml` has it. `--count 0` takes every place. What is changed, and what is left alone, is said in
`mutated_code.py`. With `--to FILE` each outcome is a line of JSON there, and a later run goes on after them.

No file is changed. The tests are read once; then each mutant is a fork of this process that takes the mutant's
function for the real one and runs the tests that reach its line until one fails: first those that noticed most in its
module, then those of its room, the fastest first. What is worked out at import is changed in a fork that imports the
program afresh. A fork that takes too long is killed, and its mutant counts as killed. Before all, every test must pass
as the code is, and so must the tests of places drawn at random that are run in forks without a change.

The tests are those of the rooms, and of sizing, the bottles and the water side, which are built on them. So no page and
no guide that is compared with the program's own output counts, and no example in a docstring: they would notice a
change without telling what is right. The random trials and what measures time are left out as they take too long.
"""

import argparse
import contextlib
import functools
import gc
import importlib
import importlib.util
import json
import os
import resource
import signal
import sys
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from importlib.machinery import ModuleSpec
from pathlib import Path
from random import Random
from types import CodeType, FunctionType, ModuleType

import pytest

from mutated_code import ROOMS, SOURCE, Mutant, changed, modules, mutants_of, reasons_left
from paths import ROOT
from reached_lines import WRONG, Reach, Watch, measure_reach, reach_of, read_tests, run_items

CONTROLS = 12  # forks without a change
WAITING_SECONDS = 900  # what a fork may take by the clock
MEMORY = 4 << 30  # bytes of a fork
_SURVIVED, _KILLED = range(2)
_KILLERS = 10


# one mutant


def put_in_place(mutant: Mutant) -> None:
    """Make a mutant's function the real one, for all that call it."""
    code = compile(changed(mutant), str(SOURCE / mutant.module), "exec")
    *holders, last = mutant.function.split(".")
    place: object = sys.modules[_import_name(mutant.module)]
    for holder in holders:
        code = _inner(code, holder)
        place = getattr(place, holder)
    assert isinstance(place, ModuleType | type)
    _function(place.__dict__[last]).__code__ = _inner(code, last)
    for wrapped in gc.get_objects():
        if isinstance(wrapped, functools._lru_cache_wrapper) and wrapped.__module__.startswith("drawbar"):
            wrapped.cache_clear()


def _import_name(module: str) -> str:
    return f"drawbar.{module.removesuffix('.py').replace('/', '.')}"


def _inner(code: CodeType, name: str) -> CodeType:
    return next(part for part in code.co_consts if isinstance(part, CodeType) and part.co_name == name)


def _function(held: object) -> FunctionType:
    """Return the plain function in a property, a class method or a cache."""
    for name in ("fget", "func", "__func__", "__wrapped__"):
        if not isinstance(held, FunctionType):
            held = getattr(held, name, held)
    while isinstance(held, FunctionType) and hasattr(held, "__wrapped__"):
        held = held.__wrapped__
    assert isinstance(held, FunctionType)
    return held


class MutatedImport:
    """Gives the program's import a module with a change, in place of the module's file."""

    def __init__(self, mutant: Mutant) -> None:
        self.mutant = mutant
        self.name = _import_name(mutant.module)

    def find_spec(self, name: str, path: object = None, target: object = None) -> ModuleSpec | None:
        """Return how to import the module, None for every other."""
        del path, target
        if name != self.name:
            return None
        return importlib.util.spec_from_file_location(name, SOURCE / self.mutant.module, loader=self)  # type: ignore[arg-type]

    def create_module(self, spec: ModuleSpec) -> None:
        """Leave it to the import."""
        del spec

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed code."""
        exec(compile(changed(self.mutant), str(SOURCE / self.mutant.module), "exec"), module.__dict__)


def _be_silent() -> None:
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)


def outcome_of(run: Callable[[], str | None]) -> tuple[bool, str]:
    """Return whether a run in a fork of its own killed the mutant, and by what."""
    here, there = os.pipe()
    child = os.fork()
    if not child:
        os.close(here)
        _be_silent()
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        signal.alarm(WAITING_SECONDS)
        code = WRONG
        try:
            failed = run()
            os.write(there, (failed or "").encode())
            code = _SURVIVED if failed is None else _KILLED
        finally:
            os._exit(code)
    os.close(there)
    with os.fdopen(here, encoding="utf-8") as pipe:
        by = pipe.read()
    _, status = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(status)
    if code == WRONG:
        raise SystemExit("a fork ended before its tests did")
    return code != _SURVIVED, by if code >= 0 else "time"


def try_functions(
    mutants: Sequence[Mutant | None], reach: Reach, tell: Callable[[Mutant | None, bool, str], None]
) -> None:
    """Try mutants of functions, each in a fork of this process once it has read the tests; None is no change."""
    controls = Random(0)
    every = [mutant for mutant in mutants if mutant is not None]

    def act(session: pytest.Session, watch: Watch) -> None:
        items = {item.nodeid: item for item in session.items}
        for module in modules():  # some are imported only when they are needed
            importlib.import_module(_import_name(module))
        gc.freeze()
        killers: defaultdict[str, Counter[str]] = defaultdict(Counter)
        for mutant in mutants:
            place = mutant or controls.choice(every)
            tests = reach.tests_of(place)
            # First those that most often noticed a change of this module.
            often = [name for name, _ in killers[place.module].most_common(_KILLERS) if name in tests]
            tests = list(dict.fromkeys((*often, *tests)))

            def run(mutant: Mutant | None = mutant, tests: list[str] = tests) -> str | None:
                if mutant is not None:
                    put_in_place(mutant)
                for _ in run_items([items[name] for name in tests], watch, reach.seconds):
                    pass
                return watch.failed

            killed, by = outcome_of(run) if tests else (False, "no test reaches it")
            if by in items:
                killers[place.module][by] += 1
            tell(mutant, killed, by)

    if every:
        read_tests(act)


def try_at_import(mutant: Mutant, reach: Reach) -> tuple[bool, str]:
    """Return whether a change of what is worked out at import is noticed, and by which test."""
    names = reach.tests_of(mutant)
    files = list(dict.fromkeys(name.partition("::")[0].removeprefix("tests/") for name in names))

    def act(session: pytest.Session, watch: Watch) -> None:
        items = {item.nodeid: item for item in session.items}
        for _ in run_items([items[name] for name in names], watch, reach.seconds):
            pass

    def run() -> str | None:
        sys.meta_path.insert(0, MutatedImport(mutant))  # type: ignore[arg-type]
        return read_tests(act, files).failed

    return outcome_of(run)


# all of them


def in_fork(act: Callable[[int], None]) -> Iterator[str]:
    """Yield the lines that a function, which is called in a fork, writes to a pipe."""
    here, there = os.pipe()
    child = os.fork()
    if not child:
        os.close(here)
        _be_silent()
        act(there)
        os._exit(0)
    os.close(there)
    try:
        with os.fdopen(here, encoding="utf-8") as pipe:
            yield from pipe
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.kill(child, signal.SIGTERM)
        os.waitpid(child, 0)


def measured() -> dict:
    """Return what `measure_reach` writes."""
    for line in in_fork(measure_reach):
        return json.loads(line)
    raise SystemExit("the tests can't be read")


def outcomes(mutants: Sequence[Mutant], reach: Reach) -> Iterator[tuple[Mutant, bool, str]]:
    """Yield what becomes of each mutant, as it is tried; end the run if a fork without a change fails a test."""
    in_functions = [mutant for mutant in mutants if mutant.function]
    places = {str(mutant): mutant for mutant in in_functions}

    def act(to: int) -> None:
        with os.fdopen(to, "w", encoding="utf-8") as pipe:

            def tell(mutant: Mutant | None, killed: bool, by: str) -> None:  # noqa: FBT001
                print(json.dumps([mutant and str(mutant), killed, by]), file=pipe, flush=True)

            try_functions([*[None] * CONTROLS, *in_functions], reach, tell)

    for line in in_fork(act):
        name, killed, by = json.loads(line)
        if name is not None:
            yield places.pop(name), killed, by
        elif killed:
            raise SystemExit(f"{by} fails in a fork without a change")
    if places:
        raise SystemExit(f"{len(places)} changes could not be tried")
    for mutant in mutants:
        if not mutant.function:
            yield mutant, *try_at_import(mutant, reach)


def main() -> None:
    """Try so many mutants, and print which no test notices and what share is killed."""
    parser = argparse.ArgumentParser(description="Change the code at random places and see whether a test notices.")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=400, help="how many places; 0 for all")
    parser.add_argument("--only", nargs="*", default=[""], help="only modules whose paths begin so")
    parser.add_argument("--to", type=Path, help="a file of the outcomes, to go on later")
    given = parser.parse_args()
    os.chdir(ROOT)
    every = [mutant for module in modules() for mutant in mutants_of(module) if module.startswith(tuple(given.only))]
    chosen = Random(given.seed).sample(every, min(given.count, len(every)) if given.count else len(every))
    told: dict[str, tuple[bool, str]] = {}
    if given.to is not None and given.to.exists():
        for line in given.to.read_text(encoding="utf-8").splitlines():
            outcome = json.loads(line)
            told[outcome["mutant"]] = outcome["killed"], outcome["by"]
    before = sum(str(each) in told for each in chosen)
    print(f"{len(chosen)} of {len(every)} changes are tried, {before} of them before", flush=True)
    left = [mutant for mutant in chosen if str(mutant) not in told]
    reach = reach_of(measured, given.to and given.to.with_suffix(".reach"))
    for mutant, killed, by in outcomes(left, reach):
        told[str(mutant)] = killed, by
        if given.to is not None:
            with given.to.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"mutant": str(mutant), "killed": killed, "by": by}) + "\n")
    print_outcomes({mutant: told[str(mutant)] for mutant in chosen})


def print_outcomes(told: dict[Mutant, tuple[bool, str]]) -> None:
    """Print the mutants that no test notices, each with its reason, and the share killed of each room and of all."""
    reasons = reasons_left()
    for mutant, (killed, by) in told.items():
        if not killed:
            print(f"LIVES {mutant}\n      {reasons.get(mutant.key, by or 'no reason is listed')}")
    for room in (*ROOMS, ""):
        of_room = [killed for mutant, (killed, _) in told.items() if room in ("", mutant.room)]
        if of_room:
            share = sum(of_room) / len(of_room)
            print(f"{room or 'all'}: {len(of_room)} tried, {sum(of_room)} killed, {100.0 * share:.1f} %")


if __name__ == "__main__":
    for _name in ("CoolProp.CoolProp", "chemicals", "fluids", "jsonschema", "numpy", "pint", "scipy.optimize"):
        with contextlib.suppress(ImportError):
            importlib.import_module(_name)  # once here, not in every fork
    main()
