"""The project's own catalogue, read once for all tests, and jobs from text."""

from drawbar.catalogue.catalogue import Catalogue
from drawbar.job import Job
from drawbar.jobfile.reader import job_of

CATALOGUE = Catalogue()


def job_from(text: str, *, sized: bool = True, catalogue: Catalogue = CATALOGUE) -> Job:
    """Return the job of a text, as of a file `job.yaml`."""
    return job_of(text, "job.yaml", catalogue, sized=sized)
