"""Many jobs by several processes: results in the order of the jobs, memory flat, no worker left behind.

The process that is called works as well, and never waits for a worker while there is a job that it can do itself: not
even one that a worker was given and is late with. So several are not slower than one on a busy machine, but for the
start of the workers, and they are started only once the first jobs have shown that it is worth it.
"""

from __future__ import annotations

import contextlib
import itertools
import multiprocessing
import multiprocessing.connection
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from drawbar.catalogue.catalogue import Catalogue
from drawbar.jobfile.asked import NOTHING_ASKED, Asked
from drawbar.rechecking.job_files import JobFile
from drawbar.rechecking.recheck import Outcome, recheck_file
from drawbar.rechecking.swaps import Swap

if TYPE_CHECKING:
    from multiprocessing.context import BaseContext

_CHUNK = 16  # jobs handed to a worker at once
_AHEAD = 3  # chunks that a worker has before it, so that it never waits
_MOST_AHEAD = 16  # chunks a worker that may be done before the next in order, so that few results are kept
_TRIED = 8  # jobs after which it is known what one takes; the first of them reads the catalogue as well
_WORTH_S = 0.5  # of work left for each process, from which on a worker pays for its start

_Chunk = tuple[int, list[JobFile]]
_read: dict[tuple[str, ...], Catalogue] = {}  # by libraries; a worker that is a copy of this process has it as well


class Task(NamedTuple):
    """What is to be done with every job.

    Attributes
    ----------
    libraries : tuple of str
        The libraries that are laid over the catalogue.
    swaps : tuple of Swap
        The appliances that are swapped.
    asked : Asked
        What else is asked of every job beside its file.
    """

    libraries: tuple[str, ...] = ()
    swaps: tuple[Swap, ...] = ()
    asked: Asked = NOTHING_ASKED

    def outcome(self, file: JobFile, catalogue: Catalogue) -> Outcome:
        """Return how a job stands before and after."""
        return recheck_file(file, catalogue, self.swaps, self.asked)


def recheck_all(
    files: Sequence[str | JobFile],
    task: Task,
    workers: int,
    *,
    lost: Callable[[str], None] | None = None,
) -> Iterator[Outcome]:
    """Yield the outcome of every file in order, worked out by several processes.

    Parameters
    ----------
    files : sequence of str or JobFile
        The job files.
    task : Task
        The libraries, the swaps, and what else is asked.
    workers : int
        How many processes work them out at most, this one among them; 1 for this one alone.
    lost : callable, optional
        Is told in words when a worker ended before its time. Its jobs are done by this process.

    Yields
    ------
    Outcome
        How each job stands before and after.
    """
    catalogue = Catalogue(task.libraries)
    named = (file if isinstance(file, JobFile) else JobFile(file) for file in files)
    if workers <= 1 or _processors() <= 1:
        yield from (task.outcome(file, catalogue) for file in named)
        return
    times_s = []
    for file in itertools.islice(named, _TRIED):
        start = time.perf_counter()
        outcome = task.outcome(file, catalogue)
        times_s.append(time.perf_counter() - start)
        yield outcome
    left_s = (len(files) - len(times_s)) * sum(times_s[1:]) / max(len(times_s) - 1, 1)
    _read[task.libraries] = catalogue
    crew = _Crew(min(workers, int(left_s / _WORTH_S)) - 1, task, lost)
    try:
        yield from crew.outcomes(named, catalogue)
    finally:
        crew.end()
        _read.clear()


def _processors() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class _Worker:
    """A process that is given chunks of jobs by a pipe, and gives their outcomes back by it."""

    def __init__(self, context: BaseContext, task: Task) -> None:
        self.pipe, theirs = context.Pipe()
        # `daemon`: should this process end by an exit, it ends them too.
        self.process = context.Process(  # type: ignore[attr-defined]
            target=_work, args=(theirs, self.pipe, task), daemon=True
        )
        with _signals_held():
            self.process.start()
        theirs.close()
        self.has: dict[int, list[JobFile]] = {}
        self.unanswered = 0  # chunks that were sent, those among them that were done elsewhere meanwhile


