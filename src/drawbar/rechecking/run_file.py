"""The results of a long run as they come, in a file beside the one that is wanted: a run cut short goes on from there.

Its first line says what the run works with. Each result is a whole line, written out before the next job; a line that
was cut through is dropped when the run goes on. The file that is wanted is made when all is done, in one step.
"""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import BinaryIO, NamedTuple

from drawbar.problems import Problem, Problems, visible
from drawbar.rechecking.result_lines import BadLineError, outcome_of
from drawbar.rechecking.worked_from import digest, program
from drawbar.rechecking.workers import Task
from drawbar.yamlfile.carried import JOB, read_carried

_KIND = "recheck-run"
_WORDS = {
    "program": "the program is another",
    "swaps": "the swaps are others",
    "asked": "other keys or units are set",
    "libraries": "the libraries are others, or were changed",
    "baseline": "the baseline is another, or was changed",
}


def run_inputs(task: Task, baseline: str | None = None) -> dict[str, object]:
    """Return what a run works with besides its jobs, as its first line says it.

    Parameters
    ----------
    task : Task
        The libraries, the swaps, and what else is asked.
    baseline : str or None
        The file of earlier results that it holds its own against.

    Returns
    -------
    dict of str to object
        Files by digest.
    """
    return {
        "kind": _KIND,
        "program": program(),
        "swaps": [str(swap) for swap in task.swaps],
        "asked": [repr(task.asked)],
        "libraries": [_file_digest(file) for file in task.libraries],
        "baseline": None if baseline is None else _file_digest(baseline),
    }


class Done(NamedTuple):
    """What is kept of a result that an earlier run had: the digest of its job, its exit code, its swaps and change."""

    job: str | None
    exit_code: int
    swaps: tuple[str, ...]
    change: str


class RunFile:
    """The results of a run as they come.

    Parameters
    ----------
    out : str
        The file that is wanted in the end; results gather in `OUT.part` beside it.
    inputs : mapping of str to object
        Of `run_inputs`.
    resume : bool
        Whether to go on with what an earlier run left.

    Attributes
    ----------
    part : Path
        Where the results gather.
    done : dict of str to Done
        What an earlier run had done, by job file.

    Raises
    ------
    Problems
        If there is an earlier run's file and it is not to be gone on with, or can't be; it is left as it is.
    OSError
        If the file can't be written.
    """

    def __init__(self, out: str, inputs: Mapping[str, object], *, resume: bool) -> None:
        self.part = Path(f"{out}.part")
        self.done: dict[str, Done] = {}
        if not resume and os.path.lexists(self.part):
            what, fit = "is left of a run that was cut short", "go on with it by --resume, or delete it"
            raise Problems([Problem(str(self.part), 0, 0, "", what, fit)])
        self._stream: BinaryIO = self.part.open("ab+")
        try:
            self._lock()
            self._stream.seek(0)
            first = self._stream.readline()
            if first.endswith(b"\n"):
                self._refuse_others(first, inputs)
                self._read_back()
            else:
                self._stream.truncate(0)
                self.add(json.dumps(inputs) + "\n")
        except BaseException:
            self._stream.close()
            raise

    def add(self, line: str) -> None:
        """Write a result, out to the file system."""
        self._stream.write(visible(line).encode())
        self._stream.flush()

    def lines(self) -> Iterator[bytes]:
        """Yield the lines of all results."""
        self._stream.seek(0)
        self._stream.readline()
        yield from self._stream

    def close(self, *, remove: bool = False) -> None:
        """Close the file, and remove it where its results have found their place."""
        self._stream.close()
        if remove:
            self.part.unlink(missing_ok=True)

    def refuse_changed(self, names: Iterable[str]) -> None:
        """Raise Problems if a job that is done is not among the files any more, or is another one now."""
        known = {*names}
        gone = [name for name in self.done if name not in known]
        changed = [name for name, done in self.done.items() if name in known and _is_changed(name, done)]
        for files, what in ((gone, "is not among the jobs any more"), (changed, "was changed since")):
            if files:
                more = f", and {len(files) - 1} more" if len(files) > 1 else ""
                raise self._other(f"{files[0]} {what}{more}")

    def _lock(self) -> None:
        """Keep a second run from the same file, where the system has such locks."""
        with contextlib.suppress(ImportError):
            import fcntl  # there is none on Windows

            try:
                fcntl.flock(self._stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                what = "is being written by another run"
                raise Problems([Problem(str(self.part), 0, 0, "", what, "let it end")]) from None

    def _refuse_others(self, first: bytes, inputs: Mapping[str, object]) -> None:
        try:
            before = json.loads(first)
            if before.get("kind") != _KIND:
                raise ValueError
        except (ValueError, AttributeError):
            raise self._other("it is no file of a run") from None
        others = [words for key, words in _WORDS.items() if before.get(key) != inputs[key]]
        if others:
            raise self._other("; ".join(others))

    def _read_back(self) -> None:
        """Take up what is done, and drop a line that was cut through."""
        place = self._stream.tell()
        for raw in self._stream:
            try:
                if not raw.endswith(b"\n"):
                    break
                outcome = outcome_of(raw.decode("utf-8"))
            except (BadLineError, UnicodeDecodeError):
                raise self._other("a line of it is no result") from None
            job = outcome.inputs.job if outcome.inputs is not None else None
            self.done[outcome.file] = Done(job, outcome.exit_code, outcome.swaps, outcome.change)
            place += len(raw)
        self._stream.truncate(place)

    def _other(self, what: str) -> Problems:
        fit = "start again with another --out, or delete it"
        return Problems([Problem(str(self.part), 0, 0, "", f"can't be gone on with: {what}", fit)])


def _is_changed(file: str, done: Done) -> bool:
    if done.job is None:
        return False  # it could not be read
    try:
        return digest(read_carried(file, JOB)) != done.job
    except Problems:
        return True


def _file_digest(file: str) -> str:
    return digest(Path(file).read_bytes().decode("utf-8", "surrogateescape"))
