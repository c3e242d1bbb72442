"""Which tests reach which line of the code, and how long each takes: every test is run once, as the code is."""

import json
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import coverage
import hypothesis
import pytest

from mutated_code import SOURCE, Mutant, modules
from paths import ROOT

TESTS = (
    *("physics", "line", "checking", "sizing", "test_gas_supply.py", "test_supply_by_use.py", "test_hot_water.py"),
    *("water_line/test_water_published.py", "water_line/test_in_turn.py"),
)
TEST_SECONDS = 20.0  # of processor time, as the code is: of the tests that reach a line, so many are taken
LIMIT_TIMES, LIMIT_MORE_S = 10.0, 3.0  # how much longer a test may take of a mutant
_LINES_BEFORE = 3
WRONG = 2  # the exit code of a process that could not do what it is for
_WORDS = [
    *("-q", "--no-cov", "--tb=native", "-p", "no:cacheprovider", "-m", "not long and not timing and not trial"),
    *("-W", "ignore::pytest.PytestAssertRewriteWarning"),  # hypothesis is imported before pytest starts
]


class Watch:
    """A plug-in that keeps which test failed, and hands over to what is to be done with the tests that were read."""

    def __init__(self, act: Callable[[pytest.Session, "Watch"], None]) -> None:
        self.act = act
        self.failed: str | None = None

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Keep the first test that failed."""
        if report.failed and self.failed is None:
            self.failed = report.nodeid

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Do what is to be done in place of running every test."""
        self.act(session, self)
        return True


def read_tests(act: Callable[[pytest.Session, Watch], None], files: Sequence[str] = TESTS) -> Watch:
    """Read the tests of files under `tests/`, and do what is to be done with them; each random trial is repeatable."""
    hypothesis.settings.register_profile(
        "repeatable",
        derandomize=True,
        database=None,
        deadline=None,
        phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate],
        suppress_health_check=list(hypothesis.HealthCheck),
    )
    hypothesis.settings.load_profile("repeatable")
    watch = Watch(act)
    code = pytest.main([*_WORDS, *(str(ROOT / "tests" / name) for name in files)], plugins=[watch])
    if code != pytest.ExitCode.OK and watch.failed is None:
        watch.failed = "reading the tests"
    return watch


def run_items(
    items: Sequence[pytest.Item], watch: Watch, limits_s: dict[str, float] | None = None
) -> Iterator[tuple[pytest.Item, float]]:
    """Run tests until one fails; yield each with the processor time that it took [s].

    By name a test may have a time that it takes [s]; where it takes far longer the system ends this process.
    """
    for item, following in zip(items, [*items[1:], None], strict=True):
        if limits_s is not None:
            signal.setitimer(signal.ITIMER_PROF, LIMIT_TIMES * limits_s[item.nodeid] + LIMIT_MORE_S)
        began = sum(os.times()[:4])  # with the processes that a test starts
        item.ihook.pytest_runtest_protocol(item=item, nextitem=following)
        yield item, sum(os.times()[:4]) - began
        if watch.failed is not None:
            return


class Reach:
    """Which tests reach which line of a module, and the processor time of each test [s].

    Attributes
    ----------
    seconds : dict of str to float
        By the test's name, in the order that they are read in.
    by_line : dict of str to dict of int to list of str
        The tests by module and line.
    """

    def __init__(self, seconds: dict[str, float], by_line: dict[str, dict[int, list[str]]]) -> None:
        self.seconds, self.by_line = seconds, by_line

    def tests_of(self, mutant: Mutant, most_s: float = TEST_SECONDS) -> list[str]:
        """Return the tests that can notice a change, up to a processor time [s]: those of its room, then the others.

        The fastest come first. Of what is worked out at import they are those that touch the module, and the room's.
        """
        reached = self.by_line.get(mutant.module, {})
        of_room = {name for name in self.seconds if name.startswith(f"tests/{mutant.room}/")}
        if mutant.function:
            first, last = mutant.lines
            names = {name for line in range(first, last + 1) for name in reached.get(line, ())}
            if not names:  # a `break` may have no line of its own: then those that reach the lines before it
                names = {name for line in range(first - _LINES_BEFORE, first) for name in reached.get(line, ())}
        else:
            names = {name for tests in reached.values() for name in tests} | of_room
        ordered = sorted(names, key=lambda name: (name not in of_room, self.seconds[name]))
        taken: list[str] = []
        spent = 0.0
        for name in ordered:
            spent += self.seconds[name]
            if taken and spent > most_s:
                break
            taken.append(name)
        return taken


def measure_reach(to: int) -> None:
    """Run every test as the code is, and write which lines each reaches to a pipe."""

    def act(session: pytest.Session, watch: Watch) -> None:
        measure = coverage.Coverage(data_file=None, config_file=False, include=[f"{SOURCE}/*"])
        seconds: dict[str, float] = {}
        measure.start()
        for number, (item, taken_s) in enumerate(run_items(session.items, watch), 1):
            seconds[item.nodeid] = taken_s
            if number < len(session.items):
                measure.switch_context(session.items[number].nodeid)
        measure.stop()
        if watch.failed is None:
            write_json(to, {"seconds": seconds, "by_line": _numbered(measure.get_data(), seconds)})

    watch = read_tests(act)
    if watch.failed is not None:
        write_json(to, {"failed": watch.failed})


def _numbered(data: coverage.CoverageData, seconds: dict[str, float]) -> dict[str, dict[int, list[int]]]:
    """Return the tests that reach each line by their numbers, as their names are long."""
    numbers = {name: number for number, name in enumerate(seconds)}
    by_line = {}
    for module in modules():
        lines = data.contexts_by_lineno(str(SOURCE / module))
        by_line[module] = {line: [numbers[name] for name in names if name in numbers] for line, names in lines.items()}
    return by_line


def write_json(to: int, what: object) -> None:
    """Write data to a pipe and close it."""
    with os.fdopen(to, "w", encoding="utf-8") as pipe:
        json.dump(what, pipe)


def reach_of(measured: Callable[[], dict], kept: Path | None) -> Reach:
    """Return which tests reach which line: as it was kept, where no file of the code or the tests is newer."""
    newest = max(path.stat().st_mtime for folder in ("src", "tests") for path in (ROOT / folder).rglob("*.*"))
    if kept is not None and kept.exists() and kept.stat().st_mtime > newest:
        read = json.loads(kept.read_text(encoding="utf-8"))
    else:
        read = measured()
        if "failed" in read:
            raise SystemExit(f"{read['failed']} fails before anything is changed")
        if kept is not None:
            kept.write_text(json.dumps(read), encoding="utf-8")
    names = list(read["seconds"])
    by_line = {
        module: {int(line): [names[number] for number in numbers] for line, numbers in lines.items()}
        for module, lines in read["by_line"].items()
    }
    return Reach(read["seconds"], by_line)