class _Crew:
    """The workers, and what they are at."""

    def __init__(self, count: int, task: Task, lost: Callable[[str], None] | None) -> None:
        self.task = task
        self.lost = lost
        self.workers: list[_Worker] = []
        self.late: dict[int, list[JobFile]] = {}  # what a worker had that ended before its time
        self.done: dict[int, list[Outcome]] = {}
        context = _context()
        try:
            for _ in range(count):
                self.workers.append(_Worker(context, task))
        except OSError as error:  # no more processes or memory are to be had; those there are do the work
            if lost is not None:
                lost(f"no further worker could be started: {error.strerror}")

    def outcomes(self, files: Iterable[JobFile], catalogue: Catalogue) -> Iterator[Outcome]:
        """Yield the outcomes in order: from the workers, and from this process as long as they are not there yet."""
        chunks = _chunks(files)
        following = 0  # the chunk whose outcomes come next
        handed = 0
        while True:
            self._collect()
            if following in self.done:
                yield from self.done.pop(following)
                following += 1
                continue
            most = following + _MOST_AHEAD * (len(self.workers) + 1)
            for worker in self.workers:
                while worker.unanswered < _AHEAD and handed < most and (chunk := next(chunks, None)) is not None:
                    handed = chunk[0] + 1
                    self._give(worker, chunk)
            own = next(chunks, None) if handed < most else None
            if own is not None:
                handed = own[0] + 1
            else:
                own = self._earliest()
            if own is None:
                return
            number, names = own
            outcomes: list[Outcome] = []
            for name in names:
                outcomes.append(self.task.outcome(name, catalogue))
                self._collect()
                if number in self.done:  # the worker that has it was quicker
                    break
            else:
                self._take(number, outcomes)

    def end(self) -> None:
        """End the workers, whatever they are at."""
        for worker in self.workers:
            worker.process.kill()  # it holds nothing that would be lost
        for worker in self.workers:
            worker.process.join()
            worker.pipe.close()
        self.workers = []

    def _earliest(self) -> _Chunk | None:
        """Return the earliest chunk that is not done, so that nothing waits for a worker that is late."""
        waiting = {**self.late}
        for worker in self.workers:
            waiting.update(worker.has)
        return min(waiting.items()) if waiting else None

    def _give(self, worker: _Worker, chunk: _Chunk) -> None:
        worker.has[chunk[0]] = chunk[1]
        worker.unanswered += 1
        with contextlib.suppress(OSError):  # it has ended, as the next look at it will tell
            worker.pipe.send(chunk)

    def _collect(self) -> None:
        """Take what the workers have sent; of one that has ended, what it had is to be done here."""
        if not self.workers:
            return
        by_pipe = {worker.pipe: worker for worker in self.workers}
        for pipe in multiprocessing.connection.wait(list(by_pipe), 0):
            worker = by_pipe[pipe]  # type: ignore[index]
            try:
                number, outcomes = worker.pipe.recv()
            except (EOFError, OSError):
                self._lose(worker)
                continue
            worker.unanswered -= 1
            if number in worker.has:
                self._take(number, outcomes)

    def _take(self, number: int, outcomes: list[Outcome]) -> None:
        """Keep a chunk's outcomes, the first that come."""
        self.late.pop(number, None)
        self.done[number] = outcomes
        for worker in self.workers:
            worker.has.pop(number, None)

    def _lose(self, worker: _Worker) -> None:
        worker.process.join()
        self.late.update(worker.has)
        self.workers.remove(worker)
        worker.pipe.close()
        code = worker.process.exitcode or 0
        how = f"was ended by signal {-code}" if code < 0 else f"ended with code {code}"
        if self.lost is not None:
            self.lost(f"a worker {how} before its time; its jobs are done by the others")


def _chunks(files: Iterable[JobFile]) -> Iterator[_Chunk]:
    names = iter(files)
    for number in itertools.count():
        chunk = list(itertools.islice(names, _CHUNK))
        if not chunk:
            return
        yield number, chunk


def _context() -> BaseContext:
    """Return how workers are started: by a copy of this process where that is safe, else afresh."""
    threads = Path("/proc/self/task")  # those of libraries among them, which Python does not know of
    if sys.platform == "linux" and threads.is_dir() and len(list(threads.iterdir())) == 1:
        return multiprocessing.get_context("fork")
    return multiprocessing.get_context("spawn")


@contextlib.contextmanager
def _signals_held() -> Iterator[None]:
    """Let an interrupt or an end wait until this is over: a worker that is started meanwhile then never sees it.

    It would otherwise print a traceback if the interrupt came before it is told to ignore it.
    """
    if sys.platform == "win32":  # has no masks of signals
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGTERM})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


# in a worker


def _work(pipe: Connection, callers: Connection, task: Task) -> None:
    """Work out chunks until there are no more. An interrupt goes to the process that hands them out; it ends us."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    if sys.platform != "win32":
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT, signal.SIGTERM})
    callers.close()
    threading.Thread(target=_end_with_the_caller, daemon=True).start()
    catalogue = _read.get(task.libraries) or Catalogue(task.libraries)
    with contextlib.suppress(EOFError, OSError):  # the caller has ended
        while True:
            number, names = pipe.recv()
            pipe.send((number, [task.outcome(name, catalogue) for name in names]))


def _end_with_the_caller() -> None:
    """End this process once the one that started it has ended, however it did: nobody else would."""
    caller = multiprocessing.parent_process()
    assert caller is not None  # only workers call this
    caller.join()
    os._exit(1)
