"""Prints what certainty costs: pipe chosen for PASS over pipe chosen as drawn, and how many jobs are then undecided.

Run from the top of the project: `python tests/support/price_of_certainty.py [COUNT]`.
"""

import sys
from pathlib import Path
from random import Random
from statistics import median, quantiles

sys.path.insert(0, str(Path(__file__).parent))

from drawbar.job import Job
from drawbar.rechecking.standing import standing
from drawbar.sizing.size import SizeResult, size
from drawbar.verdict import Verdict
from jobs import job_from
from paths import EXAMPLE
from random_jobs import job_text


def trailer(seed: int) -> Job:
    """Return a random trailer of two to eight runs, with plug-in appliances or without, its sizes open."""
    random = Random(seed)
    portables = random.choice((0, 1, 2, 3))
    text = job_text(
        random,
        random.randint(2, 8),
        "auto",
        portables=portables,
        outlets=random.randint(1, 3) if portables else 0,
        hoses=random.randint(1, 2) if portables else 0,
        states=random.random() < 0.3,
        tolerances=None,
    )
    return job_from(text, sized=False)


def both(job: Job) -> tuple[SizeResult, SizeResult]:
    """Return the sizes for PASS, and the sizes as drawn."""
    return size(job), size(job._replace(tolerances=None))


def main(count: int) -> None:
    """Print the figures."""
    more, open_jobs, drawn_jobs = [], 0, 0
    for seed in range(count):
        certain, drawn = both(trailer(seed))
        if drawn.cost is None:
            continue
        drawn_jobs += 1
        stands = standing(drawn.sized._replace(tolerances=certain.job.tolerances))
        open_jobs += stands.verdict is Verdict.UNDECIDED
        if certain.cost is not None:
            more.append(certain.cost / drawn.cost - 1.0)
    tenths = quantiles(more, n=10)
    print(f"{drawn_jobs} of {count} random trailers can be sized as drawn, {len(more)} of them for PASS")
    print(f"pipe for PASS over pipe as drawn: median {median(more):+.1%}, nine in ten up to {tenths[-1]:+.1%}")
    print(f"sized as drawn, {open_jobs} of {drawn_jobs} are UNDECIDED ({open_jobs / drawn_jobs:.0%})")
    for file in sorted(EXAMPLE.parent.glob("*.yaml")):
        text = file.read_text(encoding="utf-8")
        if text.lstrip().startswith("#") and "currency:" in text:
            continue
        certain, drawn = both(job_from(text, sized=False))
        if len(certain.chosen_labels) and certain.cost is not None and drawn.cost is not None:
            more_pipe = certain.cost / drawn.cost - 1.0
            print(f"{file.name}: {certain.cost:.3f} kg for PASS, {drawn.cost:.3f} kg as drawn ({more_pipe:+.1%})")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
