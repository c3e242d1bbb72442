"""Old jobs checked again: what passes and fails once appliances are swapped, and the remedies.

A job is checked twice, as it stands and with the swaps. Where a pressure then does not pass, it is told what would put
it right, whether or not it passed before.
"""

from __future__ import annotations

import gc
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job, decided
from drawbar.jobfile.asked import NOTHING_ASKED, Asked
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problem, Problems
from drawbar.rechecking.job_files import JobFile, is_other_file
from drawbar.rechecking.since import Since, since
from drawbar.rechecking.standing import Standing, Standings
from drawbar.rechecking.swaps import Swap, swapped_job
from drawbar.rechecking.worked_from import Inputs, inputs_of
from drawbar.remedies.remedy import Remedies
from drawbar.remedies.search import remedies_for
from drawbar.verdict import EXIT_OK, Verdict
from drawbar.yamlfile.carried import JOB, read_carried

UNTOUCHED = "not touched"
UNREAD = "not read"
OTHER = "no job"
_STILL = {Verdict.PASS: "still passes", Verdict.UNDECIDED: "still undecided", Verdict.FAIL: "still fails"}
_WORST_FIRST = (Verdict.FAIL, Verdict.UNDECIDED, Verdict.PASS)
CHANGES = (
    *(
        f"{before.value} to {after.value}"
        for after in _WORST_FIRST
        for before in reversed(_WORST_FIRST)
        if before is not after
    ),
    *(_STILL[verdict] for verdict in _WORST_FIRST),
    UNTOUCHED,
    UNREAD,
    OTHER,
)
"""How a job may have changed, the worst changes first."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A job checked again.

    Attributes
    ----------
    file, title : str
        The job's file and title.
    ref : str or None
        The workshop's number.
    swapped : tuple of str
        The appliances that were swapped, by their names in the job.
    swaps : tuple of str
        The swap of each of them, as `urn=24 MJ/h`.
    notes : tuple of str
        Where a swap fits several appliances which it took, and where two fit the same one.
    before, after : Standing or None
        How the job stands as it is and with the swaps, None where the file could not be read.
    remedies : Remedies
        The remedies, where its pressures do not hold with the swaps; empty elsewhere.
    problems : tuple of Problem
        What is wrong with the file, where it could not be read.
    asked : tuple of str
        What was asked of it beside its file and its swaps, a line each.
    inputs : Inputs or None
        What it was worked out from, where it was read from a file.
    since : Since or None
        How it stands against an earlier result, where it was compared with one.
    is_other : bool
        Whether it is no job but some other file of a folder, which is passed over.
    """

    file: str
    title: str = ""
    ref: str | None = None
    swapped: tuple[str, ...] = ()
    swaps: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    before: Standing | None = None
    after: Standing | None = None
    remedies: Remedies = field(default_factory=Remedies)
    problems: tuple[Problem, ...] = ()
    asked: tuple[str, ...] = ()
    inputs: Inputs | None = None
    since: Since | None = None
    is_other: bool = False

    @property
    def change(self) -> str:
        """One of CHANGES."""
        if self.is_other:
            return OTHER
        if self.before is None or self.after is None:
            return UNREAD
        before, after = self.before.verdict, self.after.verdict
        if before is not after:
            return f"{before.value} to {after.value}"
        return _STILL[after] if self.swapped or after is not Verdict.PASS else UNTOUCHED

    @property
    def exit_code(self) -> int:
        """That of the verdict after the swaps; 2 where the job could not be read, 4 where the machine failed to."""
        if self.is_other:
            return EXIT_OK
        return Problems(self.problems).exit_code if self.after is None else self.after.verdict.exit_code

    def held_against(self, old: Outcome | None) -> Outcome:
        """Return it with what changed since an earlier result of the same job, None where there is none."""
        return replace(self, since=since(old, self))


def recheck_file(
    file: str | JobFile, catalogue: Catalogue, swaps: Sequence[Swap], asked: Asked = NOTHING_ASKED
) -> Outcome:
    """Read a job file and look at it again.

    Parameters
    ----------
    file : str or JobFile
        The file; one that was not named outright may be no job, and is then passed over.
    catalogue : Catalogue
        What the job may name, and whose sizes may put it right.
    swaps : sequence of Swap
        The swaps.
    asked : Asked
        What is asked of the job beside its file, before and after the swaps alike.

    Returns
    -------
    Outcome
        How the job stands before and after; what is wrong with the file is in it.
    """
    # A job makes thousands of values that live as long as it is looked at, and hardly a cycle among them: looking for
    # cycles time and again meanwhile would take a tenth of the time. Between jobs it is done as ever.
    was_on = gc.isenabled()
    gc.disable()
    name, is_named = file if isinstance(file, JobFile) else (file, True)
    text = None
    try:
        text = read_carried(name, JOB)
        return recheck_text(text, name, catalogue, swaps, asked)
    except Problems as error:
        if not is_named and text is not None and is_other_file(text, name):
            return Outcome(name, is_other=True)
        return Outcome(name, problems=error.problems, asked=asked.words)
    finally:
        if was_on:
            gc.enable()


def recheck_text(
    text: str, file: str, catalogue: Catalogue, swaps: Sequence[Swap], asked: Asked = NOTHING_ASKED
) -> Outcome:
    """Look at the text of a job file again, as `recheck_file` does once it has read it.

    Parameters
    ----------
    text : str
        The text.
    file : str
        The file that it was read from.
    catalogue : Catalogue
        What the job may name, and whose sizes may put it right.
    swaps : sequence of Swap
        The swaps.
    asked : Asked
        What is asked of the job beside its file, before and after the swaps alike.

    Returns
    -------
    Outcome
        How the job stands before and after.

    Raises
    ------
    Problems
        All that is wrong with it.
    """
    return _outcome(job_of(text, file, catalogue, sized=True, asked=asked), swaps, catalogue, text)


def recheck_job(job: Job, swaps: Sequence[Swap], catalogue: Catalogue | None = None) -> Outcome:
    """Look at a job again with appliances swapped: how it stands before and after, and the remedies.

    Parameters
    ----------
    job : Job
        A job in which every run has one size.
    swaps : sequence of Swap
        The swaps; those that meet no appliance of the job change nothing.
    catalogue : Catalogue, optional
        What has the sizes that may put it right; without it, the project's own data.

    Returns
    -------
    Outcome
        The verdicts before and after and, where a pressure does not pass with the swaps, the remedies.

    Raises
    ------
    ValueError
        If a run leaves its size open.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> outcome = drawbar.recheck(job, [drawbar.parse_swap("basin", "120 MJ/h")])
    >>> outcome.change
    'pass to fail'
    """
    return _outcome(job, swaps, catalogue)


def _outcome(job: Job, swaps: Sequence[Swap], catalogue: Catalogue | None, text: str | None = None) -> Outcome:
    """Return how a job stands before and after, with its inputs where its text is given."""
    standings = Standings(decided(job))
    before = after = standings.of(job)
    swapped = swapped_job(job, swaps)
    if swapped.names:
        after = standings.of(swapped.job)
    remedies = Remedies(display=job.display)
    if not after.pressures_pass:
        remedies = remedies_for(swapped.job, catalogue, swapped=swapped.names)
    return Outcome(
        file=job.file,
        title=job.title,
        ref=job.ref,
        swapped=swapped.names,
        swaps=tuple(map(str, swapped.by)),
        notes=swapped.notes,
        before=before,
        after=after,
        remedies=remedies,
        asked=job.asked,
        inputs=None if text is None or catalogue is None else inputs_of(text, job, swapped.job, catalogue),
    )
