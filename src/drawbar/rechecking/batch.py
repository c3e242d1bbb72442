"""What comes of many jobs: counts, the exit code, and of the jobs themselves those that are to be listed alone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from drawbar.problems import Problem, Problems, close_to, shown
from drawbar.rechecking.earlier import Earlier
from drawbar.rechecking.job_files import JobFile
from drawbar.rechecking.recheck import OTHER, UNREAD, Outcome
from drawbar.rechecking.run_file import Done
from drawbar.rechecking.swaps import Swap
from drawbar.verdict import EXIT_OK, exit_code_of
from drawbar.yamlfile import nodes
from drawbar.yamlfile.carried import JOB, read_carried
from drawbar.yamlfile.entry import entries
from drawbar.yamlfile.nodes import Source

_MOST_LOOKED_AT = 1000  # files, for the names that a swap may have meant


class Batch:
    """Many jobs looked at again, as they come.

    Parameters
    ----------
    swaps : sequence of Swap
        The swaps of the call.
    earlier : Earlier or None
        The results that they are held against.
    keep_all : bool
        Whether to keep every outcome, not only those that are to be looked at.

    Attributes
    ----------
    counts : Counter
        How many jobs there are of each change.
    looks : Counter
        How many there are of each change against the earlier results, where they are held against any.
    kept : list of Outcome
        Those that changed verdict, or, where nothing was swapped, those that do not pass; against earlier results those
        that are to be looked at.
    swapped_in : Counter
        In how many jobs each swap, as text, found an appliance.
    others : list of str
        The files of folders that are no jobs.
    exit_code : int
        That of all results together.
    keeps_remedied : bool
        Whether to keep the jobs that have a remedy, to write them.
    remedied : list of Outcome
        Those jobs.
    """

    def __init__(self, swaps: Sequence[Swap] = (), earlier: Earlier | None = None, *, keep_all: bool = False) -> None:
        self.swaps = tuple(swaps)
        self.earlier = earlier
        self.keep_all = keep_all
        self.counts: Counter[str] = Counter()
        self.looks: Counter[str] = Counter()
        self.kept: list[Outcome] = []
        self.swapped_in: Counter[str] = Counter()
        self.others: list[str] = []
        self.exit_code = EXIT_OK
        self.keeps_remedied = False
        self.remedied: list[Outcome] = []
        self._seen: set[str] = set()

    @property
    def count(self) -> int:
        """How many jobs there are, those that could not be read among them."""
        return sum(self.counts.values())

    @property
    def is_swapped(self) -> bool:
        """Whether appliances are swapped, by this call or by that whose results were read."""
        return bool(self.swaps or self.swapped_in)

    @property
    def gone(self) -> list[str]:
        """The jobs that earlier results have and this run has not."""
        return [] if self.earlier is None else [file for file in self.earlier if file not in self._seen]

    def passed_on(self, outcomes: Iterable[Outcome]) -> Iterator[Outcome]:
        """Yield outcomes as they come and count them, files that are no jobs left out.

        Parameters
        ----------
        outcomes : iterable of Outcome
            Those of the call.

        Yields
        ------
        Outcome
            Each, held against the earlier results where there are any.
        """
        for outcome in outcomes:
            if outcome.change == OTHER:
                self.others.append(outcome.file)
                continue
            held = outcome if self.earlier is None else outcome.held_against(self.earlier.get(outcome.file))
            self._count(held.file, held.change, held.swaps, held.exit_code)
            if held.since is not None:
                self.looks[held.since.change] += 1
            if self.keeps_remedied and held.remedies.best is not None:
                self.remedied.append(held)
            if self.keep_all or self._is_to_look_at(held):
                self.kept.append(held)
            yield held

    def add_done(self, file: str, done: Done) -> None:
        """Count a job that an earlier run has done."""
        self._count(file, done.change, done.swaps, done.exit_code)

    def unused(self) -> list[Swap]:
        """Return the swaps that found no appliance in any job."""
        return [swap for swap in dict.fromkeys(self.swaps) if not self.swapped_in[str(swap)]]

    def _count(self, file: str, change: str, swaps: Iterable[str], exit_code: int) -> None:
        self.counts[change] += 1
        self.swapped_in.update({*swaps})
        self.exit_code = exit_code_of((self.exit_code, exit_code))
        if self.earlier is not None:
            self._seen.add(file)

    def listed(self) -> list[Outcome]:
        """Return those that are to be looked at: where appliances were swapped, those that change verdict alone."""
        kept = [outcome for outcome in self.kept if self._is_to_look_at(outcome)]
        if self.earlier is not None or not self.is_swapped:
            return kept
        return [outcome for outcome in kept if " to " in outcome.change]

    def _is_to_look_at(self, outcome: Outcome) -> bool:
        if outcome.since is not None:
            return outcome.since.is_to_look_at
        if outcome.change == UNREAD:
            return False  # its problems tell
        return " to " in outcome.change or (not self.swaps and outcome.exit_code != EXIT_OK)


def unused_problems(swaps: Iterable[Swap], files: Iterable[JobFile]) -> list[Problem]:
    """Return what is wrong with swaps that found nothing, with the names of the jobs that may have been meant.

    Parameters
    ----------
    swaps : iterable of Swap
        The swaps.
    files : iterable of JobFile
        The jobs, the first thousand of which are read again for their names.

    Returns
    -------
    list of Problem
        One a swap.
    """
    names: dict[str, None] = {}
    for number, file in enumerate(files):
        if number < _MOST_LOOKED_AT and file.name != "-":
            names.update(dict.fromkeys(_appliances(file.name)))
    return [
        Problem(f"--swap {swap}", 0, 0, "", f"no job has an appliance {shown(swap.old)}", _meant(swap.old, names))
        for swap in swaps
    ]


def _meant(old: str, names: Iterable[str]) -> str:
    fit = close_to(old, names)
    return fit or "see the jobs' `appliances:`"


def _appliances(file: str) -> Iterator[str]:
    """Yield the names of a job's appliances, and what they are like; nothing of what can't be read."""
    try:
        root = nodes.compose(read_carried(file, JOB), Source(file))
    except Problems:
        return
    for name, value in entries(nodes.node_at(root, ("appliances",))):
        yield name
        like = nodes.node_at(value, ("input", "like"))
        if like is not None and isinstance(like.value, str):
            yield like.value
