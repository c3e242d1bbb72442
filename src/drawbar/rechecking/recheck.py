"""Old jobs looked at again: what passes and fails once appliances are swapped, and what would put it right.

A job is checked twice, as it stands and with the swaps. Where a pressure then does not pass, it is told what would put
it right.
"""

from __future__ import annotations

import gc
from collections.abc import Sequence
from dataclasses import dataclass, field

from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job, decided
from drawbar.jobfile.asked import NOTHING_ASKED, Asked
from drawbar.jobfile.reader import job_of
from drawbar.problems import Problem, Problems
from drawbar.rechecking.standing import Standing, Standings
from drawbar.rechecking.swaps import Swap, swapped_job
from drawbar.remedies.remedy import Remedies
from drawbar.remedies.search import remedies_for
from drawbar.verdict import EXIT_WRONG, Verdict
from drawbar.yamlfile.carried import JOB, read_carried

UNTOUCHED = "not touched"
UNREAD = "not read"
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
)
"""How a job may have changed, the worst changes first."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """A job looked at again.

    Attributes
    ----------
    file, title : str
        The job's file and title.
    ref : str or None
        The workshop's number.
    swapped : tuple of str
        The appliances that were swapped, by their names in the job.
    before, after : Standing or None
        How the job stands as it is and with the swaps, None where the file could not be read.
    remedies : Remedies
        What would put it right, where its pressures held and do not with the swaps; empty elsewhere.
    problems : tuple of Problem
        What is wrong with the file, where it could not be read.
    asked : tuple of str
        What was asked of it beside its file and its swaps, a line each.
    """

    file: str
    title: str = ""
    ref: str | None = None
    swapped: tuple[str, ...] = ()
    before: Standing | None = None
    after: Standing | None = None
    remedies: Remedies = field(default_factory=Remedies)
    problems: tuple[Problem, ...] = ()
    asked: tuple[str, ...] = ()

    @property
    def change(self) -> str:
        """One of CHANGES."""
        if self.before is None or self.after is None:
            return UNREAD
        before, after = self.before.verdict, self.after.verdict
        if before is not after:
            return f"{before.value} to {after.value}"
        return _STILL[after] if self.swapped or after is not Verdict.PASS else UNTOUCHED

    @property
    def exit_code(self) -> int:
        """That of the verdict after the swaps; 2 where the job could not be read."""
        return EXIT_WRONG if self.after is None else self.after.verdict.exit_code


def recheck_file(file: str, catalogue: Catalogue, swaps: Sequence[Swap], asked: Asked = NOTHING_ASKED) -> Outcome:
    """Read a job file and look at it again.

    Parameters
    ----------
    file : str
        The file's name.
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
    try:
        job = job_of(read_carried(file, JOB), file, catalogue, sized=True, asked=asked)
        return recheck_job(job, swaps, catalogue)
    except Problems as error:
        return Outcome(file, problems=error.problems, asked=asked.words)
    finally:
        if was_on:
            gc.enable()


def recheck_job(job: Job, swaps: Sequence[Swap], catalogue: Catalogue | None = None) -> Outcome:
    """Look at a job again with appliances swapped: how it stands before and after, and what would put it right.

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
    standings = Standings(decided(job))
    before = standings.of(job)
    swapped, names = swapped_job(job, swaps)
    if not names:
        remedies = Remedies(display=job.display)
        return Outcome(job.file, job.title, job.ref, (), before, before, remedies, asked=job.asked)
    after = standings.of(swapped)
    remedies = Remedies(display=job.display)
    if before.pressures_pass and not after.pressures_pass:  # of what failed before, `check` tells: it would take long
        remedies = remedies_for(swapped, catalogue, swapped=names)
    return Outcome(job.file, job.title, job.ref, names, before, after, remedies, asked=job.asked)
