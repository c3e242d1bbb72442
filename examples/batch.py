"""Look at a folder of jobs again with an appliance swapped: what changes, and the pipe that puts it right.

Run it as: python batch.py FOLDER OLD NEW OUT
For example: python batch.py jobs basin instantaneous-heater-fixed remedied

OLD is the appliance's name in the jobs, or its type; NEW is a type of `drawbar list appliances` or a rate as `60 MJ/h`.
A job that NEW would fail and larger pipe puts right is written to the folder OUT with that pipe. The appliance in it is
still the old one: the swap is yours to write in once it is done. Exit code 1 if a job fails with NEW as it stands, 2 if
one can't be read.
"""

from __future__ import annotations

import sys
from pathlib import Path

import drawbar


def remedy_words(outcome: drawbar.Outcome) -> str:
    """Return what would put a job right."""
    larger = outcome.remedies.of_kind("larger-runs")
    if larger is not None:
        return ": " + ", ".join(f"{change.run} from {change.old} to {change.new}" for change in larger.sizes)
    others = [remedy.edits(outcome.remedies.display) for remedy in outcome.remedies.in_order]
    ways = " or ".join(", ".join(f"{key}: {value}" for key, value in edits.items()) for edits in others)
    return f": no size is enough; {ways}" if ways else ""


def look_again(file: Path, swap: drawbar.Swap, out: Path) -> int:
    """Print how one job stands with the swap, and write it with the pipe that it needs. Return its exit code."""
    job = drawbar.read_job(file, sized=True)
    outcome = drawbar.recheck(job, [swap])
    print(f"{file.name}: {outcome.change}{remedy_words(outcome)}")
    larger = outcome.remedies.of_kind("larger-runs")
    if larger is not None:
        remedied = larger.applied_to(job)
        after = drawbar.check(drawbar.swapped(remedied, [swap]))
        margin = drawbar.quantity(after.states[0], "margin_pa").to("kPa")
        print(f"  then {margin.magnitude:.3f} kPa to spare in state {after.states[0].name}")
        drawbar.write_sizes(remedied, out / file.name)
    return outcome.exit_code


def main(folder: str, old: str, new: str, out: str) -> int:
    """Look at every job of a folder; one that can't be read is told, and left out. Return the worst exit code."""
    swap = drawbar.parse_swap(old, new)
    Path(out).mkdir(exist_ok=True)
    code = 0
    for file in sorted(Path(folder).glob("*.yaml")):
        try:
            code = max(code, look_again(file, swap, Path(out)))
        except drawbar.Problems as problems:
            print(problems, file=sys.stderr)
            code = 2
    return code


if __name__ == "__main__":
    if len(sys.argv) != 5:  # noqa: PLR2004 - the four that the usage names
        sys.exit((__doc__ or "").splitlines()[2])
    try:
        sys.exit(main(*sys.argv[1:]))
    except (drawbar.SwapError, OSError) as error:
        sys.exit(str(error))
