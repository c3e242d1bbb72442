"""The tolerances of a job file: those of the catalogue, with what the job says in their place."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drawbar.job import Hose, Pipe, Regulator, Run

if TYPE_CHECKING:
    from drawbar.rules import Tolerances
    from drawbar.yamlfile.entry import Entry

_SHARES = ("length", "fittings", "input", "devices", "pump")
_GIVEN = "given in the job file"


class JobTolerances(NamedTuple):
    """What a job says of tolerances.

    Attributes
    ----------
    tolerances : Tolerances or None
        Of lengths, fittings, inputs and devices; None where the job is to be computed as drawn only.
    bore_m : float or None
        Of every pipe and hose, in place of that of its family [m]; None where the job does not say.
    accuracy : float
        Of the set pressure of regulators that give none of their own, as a share [-].
    """

    tolerances: Tolerances | None
    bore_m: float | None = None
    accuracy: float = 0.0

    def pipe(self, pipe: Pipe) -> Pipe:
        """Return a pipe with the job's tolerance of its bore, if the job says one."""
        if self.bore_m is None:
            return pipe
        return pipe._replace(bore_tolerance_m=min(self.bore_m, 0.5 * pipe.bore_m), tolerance_source=_GIVEN)

    def regulator(self, regulator: Regulator) -> Regulator:
        """Return a regulator with the job's accuracy, if it has none of its own."""
        return regulator if regulator.accuracy or not self.accuracy else regulator._replace(accuracy=self.accuracy)

    def run(self, run: Run) -> Run:
        """Return a run with the job's tolerances on its pipes and its regulator."""
        if self.bore_m is None and not self.accuracy:
            return run
        regulator = self.regulator(run.regulator) if run.regulator is not None else None
        return run._replace(pipes=tuple(map(self.pipe, run.pipes)), regulator=regulator)

    def hose(self, hose: Hose) -> Hose:
        """Return a hose with the job's tolerance on its bore."""
        if self.bore_m is None:
            return hose
        from dataclasses import replace

        return replace(hose, pipe=self.pipe(hose.pipe))


def read_tolerances(job: Entry, usual: Tolerances) -> JobTolerances:
    """Return the tolerances of a job file.

    Parameters
    ----------
    job : Entry
        The whole job file.
    usual : Tolerances
        Those of the catalogue, for what the job does not say.

    Returns
    -------
    JobTolerances
    """
    if job.is_none("tolerances"):
        return JobTolerances(None)
    entry = job.table("tolerances")
    if entry is None:
        return JobTolerances(usual)
    given = {key: share for key in _SHARES if (share := entry.quantity(key)) is not None}
    sources = {**dict(usual.sources), **dict.fromkeys(given, _GIVEN)}
    tolerances = usual._replace(**given, sources=tuple(sources.items()))
    if given.get("length") == 0.0:
        tolerances = tolerances._replace(length_m=0.0)
    return JobTolerances(tolerances, entry.quantity("bore"), entry.quantity("set-pressure", 0.0))
