"""Many jobs by several processes: results in the order of the jobs, memory flat, no worker left behind."""

from __future__ import annotations

import collections
import itertools
import multiprocessing
import signal
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from typing import Any

from drawbar.catalogue.catalogue import Catalogue
from drawbar.rechecking.recheck import Outcome, Swap, recheck_file

CHUNK = 16  # jobs handed to a worker at once
AHEAD = 4  # chunks a worker that wait or run, so that no result has to be kept for long

_known: dict[str, Any] = {}


def recheck_all(
    files: Iterable[str], libraries: Sequence[str], swaps: Sequence[Swap], workers: int
) -> Iterator[Outcome]:
    """Yield the outcome of every file in order, worked out by so many processes (1: by this one)."""
    if workers <= 1:
        catalogue = Catalogue(libraries)
        yield from (recheck_file(file, catalogue, swaps) for file in files)
        return
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(workers, context, initializer=_start, initargs=(tuple(libraries), tuple(swaps)))
    waiting: collections.deque[Future[list[Outcome]]] = collections.deque()
    names = iter(files)
    try:
        while True:
            while len(waiting) < AHEAD * workers and (chunk := list(itertools.islice(names, CHUNK))):
                waiting.append(pool.submit(_recheck_chunk, chunk))
            if not waiting:
                break
            yield from waiting.popleft().result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _start(libraries: tuple[str, ...], swaps: tuple[Swap, ...]) -> None:
    """Make a worker ready. An interrupt goes to the process that hands out the jobs; it lets the workers end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _known["catalogue"] = Catalogue(libraries)
    _known["swaps"] = swaps


def _recheck_chunk(files: list[str]) -> list[Outcome]:
    return [recheck_file(file, _known["catalogue"], _known["swaps"]) for file in files]
