"""Many jobs by several processes: results in the order of the jobs, memory flat, no worker left behind."""

from __future__ import annotations

import collections
import contextlib
import itertools
import multiprocessing
import signal
import sys
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from typing import Any

from drawbar.catalogue.catalogue import Catalogue
from drawbar.jobfile.asked import NOTHING_ASKED, Asked
from drawbar.rechecking.recheck import Outcome, recheck_file
from drawbar.rechecking.swaps import Swap

_CHUNK = 16  # jobs handed to a worker at once
_AHEAD = 4  # chunks a worker that wait or run, so that no result has to be kept for long
_MOST_ON_WINDOWS = 61  # a pool takes no more there: it waits for all its processes in a single system call

_known: dict[str, Any] = {}


def recheck_all(
    files: Iterable[str],
    libraries: Sequence[str],
    swaps: Sequence[Swap],
    workers: int,
    asked: Asked = NOTHING_ASKED,
) -> Iterator[Outcome]:
    """Yield the outcome of every file in order, worked out by several processes.

    Parameters
    ----------
    files : iterable of str
        The job files.
    libraries : sequence of str
        The libraries that are laid over the catalogue.
    swaps : sequence of Swap
        The swaps.
    workers : int
        How many processes work them out; 1 for this one alone.
    asked : Asked
        What is asked of every job beside its file.

    Yields
    ------
    Outcome
        How each job stands before and after.
    """
    if sys.platform == "win32":
        workers = min(workers, _MOST_ON_WINDOWS)
    if workers <= 1:
        catalogue = Catalogue(libraries)
        yield from (recheck_file(file, catalogue, swaps, asked) for file in files)
        return
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers, context, initializer=_start, initargs=(tuple(libraries), tuple(swaps), asked))
    waiting: collections.deque[Future[list[Outcome]]] = collections.deque()
    names = iter(files)
    try:
        while True:
            while len(waiting) < _AHEAD * workers and (chunk := list(itertools.islice(names, _CHUNK))):
                with _interrupt_held():
                    waiting.append(pool.submit(_recheck_chunk, chunk))
            if not waiting:
                break
            yield from waiting.popleft().result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


@contextlib.contextmanager
def _interrupt_held() -> Iterator[None]:
    """Let an interrupt wait until this is over: a worker that is started meanwhile then never sees it.

    It would otherwise print a traceback if the interrupt came before it is told to ignore it.
    """
    if sys.platform == "win32":  # has no masks of signals
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _start(libraries: tuple[str, ...], swaps: tuple[Swap, ...], asked: Asked) -> None:
    """Make a worker ready. An interrupt goes to the process that hands out the jobs; it lets the workers end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _known["catalogue"] = Catalogue(libraries)
    _known["swaps"] = swaps
    _known["asked"] = asked


def _recheck_chunk(files: list[str]) -> list[Outcome]:
    return [recheck_file(file, _known["catalogue"], _known["swaps"], _known["asked"]) for file in files]
